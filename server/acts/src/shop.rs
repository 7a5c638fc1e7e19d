//! The shop itself: opening it, its settings, its people.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::given::given;
use crate::links::{hash_of, new_secret};
use crate::methods::standard_methods;
use crate::passwords::check_password;
use crate::sign_in::hash_in_turn;
use chrono::{DateTime, Utc};
use mail::PasswordLetter;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::collections::BTreeMap;
use store::lists::{self, PlaceRow};
use store::people::{self, PersonRow};
use store::shops::{self, ShopRow};
use store::views::Person;
use store::{Once, Tx, audit, one_time_links, sessions};
use trade::bench::promise_date::Absence;
use trade::bench::shop_limits::TestSettings;
use trade::rules::facts::{By, Who};
use trade::rules::promises::Skills;
use trade::words::business_time::Calendar;
use trade::words::care_notes::LONGEST;
use trade::words::ids::{PersonId, ShopId};
use trade::words::instrument::Family;
use trade::words::money::plain;
use trade::words::money::Currency;
use trade::words::quote::ContentTaxClass;
use trade::words::stage::Role;
use utoipa::ToSchema;
use uuid::Uuid;

/// Shortest password that is taken, in letters (NIST SP 800-63B asks for 8 at least; ASVS 6.2.1).
pub const PASSWORD_AT_LEAST: usize = 10;
/// Longest password that is taken, in letters.
pub const PASSWORD_AT_MOST: usize = 200;

/// The purpose of the link that makes the first proprietor.
const FIRST: &str = "first_proprietor";

/// A new staff member.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPerson {
    /// Full name.
    pub name: String,
    /// As shown on a tag: two or three letters.
    pub initials: String,
    /// Where this person signs in.
    pub email: String,
    /// What this person may do; at least one.
    pub roles: Vec<Role>,
    /// The first password, ten letters or more. Left out, the person is invited: they get a link by
    /// mail and choose it themselves.
    #[serde(default)]
    pub password: Option<String>,
    /// What this person can do at the bench; all if left out.
    #[serde(default)]
    pub skills: Skills,
    /// Hours a week at the bench, 1 to 100; a typical part of the opening hours if left out.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 100)]
    pub weekly_bench_hours: Option<i32>,
    /// When this person is away, as dates of the shop, both included.
    #[serde(default)]
    pub absent: Vec<Absence>,
}

/// What can be amended of a staff member.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonChange {
    /// Full name.
    #[serde(default)]
    pub name: Option<String>,
    /// As shown on a tag.
    #[serde(default)]
    pub initials: Option<String>,
    /// What this person may do.
    #[serde(default)]
    pub roles: Option<Vec<Role>>,
    /// Whether this person may sign in.
    #[serde(default)]
    pub is_active: Option<bool>,
    /// What this person can do at the bench, as a whole.
    #[serde(default)]
    pub skills: Option<Skills>,
    /// Hours a week at the bench, 1 to 100; null: a typical part of the opening hours.
    #[serde(default, deserialize_with = "given")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 100)]
    pub weekly_bench_hours: Option<Option<i32>>,
    /// When this person is away, as a whole list.
    #[serde(default)]
    pub absent: Option<Vec<Absence>>,
}

/// What opens a shop.
#[derive(Debug, Clone)]
pub struct NewShop {
    /// Its name.
    pub name: String,
    /// IANA time zone.
    pub time_zone: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Its first proprietor.
    pub proprietor: NewPerson,
}

