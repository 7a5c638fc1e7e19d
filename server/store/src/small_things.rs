//! Counter marks, tests, holds, notes, payments, handovers and waivers: rows that are only added.

use chrono::{DateTime, NaiveDate, Utc};
use crate::schema::{counter_marks, handovers, holds, notes, payments, struck_payments, tests, waivers};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
use trade::bench::pressure_test::PressureAnswer;
use trade::words::ids::{WorkOrderId, HoldId};
use trade::words::instrument::{MarkKind, TestKind, TestMethod, Verdict};
use trade::words::paperwork::{PaymentKind, PaymentHow};
use trade::words::stage::{HoldReason};
use uuid::Uuid;

/// One counter mark as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::counter_marks, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct CounterMarkRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub part: String,
    pub kind: Word<MarkKind>,
    pub side: Option<String>,
    pub position_mm: Option<Decimal>,
}
/// One test as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::tests, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct TestRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub kind: Word<TestKind>,
    pub method: Option<Word<TestMethod>>,
    pub scope: String,
    pub verdict: Option<Word<Verdict>>,
    pub where_words: Option<String>,
    pub finding_id: Option<Uuid>,
    pub apart_from: Value,
    pub note: Option<String>,
    pub tested_by: Uuid,
    pub tested_at: DateTime<Utc>,
    pub spots: Value,
    pub overruled_because: Option<String>,
}

/// How the scope of a test of the whole instrument is kept.
pub const WHOLE_INSTRUMENT: &str = "whole instrument";

impl TestRow {
    /// Whether it said this.
    #[must_use]
    pub fn says(&self, verdict: Verdict) -> bool {
        self.verdict.as_ref().is_some_and(|own| own.0 == verdict)
    }

    /// The test in a few words: `leak test, bubbles, third slide: failed at the ferrule`.
    #[must_use]
    pub fn words(&self, pressure: Option<&PressureAnswer>) -> String {
        let plain = |word: String| word.replace('_', " ");
        let method = self.method.as_ref().map(|m| format!(", {}", plain(m.0.to_string()))).unwrap_or_default();
        let verdict = self.verdict.as_ref().map_or_else(|| "no verdict".to_owned(), |v| plain(v.0.to_string()));
        let rate = pressure.map(|answer| format!(", {}", answer.words())).unwrap_or_default();
        let place = self.where_words.as_ref().map(|place| format!(", {place}")).unwrap_or_default();
        format!("{}{method}, {}: {verdict}{rate}{place}", plain(self.kind.0.to_string()), self.scope)
    }

    /// Whether the whole instrument was tested, not one part.
    #[must_use]
    pub fn is_of_whole_instrument(&self) -> bool {
        self.scope == WHOLE_INSTRUMENT
    }
}
/// One hold as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::holds, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct HoldRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub reason: Word<HoldReason>,
    pub look_again_on: Option<NaiveDate>,
    pub note: Option<String>,
    pub set_by: Uuid,
    pub set_at: DateTime<Utc>,
    pub lifted_at: Option<DateTime<Utc>>,
    pub supplier: Option<String>,
    pub order_number: Option<String>,
    pub expected_on: Option<NaiveDate>,
}
/// One note as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::notes, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct NoteRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub text: String,
    pub written_by: Uuid,
    pub written_at: DateTime<Utc>,
}
/// One payment as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::payments, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PaymentRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub amount: Decimal,
    pub kind: Word<PaymentKind>,
    pub how: Word<PaymentHow>,
    pub note: Option<String>,
    pub taken_by: Uuid,
    pub taken_at: DateTime<Utc>,
}
/// A payment that does not count, as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::struck_payments, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct StruckPaymentRow {
    pub shop_id: Uuid,
    pub payment_id: Uuid,
    pub reason: String,
    pub struck_by: Uuid,
    pub struck_at: DateTime<Utc>,
}
/// One handover as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::handovers, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct HandoverRow {
    pub shop_id: Uuid,
    pub work_order_id: Uuid,
    pub collected_by: String,
    pub waived: Decimal,
    pub waived_reason: Option<String>,
    pub note: Option<String>,
    pub handed_by: Uuid,
    pub handed_at: DateTime<Utc>,
}

