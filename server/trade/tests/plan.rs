//! A plan made from a real part map: what it says it costs is what rules 1 to 4 charge for it.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

use proptest::prelude::*;
use trade::bench::order_of_work::replay::Rule;
use trade::bench::plan::{Bench, BenchSettings, ChosenWay, ComputedPlan, FixedStep, Spot, StepKind, Task, TaskMethod, WayHow, plan};
use trade::maps::{PartKind, PartMap, template_of};
use trade::words::instrument::{Family, FindingKind, Heat, OperationKind};
use uuid::Uuid;

const BRASS: [Family; 7] =
    [Family::Trumpet, Family::Cornet, Family::Flugelhorn, Family::Horn, Family::Trombone, Family::Baritone, Family::Tuba];

fn task(number: u128, word: &str, kind: FindingKind, position_mm: f64, minutes: u32, heat: Heat) -> Task {
    Task {
        id: Uuid::from_u128(number).to_string(),
        title: format!("step {number}"),
        kind: OperationKind::Work,
        after: Vec::new(),
        joint: None,
        needs_apart: Vec::new(),
        chosen: Vec::new(),
        spots: vec![Spot { word: word.to_owned(), kind, position_mm: Some(position_mm), size_mm: Some(10.0) }],
        method: TaskMethod::unlisted("by hand", minutes, heat),
        others: Vec::new(),
    }
}

/// Work on cracks anywhere on the tubes of a map: which tube, how far along it, minutes, and heat.
fn cracks(map: &PartMap, places: &[(usize, f64, u32, u8)]) -> Vec<Task> {
    let tubes: Vec<_> = map.parts.iter().filter(|part| part.kind == PartKind::Tube).collect();
    let at = |(number, (tube, share, minutes, heat)): (u128, &(usize, f64, u32, u8))| {
        let part = tubes[tube % tubes.len()];
        let heat = [Heat::None, Heat::Solder, Heat::Braze][usize::from(*heat)];
        task(number, &part.id, FindingKind::Crack, part.length.mm * share, *minutes, heat)
    };
    (1..).zip(places).map(at).collect()
}

