//! `promise-date` as JSON.

use super::{
    Absence, ApprovalWait, ApprovalWaits, CannotForecast, EstimateRatio, Hold, OpenOrder, Part,
    Question, ReadyDates, Technician, TestHistory, USUAL_DRAWS, Work, forecast,
};
use crate::bench::three_point::ThreePoint;
use crate::calculation::{Node, Reading, Refused};
use crate::words::business_time::{Calendar, read_date, read_instant};
use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};
use serde_json::{Value, json};
use std::collections::HashSet;
use std::num::NonZeroUsize;

/// The most that is read at once; a shop has some hundred open orders.
const MOST_ORDERS: usize = 5000;
const MOST_TASKS: usize = 200;
const MOST_TECHNICIANS: usize = 128;
const MOST_WAITS: usize = 100_000;

/// The most steps of orders over all draws: some seconds of work.
const MOST_STEPS: u64 = 250_000_000;

/// Answers `/calculations/promise-date`.
///
/// # Errors
/// `invalid-input` with every fault; then `nobody-can`; then `never-open`.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let mut reading = Reading::default();
    let question = read_question(&mut reading, &Node::root(input));
    reading.done()?;
    let question =
        question.ok_or_else(|| Refused::new("invalid-input").at("", "is not complete"))?;
    // How many cores there are changes the time it takes and nothing else.
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let forecast = forecast(&question, threads).map_err(|why| refusal(&question, why))?;
    let orders: Vec<Value> = question
        .orders
        .iter()
        .zip(&forecast.orders)
        .map(|(order, ready)| write_order(order, ready))
        .collect();
    Ok(json!({
        "orders": orders,
        "mean_wait_s": ten_digits(forecast.mean_wait_seconds),
        "draws": forecast.draws,
        "defaulted": reading.defaulted,
        "cautions": [],
    }))
}

fn write_order(order: &OpenOrder, ready: &ReadyDates) -> Value {
    let kept = order.promised_date.map(|promised| ready.kept(promised));
    let causes: Vec<Value> = ready
        .causes
        .largest_first()
        .iter()
        .map(|(cause, mean_days)| json!({"cause": cause, "mean_days": mean_days}))
        .collect();
    let twenty: Vec<String> = ready.twenty().iter().map(NaiveDate::to_string).collect();
    json!({
        "id": order.id,
        "ready_at": ready.ready_at.map(|at: DateTime<Utc>| at.to_rfc3339_opts(SecondsFormat::Secs, true)),
        "p50": ready.ready_by(50).to_string(),
        "p85": ready.ready_by(85).to_string(),
        "p95": ready.ready_by(95).to_string(),
        "twenty": twenty,
        "probability_kept": kept.map(|kept| kept.probability),
        "probability_kept_interval": kept.map(|kept| [kept.interval.0, kept.interval.1]),
        "mean_hours_from_now": ready.mean_hours,
        "sd_hours": ready.sd_hours,
        "largest_causes": causes,
    })
}

fn refusal(question: &Question, why: CannotForecast) -> Refused {
    match why {
        CannotForecast::NobodyCan(parts) => parts.into_iter().fold(Refused::new("nobody-can"), |refused, (order, part)| {
            nobody_can(refused, question, order, part)
        }),
        CannotForecast::NothingKnownOfAnswers(order) => missing_answers(Refused::new("invalid-input"), order),
        CannotForecast::TooLarge => Refused::new("invalid-input").at("", "has more technicians or orders than can be played through"),
        CannotForecast::NeverOpen => Refused::new("never-open")
            .at("/calendar", "the work would not end within ten years of these hours; look at them and at the absences"),
    }
}

