//! Everything recorded on one order, loaded at once: the rules and the screens look at the same rows.

use crate::Error;
use crate::customers::CustomerRow;
use crate::decisions::{DecisionRow, DisputeRow};
use crate::desk_fields::{DeskFieldsRow, OrderChangeRow};
use crate::findings::FindingRow;
use crate::fit_checks::FitCheckRow;
use crate::instruments::InstrumentRow;
use crate::letters::LetterLine;
use crate::links::LinkRow;
use crate::operations::{OperationRow, TimeRow};
use crate::part_maps::{InstrumentMap, PartMapRow};
use crate::people::ShortPerson;
use crate::photos::PhotoRow;
use crate::pressure_tests::PressureSaid;
use crate::quotes::QuoteRow;
use crate::rows::{List, ListOf, Listed, text_of};
use crate::shops::ShopRow;
use crate::small_things::{CounterMarkRow, HandoverRow, HoldRow, NoteRow, PaymentRow, StruckPaymentRow, TestRow, WaiverRow};
use crate::views::PersonRef;
use crate::work_orders::{StageChangeRow, WorkOrderRow};
use chrono::{DateTime, Utc};
use diesel::pg::{Pg, PgConnection};
use diesel::prelude::*;
use diesel::query_builder::{AstPass, Query, QueryFragment, QueryId};
use diesel::sql_types::{BigInt, Nullable, Timestamptz, Uuid as SqlUuid};
use std::collections::HashMap;
use trade::bench::pressure_test::PressureAnswer;
use trade::words::ids::WorkOrderId;
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
    pub photos: Vec<PhotoRow>,
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
    pub struck_payments: Vec<StruckPaymentRow>,
    pub handover: Option<HandoverRow>,
    pub waivers: Vec<WaiverRow>,
    pub stage_changes: Vec<StageChangeRow>,
    pub desk_fields: DeskFieldsRow,
    pub changes: Vec<OrderChangeRow>,
    pub letters: Vec<LetterLine>,
    pub links: Vec<LinkRow>,
}

/// The columns of [`Whole`], in the order of its lists.
type Columns = (
    ListOf<WorkOrderRow>,
    ListOf<ShopRow>,
    ListOf<ShortPerson>,
    ListOf<CustomerRow>,
    ListOf<CustomerRow>,
    ListOf<InstrumentRow>,
    ListOf<PartMapRow>,
    Nullable<Timestamptz>,
    ListOf<CounterMarkRow>,
    ListOf<FindingRow>,
    ListOf<PhotoRow>,
    ListOf<OperationRow>,
    ListOf<TimeRow>,
    ListOf<QuoteRow>,
    ListOf<DecisionRow>,
    ListOf<DisputeRow>,
    ListOf<TestRow>,
    ListOf<FitCheckRow>,
    ListOf<PressureSaid>,
    ListOf<HoldRow>,
    ListOf<NoteRow>,
    ListOf<PaymentRow>,
    ListOf<StruckPaymentRow>,
    ListOf<HandoverRow>,
    ListOf<WaiverRow>,
    ListOf<StageChangeRow>,
    ListOf<DeskFieldsRow>,
    ListOf<OrderChangeRow>,
    ListOf<LetterLine>,
    ListOf<LinkRow>,
);

/// One row of [`Columns`].
type Loaded = (
    Listed<WorkOrderRow>,
    Listed<ShopRow>,
    Listed<ShortPerson>,
    Listed<CustomerRow>,
    Listed<CustomerRow>,
    Listed<InstrumentRow>,
    Listed<PartMapRow>,
    Option<DateTime<Utc>>,
    Listed<CounterMarkRow>,
    Listed<FindingRow>,
    Listed<PhotoRow>,
    Listed<OperationRow>,
    Listed<TimeRow>,
    Listed<QuoteRow>,
    Listed<DecisionRow>,
    Listed<DisputeRow>,
    Listed<TestRow>,
    Listed<FitCheckRow>,
    Listed<PressureSaid>,
    Listed<HoldRow>,
    Listed<NoteRow>,
    Listed<PaymentRow>,
    Listed<StruckPaymentRow>,
    Listed<HandoverRow>,
    Listed<WaiverRow>,
    Listed<StageChangeRow>,
    Listed<DeskFieldsRow>,
    Listed<OrderChangeRow>,
    Listed<LetterLine>,
    Listed<LinkRow>,
);

