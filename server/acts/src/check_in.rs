//! Checking in: the customer, the instrument, what they say, how it looks, what came with it.

use crate::amend_order::{FAR_AHEAD_DAYS, check_accessories};
use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::contacts::{NewCustomer, NewInstrument};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::letter_facts::write_letters;
use chrono::{Days, NaiveDate};
use mail::LetterKind;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::customers::{self, CustomerRow};
use store::desk_fields::{self, DeskFieldsRow};
use store::instruments::{self, InstrumentRow};
use store::order_rows::{self, Named};
use store::shops;
use store::small_things::{self, CounterMarkRow};
use store::views::{Accessory, WorkOrder};
use store::work_orders::{self, WorkOrderRow};
use store::{Once, Tx, Word, part_maps};
use trade::rules::facts::{OrderFacts, Reminders};
use trade::rules::stages::{Act, decide_move};
use trade::words::ids::{CustomerId, InstrumentId, WorkOrderId};
use trade::words::instrument::MarkKind;
use trade::words::money::{Money, plain};
use trade::words::shop_date;
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;
use uuid::Uuid;

/// A mark agreed at the counter; no finding.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCounterMark {
    /// Which part, as the family's list names it or in own words.
    pub part: String,
    /// What.
    pub kind: MarkKind,
    /// Which side.
    #[serde(default)]
    pub side: Option<String>,
    /// Along the part, mm.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
    pub position_mm: Option<rust_decimal::Decimal>,
}

/// One instrument brought in. Customer, owner and instrument are named by id or given whole.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewWorkOrder {
    /// Who brings it, if known.
    #[serde(default)]
    pub customer_id: Option<CustomerId>,
    /// Who brings it, if new.
    #[serde(default)]
    pub customer: Option<NewCustomer>,
    /// Who decides and pays, if somebody else, if known.
    #[serde(default)]
    pub owner_id: Option<CustomerId>,
    /// Who decides and pays, if somebody else, if new.
    #[serde(default)]
    pub owner: Option<NewCustomer>,
    /// Which instrument, if known.
    #[serde(default)]
    pub instrument_id: Option<InstrumentId>,
    /// Which instrument, if new.
    #[serde(default)]
    pub instrument: Option<NewInstrument>,
    /// In the customer's own words.
    pub complaint: String,
    /// How it looks, in words.
    #[serde(default)]
    pub condition_note: Option<String>,
    /// Marks agreed at the counter.
    #[serde(default)]
    pub counter_marks: Vec<NewCounterMark>,
    /// What came with it.
    #[serde(default)]
    pub accessories: Vec<String>,
    /// May cost, without asking; none: ask first.
    #[serde(default)]
    pub may_cost: Option<Money>,
    /// Charged if the owner declines.
    #[serde(default)]
    pub examination_fee: Option<Money>,
    /// Planned for, as a date of the shop, today to three years ahead.
    #[serde(deserialize_with = "shop_date::date")]
    pub promised_on: NaiveDate,
    /// Why that date, where fewer than 10 of 20 such jobs would be ready by then.
    #[serde(default)]
    pub promise_reason: Option<String>,
    /// What the owner wants left.
    #[serde(default)]
    pub keep_as_is: Option<String>,
    /// Where it hangs or lies.
    #[serde(default)]
    pub place: Option<String>,
    /// The number of the loaner that the customer has meanwhile.
    #[serde(default)]
    pub loaner_number: Option<String>,
    /// Whether the customer wants the old parts back.
    #[serde(default)]
    pub old_parts_back: bool,
}