/// Names what stands in the way: the skill that nobody has, or the technician who is not one
/// of those who have it.
fn nobody_can(refused: Refused, question: &Question, order: usize, part: Part) -> Refused {
    let at = match part {
        Part::Task(task) => format!("/orders/{order}/tasks/{task}"),
        Part::Test => format!("/orders/{order}/test"),
        Part::Rework => format!("/orders/{order}/rework"),
    };
    let Some((_, work)) = question.orders[order].work().find(|(found, _)| *found == part) else {
        return refused;
    };
    let anybody =
        question.technicians.iter().any(|technician| technician.skills.contains(&work.skill));
    let refused = if anybody {
        refused
    } else {
        refused.at(format!("{at}/skill"), format!("no technician has the skill {:?}", work.skill))
    };
    match &work.technician {
        Some(only) => refused
            .at(format!("{at}/technician"), format!("{only:?} is no technician with that skill")),
        None => refused,
    }
}

fn missing_answers(refused: Refused, order: usize) -> Refused {
    refused.at(
        "/approval_history",
        format!("is missing, and order {order} waits for an answer; give past waits, one answered at least"),
    )
}

fn read_question(reading: &mut Reading, root: &Node<'_>) -> Option<Question> {
    reading.object(
        root,
        &[
            "now",
            "calendar",
            "technicians",
            "orders",
            "approval_history",
            "test_history",
            "estimate_ratio",
            "draws",
            "seed",
        ],
    )?;
    let now = read_instant(reading, root, "now");
    let calendar = match root.get("calendar") {
        Some(calendar) => Calendar::read(reading, &calendar),
        None => {
            reading.fault("/calendar", "is missing; give the shop's opening hours");
            None
        }
    };
    let technicians = read_technicians(reading, root);
    let orders = read_orders(reading, root, now);
    let approval_waits = read_approval_history(reading, root);
    let asking = orders.iter().position(|order| order.asked_at.is_some());
    if let (Some(asking), None) = (asking, root.get("approval_history")) {
        reading.faults.extend(missing_answers(Refused::new("invalid-input"), asking).faults);
    }
    if asking.is_some()
        && root.get("approval_history").is_some_and(|list| list.elements().is_empty())
    {
        reading.fault("/approval_history", "must have at least one wait that was answered");
    }
    let test_history = root.get("test_history").and_then(|node| {
        reading.object(&node, &["passed", "failed"])?;
        let [passed, failed] = ["passed", "failed"].map(|key| {
            reading.whole(&node, key, 0..=1_000_000_000).and_then(|count| u32::try_from(count).ok())
        });
        Some(TestHistory { passed: passed?, failed: failed? })
    });
    if root.get("test_history").is_none()
        && orders.iter().any(|order| order.test.is_some() && order.rework.is_some())
    {
        reading.defaulted.push("/test_history".into());
    }
    let estimate_ratio = match root.get("estimate_ratio") {
        Some(node) => {
            reading.object(&node, &["log_mean", "log_sd"]);
            EstimateRatio {
                log_mean: reading.number_or(&node, "log_mean", -5.0..=5.0, 0.0),
                log_sd: reading.number_or(&node, "log_sd", 0.0..=3.0, 0.0),
            }
        }
        None => {
            reading.defaulted.push("/estimate_ratio".into());
            EstimateRatio::default()
        }
    };
    let draws = match root.get("draws") {
        Some(node) => {
            reading.whole_at(&node, 100..=100_000).and_then(|draws| u32::try_from(draws).ok())
        }
        None => {
            reading.defaulted.push("/draws".into());
            Some(USUAL_DRAWS)
        }
    };
    let seed =
        root.get("seed").and_then(|node| reading.whole_at(&node, i64::MIN..=i64::MAX)).unwrap_or(0);
    let steps: u64 = orders.iter().map(|order| 1 + order.work().count() as u64).sum();
    if let Some(draws) = draws.filter(|draws| u64::from(*draws) * steps > MOST_STEPS) {
        let most = MOST_STEPS / steps;
        reading.fault(
            "/draws",
            format!("{draws} draws of so many orders take too long; give at most {most}"),
        );
    }
    Some(Question {
        now: now?,
        calendar: calendar?,
        technicians,
        orders,
        approval_waits,
        test_history,
        estimate_ratio,
        draws: draws?,
        seed: seed.cast_unsigned(),
    })
}

