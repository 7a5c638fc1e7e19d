//! Signing in, renewing, signing out.

use crate::extract::{Body, Id, Page, Paging, Params, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::page;
use crate::state::Parts;
use acts::passwords::PasswordChange;
use acts::sign_in::{NotSignedIn, SignedIn as Entered};
use actix_web::cookie::time::Duration as CookieDuration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::header;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, delete, get, post};
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;
use store::shops::ShopRow;
use store::views::Person;
use trade::bench::shop_limits::TestSettings;
use trade::words::care_notes::CareNote;
use trade::words::ids::{PersonId, ShopId};
use trade::words::money::Money;
use trade::words::quote::ContentTaxClass;
use utoipa::ToSchema;
use uuid::Uuid;

/// The refresh token's cookie.
const COOKIE: &str = "bellbrace_refresh";
const COOKIE_PATH: &str = "/api/v1/sessions";

/// Who wants to sign in.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Credentials {
    /// The e-mail address.
    pub email: String,
    /// The password.
    pub password: String,
}

/// What the client needs to know of the shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShopView {
    /// Its name.
    pub name: String,
    /// In one line.
    pub address: String,
    /// As people ring it.
    pub phone: String,
    /// Where answers to letters go.
    pub email: String,
    /// BCP 47 tag.
    pub language: String,
    /// IANA name.
    pub time_zone: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Opening hours and closed days.
    #[schema(value_type = Object)]
    pub calendar: serde_json::Value,
    /// Tax classes.
    pub tax_classes: Vec<ContentTaxClass>,
    /// Whether prices hold the tax.
    pub prices_include_tax: bool,
    /// For an hour of labour.
    pub labour_rate: Money,
    /// How many days a quote can be accepted.
    pub quote_days: i32,
    /// On which days after a quote went out its owner is reminded of it.
    pub quote_reminder_days: Vec<u16>,
    /// On which days after an instrument came to pickup its customer is written to again.
    pub pickup_reminder_days: Vec<u16>,
    /// The shop's terms.
    pub terms: String,
    /// What the shop has set for its tests; what it has not set is left out.
    pub test_settings: TestSettings,
    /// What the pickup letter says of looking after an instrument, for every family.
    pub care_notes: Vec<CareNote>,
    /// For `If-Match`.
    pub version: i32,
}

impl ShopView {
    /// From the stored row.
    ///
    /// # Errors
    /// When a stored setting cannot be read.
    pub fn of(row: ShopRow) -> Result<Self, store::Error> {
        let currency = row.currency()?;
        let places = currency.places();
        let rate: Decimal = row.labour_rate.round_dp_with_strategy(places, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        Ok(Self {
            tax_classes: row.tax_classes()?,
            test_settings: row.test_settings()?,
            care_notes: row.care_notes()?.all(),
            quote_reminder_days: row.quote_reminder_days()?,
            pickup_reminder_days: row.pickup_reminder_days()?,
            labour_rate: store::order_view::money(rate, currency)?,
            name: row.name,
            address: row.address,
            phone: row.phone,
            email: row.email,
            language: row.language,
            time_zone: row.time_zone,
            currency: row.currency,
            calendar: row.calendar,
            prices_include_tax: row.prices_include_tax,
            quote_days: row.quote_days,
            terms: row.terms,
            version: row.version,
        })
    }
}

/// A session that was begun or renewed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Session {
    /// For `Authorization: Bearer`; keep it in memory only.
    pub access_token: String,
    /// When it runs out.
    pub expires_at: DateTime<Utc>,
    /// Who.
    pub person: Person,
    /// Where.
    pub shop: ShopView,
}

/// Who is signed in.
#[derive(Debug, Serialize, ToSchema)]
pub struct CurrentSession {
    /// Who.
    pub person: Person,
    /// Where.
    pub shop: ShopView,
}

/// One of one's own sessions.
#[derive(Debug, Serialize, ToSchema)]
pub struct OwnSession {
    /// Which.
    pub id: Uuid,
    /// When it began.
    pub begun_at: DateTime<Utc>,
    /// When it was last renewed.
    pub last_used_at: DateTime<Utc>,
    /// What the browser called itself.
    pub device: String,
    /// Whether it is this one.
    pub current: bool,
}

