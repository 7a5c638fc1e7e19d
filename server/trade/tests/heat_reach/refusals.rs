//! What is refused, what is said to be typical, what is warned of, and what must not
//! bring the computation down.

use super::{answer, pipe, with};
use proptest::prelude::{Just, ProptestConfig, Strategy, prop_assert, prop_oneof};
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};
use trade::bench::heat_reach::compute;

fn refused(input: &Value) -> (&'static str, Vec<String>) {
    let refused = compute(input).expect_err("should be refused");
    (refused.slug, refused.faults.into_iter().map(|fault| fault.pointer).collect())
}

fn check(input: &Value, slug: &str, pointer: &str) {
    let (found, pointers) = refused(input);
    assert_eq!(found, slug, "{input}");
    assert!(pointers.iter().any(|found| found == pointer), "{pointer} is not in {pointers:?}");
}

fn distance() -> Value {
    json!({
        "mode": {"kind": "water_cover"}, "torch_c": 700, "held_by": "sn63pb37",
        "tube": {"outside_diameter_mm": 12, "wall_mm": 0.5}, "distance_mm": 30
    })
}

#[test]
fn values_out_of_range_are_refused_where_they_stand() {
    let mut wet = pipe(50.0);
    wet["zones"] = json!([
        wet["zones"][0],
        {"kind": "water", "tube": "p", "from_mm": 60, "to_mm": 80},
        {"kind": "wet_rag", "tube": "p", "from_mm": 80, "to_mm": 90},
        {"kind": "heat_sink", "tube": "p", "from_mm": 100, "to_mm": 110}
    ]);
    for (pointer, value) in [
        ("/tubes/0/length_mm", json!(0.9)),
        ("/tubes/0/length_mm", json!(3001)),
        ("/tubes/0/outside_diameter_mm", json!(0.5)),
        ("/tubes/0/outside_diameter_mm", json!(601)),
        ("/tubes/0/wall_mm", json!(0.09)),
        ("/tubes/0/wall_mm", json!(6.01)),
        ("/tubes/0/material", json!("tin_foil")),
        ("/tubes/0/material", json!(260)),
        ("/tubes/0/emissivity", json!(1.1)),
        ("/tubes/0/k_w_m_k", json!(0)),
        ("/tubes/0/rho_kg_m3", json!(-1)),
        ("/tubes/0/cp_j_kg_k", json!("375")),
        ("/tubes/0/solidus_c", json!(0)),
        ("/tubes/0/id", json!(null)),
        ("/tubes/0/from", json!(1)),
        ("/tubes/0/colour", json!("red")),
        ("/tubes/0", json!("p")),
        ("/tubes", json!([])),
        ("/tubes", json!({})),
        ("/emissivity", json!(-0.1)),
        ("/zones/0/kind", json!("laser")),
        ("/zones/0/tube", json!("q")),
        ("/zones/0/from_mm", json!(-1)),
        ("/zones/0/from_mm", json!(9)),
        ("/zones/0/to_mm", json!(201)),
        ("/zones/0/temperature_c", json!(20)),
        ("/zones/0/temperature_c", json!(1101)),
        ("/zones/0/temperature_c", json!(null)),
        ("/zones/0/filler", json!("glue")),
        ("/zones/0/inside", json!(true)),
        ("/zones/1/temperature_c", json!(96)),
        ("/zones/1/temperature_c", json!(-1)),
        ("/zones/1/inside", json!("yes")),
        ("/zones/1/h_w_m2_k", json!(800)),
        ("/zones/2/h_w_m2_k", json!(0)),
        ("/zones/2/temperature_c", json!(0)),
        ("/zones/3/h_w_m2_k", json!(-5)),
        ("/zones/3", json!({"kind": "heat_sink", "tube": "p", "from_mm": 85, "to_mm": 110})),
        ("/zones", json!([])),
        ("/joints/0/tube", json!("q")),
        ("/joints/0/at_mm", json!(201)),
        ("/joints/0/at_mm", json!(-0.1)),
        ("/joints/0/node", json!("a")),
        ("/joints/0/held_by", json!("glue")),
        ("/joints/0/held_by", json!(null)),
        ("/joints/0/solidus_c", json!(0)),
        ("/joints/0/solidus_c", json!("soft")),
        ("/joints", json!(null)),
        ("/ambient_c", json!(-11)),
        ("/ambient_c", json!(51)),
        ("/air_h_w_m2_k", json!(101)),
        ("/air_h_w_m2_k", json!(-1)),
        ("/margin_k", json!(201)),
        ("/margin_k", json!(-1)),
        ("/mode", json!(null)),
        ("/mode", json!("steady")),
        ("/mode/kind", json!("quick")),
        ("/mode/heating_s", json!(5)),
        ("/torch_c", json!(700)),
    ] {
        check(&with(wet.clone(), pointer, value), "invalid-input", pointer);
    }
}

