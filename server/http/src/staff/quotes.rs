//! Quotes, extra-work requests and the owner's answers as the shop records them.

use crate::extract::{Body, Id, OnceKey, OrderPath, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{versioned, versioned_or_304};
use crate::state::Parts;
use acts::decide::{NewDecision, NewDispute};
use acts::quotes::NewQuote;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, delete, get, post, put};
use store::order_rows::{self, Named};
use store::views::{Decision, Quote};
use store::quotes;
use trade::words::ids::{DecisionId, QuoteId, WorkOrderId};

/// Write a draft.
#[utoipa::path(tag = "quotes", params(("id" = String, Path)), request_body = NewQuote, responses((status = 201, body = Quote)))]
#[post("/work-orders/{id}/quotes")]
pub async fn draft(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewQuote>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let quote = parts.acts.draft_quote(&who.actor, order.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, quote.version, &quote))
}

/// One version.
#[utoipa::path(tag = "quotes", params(("id" = QuoteId, Path)), responses((status = 200, body = Quote)))]
#[get("/quotes/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let quote = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = quotes::find(conn, QuoteId(id.0))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let order = order_rows::find(conn, Named::Id(WorkOrderId(row.work_order_id)))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(order.quote(&row)?)
        })
        .await?;
    Ok(versioned_or_304(&request, quote.version, &quote))
}

/// Replace a draft.
#[utoipa::path(tag = "quotes", params(("id" = QuoteId, Path)), request_body = NewQuote, responses((status = 200, body = Quote)))]
#[put("/quotes/{id}")]
pub async fn replace(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<NewQuote>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let quote = parts
        .acts
        .replace_draft(&who.actor, QuoteId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, quote.version, &quote))
}

/// Set a draft aside.
#[utoipa::path(tag = "quotes", params(("id" = QuoteId, Path)), responses((status = 200, body = Quote)))]
#[delete("/quotes/{id}")]
pub async fn strike(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let quote = parts.acts.strike_draft(&who.actor, QuoteId(id.0), seen.0).await?;
    Ok(versioned(StatusCode::OK, quote.version, &quote))
}

/// Send a draft to the owner. `If-Match` names the version of the work order.
#[utoipa::path(tag = "quotes", params(("id" = QuoteId, Path)), responses((status = 200, body = Quote)))]
#[post("/quotes/{id}/send")]
pub async fn send(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, once: OnceKey) -> Result<HttpResponse, Problem> {
    let once = once.empty(&who);
    let quote = parts.acts.send_quote(&who.actor, QuoteId(id.0), seen.0, once).await?;
    Ok(versioned(StatusCode::OK, quote.version, &quote))
}

/// Record the owner's answer, given by telephone or at the counter.
#[utoipa::path(tag = "quotes", params(("id" = QuoteId, Path)), request_body = NewDecision, responses((status = 201, body = Decision)))]
#[post("/quotes/{id}/decisions")]
pub async fn decide(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey, body: Body<NewDecision>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let decision = parts.acts.decide(&who.actor, QuoteId(id.0), body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, decision.order_version, &decision))
}

/// Record that the owner calls an acceptance a mistake.
#[utoipa::path(tag = "quotes", params(("id" = DecisionId, Path)), request_body = NewDispute, responses((status = 201, body = Decision)))]
#[post("/decisions/{id}/dispute")]
pub async fn dispute(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey, body: Body<NewDispute>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let decision = parts.acts.dispute(&who.actor, DecisionId(id.0), body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, decision.order_version, &decision))
}
