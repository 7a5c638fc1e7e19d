//! The claim number: what a customer reads out over the telephone to name an order.
//!
//! A shop counts its orders from 1000; the claim number is that count, a hyphen and
//! one check digit. Digits only, because letters are said differently in each
//! language. It opens nothing by itself: a customer's link carries its own secret.

use crate::calculation::{Node, Reading, Refused};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Value, json};
use std::fmt;
use std::str::FromStr;

/// The count of an order within its shop, 1000…999,999,999.
///
/// Shown as `1843-8`, the last digit being the check digit; in JSON as that text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, utoipa::ToSchema)]
#[schema(value_type = String, example = "1843-8")]
pub struct ClaimNumber(u32);

/// Why there is no such claim number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClaimNumberFault {
    /// The count is not within 1000…999,999,999.
    Number,
    /// This sign is no digit and none of the marks that people set between digits.
    Symbol(char),
    /// So many digits, with the check digit, are too few.
    TooShort(usize),
    /// So many digits, with the check digit, are too many.
    TooLong(usize),
    /// No count begins with a zero.
    LeadingZero,
    /// The check digit does not fit the others.
    Check,
}

impl ClaimNumber {
    /// The first number that a shop gives out.
    pub const FIRST: Self = Self(1000);
    /// The last number that a shop can give out.
    pub const LAST: Self = Self(999_999_999);

    /// The claim number of the order with this count.
    ///
    /// # Errors
    /// [`ClaimNumberFault::Number`] outside 1000…999,999,999.
    pub fn make(number: u32) -> Result<Self, ClaimNumberFault> {
        if (Self::FIRST.0..=Self::LAST.0).contains(&number) {
            Ok(Self(number))
        } else {
            Err(ClaimNumberFault::Number)
        }
    }

    /// The claim number as people type, paste or scan it.
    ///
    /// Digits of any script count as digits. White space, `- . _ /` and the dashes
    /// U+2010–U+2015 are dropped, then one `#` in front.
    ///
    /// # Errors
    /// The first that holds of `Symbol`, the two lengths, `LeadingZero` and `Check`.
    /// No fault names another number: that would be another customer's order.
    pub fn read(text: &str) -> Result<Self, ClaimNumberFault> {
        let mut interim = 0;
        let mut all: u64 = 0;
        let mut count = 0;
        let mut leading_zero = false;
        let mut signs = text.chars().filter(|sign| !is_between_digits(*sign)).peekable();
        signs.next_if_eq(&'#');
        for sign in signs {
            let digit = digit_of(sign).ok_or(ClaimNumberFault::Symbol(sign))?;
            leading_zero |= count == 0 && digit == 0;
            interim = DAMM[interim][usize::from(digit)];
            // Beyond ten digits the value no longer matters: the length refuses it.
            all = all.wrapping_mul(10).wrapping_add(u64::from(digit));
            count += 1;
        }
        match count {
            0..5 => Err(ClaimNumberFault::TooShort(count)),
            11.. => Err(ClaimNumberFault::TooLong(count)),
            _ if leading_zero => Err(ClaimNumberFault::LeadingZero),
            _ if interim != 0 => Err(ClaimNumberFault::Check),
            _ => u32::try_from(all / 10).map_or(Err(ClaimNumberFault::Number), Self::make),
        }
    }

    /// The count of the order within its shop.
    #[must_use]
    pub fn number(self) -> u32 {
        self.0
    }

    /// The digit that stands behind the hyphen, 0…9.
    #[must_use]
    pub fn check_digit(self) -> u8 {
        let mut interim = 0;
        let mut unit = 10_u32.pow(self.0.ilog10());
        while unit > 0 {
            interim = DAMM[interim][(self.0 / unit % 10) as usize];
            unit /= 10;
        }
        DIGITS[interim]
    }
}

impl fmt::Display for ClaimNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.0, self.check_digit())
    }
}

impl FromStr for ClaimNumber {
    type Err = ClaimNumberFault;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::read(text)
    }
}

impl Serialize for ClaimNumber {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for ClaimNumber {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::read(&text).map_err(serde::de::Error::custom)
    }
}

impl ClaimNumberFault {
    /// The slug under which the API refuses it.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Number => "invalid-input",
            Self::Symbol(_) => "claim-number-symbol",
            Self::TooShort(_) | Self::TooLong(_) | Self::LeadingZero => "claim-number-length",
            Self::Check => "claim-number-check",
        }
    }
}

impl fmt::Display for ClaimNumberFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number => f.write_str("a shop's orders are counted from 1000 to 999999999"),
            Self::Symbol(sign) => {
                write!(f, "{sign:?} is no digit; a claim number has digits only (is it a zero or a one, written as a letter?)")
            }
            Self::TooShort(0) => f.write_str("there is no digit; type the claim number"),
            Self::TooShort(count) => write!(
                f,
                "{count} digits are too few; a claim number has 5 to 10 with its check digit, so one was probably left out"
            ),
            Self::TooLong(count) => write!(
                f,
                "{count} digits are too many; a claim number has 5 to 10 with its check digit, so one was probably typed twice"
            ),
            Self::LeadingZero => {
                f.write_str("a claim number never begins with a zero; the first digit is probably wrong or too much")
            }
            Self::Check => f.write_str(
                "the check digit does not fit: probably one digit is wrong or two neighbours are exchanged; read it again digit by digit",
            ),
        }
    }
}

impl std::error::Error for ClaimNumberFault {}

