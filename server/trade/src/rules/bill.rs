//! What is to be paid at the end: what was accepted and done, never more than was authorised.

use crate::calculation::Refused;
use crate::words::ids::OperationId;
use crate::words::instrument::{OperationKind, OperationState};
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
    /// Work, take apart or put together.
    pub kind: OperationKind,
    /// Its unit price in the shop's currency, as on a quote line.
    pub price: Decimal,
    /// Its tax class.
    pub tax_class: String,
    /// Where it stands.
    pub state: OperationState,
    /// Whether a clock ever ran on it.
    pub was_begun: bool,
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
    /// Told at check-in, where the owner decided against the repair: then the least that is
    /// charged, and work done counts toward it.
    pub examination_fee: Option<Decimal>,
    /// The shop's currency.
    pub currency: Currency,
    /// The shop's tax classes, for work that no version names.
    pub tax_classes: Vec<ContentTaxClass>,
    /// Whether the shop's prices hold the tax.
    pub prices_include_tax: bool,
}

impl BillFacts {
    fn operation(&self, id: OperationId) -> Option<&BilledOperation> {
        self.operations.iter().find(|operation| operation.id == id)
    }

    /// The counted lines for which `keeps` is true, and a line for each operation that none of
    /// them names and for which `adds` is true.
    fn content(&self, keeps: impl Fn(&ContentLine) -> bool, adds: impl Fn(&BilledOperation) -> bool) -> QuoteContent {
        let mut content = match &self.accepted {
            Some((content, counted)) => {
                let mut content = content.clone();
                content.lines.retain(|line| counted.contains(&line.id) && keeps(line));
                content
            }
            None => QuoteContent {
                message: None,
                lines: Vec::new(),
                discount: None,
                tax_classes: Vec::new(),
                prices_include_tax: self.prices_include_tax,
                currency: self.currency,
                limit: Decimal::ZERO,
                expires_on: NaiveDate::MAX,
                range: None,
            },
        };
        // What was accepted keeps the tax of its day; the shop may have changed its list since.
        for class in &self.tax_classes {
            if !content.tax_classes.iter().any(|known| known.id == class.id) {
                content.tax_classes.push(class.clone());
            }
        }
        for operation in self.operations.iter().filter(|operation| adds(operation)) {
            let is_named = content.lines.iter().any(|line| line.operation_id == Some(operation.id));
            let is_free = operation.price.is_zero() || operation.kind == OperationKind::PutTogether;
            if is_named || is_free {
                continue;
            }
            // A class that is on no list any more is taxed like the shop's first.
            let of_class = |id: &str| content.tax_classes.iter().any(|class| class.id == id);
            let tax_class = match self.tax_classes.first() {
                Some(first) if !of_class(&operation.tax_class) => first.id.clone(),
                _ => operation.tax_class.clone(),
            };
            content.lines.push(ContentLine {
                id: operation.id.0,
                kind: LineKind::Labour,
                text: operation.title.clone(),
                quantity: Decimal::ONE,
                unit_price: operation.price,
                tax_class,
                discount_percent: None,
                optional: false,
                operation_id: Some(operation.id),
                irreversible: false,
                is_new: false,
            });
        }
        content
    }
}

/// What the work done comes to, tax included: the accepted lines whose operation is done, accepted
/// lines without an operation once the work is finished, and done operations that no accepted line
/// names (they were started within the limit). Putting together that no accepted line names is
/// free.
fn work_done(facts: &BillFacts) -> Result<Decimal, Refused> {
    let is_done = |operation: &BilledOperation| operation.state == OperationState::Done;
    let content = facts.content(
        |line| match line.operation_id {
            Some(id) => facts.operation(id).is_some_and(is_done),
            None => facts.is_finished,
        },
        is_done,
    );
    if content.lines.is_empty() { Ok(Decimal::ZERO) } else { content.total_of(|_| true) }
}

/// The part of the examination fee that the work done does not reach; none where none is owed.
///
/// # Errors
/// As [`QuoteContent::totals`].
pub fn fee_charged(facts: &BillFacts) -> Result<Option<Decimal>, Refused> {
    let Some(fee) = facts.examination_fee else { return Ok(None) };
    Ok(Some(fee - work_done(facts)?).filter(|rest| *rest > Decimal::ZERO))
}

/// What is charged, tax included: the work done, and what an examination fee owed adds to it.
///
/// # Errors
/// As [`QuoteContent::totals`].
pub fn charged(facts: &BillFacts) -> Result<Money, Refused> {
    let total = work_done(facts)? + fee_charged(facts)?.unwrap_or_default();
    Money::new(total, facts.currency)
        .map_err(|_| Refused::new("invalid-input").at("", "the bill is finer than the currency's smallest unit"))
}