/// The computed steps as somebody would fix them by hand.
fn by_hand(answer: &ComputedPlan) -> Vec<FixedStep> {
    answer
        .steps
        .iter()
        .map(|step| FixedStep {
            kind: step.kind,
            operation_id: (step.kind == StepKind::Operation).then(|| step.operation_id.as_deref().unwrap().parse().unwrap()),
            method_id: None,
            joint: (step.kind != StepKind::Operation).then(|| step.joint.as_ref().unwrap().id.clone()),
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_plan_replayed_by_the_rules_costs_what_it_says(
        family in 0..BRASS.len(),
        places in prop::collection::vec((0_usize..1000, 0.0_f64..1.0, 5_u32..90, 0_u8..3), 1..6),
    ) {
        let map = template_of(BRASS[family]);
        let tasks = cracks(map, &places);
        let settings = BenchSettings::default();
        let mut bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
        let answer = plan(&bench);
        let Some(total) = answer.total_minutes else {
            // Then it says which operation or joint has no way round.
            prop_assert!(!answer.impossible.is_empty());
            return Ok(());
        };
        let charged: u64 = answer
            .steps
            .iter()
            .map(|step| u64::from(step.changeover_minutes + step.minutes) + step.protections.iter().map(|one| u64::from(one.minutes)).sum::<u64>())
            .sum();
        prop_assert_eq!(charged, total);
        prop_assert_eq!(answer.steps.last().map(|step| step.running_minutes), Some(total));
        for conflict in &answer.conflicts {
            prop_assert_eq!(conflict.ways.iter().filter(|way| way.chosen).count(), 1);
            for way in conflict.ways.iter().filter(|way| way.chosen) {
                prop_assert!(way.allowed, "{:?}", way);
            }
            // No other choice for this one conflict is better than what was chosen.
            for way in conflict.ways.iter().filter(|way| way.how != WayHow::OtherMethod) {
                prop_assert!(way.plan_minutes.is_none_or(|minutes| u64::from(minutes) >= total), "{:?} beats {total}", way);
            }
        }
        bench.fixed = Some((by_hand(&answer), None));
        let own = plan(&bench).own.unwrap();
        // What has no way round even in the best order is said of that order, and of nothing else.
        let is_told = |words: &str| answer.impossible.iter().any(|one| one.words == words);
        prop_assert!(own.breaches.iter().all(|breach| breach.rule == Rule::Heat && is_told(&breach.words)), "{:?}, {:?}", own.breaches, answer.impossible);
        prop_assert_eq!(own.total_minutes, total);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_chosen_way_is_taken_or_said_to_be_unsafe_with_the_rest(
        family in 0..BRASS.len(),
        places in prop::collection::vec((0_usize..1000, 0.0_f64..1.0, 5_u32..90, 1_u8..3), 1..4),
        which in 0_usize..1000,
    ) {
        let map = template_of(BRASS[family]);
        let settings = BenchSettings::default();
        let mut bench = Bench { map, settings: &settings, settings_are_typical: true, tasks: cracks(map, &places), apart: Vec::new(), fixed: None };
        let told = plan(&bench);
        let saves = |how: WayHow| matches!(how, WayHow::HeatSink | WayHow::Water | WayHow::WetRag);
        let allowed: Vec<_> =
            told.conflicts.iter().flat_map(|one| one.ways.iter().filter(|way| way.allowed && saves(way.how)).map(move |way| (one, way))).collect();
        prop_assume!(!allowed.is_empty());
        let (conflict, way) = allowed[which % allowed.len()];
        let task = bench.tasks.iter_mut().find(|task| task.id == conflict.operation_id).unwrap();
        task.chosen.push(ChosenWay { joint: conflict.joint.id.clone(), how: way.how });
        let then = plan(&bench);
        let same = then.conflicts.iter().find(|one| one.operation_id == conflict.operation_id && one.joint == conflict.joint).unwrap();
        let chosen = same.ways.iter().find(|one| one.how == way.how).unwrap();
        prop_assert!(chosen.wanted);
        prop_assert_eq!(same.ways.iter().filter(|one| one.wanted).count(), 1);
        if chosen.allowed {
            prop_assert!(chosen.chosen, "{:?}", same.ways);
            let step = then.steps.iter().find(|step| step.operation_id.as_ref() == Some(&conflict.operation_id)).unwrap();
            prop_assert!(step.protections.iter().any(|one| one.how == way.how && one.joint == conflict.joint));
        } else {
            prop_assert!(chosen.why_not.is_some());
        }
    }
}

/// An order of the work alone: everything stays together, and each joint is trusted to what saves it alone.
fn nothing_apart(bench: &Bench<'_>) -> Vec<FixedStep> {
    let step = |task: &Task| FixedStep { kind: StepKind::Operation, operation_id: Some(task.id.parse().unwrap()), method_id: None, joint: None };
    bench.tasks.iter().map(step).collect()
}

#[test]
fn a_technicians_own_order_is_not_charged_for_two_ways_of_saving_that_do_not_hold_together() {
    let settings = BenchSettings::default();
    let mut found = 0;
    for family in BRASS {
        let map = template_of(family);
        for tube in map.parts.iter().filter(|part| part.kind == PartKind::Tube) {
            let mut at = 5.0;
            while at < tube.length.mm && found < 3 {
                let on_it = task(1, &tube.id, FindingKind::Crack, at, 30, Heat::Braze);
                at += 10.0;
                let mut bench = Bench { map, settings: &settings, settings_are_typical: true, tasks: vec![on_it], apart: Vec::new(), fixed: None };
                bench.fixed = Some((nothing_apart(&bench), None));
                let answer = plan(&bench);
                let own = answer.own.as_ref().unwrap();
                let together: Vec<_> = own.breaches.iter().filter(|breach| breach.words.contains("but not together with")).collect();
                for breach in &together {
                    found += 1;
                    assert_eq!((breach.rule, breach.step), (Rule::Heat, Some(1)), "{breach:?}");
                    let conflict = answer.conflicts.iter().find(|one| breach.words.starts_with(&one.joint.name)).unwrap();
                    assert!(conflict.ways.iter().any(|way| way.temperature_high_c.is_some_and(|c| c <= conflict.limit_c)), "one way saves it alone");
                    assert!(own.steps[0].protections.iter().all(|one| one.joint != conflict.joint), "what does not hold is not shown as if it did");
                }
                let saving: u32 = own.steps[0].protections.iter().map(|one| one.minutes).sum();
                assert_eq!(own.total_minutes, u64::from(own.steps[0].changeover_minutes + 30 + saving), "nor charged");
                // The computed order goes through the same check and breaks nothing.
                if !together.is_empty() && answer.total_minutes.is_some() {
                    bench.fixed = Some((by_hand(&answer), None));
                    assert_eq!(plan(&bench).own.unwrap().breaches, []);
                }
            }
        }
    }
    assert!(found > 0, "no place on any template shows it: look for another");
}

#[test]
fn a_brace_comes_off_at_both_feet_and_a_bell_only_with_what_else_holds_it() {
    let map = template_of(Family::Trumpet);
    let settings = BenchSettings::default();
    let foot = map.joints.iter().find(|joint| joint.id == "bell-brace-first-foot").unwrap();
    let at = foot.places.iter().find(|place| place.part == "bell").unwrap().at_mm;
    // On the brace's foot itself nothing else helps.
    let on_it = task(1, "bell", FindingKind::Crack, at, 30, Heat::Braze);
    let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks: vec![on_it], apart: Vec::new(), fixed: None };
    let answer = plan(&bench);
    let conflict = answer.conflicts.iter().find(|one| one.worst_joint_id.starts_with("bell-brace")).unwrap_or_else(|| panic!("{:?}", answer.conflicts));
    assert!(conflict.joint.joint_ids.contains(&"bell-brace-second-foot".to_owned()), "{:?}", conflict.joint);
    let way = |how: WayHow| conflict.ways.iter().find(|way| way.how == how).unwrap();
    assert!(way(WayHow::TakeApart).allowed && way(WayHow::TakeApart).chosen, "{:?}", conflict.ways);
    assert_eq!(way(WayHow::HeatSink).why_not.as_deref(), Some("the torch is too near"));
    let kinds: Vec<StepKind> = answer.steps.iter().map(|step| step.kind).collect();
    assert_eq!(kinds, [StepKind::TakeApart, StepKind::Operation, StepKind::PutTogether]);
    assert!(answer.steps[0].words.contains("bell brace"), "{}", answer.steps[0].words);
}

#[test]
fn what_is_apart_already_is_in_nobodys_way_and_is_put_together_at_the_end() {
    let map = template_of(Family::Trumpet);
    let settings = BenchSettings::default();
    let foot = map.joints.iter().find(|joint| joint.id == "bell-brace-first-foot").unwrap();
    let at = foot.places.iter().find(|place| place.part == "bell").unwrap().at_mm;
    let on_it = task(1, "bell", FindingKind::Crack, at, 30, Heat::Braze);
    let bench =
        Bench { map, settings: &settings, settings_are_typical: true, tasks: vec![on_it], apart: vec!["bell brace".to_owned()], fixed: None };
    let kinds: Vec<StepKind> = plan(&bench).steps.iter().map(|step| step.kind).collect();
    assert_eq!(kinds, [StepKind::Operation, StepKind::PutTogether]);
}

#[test]
fn a_joint_is_soldered_after_the_torch_that_would_melt_it_again() {
    let map = template_of(Family::Trumpet);
    let settings = BenchSettings::default();
    let foot = map.joints.iter().find(|joint| joint.id == "bell-brace-first-foot").unwrap();
    let at = foot.places.iter().find(|place| place.part == "bell").unwrap().at_mm;
    let mut open_joint = task(1, "bell-brace-first-foot", FindingKind::OpenJoint, at, 20, Heat::Solder);
    open_joint.spots[0].position_mm = None;
    let crack = task(2, "bell", FindingKind::Crack, at + 20.0, 30, Heat::Braze);
    let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks: vec![open_joint.clone(), crack.clone()], apart: Vec::new(), fixed: None };
    let answer = plan(&bench);
    let place = |id: &str| answer.steps.iter().position(|step| step.kind == StepKind::Operation && step.operation_id.as_deref() == Some(id)).unwrap_or_else(|| panic!("{:?}", answer.steps));
    assert!(place(&crack.id) < place(&open_joint.id), "{:?}", answer.steps);
    // Whoever says it the other way round has it the other way round.
    let mut crack = crack;
    crack.after = vec![open_joint.id.clone()];
    let bench = Bench { tasks: vec![open_joint.clone(), crack.clone()], ..bench };
    let answer = plan(&bench);
    let places: Vec<&str> = answer.steps.iter().filter(|step| step.kind == StepKind::Operation).filter_map(|step| step.operation_id.as_deref()).collect();
    assert_eq!(places, [open_joint.id.as_str(), crack.id.as_str()]);
}

/// Cold work on a part for which one joint must be apart.
fn under_a_joint(map: &PartMap, joint: &trade::maps::Joint) -> Task {
    let place = &joint.places[0];
    let mut task = task(1, &place.part, FindingKind::Dent, place.at_mm, 20, Heat::None);
    task.needs_apart = vec![joint.id.clone()];
    assert!(map.resolve(&joint.id).is_some());
    task
}

#[test]
fn what_stands_beside_a_joint_is_saved_from_the_torch_that_unsolders_it_and_from_the_one_that_solders_it_back() {
    let settings = BenchSettings::default();
    let (mut saved, mut cold, mut no_way, mut all) = (0, 0, 0, 0);
    for family in BRASS {
        let map = template_of(family);
        for joint in map.joints.iter().filter(|joint| joint.held == trade::maps::JointKind::SoftSoldered) {
            all += 1;
            let tasks = vec![under_a_joint(map, joint)];
            let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
            let answer = plan(&bench);
            no_way += usize::from(!answer.impossible.is_empty());
            let Some(total) = answer.total_minutes else { continue };
            let around: Vec<_> = answer.steps.iter().filter(|step| step.kind != StepKind::Operation).collect();
            assert!(around.iter().any(|step| step.kind == StepKind::TakeApart) && around.iter().any(|step| step.kind == StepKind::PutTogether));
            for step in &around {
                let own = &step.joint.as_ref().unwrap().joint_ids;
                for one in &step.protections {
                    saved += 1;
                    assert!(one.minutes > 0 && one.joint.joint_ids.iter().all(|id| !own.contains(id)), "{family}: {step:?}");
                    let is_wet = matches!(one.how, WayHow::Water | WayHow::WetRag);
                    assert!(step.cautions.contains(&"torch".to_owned()) && (!is_wet || step.cautions.contains(&"quench-steam".to_owned())), "{step:?}");
                }
                cold += usize::from(step.protections.is_empty());
            }
            let charged: u64 = answer
                .steps
                .iter()
                .map(|step| u64::from(step.changeover_minutes + step.minutes) + step.protections.iter().map(|one| u64::from(one.minutes)).sum::<u64>())
                .sum();
            assert_eq!(charged, total, "{family}: {}", joint.name);
        }
    }
    assert!(saved > 0, "no soldered joint of any template has another beside it: the heat of unsoldering is not asked about");
    assert!(cold > 0, "a joint that stands alone needs nothing");
    assert_eq!(no_way, 0, "of {all} soldered joints some cannot come apart: the heat beside them leaves no order of work");
}

/// Taking a joint apart or putting it together, as somebody planned it.
fn around(number: u128, kind: OperationKind, joint: &str, minutes: u32) -> Task {
    let mut step = task(number, joint, FindingKind::OpenJoint, 0.0, minutes, Heat::Solder);
    (step.kind, step.joint) = (kind, Some(joint.to_owned()));
    step.spots.clear();
    step
}

/// The plan after a way round was chosen for a step: what comes apart has steps of its own then.
fn chosen_for(bench: &mut Bench<'_>, at: usize, joint: &trade::bench::plan::PlanJoint, how: WayHow) -> ComputedPlan {
    bench.tasks[at].chosen.push(ChosenWay { joint: joint.id.clone(), how });
    let has_steps = bench.tasks.iter().any(|task| task.joint.as_ref() == Some(&joint.id));
    let (taking, putting) = trade::bench::plan::minutes_around(bench.map, bench.settings, &joint.joint_ids);
    if how == WayHow::TakeApart && !has_steps {
        let number = 10 + bench.tasks.len() as u128;
        bench.tasks.push(around(number, OperationKind::TakeApart, &joint.id, taking));
        bench.tasks.push(around(number + 1, OperationKind::PutTogether, &joint.id, putting));
    }
    plan(bench)
}

#[test]
fn a_planned_step_around_a_joint_has_its_own_choice_of_ways_and_the_order_keeps_to_it() {
    let settings = BenchSettings::default();
    let (mut saving, mut apart, mut refused) = (0, 0, 0);
    for family in BRASS {
        let map = template_of(family);
        for joint in map.joints.iter().filter(|joint| joint.held == trade::maps::JointKind::SoftSoldered) {
            let steps = [around(2, OperationKind::TakeApart, &joint.id, 10), around(3, OperationKind::PutTogether, &joint.id, 15)];
            let tasks = std::iter::once(under_a_joint(map, joint)).chain(steps).collect();
            let mut bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
            let told = plan(&bench);
            let Some(total) = told.total_minutes else { continue };
            for conflict in &told.conflicts {
                assert_ne!(conflict.operation_id, bench.tasks[0].id, "cold work has no conflict");
                assert!(!conflict.joint.joint_ids.contains(&joint.id), "what is worked on is meant to melt");
                assert!(conflict.temperature_high_c > conflict.limit_c && !conflict.curve.points.is_empty(), "{conflict:?}");
                let taken: Vec<_> = conflict.ways.iter().filter(|way| way.chosen).collect();
                assert!(taken.len() <= 1 && taken.iter().all(|way| way.plan_minutes == u32::try_from(total).ok()), "{family}, {}: {taken:?}", joint.name);
                let at = bench.tasks.iter().position(|task| task.id == conflict.operation_id).unwrap();
                for way in &conflict.ways {
                    if !way.allowed {
                        refused += 1;
                        assert!(way.why_not.is_some() && way.plan_minutes.is_none(), "{way:?}");
                        continue;
                    }
                    let own_steps = bench.tasks.len();
                    let then = chosen_for(&mut bench, at, &conflict.joint, way.how);
                    assert_eq!(then.total_minutes, way.plan_minutes.map(u64::from), "{family}, {}: {:?} of {}", joint.name, way.how, conflict.joint.name);
                    let step = then.steps.iter().find(|step| step.operation_id.as_ref() == Some(&conflict.operation_id)).unwrap();
                    let saved = step.protections.iter().find(|one| one.joint.joint_ids.iter().any(|id| conflict.joint.joint_ids.contains(id)));
                    if way.how == WayHow::TakeApart {
                        apart += 1;
                        assert!(saved.is_none(), "{step:?}");
                        // It is off by then, unless it is one piece with what is worked on.
                        let before = then.steps.iter().take_while(|one| one.number < step.number);
                        let is_off = before.filter(|one| one.kind == StepKind::TakeApart).any(|one| one.joint.as_ref().unwrap().joint_ids.contains(&conflict.worst_joint_id));
                        assert!(is_off || step.joint.as_ref().unwrap().joint_ids.contains(&conflict.worst_joint_id), "{:?}", then.steps);
                    } else if let Some(saved) = saved {
                        saving += 1;
                        assert_eq!(saved.how, way.how, "{family}, {}", joint.name);
                        let same = then.conflicts.iter().find(|one| one.operation_id == conflict.operation_id && one.joint == conflict.joint).unwrap();
                        assert!(same.ways.iter().any(|one| one.how == way.how && one.wanted && one.chosen), "{:?}", same.ways);
                    }
                    bench.tasks.truncate(own_steps);
                    bench.tasks[at].chosen.clear();
                }
            }
        }
    }
    assert!(saving > 20 && apart > 5 && refused > 0, "saving {saving}, apart {apart}, refused {refused}");
}

#[test]
fn a_curve_says_which_of_the_tube_is_kept_cool_and_it_lies_at_the_joint() {
    let map = template_of(Family::Baritone);
    let settings = BenchSettings::default();
    let bell = map.parts.iter().find(|part| part.id == "bell").unwrap();
    let tasks = vec![task(1, &bell.id, FindingKind::Crack, 197.0, 40, Heat::Braze)];
    let answer = plan(&Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None });
    let mut covered = 0;
    for conflict in &answer.conflicts {
        assert!(conflict.curve.covered.is_empty() && !conflict.apart);
        for curve in conflict.ways.iter().filter(|way| way.allowed && way.how != WayHow::TakeApart).filter_map(|way| way.curve.as_ref()) {
            covered += 1;
            assert!(curve.covered.iter().any(|one| one.from_mm <= curve.joint_at_mm && curve.joint_at_mm <= one.to_mm), "{:?} and {}", curve.covered, curve.joint_at_mm);
            assert!(curve.covered.iter().all(|one| one.from_mm >= curve.torch_to_mm || one.to_mm <= curve.torch_from_mm), "the torch stands in it");
        }
    }
    assert!(covered > 0, "{:?}", answer.conflicts);
}