impl Desk {
    /// [`Acts::check_in`] inside a transaction.
    pub fn check_in(&self, tx: &mut Tx<'_>, new: &NewWorkOrder) -> Result<order_rows::OrderRows, Halt> {
        let shop = shops::current(tx.conn())?;
        let currency = shop.currency()?;
        let today = shop.date_at(self.now)?;
        let mut checks = Checks::default();
        checks.said("/complaint", &new.complaint, TEXT);
        checks.short("/condition_note", new.condition_note.as_deref(), TEXT);
        checks.short("/keep_as_is", new.keep_as_is.as_deref(), TEXT);
        checks.short("/place", new.place.as_deref(), LINE);
        if new.promised_on < today || new.promised_on > today + Days::new(FAR_AHEAD_DAYS) {
            checks.fault("/promised_on", "must be today or later, and at most three years ahead");
        }
        checks.short("/promise_reason", new.promise_reason.as_deref(), TEXT);
        let may_cost = checks.amount("/may_cost", new.may_cost, currency);
        let examination_fee = checks.amount("/examination_fee", new.examination_fee, currency);
        if new.counter_marks.len() > 100 {
            checks.fault("/counter_marks", "are more than 100; describe the rest in the condition note");
        }
        for (index, mark) in new.counter_marks.iter().enumerate() {
            checks.said(&format!("/counter_marks/{index}/part"), &mark.part, LINE);
            checks.short(&format!("/counter_marks/{index}/side"), mark.side.as_deref(), LINE);
            checks.millimetres(&format!("/counter_marks/{index}/position_mm"), mark.position_mm);
        }
        check_accessories(&mut checks, &new.accessories);
        checks.short("/loaner_number", new.loaner_number.as_deref(), LINE);
        one_of(&mut checks, "customer", new.customer_id.is_some(), new.customer.is_some(), true);
        one_of(&mut checks, "owner", new.owner_id.is_some(), new.owner.is_some(), false);
        one_of(&mut checks, "instrument", new.instrument_id.is_some(), new.instrument.is_some(), true);
        if let Some(customer) = &new.customer {
            customer.check(&mut checks, "/customer");
        }
        if let Some(owner) = &new.owner {
            owner.check(&mut checks, "/owner");
        }
        if let Some(instrument) = &new.instrument {
            instrument.check(&mut checks, "/instrument");
        }
        checks.done()?;
        let step = decide_move(&nothing_yet(), Stage::Intake, Because::CheckedIn, None, &self.actor.who, Some(Act::CheckIn))?;
        let person = self.actor.person()?;

        let customer = self.customer_of(tx, new.customer_id, new.customer.as_ref(), "/customer_id")?
            .ok_or_else(|| Halt::invalid("/customer", "say who brings it in"))?;
        let owner = self.customer_of(tx, new.owner_id, new.owner.as_ref(), "/owner_id")?;
        let owner_id = owner.as_ref().map_or(customer.id, |owner| owner.id);
        let instrument = match (new.instrument_id, &new.instrument) {
            (Some(id), _) => {
                let found = instruments::lock(tx, id)?
                    .ok_or_else(|| Halt::invalid("/instrument_id", "is no instrument of this shop"))?;
                if self.is_here_already(tx, &found)? {
                    return Err(Halt::refused("already-here", "This instrument has an open work order already. Open that one."));
                }
                found
            }
            (None, Some(instrument)) => self.add_instrument(tx, instrument, owner_id)?,
            (None, None) => return Err(Halt::invalid("/instrument", "say which instrument it is")),
        };
        let map = part_maps::of_instrument(tx.conn(), &instrument)?.map;
        let mut checks = Checks::default();
        for (index, mark) in new.counter_marks.iter().enumerate() {
            checks.on_part(&format!("/counter_marks/{index}/position_mm"), mark.position_mm, &map, &mark.part);
        }
        checks.done()?;
        let accessories: Vec<Accessory> =
            new.accessories.iter().map(|name| Accessory { name: name.trim().to_owned(), returned: false, lost: None }).collect();
        let order = WorkOrderRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            claim_count: shops::take_claim_count(tx)?,
            customer_id: customer.id,
            // A known instrument is its owner's, whoever brings it.
            owner_id: if owner.is_some() { owner_id } else { instrument.owner_id },
            instrument_id: instrument.id,
            stage: Word(Stage::Intake),
            stage_since: self.now,
            complaint: new.complaint.trim().to_owned(),
            condition_note: tidy(new.condition_note.as_deref()),
            keep_as_is: tidy(new.keep_as_is.as_deref()),
            accessories: json!(accessories),
            may_cost,
            examination_fee,
            promised_on: new.promised_on,
            place: tidy(new.place.as_deref()),
            terms: shop.terms.clone(),
            checked_in_at: self.now,
            checked_in_by: person.0,
            claimed_by: None,
            claimed_at: None,
            ending_because: None,
            ending_reason: None,
            ending_by: None,
            ending_at: None,
            question: None,
            question_by: None,
            question_at: None,
            version: 1,
            changed_by: self.actor.words.clone(),
            changed_at: self.now,
            promise_reason: tidy(new.promise_reason.as_deref()),
        };
        work_orders::add(tx, &order)?;
        let desk_fields = DeskFieldsRow {
            loaner_number: tidy(new.loaner_number.as_deref()),
            old_parts_back: new.old_parts_back,
            ..DeskFieldsRow::none(order.shop_id, order.id)
        };
        if desk_fields.loaner_number.is_some() || desk_fields.old_parts_back {
            desk_fields::save(tx, &desk_fields)?;
        }
        for mark in &new.counter_marks {
            small_things::add_counter_mark(
                tx,
                &CounterMarkRow {
                    shop_id: self.actor.shop.0,
                    id: Uuid::now_v7(),
                    work_order_id: order.id,
                    part: mark.part.trim().to_owned(),
                    kind: Word(mark.kind),
                    side: tidy(mark.side.as_deref()),
                    position_mm: mark.position_mm,
                },
            )?;
        }
        let mut rows = order_rows::load(tx.conn(), order)?;
        let change = self.append(&rows, step, None);
        work_orders::add_stage_change(tx, &change)?;
        rows.stage_changes.push(change.clone());
        write_letters(self, tx, &rows, LetterKind::CheckedIn, Some(&change))?;
        self.tell(tx, &rows, "checked_in", step.words)?;
        Ok(rows)
    }

    fn customer_of(
        &self,
        tx: &mut Tx<'_>,
        id: Option<CustomerId>,
        new: Option<&NewCustomer>,
        pointer: &str,
    ) -> Result<Option<CustomerRow>, Halt> {
        match (id, new) {
            (Some(id), _) => {
                Ok(Some(customers::find(tx.conn(), id)?.ok_or_else(|| Halt::invalid(pointer, "is no customer of this shop"))?))
            }
            (None, Some(new)) => Ok(Some(self.add_customer(tx, new)?)),
            (None, None) => Ok(None),
        }
    }

    fn is_here_already(&self, tx: &mut Tx<'_>, instrument: &InstrumentRow) -> Result<bool, Halt> {
        let visits = work_orders::of_instrument(tx.conn(), InstrumentId(instrument.id))?;
        Ok(visits.iter().any(|visit| visit.stage.0 != Stage::Closed))
    }
}

