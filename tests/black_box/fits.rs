//! Fit checks: clearance, taper and roundness as measured, with the limits and tools of the shop.

use harness::{TestShop, baritone};
use serde_json::{Value, json};

/// A tube measured at three places in four directions; `ovality` is largest less least diameter.
fn tube(mean_mm: f64, ovality_mm: f64) -> Value {
    let station = |at: f64| {
        let diameters: Vec<Value> = [0.0_f64, 45.0, 90.0, 135.0]
            .iter()
            .map(|angle| {
                let diameter = mean_mm + ovality_mm / 2.0 * (2.0 * angle.to_radians()).cos();
                json!({"angle_deg": angle, "diameter_mm": (diameter * 1_000.0).round() / 1_000.0})
            })
            .collect();
        json!({"at_mm": at, "diameters": diameters})
    };
    json!([station(0.0), station(20.0), station(40.0)])
}

fn pair(clearance_mm: f64) -> Value {
    json!({"inner": tube(11.6, 0.004), "outer": tube(11.6 + clearance_mm, 0.006)})
}

fn check(kind: &str, part: &str, measured: &Value) -> Value {
    json!({"fit_kind": kind, "part": part, "measured": measured})
}

fn near(value: &Value, expected: f64) {
    let found = value.as_f64().unwrap();
    assert!((found - expected).abs() < 1e-6, "{found} is not {expected}");
}

fn sets(shop: &TestShop, settings: &Value) {
    let ines = shop.proprietor();
    let version = ines.get("/shop").done()["version"].as_i64().unwrap();
    ines.request("PATCH", "/shop").seen(version).body(&json!({"test_settings": settings})).send().done();
}

#[test]
fn a_tuning_slide_has_typical_limits_and_every_other_kind_needs_the_shops_own() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let preview = format!("/work-orders/{order}/fit-checks/preview");
    let ask = |kind: &str| mara.post(&preview, &json!({"fit_kind": kind, "measured": pair(0.045)})).done();
    let slide = ask("tuning_slide");
    near(&slide["slide"]["least_clearance_mm"], 0.04);
    // Micrometer 0.003 and bore gauge 0.006 mm, typical: U is twice the root of their squares and a little more.
    let expanded = slide["slide"]["expanded_uncertainty_mm"].as_f64().unwrap();
    assert!((0.0134..0.0140).contains(&expanded), "{expanded}");
    assert_eq!((&slide["verdict"], &slide["could_be"]), (&json!("slightly_tight"), &json!(["slightly_tight", "free"])));
    assert_eq!((&slide["limits_mm"], &slide["limits_from"]), (&json!([0.02, 0.05, 0.09]), &json!("typical")));
    near(&slide["slide"]["inner"][0]["ovality_mm"], 0.004);
    for pointer in ["/inner_gauge", "/outer_gauge", "/limits_mm"] {
        assert!(slide["defaulted"].as_array().unwrap().contains(&json!(pointer)), "{slide:#}");
    }
    for kind in ["hand_slide", "valve", "tenon_with_cork"] {
        let bare = ask(kind);
        near(&bare["slide"]["least_clearance_mm"], 0.04);
        assert_eq!((&bare["verdict"], &bare["could_be"], &bare["limits_from"]), (&Value::Null, &json!([]), &Value::Null), "{kind}");
        assert_eq!(bare["slide"]["verdict"], Value::Null);
    }
    sets(&shop, &json!({
        "fit_limits": [{"fit_kind": "valve", "limits_mm": [0.01, 0.02, 0.03]}, {"fit_kind": "tuning_slide", "limits_mm": [0.05, 0.06, 0.07]}],
        "gauges": [{"gauge": "bore_gauge", "u_mm": 0.001, "resolution_mm": 0.001}],
    }));
    let valve = ask("valve");
    assert_eq!((&valve["verdict"], &valve["limits_from"]), (&json!("loose"), &json!("shop")));
    assert_eq!(ask("tuning_slide")["verdict"], "tight");
    assert_eq!(valve["outer_gauge"], json!({"u_mm": 0.001, "resolution_mm": 0.001, "from": "shop"}));
    assert_eq!(valve["inner_gauge"]["from"], "typical");
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM fit_checks"), 0, "a preview keeps nothing");
}

#[test]
fn a_shank_is_judged_by_the_taper_that_is_wanted() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let preview = format!("/work-orders/{order}/fit-checks/preview");
    let stations: Vec<Value> = (0..5).map(|i| json!({"at_mm": 5 * i, "diameter_mm": 9.6 + 0.05205 * 5.0 * f64::from(i)})).collect();
    let fine = json!({"u_mm": 0.002, "resolution_mm": 0.001});
    let ask = |more: Value| {
        let mut measured = json!({"stations": stations, "gauge": fine});
        for (name, value) in more.as_object().unwrap() {
            measured[name] = value.clone();
        }
        mara.post(&preview, &json!({"fit_kind": "shank", "measured": measured})).done()
    };
    let bare = ask(json!({"receiver_diameter_mm": 10.0}));
    near(&bare["shank"]["taper_mm_per_mm"], 0.05205);
    assert_eq!((&bare["verdict"], &bare["shank"]["deviation_mm_per_mm"]), (&Value::Null, &Value::Null));
    assert!((bare["shank"]["insertion_mm"].as_f64().unwrap() - 7.685).abs() < 0.01);
    assert_eq!(ask(json!({"target_taper_mm_per_mm": 0.05205}))["verdict"], "matches");
    sets(&shop, &json!({"fit_limits": [{"fit_kind": "shank", "target_taper_mm_per_mm": 0.0499}]}));
    let own = ask(json!({}));
    assert_eq!((&own["verdict"], &own["limits_from"], &own["gauge"]["from"]), (&json!("differs"), &json!("shop"), &json!("given")));
}

