//! The ring list: whoever a letter does not reach is telephoned. Nothing is decided on it; what
//! somebody answers on the telephone is recorded on the order's own quote.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Halt};
use mail::LetterKind;
use serde::{Deserialize, Serialize};
use store::ring_list::{self, Call, CallRow, CallWordsRow, RingList};
use store::{Once, Word, keys};
use trade::rules::facts::By;
use trade::words::ids::{CustomerId, WorkOrderId};
use trade::words::paperwork::CallOutcome;
use utoipa::ToSchema;
use uuid::Uuid;

/// A call that was made.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCall {
    /// Who was rung: whoever brought it, or whoever owns it.
    pub customer_id: CustomerId,
    /// How it went.
    pub outcome: CallOutcome,
    /// In words.
    #[serde(default)]
    pub words: Option<String>,
}

/// Why what was noted of a call is struck.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StrikeWords {
    /// Why, without the words themselves.
    pub reason: String,
}

/// What somebody is told across the counter, with the paper in hand.
fn is_told_at_counter(kind: LetterKind) -> bool {
    matches!(
        kind,
        LetterKind::CheckedIn | LetterKind::Collected | LetterKind::DoneAtCounter | LetterKind::SentBack | LetterKind::EnteredByMistake
    )
}

fn spelt(which: impl Fn(LetterKind) -> bool) -> Vec<&'static str> {
    LetterKind::ALL.into_iter().filter(|kind| which(*kind)).map(LetterKind::spelling).collect()
}

impl Acts {
    /// Everybody to be telephoned, most pressing first. One statement.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn ring_list(&self, actor: &Actor) -> Result<RingList, Halt> {
        self.store
            .read(actor.shop, |conn| Ok(ring_list::ring_list(conn, &spelt(is_told_at_counter), &spelt(LetterKind::only_tells))?))
            .await
    }

    /// Notes a call. One in which somebody was spoken with takes what was to be told until now
    /// off the ring list; nothing else changes.
    ///
    /// # Errors
    /// [`Halt::Absent`]; [`Halt::Invalid`] where it is nobody of that order; `not-yours`.
    pub async fn note_call(&self, actor: &Actor, order: WorkOrderId, new: NewCall, once: Once) -> Result<Call, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let person = desk.actor.person()?;
                let mut checks = Checks::default();
                checks.short("/words", new.words.as_deref(), TEXT);
                checks.done()?;
                let mut rows = desk.open(tx, order, None)?;
                let customer = [&rows.customer, &rows.owner]
                    .into_iter()
                    .find(|customer| customer.id == new.customer_id.0)
                    .map(|customer| customer.name.clone())
                    .ok_or_else(|| Halt::invalid("/customer_id", "neither brought this instrument nor owns it"))?;
                let row = CallRow {
                    shop_id: desk.actor.shop.0,
                    id: Uuid::now_v7(),
                    work_order_id: order.0,
                    customer_id: new.customer_id.0,
                    outcome: Word(new.outcome),
                    called_by: person.0,
                    called_at: desk.now,
                };
                ring_list::add_call(tx, &row)?;
                let noted = tidy(new.words.as_deref()).map(|words| CallWordsRow {
                    shop_id: row.shop_id,
                    call_id: row.id,
                    words: Some(words),
                    struck_reason: None,
                    struck_by: None,
                    struck_at: None,
                });
                if let Some(noted) = &noted {
                    ring_list::add_words(tx, noted)?;
                }
                let told = match new.outcome {
                    CallOutcome::NoAnswer => "was rung about: no answer",
                    CallOutcome::LeftMessage => "was rung about: a message was left",
                    CallOutcome::Spoke => "was spoken about on the telephone",
                };
                desk.recorded(tx, &mut rows, "call_noted", told)?;
                Ok(row.told(noted.as_ref(), customer, rows.person(row.called_by)))
            })
            .await
    }

    /// Strikes what was noted of a call, because the person asks for it or it was wrong: the words are
    /// gone, also from the answer kept for a repeat; that there was a call, how it went and why the words
    /// are gone stays.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Invalid`]; `struck`; `nothing-noted`; `not-yours`.
    pub async fn strike_call_words(&self, actor: &Actor, id: Uuid, strike: StrikeWords, once: Once) -> Result<Call, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let mut checks = Checks::default();
                checks.said("/reason", &strike.reason, LINE);
                checks.done()?;
                let (row, _) = ring_list::call(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(row.work_order_id), None)?;
                // Once more, with the order locked.
                let (row, noted) = ring_list::call(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut noted = noted.ok_or_else(|| Halt::refused("nothing-noted", "Nothing was noted of this call."))?;
                if let Some(reason) = &noted.struck_reason {
                    return Err(Halt::refused("struck", format!("It was struck already: {reason}")));
                }
                noted.words = None;
                noted.struck_reason = tidy(Some(&strike.reason));
                noted.struck_by = Some(desk.actor.person()?.0);
                noted.struck_at = Some(desk.now);
                ring_list::save_words(tx, &noted)?;
                keys::forget_field(tx, id, "words")?;
                desk.recorded(tx, &mut rows, "call_words_struck", "what was noted of a telephone call was struck")?;
                let customer = [&rows.customer, &rows.owner].into_iter().find(|one| one.id == row.customer_id);
                let name = customer.map(|one| one.name.clone()).unwrap_or_default();
                Ok(row.told(Some(&noted), name, rows.person(row.called_by)))
            })
            .await
    }
}
