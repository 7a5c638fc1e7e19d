//! The order of work against the reference cases, against a plain search that knows no tricks,
//! and replayed by the rules.

#[expect(
    dead_code,
    reason = "any order of the same total is right, so steps are replayed and not compared"
)]
mod comparing;

use comparing::reference;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use trade::bench::order_of_work::problem::{Action, Joint, Method, Operation, Problem};
use trade::bench::order_of_work::replay::{Rule, Step, read_steps, replay};
use trade::bench::order_of_work::ways_round::{NextBest, WayRound};
use trade::bench::order_of_work::{compute, plan};
use trade::calculation::{Node, Reading};

/// Replays an answer's steps by rules 1 to 4 and gives the total they cost.
fn replayed_total(input: &Value, answer: &Value) -> u64 {
    let problem = Problem::read(input).expect("a problem");
    let mut reading = Reading::default();
    let steps = read_steps(
        &mut reading,
        &Node { value: &answer["steps"], pointer: "/steps".into() },
        &problem,
    );
    reading.done().expect("steps of this problem");
    let gone = replay(&problem, &steps);
    assert!(gone.breaches.is_empty(), "{:?}", gone.breaches);
    gone.total_minutes
}

#[test]
fn every_reference_case_comes_out() {
    let file = reference("order-of-work");
    let cases = file["cases"].as_array().expect("cases");
    assert!(!cases.is_empty());
    for case in cases {
        let (id, input) = (&case["id"], &case["input"]);
        match (compute(input), case.get("refused")) {
            (Ok(answer), None) => {
                let (total, wanted) =
                    (answer["total_minutes"].as_u64().expect("total"), &case["output"]);
                assert_eq!(replayed_total(input, &answer), total, "{id}");
                let best = wanted["total_minutes"].as_u64().expect("total");
                if wanted["proven_optimal"] == true {
                    assert_eq!(total, best, "{id}");
                } else {
                    assert!(total as f64 <= 1.05 * best as f64, "{id}: {total} instead of {best}");
                    assert!(total >= wanted["lower_bound"].as_u64().expect("lower bound"), "{id}");
                }
                // All of them are of 16 operations and 4 joints or fewer.
                assert_eq!(answer["proven_optimal"], true, "{id}");
                assert_eq!(answer["defaulted"], json!([]));
                // The steps that the case shows must cost the same by our rules.
                assert_eq!(replayed_total(input, wanted), best, "{id}");
            }
            (Err(refused), Some(expected)) => {
                assert_eq!(expected["type"], refused.slug, "{id}");
                for pointer in expected["pointers"].as_array().expect("pointers") {
                    assert!(
                        refused.faults.iter().any(|fault| pointer == fault.pointer.as_str()),
                        "{id}: {refused:?}"
                    );
                }
            }
            (found, expected) => panic!("{id}: {found:?} instead of {expected:?}"),
        }
    }
}

fn case(id: &str) -> Value {
    let file = reference("order-of-work");
    let cases = file["cases"].as_array().expect("cases");
    cases.iter().find(|case| case["id"] == id).expect("a case")["input"].clone()
}

#[test]
fn conflicts_say_how_they_are_got_round_and_what_the_next_best_way_costs() {
    // Water 8 on 25 + 5; taking off and on 17.
    let answer = compute(&case("crack-under-brace")).expect("an answer");
    let next = json!({"resolved": "apart", "total_minutes": 47, "extra_minutes": 9, "proven_optimal": true});
    let conflict = json!({"step": 0, "kind": "operation", "id": "braze", "joint": "brace", "resolved": "protected", "next_best": next});
    assert_eq!(answer["conflicts"], json!([conflict]));
    // Nothing else but taking it off.
    let answer = compute(&case("crack-no-water")).expect("an answer");
    let conflict = &answer["conflicts"][0];
    assert_eq!(
        (&conflict["resolved"], conflict.get("next_best")),
        (&json!("apart"), Some(&Value::Null))
    );
    // The patch at 38, or brazing with the brace off: 5 + 5 + 25 + 12.
    let answer = compute(&case("low-temperature-method")).expect("an answer");
    let conflict = &answer["conflicts"][0];
    assert_eq!(
        (&conflict["resolved"], &conflict["next_best"]["resolved"]),
        (&json!("other_method"), &json!("apart"))
    );
    assert_eq!(conflict["next_best"]["extra_minutes"], 4);
}

