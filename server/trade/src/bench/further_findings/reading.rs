//! `further-findings` as JSON.

use super::{
    AgeBand, Cell, Construction, EarlierRepairs, Examination, Examined, PastOrder,
    cost::MOST_FINDINGS, cost_of, further_findings,
};
use crate::calculation::{Node, Reading, Refused};
use crate::words::money::{Currency, Money, plain_decimal};
use serde_json::{Map, Value, json};
use std::ops::Bound;

/// The most rows of history read at once.
const MOST_ROWS: usize = 100_000;

const AGE_BANDS: [(&str, AgeBand); 6] = [
    ("under_20", AgeBand::Under20),
    ("20_to_49", AgeBand::From20To49),
    ("50_to_79", AgeBand::From50To79),
    ("80_to_119", AgeBand::From80To119),
    ("over_119", AgeBand::Over119),
    ("unknown", AgeBand::Unknown),
];
const CONSTRUCTIONS: [(&str, Construction); 3] = [
    ("seamless", Construction::Seamless),
    ("seamed", Construction::Seamed),
    ("unknown", Construction::Unknown),
];
const EARLIER_REPAIRS: [(&str, EarlierRepairs); 3] = [
    ("none_seen", EarlierRepairs::NoneSeen),
    ("seen", EarlierRepairs::Seen),
    ("unknown", EarlierRepairs::Unknown),
];
const EXAMINED: [(&str, Examined); 3] = [
    ("outside", Examined::Outside),
    ("bore_light", Examined::BoreLight),
    ("taken_apart", Examined::TakenApart),
];

/// Answers `/calculations/further-findings`.
///
/// # Errors
/// `invalid-input` with every fault.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let mut reading = Reading::default();
    let root = Node::root(input);
    reading.object(&root, &["order", "history", "dispersion", "cost_per_finding"]);
    let order = match root.get("order") {
        Some(order) => read_examination(&mut reading, &order, false),
        None => {
            reading.fault("/order", "is missing; give the order's first examination");
            None
        }
    };
    let rows = reading.list_if(&root, "history");
    if rows.len() > MOST_ROWS {
        reading.fault(
            "/history",
            format!("has {} rows; give at most {MOST_ROWS}, the newest", rows.len()),
        );
        reading.done()?;
    }
    let history: Vec<PastOrder> =
        rows.iter().filter_map(|row| read_past(&mut reading, row)).collect();
    let dispersion = reading.number_if(&root, "dispersion", 0.05..=50.0);
    if rows.is_empty() && root.get("dispersion").is_none() {
        reading.defaulted.push("/dispersion".into());
    }
    let cost = root.get("cost_per_finding").map(|cost| read_cost(&mut reading, &cost));
    reading.done()?;

    let order =
        order.ok_or_else(|| Refused::new("invalid-input").at("/order", "is not complete"))?;
    let answer = further_findings(&order, &history, dispersion);
    let hidden = answer.hidden;
    let too_many = || {
        Refused::new("invalid-input")
            .at("/history", format!("leads to more than {MOST_FINDINGS} hidden findings in one instrument; look at its counts"))
    };
    let [p50, p85, p95] =
        hidden.quantiles([0.5, 0.85, 0.95], MOST_FINDINGS).ok_or_else(too_many)?;
    let chances: Vec<f64> = hidden.chances().take(6).collect();
    let mut output = Map::new();
    output.insert("cell_mean".into(), answer.cell_mean.into());
    output.insert("dispersion".into(), answer.dispersion.into());
    output.insert("detection".into(), answer.detection.into());
    output.insert("shape".into(), hidden.shape().into());
    output.insert("success".into(), hidden.success().into());
    output.insert("mean".into(), hidden.mean().into());
    output.insert("sd".into(), hidden.sd().into());
    output.insert("p50".into(), p50.into());
    output.insert("p85".into(), p85.into());
    output.insert("p95".into(), p95.into());
    output.insert("probability_none".into(), chances[0].into());
    output.insert("pmf".into(), chances.into());
    if let Some(Some([low, typical, high])) = cost {
        let cost = cost_of(&hidden, low, typical, high).map_err(|_| too_many())?;
        let figures = json!({"step": cost.step, "mean": cost.mean, "p50": cost.p50, "p85": cost.p85, "p95": cost.p95});
        output.insert("cost".into(), figures);
    }
    output.insert("defaulted".into(), reading.defaulted.into());
    output.insert("cautions".into(), json!([]));
    Ok(output.into())
}

