//! A quote version as it is told to its owner: rows that add up to its total, the same in the
//! letter and on the page.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use store::Error;
use store::findings::FindingRow;
use store::order_facts::{Acceptance, ids};
use store::order_rows::OrderRows;
use store::quotes::QuoteRow;
use trade::calculation::Refused;
use trade::rules::authority::authorised;
use trade::words::instrument::OperationState;
use trade::words::quote::{ContentLine, QuoteContent};
use uuid::Uuid;

/// The rows of a bill, in the shop's currency: what was accepted before, the lines, less the
/// discount, and the tax where prices are told without it, come to the total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuoteTold {
    /// When an earlier version was accepted, and what that comes to, its tax included.
    pub accepted_before: Option<ToldBefore>,
    /// The lines in order with their price after their own discount; without those accepted
    /// before. Optional ones are not in the total.
    pub lines: Vec<(ContentLine, Decimal)>,
    /// Taken off the lines told here, zero or above.
    pub discount: Decimal,
    /// On top of the lines told here; zero where prices hold it.
    pub tax: Decimal,
    /// Everything that is not optional, tax included.
    pub total: Decimal,
    /// The same with every optional line; none without any.
    pub total_with_optional: Option<Decimal>,
}

/// What was accepted before a version went out, and still stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldBefore {
    /// The day it was accepted, in the shop.
    pub on: NaiveDate,
    /// What it comes to, its tax included.
    pub amount: Decimal,
    /// The most that may be spent until this version is answered.
    pub allowed: Decimal,
    /// What it was for, one line each; steps struck since left out.
    pub lines: Vec<String>,
}

struct Sums {
    total: Decimal,
    tax: Decimal,
    discount: Decimal,
}

/// The sums of the lines for which `counts` is true; zeros for no lines.
fn sums(content: &QuoteContent, counts: impl Fn(&ContentLine) -> bool) -> Result<Sums, Refused> {
    if !content.lines.iter().any(&counts) {
        return Ok(Sums { total: Decimal::ZERO, tax: Decimal::ZERO, discount: Decimal::ZERO });
    }
    let totals = content.totals(counts)?;
    Ok(Sums {
        total: totals.total.amount(),
        tax: totals.tax.amount(),
        discount: totals.lines.iter().map(|line| line.quote_discount.amount()).sum(),
    })
}

/// Whether this line was accepted and its step was not struck since.
fn stands(rows: &OrderRows, accepted: &Acceptance, line: &ContentLine) -> bool {
    let is_struck =
        line.operation_id.is_some_and(|id| rows.operations.iter().any(|o| o.id == id.0 && o.state.0 == OperationState::Struck));
    accepted.counted.contains(&line.id) && !is_struck
}

/// The sums of what was accepted and was not struck since.
fn still_accepted(rows: &OrderRows, accepted: &Acceptance) -> Result<Sums, Error> {
    sums(&accepted.content, |line| stands(rows, accepted, line))
        .map_err(|refused| Error::Unreadable(format!("accepted quote {}: {refused:?}", accepted.number)))
}

/// What the work accepted before comes to when nothing is added, tax included; none when nothing
/// was accepted.
///
/// # Errors
/// [`Error::Unreadable`] when a stored version does not add up.
pub fn rest_goes_on(rows: &OrderRows) -> Result<Option<Decimal>, Error> {
    rows.acceptances()?.last().map(|accepted| Ok(still_accepted(rows, accepted)?.total)).transpose()
}

/// The version that was accepted before this one.
///
/// # Errors
/// [`Error::Unreadable`].
pub fn accepted_before(rows: &OrderRows, row: &QuoteRow) -> Result<Option<Acceptance>, Error> {
    Ok(rows.acceptances()?.into_iter().rfind(|accepted| accepted.number < row.number))
}

/// The findings that a version asks about anew: found after the version that was accepted went
/// out, or answered by one of its new lines. None of them in a first quote, which is about all.
///
/// # Errors
/// [`Error::Unreadable`].
pub fn asked_anew(rows: &OrderRows, row: &QuoteRow) -> Result<Vec<Uuid>, Error> {
    let Some(before) = accepted_before(rows, row)? else { return Ok(Vec::new()) };
    let known_since = rows.quotes.iter().find(|quote| quote.number == before.number).and_then(|quote| quote.sent_at);
    let mut answered = Vec::new();
    for id in row.content()?.lines.iter().filter(|line| line.is_new).filter_map(|line| line.operation_id) {
        if let Some(operation) = rows.operations.iter().find(|o| o.id == id.0) {
            answered.extend(ids(&operation.finding_ids)?);
        }
    }
    let is_news = |finding: &&FindingRow| known_since.is_some_and(|at| finding.found_at > at) || answered.contains(&finding.id);
    Ok(rows.findings.iter().filter(is_news).map(|finding| finding.id).collect())
}

/// A version as it is told.
///
/// # Errors
/// [`Error::Unreadable`] when the stored version does not add up.
pub fn quote_told(rows: &OrderRows, row: &QuoteRow) -> Result<QuoteTold, Error> {
    let unreadable = |refused: Refused| Error::Unreadable(format!("quote {}: {refused:?}", row.id));
    let content = row.content()?;
    let before = accepted_before(rows, row)?;
    // Alone and without the discount on the whole, which is told in a row of its own and may be
    // larger than one line.
    let by_itself = QuoteContent { discount: None, ..content.clone() };
    let mut lines = Vec::new();
    for line in content.lines.iter().filter(|line| before.is_none() || line.is_new) {
        let totals = by_itself.totals(|other| other.id == line.id).map_err(unreadable)?;
        let amount = totals.lines.iter().map(|l| l.amount.amount() - l.line_discount.amount()).sum();
        lines.push((line.clone(), amount));
    }
    let all = sums(&content, |line| !line.optional).map_err(unreadable)?;
    let none = Sums { total: Decimal::ZERO, tax: Decimal::ZERO, discount: Decimal::ZERO };
    let old = match &before {
        None => none,
        Some(accepted) => {
            let added: Decimal = lines.iter().filter(|(line, _)| !line.optional).map(|(_, amount)| *amount).sum();
            let adds_up = |old: &Sums| {
                let (tax, discount) = (all.tax - old.tax, all.discount - old.discount);
                let on_top = if content.prices_include_tax { Decimal::ZERO } else { tax };
                discount >= Decimal::ZERO && tax >= Decimal::ZERO && old.total + added - discount + on_top == all.total
            };
            // As it was accepted; or, when a step was struck or a discount taken back since, by
            // its part in this version, so that the rows still add up.
            let as_accepted = still_accepted(rows, accepted)?;
            if adds_up(&as_accepted) { as_accepted } else { sums(&content, |line| !line.optional && !line.is_new).map_err(unreadable)? }
        }
    };
    Ok(QuoteTold {
        accepted_before: before
            .map(|accepted| {
                let lines = accepted.content.lines.iter().filter(|line| stands(rows, &accepted, line));
                Ok::<_, Error>(ToldBefore {
                    on: rows.shop.date_at(accepted.at)?,
                    amount: old.total,
                    allowed: authorised(rows.order.may_cost, Some(accepted.allows)),
                    lines: lines.map(|line| line.text.clone()).collect(),
                })
            })
            .transpose()?,
        lines,
        discount: all.discount - old.discount,
        tax: if content.prices_include_tax { Decimal::ZERO } else { all.tax - old.tax },
        total: all.total,
        total_with_optional: content
            .lines
            .iter()
            .any(|line| line.optional)
            .then(|| content.total_of(|_| true).map_err(unreadable))
            .transpose()?,
    })
}
