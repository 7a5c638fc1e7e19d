//! Staff, and customers and owners.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use trade::bench::promise_date::Absence;
use trade::rules::promises::Skills;
use trade::words::ids::{CustomerId, PersonId};
use trade::words::paperwork::{CustomerKind, MailWanted};
use trade::words::stage::Role;
use utoipa::ToSchema;

views! {
    /// A staff member in short.
    PersonRef {
        /// Who.
        id: PersonId,
        /// Full name.
        name: String,
        /// As shown on a tag.
        initials: String,
    }
    /// A staff member.
    Person {
        /// Who.
        id: PersonId,
        /// Full name.
        name: String,
        /// As shown on a tag.
        initials: String,
        /// Where this person signs in.
        email: String,
        /// What this person may do.
        roles: Vec<Role>,
        /// Whether this person may sign in.
        is_active: bool,
        /// What this person can do at the bench.
        skills: Skills,
        /// Hours a week at the bench; none: a typical part of the opening hours.
        weekly_bench_hours: Option<i32>,
        /// When this person is away, as dates of the shop, both included.
        absent: Vec<Absence>,
        /// Until when the invitation can be used, for somebody who has not chosen a password yet.
        invited_until: Option<DateTime<Utc>>,
        /// For `If-Match`.
        version: i32,
    }
    /// A customer.
    Customer {
        /// Who.
        id: CustomerId,
        /// For `If-Match`.
        version: i32,
        /// Person, school or dealer.
        kind: CustomerKind,
        /// Name as typed.
        name: String,
        /// Where letters go; none: receipts are on paper.
        email: Option<String>,
        /// As typed.
        phone: Option<String>,
        /// Of their letters and pages.
        language: String,
        /// Which letters they want.
        mail_wanted: MailWanted,
        /// The shop's own note.
        note: Option<String>,
        /// How many work orders so far.
        visits_count: i64,
        /// Which field of a search matched.
        matched: Option<String>,
    }
    /// A customer as an order shows it.
    CustomerRef {
        /// Who.
        id: CustomerId,
        /// Person, school or dealer.
        kind: CustomerKind,
        /// Name as typed.
        name: String,
        /// Where letters go.
        email: Option<String>,
        /// As typed.
        phone: Option<String>,
        /// Of their letters and pages.
        language: String,
        /// Which letters they want.
        mail_wanted: MailWanted,
    }
    /// Somebody's id and name.
    NameRef {
        /// Who.
        id: CustomerId,
        /// Name as typed.
        name: String,
    }
}
