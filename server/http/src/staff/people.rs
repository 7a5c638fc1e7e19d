//! Staff accounts.

use crate::extract::{AskedByName, Body, ByName, Id, OnceKey, Page, Params, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{linked, versioned, versioned_or_304};
use crate::state::Parts;
use acts::shop::{NewPerson, PersonChange, person_view};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch, post};
use serde::Serialize;
use store::views::Person;
use store::{one_time_links, people, search};
use trade::rules::facts::By;
use trade::words::ids::PersonId;
use utoipa::ToSchema;

/// Everyone who works here.
#[derive(Debug, Serialize, ToSchema)]
pub struct People {
    /// By name.
    pub items: Vec<Person>,
    /// Where the next page begins; none on the last.
    pub next: Option<String>,
    /// The folder on the server's own machine where letters are laid instead of being sent, while no
    /// mail server is set up; told to the proprietor.
    pub mailbox_folder: Option<String>,
}

/// Everyone who works here.
#[utoipa::path(tag = "people", params(ByName), responses((status = 200, body = People)))]
#[get("/people")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, asked: Params<ByName>) -> Result<HttpResponse, Problem> {
    let shop = who.actor.shop;
    let AskedByName { query, after, limit } = asked.0.read()?;
    let found = parts
        .acts
        .store
        .read(shop, move |conn| {
            let invited = one_time_links::invited_until(conn, shop)?;
            search::people(conn, query.as_ref(), after.as_ref(), limit + 1)?
                .iter()
                .map(|row| Ok(((row.name.clone(), row.id), person_view(row, invited.get(&row.id).copied())?)))
                .collect::<Result<Vec<_>, store::Error>>()
        })
        .await?;
    let Page { items, next } = Page::cut(found, limit);
    let mailbox_folder = parts.mailbox_folder.clone().filter(|_| who.actor.who.is(By::Proprietor));
    Ok(linked(&request, next.clone().as_deref(), &People { items, next, mailbox_folder }))
}

/// One staff member.
#[utoipa::path(tag = "people", params(("id" = PersonId, Path)), responses((status = 200, body = Person)))]
#[get("/people/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let shop = who.actor.shop;
    let person = parts
        .acts
        .store
        .read(shop, move |conn| {
            let row = people::find(conn, PersonId(id.0))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let invited = one_time_links::invited_until(conn, shop)?;
            Ok::<_, Problem>(person_view(&row, invited.get(&row.id).copied())?)
        })
        .await?;
    Ok(versioned_or_304(&request, person.version, &person))
}

/// Invite a staff member once more: a new link to choose a password, by mail.
#[utoipa::path(tag = "people", params(("id" = PersonId, Path)), responses((status = 200, body = Person)))]
#[post("/people/{id}/invitation")]
pub async fn invite(parts: Data<Parts>, who: SignedIn, id: Id, once: OnceKey) -> Result<HttpResponse, Problem> {
    let once = once.empty(&who);
    let person = parts.acts.invite(&who.actor, PersonId(id.0), once).await?;
    Ok(versioned(StatusCode::OK, person.version, &person))
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
