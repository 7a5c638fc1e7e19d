//! `plating-charge` against the reference cases, the silver coulometer, and itself.

mod comparing;

use comparing::{EXACT, Tolerance, check_all};
use serde_json::{Value, json};
use trade::bench::plating_charge::{PLATING_METALS, PlatingMetal, compute};

fn pointers_refused(input: &Value) -> Vec<String> {
    let refused = compute(input).expect_err("should be refused");
    assert_eq!(refused.slug, "invalid-input");
    refused.faults.into_iter().map(|fault| fault.pointer).collect()
}

#[test]
fn reference_cases_hold() {
    check_all("plating-charge", compute, |_| Tolerance { rel: 1e-9, ..EXACT });
}

/// Source: the silver coulometer; 1 international ampere deposited 1.11800 mg of silver
/// a second by definition (from memory), 1.11798 mg/C in SI units.
#[test]
fn silver_weighs_what_the_coulometer_says() {
    let silver = PlatingMetal::named("silver").expect("in the table");
    assert!((silver.equivalent_g_c() * 1000.0 - 1.117_98).abs() < 5e-6);
    assert!((silver.equivalent_g_c() * 1000.0 / 1.1180 - 1.0).abs() < 5e-5);
}

#[test]
fn typical_values_are_named_and_given_ones_are_not() {
    let answer =
        compute(&json!({"metal": "gold_iii", "area_cm2": 2, "thickness_um": 1})).expect("answers");
    assert_eq!(
        answer["defaulted"],
        json!([
            "/efficiency",
            "/efficiency_u",
            "/area_u_rel",
            "/current_density_a_dm2",
            "/anode_contact_cm2"
        ])
    );
    let answer = compute(&json!({
        "metal": "nickel", "area_cm2": 2, "thickness_um": 1, "efficiency": 0.95,
        "efficiency_u": 0.02, "area_u_rel": 0, "current_density_a_dm2": 5,
        "anode_contact_cm2": 1, "metal_g_l": 60
    }))
    .expect("answers");
    assert_eq!(answer["defaulted"], json!(["/usable_fraction"]));
}

#[test]
fn baths_that_may_hold_cyanide_say_so() {
    for metal in PLATING_METALS {
        let answer = compute(&json!({"metal": metal.slug, "area_cm2": 2, "thickness_um": 1}))
            .expect("answers");
        let expected = match metal.slug {
            "silver" | "gold_i" | "gold_iii" | "copper_i" => json!(["cyanide"]),
            "nickel" => json!(["nickel"]),
            _ => json!([]),
        };
        assert_eq!(answer["cautions"], expected, "{}", metal.slug);
    }
}

#[test]
fn every_fault_is_named_at_once() {
    let faults = pointers_refused(&json!({
        "metal": "chrome", "area_cm2": 0, "thickness_um": 501, "efficiency": 0,
        "efficiency_u": "five percent", "area_u_rel": 1.5, "current_density_a_dm2": 0.001,
        "anode_contact_cm2": 0, "metal_g_l": 0, "usable_fraction": 1.2, "colour": "bright"
    }));
    for pointer in [
        "/metal",
        "/area_cm2",
        "/thickness_um",
        "/efficiency",
        "/efficiency_u",
        "/area_u_rel",
        "/current_density_a_dm2",
        "/anode_contact_cm2",
        "/metal_g_l",
        "/usable_fraction",
        "/colour",
    ] {
        assert!(faults.iter().any(|fault| fault == pointer), "{pointer} is not in {faults:?}");
    }
    let faults = pointers_refused(&json!({}));
    assert_eq!(faults, ["/metal", "/area_cm2", "/thickness_um"]);
    let range =
        compute(&json!({"metal": "silver", "area_cm2": 5, "thickness_um": 10, "efficiency": 1.1}));
    assert_eq!(range.expect_err("over 1").faults[0].message, "1.1 must be above 0 and at most 1");
}

#[test]
fn hostile_inputs_are_refused_without_a_panic() {
    let base = json!({"metal": "silver", "area_cm2": 5, "thickness_um": 10, "metal_g_l": 20});
    for key in ["efficiency", "anode_contact_cm2", "metal_g_l"] {
        let mut input = base.clone();
        input[key] = json!(5e-324);
        assert_eq!(pointers_refused(&input), [format!("/{key}")]);
    }
    for whole in [json!(null), json!([]), json!("silver"), json!(1e308), json!(true)] {
        assert!(compute(&whole).is_err());
    }
}

#[test]
fn charge_is_mass_and_mass_is_charge() {
    use proptest::prelude::{ProptestConfig, prop_assert};
    proptest::proptest!(ProptestConfig { cases: 200, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(7), ..ProptestConfig::default() }, |(
        metal in 0..6_usize, area in 0.01..10_000.0_f64, thickness in 0.01..500.0_f64,
        efficiency in 0.01..1.0_f64, contact_share in 0.01..1.0_f64,
    )| {
        let answer = compute(&json!({
            "metal": PLATING_METALS[metal].slug, "area_cm2": area, "thickness_um": thickness,
            "efficiency": efficiency, "anode_contact_cm2": area * contact_share,
        })).expect("answers");
        let number = |key: &str| answer[key].as_f64().expect("a number");
        // The current over the time passes the charge, and what of it is useful deposits the mass.
        let passed = number("current_a") * number("minutes") * 60.0;
        prop_assert!((passed / number("charge_c") - 1.0).abs() < 1e-12);
        let deposited = passed * efficiency * number("g_per_c");
        prop_assert!((deposited / number("mass_g") - 1.0).abs() < 1e-12);
    });
}
