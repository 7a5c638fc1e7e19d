//! Sending a letter again.

use crate::desk::{Actor, Acts, Halt};
use crate::links::Opens;
use mail::secrets;
use store::views::{Letter, LetterText};
use store::letters::{self, LetterRow};
use store::{Once, Word};
use trade::rules::facts::By;
use trade::words::ids::{LetterId, QuoteId, WorkOrderId};
use trade::words::paperwork::LetterState;
use uuid::Uuid;

/// About which order a letter is, and to which customer; none for one to somebody of the staff.
fn about(letter: &LetterRow) -> Option<(WorkOrderId, Uuid)> {
    Some((WorkOrderId(letter.work_order_id?), letter.to_customer_id?))
}

impl Acts {
    /// Puts a letter into the outbox again, under its own Message-ID, with links of its own. One that is waiting
    /// already is tried at once.
    ///
    /// # Errors
    /// [`Halt::Absent`]; `no-address` when the customer has none.
    pub async fn send_again(&self, actor: &Actor, id: LetterId, once: Once) -> Result<Letter, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let found = letters::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                // A letter about a password is never shown, and never sent again: its link is somebody's own.
                let (order, reader) = about(&found).ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, order, None)?;
                // First the outbox, then the letter, as the sender locks them.
                letters::put_in(tx, id)?;
                let mut letter = letters::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let customer = if reader == rows.owner.id { &rows.owner } else { &rows.customer };
                let Some(email) = customer.email.clone() else {
                    return Err(Halt::refused("no-address", "There is no e-mail address. Add one to the customer first, or ring."));
                };
                if letter.state.0 == LetterState::Sending {
                    return Err(Halt::refused("sending-now", "It is being sent this moment."));
                }
                // What has gone holds no secret any more; sending it again issues new links.
                let has = |page: &str| [&letter.text, &letter.html].into_iter().any(|words| secrets::is_withheld(words, page));
                let (has_status, has_answer) = (has("status"), has("answer"));
                let status = match has_status {
                    true => Some(desk.issue_link(tx, order, Opens::Status, reader)?.1),
                    false => None,
                };
                let asked = rows.quotes.iter().rfind(|quote| quote.sent_at.is_some_and(|at| at <= letter.queued_at)).map(|quote| QuoteId(quote.id));
                let answer = match asked.filter(|_| has_answer) {
                    Some(quote) => Some(desk.issue_link(tx, order, Opens::Answer(quote), reader)?.1),
                    None => None,
                };
                letter.text = secrets::put_in(&letter.text, status.as_deref(), answer.as_deref());
                letter.html = secrets::put_in(&letter.html, status.as_deref(), answer.as_deref());
                letter.to_email = Some(email);
                letter.state = Word(LetterState::Waiting);
                letter.state_reason = None;
                letter.attempts = 0;
                letter.next_try_at = None;
                letters::save(tx, &letter)?;
                desk.recorded(tx, &mut rows, "letter_sent_again", "an e-mail is sent again")?;
                Ok(letter.line().view())
            })
            .await
    }

    /// One letter with its words.
    ///
    /// # Errors
    /// [`Halt::Absent`].
    pub async fn letter(&self, actor: &Actor, id: LetterId) -> Result<LetterText, Halt> {
        self.store
            .read(actor.shop, move |conn| {
                let letter = letters::find(conn, id)?.filter(|letter| about(letter).is_some()).ok_or(Halt::Absent)?;
                Ok(LetterText { letter: letter.line().view(), text: letter.text, html: letter.html })
            })
            .await
    }
}
