//! What the rules look at: who asks, and how an order stands.

use crate::words::ids::PersonId;
use crate::words::instrument::{OperationKind, OperationState, TestKind};
use crate::words::stage::{Because, HoldReason, Role, Stage};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;

/// One who may make a move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The front desk.
    FrontDesk,
    /// A technician.
    Technician,
    /// The proprietor, who may do all that staff may.
    Proprietor,
    /// The owner, by a link of their own.
    Owner,
    /// What the clock does.
    Clock,
}

/// Who asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Who {
    /// A signed-in staff member.
    Staff {
        /// Which person.
        person: PersonId,
        /// Their roles.
        roles: Vec<Role>,
    },
    /// The owner of the instrument, through their link.
    Owner,
    /// The clock.
    Clock,
}

impl Who {
    /// Whether this one may act as `by`; the proprietor may do all that staff may.
    #[must_use]
    pub fn is(&self, by: By) -> bool {
        match (self, by) {
            (Self::Owner, By::Owner) | (Self::Clock, By::Clock) => true,
            (Self::Staff { roles, .. }, By::FrontDesk) => {
                roles.contains(&Role::FrontDesk) || roles.contains(&Role::Proprietor)
            }
            (Self::Staff { roles, .. }, By::Technician) => {
                roles.contains(&Role::Technician) || roles.contains(&Role::Proprietor)
            }
            (Self::Staff { roles, .. }, By::Proprietor) => roles.contains(&Role::Proprietor),
            (Self::Owner | Self::Clock, _) | (Self::Staff { .. }, By::Owner | By::Clock) => false,
        }
    }

    /// The staff member, if one asks.
    #[must_use]
    pub fn person(&self) -> Option<PersonId> {
        match self {
            Self::Staff { person, .. } => Some(*person),
            Self::Owner | Self::Clock => None,
        }
    }
}

/// How the quote stands that the rules ask about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuoteFacts {
    /// Version number, from 1.
    pub number: i32,
    /// How many lines it has.
    pub line_count: usize,
    /// Total of the lines that are not optional, tax included.
    pub total: Decimal,
    /// Whether a line's operation is irreversible.
    pub has_irreversible: bool,
    /// Whether a line's operation was left out by the owner before.
    pub has_left_out: bool,
    /// Whether its last day lies before today.
    pub is_past: bool,
}

/// One operation, as far as the rules look at it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OperationFacts {
    /// What it is called.
    pub title: String,
    /// Work, take apart or put together.
    pub kind: OperationKind,
    /// Where it stands.
    pub state: OperationState,
    /// Whether it cannot be undone.
    pub irreversible: bool,
    /// Whether a clock ever ran on it.
    pub was_begun: bool,
    /// Price with tax, in the shop's currency.
    pub price: Decimal,
    /// On a chosen line of an accepted, undisputed version.
    pub is_accepted: bool,
    /// Accepted by name in an accepted, undisputed version.
    pub is_accepted_by_name: bool,
    /// On an optional line of the latest accepted, undisputed version that the owner left unticked.
    pub is_left_out: bool,
    /// Depends on an answer that is still out.
    pub waits_for_answer: bool,
    /// Titles of the operations before it that are not done.
    pub still_before: Vec<String>,
}

/// One unlifted hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoldFacts {
    /// Why.
    pub reason: HoldReason,
    /// When to look again, as a date of the shop.
    pub look_again_on: Option<NaiveDate>,
    /// When it was set.
    pub set_at: DateTime<Utc>,
}

/// How an order stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderFacts {
    /// Its stage; none before it is checked in.
    pub stage: Option<Stage>,
    /// Who claimed it.
    pub claimed_by: Option<PersonId>,
    /// Standing findings without a disposition.
    pub undecided_count: usize,
    /// The larger of the counter amount and the limit of the latest accepted, undisputed version.
    pub authorised: Decimal,
    /// What the accepted lines come to together, tax and discount included, without those whose
    /// operation was struck.
    pub accepted_total: Decimal,
    /// Whether an accepted, undisputed version exists.
    pub accepted_before: bool,
    /// Whether any version was ever accepted, disputed or not.
    pub ever_accepted: bool,
    /// The draft that would be sent next.
    pub draft: Option<QuoteFacts>,
    /// The version that went out last and still stands.
    pub sent: Option<QuoteFacts>,
    /// Whether the owner's question waits for the shop.
    pub has_open_question: bool,
    /// Every operation.
    pub operations: Vec<OperationFacts>,
    /// The wish to end, if recorded.
    pub ending: Option<Because>,
    /// Required tests without a pass since the last arrival in the leak test.
    pub missing_tests: Vec<TestKind>,
    /// Whether the last way into pickup was `tests_passed` or `overridden`.
    pub came_through_tests: bool,
    /// Whether anything was recorded on it beside the check-in.
    pub has_records: bool,
    /// What is still to be paid.
    pub due: Decimal,
    /// Accessories not yet handed back.
    pub accessories_out: Vec<String>,
    /// Unlifted holds.
    pub holds: Vec<HoldFacts>,
}

impl OrderFacts {
    /// Whether any operation was ever begun.
    #[must_use]
    pub fn is_begun(&self) -> bool {
        self.operations.iter().any(|operation| operation.was_begun)
    }

    /// Whether repair (not only taking apart or putting together) was begun.
    #[must_use]
    pub fn repair_is_begun(&self) -> bool {
        self.operations.iter().any(|operation| operation.was_begun && operation.kind == OperationKind::Work)
    }

    /// Whether something was taken apart and not put together since.
    #[must_use]
    pub fn is_apart(&self) -> bool {
        let begun = |kind: OperationKind| self.operations.iter().filter(move |o| o.kind == kind && o.was_begun);
        let together = begun(OperationKind::PutTogether).filter(|o| o.state == OperationState::Done).count();
        begun(OperationKind::TakeApart).count() > together
    }

    /// Whether a clock runs on it.
    #[must_use]
    pub fn is_running(&self) -> bool {
        self.operations.iter().any(|operation| operation.state == OperationState::Running)
    }

    /// What may not pass the cap: the accepted lines, whether or not they name an operation, and
    /// the operations begun within the limit that no accepted line names. The lines are added up
    /// as the owner saw them, because tax and discount are rounded once for the whole.
    #[must_use]
    pub fn committed(&self) -> Decimal {
        let beside: Decimal = self
            .operations
            .iter()
            .filter(|o| o.state != OperationState::Struck && o.was_begun && !o.is_accepted)
            .map(|o| o.price)
            .sum();
        self.accepted_total + beside
    }
}