#[test]
fn each_step_shows_what_it_costs() {
    let answer = compute(&case("crack-under-brace")).expect("an answer");
    let step = json!({
        "kind": "operation", "id": "braze", "method": "m", "station": "torch", "changeover_minutes": 5,
        "minutes": 25, "protections": [{"joint": "brace", "minutes": 8}], "running_minutes": 38,
    });
    assert_eq!(answer["steps"], json!([step]));
}

/// Minutes, the rules broken with their step, and in words.
type Gone = (u64, Vec<(Rule, Option<usize>)>, Vec<String>);

/// A technician's own order of the case `together-for-test`: braze with the brace off, align
/// with it on.
fn own_order(steps: &Value) -> Gone {
    let problem = Problem::read(&case("together-for-test")).expect("a problem");
    let mut reading = Reading::default();
    let steps = read_steps(&mut reading, &Node { value: steps, pointer: String::new() }, &problem);
    reading.done().expect("steps of this problem");
    let gone = replay(&problem, &steps);
    let breaches = gone.breaches.iter().map(|breach| (breach.rule, breach.step)).collect();
    (gone.total_minutes, breaches, gone.breaches.into_iter().map(|breach| breach.words).collect())
}

#[test]
fn a_technician_s_own_order_is_priced_and_its_broken_rules_are_named() {
    let (off, on) = (
        json!({"kind": "take_apart", "id": "brace"}),
        json!({"kind": "put_together", "id": "brace"}),
    );
    let braze = json!({"kind": "operation", "id": "braze", "method": "m"});
    let align = json!({"kind": "operation", "id": "align", "method": "m"});
    let (total, breaches, _) = own_order(&json!([off, braze, on, align]));
    assert_eq!((total, breaches), (62, vec![]));

    let (total, breaches, words) = own_order(&json!([off, braze, align, on]));
    assert_eq!((total, breaches), (67, vec![(Rule::OrderAndNeeds, Some(2))]));
    assert_eq!(words, ["brace must be together for align"]);

    let (total, breaches, words) = own_order(&json!([align, braze]));
    assert_eq!(
        (total, breaches),
        (40, vec![(Rule::OrderAndNeeds, Some(0)), (Rule::Heat, Some(1))])
    );
    assert_eq!(words, ["align comes after braze", "brace would melt, and nothing saves it"]);

    let (_, breaches, words) = own_order(&json!([on, off, braze, braze]));
    let once = Rule::EachOperationOnce;
    assert_eq!(
        breaches,
        [
            (Rule::JointStates, Some(0)),
            (Rule::JointStates, Some(1)),
            (once, Some(3)),
            (once, None),
            (Rule::JointStates, None)
        ]
    );
    assert_eq!(
        words,
        [
            "brace is not apart",
            "brace comes apart a second time",
            "braze is done already",
            "align is not done",
            "brace is still apart at the end"
        ]
    );
}

#[test]
fn steps_of_another_job_are_refused_by_name() {
    let problem = Problem::read(&case("together-for-test")).expect("a problem");
    let mut reading = Reading::default();
    let steps = json!([
        {"kind": "operation", "id": "buff", "method": "m"}, {"kind": "operation", "id": "braze", "method": "x"},
        {"kind": "take_apart", "id": "braze"}, {"kind": "polish", "id": "brace"}, 7, {"kind": "put_together", "id": "brace", "x": 1},
    ]);
    read_steps(&mut reading, &Node::root(&steps), &problem);
    let pointers: Vec<&str> = reading.faults.iter().map(|fault| fault.pointer.as_str()).collect();
    assert_eq!(pointers, ["/0/id", "/1/method", "/2/id", "/3/kind", "/4", "/5/x"]);
}

