//! The ring list and the notes of calls.

use crate::extract::{Body, Id, OnceKey, OrderPath, Page, Paging, Params, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{page, shown_or_304};
use crate::state::Parts;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post};
use acts::ring_list::{NewCall, StrikeWords};
use store::ring_list::{Call, RingList};
use store::{ring_list, work_orders};

/// Whom to telephone and why, most pressing first: whoever has no e-mail address, and whose
/// e-mails came back or were given up.
#[utoipa::path(tag = "ring-list", responses((status = 200, body = RingList)))]
#[get("/ring-list")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let list = parts.acts.ring_list(&who.actor).await?;
    Ok(shown_or_304(&request, &list))
}

/// The calls about an order, oldest first.
#[utoipa::path(tag = "ring-list", params(("id" = String, Path), Paging), responses((status = 200, body = Page<Call>)))]
#[get("/work-orders/{id}/calls")]
pub async fn calls(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderPath, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let items = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            work_orders::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(ring_list::calls_of(conn, order.0)?)
        })
        .await?;
    Ok(page(&request, &paging.0.page_of_growing(items)?))
}

/// Note a call. One in which somebody was spoken with takes its line off the ring list.
#[utoipa::path(tag = "ring-list", params(("id" = String, Path)), request_body = NewCall, responses((status = 201, body = Call)))]
#[post("/work-orders/{id}/calls")]
pub async fn note(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewCall>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    Ok(HttpResponse::Created().json(parts.acts.note_call(&who.actor, order.0, body.value, once).await?))
}

/// Strike what was noted of a call: the words are gone, the call and the reason stay.
#[utoipa::path(tag = "ring-list", params(("id" = Uuid, Path)), request_body = StrikeWords, responses((status = 200, body = Call)))]
#[post("/calls/{id}/strike")]
pub async fn strike(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey, body: Body<StrikeWords>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    Ok(HttpResponse::Ok().json(parts.acts.strike_call_words(&who.actor, id.0, body.value, once).await?))
}
