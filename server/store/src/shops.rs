//! Shops and their settings.

use crate::schema::{event_counters, shops as table};
use crate::{Error, Tx};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
use trade::bench::shop_limits::TestSettings;
use trade::words::care_notes::OwnCareNotes;
use trade::words::ids::ShopId;
use trade::words::money::Currency;
use trade::words::quote::ContentTaxClass;
use trade::words::zone::Zone;
use uuid::Uuid;

/// One shop as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::shops, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct ShopRow {
    pub shop_id: Uuid,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub email: String,
    pub language: String,
    pub time_zone: String,
    pub currency: String,
    pub calendar: Value,
    pub tax_classes: Value,
    pub prices_include_tax: bool,
    pub labour_rate: Decimal,
    pub quote_days: i32,
    pub reminder_days: Value,
    pub terms: String,
    pub next_claim_count: i64,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub test_settings: Value,
    pub quote_reminder_days: Value,
    pub care_notes: Value,
}

impl ShopRow {
    /// The shop's currency.
    ///
    /// # Errors
    /// [`Error::Unreadable`] if the stored code is none.
    pub fn currency(&self) -> Result<Currency, Error> {
        Currency::from_code(&self.currency).map_err(|_| Error::Unreadable(format!("currency {:?}", self.currency)))
    }

    /// The shop's tax classes.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn tax_classes(&self) -> Result<Vec<ContentTaxClass>, Error> {
        serde_json::from_value(self.tax_classes.clone()).map_err(|e| Error::Unreadable(format!("tax classes: {e}")))
    }

    /// What the shop has set for its tests.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn test_settings(&self) -> Result<TestSettings, Error> {
        serde_json::from_value(self.test_settings.clone()).map_err(|e| Error::Unreadable(format!("test settings: {e}")))
    }

    /// On which days after a quote went out its owner is reminded of it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn quote_reminder_days(&self) -> Result<Vec<u16>, Error> {
        serde_json::from_value(self.quote_reminder_days.clone()).map_err(|e| Error::Unreadable(format!("days of quote reminders: {e}")))
    }

    /// On which days after an instrument came to pickup its customer is written to again.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn pickup_reminder_days(&self) -> Result<Vec<u16>, Error> {
        serde_json::from_value(self.reminder_days.clone()).map_err(|e| Error::Unreadable(format!("days of pickup reminders: {e}")))
    }

    /// How to look after an instrument, in the shop's own words.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn care_notes(&self) -> Result<OwnCareNotes, Error> {
        serde_json::from_value(self.care_notes.clone()).map_err(|e| Error::Unreadable(format!("care notes: {e}")))
    }

    /// The shop's time zone.
    ///
    /// # Errors
    /// [`Error::Unreadable`] if the stored name is none.
    pub fn zone(&self) -> Result<Zone, Error> {
        zone_named(&self.time_zone)
    }

    /// The calendar date that it is in the shop at this instant.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn date_at(&self, instant: DateTime<Utc>) -> Result<NaiveDate, Error> {
        Ok(self.zone()?.local_date(instant))
    }
}

/// The zone of this name, as a shop keeps it.
pub(crate) fn zone_named(name: &str) -> Result<Zone, Error> {
    Zone::named(name).ok_or_else(|| Error::Unreadable(format!("time zone {name:?}")))
}

/// The shop of this transaction. One statement.
///
/// # Errors
/// When the database refuses.
pub fn current(conn: &mut PgConnection) -> Result<ShopRow, Error> {
    Ok(table::table.select(ShopRow::as_select()).first(conn)?)
}

/// The shop of this transaction, locked until its end: whoever amends it takes this first, so
/// that a claim number taken meanwhile is not given again.
///
/// # Errors
/// When the database refuses.
pub fn lock(tx: &mut Tx<'_>) -> Result<ShopRow, Error> {
    Ok(table::table.select(ShopRow::as_select()).for_update().first(tx.conn())?)
}

/// Adds the shop of this transaction, with its event counter.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, shop: &ShopRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(shop).execute(tx.conn())?;
    diesel::insert_into(event_counters::table)
        .values((event_counters::shop_id.eq(shop.shop_id), event_counters::last_number.eq(0)))
        .execute(tx.conn())?;
    Ok(())
}

/// Writes the settings of the shop of this transaction.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, shop: &ShopRow) -> Result<(), Error> {
    diesel::update(table::table).set(shop).execute(tx.conn())?;
    Ok(())
}

/// Takes the next claim count of this shop (a counter row, so gaps come only from rollbacks).
///
/// # Errors
/// When the database refuses.
pub fn take_claim_count(tx: &mut Tx<'_>) -> Result<i64, Error> {
    Ok(diesel::update(table::table)
        .set(table::next_claim_count.eq(table::next_claim_count + 1))
        .returning(table::next_claim_count - 1)
        .get_result(tx.conn())?)
}

/// Which shops there are, from the memberships: for what the clock does in each of them.
///
/// # Errors
/// When the database refuses.
pub fn ids(conn: &mut PgConnection) -> Result<Vec<ShopId>, Error> {
    use crate::schema::memberships;
    let ids: Vec<Uuid> = memberships::table.select(memberships::shop_id).distinct().order(memberships::shop_id).load(conn)?;
    Ok(ids.into_iter().map(ShopId).collect())
}
