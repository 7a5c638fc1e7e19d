//! The shop's methods: its ways of doing a kind of work, and its price list.

use crate::extract::{Body, Id, OnceKey, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::versioned;
use crate::state::Parts;
use acts::methods::{MethodChange, NewMethod, method_view, standard_methods};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, get, patch, post};
use serde::Serialize;
use store::views::Method;
use store::{lists, shops};
use utoipa::ToSchema;

/// The shop's methods.
#[derive(Debug, Serialize, ToSchema)]
pub struct Methods {
    /// By name, with those that are not offered any more.
    pub items: Vec<Method>,
    /// Standard methods that are not on the list, typical from memory, to be added as they are or changed.
    pub standard: Vec<NewMethod>,
}

/// The shop's methods with their prices.
#[utoipa::path(tag = "shop", responses((status = 200, body = Methods)))]
#[get("/methods")]
pub async fn methods(parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let found = parts
        .acts
        .store
        .read(who.actor.shop, |conn| {
            let currency = shops::current(conn)?.currency()?;
            let rows = lists::methods(conn)?;
            let ids: Vec<_> = rows.iter().map(|row| row.id).collect();
            let taken = lists::minutes_taken(conn, &ids)?;
            let items = rows.iter().map(|row| method_view(row, &taken, currency)).collect::<Result<_, _>>()?;
            Ok::<_, store::Error>(Methods { items, standard: standard_methods(currency, &rows)? })
        })
        .await?;
    Ok(HttpResponse::Ok().json(found))
}

/// Put a method on the list.
#[utoipa::path(tag = "shop", request_body = NewMethod, responses((status = 201, body = Method)))]
#[post("/methods")]
pub async fn add_method(parts: Data<Parts>, who: SignedIn, once: OnceKey, body: Body<NewMethod>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let method = parts.acts.add_method(&who.actor, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, method.version, &method))
}

/// Amend a method, or offer it no longer.
#[utoipa::path(tag = "shop", params(("id" = uuid::Uuid, Path)), request_body = MethodChange, responses((status = 200, body = Method)))]
#[patch("/methods/{id}")]
pub async fn amend_method(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<MethodChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let method = parts.acts.amend_method(&who.actor, id.0, seen.0, body.value).await.map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, method.version, &method))
}
