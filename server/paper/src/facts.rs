//! What a paper may know, as plain fields. Dates are calendar dates of the shop.

use chrono::NaiveDate;
use trade::maps::SvgElement;
use trade::words::instrument::Family;
pub use trade::words::said::Money;

/// The shop, as its papers name it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// In one line.
    pub address: Option<String>,
    /// As people ring it.
    pub phone: Option<String>,
    /// Where it is written to.
    pub email: Option<String>,
}

/// How the customer hears of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hears {
    /// By e-mail at every change.
    EveryChange,
    /// By e-mail when an answer is wanted and when it is ready.
    WhenAsked,
    /// By telephone, under this number.
    ByPhone(String),
    /// Neither is known.
    Asks,
}

/// One visit of one instrument, as it was left at the counter.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// As the tag carries it.
    pub claim_number: String,
    /// The day it came.
    pub came_on: NaiveDate,
    /// The day and the minute, in words.
    pub came_at: String,
    /// The day the paper is printed.
    pub today: NaiveDate,
    /// What it is.
    pub family: Family,
    /// Maker and model.
    pub make: Option<String>,
    /// Serial number.
    pub serial_number: Option<String>,
    /// The owner's own number for it.
    pub owners_number: Option<String>,
    /// Year or age band: `about 1925`.
    pub age: Option<String>,
    /// Its finish: `lacquered`.
    pub finish: Option<String>,
    /// Who brought it.
    pub customer: String,
    /// Who decides and pays, if somebody else.
    pub owner: Option<String>,
    /// In the customer's own words.
    pub complaint: String,
    /// What came with it.
    pub came_with: Vec<String>,
    /// The marks agreed at the counter, in words: `dent, bell`.
    pub marks: Vec<String>,
    /// The instrument with those marks on it.
    pub drawing: Option<SvgElement>,
    /// How it looked, in words.
    pub condition: Option<String>,
    /// What the owner wants left.
    pub keep_as_is: Option<String>,
    /// The day it is planned for. Odds stay in the shop.
    pub promised_on: NaiveDate,
    /// May cost, without asking; none: ask first.
    pub may_cost: Option<Money>,
    /// Charged if the owner declines.
    pub examination_fee: Option<Money>,
    /// Deposits paid and not struck.
    pub deposit: Option<Money>,
    /// Whether the customer wants the old parts back.
    pub old_parts_back: bool,
    /// The number of the loaner that the customer has.
    pub loaner_number: Option<String>,
    /// Where it hangs or lies.
    pub place: Option<String>,
    /// How the customer hears of it.
    pub hears: Hears,
    /// The shop's terms, as they were at check-in; empty where there are none.
    pub terms: String,
}

/// A visit with the customer's own page of it.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnPage {
    /// The visit.
    pub visit: Visit,
    /// The complete address of the customer's status page.
    pub address: String,
}
