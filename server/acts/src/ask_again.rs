//! The quote once more, for an owner who cannot find the letter that asked.

use crate::desk::{Actor, Acts, Desk, Halt};
use crate::letter_facts::write_letters;
use chrono::Duration;
use mail::LetterKind;
use store::letters::LetterLine;
use store::order_rows::OrderRows;
use store::{Once, Tx};
use trade::rules::facts::By;
use trade::words::ids::WorkOrderId;
use trade::words::stage::Stage;

/// A letter that went so short a while ago may still be on its way.
const MINUTES_BETWEEN: i64 = 10;
/// Whoever presses more often than so many times in 24 hours has another trouble than a lost letter.
const MOST_IN_A_DAY: usize = 3;

/// The letter that last asked for an answer to the version that is out; none while none is.
#[must_use]
pub fn asking_letter(rows: &OrderRows) -> Option<&LetterLine> {
    let sent_at = rows.sent()?.sent_at?;
    rows.letters.iter().rev().find(|letter| letter.queued_at >= sent_at && asks(letter))
}

fn asks(letter: &LetterLine) -> bool {
    LetterKind::from_spelling(&letter.kind).is_some_and(LetterKind::asks_for_an_answer)
}

impl Desk {
    /// Writes the letter on a locked order. How often is counted by the letters written, so that it
    /// holds whichever server is asked.
    fn ask_again(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        self.actor.must_be(&[By::Owner])?;
        let today = self.today(rows)?;
        let is_asked = rows.order.stage.0 == Stage::Approval && rows.order.ending_because.is_none();
        if !rows.sent().is_some_and(|sent| is_asked && sent.expires_on >= today) {
            return Err(Halt::refused("no-open-quote", "No quote is waiting for an answer."));
        }
        if rows.owner.email.is_none() {
            return Err(Halt::refused("no-address", "There is no e-mail address. Please ring the shop."));
        }
        let lately = self.now - Duration::minutes(MINUTES_BETWEEN);
        let went_lately = rows.letters.iter().any(|letter| letter.queued_at > lately && asks(letter));
        let today_already = rows.letters_since(LetterKind::AnswerAgain.spelling(), self.now - Duration::days(1)).count();
        if went_lately || today_already >= MOST_IN_A_DAY {
            return Err(Halt::refused("too-soon", "It was sent a short while ago. Please wait some minutes, or ring the shop."));
        }
        write_letters(self, tx, rows, LetterKind::AnswerAgain, None)?;
        self.recorded(tx, rows, "asked_again", "the owner asked for the quote once more")
    }
}

impl Acts {
    /// Sends the owner the quote that is out once more, with a link of its own, to the address
    /// that is known.
    ///
    /// # Errors
    /// `no-open-quote`; `no-address`; `too-soon` within ten minutes of a letter that asks, and
    /// after three in 24 hours.
    pub async fn ask_again(&self, actor: &Actor, order: WorkOrderId, once: Once) -> Result<(), Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                desk.ask_again(tx, &mut rows)
            })
            .await
    }
}
