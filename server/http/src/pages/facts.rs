//! What the customers' pages may know, as plain fields.
//!
//! The handlers fill these; the views only put them into words. What is not shared with
//! the customer is left out by whoever fills them: there is no field for anything that is
//! for staff only. Dates are calendar dates of the shop, instants are UTC and told in the
//! shop's zone. Addresses (`…_url`, `action`) are paths or complete addresses.

use chrono::{DateTime, NaiveDate, Utc};
use trade::words::quote::Asks;
pub use acts::drawn_map::CustomersMap;
pub use trade::words::said::Money;

/// The shop, as its customers see it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// As people ring it.
    pub phone: Option<String>,
    /// In one line.
    pub address: Option<String>,
    /// In words: "Monday to Friday 9–18, Saturday 9–13".
    pub hours: Option<String>,
    /// IANA name of its time zone; an unknown one is read as UTC.
    pub time_zone: String,
}

/// What every page of one order begins with.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// The shop.
    pub shop: Shop,
    /// Today in the shop; a date in another year is told with its year.
    pub today: NaiveDate,
    /// As printed on the tag.
    pub claim_number: String,
    /// The everyday word for the instrument, small: `baritone`.
    pub family: String,
    /// The instrument in full, small: `baritone, Halvane, no. 4417`.
    pub instrument_words: String,
    /// The owner's own number for it.
    pub owners_number: Option<String>,
    /// The reader pays and decides. To a contact who does not, the page says "the owner said
    /// yes" where it says "you said yes" otherwise.
    pub reader_is_owner: bool,
}

/// `/status/{token}`.
#[derive(Debug, Clone, PartialEq)]
pub struct StatusPage {
    /// The order.
    pub order: Order,
    /// When it will be ready.
    pub ready: Ready,
    /// What has happened, oldest first.
    pub past: Vec<Event>,
    /// What is now.
    pub now: Now,
    /// Since when it is so.
    pub now_since: NaiveDate,
    /// What may be spent after the last answer ("allow up to").
    pub allowed: Option<Money>,
    /// What is to be paid at pickup; zero says "nothing to pay".
    pub amount_due: Option<Money>,
    /// The letter that asks for the answer which the order waits for.
    pub asked: Option<Asked>,
    /// What became of the wish for that letter once more, just sent by this form.
    pub asked_again: Option<AskedAgain>,
    /// The part of `amount_due` that is the examination fee told at check-in.
    pub examination_fee: Option<Money>,
    /// What was done, one short line each.
    pub done: Vec<Done>,
    /// What came with it and was not handed back, each with what became of it.
    pub not_handed_back: Vec<Noted>,
    /// Found and not repaired when the work ended early.
    pub not_repaired: Vec<Noted>,
    /// Left on purpose.
    pub left_on_purpose: Vec<Noted>,
    /// To be looked at next time.
    pub to_look_at: Vec<Noted>,
    /// The tests it passed.
    pub tests: Tests,
    /// Where the findings are that the owner was told of.
    pub map: Option<CustomersMap>,
    /// Photos that are shared.
    pub photos: Vec<Photo>,
    /// `…/ready.ics`; only while a date lies ahead or it stands ready.
    pub calendar_url: Option<String>,
    /// The wish about e-mails; `None` on a page whose reader gets none.
    pub wish: Option<WishForm>,
    /// The wish was changed just now by this form.
    pub wish_just_changed: bool,
}

/// The letter with the page on which the owner answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// Where it stands.
    pub letter: AskedBy,
    /// Where the wish for it once more is posted; only on the page of an owner with an address.
    pub again: Option<String>,
}

/// How the owner was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AskedBy {
    /// By e-mail on this day; the address with most of it left out.
    Letter {
        /// The day it was written, in the shop.
        on: NaiveDate,
        /// `j…@lund.example`.
        to: Option<String>,
    },
    /// The e-mail of this day came back or could not be sent.
    DidNotArrive {
        /// The day it was written, in the shop.
        on: NaiveDate,
    },
    /// By no e-mail; by telephone, since no address is known.
    NoAddress,
    /// By no e-mail, though an address is known now.
    NoLetter,
}

