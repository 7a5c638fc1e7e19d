//! A JSON body, read strictly: unknown fields, wrong types and NUL letters are named by pointer.

use crate::extract::strict::Strict;
use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::BytesMut;
use actix_web::{FromRequest, HttpRequest};
use bytes::Bytes;
use futures_util::StreamExt;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::future::Future;
use std::pin::Pin;
use std::sync::LazyLock;
use std::time::Duration;
use tokio::sync::Semaphore;
use trade::bench::pressure_log::MOST_READINGS;

/// The most a body may hold, in bytes.
pub const MOST: usize = 1024 * 1024;

/// The most a body with a pressure log may hold, in bytes: 100,000 rows with room to spare.
pub const MOST_WITH_LOG: usize = 8 * 1024 * 1024;

/// A longer body is read on a thread of its own, in bytes: that of a whole pressure log takes a good
/// part of a second, and a request thread answers others meanwhile.
const LONG: usize = 64 * 1024;

/// At most so many long bodies at once: one of 8 MiB takes some hundred megabytes while it is read.
static TURNS: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(2));

/// A JSON body with its bytes, of at most `MOST_BYTES`.
#[derive(Debug)]
pub struct Body<T, const MOST_BYTES: usize = MOST> {
    /// What it says.
    pub value: T,
    /// As it came, for the idempotency record.
    pub bytes: Bytes,
}

impl<T, const MOST_BYTES: usize> Body<T, MOST_BYTES> {
    /// The body as plain JSON, to show what differs when the request is stale.
    #[must_use]
    pub fn json(&self) -> Option<Value> {
        serde_json::from_slice(&self.bytes).ok()
    }
}

impl<T: DeserializeOwned + Send + 'static, const MOST_BYTES: usize> FromRequest for Body<T, MOST_BYTES> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = media_type(request);
        let is_json = kind == "application/json" || kind.ends_with("+json");
        let payload = payload.take();
        Box::pin(async move {
            let bytes = match all_of(payload, MOST_BYTES).await? {
                Held::All(bytes) => bytes,
                Held::Beginning(_) => return Err(too_large(MOST_BYTES)),
            };
            // An empty body is an empty object for what has only optional fields.
            if bytes.is_empty() {
                return read(Bytes::from_static(b"{}"));
            }
            if !is_json {
                return Err(Problem::new(Kind::WrongType));
            }
            read_aside(bytes).await
        })
    }
}

