//! The forecast: when open orders will be ready, and new ones would be.

use crate::extract::{Body, SignedIn};
use crate::problem::Problem;
use crate::staff::shown_or_304;
use crate::state::Parts;
use acts::forecast::AskedForecast;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post};
use store::forecasts;
use store::views::{Forecast, NewOrdersForecast};

/// Ready dates of all open orders, and which promises are likely to be missed.
#[utoipa::path(tag = "forecast", responses((status = 200, body = Forecast)))]
#[get("/forecast")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let now = parts.acts.clock.now();
    let forecast = parts.acts.store.read(who.actor.shop, move |conn| forecasts::view(conn, now)).await?;
    Ok(shown_or_304(&request, &forecast))
}

/// Ready dates of one or several orders that may come, beside all that are open. Nothing is kept.
#[utoipa::path(tag = "forecast", request_body = AskedForecast, responses((status = 200, body = NewOrdersForecast)))]
#[post("/forecast")]
pub async fn of_new(parts: Data<Parts>, who: SignedIn, body: Body<AskedForecast>) -> Result<HttpResponse, Problem> {
    let told: NewOrdersForecast = parts.acts.forecast_new(&who.actor, body.value).await?;
    Ok(HttpResponse::Ok().json(told))
}
