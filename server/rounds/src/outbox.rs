//! The outbox: leases letters that are due, hands them to the mail server, records what came of it.
//!
//! A letter is sent at least once under one Message-ID. Between handing it over and recording
//! that, nothing is certain; a sender that lost its lease meanwhile records nothing.

use acts::Clock;
use chrono::{DateTime, Utc};
use mail::{Envelope, LetterKind, Outcome, Person, Post, retries, secrets};
use serde_json::json;
use std::sync::Arc;
use std::time::Duration;
use store::letters::{self, Leased, LetterRow};
use store::order_view::claim_number;
use store::{Error, Store, Word, events, shops, work_orders};
use tokio::sync::watch;
use trade::words::ids::{LetterId, ShopId, WorkOrderId};
use trade::words::paperwork::LetterState;

/// Letters in hand at once.
const AT_ONCE: i32 = 8;
/// How long a lease lasts: longer than a mail server may take in all.
const LEASE_SECONDS: i32 = 900;
/// A letter whose fate is unknown is repeated once, after so many seconds.
const REPEAT_UNKNOWN_SECONDS: i64 = 600;
/// How often the screens are tried to be told of a letter whose order is being changed.
const TELLS: u32 = 5;
/// Between two such tries.
const BEFORE_TELLING_AGAIN: Duration = Duration::from_millis(150);
/// Between two looks without a hint.
const NET: Duration = Duration::from_secs(1);

/// Whom letters are from, unless the shop's own address says otherwise.
#[derive(Debug, Clone)]
pub struct From {
    /// Name and address of the sender; none: the shop's own.
    pub person: Option<Person>,
}