#[test]
fn refusals_name_what_is_wrong() {
    let bad = |change: fn(&mut Value), pointers: &[&str]| {
        let mut input = case("neighbours");
        change(&mut input);
        let refused = compute(&input).expect_err("refused");
        assert_eq!(refused.slug, "invalid-input");
        assert_eq!(
            refused.faults.iter().map(|f| f.pointer.as_str()).collect::<Vec<_>>(),
            pointers,
            "{refused:?}"
        );
    };
    bad(|i| i["hurry"] = json!(true), &["/hurry"]);
    bad(
        |i| i["stations"] = Value::Null,
        &[
            "/stations",
            "/changeover_minutes",
            "/start_station",
            "/joints/0/take_apart/station",
            "/joints/0/put_together/station",
            "/joints/1/take_apart/station",
            "/joints/1/put_together/station",
            "/operations/0/methods/0/station",
        ],
    );
    bad(|i| i["stations"][1] = json!("torch"), &["/stations/1", "/start_station"]);
    bad(|i| i["changeover_minutes"][1] = json!([1, 2]), &["/changeover_minutes/1"]);
    bad(|i| i["changeover_minutes"][1][2] = json!(-1), &["/changeover_minutes/1/2"]);
    bad(|i| i["changeover_minutes"][1][2] = json!(2.5), &["/changeover_minutes/1/2"]);
    bad(|i| i["start_station"] = json!("sink"), &["/start_station"]);
    bad(
        |i| i["joints"][1]["id"] = json!("brace"),
        &[
            "/joints/1/id",
            "/joints/0/put_together/melts/0",
            "/joints/0/put_together/protect_minutes/ferrule",
            "/operations/0/methods/0/melts/1",
        ],
    );
    bad(|i| i["joints"][0]["apart_at_start"] = json!(1), &["/joints/0/apart_at_start"]);
    bad(
        |i| i["joints"][0]["take_apart"]["minutes"] = json!(10_001),
        &["/joints/0/take_apart/minutes"],
    );
    bad(
        |i| i["joints"][0]["put_together"]["protect_minutes"] = json!([4]),
        &["/joints/0/put_together/protect_minutes"],
    );
    bad(|i| i["operations"][0]["after"] = json!(["clean"]), &["/operations/0/after/0"]);
    bad(
        |i| i["operations"][0]["needs_apart"] = json!(["brace", "strap"]),
        &["/operations/0/needs_apart/1"],
    );
    bad(|i| i["operations"][0]["methods"][0]["heat"] = json!(1), &["/operations/0/methods/0/heat"]);
    bad(
        |i| i["operations"][0]["methods"][0]["minutes"] = Value::Null,
        &["/operations/0/methods/0/minutes"],
    );
    bad(
        |i| {
            let method = i["operations"][0]["methods"][0].clone();
            i["operations"][0]["methods"].as_array_mut().expect("methods").push(method);
        },
        &["/operations/0/methods/1/id"],
    );
    bad(|i| i["operations"] = json!(vec![i["operations"][0].clone(); 65]), &["/operations"]);
    bad(
        |i| {
            i["start_station"] = json!(4);
            i["operations"][0]["methods"][0]["melts"] = json!("brace");
        },
        &["/start_station", "/operations/0/methods/0/melts"],
    );
}

#[test]
fn a_cycle_is_named_at_the_lowest_operation_in_it_and_not_at_those_behind_it() {
    let operation = |id: &str, after: Value| json!({"id": id, "after": after, "methods": [{"id": "m", "minutes": 1, "station": "torch"}]});
    let input = json!({
        "stations": ["torch"], "changeover_minutes": [[0]], "joints": [],
        "operations": [
            operation("behind", json!(["b"])), operation("a", json!(["c"])), operation("b", json!(["a"])), operation("c", json!(["b"])),
            operation("d", json!(["e", "a"])), operation("e", json!(["d"])),
        ],
    });
    let refused = compute(&input).expect_err("refused");
    let pointers: Vec<&str> = refused.faults.iter().map(|f| f.pointer.as_str()).collect();
    assert_eq!(
        (refused.slug, pointers),
        ("precedence-cycle", vec!["/operations/1/after", "/operations/4/after"])
    );
}

