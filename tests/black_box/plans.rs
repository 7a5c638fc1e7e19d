//! The plan of an order's bench work: what the torch would melt on this instrument, the ways
//! round, the order with the least minutes, and the order that a technician fixes.

use harness::{Order, TestShop, baritone, step};
use serde_json::{Value, json};

fn method(shop: &TestShop, name: &str) -> Value {
    let methods = shop.technician().get("/methods").done();
    methods["items"].as_array().unwrap().iter().find(|method| method["name"] == name).unwrap().clone()
}

/// A baritone with a crack on the bottom bow, brazing it near the ferrule of the upper branch.
fn with_a_crack_near_the_ferrule(shop: &TestShop) -> (Order, Value) {
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let found = mara
        .finds(&order, &json!({"kind": "crack", "part": "bottom bow", "position_mm": "60", "size_mm": "14", "leaks": "yes", "disposition": "repair"}))
        .done();
    let brazing = step("Braze the crack", "60.00").answering(&found).with("method_id", method(shop, "Braze a crack")["id"].clone());
    let brazing = mara.plans(&order, &brazing).done();
    (mara.look_at(&order), brazing)
}

fn way<'c>(conflict: &'c Value, how: &str) -> &'c Value {
    conflict["ways"].as_array().unwrap().iter().find(|way| way["how"] == how).unwrap_or_else(|| panic!("no {how}"))
}

#[test]
fn brazing_near_a_soft_soldered_ferrule_shows_the_ways_round_with_their_minutes_and_curves() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, brazing) = with_a_crack_near_the_ferrule(&shop);
    let plan = mara.get(&format!("/work-orders/{order}/plan")).done();
    assert_eq!((&plan["version"], &plan["own"]), (&json!(0), &Value::Null));
    let conflict = &plan["conflicts"][0];
    assert_eq!(conflict["operation_id"], brazing["id"]);
    assert_eq!((&conflict["verdict"], &conflict["melts_at_c"], &conflict["filler_known"]), (&json!("melts"), &json!(183.0), &json!(false)));
    assert!(conflict["words"].as_str().unwrap().contains("would melt"), "{}", conflict["words"]);
    // The curve falls from the torch to the joint, and its cautious band lies above it.
    let curve = &conflict["curve"];
    let points = curve["points"].as_array().unwrap();
    let (torch, joint) = (curve["torch_to_mm"].as_f64().unwrap(), curve["joint_at_mm"].as_f64().unwrap());
    assert!(joint > torch && points.len() > 5, "{curve}");
    for point in points {
        assert!(point["temperature_high_c"].as_f64() >= point["temperature_c"].as_f64(), "{point}");
    }
    let between: Vec<f64> = points
        .iter()
        .filter(|point| (torch..=joint).contains(&point["position_mm"].as_f64().unwrap()))
        .map(|point| point["temperature_c"].as_f64().unwrap())
        .collect();
    assert!(between.windows(2).all(|pair| pair[0] >= pair[1]), "heat falls away from the torch: {between:?}");
    // Only what heat-reach calls safe is allowed, and each way says what the whole work takes with it.
    let ways = conflict["ways"].as_array().unwrap();
    assert!(ways.iter().any(|way| way["allowed"] == true), "{ways:?}");
    for way in ways {
        assert_eq!(way["allowed"] == true, way["plan_minutes"].is_number(), "{way}");
        assert!(way["allowed"] == true || !way["why_not"].as_str().unwrap_or_default().is_empty(), "{way}");
    }
    let water = way(conflict, "water");
    assert!(water["temperature_high_c"].as_f64() < conflict["temperature_c"].as_f64(), "water never heats a joint");
    assert_eq!(way(conflict, "other_method")["method_id"].as_str().map(str::len), Some(36));
    assert_eq!(ways.iter().filter(|way| way["chosen"] == true).count(), 1, "{ways:?}");
    // The order of work, its cautions, and what was typical.
    let steps = plan["steps"].as_array().unwrap();
    assert_eq!(steps.last().unwrap()["running_minutes"], plan["total_minutes"]);
    assert_eq!(plan["proven_optimal"], true);
    let slugs: Vec<&str> = plan["cautions"].as_array().unwrap().iter().map(|caution| caution["slug"].as_str().unwrap()).collect();
    for slug in ["torch", "flux-fume", "lead"] {
        assert!(slugs.contains(&slug), "{slug} is not among {slugs:?}");
    }
    assert!(plan["notes"].as_array().unwrap().iter().any(|note| note.as_str().unwrap().contains("gives no permission")));
    let defaulted = plan["defaulted"].as_array().unwrap();
    assert!(defaulted.contains(&json!("/map/parts/bottom-bow/wall")) && defaulted.contains(&json!("/settings")), "{defaulted:?}");
    // A butt joint is told to be the poor one, with the rod to cut.
    let brazed = steps.iter().find(|step| step["operation_id"] == brazing["id"]).unwrap();
    assert_eq!((&brazed["filler"]["joint_kind"], &brazed["filler"]["is_poor"]), (&json!("butt"), &json!(true)));
    assert!(brazed["filler"]["shown_length_mm"].as_f64().unwrap() > 0.0);
}