fn read_technicians(reading: &mut Reading, root: &Node<'_>) -> Vec<Technician> {
    let nodes = reading.list(root, "technicians");
    if nodes.len() > MOST_TECHNICIANS {
        reading.fault("/technicians", format!("has more than {MOST_TECHNICIANS}"));
        return Vec::new();
    }
    let mut ids = HashSet::new();
    nodes.iter().filter_map(|node| read_technician(reading, node, &mut ids)).collect()
}

fn read_technician<'v>(
    reading: &mut Reading,
    node: &Node<'v>,
    ids: &mut HashSet<&'v str>,
) -> Option<Technician> {
    reading.object(node, &["id", "skills", "absent"])?;
    let id = read_id(reading, node, ids);
    let nodes = reading.list(node, "skills");
    let skills =
        nodes.iter().filter_map(|skill| reading.text_at(skill)).map(str::to_owned).collect();
    let nodes = reading.list_if(node, "absent");
    let absent = nodes.iter().filter_map(|absence| read_absence(reading, absence)).collect();
    Some(Technician { id: id?, skills, absent, share: 1.0 })
}

fn read_absence(reading: &mut Reading, node: &Node<'_>) -> Option<Absence> {
    reading.object(node, &["from", "to"])?;
    let (from, to) = (read_date(reading, node, "from"), read_date(reading, node, "to"));
    let (from, to) = (from?, to?);
    if to < from {
        reading.fault(node.below("to"), "is before from");
        return None;
    }
    Some(Absence { from, to })
}

/// An id that none before it has.
fn read_id<'v>(
    reading: &mut Reading,
    node: &Node<'v>,
    ids: &mut HashSet<&'v str>,
) -> Option<String> {
    let id = reading.text(node, "id")?;
    if !ids.insert(id) {
        reading.fault(node.below("id"), format!("{id:?} is there already; ids must differ"));
    }
    Some(id.to_owned())
}

fn read_orders(
    reading: &mut Reading,
    root: &Node<'_>,
    now: Option<DateTime<Utc>>,
) -> Vec<OpenOrder> {
    let nodes = reading.list(root, "orders");
    if nodes.len() > MOST_ORDERS {
        reading.fault("/orders", format!("has more than {MOST_ORDERS}"));
        return Vec::new();
    }
    let mut ids = HashSet::new();
    nodes.iter().filter_map(|node| read_order(reading, node, now, &mut ids)).collect()
}

fn read_order<'v>(
    reading: &mut Reading,
    node: &Node<'v>,
    now: Option<DateTime<Utc>>,
    ids: &mut HashSet<&'v str>,
) -> Option<OpenOrder> {
    reading.object(
        node,
        &[
            "id",
            "arrived_at",
            "promised_date",
            "tasks",
            "test",
            "rework",
            "approval",
            "hold",
            "available_at",
        ],
    )?;
    let id = read_id(reading, node, ids);
    let arrived_at = read_instant(reading, node, "arrived_at");
    let promised_date =
        node.get("promised_date").and_then(|_| read_date(reading, node, "promised_date"));
    let tasks = reading.list(node, "tasks");
    if tasks.len() > MOST_TASKS {
        reading.fault(node.below("tasks"), format!("has more than {MOST_TASKS}"));
        return None;
    }
    let tasks = tasks.iter().filter_map(|task| read_work(reading, task, true)).collect();
    let [test, rework] = ["test", "rework"]
        .map(|key| node.get(key).and_then(|work| read_work(reading, &work, false)));
    let asked_at = node.get("approval").and_then(|approval| read_approval(reading, &approval, now));
    let hold = node.get("hold").and_then(|hold| read_hold(reading, &hold));
    let available_at =
        node.get("available_at").and_then(|_| read_instant(reading, node, "available_at"));
    Some(OpenOrder {
        id: id?,
        arrived_at: arrived_at?,
        promised_date,
        tasks,
        test,
        rework,
        asked_at,
        answer_chance: 1.0,
        hold,
        available_at,
        stands: None,
    })
}

