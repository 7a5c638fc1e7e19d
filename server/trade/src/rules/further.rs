//! What may still turn up on an order: what is recorded of it as the computation takes it, and the
//! honest range for the quote.
//!
//! The computation is [`crate::bench::further_findings`]. Cracks and open joints are counted,
//! because they hide; a worn pad does not.

use crate::bench::further_findings::{
    AgeBand, Cell, Construction, EarlierRepairs, Examination, Examined, PastOrder, cost_of,
    further_findings,
};
use crate::rules::promises::ENOUGH;
use crate::words::instrument::{Family, FindingKind};
use crate::words::money::{Currency, Money};
use crate::words::own_or_typical::Kind;
use crate::words::quote::FurtherRange;
use rust_decimal::Decimal;

/// Orders of the past that are looked at, the youngest.
pub const MOST_PAST_ORDERS: usize = 1000;

/// Whether a finding is of a kind that hides.
#[must_use]
pub fn hides(kind: FindingKind) -> bool {
    matches!(kind, FindingKind::Crack | FindingKind::OpenJoint | FindingKind::WoodCrack)
}

/// What is recorded of one order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenOrder {
    /// What it is.
    pub family: Family,
    /// Year or age band, in words.
    pub age_text: Option<String>,
    /// The year in which it was looked at.
    pub year: i32,
    /// How its tubes were made, where its part map says so.
    pub construction: Construction,
    /// Whether traces of an earlier repair were seen, on this visit or before.
    pub has_earlier_repair: bool,
    /// Whether it was taken apart before the quote.
    pub was_taken_apart: bool,
    /// Cracks and open joints found before the quote.
    pub found_first: u32,
    /// Cracks and open joints found after it.
    pub found_later: u32,
}

/// How much tubing a family has, in ordinary trumpets. Typical, from memory.
fn exposure(family: Family) -> f64 {
    match family {
        Family::Trumpet | Family::Cornet | Family::Flugelhorn | Family::Other => 1.0,
        Family::Horn => 2.5,
        Family::Trombone => 1.5,
        Family::Baritone => 2.0,
        Family::Tuba => 4.0,
        Family::Bassoon => 1.5,
        Family::Saxophone => 1.2,
        Family::Flute | Family::Clarinet | Family::Oboe => 0.7,
    }
}

impl SeenOrder {
    fn examination(&self) -> Examination {
        Examination {
            cell: Cell {
                age_band: self.age_text.as_deref().map_or(AgeBand::Unknown, |text| age_band(text, self.year)),
                construction: self.construction,
                earlier_repairs: if self.has_earlier_repair { EarlierRepairs::Seen } else { EarlierRepairs::NoneSeen },
            },
            examined: if self.was_taken_apart { Examined::TakenApart } else { Examined::Outside },
            found_first: self.found_first.min(200),
            exposure: exposure(self.family),
        }
    }

    /// As a closed order of the history.
    #[must_use]
    pub fn past(&self) -> PastOrder {
        PastOrder { examination: self.examination(), found_later: self.found_later.min(200) }
    }

    /// Whether it is fifty years old or more.
    #[must_use]
    pub fn is_old(&self) -> bool {
        matches!(
            self.examination().cell.age_band,
            AgeBand::From50To79 | AgeBand::From80To119 | AgeBand::Over119
        )
    }
}