#[test]
fn times_out_of_range_are_refused() {
    for (field, value) in [
        ("heating_s", json!(0)),
        ("heating_s", json!(1801)),
        ("heating_s", json!(null)),
        ("watch_s", json!(-1)),
        ("watch_s", json!(3601)),
        ("pause_s", json!(1)),
    ] {
        let mut input = pipe(50.0);
        input["mode"] = json!({"kind": "transient", "heating_s": 10});
        input["mode"][field] = value;
        check(&input, "invalid-input", &format!("/mode/{field}"));
    }
}

#[test]
fn names_must_be_there_and_be_new() {
    let twice = pipe(50.0)["tubes"][0].clone();
    check(&with(pipe(50.0), "/tubes/1", twice), "invalid-input", "/tubes/1/id");
    let twice = pipe(60.0)["joints"][0].clone();
    check(&with(pipe(50.0), "/joints/1", twice), "invalid-input", "/joints/1/id");
    let nowhere = json!({"id": "k", "held_by": "sac305"});
    check(&with(pipe(50.0), "/joints/1", nowhere), "invalid-input", "/joints/1/node");
    let half = json!({"id": "k", "tube": "p", "held_by": "sac305"});
    check(&with(pipe(50.0), "/joints/1", half), "invalid-input", "/joints/1/at_mm");
    let unheld = json!({"id": "k", "node": "b"});
    check(&with(pipe(50.0), "/joints/1", unheld), "invalid-input", "/joints/1/held_by");
}

#[test]
fn all_faults_are_named_together_and_none_twice() {
    let mut input = pipe(500.0);
    input["tubes"][0]["wall_mm"] = json!(7);
    input["tubes"][0]["material"] = json!("lead");
    input["zones"][0]["to_mm"] = json!(201);
    input["joints"][0]["held_by"] = json!("glue");
    input["margin_k"] = json!("some");
    let (_, pointers) = refused(&input);
    let mut expected = vec![
        "/joints/0/at_mm",
        "/joints/0/held_by",
        "/margin_k",
        "/tubes/0/material",
        "/tubes/0/wall_mm",
        "/zones/0/to_mm",
    ];
    let mut found: Vec<&str> = pointers.iter().map(String::as_str).collect();
    found.sort_unstable();
    expected.sort_unstable();
    assert_eq!(found, expected);
}

#[test]
fn zones_may_touch_but_not_overlap() {
    let rag = |from_mm: f64, to_mm: f64| json!({"kind": "wet_rag", "tube": "p", "from_mm": from_mm, "to_mm": to_mm});
    answer(&with(pipe(50.0), "/zones/1", rag(8.0, 20.0)));
    answer(&with(pipe(50.0), "/zones/1", rag(8.0, 8.0)));
    check(&with(pipe(50.0), "/zones/1", rag(7.9, 20.0)), "invalid-input", "/zones/1");
    check(&with(pipe(50.0), "/zones/1", rag(4.0, 4.0)), "invalid-input", "/zones/1");
}

