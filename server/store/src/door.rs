//! The doors to the records: one transaction each, with the shop set.

use crate::{Error, keys};
use diesel::connection::SimpleConnection;
use diesel::pg::PgConnection;
use diesel::{Connection, ConnectionError};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;
use trade::words::ids::ShopId;

/// How long a request waits for a connection before it is told to try again.
const PATIENCE: Duration = Duration::from_secs(2);

/// One request that must have one effect: who asks, under which key, with which body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Once {
    /// The person, or the link, that asks.
    pub actor: String,
    /// The `Idempotency-Key`; none: a plain write.
    pub key: Option<String>,
    /// A keyed hash of method, path and body.
    pub body_hash: Vec<u8>,
}

/// An open transaction of one shop. Only the store makes one.
pub struct Tx<'c> {
    conn: &'c mut PgConnection,
    shop: ShopId,
    pub(crate) has_events: bool,
    pub(crate) has_letters: bool,
}

impl Tx<'_> {
    /// The connection, for the reading functions of this crate.
    pub fn conn(&mut self) -> &mut PgConnection {
        self.conn
    }

    /// The shop this transaction is bound to.
    #[must_use]
    pub fn shop(&self) -> ShopId {
        self.shop
    }
}

struct Line {
    pg: PgConnection,
    is_dead: bool,
}

struct Lines {
    url: String,
}

impl r2d2::ManageConnection for Lines {
    type Connection = Line;
    type Error = ConnectionError;

    fn connect(&self) -> Result<Line, ConnectionError> {
        PgConnection::establish(&self.url).map(|pg| Line { pg, is_dead: false })
    }

    // No test on taking a connection: it costs a round trip on every request. A dead one is
    // found by its first statement, before anything was done, and replaced.
    fn is_valid(&self, _: &mut Line) -> Result<(), ConnectionError> {
        Ok(())
    }

    // Work that panics leaves its transaction open; the next one must not go on in it.
    fn has_broken(&self, line: &mut Line) -> bool {
        line.is_dead || std::thread::panicking()
    }
}

/// Logs a pool's trouble quietly; whoever waits for a connection gets an answer of its own.
#[derive(Debug)]
struct Quietly;

impl<E: std::error::Error> r2d2::HandleError<E> for Quietly {
    fn handle_error(&self, error: E) {
        tracing::debug!(cause = %error, "no connection to the database");
    }
}

/// The records of every shop of this installation.
#[derive(Clone)]
pub struct Store {
    lines: r2d2::Pool<Lines>,
    url: Arc<str>,
    new_events: Arc<Notify>,
    new_letters: Arc<Notify>,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Store").finish_non_exhaustive()
    }
}

impl Store {
    /// A store on the database at `url` (libpq form, the serving role), with at most `size`
    /// connections. Opens none yet: a database that is away is met by the first request.
    #[must_use]
    pub fn new(url: &str, size: u32) -> Self {
        let lines = r2d2::Pool::builder()
            .max_size(size.max(1))
            .min_idle(Some(1))
            .connection_timeout(PATIENCE)
            .test_on_check_out(false)
            .error_handler(Box::new(Quietly))
            .build_unchecked(Lines { url: url.to_owned() });
        Self { lines, url: url.into(), new_events: Arc::default(), new_letters: Arc::default() }
    }

    /// Where the database is, for what needs a connection of its own (the relay's ear).
    #[must_use]
    pub fn url(&self) -> &str {
        &self.url
    }

    /// Wakes when a transaction of this process committed an event.
    #[must_use]
    pub fn new_events(&self) -> Arc<Notify> {
        Arc::clone(&self.new_events)
    }

    /// Wakes when a transaction of this process committed a letter to send.
    #[must_use]
    pub fn new_letters(&self) -> Arc<Notify> {
        Arc::clone(&self.new_letters)
    }

