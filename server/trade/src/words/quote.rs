//! The content of a quote: what the owner reads, answers, and is bound to.

use super::ids::OperationId;
use super::money::{Currency, Money, plain};
use super::own_or_typical::Kind;
use super::paperwork::LineKind;
use super::quote_totals::{self, PercentOrAmount, QuoteInput, TaxClass, Totals};
use crate::calculation::Refused;
use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// One line of a quote as the owner reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ContentLine {
    /// The line's own id; a decision names the optional lines it chose by it.
    pub id: Uuid,
    /// What the line is for.
    pub kind: LineKind,
    /// What the owner reads.
    pub text: String,
    /// Hours or pieces, up to three places.
    #[schema(value_type = String, pattern = r"^\d{1,12}(\.\d{1,3})?$", example = "1.5")]
    pub quantity: Decimal,
    /// In the quote's currency, up to six places.
    #[schema(value_type = String, pattern = r"^\d{1,12}(\.\d{1,6})?$", example = "62.50")]
    pub unit_price: Decimal,
    /// One of the shop's tax classes.
    pub tax_class: String,
    /// Taken off this line, 0…100.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,3}(\.\d{1,3})?$")]
    pub discount_percent: Option<Decimal>,
    /// Unticked until the owner ticks it.
    pub optional: bool,
    /// The operation that this line pays for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub operation_id: Option<OperationId>,
    /// Whether that operation cannot be undone.
    pub irreversible: bool,
    /// Whether the line was not in the version accepted before.
    pub is_new: bool,
}

/// A tax class as it stood when the quote was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ContentTaxClass {
    /// By which lines name it.
    pub id: String,
    /// 0…100 with up to three places.
    #[serde(deserialize_with = "plain::decimal")]
    #[schema(value_type = String, pattern = r"^\d{1,3}(\.\d{1,3})?$")]
    pub percent: Decimal,
}

/// A decimal as a text of plain digits, for the API document alone.
#[derive(utoipa::ToSchema)]
#[schema(value_type = String, pattern = r"^\d{1,13}(\.\d{1,6})?$", example = "12.5")]
#[expect(dead_code, reason = "its schema is all there is to it")]
pub struct PlainDecimal(String);

/// A discount on the whole quote: either a percentage or an amount.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, utoipa::ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ContentDiscount {
    /// 0…100 with up to three places.
    #[schema(value_type = PlainDecimal)]
    Percent(Decimal),
    /// In the quote's currency.
    #[schema(value_type = PlainDecimal)]
    Amount(Decimal),
}

/// The honest range: what may still turn up beyond what was found, and what it may cost. It is told
/// with the quote and sealed with it; it authorises nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FurtherRange {
    /// Typical while the shop has too few closed orders of its own.
    pub kind: Kind,
    /// Closed orders of the shop.
    pub orders_count: u32,
    /// Those of them that are alike in age, make and earlier repairs; 0 while typical.
    pub alike_count: u32,
    /// Whether the instrument is fifty years old or more.
    pub is_old: bool,
    /// In so many of 100 such instruments nothing more turned up.
    pub none_of_hundred: u32,
    /// In 50 of 100 no more cracks and open joints than this turned up later.
    pub count_p50: u32,
    /// In 85 of 100.
    pub count_p85: u32,
    /// In 50 of 100 they cost no more, tax included, in the quote's currency.
    #[schema(value_type = PlainDecimal)]
    pub cost_p50: Decimal,
    /// In 85 of 100.
    #[schema(value_type = PlainDecimal)]
    pub cost_p85: Decimal,
    /// In 95 of 100.
    #[schema(value_type = PlainDecimal)]
    pub cost_p95: Decimal,
}

impl FurtherRange {
    /// What the owner is told of it, with the amounts as their page and letter write them; also
    /// that nothing more is to be expected, where it is so.
    #[must_use]
    pub fn words(&self, said: impl Fn(Decimal) -> String) -> String {
        let rests_on = match self.kind {
            Kind::Typical => "These are typical figures, not yet this shop’s own.".to_owned(),
            Kind::Own => format!("This rests on {} instruments that were repaired here.", self.orders_count),
        };
        if self.cost_p85 <= Decimal::ZERO {
            // A share that is rounded to all of them is not all of them.
            let none = if self.none_of_hundred >= 100 {
                "in more than 99 of 100 such instruments nothing more turned up".to_owned()
            } else {
                format!("in {} of 100 such instruments nothing more turned up", self.none_of_hundred)
            };
            let seldom = if self.cost_p95 > Decimal::ZERO {
                format!(", and in 5 of 100 what turned up later cost more than {}", said(self.cost_p95))
            } else {
                String::new()
            };
            return format!("What may still be hidden: {none}{seldom}. {rests_on}");
        }
        let opening = if self.is_old { "Old instruments hide cracks" } else { "An instrument can hide a crack" };
        let half = if self.cost_p50 > Decimal::ZERO {
            format!("in half of such instruments what turned up later cost more than {}, ", said(self.cost_p50))
        } else {
            format!("in {} of 100 such instruments nothing more turned up, ", self.none_of_hundred)
        };
        format!("{opening}: {half}and in 15 of 100 it was more than {}. {rests_on}", said(self.cost_p85))
    }
}

/// Read by hand, so that every fault is found at the field where it lies.
impl<'de> Deserialize<'de> for ContentDiscount {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct OneOfTwo {
            #[serde(default, deserialize_with = "plain::optional")]
            percent: Option<Decimal>,
            #[serde(default, deserialize_with = "plain::optional")]
            amount: Option<Decimal>,
        }
        match OneOfTwo::deserialize(from)? {
            OneOfTwo { percent: Some(percent), amount: None } => Ok(Self::Percent(percent)),
            OneOfTwo { percent: None, amount: Some(amount) } => Ok(Self::Amount(amount)),
            OneOfTwo { .. } => Err(D::Error::custom("must be a percent or an amount, one of the two")),
        }
    }
}

