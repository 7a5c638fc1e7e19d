//! Answers computations on demand and says how long each took, so that another program can
//! set its own time beside it in the same run.
//!
//! Reads one JSON object a line: `{"name", "input", "repeats"}`. Writes one a line:
//! `{"median_s", "output"}`, the median of that many runs in seconds, or `{"refused"}`.
//!
//! `cargo run --release -p bellbrace-trade --example timed_sums`

use serde_json::{Value, json};
use std::hint::black_box;
use std::io::{BufRead, Write};
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let asked: Value = serde_json::from_str(&line?)?;
        let name = asked["name"].as_str().unwrap_or_default();
        let compute = trade::calculation::by_name(name).ok_or_else(|| format!("there is no computation {name:?}"))?;
        let mut times = Vec::new();
        let mut answer = compute(&asked["input"]);
        for _ in 0..asked["repeats"].as_u64().unwrap_or(1).max(1) {
            let begun = Instant::now();
            answer = black_box(compute(black_box(&asked["input"])));
            times.push(begun.elapsed().as_secs_f64());
        }
        times.sort_by(f64::total_cmp);
        let told = match answer {
            Ok(output) => json!({"median_s": times[times.len() / 2], "output": output}),
            Err(refused) => json!({"refused": format!("{refused:?}")}),
        };
        writeln!(out, "{told}")?;
        out.flush()?;
    }
    Ok(())
}