#[test]
fn a_measured_wall_and_a_known_filler_are_typical_no_more_and_a_struck_joint_is_not_in_the_way() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, _) = with_a_crack_near_the_ferrule(&shop);
    let map = format!("/instruments/{}/part-map", order["instrument"]["id"].as_str().unwrap());
    let joint = mara.get(&format!("/work-orders/{order}/plan")).done()["conflicts"][0]["worst_joint_id"].as_str().unwrap().to_owned();
    let change = json!({"parts": [{"part": "bottom-bow", "wall_mm": 0.7}], "joints": [{"joint": joint, "filler": "sn96_5ag3_5"}]});
    mara.request("PATCH", &map).seen(0).body(&change).send().done();
    let plan = mara.get(&format!("/work-orders/{order}/plan")).done();
    let of_joint = |plan: &Value| plan["conflicts"].as_array().unwrap().iter().find(|one| one["worst_joint_id"] == json!(joint)).cloned();
    let conflict = of_joint(&plan).unwrap();
    assert_eq!((&conflict["melts_at_c"], &conflict["filler_known"], &conflict["limit_c"]), (&json!(221.0), &json!(true), &json!(196.0)));
    assert!(!plan["defaulted"].as_array().unwrap().contains(&json!("/map/parts/bottom-bow/wall")));
    mara.request("PATCH", &map).seen(1).body(&json!({"joints": [{"joint": joint, "struck_reason": "one piece on this model"}]})).send().done();
    let plan = mara.get(&format!("/work-orders/{order}/plan")).done();
    assert_eq!(of_joint(&plan), None);
}

#[test]
fn rule_15_a_technicians_own_order_is_priced_and_breaks_a_rule_only_with_a_reason() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, brazing) = with_a_crack_near_the_ferrule(&shop);
    let dent = mara.plans(&order, &step("Take the dent out", "30.00").after(&brazing)).done();
    let path = format!("/work-orders/{order}/plan");
    let best = mara.get(&path).done();
    let op = |operation: &Value| json!({"kind": "operation", "operation_id": operation["id"]});
    // As computed, written down by hand: it costs the same.
    let steps: Vec<Value> = best["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| match step["kind"].as_str().unwrap() {
            "operation" => json!({"kind": "operation", "operation_id": step["operation_id"]}),
            kind => json!({"kind": kind, "joint": step["joint"]["id"]}),
        })
        .collect();
    mara.request("PUT", &path).body(&json!({"steps": steps})).send().refused(428, "precondition-missing");
    let own = mara.request("PUT", &path).seen(0).body(&json!({"steps": steps})).send().done();
    assert_eq!((&own["own"]["total_minutes"], &own["own"]["extra_minutes"], &own["own"]["breaches"]), (&best["total_minutes"], &json!(0), &json!([])));
    assert_eq!((&own["version"], &own["changed_by"]), (&json!(1), &json!("Mara Voss")));
    // The other way round breaks a rule.
    let turned = json!({"steps": [op(&dent), op(&brazing)]});
    mara.request("PUT", &path).seen(0).body(&turned).send().refused(412, "stale");
    let refusal = mara.request("PUT", &path).seen(1).body(&turned).send().refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/reason"]);
    let mut with_reason = turned.clone();
    with_reason["reason"] = json!("The dent draws the crack open; I want it round first.");
    let kept = mara.request("PUT", &path).seen(1).body(&with_reason).send().done();
    assert_eq!((&kept["own"]["reason"], &kept["own"]["breaches"][0]["rule"]), (&with_reason["reason"], &json!("order_and_needs")));
    assert_eq!(kept["total_minutes"], best["total_minutes"], "the record shows both");
    // What is no step of this order is pointed at; an empty list gives the computed order back.
    let bad = json!({"steps": [{"kind": "operation", "operation_id": "00000000-0000-7000-8000-000000000000"}, {"kind": "take_apart", "joint": "moon"}, {"kind": "operation"}]});
    let refusal = mara.request("PUT", &path).seen(2).body(&bad).send().refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/steps/0/operation_id", "/steps/1/joint", "/steps/2/operation_id"]);
    let back = mara.request("PUT", &path).seen(2).body(&json!({"steps": []})).send().done();
    assert_eq!((&back["own"], &back["version"]), (&Value::Null, &json!(3)));
    shop.front_desk().request("PUT", &path).seen(3).body(&json!({"steps": []})).send().refused(403, "not-yours");
}

