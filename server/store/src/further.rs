//! What turned up later on closed orders, and what it cost: what the honest range of a quote rests on.

use crate::{Error, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Bool, Integer, Nullable, Numeric, Text, Uuid as SqlUuid};
use rust_decimal::Decimal;
use trade::bench::further_findings::Construction;
use trade::rules::further::SeenOrder;
use trade::words::ids::InstrumentId;
use trade::words::instrument::Family;
use uuid::Uuid;

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    family: Word<Family>,
    #[diesel(sql_type = Nullable<Text>)]
    age_text: Option<String>,
    #[diesel(sql_type = Integer)]
    year: i32,
    #[diesel(sql_type = Bool)]
    is_seamed: bool,
    #[diesel(sql_type = Bool)]
    has_earlier_repair: bool,
    #[diesel(sql_type = Bool)]
    was_taken_apart: bool,
    #[diesel(sql_type = Integer)]
    found_first: i32,
    #[diesel(sql_type = Integer)]
    found_later: i32,
}

/// The youngest closed orders that were examined and worked on, at most a thousand. One statement.
///
/// # Errors
/// When the database refuses.
pub fn history(conn: &mut PgConnection) -> Result<Vec<SeenOrder>, Error> {
    let rows: Vec<Row> = diesel::sql_query(include_str!("further.sql")).load(conn)?;
    Ok(rows
        .into_iter()
        .map(|row| SeenOrder {
            family: row.family.0,
            age_text: row.age_text,
            year: row.year,
            construction: construction(row.is_seamed),
            has_earlier_repair: row.has_earlier_repair,
            was_taken_apart: row.was_taken_apart,
            found_first: u32::try_from(row.found_first).unwrap_or(0),
            found_later: u32::try_from(row.found_later).unwrap_or(0),
        })
        .collect())
}

/// Prices of the youngest finished steps that answered a crack or an open joint, at most 500, in the
/// shop's currency, tax included only where its prices hold it. One statement.
///
/// # Errors
/// When the database refuses.
pub fn prices(conn: &mut PgConnection) -> Result<Vec<Decimal>, Error> {
    #[derive(QueryableByName)]
    struct Price {
        #[diesel(sql_type = Numeric)]
        price: Decimal,
    }
    let rows: Vec<Price> = diesel::sql_query(
        "SELECT o.price FROM findings f \
           JOIN operations o ON o.shop_id = f.shop_id AND o.work_order_id = f.work_order_id AND o.finding_ids ? f.id::text \
          WHERE f.kind IN ('crack', 'open_joint', 'wood_crack') AND o.state = 'done' AND o.kind = 'work' AND o.price > 0 \
          ORDER BY f.id DESC LIMIT 500",
    )
    .load(conn)?;
    Ok(rows.into_iter().map(|row| row.price).collect())
}

/// A map on which somebody wrote down the seam that they saw says so. What a map has from its
/// family's template is typical, and says nothing of this instrument; and that there is no seam
/// anywhere nobody can say of a part.
fn construction(is_seamed: bool) -> Construction {
    if is_seamed { Construction::Seamed } else { Construction::Unknown }
}

/// How this instrument's tubes were made, as far as somebody saw it, and whether a trace of an
/// earlier repair was ever recorded on it. One statement.
///
/// # Errors
/// When the database refuses.
pub fn seen_of(conn: &mut PgConnection, instrument: InstrumentId) -> Result<(Construction, bool), Error> {
    #[derive(QueryableByName)]
    struct Seen {
        #[diesel(sql_type = Bool)]
        is_seamed: bool,
        #[diesel(sql_type = Bool)]
        was_repaired: bool,
    }
    let found: Seen = diesel::sql_query(
        "SELECT EXISTS (SELECT 1 FROM part_maps m, jsonb_array_elements(m.map -> 'parts') AS part \
                         WHERE m.instrument_id = $1 AND part @> '{\"seam\": \"lengthwise\", \"seam_seen\": true}' \
                           AND part ->> 'struck_reason' IS NULL) AS is_seamed, \
                EXISTS (SELECT 1 FROM work_orders w JOIN findings f ON f.shop_id = w.shop_id AND f.work_order_id = w.id \
                         WHERE w.instrument_id = $1 AND f.kind = 'earlier_repair' AND f.struck_reason IS NULL) AS was_repaired",
    )
    .bind::<SqlUuid, Uuid>(instrument.0)
    .get_result(conn)?;
    Ok((construction(found.is_seamed), found.was_repaired))
}
