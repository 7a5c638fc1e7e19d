//! Customers.

use crate::extract::{Body, Cursor, Id, OnceKey, Page, Params, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::{page, versioned, versioned_or_304};
use crate::state::Parts;
use acts::Halt;
use acts::contacts::{CustomerChange, NewCustomer};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch, post};
use serde::Deserialize;
use store::search::{self, After, Query};
use store::customers;
use store::views::Customer;
use trade::words::ids::CustomerId;
use utoipa::IntoParams;
use uuid::Uuid;

/// How to find customers.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Find {
    /// Three digits of the phone number or more, a name or an e-mail address; forgiving.
    q: Option<String>,
    /// 1 to 200; 50 if left out.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<i64>,
    /// Of the page before.
    cursor: Option<String>,
}

/// Find customers.
#[utoipa::path(tag = "customers", params(Find), responses((status = 200, body = Page<Customer>)))]
#[get("/customers")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, find: Params<Find>) -> Result<HttpResponse, Problem> {
    let find = find.0;
    let limit = Cursor::limit(find.limit)?;
    let after = Cursor::read::<(f32, Uuid)>(find.cursor.as_deref())?.map(|(rank, id)| After { rank, id });
    let query = find.q.as_deref().and_then(Query::read);
    let found = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let found = search::customers(conn, query.as_ref(), after, limit + 1)?;
            let ids: Vec<Uuid> = found.iter().map(|f| f.row.id).collect();
            let visits = customers::visits(conn, &ids)?;
            Ok::<_, store::Error>(
                found
                    .into_iter()
                    .map(|f| ((f.rank, f.row.id), f.row.view(visits.get(&f.row.id).copied().unwrap_or(0), f.matched)))
                    .collect::<Vec<_>>(),
            )
        })
        .await?;
    Ok(page(&request, &Page::cut(found, limit)))
}

/// Add a customer.
#[utoipa::path(tag = "customers", request_body = NewCustomer, responses((status = 201, body = Customer)))]
#[post("/customers")]
pub async fn add(parts: Data<Parts>, who: SignedIn, once: OnceKey, body: Body<NewCustomer>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let customer = parts.acts.add_customer(&who.actor, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, customer.version, &customer))
}

/// One customer.
#[utoipa::path(tag = "customers", params(("id" = CustomerId, Path)), responses((status = 200, body = Customer)))]
#[get("/customers/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let customer = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = customers::find(conn, CustomerId(id.0))?.ok_or(Halt::Absent)?;
            let visits = customers::visits(conn, &[row.id])?.remove(&row.id).unwrap_or(0);
            Ok::<_, Halt>(row.view(visits, None))
        })
        .await?;
    Ok(versioned_or_304(&request, customer.version, &customer))
}

/// Amend a customer.
#[utoipa::path(tag = "customers", params(("id" = CustomerId, Path)), request_body = CustomerChange, responses((status = 200, body = Customer)))]
#[patch("/customers/{id}")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<CustomerChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let customer = parts
        .acts
        .amend_customer(&who.actor, CustomerId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, customer.version, &customer))
}
