//! The one place where the money of a quote is added.
//!
//! Everything is counted in whole minor units; what is rounded is rounded half away
//! from zero, once per line, once per tax class and once for a percentage of the whole.

use super::money::{Currency, Money, MoneyFault, plain_decimal};
use crate::calculation::{Fault, Node, Reading, Refused};
use num_bigint::BigUint;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::cmp::Reverse;
use std::collections::HashMap;

/// What a quote adds up. The lines are those the owner is to pay: leave out optional
/// ones that were not ticked.
#[derive(Debug, Clone, PartialEq)]
pub struct QuoteInput {
    /// The currency of everything in it.
    pub currency: Currency,
    /// Whether the unit prices contain the tax already.
    pub prices_include_tax: bool,
    /// The tax classes, each with its own id, in the order they are shown.
    pub tax_classes: Vec<TaxClass>,
    /// One to [`MOST_LINES`] lines.
    pub lines: Vec<QuoteLine>,
    /// Taken off the whole quote, after the discounts of lines and before tax is
    /// added; shared over the lines by their amounts.
    pub discount: Option<PercentOrAmount>,
    /// What the owner allowed beforehand, tax included.
    pub authorised: Option<Money>,
    /// What is asked for before the work starts; a percentage is of the total.
    pub deposit: Option<PercentOrAmount>,
    /// What was paid already; nothing when left out.
    pub paid: Option<Money>,
}

/// A tax class of the shop. What tax applies is the shop's and its adviser's matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaxClass {
    /// By which lines name it.
    pub id: String,
    /// 0…100 with up to three places.
    pub percent: Decimal,
}

/// One line of a quote. It is never below zero: credit goes by discount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuoteLine {
    /// Hours, pieces, ...: below 10¹², up to three places.
    pub quantity: Decimal,
    /// Below 10¹² major units, up to six places: finer than the minor unit is allowed.
    pub unit_price: Decimal,
    /// The id of one of the tax classes.
    pub tax_class: String,
    /// Taken off this line, 0…100 with up to three places.
    pub discount_percent: Option<Decimal>,
}

/// A share of the whole, or a fixed sum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PercentOrAmount {
    /// 0…100 with up to three places.
    Percent(Decimal),
    /// Not below zero.
    Amount(Money),
}

/// What a quote adds up to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct Totals {
    /// One for each line, in the same order.
    pub lines: Vec<LineTotals>,
    /// One for each tax class, in the same order, also for those without lines.
    pub tax_classes: Vec<TaxClassTotals>,
    /// Without tax.
    pub net: Money,
    /// The tax.
    pub tax: Money,
    /// What the owner pays: net and tax.
    pub total: Money,
    /// Whether the total is within what was authorised; only if that was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within_authorised: Option<bool>,
    /// By how much the total is over what was authorised; only if that was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over_by: Option<Money>,
    /// The deposit asked for; only if one is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deposit: Option<Money>,
    /// What is still to be paid.
    pub due: Money,
    /// What was paid too much.
    pub overpaid: Money,
    /// What is still to be paid of the deposit; only if one is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deposit_open: Option<Money>,
}

/// What one line adds up to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct LineTotals {
    /// Quantity times unit price.
    pub amount: Money,
    /// The discount of this line.
    pub line_discount: Money,
    /// This line's share of the discount on the whole quote.
    pub quote_discount: Money,
    /// What is left after both.
    pub after_discount: Money,
}

/// What the lines of one tax class add up to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct TaxClassTotals {
    /// The id of the class.
    pub id: String,
    /// Without tax.
    pub net: Money,
    /// The tax.
    pub tax: Money,
    /// With tax.
    pub gross: Money,
}

/// No quote has more lines.
pub const MOST_LINES: usize = 500;

/// Adds up a quote.
///
/// # Errors
/// `invalid-input` with a fault for everything outside its range, each class named by
/// a line that is not there or twice there, an amount in another currency, and a
/// discount larger than the lines; the pointers are those of the computation's JSON.
/// Also, at `/lines`, for a sum beyond the 28 digits of [`Money`].
///
/// Source: COMPUTATIONS.md, quote-totals.
pub fn totals(quote: &QuoteInput) -> Result<Totals, Refused> {
    let faults = faults_of(quote);
    if !faults.is_empty() {
        return Err(Refused { slug: "invalid-input", faults });
    }
    let net: Vec<(i128, i128)> =
        quote.lines.iter().map(|line| amount_and_discount(line, quote.currency)).collect();
    let after_line_discounts: Vec<i128> =
        net.iter().map(|(amount, discount)| amount - discount).collect();
    let sum: i128 = after_line_discounts.iter().sum();
    let off = match quote.discount {
        None => 0,
        Some(PercentOrAmount::Percent(percent)) => part_of(sum, thousandths(percent)),
        Some(PercentOrAmount::Amount(amount)) => amount.minor_units(),
    };
    if off > sum {
        return Err(
            Refused::new("invalid-input").at("/discount/amount", "is more than the lines come to")
        );
    }
    let shares = share_out(off, &after_line_discounts);
    add_up(quote, &net, &shares).map_err(|_| {
        Refused::new("invalid-input").at("/lines", "come to a sum of more than 28 digits")
    })
}