#[test]
fn a_torch_that_melts_the_tube_is_refused_after_all_else() {
    let hot = with(pipe(50.0), "/zones/0/temperature_c", json!(915));
    check(&hot, "torch-melts-part", "/zones/0/temperature_c");
    check(&with(hot.clone(), "/margin_k", json!(-1)), "invalid-input", "/margin_k");
    answer(&with(hot, "/tubes/0/solidus_c", json!(915.1)));
    let mut input = distance();
    input["torch_c"] = json!(915);
    check(&input, "torch-melts-part", "/torch_c");
}

#[test]
fn a_tube_that_touches_nothing_hot_is_refused() {
    let tube = |id: &str, from: &str, to: &str| json!({"id": id, "from": from, "to": to, "length_mm": 50, "outside_diameter_mm": 10, "wall_mm": 0.5});
    let input = with(pipe(50.0), "/tubes/1", tube("q", "c", "d"));
    let input = with(input, "/tubes/2", tube("r", "d", "e"));
    assert_eq!(refused(&input), ("part-not-connected", vec!["/tubes/1".into(), "/tubes/2".into()]));
    answer(&with(input, "/tubes/3", tube("s", "e", "b")));
}

#[test]
fn a_ring_on_one_node_is_a_tube_like_any_other() {
    let ring = json!({
        "id": "ring", "from": "b", "to": "b", "length_mm": 60, "outside_diameter_mm": 6, "wall_mm": 3
    });
    let plain = answer(&pipe(190.0));
    let ringed = answer(&with(pipe(190.0), "/tubes/1", ring));
    let end = |answer: &Value| super::number(answer, "/joints/0/temperature_c");
    assert!(end(&ringed) < end(&plain) - 1.0);
    let profile = ringed["tubes"][1]["profile"].as_array().expect("a profile");
    let first = profile[0]["temperature_c"].clone();
    assert_eq!(first, profile[profile.len() - 1]["temperature_c"]);
}

#[test]
fn a_long_tube_is_checked_like_any_other() {
    for (pointer, value) in [
        ("/tube/wall_mm", json!(7)),
        ("/tube/material", json!("tin")),
        ("/tube/length_mm", json!(100)),
        ("/tube", json!(null)),
        ("/tube", json!("p")),
        ("/torch_c", json!(null)),
        ("/torch_c", json!(10)),
        ("/torch_c", json!(1200)),
        ("/held_by", json!("glue")),
        ("/held_by", json!(null)),
        ("/distance_mm", json!(null)),
        ("/distance_mm", json!(-1)),
        ("/water_c", json!(96)),
        ("/inside", json!(1)),
        ("/least_dry_mm", json!(-1)),
        ("/tubes", json!([])),
        ("/mode/heating_s", json!(1)),
        ("/ambient_c", json!(60)),
    ] {
        check(&with(distance(), pointer, value), "invalid-input", pointer);
    }
    let safe = with(distance(), "/mode/kind", json!("safe_distance"));
    check(&safe, "invalid-input", "/distance_mm");
}

#[test]
fn what_cannot_be_reached_at_all_is_not_computable() {
    let mut input = distance();
    input["margin_k"] = json!(163);
    check(&input, "not-computable", "/held_by");
    check(&input, "not-computable", "/margin_k");
    input.as_object_mut().expect("an object").remove("held_by");
    input["solidus_c"] = json!(183);
    check(&input, "not-computable", "/solidus_c");
    let lossless = json!({
        "mode": {"kind": "safe_distance"}, "torch_c": 700, "held_by": "sac305",
        "tube": {"outside_diameter_mm": 12, "wall_mm": 0.5}, "air_h_w_m2_k": 0, "emissivity": 0
    });
    check(&lossless, "not-computable", "/air_h_w_m2_k");
}