/// What can be amended of the shop; what is left out stays.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopChange {
    /// Its name.
    #[serde(default)]
    pub name: Option<String>,
    /// In one line.
    #[serde(default)]
    pub address: Option<String>,
    /// As people ring it: digits, spaces and + ( ) - . / with an extension as `ext 12`.
    #[serde(default)]
    #[schema(pattern = r"^[0-9+()\-./ ]*([Ee][Xx][Tt]\.? ?[0-9]{1,6} ?)?$")]
    pub phone: Option<String>,
    /// Where answers to letters go.
    #[serde(default)]
    pub email: Option<String>,
    /// Opening hours and closed days.
    #[serde(default)]
    #[schema(value_type = Option<Object>)]
    pub calendar: Option<serde_json::Value>,
    /// Tax classes.
    #[serde(default)]
    pub tax_classes: Option<Vec<ContentTaxClass>>,
    /// Whether prices hold the tax.
    #[serde(default)]
    pub prices_include_tax: Option<bool>,
    /// For an hour of labour, in the shop's currency.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,13}(\.\d{1,6})?$", example = "65.00")]
    pub labour_rate: Option<Decimal>,
    /// How many days a quote can be accepted.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 365)]
    pub quote_days: Option<i32>,
    /// On which days after a quote went out its owner is reminded of it, rising; none: never.
    #[serde(default)]
    #[schema(max_items = 10)]
    pub quote_reminder_days: Option<Vec<u16>>,
    /// On which days after an instrument came to pickup its customer is written to again, rising; none: never.
    #[serde(default)]
    #[schema(max_items = 10)]
    pub pickup_reminder_days: Option<Vec<u16>>,
    /// The shop's terms, printed on the receipt.
    #[serde(default)]
    pub terms: Option<String>,
    /// What the shop has set for its tests: all of it, since what is left out in it is no longer set.
    #[serde(default)]
    pub test_settings: Option<TestSettings>,
    /// How to look after an instrument, by family, for the pickup letter: the shop's own words; empty: nothing is
    /// said; null: the typical words again. Families left out stay.
    #[serde(default)]
    #[schema(value_type = Option<std::collections::HashMap<String, Option<String>>>, example = json!({"tuba": "Oil the valves.", "horn": null}))]
    pub care_notes: Option<BTreeMap<Family, Option<String>>>,
}

impl NewPerson {
    fn check(&self, checks: &mut Checks, at: &str) {
        checks.said(&format!("{at}/name"), &self.name, LINE);
        checks.said(&format!("{at}/initials"), &self.initials, 4);
        checks.said(&format!("{at}/email"), &self.email, 254);
        checks.email(&format!("{at}/email"), Some(self.email.trim()));
        if self.roles.is_empty() {
            checks.fault(format!("{at}/roles"), "must hold at least one role");
        }
        if let Some(password) = &self.password {
            check_password(checks, &format!("{at}/password"), password, &[&self.email, &self.name]);
        }
        check_bench(checks, at, Some(&self.skills), self.weekly_bench_hours, Some(&self.absent));
    }

    fn row(&self, shop: ShopId, desk: &Desk) -> PersonRow {
        PersonRow {
            shop_id: shop.0,
            id: Uuid::now_v7(),
            name: self.name.trim().to_owned(),
            initials: self.initials.trim().to_owned(),
            email: self.email.trim().to_lowercase(),
            roles: json!(self.roles),
            is_active: true,
            version: 1,
            changed_by: desk.actor.words.clone(),
            changed_at: desk.now,
            skills: json!(self.skills),
            weekly_bench_hours: self.weekly_bench_hours,
            absent: json!(self.absent),
        }
    }
}

/// What is wrong with what is said of somebody's work at the bench.
fn check_bench(checks: &mut Checks, at: &str, skills: Option<&Skills>, weekly_bench_hours: Option<i32>, absent: Option<&Vec<Absence>>) {
    if skills.and_then(|skills| skills.methods.as_ref()).is_some_and(|methods| methods.len() > 500) {
        checks.fault(format!("{at}/skills/methods"), "are more than 500");
    }
    if weekly_bench_hours.is_some_and(|hours| !(1..=100).contains(&hours)) {
        checks.fault(format!("{at}/weekly_bench_hours"), "must lie between 1 and 100");
    }
    let absent = absent.map_or(&[][..], Vec::as_slice);
    if absent.len() > 200 {
        checks.fault(format!("{at}/absent"), "are more than 200; leave out what is past");
    }
    for (index, absence) in absent.iter().enumerate() {
        if absence.to < absence.from {
            checks.fault(format!("{at}/absent/{index}/to"), "is before from");
        }
    }
}

/// What is kept of the first password. Whoever is invited has one that nobody knows until they
/// choose their own: it takes as long to try as any other.
async fn first_hash(person: &NewPerson) -> Result<String, Halt> {
    hash_in_turn(person.password.clone().unwrap_or_else(new_secret)).await
}

