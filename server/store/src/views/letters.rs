//! Letters and links.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use trade::words::ids::{LetterId, LinkId};
use trade::words::paperwork::{LetterState, LinkPurpose};
use utoipa::ToSchema;

views! {
    /// An outgoing mail.
    Letter {
        /// Which.
        id: LetterId,
        /// What it tells.
        kind: String,
        /// Its subject.
        subject: String,
        /// To whom.
        to_name: String,
        /// Where.
        to_email: Option<String>,
        /// Where it stands.
        state: LetterState,
        /// Why it stands there.
        state_reason: Option<String>,
        /// When it was written.
        queued_at: DateTime<Utc>,
        /// When the mail server took it.
        sent_at: Option<DateTime<Utc>>,
        /// How often it was tried.
        attempts: i32,
        /// When it is tried next.
        next_try_at: Option<DateTime<Utc>>,
        /// What the mail server said last.
        last_trouble: Option<String>,
    }
    /// A letter with its words.
    LetterText {
        /// The letter.
        letter: Letter,
        /// As plain text.
        text: String,
        /// As HTML.
        html: String,
    }
    /// A customer's link. Its secret is shown once, when it is issued.
    Link {
        /// Which.
        id: LinkId,
        /// What it opens.
        purpose: LinkPurpose,
        /// When it was issued.
        issued_at: DateTime<Utc>,
        /// When it stops opening.
        expires_at: Option<DateTime<Utc>>,
        /// When it was withdrawn.
        withdrawn_at: Option<DateTime<Utc>>,
        /// The address, only in the answer that issues it.
        url: Option<String>,
        /// The version of the work order that it opens, for `If-Match`.
        order_version: i32,
    }
}
