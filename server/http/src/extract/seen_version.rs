//! Which version the person saw.

use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::http::header::IF_MATCH;
use actix_web::{FromRequest, HttpRequest};
use std::future::{Ready, ready};

/// The version named by `If-Match`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeenVersion(pub i32);

/// A version that nothing has: a tag that is none of ours matches nothing, which is a stale one.
const NONE_OF_OURS: i32 = -1;

impl FromRequest for SeenVersion {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let Some(value) = request.headers().get(IF_MATCH) else {
            return ready(Err(Problem::new(Kind::PreconditionMissing)));
        };
        let text = value.to_str().map(str::trim).unwrap_or_default();
        // RFC 9110 lets `*` match whatever there is; who sends it has seen nothing (rule 6).
        if text == "*" {
            return ready(Err(Problem::new(Kind::PreconditionMissing).saying("\"*\" names no version. Send the ETag of what you saw.")));
        }
        ready(seen(text).map(Self).ok_or_else(|| {
            Problem::new(Kind::InvalidInput).at("If-Match", "must be the ETag of what you saw, one, such as \"7\" in its quotes")
        }))
    }
}

/// The version named by `If-Match` where it may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeenIfSaid(pub Option<i32>);

impl FromRequest for SeenIfSaid {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        if !request.headers().contains_key(IF_MATCH) {
            return ready(Ok(Self(None)));
        }
        ready(SeenVersion::from_request(request, payload).into_inner().map(|seen| Self(Some(seen.0))))
    }
}

/// The version that an entity tag of RFC 9110 (8.8.3) names; a weak one matches nothing strongly.
fn seen(text: &str) -> Option<i32> {
    let (is_weak, tag) = text.strip_prefix("W/").map_or((false, text), |tag| (true, tag));
    let inner = tag.strip_prefix('"')?.strip_suffix('"')?;
    let is_tag = inner.bytes().all(|byte| byte == 0x21 || (0x23..=0x7e).contains(&byte) || byte >= 0x80);
    // A tag may say after a hyphen what else the answer showed; the version stands before it.
    let version = inner.split_once('-').map_or(inner, |(version, _)| version).parse().ok().filter(|version| *version >= 0 && !is_weak);
    is_tag.then(|| version.unwrap_or(NONE_OF_OURS))
}
