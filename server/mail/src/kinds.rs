//! Every kind of letter, who gets it, and who would rather not.

use serde::{Deserialize, Serialize};

/// Why a letter is written. One value for every row of the table of moves in DOMAIN.md,
/// and a few for acts that move nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LetterKind {
    /// The receipt.
    CheckedIn,
    /// A technician has begun to look at it.
    ExaminationBegins,
    /// The first quote: please answer.
    QuoteSent,
    /// Work goes ahead within what was authorised at the counter.
    CoveredBeforehand,
    /// Nothing to repair, or not worth it: ready to collect.
    NothingToDo,
    /// The owner said yes.
    Accepted,
    /// The owner said no to the extra; the work accepted before goes on.
    ExtraDeclined,
    /// The shop took its extra-work request back; the work accepted before goes on.
    ExtraRecalled,
    /// The shop took its quote back, with nothing accepted before.
    QuoteRecalled,
    /// The owner's question has arrived.
    Questions,
    /// The time of a quote ran out.
    Expired,
    /// The owner said no: ready to collect.
    Declined,
    /// Extra work was found: please answer.
    ExtraWork,
    /// An acceptance was called a mistake; it is taken back and asked again.
    AcceptanceDisputed,
    /// The bench work is done; the tests come next.
    BenchDone,
    /// A test found something; it goes back to the bench.
    TestFailed,
    /// Every test passed: ready to collect.
    TestsPassed,
    /// Let go on the proprietor's word without all tests passed: ready to collect.
    Overridden,
    /// Withdrawn by the customer: ready to collect.
    Withdrawn,
    /// The owner never answered: ready to collect.
    Unanswered,
    /// Cannot be repaired after all: ready to collect.
    NotRepairable,
    /// Sent back to the bench at the counter.
    SentBack,
    /// "Do it after all": examined again.
    Reopened,
    /// Collected.
    Collected,
    /// On its way to the customer.
    Shipped,
    /// Kept, bought by the shop, scrapped or lost.
    OtherwiseSettled,
    /// The receipt was a mistake of the shop.
    EnteredByMistake,
    /// Done at the counter in one visit.
    DoneAtCounter,
    /// A further version replaces the quote before it: please answer this one.
    NewerQuote,
    /// The quote still waits for an answer.
    AnswerReminder,
    /// The owner asked on the status page for the quote once more.
    AnswerAgain,
    /// It still stands ready to be collected.
    PickupReminder,
    /// The promised date is another one now.
    DateMoved,
}

/// Which of an order's two people a kind of letter is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Addressees {
    /// Whoever brought it in.
    Contact,
    /// Whoever pays and decides.
    Owner,
    /// Each of the two; one letter if they are the same person.
    Both,
}

/// What mail a customer wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wish {
    /// At every change.
    EveryChange,
    /// Only when something is asked of them, or something they decided or expect has changed.
    OnlyWhenAsked,
}

/// Whether one letter is to be sent to one person.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Into the outbox with it.
    Send,
    /// To be recorded as `not_wanted`, with the reason in words for staff.
    NotWanted(&'static str),
}

impl LetterKind {
    /// Every kind, in the order of the design.
    pub const ALL: [Self; 33] = [
        Self::CheckedIn,
        Self::ExaminationBegins,
        Self::QuoteSent,
        Self::CoveredBeforehand,
        Self::NothingToDo,
        Self::Accepted,
        Self::ExtraDeclined,
        Self::ExtraRecalled,
        Self::QuoteRecalled,
        Self::Questions,
        Self::Expired,
        Self::Declined,
        Self::ExtraWork,
        Self::AcceptanceDisputed,
        Self::BenchDone,
        Self::TestFailed,
        Self::TestsPassed,
        Self::Overridden,
        Self::Withdrawn,
        Self::Unanswered,
        Self::NotRepairable,
        Self::SentBack,
        Self::Reopened,
        Self::Collected,
        Self::Shipped,
        Self::OtherwiseSettled,
        Self::EnteredByMistake,
        Self::DoneAtCounter,
        Self::NewerQuote,
        Self::AnswerReminder,
        Self::AnswerAgain,
        Self::PickupReminder,
        Self::DateMoved,
    ];