fn read_past(reading: &mut Reading, node: &Node<'_>) -> Option<PastOrder> {
    let examination = read_examination(reading, node, true);
    let found_later = read_count(reading, node, "found_later");
    Some(PastOrder { examination: examination?, found_later: found_later? })
}

/// An order's fields; those of a past order have `found_later` besides.
fn read_examination(reading: &mut Reading, node: &Node<'_>, past: bool) -> Option<Examination> {
    let known = [
        "age_band",
        "construction",
        "earlier_repairs",
        "examined",
        "found_first",
        "exposure",
        "found_later",
    ];
    reading.object(node, if past { &known } else { &known[..6] })?;
    let age_band = if node.get("age_band").is_some() {
        read_choice(reading, node, "age_band", &AGE_BANDS)
    } else {
        reading.defaulted.push(node.below("age_band"));
        Some(AgeBand::Unknown)
    };
    let construction = read_choice(reading, node, "construction", &CONSTRUCTIONS);
    let earlier_repairs = read_choice(reading, node, "earlier_repairs", &EARLIER_REPAIRS);
    let examined = read_choice(reading, node, "examined", &EXAMINED);
    let found_first = read_count(reading, node, "found_first");
    let exposure =
        reading.number_or(node, "exposure", (Bound::Excluded(0.0), Bound::Included(10.0)), 1.0);
    let cell = Cell {
        age_band: age_band?,
        construction: construction?,
        earlier_repairs: earlier_repairs?,
    };
    Some(Examination { cell, examined: examined?, found_first: found_first?, exposure })
}

fn read_count(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<u32> {
    reading.whole(node, key, 0..=200).and_then(|count| u32::try_from(count).ok())
}

/// One of the words in `choices`.
fn read_choice<T: Copy>(
    reading: &mut Reading,
    node: &Node<'_>,
    key: &str,
    choices: &[(&str, T)],
) -> Option<T> {
    let text = reading.text(node, key)?;
    let chosen = choices.iter().find(|(word, _)| *word == text);
    if chosen.is_none() {
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        reading.fault(node.below(key), format!("must be one of {}", words.join(", ")));
    }
    chosen.map(|(_, value)| *value)
}

/// The cost of one finding, as (low, typical, high).
fn read_cost(reading: &mut Reading, node: &Node<'_>) -> Option<[Money; 3]> {
    reading.object(node, &["low", "typical", "high"])?;
    let [low, typical, high] = ["low", "typical", "high"].map(|key| read_money(reading, node, key));
    let (low, typical, high) = (low?, typical?, high?);
    let others = [("typical", typical), ("high", high)];
    if others.iter().any(|(_, money)| money.currency() != low.currency()) {
        for (key, _) in others.iter().filter(|(_, money)| money.currency() != low.currency()) {
            reading
                .fault(format!("{}/currency", node.below(key)), "must be the same currency as low");
        }
        reading.fault(node.below("low"), "low, typical and high must be in one currency");
        return None;
    }
    if low > typical || typical > high {
        reading.fault(node.below("low"), "must be at most typical, and typical at most high");
        return None;
    }
    Some([low, typical, high])
}

/// An amount of money, not below zero.
fn read_money(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<Money> {
    let Some(money) = node.get(key) else {
        reading.fault(node.below(key), "is missing; give an amount and its currency");
        return None;
    };
    reading.object(&money, &["amount", "currency"])?;
    let amount = reading.text(&money, "amount");
    let code = reading.text(&money, "currency");
    let currency = code.and_then(|code| {
        Currency::from_code(code)
            .map_err(|fault| reading.fault(money.below("currency"), fault.to_string()))
            .ok()
    });
    let (amount, currency) = (amount?, currency?);
    plain_decimal(amount, 12)
        .and_then(|amount| Money::new(amount, currency))
        .map_err(|fault| reading.fault(money.below("amount"), fault.to_string()))
        .ok()
}
