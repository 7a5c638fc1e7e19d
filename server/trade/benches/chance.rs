//! Times the computations that rest on chance: `cargo bench --bench chance`.
//!
//! Prints the machine, each input and the median of several runs; asserts nothing, because
//! time on a shared machine is noise.

use serde_json::{Value, json};
use std::time::{Duration, Instant};
use trade::bench::{further_findings, promise_date};

fn main() {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    println!("{} {}, {cores} cores", std::env::consts::OS, std::env::consts::ARCH);
    let input = findings_of(1000);
    let median = median_of(101, || further_findings::compute(&input).map(drop).expect("answer"));
    println!("further-findings, 1,000 rows, cost, dispersion estimated: {median:?}");
    for (orders, draws) in [(1, 10_000), (30, 10_000), (300, 2_000), (300, 10_000)] {
        let input = shop_with(orders, draws);
        let median = median_of(11, || promise_date::compute(&input).map(drop).expect("answer"));
        println!("promise-date, {orders} orders, {draws} draws, all cores: {median:?}");
    }
}

/// Five technicians and orders with one to four tasks, a leak test that may fail, some
/// waiting for an answer or for parts.
fn shop_with(orders: usize, draws: u32) -> Value {
    let skills = ["brass", "woodwind", "brazing", "lacquer"];
    let day = json!([{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}]);
    let three = |low: usize, more: usize| json!({"low": low, "typical": low + more, "high": low + 4 * more});
    let orders: Vec<Value> = (0..orders)
        .map(|order| {
            let tasks: Vec<Value> = (0..1 + order % 4)
                .map(|task| {
                    let minutes =
                        three(10 + (order * 7 + task * 13) % 50, 5 + (order * 11 + task * 5) % 40);
                    json!({"skill": skills[(order * 5 + task * 3) % 4], "minutes": minutes})
                })
                .collect();
            let mut value = json!({
                "id": format!("o{order:03}"),
                "arrived_at": format!("2026-11-{:02}T{:02}:00:00Z", 1 + order % 24, order % 20),
                "tasks": tasks,
                "test": {"skill": "brass", "minutes": three(5, 5)},
                "rework": {"skill": "brass", "minutes": three(10, 15)},
            });
            if order % 3 > 0 {
                value["promised_date"] = json!(format!("2026-12-{:02}", 1 + order % 30));
            }
            if order % 5 == 1 {
                value["approval"] =
                    json!({"asked_at": format!("2026-11-{:02}T10:00:00Z", 5 + order % 20)});
            }
            if order % 7 == 2 {
                value["hold"] = json!({"days": three(1, 2 + order % 5)});
            }
            value
        })
        .collect();
    let waits: Vec<Value> = promise_date::TYPICAL_APPROVAL_WAITS
        .iter()
        .map(|wait| json!({"days": wait.days, "answered": wait.answered}))
        .collect();
    json!({
        "now": "2026-11-25T08:00:00Z",
        "calendar": {"time_zone": "Europe/Berlin", "weekly": {"monday": day, "tuesday": day, "wednesday": day,
            "thursday": day, "friday": day, "saturday": [{"from": "09:30", "to": "13:00"}]},
            "closed": [{"from": "2026-12-24", "to": "2027-01-03"}]},
        "technicians": [
            {"id": "ann", "skills": ["brass", "brazing"]},
            {"id": "ben", "skills": ["woodwind"]},
            {"id": "cem", "skills": ["brass", "woodwind"], "absent": [{"from": "2026-12-01", "to": "2026-12-04"}]},
            {"id": "dot", "skills": ["lacquer", "brass"]},
            {"id": "eli", "skills": ["brass", "woodwind", "brazing", "lacquer"]},
        ],
        "orders": orders,
        "approval_history": waits,
        "test_history": {"passed": 40, "failed": 7},
        "estimate_ratio": {"log_mean": 0.05, "log_sd": 0.3},
        "draws": draws,
        "seed": 1,
    })
}

fn median_of(runs: usize, mut run: impl FnMut()) -> Duration {
    run();
    let mut times: Vec<Duration> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[runs / 2]
}

fn findings_of(rows: usize) -> Value {
    let ages = ["under_20", "20_to_49", "50_to_79", "80_to_119", "over_119", "unknown"];
    let constructions = ["seamless", "seamed", "unknown"];
    let repairs = ["none_seen", "seen", "unknown"];
    let examined = ["outside", "bore_light", "taken_apart"];
    let history: Vec<Value> = (0..rows)
        .map(|row| {
            json!({
                "age_band": ages[row % 6], "construction": constructions[row / 6 % 3],
                "earlier_repairs": repairs[row / 18 % 3], "examined": examined[row / 54 % 3],
                "exposure": 0.5 + (row * 37 % 101) as f64 / 40.0,
                "found_first": row * 13 % 7, "found_later": row * 5 % 4,
            })
        })
        .collect();
    let money = |amount: &str| json!({"amount": amount, "currency": "EUR"});
    json!({
        "order": {"age_band": "over_119", "construction": "seamed", "earlier_repairs": "seen",
            "examined": "outside", "found_first": 4, "exposure": 4},
        "history": history,
        "cost_per_finding": {"low": money("20"), "typical": money("45"), "high": money("120")},
    })
}
