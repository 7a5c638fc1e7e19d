//! Takes a good input and spoils it in one place after another, to see that a computation
//! answers or refuses whatever it is given, and never panics.

use serde_json::{Value, json};
use trade::calculation::Compute;

/// Values that programs send by mistake or on purpose.
fn nasty() -> Vec<Value> {
    vec![
        Value::Null,
        json!(true),
        json!(-1),
        json!(0),
        json!(0.5),
        json!(1e308),
        json!(-1e308),
        json!(5e-324),
        json!(u64::MAX),
        json!(i64::MIN),
        json!(""),
        json!("\u{0}"),
        json!("9999-12-31T23:59:59Z"),
        json!("-262143-01-01T00:00:00Z"),
        json!("2026-02-30"),
        json!("٣"),
        json!("x".repeat(5000)),
        json!([]),
        json!([[]]),
        json!({}),
        json!({"": 1}),
    ]
}

/// Replaces each value below `input` in turn by each nasty one, takes each field away, and
/// adds an unknown one to each object; runs `compute` on all of them and gives how many
/// were refused and how many were run. An unknown field must be refused by its pointer.
pub fn spoil_everywhere(input: &Value, compute: Compute) -> (usize, usize) {
    let (mut refused, mut run) = (0, 0);
    for pointer in pointers(input) {
        let mut trials: Vec<Value> =
            nasty().into_iter().map(|value| with(input, &pointer, |at| *at = value)).collect();
        if let Some((parent, key)) = pointer.rsplit_once('/') {
            trials.push(with(input, parent, |at| match at {
                Value::Object(map) => {
                    map.shift_remove(key);
                }
                Value::Array(list) => {
                    list.remove(key.parse::<usize>().expect("index"));
                }
                _ => unreachable!("a pointer goes through objects and arrays"),
            }));
        }
        for trial in trials {
            run += 1;
            if let Err(refusal) = compute(&trial) {
                assert!(!refusal.faults.is_empty(), "a refusal says what is wrong: {trial}");
                refused += 1;
            }
        }
        if input.pointer(&pointer).is_some_and(Value::is_object) {
            let more = with(input, &pointer, |at| at["not-a-field"] = json!(1));
            let refusal = compute(&more).expect_err("an unknown field is refused");
            let expected = format!("{pointer}/not-a-field");
            assert!(
                refusal.faults.iter().any(|fault| fault.pointer == expected),
                "{expected}: {refusal:?}"
            );
        }
    }
    (refused, run)
}

fn with(input: &Value, pointer: &str, change: impl FnOnce(&mut Value)) -> Value {
    let mut changed = input.clone();
    change(changed.pointer_mut(pointer).expect("the pointer was found in it"));
    changed
}

fn pointers(value: &Value) -> Vec<String> {
    let below: Vec<(String, &Value)> = match value {
        Value::Object(map) => map.iter().map(|(key, value)| (key.clone(), value)).collect(),
        Value::Array(list) => {
            list.iter().enumerate().map(|(index, value)| (index.to_string(), value)).collect()
        }
        _ => Vec::new(),
    };
    let mut all = vec![String::new()];
    for (key, value) in below {
        all.extend(pointers(value).into_iter().map(|rest| format!("/{key}{rest}")));
    }
    all
}