#[test]
fn torch_work_that_nobody_pinned_is_said_and_cold_work_has_no_conflicts() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    mara.plans(&order, &step("Braze something", "60.00").with("heat", json!("braze"))).done();
    mara.plans(&order, &step("Oil it", "10.00")).done();
    let plan = mara.get(&format!("/work-orders/{order}/plan")).done();
    assert_eq!(plan["conflicts"], json!([]));
    assert!(plan["unplaced"][0]["words"].as_str().unwrap().contains("pin one to this step"), "{}", plan["unplaced"]);
    assert_eq!(plan["steps"].as_array().unwrap().len(), 2);
    let refusal = mara.plans(&order, &step("Take the moon off", "0.00").taking_apart().with("joint", json!("moon"))).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/joint"]);
}

#[test]
fn the_benchs_settings_are_typical_until_the_proprietor_sets_them() {
    let shop = TestShop::open();
    let (mara, ines) = (shop.technician(), shop.proprietor());
    let bench = mara.get("/shop/bench").done();
    assert_eq!((&bench["version"], &bench["is_typical"]), (&json!(0), &json!(true)));
    let mut settings = bench["settings"].clone();
    mara.request("PUT", "/shop/bench").seen(0).body(&settings).send().refused(403, "not-yours");
    settings["changeover_minutes"][0][1] = json!(601);
    settings["start_station"] = json!("cellar");
    settings["margin_k"] = json!(-1);
    let refusal = ines.request("PUT", "/shop/bench").seen(0).body(&settings).send().refused(422, "invalid-input");
    for pointer in ["/changeover_minutes/0/1", "/start_station", "/margin_k"] {
        assert!(refusal.pointers().contains(&pointer), "{pointer}: {:?}", refusal.pointers());
    }
    let mut settings = bench["settings"].clone();
    settings["changeover_minutes"][0][1] = json!(25);
    let set = ines.request("PUT", "/shop/bench").seen(0).body(&settings).send().done();
    assert_eq!((&set["version"], &set["is_typical"]), (&json!(1), &json!(false)));
    ines.request("PUT", "/shop/bench").seen(0).body(&settings).send().refused(412, "stale");
    let (order, _) = with_a_crack_near_the_ferrule(&shop);
    let plan = mara.get(&format!("/work-orders/{order}/plan")).done();
    assert!(!plan["defaulted"].as_array().unwrap().contains(&json!("/settings")));
    let first = plan["steps"].as_array().unwrap().iter().find(|step| step["station"] == "torch").unwrap();
    assert_eq!(first["changeover_minutes"], 25);
}

#[test]
fn a_method_has_typical_minutes_until_eight_were_done() {
    let shop = TestShop::open();
    let method = method(&shop, "Take a dent out");
    assert_eq!((&method["own_count"], &method["own_from"]), (&Value::Null, &json!(8)));
    assert_eq!((&method["station"], &method["answers"]), (&json!("bench"), &json!(["dent"])));
}
