//! What happens in a made-up shop, before any of it is done: visits with their moments.

use super::cast::{Customer, Instrument};
use chrono::{DateTime, NaiveDate, Utc};
use trade::words::instrument::{
    Disposition, FindingKind, FoundWhen, Leaks, MarkKind, OperationKind, TestKind, TestMethod,
    Verdict,
};
use trade::words::paperwork::{Answer, AnswerHow, LineKind, PaymentHow};
use trade::words::stage::{Because, HoldReason};

/// Everybody who comes and everything that happens, in the order of the check-ins.
#[derive(Debug)]
pub struct Story {
    pub customers: Vec<Customer>,
    pub instruments: Vec<Instrument>,
    pub visits: Vec<Visit>,
}

/// One visit of one instrument.
#[derive(Debug, Clone)]
pub struct Visit {
    /// Who brings it; the owner is the instrument's.
    pub customer: usize,
    pub instrument: usize,
    pub came_at: DateTime<Utc>,
    /// Who checks it in, by place in the staff.
    pub by: usize,
    pub complaint: String,
    pub condition_note: Option<String>,
    pub marks: Vec<(String, MarkKind)>,
    pub accessories: Vec<String>,
    pub may_cost: Option<i64>,
    pub examination_fee: Option<i64>,
    pub promised_on: NaiveDate,
    pub keep_as_is: Option<String>,
    pub place: String,
    pub moments: Vec<Moment>,
}

impl Visit {
    /// When the last thing happened.
    pub fn ended_at(&self) -> DateTime<Utc> {
        self.moments.last().map_or(self.came_at, |moment| match &moment.step {
            Step::Work { until, .. } => *until,
            _ => moment.at,
        })
    }
}

/// Something that happens at an instant.
#[derive(Debug, Clone)]
pub struct Moment {
    pub at: DateTime<Utc>,
    pub by: By,
    pub step: Step,
    /// Whether its letter is really sent.
    pub is_aloud: bool,
}

/// Who does it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// By place in the staff.
    Staff(usize),
    /// The owner, by a link.
    Owner,
    /// The clock.
    Clock,
}

/// Money at the handover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pays {
    /// The rest, in this way.
    Now(PaymentHow),
    /// To the account.
    OnAccount,
    /// The proprietor waives it.
    Waived,
}

/// Who is waited for, and the number of the order there.
#[derive(Debug, Clone, Copy)]
pub struct Supplier {
    pub name: &'static str,
    pub order_number: Option<&'static str>,
}

/// What happens. Findings, operations and optional lines are named by their place on the order.
#[derive(Debug, Clone)]
pub enum Step {
    Claim,
    Examine,
    Find(Found),
    /// A slide is measured.
    Fit {
        finding: usize,
        part: String,
        /// Between the tubes, hundredths of a millimetre.
        clearance_hundredths: i32,
    },
    /// A photo is taken of it.
    Photo {
        finding: usize,
        of: FindingKind,
        shared: bool,
    },
    Dispose {
        finding: usize,
        disposition: Disposition,
        reason: Option<String>,
    },
    Plan(Planned),
    Draft {
        operations: Vec<(usize, bool)>,
        extras: Vec<(LineKind, String, i64)>,
        message: Option<String>,
    },
    Send,
    Seen,
    Decide {
        answer: Answer,
        how: AnswerHow,
        question: Option<String>,
        ticks: bool,
    },
    Dispute(String),
    Expire,
    /// The round comes by, and writes if a reminder is due.
    Remind,
    Move {
        to: trade::words::stage::Stage,
        because: Because,
        reason: Option<String>,
    },
    /// Starts the clock at the moment and stops it `until`.
    Work {
        operation: usize,
        until: DateTime<Utc>,
        is_done: bool,
    },
    /// Starts the clock and leaves it running.
    Start {
        operation: usize,
    },
    Test {
        kind: TestKind,
        method: TestMethod,
        verdict: Verdict,
        pinned: Option<usize>,
        where_words: Option<String>,
        apart_from: Vec<usize>,
        note: Option<String>,
    },
    End {
        because: Because,
        reason: Option<String>,
    },
    ConfirmEnd,
    Hold {
        reason: HoldReason,
        look_again_on: NaiveDate,
        supplier: Option<Supplier>,
        note: Option<String>,
    },
    Lift,
    Note(String),
    Deposit {
        amount: i64,
        how: PaymentHow,
    },
    HandOver {
        is_shipped: bool,
        collected_by: String,
        pays: Pays,
    },
    AtCounter {
        doings: Vec<Planned>,
        collected_by: String,
        how: PaymentHow,
    },
}

/// A finding to be recorded.
#[derive(Debug, Clone)]
pub struct Found {
    pub kind: FindingKind,
    pub part: String,
    pub size_mm: Option<i64>,
    pub leaks: Leaks,
    pub likely_to_spread: bool,
    pub found_when: Option<FoundWhen>,
    pub disposition: Disposition,
    pub reason: Option<String>,
}

/// An operation to be planned.
#[derive(Debug, Clone)]
pub struct Planned {
    pub title: String,
    pub is_method: bool,
    pub kind: OperationKind,
    pub findings: Vec<usize>,
    pub after: Vec<usize>,
    pub minutes: [i32; 3],
    pub price: i64,
}