    /// How the kind is written in SQL, JSON and logs.
    #[must_use]
    pub fn spelling(self) -> &'static str {
        match self {
            Self::CheckedIn => "checked_in",
            Self::ExaminationBegins => "examination_begins",
            Self::QuoteSent => "quote_sent",
            Self::CoveredBeforehand => "covered_beforehand",
            Self::NothingToDo => "nothing_to_do",
            Self::Accepted => "accepted",
            Self::ExtraDeclined => "extra_declined",
            Self::ExtraRecalled => "extra_recalled",
            Self::QuoteRecalled => "quote_recalled",
            Self::Questions => "questions",
            Self::Expired => "expired",
            Self::Declined => "declined",
            Self::ExtraWork => "extra_work",
            Self::AcceptanceDisputed => "acceptance_disputed",
            Self::BenchDone => "bench_done",
            Self::TestFailed => "test_failed",
            Self::TestsPassed => "tests_passed",
            Self::Overridden => "overridden",
            Self::Withdrawn => "withdrawn",
            Self::Unanswered => "unanswered",
            Self::NotRepairable => "not_repairable",
            Self::SentBack => "sent_back",
            Self::Reopened => "reopened",
            Self::Collected => "collected",
            Self::Shipped => "shipped",
            Self::OtherwiseSettled => "otherwise_settled",
            Self::EnteredByMistake => "entered_by_mistake",
            Self::DoneAtCounter => "done_at_counter",
            Self::NewerQuote => "newer_quote",
            Self::AnswerReminder => "answer_reminder",
            Self::AnswerAgain => "answer_again",
            Self::PickupReminder => "pickup_reminder",
            Self::DateMoved => "date_moved",
        }
    }

    /// The kind so spelt; `None` when there is none.
    #[must_use]
    pub fn from_spelling(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.spelling() == text)
    }

    /// The letter of a move.
    ///
    /// * `because`: the move's third part, as DOMAIN.md spells it.
    /// * `accepted_before`: whether an accepted, undisputed quote version exists; it tells
    ///   the two moves apart that are both called `recalled`.
    ///
    /// `None` for a word that is no row of the table.
    #[must_use]
    pub fn for_move(because: &str, accepted_before: bool) -> Option<Self> {
        match because {
            "recalled" if accepted_before => Some(Self::ExtraRecalled),
            "recalled" => Some(Self::QuoteRecalled),
            // These are written for acts that move nothing, or are the two names above.
            "extra_recalled" | "quote_recalled" | "done_at_counter" | "newer_quote"
            | "answer_reminder" | "answer_again" | "pickup_reminder" | "date_moved" => None,
            other => Self::from_spelling(other),
        }
    }

    /// Whether the letter asks for an answer to a quote, and so needs `links.answer`.
    #[must_use]
    pub fn asks_for_an_answer(self) -> bool {
        matches!(
            self,
            Self::QuoteSent
                | Self::ExtraWork
                | Self::NewerQuote
                | Self::AnswerReminder
                | Self::AnswerAgain
                | Self::AcceptanceDisputed
        )
    }

    /// Whether the letter tells of an answer that was recorded, and so leads to the page that
    /// shows it and takes it back: `links.answer` of the version it was about.
    #[must_use]
    pub fn tells_of_an_answer(self) -> bool {
        matches!(self, Self::Accepted | Self::CoveredBeforehand | Self::ExtraDeclined)
    }

    /// Whether the letter only tells of a change: nothing is asked, nothing the reader
    /// decided or expects has changed. These are what [`Wish::OnlyWhenAsked`] does without,
    /// and what carries `List-Unsubscribe`.
    #[must_use]
    pub fn only_tells(self) -> bool {
        match self {
            Self::ExaminationBegins
            | Self::Questions
            | Self::BenchDone
            | Self::TestFailed
            | Self::SentBack
            | Self::Reopened
            | Self::Collected
            | Self::DoneAtCounter
            | Self::DateMoved => true,
            // A receipt, a question of ours, the outcome of something they decided, an
            // instrument to be fetched, or a change to what they were told in writing.
            Self::CheckedIn
            | Self::QuoteSent
            | Self::CoveredBeforehand
            | Self::NothingToDo
            | Self::Accepted
            | Self::ExtraDeclined
            | Self::ExtraRecalled
            | Self::QuoteRecalled
            | Self::Expired
            | Self::Declined
            | Self::ExtraWork
            | Self::AcceptanceDisputed
            | Self::TestsPassed
            | Self::Overridden
            | Self::Withdrawn
            | Self::Unanswered
            | Self::NotRepairable
            | Self::Shipped
            | Self::OtherwiseSettled
            | Self::EnteredByMistake
            | Self::NewerQuote
            | Self::AnswerReminder
            | Self::AnswerAgain
            | Self::PickupReminder => false,
        }
    }
}

