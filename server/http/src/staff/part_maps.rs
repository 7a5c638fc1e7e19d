//! Part maps: an instrument's own, a family's template, and the one that a work order shows.

use crate::extract::{Body, Id, OrderPath, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{versioned, versioned_or_304};
use crate::state::Parts;
use acts::Halt;
use acts::drawn_map::{FamilyPartMap, InstrumentPartMap, ShownFor, drawn_map, drawn_template};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, get, patch, put};
use store::{instruments, work_orders};
use trade::maps::{PartMap, PartMapChange, template_of};
use trade::words::ids::InstrumentId;
use trade::words::instrument::Family;
use trade::words::spelling::Spelt;

/// An instrument's own part map, or its family's template until somebody edits it.
#[utoipa::path(tag = "instruments", params(("id" = InstrumentId, Path)), responses((status = 200, body = InstrumentPartMap)))]
#[get("/instruments/{id}/part-map")]
pub async fn part_map(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let map = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let instrument = instruments::find(conn, InstrumentId(id.0))?.ok_or(Halt::Absent)?;
            Ok::<_, Halt>(drawn_map(conn, &instrument, ShownFor::Instrument)?)
        })
        .await?;
    Ok(versioned_or_304(&request, map.version, &map))
}

/// Change parts and joints: measure, add, strike, name anew. All of it or nothing.
#[utoipa::path(tag = "instruments", params(("id" = InstrumentId, Path)), request_body = PartMapChange, responses((status = 200, body = InstrumentPartMap)))]
#[patch("/instruments/{id}/part-map")]
pub async fn amend_part_map(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<PartMapChange>) -> Result<HttpResponse, Problem> {
    answered(parts.acts.amend_part_map(&who.actor, InstrumentId(id.0), seen.0, body.value).await?)
}

/// Put a whole part map in the place of the one that was seen; what it leaves out is kept as struck.
#[utoipa::path(tag = "instruments", params(("id" = InstrumentId, Path)), request_body = PartMap, responses((status = 200, body = InstrumentPartMap)))]
#[put("/instruments/{id}/part-map")]
pub async fn replace_part_map(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<PartMap>) -> Result<HttpResponse, Problem> {
    answered(parts.acts.replace_part_map(&who.actor, InstrumentId(id.0), seen.0, body.value).await?)
}

fn answered(map: InstrumentPartMap) -> Result<HttpResponse, Problem> {
    Ok(versioned(StatusCode::OK, map.version, &map))
}

/// A family's part map with typical dimensions.
#[utoipa::path(tag = "shop", params(("family" = Family, Path, description = "Which family.")), responses((status = 200, body = FamilyPartMap)))]
#[get("/families/{family}/part-map")]
pub async fn family_part_map(_who: SignedIn, family: Path<String>) -> Result<HttpResponse, Problem> {
    let family = Family::from_spelling(&family).ok_or_else(|| Problem::new(Kind::Absent))?;
    let map = template_of(family);
    Ok(HttpResponse::Ok().json(FamilyPartMap { map: map.clone(), drawing: drawn_template(map) }))
}

/// The instrument's part map with this order's findings and counter marks, and what is watched from earlier visits.
#[utoipa::path(tag = "work-orders", params(("id" = String, Path)), responses((status = 200, body = InstrumentPartMap)))]
#[get("/work-orders/{id}/map")]
pub async fn order_map(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderPath) -> Result<HttpResponse, Problem> {
    let map = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = work_orders::find(conn, order.0)?.ok_or(Halt::Absent)?;
            let instrument = instruments::find(conn, InstrumentId(row.instrument_id))?.ok_or(Halt::Absent)?;
            Ok::<_, Halt>(drawn_map(conn, &instrument, ShownFor::Order(order.0))?)
        })
        .await?;
    Ok(versioned_or_304(&request, map.version, &map))
}
