//! Tests of an order.

use crate::extract::{BesideLog, Body, MOST_WITH_LOG, OnceKey, OrderName, OrderPath, Page, Paging, Params, PressureBody, SeenIfSaid, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{linked, versioned};
use crate::state::Parts;
use acts::record_test::NewTest;
use actix_web::http::{StatusCode, header};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post};
use serde::Serialize;
use store::order_rows;
use store::views::{RequiredTest, Test};
use trade::bench::pressure_test::{PressureAnswer, PressureTest};
use utoipa::ToSchema;

/// The tests of an order.
#[derive(Debug, Serialize, ToSchema)]
pub struct Tests {
    /// Oldest first.
    pub items: Vec<Test>,
    /// Where the next page begins; none on the last.
    pub next: Option<String>,
    /// What must pass before pickup, and what of it has.
    pub required: Vec<RequiredTest>,
}

/// The tests of an order, and what is still required.
#[utoipa::path(tag = "work-orders", operation_id = "tests", params(("id" = String, Path), Paging), responses((status = 200, body = Tests)))]
#[get("/work-orders/{id}/tests")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let (items, required) = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let rows = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let items = rows.tests.iter().map(|row| rows.test(row)).collect::<Result<Vec<_>, _>>()?;
            Ok::<_, Problem>((items, rows.still_required()))
        })
        .await?;
    let Page { items, next } = paging.0.page_of_growing(items)?;
    Ok(linked(&request, next.clone().as_deref(), &Tests { items, next, required }))
}

/// What a pressure decay test would say; nothing is stored. The logger's file may be the body
/// itself, as text/csv.
#[utoipa::path(
    tag = "work-orders",
    operation_id = "preview_test",
    params(("id" = String, Path), BesideLog),
    request_body(content((PressureTest = "application/json"), (String = "text/csv"))),
    responses((status = 200, body = PressureAnswer))
)]
#[post("/work-orders/{id}/tests/preview")]
pub async fn preview(parts: Data<Parts>, who: SignedIn, order: OrderPath, body: PressureBody) -> Result<HttpResponse, Problem> {
    let answer = parts.acts.preview_pressure_test(&who.actor, order.0, body.0).await?;
    Ok(HttpResponse::Ok().insert_header((header::CACHE_CONTROL, "no-store")).json(answer))
}

/// Record a test; it moves the order when it failed, or when it was the last one missing. What a
/// pressure log says is computed here. With `If-Match`, only while the order is as it was seen.
#[utoipa::path(tag = "work-orders", operation_id = "record_test", params(("id" = String, Path)), request_body = NewTest, responses((status = 201, body = Test)))]
#[post("/work-orders/{id}/tests")]
pub async fn record(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    once: OnceKey,
    seen: SeenIfSaid,
    body: Body<NewTest, MOST_WITH_LOG>,
) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let test = parts.acts.record_test(&who.actor, order.0, seen.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, test.order_version, &test))
}