/// Sends what is due until the process stops.
pub async fn run(store: Store, post: Arc<Post>, from: From, clock: Clock, mut stop: watch::Receiver<bool>) {
    let hint = store.new_letters();
    loop {
        let sent = once(&store, &post, &from, &clock).await.unwrap_or_else(|error| {
            tracing::debug!(cause = %error, "no letter was sent now");
            0
        });
        if *stop.borrow() {
            return;
        }
        if sent > 0 {
            continue;
        }
        tokio::select! {
            () = hint.notified() => {}
            () = tokio::time::sleep(NET) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}

/// Leases and sends one handful; gives how many.
///
/// # Errors
/// When the database is away.
pub async fn once(store: &Store, post: &Arc<Post>, from: &From, clock: &Clock) -> Result<usize, Error> {
    let leased = store.directory(|conn| letters::lease(conn, AT_ONCE, LEASE_SECONDS)).await?;
    let count = leased.len();
    let mut under_way = tokio::task::JoinSet::new();
    for lease in leased {
        let (store, post, from, clock) = (store.clone(), Arc::clone(post), from.clone(), clock.clone());
        under_way.spawn(async move {
            if let Err(error) = send(&store, &post, &from, &clock, lease).await {
                tracing::warn!(cause = %error, "a letter's fate was not recorded; its lease will run out");
            }
        });
    }
    while under_way.join_next().await.is_some() {}
    Ok(count)
}

async fn send(store: &Store, post: &Post, from: &From, clock: &Clock, lease: Leased) -> Result<(), Error> {
    let shop = ShopId(lease.shop_id);
    let taken = {
        let lease = lease.clone();
        store
            .write(shop, move |tx| {
                if !letters::still_leased(tx, &lease)? {
                    return Ok::<_, Error>(None);
                }
                let Some(mut letter) = letters::find(tx.conn(), LetterId(lease.letter_id))? else { return Ok(None) };
                letter.state = Word(LetterState::Sending);
                letter.attempts += 1;
                letters::save(tx, &letter)?;
                let shop = shops::current(tx.conn())?;
                Ok(Some((letter, shop.name, shop.email)))
            })
            .await?
    };
    let Some((letter, shop_name, shop_email)) = taken else { return Ok(()) };
    tell(store, &letter, clock.now()).await;
    let was_unknown = letter.last_trouble.as_deref().is_some_and(|said| said.starts_with("unknown:"));
    let outcome = match envelope(&letter, from, &shop_name, &shop_email).message() {
        Ok(message) => post.send(&message).await,
        Err(fault) => Outcome::RefusedForGood { code: None, text: format!("it cannot be addressed: {fault}") },
    };
    let now = clock.now();
    let recorded = store
        .write(shop, move |tx| {
            if !letters::still_leased(tx, &lease)? {
                return Ok::<_, Error>(None);
            }
            let Some(mut letter) = letters::find(tx.conn(), LetterId(lease.letter_id))? else { return Ok(None) };
            record(tx, &mut letter, outcome, was_unknown, now)?;
            Ok(Some(letter))
        })
        .await?;
    if let Some(letter) = recorded {
        tell(store, &letter, now).await;
    }
    Ok(())
}

fn record(tx: &mut store::Tx<'_>, letter: &mut LetterRow, outcome: Outcome, was_unknown: bool, now: DateTime<Utc>) -> Result<(), Error> {
    let id = LetterId(letter.id);
    letter.next_try_at = None;
    match outcome {
        Outcome::Sent { reply } => {
            letter.state = Word(LetterState::Sent);
            letter.state_reason = None;
            letter.sent_at = Some(now);
            letter.last_trouble = was_unknown.then(|| format!("sent a second time, after an unknown first: {reply}"));
            has_gone(tx, letter)?;
        }
        Outcome::RefusedForGood { code, text } => {
            letter.state = Word(LetterState::Bounced);
            let said = code.map_or(text.clone(), |code| format!("{code} {text}"));
            letter.state_reason = Some(format!("refused for good: {said}"));
            letter.last_trouble = Some(said);
            has_gone(tx, letter)?;
        }
        Outcome::Unknown { why } => {
            letter.state = Word(LetterState::Unknown);
            letter.state_reason = Some("the mail server's last answer was lost; it may have arrived".to_owned());
            letter.last_trouble = Some(format!("unknown: {why}"));
            if was_unknown {
                has_gone(tx, letter)?;
            } else {
                letter.next_try_at = Some(now + chrono::Duration::seconds(REPEAT_UNKNOWN_SECONDS));
                letters::put_back(tx, id, REPEAT_UNKNOWN_SECONDS)?;
            }
        }
        Outcome::TryLater { why } => {
            letter.last_trouble = Some(why);
            match retries::wait_before_next(letter.id, u32::try_from(letter.attempts).unwrap_or(0)) {
                Some(wait) => {
                    let seconds = i64::try_from(wait.as_secs()).unwrap_or(i64::MAX);
                    letter.state = Word(LetterState::Waiting);
                    letter.next_try_at = Some(now + chrono::Duration::seconds(seconds));
                    letters::put_back(tx, id, seconds)?;
                }
                None => {
                    letter.state = Word(LetterState::GivenUp);
                    letter.state_reason = Some("the mail server could not be reached for days".to_owned());
                    has_gone(tx, letter)?;
                }
            }
        }
    }
    letters::save(tx, letter)
}

/// Nothing is sent of it any more: it leaves the outbox, and its words keep no secret of a link.
fn has_gone(tx: &mut store::Tx<'_>, letter: &mut LetterRow) -> Result<(), Error> {
    letter.text = secrets::withhold(&letter.text);
    letter.html = secrets::withhold(&letter.html);
    letters::take_out(tx, LetterId(letter.id))
}

/// Tells the screens how the letter stands. The order's version stays: a letter on its way
/// changes nothing that anybody decides on. In a transaction of its own, and never waiting for
/// whoever is changing the order just now: the fate of a letter must not wait, and the change
/// that is under way is told as well.
async fn tell(store: &Store, letter: &LetterRow, at: DateTime<Utc>) {
    for _ in 0..TELLS {
        match told(store, letter, at).await {
            Ok(true) => return,
            Ok(false) => tokio::time::sleep(BEFORE_TELLING_AGAIN).await,
            Err(error) => {
                tracing::debug!(cause = %error, "no screen was told of a letter now");
                return;
            }
        }
    }
}

async fn told(store: &Store, letter: &LetterRow, at: DateTime<Utc>) -> Result<bool, Error> {
    // A letter to somebody of the staff is about no order, and no screen shows it.
    let Some(id) = letter.work_order_id.map(WorkOrderId) else { return Ok(true) };
    let words = format!("an e-mail: {}", letter.state.0.to_string().replace('_', " "));
    store
        .write(ShopId(letter.shop_id), move |tx| {
            let Some(order) = work_orders::find_at_rest(tx, id)? else { return Ok(false) };
            let data = json!({
                "kind": "letter",
                "work_order_id": id,
                "claim_number": claim_number(order.claim_count)?,
                "version": order.version,
                "stage": order.stage.0,
                "words": words,
                "at": at,
            });
            events::write(tx, "letter", id, &data, at)?;
            Ok(true)
        })
        .await
}

fn envelope(letter: &LetterRow, from: &From, shop_name: &str, shop_email: &str) -> Envelope {
    let shop = Person { name: shop_name.to_owned(), email: shop_email.to_owned() };
    let only_tells = LetterKind::from_spelling(&letter.kind).is_some_and(LetterKind::only_tells);
    // The address of the reader's own status page stands in the letter; its wish about mail is
    // changed there.
    let status_page = letter.text.split_whitespace().find(|word| word.starts_with("http") && word.contains("/status/"));
    Envelope {
        from: from.person.clone().map_or_else(|| shop.clone(), |person| Person { name: shop.name.clone(), email: person.email }),
        to: Person { name: letter.to_name.clone(), email: letter.to_email.clone().unwrap_or_default() },
        reply_to: (!shop.email.is_empty()).then_some(shop),
        subject: letter.subject.clone(),
        message_id: letter.message_id.clone(),
        date: letter.queued_at,
        unsubscribe_url: status_page.filter(|_| only_tells).map(|page| format!("{page}/mail")),
        text: letter.text.clone(),
        html: letter.html.clone(),
    }
}
