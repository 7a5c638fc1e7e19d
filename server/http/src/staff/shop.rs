//! The shop's settings and its own lists.

use crate::extract::{AskedByName, Body, ByName, Page, Paging, Params, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::sessions::ShopView;
use crate::staff::{page, versioned, versioned_or_304};
use crate::state::Parts;
use acts::shop::ShopChange;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch};
use serde::Serialize;
use store::views::Place;
use store::{search, shops};
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

/// The shop's settings.
#[utoipa::path(tag = "shop", responses((status = 200, body = ShopView)))]
#[get("/shop")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let row = parts.acts.store.read(who.actor.shop, shops::current).await?;
    Ok(versioned_or_304(&request, row.version, &ShopView::of(row)?))
}

/// Amend the shop's settings.
#[utoipa::path(tag = "shop", request_body = ShopChange, responses((status = 200, body = ShopView)))]
#[patch("/shop")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, seen: SeenVersion, body: Body<ShopChange>) -> Result<HttpResponse, Problem> {
    let row = parts.acts.amend_shop(&who.actor, seen.0, body.value).await?;
    Ok(versioned(StatusCode::OK, row.version, &ShopView::of(row)?))
}

/// The families and their parts, in the order of the trade.
#[utoipa::path(tag = "shop", params(Paging), responses((status = 200, body = Page<FamilyView>)))]
#[get("/families")]
pub async fn families(request: HttpRequest, _who: SignedIn, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let items = Family::ALL
        .iter()
        .map(|family| FamilyView {
            family: *family,
            parts: family.parts().iter().map(|part| FamilyPart { name: (*part).to_owned(), label: (*part).to_owned() }).collect(),
        })
        .collect();
    Ok(page(&request, &paging.0.page_of_growing(items)?))
}

/// The shop's places, by name.
#[utoipa::path(tag = "shop", params(ByName), responses((status = 200, body = Page<Place>)))]
#[get("/places")]
pub async fn places(request: HttpRequest, parts: Data<Parts>, who: SignedIn, asked: Params<ByName>) -> Result<HttpResponse, Problem> {
    let AskedByName { query, after, limit } = asked.0.read()?;
    let rows = parts.acts.store.read(who.actor.shop, move |conn| search::places(conn, query.as_ref(), after.as_ref(), limit + 1)).await?;
    let found = rows.into_iter().map(|row| ((row.name.clone(), row.id), Place { id: row.id, name: row.name })).collect();
    Ok(page(&request, &Page::cut(found, limit)))
}
