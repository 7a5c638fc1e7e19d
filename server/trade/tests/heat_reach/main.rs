//! `heat-reach` against the reference cases, closed forms of the handbooks, the laws it
//! must obey, and inputs that mean no good.

#[path = "../comparing/mod.rs"]
mod comparing;

mod handbooks;
mod laws;
mod parts;
mod refusals;

use comparing::{EXACT, Tolerance, check_all};
use serde_json::{Value, json};
use trade::bench::heat_reach::compute;

fn tolerance(pointer: &str) -> Tolerance {
    let field = pointer.rsplit('/').next().unwrap_or_default();
    let abs = match field {
        "temperature_c" | "temperature_high_c" | "max_c" | "min_c" | "over_300c_mm" => 1.0,
        "peak_at_s" => 5.0,
        "safe_distance_mm" | "cover_mm" => 0.5,
        "waterline_c" => 1.5,
        _ => return EXACT,
    };
    Tolerance { abs, rel: 0.0 }
}

#[test]
fn reference_cases_hold() {
    check_all("heat-reach", compute, tolerance);
}

#[test]
fn the_same_question_has_the_same_answer_to_the_byte() {
    for case in comparing::reference("heat-reach")["cases"].as_array().expect("cases") {
        let ask = || compute(&case["input"]).map(|answer| answer.to_string());
        assert_eq!(ask(), ask());
    }
}

/// A 200 mm pipe with a torch on its first 8 mm and one joint.
fn pipe(at_mm: f64) -> Value {
    json!({
        "mode": {"kind": "steady"},
        "tubes": [{
            "id": "p", "from": "a", "to": "b", "length_mm": 200,
            "outside_diameter_mm": 12, "wall_mm": 0.5, "material": "brass_c260"
        }],
        "zones": [
            {"kind": "torch", "tube": "p", "from_mm": 0, "to_mm": 8, "temperature_c": 700}
        ],
        "joints": [{"id": "j", "tube": "p", "at_mm": at_mm, "held_by": "sn63pb37"}]
    })
}

fn with(mut input: Value, pointer: &str, value: Value) -> Value {
    let (parent, key) = pointer.rsplit_once('/').expect("a pointer below the root");
    let parent = input.pointer_mut(parent).expect("stands in the input");
    match (parent, key.parse::<usize>()) {
        (Value::Array(list), Ok(place)) if place == list.len() => list.push(value),
        (Value::Array(list), Ok(place)) => list[place] = value,
        (parent, _) => parent[key] = value,
    }
    input
}

fn answer(input: &Value) -> Value {
    compute(input).expect("answers")
}

fn number(value: &Value, pointer: &str) -> f64 {
    let found = value.pointer(pointer).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("{pointer} is no number in {value}"))
}
