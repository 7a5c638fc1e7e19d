//! The customers' own pages: what they can be asked, and what every one of them promises.
//!
//! A page under a token is never kept, indexed, framed or named to another site. Looking
//! (GET, HEAD, OPTIONS) decides nothing and marks nothing: mail scanners open every link, so a
//! quote counts as seen only with the first form that carries a typed name.
//!
//! The views stand in `pages/`; here their facts are taken from an order's rows.
//! Read first: `link.rs`, then `answer.rs`.

mod answer;
mod answer_facts;
mod form;
mod instead;
mod link;
mod order_facts;
mod password;
mod photos;
#[cfg(test)]
mod sample;
mod start;
mod status;
mod status_facts;

use crate::pages::{CONTENT_POLICY, CUSTOMER_CSS, customer_css_address};
use actix_web::dev::HttpServiceFactory;
use actix_web::http::StatusCode;
use actix_web::http::header::{self, ContentType};
use actix_web::web::{self, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse, Resource};
use instead::Instead;
use maud::Markup;

/// Registers the pages. Stands before the staff client, whose files lie under `/assets` too.
pub fn routes(config: &mut ServiceConfig) {
    config
        .service(pages_below(
            "/status",
            vec![
                web::resource(["/{token}", "/{token}/"])
                    .route(web::get().to(status::show))
                    .default_service(web::to(is_looked_at)),
                web::resource("/{token}/ready.ics")
                    .route(web::get().to(status::ready_day))
                    .default_service(web::to(is_looked_at)),
                web::resource("/{token}/photos/{id}")
                    .route(web::get().to(photos::small_of_status))
                    .default_service(web::to(is_looked_at)),
                web::resource("/{token}/photos/{id}/large")
                    .route(web::get().to(photos::large_of_status))
                    .default_service(web::to(is_looked_at)),
                web::resource("/{token}/again")
                    .route(web::get().to(status::show))
                    .route(web::post().to(status::again))
                    .default_service(web::to(takes_forms)),
                web::resource("/{token}/mail")
                    .route(web::get().to(status::show))
                    .route(web::post().to(status::wish))
                    .default_service(web::to(takes_forms)),
            ],
        ))
        .service(pages_below(
            "/answer",
            vec![
                web::resource(["/{token}", "/{token}/"])
                    .route(web::get().to(answer::show))
                    .route(web::post().to(answer::decide))
                    .default_service(web::to(takes_forms)),
                web::resource("/{token}/photos/{id}")
                    .route(web::get().to(photos::small_of_answer))
                    .default_service(web::to(is_looked_at)),
                web::resource("/{token}/photos/{id}/large")
                    .route(web::get().to(photos::large_of_answer))
                    .default_service(web::to(is_looked_at)),
                web::resource("/{token}/mistake")
                    .route(web::get().to(answer::show))
                    .route(web::post().to(answer::mistake))
                    .default_service(web::to(takes_forms)),
            ],
        ))
        .service(pages_below(
            "/start",
            vec![
                web::resource(["/{token}", "/{token}/"])
                    .route(web::get().to(start::show))
                    .route(web::post().to(start::open))
                    .default_service(web::to(takes_forms)),
            ],
        ))
        .service(pages_below(
            "/password",
            vec![
                web::resource(["/{token}", "/{token}/"])
                    .route(web::get().to(password::show))
                    .route(web::post().to(password::choose))
                    .default_service(web::to(takes_forms)),
            ],
        ))
        .service(
            web::resource("/assets/customer.css")
                .route(web::get().to(sheet))
                .default_service(web::to(is_looked_at)),
        )
        .service(
            web::resource("/robots.txt")
                .route(web::get().to(robots))
                .default_service(web::to(is_looked_at)),
        );
}

/// The resources of one kind of page; whatever else is asked below it opens nothing.
fn pages_below(path: &str, resources: Vec<Resource>) -> impl HttpServiceFactory + 'static {
    resources
        .into_iter()
        .fold(web::scope(path), actix_web::Scope::service)
        .default_service(web::to(nothing_here))
}

async fn nothing_here() -> Result<HttpResponse, Instead> {
    Err(Instead::Unknown)
}

/// Any other method, of what is only looked at.
async fn is_looked_at(request: HttpRequest) -> Result<HttpResponse, Instead> {
    wrong_method(&request, "GET, HEAD, OPTIONS")
}

/// Any other method, of what takes a form as well.
async fn takes_forms(request: HttpRequest) -> Result<HttpResponse, Instead> {
    wrong_method(&request, "GET, HEAD, POST, OPTIONS")
}

/// What may be asked stands in `Allow`.
fn wrong_method(request: &HttpRequest, allow: &'static str) -> Result<HttpResponse, Instead> {
    if request.method() == actix_web::http::Method::OPTIONS {
        return Ok(HttpResponse::NoContent()
            .insert_header((header::ALLOW, allow))
            .insert_header((header::CACHE_CONTROL, "no-store"))
            .finish());
    }
    Err(Instead::WrongMethod { allow })
}

/// A page with the headers that all of them carry.
fn page(status: StatusCode, content: Markup) -> HttpResponse {
    let mut answer = HttpResponse::build(status);
    promised(&mut answer);
    answer.insert_header(ContentType::html()).body(content.into_string())
}

/// The headers of everything below a token.
fn promised(answer: &mut actix_web::HttpResponseBuilder) {
    answer
        .insert_header((header::CONTENT_SECURITY_POLICY, CONTENT_POLICY))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header(("Referrer-Policy", "no-referrer"))
        .insert_header(("X-Robots-Tag", "noindex, nofollow"))
        .insert_header(("X-Content-Type-Options", "nosniff"))
        .insert_header(("Cross-Origin-Opener-Policy", "same-origin"))
        .insert_header(("Cross-Origin-Resource-Policy", "same-origin"));
}

/// Leads on to a page after a form was taken, so that a page opened again later by the browser
/// never sends the form once more.
fn lead_on(to: &str) -> HttpResponse {
    let mut answer = HttpResponse::SeeOther();
    promised(&mut answer);
    answer.insert_header((header::LOCATION, to)).finish()
}

/// The sheet of these pages. Kept for good under the address that names its content, for five
/// minutes under any other.
async fn sheet(request: HttpRequest) -> HttpResponse {
    let current = customer_css_address()
        .split_once('?')
        .is_some_and(|(_, hash)| hash == request.query_string());
    let caching =
        if current { "public, max-age=31536000, immutable" } else { "public, max-age=300" };
    HttpResponse::Ok()
        .content_type("text/css; charset=utf-8")
        .insert_header((header::CACHE_CONTROL, caching))
        .insert_header(("X-Content-Type-Options", "nosniff"))
        .insert_header(("Cross-Origin-Resource-Policy", "same-origin"))
        .body(CUSTOMER_CSS)
}

/// Nothing here is for search engines.
async fn robots() -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/plain; charset=utf-8")
        .insert_header((header::CACHE_CONTROL, "public, max-age=86400"))
        .insert_header(("X-Content-Type-Options", "nosniff"))
        .body("User-agent: *\nDisallow: /\n")
}