    /// Reads one shop's records: a snapshot, read only.
    ///
    /// # Errors
    /// What `work` says, or that the database is away.
    pub async fn read<T, E, F>(&self, shop: ShopId, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<Error> + Send + 'static,
        F: FnOnce(&mut PgConnection) -> Result<T, E> + Send + 'static,
    {
        let begin = format!("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY; {}", settings(Some(shop)));
        self.run(begin, move |conn| work(conn)).await
    }

    /// Writes one shop's records in one transaction.
    ///
    /// # Errors
    /// What `work` says (nothing is kept then), or that the database is away.
    pub async fn write<T, E, F>(&self, shop: ShopId, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<Error> + Send + 'static,
        F: FnOnce(&mut Tx<'_>) -> Result<T, E> + Send + 'static,
    {
        let begin = format!("BEGIN; {}", settings(Some(shop)));
        let (events, letters, value) = self
            .run(begin, move |conn| {
                let mut tx = Tx { conn, shop, has_events: false, has_letters: false };
                let value = work(&mut tx)?;
                Ok::<_, E>((tx.has_events, tx.has_letters, value))
            })
            .await?;
        if events {
            self.new_events.notify_one();
        }
        if letters {
            self.new_letters.notify_one();
        }
        Ok(value)
    }

    /// Writes once per key: a repeat is answered from what the first try kept.
    ///
    /// The key is looked up before `work` runs, so a repeat never meets the version check that
    /// its own first try has moved. Without a key it is a plain write.
    ///
    /// # Errors
    /// As [`Store::write`]; [`Error::TwinRunning`], [`Error::KeyReused`].
    pub async fn write_once<T, E, F>(&self, shop: ShopId, once: Once, work: F) -> Result<T, E>
    where
        T: Serialize + DeserializeOwned + Send + 'static,
        E: From<Error> + Send + 'static,
        F: FnOnce(&mut Tx<'_>) -> Result<T, E> + Send + 'static,
    {
        self.write(shop, move |tx| {
            let Some(key) = once.key.as_deref() else { return work(tx) };
            if let Some(kept) = keys::take(tx, &once.actor, key, &once.body_hash)? {
                return serde_json::from_value(kept)
                    .map_err(|cause| Error::Unreadable(format!("kept answer: {cause}")).into());
            }
            let value = work(tx)?;
            let kept = serde_json::to_value(&value)
                .map_err(|cause| Error::Unreadable(format!("answer to keep: {cause}")))?;
            keys::keep(tx, &once.actor, key, &once.body_hash, &kept)?;
            Ok(value)
        })
        .await
    }

    /// Works on the directories, which are read before the shop is known. No shop is set, so
    /// every other table answers with an error.
    ///
    /// # Errors
    /// What `work` says, or that the database is away.
    pub async fn directory<T, E, F>(&self, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<Error> + Send + 'static,
        F: FnOnce(&mut PgConnection) -> Result<T, E> + Send + 'static,
    {
        self.run(format!("BEGIN; {}", settings(None)), work).await
    }

    async fn run<T, E, F>(&self, begin: String, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<Error> + Send + 'static,
        F: FnOnce(&mut PgConnection) -> Result<T, E> + Send + 'static,
    {
        let lines = self.lines.clone();
        let done = tokio::task::spawn_blocking(move || {
            let mut line = begun(&lines, &begin)?;
            let outcome = work(&mut line.pg);
            let end = if outcome.is_ok() { "COMMIT" } else { "ROLLBACK" };
            if let Err(error) = line.pg.batch_execute(end) {
                let error = Error::from(error);
                line.is_dead = error.is_away();
                // A refused COMMIT leaves no transaction behind; a refused ROLLBACK leaves a
                // connection nobody should use again.
                if outcome.is_ok() {
                    return Err(error.into());
                }
                line.is_dead = true;
            }
            outcome
        });
        match done.await {
            Ok(outcome) => outcome,
            Err(broken) => Err(Error::Away(format!("the work on the records broke off: {broken}")).into()),
        }
    }
}

/// A connection with its transaction begun: dead ones are dropped on the way.
fn begun(lines: &r2d2::Pool<Lines>, begin: &str) -> Result<r2d2::PooledConnection<Lines>, Error> {
    let mut tries = lines.max_size() + 1;
    loop {
        let mut line = lines.get().map_err(|error| Error::Away(error.to_string()))?;
        match line.pg.batch_execute(begin).map_err(Error::from) {
            Ok(()) => return Ok(line),
            Err(error) => {
                line.is_dead = true;
                tries -= 1;
                if tries == 0 || !error.is_away() {
                    return Err(error);
                }
            }
        }
    }
}

/// The shop and the time limits ride in the same flight as BEGIN.
fn settings(shop: Option<ShopId>) -> String {
    let shop = shop.map(|shop| format!("set_config('bellbrace.shop', '{shop}', true), ")).unwrap_or_default();
    format!("SELECT {shop}set_config('statement_timeout', '15s', true), set_config('lock_timeout', '5s', true)")
}
