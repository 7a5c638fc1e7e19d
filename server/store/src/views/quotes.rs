//! Quotes, answers to them, and money.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use super::PersonRef;
use trade::words::ids::{DecisionId, OperationId, QuoteId};
use trade::words::money::Money;
use trade::words::paperwork::{Answer, AnswerHow, PaymentHow, PaymentKind, QuoteState};
use trade::words::quote::{ContentDiscount, ContentLine, FurtherRange};
use trade::words::quote_totals::Totals;
use utoipa::ToSchema;
use uuid::Uuid;

views! {
    /// What the owner said.
    Decision {
        /// Which.
        id: DecisionId,
        /// The version of the work order after it.
        order_version: i32,
        /// To which quote version.
        quote_number: i32,
        /// Yes, no, or a question.
        answer: Answer,
        /// How it reached the shop.
        how: AnswerHow,
        /// The name typed or told.
        typed_name: String,
        /// Who recorded it, if the owner did not.
        recorded_by: Option<PersonRef>,
        /// When.
        decided_at: DateTime<Utc>,
        /// Optional lines that were ticked.
        chosen_lines: Vec<Uuid>,
        /// Operations accepted by name because they cannot be undone.
        accepted_by_name: Vec<OperationId>,
        /// The question.
        question: Option<String>,
        /// When the owner called it a mistake.
        disputed_at: Option<DateTime<Utc>>,
    }
    /// A numbered quote version.
    Quote {
        /// Which.
        id: QuoteId,
        /// For `If-Match`.
        version: i32,
        /// The version of the work order that holds it.
        order_version: i32,
        /// Version number, from 1.
        number: i32,
        /// Where it stands.
        state: QuoteState,
        /// Whether it asks for extra work.
        is_extra: bool,
        /// What was found and what the shop would do.
        message: Option<String>,
        /// The lines.
        lines: Vec<ContentLine>,
        /// On the whole.
        discount: Option<ContentDiscount>,
        /// Of the lines that are not optional; none while there are none.
        totals: Option<Totals>,
        /// Of all lines, optional ones too.
        total_with_optional: Money,
        /// The most the owner is asked to authorise.
        limit: Money,
        /// A limit that would cover what may still turn up in 85 of 100 such instruments; for a draft.
        /// It is never filled in by the program.
        suggested_limit: Option<Money>,
        /// What may still turn up and cost, as it is told with this version.
        range: Option<FurtherRange>,
        /// The last day it can be accepted; of a draft whose last day nobody chose, as if it had gone
        /// out on the day it was begun.
        expires_on: NaiveDate,
        /// What a decision names; none for a draft.
        content_hash: Option<String>,
        /// When it went out.
        sent_at: Option<DateTime<Utc>>,
        /// Who sent it.
        sent_by: Option<PersonRef>,
        /// When the owner's page was first opened.
        seen_at: Option<DateTime<Utc>>,
        /// Why it was taken back.
        struck_reason: Option<String>,
        /// What the owner said.
        decision: Option<Decision>,
    }
    /// A payment.
    Payment {
        /// Which.
        id: Uuid,
        /// The version of the work order after it.
        order_version: i32,
        /// How much; below zero: given back.
        amount: Money,
        /// For what.
        kind: PaymentKind,
        /// How.
        how: PaymentHow,
        /// In words.
        note: Option<String>,
        /// When.
        at: DateTime<Utc>,
        /// Who took it.
        by: PersonRef,
        /// Why it was struck; one that was struck does not count.
        struck_reason: Option<String>,
        /// Who struck it.
        struck_by: Option<PersonRef>,
        /// When it was struck.
        struck_at: Option<DateTime<Utc>>,
    }
    /// What an order costs.
    OrderMoney {
        /// What is charged as things stand, tax included.
        total: Money,
        /// How much of that is the examination fee told at check-in; none where none is charged.
        examination_fee: Option<Money>,
        /// What was paid or charged to account.
        paid: Money,
        /// What the proprietor let go of.
        waived: Money,
        /// What is still to be paid.
        due: Money,
    }
}
