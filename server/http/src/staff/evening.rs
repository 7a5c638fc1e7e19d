//! The evening: the shop's day before locking up.

use crate::extract::{OnceKey, SignedIn};
use crate::problem::Problem;
use crate::staff::shown_or_304;
use crate::state::Parts;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, post};
use store::evening;
use store::views::{BenchLook, Evening};

/// What the day was beside the board and the forecast: comings and goings, e-mails that did not arrive, the
/// last flame, and who looked at the bench.
#[utoipa::path(tag = "evening", responses((status = 200, body = Evening)))]
#[get("/evening")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let now = parts.acts.clock.now();
    let evening = parts.acts.store.read(who.actor.shop, move |conn| evening::view(conn, now)).await?;
    Ok(shown_or_304(&request, &evening))
}

/// Say that one has looked at the bench.
#[utoipa::path(tag = "evening", responses((status = 201, body = BenchLook)))]
#[post("/evening/bench-looks")]
pub async fn look(parts: Data<Parts>, who: SignedIn, once: OnceKey) -> Result<HttpResponse, Problem> {
    let look: BenchLook = parts.acts.look_at_bench(&who.actor, once.empty(&who)).await?;
    Ok(HttpResponse::Created().json(look))
}
