//! The board.

use crate::extract::SignedIn;
use crate::problem::Problem;
use crate::staff::much_the_same_or_304;
use crate::state::Parts;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get};
use chrono::DateTime;
use store::board;
use store::views::Board;

/// Every open order in one answer.
#[utoipa::path(tag = "board", responses((status = 200, body = Board)))]
#[get("/board")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let now = parts.acts.clock.now();
    let board = parts.acts.store.read(who.actor.shop, move |conn| board::board(conn, now)).await?;
    // The same board a moment later is the same board: when it was read, and how far the events had
    // come (a letter that went out is one), change nothing that hangs on it.
    Ok(much_the_same_or_304(&request, board, |board| {
        board.as_of = DateTime::UNIX_EPOCH;
        board.last_event = 0;
    }))
}
