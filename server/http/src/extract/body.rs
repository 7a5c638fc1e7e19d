//! A JSON body, read strictly: unknown fields, wrong types and NUL letters are named by pointer.

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

/// The most a body may hold, in bytes.
pub const MOST: usize = 1024 * 1024;

/// The most a body with a pressure log may hold, in bytes: 100,000 rows with room to spare.
pub const MOST_WITH_LOG: usize = 8 * 1024 * 1024;

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

impl<T: DeserializeOwned + 'static, const MOST_BYTES: usize> FromRequest for Body<T, MOST_BYTES> {
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
            read(bytes)
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

/// Reads a body up to `most` bytes.
pub(super) async fn all_of(mut payload: Payload, most: usize) -> Result<Held, Problem> {
    let mut bytes = BytesMut::new();
    while let Some(chunk) = payload.next().await {
        let chunk = chunk.map_err(|_| Problem::new(Kind::InvalidInput).saying("The body broke off; send it again."))?;
        if bytes.len() + chunk.len() > most {
            return Ok(Held::Beginning(bytes.freeze()));
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(Held::All(bytes.freeze()))
}

pub(super) fn too_large(most: usize) -> Problem {
    Problem::new(Kind::TooLarge).saying(format!("This request holds at most {} MiB.", most / (1024 * 1024)))
}

pub(super) fn read<T: DeserializeOwned, const MOST_BYTES: usize>(bytes: Bytes) -> Result<Body<T, MOST_BYTES>, Problem> {
    let invalid = || Problem::new(Kind::InvalidInput);
    if std::str::from_utf8(&bytes).is_err() {
        return Err(invalid().at("", "is not UTF-8"));
    }
    let value: Value = serde_json::from_slice(&bytes).map_err(|e| invalid().at("", format!("is no JSON: {e}")))?;
    let mut problem = invalid();
    let mut clean = true;
    refuse_nul(&value, &mut String::new(), &mut |pointer| {
        clean = false;
        problem = std::mem::replace(&mut problem, invalid()).at(pointer, "holds a NUL letter; leave it out");
    });
    if !clean {
        return Err(problem);
    }
    let mut deserializer = serde_json::Deserializer::from_slice(&bytes);
    match serde_path_to_error::deserialize(&mut deserializer) {
        Ok(value) => Ok(Body { value, bytes }),
        Err(error) => Err(invalid().at(pointer_of(error.path(), &error.inner().to_string()), plain(&error.inner().to_string()))),
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

/// The reader's words without its line and column, which mean nothing to a pointer.
fn plain(message: &str) -> String {
    message.split(" at line ").next().unwrap_or(message).to_owned()
}
