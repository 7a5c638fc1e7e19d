//! How money, dates and lists are said to people who are not staff, in English.
//!
//! One source for letters, customers' pages and papers, so that the same sum and
//! the same day never read differently in two places. Nothing here decides anything.

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use super::zone::Zone;
use iso_currency::Currency;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A sum as it is told, written as the API writes it: `{"amount":"123.45","currency":"EUR"}`.
///
/// It takes what a row or a letter's facts hold, of any currency, and is never reckoned with:
/// adding and rounding is [`super::money::Money`]'s.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Money {
    /// The sum, in units of the currency; already rounded to its minor unit.
    pub amount: Decimal,
    /// ISO 4217 code, three capital letters.
    pub currency: String,
}

impl From<super::money::Money> for Money {
    fn from(exact: super::money::Money) -> Self {
        Self::new(exact.amount(), exact.currency().code())
    }
}

impl Money {
    /// A sum in a currency.
    #[must_use]
    pub fn new(amount: Decimal, currency: &str) -> Self {
        Self { amount, currency: currency.to_owned() }
    }

    /// As it stands in running text: `€1,318.00`, `£62.50`; a currency without a sign of
    /// its own, or with a sign that several share, is named after the sum: `318.00 CHF`.
    #[must_use]
    pub fn said(&self) -> String {
        let digits = grouped(self.amount.abs(), self.minor_digits());
        let minus =
            if self.amount.is_sign_negative() && !self.amount.is_zero() { "−" } else { "" };
        match self.currency.as_str() {
            "EUR" => format!("{minus}€{digits}"),
            "GBP" => format!("{minus}£{digits}"),
            "USD" => format!("{minus}${digits}"),
            "JPY" => format!("{minus}¥{digits}"),
            _ => format!("{minus}{digits}\u{a0}{}", self.currency),
        }
    }

    /// As it stands in a column of a plain-text table, ASCII only: `1,318.00 EUR`.
    #[must_use]
    pub fn in_column(&self) -> String {
        let minus = if self.amount.is_sign_negative() && !self.amount.is_zero() { "-" } else { "" };
        format!("{minus}{} {}", grouped(self.amount.abs(), self.minor_digits()), self.currency)
    }

    /// Digits after the point by ISO 4217; 2 for a code it does not list.
    fn minor_digits(&self) -> u32 {
        Currency::from_code(&self.currency).and_then(Currency::exponent).map_or(2, u32::from)
    }
}

/// `1234567.5` with two digits as `1,234,567.50`.
fn grouped(amount: Decimal, digits: u32) -> String {
    let plain = format!("{:.*}", digits as usize, amount);
    let (whole, rest) = match plain.split_once('.') {
        Some((whole, rest)) => (whole, Some(rest)),
        None => (plain.as_str(), None),
    };
    let mut said = String::with_capacity(plain.len() + 4);
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            said.push(',');
        }
        said.push(digit);
    }
    if let Some(rest) = rest {
        said.push('.');
        said.push_str(rest);
    }
    said
}

const WEEKDAYS: [&str; 7] =
    ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// `Thursday 18 June`, with the year when it is not the year of `today`.
#[must_use]
pub fn long_date(date: NaiveDate, today: NaiveDate) -> String {
    format!("{} {}", weekday(date), short_date(date, today))
}

/// `18 June`, with the year when it is not the year of `today`.
#[must_use]
pub fn short_date(date: NaiveDate, today: NaiveDate) -> String {
    let month = MONTHS[date.month0() as usize];
    if date.year() == today.year() {
        format!("{} {month}", date.day())
    } else {
        format!("{} {month} {}", date.day(), date.year())
    }
}

/// `Thursday`.
#[must_use]
pub fn weekday(date: NaiveDate) -> &'static str {
    WEEKDAYS[date.weekday().num_days_from_monday() as usize]
}

/// `Thursday 4 June, 10:44` in the shop's own zone.
#[must_use]
pub fn moment(at: DateTime<Utc>, zone: &Zone, today: NaiveDate) -> String {
    let there = zone.local(at);
    format!("{}, {}", long_date(there.date(), today), there.format("%H:%M"))
}

/// `case`, `case and oil`, `case, mouthpiece and oil`; empty for nothing.
#[must_use]
pub fn list<S: AsRef<str>>(things: &[S]) -> String {
    match things {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

/// `no`, `one`, ... `twelve`, then figures: how a number of things is said in a sentence.
#[must_use]
pub fn count(number: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

/// The first letter made a capital, for words that come to stand at the head of a sentence.
#[must_use]
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// What somebody typed, made fit for one line: control characters and line ends become
/// single spaces, invisible marks that turn the writing direction of the rest of the line
/// are taken out. Joiners inside names and emoji are kept.
///
/// A name that can begin a new line can begin a new mail header; a name that can reverse
/// the line can make the shop's sentence say something else.
#[must_use]
pub fn one_line(typed: &str) -> String {
    let calm: String = typed
        .chars()
        .filter(|c| !matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}'))
        .map(|c| if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') { ' ' } else { c })
        .collect();
    calm.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::str::FromStr;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).expect("a day of the calendar")
    }

    fn money(amount: &str, currency: &str) -> Money {
        Money::new(Decimal::from_str(amount).expect("a decimal"), currency)
    }

    #[test]
    fn sums_have_the_digits_of_their_currency() {
        assert_eq!(money("1318", "EUR").said(), "€1,318.00");
        assert_eq!(money("62.5", "GBP").said(), "£62.50");
        assert_eq!(money("1234567", "JPY").said(), "¥1,234,567");
        assert_eq!(money("12.5", "KWD").said(), "12.500\u{a0}KWD");
        assert_eq!(money("-15", "EUR").said(), "−€15.00");
        assert_eq!(money("0", "EUR").said(), "€0.00");
        assert_eq!(money("-1015", "EUR").in_column(), "-1,015.00 EUR");
        assert_eq!(money("100", "CHF").in_column(), "100.00 CHF");
    }

    #[test]
    fn an_exact_sum_is_told_as_it_is() {
        use crate::words::money;
        let currency = money::Currency::from_code("EUR").expect("a currency");
        let exact = money::Money::from_minor_units(131_805, currency).expect("a sum");
        assert_eq!(Money::from(exact).said(), "€1,318.05");
    }

    #[test]
    fn another_year_is_named() {
        let today = day(2026, 6, 16);
        assert_eq!(long_date(day(2026, 6, 18), today), "Thursday 18 June");
        assert_eq!(long_date(day(2027, 1, 1), today), "Friday 1 January 2027");
    }

    #[test]
    fn a_moment_is_told_in_the_shops_zone() {
        let at = DateTime::parse_from_rfc3339("2026-06-15T22:30:00Z").expect("an instant");
        let madrid = Zone::named("Europe/Madrid").expect("a zone of the list");
        let said = moment(at.to_utc(), &madrid, day(2026, 6, 16));
        assert_eq!(said, "Tuesday 16 June, 00:30");
    }

    #[test]
    fn lists_end_with_and() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["case"]), "case");
        assert_eq!(list(&["case", "mouthpiece", "oil"]), "case, mouthpiece and oil");
    }

    #[test]
    fn a_typed_name_stays_on_its_line_and_keeps_its_letters() {
        assert_eq!(one_line("Jonas\r\nBcc: all@lund.example"), "Jonas Bcc: all@lund.example");
        assert_eq!(one_line("  Ana\u{202e}  Ruiz\u{0}"), "Ana Ruiz");
        assert_eq!(one_line("نور الهدى 👩‍👩‍👧"), "نور الهدى 👩‍👩‍👧");
    }
}
