//! What each kind of letter says: one file for each occasion on which somebody is written to.
//!
//! Rules of the house: short, active, no exclamation marks, nothing guessed about the
//! reader, every promise as it was made, and what did not go well is told first.

mod answered;
mod arrival;
mod asking;
mod bench;
mod gone;
mod moved;
mod parts;
mod ready;
mod unrepaired;

use super::blocks::{Block, Piece, Words, said, typed};
use crate::facts::{LetterFacts, Reader};
use crate::kinds::LetterKind;
use chrono::NaiveDate;
use trade::words::said::{capital, long_date, one_line, short_date};

/// Subject (without the claim number) and blocks of a letter.
pub(super) struct Saying {
    pub(super) subject: String,
    pub(super) blocks: Vec<Block>,
}

/// What a letter of this kind says.
pub(super) fn saying(kind: LetterKind, facts: &LetterFacts) -> Saying {
    let about = About { facts };
    let (subject, blocks) = match kind {
        LetterKind::CheckedIn => about.checked_in(),
        LetterKind::ExaminationBegins => about.examination_begins(),
        LetterKind::QuoteSent => about.quote_sent(),
        LetterKind::CoveredBeforehand => about.covered_beforehand(),
        LetterKind::NothingToDo => about.nothing_to_do(),
        LetterKind::Accepted => about.accepted(),
        LetterKind::ExtraDeclined => about.extra_declined(),
        LetterKind::ExtraRecalled => about.extra_recalled(),
        LetterKind::QuoteRecalled => about.quote_recalled(),
        LetterKind::Questions => about.questions(),
        LetterKind::Expired => about.expired(),
        LetterKind::Declined => about.declined(),
        LetterKind::ExtraWork => about.extra_work(),
        LetterKind::AcceptanceDisputed => about.acceptance_disputed(),
        LetterKind::BenchDone => about.bench_done(),
        LetterKind::TestFailed => about.test_failed(),
        LetterKind::TestsPassed => about.tests_passed(),
        LetterKind::Overridden => about.overridden(),
        LetterKind::Withdrawn => about.withdrawn(),
        LetterKind::Unanswered => about.unanswered(),
        LetterKind::NotRepairable => about.not_repairable(),
        LetterKind::SentBack => about.sent_back(),
        LetterKind::Reopened => about.reopened(),
        LetterKind::Collected => about.collected(),
        LetterKind::Shipped => about.shipped(),
        LetterKind::OtherwiseSettled => about.otherwise_settled(),
        LetterKind::EnteredByMistake => about.entered_by_mistake(),
        LetterKind::DoneAtCounter => about.done_at_counter(),
        LetterKind::NewerQuote => about.newer_quote(),
        LetterKind::AnswerReminder => about.answer_reminder(),
        LetterKind::AnswerAgain => about.answer_again(),
        LetterKind::PickupReminder => about.pickup_reminder(),
        LetterKind::DateMoved => about.date_moved(),
    };
    Saying { subject, blocks: blocks.into_iter().flatten().collect() }
}

/// A subject and blocks, some of them left out.
type Said = (String, Vec<Option<Block>>);

fn para(words: Words) -> Option<Block> {
    Some(Block::Para(words))
}

fn plain(words: impl Into<String>) -> Option<Block> {
    para(vec![said(words)])
}

/// Own words of shop or customer; nothing when there are none.
fn own(words: Option<&String>) -> Option<Block> {
    words.filter(|words| !words.trim().is_empty()).map(|words| Block::Own(words.clone()))
}

/// Kept on one line: a number to ring, a day and its month.
fn unbroken(words: &str) -> String {
    words.replace(' ', "\u{a0}")
}

/// A sentence somebody typed, with its full stop.
fn sentence(words: &str) -> String {
    let words = capital(&one_line(words));
    if words.ends_with(['.', '!', '?', '…']) { words } else { format!("{words}.") }
}

struct About<'a> {
    facts: &'a LetterFacts,
}

impl About<'_> {
    /// `baritone`, or `horn (your number 7)` for an owner who counts them.
    fn family(&self) -> String {
        let family = one_line(&self.facts.instrument.family);
        match self.facts.instrument.owners_number.as_deref().map(one_line) {
            Some(number) if !number.is_empty() => format!("{family} (your number {number})"),
            _ => family,
        }
    }

    /// `your baritone`; `the baritone` to a contact who is not its owner.
    fn it(&self) -> String {
        match self.facts.reader {
            Reader::Contact => format!("the {}", self.family()),
            Reader::Owner | Reader::ContactAndOwner => format!("your {}", self.family()),
        }
    }

    /// The same at the head of a sentence or subject.
    fn head(&self) -> String {
        capital(&self.it())
    }

    fn reader_decides(&self) -> bool {
        self.facts.reader != Reader::Contact
    }

    /// `you`, or the owner's name, or `the owner`.
    fn decider(&self) -> Piece {
        match (&self.facts.owner_name, self.reader_decides()) {
            (_, true) => said("you"),
            (Some(name), false) => typed(name),
            (None, false) => said("the owner"),
        }
    }

    fn day(&self, date: NaiveDate) -> String {
        long_date(date, self.facts.today)
    }

    fn short_day(&self, date: NaiveDate) -> String {
        unbroken(&short_date(date, self.facts.today))
    }

    fn ring(&self) -> Option<String> {
        let phone = self.facts.shop.phone.as_deref().map(one_line).filter(|phone| !phone.is_empty());
        phone.map(|phone| unbroken(&phone))
    }

    fn accepted_before(&self) -> bool {
        self.facts.quote.as_ref().is_some_and(|quote| quote.accepted_before.is_some())
    }
}
