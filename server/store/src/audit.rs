//! Who did what, for the proprietor.

use crate::schema::audit as table;
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use trade::words::ids::{PersonId, WorkOrderId};
use uuid::Uuid;

/// Writes one line of the audit.
///
/// # Errors
/// When the database refuses.
pub fn write(
    tx: &mut Tx<'_>,
    act: &str,
    order: Option<WorkOrderId>,
    person: Option<PersonId>,
    by_words: &str,
    at: DateTime<Utc>,
) -> Result<(), Error> {
    let shop = tx.shop().0;
    diesel::insert_into(table::table)
        .values((
            table::shop_id.eq(shop),
            table::id.eq(Uuid::now_v7()),
            table::act.eq(act),
            table::work_order_id.eq(order.map(|order| order.0)),
            table::by_person.eq(person.map(|person| person.0)),
            table::by_words.eq(by_words),
            table::happened_at.eq(at),
        ))
        .execute(tx.conn())?;
    Ok(())
}
