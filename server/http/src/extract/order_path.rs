//! The work order of a path, named by id or by claim number.

use crate::extract::SignedIn;
use crate::problem::{Kind, Problem};
use crate::state::Parts;
use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use std::future::Future;
use std::pin::Pin;
use store::work_orders;
use trade::words::claim_number::ClaimNumber;
use trade::words::ids::WorkOrderId;
use uuid::Uuid;

/// A work order of the shop of whoever is signed in.
#[derive(Debug, Clone, Copy)]
pub struct OrderPath(pub WorkOrderId);

impl FromRequest for OrderPath {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let named = request.match_info().get("id").unwrap_or_default().to_owned();
        let who = SignedIn::from_request(request, payload);
        let parts = request.app_data::<Data<Parts>>().cloned();
        Box::pin(async move {
            let who = who.await?;
            if let Ok(id) = Uuid::parse_str(&named) {
                return Ok(Self(WorkOrderId(id)));
            }
            let named = percent_encoding::percent_decode_str(&named).decode_utf8_lossy().into_owned();
            let number = ClaimNumber::read(&named).map_err(|fault| {
                Problem::new(Kind::Absent).saying(format!("There is no such claim number: {fault}"))
            })?;
            let parts = parts.ok_or_else(|| Problem::new(Kind::Fault))?;
            let found = parts
                .acts
                .store
                .read(who.actor.shop, move |conn| work_orders::id_by_claim_count(conn, i64::from(number.number())))
                .await?;
            found.map(Self).ok_or_else(|| Problem::new(Kind::Absent))
        })
    }
}
