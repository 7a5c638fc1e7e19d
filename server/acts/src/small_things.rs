//! Payments, notes and holds.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use store::order_rows::OrderRows;
use store::order_view;
use rust_decimal::Decimal;
use store::small_things::{self, HoldRow, NoteRow, PaymentRow, StruckPaymentRow};
use store::views::{Hold, Note, Payment};
use store::{Once, Tx, Word};
use trade::rules::facts::By;
use trade::words::ids::{HoldId, WorkOrderId};
use trade::words::money::Money;
use trade::words::paperwork::{PaymentHow, PaymentKind};
use trade::words::shop_date;
use trade::words::stage::{HoldReason, Stage, WaitsFor};
use utoipa::ToSchema;
use uuid::Uuid;

/// A payment taken, or charged to account.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPayment {
    /// How much; below zero, what is given back, with a note that says why.
    pub amount: Money,
    /// For what.
    pub kind: PaymentKind,
    /// How.
    pub how: PaymentHow,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
    /// Whether more than is due is meant; a deposit may come before anything is due.
    #[serde(default)]
    pub more_than_due: bool,
}

/// Why a payment does not count.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StrikePayment {
    /// In words.
    pub reason: String,
}

/// A note.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewNote {
    /// What.
    pub text: String,
}

/// A hold.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewHold {
    /// Why.
    pub reason: HoldReason,
    /// When to look again, as a date of the shop.
    #[serde(deserialize_with = "shop_date::date")]
    pub look_again_on: NaiveDate,
    /// Who is waited for; needed for parts and outside work, and for nothing else.
    #[serde(default)]
    pub supplier: Option<String>,
    /// The number of the order at the supplier.
    #[serde(default)]
    pub order_number: Option<String>,
    /// When the supplier expects to be ready, as a date of the shop.
    #[serde(default, deserialize_with = "shop_date::optional")]
    pub expected_on: Option<NaiveDate>,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
}

impl Desk {
    pub(crate) fn take_payment(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewPayment, at: &str) -> Result<PaymentRow, Halt> {
        let mut checks = Checks::default();
        let currency = rows.shop.currency()?;
        let given_back = new.amount.is_negative();
        let size = if given_back { order_view::money(-new.amount.amount(), new.amount.currency())? } else { new.amount };
        let size = checks.amount(&format!("{at}/amount"), Some(size), currency).unwrap_or_default();
        let pointer = format!("{at}/amount/amount");
        if size.is_zero() {
            checks.fault(pointer.clone(), "must not be zero");
        }
        let due = rows.due()?;
        if given_back {
            if tidy(new.note.as_deref()).is_none() {
                checks.fault(format!("{at}/note"), "must say why it is given back");
            }
            if new.kind == PaymentKind::Account {
                checks.fault(format!("{at}/kind"), "cannot be account where something is given back; strike what was charged by mistake");
            }
            if size > rows.paid() {
                checks.fault(pointer, format!("is more than the {} that were paid", rows.paid()));
            }
        } else if new.kind != PaymentKind::Deposit && size > due && !new.more_than_due {
            checks.fault(pointer, format!("is {} more than is due; say so with more_than_due if it is meant", size - due));
        }
        let amount = if given_back { -size } else { size };
        checks.short(&format!("{at}/note"), new.note.as_deref(), TEXT);
        if (new.kind == PaymentKind::Account) != (new.how == PaymentHow::Account) {
            checks.fault(format!("{at}/how"), "account goes with account: give both or neither");
        }
        checks.done()?;
        let row = PaymentRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            amount,
            kind: Word(new.kind),
            how: Word(new.how),
            note: tidy(new.note.as_deref()),
            taken_by: self.actor.person()?.0,
            taken_at: self.now,
        };
        small_things::add_payment(tx, &row)?;
        rows.payments.push(row.clone());
        Ok(row)
    }
}

