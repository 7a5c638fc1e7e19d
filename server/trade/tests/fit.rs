//! Slides, circles and shanks against the reference cases, a published circle and what must
//! hold of any measurement.

#[expect(dead_code, reason = "cases are run one by one, for the remarks on the long axis")]
mod comparing;

use comparing::{EXACT, Tolerance, check_one, reference};
use proptest::prelude::*;
use serde_json::{Value, json};
use trade::bench::fit::circle::circle_through;
use trade::bench::fit::compute;

fn tolerance(pointer: &str) -> Tolerance {
    match pointer.rsplit('/').next().expect("a field") {
        "taper_mm_per_mm" | "u_taper_mm_per_mm" | "deviation_mm_per_mm" => {
            Tolerance { abs: 1e-9, rel: 0.0 }
        }
        "one_in" | "insertion_mm" | "u_insertion_mm" => Tolerance { abs: 0.0, rel: 1e-6 },
        "long_axis_deg" => Tolerance { abs: 1e-3, rel: 0.0 },
        name if name.ends_with("_mm") => Tolerance { abs: 1e-6, rel: 0.0 },
        _ => EXACT,
    }
}

/// The tolerances' two remarks on the long axis: it counts modulo 180°, and not at all where
/// the tube is round.
fn with_axes_as_answered(case: &Value) -> Value {
    let mut case = case.clone();
    let Ok(answer) = compute(&case["input"]) else { return case };
    for tube in ["inner", "outer"] {
        let Some(sections) = case["output"].get_mut(tube).and_then(Value::as_array_mut) else {
            continue;
        };
        for (section, found) in sections.iter_mut().zip(answer[tube].as_array().expect("sections"))
        {
            let is_round = section["ovality_mm"].as_f64().expect("ovality") < 1e-6;
            let (want, have) = (
                section["long_axis_deg"].as_f64().expect("axis"),
                found["long_axis_deg"].as_f64().expect("axis"),
            );
            assert!((0.0..180.0).contains(&have), "{have}");
            let near = want + 180.0 * ((have - want) / 180.0).round();
            section["long_axis_deg"] = json!(if is_round { have } else { near });
        }
    }
    case
}

#[test]
fn every_reference_case_comes_out() {
    let file = reference("fit");
    let cases = file["cases"].as_array().expect("cases");
    assert!(!cases.is_empty());
    let mut wrong = Vec::new();
    for case in cases {
        check_one(&with_axes_as_answered(case), compute, &tolerance, &mut wrong);
    }
    assert!(wrong.is_empty(), "{} differences:\n{}", wrong.len(), wrong.join("\n"));
}

/// Three points on a short arc have one circle through them, however little rounding leaves to
/// be made smaller. Its centre and radius by the formula of the circumscribed circle.
#[test]
fn three_points_always_give_the_circle_through_them() {
    for points in [
        [(16.782125, -5.973677), (5.218799, -23.768721), (18.619391, -3.468438)],
        [(0.0, 0.0), (5.0, 0.0125), (10.0, 0.0)],
        [(40.0, 3.0), (39.9, 4.1), (39.7, 5.3)],
    ] {
        let [(ax, ay), (bx, by), (cx, cy)] = points;
        let (bx, by, cx, cy) = (bx - ax, by - ay, cx - ax, cy - ay);
        let twice_area = bx * cy - by * cx;
        let (b, c) = (bx * bx + by * by, cx * cx + cy * cy);
        let x = (cy * b - by * c) / (2.0 * twice_area);
        let y = (bx * c - cx * b) / (2.0 * twice_area);
        let circle = circle_through(&points).expect("a circle");
        assert!((circle.centre_x_mm - (ax + x)).abs() < 1e-6, "{circle:?} {x} {y}");
        assert!((circle.centre_y_mm - (ay + y)).abs() < 1e-6, "{circle:?} {x} {y}");
        assert!((circle.radius_mm - x.hypot(y)).abs() < 1e-6, "{circle:?} {x} {y}");
        assert!(circle.roundness_mm < 1e-9, "{circle:?}");
    }
}

/// Gander, Golub, Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994):
/// geometric fit of six points (from memory).
#[test]
fn the_circle_of_gander_golub_and_strebel() {
    let points = [(1.0, 7.0), (2.0, 6.0), (5.0, 8.0), (7.0, 7.0), (9.0, 5.0), (3.0, 7.0)];
    let circle = circle_through(&points).expect("a circle");
    assert!((circle.centre_x_mm - 4.7398).abs() < 5e-5, "{circle:?}");
    assert!((circle.centre_y_mm - 2.9835).abs() < 5e-5, "{circle:?}");
    assert!((circle.radius_mm - 4.7142).abs() < 5e-5, "{circle:?}");
}