/// What people set between digits, and scanners behind them.
fn is_between_digits(sign: char) -> bool {
    sign.is_whitespace() || matches!(sign, '-' | '.' | '_' | '/' | '\u{2010}'..='\u{2015}')
}

/// The value of a decimal digit of any script.
fn digit_of(sign: char) -> Option<u8> {
    if sign.is_ascii() {
        return sign.is_ascii_digit().then(|| sign as u8 - b'0');
    }
    let below = ZEROS.partition_point(|zero| *zero <= sign);
    let distance = u32::from(sign) - u32::from(ZEROS[below.checked_sub(1)?]);
    u8::try_from(distance).ok().filter(|digit| *digit < 10)
}

const DIGITS: [u8; 10] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];

/// Damm's totally anti-symmetric quasigroup of order 10, by interim and digit: it
/// finds every single wrong digit and every exchange of neighbours.
/// Source: H. M. Damm, *Total anti-symmetrische Quasigruppen*, 2004.
const DAMM: [[usize; 10]; 10] = [
    [0, 3, 1, 7, 5, 9, 8, 6, 4, 2],
    [7, 0, 9, 2, 1, 5, 4, 8, 6, 3],
    [4, 2, 0, 6, 8, 7, 1, 3, 5, 9],
    [1, 7, 5, 0, 9, 8, 3, 4, 2, 6],
    [6, 1, 2, 3, 0, 4, 5, 9, 7, 8],
    [3, 6, 7, 4, 2, 0, 9, 5, 8, 1],
    [5, 8, 6, 9, 7, 2, 0, 1, 3, 4],
    [8, 9, 4, 5, 3, 6, 2, 0, 1, 7],
    [9, 4, 3, 8, 6, 1, 7, 2, 0, 5],
    [2, 5, 8, 1, 4, 3, 6, 7, 9, 0],
];

/// The zero of every run of ten decimal digits (general category Nd), rising.
/// Source: Unicode 16.0 character database.
#[rustfmt::skip]
const ZEROS: [char; 76] = [
    '\u{30}', '\u{660}', '\u{6F0}', '\u{7C0}', '\u{966}', '\u{9E6}', '\u{A66}', '\u{AE6}', '\u{B66}', '\u{BE6}',
    '\u{C66}', '\u{CE6}', '\u{D66}', '\u{DE6}', '\u{E50}', '\u{ED0}', '\u{F20}', '\u{1040}', '\u{1090}', '\u{17E0}',
    '\u{1810}', '\u{1946}', '\u{19D0}', '\u{1A80}', '\u{1A90}', '\u{1B50}', '\u{1BB0}', '\u{1C40}', '\u{1C50}',
    '\u{A620}', '\u{A8D0}', '\u{A900}', '\u{A9D0}', '\u{A9F0}', '\u{AA50}', '\u{ABF0}', '\u{FF10}', '\u{104A0}',
    '\u{10D30}', '\u{10D40}', '\u{11066}', '\u{110F0}', '\u{11136}', '\u{111D0}', '\u{112F0}', '\u{11450}',
    '\u{114D0}', '\u{11650}', '\u{116C0}', '\u{116D0}', '\u{116DA}', '\u{11730}', '\u{118E0}', '\u{11950}',
    '\u{11BF0}', '\u{11C50}', '\u{11D50}', '\u{11DA0}', '\u{11F50}', '\u{16130}', '\u{16A60}', '\u{16AC0}',
    '\u{16B50}', '\u{16D70}', '\u{1CCF0}', '\u{1D7CE}', '\u{1D7D8}', '\u{1D7E2}', '\u{1D7EC}', '\u{1D7F6}',
    '\u{1E140}', '\u{1E2F0}', '\u{1E4F0}', '\u{1E5F1}', '\u{1E950}', '\u{1FBF0}',
];

/// Answers `/calculations/claim-number`: `make` {`number`} or `read` {`text`}.
///
/// # Errors
/// `invalid-input`, and for a text that is no claim number `claim-number-symbol`,
/// `claim-number-length` or `claim-number-check`, each at `/text`.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let root = Node::root(input);
    let mut reading = Reading::default();
    let kind = if input.is_object() { reading.text(&root, "kind") } else { None };
    match kind {
        Some("make") => {
            reading.object(&root, &["kind", "number"]);
            let range = i64::from(ClaimNumber::FIRST.0)..=i64::from(ClaimNumber::LAST.0);
            let number = reading.whole(&root, "number", range);
            reading.done()?;
            let number = number.and_then(|number| u32::try_from(number).ok()).unwrap_or_default();
            let claim = ClaimNumber::make(number)
                .map_err(|fault| Refused::new(fault.slug()).at("/number", fault.to_string()))?;
            Ok(json!({ "claim_number": claim, "defaulted": [] }))
        }
        Some("read") => {
            reading.object(&root, &["kind", "text"]);
            let text = reading.text(&root, "text");
            reading.done()?;
            let claim = ClaimNumber::read(text.unwrap_or_default())
                .map_err(|fault| Refused::new(fault.slug()).at("/text", fault.to_string()))?;
            Ok(json!({ "claim_number": claim, "number": claim.number(), "defaulted": [] }))
        }
        _ => {
            reading.object(&root, &["kind", "number", "text"]);
            if kind.is_some() {
                reading.fault("/kind", "must be make or read");
            }
            Err(Refused { slug: "invalid-input", faults: reading.faults })
        }
    }
}
