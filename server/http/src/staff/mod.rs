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

use crate::extract::etag;
use actix_web::HttpResponse;
use actix_web::http::{StatusCode, header};
use serde::Serialize;

/// An answer with its version as a strong ETag.
fn versioned(status: StatusCode, version: i32, value: &impl Serialize) -> HttpResponse {
    HttpResponse::build(status)
        .insert_header((header::ETAG, etag(version)))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(value)
}

/// An answer that was asked for with `If-None-Match`: 304 when it is still the same.
fn versioned_or_304(request: &actix_web::HttpRequest, tag: &str, value: &impl Serialize) -> HttpResponse {
    if has_seen(request, tag) {
        return HttpResponse::NotModified().insert_header((header::ETAG, tag.to_owned())).finish();
    }
    HttpResponse::Ok()
        .insert_header((header::ETAG, tag.to_owned()))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(value)
}

/// The entity tag of an answer that shows more than the version counts: the version, which is
/// what `If-Match` looks at, and what stands in the answer.
fn content_tag(version: i32, value: &impl Serialize) -> String {
    let shown = serde_json::to_vec(value).unwrap_or_default();
    format!("\"{version}-{:016x}\"", fnv(&shown))
}

/// The entity tag of an answer that has no version: what stands in it, apart from these fields.
fn shown_tag(value: &impl Serialize, apart_from: &[&str]) -> String {
    let mut shown = serde_json::to_value(value).unwrap_or_default();
    if let Some(fields) = shown.as_object_mut() {
        fields.retain(|name, _| !apart_from.contains(&name.as_str()));
    }
    format!("\"{:016x}\"", fnv(shown.to_string().as_bytes()))
}

/// FNV-1a, 64 bits: tells one answer from another, no secret. Source: the algorithm's own page, from memory.
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// Whether the browser has this version already.
fn has_seen(request: &actix_web::HttpRequest, tag: &str) -> bool {
    request
        .headers()
        .get(header::IF_NONE_MATCH)
        .and_then(|value| value.to_str().ok())
        // Compared weakly, as RFC 9110 (13.1.2) has it; what is read here exists, so `*` fits.
        .is_some_and(|seen| seen.trim() == "*" || seen.split(',').any(|one| one.trim().trim_start_matches("W/") == tag))
}

/// A page of a list, with its `Link` header when there is a next one.
fn page<T: Serialize + utoipa::ToSchema>(request: &actix_web::HttpRequest, page: crate::extract::Page<T>) -> HttpResponse {
    let mut answer = HttpResponse::Ok();
    answer.insert_header((header::CACHE_CONTROL, "no-store"));
    if let Some(next) = &page.next {
        let mut query: Vec<String> =
            request.query_string().split('&').filter(|p| !p.is_empty() && !p.starts_with("cursor=")).map(ToOwned::to_owned).collect();
        query.push(format!("cursor={next}"));
        answer.insert_header((header::LINK, format!("<{}?{}>; rel=\"next\"", request.path(), query.join("&"))));
    }
    answer.json(page)
}