/// Shares `off` minor units over `amounts` by the largest remainder: each gets the
/// whole units of its proportional share, the units left over go one each to the
/// largest remainders, ties to the earlier.
///
/// * `off`: 0…sum of `amounts`; `amounts`: none below zero.
///
/// Gives as many shares as amounts, which sum to `off`; no share is above its amount.
#[must_use]
pub fn share_out(off: i128, amounts: &[i128]) -> Vec<i128> {
    let sum: i128 = amounts.iter().sum();
    if sum <= 0 {
        return vec![0; amounts.len()];
    }
    // The product of two sums can need 200 bits, so it is taken in big integers.
    let (whole, part) = (BigUint::from(sum.unsigned_abs()), BigUint::from(off.unsigned_abs()));
    let mut shares = Vec::with_capacity(amounts.len());
    let mut remainders = Vec::with_capacity(amounts.len());
    for amount in amounts {
        let product = &part * amount.unsigned_abs();
        let share = i128::try_from(&product / &whole).expect("a share is never above its amount");
        remainders.push(product % &whole);
        shares.push(share);
    }
    let left_over = off - shares.iter().sum::<i128>();
    let left_over =
        usize::try_from(left_over).expect("fewer units are left over than there are amounts");
    let mut order: Vec<usize> = (0..amounts.len()).collect();
    order.sort_by_key(|index| Reverse(&remainders[*index]));
    for index in order.into_iter().take(left_over) {
        shares[index] += 1;
    }
    shares
}

/// Amount and line discount in minor units, each rounded.
fn amount_and_discount(line: &QuoteLine, currency: Currency) -> (i128, i128) {
    // Below 10¹⁵ times below 10¹⁸: far from the 10³⁸ of an i128.
    let billionths = thousandths(line.quantity) * scaled(line.unit_price, 6);
    let amount = rounded(billionths, 10_i128.pow(9 - currency.places()));
    let discount = line.discount_percent.map_or(0, |percent| part_of(amount, thousandths(percent)));
    (amount, discount)
}

fn add_up(
    quote: &QuoteInput,
    lines: &[(i128, i128)],
    shares: &[i128],
) -> Result<Totals, MoneyFault> {
    let money = |minor_units| Money::from_minor_units(minor_units, quote.currency);
    let mut of_class: HashMap<&str, i128> = HashMap::new();
    let mut line_totals = Vec::with_capacity(lines.len());
    for ((line, (amount, discount)), share) in quote.lines.iter().zip(lines).zip(shares) {
        let after = amount - discount - share;
        *of_class.entry(&line.tax_class).or_default() += after;
        line_totals.push(LineTotals {
            amount: money(*amount)?,
            line_discount: money(*discount)?,
            quote_discount: money(*share)?,
            after_discount: money(after)?,
        });
    }
    let (mut net, mut tax) = (0, 0);
    let mut class_totals = Vec::with_capacity(quote.tax_classes.len());
    for class in &quote.tax_classes {
        let after = of_class.get(class.id.as_str()).copied().unwrap_or_default();
        let rate = thousandths(class.percent);
        let (class_net, class_tax) = if quote.prices_include_tax {
            let contained = rounded(after * rate, WHOLE + rate);
            (after - contained, contained)
        } else {
            (after, part_of(after, rate))
        };
        net += class_net;
        tax += class_tax;
        class_totals.push(TaxClassTotals {
            id: class.id.clone(),
            net: money(class_net)?,
            tax: money(class_tax)?,
            gross: money(class_net + class_tax)?,
        });
    }
    let total = net + tax;
    let over_by = quote.authorised.map(|authorised| (total - authorised.minor_units()).max(0));
    let deposit = quote.deposit.map(|deposit| match deposit {
        PercentOrAmount::Percent(percent) => part_of(total, thousandths(percent)),
        PercentOrAmount::Amount(amount) => amount.minor_units(),
    });
    let paid = quote.paid.map_or(0, Money::minor_units);
    Ok(Totals {
        lines: line_totals,
        tax_classes: class_totals,
        net: money(net)?,
        tax: money(tax)?,
        total: money(total)?,
        within_authorised: over_by.map(|over_by| over_by == 0),
        over_by: over_by.map(money).transpose()?,
        deposit: deposit.map(money).transpose()?,
        due: money((total - paid).max(0))?,
        overpaid: money((paid - total).max(0))?,
        deposit_open: deposit.map(|deposit| money((deposit - paid).max(0))).transpose()?,
    })
}

