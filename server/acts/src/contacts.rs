//! Customers and their instruments: adding and amending.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use serde::{Deserialize, Serialize};
use store::customers::{self, CustomerRow};
use store::instruments::{self, InstrumentRow};
use store::views::{Customer, Instrument};
use store::{Once, Tx, Word, audit};
use trade::rules::facts::By;
use trade::words::ids::{CustomerId, InstrumentId};
use trade::words::instrument::Family;
use trade::words::paperwork::{CustomerKind, MailWanted};
use utoipa::ToSchema;
use uuid::Uuid;

/// A customer as typed at the counter.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCustomer {
    /// Person, school or dealer; a person if left out.
    #[serde(default = "person")]
    pub kind: CustomerKind,
    /// Kept as typed.
    pub name: String,
    /// Where letters go; none: receipts are on paper.
    #[serde(default)]
    pub email: Option<String>,
    /// Kept as typed; found by any three digits.
    #[serde(default)]
    #[schema(pattern = r"^[0-9+()\-./ ]*([Ee][Xx][Tt]\.? ?[0-9]{1,6} ?)?$")]
    pub phone: Option<String>,
    /// Of letters and pages; `en` if left out.
    #[serde(default)]
    pub language: Option<String>,
    /// Which letters; at every change if left out.
    #[serde(default = "every_change")]
    pub mail_wanted: MailWanted,
    /// The shop's own note.
    #[serde(default)]
    pub note: Option<String>,
}

fn person() -> CustomerKind {
    CustomerKind::Person
}

fn every_change() -> MailWanted {
    MailWanted::EveryChange
}

impl NewCustomer {
    pub(crate) fn check(&self, checks: &mut Checks, at: &str) {
        checks.said(&format!("{at}/name"), &self.name, LINE);
        checks.email(&format!("{at}/email"), tidy(self.email.as_deref()).as_deref());
        checks.phone(&format!("{at}/phone"), self.phone.as_deref());
        checks.short(&format!("{at}/note"), self.note.as_deref(), TEXT);
        checks.short(&format!("{at}/language"), self.language.as_deref(), 35);
    }
}

/// An instrument as typed at the counter.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewInstrument {
    /// Family.
    pub family: Family,
    /// As engraved.
    #[serde(default)]
    pub maker: Option<String>,
    /// As engraved.
    #[serde(default)]
    pub model: Option<String>,
    /// As engraved.
    #[serde(default)]
    pub serial_number: Option<String>,
    /// Year or age band.
    #[serde(default)]
    pub age_text: Option<String>,
    /// Finish.
    #[serde(default)]
    pub finish: Option<String>,
    /// The owner's own number for it; never a pupil's name.
    #[serde(default)]
    pub owners_number: Option<String>,
}

impl NewInstrument {
    fn fields(&self) -> [(&'static str, &Option<String>); 6] {
        [
            ("maker", &self.maker),
            ("model", &self.model),
            ("serial_number", &self.serial_number),
            ("age_text", &self.age_text),
            ("finish", &self.finish),
            ("owners_number", &self.owners_number),
        ]
    }

    pub(crate) fn check(&self, checks: &mut Checks, at: &str) {
        for (name, value) in self.fields() {
            checks.short(&format!("{at}/{name}"), value.as_deref(), LINE);
        }
    }
}

impl Desk {
    pub(crate) fn add_customer(&self, tx: &mut Tx<'_>, new: &NewCustomer) -> Result<CustomerRow, Halt> {
        let row = CustomerRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            kind: Word(new.kind),
            name: new.name.trim().to_owned(),
            email: tidy(new.email.as_deref()),
            phone: tidy(new.phone.as_deref()),
            language: tidy(new.language.as_deref()).unwrap_or_else(|| "en".to_owned()),
            mail_wanted: Word(new.mail_wanted),
            note: tidy(new.note.as_deref()),
            version: 1,
            changed_by: self.actor.words.clone(),
            changed_at: self.now,
            created_at: self.now,
        };
        customers::add(tx, &row)?;
        Ok(row)
    }

    pub(crate) fn add_instrument(&self, tx: &mut Tx<'_>, new: &NewInstrument, owner: Uuid) -> Result<InstrumentRow, Halt> {
        let row = InstrumentRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            owner_id: owner,
            family: Word(new.family),
            maker: tidy(new.maker.as_deref()),
            model: tidy(new.model.as_deref()),
            serial_number: tidy(new.serial_number.as_deref()),
            age_text: tidy(new.age_text.as_deref()),
            finish: tidy(new.finish.as_deref()),
            owners_number: tidy(new.owners_number.as_deref()),
            version: 1,
            changed_by: self.actor.words.clone(),
            changed_at: self.now,
        };
        instruments::add(tx, &row)?;
        Ok(row)
    }

    fn note(&self, tx: &mut Tx<'_>, act: &str) -> Result<(), Halt> {
        Ok(audit::write(tx, act, None, self.actor.who.person(), &self.actor.words, self.now)?)
    }
}

/// What can be amended of a customer; what is left out stays. An empty text clears the field.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CustomerChange {
    /// Person, school or dealer.
    #[serde(default)]
    pub kind: Option<CustomerKind>,
    /// Kept as typed.
    #[serde(default)]
    pub name: Option<String>,
    /// Where letters go.
    #[serde(default)]
    pub email: Option<String>,
    /// Digits, spaces and + ( ) - . / with an extension as `ext 12`; kept as typed.
    #[serde(default)]
    #[schema(pattern = r"^[0-9+()\-./ ]*([Ee][Xx][Tt]\.? ?[0-9]{1,6} ?)?$")]
    pub phone: Option<String>,
    /// Of letters and pages.
    #[serde(default)]
    pub language: Option<String>,
    /// Which letters.
    #[serde(default)]
    pub mail_wanted: Option<MailWanted>,
    /// The shop's own note.
    #[serde(default)]
    pub note: Option<String>,
}

