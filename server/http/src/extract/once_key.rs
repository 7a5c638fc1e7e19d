//! The `Idempotency-Key` of a request (IETF draft "The Idempotency-Key HTTP Header Field").

use crate::extract::{Body, SignedIn};
use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use sha2::{Digest, Sha256};
use std::future::{Ready, ready};
use store::Once;

/// The key, if one was sent, with the method and path it belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnceKey {
    key: Option<String>,
    place: String,
}

impl OnceKey {
    /// For a request with a body.
    #[must_use]
    pub fn of<T>(&self, who: &SignedIn, body: &Body<T>) -> Once {
        self.with(&who.claims.sub.to_string(), &body.bytes)
    }

    /// For a request without a body.
    #[must_use]
    pub fn empty(&self, who: &SignedIn) -> Once {
        self.with(&who.claims.sub.to_string(), b"")
    }

    fn with(&self, actor: &str, body: &[u8]) -> Once {
        let mut hash = Sha256::new();
        hash.update(self.place.as_bytes());
        hash.update([0]);
        hash.update(body);
        Once { actor: actor.to_owned(), key: self.key.clone(), body_hash: hash.finalize().to_vec() }
    }
}

impl FromRequest for OnceKey {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let place = format!("{} {}", request.method(), request.path());
        let Some(value) = request.headers().get("Idempotency-Key") else {
            return ready(Ok(Self { key: None, place }));
        };
        // The draft writes a quoted string; bare ones are common and mean the same.
        let key = value.to_str().ok().map(|text| text.trim().trim_matches('"').to_owned());
        ready(match key {
            Some(key) if (1..=200).contains(&key.len()) && key.chars().all(|c| c.is_ascii_graphic()) => {
                Ok(Self { key: Some(key), place })
            }
            _ => Err(Problem::new(Kind::InvalidInput).at("Idempotency-Key", "must be 1 to 200 visible ASCII letters")),
        })
    }
}
