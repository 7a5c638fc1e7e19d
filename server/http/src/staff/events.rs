//! Changes as they commit, as Server-Sent Events.

use crate::extract::SignedIn;
use crate::problem::{Kind, Problem};
use crate::state::Parts;
use actix_web::http::header;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get};
use bytes::Bytes;
use futures_util::stream;
use std::collections::{HashSet, VecDeque};
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use uuid::Uuid;

/// A comment goes out this often, so that a dead connection is noticed.
const HEARTBEAT: Duration = Duration::from_secs(15);

struct Reader {
    ahead: VecDeque<Bytes>,
    queue: mpsc::Receiver<crate::live::Encoded>,
    sent: i64,
    stop: watch::Receiver<bool>,
    /// Whose stream it is, and which sessions ended of late.
    session: Uuid,
    endings: watch::Receiver<HashSet<Uuid>>,
    ends_at: tokio::time::Instant,
}

/// Follow the changes of the shop. `Last-Event-ID` resumes without gap or repeat; whoever missed
/// more than a thousand is told `event: anew` once instead: read the board anew and go on. The stream
/// ends when the access token does: renew and resume. It ends within seconds of the session, whichever
/// process was told to end it.
#[utoipa::path(tag = "events", params(("Last-Event-ID" = Option<i64>, Header, description = "The number of the last change that was had; without it, the stream begins with now.")), responses((status = 200, content_type = "text/event-stream", body = String)))]
#[get("/events")]
pub async fn follow(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let after = match request.headers().get("Last-Event-ID") {
        None => None,
        Some(value) => Some(
            value
                .to_str()
                .ok()
                .and_then(|text| text.trim().parse::<i64>().ok())
                .filter(|number| *number >= 0)
                .ok_or_else(|| Problem::new(Kind::InvalidInput).at("Last-Event-ID", "must be the id of the last event you had"))?,
        ),
    };
    let (missed, queue) = parts.live.join(who.actor.shop, after).await?;
    let sent = missed.last().map_or(after.unwrap_or(0), |(number, _)| *number);
    let left = who.claims.exp.saturating_sub(u64::try_from(chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now()).timestamp()).unwrap_or(0));
    let mut ahead: VecDeque<Bytes> = VecDeque::new();
    ahead.push_back(Bytes::from_static(b"retry: 1000\n\n"));
    ahead.extend(missed.into_iter().map(|(_, bytes)| bytes));
    let reader = Reader {
        ahead,
        queue,
        sent,
        stop: parts.live.stop(),
        session: who.claims.sid,
        endings: parts.endings(),
        ends_at: tokio::time::Instant::now() + Duration::from_secs(left),
    };
    let stream = stream::unfold(reader, |mut reader| async move {
        loop {
            let session = reader.session;
            if *reader.stop.borrow() || reader.endings.borrow().contains(&session) {
                return None;
            }
            if let Some(bytes) = reader.ahead.pop_front() {
                return Some((Ok::<_, actix_web::Error>(bytes), reader));
            }
            tokio::select! {
                next = reader.queue.recv() => match next {
                    // Dropped for not reading: the client comes back with its last number.
                    None => return None,
                    Some((number, _)) if number <= reader.sent => {}
                    Some((number, bytes)) => {
                        reader.sent = number;
                        return Some((Ok(bytes), reader));
                    }
                },
                () = tokio::time::sleep(HEARTBEAT) => return Some((Ok(Bytes::from_static(b": still here\n\n")), reader)),
                () = tokio::time::sleep_until(reader.ends_at) => return None,
                changed = reader.stop.changed() => if changed.is_err() { return None },
                // That of another one is told too; the beginning of the loop looks whose it is.
                changed = reader.endings.changed() => if changed.is_err() { return None },
            }
        }
    });
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "text/event-stream"))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header(("X-Accel-Buffering", "no"))
        .insert_header((header::CONTENT_ENCODING, "identity"))
        .streaming(stream))
}