/// What can be amended of an instrument; what is left out stays. An empty text clears the field.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InstrumentChange {
    /// Whose it is.
    #[serde(default)]
    pub owner_id: Option<CustomerId>,
    /// Family.
    #[serde(default)]
    pub family: Option<Family>,
    /// As engraved.
    #[serde(default)]
    pub maker: Option<String>,
    /// As engraved.
    #[serde(default)]
    pub model: Option<String>,
    /// As engraved.
    #[serde(default)]
    pub serial_number: Option<String>,
    /// Year or age band.
    #[serde(default)]
    pub age_text: Option<String>,
    /// Finish.
    #[serde(default)]
    pub finish: Option<String>,
    /// The owner's own number for it.
    #[serde(default)]
    pub owners_number: Option<String>,
}

impl Acts {
    /// Adds a customer.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault.
    pub async fn add_customer(&self, actor: &Actor, new: NewCustomer, once: Once) -> Result<Customer, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk])?;
                let mut checks = Checks::default();
                new.check(&mut checks, "");
                checks.done()?;
                let row = desk.add_customer(tx, &new)?;
                desk.note(tx, "customer_added")?;
                Ok(row.view(0, None))
            })
            .await
    }

    /// Amends a customer.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`].
    pub async fn amend_customer(&self, actor: &Actor, id: CustomerId, seen: i32, change: CustomerChange) -> Result<Customer, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::FrontDesk])?;
                let mut row = customers::lock(tx, id)?.ok_or(Halt::Absent)?;
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &row.view(0, None)));
                }
                let mut checks = Checks::default();
                if let Some(name) = &change.name {
                    checks.said("/name", name, LINE);
                    row.name = name.trim().to_owned();
                }
                if let Some(email) = &change.email {
                    row.email = tidy(Some(email));
                    checks.email("/email", row.email.as_deref());
                }
                checks.phone("/phone", change.phone.as_deref());
                checks.short("/note", change.note.as_deref(), TEXT);
                checks.short("/language", change.language.as_deref(), 35);
                checks.done()?;
                if let Some(kind) = change.kind {
                    row.kind = Word(kind);
                }
                if let Some(phone) = &change.phone {
                    row.phone = tidy(Some(phone));
                }
                if let Some(language) = tidy(change.language.as_deref()) {
                    row.language = language;
                }
                if let Some(wanted) = change.mail_wanted {
                    row.mail_wanted = Word(wanted);
                }
                if let Some(note) = &change.note {
                    row.note = tidy(Some(note));
                }
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                customers::save(tx, &row)?;
                desk.note(tx, "customer_amended")?;
                let visits = customers::visits(tx.conn(), &[row.id])?.remove(&row.id).unwrap_or(0);
                Ok(row.view(visits, None))
            })
            .await
    }

    /// Writes which letters a customer wants, from their own status page. A repeat changes nothing.
    ///
    /// # Errors
    /// [`Halt::Absent`].
    pub async fn choose_mail(&self, actor: &Actor, id: CustomerId, wanted: MailWanted) -> Result<(), Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                let mut row = customers::lock(tx, id)?.ok_or(Halt::Absent)?;
                if row.mail_wanted.0 == wanted {
                    return Ok(());
                }
                row.mail_wanted = Word(wanted);
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                customers::save(tx, &row)?;
                desk.note(tx, "mail_chosen")
            })
            .await
    }

    /// Adds an instrument of a customer.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault.
    pub async fn add_instrument(&self, actor: &Actor, owner: CustomerId, new: NewInstrument, once: Once) -> Result<Instrument, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk])?;
                let mut checks = Checks::default();
                new.check(&mut checks, "/instrument");
                checks.done()?;
                let owner = customers::find(tx.conn(), owner)?
                    .ok_or_else(|| Halt::invalid("/owner_id", "is no customer of this shop"))?;
                let row = desk.add_instrument(tx, &new, owner.id)?;
                desk.note(tx, "instrument_added")?;
                Ok(row.view(&owner.name, None))
            })
            .await
    }

    /// Amends an instrument.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`].
    pub async fn amend_instrument(
        &self,
        actor: &Actor,
        id: InstrumentId,
        seen: i32,
        change: InstrumentChange,
    ) -> Result<Instrument, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let mut row = instruments::lock(tx, id)?.ok_or(Halt::Absent)?;
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &row.view("", None)));
                }
                let mut checks = Checks::default();
                for (name, value, field) in [
                    ("/maker", &change.maker, &mut row.maker),
                    ("/model", &change.model, &mut row.model),
                    ("/serial_number", &change.serial_number, &mut row.serial_number),
                    ("/age_text", &change.age_text, &mut row.age_text),
                    ("/finish", &change.finish, &mut row.finish),
                    ("/owners_number", &change.owners_number, &mut row.owners_number),
                ] {
                    if let Some(text) = value {
                        checks.short(name, Some(text), LINE);
                        *field = tidy(Some(text));
                    }
                }
                checks.done()?;
                if let Some(family) = change.family {
                    row.family = Word(family);
                }
                if let Some(owner) = change.owner_id {
                    row.owner_id = owner.0;
                }
                let owner = customers::find(tx.conn(), CustomerId(row.owner_id))?
                    .ok_or_else(|| Halt::invalid("/owner_id", "is no customer of this shop"))?;
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                instruments::save(tx, &row)?;
                desk.note(tx, "instrument_amended")?;
                Ok(row.view(&owner.name, None))
            })
            .await
    }
}
