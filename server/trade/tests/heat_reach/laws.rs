//! What holds for every question, whatever its numbers.

use super::{answer, pipe, with};
use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_assert, prop_oneof};
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};
use trade::bench::heat_reach::{
    Assembly, Doing, Duration, Joint, Place, Reach, Room, Station, Stock, Tube, Zone, reach,
};
use trade::bench::metals::METALS;

fn seeded(cases: u32, seed: u64) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(seed),
        ..ProptestConfig::default()
    }
}

fn any_stock() -> impl Strategy<Value = Stock> {
    (0..METALS.len(), 3.0..40.0_f64, 0.0..1.0_f64, 0.0..0.9_f64).prop_map(
        |(metal, outside_diameter_mm, share, emissivity)| Stock {
            metal: METALS[metal],
            outside_diameter_mm,
            // Mostly thin, sometimes solid.
            wall_mm: 0.1 + share.powi(3) * (outside_diameter_mm / 2.0 - 0.1),
            emissivity,
        },
    )
}

fn any_duration() -> impl Strategy<Value = Duration> {
    prop_oneof![
        Just(Duration::Steady),
        (0.5..60.0_f64, 0.0..200.0_f64)
            .prop_map(|(heating_s, watch_s)| Duration::Transient { heating_s, watch_s }),
    ]
}

/// Four nodes; tubes 0, 1 and 2 make a ring, 3 and 4 hang on it. The torch is on tube 0
/// between 20 and 30 mm, and joints are at every node and along every tube.
fn any_network() -> impl Strategy<Value = Assembly> {
    let tubes = proptest::collection::vec((any_stock(), 60.0..300.0_f64), 5);
    (tubes, 600.0..750.0_f64, -5.0..40.0_f64, 2.0..30.0_f64, any_duration()).prop_map(
        |(stocks, temperature_c, ambient_c, air_h_w_m2_k, duration)| {
            let ends = [("a", "b"), ("b", "c"), ("c", "a"), ("b", "d"), ("c", "e")];
            let tubes: Vec<Tube> = stocks
                .into_iter()
                .zip(ends)
                .enumerate()
                .map(|(index, ((stock, length_mm), (from, to)))| Tube {
                    id: index.to_string(),
                    from: from.into(),
                    to: to.into(),
                    length_mm,
                    stock,
                })
                .collect();
            let at_nodes =
                ["a", "b", "c", "d", "e"].map(|node| (node.to_owned(), Place::Node(node.into())));
            let along = (0..5).map(|tube| {
                let place = Place::Along { tube: tube.to_string(), at_mm: 45.0 };
                (format!("on {tube}"), place)
            });
            let joints = at_nodes
                .into_iter()
                .chain(along)
                .map(|(id, place)| Joint { id, place, solidus_c: 183.0 })
                .collect();
            Assembly {
                tubes,
                zones: vec![Zone {
                    tube: "0".into(),
                    from_mm: 20.0,
                    to_mm: 30.0,
                    doing: Doing::Torch { temperature_c },
                }],
                joints,
                room: Room { ambient_c, air_h_w_m2_k },
                margin_k: 25.0,
                duration,
            }
        },
    )
}

fn torch_c(assembly: &Assembly) -> f64 {
    match assembly.zones[0].doing {
        Doing::Torch { temperature_c } => temperature_c,
        _ => panic!("the first zone is the torch"),
    }
}

fn stations(reach: &Reach) -> impl Iterator<Item = &Station> {
    reach.tubes.iter().flat_map(|tube| &tube.profile)
}

fn cooled(assembly: &Assembly, tube: &str, doing: Doing) -> Assembly {
    let mut cooled = assembly.clone();
    cooled.zones.push(Zone { tube: tube.into(), from_mm: 35.0, to_mm: 55.0, doing });
    cooled
}