fn no_plan(id: &str, change: fn(&mut Value)) -> Vec<(String, String)> {
    let mut input = case(id);
    change(&mut input);
    let refused = compute(&input).expect_err("refused");
    assert_eq!(refused.slug, "no-feasible-plan");
    refused.faults.into_iter().map(|fault| (fault.pointer, fault.message)).collect()
}

#[test]
fn work_without_a_plan_names_the_operation_and_the_joint() {
    let only = |faults: Vec<(String, String)>, pointer: &str, words: &str| {
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert_eq!(faults[0].0, pointer);
        assert!(faults[0].1.starts_with(words), "{}", faults[0].1);
    };
    only(no_plan("refuse-infeasible", |_| ()), "/operations/0/methods", "braze would melt brace");
    only(
        no_plan("apart-anyway", |i| i["joints"][0]["put_together"] = Value::Null),
        "/operations/0/needs_apart",
        "dent needs brace apart",
    );
    only(
        no_plan("already-apart", |i| i["joints"][0]["put_together"] = Value::Null),
        "/joints/0/put_together",
        "brace is apart at the start",
    );
    // Each brace melts the other as it goes on, and both must be off for the crack: leaving one
    // of them on does not help, since the other still goes on beside it.
    let faults = no_plan("neighbours", |i| {
        for joint in 0..2 {
            i["joints"][joint]["put_together"]["protect_minutes"] = json!({});
        }
    });
    let pointers: Vec<&str> = faults.iter().map(|(pointer, _)| pointer.as_str()).collect();
    assert_eq!(pointers, ["/joints/0/put_together/melts", "/joints/1/put_together/melts"]);
    // One operation and one joint, but two demands.
    only(
        no_plan("refuse-infeasible", |i| i["operations"][0]["needs_apart"] = json!(["brace"])),
        "/operations/0",
        "braze and brace are in each other's way",
    );
    // Two operations that both have no way.
    only(
        no_plan("refuse-infeasible", |i| {
            let mut again = i["operations"][0].clone();
            again["id"] = json!("braze again");
            i["operations"].as_array_mut().expect("operations").push(again);
        }),
        "/operations",
        "have no order",
    );
}

#[test]
fn nothing_to_do_takes_no_time() {
    let input = json!({"stations": [], "changeover_minutes": [], "joints": [], "operations": []});
    let answer = compute(&input).expect("an answer");
    assert_eq!((&answer["total_minutes"], &answer["steps"]), (&json!(0), &json!([])));
    let input = json!({"stations": ["a", "b"], "changeover_minutes": [[3, 4], [5, 6]], "joints": [{"id": "j"}], "operations": []});
    assert_eq!(compute(&input).expect("an answer")["total_minutes"], 0);
}

/// What the plain search may choose: an operation by a method, or a joint's coming apart or
/// going together, with the joints that are apart.
type IsAllowed<'f> = &'f dyn Fn(Step, &[u8]) -> bool;