#[test]
fn typical_values_are_named_and_given_ones_are_not() {
    assert_eq!(
        answer(&pipe(50.0))["defaulted"],
        json!([
            "/emissivity",
            "/tubes/0/k_w_m_k",
            "/tubes/0/solidus_c",
            "/ambient_c",
            "/air_h_w_m2_k",
            "/margin_k"
        ])
    );
    let mut full = pipe(50.0);
    full["mode"] = json!({"kind": "transient", "heating_s": 5, "watch_s": 5});
    for (pointer, value) in [
        ("/tubes/0/k_w_m_k", json!(118)),
        ("/tubes/0/rho_kg_m3", json!(8500)),
        ("/tubes/0/cp_j_kg_k", json!(380)),
        ("/tubes/0/solidus_c", json!(910)),
        ("/tubes/0/emissivity", json!(0.2)),
        ("/ambient_c", json!(22)),
        ("/air_h_w_m2_k", json!(8)),
        ("/margin_k", json!(20)),
    ] {
        full = with(full, pointer, value);
    }
    assert_eq!(answer(&full)["defaulted"], json!([]));
    let mut input = full.clone();
    input["mode"] = json!({"kind": "transient", "heating_s": 5});
    input["zones"][0] =
        json!({"kind": "torch", "tube": "p", "from_mm": 0, "to_mm": 8, "filler": "bag_24"});
    let input =
        with(input, "/zones/1", json!({"kind": "water", "tube": "p", "from_mm": 60, "to_mm": 80}));
    let input = with(
        input,
        "/zones/2",
        json!({"kind": "heat_sink", "tube": "p", "from_mm": 90, "to_mm": 95}),
    );
    let told = answer(&input);
    assert_eq!(
        told["defaulted"],
        json!([
            "/mode/watch_s",
            "/zones/0/temperature_c",
            "/zones/1/temperature_c",
            "/zones/1/inside",
            "/zones/2/h_w_m2_k",
            "/zones/2/temperature_c"
        ])
    );
    // The filler is liquid at 707 °C.
    assert_eq!(told["tubes"][0]["max_c"], json!(737.0));
    let defaulted = answer(&distance())["defaulted"].clone();
    assert_eq!(
        defaulted,
        json!([
            "/emissivity",
            "/tube/material",
            "/tube/k_w_m_k",
            "/tube/solidus_c",
            "/ambient_c",
            "/air_h_w_m2_k",
            "/margin_k",
            "/water_c",
            "/inside",
            "/least_dry_mm"
        ])
    );
}

#[test]
fn each_danger_is_warned_of() {
    let cautions = |input: &Value| answer(input)["cautions"].clone();
    assert_eq!(cautions(&pipe(50.0)), json!(["torch", "flux-fume", "lead"]));
    let lead_free = with(pipe(50.0), "/joints/0/held_by", json!("sac305"));
    assert_eq!(cautions(&lead_free), json!(["torch", "flux-fume"]));
    let old = with(lead_free.clone(), "/joints/0/held_by", json!("unknown_brazing"));
    assert_eq!(cautions(&old), json!(["torch", "cadmium", "flux-fume"]));
    let soft = with(lead_free.clone(), "/joints/0/held_by", json!("unknown_soft_solder"));
    assert_eq!(cautions(&soft), json!(["torch", "flux-fume", "lead"]));
    assert_eq!(answer(&soft)["joints"][0]["limit_c"], json!(158.0));
    let cadmium = with(lead_free.clone(), "/zones/0/filler", json!("bag_1"));
    assert_eq!(cautions(&cadmium), json!(["torch", "cadmium", "flux-fume"]));
    let zinc = with(lead_free.clone(), "/zones/0/temperature_c", json!(786));
    assert_eq!(cautions(&zinc), json!(["torch", "flux-fume", "zinc-fume"]));
    let soldering = with(lead_free.clone(), "/zones/0/temperature_c", json!(300));
    assert_eq!(cautions(&soldering), json!(["torch"]));
    let water = json!({"kind": "water", "tube": "p", "from_mm": 60, "to_mm": 80});
    assert_eq!(
        cautions(&with(lead_free, "/zones/1", water)),
        json!(["torch", "flux-fume", "quench-steam"])
    );
    assert_eq!(cautions(&distance()), json!(["torch", "flux-fume", "lead", "quench-steam"]));
}