/// What became of the wish for the letter once more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedAgain {
    /// It is on its way.
    Sent,
    /// One went a short while ago, or several today.
    TooSoon,
}

/// When it will be ready.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ready {
    /// Nothing is promised yet.
    NotSaid,
    /// The date promised at check-in.
    PlannedFor(NaiveDate),
    /// Expected on another day than planned.
    ExpectedBy {
        /// The day it is expected now.
        expected: NaiveDate,
        /// The day that was planned.
        planned: Option<NaiveDate>,
    },
    /// It stands ready.
    ReadyNow,
    /// It has left the shop, or the order is settled.
    Gone,
}

/// One dated sentence along the tube.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// The day in the shop.
    pub on: NaiveDate,
    /// What happened.
    pub what: Happened,
}

/// What can have happened: the rows of the table of moves in DOMAIN.md, and what customers
/// ask about besides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Happened {
    /// `checked_in`.
    BroughtIn {
        /// What came with it: `case`.
        accessories: Vec<String>,
    },
    /// `examination_begins`.
    ExaminationBegan {
        /// Who.
        by: Option<String>,
    },
    /// `quote_sent`, the first.
    QuoteSent {
        /// How many shared findings there were by then.
        findings_count: usize,
    },
    /// A further version went out.
    NewerQuoteSent,
    /// `covered_beforehand`.
    CoveredBeforehand,
    /// `accepted`, nothing before.
    SaidYes,
    /// `accepted`, of extra work.
    SaidYesToExtra,
    /// `extra_declined`.
    SaidNoToExtra,
    /// `recalled`.
    QuoteTakenBack {
        /// Of extra work.
        is_extra: bool,
    },
    /// `questions`.
    Asked,
    /// `expired`.
    QuoteRanOut,
    /// `declined`.
    SaidNo,
    /// `extra_work`.
    ExtraFound,
    /// `acceptance_disputed`.
    CalledMistake,
    /// `bench_done`.
    BenchDone,
    /// `test_failed`.
    TestFailed {
        /// `a leak at the third slide`.
        found: Option<String>,
    },
    /// `tests_passed`.
    TestsPassed,
    /// `overridden`.
    Overridden {
        /// Why, as told in the letter.
        reason: Option<String>,
    },
    /// `nothing_to_do`.
    NothingToDo {
        /// Why.
        reason: Option<String>,
    },
    /// `withdrawn`.
    Withdrawn,
    /// `unanswered`.
    Unanswered,
    /// `not_repairable`.
    NotRepairable {
        /// Why.
        reason: Option<String>,
    },
    /// `sent_back`.
    SentBack,
    /// `reopened`.
    Reopened,
    /// `collected`.
    Collected,
    /// `shipped`.
    Shipped {
        /// Carrier and number.
        carrier: Option<String>,
    },
    /// `otherwise_settled`.
    OtherwiseSettled {
        /// Why.
        reason: Option<String>,
    },
    /// `entered_by_mistake`.
    EnteredByMistake,
}

/// What is now: the stage, with what it waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Now {
    /// Intake.
    WaitsToBeExamined,
    /// Diagnosis.
    BeingExamined,
    /// Diagnosis or approval, with an open question of the owner.
    QuestionWithUs,
    /// Approval.
    WaitsForAnswer {
        /// The last day to answer.
        until: Option<NaiveDate>,
        /// Work accepted before goes on meanwhile.
        other_work_goes_on: bool,
    },
    /// Approval, with a quote that ran out while work accepted before went on.
    AnswerOverdue,
    /// Bench.
    WorkedOn,
    /// Leak test.
    Tested {
        /// What an earlier test found, put right since: `a leak at the third slide`.
        put_right: Option<String>,
    },
    /// An end was asked for; it is being put back together.
    PutBackTogether,
    /// Pickup.
    ReadyToCollect,
    /// On hold, at any stage.
    Held {
        /// For what.
        held_for: HeldFor,
        /// When it is looked at again, or expected.
        until: Option<NaiveDate>,
    },
    /// Closed.
    Closed,
}

/// What a held order waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeldFor {
    /// Parts from a supplier.
    Parts,
    /// Work done outside the house.
    OutsideWork,
    /// The customer asked to wait.
    Customer,
    /// The school's calendar.
    SchoolCalendar,
    /// Something else.
    Other,
}