/// Source: the maximum principle of the heat equation.
#[test]
fn nothing_is_colder_than_the_coldest_or_hotter_than_the_torch() {
    proptest::proptest!(seeded(60, 1), |(
        assembly in any_network(), tube in 0..5_u8, water_c in 0.0..95.0_f64, rag in any::<bool>(),
    )| {
        let doing = if rag {
            Doing::WetRag { h_w_m2_k: 500.0, temperature_c: water_c.max(1.0) }
        } else {
            Doing::Water { temperature_c: water_c, inside: tube > 2 }
        };
        let assembly = cooled(&assembly, &tube.to_string(), doing);
        let coldest = assembly.room.ambient_c.min(water_c) - 0.01;
        let hottest = torch_c(&assembly) + 0.01;
        for station in stations(&reach(&assembly).expect("answers")) {
            prop_assert!(station.temperature_c >= coldest && station.temperature_c <= hottest);
            prop_assert!(station.temperature_high_c >= coldest);
            prop_assert!(station.temperature_high_c <= hottest + 30.0);
        }
    });
}

/// As long as the water is no warmer than the room; warm water warms cold metal.
#[test]
fn adding_water_or_a_clamp_never_heats_a_joint() {
    proptest::proptest!(seeded(40, 2), |(
        assembly in any_network(), tube in 0..5_u8, below in 0.0..30.0_f64, inside in any::<bool>(),
    )| {
        let temperature_c = (assembly.room.ambient_c - below).max(0.0);
        let dry = reach(&assembly).expect("answers");
        let doing = if below > 15.0 && temperature_c > 0.0 {
            Doing::HeatSink { h_w_m2_k: 1000.0, temperature_c }
        } else {
            Doing::Water { temperature_c, inside }
        };
        let wet = reach(&cooled(&assembly, &tube.to_string(), doing)).expect("answers");
        // Water of 0 °C in a colder room is warmer than the room.
        let warmer = (temperature_c - assembly.room.ambient_c).max(0.0);
        for (dry, wet) in dry.joints.iter().zip(&wet.joints) {
            // The two meshes differ: twice the discretisation error.
            let most = 0.4 + warmer;
            prop_assert!(wet.temperature_c <= dry.temperature_c + most, "{wet:?} {dry:?}");
            prop_assert!(wet.temperature_high_c <= dry.temperature_high_c + most);
            prop_assert!(wet.verdict <= dry.verdict);
        }
    });
}

#[test]
fn cautious_values_are_never_cooler() {
    proptest::proptest!(seeded(40, 3), |(assembly in any_network())| {
        for station in stations(&reach(&assembly).expect("answers")) {
            prop_assert!(station.temperature_high_c >= station.temperature_c - 1e-6);
        }
    });
}

/// The same instrument described from the other end of every tube, and in another order.
#[test]
fn it_does_not_matter_from_which_end_an_instrument_is_described() {
    proptest::proptest!(seeded(40, 4), |(assembly in any_network())| {
        let there = reach(&assembly).expect("answers");
        let mut turned = assembly.clone();
        let length_of = |tube: &str| {
            assembly.tubes.iter().find(|t| t.id == tube).expect("is there").length_mm
        };
        for tube in &mut turned.tubes {
            std::mem::swap(&mut tube.from, &mut tube.to);
        }
        turned.tubes.reverse();
        for zone in &mut turned.zones {
            let length_mm = length_of(&zone.tube);
            (zone.from_mm, zone.to_mm) = (length_mm - zone.to_mm, length_mm - zone.from_mm);
        }
        for joint in &mut turned.joints {
            if let Place::Along { tube, at_mm } = &mut joint.place {
                *at_mm = length_of(tube) - *at_mm;
            }
        }
        let back = reach(&turned).expect("answers");
        for (there, back) in there.joints.iter().zip(&back.joints) {
            prop_assert!((there.temperature_c - back.temperature_c).abs() < 0.01, "{there:?} {back:?}");
            prop_assert!((there.temperature_high_c - back.temperature_high_c).abs() < 0.01);
        }
    });
}