/// A hundred percent in thousandths of a percent.
const WHOLE: i128 = 100_000;

/// So many thousandths of a percent of `amount`, rounded. The largest sum of lines
/// (5 · 10³⁰ minor units) times `WHOLE` stays below the 10³⁸ of an i128.
fn part_of(amount: i128, percent_thousandths: i128) -> i128 {
    rounded(amount * percent_thousandths, WHOLE)
}

/// `above / below`, half away from zero; neither is below zero.
fn rounded(above: i128, below: i128) -> i128 {
    (above + below / 2) / below
}

fn thousandths(number: Decimal) -> i128 {
    scaled(number, 3)
}

/// `number · 10^places`; the number was checked to be no finer.
fn scaled(number: Decimal, places: u32) -> i128 {
    let number = number.normalize();
    number.mantissa() * 10_i128.pow(places.saturating_sub(number.scale()))
}

fn faults_of(quote: &QuoteInput) -> Vec<Fault> {
    let mut faults = Faults(Vec::new());
    let mut ids = HashMap::new();
    for (index, class) in quote.tax_classes.iter().enumerate() {
        faults.percent(format!("/tax_classes/{index}/percent"), class.percent);
        if let Some(first) = ids.insert(class.id.as_str(), index) {
            faults.add(
                format!("/tax_classes/{index}/id"),
                format!("is the id of tax class {first} already"),
            );
        }
    }
    if quote.lines.is_empty() || quote.lines.len() > MOST_LINES {
        faults.add("/lines", format!("must be 1 to {MOST_LINES} lines"));
    }
    for (index, line) in quote.lines.iter().enumerate() {
        faults.number(format!("/lines/{index}/quantity"), line.quantity, 3);
        faults.number(format!("/lines/{index}/unit_price"), line.unit_price, 6);
        if !ids.contains_key(line.tax_class.as_str()) {
            faults.add(format!("/lines/{index}/tax_class"), "is none of the tax classes");
        }
        if let Some(percent) = line.discount_percent {
            faults.percent(format!("/lines/{index}/discount_percent"), percent);
        }
    }
    for (pointer, part) in [("/discount", quote.discount), ("/deposit", quote.deposit)] {
        match part {
            None => {}
            Some(PercentOrAmount::Percent(percent)) => {
                faults.percent(format!("{pointer}/percent"), percent)
            }
            Some(PercentOrAmount::Amount(amount)) => {
                faults.amount(format!("{pointer}/amount"), amount, quote.currency)
            }
        }
    }
    for (pointer, amount) in [("/authorised", quote.authorised), ("/paid", quote.paid)] {
        if let Some(amount) = amount {
            faults.amount(pointer, amount, quote.currency);
        }
    }
    faults.0
}

struct Faults(Vec<Fault>);

impl Faults {
    fn add(&mut self, pointer: impl Into<String>, message: impl Into<String>) {
        self.0.push(Fault { pointer: pointer.into(), message: message.into() });
    }

    fn number(&mut self, pointer: String, number: Decimal, places: u32) {
        if number.is_sign_negative() && !number.is_zero() {
            self.add(pointer, "is below zero; credit goes by discount");
        } else if number >= Decimal::from(1_000_000_000_000_i64) {
            self.add(pointer, "has more than 12 digits before the point");
        } else if number.normalize().scale() > places {
            self.add(pointer, format!("has more than {places} decimal places"));
        }
    }

    fn percent(&mut self, pointer: String, percent: Decimal) {
        if percent < Decimal::ZERO || percent > Decimal::ONE_HUNDRED {
            self.add(pointer, "is outside 0 to 100");
        } else if percent.normalize().scale() > 3 {
            self.add(pointer, "has more than 3 decimal places");
        }
    }

    fn amount(&mut self, pointer: impl Into<String>, amount: Money, currency: Currency) {
        if amount.currency() != currency {
            self.add(pointer, MoneyFault::OtherCurrency.to_string());
        } else if amount.is_negative() {
            self.add(pointer, "is below zero");
        }
    }
}

/// Answers `/calculations/quote-totals`.
///
/// # Errors
/// `invalid-input`, as [`totals`], and for numbers that are not written as texts of
/// plain digits, amounts finer than the minor unit and unknown kinds of lines.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let mut reading = Reading::default();
    let quote = read(&mut reading, &Node::root(input));
    if reading.faults.is_empty() {
        let mut answer = serde_json::to_value(totals(&quote)?)
            .expect("totals are texts, lists and maps with text keys");
        answer["defaulted"] = json!(reading.defaulted);
        return Ok(answer);
    }
    for fault in faults_of(&quote) {
        if !reading.faults.iter().any(|known| known.pointer == fault.pointer) {
            reading.faults.push(fault);
        }
    }
    Err(Refused { slug: "invalid-input", faults: reading.faults })
}

