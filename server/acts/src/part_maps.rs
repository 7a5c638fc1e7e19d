//! Editing an instrument's own part map.

use crate::desk::{Actor, Acts, Halt};
use crate::drawn_map::{InstrumentPartMap, ShownFor, drawn_map};
use store::instruments;
use store::part_maps::{self, PartMapRow};
use store::{Error, audit};
use trade::calculation::Fault;
use trade::maps::{MapFault, PartMap, PartMapChange, amend, replace};
use trade::rules::facts::By;
use trade::words::ids::InstrumentId;

impl Acts {
    /// Changes parts and joints of an instrument's own map; the first change makes it its own.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`] with pointers into the change; `not-yours`.
    pub async fn amend_part_map(&self, actor: &Actor, id: InstrumentId, seen: i32, change: PartMapChange) -> Result<InstrumentPartMap, Halt> {
        self.write_part_map(actor, id, seen, move |map, _| amend(map, &change)).await
    }

    /// Puts a whole map in the place of the one that was seen. What it leaves out is kept as struck.
    ///
    /// # Errors
    /// As [`Acts::amend_part_map`], with pointers into the map.
    pub async fn replace_part_map(&self, actor: &Actor, id: InstrumentId, seen: i32, new: PartMap) -> Result<InstrumentPartMap, Halt> {
        self.write_part_map(actor, id, seen, move |map, by| replace(map, &new, &format!("left out by {by}"))).await
    }

    async fn write_part_map(
        &self,
        actor: &Actor,
        id: InstrumentId,
        seen: i32,
        change: impl FnOnce(&PartMap, &str) -> Result<PartMap, Vec<MapFault>> + Send + 'static,
    ) -> Result<InstrumentPartMap, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician])?;
                // The lock makes the second of two first changes wait, and then see the first.
                let instrument = instruments::lock(tx, id)?.ok_or(Halt::Absent)?;
                let own = part_maps::of_instrument(tx.conn(), &instrument)?;
                if own.version != seen {
                    let (changed_by, changed_at) =
                        own.changed.clone().unwrap_or_else(|| ("the family's template".to_owned(), instrument.changed_at));
                    return Err(Halt::stale(own.version, &changed_by, changed_at, &own.map.as_ref()));
                }
                let map = change(&own.map, &desk.actor.words).map_err(|faults| {
                    Halt::Invalid(faults.into_iter().map(|fault| Fault { pointer: fault.pointer, message: fault.detail }).collect())
                })?;
                let row = PartMapRow {
                    shop_id: desk.actor.shop.0,
                    instrument_id: instrument.id,
                    map: serde_json::to_value(&map).map_err(|e| Error::Unreadable(format!("part map: {e}")))?,
                    version: own.version + 1,
                    changed_by: desk.actor.words.clone(),
                    changed_at: desk.now,
                };
                part_maps::save(tx, &row)?;
                audit::write(tx, "part_map_amended", None, desk.actor.who.person(), &desk.actor.words, desk.now)?;
                Ok(drawn_map(tx.conn(), &instrument, ShownFor::Instrument)?)
            })
            .await
    }
}