/// The one statement: the order, and every list that hangs on it, each by its own index.
struct Whole<W> {
    order: List<WorkOrderRow>,
    shop: List<ShopRow>,
    people: List<ShortPerson>,
    customer: List<CustomerRow>,
    owner: List<CustomerRow>,
    instrument: List<InstrumentRow>,
    part_map: List<PartMapRow>,
    counter_marks: List<CounterMarkRow>,
    findings: List<FindingRow>,
    photos: List<PhotoRow>,
    operations: List<OperationRow>,
    times: List<TimeRow>,
    quotes: List<QuoteRow>,
    decisions: List<DecisionRow>,
    disputes: List<DisputeRow>,
    tests: List<TestRow>,
    fit_checks: List<FitCheckRow>,
    pressure: List<PressureSaid>,
    holds: List<HoldRow>,
    notes: List<NoteRow>,
    payments: List<PaymentRow>,
    struck_payments: List<StruckPaymentRow>,
    handover: List<HandoverRow>,
    waivers: List<WaiverRow>,
    stage_changes: List<StageChangeRow>,
    desk_fields: List<DeskFieldsRow>,
    changes: List<OrderChangeRow>,
    letters: List<LetterLine>,
    links: List<LinkRow>,
    which: W,
}

impl<W> Whole<W> {
    fn of(which: W) -> Self {
        Self {
            order: List::from(""),
            shop: List::from("FROM shops"),
            people: List::from("FROM people"),
            customer: List::from("FROM customers WHERE customers.id = work_orders.customer_id"),
            owner: List::from("FROM customers WHERE customers.id = work_orders.owner_id"),
            instrument: List::from("FROM instruments WHERE instruments.id = work_orders.instrument_id"),
            part_map: List::from("FROM part_maps WHERE part_maps.instrument_id = work_orders.instrument_id"),
            counter_marks: List::from("FROM counter_marks WHERE work_order_id = work_orders.id ORDER BY counter_marks.id"),
            findings: List::from("FROM findings WHERE work_order_id = work_orders.id ORDER BY findings.number"),
            photos: List::from("FROM photos WHERE work_order_id = work_orders.id ORDER BY photos.id"),
            operations: List::from("FROM operations WHERE work_order_id = work_orders.id ORDER BY operations.number"),
            times: List::from("FROM time_entries WHERE work_order_id = work_orders.id ORDER BY time_entries.started_at, time_entries.id"),
            quotes: List::from("FROM quotes WHERE work_order_id = work_orders.id ORDER BY quotes.number"),
            decisions: List::from("FROM decisions WHERE work_order_id = work_orders.id ORDER BY decisions.id"),
            disputes: List::from(
                "FROM decisions d JOIN disputes ON disputes.shop_id = d.shop_id AND disputes.decision_id = d.id \
                 WHERE d.work_order_id = work_orders.id ORDER BY disputes.id",
            ),
            tests: List::from("FROM tests WHERE work_order_id = work_orders.id ORDER BY tests.id"),
            fit_checks: List::from("FROM fit_checks WHERE work_order_id = work_orders.id ORDER BY fit_checks.id"),
            pressure: List::from(
                "FROM tests t JOIN pressure_tests ON pressure_tests.shop_id = t.shop_id AND pressure_tests.test_id = t.id \
                 WHERE t.work_order_id = work_orders.id",
            ),
            holds: List::from("FROM holds WHERE work_order_id = work_orders.id ORDER BY holds.id"),
            notes: List::from("FROM notes WHERE work_order_id = work_orders.id ORDER BY notes.id"),
            payments: List::from("FROM payments WHERE work_order_id = work_orders.id ORDER BY payments.id"),
            struck_payments: List::from(
                "FROM payments p JOIN struck_payments ON struck_payments.shop_id = p.shop_id AND struck_payments.payment_id = p.id \
                 WHERE p.work_order_id = work_orders.id",
            ),
            handover: List::from("FROM handovers WHERE work_order_id = work_orders.id"),
            waivers: List::from("FROM waivers WHERE work_order_id = work_orders.id ORDER BY waivers.id"),
            stage_changes: List::from("FROM stage_changes WHERE work_order_id = work_orders.id ORDER BY stage_changes.number"),
            desk_fields: List::from("FROM desk_fields WHERE desk_fields.work_order_id = work_orders.id"),
            changes: List::from("FROM order_changes WHERE order_changes.work_order_id = work_orders.id ORDER BY order_changes.id"),
            letters: List::from("FROM letters WHERE work_order_id = work_orders.id ORDER BY letters.id"),
            links: List::from("FROM links WHERE work_order_id = work_orders.id ORDER BY links.id"),
            which,
        }
    }
}

impl<W: QueryFragment<Pg>> QueryFragment<Pg> for Whole<W> {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("SELECT ");
        let lists: [&'b dyn QueryFragment<Pg>; 7] =
            [&self.order, &self.shop, &self.people, &self.customer, &self.owner, &self.instrument, &self.part_map];
        for list in lists {
            list.walk_ast(out.reborrow())?;
            out.push_sql(", ");
        }
        out.push_sql("(SELECT max(earlier.checked_in_at) FROM work_orders earlier WHERE earlier.instrument_id = work_orders.instrument_id)");
        let lists: [&'b dyn QueryFragment<Pg>; 22] = [
            &self.counter_marks,
            &self.findings,
            &self.photos,
            &self.operations,
            &self.times,
            &self.quotes,
            &self.decisions,
            &self.disputes,
            &self.tests,
            &self.fit_checks,
            &self.pressure,
            &self.holds,
            &self.notes,
            &self.payments,
            &self.struck_payments,
            &self.handover,
            &self.waivers,
            &self.stage_changes,
            &self.desk_fields,
            &self.changes,
            &self.letters,
            &self.links,
        ];
        for list in lists {
            out.push_sql(", ");
            list.walk_ast(out.reborrow())?;
        }
        out.push_sql(" FROM work_orders WHERE ");
        self.which.walk_ast(out)
    }
}

