//! The shop's settings and its own lists.

use crate::extract::{Body, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::sessions::ShopView;
use crate::staff::{versioned, versioned_or_304};
use crate::state::Parts;
use acts::shop::ShopChange;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch};
use serde::Serialize;
use store::views::Place;
use store::{lists, shops};
use trade::words::instrument::Family;
use trade::words::spelling::Spelt;
use utoipa::ToSchema;

/// A family and the parts that can be named on it.
#[derive(Debug, Serialize, ToSchema)]
pub struct FamilyView {
    /// Which.
    pub family: Family,
    /// Its parts.
    pub parts: Vec<FamilyPart>,
}

/// A part that can be named.
#[derive(Debug, Serialize, ToSchema)]
pub struct FamilyPart {
    /// As findings name it.
    pub name: String,
    /// As a list shows it.
    pub label: String,
}

/// Every family.
#[derive(Debug, Serialize, ToSchema)]
pub struct Families {
    /// In the order of the trade.
    pub items: Vec<FamilyView>,
}

/// The shop's places.
#[derive(Debug, Serialize, ToSchema)]
pub struct Places {
    /// By name.
    pub items: Vec<Place>,
}

/// The shop's settings.
#[utoipa::path(tag = "shop", responses((status = 200, body = ShopView)))]
#[get("/shop")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let row = parts.acts.store.read(who.actor.shop, shops::current).await?;
    let tag = crate::extract::etag(row.version);
    Ok(versioned_or_304(&request, &tag, &ShopView::of(row)?))
}

/// Amend the shop's settings.
#[utoipa::path(tag = "shop", request_body = ShopChange, responses((status = 200, body = ShopView)))]
#[patch("/shop")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, seen: SeenVersion, body: Body<ShopChange>) -> Result<HttpResponse, Problem> {
    let row = parts.acts.amend_shop(&who.actor, seen.0, body.value).await?;
    Ok(versioned(StatusCode::OK, row.version, &ShopView::of(row)?))
}

/// The families and their parts.
#[utoipa::path(tag = "shop", responses((status = 200, body = Families)))]
#[get("/families")]
pub async fn families(_who: SignedIn) -> HttpResponse {
    let items = Family::ALL
        .iter()
        .map(|family| FamilyView {
            family: *family,
            parts: family.parts().iter().map(|part| FamilyPart { name: (*part).to_owned(), label: (*part).to_owned() }).collect(),
        })
        .collect();
    HttpResponse::Ok().json(Families { items })
}

/// The shop's places.
#[utoipa::path(tag = "shop", responses((status = 200, body = Places)))]
#[get("/places")]
pub async fn places(parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let rows = parts.acts.store.read(who.actor.shop, lists::places).await?;
    Ok(HttpResponse::Ok().json(Places { items: rows.into_iter().map(|p| Place { id: p.id, name: p.name }).collect() }))
}
