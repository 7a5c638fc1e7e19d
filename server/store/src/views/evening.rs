//! The evening, beside the promises likely to be missed.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use super::PersonRef;
use trade::words::ids::LetterId;
use trade::words::paperwork::LetterState;
use utoipa::ToSchema;

views! {
    /// An e-mail that did not arrive, or of which nobody knows.
    LetterBack {
        /// Which.
        id: LetterId,
        /// About which order.
        claim_number: String,
        /// Its subject.
        subject: String,
        /// To whom.
        to_name: String,
        /// Where.
        to_email: Option<String>,
        /// Where to ring instead; none: no number is known.
        phone: Option<String>,
        /// `bounced`, `given_up` or `unknown`.
        state: LetterState,
        /// Why it stands there.
        state_reason: Option<String>,
        /// When it was written.
        queued_at: DateTime<Utc>,
    }
    /// A step at the torch.
    Flame {
        /// On which order.
        claim_number: String,
        /// What was done.
        step: String,
        /// Who.
        by: PersonRef,
        /// When it was stopped; of one that still burns, when it was begun.
        at: DateTime<Utc>,
        /// Whether the clock was stopped by something else than the person, so that the time is not sure.
        to_check: bool,
    }
    /// That somebody looked at the bench before locking up.
    BenchLook {
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// The shop's day in the evening, beside the board and the forecast.
    Evening {
        /// Which day, as a date of the shop.
        on: NaiveDate,
        /// Orders that came in on it; what was entered by mistake does not count.
        came_in_count: i64,
        /// Orders that were closed on it.
        left_count: i64,
        /// E-mails about orders that went out on it.
        letters_sent_count: i64,
        /// E-mails that came back, were given up, or of which nobody knows whether they arrived, oldest first:
        /// of open orders, and of the last ten days; at most fifty.
        letters_back: Vec<LetterBack>,
        /// Steps at the torch whose clock still runs.
        burning: Vec<Flame>,
        /// The last step at the torch that was stopped on it.
        last_flame: Option<Flame>,
        /// The last look at the bench on it.
        bench_look: Option<BenchLook>,
    }
}
