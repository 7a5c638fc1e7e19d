//! `filler-amount` against the reference cases, plane geometry, and itself.

mod comparing;

use comparing::{EXACT, Tolerance, check_all};
use proptest::prelude::{ProptestConfig, prop_assert};
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};
use trade::bench::filler_amount::{Crack, Form, Lap, Patch, compute};

fn seeded(seed: u64) -> ProptestConfig {
    ProptestConfig {
        cases: 200,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(seed),
        ..ProptestConfig::default()
    }
}

fn crack() -> Value {
    json!({
        "kind": "crack", "length_mm": 18, "wall_mm": 0.5, "filler": "bag_24",
        "form": {"kind": "rod", "diameter_mm": 1}
    })
}

fn lap() -> Value {
    json!({
        "kind": "lap", "diameter_mm": 12, "wall_mm": 0.5, "filler": "sn63pb37",
        "form": {"kind": "strip", "width_mm": 3, "thickness_mm": 0.25}
    })
}

fn pointers_refused(input: &Value) -> Vec<String> {
    let refused = compute(input).expect_err("should be refused");
    assert_eq!(refused.slug, "invalid-input");
    refused.faults.into_iter().map(|fault| fault.pointer).collect()
}

fn with(mut input: Value, pointer: &str, value: Value) -> Value {
    match pointer.rsplit_once('/') {
        Some(("", key)) => input[key] = value,
        Some((parent, key)) => input.pointer_mut(parent).expect("stands in the input")[key] = value,
        None => input = value,
    }
    input
}

#[test]
fn reference_cases_hold() {
    check_all("filler-amount", compute, |_| Tolerance { rel: 1e-9, ..EXACT });
}

/// Source: elementary geometry. A right-angled V 1 mm deep has a section of 1 mm² and a
/// mouth of 2 mm; a parabola over it encloses two thirds of its box (Archimedes).
#[test]
fn a_right_angled_v_has_the_section_of_a_triangle() {
    let v = Crack {
        length_mm: 10.0,
        gap_mm: 0.0,
        wall_mm: 1.0,
        v_depth_mm: 1.0,
        v_angle_deg: 90.0,
        crown_mm: 0.0,
    };
    assert!((v.section_mm2() - 1.0).abs() < 1e-12);
    assert!((v.mouth_mm() - 2.0).abs() < 1e-12);
    assert!((Crack { crown_mm: 0.3, ..v }.section_mm2() - 1.4).abs() < 1e-12);
    let patch = Patch::over(&v, 4.0);
    assert_eq!((patch.length_mm, patch.width_mm.round()), (18.0, 10.0));
}

/// Source: elementary geometry. A concave quarter-round fillet leaves `leg²(1 − π/4)` of
/// its square; a thin ring has the volume of its unrolled strip (Pappus, to the leg's order).
#[test]
fn a_lap_without_fillets_is_an_unrolled_strip() {
    let lap = Lap {
        diameter_mm: 10.0,
        lap_mm: 5.0,
        clearance_mm: 0.1,
        fillet_mm: 0.0,
        fillet_count: 2.0,
    };
    assert!((lap.volume_mm3() - 10.0 * std::f64::consts::PI * 0.5).abs() < 1e-12);
    let cube = Form::Strip { width_mm: 2.0, thickness_mm: 0.5 };
    assert!((cube.length_mm(7.0) - 7.0).abs() < 1e-12);
}

#[test]
fn typical_values_are_named_only_where_they_count() {
    let answer = compute(&crack()).expect("answers");
    assert_eq!(
        answer["defaulted"],
        json!(["/gap_mm", "/v_depth_mm", "/v_angle_deg", "/crown_mm", "/waste"])
    );
    let answer = compute(&with(crack(), "/patch", json!(true))).expect("answers");
    let defaulted = answer["defaulted"].as_array().expect("a list");
    assert!(
        defaulted.contains(&json!("/overlap_mm")) && defaulted.contains(&json!("/clearance_mm"))
    );
    let answer = compute(&lap()).expect("answers");
    assert_eq!(
        answer["defaulted"],
        json!(["/lap_mm", "/clearance_mm", "/fillet_mm", "/fillets", "/waste"])
    );
}

