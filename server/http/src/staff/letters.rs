//! Letters: what was sent, when, or why not.

use crate::extract::{Id, OnceKey, OrderPath, Page, Paging, Params, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::page;
use crate::state::Parts;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post};
use store::views::{Letter, LetterText};
use store::{letters, work_orders};
use trade::words::ids::LetterId;

/// The letters of an order, oldest first.
#[utoipa::path(tag = "letters", params(("id" = String, Path), Paging), responses((status = 200, body = Page<Letter>)))]
#[get("/work-orders/{id}/letters")]
pub async fn of_order(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderPath, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let items = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            work_orders::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(letters::of_order(conn, order.0)?.iter().map(letters::LetterLine::view).collect::<Vec<_>>())
        })
        .await?;
    Ok(page(&request, &paging.0.page_of_growing(items)?))
}

/// One letter with its words.
#[utoipa::path(tag = "letters", params(("id" = LetterId, Path)), responses((status = 200, body = LetterText)))]
#[get("/letters/{id}")]
pub async fn read(parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    Ok(HttpResponse::Ok().json(parts.acts.letter(&who.actor, LetterId(id.0)).await?))
}

/// Send a letter again.
#[utoipa::path(tag = "letters", params(("id" = LetterId, Path)), responses((status = 200, body = Letter)))]
#[post("/letters/{id}/send-again")]
pub async fn send_again(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey) -> Result<HttpResponse, Problem> {
    let once = once.empty(&who);
    Ok(HttpResponse::Ok().json(parts.acts.send_again(&who.actor, LetterId(id.0), once).await?))
}
