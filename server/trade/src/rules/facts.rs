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
    /// How many of them are optional.
    pub optional_count: usize,
    /// Total of the lines that are not optional, tax included.
    pub total: Decimal,
    /// Whether a line's operation is irreversible.
    pub has_irreversible: bool,
    /// Whether one of those was not accepted by name yet.
    pub needs_name: bool,
    /// Whether a line's operation was left out by the owner before.
    pub has_left_out: bool,
    /// Whether a line is optional that was not accepted before: only its owner can tick it.
    pub has_new_optional: bool,
    /// Whether something was answered, or a step on it struck, since it was written, so that it no
    /// longer stands.
    pub is_outdated: bool,
    /// What its lines say whose step was struck since.
    pub struck_lines: Vec<String>,
    /// Whether its last day lies before today.
    pub is_past: bool,
}

/// How the shop's reminders of an answer stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reminders {
    /// No quote has gone out that still waits for its owner.
    NothingAsked,
    /// Not all have gone; the next goes on this date of the shop.
    NextOn(NaiveDate),
    /// All have gone.
    AllSent,
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
    /// What the whole order comes to, tax included, when everything accepted or begun is done
    /// and this step with it.
    pub comes_to: Decimal,
    /// On a chosen line of an accepted, undisputed version.
    pub is_accepted: bool,
    /// On a line that the owner left unticked in the latest accepted version.
    pub is_left_out: bool,
    /// Accepted by name in an accepted, undisputed version.
    pub is_accepted_by_name: bool,
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
    /// Whether an accepted, undisputed version exists.
    pub accepted_before: bool,
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
    /// Accessories neither handed back nor recorded as lost.
    pub accessories_out: Vec<String>,
    /// The loaner that has not come back, by its number.
    pub loaner_out: Option<String>,
    /// The step that was begun on the last acceptance that stands, so that it is no mistake any more.
    pub begun_on_acceptance: Option<String>,
    /// Findings at which a test failed, and which nobody has worked on or decided otherwise since.
    pub failures_open: Vec<String>,
    /// The shop's reminders of an answer.
    pub reminders: Reminders,
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
}

#[cfg(test)]
pub(super) mod examples {
    use super::{OperationFacts, OrderFacts, QuoteFacts, Reminders};
    use crate::words::instrument::{OperationKind, OperationState, TestKind};
    use crate::words::stage::Stage;
    use rust_decimal::Decimal;

    /// An order on which nothing was recorded, with its leak test still to pass.
    pub fn order(stage: Option<Stage>) -> OrderFacts {
        OrderFacts {
            stage,
            claimed_by: None,
            undecided_count: 0,
            authorised: Decimal::ZERO,
            accepted_before: false,
            draft: None,
            sent: None,
            has_open_question: false,
            operations: Vec::new(),
            ending: None,
            missing_tests: vec![TestKind::LeakTest],
            came_through_tests: false,
            has_records: false,
            due: Decimal::ZERO,
            accessories_out: Vec::new(),
            loaner_out: None,
            begun_on_acceptance: None,
            failures_open: Vec::new(),
            reminders: Reminders::AllSent,
            holds: Vec::new(),
        }
    }

    /// A planned step that was accepted and costs nothing.
    pub fn step(title: &str, kind: OperationKind) -> OperationFacts {
        OperationFacts {
            title: title.to_owned(),
            kind,
            state: OperationState::Planned,
            irreversible: false,
            was_begun: false,
            comes_to: Decimal::ZERO,
            is_accepted: true,
            is_left_out: false,
            is_accepted_by_name: false,
            waits_for_answer: false,
            still_before: Vec::new(),
        }
    }

    /// The same step, begun and in this state.
    pub fn begun(title: &str, kind: OperationKind, state: OperationState) -> OperationFacts {
        OperationFacts { state, was_begun: true, ..step(title, kind) }
    }

    /// A version of one line that comes to `total`.
    pub fn quote(total: i64) -> QuoteFacts {
        QuoteFacts {
            number: 1,
            line_count: 1,
            optional_count: 0,
            total: Decimal::from(total),
            has_irreversible: false,
            has_left_out: false,
            needs_name: false,
            has_new_optional: false,
            is_outdated: false,
            struck_lines: Vec::new(),
            is_past: false,
        }
    }
}
