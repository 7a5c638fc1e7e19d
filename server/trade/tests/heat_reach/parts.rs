//! The question as a plan asks it: an instrument's parts and joints.

use super::comparing;
use trade::bench::heat_reach::{
    Doing, Duration, Part, PartJoint, PartMap, PartPlace, PartZone, Room, Stock, Verdict,
};
use trade::bench::metals::METALS;

fn stock(outside_diameter_mm: f64, wall_mm: f64) -> Stock {
    Stock { metal: METALS[0], outside_diameter_mm, wall_mm, emissivity: 0.3 }
}

fn part(id: &str, length_mm: f64, stock: Stock) -> Part {
    Part { id: id.into(), length_mm, stock }
}

fn joint(id: &str, one: (&str, f64), other: (&str, f64), solidus_c: Option<f64>) -> PartJoint {
    let place = |(part, at_mm): (&str, f64)| PartPlace { part: part.into(), at_mm };
    PartJoint { id: id.into(), places: [place(one), place(other)], solidus_c }
}

fn torch(part: &str, from_mm: f64, to_mm: f64) -> PartZone {
    let doing = Doing::Torch { temperature_c: 700.0 };
    PartZone { part: part.into(), from_mm, to_mm, doing }
}

/// A bow of 200 mm with a brace at 80 mm to a second tube, as in the reference case
/// `branched-brace`, and a crook that touches nothing.
fn braced() -> PartMap {
    PartMap {
        parts: vec![
            part("bow", 200.0, stock(14.0, 0.6)),
            part("brace", 35.0, stock(4.0, 2.0)),
            part("branch", 150.0, stock(12.0, 0.5)),
            part("crook", 90.0, stock(12.0, 0.5)),
        ],
        joints: vec![
            joint("foot", ("brace", 0.0), ("bow", 80.0), Some(183.0)),
            joint("far", ("brace", 35.0), ("branch", 0.0), Some(183.0)),
        ],
        zones: vec![torch("bow", 30.0, 40.0)],
        room: Room { ambient_c: 20.0, air_h_w_m2_k: 10.0 },
        margin_k: 25.0,
        duration: Duration::Steady,
    }
}

#[test]
fn a_part_map_answers_as_its_tubes_do() {
    let file = comparing::reference("heat-reach");
    let cases = file["cases"].as_array().expect("cases");
    let case = cases.iter().find(|case| case["id"] == "branched-brace").expect("is there");
    let reached = braced().reach().expect("answers");
    for (place, joint) in reached.joints.iter().enumerate() {
        let expected = &case["output"]["joints"][place];
        assert_eq!(joint.id, expected["id"].as_str().expect("an id"));
        for (found, field) in [
            (joint.temperature_c, "temperature_c"),
            (joint.temperature_high_c, "temperature_high_c"),
        ] {
            let expected = expected[field].as_f64().expect("a number");
            assert!((found - expected).abs() <= 1.0, "{found} instead of {expected}");
        }
        assert_eq!(joint.verdict, Verdict::Melts);
    }
    let tubes = &case["output"]["tubes"];
    let expected = ["main", "rest"].map(|id| {
        let tube = tubes.as_array().and_then(|t| t.iter().find(|tube| tube["id"] == id));
        tube.and_then(|tube| tube["over_300c_mm"].as_f64()).expect("a number")
    });
    let bow = &reached.tubes[0];
    assert!((bow.length_over_mm(300.0) - expected[0] - expected[1]).abs() <= 1.0);
}

#[test]
fn a_profile_runs_along_the_whole_part_whatever_is_joined_to_it() {
    let map = braced();
    let reached = map.reach().expect("answers");
    assert_eq!(reached.tubes.len(), map.parts.len());
    for (tube, part) in reached.tubes.iter().zip(&map.parts) {
        assert_eq!(tube.id, part.id);
        let positions: Vec<f64> = tube.profile.iter().map(|s| s.position_mm).collect();
        assert_eq!((positions[0], positions[positions.len() - 1]), (0.0, part.length_mm));
        assert!(positions.windows(2).all(|pair| pair[0] < pair[1]), "{}", part.id);
    }
}