/// A step that is done to a surface; its findings need no place on the map.
fn surface(number: u128, title: &str, minutes: u32, station: &str, finish: impl FnOnce(&mut TaskMethod)) -> Task {
    let mut method = TaskMethod { station: station.to_owned(), ..TaskMethod::unlisted(title, minutes, Heat::None) };
    finish(&mut method);
    Task { title: title.to_owned(), spots: Vec::new(), method, ..task(number, "bell", FindingKind::Crack, 0.0, minutes, Heat::None) }
}

fn buffed(method: &mut TaskMethod) {
    method.cautions = vec!["buffing".to_owned()];
}

fn lacquered(method: &mut TaskMethod) {
    buffed(method);
    method.lacquers = true;
}

fn titles(steps: &[trade::bench::plan::PlanStep], tasks: &[Task]) -> Vec<String> {
    let title = |id: &String| tasks.iter().find(|task| task.id == *id).unwrap().title.clone();
    steps.iter().map(|step| step.operation_id.as_ref().map_or_else(|| step.words.clone(), title)).collect()
}

/// Common practice, no source: what a flame spoils is done after it, whatever the walking costs.
#[test]
fn no_wheel_plating_or_lacquer_comes_before_the_torch_unless_somebody_says_so() {
    let settings = BenchSettings::default();
    for family in BRASS {
        let map = template_of(family);
        let tube = map.parts.iter().find(|part| part.kind == PartKind::Tube && map.joints.iter().any(|joint| joint.places.iter().any(|place| place.part == part.id))).unwrap();
        let mut braze = task(3, &tube.id, FindingKind::Crack, 20.0, 50, Heat::Braze);
        braze.title = "Braze".to_owned();
        let tasks = vec![
            surface(1, "Lacquer", 180, "wheel", lacquered),
            surface(2, "Buff", 20, "wheel", buffed),
            braze,
            surface(4, "Plate", 35, "plating", |method| method.plates = true),
        ];
        let mut bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
        let answer = plan(&bench);
        let order = titles(&answer.steps, &bench.tasks);
        let at = |title: &str| order.iter().position(|one| one == title).unwrap_or_else(|| panic!("{family:?}: no {title} in {order:?}"));
        assert!(at("Braze") < at("Buff") && at("Buff") < at("Plate") && at("Plate") < at("Lacquer"), "{family:?}: {order:?}");
        for (place, step) in answer.steps.iter().enumerate().filter(|(_, step)| step.kind != StepKind::Operation) {
            assert!(place < at("Plate"), "{family:?}: {} after plating: {order:?}", step.words);
        }
        assert!(answer.notes.iter().any(|note| note.contains("lacquer last")), "{:?}", answer.notes);

        // Somebody says otherwise on the step: that holds.
        let buff = bench.tasks[1].id.clone();
        bench.tasks[2].after = vec![buff];
        let order = titles(&plan(&bench).steps, &bench.tasks);
        assert!(order.iter().position(|one| one == "Buff") < order.iter().position(|one| one == "Braze"), "{family:?}: {order:?}");

        // And an order fixed the other way round stands with what it goes against.
        bench.tasks[2].after = Vec::new();
        let mut fixed = by_hand(&answer);
        let lacquer = fixed.pop().unwrap();
        fixed.insert(0, lacquer);
        bench.fixed = Some((fixed, Some("the owner wants it so".to_owned())));
        let own = plan(&bench).own.unwrap();
        assert!(own.breaches.iter().any(|breach| breach.rule == Rule::OrderAndNeeds && breach.words == "Lacquer comes after Braze"), "{:?}", own.breaches);
    }
}

