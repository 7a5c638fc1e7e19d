//! Everything recorded on one order, loaded at once: the rules and the screens look at the same rows.

use crate::customers::{self, CustomerRow};
use crate::decisions::{self, DecisionRow, DisputeRow};
use crate::findings::{self, FindingRow};
use crate::fit_checks::{self, FitCheckRow};
use crate::instruments::{self, InstrumentRow};
use crate::letters::{self, LetterRow};
use crate::links::{self, LinkRow};
use crate::operations::{self, OperationRow, TimeRow};
use crate::part_maps::{self, InstrumentMap};
use crate::pressure_tests;
use crate::quotes::{self, QuoteRow};
use crate::shops::{self, ShopRow};
use crate::small_things::{self, CounterMarkRow, HandoverRow, HoldRow, NoteRow, PaymentRow, TestRow, WaiverRow};
use crate::views::PersonRef;
use crate::work_orders::{self, StageChangeRow, WorkOrderRow};
use crate::{Error, people};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use std::collections::HashMap;
use trade::bench::pressure_test::PressureAnswer;
use trade::words::ids::{CustomerId, InstrumentId, WorkOrderId};
use trade::words::instrument::TestMethod;
use uuid::Uuid;

/// One order with all its rows.
#[derive(Debug, Clone)]
#[expect(missing_docs, reason = "each field is named for the table it comes from")]
pub struct OrderRows {
    pub shop: ShopRow,
    pub people: HashMap<Uuid, PersonRef>,
    pub order: WorkOrderRow,
    pub customer: CustomerRow,
    pub owner: CustomerRow,
    pub instrument: InstrumentRow,
    pub part_map: InstrumentMap,
    pub last_here: Option<DateTime<Utc>>,
    pub counter_marks: Vec<CounterMarkRow>,
    pub findings: Vec<FindingRow>,
    pub operations: Vec<OperationRow>,
    pub times: Vec<TimeRow>,
    pub quotes: Vec<QuoteRow>,
    pub decisions: Vec<DecisionRow>,
    pub disputes: Vec<DisputeRow>,
    pub tests: Vec<TestRow>,
    pub fit_checks: Vec<FitCheckRow>,
    pub pressure_answers: HashMap<Uuid, PressureAnswer>,
    pub holds: Vec<HoldRow>,
    pub notes: Vec<NoteRow>,
    pub payments: Vec<PaymentRow>,
    pub handover: Option<HandoverRow>,
    pub waivers: Vec<WaiverRow>,
    pub stage_changes: Vec<StageChangeRow>,
    pub letters: Vec<LetterRow>,
    pub links: Vec<LinkRow>,
}

/// Loads everything recorded on this order. Twenty-two statements, however much there
/// is, and one more where a pressure test was made.
///
/// # Errors
/// When the database refuses, or a row that the schema promises is missing.
pub fn load(conn: &mut PgConnection, order: WorkOrderRow) -> Result<OrderRows, Error> {
    let missing = |what: &str| Error::Unreadable(format!("the {what} of order {} is missing", order.id));
    let id = WorkOrderId(order.id);
    let customer = customers::find(conn, CustomerId(order.customer_id))?.ok_or_else(|| missing("customer"))?;
    let owner = if order.owner_id == order.customer_id {
        customer.clone()
    } else {
        customers::find(conn, CustomerId(order.owner_id))?.ok_or_else(|| missing("owner"))?
    };
    let instrument = instruments::find(conn, InstrumentId(order.instrument_id))?.ok_or_else(|| missing("instrument"))?;
    let decisions = decisions::of_order(conn, id)?;
    let disputes = if decisions.is_empty() {
        Vec::new()
    } else {
        decisions::disputes(conn, &decisions.iter().map(|d| d.id).collect::<Vec<_>>())?
    };
    let tests = small_things::tests(conn, id)?;
    let of_pressure: Vec<Uuid> =
        tests.iter().filter(|t| t.method.as_ref().is_some_and(|m| m.0 == TestMethod::PressureDecay)).map(|t| t.id).collect();
    Ok(OrderRows {
        shop: shops::current(conn)?,
        people: people::by_id(conn)?,
        customer,
        owner,
        last_here: instruments::last_here(conn, &[instrument.id])?.remove(&instrument.id),
        part_map: part_maps::of_instrument(conn, &instrument)?,
        instrument,
        counter_marks: small_things::counter_marks(conn, id)?,
        findings: findings::of_order(conn, id)?,
        operations: operations::of_order(conn, id)?,
        times: operations::times(conn, id)?,
        quotes: quotes::of_order(conn, id)?,
        decisions,
        disputes,
        fit_checks: fit_checks::of_order(conn, id)?,
        pressure_answers: pressure_tests::answers(conn, &of_pressure)?.into_iter().collect(),
        tests,
        holds: small_things::holds(conn, id)?,
        notes: small_things::notes(conn, id)?,
        payments: small_things::payments(conn, id)?,
        handover: small_things::handover(conn, id)?,
        waivers: small_things::waivers(conn, id)?,
        stage_changes: work_orders::stage_changes(conn, id)?,
        letters: letters::of_order(conn, id)?,
        links: links::of_order(conn, id)?,
        order,
    })
}