/// The media type that a request says its body has, in small letters, without parameters.
pub(super) fn media_type(request: &HttpRequest) -> String {
    let said = request.headers().get(CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    said.split(';').next().unwrap_or_default().trim().to_ascii_lowercase()
}

/// What was read of a body.
pub(super) enum Held {
    /// All of it.
    All(Bytes),
    /// As much as may be; there is more.
    Beginning(Bytes),
}

/// After so long without a byte a body is taken to have broken off: a telephone that lost its network
/// says nothing, and what it holds here would be held for ever.
const SILENCE: Duration = Duration::from_secs(30);

/// Reads a body up to `most` bytes.
pub(super) async fn all_of(payload: Payload, most: usize) -> Result<Held, Problem> {
    read_while(payload, most, SILENCE).await
}

pub(super) fn broke_off() -> Problem {
    Problem::new(Kind::InvalidInput).saying("The body broke off; send it again.")
}

async fn read_while(mut payload: Payload, most: usize, silence: Duration) -> Result<Held, Problem> {
    let mut bytes = BytesMut::new();
    while let Some(chunk) = tokio::time::timeout(silence, payload.next()).await.map_err(|_| broke_off())? {
        let chunk = chunk.map_err(|_| broke_off())?;
        if bytes.len() + chunk.len() > most {
            return Ok(Held::Beginning(bytes.freeze()));
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(Held::All(bytes.freeze()))
}

pub(super) fn too_large(most: usize) -> Problem {
    let log = if most == MOST_WITH_LOG { format!("; a pressure log holds at most {MOST_READINGS} rows") } else { String::new() };
    Problem::new(Kind::TooLarge).saying(format!("This request holds at most {} MiB{log}.", most / (1024 * 1024)))
}

/// [`read`], for a long body on a thread that answers nobody else.
pub(super) async fn read_aside<T, const MOST_BYTES: usize>(bytes: Bytes) -> Result<Body<T, MOST_BYTES>, Problem>
where
    T: DeserializeOwned + Send + 'static,
{
    if bytes.len() <= LONG { read(bytes) } else { aside(move || read(bytes)).await? }
}

/// Reads something long on a thread that answers nobody else, when its turn comes.
pub(super) async fn aside<R: Send + 'static>(reading: impl FnOnce() -> R + Send + 'static) -> Result<R, Problem> {
    let _turn = TURNS.acquire().await.map_err(|_| Problem::new(Kind::Fault))?;
    actix_web::web::block(reading).await.map_err(|_| Problem::new(Kind::Fault))
}

fn read<T: DeserializeOwned, const MOST_BYTES: usize>(bytes: Bytes) -> Result<Body<T, MOST_BYTES>, Problem> {
    let invalid = || Problem::new(Kind::InvalidInput);
    if std::str::from_utf8(&bytes).is_err() {
        return Err(invalid().at("", "is not UTF-8"));
    }
    let value: Value = serde_json::from_slice(&bytes)
        .map_err(|e| invalid().at("", format!("is no JSON from letter {} on", letters_before(&bytes, e.line(), e.column()))))?;
    let mut problem = invalid();
    let mut clean = true;
    refuse_nul(&value, &mut String::new(), &mut |pointer| {
        clean = false;
        problem = std::mem::replace(&mut problem, invalid()).at(pointer, "holds a NUL letter; leave it out");
    });
    if !clean {
        return Err(problem);
    }
    let told = |error: serde_path_to_error::Error<serde_json::Error>| {
        let said = error.inner().to_string();
        invalid().at(pointer_of(error.path(), &said), plain(&said))
    };
    // Once as it came, where a field that is given twice still shows, and once strictly.
    let mut as_it_came = serde_json::Deserializer::from_slice(&bytes);
    serde_path_to_error::deserialize::<_, T>(&mut as_it_came).map_err(told)?;
    match serde_path_to_error::deserialize(Strict(&value)) {
        Ok(value) => Ok(Body { value, bytes }),
        Err(error) => Err(told(error)),
    }
}

fn refuse_nul(value: &Value, at: &mut String, note: &mut impl FnMut(String)) {
    match value {
        Value::String(text) if text.contains('\0') => note(at.clone()),
        Value::Array(list) => {
            for (index, element) in list.iter().enumerate() {
                let length = at.len();
                at.push_str(&format!("/{index}"));
                refuse_nul(element, at, note);
                at.truncate(length);
            }
        }
        Value::Object(map) => {
            for (key, element) in map {
                let length = at.len();
                at.push('/');
                at.push_str(&key.replace('~', "~0").replace('/', "~1"));
                if key.contains('\0') {
                    note(at.clone());
                }
                refuse_nul(element, at, note);
                at.truncate(length);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// The pointer of a reading error; a missing or unknown field is named itself.
fn pointer_of(path: &serde_path_to_error::Path, message: &str) -> String {
    use serde_path_to_error::Segment;
    let mut pointer = String::new();
    for segment in path {
        match segment {
            Segment::Seq { index } => pointer.push_str(&format!("/{index}")),
            Segment::Map { key } => {
                pointer.push('/');
                pointer.push_str(&key.replace('~', "~0").replace('/', "~1"));
            }
            Segment::Enum { .. } | Segment::Unknown => {}
        }
    }
    if (message.starts_with("missing field") || message.starts_with("unknown field"))
        && let Some(field) = message.split('`').nth(1)
        && !pointer.ends_with(&format!("/{field}"))
    {
        pointer.push('/');
        pointer.push_str(field);
    }
    pointer
}

/// How many letters lie before a place that the JSON reader names by line and column, which mean
/// nothing to a person who sent one long line.
fn letters_before(bytes: &[u8], line: usize, column: usize) -> usize {
    let lines_before = bytes.split(|byte| *byte == b'\n').take(line.saturating_sub(1)).map(|one| one.len() + 1).sum::<usize>();
    let end = (lines_before + column).min(bytes.len());
    String::from_utf8_lossy(&bytes[..end]).chars().count()
}

/// What is wrong, in our words instead of the reader's.
fn plain(message: &str) -> String {
    let message = message.split(" at line ").next().unwrap_or(message);
    let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    if message.starts_with("missing field") {
        return "is missing".to_owned();
    }
    if message.starts_with("unknown field") {
        return match quoted.split_first() {
            Some((_, known)) if !known.is_empty() => format!("is no field of this; there are {}", known.join(", ")),
            _ => "is no field of this; leave it out".to_owned(),
        };
    }
    if message.starts_with("duplicate field") {
        return "is given twice; leave one out".to_owned();
    }
    if message.starts_with("unknown variant") {
        return format!("must be one of {}", quoted.get(1..).unwrap_or_default().join(", "));
    }
    if let Some(rest) = message.strip_prefix("invalid type: ").or_else(|| message.strip_prefix("invalid value: ")) {
        return format!("must be {}", expected(rest.rsplit_once(", expected ").map_or("", |(_, wanted)| wanted)));
    }
    if message.starts_with("invalid length") {
        return "has too many or too few entries".to_owned();
    }
    if message.contains("UUID") {
        return "must be an id as the API gives it, such as 0190c0de-0000-7000-8000-000000000001".to_owned();
    }
    // What the reader of dates says: "premature end of input" and its like.
    if message.contains("input") {
        return "must be a date such as 2026-05-20".to_owned();
    }
    message.to_owned()
}

/// What a field must be, for what the reader expected.
fn expected(wanted: &str) -> String {
    match wanted.split_whitespace().next_back().unwrap_or_default() {
        "string" => "a text".to_owned(),
        "boolean" => "true or false".to_owned(),
        "i8" | "i16" | "i32" | "i64" | "u8" | "u16" | "u32" | "u64" | "usize" => "a whole number within its range".to_owned(),
        "f32" | "f64" => "a number".to_owned(),
        "sequence" | "array" => "a list".to_owned(),
        "date" => "a date such as 2026-05-20".to_owned(),
        _ if wanted.contains("UUID") => "an id as the API gives it".to_owned(),
        // A struct or enum of ours, by a name that is none of the person's words.
        _ if wanted.contains("enum") || wanted.contains("variant") => "one of the words that the API document lists".to_owned(),
        _ => "an object with fields".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::{Body, Held, LONG, MOST_WITH_LOG, read_while};
    use actix_web::dev::Payload;
    use actix_web::http::header::ContentType;
    use actix_web::test::TestRequest;
    use actix_web::{FromRequest, rt};
    use serde::{Deserialize, Deserializer};
    use futures_util::StreamExt;
    use std::thread::ThreadId;
    use std::time::Duration;

    #[test]
    fn a_body_that_falls_silent_has_broken_off_and_one_that_comes_is_read() {
        rt::System::new().block_on(async {
            let half = || futures_util::stream::iter([Ok(bytes::Bytes::from_static(b"half"))]);
            let silent: Payload = Payload::Stream { payload: Box::pin(half().chain(futures_util::stream::pending())) };
            let answer = read_while(silent, 100, Duration::from_millis(20)).await;
            assert!(answer.is_err_and(|problem| format!("{problem:?}").contains("broke off")));
            let whole: Payload = Payload::Stream { payload: Box::pin(half()) };
            assert!(matches!(read_while(whole, 100, Duration::from_secs(30)).await, Ok(Held::All(bytes)) if bytes == "half"));
        });
    }

    /// On which thread a body was read.
    #[derive(Debug)]
    struct ReadOn(ThreadId);

    impl<'de> Deserialize<'de> for ReadOn {
        fn deserialize<D: Deserializer<'de>>(body: D) -> Result<Self, D::Error> {
            Vec::<u32>::deserialize(body)?;
            Ok(Self(std::thread::current().id()))
        }
    }

    async fn thread_that_reads(numbers: usize) -> ThreadId {
        let list = format!("[{}]", vec!["12345"; numbers].join(","));
        let (request, mut payload) = TestRequest::default().insert_header(ContentType::json()).set_payload(list).to_http_parts();
        let body = Body::<ReadOn, MOST_WITH_LOG>::from_request(&request, &mut payload).await.expect("a list");
        body.value.0
    }

    #[test]
    fn a_long_body_is_not_read_on_the_thread_that_answers_others() {
        rt::System::new().block_on(async {
            let answering = std::thread::current().id();
            assert_eq!(thread_that_reads(LONG / 12).await, answering);
            assert_ne!(thread_that_reads(LONG / 4).await, answering);
        });
    }
}