/// The age band of what somebody wrote: a year ("about 1905", "1970s"), a number of years
/// ("about ten years"), "between the wars"; unknown otherwise.
#[must_use]
pub fn age_band(text: &str, this_year: i32) -> AgeBand {
    let text = text.to_lowercase();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let year = words.iter().find_map(|word| {
        let decade = word.strip_suffix('s');
        let year: i32 = decade.unwrap_or(word).parse().ok().filter(|year| (1500..=2999).contains(year))?;
        // A decade is its middle.
        Some(if decade.is_some() { year + 5 } else { year })
    });
    let age = match year {
        Some(year) => Some(this_year - year),
        None if text.contains("between the wars") => Some(this_year - 1930),
        None if words.iter().any(|word| word.starts_with("year")) => words.iter().find_map(|word| number(word)),
        None if words == ["new"] => Some(0),
        None => None,
    };
    match age {
        None => AgeBand::Unknown,
        Some(..20) => AgeBand::Under20,
        Some(20..50) => AgeBand::From20To49,
        Some(50..80) => AgeBand::From50To79,
        Some(80..120) => AgeBand::From80To119,
        Some(120..) => AgeBand::Over119,
    }
}

fn number(word: &str) -> Option<i32> {
    const SPOKEN: [(&str, i32); 13] = [
        ("one", 1), ("two", 2), ("three", 3), ("five", 5), ("ten", 10), ("twelve", 12), ("fifteen", 15), ("twenty", 20),
        ("thirty", 30), ("forty", 40), ("fifty", 50), ("sixty", 60), ("hundred", 100),
    ];
    word.parse().ok().or_else(|| SPOKEN.iter().find(|(spoken, _)| *spoken == word).map(|(_, number)| *number))
}

/// What one further finding may cost, tax included: the shop's own prices of such repairs from
/// [`ENOUGH`] on, else those of its methods with a flame.
///
/// * `own`: prices of steps that answered such findings on closed orders.
/// * `methods`: prices of the shop's methods with heat.
///
/// None when nothing has a price.
#[must_use]
pub fn cost_per_finding(own: &[Decimal], methods: &[Decimal], currency: Currency) -> Option<[Money; 3]> {
    let prices = if own.len() >= ENOUGH { own } else { methods };
    let mut prices: Vec<Decimal> = prices.iter().copied().filter(|price| *price > Decimal::ZERO).collect();
    prices.sort_unstable();
    let at = |of_hundred: usize| {
        let price = prices.get((of_hundred * prices.len()).div_ceil(100).max(1) - 1)?;
        Money::new(price.round_dp(currency.places()), currency).ok()
    };
    Some([at(5)?, at(50)?, at(95)?])
}

