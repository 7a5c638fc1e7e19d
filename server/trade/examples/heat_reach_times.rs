//! Prints how long heat-reach takes: the median of many runs of each reference case of
//! the kinds that have a target, and of a question with ten tubes.
//!
//! `cargo run --release -p bellbrace-trade --example heat_reach_times`

use serde_json::{Value, json};
use std::hint::black_box;
use std::time::Instant;
use trade::bench::heat_reach::compute;

fn main() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/vectors/heat-reach.json");
    let text = std::fs::read_to_string(path).expect("the reference cases stand beside the crate");
    let file: Value = serde_json::from_str(&text).expect("the reference cases are JSON");
    for case in file["cases"].as_array().into_iter().flatten() {
        if case.get("refused").is_none() {
            print_median(case["id"].as_str().unwrap_or_default(), &case["input"]);
        }
    }
    print_median("ten tubes, steady", &ten_tubes(&json!({"kind": "steady"})));
    let heated = json!({"kind": "transient", "heating_s": 30, "watch_s": 120});
    print_median("ten tubes, transient", &ten_tubes(&heated));
}

/// A bow with three braces to a second bow: four rings.
fn ten_tubes(mode: &Value) -> Value {
    let mut tubes = Vec::new();
    for side in ["upper", "lower"] {
        for place in 0..3 {
            tubes.push(json!({
                "id": format!("{side}{place}"), "from": format!("{side}{place}"),
                "to": format!("{side}{}", place + 1), "length_mm": 160,
                "outside_diameter_mm": 14, "wall_mm": 0.5
            }));
        }
    }
    for place in 0..4 {
        tubes.push(json!({
            "id": format!("brace{place}"), "from": format!("upper{place}"),
            "to": format!("lower{place}"), "length_mm": 40,
            "outside_diameter_mm": 4, "wall_mm": 2
        }));
    }
    let joints: Vec<Value> = (0..4)
        .flat_map(|place| ["upper", "lower"].map(|side| format!("{side}{place}")))
        .map(|node| json!({"id": node, "node": node, "held_by": "sn63pb37"}))
        .collect();
    json!({
        "tubes": tubes, "joints": joints, "mode": mode,
        "zones": [
            {"kind": "torch", "tube": "upper1", "from_mm": 70, "to_mm": 90, "temperature_c": 700},
            {"kind": "water", "tube": "lower0", "from_mm": 0, "to_mm": 120},
            {"kind": "wet_rag", "tube": "brace1", "from_mm": 10, "to_mm": 30}
        ]
    })
}

fn print_median(name: &str, input: &Value) {
    let mut times: Vec<f64> = (0..41)
        .map(|_| {
            let start = Instant::now();
            black_box(compute(black_box(input))).expect("the question is answered");
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("{name:28} {:9.3} ms", times[times.len() / 2]);
}
