//! Staff accounts.

use crate::extract::{Body, Id, OnceKey, SeenVersion, SignedIn};
use crate::problem::Problem;
use crate::staff::versioned;
use crate::state::Parts;
use acts::shop::{NewPerson, PersonChange, person_view};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, get, patch, post};
use serde::Serialize;
use store::people;
use store::views::Person;
use trade::words::ids::PersonId;
use utoipa::ToSchema;

/// Everyone who works here.
#[derive(Debug, Serialize, ToSchema)]
pub struct People {
    /// By name.
    pub items: Vec<Person>,
}

/// Everyone who works here.
#[utoipa::path(tag = "people", responses((status = 200, body = People)))]
#[get("/people")]
pub async fn list(parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let items = parts
        .acts
        .store
        .read(who.actor.shop, |conn| people::all(conn)?.iter().map(person_view).collect::<Result<Vec<_>, store::Error>>())
        .await?;
    Ok(HttpResponse::Ok().json(People { items }))
}

/// Add a staff member.
#[utoipa::path(tag = "people", request_body = NewPerson, responses((status = 201, body = Person)))]
#[post("/people")]
pub async fn add(parts: Data<Parts>, who: SignedIn, once: OnceKey, body: Body<NewPerson>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let person = parts.acts.add_person(&who.actor, body.value, once).await?;
    Ok(versioned(StatusCode::CREATED, person.version, &person))
}

/// Amend a staff member.
#[utoipa::path(tag = "people", params(("id" = PersonId, Path)), request_body = PersonChange, responses((status = 200, body = Person)))]
#[patch("/people/{id}")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<PersonChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let person = parts
        .acts
        .amend_person(&who.actor, PersonId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    parts.look_for_ended().await?;
    Ok(versioned(StatusCode::OK, person.version, &person))
}
