//! How orders as they stand become the question of the computation.

use super::{BenchPerson, OpenHold, OrderAtWork, ShopAtWork, typical};
use crate::bench::promise_date::{
    ApprovalWaits, Hold, OpenOrder, Question, TYPICAL_APPROVAL_WAITS, Technician, Work,
};
use crate::bench::three_point::ThreePoint;
use crate::words::business_time::Calendar;
use crate::words::ids::PersonId;
use crate::words::instrument::{Family, OperationKind};
use crate::words::stage::Stage;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;
use uuid::Uuid;

/// The seed of every forecast: the same shop gets the same dates again.
const SEED: u64 = 0;

/// The question for these orders of a shop.
pub(super) fn question(shop: &ShopAtWork, orders: &[&OrderAtWork], draws: u32) -> Question {
    let orders: Vec<OpenOrder> = orders.iter().map(|order| open_order(shop, order)).collect();
    let wanted: BTreeSet<&str> =
        orders.iter().flat_map(OpenOrder::work).map(|(_, work)| work.skill.as_str()).collect();
    let technicians = shop.people.iter().map(|person| technician(shop, person, &wanted)).collect();
    // The shop's own waits count as soon as there are enough of them, and one was answered.
    let own = shop.history.has_own_waits().then(|| ApprovalWaits::new(&shop.history.approval_waits()).ok());
    let waits = own.flatten().or_else(|| ApprovalWaits::new(&TYPICAL_APPROVAL_WAITS).ok());
    Question {
        now: shop.now,
        calendar: shop.calendar.clone(),
        technicians,
        orders,
        approval_waits: waits,
        test_history: Some(shop.history.tests()),
        estimate_ratio: shop.history.ratio(),
        draws,
        seed: SEED,
    }
}

/// A skill is a family, and a method where one is named: `horn`, `horn 0190…`. What somebody has
/// claimed takes nothing but being them, `@0190…`: they will know why they claimed it.
fn skill(family: Family, method: Option<Uuid>, technician: Option<&String>) -> String {
    match (technician, method) {
        (Some(technician), _) => format!("@{technician}"),
        (None, Some(method)) => format!("{family} {method}"),
        (None, None) => family.to_string(),
    }
}

fn technician(shop: &ShopAtWork, person: &BenchPerson, wanted: &BTreeSet<&str>) -> Technician {
    let own = format!("@{}", person.id);
    let can = |skill: &&&str| {
        if skill.starts_with('@') {
            return **skill == own;
        }
        let (family, method) = skill.split_once(' ').map_or((**skill, None), |(f, m)| (f, Some(m)));
        let knows_family = person
            .skills
            .families
            .as_ref()
            .is_none_or(|families| families.iter().any(|known| known.to_string() == family));
        let knows_method = method.is_none_or(|method| {
            person
                .skills
                .methods
                .as_ref()
                .is_none_or(|methods| methods.iter().any(|known| known.to_string() == method))
        });
        knows_family && knows_method
    };
    Technician {
        id: person.id.to_string(),
        skills: wanted.iter().filter(can).map(|skill| (*skill).to_owned()).collect(),
        absent: person.absent.clone(),
        share: share(&shop.calendar, person.weekly_bench_hours),
    }
}

/// The part of the opening hours that somebody spends at the bench.
fn share(calendar: &Calendar, weekly_bench_hours: Option<i32>) -> f64 {
    let open_minutes = calendar.weekly_minutes();
    match weekly_bench_hours {
        Some(hours) if open_minutes > 0 => {
            (f64::from(hours) * 60.0 / f64::from(open_minutes)).clamp(0.01, 1.0)
        }
        _ => typical::BENCH_SHARE,
    }
}

fn open_order(shop: &ShopAtWork, order: &OrderAtWork) -> OpenOrder {
    let here = |person: Option<PersonId>| {
        person.filter(|id| shop.people.iter().any(|one| one.id == *id)).map(|id| id.to_string())
    };
    let claimer = here(order.claimed_by);
    let plain = |minutes: [f64; 3]| Work {
        skill: skill(order.family, None, claimer.as_ref()),
        minutes: three_point(minutes),
        technician: claimer.clone(),
    };
    let mut tasks = Vec::new();
    if order.is_ending {
        // Only what is apart is put together again.
        tasks.extend(
            order
                .steps
                .iter()
                .filter(|step| step.kind == OperationKind::PutTogether)
                .map(|step| plain(step.minutes.map(f64::from))),
        );
    } else {
        if matches!(order.stage, Stage::Intake | Stage::Diagnosis) && order.drafted.is_none() {
            tasks.push(plain(typical::EXAMINATION_MINUTES));
        }
        for step in &order.steps {
            let left = step.minutes.map(|minutes| f64::from(minutes) - f64::from(step.taken_minutes));
            // A step that has taken longer than its high figure is nearly done, as far as anybody
            // can say.
            let left = left.map(|minutes| minutes.max(f64::from(step.minutes[0]) / 10.0));
            let technician = here(step.claimed_by).or_else(|| claimer.clone());
            tasks.push(Work {
                skill: skill(order.family, step.method, technician.as_ref()),
                minutes: three_point(left),
                technician,
            });
        }
        let is_planned = !order.steps.is_empty() || matches!(order.stage, Stage::Bench | Stage::LeakTest);
        if !is_planned {
            tasks.push(plain(shop.history.minutes_of(order.family)));
        }
    }
    let is_tested = !order.is_ending;
    OpenOrder {
        id: order.id.to_string(),
        arrived_at: order.arrived_at,
        promised_date: if order.is_taken_up { Some(NaiveDate::MIN) } else { order.promised_on },
        tasks,
        test: is_tested.then(|| plain(typical::TEST_MINUTES)),
        rework: is_tested.then(|| plain(typical::REWORK_MINUTES)),
        asked_at: asked_at(shop, order),
        hold: order.hold.map(|hold| held(shop, hold)),
        available_at: order.available_on.map(|date| opening(&shop.calendar, date)),
        answer_chance: answer_chance(shop, order),
        stands: stands(shop, order),
    }
}