/// A thing that was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// `crack at the bottom bow brazed`.
    pub words: String,
    /// Numbers of the findings it answers.
    pub finding_numbers: Vec<u32>,
}

/// A thing and a sentence about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// Number of the finding, if it is one.
    pub finding_number: Option<u32>,
    /// `old patch at the bottom bow`.
    pub what: String,
    /// `It holds and belongs to the instrument's story.`
    pub why: Option<String>,
}

/// The tests that an instrument passed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tests {
    /// Each of them.
    pub passed: Vec<Tested>,
    /// What was left as it is, and not counted: `dent, bell bow, 6 mm`.
    pub apart_from: Vec<String>,
}

/// A test that was passed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tested {
    /// `leak test of the whole instrument`.
    pub what: String,
    /// `with a leak light`; none for a play test.
    pub how: Option<&'static str>,
    /// What leaked by a pressure test that passed: `4.8 ± 1.4 ml of air a minute, within our
    /// limit of 5.9`.
    pub rate: Option<String>,
}

/// The switch between mail at every change and only when asked. A POST with
/// `mail_wanted=every_change` or `mail_wanted=only_when_asked`; a mail program's one-click
/// POST (`List-Unsubscribe=One-Click`, RFC 8058) may come to the same address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WishForm {
    /// Where it is posted.
    pub action: String,
    /// In force now: every change (`true`) or only when asked.
    pub every_change: bool,
}

/// `/answer/{token}` with a quote that may be answered.
///
/// The form posts `quote_version`, `content_hash`, `name`, `question`, `answer`
/// (`accepted`, `declined`, `questions`), and `line` once for every line ticked, optional
/// and irreversible alike, with the line's id. Nothing is preselected.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerPage {
    /// The order.
    pub order: Order,
    /// Whom the link was sent to.
    pub owner_name: String,
    /// Where the form is posted.
    pub action: String,
    /// The quote that may be answered: the current one.
    pub quote: Quote,
    /// What declining means here.
    pub if_declined: IfDeclined,
    /// What was typed and ticked before, when it could not be taken as it was.
    pub typed: Typed,
    /// What has to be put right, each shown in its place.
    pub errors: Vec<AnswerError>,
    /// The version that the reader had before them, when it was superseded meanwhile.
    pub superseded: Option<Quote>,
    /// What the reader should know before the quote.
    pub notice: Option<AnswerNotice>,
    /// Where the order's status is seen.
    pub status_url: Option<String>,
}

/// What the owner should know before a quote that may be answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AnswerNotice {
    /// The owner's question reached the shop; the quote may be answered all the same.
    QuestionWithUs {
        /// When.
        at: DateTime<Utc>,
        /// What was asked.
        question: Option<String>,
    },
    /// The owner called the earlier answer a mistake, and it was taken back.
    MistakeTakenBack,
    /// The answer just sent was not recorded; why, in words.
    NotRecorded(String),
}

/// A quote version as it was sent.
#[derive(Debug, Clone, PartialEq)]
pub struct Quote {
    /// Version number within the order; posted back.
    pub number: u32,
    /// Fixes its exact content; posted back.
    pub content_hash: String,
    /// The day it was sent.
    pub sent_on: NaiveDate,
    /// What was found, in the shop's own words.
    pub message: Option<String>,
    /// The findings it rests on, of those shared.
    pub findings: Vec<Found>,
    /// Where they are.
    pub map: Option<CustomersMap>,
    /// Photos that are shared and pinned to no finding.
    pub photos: Vec<Photo>,
    /// Accepted earlier; given exactly when something was accepted before, and then this is
    /// an extra-work request.
    pub accepted_before: Option<AcceptedBefore>,
    /// Lines in order, without those accepted before.
    pub lines: Vec<Line>,
    /// Taken off the lines, as a sum above zero.
    pub discount: Option<Money>,
    /// Tax on top, where lines are told without it.
    pub tax: Option<Money>,
    /// Lines that are not optional, and what was accepted before; tax included.
    pub total: Money,
    /// The same with every optional line; `None` without optional lines.
    pub total_with_optional: Option<Money>,
    /// The most it may be.
    pub limit: Money,
    /// What may still turn up and cost, in a sentence; `None`: nobody can say.
    pub further: Option<String>,
    /// The last day to answer.
    pub expires_on: Option<NaiveDate>,
    /// Ready by then in 17 of 20 cases, if answered today.
    pub ready_if_answered_today: Option<NaiveDate>,
    /// The date promised at check-in.
    pub planned_for: Option<NaiveDate>,
}