#[test]
fn lists_without_end_are_refused_before_they_are_solved() {
    let tube = pipe(50.0)["tubes"][0].clone();
    let input = with(pipe(50.0), "/tubes", json!(vec![tube; 20_000]));
    check(&input, "invalid-input", "/tubes");
    let mut long = pipe(50.0);
    for place in 0..21 {
        long["tubes"][0]["length_mm"] = json!(3000);
        let mut tube = long["tubes"][0].clone();
        tube["id"] = json!(place.to_string());
        long = with(long, &format!("/tubes/{}", place + 1), tube);
    }
    check(&long, "invalid-input", "/tubes");
    let input = with(pipe(50.0), "/zones", json!(vec![json!(null); 50_000]));
    check(&input, "invalid-input", "/zones");
    let input = with(pipe(50.0), "/joints", json!(vec![json!({"a": 1}); 50_000]));
    check(&input, "invalid-input", "/joints");
}

#[test]
fn odd_but_allowed_values_are_answered_with_numbers() {
    for (pointer, value) in [
        ("/tubes/0/k_w_m_k", json!(1e-300)),
        ("/tubes/0/k_w_m_k", json!(1e4)),
        ("/tubes/0/rho_kg_m3", json!(1e-300)),
        ("/tubes/0/wall_mm", json!(6)),
        ("/tubes/0/outside_diameter_mm", json!(600)),
        ("/zones/0/to_mm", json!(1e-9)),
        ("/zones/0/to_mm", json!(200)),
        ("/zones/0/temperature_c", json!(20.000_000_1)),
        ("/joints/0/at_mm", json!(199.999_999_9)),
        ("/joints/0/at_mm", json!(0)),
        ("/air_h_w_m2_k", json!(0)),
        (
            "/zones/1",
            json!({"kind": "heat_sink", "tube": "p", "from_mm": 8, "to_mm": 200, "h_w_m2_k": 1e9}),
        ),
        (
            "/zones/1",
            json!({"kind": "heat_sink", "tube": "p", "from_mm": 8, "to_mm": 200, "h_w_m2_k": 1e-300}),
        ),
        ("/zones/1", json!({"kind": "water", "tube": "p", "from_mm": 8, "to_mm": 8.000_1})),
        (
            "/zones/1",
            json!({"kind": "water", "tube": "p", "from_mm": 8, "to_mm": 200, "inside": true}),
        ),
        ("/mode", json!({"kind": "transient", "heating_s": 1e-300, "watch_s": 3600})),
        ("/mode", json!({"kind": "transient", "heating_s": 1800, "watch_s": 3600})),
        ("/mode", json!({"kind": "transient", "heating_s": 1e-6, "watch_s": 1e-12})),
    ] {
        let told = answer(&with(pipe(50.0), pointer, value.clone()));
        for field in ["temperature_c", "temperature_high_c"] {
            let t = super::number(&told, &format!("/joints/0/{field}"));
            assert!((19.99..=730.01).contains(&t), "{pointer} {value}: {t}");
        }
    }
}

fn hostile() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(json!(null)),
        Just(json!(true)),
        Just(json!("a")),
        Just(json!([])),
        Just(json!({})),
        Just(json!(-0.0)),
        Just(json!(5e-324)),
        Just(json!(f64::MAX)),
        Just(json!(-f64::MAX)),
        Just(json!(u64::MAX)),
        Just(json!(i64::MIN)),
        (-10.0..1200.0_f64).prop_map(|number| json!(number)),
    ]
}