/// A piece of work; only a task can be somebody's.
fn read_work(reading: &mut Reading, node: &Node<'_>, is_task: bool) -> Option<Work> {
    let known = ["skill", "minutes", "technician"];
    reading.object(node, if is_task { &known } else { &known[..2] })?;
    let skill = reading.text(node, "skill");
    let minutes = read_three_point(reading, node, "minutes");
    let technician = node.get("technician").and_then(|id| reading.text_at(&id)).map(str::to_owned);
    Some(Work { skill: skill?.to_owned(), minutes: minutes?, technician })
}

fn read_three_point(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<ThreePoint> {
    let Some(node) = node.get(key) else {
        reading.fault(node.below(key), "is missing; give low, typical and high");
        return None;
    };
    reading.object(&node, &["low", "typical", "high"])?;
    let [low, typical, high] =
        ["low", "typical", "high"].map(|key| reading.number(&node, key, 0.0..));
    let (low, typical, high) = (low?, typical?, high?);
    if typical < low || typical > high {
        reading.fault(node.below("typical"), "must be at least low and at most high");
    }
    if high < typical.max(low) {
        reading.fault(node.below("high"), "must be at least low and typical");
    }
    if low > high {
        reading.fault(node.below("low"), "must be at most high");
    }
    ThreePoint::new(low, typical, high)
}

fn read_approval(
    reading: &mut Reading,
    node: &Node<'_>,
    now: Option<DateTime<Utc>>,
) -> Option<DateTime<Utc>> {
    reading.object(node, &["asked_at"])?;
    let asked_at = read_instant(reading, node, "asked_at")?;
    if now.is_some_and(|now| asked_at > now) {
        reading.fault(node.below("asked_at"), "is after now");
    }
    Some(asked_at)
}

fn read_hold(reading: &mut Reading, node: &Node<'_>) -> Option<Hold> {
    reading.object(node, &["until", "days"])?;
    match (node.get("until"), node.get("days")) {
        (Some(_), None) => read_instant(reading, node, "until").map(Hold::Until),
        (None, Some(_)) => read_three_point(reading, node, "days").map(Hold::Days),
        _ => {
            reading.fault(&node.pointer, "must have either until or days");
            None
        }
    }
}

fn read_approval_history(reading: &mut Reading, root: &Node<'_>) -> Option<ApprovalWaits> {
    let nodes = reading.list_if(root, "approval_history");
    if nodes.len() > MOST_WAITS {
        reading.fault("/approval_history", format!("has more than {MOST_WAITS}; give the newest"));
        return None;
    }
    let before = reading.faults.len();
    let waits: Vec<ApprovalWait> =
        nodes.iter().filter_map(|node| read_wait(reading, node)).collect();
    if nodes.is_empty() || reading.faults.len() > before {
        return None;
    }
    let waits = ApprovalWaits::new(&waits);
    if waits.is_err() {
        reading.fault("/approval_history", "must have at least one wait that was answered");
    }
    waits.ok()
}

fn read_wait(reading: &mut Reading, node: &Node<'_>) -> Option<ApprovalWait> {
    reading.object(node, &["days", "answered"])?;
    let days = reading.number(node, "days", 0.0..=36_600.0);
    let answered = match node.get("answered") {
        Some(answered) if answered.value.is_boolean() => answered.value.as_bool(),
        _ => {
            reading.fault(node.below("answered"), "must be true or false");
            None
        }
    };
    Some(ApprovalWait { days: days?, answered: answered? })
}

/// A mean to ten digits: more would be noise.
fn ten_digits(number: f64) -> f64 {
    format!("{number:.9e}").parse().unwrap_or(number)
}
