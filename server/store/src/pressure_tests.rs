//! Readings of pressure decay tests and what was computed from them: rows that are only added.

use crate::schema::pressure_tests as table;
use crate::{Error, Tx};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use serde_json::{Value, json};
use trade::bench::leak_rate::GaugeReading;
use trade::bench::pressure_test::PressureAnswer;
use uuid::Uuid;

/// One pressure test as stored.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = crate::schema::pressure_tests, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PressureTestRow {
    pub shop_id: Uuid,
    pub test_id: Uuid,
    pub readings: Value,
    pub asked: Value,
    pub answer: Value,
}

/// What was computed of one test; its readings stay where they are.
#[derive(Debug, Queryable, Selectable)]
#[diesel(table_name = crate::schema::pressure_tests, check_for_backend(diesel::pg::Pg))]
pub(crate) struct PressureSaid {
    pub test_id: Uuid,
    answer: Value,
}

impl PressureSaid {
    pub fn answer(self) -> Result<PressureAnswer, Error> {
        serde_json::from_value(self.answer).map_err(|e| Error::Unreadable(format!("pressure test {}: {e}", self.test_id)))
    }
}

/// Readings as they are kept: `[seconds, Pa]` or `[seconds, Pa, °C]`, since a log has up to 100,000.
#[must_use]
pub fn kept(readings: &[GaugeReading]) -> Value {
    let one = |reading: &GaugeReading| match reading.temperature_c {
        Some(temperature_c) => json!([reading.t_s, reading.gauge_pa, temperature_c]),
        None => json!([reading.t_s, reading.gauge_pa]),
    };
    Value::Array(readings.iter().map(one).collect())
}

/// Adds a pressure test.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &PressureTestRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// What was computed of these tests; their readings stay where they are. One statement, none for
/// no test.
///
/// # Errors
/// When the database refuses, or [`Error::Unreadable`].
pub fn answers(conn: &mut PgConnection, tests: &[Uuid]) -> Result<Vec<(Uuid, PressureAnswer)>, Error> {
    if tests.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<PressureSaid> =
        table::table.filter(table::test_id.eq_any(tests)).order(table::test_id).select(PressureSaid::as_select()).load(conn)?;
    rows.into_iter().map(|said| Ok((said.test_id, said.answer()?))).collect()
}