fn ellipse_tube(mean: f64, ovality: f64, axis_deg: f64, at: &[f64], angles: &[f64]) -> Value {
    let diameter =
        |angle: f64| mean + ovality / 2.0 * (2.0 * (angle - axis_deg).to_radians()).cos();
    let station = |at: &f64| {
        let diameters: Vec<Value> =
            angles.iter().map(|a| json!({"angle_deg": a, "diameter_mm": diameter(*a)})).collect();
        json!({"at_mm": at, "diameters": diameters})
    };
    at.iter().map(station).collect()
}

fn slide() -> Value {
    let angles = [0.0, 45.0, 90.0, 135.0];
    json!({
        "kind": "slide",
        "inner": ellipse_tube(11.6, 0.01, 30.0, &[0.0, 10.0, 20.0], &angles),
        "outer": ellipse_tube(11.66, 0.02, 70.0, &[-5.0, 12.0], &angles),
        "inner_gauge": {"u_mm": 0.003, "resolution_mm": 0.001},
        "outer_gauge": {"u_mm": 0.006, "resolution_mm": 0.001},
        "limits_mm": [0.02, 0.05, 0.09],
    })
}

fn shank() -> Value {
    json!({
        "kind": "shank",
        "stations": [{"at_mm": 0, "diameter_mm": 9.1}, {"at_mm": 10, "diameter_mm": 9.62}, {"at_mm": 20, "diameter_mm": 10.14}],
        "gauge": {"u_mm": 0.005, "resolution_mm": 0.01},
        "target_taper_mm_per_mm": 0.052,
        "receiver_diameter_mm": 9.9,
    })
}

#[test]
fn only_stations_within_the_outer_tube_count() {
    let answer = compute(&slide()).expect("an answer");
    let clearances = answer["clearances"].as_array().expect("clearances");
    assert_eq!(
        clearances.iter().map(|one| one["at_mm"].as_f64().expect("place")).collect::<Vec<_>>(),
        [0.0, 10.0]
    );
    let least = answer["least_clearance_mm"].as_f64().expect("least");
    assert!((least - 0.045).abs() < 1e-12, "{least}");
    assert_eq!(answer["verdict"], "slightly_tight");
    assert_eq!(answer["defaulted"], json!([]));
    assert!(answer["notes"][0].as_str().expect("note").contains("three lobes"));
}

#[test]
fn what_was_left_out_is_named() {
    let mut input = slide();
    input["inner_gauge"] = Value::Null;
    input["outer_gauge"] = json!({"u_mm": 0.006});
    input["limits_mm"] = Value::Null;
    let answer = compute(&input).expect("an answer");
    assert_eq!(
        answer["defaulted"],
        json!(["/inner_gauge", "/outer_gauge/resolution_mm", "/limits_mm"])
    );
    let mut input = shank();
    input["gauge"] = Value::Null;
    let answer = compute(&input).expect("an answer");
    assert_eq!(answer["defaulted"], json!(["/gauge", "/tolerance_mm_per_mm"]));
}

#[test]
fn a_cylinder_has_no_taper_and_no_insertion() {
    let mut input = shank();
    for station in 0..3 {
        input["stations"][station]["diameter_mm"] = json!(9.1);
    }
    let refused = compute(&input).expect_err("refused");
    assert_eq!((refused.slug, refused.faults[0].pointer.as_str()), ("not-computable", "/stations"));
    input["receiver_diameter_mm"] = Value::Null;
    let answer = compute(&input).expect("an answer");
    assert_eq!((&answer["one_in"], &answer["verdict"]), (&Value::Null, &json!("differs")));
    assert!(answer.get("insertion_mm").is_none());
}

#[test]
fn two_stations_make_a_taper_with_the_gauge_s_doubt() {
    let mut input = shank();
    input["stations"].as_array_mut().expect("stations").pop();
    let answer = compute(&input).expect("an answer");
    assert!((answer["taper_mm_per_mm"].as_f64().expect("taper") - 0.052).abs() < 1e-12);
    let u = 0.01 / 12_f64.sqrt() / 50_f64.sqrt();
    assert!((answer["u_taper_mm_per_mm"].as_f64().expect("u") - u).abs() < 1e-12);
}

