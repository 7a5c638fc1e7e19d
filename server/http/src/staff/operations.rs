//! The steps on the bench.

use crate::extract::{Body, Id, OnceKey, OrderPath, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{versioned, versioned_or_304};
use crate::state::Parts;
use acts::operations::{ClockAsk, NewOperation, OperationChange};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, delete, get, patch, post, put};
use store::order_rows::{self, Named};
use store::views::Operation;
use store::operations;
use trade::words::ids::{OperationId, WorkOrderId};

/// Add a step.
#[utoipa::path(tag = "operations", params(("id" = String, Path)), request_body = NewOperation, responses((status = 201, body = Operation)))]
#[post("/work-orders/{id}/operations")]
pub async fn add(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewOperation>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let operation = parts.acts.add_operation(&who.actor, order.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, operation.version, &operation))
}

/// One step.
#[utoipa::path(tag = "operations", params(("id" = OperationId, Path)), responses((status = 200, body = Operation)))]
#[get("/operations/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let now = parts.acts.clock.now();
    let operation = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = operations::find(conn, OperationId(id.0))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let rows = order_rows::find(conn, Named::Id(WorkOrderId(row.work_order_id)))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let facts = rows.facts(rows.shop.date_at(now)?)?;
            Ok::<_, Problem>(rows.operation(&row, &facts, now)?)
        })
        .await?;
    Ok(versioned_or_304(&request, operation.version, &operation))
}

/// Amend or strike a step.
#[utoipa::path(tag = "operations", params(("id" = OperationId, Path)), request_body = OperationChange, responses((status = 200, body = Operation)))]
#[patch("/operations/{id}")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<OperationChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let operation = parts
        .acts
        .amend_operation(&who.actor, OperationId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, operation.version, &operation))
}

/// Claim a step: exactly one wins.
#[utoipa::path(tag = "operations", params(("id" = OperationId, Path)), responses((status = 200, body = Operation)))]
#[put("/operations/{id}/claim")]
pub async fn claim(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let operation = parts.acts.claim_operation(&who.actor, OperationId(id.0), seen.0, true).await?;
    Ok(versioned(StatusCode::OK, operation.version, &operation))
}

/// Give a step back.
#[utoipa::path(tag = "operations", params(("id" = OperationId, Path)), responses((status = 200, body = Operation)))]
#[delete("/operations/{id}/claim")]
pub async fn give_back(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion) -> Result<HttpResponse, Problem> {
    let operation = parts.acts.claim_operation(&who.actor, OperationId(id.0), seen.0, false).await?;
    Ok(versioned(StatusCode::OK, operation.version, &operation))
}

/// Start or stop the clock on a step, or say that it is done.
#[utoipa::path(tag = "operations", params(("id" = OperationId, Path)), request_body = ClockAsk, responses((status = 200, body = Operation)))]
#[post("/operations/{id}/time")]
pub async fn time(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey, body: Body<ClockAsk>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let operation = parts.acts.clock(&who.actor, OperationId(id.0), body.value, once).await?;
    Ok(versioned(StatusCode::OK, operation.version, &operation))
}