#[test]
fn each_filler_brings_its_cautions() {
    for (filler, cautions) in [
        ("bag_1", json!(["torch", "cadmium", "flux-fume"])),
        ("bag_24", json!(["torch", "flux-fume"])),
        ("sn60pb40", json!(["lead"])),
        ("sac305", json!([])),
    ] {
        let answer = compute(&with(crack(), "/filler", json!(filler))).expect("answers");
        assert_eq!(answer["cautions"], cautions, "{filler}");
    }
}

#[test]
fn values_out_of_range_are_refused_where_they_stand() {
    for (input, pointer, value) in [
        (crack(), "/length_mm", json!(0)),
        (crack(), "/wall_mm", json!(-1)),
        (crack(), "/gap_mm", json!(3.01)),
        (crack(), "/v_depth_mm", json!(0.51)),
        (crack(), "/v_angle_deg", json!(0)),
        (crack(), "/v_angle_deg", json!(180)),
        (crack(), "/crown_mm", json!(-0.1)),
        (crack(), "/overlap_mm", json!(0)),
        (crack(), "/clearance_mm", json!(0.009)),
        (crack(), "/waste", json!(5.1)),
        (crack(), "/patch", json!("yes")),
        (crack(), "/filler", json!("sn40pb60")),
        (crack(), "/filler", json!(7)),
        (crack(), "/fillets", json!(1)),
        (crack(), "/form/diameter_mm", json!(0)),
        (crack(), "/form/width_mm", json!(3)),
        (crack(), "/form/kind", json!("paste")),
        (crack(), "/kind", json!("butt")),
        (lap(), "/lap_mm", json!(0)),
        (lap(), "/clearance_mm", json!(1.1)),
        (lap(), "/fillet_mm", json!(-0.5)),
        (lap(), "/fillets", json!(-1)),
        (lap(), "/fillets", json!(1.5)),
        (lap(), "/form/thickness_mm", json!("thin")),
    ] {
        let faults = pointers_refused(&with(input, pointer, value.clone()));
        assert!(faults.iter().any(|fault| fault == pointer), "{pointer} {value}: {faults:?}");
    }
    let mut missing = pointers_refused(&json!({"kind": "lap"}));
    missing.sort();
    assert_eq!(missing, ["/diameter_mm", "/filler", "/form", "/wall_mm"]);
}

#[test]
fn hostile_inputs_are_refused_without_a_panic() {
    for input in [
        json!(null),
        json!([1, 2]),
        json!({"kind": ["crack"]}),
        with(crack(), "/form", json!([])),
        with(with(crack(), "/length_mm", json!(1e308)), "/gap_mm", json!(3)),
        with(crack(), "/form/diameter_mm", json!(1e-200)),
        with(with(lap(), "/fillet_mm", json!(1e200)), "/fillets", json!(5)),
        with(lap(), "/diameter_mm", json!(f64::MAX)),
        with(lap(), "/fillets", json!(u64::MAX)),
    ] {
        assert!(!pointers_refused(&input).is_empty(), "{input}");
    }
}

#[test]
fn more_gap_more_depth_or_more_waste_never_takes_less() {
    proptest::proptest!(seeded(11), |(
        length in 1.0..200.0_f64, wall in 0.2..2.0_f64, gap in 0.0..1.4_f64,
        depth_share in 0.0..0.5_f64, angle in 10.0..150.0_f64, waste in 0.0..2.0_f64,
        patch in proptest::bool::ANY,
    )| {
        let ask = |gap: f64, depth: f64, waste: f64| {
            let answer = compute(&json!({
                "kind": "crack", "length_mm": length, "wall_mm": wall, "gap_mm": gap,
                "v_depth_mm": depth, "v_angle_deg": angle, "waste": waste, "patch": patch,
                "filler": "bag_5", "form": {"kind": "rod", "diameter_mm": 1.5},
            })).expect("answers");
            answer["length_mm"].as_f64().expect("a number")
        };
        let least = ask(gap, depth_share * wall, waste);
        prop_assert!(ask(gap * 2.0, depth_share * wall, waste) >= least);
        prop_assert!(ask(gap, depth_share * 2.0 * wall, waste) >= least);
        prop_assert!(ask(gap, depth_share * wall, waste * 2.0) >= least);
    });
}