/// Least minutes by Dijkstra's method on (operations done, state of each joint, station), with
/// the rules as the section words them; no bound, nothing left out, nothing shared with the
/// search that is tested. `None` when there is no plan.
fn plainly(problem: &Problem, is_allowed: IsAllowed<'_>) -> Option<u64> {
    const TOGETHER: u8 = 0;
    const APART: u8 = 1;
    const AGAIN: u8 = 2;
    let count = problem.operations.len();
    let joints: Vec<u8> = problem
        .joints
        .iter()
        .map(|joint| if joint.apart_at_start { APART } else { TOGETHER })
        .collect();
    let mut least: BTreeMap<(u64, Vec<u8>, Option<usize>), u64> = BTreeMap::new();
    let mut open = BinaryHeap::from([Reverse((0_u64, (0_u64, joints, problem.start_station)))]);
    while let Some(Reverse((cost, state))) = open.pop() {
        if least.get(&state).is_some_and(|&known| known <= cost) {
            continue;
        }
        least.insert(state.clone(), cost);
        let (done, joints, station) = &state;
        if done.count_ones() as usize == count && !joints.contains(&APART) {
            return Some(cost);
        }
        let mut go =
            |step: Step, action: &Action, own: Option<usize>, done: u64, after: Vec<u8>| {
                let mut price = cost + u64::from(action.minutes);
                for &joint in action
                    .melts
                    .iter()
                    .filter(|&&joint| Some(joint) != own && joints[joint] != APART)
                {
                    match action.protect_minutes.get(&joint) {
                        Some(minutes) => price += u64::from(*minutes),
                        None => return,
                    }
                }
                if let Some(from) = station {
                    price += u64::from(problem.changeover_minutes[*from][action.station]);
                }
                if is_allowed(step, joints) {
                    open.push(Reverse((price, (done, after, Some(action.station)))));
                }
            };
        for (index, operation) in problem.operations.iter().enumerate() {
            let is_ready = done >> index & 1 == 0
                && operation.after.iter().all(|before| done >> before & 1 == 1)
                && operation.needs_apart.iter().all(|&joint| joints[joint] == APART)
                && operation.needs_together.iter().all(|&joint| joints[joint] != APART);
            for (number, method) in operation.methods.iter().enumerate().filter(|_| is_ready) {
                go(
                    Step::Operation { operation: index, method: number },
                    &method.action,
                    None,
                    done | 1 << index,
                    joints.clone(),
                );
            }
        }
        for (index, joint) in problem.joints.iter().enumerate() {
            let with = |state: u8| {
                let mut after = joints.clone();
                after[index] = state;
                after
            };
            match (joints[index], &joint.take_apart, &joint.put_together) {
                (TOGETHER, Some(take), Some(_)) => {
                    go(Step::TakeApart { joint: index }, take, Some(index), *done, with(APART))
                }
                (APART, _, Some(put)) => {
                    go(Step::PutTogether { joint: index }, put, Some(index), *done, with(AGAIN))
                }
                _ => {}
            }
        }
    }
    None
}

/// Any problem, with everything that makes the search's shortcuts doubtful: detours that pay,
/// charges for staying, no start, joints that melt each other.
fn any_problem(
    operations: std::ops::RangeInclusive<usize>,
    joints: std::ops::RangeInclusive<usize>,
    orderly: bool,
) -> impl Strategy<Value = Problem> {
    (operations, joints, 1..=4_usize, any::<u64>(), 0..3_u64, any::<bool>()).prop_map(
        move |(operations, joints, stations, seed, staying, detours)| {
            let mut dice = Dice(seed | 1);
            let mut changeover = vec![vec![0_u32; stations]; stations];
            for (from, row) in changeover.iter_mut().enumerate() {
                for (to, minutes) in row.iter_mut().enumerate() {
                    *minutes = if from == to {
                        dice.below(4) * staying as u32
                    } else {
                        1 + dice.below(if detours { 40 } else { 12 })
                    };
                }
            }
            if !detours {
                for middle in 0..stations {
                    for from in 0..stations {
                        for to in 0..stations {
                            changeover[from][to] = changeover[from][to]
                                .min(changeover[from][middle] + changeover[middle][to]);
                        }
                    }
                }
            }
            let action = |dice: &mut Dice, most: u32| {
                let melts: Vec<usize> = (0..joints).filter(|_| dice.below(4) == 0).collect();
                let protect_minutes = melts
                    .iter()
                    .filter_map(|&joint| if dice.below(3) > 0 { Some((joint, dice.below(9))) } else { None })
                    .collect();
                Action {
                    minutes: dice.below(most),
                    station: dice.below(stations as u32) as usize,
                    melts,
                    protect_minutes,
                }
            };
            let joint_list = (0..joints).map(|index| Joint {
                id: format!("j{index}"),
                apart_at_start: dice.below(5) == 0,
                take_apart: (dice.below(6) > 0).then(|| action(&mut dice, 12)),
                put_together: (dice.below(9) > 0).then(|| action(&mut dice, 20)),
            });
            let joint_list: Vec<Joint> = joint_list.collect();
            let some = |dice: &mut Dice, one_in: u32| -> Vec<usize> {
                (0..joints).filter(|_| dice.below(one_in) == 0).collect()
            };
            let operation_list = (0..operations).map(|index| Operation {
                id: format!("o{index}"),
                after: (0..index)
                    .filter(|before| if orderly { index - before == 2 } else { dice.below(6) == 0 })
                    .collect(),
                needs_apart: some(&mut dice, 8),
                needs_together: some(&mut dice, 8),
                methods: (0..1 + dice.below(3))
                    .map(|number| Method {
                        id: format!("m{number}"),
                        action: action(&mut dice, 30),
                    })
                    .collect(),
            });
            Problem {
                stations: (0..stations).map(|index| format!("s{index}")).collect(),
                changeover_minutes: changeover,
                operations: operation_list.collect(),
                start_station: (dice.below(4) > 0).then_some(0),
                joints: joint_list,
            }
        },
    )
}

