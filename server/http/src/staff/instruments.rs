//! Instruments and their history.

use crate::extract::{Body, Id, OnceKey, Page, Paging, Params, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{page, versioned, versioned_or_304};
use crate::state::Parts;
use acts::contacts::{InstrumentChange, NewInstrument};
use acts::drawn_map::watched;
use acts::{Halt, customer_words};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch, post};
use serde::Deserialize;
use std::collections::HashMap;
use store::fit_checks::FitCheckRow;
use store::photos::PhotoRow;
use store::shops::ShopRow;
use store::small_things::TestRow;
use store::views::{History, Instrument, PastPhoto, PastTest, Visit, WatchItem};
use store::{
    customers, findings, fit_checks, instruments, order_view, part_maps, photos, pressure_tests, shops, small_things, work_orders,
};
use trade::bench::pressure_test::PressureAnswer;
use trade::words::ids::{CustomerId, FindingId, InstrumentId, PhotoId, WorkOrderId};
use trade::words::instrument::Disposition;
use trade::words::photo::PhotoSize;
use trade::words::stage::Stage;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Whose instruments.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Of {
    /// The owner.
    #[param(value_type = Uuid, required = true)]
    owner: Option<Uuid>,
    /// 1 to 200; 50 if left out.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<i64>,
    /// Of the page before.
    cursor: Option<String>,
}

/// A new instrument with its owner.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewOwnedInstrument {
    /// Whose it is.
    pub owner_id: CustomerId,
    /// What it is.
    pub instrument: NewInstrument,
}

/// The instruments of one owner, by family.
#[utoipa::path(tag = "instruments", params(Of), responses((status = 200, body = Page<Instrument>)))]
#[get("/instruments")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, of: Params<Of>) -> Result<HttpResponse, Problem> {
    let Of { owner, limit, cursor } = of.0;
    let paging = Paging { limit, cursor };
    paging.check::<(String, Uuid)>()?;
    // Read last, so that whoever forgot it is told of the rest too.
    let owner = CustomerId(owner.ok_or_else(|| Problem::new(Kind::InvalidInput).at("owner", "is missing"))?);
    let mut all = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let Some(owner) = customers::find(conn, owner)? else { return Ok(Vec::new()) };
            let shop = shops::current(conn)?;
            let rows = instruments::of_owner(conn, CustomerId(owner.id))?;
            let last = instruments::last_here(conn, &rows.iter().map(|r| r.id).collect::<Vec<_>>())?;
            rows.iter()
                .map(|row| {
                    let on = last.get(&row.id).map(|at| shop.date_at(*at)).transpose()?;
                    Ok(((row.family.0.to_string(), row.id), row.view(&owner.name, on)))
                })
                .collect::<Result<Vec<_>, store::Error>>()
        })
        .await?;
    // PostgreSQL sorts words as its language does; the cursor needs an order that is the same everywhere.
    all.sort_by(|(one, _), (other, _)| one.cmp(other));
    Ok(page(&request, &paging.page_of(all)?))
}

/// Add an instrument.
#[utoipa::path(tag = "instruments", request_body = NewOwnedInstrument, responses((status = 201, body = Instrument)))]
#[post("/instruments")]
pub async fn add(parts: Data<Parts>, who: SignedIn, once: OnceKey, body: Body<NewOwnedInstrument>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let new = body.value;
    let instrument = parts.acts.add_instrument(&who.actor, new.owner_id, new.instrument, once).await?;
    Ok(versioned(StatusCode::CREATED, instrument.version, &instrument))
}

/// One instrument.
#[utoipa::path(tag = "instruments", params(("id" = InstrumentId, Path)), responses((status = 200, body = Instrument)))]
#[get("/instruments/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let instrument = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = instruments::find(conn, InstrumentId(id.0))?.ok_or(Halt::Absent)?;
            let owner = customers::find(conn, CustomerId(row.owner_id))?.ok_or(Halt::Absent)?;
            let shop = shops::current(conn)?;
            let on = instruments::last_here(conn, &[row.id])?.get(&row.id).map(|at| shop.date_at(*at)).transpose()?;
            Ok::<_, Halt>(row.view(&owner.name, on))
        })
        .await?;
    Ok(versioned_or_304(&request, instrument.version, &instrument))
}

/// Amend an instrument.
#[utoipa::path(tag = "instruments", params(("id" = InstrumentId, Path)), request_body = InstrumentChange, responses((status = 200, body = Instrument)))]
#[patch("/instruments/{id}")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<InstrumentChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let instrument = parts
        .acts
        .amend_instrument(&who.actor, InstrumentId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, instrument.version, &instrument))
}