#[test]
fn a_torch_in_the_middle_heats_both_ends_alike() {
    let mut input = pipe(40.0);
    input["zones"][0] =
        json!({"kind": "torch", "tube": "p", "from_mm": 95, "to_mm": 105, "temperature_c": 700});
    let joint =
        |at_mm: u8| json!({"id": at_mm.to_string(), "tube": "p", "at_mm": at_mm, "solidus_c": 183});
    input["joints"] = json!([40, 160, 80, 120].map(joint));
    for mode in [json!({"kind": "steady"}), json!({"kind": "transient", "heating_s": 20})] {
        let told = answer(&with(input.clone(), "/mode", mode));
        for (one, other) in [(0, 1), (2, 3)] {
            let pair = [one, other]
                .map(|place| super::number(&told, &format!("/joints/{place}/temperature_c")));
            assert!((pair[0] - pair[1]).abs() <= 0.0011, "{pair:?}");
        }
    }
}

/// Heat through the torch's edges, by the slope of the answered profile, against heat
/// lost to the air, by the sum over the same profile: nothing of the solver is used.
#[test]
fn heat_in_is_heat_out_within_a_thousandth() {
    proptest::proptest!(seeded(30, 5), |(
        stock in any_stock(), h in 5.0..30.0_f64, torch in 300.0..750.0_f64, at_mm in 50.0..150.0_f64,
    )| {
        let room = Room { ambient_c: 20.0, air_h_w_m2_k: h };
        let assembly = Assembly {
            tubes: vec![Tube { id: "p".into(), from: "a".into(), to: "b".into(), length_mm: 220.0, stock }],
            zones: vec![Zone {
                tube: "p".into(), from_mm: at_mm, to_mm: at_mm + 10.0,
                doing: Doing::Torch { temperature_c: torch },
            }],
            joints: Vec::new(), room, margin_k: 25.0, duration: Duration::Steady,
        };
        let reached = reach(&assembly).expect("answers");
        let profile = &reached.tubes[0].profile;
        let loss = |t: f64| {
            let fourth = |t: f64| (t + 273.15).powi(4);
            h * (t - 20.0) + stock.emissivity * 5.670_374_419e-8 * (fourth(t) - fourth(20.0))
        };
        let perimeter_m = std::f64::consts::PI * stock.outside_diameter_mm * 1e-3;
        let inside_mm = stock.outside_diameter_mm - 2.0 * stock.wall_mm;
        let section_m2 = std::f64::consts::FRAC_PI_4
            * (stock.outside_diameter_mm.powi(2) - inside_mm.powi(2)) * 1e-6;
        let dry = |pair: &&[Station]| {
            pair[1].position_mm <= at_mm + 1e-6 || pair[0].position_mm >= at_mm + 10.0 - 1e-6
        };
        let lost_w: f64 = profile.windows(2).filter(dry).map(|pair| {
            let mean = (loss(pair[0].temperature_c) + loss(pair[1].temperature_c)) / 2.0;
            perimeter_m * mean * 1e-3 * (pair[1].position_mm - pair[0].position_mm)
        }).sum();
        // The slope at an edge from three points, one-sided, at the edge.
        let slope = |edge: &Station, one: &Station, two: &Station| {
            let (a, b) = (one.position_mm - edge.position_mm, two.position_mm - edge.position_mm);
            let (ta, tb) = (one.temperature_c - edge.temperature_c, two.temperature_c - edge.temperature_c);
            (ta * b * b - tb * a * a) / (a * b * (b - a)) * 1e3
        };
        let left = profile.iter().position(|s| (s.position_mm - at_mm).abs() < 1e-6).expect("an edge");
        let right = profile.iter().position(|s| (s.position_mm - at_mm - 10.0).abs() < 1e-6).expect("an edge");
        let given_w = stock.metal.conductivity_w_m_k * section_m2
            * (slope(&profile[left], &profile[left - 1], &profile[left - 2])
                - slope(&profile[right], &profile[right + 1], &profile[right + 2]));
        prop_assert!((given_w / lost_w - 1.0).abs() < 1e-3, "{given_w} W in, {lost_w} W out");
        let heat = reached.heat.expect("the steady state has a heat flow");
        prop_assert!((heat.given_w / heat.lost_w - 1.0).abs() < 1e-6);
        prop_assert!((heat.given_w / given_w - 1.0).abs() < 1e-3);
    });
}

