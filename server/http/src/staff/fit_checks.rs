//! Fit checks of an order.

use crate::extract::{Body, OnceKey, OrderName, OrderPath, Page, Paging, Params, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{page, versioned};
use crate::state::Parts;
use acts::check_fit::{FitPreview, NewFitCheck};
use actix_web::http::{StatusCode, header};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post};
use store::order_rows;
use store::views::FitCheck;
use trade::bench::fit_check::FitAnswer;

/// The fit checks of an order, oldest first.
#[utoipa::path(tag = "work-orders", operation_id = "fit_checks", params(("id" = String, Path), Paging), responses((status = 200, body = Page<FitCheck>)))]
#[get("/work-orders/{id}/fit-checks")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let items = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let rows = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(rows.fit_checks.iter().map(|row| rows.fit_check(row)).collect::<Result<Vec<_>, _>>()?)
        })
        .await?;
    Ok(page(&request, &paging.0.page_of_growing(items)?))
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