/// The tests and fit checks of one visit, oldest first.
fn past_tests(
    shop: &ShopRow,
    order: Uuid,
    tests: &[TestRow],
    fits: &[FitCheckRow],
    pressure: &HashMap<Uuid, PressureAnswer>,
) -> Result<Vec<PastTest>, store::Error> {
    let mut past = Vec::new();
    for test in tests.iter().filter(|t| t.work_order_id == order) {
        past.push((test.tested_at, test.words(pressure.get(&test.id))));
    }
    for fit in fits.iter().filter(|f| f.work_order_id == order) {
        past.push((fit.checked_at, format!("fit check, {}: {}", fit.part, fit.answer()?.words())));
    }
    past.sort_by_key(|(at, _)| *at);
    past.into_iter().map(|(at, words)| Ok(PastTest { on: shop.date_at(at)?, words })).collect()
}

fn past_photo(row: &PhotoRow) -> PastPhoto {
    PastPhoto { id: PhotoId(row.id), caption: row.caption.clone(), small: row.copy(PhotoSize::Small), large: row.copy(PhotoSize::Large) }
}

/// What was ever found and done on an instrument; watch items first.
#[utoipa::path(tag = "instruments", params(("id" = InstrumentId, Path)), responses((status = 200, body = History)))]
#[get("/instruments/{id}/history")]
pub async fn history(parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let history = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let instrument = InstrumentId(id.0);
            let row = instruments::find(conn, instrument)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let shop = shops::current(conn)?;
            let orders = work_orders::of_instrument(conn, instrument)?;
            let ids: Vec<Uuid> = orders.iter().map(|o| o.id).collect();
            let closed = work_orders::closed_at(conn, &ids)?;
            let found = findings::of_orders(conn, &ids)?;
            let map = part_maps::of_instrument(conn, &row)?;
            let tests = small_things::tests_of(conn, &ids)?;
            let fits = fit_checks::of_orders(conn, &ids)?;
            let pictures = photos::of_orders(conn, &ids)?;
            let pressure: HashMap<Uuid, PressureAnswer> =
                pressure_tests::answers(conn, &tests.iter().map(|t| t.id).collect::<Vec<_>>())?.into_iter().collect();
            let mut history = History { watch: Vec::new(), visits: Vec::new() };
            // The heads are those of the instrument's map: what the visit under way leaves has its number there.
            let this = orders.iter().find(|o| o.stage.0 != Stage::Closed).or(orders.first()).map(|o| o.id);
            let own = found.iter().filter(|f| Some(f.work_order_id) == this && f.struck_reason.is_none());
            let own = own.filter(|f| f.disposition.0 == Disposition::LeaveAndWatch).map(|f| (f, f.number.to_string()));
            for (finding, head) in watched(&found, this).into_iter().chain(own) {
                let order = orders.iter().find(|o| o.id == finding.work_order_id);
                history.watch.push(WatchItem {
                    finding_id: FindingId(finding.id),
                    head,
                    pinned_to: map.pinned_to(&finding.part),
                    side: finding.side.clone(),
                    position_mm: finding.position_mm,
                    claim_number: order.map(|o| order_view::claim_number(o.claim_count)).transpose()?.unwrap_or_default(),
                    found_on: shop.date_at(finding.found_at)?,
                    words: customer_words(finding),
                    note: finding.disposition_reason.clone().or_else(|| finding.note.clone()),
                });
            }
            for order in &orders {
                let claim_number = order_view::claim_number(order.claim_count)?;
                let own = || found.iter().filter(|f| f.work_order_id == order.id && f.struck_reason.is_none());
                history.visits.push(Visit {
                    work_order_id: WorkOrderId(order.id),
                    claim_number,
                    checked_in_on: shop.date_at(order.checked_in_at)?,
                    closed_on: closed.get(&order.id).map(|at| shop.date_at(*at)).transpose()?,
                    complaint: order.complaint.clone(),
                    words: own()
                        .map(|f| format!("{}: {}", customer_words(f), f.disposition.0.to_string().replace('_', " ")))
                        .collect(),
                    tests: past_tests(&shop, order.id, &tests, &fits, &pressure)?,
                    photos: pictures.iter().filter(|photo| photo.work_order_id == order.id).map(past_photo).collect(),
                });
            }
            Ok::<_, Problem>(history)
        })
        .await?;
    Ok(HttpResponse::Ok().json(history))
}
