//! How long a whole plan takes: a baritone with twelve operations, four of them with the torch.
//! `cargo run --release -p bellbrace-trade --example plan_times`.

use std::time::Instant;
use trade::bench::plan::{Bench, BenchSettings, Spot, Task, TaskMethod, plan};
use trade::maps::template_of;
use trade::words::instrument::{Family, FindingKind, Heat, OperationKind};

fn method(name: &str, minutes: u32, station: &str, heat: Heat) -> TaskMethod {
    TaskMethod { id: name.to_owned(), station: station.to_owned(), ..TaskMethod::unlisted(name, minutes, heat) }
}

fn main() {
    let map = template_of(Family::Baritone);
    let settings = BenchSettings::default();
    let task = |at: usize, title: &str, own: TaskMethod, word: &str, kind: FindingKind, position_mm: Option<f64>| Task {
        id: format!("{at}"),
        title: title.to_owned(),
        kind: OperationKind::Work,
        after: Vec::new(),
        joint: None,
        needs_apart: Vec::new(),
        chosen: Vec::new(),
        spots: vec![Spot { word: word.to_owned(), kind, position_mm, size_mm: Some(14.0) }],
        method: own,
        others: if kind == FindingKind::Crack { vec![method("Soft-solder a patch", 30, "torch", Heat::Solder)] } else { Vec::new() },
    };
    let mut tasks = Vec::new();
    for (title, word, kind, heat, position) in [
        ("Braze the crack", "bell", FindingKind::Crack, Heat::Braze, Some(120.0)),
        ("Braze the crack", "bottom bow", FindingKind::Crack, Heat::Braze, Some(60.0)),
        ("Solder the brace", "bell brace", FindingKind::OpenJoint, Heat::Solder, None),
        ("Braze the crack", "leadpipe", FindingKind::Crack, Heat::Braze, Some(40.0)),
        ("Take the dent out", "bell", FindingKind::Dent, Heat::None, Some(300.0)),
        ("Take the dent out", "bottom bow", FindingKind::Dent, Heat::None, Some(200.0)),
        ("Free the slide", "tuning slide", FindingKind::Slide, Heat::None, None),
        ("Align the valves", "valve casings", FindingKind::Valve, Heat::None, None),
        ("Clean", "bell", FindingKind::Other, Heat::None, None),
        ("Replace the cork", "water key", FindingKind::WornCork, Heat::None, None),
        ("Buff bright", "bell", FindingKind::LacquerLoss, Heat::None, None),
        ("Replate a spot", "leadpipe", FindingKind::PlatingLoss, Heat::None, None),
    ] {
        let station = match (heat, kind) {
            (Heat::Braze | Heat::Solder, _) => "torch",
            (_, FindingKind::LacquerLoss) => "wheel",
            (_, FindingKind::PlatingLoss) => "plating",
            (_, FindingKind::Other) => "sink",
            _ => "bench",
        };
        tasks.push(task(tasks.len(), title, method(title, 30, station, heat), word, kind, position));
    }
    let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
    let mut times: Vec<f64> = (0..21)
        .map(|_| {
            let began = Instant::now();
            let answer = plan(&bench);
            assert!(answer.total_minutes.is_some() || !answer.impossible.is_empty());
            began.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    let answer = plan(&bench);
    println!("12 operations on a baritone: median {:.1} ms, slowest of 21 {:.1} ms", times[10], times[20]);
    println!("total {:?}, proven {}, {} conflicts", answer.total_minutes, answer.proven_optimal, answer.conflicts.len());
    for conflict in &answer.conflicts {
        println!("  {} ({} mm from the torch)", conflict.words, conflict.distance_mm);
        for way in &conflict.ways {
            let state = if way.chosen { "chosen" } else if way.allowed { "allowed" } else { "not allowed" };
            println!("    {state}: {} {} min, plan {:?} {}", way.words, way.minutes, way.plan_minutes, way.why_not.as_deref().unwrap_or(""));
        }
    }
    for step in &answer.steps {
        println!("  {}. {} [{}] {} + {} min {:?}", step.number, step.words, step.station.as_deref().unwrap_or(""), step.changeover_minutes, step.minutes, step.protections.iter().map(|one| (&one.joint.name, one.how)).collect::<Vec<_>>());
    }
    for no_way in answer.impossible.iter().chain(&answer.unplaced) {
        println!("  no way: {}", no_way.words);
    }
}
