//! Live events on their way to the browsers of each shop.
//!
//! The relay numbers what has committed; this hub reads the numbers in order and hands every
//! event to every subscriber of its shop, encoded once. A reader that does not read is dropped
//! when its queue holds 256 events, so it neither grows memory nor stalls the others.

use bytes::Bytes;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use store::events::{self, Event};
use store::{Error, Store};
use tokio::sync::{mpsc, watch};
use trade::words::ids::ShopId;

/// How many events a reader may lag behind.
const QUEUE: usize = 256;
/// How many missed events are told again. Whoever missed more reads the screens anew: that is
/// shorter, and nobody can have the whole history loaded by asking for what came after 0.
const MISSED: i64 = 1000;

/// An event as it goes over the wire, with its number.
pub type Encoded = (i64, Bytes);

#[derive(Debug, Default)]
struct Feed {
    last: i64,
    readers: Vec<mpsc::Sender<Encoded>>,
}

/// The hub of one process.
#[derive(Debug, Clone)]
pub struct Live {
    store: Store,
    feeds: Arc<Mutex<HashMap<ShopId, Feed>>>,
    news: watch::Receiver<u64>,
    stop: watch::Receiver<bool>,
}

/// Encodes an event for an event stream.
#[must_use]
pub fn encode(event: &Event) -> Bytes {
    Bytes::from(format!("id: {}\nevent: change\ndata: {}\n\n", event.number, event.data))
}

/// What tells a reader to fetch what it shows and go on from here.
fn anew(number: i64) -> Bytes {
    Bytes::from(format!("id: {number}\nevent: anew\ndata: {{\"kind\":\"anew\",\"words\":\"too much has changed; read everything anew\"}}\n\n"))
}

impl Live {
    /// A hub that looks for new numbers whenever `news` changes, and ends its streams when
    /// `stop` turns true.
    #[must_use]
    pub fn new(store: Store, news: watch::Receiver<u64>, stop: watch::Receiver<bool>) -> Self {
        Self { store, feeds: Arc::default(), news, stop }
    }

    /// Ends with the process: streams watch it.
    #[must_use]
    pub fn stop(&self) -> watch::Receiver<bool> {
        self.stop.clone()
    }

    fn feeds(&self) -> std::sync::MutexGuard<'_, HashMap<ShopId, Feed>> {
        self.feeds.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Hands new events on until the process stops. A second between looks is the safety net for
    /// a hint that got lost.
    pub async fn run(self) {
        let mut news = self.news.clone();
        let mut stop = self.stop.clone();
        loop {
            tokio::select! {
                changed = news.changed() => if changed.is_err() { return },
                () = tokio::time::sleep(std::time::Duration::from_secs(1)) => {}
                _ = stop.wait_for(|stop| *stop) => return,
            }
            // Whoever hung up is let go also while nothing happens.
            let shops: Vec<ShopId> = {
                let mut feeds = self.feeds();
                feeds.retain(|_, feed| {
                    feed.readers.retain(|reader| !reader.is_closed());
                    !feed.readers.is_empty()
                });
                feeds.keys().copied().collect()
            };
            for shop in shops {
                if let Err(error) = self.look(shop).await {
                    tracing::debug!(cause = %error, "no look at the events now");
                }
            }
        }
    }

    async fn look(&self, shop: ShopId) -> Result<(), Error> {
        loop {
            let Some(last) = self.feeds().get(&shop).map(|feed| feed.last) else { return Ok(()) };
            let new = self.store.read(shop, move |conn| events::after(conn, last, 500)).await?;
            if new.is_empty() {
                return Ok(());
            }
            let mut feeds = self.feeds();
            let Some(feed) = feeds.get_mut(&shop) else { return Ok(()) };
            for event in &new {
                // Two looks may overlap; each event is handed on once.
                if event.number <= feed.last {
                    continue;
                }
                let bytes = encode(event);
                feed.last = event.number;
                feed.readers.retain(|reader| reader.try_send((event.number, bytes.clone())).is_ok());
            }
            if feed.readers.is_empty() {
                feeds.remove(&shop);
            }
        }
    }

    /// Joins the feed of a shop after event number `after` (none: from now on). Gives what was
    /// missed, and the queue of what comes; the queue may repeat what was missed, by number.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn join(&self, shop: ShopId, after: Option<i64>) -> Result<(Vec<Encoded>, mpsc::Receiver<Encoded>), Error> {
        let (reader, queue) = mpsc::channel(QUEUE);
        let known = self.feeds().get(&shop).map(|feed| feed.last);
        let last = match known {
            Some(last) => last,
            None => self.store.read(shop, events::last_number).await?,
        };
        self.feeds().entry(shop).or_insert_with(|| Feed { last, readers: Vec::new() }).readers.push(reader);
        // Joined first, read after: what is numbered between the two is in both, never in neither.
        let mut missed = Vec::new();
        let now = self.store.read(shop, events::last_number).await?;
        let mut from = after.unwrap_or(last);
        // Too far behind, or ahead of a database that was set back.
        if after.is_some() && (now - from > MISSED || from > now) {
            from = now;
            missed.push((now, anew(now)));
        }
        loop {
            let some = self.store.read(shop, move |conn| events::after(conn, from, 500)).await?;
            let Some(newest) = some.last() else { break };
            from = newest.number;
            missed.extend(some.iter().map(|event| (event.number, encode(event))));
        }
        Ok((missed, queue))
    }
}
