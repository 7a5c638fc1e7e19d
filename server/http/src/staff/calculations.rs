//! The computations of the trade, each on its own, nothing stored.

use crate::extract::{Body, MOST_WITH_LOG, SignedIn};
use crate::problem::{Kind, Problem};
use actix_web::web::Path;
use actix_web::{HttpResponse, post};
use serde_json::Value;
use std::sync::LazyLock;
use tokio::sync::Semaphore;
use trade::calculation::by_name;

/// At most so many at once: the largest problems take seconds and hundreds of megabytes.
static TURNS: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(2));

/// Compute: the input and output of each are those of the committed reference cases.
#[utoipa::path(
    tag = "calculations",
    params(("name" = String, Path, description = "heat-reach, order-of-work, further-findings, promise-date, leak-rate, fit, plating-charge, filler-amount, quote-totals, claim-number or business-time")),
    request_body = Object,
    responses((status = 200, body = Object))
)]
#[post("/calculations/{name}")]
pub async fn compute(_who: SignedIn, name: Path<String>, body: Body<Value, MOST_WITH_LOG>) -> Result<HttpResponse, Problem> {
    let compute = by_name(&name).ok_or_else(|| Problem::new(Kind::Absent).saying("There is no computation by this name."))?;
    let input = body.value;
    let _turn = TURNS.acquire().await.map_err(|_| Problem::new(Kind::Fault))?;
    let answer = actix_web::web::block(move || compute(&input)).await.map_err(|_| Problem::new(Kind::Fault))??;
    Ok(HttpResponse::Ok().json(answer))
}