/// A staff member as a list shows them.
///
/// # Errors
/// When the stored roles cannot be read.
pub fn person_view(row: &PersonRow, invited_until: Option<DateTime<Utc>>) -> Result<Person, store::Error> {
    Ok(Person {
        id: PersonId(row.id),
        name: row.name.clone(),
        initials: row.initials.clone(),
        email: row.email.clone(),
        roles: row.roles()?,
        is_active: row.is_active,
        skills: row.skills()?,
        weekly_bench_hours: row.weekly_bench_hours,
        absent: row.absent()?,
        invited_until,
        version: row.version,
    })
}

const FIRST_PLACES: &[&str] = &["Counter shelf", "Rack A", "Rack B", "Bench 1", "Bench 2", "Test table", "Pickup shelf"];

impl Desk {
    /// Opens a shop with its first proprietor, in the transaction of that shop.
    pub fn open_shop(&self, tx: &mut Tx<'_>, new: &NewShop, password_hash: &str) -> Result<PersonRow, Halt> {
        let shop = tx.shop();
        let mut checks = Checks::default();
        checks.said("/shop_name", &new.name, LINE);
        let currency = Currency::from_code(&new.currency);
        if currency.is_err() {
            checks.fault("/currency", "is no currency code of ISO 4217, such as EUR");
        }
        let calendar = json!({
            "time_zone": new.time_zone,
            "weekly": {
                "monday": [{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}],
                "tuesday": [{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}],
                "wednesday": [{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}],
                "thursday": [{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}],
                "friday": [{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}]
            },
            "closed": [], "extra_days": []
        });
        if serde_json::from_value::<Calendar>(calendar.clone()).is_err() {
            checks.fault("/time_zone", "is no time zone, such as Europe/Berlin");
        }
        new.proprietor.check(&mut checks, "");
        checks.done()?;
        shops::add(
            tx,
            &ShopRow {
                shop_id: shop.0,
                name: new.name.trim().to_owned(),
                address: String::new(),
                phone: String::new(),
                email: new.proprietor.email.trim().to_lowercase(),
                language: "en".to_owned(),
                time_zone: new.time_zone.clone(),
                currency: new.currency.clone(),
                calendar,
                tax_classes: json!([{"id": "standard", "percent": "0"}]),
                prices_include_tax: true,
                labour_rate: Decimal::from(75),
                quote_days: 14,
                reminder_days: json!([7, 21, 60]),
                quote_reminder_days: json!([7, 14]),
                terms: String::new(),
                next_claim_count: 1000,
                version: 1,
                changed_by: self.actor.words.clone(),
                changed_at: self.now,
                test_settings: json!({}),
                care_notes: json!({}),
            },
        )?;
        let person = new.proprietor.row(shop, self);
        people::add(tx, &person, password_hash)?;
        let currency = currency.map_err(|e| store::Error::Unreadable(format!("currency {}: {e:?}", new.currency)))?;
        for method in standard_methods(currency, &[])? {
            lists::add_method(tx, &method.row(self))?;
        }
        for name in FIRST_PLACES {
            lists::add_place(tx, &PlaceRow { shop_id: shop.0, id: Uuid::now_v7(), name: (*name).to_owned() })?;
        }
        audit::write(tx, "shop_opened", None, Some(PersonId(person.id)), &person.name, self.now)?;
        Ok(person)
    }
}

impl Acts {
    /// Opens a shop with its first proprietor.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault.
    pub async fn open_shop(&self, new: NewShop) -> Result<(ShopId, PersonRow), Halt> {
        let shop = ShopId(Uuid::now_v7());
        let desk = self.desk(&Actor { shop, who: Who::Clock, words: new.proprietor.name.clone() });
        let hash = first_hash(&new.proprietor).await?;
        let person = self.store.write(shop, move |tx| desk.open_shop(tx, &new, &hash)).await?;
        Ok((shop, person))
    }

