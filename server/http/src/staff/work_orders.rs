//! Work orders and the acts on them.

use crate::extract::{Body, Cursor, Id, OnceKey, OrderName, OrderPath, Page, Paging, Params, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{page, versioned, versioned_or_304};
use crate::state::Parts;
use acts::amend_order::WorkOrderChange;
use acts::change_stage::NewStageChange;
use acts::check_in::NewWorkOrder;
use acts::claim::ClaimWish;
use acts::done_at_counter::DoneAtCounter;
use acts::end::NewEnding;
use acts::hand_over::NewHandover;
use acts::links::NewLink;
use acts::small_things::{NewHold, NewNote, NewPayment, StrikePayment};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, delete, get, patch, post, put};
use serde::Deserialize;
use store::search::{self, Query};
use store::views::{Hold, Link, Note, OrderLine, Payment, StageChange, WorkOrder};
use store::{order_rows, order_view};
use trade::words::ids::{HoldId, LinkId, WorkOrderId};
use trade::words::spelling::Spelt;
use trade::words::stage::Stage;
use utoipa::IntoParams;

/// How to find orders.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Find {
    /// Claim number, name, phone digits, e-mail, maker or serial number; forgiving.
    q: Option<String>,
    /// One stage, or several with commas.
    stage: Option<String>,
    /// 1 to 200; 50 if left out.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<i64>,
    /// Of the page before.
    cursor: Option<String>,
}

/// Check an instrument in.
#[utoipa::path(tag = "work-orders", request_body = NewWorkOrder, responses((status = 201, body = WorkOrder)))]
#[post("/work-orders")]
pub async fn check_in(parts: Data<Parts>, who: SignedIn, once: OnceKey, body: Body<NewWorkOrder>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let order = parts.acts.check_in(&who.actor, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, order.version, &order))
}

/// Find orders.
#[utoipa::path(tag = "work-orders", params(Find), responses((status = 200, body = Page<OrderLine>)))]
#[get("/work-orders")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, find: Params<Find>) -> Result<HttpResponse, Problem> {
    let find = find.0;
    let limit = Cursor::limit(find.limit)?;
    let after = Cursor::read::<(f32, i64)>(find.cursor.as_deref())?;
    let query = find.q.as_deref().and_then(Query::read);
    let mut stages = Vec::new();
    for name in find.stage.as_deref().unwrap_or_default().split(',').filter(|name| !name.is_empty()) {
        stages.push(
            Stage::from_spelling(name)
                .ok_or_else(|| Problem::new(Kind::InvalidInput).at("stage", format!("{name:?} is no stage")))?,
        );
    }
    let found = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            search::orders(conn, query.as_ref(), &stages, after, limit + 1)?
                .into_iter()
                .map(|f| {
                    Ok((
                        (f.rank, f.claim_count),
                        OrderLine {
                            id: WorkOrderId(f.id),
                            claim_number: order_view::claim_number(f.claim_count)?,
                            version: f.version,
                            stage: f.stage.0,
                            customer_name: f.customer_name,
                            instrument_words: order_view::instrument_words(
                                &f.family.0.to_string(),
                                f.maker.as_deref(),
                                f.serial_number.as_deref(),
                            ),
                            promised_on: f.promised_on,
                            checked_in_at: f.checked_in_at,
                        },
                    ))
                })
                .collect::<Result<Vec<_>, store::Error>>()
        })
        .await?;
    Ok(page(&request, &Page::cut(found, limit)))
}

/// One order with all that its screen needs.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), responses((status = 200, body = WorkOrder)))]
#[get("/work-orders/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName) -> Result<HttpResponse, Problem> {
    let now = parts.acts.clock.now();
    let asker = who.actor.who.clone();
    let order = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let order = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(order.view(&asker, now)?)
        })
        .await?;
    Ok(versioned_or_304(&request, order.version, &order))
}

/// Put right what an order says: its date, its place, what was written at the counter.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = WorkOrderChange, responses((status = 200, body = WorkOrder)))]
#[patch("/work-orders/{id}")]
pub async fn amend(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    seen: SeenVersion,
    body: Body<WorkOrderChange>,
) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let order = parts
        .acts
        .amend_order(&who.actor, order.0, seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Every move of an order, oldest first.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path), Paging), responses((status = 200, body = Page<StageChange>)))]
#[get("/work-orders/{id}/stage-changes")]
pub async fn stage_changes(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let items = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let rows = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(rows.stage_changes.iter().map(|c| rows.stage_change(c)).collect::<Vec<_>>())
        })
        .await?;
    Ok(page(&request, &paging.0.page_of_growing(items)?))
}

/// Move an order.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewStageChange, responses((status = 201, body = StageChange)))]
#[post("/work-orders/{id}/stage-changes")]
pub async fn change_stage(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    seen: SeenVersion,
    once: OnceKey,
    body: Body<NewStageChange>,
) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let change = parts.acts.change_stage(&who.actor, order.0, seen.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, change.order_version, &change))
}

