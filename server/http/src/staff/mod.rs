//! The staff API, one file per resource.

pub mod board;
pub mod calculations;
pub mod customers;
pub mod evening;
pub mod events;
pub mod findings;
pub mod fit_checks;
pub mod forecast;
pub mod instruments;
pub mod letters;
pub mod methods;
pub mod operations;
pub mod papers;
pub mod part_maps;
pub mod people;
pub mod photos;
pub mod plans;
pub mod quotes;
pub mod ring_list;
pub mod sessions;
pub mod shop;
pub mod tests;
pub mod work_orders;

use crate::extract::Page;
use crate::problem::{Kind, Problem};
use actix_web::http::StatusCode;
use actix_web::http::header::{self, ContentType};
use actix_web::{HttpRequest, HttpResponse, ResponseError};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::Serialize;
use sha2::{Digest, Sha256};

/// An answer with a strong ETag: its version, which is what `If-Match` looks at, and what stands
/// in it. Much that is shown comes from elsewhere and raises no version of this.
fn versioned(status: StatusCode, version: i32, value: &impl Serialize) -> HttpResponse {
    let Some(shown) = written(value) else { return unwritable() };
    tagged(status, &content_tag(version, &shown), shown)
}

/// [`versioned`], asked for with `If-None-Match`: 304 when it is still the same.
fn versioned_or_304(request: &HttpRequest, version: i32, value: &impl Serialize) -> HttpResponse {
    let Some(shown) = written(value) else { return unwritable() };
    unless_seen(request, &content_tag(version, &shown), shown)
}

/// An answer that nobody edits, asked for with `If-None-Match`. Its ETag is what stands in it.
fn shown_or_304(request: &HttpRequest, value: &impl Serialize) -> HttpResponse {
    let Some(shown) = written(value) else { return unwritable() };
    unless_seen(request, &format!("\"{}\"", hash(&shown)), shown)
}

/// The same where some of it changes nothing that hangs on it: `level` sets that to what it always
/// is, and the ETag is a weak one, of the rest.
fn much_the_same_or_304<T: Serialize>(request: &HttpRequest, mut value: T, level: impl FnOnce(&mut T)) -> HttpResponse {
    let Some(shown) = written(&value) else { return unwritable() };
    level(&mut value);
    let Some(counts) = written(&value) else { return unwritable() };
    unless_seen(request, &format!("W/\"{}\"", hash(&counts)), shown)
}

fn written(value: &impl Serialize) -> Option<Vec<u8>> {
    serde_json::to_vec(value).ok()
}

/// Nothing of ours cannot be written down; if it ever happens it is our fault.
fn unwritable() -> HttpResponse {
    Problem::new(Kind::Fault).error_response()
}

fn unless_seen(request: &HttpRequest, tag: &str, shown: Vec<u8>) -> HttpResponse {
    if has_seen(request, tag) {
        return HttpResponse::NotModified().insert_header((header::ETAG, tag)).insert_header((header::CACHE_CONTROL, "no-store")).finish();
    }
    tagged(StatusCode::OK, tag, shown)
}

fn tagged(status: StatusCode, tag: &str, shown: Vec<u8>) -> HttpResponse {
    HttpResponse::build(status)
        .insert_header((header::ETAG, tag))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .content_type(ContentType::json())
        .body(shown)
}

fn content_tag(version: i32, shown: &[u8]) -> String {
    format!("\"{version}-{}\"", hash(shown))
}

/// Tells one answer from another: twelve bytes of its SHA-256, in letters.
fn hash(shown: &[u8]) -> String {
    let digest: [u8; 32] = Sha256::digest(shown).into();
    URL_SAFE_NO_PAD.encode(&digest[..12])
}

/// Whether the browser has this version already.
fn has_seen(request: &HttpRequest, tag: &str) -> bool {
    let tag = tag.trim_start_matches("W/");
    request
        .headers()
        .get(header::IF_NONE_MATCH)
        .and_then(|value| value.to_str().ok())
        // Compared weakly, as RFC 9110 (13.1.2) has it; what is read here exists, so `*` fits.
        .is_some_and(|seen| seen.trim() == "*" || seen.split(',').any(|one| one.trim().trim_start_matches("W/") == tag))
}

/// A page of a list, with its `Link` header when there is a next one.
fn page<T: Serialize + utoipa::ToSchema>(request: &HttpRequest, page: &Page<T>) -> HttpResponse {
    linked(request, page.next.as_deref(), page)
}

/// The same of a page that holds something beside the list.
fn linked(request: &HttpRequest, next: Option<&str>, page: &impl Serialize) -> HttpResponse {
    let mut answer = HttpResponse::Ok();
    answer.insert_header((header::CACHE_CONTROL, "no-store"));
    if let Some(next) = next {
        let mut query: Vec<String> =
            request.query_string().split('&').filter(|p| !p.is_empty() && !p.starts_with("cursor=")).map(ToOwned::to_owned).collect();
        query.push(format!("cursor={next}"));
        answer.insert_header((header::LINK, format!("<{}?{}>; rel=\"next\"", request.path(), query.join("&"))));
    }
    answer.json(page)
}