#[test]
fn heat_falls_with_distance_from_the_only_torch() {
    proptest::proptest!(seeded(30, 6), |(stock in any_stock(), duration in any_duration())| {
        let assembly = Assembly {
            tubes: vec![Tube { id: "p".into(), from: "a".into(), to: "b".into(), length_mm: 400.0, stock }],
            zones: vec![Zone {
                tube: "p".into(), from_mm: 0.0, to_mm: 10.0, doing: Doing::Torch { temperature_c: 650.0 },
            }],
            joints: Vec::new(),
            room: Room { ambient_c: 20.0, air_h_w_m2_k: 10.0 },
            margin_k: 25.0,
            duration,
        };
        let reached = reach(&assembly).expect("answers");
        for pair in reached.tubes[0].profile.windows(2) {
            prop_assert!(pair[1].temperature_c <= pair[0].temperature_c + 1e-6);
            prop_assert!(pair[1].temperature_high_c <= pair[0].temperature_high_c + 1e-6);
        }
    });
}

/// A step is never cooler than the true ramp, and the steady state is the worst case.
#[test]
fn longer_heating_is_never_cooler_and_for_ever_is_the_worst() {
    proptest::proptest!(seeded(15, 7), |(assembly in any_network())| {
        let heated = |duration| reach(&Assembly { duration, ..assembly.clone() }).expect("answers");
        let short = heated(Duration::Transient { heating_s: 5.0, watch_s: 100.0 });
        let long = heated(Duration::Transient { heating_s: 50.0, watch_s: 100.0 });
        let forever = heated(Duration::Steady);
        for ((short, long), forever) in short.joints.iter().zip(&long.joints).zip(&forever.joints) {
            prop_assert!(short.temperature_c <= long.temperature_c + 0.1);
            prop_assert!(long.temperature_c <= forever.temperature_c + 0.1, "{long:?} {forever:?}");
        }
    });
}

#[test]
fn a_drawing_by_few_lines_stays_on_both_curves() {
    proptest::proptest!(seeded(20, 8), |(assembly in any_network())| {
        for tube in reach(&assembly).expect("answers").tubes {
            let drawn = tube.drawn(1.0);
            prop_assert!(drawn.len() < tube.profile.len());
            prop_assert!(drawn.first() == tube.profile.first() && drawn.last() == tube.profile.last());
            for station in &tube.profile {
                let after = drawn.iter().position(|d| d.position_mm >= station.position_mm).expect("within").max(1);
                let (from, to) = (drawn[after - 1], drawn[after]);
                let share = (station.position_mm - from.position_mm) / (to.position_mm - from.position_mm);
                let nominal = from.temperature_c + share * (to.temperature_c - from.temperature_c);
                let high = from.temperature_high_c + share * (to.temperature_high_c - from.temperature_high_c);
                prop_assert!((nominal - station.temperature_c).abs() < 1.000_001);
                prop_assert!((high - station.temperature_high_c).abs() < 1.000_001);
            }
        }
    });
}

#[test]
fn a_held_joint_is_judged_at_exactly_its_limit() {
    let held = |torch: f64, hold: Value| {
        let mut input = pipe(4.0);
        input["zones"][0]["temperature_c"] = json!(torch);
        input["joints"][0] = hold;
        input["joints"][0]["id"] = json!("j");
        answer(&input)["joints"][0].clone()
    };
    let inside = |solidus: f64| json!({"tube": "p", "at_mm": 4, "solidus_c": solidus});
    let edge = json!({"tube": "p", "at_mm": 8, "held_by": "sn63pb37"});
    let end = json!({"node": "a", "held_by": "sn63pb37"});
    // Nominal equal to the solidus melts; cautious equal to the limit is still safe.
    assert_eq!(held(183.0, edge)["verdict"], "melts");
    assert_eq!(held(128.0, end.clone())["verdict"], "safe");
    assert_eq!(held(128.001, end)["verdict"], "at_risk");
    assert_eq!(held(500.0, inside(500.0))["verdict"], "melts");
    assert_eq!(held(500.0, inside(554.999))["verdict"], "at_risk");
    assert_eq!(held(500.0, inside(555.0))["verdict"], "safe");
}