impl Quote {
    /// What the limit is for.
    #[must_use]
    pub fn asks(&self) -> Asks {
        let with_optional = self.total_with_optional.as_ref().map_or(self.total.amount, |all| all.amount);
        Asks::of(self.limit.amount, self.total.amount, with_optional)
    }
}

/// A finding as the owner reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// Its number on the order.
    pub number: u32,
    /// `crack at the bottom bow, 22 mm`.
    pub words: String,
    /// Whether it leaks; `None`: not tested.
    pub leaks: Option<bool>,
    /// What the shop would do with it.
    pub proposal: Proposal,
    /// Why so.
    pub reason: Option<String>,
    /// This version is about it: found since the one accepted, or answered by a new line.
    pub is_new: bool,
    /// Photos of it that are shared.
    pub photos: Vec<Photo>,
}

/// What the shop would do with a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proposal {
    /// Repair it.
    Repair,
    /// Leave it and watch it.
    LeaveAndWatch,
    /// Keep it for another visit.
    AnotherVisit,
    /// The owner declined it before.
    Declined,
}

/// A photo that is shared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// Where it is fetched, under the same token.
    pub url: String,
    /// The same, larger.
    pub large_url: String,
    /// What is on it, for those who cannot see it.
    pub alt: String,
    /// Under it.
    pub caption: Option<String>,
    /// Of the sized copy, in pixels.
    pub width: u32,
    /// Of the sized copy, in pixels.
    pub height: u32,
}

/// What was accepted before.
#[derive(Debug, Clone, PartialEq)]
pub struct AcceptedBefore {
    /// The day.
    pub on: NaiveDate,
    /// Total of what was accepted, tax included.
    pub amount: Money,
    /// The most that may be spent until this version is answered.
    pub allowed: Money,
    /// What it was for, one line each.
    pub lines: Vec<String>,
}

/// One line of a quote.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its id; posted back when ticked.
    pub id: String,
    /// In the customer's words.
    pub text: String,
    /// Its price.
    pub amount: Money,
    /// Not in an accepted version.
    pub is_new: bool,
    /// Left out until ticked; not in the total.
    pub optional: bool,
    /// Cannot be undone; done only if ticked by itself.
    pub irreversible: bool,
    /// What it takes away for good, for an irreversible line.
    pub irreversible_why: Option<String>,
}

/// What declining means.
#[derive(Debug, Clone, PartialEq)]
pub enum IfDeclined {
    /// The work accepted before goes on, for this sum.
    RestGoesOn {
        /// What it costs then.
        amount: Money,
    },
    /// Nothing is done; it is made ready to be collected.
    Collect {
        /// The examination fee told at check-in; `None`: nothing to pay.
        fee: Option<Money>,
    },
}

/// What was typed and ticked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Typed {
    /// In the field for the name.
    pub name: String,
    /// In the field for the question.
    pub question: String,
    /// Ids of the lines ticked.
    pub lines: Vec<String>,
}

/// What has to be put right before an answer is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnswerError {
    /// The name is empty.
    NameMissing,
    /// The name is longer than 200 letters.
    NameTooLong,
    /// The name held a NUL letter; it was taken out.
    NameUnkeepable,
    /// "Send the question" without a question.
    QuestionMissing,
    /// The question is longer than 4,000 letters.
    QuestionTooLong,
    /// The question held a NUL letter; it was taken out.
    QuestionUnkeepable,
    /// None of the three buttons, as when a script posts the form.
    ChoiceMissing,
}

