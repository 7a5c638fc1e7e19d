//! The shop's methods: its ways of doing a kind of work, and its price list.

use crate::extract::{AskedByName, Body, ByName, Id, OnceKey, Page, Params, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::{linked, versioned};
use crate::state::Parts;
use acts::methods::{MethodChange, NewMethod, method_view, standard_methods};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch, post};
use serde::Serialize;
use store::views::Method;
use store::{lists, search, shops};
use utoipa::ToSchema;

/// The shop's methods.
#[derive(Debug, Serialize, ToSchema)]
pub struct Methods {
    /// By name, with those that are not offered any more.
    pub items: Vec<Method>,
    /// Where the next page begins; none on the last.
    pub next: Option<String>,
    /// Standard methods that are not on the list as a whole, typical from memory, to be added as they are or changed.
    pub standard: Vec<NewMethod>,
}

/// The shop's methods with their prices.
#[utoipa::path(tag = "shop", params(ByName), responses((status = 200, body = Methods)))]
#[get("/methods")]
pub async fn methods(request: HttpRequest, parts: Data<Parts>, who: SignedIn, asked: Params<ByName>) -> Result<HttpResponse, Problem> {
    let AskedByName { query, after, limit } = asked.0.read()?;
    let found = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let currency = shops::current(conn)?.currency()?;
            let rows = search::methods(conn, query.as_ref(), after.as_ref(), limit + 1)?;
            let ids: Vec<_> = rows.iter().map(|row| row.id).collect();
            let taken = lists::minutes_taken(conn, &ids)?;
            let items: Vec<_> = rows
                .iter()
                .map(|row| Ok(((row.name.clone(), row.id), method_view(row, &taken, currency)?)))
                .collect::<Result<_, store::Error>>()?;
            let Page { items, next } = Page::cut(items, limit);
            Ok::<_, store::Error>(Methods { items, next, standard: standard_methods(currency, &lists::methods(conn)?)? })
        })
        .await?;
    Ok(linked(&request, found.next.as_deref(), &found))
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
