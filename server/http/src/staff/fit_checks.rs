//! Fit checks of an order.

use crate::extract::{Body, OnceKey, OrderName, OrderPath, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::versioned;
use crate::state::Parts;
use acts::check_fit::{FitPreview, NewFitCheck};
use actix_web::http::{StatusCode, header};
use actix_web::web::Data;
use actix_web::{HttpResponse, get, post};
use serde::Serialize;
use store::order_rows;
use store::views::FitCheck;
use trade::bench::fit_check::FitAnswer;
use utoipa::ToSchema;

/// The fit checks of an order.
#[derive(Debug, Serialize, ToSchema)]
pub struct FitChecks {
    /// Oldest first.
    pub items: Vec<FitCheck>,
}

/// The fit checks of an order.
#[utoipa::path(tag = "work-orders", operation_id = "fit_checks", params(("id" = String, Path)), responses((status = 200, body = FitChecks)))]
#[get("/work-orders/{id}/fit-checks")]
pub async fn list(parts: Data<Parts>, who: SignedIn, order: OrderName) -> Result<HttpResponse, Problem> {
    let items = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let rows = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(rows.fit_checks.iter().map(|row| rows.fit_check(row)).collect::<Result<Vec<_>, _>>()?)
        })
        .await?;
    Ok(HttpResponse::Ok().json(FitChecks { items }))
}

/// What a fit check would say; nothing is stored.
#[utoipa::path(tag = "work-orders", operation_id = "preview_fit_check", params(("id" = String, Path)), request_body = FitPreview, responses((status = 200, body = FitAnswer)))]
#[post("/work-orders/{id}/fit-checks/preview")]
pub async fn preview(parts: Data<Parts>, who: SignedIn, order: OrderPath, body: Body<FitPreview>) -> Result<HttpResponse, Problem> {
    let answer = parts.acts.preview_fit_check(&who.actor, order.0, body.value).await?;
    Ok(HttpResponse::Ok().insert_header((header::CACHE_CONTROL, "no-store")).json(answer))
}

/// Record a fit check; clearance or taper is computed here.
#[utoipa::path(tag = "work-orders", operation_id = "check_fit", params(("id" = String, Path)), request_body = NewFitCheck, responses((status = 201, body = FitCheck)))]
#[post("/work-orders/{id}/fit-checks")]
pub async fn record(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewFitCheck>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let check = parts.acts.check_fit(&who.actor, order.0, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, check.order_version, &check))
}
