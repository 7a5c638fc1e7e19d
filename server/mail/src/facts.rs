//! What a letter may know, as plain fields.
//!
//! The caller leaves out what is not shared with the customer: there is no field for
//! anything that is for staff only, so the wording cannot show it. Dates are calendar
//! dates of the shop; instants are UTC and told in the shop's zone.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
pub use trade::words::said::Money;

/// Everything one letter is written from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LetterFacts {
    /// The shop that writes.
    pub shop: Shop,
    /// The day of writing in the shop; a date in another year is told with its year.
    pub today: NaiveDate,
    /// Readable over the phone, as printed on the tag.
    pub claim_number: String,
    /// The name the letter opens with.
    pub reader_name: String,
    /// What the reader is to this order.
    pub reader: Reader,
    /// Who pays and decides; named to a contact who is somebody else.
    pub owner_name: Option<String>,
    /// The instrument.
    pub instrument: Instrument,
    /// The complaint in the customer's own words.
    pub complaint: Option<String>,
    /// What came with it: `case`, `mouthpiece`.
    #[serde(default)]
    pub accessories: Vec<String>,
    /// What was looked for and did not come with it.
    #[serde(default)]
    pub not_with_it: Vec<String>,
    /// What was seen at the counter, in words: `dent, bell rim`.
    #[serde(default)]
    pub counter_marks: Vec<String>,
    /// What the owner wants left as it is.
    pub keep_as_is: Option<String>,
    /// The date promised at check-in ("planned for").
    pub planned_for: Option<NaiveDate>,
    /// The date promised before, where the letter tells that it moved.
    #[serde(default)]
    pub planned_before: Option<NaiveDate>,
    /// When it is expected to be ready now, where that is no longer the planned date.
    pub expected_on: Option<NaiveDate>,
    /// What it may cost without asking, as given at the counter; `None` means ask first.
    pub may_cost: Option<Money>,
    /// Charged if the owner declines, counted toward the repair otherwise.
    pub examination_fee: Option<Money>,
    /// What of it is charged at the end, where the owner decided against the repair: all, or what
    /// the work done does not reach.
    pub fee_charged: Option<Money>,
    /// The findings marked to be shared, with what became of them.
    #[serde(default)]
    pub findings: Vec<Finding>,
    /// The quote the letter is about: the newest one sent.
    pub quote: Option<Quote>,
    /// The answer the letter is about.
    pub decision: Option<Decision>,
    /// Why, in words meant for the reader: of a withdrawal, an override, a recall.
    pub reason: Option<String>,
    /// Tests, for the letters after the bench.
    #[serde(default)]
    pub tests: Tests,
    /// What was done, one short line each.
    #[serde(default)]
    pub done: Vec<String>,
    /// Found and not repaired when the work ended early.
    #[serde(default)]
    pub not_repaired: Vec<Noted>,
    /// Left on purpose, with the reason.
    #[serde(default)]
    pub left_on_purpose: Vec<Noted>,
    /// To be looked at next time, with what to do until then.
    #[serde(default)]
    pub to_look_at: Vec<Noted>,
    /// How to look after it, by family: the shop's own words.
    pub care_note: Option<String>,
    /// What is to be paid at pickup. `None`: not told yet; zero: nothing.
    pub amount_due: Option<Money>,
    /// How the due amount is settled where it is not paid at the counter: "charged to the
    /// school's account".
    pub due_words: Option<String>,
    /// Since when it has stood ready, for reminders.
    pub ready_since: Option<NaiveDate>,
    /// The shop's own words on uncollected goods, for reminders.
    pub uncollected_note: Option<String>,
    /// How it was handed over.
    pub handover: Option<Handover>,
    /// Who signs: the person who acted, or who looks after the order.
    pub signed_by: Option<String>,
    /// The reader's own links.
    #[serde(default)]
    pub links: Links,
}

/// The shop that writes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// As people ring it.
    pub phone: Option<String>,
    /// In one line.
    pub address: Option<String>,
    /// Where answers go.
    pub email: Option<String>,
    /// In words: "Monday to Friday 9–18, Saturday 9–13".
    pub hours: Option<String>,
    /// IANA name of its time zone; an unknown one is read as UTC.
    pub time_zone: String,
    /// BCP 47 tag; letters are written in English so far whatever it says.
    pub language: String,
}

/// What the reader is to the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reader {
    /// Brought it in; somebody else pays and decides.
    Contact,
    /// Pays and decides; somebody else brought it in.
    Owner,
    /// Both.
    ContactAndOwner,
}

/// The instrument, in words.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Instrument {
    /// The everyday word for it, small: `baritone`.
    pub family: String,
    /// In full, small: `baritone, Halvane, no. 4417, about 1925`.
    pub words: String,
    /// The owner's own number for it; a school tells nine horns apart by it.
    pub owners_number: Option<String>,
}

