//! Reads the committed reference cases and compares an answer with one of them:
//! whatever the case shows must stand in the answer, within its tolerance.

use serde_json::Value;
use trade::calculation::Compute;

/// How near a number must be: `|x − v| ≤ abs + rel·|v|`.
#[derive(Debug, Clone, Copy)]
pub struct Tolerance {
    pub abs: f64,
    pub rel: f64,
}

pub const EXACT: Tolerance = Tolerance { abs: 0.0, rel: 0.0 };

/// The whole reference file of one computation.
pub fn reference(name: &str) -> Value {
    let path = format!("{}/../../tests/vectors/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    serde_json::from_str(&text).expect("reference file is JSON")
}

/// Runs every case that has an `output` or is `refused`; `tolerance` is asked with the
/// pointer of each number. Panics with all differences at once.
pub fn check_all(name: &str, compute: Compute, tolerance: impl Fn(&str) -> Tolerance) {
    let file = reference(name);
    let cases = file["cases"].as_array().expect("cases");
    assert!(!cases.is_empty());
    let mut wrong = Vec::new();
    for case in cases {
        check_one(case, compute, &tolerance, &mut wrong);
    }
    assert!(wrong.is_empty(), "{} differences:\n{}", wrong.len(), wrong.join("\n"));
}

/// Runs one case and notes its differences.
pub fn check_one(
    case: &Value,
    compute: Compute,
    tolerance: &impl Fn(&str) -> Tolerance,
    wrong: &mut Vec<String>,
) {
    let id = case["id"].as_str().expect("id");
    match (compute(&case["input"]), case.get("refused")) {
        (Ok(answer), None) => differences(id, "", &case["output"], &answer, tolerance, wrong),
        (Err(refused), Some(expected)) => {
            if refused.slug != expected["type"] {
                wrong.push(format!(
                    "{id}: refused as {} instead of {}",
                    refused.slug, expected["type"]
                ));
            }
            for pointer in expected["pointers"].as_array().expect("pointers") {
                if !refused.faults.iter().any(|fault| pointer == fault.pointer.as_str()) {
                    wrong.push(format!("{id}: {pointer} is not among {:?}", refused.faults));
                }
            }
        }
        (Ok(answer), Some(expected)) => {
            wrong.push(format!("{id}: answered {answer} instead of {expected}"))
        }
        (Err(refused), None) => wrong.push(format!("{id}: refused {refused:?}")),
    }
}

/// Notes where `answer` does not hold what `expected` shows.
pub fn differences(
    id: &str,
    pointer: &str,
    expected: &Value,
    answer: &Value,
    tolerance: &impl Fn(&str) -> Tolerance,
    wrong: &mut Vec<String>,
) {
    match (expected, answer) {
        (Value::Object(want), Value::Object(have)) => {
            for (key, value) in want {
                let below = format!("{pointer}/{key}");
                match have.get(key) {
                    Some(found) => differences(id, &below, value, found, tolerance, wrong),
                    None => wrong.push(format!("{id}: {below} is missing, should be {value}")),
                }
            }
        }
        (Value::Array(want), Value::Array(have)) => {
            if want.len() != have.len() {
                wrong.push(format!(
                    "{id}: {pointer} has {} elements instead of {}",
                    have.len(),
                    want.len()
                ));
            }
            for (index, (value, found)) in want.iter().zip(have).enumerate() {
                differences(id, &format!("{pointer}/{index}"), value, found, tolerance, wrong);
            }
        }
        (Value::Number(want), Value::Number(have)) => {
            let (want, have) = (want.as_f64().expect("f64"), have.as_f64().expect("f64"));
            let allowed = tolerance(pointer);
            let is_near = (have - want).abs() <= allowed.abs + allowed.rel * want.abs();
            if !is_near {
                wrong.push(format!("{id}: {pointer} is {have} instead of {want}"));
            }
        }
        _ if expected == answer => {}
        _ => wrong.push(format!("{id}: {pointer} is {answer} instead of {expected}")),
    }
}