/// The honest range of what may still turn up on an order, from the shop's own closed orders or,
/// below [`ENOUGH`] of them, from typical figures alone.
///
/// None when it cannot be computed from this history.
#[must_use]
pub fn honest_range(order: &SeenOrder, history: &[SeenOrder], cost: [Money; 3]) -> Option<FurtherRange> {
    let kind = if history.len() >= ENOUGH { Kind::Own } else { Kind::Typical };
    let past: Vec<PastOrder> =
        history.iter().filter(|_| kind == Kind::Own).take(MOST_PAST_ORDERS).map(SeenOrder::past).collect();
    let examination = order.examination();
    let found = further_findings(&examination, &past, None);
    let [count_p50, count_p85, _] = found.hidden.quantiles([0.5, 0.85, 0.95], 10_000)?;
    let [low, typical, high] = cost;
    let cost = cost_of(&found.hidden, low, typical, high).ok()?;
    let up = |figure| cost.rounded_up(figure).map(|money| money.amount());
    let none = found.hidden.chances().next().unwrap_or(0.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 100")]
    let none_of_hundred = (none * 100.0).round() as u32;
    Some(FurtherRange {
        kind,
        orders_count: u32::try_from(history.len()).unwrap_or(u32::MAX),
        alike_count: u32::try_from(past.iter().filter(|one| one.examination.cell == examination.cell).count()).unwrap_or(u32::MAX),
        is_old: order.is_old(),
        none_of_hundred,
        count_p50,
        count_p85,
        cost_p50: up(cost.p50)?,
        cost_p85: up(cost.p85)?,
        cost_p95: up(cost.p95)?,
    })
}

/// Looking back: for each closed order, oldest first, the counts that would have been told with its
/// quote (in 50, 85 and 95 of 100) from the orders before it, and what turned up.
#[must_use]
pub fn told_with_the_quote(orders: &[SeenOrder]) -> Vec<([u32; 3], u32)> {
    let past: Vec<PastOrder> = orders.iter().map(SeenOrder::past).collect();
    orders
        .iter()
        .enumerate()
        .filter_map(|(index, order)| {
            // As [`honest_range`] does: typical figures alone until there are enough.
            let before = if index < ENOUGH { &[][..] } else { &past[index.saturating_sub(MOST_PAST_ORDERS)..index] };
            let found = further_findings(&order.examination(), before, None);
            Some((found.hidden.quantiles([0.5, 0.85, 0.95], 10_000)?, order.found_later))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(age: &str, found_first: u32, found_later: u32) -> SeenOrder {
        SeenOrder {
            family: Family::Trumpet,
            age_text: Some(age.to_owned()),
            year: 2026,
            construction: Construction::Unknown,
            has_earlier_repair: false,
            was_taken_apart: false,
            found_first,
            found_later,
        }
    }

    fn cost() -> [Money; 3] {
        [30, 60, 90].map(|euros| Money::new(Decimal::from(euros), Currency::EUR).expect("euros"))
    }

    #[test]
    fn ages_are_read_as_people_write_them() {
        for (text, band) in [
            ("2019", AgeBand::Under20),
            ("about ten years", AgeBand::Under20),
            ("1998", AgeBand::From20To49),
            ("30 years", AgeBand::From20To49),
            ("1970s", AgeBand::From50To79),
            ("1952", AgeBand::From50To79),
            ("between the wars", AgeBand::From80To119),
            ("1931", AgeBand::From80To119),
            ("about 1905", AgeBand::Over119),
            ("ca.1890?", AgeBand::Over119),
            ("unknown", AgeBand::Unknown),
            ("old", AgeBand::Unknown),
            ("", AgeBand::Unknown),
        ] {
            assert_eq!(age_band(text, 2026), band, "{text}");
        }
    }

    #[test]
    fn the_older_the_more_may_turn_up_and_twenty_orders_of_the_shops_own_take_over() {
        let young = honest_range(&seen("2019", 1, 0), &[], cost()).expect("a range");
        let old = honest_range(&seen("about 1905", 1, 0), &[], cost()).expect("a range");
        assert!(old.cost_p85 > young.cost_p85 && old.is_old && !young.is_old);
        assert!(old.cost_p50 <= old.cost_p85 && old.cost_p85 <= old.cost_p95);
        assert_eq!((old.kind, old.orders_count), (Kind::Typical, 0));
        // A shop that never found anything later.
        let clean = vec![seen("about 1905", 1, 0); 20];
        let own = honest_range(&seen("about 1905", 1, 0), &clean, cost()).expect("a range");
        assert_eq!((own.kind, own.orders_count, own.alike_count), (Kind::Own, 20, 20));
        assert!(own.cost_p85 < old.cost_p85);
        let few = honest_range(&seen("about 1905", 1, 0), &clean[..19], cost()).expect("a range");
        assert_eq!((few.kind, few.cost_p85), (Kind::Typical, old.cost_p85), "too little history is none");
    }

    #[test]
    fn what_a_finding_costs_is_the_shops_own_from_twenty_prices_on() {
        let own: Vec<Decimal> = (1..=20).map(|price| Decimal::from(price * 10)).collect();
        let methods = [62, 32, 78].map(Decimal::from);
        let of = |own: &[Decimal]| cost_per_finding(own, &methods, Currency::EUR).map(|cost| cost.map(|money| money.amount()));
        assert_eq!(of(&own), Some([10, 100, 190].map(Decimal::from)));
        assert_eq!(of(&own[..19]), Some([32, 62, 78].map(Decimal::from)));
        assert_eq!(cost_per_finding(&[], &[], Currency::EUR), None);
    }
}
