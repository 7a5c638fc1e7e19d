//! What was written at the check-in is put right: the promised date, the place, and the desk's
//! other words. The history keeps what stood there before.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::given::given;
use crate::letter_facts::{MovedDate, write_date_moved};
use chrono::{Days, NaiveDate};
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::json;
use store::desk_fields::{self, OrderChangeRow};
use store::forecasts;
use store::order_rows::{self, Named, OrderRows};
use store::views::{Accessory, FieldChange, WorkOrder};
use store::{Tx, work_orders};
use trade::rules::facts::By;
use trade::words::ids::WorkOrderId;
use trade::words::money::Money;
use trade::words::said::{list, long_date};
use trade::words::shop_date;
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// Latest promise: so many days ahead.
pub(crate) const FAR_AHEAD_DAYS: u64 = 3 * 366;

/// So many of twenty jobs like it are ready by a date that is promised without a reason.
const LEAST_OF_TWENTY: usize = 10;

/// What can be put right on an open order; what is left out stays. An empty text clears the field.
/// What may be spent without asking is not among it: that is the owner's word.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkOrderChange {
    /// Planned for, as a date of the shop, today to three years ahead. The customer is written to
    /// when it moves.
    #[serde(default, deserialize_with = "date")]
    #[schema(value_type = NaiveDate, required = false)]
    pub promised_on: Option<NaiveDate>,
    /// Why that date, where fewer than 10 of 20 such jobs would be ready by then; stays in the shop.
    #[serde(default)]
    pub promise_reason: Option<String>,
    /// Why the date moves, as the customer is told.
    #[serde(default)]
    pub moved_because: Option<String>,
    /// Where it hangs or lies now.
    #[serde(default)]
    pub place: Option<String>,
    /// In the customer's own words.
    #[serde(default)]
    pub complaint: Option<String>,
    /// How it looked at the counter, in words.
    #[serde(default)]
    pub condition_note: Option<String>,
    /// What the owner wants left.
    #[serde(default)]
    pub keep_as_is: Option<String>,
    /// What came with it, all of it; what was handed back already cannot be left out.
    #[serde(default)]
    pub accessories: Option<Vec<String>>,
    /// Charged if the owner declines; told at the check-in, so it can be lowered or, with null, left
    /// out, never raised.
    #[serde(default, deserialize_with = "given")]
    #[schema(value_type = Option<Money>)]
    pub examination_fee: Option<Option<Money>>,
    /// The number of the loaner that the customer has meanwhile.
    #[serde(default)]
    pub loaner_number: Option<String>,
    /// Whether the customer wants the old parts back.
    #[serde(default)]
    pub old_parts_back: Option<bool>,
}

/// A promise can be moved, not taken away: null is no date.
fn date<'de, D: Deserializer<'de>>(from: D) -> Result<Option<NaiveDate>, D::Error> {
    shop_date::date(from).map(Some)
}

impl WorkOrderChange {
    /// Whether it is about anything but the place, which is everybody's to say.
    fn is_for_the_desk(&self) -> bool {
        let Self {
            promised_on,
            promise_reason,
            moved_because,
            place: _,
            complaint,
            condition_note,
            keep_as_is,
            accessories,
            examination_fee,
            loaner_number,
            old_parts_back,
        } = self;
        promised_on.is_some()
            || promise_reason.is_some()
            || moved_because.is_some()
            || complaint.is_some()
            || condition_note.is_some()
            || keep_as_is.is_some()
            || accessories.is_some()
            || examination_fee.is_some()
            || loaner_number.is_some()
            || old_parts_back.is_some()
    }

    fn check(&self, checks: &mut Checks) {
        checks.short("/promise_reason", self.promise_reason.as_deref(), TEXT);
        checks.short("/moved_because", self.moved_because.as_deref(), TEXT);
        checks.short("/place", self.place.as_deref(), LINE);
        if let Some(complaint) = &self.complaint {
            checks.said("/complaint", complaint, TEXT);
        }
        checks.short("/condition_note", self.condition_note.as_deref(), TEXT);
        checks.short("/keep_as_is", self.keep_as_is.as_deref(), TEXT);
        checks.short("/loaner_number", self.loaner_number.as_deref(), LINE);
        if let Some(accessories) = &self.accessories {
            check_accessories(checks, accessories);
        }
    }
}

