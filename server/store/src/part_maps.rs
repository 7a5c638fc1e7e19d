//! The instruments' own part maps; before the first change the family's template counts.

use crate::instruments::InstrumentRow;
use crate::schema::part_maps as table;
use crate::views::{MapThing, PinnedTo};
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use serde_json::Value;
use std::borrow::Cow;
use trade::maps::{PartMap, Pinned, template_of, with_mended_places};
use uuid::Uuid;

/// One part map as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::part_maps, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PartMapRow {
    pub shop_id: Uuid,
    pub instrument_id: Uuid,
    pub map: Value,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
}

/// The map of an instrument: its own, or its family's template.
#[derive(Debug, Clone)]
pub struct InstrumentMap {
    /// Parts and joints.
    pub map: Cow<'static, PartMap>,
    /// For `If-Match`; 0 is the template.
    pub version: i32,
    /// Who changed it last and when; none for the template.
    pub changed: Option<(String, DateTime<Utc>)>,
}

impl InstrumentMap {
    pub(crate) fn of(row: Option<PartMapRow>, instrument: &InstrumentRow) -> Result<Self, Error> {
        let Some(row) = row else {
            return Ok(Self { map: Cow::Borrowed(template_of(instrument.family.0)), version: 0, changed: None });
        };
        let map: PartMap = serde_json::from_value(row.map).map_err(|e| Error::Unreadable(format!("part map of {}: {e}", row.instrument_id)))?;
        let map = with_mended_places(map);
        Ok(Self { map: Cow::Owned(map), version: row.version, changed: Some((row.changed_by, row.changed_at)) })
    }

    /// The part or joint that a finding's words name.
    #[must_use]
    pub fn pinned_to(&self, word: &str) -> Option<PinnedTo> {
        let found = self.map.resolve(word)?;
        let (on, struck) = match found {
            Pinned::Part(part) => (MapThing::Part, part.is_struck()),
            Pinned::Joint(joint) => (MapThing::Joint, !self.map.holds(joint)),
        };
        Some(PinnedTo { on, id: found.id().to_owned(), name: found.name().to_owned(), struck })
    }
}

/// The map of an instrument. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn of_instrument(conn: &mut PgConnection, instrument: &InstrumentRow) -> Result<InstrumentMap, Error> {
    let row = table::table.filter(table::instrument_id.eq(instrument.id)).select(PartMapRow::as_select()).first(conn).optional()?;
    InstrumentMap::of(row, instrument)
}

/// Writes an instrument's own map; the instrument is locked by the caller.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &PartMapRow) -> Result<(), Error> {
    diesel::insert_into(table::table)
        .values(row)
        .on_conflict((table::shop_id, table::instrument_id))
        .do_update()
        .set(row)
        .execute(tx.conn())?;
    Ok(())
}