/// The page after an answer, and again whenever the link is opened later.
#[derive(Debug, Clone, PartialEq)]
pub struct AnsweredPage {
    /// The order.
    pub order: Order,
    /// The answer as recorded.
    pub decision: Decision,
    /// Just now by this reader (`true`), or found when the link was opened again.
    pub just_now: bool,
    /// Given while it can still be called a mistake: until the first step that the answer
    /// allowed is started.
    pub mistake: Option<MistakeForm>,
    /// "This was a mistake" was just now sent, after the first step was begun.
    pub too_late: bool,
    /// Where the order's status is seen.
    pub status_url: Option<String>,
}

/// An answer as recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// What was answered.
    pub answer: Answered,
    /// How it reached the shop.
    pub how: AnsweredBy,
    /// The name typed or given.
    pub name: String,
    /// When it was recorded.
    pub at: DateTime<Utc>,
    /// Quote version it was about.
    pub quote_number: u32,
    /// Of extra work, with work accepted before.
    pub is_extra: bool,
    /// What may be spent after it.
    pub allowed: Option<Money>,
    /// The lines ticked, by their text.
    pub ticked: Vec<String>,
    /// The question asked.
    pub question: Option<String>,
}

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answered {
    /// Yes.
    Accepted,
    /// No.
    Declined,
    /// A question first.
    Questions,
}

/// How an answer reached the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnsweredBy {
    /// By this link.
    Link,
    /// By telephone, written down by the shop.
    Phone,
    /// At the counter, written down by the shop.
    InPerson,
    /// By what was authorised at the counter.
    Beforehand,
}

/// "This was a mistake". Posts `decision_id`, `name` and `reason`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MistakeForm {
    /// Where it is posted.
    pub action: String,
    /// The decision; posted back.
    pub decision_id: String,
    /// What was typed before.
    pub name: String,
    /// What was typed before.
    pub reason: String,
    /// What has to be put right, each shown in its place.
    pub errors: Vec<MistakeError>,
}

/// What has to be put right before a mistake is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MistakeError {
    /// The name is empty.
    NameMissing,
    /// The name is longer than 200 letters.
    NameTooLong,
    /// The name held a NUL letter; it was taken out.
    NameUnkeepable,
    /// What we should know is longer than 1,000 letters.
    ReasonTooLong,
    /// What we should know held a NUL letter; it was taken out.
    ReasonUnkeepable,
}

/// A quote that cannot be answered any more.
#[derive(Debug, Clone, PartialEq)]
pub struct NotAnswerablePage {
    /// The order.
    pub order: Order,
    /// Why not.
    pub because: NotAnswerable,
    /// What was asked, for reading.
    pub quote: Option<Quote>,
    /// Where the order's status is seen.
    pub status_url: Option<String>,
}

/// Why a quote cannot be answered any more.
#[derive(Debug, Clone, PartialEq)]
pub enum NotAnswerable {
    /// Its time ran out on this day.
    Expired(NaiveDate),
    /// It was decided before, by somebody else or otherwise: who, how and when.
    AlreadyDecided(Box<Decision>),
    /// The shop took it back.
    TakenBack,
    /// The order has ended.
    Ended,
}

/// `/start/{token}`: the shop and its first proprietor. Posts `shop_name`, `time_zone`,
/// `currency`, `name`, `initials`, `email`, `password`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct StartPage {
    /// Where it is posted.
    pub action: String,
    /// Typed before; the password never comes back.
    pub shop_name: String,
    /// IANA name.
    pub time_zone: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Name of the proprietor.
    pub name: String,
    /// Two or three letters.
    pub initials: String,
    /// To sign in with.
    pub email: String,
    /// Shortest password that is taken, in letters.
    pub password_at_least: usize,
    /// What has to be put right: the field's name as posted, and what to do.
    pub errors: Vec<(StartField, String)>,
}

/// A field of the start page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StartField {
    /// `shop_name`
    ShopName,
    /// `time_zone`
    TimeZone,
    /// `currency`
    Currency,
    /// `name`
    Name,
    /// `initials`
    Initials,
    /// `email`
    Email,
    /// `password`
    Password,
}

/// After the start page was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StartedPage {
    /// Name of the shop.
    pub shop_name: String,
    /// To sign in with.
    pub email: String,
    /// Where to sign in.
    pub sign_in_url: String,
}
