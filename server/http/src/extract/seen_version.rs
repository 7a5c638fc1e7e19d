//! Which version the person saw.

use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::http::header::IF_MATCH;
use actix_web::{FromRequest, HttpRequest};
use std::future::{Ready, ready};

/// The version named by `If-Match`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeenVersion(pub i32);

/// The strong entity tag of a version.
#[must_use]
pub fn etag(version: i32) -> String {
    format!("\"{version}\"")
}

impl FromRequest for SeenVersion {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let Some(value) = request.headers().get(IF_MATCH) else {
            return ready(Err(Problem::new(Kind::PreconditionMissing)));
        };
        let version = value
            .to_str()
            .ok()
            .and_then(|text| text.trim().strip_prefix('"'))
            .and_then(|text| text.strip_suffix('"'))
            // A tag may say after a hyphen what else the answer showed; the version stands before it.
            .and_then(|text| text.split_once('-').map_or(Some(text), |(version, rest)| (!version.is_empty() && !rest.is_empty()).then_some(version)))
            .and_then(|text| text.parse().ok());
        ready(version.map(Self).ok_or_else(|| {
            Problem::new(Kind::InvalidInput).at("If-Match", "must be the ETag of what you saw, such as \"7\" in its quotes")
        }))
    }
}