#[test]
fn what_is_taken_out_by_hand_comes_out_before_the_torch_and_goes_back_in_after_it() {
    let map = template_of(Family::Tuba);
    let settings = BenchSettings::default();
    let by_hand = |number, title: &str, kind| Task { kind, ..surface(number, title, 10, "bench", |_| ()) };
    let mut braze = task(2, "bell", FindingKind::Crack, 200.0, 50, Heat::Braze);
    braze.title = "Braze".to_owned();
    let tasks = vec![by_hand(1, "Put the valves back", OperationKind::PutTogether), braze, by_hand(3, "Take the valves out", OperationKind::TakeApart)];
    let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
    let order = titles(&plan(&bench).steps, &bench.tasks);
    let named: Vec<&str> = order.iter().map(String::as_str).filter(|title| title.contains("valves") || *title == "Braze").collect();
    assert_eq!(named, ["Take the valves out", "Braze", "Put the valves back"]);
}

#[test]
fn a_step_that_came_after_an_order_was_fixed_stands_at_its_end_with_its_minutes_and_cautions() {
    let map = template_of(Family::Trumpet);
    let settings = BenchSettings::default();
    let mut bench = Bench {
        map,
        settings: &settings,
        settings_are_typical: true,
        tasks: vec![task(1, "bell", FindingKind::Crack, 100.0, 50, Heat::Braze)],
        apart: Vec::new(),
        fixed: None,
    };
    bench.fixed = Some((by_hand(&plan(&bench)), None));
    let before = plan(&bench).own.unwrap();
    assert_eq!((before.breaches.len(), before.extra_minutes), (0, Some(0)));
    bench.tasks.push(task(2, "leadpipe", FindingKind::Crack, 60.0, 70, Heat::Braze));
    let answer = plan(&bench);
    let own = answer.own.unwrap();
    let last = own.steps.last().unwrap();
    assert_eq!(last.operation_id.as_deref(), Some(bench.tasks[1].id.as_str()));
    assert!(last.cautions.iter().any(|slug| slug == "torch") && last.minutes == 70, "{last:?}");
    assert!(own.total_minutes >= before.total_minutes + 70);
    assert!(own.breaches.iter().any(|breach| breach.rule == Rule::EachOperationOnce && breach.step == Some(last.number) && breach.words.contains("at its end")), "{:?}", own.breaches);
}

