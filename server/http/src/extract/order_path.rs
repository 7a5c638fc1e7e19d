//! The work order of a path, named by id or by claim number.

use crate::extract::SignedIn;
use crate::problem::{Kind, Problem};
use crate::state::Parts;
use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use std::future::{Future, Ready, ready};
use std::pin::Pin;
use store::order_rows::Named;
use store::work_orders;
use trade::words::claim_number::ClaimNumber;
use trade::words::ids::WorkOrderId;
use uuid::Uuid;

/// The name of a work order as the path has it, for what reads the whole order by either name.
#[derive(Debug, Clone, Copy)]
pub struct OrderName(pub Named);

impl OrderName {
    fn of(request: &HttpRequest) -> Result<Self, Problem> {
        let named = request.match_info().get("id").unwrap_or_default();
        if let Ok(id) = Uuid::parse_str(named) {
            return Ok(Self(Named::Id(WorkOrderId(id))));
        }
        let named = percent_encoding::percent_decode_str(named).decode_utf8_lossy();
        let number = ClaimNumber::read(&named)
            .map_err(|fault| Problem::new(Kind::Absent).saying(format!("There is no such claim number: {fault}")))?;
        Ok(Self(Named::ClaimCount(i64::from(number.number()))))
    }
}

impl FromRequest for OrderName {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        // Whoever has not signed in is not told which names are well-formed.
        let who = SignedIn::from_request(request, payload).into_inner();
        ready(who.and_then(|_| Self::of(request)))
    }
}

/// A work order of the shop of whoever is signed in.
#[derive(Debug, Clone, Copy)]
pub struct OrderPath(pub WorkOrderId);

impl FromRequest for OrderPath {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let who = SignedIn::from_request(request, payload).into_inner();
        let name = OrderName::of(request);
        let parts = request.app_data::<Data<Parts>>().cloned();
        Box::pin(async move {
            let who = who?;
            let count = match name?.0 {
                Named::Id(id) => return Ok(Self(id)),
                Named::ClaimCount(count) => count,
            };
            let parts = parts.ok_or_else(|| Problem::new(Kind::Fault))?;
            let found = parts.acts.store.read(who.actor.shop, move |conn| work_orders::id_by_claim_count(conn, count)).await?;
            found.map(Self).ok_or_else(|| Problem::new(Kind::Absent))
        })
    }
}