/// Numbers by chance, the same every time (xorshift, Marsaglia 2003).
#[derive(Clone)]
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u32) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 33) % u64::from(most.max(1))) as u32
    }
}

fn agrees_with_the_plain_search(problem: &Problem) {
    let best = plainly(problem, &|_, _| true);

    match plan(problem) {
        Ok(plan) => {
            assert_eq!(plan.replay.breaches, []);
            assert_eq!(Some(plan.replay.total_minutes), best);
            assert!(plan.proven_optimal);
            let steps: Vec<Step> = plan.replay.steps.iter().map(|step| step.step).collect();
            assert_eq!(replay(problem, &steps), plan.replay);
        }
        Err(refused) => assert_eq!((best, refused.slug), (None, "no-feasible-plan")),
    }
}

fn fixed(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(2),
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(fixed(1500))]

    #[test]
    fn small_work_is_done_in_the_least_minutes(problem in any_problem(0..=6, 0..=3, false)) {
        agrees_with_the_plain_search(&problem);
    }
}

proptest! {
    #![proptest_config(fixed(12))]

    #[test]
    fn larger_work_is_done_in_the_least_minutes(problem in any_problem(9..=10, 2..=3, false)) {
        agrees_with_the_plain_search(&problem);
    }

    /// Above 16 operations, where the effort is limited; in two long chains, so that the plain
    /// search can follow.
    #[test]
    fn long_work_is_done_in_the_least_minutes(problem in any_problem(18..=26, 0..=2, true)) {
        agrees_with_the_plain_search(&problem);
    }
}

proptest! {
    #![proptest_config(fixed(200))]

    /// The next best way is what the plain search finds with the chosen one forbidden.
    #[test]
    fn next_best_ways_cost_what_they_say(problem in any_problem(1..=5, 1..=3, false)) {
        let Ok(best) = plan(&problem) else { return Ok(()) };
        for conflict in &best.conflicts {
            let chosen = best.replay.steps[conflict.step].step;
            let same_element = |step: Step| match (step, chosen) {
                (Step::Operation { operation: a, .. }, Step::Operation { operation: b, .. }) => a == b,
                (step, chosen) => step == chosen,
            };
            let way_round = |step: Step, joints: &[u8]| {
                let melts = match step {
                    Step::Operation { operation, method } => &problem.operations[operation].methods[method].action.melts,
                    Step::TakeApart { joint } => &problem.joints[joint].take_apart.as_ref().expect("action").melts,
                    Step::PutTogether { joint } => &problem.joints[joint].put_together.as_ref().expect("action").melts,
                };
                match (melts.contains(&conflict.joint), joints[conflict.joint] == 1) {
                    (false, _) => WayRound::OtherMethod,
                    (true, true) => WayRound::Apart,
                    (true, false) => WayRound::Protected,
                }
            };
            // An action that is left out altogether is not forbidden anything.
            let without = plainly(&problem, &|step, joints| !same_element(step) || way_round(step, joints) != conflict.resolved);
            match conflict.next_best {
                NextBest::Costs { total_minutes, proven_optimal, .. } => {
                    prop_assert!(proven_optimal);
                    prop_assert_eq!(Some(u64::from(total_minutes)), without);
                }
                NextBest::None => prop_assert_eq!(without, None),
                NextBest::NotSought => prop_assert!(false, "so small a problem leaves effort for all"),
            }
        }
    }

    /// A document with one thing in it replaced by something else is answered or refused.
    #[test]
    fn no_document_brings_the_bench_down(which in 0..45_usize, place in any::<prop::sample::Index>(), thing in 0..9_usize) {
        let things = [json!(null), json!(-1), json!(1e300), json!("torch"), json!([]), json!({}), json!(true), json!([[1]]), json!(18_446_744_073_709_551_615_u64)];
        let file = reference("order-of-work");
        let mut input = file["cases"][which]["input"].clone();
        let mut pointers = Vec::new();
        all_pointers(&input, String::new(), &mut pointers);
        *input.pointer_mut(place.get(pointers.as_slice()).as_str()).expect("a place") = things[thing].clone();
        if let Ok(answer) = compute(&input) {
            prop_assert_eq!(replayed_total(&input, &answer), answer["total_minutes"].as_u64().expect("total"));
        }
    }
}