fn one_of(checks: &mut Checks, name: &str, by_id: bool, whole: bool, needed: bool) {
    if by_id && whole {
        checks.fault(format!("/{name}"), format!("is given twice; leave out {name} or {name}_id"));
    }
    if needed && !by_id && !whole {
        checks.fault(format!("/{name}"), format!("is missing; give {name}_id, or {name} with its fields"));
    }
}

/// Before an order is checked in there is nothing on it.
fn nothing_yet() -> OrderFacts {
    OrderFacts {
        stage: None,
        claimed_by: None,
        undecided_count: 0,
        authorised: rust_decimal::Decimal::ZERO,
        accepted_before: false,
        draft: None,
        sent: None,
        has_open_question: false,
        operations: Vec::new(),
        ending: None,
        missing_tests: Vec::new(),
        came_through_tests: false,
        has_records: false,
        due: rust_decimal::Decimal::ZERO,
        accessories_out: Vec::new(),
        loaner_out: None,
        begun_on_acceptance: None,
        failures_open: Vec::new(),
        reminders: Reminders::NothingAsked,
        holds: Vec::new(),
    }
}

impl Acts {
    /// Checks one instrument in: order, marks, first stage change, receipt and live event, or
    /// nothing of it.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; `not-yours`; `already-here`.
    pub async fn check_in(&self, actor: &Actor, new: NewWorkOrder, once: Once) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let rows = desk.check_in(tx, &new)?;
                let order = order_rows::find(tx.conn(), Named::Id(WorkOrderId(rows.order.id)))?.ok_or(Halt::Absent)?;
                Ok(order.view(&desk.actor.who, desk.now)?)
            })
            .await
    }
}
