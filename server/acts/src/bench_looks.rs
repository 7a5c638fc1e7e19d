//! Looking at the bench before locking up.

use crate::desk::{Actor, Acts, Halt};
use store::evening::{self, BenchLookRow};
use store::views::{BenchLook, PersonRef};
use store::{Once, people, shops};
use uuid::Uuid;

impl Acts {
    /// Keeps that somebody looked at the bench, with who and when. It may be said more than once a day:
    /// a torch that was lit again asks for another look.
    ///
    /// # Errors
    /// [`Halt::Absent`] when the person is gone.
    pub async fn look_at_bench(&self, actor: &Actor, once: Once) -> Result<BenchLook, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let id = desk.actor.person()?;
                let by: PersonRef = people::find(tx.conn(), id)?.ok_or(Halt::Absent)?.short();
                let looked_on = shops::current(tx.conn())?.date_at(desk.now)?;
                let row = BenchLookRow { shop_id: tx.shop().0, id: Uuid::now_v7(), looked_on, looked_at: desk.now, by_person: id.0 };
                evening::add_look(tx, &row)?;
                Ok(BenchLook { by, at: desk.now })
            })
            .await
    }
}