/// Claim an order, or hand it to another.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = ClaimWish, responses((status = 200, body = WorkOrder)))]
#[put("/work-orders/{id}/claim")]
pub async fn claim(parts: Data<Parts>, who: SignedIn, order: OrderPath, seen: SeenVersion, body: Body<ClaimWish>) -> Result<HttpResponse, Problem> {
    let order = parts.acts.claim(&who.actor, order.0, seen.0, body.value).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Give a claim back.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), responses((status = 200, body = WorkOrder)))]
#[delete("/work-orders/{id}/claim")]
pub async fn give_back(parts: Data<Parts>, who: SignedIn, order: OrderPath, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let order = parts.acts.give_back(&who.actor, order.0, seen.0).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Record the wish to end.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewEnding, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/ending")]
pub async fn end(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    seen: SeenVersion,
    once: OnceKey,
    body: Body<NewEnding>,
) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let order = parts.acts.end(&who.actor, order.0, seen.0, body.value, once).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Take the wish to end back.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), responses((status = 200, body = WorkOrder)))]
#[delete("/work-orders/{id}/ending")]
pub async fn take_ending_back(parts: Data<Parts>, who: SignedIn, order: OrderPath, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let order = parts.acts.take_ending_back(&who.actor, order.0, seen.0).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Confirm the end: everything is together again.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/ending/confirmation")]
pub async fn confirm_ending(parts: Data<Parts>, who: SignedIn, order: OrderPath, seen: SeenVersion, once: OnceKey) -> Result<HttpResponse, Problem> {
    let once = once.empty(&who);
    let order = parts.acts.confirm_ending(&who.actor, order.0, seen.0, once).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// The whole visit in one act.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = DoneAtCounter, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/done-at-counter")]
pub async fn done_at_counter(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    seen: SeenVersion,
    once: OnceKey,
    body: Body<DoneAtCounter>,
) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let order = parts.acts.done_at_counter(&who.actor, order.0, seen.0, body.value, once).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Hand an order over and close it.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewHandover, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/handover")]
pub async fn hand_over(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    seen: SeenVersion,
    once: OnceKey,
    body: Body<NewHandover>,
) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let order = parts.acts.hand_over(&who.actor, order.0, seen.0, body.value, once).await?;
    Ok(versioned(StatusCode::OK, order.version, &order))
}

/// Take a payment.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewPayment, responses((status = 201, body = Payment)))]
#[post("/work-orders/{id}/payments")]
pub async fn pay(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewPayment>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let payment = parts.acts.take_payment(&who.actor, order.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, payment.order_version, &payment))
}

/// Strike a payment that was recorded by mistake.
#[utoipa::path(tag = "work-orders", params(("id" = Uuid, Path)), request_body = StrikePayment, responses((status = 200, body = Payment)))]
#[post("/payments/{id}/strike")]
pub async fn strike_payment(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey, body: Body<StrikePayment>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let payment = parts.acts.strike_payment(&who.actor, id.0, body.value, once).await?;
    Ok(versioned(StatusCode::OK, payment.order_version, &payment))
}

/// Add a note.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewNote, responses((status = 201, body = Note)))]
#[post("/work-orders/{id}/notes")]
pub async fn note(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewNote>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    Ok(HttpResponse::Created().json(parts.acts.add_note(&who.actor, order.0, body.value, once).await?))
}

/// Set a hold.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewHold, responses((status = 201, body = Hold)))]
#[post("/work-orders/{id}/holds")]
pub async fn hold(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewHold>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let set = parts.acts.set_hold(&who.actor, order.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, set.order_version, &set))
}

/// Lift a hold. `If-Match` names the version of the work order.
#[utoipa::path(tag = "work-orders", params(("id" = HoldId, Path)), responses((status = 200, body = Hold)))]
#[delete("/holds/{id}")]
pub async fn lift(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let lifted = parts.acts.lift_hold(&who.actor, HoldId(id.0), seen.0).await?;
    Ok(versioned(StatusCode::OK, lifted.order_version, &lifted))
}

/// The customers' links of an order, oldest first; their secrets are not kept.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path), Paging), responses((status = 200, body = Page<Link>)))]
#[get("/work-orders/{id}/links")]
pub async fn links(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let asker = who.actor.who.clone();
    let now = parts.acts.clock.now();
    let items = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let order = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(order.view(&asker, now)?.links)
        })
        .await?;
    Ok(page(&request, &paging.0.page_of_growing(items)?))
}

/// Issue a link to hand over; its address is in this answer only.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewLink, responses((status = 201, body = Link)))]
#[post("/work-orders/{id}/links")]
pub async fn issue_link(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewLink>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let keys = parts.clone();
    let link = parts.acts.issue_link(&who.actor, order.0, body.value, once, move |id| keys.keys.link_secret(id)).await?;
    Ok(versioned(StatusCode::CREATED, link.order_version, &link))
}

/// Withdraw a link. `If-Match` names the version of the work order.
#[utoipa::path(tag = "work-orders", params(("id" = LinkId, Path)), responses((status = 200, body = Link)))]
#[delete("/links/{id}")]
pub async fn withdraw_link(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let link = parts.acts.withdraw_link(&who.actor, LinkId(id.0), seen.0).await?;
    Ok(versioned(StatusCode::OK, link.order_version, &link))
}
