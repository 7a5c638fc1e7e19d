//! Closed forms and worked examples from handbooks, and the two methods against each other.

use super::{answer, number, pipe, with};
use serde_json::{Value, json};
use statrs::function::erf::erfc;
use trade::bench::heat_reach::{Assembly, Doing, Duration, Room, Stock, Tube, Zone, reach};
use trade::bench::metals::Metal;

/// `m = √(hP/kA)`, 1/m.
fn fin_parameter(h: f64, k: f64, outside_mm: f64, wall_mm: f64) -> f64 {
    let perimeter_m = std::f64::consts::PI * outside_mm * 1e-3;
    let inside_mm = outside_mm - 2.0 * wall_mm;
    let section_m2 = std::f64::consts::FRAC_PI_4 * (outside_mm.powi(2) - inside_mm.powi(2)) * 1e-6;
    (h * perimeter_m / (k * section_m2)).sqrt()
}

/// A fin without radiation, its base at 700 °C in a room of 20 °C.
fn fin(length_mm: f64, joints_mm: &[f64]) -> Value {
    let joints: Vec<Value> = joints_mm
        .iter()
        .map(
            |at_mm| json!({"id": at_mm.to_string(), "tube": "t", "at_mm": at_mm, "solidus_c": 183}),
        )
        .collect();
    json!({
        "mode": {"kind": "steady"}, "emissivity": 0, "air_h_w_m2_k": 15,
        "tubes": [{"id": "t", "from": "a", "to": "b", "length_mm": length_mm,
                   "outside_diameter_mm": 11.7, "wall_mm": 0.45}],
        "zones": [{"kind": "torch", "tube": "t", "from_mm": 0, "to_mm": 0, "temperature_c": 700}],
        "joints": joints
    })
}

fn close(found: f64, expected: f64, within: f64, what: &str) {
    assert!((found - expected).abs() <= within, "{what}: {found} instead of {expected}");
}

/// Source: Incropera, DeWitt and others, "Fundamentals of Heat and Mass Transfer", fins
/// of uniform section: infinite fin, adiabatic tip, prescribed tip temperature.
#[test]
fn fins_of_uniform_section_follow_incropera() {
    let positions = [10.0, 25.0, 40.0, 60.0, 90.0, 115.0];
    let m = fin_parameter(15.0, 120.0, 11.7, 0.45);
    let m_high = fin_parameter(15.0 * 0.6, 120.0 * 1.15, 11.7, 0.45);
    let long = answer(&fin(1500.0, &positions));
    let adiabatic = answer(&fin(120.0, &positions));
    let held =
        json!({"kind": "torch", "tube": "t", "from_mm": 120, "to_mm": 120, "temperature_c": 150});
    let prescribed = answer(&with(fin(120.0, &positions), "/zones/1", held));
    for (place, x_mm) in positions.iter().enumerate() {
        for (field, m, base, tip) in
            [("temperature_c", m, 680.0, 130.0), ("temperature_high_c", m_high, 710.0, 160.0)]
        {
            let at = format!("/joints/{place}/{field}");
            let (x, l) = (x_mm * 1e-3, 0.12_f64);
            let expected = 20.0 + base * (-m * x).exp();
            close(number(&long, &at), expected, 0.15, "infinite fin");
            let expected = 20.0 + base * (m * (l - x)).cosh() / (m * l).cosh();
            close(number(&adiabatic, &at), expected, 0.15, "adiabatic tip");
            let expected =
                20.0 + (tip * (m * x).sinh() + base * (m * (l - x)).sinh()) / (m * l).sinh();
            close(number(&prescribed, &at), expected, 0.15, "prescribed tip");
        }
    }
}

/// Source: the same book, worked example of a very long copper rod (from memory): 5 mm
/// thick, base at 100 °C in air of 25 °C, h = 100 W/(m² K), k = 398 W/(m K) lose 8.3 W
/// by `q = √(hPkA) θ_b`.
#[test]
fn a_very_long_copper_rod_loses_8_3_watts() {
    let copper = Metal::named("copper_c122").expect("in the table");
    let rod = Assembly {
        tubes: vec![Tube {
            id: "rod".into(),
            from: "base".into(),
            to: "tip".into(),
            length_mm: 1500.0,
            stock: Stock {
                metal: Metal { conductivity_w_m_k: 398.0, ..*copper },
                outside_diameter_mm: 5.0,
                wall_mm: 2.5,
                emissivity: 0.0,
            },
        }],
        zones: vec![Zone {
            tube: "rod".into(),
            from_mm: 0.0,
            to_mm: 0.0,
            doing: Doing::Torch { temperature_c: 100.0 },
        }],
        joints: Vec::new(),
        room: Room { ambient_c: 25.0, air_h_w_m2_k: 100.0 },
        margin_k: 25.0,
        duration: Duration::Steady,
    };
    let heat = reach(&rod).expect("answers").heat.expect("the steady state has a heat flow");
    close(heat.given_w, 8.3, 0.05, "the book's rounded figure");
    close(heat.given_w, 8.3098, 0.003, "the formula");
    close(heat.lost_w, heat.given_w, 1e-5, "what comes in goes out");
}