/// What an examination turned up, as shared with the customer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// Its number on the order, as on the map and in the list.
    pub number: u32,
    /// In words: `crack at the bottom bow, 22 mm, leaks`.
    pub words: String,
    /// What is to become, or became, of it.
    pub became: Became,
    /// Why so.
    pub reason: Option<String>,
    /// The version last sent is about it: found since the one accepted, or answered by a new line.
    #[serde(default)]
    pub is_new: bool,
}

/// What is to become, or became, of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Became {
    /// Not decided yet.
    Undecided,
    /// To be repaired.
    ToRepair,
    /// Repaired.
    Repaired,
    /// Left and watched.
    LeftAndWatched,
    /// Kept for another visit.
    AnotherVisit,
    /// Not wanted by the owner.
    Declined,
}

/// A quote version as it was sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quote {
    /// Version number within the order.
    pub number: u32,
    /// What is found and why, in the shop's own words.
    pub message: Option<String>,
    /// Accepted earlier: when, and the sum. Given exactly when something was accepted before.
    pub accepted_before: Option<AcceptedBefore>,
    /// Lines in order; those accepted before are summed up in `accepted_before`.
    pub lines: Vec<Line>,
    /// Taken off the lines, as a sum above zero.
    pub discount: Option<Money>,
    /// Tax on top, where prices are told without it; `None` when lines include it.
    pub tax: Option<Money>,
    /// All lines that are not optional, and what was accepted before; tax included.
    pub total: Money,
    /// The same with every optional line; `None` without any.
    #[serde(default)]
    pub total_with_optional: Option<Money>,
    /// The most it may be, which the owner is asked to allow.
    pub limit: Money,
    /// What may still turn up and cost, in a sentence; `None`: nobody can say.
    #[serde(default)]
    pub further: Option<String>,
    /// The last day on which it may be answered.
    pub expires_on: Option<NaiveDate>,
    /// Ready by then in 17 of 20 cases, if answered today.
    pub ready_if_answered_today: Option<NaiveDate>,
    /// Whether a photo is on the answer page.
    #[serde(default)]
    pub has_photo: bool,
}

/// What was accepted before this version.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AcceptedBefore {
    /// The day it was accepted.
    pub on: NaiveDate,
    /// Total of what was accepted, tax included.
    pub amount: Money,
    /// The most that may be spent until this version is answered.
    pub allowed: Money,
}

/// One line of a quote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// In the customer's words.
    pub text: String,
    /// Its price.
    pub amount: Money,
    /// Not in an accepted version.
    #[serde(default)]
    pub is_new: bool,
    /// Left out until the owner ticks it; not in the total.
    #[serde(default)]
    pub optional: bool,
    /// Cannot be undone; done only if accepted by name.
    #[serde(default)]
    pub irreversible: bool,
}

/// An answer as recorded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Decision {
    /// How it reached the shop.
    pub how: AnsweredBy,
    /// The name given with it.
    pub name: String,
    /// When it was recorded.
    pub at: DateTime<Utc>,
    /// What may be spent after it: "allow up to".
    pub allowed: Option<Money>,
    /// The optional or irreversible lines ticked, by their text.
    #[serde(default)]
    pub ticked: Vec<String>,
    /// The question, when one was asked.
    pub question: Option<String>,
}

/// How an answer reached the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AnsweredBy {
    /// By the owner's own link.
    Link,
    /// By telephone, written down by the shop.
    Phone,
    /// At the counter, written down by the shop.
    InPerson,
    /// By what was authorised at the counter.
    Beforehand,
}

/// What the tests said.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Tests {
    /// Passed, in words: `leak test of the whole instrument`.
    #[serde(default)]
    pub passed: Vec<String>,
    /// What the last test that failed found, in words: `a leak at the third slide`.
    pub fails: Option<String>,
    /// Passed apart from these, named.
    #[serde(default)]
    pub apart_from: Vec<String>,
    /// What was not tested, and why: "not tested, because ...".
    pub not_tested: Option<String>,
}

/// A thing and a sentence about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Noted {
    /// `old patch at the bottom bow`.
    pub what: String,
    /// `It holds and belongs to the instrument's story.`
    pub why: Option<String>,
}

/// How it was handed over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Handover {
    /// The day.
    pub on: NaiveDate,
    /// Who took it, when collected.
    pub by: Option<String>,
    /// Carrier and number, when shipped.
    pub carrier: Option<String>,
    /// What went with it.
    #[serde(default)]
    pub accessories: Vec<String>,
    /// What came with it and cannot be handed back, each with what became of it.
    pub lost: Vec<(String, String)>,
    /// What was paid then.
    pub paid: Option<Money>,
}

/// The reader's own links, complete addresses.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Links {
    /// Their status page; also where the wish about e-mails is changed.
    pub status: Option<String>,
    /// The page on which the quote is answered, or on which an answer given is shown and can be
    /// called a mistake.
    pub answer: Option<String>,
}