/// The kinds of lines. They take no part in the sums.
const KINDS: [&str; 4] = ["labour", "material", "outside", "rush"];

/// Reads the quote. What could not be read is noted as a fault and stands in the quote
/// as zero, empty or left out, so that the rest can be looked at too.
fn read(reading: &mut Reading, root: &Node<'_>) -> QuoteInput {
    reading.object(
        root,
        &[
            "currency",
            "prices_include_tax",
            "tax_classes",
            "lines",
            "discount",
            "authorised",
            "deposit",
            "paid",
        ],
    );
    let currency = reading.text(root, "currency").and_then(|code| {
        Currency::from_code(code)
            .map_err(|fault| reading.fault("/currency", fault.to_string()))
            .ok()
    });
    let prices_include_tax = match root.get("prices_include_tax").map(|found| found.value.as_bool())
    {
        Some(Some(answer)) => answer,
        Some(None) => {
            reading.fault("/prices_include_tax", "must be true or false");
            false
        }
        None => {
            reading
                .fault("/prices_include_tax", "is missing; say whether the prices contain the tax");
            false
        }
    };
    let mut tax_classes = Vec::new();
    for node in reading.list(root, "tax_classes") {
        reading.object(&node, &["id", "percent"]);
        let id = reading.text(&node, "id").unwrap_or_default().to_owned();
        let percent = decimal(reading, &node, "percent").unwrap_or_default();
        tax_classes.push(TaxClass { id, percent });
    }
    let mut lines = Vec::new();
    for node in reading.list(root, "lines") {
        lines.push(read_line(reading, &node));
    }
    QuoteInput {
        prices_include_tax,
        tax_classes,
        lines,
        discount: percent_or_amount(reading, root, "discount", currency),
        authorised: amount_if(reading, root, "authorised", currency),
        deposit: percent_or_amount(reading, root, "deposit", currency),
        paid: amount_if(reading, root, "paid", currency),
        currency: currency.unwrap_or(Currency::EUR),
    }
}

fn read_line(reading: &mut Reading, node: &Node<'_>) -> QuoteLine {
    reading.object(node, &["kind", "quantity", "unit_price", "tax_class", "discount_percent"]);
    if let Some(kind) = reading.text(node, "kind")
        && !KINDS.contains(&kind)
    {
        reading.fault(node.below("kind"), format!("must be one of {}", KINDS.join(", ")));
    }
    QuoteLine {
        quantity: decimal(reading, node, "quantity").unwrap_or_default(),
        unit_price: decimal(reading, node, "unit_price").unwrap_or_default(),
        tax_class: reading.text(node, "tax_class").unwrap_or_default().to_owned(),
        discount_percent: node
            .get("discount_percent")
            .and_then(|found| decimal_at(reading, &found)),
    }
}

fn percent_or_amount(
    reading: &mut Reading,
    root: &Node<'_>,
    key: &str,
    currency: Option<Currency>,
) -> Option<PercentOrAmount> {
    let node = root.get(key)?;
    reading.object(&node, &["percent", "amount"])?;
    match (node.get("percent"), node.get("amount")) {
        (Some(percent), None) => decimal_at(reading, &percent).map(PercentOrAmount::Percent),
        (None, Some(_)) => {
            amount_if(reading, &node, "amount", currency).map(PercentOrAmount::Amount)
        }
        _ => {
            reading.fault(&node.pointer, "must have either percent or amount");
            None
        }
    }
}

fn amount_if(
    reading: &mut Reading,
    node: &Node<'_>,
    key: &str,
    currency: Option<Currency>,
) -> Option<Money> {
    let found = node.get(key)?;
    let amount = decimal_at(reading, &found)?;
    Money::new(amount, currency?)
        .map_err(|fault| reading.fault(&found.pointer, fault.to_string()))
        .ok()
}

fn decimal(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<Decimal> {
    match node.get(key) {
        Some(found) => decimal_at(reading, &found),
        None => {
            reading.fault(node.below(key), "is missing; give a text of plain decimal digits");
            None
        }
    }
}

fn decimal_at(reading: &mut Reading, found: &Node<'_>) -> Option<Decimal> {
    let read =
        found.value.as_str().ok_or(MoneyFault::NotPlain).and_then(|text| plain_decimal(text, 12));
    read.map_err(|fault| reading.fault(&found.pointer, fault.to_string())).ok()
}