/// What can be wrong with a list of what came with an instrument.
pub(crate) fn check_accessories(checks: &mut Checks, names: &[String]) {
    if names.len() > 50 {
        checks.fault("/accessories", "are more than 50");
    }
    for (index, name) in names.iter().enumerate() {
        checks.said(&format!("/accessories/{index}"), name, LINE);
    }
}

/// Fields as they were put right, each with what stood there.
#[derive(Default)]
struct Changed(Vec<FieldChange>);

impl Changed {
    fn text(&mut self, field: &str, at: &mut Option<String>, to: Option<String>) {
        if *at != to {
            self.0.push(FieldChange { field: field.to_owned(), before: at.clone(), after: to.clone() });
            *at = to;
        }
    }

    fn said(&mut self, field: &str, before: Option<String>, after: Option<String>) {
        self.0.push(FieldChange { field: field.to_owned(), before, after });
    }

    fn has(&self, field: &str) -> bool {
        self.0.iter().any(|change| change.field == field)
    }
}

impl Desk {
    /// Puts right what a locked, open order says; gives whether anything changed.
    pub fn amend_order(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, change: &WorkOrderChange) -> Result<bool, Halt> {
        let today = self.today(rows)?;
        let mut checks = Checks::default();
        change.check(&mut checks);
        if change.promised_on.is_some_and(|date| date < today || date > today + Days::new(FAR_AHEAD_DAYS)) {
            checks.fault("/promised_on", "must be today or later, and at most three years ahead");
        }
        let fee = checks.amount("/examination_fee", change.examination_fee.flatten(), rows.shop.currency()?);
        if let Some(fee) = fee
            && rows.order.examination_fee.is_none_or(|told| fee > told)
        {
            checks.fault("/examination_fee", "was told at the check-in; it can be lowered or left out, not raised");
        }
        let mut accessories = rows.accessories()?;
        if let Some(names) = &change.accessories {
            accessories = renamed(&mut checks, &accessories, names);
        }
        checks.done()?;
        if rows.order.stage.0 == Stage::Closed {
            return Err(Halt::refused("closed", "The order is closed; what was written on it stands."));
        }
        let before = rows.order.promised_on;
        let moved = change.promised_on.filter(|date| *date != before);
        if moved.is_some() && rows.order.stage.0 == Stage::Pickup {
            return Err(Halt::refused("ready-already", "It is ready to collect: there is no date left to plan."));
        }
        let promise_reason = tidy(change.promise_reason.as_deref());
        if let Some(date) = moved
            && promise_reason.is_none()
            && let Some(twenty) = forecasts::twenty_of(tx.conn(), WorkOrderId(rows.order.id))?
        {
            let ready = twenty.iter().filter(|day| **day <= date).count();
            if ready < LEAST_OF_TWENTY {
                return Err(Halt::invalid("/promise_reason", format!("is missing: only {ready} of 20 would be ready by then; say why this date")));
            }
        }

        let mut changed = Changed::default();
        if let Some(date) = moved {
            changed.said("promised_on", Some(before.to_string()), Some(date.to_string()));
            rows.order.promised_on = date;
            // The reason for another date is none for this one.
            changed.text("promise_reason", &mut rows.order.promise_reason, promise_reason);
        } else if change.promise_reason.is_some() {
            changed.text("promise_reason", &mut rows.order.promise_reason, promise_reason);
        }
        if let Some(complaint) = tidy(change.complaint.as_deref()).filter(|complaint| *complaint != rows.order.complaint) {
            changed.said("complaint", Some(rows.order.complaint.clone()), Some(complaint.clone()));
            rows.order.complaint = complaint;
        }
        let order = &mut rows.order;
        for (field, wanted, at) in [
            ("place", &change.place, &mut order.place),
            ("condition_note", &change.condition_note, &mut order.condition_note),
            ("keep_as_is", &change.keep_as_is, &mut order.keep_as_is),
        ] {
            if let Some(text) = wanted {
                changed.text(field, at, tidy(Some(text)));
            }
        }
        if let Some(names) = &change.accessories {
            let words = |list_of: &[Accessory]| list_of.iter().map(|a| a.name.clone()).collect::<Vec<_>>();
            let (was, is) = (words(&rows.accessories()?), names.iter().map(|name| name.trim().to_owned()).collect::<Vec<_>>());
            if was != is {
                let text = |names: &[String]| (!names.is_empty()).then(|| list(names));
                changed.said("accessories", text(&was), text(&is));
                rows.order.accessories = json!(accessories);
            }
        }
        if change.examination_fee.is_some() && fee != rows.order.examination_fee {
            let currency = rows.shop.currency()?;
            let words = |amount: Option<rust_decimal::Decimal>| amount.map(|amount| format!("{amount} {currency}"));
            changed.said("examination_fee", words(rows.order.examination_fee), words(fee));
            rows.order.examination_fee = fee;
        }
        let desk_before = rows.desk_fields.clone();
        if let Some(number) = &change.loaner_number {
            changed.text("loaner_number", &mut rows.desk_fields.loaner_number, tidy(Some(number)));
            if changed.has("loaner_number") {
                rows.desk_fields.loaner_back_at = None;
            }
        }
        if let Some(back) = change.old_parts_back.filter(|back| *back != rows.desk_fields.old_parts_back) {
            let words = |yes: bool| Some(if yes { "yes" } else { "no" }.to_owned());
            changed.said("old_parts_back", words(!back), words(back));
            rows.desk_fields.old_parts_back = back;
        }
        if changed.0.is_empty() {
            return Ok(false);
        }
        if rows.desk_fields != desk_before {
            desk_fields::save(tx, &rows.desk_fields)?;
        }
        let moved_because = tidy(change.moved_because.as_deref()).filter(|_| moved.is_some());
        let row = OrderChangeRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            changes: json!(changed.0),
            reason: moved_because.clone(),
            by_person: self.actor.person()?.0,
            by_words: self.actor.words.clone(),
            changed_at: self.now,
        };
        desk_fields::add_change(tx, &row)?;
        rows.changes.push(row);
        work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        if moved.is_some() {
            write_date_moved(self, tx, rows, MovedDate { before, because: moved_because })?;
        }
        let words = match (moved, &rows.order.place) {
            (Some(date), _) => format!("planned for {}", long_date(date, today)),
            (None, Some(place)) if changed.has("place") => format!("is at {place} now"),
            _ => "what was written at the counter was put right".to_owned(),
        };
        self.tell(tx, rows, "order_amended", &words)?;
        Ok(true)
    }
}

