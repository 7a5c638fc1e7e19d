//! The board.

use crate::extract::SignedIn;
use crate::problem::Problem;
use crate::staff::versioned_or_304;
use crate::state::Parts;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get};
use store::board;
use store::views::Board;

/// Every open order in one answer.
#[utoipa::path(tag = "board", responses((status = 200, body = Board)))]
#[get("/board")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let now = parts.acts.clock.now();
    let board = parts.acts.store.read(who.actor.shop, move |conn| board::board(conn, now)).await?;
    // What the board shows changes with an event, with the day or with the forecast; its own `as_of` does not count.
    let orders: u64 = board.orders.iter().map(|o| u64::try_from(o.version).unwrap_or(0)).sum();
    let forecast = board.forecast_number.unwrap_or(0);
    let tag = format!("\"{}-{}-{}-{orders}-{forecast}\"", board.last_event, board.today, board.orders.len());
    Ok(versioned_or_304(&request, &tag, &board))
}