/// What the proprietor let go of where an order ended without a handover, as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::waivers, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct WaiverRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub amount: Decimal,
    pub reason: String,
    pub waived_by: Uuid,
    pub waived_at: DateTime<Utc>,
}

/// Adds a waiver.
///
/// # Errors
/// When the database refuses.
pub fn add_waiver(tx: &mut Tx<'_>, row: &WaiverRow) -> Result<(), Error> {
    diesel::insert_into(waivers::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Adds a counter mark.
///
/// # Errors
/// When the database refuses.
pub fn add_counter_mark(tx: &mut Tx<'_>, row: &CounterMarkRow) -> Result<(), Error> {
    diesel::insert_into(counter_marks::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Every counter mark of an order, oldest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn counter_marks(conn: &mut PgConnection, order: WorkOrderId) -> Result<Vec<CounterMarkRow>, Error> {
    Ok(counter_marks::table.filter(counter_marks::work_order_id.eq(order.0)).order(counter_marks::id).select(CounterMarkRow::as_select()).load(conn)?)
}

/// Adds a test.
///
/// # Errors
/// When the database refuses.
pub fn add_test(tx: &mut Tx<'_>, row: &TestRow) -> Result<(), Error> {
    diesel::insert_into(tests::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// The tests of several orders, by order, oldest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn tests_of(conn: &mut PgConnection, orders: &[Uuid]) -> Result<Vec<TestRow>, Error> {
    Ok(tests::table
        .filter(tests::work_order_id.eq_any(orders))
        .order((tests::work_order_id, tests::id))
        .select(TestRow::as_select())
        .load(conn)?)
}

/// Adds a hold.
///
/// # Errors
/// When the database refuses.
pub fn add_hold(tx: &mut Tx<'_>, row: &HoldRow) -> Result<(), Error> {
    diesel::insert_into(holds::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Adds a note.
///
/// # Errors
/// When the database refuses.
pub fn add_note(tx: &mut Tx<'_>, row: &NoteRow) -> Result<(), Error> {
    diesel::insert_into(notes::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Adds a payment.
///
/// # Errors
/// When the database refuses.
pub fn add_payment(tx: &mut Tx<'_>, row: &PaymentRow) -> Result<(), Error> {
    diesel::insert_into(payments::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One payment. One statement.
///
/// # Errors
/// When the database refuses.
pub fn payment(conn: &mut PgConnection, id: Uuid) -> Result<Option<PaymentRow>, Error> {
    Ok(payments::table.filter(payments::id.eq(id)).select(PaymentRow::as_select()).first(conn).optional()?)
}

/// Strikes a payment.
///
/// # Errors
/// When the database refuses.
pub fn strike_payment(tx: &mut Tx<'_>, row: &StruckPaymentRow) -> Result<(), Error> {
    diesel::insert_into(struck_payments::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Adds a handover.
///
/// # Errors
/// When the database refuses.
pub fn add_handover(tx: &mut Tx<'_>, row: &HandoverRow) -> Result<(), Error> {
    diesel::insert_into(handovers::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One hold. One statement.
///
/// # Errors
/// When the database refuses.
pub fn hold(conn: &mut PgConnection, id: HoldId) -> Result<Option<HoldRow>, Error> {
    Ok(holds::table.filter(holds::id.eq(id.0)).select(HoldRow::as_select()).first(conn).optional()?)
}

/// Lifts a hold.
///
/// # Errors
/// When the database refuses.
pub fn lift_hold(tx: &mut Tx<'_>, id: HoldId, at: DateTime<Utc>) -> Result<(), Error> {
    diesel::update(holds::table.filter(holds::id.eq(id.0)).filter(holds::lifted_at.is_null()))
        .set(holds::lifted_at.eq(Some(at)))
        .execute(tx.conn())?;
    Ok(())
}
