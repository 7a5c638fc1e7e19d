//! The plan of an order's bench work, and the bench's settings.

use crate::extract::{Body, OnceKey, OrderName, OrderPath, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::{versioned, versioned_or_304};
use crate::state::Parts;
use acts::Halt;
use acts::choose_way::NewWay;
use acts::plans::{NewPlan, Plan, ShopBench, plan_of, shop_bench};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post, put};
use store::order_rows;
use store::views::Operation;
use trade::bench::plan::BenchSettings;

/// The order of work with the least minutes, the joints that its torch work endangers, and the ways round.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), responses((status = 200, body = Plan)))]
#[get("/work-orders/{id}/plan")]
pub async fn plan(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName) -> Result<HttpResponse, Problem> {
    let found = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let rows = order_rows::find(conn, order.0)?.ok_or(Halt::Absent)?;
            Ok::<_, Halt>(plan_of(conn, &rows)?)
        })
        .await?;
    // Findings, methods and the map change the plan as well as a technician's word.
    Ok(versioned_or_304(&request, found.version, &found))
}

/// Fix an order of work by hand; an empty list gives the computed one its place back.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewPlan, responses((status = 200, body = Plan)))]
#[put("/work-orders/{id}/plan")]
pub async fn fix_plan(parts: Data<Parts>, who: SignedIn, order: OrderPath, seen: SeenVersion, body: Body<NewPlan>) -> Result<HttpResponse, Problem> {
    let found = parts.acts.fix_plan(&who.actor, order.0, seen.0, body.value).await?;
    Ok(versioned(StatusCode::OK, found.version, &found))
}

/// Do a step this way round: what the way needs is written down, and the plan follows. `If-Match`
/// names the version of the work order.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), request_body = NewWay, responses((status = 200, body = Operation)))]
#[post("/work-orders/{id}/plan/ways")]
pub async fn choose_way(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    seen: SeenVersion,
    once: OnceKey,
    body: Body<NewWay>,
) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let step = parts.acts.choose_way(&who.actor, order.0, seen.0, body.value, once).await?;
    Ok(versioned(StatusCode::OK, step.version, &step))
}

/// Stations, set-ups, and minutes around a joint; typical until the shop sets them.
#[utoipa::path(tag = "shop", responses((status = 200, body = ShopBench)))]
#[get("/shop/bench")]
pub async fn bench(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let found = parts.acts.store.read(who.actor.shop, shop_bench).await?;
    Ok(versioned_or_304(&request, found.version, &found))
}

/// Set stations, set-ups, and minutes around a joint.
#[utoipa::path(tag = "shop", request_body = BenchSettings, responses((status = 200, body = ShopBench)))]
#[put("/shop/bench")]
pub async fn set_bench(parts: Data<Parts>, who: SignedIn, seen: SeenVersion, body: Body<BenchSettings>) -> Result<HttpResponse, Problem> {
    let found = parts.acts.set_bench(&who.actor, seen.0, body.value).await?;
    Ok(versioned(StatusCode::OK, found.version, &found))
}