/// A joint comes apart once only: what is laid on before work that needs it apart cannot wait for it.
#[test]
fn a_finish_that_needs_the_heat_or_comes_before_work_on_an_open_joint_keeps_its_order() {
    let map = template_of(Family::Trumpet);
    let settings = BenchSettings::default();
    // Solder that also stops a bare place: it heats the joints beside it and is a finish itself.
    let tube = map.parts.iter().find(|part| part.id == "leadpipe").unwrap();
    let mut hot = task(1, &tube.id, FindingKind::Crack, 20.0, 50, Heat::Braze);
    hot.method.lacquers = true;
    let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks: vec![hot], apart: Vec::new(), fixed: None };
    let answer = plan(&bench);
    assert!(!answer.conflicts.is_empty() && answer.total_minutes.is_some(), "{:?}", answer.impossible);
    assert!(answer.conflicts.iter().any(|one| one.ways.iter().any(|way| way.how == WayHow::TakeApart && way.allowed)), "{:?}", answer.conflicts);

    let brace = "rear brace".to_owned();
    let mut lacquer = surface(3, "Lacquer", 180, "wheel", lacquered);
    lacquer.needs_apart = vec![brace.clone()];
    let tasks = vec![surface(2, "Plate", 35, "plating", |method| method.plates = true), lacquer];
    let bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: vec![brace], fixed: None };
    let answer = plan(&bench);
    assert!(answer.total_minutes.is_some(), "{:?}", answer.impossible);
    assert_eq!(titles(&answer.steps, &bench.tasks)[..2], ["Plate", "Lacquer"]);
}
