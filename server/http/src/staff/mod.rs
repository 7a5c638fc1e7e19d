//! The staff API, one file per resource.

pub mod board;
pub mod calculations;
pub mod customers;
pub mod events;
pub mod findings;
pub mod fit_checks;
pub mod forecast;
pub mod instruments;
pub mod letters;
pub mod methods;
pub mod operations;
pub mod part_maps;
pub mod people;
pub mod plans;
pub mod quotes;
pub mod sessions;
pub mod shop;
pub mod tests;
pub mod work_orders;

use crate::extract::Page;
use crate::problem::{Kind, Problem};
use actix_web::http::StatusCode;
use actix_web::http::header::{self, ContentType};
use actix_web::{HttpRequest, HttpResponse, ResponseError};
use serde::Serialize;

/// An answer with a strong ETag: its version, which is what `If-Match` looks at, and what stands
/// in it. Much that is shown comes from elsewhere and raises no version of this.
fn versioned(status: StatusCode, version: i32, value: &impl Serialize) -> HttpResponse {
    let Ok(shown) = serde_json::to_vec(value) else { return Problem::new(Kind::Fault).error_response() };
    let tag = content_tag(version, &shown);
    tagged(status, &tag, shown)
}

/// [`versioned`], asked for with `If-None-Match`: 304 when it is still the same.
fn versioned_or_304(request: &HttpRequest, version: i32, value: &impl Serialize) -> HttpResponse {
    let Ok(shown) = serde_json::to_vec(value) else { return Problem::new(Kind::Fault).error_response() };
    let tag = content_tag(version, &shown);
    if has_seen(request, &tag) { still_the_same(&tag) } else { tagged(StatusCode::OK, &tag, shown) }
}

/// An answer that nobody edits, asked for with `If-None-Match`. Its ETag is what stands in it; a weak
/// one where some of its fields change nothing that hangs on it.
fn shown_or_304(request: &HttpRequest, value: &impl Serialize, apart_from: &[&str]) -> HttpResponse {
    let (Ok(shown), Ok(mut counts)) = (serde_json::to_vec(value), serde_json::to_value(value)) else {
        return Problem::new(Kind::Fault).error_response();
    };
    if let Some(fields) = counts.as_object_mut() {
        fields.retain(|name, _| !apart_from.contains(&name.as_str()));
    }
    let weak = if apart_from.is_empty() { "" } else { "W/" };
    let tag = format!("{weak}\"{:016x}\"", fnv(counts.to_string().as_bytes()));
    if has_seen(request, &tag) { still_the_same(&tag) } else { tagged(StatusCode::OK, &tag, shown) }
}

fn tagged(status: StatusCode, tag: &str, shown: Vec<u8>) -> HttpResponse {
    HttpResponse::build(status)
        .insert_header((header::ETAG, tag))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .content_type(ContentType::json())
        .body(shown)
}

fn still_the_same(tag: &str) -> HttpResponse {
    HttpResponse::NotModified().insert_header((header::ETAG, tag)).insert_header((header::CACHE_CONTROL, "no-store")).finish()
}

fn content_tag(version: i32, shown: &[u8]) -> String {
    format!("\"{version}-{:016x}\"", fnv(shown))
}

/// FNV-1a, 64 bits: tells one answer from another, no secret. Source: the algorithm's own page, from memory.
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3))
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