    /// A fresh one-time link that makes the first proprietor; none once anybody can sign in.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn first_proprietor_link(&self) -> Result<Option<String>, Halt> {
        let secret = new_secret();
        let hash = hash_of(&secret);
        let issued = self
            .store
            .directory(move |conn| {
                if one_time_links::anybody_signs_in(conn)? {
                    return Ok::<_, Halt>(false);
                }
                one_time_links::forget_unused(conn, FIRST)?;
                one_time_links::issue(conn, &hash, FIRST, 7)?;
                Ok(true)
            })
            .await?;
        Ok(issued.then(|| format!("{}/start/{secret}", self.public_url)))
    }

    /// Whether such a link can still be used.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn first_link_is_open(&self, secret: &str) -> Result<bool, Halt> {
        let hash = hash_of(secret);
        self.store.directory(move |conn| Ok(one_time_links::is_open(conn, &hash, FIRST)?)).await
    }

    /// Opens the shop by the one-time link; the link works once.
    ///
    /// # Errors
    /// [`Halt::Absent`] when it was used, ran out or never was; [`Halt::Invalid`].
    pub async fn open_first_shop(&self, secret: &str, new: NewShop) -> Result<PersonRow, Halt> {
        // A password is hashed slowly on purpose: not for whoever has no link.
        if !self.first_link_is_open(secret).await? {
            return Err(Halt::Absent);
        }
        let hash = hash_of(secret);
        let password_hash = first_hash(&new.proprietor).await?;
        let shop = ShopId(Uuid::now_v7());
        let desk = self.desk(&Actor { shop, who: Who::Clock, words: new.proprietor.name.clone() });
        self.store
            .write(shop, move |tx| {
                if !one_time_links::use_up(tx.conn(), &hash, FIRST)? {
                    return Err(Halt::Absent);
                }
                desk.open_shop(tx, &new, &password_hash)
            })
            .await
    }

    /// Adds a staff member.
    ///
    /// # Errors
    /// [`Halt::Invalid`]; `not-yours`; `already-here` for an e-mail address or initials in use.
    pub async fn add_person(&self, actor: &Actor, new: NewPerson, once: Once) -> Result<Person, Halt> {
        actor.must_be(&[By::Proprietor])?;
        let mut checks = Checks::default();
        new.check(&mut checks, "");
        checks.done()?;
        let hash = first_hash(&new).await?;
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let row = new.row(tx.shop(), &desk);
                people::add(tx, &row, &hash).map_err(taken)?;
                audit::write(tx, "person_added", None, desk.actor.who.person(), &desk.actor.words, desk.now)?;
                if new.password.is_none() {
                    desk.mail_password_link(tx, &row, PasswordLetter::Invitation)?;
                }
                let invited = one_time_links::invited_until(tx.conn(), desk.actor.shop)?;
                Ok(person_view(&row, invited.get(&row.id).copied())?)
            })
            .await
    }

    /// Amends a staff member.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `last-proprietor`.
    pub async fn amend_person(&self, actor: &Actor, id: PersonId, seen: i32, change: PersonChange) -> Result<Person, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Proprietor])?;
                // Two proprietors who make each other something else at once take turns.
                shops::lock(tx)?;
                let mut row = people::lock(tx, id)?.ok_or(Halt::Absent)?;
                let invited = one_time_links::invited_until(tx.conn(), desk.actor.shop)?;
                let invited = invited.get(&row.id).copied();
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &person_view(&row, invited)?));
                }
                let roles_before = row.roles.clone();
                let mut checks = Checks::default();
                if let Some(name) = &change.name {
                    checks.said("/name", name, LINE);
                    row.name = name.trim().to_owned();
                }
                if let Some(initials) = &change.initials {
                    checks.said("/initials", initials, 4);
                    row.initials = initials.trim().to_owned();
                }
                if let Some(roles) = &change.roles {
                    if roles.is_empty() {
                        checks.fault("/roles", "must hold at least one role");
                    }
                    row.roles = json!(roles);
                }
                check_bench(&mut checks, "", change.skills.as_ref(), change.weekly_bench_hours.flatten(), change.absent.as_ref());
                if let Some(skills) = &change.skills {
                    row.skills = json!(skills);
                }
                if let Some(hours) = change.weekly_bench_hours {
                    row.weekly_bench_hours = hours;
                }
                if let Some(absent) = &change.absent {
                    row.absent = json!(absent);
                }
                checks.done()?;
                row.is_active = change.is_active.unwrap_or(row.is_active);
                // Their tokens say what they might do before.
                if !row.is_active || row.roles != roles_before {
                    sessions::end_all(tx, id)?;
                }
                let others = people::all(tx.conn())?;
                let mut proprietors = 0;
                for other in others.iter().filter(|p| p.id != row.id).chain([&row]) {
                    if other.is_active && other.roles()?.contains(&Role::Proprietor) {
                        proprietors += 1;
                    }
                }
                if proprietors == 0 {
                    return Err(Halt::refused("last-proprietor", "Somebody must stay proprietor. Make another one first."));
                }
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                people::save(tx, &row).map_err(taken)?;
                audit::write(tx, "person_amended", None, desk.actor.who.person(), &desk.actor.words, desk.now)?;
                Ok(person_view(&row, invited)?)
            })
            .await
    }

    /// Amends the shop's settings and gives them as they are then.
    ///
    /// # Errors
    /// [`Halt::Stale`], [`Halt::Invalid`]; `not-yours`.
    pub async fn amend_shop(&self, actor: &Actor, seen: i32, change: ShopChange) -> Result<ShopRow, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Proprietor])?;
                let mut row = shops::lock(tx)?;
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &settings(&row)));
                }
                let mut checks = Checks::default();
                if let Some(name) = &change.name {
                    checks.said("/name", name, LINE);
                    row.name = name.trim().to_owned();
                }
                for (at, value, field) in [
                    ("/address", &change.address, &mut row.address),
                    ("/phone", &change.phone, &mut row.phone),
                    ("/email", &change.email, &mut row.email),
                    ("/terms", &change.terms, &mut row.terms),
                ] {
                    if let Some(text) = value {
                        checks.short(at, Some(text), TEXT);
                        *field = tidy(Some(text)).unwrap_or_default();
                    }
                }
                if change.email.is_some() {
                    checks.email("/email", Some(&row.email));
                }
                checks.phone("/phone", change.phone.as_deref());
                if let Some(calendar) = &change.calendar {
                    match serde_json::from_value::<Calendar>(calendar.clone()) {
                        Ok(_) => row.calendar = calendar.clone(),
                        Err(e) => checks.fault("/calendar", e.to_string()),
                    }
                    if let Some(zone) = calendar.get("time_zone").and_then(|zone| zone.as_str()) {
                        row.time_zone = zone.to_owned();
                    }
                }
                if let Some(classes) = &change.tax_classes {
                    if classes.is_empty() || classes.len() > 10 {
                        checks.fault("/tax_classes", "must be 1 to 10 classes");
                    }
                    for (index, class) in classes.iter().enumerate() {
                        if classes.iter().take(index).any(|other| other.id == class.id) {
                            checks.fault(format!("/tax_classes/{index}/id"), "is there already; each class has its own");
                        }
                        checks.said(&format!("/tax_classes/{index}/id"), &class.id, LINE);
                        if class.percent < Decimal::ZERO || class.percent > Decimal::from(100) || class.percent.scale() > 3 {
                            checks.fault(format!("/tax_classes/{index}/percent"), "must lie between 0 and 100, with at most three places");
                        }
                    }
                    row.tax_classes = json!(classes);
                }
                row.prices_include_tax = change.prices_include_tax.unwrap_or(row.prices_include_tax);
                if let Some(rate) = change.labour_rate {
                    if rate < Decimal::ZERO || rate > Decimal::from(100_000) {
                        checks.fault("/labour_rate", "must lie between 0 and 100000");
                    }
                    row.labour_rate = rate;
                }
                if let Some(days) = change.quote_days {
                    if !(1..=365).contains(&days) {
                        checks.fault("/quote_days", "must lie between 1 and 365");
                    }
                    row.quote_days = days;
                }
                if let Some(settings) = &change.test_settings {
                    for fault in settings.faults("/test_settings") {
                        checks.fault(fault.pointer, fault.message);
                    }
                    row.test_settings = json!(settings);
                }
                if let Some(notes) = &change.care_notes {
                    let mut own = row.care_notes()?;
                    for (family, note) in notes {
                        if note.as_ref().is_some_and(|note| note.chars().count() > LONGEST) {
                            checks.fault(format!("/care_notes/{family}"), format!("must have {LONGEST} letters at most"));
                        }
                        match note {
                            Some(note) => drop(own.0.insert(*family, note.trim().to_owned())),
                            None => drop(own.0.remove(family)),
                        }
                    }
                    row.care_notes = json!(own);
                }
                for (at, given, field) in [
                    ("/quote_reminder_days", &change.quote_reminder_days, &mut row.quote_reminder_days),
                    ("/pickup_reminder_days", &change.pickup_reminder_days, &mut row.reminder_days),
                ] {
                    let Some(days) = given else { continue };
                    if days.len() > 10 {
                        checks.fault(at, "are more than 10");
                    }
                    for (index, day) in days.iter().enumerate() {
                        if !(1..=365).contains(day) || (index > 0 && days.get(index - 1).is_some_and(|before| before >= day)) {
                            checks.fault(format!("{at}/{index}"), "must lie between 1 and 365, and be later than the one before");
                        }
                    }
                    *field = json!(days);
                }
                checks.done()?;
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                shops::save(tx, &row)?;
                audit::write(tx, "shop_amended", None, desk.actor.who.person(), &desk.actor.words, desk.now)?;
                Ok(row)
            })
            .await
    }
}

