//! What is to be paid at the end: what was accepted and done, never more than was authorised.

use crate::calculation::Refused;
use crate::words::ids::OperationId;
use crate::words::money::{Currency, Money};
use crate::words::paperwork::LineKind;
use crate::words::quote::{ContentLine, ContentTaxClass, QuoteContent};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// One operation as the bill sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BilledOperation {
    /// Which one.
    pub id: OperationId,
    /// What it is called.
    pub title: String,
    /// Its unit price in the shop's currency, as on a quote line.
    pub price: Decimal,
    /// Its tax class.
    pub tax_class: String,
    /// Whether it is done.
    pub is_done: bool,
}

/// What the bill is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BillFacts {
    /// The latest accepted, undisputed version with the ids of the lines that count
    /// (all that are not optional, and the optional ones that were chosen).
    pub accepted: Option<(QuoteContent, Vec<Uuid>)>,
    /// Every operation of the order.
    pub operations: Vec<BilledOperation>,
    /// Whether the work came to its end: then lines without an operation are charged too.
    pub is_finished: bool,
    /// Charged when the owner declined and nothing was accepted.
    pub examination_fee: Option<Decimal>,
    /// The shop's currency.
    pub currency: Currency,
    /// The shop's tax classes, for work that no version names.
    pub tax_classes: Vec<ContentTaxClass>,
    /// Whether the shop's prices hold the tax.
    pub prices_include_tax: bool,
}

/// What is charged, tax included: the accepted lines whose operation is done, accepted lines
/// without an operation once the work is finished, and done operations that no accepted line
/// names (they were started within the limit). Nothing accepted and nothing done: the
/// examination fee, if one was told at check-in.
///
/// # Errors
/// As [`QuoteContent::totals`].
pub fn charged(facts: &BillFacts) -> Result<Money, Refused> {
    let done = |id: OperationId| facts.operations.iter().any(|o| o.id == id && o.is_done);
    let mut content = match &facts.accepted {
        Some((content, counted)) => {
            let mut content = content.clone();
            content.lines.retain(|line| {
                counted.contains(&line.id)
                    && match line.operation_id {
                        Some(operation) => done(operation),
                        None => facts.is_finished,
                    }
            });
            content
        }
        None => QuoteContent {
            message: None,
            lines: Vec::new(),
            discount: None,
            tax_classes: facts.tax_classes.clone(),
            prices_include_tax: facts.prices_include_tax,
            currency: facts.currency,
            limit: Decimal::ZERO,
            expires_on: NaiveDate::MAX,
        },
    };
    for operation in facts.operations.iter().filter(|operation| operation.is_done) {
        let is_named = content.lines.iter().any(|line| line.operation_id == Some(operation.id));
        if !is_named && operation.price > Decimal::ZERO {
            content.lines.push(ContentLine {
                id: operation.id.0,
                kind: LineKind::Labour,
                text: operation.title.clone(),
                quantity: Decimal::ONE,
                unit_price: operation.price,
                tax_class: operation.tax_class.clone(),
                discount_percent: None,
                optional: false,
                operation_id: Some(operation.id),
                irreversible: false,
                is_new: false,
            });
        }
    }
    let total = if content.lines.is_empty() && facts.accepted.is_none() {
        facts.examination_fee.unwrap_or_default()
    } else {
        content.total_of(|_| true)?
    };
    Money::new(total, facts.currency)
        .map_err(|_| Refused::new("invalid-input").at("", "the bill is finer than the currency's smallest unit"))
}
