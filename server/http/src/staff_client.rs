//! The staff client, inside the binary, with the headers that keep it tight.

use crate::problem::{Kind, Problem};
use actix_web::http::header;
use actix_web::web::{self, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse, ResponseError};
use rust_embed::RustEmbed;

/// What the build of `web-client` left. Empty when the client was not built; then a plain page says so.
#[derive(RustEmbed)]
#[folder = "../../web-client/dist"]
#[allow_missing = true]
struct Files;

/// Everything from our own files, no inline script or style.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; \
connect-src 'self'; manifest-src 'self'; form-action 'self'; frame-src 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'";

/// Registers the client at every address that nothing else answers and that asks for a page.
pub fn routes(config: &mut ServiceConfig) {
    config.route("/", web::get().to(index)).route("/assets/{path:.*}", web::get().to(asset));
    for screen in ["/board", "/check-in", "/work-orders", "/work-orders/{rest:.*}", "/search", "/people", "/shop", "/evening", "/ring-list", "/sign-in"] {
        config.route(screen, web::get().to(index));
    }
}

async fn index(request: HttpRequest) -> HttpResponse {
    match Files::get("index.html") {
        Some(_) => file(&request, "index.html", "no-cache"),
        None => HttpResponse::Ok()
            .content_type("text/html; charset=utf-8")
            .body("<!doctype html><title>Bellbrace</title><p>The staff client is not in this build. Build web-client first.</p>"),
    }
}

async fn asset(request: HttpRequest, path: web::Path<String>) -> HttpResponse {
    // The names of built files carry a hash of their content.
    let name = format!("assets/{path}");
    if Files::get(&name).is_none() {
        return Problem::new(Kind::Absent).error_response();
    }
    file(&request, &name, "public, max-age=31536000, immutable")
}

fn file(request: &HttpRequest, name: &str, caching: &str) -> HttpResponse {
    let accepted = request.headers().get(header::ACCEPT_ENCODING).and_then(|v| v.to_str().ok()).unwrap_or_default().to_owned();
    let packed = [("br", ".br"), ("gzip", ".gz")]
        .into_iter()
        .filter(|(coding, _)| accepted.split(',').any(|one| one.trim().split(';').next() == Some(coding)))
        .find_map(|(coding, end)| Files::get(&format!("{name}{end}")).map(|file| (Some(coding), file)));
    let Some((coding, found)) = packed.or_else(|| Files::get(name).map(|file| (None, file))) else {
        return Problem::new(Kind::Absent).error_response();
    };
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json" | "webmanifest") => "application/json",
        Some("png") => "image/png",
        _ => "application/octet-stream",
    };
    let mut answer = HttpResponse::Ok();
    answer
        .content_type(kind)
        .insert_header((header::CACHE_CONTROL, caching))
        .insert_header((header::CONTENT_SECURITY_POLICY, POLICY))
        .insert_header(("X-Content-Type-Options", "nosniff"))
        .insert_header(("Referrer-Policy", "no-referrer"))
        .insert_header(("Cross-Origin-Opener-Policy", "same-origin"))
        .insert_header(("Cross-Origin-Resource-Policy", "same-origin"))
        .insert_header((header::VARY, "Accept-Encoding"));
    // Already packed (or not worth it): the compressing middleware must leave it alone.
    answer.insert_header((header::CONTENT_ENCODING, coding.unwrap_or("identity")));
    answer.body(found.data.into_owned())
}
