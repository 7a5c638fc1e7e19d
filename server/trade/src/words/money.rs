//! Money: an exact amount in a currency, never finer than its minor unit.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

/// A currency of ISO 4217 that has a minor unit (so neither gold nor `XXX`).
///
/// In JSON its three letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(try_from = "String", into = "String")]
#[schema(value_type = String, pattern = "^[A-Z]{3}$", example = "EUR")]
pub struct Currency(iso_currency::Currency);

/// An exact amount of money: a whole number of the currency's minor units.
///
/// In JSON `{"amount": "123.45", "currency": "EUR"}`, the amount a text of plain
/// digits with exactly the currency's places when written; fewer are read too. A
/// JSON number is refused, because it may have passed through a float. May be below
/// zero (money given back). Holds up to 2⁹⁶ − 1 minor units either way, which is what
/// a [`Decimal`] holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "MoneyText", into = "MoneyText")]
pub struct Money {
    minor_units: i128,
    currency: Currency,
}

/// Why this is no money.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoneyFault {
    /// No currency of ISO 4217 with a minor unit has this code.
    UnknownCurrency,
    /// The amount is not written in plain decimal digits.
    NotPlain,
    /// The amount is finer than the currency's minor unit.
    FinerThanMinorUnit(Currency),
    /// The amount has more than 28 digits.
    TooLarge,
    /// The two amounts are in different currencies.
    OtherCurrency,
}

impl Currency {
    /// The euro.
    pub const EUR: Self = Self(iso_currency::Currency::EUR);

    /// The currency with this code of three capitals.
    ///
    /// # Errors
    /// [`MoneyFault::UnknownCurrency`].
    pub fn from_code(code: &str) -> Result<Self, MoneyFault> {
        iso_currency::Currency::from_code(code)
            .filter(|known| known.exponent().is_some())
            .map(Self)
            .ok_or(MoneyFault::UnknownCurrency)
    }

    /// Its code of three capitals.
    #[must_use]
    pub fn code(self) -> &'static str {
        self.0.code()
    }

    /// How many decimal places its minor unit has, 0…4.
    #[must_use]
    pub fn places(self) -> u32 {
        u32::from(self.0.exponent().expect("from_code lets no currency without a minor unit in"))
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Currency {
    type Err = MoneyFault;

    fn from_str(code: &str) -> Result<Self, Self::Err> {
        Self::from_code(code)
    }
}

impl TryFrom<String> for Currency {
    type Error = MoneyFault;

    fn try_from(code: String) -> Result<Self, Self::Error> {
        Self::from_code(&code)
    }
}

impl From<Currency> for String {
    fn from(currency: Currency) -> Self {
        currency.code().to_owned()
    }
}

impl Money {
    /// This amount of major units (euros, not cents).
    ///
    /// # Errors
    /// `FinerThanMinorUnit`; trailing zeros do not count. `TooLarge`.
    pub fn new(amount: Decimal, currency: Currency) -> Result<Self, MoneyFault> {
        let amount = amount.normalize();
        let missing = currency
            .places()
            .checked_sub(amount.scale())
            .ok_or(MoneyFault::FinerThanMinorUnit(currency))?;
        // A mantissa has 96 bits and at most four places are missing: no overflow.
        Self::from_minor_units(amount.mantissa() * 10_i128.pow(missing), currency)
    }

    /// So many minor units (cents of a euro, whole yen).
    ///
    /// # Errors
    /// `TooLarge` beyond 2⁹⁶ − 1.
    pub fn from_minor_units(minor_units: i128, currency: Currency) -> Result<Self, MoneyFault> {
        if minor_units.unsigned_abs() < 1 << 96 {
            Ok(Self { minor_units, currency })
        } else {
            Err(MoneyFault::TooLarge)
        }
    }

    /// Nothing, in this currency.
    #[must_use]
    pub fn zero(currency: Currency) -> Self {
        Self { minor_units: 0, currency }
    }

    /// The amount in major units, with exactly the currency's places.
    #[must_use]
    pub fn amount(self) -> Decimal {
        Decimal::try_from_i128_with_scale(self.minor_units, self.currency.places())
            .expect("from_minor_units lets no more than 96 bits in")
    }

    /// The amount in minor units.
    #[must_use]
    pub fn minor_units(self) -> i128 {
        self.minor_units
    }

    /// The currency.
    #[must_use]
    pub fn currency(self) -> Currency {
        self.currency
    }

    /// Whether it is nothing.
    #[must_use]
    pub fn is_zero(self) -> bool {
        self.minor_units == 0
    }

    /// Whether it is below zero.
    #[must_use]
    pub fn is_negative(self) -> bool {
        self.minor_units < 0
    }

    /// Both together.
    ///
    /// # Errors
    /// `OtherCurrency`, `TooLarge`.
    pub fn plus(self, other: Self) -> Result<Self, MoneyFault> {
        if self.currency != other.currency {
            return Err(MoneyFault::OtherCurrency);
        }
        Self::from_minor_units(self.minor_units + other.minor_units, self.currency)
    }

    /// This without the other; below zero when the other is more.
    ///
    /// # Errors
    /// `OtherCurrency`, `TooLarge`.
    pub fn minus(self, other: Self) -> Result<Self, MoneyFault> {
        if self.currency != other.currency {
            return Err(MoneyFault::OtherCurrency);
        }
        Self::from_minor_units(self.minor_units - other.minor_units, self.currency)
    }
}

/// Amounts of one currency have an order; those of two have none.
impl PartialOrd for Money {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        (self.currency == other.currency).then(|| self.minor_units.cmp(&other.minor_units))
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.amount(), self.currency)
    }
}