/// Source: Carslaw and Jaeger, "Conduction of Heat in Solids": semi-infinite solid, step
/// at the face, without and with linear loss.
#[test]
fn a_step_at_the_face_spreads_as_carslaw_and_jaeger_say() {
    let alpha = 120.0 / (8530.0 * 375.0);
    for (h, seconds) in [(0.0, 5.0), (0.0, 40.0), (20.0, 5.0), (20.0, 40.0), (80.0, 20.0)] {
        let mut input = fin(800.0, &[5.0, 15.0, 30.0, 60.0, 90.0]);
        input["air_h_w_m2_k"] = json!(h);
        input["mode"] = json!({"kind": "transient", "heating_s": seconds, "watch_s": 0});
        let answer = answer(&input);
        let m = fin_parameter(h, 120.0, 11.7, 0.45);
        let spread = f64::sqrt(alpha * seconds);
        for (place, x_mm) in [5.0, 15.0, 30.0, 60.0, 90.0].into_iter().enumerate() {
            let x = x_mm * 1e-3;
            let expected = 20.0
                + 680.0 / 2.0
                    * ((-m * x).exp() * erfc(x / (2.0 * spread) - m * spread)
                        + (m * x).exp() * erfc(x / (2.0 * spread) + m * spread));
            let found = number(&answer, &format!("/joints/{place}/temperature_c"));
            close(found, expected, 0.25, &format!("h {h}, {seconds} s, {x_mm} mm"));
            let peak_at_s = number(&answer, &format!("/joints/{place}/peak_at_s"));
            close(peak_at_s, seconds, 1e-9, "the peak comes at the end");
        }
    }
}

fn long_tube(material: &str, solidus_c: f64) -> Value {
    json!({
        "mode": {"kind": "safe_distance"}, "torch_c": 700, "solidus_c": solidus_c,
        "tube": {"outside_diameter_mm": 12, "wall_mm": 0.5, "material": material}
    })
}

fn long_pipe(material: &str, at_mm: f64) -> Value {
    let mut input = pipe(8.0 + at_mm);
    input["tubes"][0]["length_mm"] = json!(1500);
    input["tubes"][0]["material"] = json!(material);
    input
}

/// Two methods that share only the laws of loss: quadrature along the temperature, and
/// finite volumes along the tube.
#[test]
fn a_joint_at_the_safe_distance_is_at_its_limit() {
    for (material, solidus_c) in
        [("brass_c260", 183.0), ("nickel_silver_c752", 232.0), ("copper_c122", 480.0)]
    {
        let distance = answer(&long_tube(material, solidus_c));
        let reached = answer(&long_pipe(material, number(&distance, "/safe_distance_mm")));
        close(number(&reached, "/joints/0/temperature_high_c"), solidus_c - 25.0, 0.2, material);
    }
}

#[test]
fn a_joint_under_the_least_cover_is_at_its_limit() {
    for (material, distance_mm, inside) in
        [("brass_c260", 25.0, false), ("brass_c260", 21.5, true), ("copper_c122", 45.0, false)]
    {
        let mut input = long_tube(material, 170.0);
        input["mode"] = json!({"kind": "water_cover"});
        input["distance_mm"] = json!(distance_mm);
        input["inside"] = json!(inside);
        let cover = answer(&input);
        let cover_mm = number(&cover, "/cover_mm");
        let mut pipe = long_pipe(material, distance_mm);
        let line_mm = 8.0 + distance_mm - cover_mm;
        let water = json!({"kind": "water", "tube": "p", "from_mm": line_mm, "to_mm": 1500, "inside": inside});
        pipe["zones"] = json!([pipe["zones"][0], water]);
        pipe["joints"] = json!([
            pipe["joints"][0],
            {"id": "line", "tube": "p", "at_mm": line_mm, "solidus_c": 170}
        ]);
        let reached = answer(&pipe);
        if cover_mm > 0.0 {
            close(number(&reached, "/joints/0/temperature_high_c"), 145.0, 0.3, material);
        }
        let waterline_c = number(&cover, "/waterline_c");
        close(number(&reached, "/joints/1/temperature_high_c"), waterline_c, 0.3, "waterline");
    }
}

#[test]
fn water_is_not_needed_far_away_and_of_no_use_too_near() {
    let mut input = long_tube("brass_c260", 183.0);
    input["mode"] = json!({"kind": "water_cover"});
    for (distance_mm, expected) in [
        (200.0, json!([0.0, false, true])),
        (20.0, json!([null, true, false])),
        (0.0, json!([null, true, false])),
    ] {
        input["distance_mm"] = json!(distance_mm);
        let cover = answer(&input);
        assert_eq!(json!([cover["cover_mm"], cover["needed"], cover["reachable"]]), expected);
        assert!(cover.get("waterline_c").is_none());
    }
    input["distance_mm"] = json!(60);
    input["water_c"] = json!(95);
    input["solidus_c"] = json!(115);
    let cover = answer(&input);
    assert_eq!(cover["reachable"], json!(false), "water hotter than the limit: {cover}");
}

#[test]
fn colder_water_and_more_margin_move_the_line_as_they_should() {
    let mut input = long_tube("copper_c122", 232.0);
    input["mode"] = json!({"kind": "water_cover"});
    input["distance_mm"] = json!(40);
    input["torch_c"] = json!(760);
    let mut last = 0.0;
    for margin_k in [0, 25, 50, 75] {
        input["margin_k"] = json!(margin_k);
        let cover_mm = number(&answer(&input), "/cover_mm");
        assert!(cover_mm >= last, "{cover_mm} mm at a margin of {margin_k} K");
        last = cover_mm;
    }
    input["water_c"] = json!(5);
    assert!(number(&answer(&input), "/cover_mm") < last);
}

#[test]
fn a_torch_below_the_limit_needs_no_distance() {
    let mut input = long_tube("brass_c260", 900.0);
    assert_eq!(number(&answer(&input), "/safe_distance_mm"), 0.0);
    input["mode"] = json!({"kind": "water_cover"});
    input["distance_mm"] = json!(5);
    assert_eq!(answer(&input)["needed"], json!(false));
}
