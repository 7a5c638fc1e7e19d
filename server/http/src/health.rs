//! Whether the process lives, and whether it can serve.

use crate::problem::{Kind, Problem};
use crate::state::Parts;
use actix_web::http::header;
use actix_web::web::{Data, ServiceConfig};
use actix_web::{HttpResponse, get};
use serde_json::json;
use store::migrate::{Schema, compare};

/// Registers both.
pub fn routes(config: &mut ServiceConfig) {
    config.service(live).service(ready);
}

#[get("/health/live")]
async fn live() -> HttpResponse {
    HttpResponse::Ok().insert_header((header::CACHE_CONTROL, "no-store")).json(json!({"status": "live"}))
}

#[get("/health/ready")]
async fn ready(parts: Data<Parts>) -> Result<HttpResponse, Problem> {
    let schema = parts.acts.store.directory(compare).await?;
    let words = match schema {
        Schema::Current => {
            return Ok(HttpResponse::Ok().insert_header((header::CACHE_CONTROL, "no-store")).json(json!({
                "status": "ready",
                "version": env!("CARGO_PKG_VERSION"),
                "zone_data": trade::words::business_time::tzdata_version(),
            })));
        }
        Schema::Older => "The database is older than this program. Run `bellbrace migrate`.",
        Schema::Newer => "The database is newer than this program. Use the newer program.",
    };
    Err(Problem::new(Kind::RecordsAway).saying(words).again_in(5))
}