/// Whom a kind of letter is for: the contact gets the status letters, the owner quotes and
/// their outcome; the end of the work concerns both.
#[must_use]
pub fn addressees(kind: LetterKind) -> Addressees {
    use LetterKind as K;
    match kind {
        K::CheckedIn
        | K::ExaminationBegins
        | K::BenchDone
        | K::TestFailed
        | K::TestsPassed
        | K::SentBack
        | K::Reopened
        | K::Collected
        | K::Shipped
        | K::EnteredByMistake
        | K::DoneAtCounter
        | K::PickupReminder
        | K::DateMoved => Addressees::Contact,
        K::QuoteSent
        | K::CoveredBeforehand
        | K::Accepted
        | K::ExtraDeclined
        | K::ExtraRecalled
        | K::QuoteRecalled
        | K::Questions
        | K::Expired
        | K::ExtraWork
        | K::AcceptanceDisputed
        | K::NewerQuote
        | K::AnswerReminder
        | K::AnswerAgain => Addressees::Owner,
        K::NothingToDo
        | K::Declined
        | K::Overridden
        | K::Withdrawn
        | K::Unanswered
        | K::NotRepairable
        | K::OtherwiseSettled => Addressees::Both,
    }
}

/// The people of an order that a kind of letter goes to, each once.
///
/// * `contact`, `owner`: anything that tells two people apart (an id). The same value
///   twice is one person, who gets one letter, as the owner of it.
///
/// Gives one or two of `(person, role the letter speaks to)`.
#[must_use]
pub fn readers<P: PartialEq>(
    kind: LetterKind,
    contact: P,
    owner: P,
) -> Vec<(P, crate::facts::Reader)> {
    use crate::facts::Reader;
    if contact == owner {
        return vec![(owner, Reader::ContactAndOwner)];
    }
    match addressees(kind) {
        Addressees::Contact => vec![(contact, Reader::Contact)],
        Addressees::Owner => vec![(owner, Reader::Owner)],
        Addressees::Both => vec![(contact, Reader::Contact), (owner, Reader::Owner)],
    }
}

/// Whether a letter of this kind is sent to somebody with this wish.
///
/// * `has_address`: whether an e-mail address is known. Without one the letter becomes a
///   line on the ring list, whatever the wish.
#[must_use]
pub fn verdict(kind: LetterKind, wish: Wish, has_address: bool) -> Verdict {
    if !has_address {
        return Verdict::NotWanted("no e-mail address; on the ring list instead");
    }
    match wish {
        Wish::OnlyWhenAsked if kind.only_tells() => Verdict::NotWanted(
            "wants e-mail only when asked something; this one only tells of a change",
        ),
        Wish::EveryChange | Wish::OnlyWhenAsked => Verdict::Send,
    }
}