#[test]
fn refusals_name_what_is_wrong() {
    let bad = |mut input: Value, change: fn(&mut Value), slug: &str, pointer: &str| {
        change(&mut input);
        let refused = compute(&input).expect_err("refused");
        assert_eq!(refused.slug, slug, "{refused:?}");
        assert_eq!(
            refused.faults.iter().map(|f| f.pointer.as_str()).collect::<Vec<_>>(),
            [pointer],
            "{refused:?}"
        );
    };
    let invalid = "invalid-input";
    bad(slide(), |i| i["kind"] = json!("cork"), invalid, "/kind");
    bad(slide(), |i| i["kind"] = json!(3), invalid, "/kind");
    bad(slide(), |i| i["points_mm"] = json!([]), invalid, "/points_mm");
    bad(slide(), |i| i["inner"] = json!([]), invalid, "/inner");
    bad(slide(), |i| i["outer"] = Value::Null, invalid, "/outer");
    bad(slide(), |i| i["inner"][1]["at_mm"] = json!(0), invalid, "/inner/1/at_mm");
    bad(
        slide(),
        |i| i["inner"][1]["diameters"][2]["diameter_mm"] = json!(0.9),
        invalid,
        "/inner/1/diameters/2/diameter_mm",
    );
    bad(
        slide(),
        |i| i["inner"][1]["diameters"][2]["angle_deg"] = json!("0"),
        invalid,
        "/inner/1/diameters/2/angle_deg",
    );
    bad(
        slide(),
        |i| i["inner"][1]["diameters"][2]["by"] = json!("me"),
        invalid,
        "/inner/1/diameters/2/by",
    );
    bad(slide(), |i| i["inner_gauge"] = json!(0.003), invalid, "/inner_gauge");
    bad(slide(), |i| i["inner_gauge"]["u_mm"] = json!(-1), invalid, "/inner_gauge/u_mm");
    bad(slide(), |i| i["limits_mm"] = json!([0.02, 0.02, 0.09]), invalid, "/limits_mm");
    bad(slide(), |i| i["limits_mm"] = json!([0.02, 0.05]), invalid, "/limits_mm");
    bad(
        slide(),
        |i| i["outer"] = ellipse_tube(11.7, 0.0, 0.0, &[25.0], &[0.0, 60.0, 120.0]),
        "no-overlap",
        "/outer",
    );
    // Opposite ends are one diameter.
    bad(
        slide(),
        |i| i["outer"] = ellipse_tube(11.7, 0.0, 0.0, &[0.0], &[0.0, 180.0, 90.0]),
        invalid,
        "/outer/0/diameters",
    );
    bad(
        slide(),
        |i| i["outer"] = ellipse_tube(11.7, 0.0, 0.0, &[0.0], &[30.0, -150.0, 210.0, 120.0]),
        invalid,
        "/outer/0/diameters",
    );
    bad(shank(), |i| i["stations"] = json!([{"at_mm": 0, "diameter_mm": 9}]), invalid, "/stations");
    bad(
        shank(),
        |i| i["stations"][1]["diameter_mm"] = json!(401),
        invalid,
        "/stations/1/diameter_mm",
    );
    bad(shank(), |i| i["receiver_diameter_mm"] = json!(0), invalid, "/receiver_diameter_mm");
    bad(shank(), |i| i["tolerance_mm_per_mm"] = json!(-0.1), invalid, "/tolerance_mm_per_mm");
    bad(shank(), |i| i["inner"] = json!([]), invalid, "/inner");
    bad(
        shank(),
        |i| (0..3).for_each(|n| i["stations"][n]["at_mm"] = json!(4)),
        invalid,
        "/stations",
    );
    let circle = |points: Value| json!({"kind": "circle", "points_mm": points});
    bad(circle(json!([[0, 0], [1, 0], [1]])), |_| (), invalid, "/points_mm/2");
    bad(circle(json!([[0, 0], [1, 0], [1, "x"]])), |_| (), invalid, "/points_mm/2/1");
    bad(circle(json!([[0, 0], [1, 0], [1, 0]])), |_| (), "not-computable", "/points_mm");
    bad(circle(json!([[5, 5], [5, 5], [5, 5]])), |_| (), "not-computable", "/points_mm");
    bad(
        circle(json!([[0.1, 0.1], [0.2, 0.2], [0.7, 0.7]])),
        |_| (),
        "not-computable",
        "/points_mm",
    );
}

#[test]
fn hostile_documents_are_refused() {
    for input in [
        json!(null),
        json!([]),
        json!("slide"),
        json!({}),
        json!({"kind": "circle"}),
        json!({"kind": "shank", "stations": {}}),
        json!({"kind": "slide", "inner": [null], "outer": [[]]}),
    ] {
        assert_eq!(compute(&input).expect_err("refused").slug, "invalid-input");
    }
}