/// Three places of a sound question are overwritten: refused or answered, in numbers,
/// without a panic.
#[test]
fn no_input_brings_the_computation_down() {
    let mut sound = pipe(50.0);
    sound["mode"] = json!({"kind": "transient", "heating_s": 3, "watch_s": 4});
    sound["tubes"][0]["k_w_m_k"] = json!(120);
    sound["tubes"][0]["rho_kg_m3"] = json!(8530);
    let wet = json!({"kind": "water", "tube": "p", "from_mm": 60, "to_mm": 80, "temperature_c": 20, "inside": true});
    let sound = with(sound, "/zones/1", wet);
    let rag = json!({"kind": "wet_rag", "tube": "p", "from_mm": 90, "to_mm": 95, "h_w_m2_k": 9, "temperature_c": 99});
    let sound = with(sound, "/zones/2", rag);
    let mut cover = distance();
    cover["water_c"] = json!(20);
    cover["least_dry_mm"] = json!(10);
    cover["margin_k"] = json!(25);
    let config = ProptestConfig {
        cases: 600,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(9),
        ..ProptestConfig::default()
    };
    proptest::proptest!(config, |(
        wounds in proptest::collection::vec((0..200_usize, hostile()), 1..4), long in proptest::bool::ANY,
    )| {
        let mut input = if long { cover.clone() } else { sound.clone() };
        for (place, value) in wounds {
            let mut all = Vec::new();
            pointers(&input, String::new(), &mut all);
            if let Some(target) = input.pointer_mut(&all[place % all.len()]) {
                *target = value;
            }
        }
        match compute(&input) {
            Ok(answer) => prop_assert!(!holds_null(&answer["joints"]), "{input} {answer}"),
            Err(refused) => prop_assert!(!refused.faults.is_empty(), "{input}"),
        }
    });
}

fn pointers(value: &Value, at: String, all: &mut Vec<String>) {
    all.push(at.clone());
    match value {
        Value::Object(fields) => {
            fields.iter().for_each(|(key, value)| pointers(value, format!("{at}/{key}"), all));
        }
        Value::Array(list) => {
            let list = list.iter().enumerate();
            list.for_each(|(place, value)| pointers(value, format!("{at}/{place}"), all));
        }
        _ => {}
    }
}

fn holds_null(value: &Value) -> bool {
    match value {
        Value::Null => false,
        Value::Array(list) => list.iter().any(|joint| {
            joint.as_object().is_none_or(|fields| fields.values().any(Value::is_null))
        }),
        _ => true,
    }
}

/// So many tubes of this length, all from one hub, heated at the end of the first.
fn star(count: u32, length_mm: f64, mode: &Value) -> Value {
    let tubes: Vec<Value> = (0..count)
        .map(|k| json!({"id": format!("t{k}"), "from": "hub", "to": format!("end{k}"), "length_mm": length_mm, "outside_diameter_mm": 12, "wall_mm": 0.5}))
        .collect();
    json!({
        "mode": mode, "tubes": tubes, "zones": [{"kind": "torch", "tube": "t0", "from_mm": 0, "to_mm": 8, "temperature_c": 700}],
        "joints": [{"id": "j", "tube": "t1", "at_mm": 50, "solidus_c": 183}],
    })
}

#[test]
fn what_would_hold_up_the_shop_is_not_followed_in_time() {
    let in_time = json!({"kind": "transient", "heating_s": 1800, "watch_s": 3600});
    let refusal = compute(&star(300, 200.0, &in_time)).expect_err("should be refused");
    assert_eq!((refusal.slug, refusal.faults[0].pointer.as_str()), ("invalid-input", "/tubes"));
    assert!(refusal.faults[0].message.contains("ask for the steady state"), "{}", refusal.faults[0].message);
    // Steady it is answered, and in time what the largest instrument has: 12 m of tube in 80 pieces.
    for input in [star(300, 200.0, &json!({"kind": "steady"})), star(80, 150.0, &in_time)] {
        let begun = std::time::Instant::now();
        answer(&input);
        eprintln!("{} tubes, {}: {:?}", input["tubes"].as_array().unwrap().len(), input["mode"]["kind"], begun.elapsed());
    }
    eprintln!("{}", refusal.faults[0].message);
}