impl From<NotSignedIn> for Problem {
    fn from(not: NotSignedIn) -> Self {
        match not {
            NotSignedIn::DoesNotFit => Self::new(Kind::DoesNotFit),
            NotSignedIn::TooBusy => Self::new(Kind::TooMany).again_in(5),
            NotSignedIn::Over => Self::new(Kind::NotSignedIn),
            NotSignedIn::Halt(halt) => halt.into(),
        }
    }
}

fn cookie(value: String, age: CookieDuration) -> Cookie<'static> {
    Cookie::build(COOKIE, value).path(COOKIE_PATH).http_only(true).secure(true).same_site(SameSite::Strict).max_age(age).finish()
}

fn entered(parts: &Parts, entered: Entered, fresh: bool) -> Result<HttpResponse, Problem> {
    let person = acts::shop::person_view(&entered.person, None)?;
    let session = entered.session;
    let (access_token, exp) = parts
        .keys
        .access(PersonId(session.person_id), ShopId(session.shop_id), session.id, &person.name, person.roles.clone())
        .map_err(|_| Problem::new(Kind::Fault))?;
    let body = Session {
        access_token,
        expires_at: i64::try_from(exp).ok().and_then(|exp| DateTime::from_timestamp(exp, 0)).unwrap_or_default(),
        person,
        shop: ShopView::of(entered.shop)?,
    };
    let mut answer = if fresh { HttpResponse::Created() } else { HttpResponse::Ok() };
    Ok(answer
        .cookie(cookie(parts.keys.refresh(session.id, session.turn), CookieDuration::days(i64::from(parts.renewal_days))))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(body))
}

fn device(request: &HttpRequest) -> String {
    request.headers().get(header::USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or_default().to_owned()
}

/// Sign in.
#[utoipa::path(tag = "sessions", request_body = Credentials, responses((status = 201, body = Session)), security(()))]
#[post("/sessions")]
pub async fn sign_in(request: HttpRequest, parts: Data<Parts>, body: Body<Credentials>) -> Result<HttpResponse, Problem> {
    let name = body.value.email.trim().to_lowercase();
    let address = parts.address_of(&request);
    if parts.tries_by_address.check_key(&address).is_err() {
        return Err(Problem::new(Kind::TooMany).again_in(60));
    }
    // What is too long fits nobody, and is not kept as a key.
    if body.value.password.chars().count() > 200 || name.len() > 254 {
        return Err(Problem::new(Kind::DoesNotFit));
    }
    // Counted for each address, so that a stranger who knows a name shuts nobody out.
    if parts.tries_by_name.check_key(&format!("{name} {address}")).is_err() || parts.tries_by_name_everywhere.check_key(&name).is_err() {
        return Err(Problem::new(Kind::TooMany).again_in(60));
    }
    let found = parts.acts.sign_in(&name, &body.value.password, &device(&request)).await?;
    entered(&parts, found, true)
}

fn refresh_token(request: &HttpRequest, parts: &Parts) -> Result<(Uuid, i32), Problem> {
    request
        .cookie(COOKIE)
        .and_then(|cookie| parts.keys.read_refresh(cookie.value()))
        .ok_or_else(|| Problem::new(Kind::NotSignedIn))
}

/// Renew the access token by the refresh cookie.
#[utoipa::path(tag = "sessions", responses((status = 200, body = Session)), security(()))]
#[post("/sessions/refresh")]
pub async fn refresh(request: HttpRequest, parts: Data<Parts>) -> Result<HttpResponse, Problem> {
    let (id, turn) = refresh_token(&request, &parts)?;
    let found = parts.acts.turn_session(id, turn, parts.renewal_days).await?;
    entered(&parts, found, false)
}

/// Who is signed in.
#[utoipa::path(tag = "sessions", responses((status = 200, body = CurrentSession)))]
#[get("/sessions/current")]
pub async fn current(parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    let (person, shop) = parts.acts.current_person(who.claims.shop, who.claims.sub).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(CurrentSession { person: acts::shop::person_view(&person, None)?, shop: ShopView::of(shop)? }))
}

/// Who forgot a password.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ForgottenPassword {
    /// With which address they sign in.
    pub email: String,
}