/// What came with it under these names: what was handed back or lost stays so, and stays.
fn renamed(checks: &mut Checks, before: &[Accessory], names: &[String]) -> Vec<Accessory> {
    let mut settled: Vec<&Accessory> = before.iter().filter(|a| a.returned || a.lost.is_some()).collect();
    let after = names
        .iter()
        .map(|name| name.trim())
        .map(|name| match settled.iter().position(|a| a.name == name) {
            Some(at) => settled.remove(at).clone(),
            None => Accessory { name: name.to_owned(), returned: false, lost: None },
        })
        .collect();
    if let Some(left_out) = settled.first() {
        checks.fault("/accessories", format!("must keep {}, which was handed back or recorded as lost", left_out.name));
    }
    after
}

impl Acts {
    /// Puts right what an order says: its date, its place, what was written at the counter. The
    /// history, the letter, the live event and the audit share the transaction.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `not-yours`; `closed`; `ready-already`.
    pub async fn amend_order(&self, actor: &Actor, order: WorkOrderId, seen: i32, change: WorkOrderChange) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(if change.is_for_the_desk() { &[By::FrontDesk] } else { &[By::FrontDesk, By::Technician] })?;
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.amend_order(tx, &mut rows, &change)?;
                let rows = order_rows::find(tx.conn(), Named::Id(order))?.ok_or(Halt::Absent)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }
}