/// What a quote asks its owner to allow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asks {
    /// It costs nothing.
    Nothing,
    /// What the lines come to.
    Lines,
    /// What the lines come to, and each optional one that is ticked.
    LinesAndTicks,
    /// Only optional lines that are ticked.
    Ticks,
    /// More than all its lines: for what may still turn up.
    Room,
}

impl Asks {
    /// What a limit is for. Amounts in the quote's currency, tax included.
    ///
    /// * `total`: of the lines that are not optional.
    /// * `with_optional`: of all lines.
    #[must_use]
    pub fn of(limit: Decimal, total: Decimal, with_optional: Decimal) -> Self {
        // An optional discount makes all of them less.
        let all = with_optional.max(total);
        if limit.is_zero() {
            Self::Nothing
        } else if limit > all {
            Self::Room
        } else if all == total {
            Self::Lines
        } else if total.is_zero() {
            Self::Ticks
        } else {
            Self::LinesAndTicks
        }
    }
}

/// Everything a quote version binds the owner and the shop to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteContent {
    /// What was found and what the shop would do, and why, in the shop's words.
    pub message: Option<String>,
    /// The lines, 1…500 when sent.
    pub lines: Vec<ContentLine>,
    /// The discount on the whole.
    pub discount: Option<ContentDiscount>,
    /// The tax classes that the lines name.
    pub tax_classes: Vec<ContentTaxClass>,
    /// Whether unit prices hold the tax.
    pub prices_include_tax: bool,
    /// The currency of every price.
    pub currency: Currency,
    /// The most that the owner is asked to authorise, tax included; see [`Self::authorises`].
    pub limit: Decimal,
    /// The last day on which it can be accepted, as a date of the shop.
    pub expires_on: NaiveDate,
    /// What may still turn up, as told with it. Left out where nothing was told, so that older
    /// versions keep their hash.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<FurtherRange>,
}

impl QuoteContent {
    /// Adds up the lines for which `counts` is true.
    ///
    /// # Errors
    /// As [`quote_totals::totals`]; also when no line counts.
    pub fn totals(&self, counts: impl Fn(&ContentLine) -> bool) -> Result<Totals, Refused> {
        let lines = self.lines.iter().filter(|line| counts(line)).map(totals_line).collect();
        quote_totals::totals(&self.input(lines)?)
    }

    /// Adds up the lines that are not optional; nothing but zeros when there are none.
    ///
    /// # Errors
    /// As [`quote_totals::totals`].
    pub fn total_without_optional(&self) -> Result<Decimal, Refused> {
        self.total_of(|line| !line.optional)
    }

    /// The total, tax included, of the lines for which `counts` is true; zero for no lines.
    ///
    /// # Errors
    /// As [`quote_totals::totals`].
    pub fn total_of(&self, counts: impl Fn(&ContentLine) -> bool) -> Result<Decimal, Refused> {
        if self.lines.iter().any(&counts) {
            // A discount in money can be larger than a part of the lines; it is then worth no
            // more than that part.
            match self.totals(&counts) {
                Ok(totals) => Ok(totals.total.amount()),
                Err(refused) if refused.faults.iter().all(|fault| fault.pointer == "/discount/amount") => Ok(Decimal::ZERO),
                Err(refused) => Err(refused),
            }
        } else {
            Ok(Decimal::ZERO)
        }
    }

    /// The most that an acceptance of the lines for which `counts` is true authorises, tax
    /// included: the limit where it leaves room beyond all lines, else what those lines come to. The money of an
    /// optional line that was left out is then for nothing else.
    ///
    /// # Errors
    /// As [`quote_totals::totals`].
    pub fn authorises(&self, counts: impl Fn(&ContentLine) -> bool) -> Result<Decimal, Refused> {
        match Asks::of(self.limit, self.total_without_optional()?, self.total_of(|_| true)?) {
            Asks::Room => Ok(self.limit),
            Asks::Nothing | Asks::Lines | Asks::LinesAndTicks | Asks::Ticks => self.total_of(counts),
        }
    }

    /// SHA-256 of the content in one fixed spelling, in hexadecimal: what a decision is bound to.
    #[must_use]
    pub fn hash(&self) -> String {
        // A struct serializes its fields in the order of their declaration, so the same content
        // always has the same bytes.
        let bytes = serde_json::to_vec(self).expect("a quote has only texts, numbers and lists");
        Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect()
    }

    fn input(&self, lines: Vec<quote_totals::QuoteLine>) -> Result<QuoteInput, Refused> {
        let discount = match &self.discount {
            None => None,
            Some(ContentDiscount::Percent(percent)) => Some(PercentOrAmount::Percent(*percent)),
            Some(ContentDiscount::Amount(amount)) => Some(PercentOrAmount::Amount(
                Money::new(*amount, self.currency)
                    .map_err(|_| Refused::new("invalid-input").at("/discount/amount", "is finer than the currency's smallest unit"))?,
            )),
        };
        Ok(QuoteInput {
            currency: self.currency,
            prices_include_tax: self.prices_include_tax,
            tax_classes: self.tax_classes.iter().map(|c| TaxClass { id: c.id.clone(), percent: c.percent }).collect(),
            lines,
            discount,
            authorised: None,
            deposit: None,
            paid: None,
        })
    }
}

fn totals_line(line: &ContentLine) -> quote_totals::QuoteLine {
    quote_totals::QuoteLine {
        quantity: line.quantity,
        unit_price: line.unit_price,
        tax_class: line.tax_class.clone(),
        discount_percent: line.discount_percent,
    }
}