/// The settings that can be amended, as [`ShopChange`] names them: what stands for a stale change.
fn settings(row: &ShopRow) -> serde_json::Value {
    json!({
        "name": row.name, "address": row.address, "phone": row.phone, "email": row.email, "calendar": row.calendar,
        "tax_classes": row.tax_classes, "prices_include_tax": row.prices_include_tax, "labour_rate": row.labour_rate.normalize().to_string(),
        "quote_days": row.quote_days, "quote_reminder_days": row.quote_reminder_days, "pickup_reminder_days": row.reminder_days,
        "terms": row.terms, "care_notes": row.care_notes,
    })
}

/// Constraints that an honest proprietor can meet.
fn taken(error: store::Error) -> Halt {
    match &error {
        store::Error::Constraint { name, .. } if name == "people_email_once" => {
            Halt::refused("already-here", "Somebody with this e-mail address works here already.")
        }
        store::Error::Constraint { name, .. } if name == "people_initials_once" => {
            Halt::refused("already-here", "Somebody has these initials already; choose others.")
        }
        _ => Halt::Store(error),
    }
}

impl Acts {
    /// Adds a staff member from the machine itself, to the only shop there is.
    ///
    /// # Errors
    /// `no-shop-yet`, `which-shop`; as [`Acts::add_person`].
    pub async fn add_person_from_here(&self, name: &str, email: &str, roles: Vec<Role>, password: &str) -> Result<Person, Halt> {
        let shops: Vec<ShopId> = self.store.directory(|conn| shops::ids(conn).map_err(Halt::from)).await?;
        let shop = match shops.as_slice() {
            [] => return Err(Halt::refused("no-shop-yet", "No shop is open yet. Start the server and open its one-time link first.")),
            [shop] => *shop,
            _ => return Err(Halt::refused("which-shop", "There is more than one shop here; add the person in their own shop.")),
        };
        let initials: String = name.split_whitespace().filter_map(|word| word.chars().next()).take(3).collect();
        let new = NewPerson {
            name: name.to_owned(),
            initials,
            email: email.to_owned(),
            roles,
            password: Some(password.to_owned()),
            ..NewPerson::default()
        };
        let actor = Actor { shop, who: Who::Staff { person: PersonId(Uuid::nil()), roles: vec![Role::Proprietor] }, words: "the machine's owner".to_owned() };
        let mut checks = Checks::default();
        new.check(&mut checks, "");
        checks.done()?;
        let hash = first_hash(&new).await?;
        let desk = self.desk(&actor);
        self.store
            .write(shop, move |tx| {
                let row = new.row(tx.shop(), &desk);
                people::add(tx, &row, &hash).map_err(taken)?;
                audit::write(tx, "person_added", None, None, &desk.actor.words, desk.now)?;
                Ok(person_view(&row, None)?)
            })
            .await
    }
}