/// Ask for a link to choose a new password, by mail. The answer is the same whether or not anybody
/// signs in with the address.
#[utoipa::path(tag = "sessions", request_body = ForgottenPassword, responses((status = 204)), security(()))]
#[post("/sessions/forgotten-password")]
pub async fn forgotten_password(request: HttpRequest, parts: Data<Parts>, body: Body<ForgottenPassword>) -> Result<HttpResponse, Problem> {
    let name = body.value.email.trim().to_lowercase();
    let address = parts.address_of(&request);
    if parts.tries_by_address.check_key(&address).is_err() {
        return Err(Problem::new(Kind::TooMany).again_in(60));
    }
    if name.len() > 254 || !name.contains('@') {
        return Err(Problem::new(Kind::InvalidInput).at("/email", "is no e-mail address; it looks like name@place.example"));
    }
    // Counted whether or not anybody has this address; nobody's mailbox is filled by strangers.
    if parts.resets_by_name.check_key(&format!("{name} {address}")).is_err() || parts.resets_by_name_everywhere.check_key(&name).is_err() {
        let words = "It was asked for several times already. Look into the mailbox, also where unwanted mail goes, or ask again later.";
        return Err(Problem::new(Kind::TooMany).saying(words).again_in(20 * 60));
    }
    // Records that are out of reach are told of; whether anything is found in them is not, nor how
    // long that takes.
    parts.acts.store.directory(|conn| store::one_time_links::anybody_signs_in(conn).map_err(Problem::from)).await?;
    let acts = parts.acts.clone();
    actix_web::rt::spawn(async move {
        if let Err(halt) = acts.ask_for_password(&name).await {
            Problem::from(halt).write_down();
        }
    });
    Ok(HttpResponse::NoContent().insert_header((header::CACHE_CONTROL, "no-store")).finish())
}

/// Change one's own password; every other session ends.
#[utoipa::path(tag = "sessions", request_body = PasswordChange, responses((status = 204)))]
#[post("/sessions/current/password")]
pub async fn change_password(parts: Data<Parts>, who: SignedIn, body: Body<PasswordChange>) -> Result<HttpResponse, Problem> {
    // An open tablet is no place to guess the password of whoever left it.
    if parts.tries_by_name.check_key(&who.claims.sub.to_string()).is_err() {
        return Err(Problem::new(Kind::TooMany).again_in(60));
    }
    parts.acts.change_password(&who.actor, who.claims.sid, body.value).await?;
    parts.look_for_ended().await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Sign out. A session cannot be edited, so there is no version to have seen and no `If-Match`.
#[utoipa::path(tag = "sessions", responses((status = 204)))]
#[delete("/sessions/current")]
pub async fn sign_out(parts: Data<Parts>, who: SignedIn) -> Result<HttpResponse, Problem> {
    parts.acts.sign_out(who.claims.shop, who.claims.sub, who.claims.sid).await?;
    parts.look_for_ended().await?;
    Ok(HttpResponse::NoContent().cookie(cookie(String::new(), CookieDuration::ZERO)).finish())
}

/// One's own sessions, newest first.
#[utoipa::path(tag = "sessions", params(Paging), responses((status = 200, body = Page<OwnSession>)))]
#[get("/sessions")]
pub async fn list(request: HttpRequest, parts: Data<Parts>, who: SignedIn, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let sessions = parts.acts.sessions(who.claims.shop, who.claims.sub).await?;
    let all = sessions.into_iter().map(|s| {
        let own = OwnSession { current: s.id == who.claims.sid, id: s.id, begun_at: s.begun_at, last_used_at: s.turned_at, device: s.device };
        ((Reverse(s.begun_at), s.id), own)
    });
    Ok(page(&request, &paging.0.page_of(all)?))
}

/// End one of one's own sessions. A session cannot be edited, so there is no version to have seen and no `If-Match`.
#[utoipa::path(tag = "sessions", params(("id" = Uuid, Path)), responses((status = 204)))]
#[delete("/sessions/{id}")]
pub async fn end(parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    parts.acts.sign_out(who.claims.shop, who.claims.sub, id.0).await?;
    parts.look_for_ended().await?;
    Ok(HttpResponse::NoContent().finish())
}