/// How money is written in JSON.
#[derive(Serialize, Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
struct MoneyText {
    /// Plain decimal digits, in major units, no finer than the currency's minor unit.
    #[schema(example = "123.45", pattern = r"^-?\d{1,28}(\.\d{1,6})?$")]
    amount: String,
    /// The shop's currency, by its ISO 4217 code.
    currency: Currency,
}

impl From<Money> for MoneyText {
    fn from(money: Money) -> Self {
        Self { amount: money.amount().to_string(), currency: money.currency }
    }
}

impl TryFrom<MoneyText> for Money {
    type Error = MoneyFault;

    fn try_from(text: MoneyText) -> Result<Self, Self::Error> {
        let (sign, digits) = match text.amount.strip_prefix('-') {
            Some(digits) => (-1, digits),
            None => (1, text.amount.as_str()),
        };
        let amount = plain_decimal(digits, 28)?;
        Self::new(amount * Decimal::from(sign), text.currency)
    }
}

impl utoipa::PartialSchema for Money {
    fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
        MoneyText::schema()
    }
}

impl utoipa::ToSchema for Money {
    fn schemas(schemas: &mut Vec<(String, utoipa::openapi::RefOr<utoipa::openapi::Schema>)>) {
        MoneyText::schemas(schemas);
    }
}

/// Reads a decimal of plain digits, without sign or exponent: one to `most` digits,
/// then perhaps a point and one to six more.
///
/// # Errors
/// `NotPlain`; `TooLarge` when it has more digits than a [`Decimal`] keeps.
pub fn plain_decimal(text: &str, most: usize) -> Result<Decimal, MoneyFault> {
    let are_digits = |part: &str, most: usize| {
        (1..=most).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
    };
    let plain = match text.split_once('.') {
        Some((whole, places)) => are_digits(whole, most) && are_digits(places, 6),
        None => are_digits(text, most),
    };
    if !plain {
        return Err(MoneyFault::NotPlain);
    }
    Decimal::from_str_exact(text).map_err(|_| MoneyFault::TooLarge)
}

/// Reading decimals out of JSON: texts of plain digits alone, as the document says of each field.
/// A [`Decimal`]'s own reader also takes `1.`, `.5`, `+1` and `1_000`.
pub mod plain {
    use super::plain_decimal;
    use rust_decimal::Decimal;
    use serde::{Deserialize, Deserializer, de::Error};

    /// A decimal that must be there.
    ///
    /// # Errors
    /// When it is no text of plain digits.
    pub fn decimal<'de, D: Deserializer<'de>>(from: D) -> Result<Decimal, D::Error> {
        let text = String::deserialize(from)?;
        plain_decimal(&text, 28).map_err(D::Error::custom)
    }

    /// A decimal that may be left out or null.
    ///
    /// # Errors
    /// When it is no text of plain digits.
    pub fn optional<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Decimal>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| plain_decimal(&text, 28).map_err(D::Error::custom)).transpose()
    }
}

impl fmt::Display for MoneyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownCurrency => f.write_str(
                "is no currency of ISO 4217 with a minor unit; give three capitals such as EUR",
            ),
            Self::NotPlain => f.write_str(
                "must be a text of plain decimal digits, such as \"12.50\", without exponent",
            ),
            Self::FinerThanMinorUnit(currency) => {
                write!(
                    f,
                    "is finer than {currency} allows; it has {} decimal places",
                    currency.places()
                )
            }
            Self::TooLarge => f.write_str("has too many digits to be an amount"),
            Self::OtherCurrency => f.write_str("is in another currency"),
        }
    }
}

impl std::error::Error for MoneyFault {}