/// How long it still stands: as long as closed orders did from this point on, less what it has lain
/// here already, and at least what they did from the next point on. What a hold kept them is left out
/// for an order that is held.
fn stands(shop: &ShopAtWork, order: &OrderAtWork) -> Option<Vec<f64>> {
    if order.is_ending {
        return None;
    }
    let from = |stage, is_begun| shop.history.stands_from(stage, is_begun, order.hold.is_some());
    if order.is_taken_up {
        return match order.stage {
            Stage::Intake | Stage::Diagnosis | Stage::Approval => from(Stage::Approval, false).cloned(),
            Stage::Bench => from(Stage::Bench, true).cloned(),
            Stage::LeakTest | Stage::Pickup | Stage::Closed => None,
        };
    }
    let is_begun = order.steps.iter().any(|step| step.taken_minutes > 0);
    let (here, next) = match order.stage {
        Stage::Intake => (from(Stage::Intake, false)?, from(Stage::Diagnosis, false)),
        Stage::Diagnosis => (from(Stage::Diagnosis, false)?, from(Stage::Approval, false)),
        Stage::Approval | Stage::Bench if is_begun => return from(Stage::Bench, true).cloned(),
        Stage::Approval => return from(Stage::Approval, false).cloned(),
        Stage::Bench => (from(Stage::Bench, false)?, from(Stage::Bench, true)),
        Stage::LeakTest => (from(Stage::LeakTest, false)?, None),
        Stage::Pickup | Stage::Closed => return None,
    };
    // What was held has not lain.
    let lain = if order.hold.is_none() { shop.calendar.open_seconds(order.stage_since, shop.now, &[]) } else { 0 };
    let lain = lain as f64 / 3600.0;
    let at_least = |point: usize| next.map_or(0.0, |next| next[point]);
    Some(here.iter().enumerate().map(|(point, hours)| (hours - lain).max(at_least(point))).collect())
}

/// Since when an answer is awaited. One that has not been asked yet is taken to be asked now, so
/// that the usual wait lies ahead of it.
fn asked_at(shop: &ShopAtWork, order: &OrderAtWork) -> Option<DateTime<Utc>> {
    if order.is_ending {
        return None;
    }
    match order.stage {
        Stage::Approval => Some(order.asked_at.unwrap_or(shop.now).min(shop.now)),
        Stage::Intake | Stage::Diagnosis => Some(shop.now),
        Stage::Bench | Stage::LeakTest | Stage::Pickup | Stage::Closed => None,
    }
}

/// The chance that the owner is asked at all before the bench; one who has been asked is.
fn answer_chance(shop: &ShopAtWork, order: &OrderAtWork) -> f64 {
    if !matches!(order.stage, Stage::Intake | Stage::Diagnosis) {
        return 1.0;
    }
    let asks = |is_covered: bool| if is_covered { 0.0 } else { 1.0 };
    if let Some(drafted) = order.drafted {
        return asks(order.may_cost.is_some_and(|may| may >= drafted));
    }
    let expected = shop.history.cost(order.family).map(|cost| cost.middle);
    shop.history.chance_of_asking(order.family, order.may_cost).unwrap_or_else(|| match (order.may_cost, expected) {
        (Some(may), Some(expected)) => asks(may >= expected),
        // Nothing is known of what it will cost; an amount given at the counter is meant to cover it.
        (may, None) => asks(may.is_some()),
        (None, Some(_)) => asks(false),
    })
}

/// Until the day named, if that lies ahead; else for some days more.
fn held(shop: &ShopAtWork, hold: OpenHold) -> Hold {
    let today = shop.calendar.local_date(shop.now);
    match hold.look_again_on {
        Some(day) if day > today => Hold::Until(opening(&shop.calendar, day)),
        _ => Hold::Days(three_point(typical::HOLD_DAYS)),
    }
}

/// When the shop opens on this date; noon in Greenwich when it does not.
fn opening(calendar: &Calendar, date: NaiveDate) -> DateTime<Utc> {
    calendar
        .open_intervals(date)
        .first()
        .map_or_else(|| date.and_time(chrono::NaiveTime::MIN).and_utc() + chrono::TimeDelta::hours(12), |span| span.from)
}

/// Figures that rise; what does not is raised until it does.
fn three_point([low, typical, high]: [f64; 3]) -> ThreePoint {
    let low = low.max(0.0);
    let typical = typical.max(low);
    ThreePoint::new(low, typical, high.max(typical)).expect("they rise from zero")
}
