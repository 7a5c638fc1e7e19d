//! Findings.

use crate::extract::{Body, Id, OnceKey, OrderPath, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{versioned, versioned_or_304};
use crate::state::Parts;
use acts::record_finding::{FindingChange, NewFinding};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch, post};
use store::order_rows::{self, Named};
use store::views::Finding;
use store::findings;
use trade::words::ids::{FindingId, WorkOrderId};

/// Record a finding.
#[utoipa::path(tag = "findings", params(("id" = String, Path)), request_body = NewFinding, responses((status = 201, body = Finding)))]
#[post("/work-orders/{id}/findings")]
pub async fn record(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewFinding>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let finding = parts.acts.record_finding(&who.actor, order.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, finding.version, &finding))
}

/// One finding.
#[utoipa::path(tag = "findings", params(("id" = FindingId, Path)), responses((status = 200, body = Finding)))]
#[get("/findings/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let finding = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = findings::find(conn, FindingId(id.0))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let order = order_rows::find(conn, Named::Id(WorkOrderId(row.work_order_id)))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(order.finding(&row))
        })
        .await?;
    Ok(versioned_or_304(&request, finding.version, &finding))
}

/// Amend or strike a finding.
#[utoipa::path(tag = "findings", params(("id" = FindingId, Path)), request_body = FindingChange, responses((status = 200, body = Finding)))]
#[patch("/findings/{id}")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<FindingChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let finding = parts
        .acts
        .amend_finding(&who.actor, FindingId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, finding.version, &finding))
}
