//! The `Idempotency-Key` of a request (IETF draft "The Idempotency-Key HTTP Header Field").

use crate::extract::{Body, SignedIn};
use crate::problem::{Kind, Problem};
use crate::state::Parts;
use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use std::future::{Ready, ready};
use store::Once;

/// The key, if one was sent, with the method and path it belongs to.
#[derive(Debug, Clone)]
pub struct OnceKey {
    key: Option<String>,
    place: String,
    parts: Data<Parts>,
}

impl OnceKey {
    /// For a request with a body.
    #[must_use]
    pub fn of<T, const MOST_BYTES: usize>(&self, who: &SignedIn, body: &Body<T, MOST_BYTES>) -> Once {
        self.with(&who.claims.sub.to_string(), &body.bytes)
    }

    /// For a request whose body was told from others already.
    #[must_use]
    pub fn of_digest(&self, who: &SignedIn, digest: &[u8]) -> Once {
        self.with(&who.claims.sub.to_string(), digest)
    }

    /// For a request without a body.
    #[must_use]
    pub fn empty(&self, who: &SignedIn) -> Once {
        self.with(&who.claims.sub.to_string(), b"")
    }

    fn with(&self, actor: &str, body: &[u8]) -> Once {
        let body_hash = self.parts.keys.fingerprint(&self.place, body);
        Once { actor: actor.to_owned(), key: self.key.clone(), body_hash }
    }
}

impl FromRequest for OnceKey {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let place = format!("{} {}", request.method(), request.path());
        let Some(parts) = request.app_data::<Data<Parts>>().cloned() else {
            return ready(Err(Problem::new(Kind::Fault)));
        };
        let Some(value) = request.headers().get("Idempotency-Key") else {
            return ready(Ok(Self { key: None, place, parts }));
        };
        // The draft writes a quoted string; bare ones are common and mean the same.
        let key = value.to_str().ok().map(|text| text.trim().trim_matches('"').to_owned());
        ready(match key {
            Some(key) if (1..=200).contains(&key.len()) && key.chars().all(|c| c.is_ascii_graphic()) => {
                Ok(Self { key: Some(key), place, parts })
            }
            _ => Err(Problem::new(Kind::InvalidInput).at("Idempotency-Key", "must be 1 to 200 visible ASCII letters")),
        })
    }
}