fn fixed(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(6),
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(fixed(200))]

    /// An exact ellipse comes back, whatever the directions it was measured in.
    #[test]
    fn an_ellipse_is_recovered(mean in 5.0..200.0_f64, ovality in 0.001..0.5_f64, axis in 0.0..180.0_f64, first in 0.0..60.0_f64, extra in 0.0..180.0_f64) {
        let tube = ellipse_tube(mean, ovality, axis, &[0.0], &[first, first + 60.0, first + 120.0, extra]);
        let answer = compute(&json!({"kind": "slide", "inner": tube, "outer": tube})).expect("an answer");
        let section = &answer["inner"][0];
        prop_assert!((section["mean_mm"].as_f64().expect("mean") - mean).abs() < 1e-9);
        prop_assert!((section["ovality_mm"].as_f64().expect("ovality") - ovality).abs() < 1e-9);
        let off = (section["long_axis_deg"].as_f64().expect("axis") - axis).rem_euclid(180.0);
        prop_assert!(off.min(180.0 - off) < 1e-6);
        // The tube in itself: no room on the mean, less than none in the worst turn.
        prop_assert!((answer["least_clearance_mm"].as_f64().expect("least") + ovality).abs() < 1e-9);
        prop_assert_eq!(&answer["verdict"], "interference");
    }

    /// Nothing near the answer is a better circle, and moving the part moves the centre with it.
    #[test]
    fn the_circle_is_the_best_near_it_and_moves_with_the_part(
        offsets in proptest::collection::vec(-0.2..0.2_f64, 5..20), arc in 0.8..6.2_f64, x in -500.0..500.0_f64, y in -500.0..500.0_f64,
    ) {
        let count = offsets.len() as f64;
        let points: Vec<(f64, f64)> = offsets.iter().enumerate().map(|(i, off)| {
            let angle = arc * i as f64 / count;
            ((6.0 + off) * angle.cos(), (6.0 + off) * angle.sin())
        }).collect();
        let Some(circle) = circle_through(&points) else { return Ok(()) };
        let squares = |cx: f64, cy: f64, r: f64| points.iter().map(|p| ((p.0 - cx).hypot(p.1 - cy) - r).powi(2)).sum::<f64>();
        let least = squares(circle.centre_x_mm, circle.centre_y_mm, circle.radius_mm);
        prop_assert!((circle.rms_mm - (least / count).sqrt()).abs() < 1e-9);
        for (dx, dy, dr) in [(1e-4, 0.0, 0.0), (-1e-4, 0.0, 0.0), (0.0, 1e-4, 0.0), (0.0, -1e-4, 0.0), (0.0, 0.0, 1e-4), (0.0, 0.0, -1e-4)] {
            prop_assert!(squares(circle.centre_x_mm + dx, circle.centre_y_mm + dy, circle.radius_mm + dr) >= least);
        }
        let moved: Vec<(f64, f64)> = points.iter().map(|p| (p.0 + x, p.1 + y)).collect();
        let there = circle_through(&moved).expect("a circle");
        let scale = circle.radius_mm.max(6.0);
        prop_assert!((there.centre_x_mm - x - circle.centre_x_mm).abs() < 1e-7 * scale, "{:?} {:?}", circle, there);
        prop_assert!((there.radius_mm - circle.radius_mm).abs() < 1e-7 * scale);
    }

    /// A true cone is recovered, and its receiver's depth with it.
    #[test]
    fn a_cone_is_recovered(taper in 0.01..0.1_f64, small in 5.0..12.0_f64, depth in 1.0..25.0_f64) {
        let stations: Vec<Value> = (0..6).map(|i| json!({"at_mm": 5 * i, "diameter_mm": small + taper * f64::from(5 * i)})).collect();
        let answer = compute(&json!({"kind": "shank", "stations": stations, "receiver_diameter_mm": small + taper * depth})).expect("an answer");
        prop_assert!((answer["taper_mm_per_mm"].as_f64().expect("taper") - taper).abs() < 1e-12);
        prop_assert!((answer["insertion_mm"].as_f64().expect("depth") - depth).abs() < 1e-9);
        prop_assert!((answer["large_end_mm"].as_f64().expect("end") - small - 25.0 * taper).abs() < 1e-9);
    }

    /// Whatever points are sent, there is a circle with finite numbers or a refusal.
    #[test]
    fn no_points_bring_the_bench_down(points in proptest::collection::vec((any::<f64>(), -1e4..1e4_f64), 0..8), flat in proptest::collection::vec((-1e4..1e4_f64, -1e-9..1e-9_f64), 3..8)) {
        for list in [points, flat] {
            let list: Vec<Value> = list.iter().map(|(x, y)| json!([x, y])).collect();
            if let Ok(answer) = compute(&json!({"kind": "circle", "points_mm": list})) {
                prop_assert!(answer["radius_mm"].is_number() && answer["rms_mm"].is_number(), "{}", answer);
            }
        }
    }
}