impl<W: 'static> QueryId for Whole<W> {
    // The text follows from the type: it is prepared once for each connection.
    type QueryId = Self;
    const HAS_STATIC_QUERY_ID: bool = true;
}

impl<W> Query for Whole<W> {
    type SqlType = Columns;
}

impl<W> RunQueryDsl<PgConnection> for Whole<W> {}

struct ById(Uuid);

impl QueryFragment<Pg> for ById {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("work_orders.id = ");
        out.push_bind_param::<SqlUuid, _>(&self.0)
    }
}

struct ByClaimCount(i64);

impl QueryFragment<Pg> for ByClaimCount {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("work_orders.claim_count = ");
        out.push_bind_param::<BigInt, _>(&self.0)
    }
}

/// An order by one of its two names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Named {
    /// By id.
    Id(WorkOrderId),
    /// By the count in its claim number.
    ClaimCount(i64),
}

/// The statement of [`find`] by id, `$1`: for measuring it on its own.
///
/// # Errors
/// When it cannot be written down.
pub fn statement() -> Result<String, Error> {
    Ok(text_of(&Whole::of(ById(Uuid::nil())))?)
}

/// Loads everything recorded on one order. One statement, however much there is.
///
/// # Errors
/// When the database refuses, or a row that the schema promises is missing.
pub fn find(conn: &mut PgConnection, order: Named) -> Result<Option<OrderRows>, Error> {
    let loaded: Option<Loaded> = match order {
        Named::Id(id) => Whole::of(ById(id.0)).get_result(conn).optional()?,
        Named::ClaimCount(count) => Whole::of(ByClaimCount(count)).get_result(conn).optional()?,
    };
    loaded.map(rows).transpose()
}

/// Loads everything recorded on this order, which is locked or was read in this transaction. One
/// statement, however much there is.
///
/// # Errors
/// As [`find`].
pub fn load(conn: &mut PgConnection, order: WorkOrderRow) -> Result<OrderRows, Error> {
    let rows = find(conn, Named::Id(WorkOrderId(order.id)))?;
    let rows = rows.ok_or_else(|| Error::Unreadable(format!("the order {} is missing", order.id)))?;
    Ok(OrderRows { order, ..rows })
}

fn rows(loaded: Loaded) -> Result<OrderRows, Error> {
    let (
        order,
        shop,
        people,
        customer,
        owner,
        instrument,
        part_map,
        last_here,
        counter_marks,
        findings,
        photos,
        operations,
        times,
        quotes,
        decisions,
        disputes,
        tests,
        fit_checks,
        pressure,
        holds,
        notes,
        payments,
        struck_payments,
        handover,
        waivers,
        stage_changes,
        desk_fields,
        changes,
        letters,
        links,
    ) = loaded;
    let order = order.only().ok_or_else(|| Error::Unreadable("an order without its row".to_owned()))?;
    let missing = |what: &str| Error::Unreadable(format!("the {what} of order {} is missing", order.id));
    let instrument = instrument.only().ok_or_else(|| missing("instrument"))?;
    Ok(OrderRows {
        shop: shop.only().ok_or_else(|| missing("shop"))?,
        people: people.0.into_iter().map(|person| (person.id, person.short())).collect(),
        customer: customer.only().ok_or_else(|| missing("customer"))?,
        owner: owner.only().ok_or_else(|| missing("owner"))?,
        part_map: InstrumentMap::of(part_map.only(), &instrument)?,
        instrument,
        last_here,
        counter_marks: counter_marks.0,
        findings: findings.0,
        photos: photos.0,
        operations: operations.0,
        times: times.0,
        quotes: quotes.0,
        decisions: decisions.0,
        disputes: disputes.0,
        tests: tests.0,
        fit_checks: fit_checks.0,
        pressure_answers: pressure.0.into_iter().map(|said| Ok((said.test_id, said.answer()?))).collect::<Result<_, Error>>()?,
        holds: holds.0,
        notes: notes.0,
        payments: payments.0,
        struck_payments: struck_payments.0,
        handover: handover.only(),
        waivers: waivers.0,
        stage_changes: stage_changes.0,
        desk_fields: desk_fields.only().unwrap_or_else(|| DeskFieldsRow::none(order.shop_id, order.id)),
        changes: changes.0,
        letters: letters.0,
        links: links.0,
        order,
    })
}