impl Acts {
    /// Takes a payment.
    ///
    /// # Errors
    /// [`Halt::Invalid`]; `closed` while nothing is due; `not-yours`.
    pub async fn take_payment(&self, actor: &Actor, order: WorkOrderId, new: NewPayment, once: Once) -> Result<Payment, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk])?;
                let mut rows = desk.open(tx, order, None)?;
                // A closed order owes something again once a payment of it was struck.
                if rows.order.stage.0 == Stage::Closed && rows.due()?.is_zero() && !new.amount.is_negative() {
                    return Err(Halt::refused("closed", "The order is closed, and nothing is due."));
                }
                let row = desk.take_payment(tx, &mut rows, &new, "")?;
                let words = if row.amount.is_sign_negative() { "money was given back" } else { "a payment was taken" };
                desk.recorded(tx, &mut rows, "payment_taken", words)?;
                Ok(rows.payment(&row)?)
            })
            .await
    }

    /// Strikes a payment that was recorded by mistake: it stays in the record and does not count.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Invalid`]; `struck`; `given-back`; `not-yours`.
    pub async fn strike_payment(&self, actor: &Actor, id: Uuid, strike: StrikePayment, once: Once) -> Result<Payment, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk])?;
                let mut checks = Checks::default();
                checks.said("/reason", &strike.reason, TEXT);
                checks.done()?;
                let found = small_things::payment(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                if let Some(struck) = rows.struck_payments.iter().find(|struck| struck.payment_id == id) {
                    return Err(Halt::refused("struck", format!("{} struck it already: {}", rows.person(struck.struck_by).name, struck.reason)));
                }
                // What was given back was given out of what stands.
                if rows.paid() - found.amount < Decimal::ZERO {
                    return Err(Halt::refused("given-back", "Some of it was given back since. Strike that first."));
                }
                let row = StruckPaymentRow {
                    shop_id: desk.actor.shop.0,
                    payment_id: id,
                    reason: strike.reason.trim().to_owned(),
                    struck_by: desk.actor.person()?.0,
                    struck_at: desk.now,
                };
                small_things::strike_payment(tx, &row)?;
                rows.struck_payments.push(row);
                desk.recorded(tx, &mut rows, "payment_struck", "a payment was struck")?;
                Ok(rows.payment(&found)?)
            })
            .await
    }

    /// Adds a note.
    ///
    /// # Errors
    /// [`Halt::Invalid`]; [`Halt::Absent`].
    pub async fn add_note(&self, actor: &Actor, order: WorkOrderId, new: NewNote, once: Once) -> Result<Note, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let person = desk.actor.person()?;
                let mut checks = Checks::default();
                checks.said("/text", &new.text, TEXT);
                checks.done()?;
                let mut rows = desk.open(tx, order, None)?;
                let row = NoteRow {
                    shop_id: desk.actor.shop.0,
                    id: Uuid::now_v7(),
                    work_order_id: order.0,
                    text: new.text.trim().to_owned(),
                    written_by: person.0,
                    written_at: desk.now,
                };
                small_things::add_note(tx, &row)?;
                desk.recorded(tx, &mut rows, "note_added", "a note was added")?;
                Ok(Note { id: row.id, text: row.text, by: rows.person(row.written_by), at: row.written_at })
            })
            .await
    }

    /// Sets a hold.
    ///
    /// # Errors
    /// [`Halt::Invalid`]; `closed`.
    pub async fn set_hold(&self, actor: &Actor, order: WorkOrderId, new: NewHold, once: Once) -> Result<Hold, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let person = desk.actor.person()?;
                let mut rows = desk.open(tx, order, None)?;
                let today = desk.today(&rows)?;
                let mut checks = Checks::default();
                checks.short("/note", new.note.as_deref(), TEXT);
                for (at, date) in [("/look_again_on", Some(new.look_again_on)), ("/expected_on", new.expected_on)] {
                    if date.is_some_and(|date| date < today || date > today + chrono::Days::new(3 * 366)) {
                        checks.fault(at, "must be today or later, and at most three years ahead");
                    }
                }
                checks.short("/order_number", new.order_number.as_deref(), LINE);
                if new.reason.waits_for() == WaitsFor::Supplier {
                    checks.said("/supplier", new.supplier.as_deref().unwrap_or_default(), LINE);
                } else {
                    for (at, is_said) in [
                        ("/supplier", new.supplier.is_some()),
                        ("/order_number", new.order_number.is_some()),
                        ("/expected_on", new.expected_on.is_some()),
                    ] {
                        if is_said {
                            checks.fault(at, "goes with parts and outside work alone");
                        }
                    }
                }
                if new.reason == HoldReason::Other {
                    checks.said("/note", new.note.as_deref().unwrap_or_default(), LINE.max(TEXT));
                }
                checks.done()?;
                if rows.order.stage.0 == Stage::Closed {
                    return Err(Halt::refused("closed", "The order is closed."));
                }
                let row = HoldRow {
                    shop_id: desk.actor.shop.0,
                    id: Uuid::now_v7(),
                    work_order_id: order.0,
                    reason: Word(new.reason),
                    look_again_on: Some(new.look_again_on),
                    note: tidy(new.note.as_deref()),
                    set_by: person.0,
                    set_at: desk.now,
                    lifted_at: None,
                    supplier: tidy(new.supplier.as_deref()),
                    order_number: tidy(new.order_number.as_deref()),
                    expected_on: new.expected_on,
                };
                small_things::add_hold(tx, &row)?;
                desk.recorded(tx, &mut rows, "held", "a hold was set")?;
                Ok(row.view(rows.order.version))
            })
            .await
    }

    /// Lifts a hold of an order that was seen in this version; lifting it twice is harmless.
    ///
    /// # Errors
    /// [`Halt::Absent`]; [`Halt::Stale`].
    pub async fn lift_hold(&self, actor: &Actor, id: HoldId, seen: i32) -> Result<Hold, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.person()?;
                let hold = small_things::hold(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let order = WorkOrderId(hold.work_order_id);
                if hold.lifted_at.is_some() {
                    return Ok(hold.view(desk.open(tx, order, None)?.order.version));
                }
                let mut rows = desk.open(tx, order, Some(seen))?;
                small_things::lift_hold(tx, id, desk.now)?;
                desk.recorded(tx, &mut rows, "lifted", "a hold was lifted")?;
                Ok(HoldRow { lifted_at: Some(desk.now), ..hold }.view(rows.order.version))
            })
            .await
    }
}