fn all_pointers(value: &Value, pointer: String, pointers: &mut Vec<String>) {
    match value {
        Value::Array(list) => list
            .iter()
            .enumerate()
            .for_each(|(key, below)| all_pointers(below, format!("{pointer}/{key}"), pointers)),
        Value::Object(object) => object
            .iter()
            .for_each(|(key, below)| all_pointers(below, format!("{pointer}/{key}"), pointers)),
        _ => {}
    }
    pointers.push(pointer);
}

/// Work as large as is taken, where the best cannot be proven: a plan that keeps the rules, a
/// bound below it, and the same answer every time.
#[test]
fn the_largest_work_gets_a_good_plan_and_a_bound() {
    let mut dice = Dice(9);
    let stations = 12;
    let changeover: Vec<Vec<u32>> = (0..stations)
        .map(|from| {
            (0..stations).map(|to| if from == to { 0 } else { 3 + dice.below(6) }).collect()
        })
        .collect();
    let at = |dice: &mut Dice| format!("s{}", dice.below(stations));
    let joints: Vec<Value> = (0..16)
        .map(|index| {
            let mut action =
                |most: u32| json!({"minutes": 3 + dice.below(most), "station": at(&mut dice)});
            json!({"id": format!("j{index}"), "take_apart": action(9), "put_together": action(15)})
        })
        .collect();
    let operations: Vec<Value> = (0..64)
        .map(|index| {
            let after: Vec<String> = (0..index).filter(|_| dice.below(40) == 0).map(|before| format!("o{before}")).collect();
            let joint = format!("j{}", dice.below(16));
            let mut method = |id: &str| json!({"id": id, "minutes": 5 + dice.below(50), "station": at(&mut dice), "melts": [joint], "protect_minutes": {joint.clone(): 4 + dice.below(12)}});
            json!({"id": format!("o{index}"), "after": after, "methods": [method("a"), method("b")]})
        })
        .collect();
    let names: Vec<String> = (0..stations).map(|index| format!("s{index}")).collect();
    let input = json!({"stations": names, "changeover_minutes": changeover, "joints": joints, "operations": operations});
    let answer = compute(&input).expect("an answer");
    let total = replayed_total(&input, &answer);
    assert_eq!(answer["total_minutes"], total);
    assert_eq!(answer["proven_optimal"], false);
    let lower = answer["lower_bound"].as_u64().expect("a bound");
    assert!(lower <= total && total as f64 <= 1.05 * lower as f64, "{lower} and {total}");
    assert_eq!(compute(&input).expect("an answer").to_string(), answer.to_string());
}

#[test]
fn hostile_documents_are_refused() {
    for input in [
        json!(null),
        json!([]),
        json!(7),
        json!({}),
        json!({"stations": 1, "joints": {}, "operations": "all", "changeover_minutes": [1, [2]]}),
    ] {
        assert_eq!(compute(&input).expect_err("refused").slug, "invalid-input");
    }
}