#[test]
fn roundness_is_measured_from_points_all_round() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let preview = format!("/work-orders/{order}/fit-checks/preview");
    let points: Vec<Value> = (0..12)
        .map(|i| {
            let angle = f64::from(i) * 30.0_f64.to_radians();
            let radius = 5.0 + 0.01 * (3.0 * angle).cos();
            json!([radius * angle.cos(), radius * angle.sin()])
        })
        .collect();
    let said = mara.post(&preview, &json!({"fit_kind": "valve", "measured": {"points_mm": points}})).done();
    assert!((said["circle"]["roundness_mm"].as_f64().unwrap() - 0.02).abs() < 1e-4, "three lobes are seen");
    assert_eq!(said["verdict"], Value::Null);
    let line = json!({"fit_kind": "valve", "measured": {"points_mm": [[0, 0], [1, 1], [2, 2]]}});
    mara.post(&preview, &line).refused(422, "not-computable");
}

#[test]
fn a_fit_check_is_kept_with_its_order_and_moves_nothing() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let mut new = check("tuning_slide", "tuning slide", &pair(0.12));
    new["finding_id"] = order.findings()[0]["id"].clone();
    new["note"] = json!("worn on the lower leg");
    let path = format!("/work-orders/{order}/fit-checks");
    let first = mara.request("POST", &path).once("fit").body(&new).send();
    let again = mara.request("POST", &path).once("fit").body(&new).send();
    assert_eq!(first.text(), again.text());
    let kept = first.done();
    assert_eq!((&kept["answer"]["verdict"], &kept["finding_id"]), (&json!("loose"), &order.findings()[0]["id"]));
    let now = shop.look_at(&order);
    assert_eq!((now.stage(), now.version()), ("bench", order.version() + 1));
    assert_eq!(now["fit_checks"], json!([{
        "id": kept["id"], "order_version": now.version(), "fit_kind": "tuning_slide", "part": "tuning slide", "measured": new["measured"],
        "answer": kept["answer"], "finding_id": kept["finding_id"], "note": "worn on the lower leg", "by": kept["by"], "at": kept["at"],
    }]));
    assert_eq!(mara.get(&path).done()["items"].as_array().unwrap().len(), 1);
}

#[test]
fn what_cannot_be_measured_so_is_refused_by_pointer() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let path = format!("/work-orders/{order}/fit-checks");
    let wrong = |new: Value, slug: &str, pointer: &str| {
        let refusal = mara.post(&path, &new).refused(422, slug);
        let pointers: Vec<&str> = refusal.body["errors"].as_array().unwrap().iter().map(|e| e["pointer"].as_str().unwrap()).collect();
        assert!(pointers.contains(&pointer), "{pointers:?} without {pointer}");
    };
    wrong(check("tuning_slide", " ", &pair(0.04)), "invalid-input", "/part");
    wrong(check("tuning_slide", "tuning slide", &json!({})), "invalid-input", "/measured/inner");
    wrong(check("tuning_slide", "tuning slide", &json!({"stations": []})), "invalid-input", "/measured/stations");
    wrong(check("shank", "leadpipe", &pair(0.04)), "invalid-input", "/measured/inner");
    let mut opposite = pair(0.04);
    opposite["inner"][1]["diameters"] = json!([
        {"angle_deg": 0, "diameter_mm": 11.6}, {"angle_deg": 180, "diameter_mm": 11.6}, {"angle_deg": 90, "diameter_mm": 11.6},
    ]);
    wrong(check("tuning_slide", "tuning slide", &opposite), "invalid-input", "/measured/inner/1/diameters");
    let mut apart = pair(0.04);
    for station in apart["outer"].as_array_mut().unwrap() {
        station["at_mm"] = json!(station["at_mm"].as_f64().unwrap() + 100.0);
    }
    wrong(check("tuning_slide", "tuning slide", &apart), "no-overlap", "/measured/outer");
    let mut unknown = check("tuning_slide", "tuning slide", &pair(0.04));
    unknown["finding_id"] = json!("00000000-0000-7000-8000-000000000000");
    wrong(unknown, "invalid-input", "/finding_id");
    shop.front_desk().post(&path, &check("tuning_slide", "tuning slide", &pair(0.04))).refused(403, "not-yours");
    let waiting = shop.checked_in(&baritone());
    mara.post(&format!("/work-orders/{waiting}/fit-checks"), &check("tuning_slide", "tuning slide", &pair(0.04))).refused(409, "not-examined");
}

#[test]
fn the_instruments_history_shows_tests_and_fits_of_earlier_visits() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    mara.post(&format!("/work-orders/{order}/fit-checks"), &check("tuning_slide", "tuning slide", &pair(0.045))).done();
    mara.does(order.operation("Braze the crack"));
    mara.moves(&order, "leak_test", "bench_done", None).done();
    mara.passes_leak_test(&order).done();
    let instrument = order["instrument"]["id"].as_str().unwrap();
    let history = mara.get(&format!("/instruments/{instrument}/history")).done();
    let words: Vec<&str> = history["visits"][0]["tests"].as_array().unwrap().iter().map(|test| test["words"].as_str().unwrap()).collect();
    assert_eq!(words.len(), 2, "{words:?}");
    assert!(words[0].starts_with("fit check, tuning slide: slightly tight, clearance 0.040 ± 0.01"), "{words:?}");
    assert_eq!(words[1], "leak test, finger and blow, whole instrument: passed");
}