/// What the order comes to, tax included, when everything accepted or begun is done, and the
/// operation `also` with it: what may not pass the cap (rule 2). Added up as the bill will be,
/// with the discount on the whole and one rounding per tax class.
///
/// # Errors
/// As [`QuoteContent::totals`].
pub fn comes_to(facts: &BillFacts, also: Option<OperationId>) -> Result<Decimal, Refused> {
    let stands = |operation: &BilledOperation| operation.state != OperationState::Struck;
    let content = facts.content(
        |line| line.operation_id.is_none_or(|id| facts.operation(id).is_none_or(stands)),
        |operation| stands(operation) && (operation.was_begun || also == Some(operation.id)),
    );
    content.total_of(|_| true)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::quote::ContentDiscount;
    use proptest::prelude::{Strategy, any, prop_assert, prop_assert_eq, proptest};

    fn class(id: &str, percent: i64) -> ContentTaxClass {
        ContentTaxClass { id: id.to_owned(), percent: Decimal::from(percent) }
    }

    fn operation(number: u128, cents: i64, state: OperationState) -> BilledOperation {
        BilledOperation {
            id: OperationId(Uuid::from_u128(number)),
            title: format!("step {number}"),
            kind: OperationKind::Work,
            price: Decimal::new(cents, 2),
            tax_class: "standard".to_owned(),
            state,
            was_begun: state != OperationState::Planned,
        }
    }

    /// A line for the operation of this number; 0: for none.
    fn line(number: u128, cents: i64) -> ContentLine {
        ContentLine {
            id: Uuid::from_u128(1000 + number),
            kind: LineKind::Labour,
            text: format!("line {number}"),
            quantity: Decimal::ONE,
            unit_price: Decimal::new(cents, 2),
            tax_class: "standard".to_owned(),
            discount_percent: None,
            optional: false,
            operation_id: (number != 0).then(|| OperationId(Uuid::from_u128(number))),
            irreversible: false,
            is_new: false,
        }
    }

    fn content(lines: Vec<ContentLine>, discount: Option<ContentDiscount>) -> QuoteContent {
        QuoteContent {
            message: None,
            lines,
            discount,
            tax_classes: vec![class("standard", 19)],
            prices_include_tax: false,
            currency: Currency::EUR,
            limit: Decimal::ZERO,
            expires_on: NaiveDate::MAX,
            range: None,
        }
    }

    fn accepted(content: &QuoteContent, operations: Vec<BilledOperation>) -> BillFacts {
        BillFacts {
            accepted: Some((content.clone(), content.lines.iter().map(|line| line.id).collect())),
            operations,
            ..nothing_accepted(Vec::new())
        }
    }

    fn nothing_accepted(operations: Vec<BilledOperation>) -> BillFacts {
        BillFacts {
            accepted: None,
            operations,
            is_finished: false,
            examination_fee: None,
            currency: Currency::EUR,
            tax_classes: vec![class("standard", 19)],
            prices_include_tax: false,
        }
    }

    fn euros(facts: &BillFacts) -> Decimal {
        charged(facts).unwrap().amount()
    }

    use OperationState::{Done, Paused, Planned, Struck};

    #[test]
    fn a_fee_owed_is_the_least_that_is_charged_and_work_done_counts_toward_it() {
        let owed = |facts: BillFacts| BillFacts { examination_fee: Some(Decimal::from(30)), ..facts };
        let quote = content(vec![line(1, 1000)], None);
        // Accepted and withdrawn before anything was begun; then with a small step done; then all.
        let none = owed(accepted(&quote, vec![operation(1, 1000, Planned)]));
        assert_eq!((euros(&none), fee_charged(&none).unwrap()), (Decimal::from(30), Some(Decimal::from(30))));
        let some = owed(accepted(&quote, vec![operation(1, 1000, Done)]));
        assert_eq!((euros(&some), fee_charged(&some).unwrap()), (Decimal::from(30), Some(Decimal::new(1810, 2))));
        let more = content(vec![line(1, 5000)], None);
        let more = owed(accepted(&more, vec![operation(1, 5000, Done)]));
        assert_eq!((euros(&more), fee_charged(&more).unwrap()), (Decimal::new(5950, 2), None));
    }

    #[test]
    fn the_fee_is_charged_only_when_nothing_was_accepted_or_done() {
        let fee = BillFacts { examination_fee: Some(Decimal::from(30)), ..nothing_accepted(vec![operation(1, 5000, Struck)]) };
        assert_eq!(euros(&fee), Decimal::from(30));
        let counted = BillFacts { examination_fee: Some(Decimal::from(30)), ..accepted(&content(vec![line(1, 5000)], None), vec![operation(1, 5000, Done)]) };
        assert_eq!(euros(&counted), Decimal::new(5950, 2));
    }

    #[test]
    fn only_what_was_done_is_charged_and_parts_when_the_work_is_finished() {
        let quote = content(vec![line(1, 10_000), line(2, 5000), line(0, 2000)], None);
        let mut facts = accepted(&quote, vec![operation(1, 10_000, Done), operation(2, 5000, Paused)]);
        assert_eq!(euros(&facts), Decimal::new(11_900, 2));
        facts.is_finished = true;
        assert_eq!(euros(&facts), Decimal::new(14_280, 2));
    }

    #[test]
    fn putting_together_is_free_unless_the_owner_accepted_its_line() {
        let together = BilledOperation { kind: OperationKind::PutTogether, ..operation(1, 4000, Done) };
        assert_eq!(euros(&nothing_accepted(vec![together.clone()])), Decimal::ZERO);
        assert_eq!(comes_to(&nothing_accepted(vec![together.clone()]), Some(together.id)).unwrap(), Decimal::ZERO);
        assert_eq!(euros(&accepted(&content(vec![line(1, 4000)], None), vec![together])), Decimal::new(4760, 2));
    }

    #[test]
    fn accepted_work_stays_within_its_limit_with_a_discount_on_the_whole() {
        let quote = content(vec![line(1, 10_000), line(2, 10_000)], Some(ContentDiscount::Percent(Decimal::TEN)));
        let limit = quote.total_of(|_| true).unwrap();
        assert_eq!(limit, Decimal::new(21_420, 2));
        let facts = accepted(&quote, vec![operation(1, 10_000, Done), operation(2, 10_000, Planned)]);
        assert_eq!(comes_to(&facts, Some(OperationId(Uuid::from_u128(2)))).unwrap(), limit);
    }

    #[test]
    fn tax_is_rounded_once_per_class_and_not_once_per_step() {
        // 19 % of 10.03 twice is 3.82 when each is rounded, and 3.81 together.
        let quote = content(vec![line(1, 1003), line(2, 1003)], None);
        let facts = accepted(&quote, vec![operation(1, 1003, Planned), operation(2, 1003, Planned)]);
        assert_eq!(comes_to(&facts, Some(OperationId(Uuid::from_u128(1)))).unwrap(), Decimal::new(2387, 2));
    }

    #[test]
    fn parts_that_were_accepted_leave_less_of_the_limit_for_more_work() {
        let quote = content(vec![line(1, 10_000), line(0, 5000)], None);
        let facts = accepted(&quote, vec![operation(1, 10_000, Done), operation(2, 5000, Planned)]);
        assert_eq!(comes_to(&facts, None).unwrap(), Decimal::new(17_850, 2));
        assert_eq!(comes_to(&facts, Some(OperationId(Uuid::from_u128(2)))).unwrap(), Decimal::new(23_800, 2));
    }

    #[test]
    fn the_shop_may_change_its_tax_list_without_changing_what_was_accepted() {
        let quote = content(vec![line(1, 10_000)], None);
        let mut facts = accepted(&quote, vec![operation(1, 10_000, Done), operation(2, 1000, Done)]);
        facts.tax_classes = vec![class("standard", 25), class("reduced", 7)];
        facts.operations[1].tax_class = "reduced".to_owned();
        assert_eq!(euros(&facts), Decimal::new(12_970, 2));
        // A class that is on no list any more does not make the order unreadable.
        facts.operations[1].tax_class = "gone".to_owned();
        assert_eq!(euros(&facts), Decimal::new(13_090, 2));
    }

    fn any_facts() -> impl Strategy<Value = BillFacts> {
        let states = proptest::sample::select(vec![Planned, Paused, Done, Struck]);
        let step = (0_i64..20_000, states, any::<bool>());
        (proptest::collection::vec(step, 1..8), 0_i64..5000, 0_i64..40).prop_map(|(steps, parts, percent)| {
            let steps: Vec<(u128, i64, OperationState, bool)> =
                (1_u128..).zip(steps).map(|(number, (cents, state, on_quote))| (number, cents, state, on_quote)).collect();
            let mut lines = vec![line(0, parts)];
            lines.extend(steps.iter().filter(|s| s.3).map(|s| line(s.0, s.1)));
            let quote = content(lines, Some(ContentDiscount::Percent(Decimal::from(percent))));
            let operations = steps.iter().map(|s| operation(s.0, s.1, s.2)).collect();
            BillFacts { is_finished: true, ..accepted(&quote, operations) }
        })
    }

    proptest! {
        #[test]
        fn the_bill_is_never_more_than_what_the_cap_was_compared_with(facts in any_facts()) {
            prop_assert!(euros(&facts) <= comes_to(&facts, None).unwrap());
        }

        #[test]
        fn accepted_lines_come_to_no_more_than_the_quote(mut facts in any_facts()) {
            let (quote, counted) = facts.accepted.clone().unwrap();
            facts.operations.retain(|o| quote.lines.iter().any(|l| l.operation_id == Some(o.id)));
            let total = quote.total_of(|l| counted.contains(&l.id)).unwrap();
            prop_assert!(comes_to(&facts, None).unwrap() <= total);
        }

        #[test]
        fn the_bill_does_not_depend_on_the_order_of_the_lines(facts in any_facts()) {
            let mut turned = facts.clone();
            turned.operations.reverse();
            turned.accepted.as_mut().unwrap().0.lines.reverse();
            prop_assert_eq!(charged(&facts).unwrap(), charged(&turned).unwrap());
        }
    }
}