#[test]
fn a_part_that_touches_nothing_stays_at_the_rooms_temperature() {
    let mut map = braced();
    map.parts.push(part("tail", 40.0, stock(10.0, 0.5)));
    map.joints.push(joint("away", ("crook", 90.0), ("tail", 0.0), Some(183.0)));
    let reached = map.reach().expect("answers");
    assert_eq!((reached.tubes[3].max_c(), reached.tubes[4].max_c()), (20.0, 20.0));
    assert_eq!(reached.joints[2].verdict, Verdict::Safe);
    assert_eq!(reached.joints[2].temperature_c, 20.0);
}

#[test]
fn taking_the_brace_apart_saves_its_far_joint() {
    let mut map = braced();
    let together = map.reach().expect("answers");
    map.joints.remove(0);
    let apart = map.reach().expect("answers");
    assert_eq!(together.joints[1].verdict, Verdict::Melts);
    assert_eq!((apart.joints[0].id.as_str(), apart.joints[0].verdict), ("far", Verdict::Safe));
}

#[test]
fn a_thread_conducts_and_gets_no_verdict() {
    let mut map = braced();
    map.joints[0].solidus_c = None;
    let reached = map.reach().expect("answers");
    assert_eq!(reached.joints.len(), 1);
    assert!(reached.joints[0].temperature_c > 180.0);
}

#[test]
fn a_torch_across_a_joint_heats_both_sides_of_it() {
    let mut map = braced();
    map.zones = vec![torch("bow", 75.0, 90.0)];
    let reached = map.reach().expect("answers");
    assert_eq!(reached.joints[0].temperature_c, 700.0);
    let held = |position_mm: f64| {
        let profile = &reached.tubes[0].profile;
        profile
            .iter()
            .filter(|station| (station.position_mm - position_mm).abs() < 1e-6)
            .all(|station| station.temperature_c == 700.0)
    };
    assert!(held(75.0) && held(80.0) && held(90.0));
    // A torch without width exactly where two pieces meet is lit once.
    map.zones = vec![torch("bow", 80.0, 80.0)];
    assert_eq!(map.reach().expect("answers").joints[0].temperature_c, 700.0);
}

#[test]
fn joints_closer_than_a_braces_foot_share_their_place() {
    let mut map = braced();
    map.parts.push(part("strap", 30.0, stock(4.0, 2.0)));
    map.joints.push(joint("strap", ("strap", 0.0), ("bow", 80.5), Some(183.0)));
    map.joints.push(joint("end", ("crook", 0.0), ("bow", 199.6), None));
    let reached = map.reach().expect("answers");
    let of = |id: &str| reached.joints.iter().find(|joint| joint.id == id).expect("answered");
    assert_eq!(of("strap").temperature_c, of("foot").temperature_c);
}

#[test]
fn a_refusal_speaks_of_parts() {
    let pointers = |map: &PartMap| {
        let refused = map.reach().expect_err("refused");
        let pointers: Vec<String> = refused.faults.into_iter().map(|f| f.pointer).collect();
        (refused.slug, pointers)
    };
    let mut map = braced();
    map.parts[0].stock.wall_mm = 8.0;
    map.parts[0].stock.emissivity = 2.0;
    let twice = ["/parts/0/wall_mm", "/parts/0/emissivity"].map(str::to_owned).to_vec();
    assert_eq!(pointers(&map), ("invalid-input", twice));

    let mut map = braced();
    map.zones[0].part = "bell".into();
    map.joints[1].places[0].at_mm = 36.0;
    map.parts[3].id = "bow".into();
    let (_, found) = pointers(&map);
    for pointer in ["/zones/0/part", "/joints/1/places/0/at_mm", "/parts/3/id"] {
        assert!(found.iter().any(|fault| fault == pointer), "{pointer} is not in {found:?}");
    }

    let mut map = braced();
    map.zones[0].doing = Doing::Torch { temperature_c: 950.0 };
    assert_eq!(pointers(&map), ("torch-melts-part", vec!["/zones/0/temperature_c".to_owned()]));

    let mut map = braced();
    map.zones.push(torch("bow", 50.0, 45.0));
    let (slug, found) = pointers(&map);
    assert_eq!(slug, "invalid-input");
    assert!(found.contains(&"/zones/1/to_mm".to_owned()), "{found:?}");

    let mut map = braced();
    map.parts[1].length_mm = f64::NAN;
    assert_eq!(pointers(&map).0, "invalid-input");
    map.zones.clear();
    assert!(pointers(&map).1.contains(&"/zones".to_owned()));
}
