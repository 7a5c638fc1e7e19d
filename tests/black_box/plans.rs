//! The plan of an order's bench work: what the torch would melt on this instrument, the ways
//! round, the order with the least minutes, and the order that a technician fixes.

use harness::{Order, TestShop, baritone, step, trumpet};
use serde_json::{Value, json};

fn method(shop: &TestShop, name: &str) -> Value {
    let methods = shop.technician().get("/methods").done();
    methods["items"].as_array().unwrap().iter().find(|method| method["name"] == name).unwrap().clone()
}

/// A baritone with a crack on the bottom bow, brazing it near the ferrule of the upper branch.
fn with_a_crack_near_the_ferrule(shop: &TestShop) -> (Order, Value) {
    with_a_crack(shop, "bottom bow", "60")
}

/// A baritone with a crack in the bell, a hand's breadth from the brace: it comes off, or stands in water.
fn with_a_crack_near_the_brace(shop: &TestShop) -> (Order, Value) {
    with_a_crack(shop, "bell", "197")
}

fn with_a_crack(shop: &TestShop, part: &str, position_mm: &str) -> (Order, Value) {
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let found = mara
        .finds(&order, &json!({"kind": "crack", "part": part, "position_mm": position_mm, "size_mm": "14", "leaks": "yes", "disposition": "repair"}))
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

/// The plan as it stands.
#[track_caller]
fn plan_of(shop: &TestShop, order: &Order) -> Value {
    shop.technician().get(&format!("/work-orders/{order}/plan")).done()
}

/// Chooses a way round, as the order stands.
#[track_caller]
fn chooses(shop: &TestShop, order: &Order, body: &Value) -> harness::Answer {
    let mara = shop.technician();
    let version = mara.look_at(order).version();
    mara.request("POST", &format!("/work-orders/{order}/plan/ways")).seen(version).body(body).send()
}

fn this_way(conflict: &Value, how: &str) -> Value {
    let mut body = json!({"operation_id": conflict["operation_id"], "joint": conflict["joint"]["id"], "how": how});
    if how == "other_method" {
        body["method_id"] = way(conflict, how)["method_id"].clone();
    }
    body
}

#[test]
fn taking_it_apart_first_becomes_two_steps_once_and_the_plan_follows() {
    let shop = TestShop::open();
    let (order, brazing) = with_a_crack_near_the_brace(&shop);
    let mara = shop.technician();
    let path = format!("/work-orders/{order}/plan/ways");
    let told = mara.get(&format!("/work-orders/{order}/plan")).done();
    let conflict = &told["conflicts"][0];
    let apart = this_way(conflict, "take_apart");
    mara.request("POST", &path).body(&apart).send().refused(428, "precondition-missing");
    mara.request("POST", &path).seen(1).body(&apart).send().refused(412, "stale");
    shop.front_desk().request("POST", &path).seen(mara.look_at(&order).version()).body(&apart).send().refused(403, "not-yours");
    let answer = chooses(&shop, &order, &apart).done();
    let plan = plan_of(&shop, &order);
    let chosen = way(&plan["conflicts"][0], "take_apart");
    assert_eq!((&chosen["chosen"], &chosen["wanted"]), (&json!(true), &json!(true)));
    assert_eq!(plan["total_minutes"], way(conflict, "take_apart")["plan_minutes"], "what was told is what it costs");
    let now = mara.look_at(&order);
    assert_eq!(plan["order_version"], json!(now.version()));
    let of_kind = |now: &Order, kind: &str| -> Vec<Value> {
        now.operations().iter().filter(|step| step["kind"] == kind && step["state"] != "struck").cloned().collect()
    };
    let (off, on) = (of_kind(&now, "take_apart"), of_kind(&now, "put_together"));
    assert_eq!((off.len(), on.len()), (1, 1), "{:?}", now.operations());
    assert_eq!(answer, *now.operation("Braze the crack"));
    assert_eq!(answer["after"], json!([off[0]["id"]]));
    assert_eq!(on[0]["after"], json!([off[0]["id"], brazing["id"]]));
    assert_eq!((&off[0]["joint"], &on[0]["joint"]), (&conflict["joint"]["id"], &conflict["joint"]["id"]));
    assert_eq!((&off[0]["price"]["amount"], &on[0]["price"]["amount"]), (&json!("0.00"), &json!("0.00")));
    let minutes = off[0]["minutes"]["typical"].as_i64().unwrap() + on[0]["minutes"]["typical"].as_i64().unwrap();
    assert_eq!(json!(minutes), way(conflict, "take_apart")["minutes"]);
    let kinds: Vec<(&str, &Value)> = plan["steps"].as_array().unwrap().iter().map(|step| (step["kind"].as_str().unwrap(), &step["operation_id"])).collect();
    assert_eq!(kinds, [("take_apart", &off[0]["id"]), ("operation", &brazing["id"]), ("put_together", &on[0]["id"])]);
    // Again writes nothing twice.
    chooses(&shop, &order, &apart).done();
    let again = mara.look_at(&order);
    assert_eq!(again.operations().len(), now.operations().len());
    assert_eq!(again.operation("Braze the crack")["after"], json!([off[0]["id"]]));
}

/// What the plan proposes and somebody puts on it as it stands waits for what it waits for.
#[test]
fn a_proposed_step_put_on_the_plan_stands_before_or_after_the_work_that_needs_it() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, brazing) = with_a_crack_near_the_brace(&shop);
    let joint = mara.get(&format!("/work-orders/{order}/plan")).done()["conflicts"][0]["joint"]["id"].clone();
    mara.plans(&order, &step("Round the bow", "20.00").with("needs_apart", json!([joint]))).done();
    let around = |title: &str, kind: &str| {
        let new = step(title, "0.00").with("kind", json!(kind)).with("heat", json!("solder")).with("joint", joint.clone());
        mara.plans(mara.look_at(&order), &new).done()
    };
    // In either order: what goes back on is planned first here.
    let on = around("Put it on", "put_together");
    let off = around("Take it off", "take_apart");
    let now = mara.look_at(&order);
    let after = |title: &str| -> Vec<Value> {
        let mut ids = now.operation(title)["after"].as_array().unwrap().clone();
        ids.sort_by_key(Value::to_string);
        ids
    };
    assert_eq!(after("Take it off"), Vec::<Value>::new());
    assert_eq!(after("Braze the crack"), [off["id"].clone()]);
    assert_eq!(after("Round the bow"), [off["id"].clone()]);
    let mut works = vec![brazing["id"].clone(), now.operation("Round the bow")["id"].clone(), off["id"].clone()];
    works.sort_by_key(Value::to_string);
    assert_eq!(after("Put it on"), works);
    assert_eq!(on["id"], now.operation("Put it on")["id"]);
    let plan = plan_of(&shop, &order);
    let steps: Vec<&Value> = plan["steps"].as_array().unwrap().iter().map(|step| &step["operation_id"]).collect();
    assert_eq!((steps.first(), steps.last()), (Some(&&off["id"]), Some(&&on["id"])), "{}", plan["steps"]);
    assert!(mara.look_at(&order).operation("Braze the crack")["after"].as_array().unwrap().len() == 1, "what is said once stands once");
}

#[test]
fn what_saves_a_joint_is_kept_on_the_step_and_another_way_takes_its_place() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, _) = with_a_crack_near_the_brace(&shop);
    let path = format!("/work-orders/{order}/plan");
    let conflict = mara.get(&path).done()["conflicts"][0].clone();
    chooses(&shop, &order, &this_way(&conflict, "take_apart")).done();
    let mut saved = 0;
    for how in ["heat_sink", "water", "wet_rag"] {
        if way(&conflict, how)["allowed"] != true {
            let refusal = chooses(&shop, &order, &this_way(&conflict, how)).refused(409, "way-not-allowed");
            assert!(refusal.words().contains(way(&conflict, how)["why_not"].as_str().unwrap()), "{}", refusal.words());
            continue;
        }
        saved += 1;
        chooses(&shop, &order, &this_way(&conflict, how)).done();
        let plan = plan_of(&shop, &order);
        let chosen = way(&plan["conflicts"][0], how);
        assert_eq!((&chosen["chosen"], &chosen["wanted"]), (&json!(true), &json!(true)), "{how}");
        assert_eq!(plan["total_minutes"], way(&conflict, how)["plan_minutes"], "{how}");
        let now = mara.look_at(&order);
        assert_eq!(now.operation("Braze the crack")["chosen_ways"], json!([{"joint": conflict["joint"]["id"], "how": how}]));
        // Nothing waits for a joint to come apart that stays together.
        assert_eq!(now.operation("Braze the crack")["after"], json!([]));
        for step in now.operations().iter().filter(|step| step["kind"] != "work") {
            assert_eq!((&step["state"], &step["struck_reason"]), (&json!("struck"), &json!("another way round was chosen")));
        }
        let step = plan["steps"].as_array().unwrap().iter().find(|step| step["kind"] == "operation").unwrap().clone();
        assert_eq!(step["protections"][0]["how"], json!(how));
        let slugs = step["cautions"].as_array().unwrap();
        assert_eq!(slugs.contains(&json!("quench-steam")), how != "heat_sink", "{slugs:?}");
    }
    assert!(saved > 0, "{}", conflict["ways"]);
    // Back again: the two steps are planned anew, and nothing else saves the joint.
    chooses(&shop, &order, &this_way(&conflict, "take_apart")).done();
    let plan = plan_of(&shop, &order);
    assert_eq!(way(&plan["conflicts"][0], "take_apart")["wanted"], true);
    let now = mara.look_at(&order);
    assert_eq!(now.operation("Braze the crack")["chosen_ways"], json!([]));
    assert_eq!(now.operations().iter().filter(|step| step["kind"] != "work" && step["state"] == "planned").count(), 2);
}

#[test]
fn a_step_around_a_joint_has_its_own_ways_and_keeps_the_one_that_was_chosen() {
    let shop = TestShop::open();
    let mara = shop.technician();
    // The rear brace of a trumpet stands near two ferrules.
    let order = shop.in_diagnosis(&trumpet());
    let around = |title: &str, kind: &str| {
        let joint = step(title, "0.00").with("kind", json!(kind)).with("heat", json!("solder")).with("joint", json!("rear brace"));
        mara.plans(mara.look_at(&order), &joint).done()
    };
    mara.plans(&order, &step("Straighten the bell", "30.00").with("needs_apart", json!(["rear brace"]))).done();
    let taking = around("Take the rear brace off", "take_apart");
    around("Put the rear brace on", "put_together");
    let of_it = |plan: &Value| -> Vec<Value> {
        plan["conflicts"].as_array().unwrap().iter().filter(|one| one["operation_id"] == taking["id"]).cloned().collect()
    };
    let plan = plan_of(&shop, &order);
    let beside = of_it(&plan);
    assert!(!beside.is_empty(), "unsoldering the brace heats nothing beside it: {}", plan["conflicts"]);
    let mut kept = 0;
    for conflict in &beside {
        for how in ["heat_sink", "water", "wet_rag"].into_iter().filter(|how| way(conflict, how)["allowed"] == true) {
            chooses(&shop, &order, &this_way(conflict, how)).done();
            let plan = plan_of(&shop, &order);
            assert_eq!(plan["total_minutes"], way(conflict, how)["plan_minutes"], "{how}: what was told is what it costs");
            let now = of_it(&plan).into_iter().find(|one| one["joint"] == conflict["joint"]).unwrap();
            assert_eq!((&way(&now, how)["wanted"], &way(&now, how)["chosen"]), (&json!(true), &json!(true)), "{how}");
            let step = plan["steps"].as_array().unwrap().iter().find(|step| step["operation_id"] == taking["id"]).unwrap().clone();
            let saved = step["protections"].as_array().unwrap().iter().find(|one| one["joint"] == conflict["joint"]).unwrap();
            assert_eq!(saved["how"], json!(how));
            kept += 1;
        }
        // Another joint that comes apart first has steps of its own then.
        let first = way(conflict, "take_apart");
        if first["allowed"] == true {
            let struck = || mara.look_at(&order).operations().iter().filter(|step| step["state"] == "struck").count();
            let (before, struck_before) = (mara.look_at(&order).operations().len(), struck());
            chooses(&shop, &order, &this_way(conflict, "take_apart")).done();
            let plan = plan_of(&shop, &order);
            assert_eq!(plan["total_minutes"], first["plan_minutes"]);
            assert!(mara.look_at(&order).operations().len() > before);
            let at = |wanted: &dyn Fn(&Value) -> bool| plan["steps"].as_array().unwrap().iter().position(wanted).unwrap();
            let off = at(&|step| step["kind"] == "take_apart" && step["joint"]["joint_ids"].as_array().unwrap().contains(&conflict["worst_joint_id"]));
            assert!(off < at(&|step| step["operation_id"] == taking["id"]), "{}", plan["steps"]);
            // And back: its steps go again.
            let again = of_it(&plan).into_iter().find(|one| one["worst_joint_id"] == conflict["worst_joint_id"]).unwrap();
            let how = ["heat_sink", "water", "wet_rag"].into_iter().find(|how| way(&again, how)["allowed"] == true).unwrap();
            chooses(&shop, &order, &this_way(&again, how)).done();
            assert_eq!(struck() - struck_before, 2, "taking it apart and putting it together");
            kept += 1;
        } else {
            let refusal = chooses(&shop, &order, &this_way(conflict, "take_apart")).refused(409, "way-not-allowed");
            assert!(refusal.words().contains(first["why_not"].as_str().unwrap()), "{}", refusal.words());
        }
    }
    assert!(kept > 0, "{beside:?}");
}

#[test]
fn another_method_changes_the_step_and_leaves_the_price_that_the_owner_accepted() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let (order, brazing) = with_a_crack_near_the_ferrule(&shop);
    let conflict = mara.get(&format!("/work-orders/{order}/plan")).done()["conflicts"][0].clone();
    let soft = method(&shop, "Soft-solder a patch");
    let mut other = this_way(&conflict, "take_apart");
    other["how"] = json!("other_method");
    other["method_id"] = soft["id"].clone();
    let found = conflict["ways"].as_array().unwrap().iter().find(|way| way["method_id"] == soft["id"]).unwrap();
    assert_eq!(found["allowed"], true, "{found}");
    let typical = |step: &Value| step["minutes"]["typical"].as_i64().unwrap();
    assert_eq!(found["minutes"], json!(typical(&soft) - typical(&brazing)), "what it adds to the step's own");
    // Quoted and accepted as brazed.
    mara.drafts(&order, &[harness::line(&brazing)]).done();
    let draft = mara.look_at(&order).quote("draft").clone();
    mara.sends(&order, &draft).done();
    greta.records_answer(mara.look_at(&order).quote("sent"), "accepted", &json!({})).done();
    shop.clock().forward(chrono::TimeDelta::minutes(1));
    let before = mara.look_at(&order).operation("Braze the crack").clone();
    assert_eq!((&before["accepted"], &before["quoted_otherwise"]), (&json!(true), &json!(false)));
    chooses(&shop, &order, &other).done();
    let step = mara.look_at(&order).operation("Braze the crack").clone();
    assert_eq!((&step["method_id"], &step["heat"], &step["minutes"]), (&soft["id"], &json!("solder"), &soft["minutes"]));
    assert_eq!((&step["price"], &step["accepted"], &step["quoted_otherwise"]), (&before["price"], &json!(true), &json!(true)));
    // Begun, it is not turned into something else.
    mara.starts(&step).done();
    mara.pauses(&step).done();
    let plan = plan_of(&shop, &order);
    for conflict in plan["conflicts"].as_array().unwrap() {
        let others = conflict["ways"].as_array().unwrap().iter().filter(|way| way["how"] == "other_method" && way["allowed"] == true);
        for other in others {
            let mut body = this_way(conflict, "take_apart");
            body["how"] = json!("other_method");
            body["method_id"] = other["method_id"].clone();
            chooses(&shop, &order, &body).refused(409, "begun");
        }
    }
}

#[test]
fn another_method_brings_its_price_while_nobody_was_told_one() {
    let shop = TestShop::open();
    let (order, brazing) = with_a_crack_near_the_ferrule(&shop);
    let conflict = plan_of(&shop, &order)["conflicts"][0].clone();
    let soft = method(&shop, "Soft-solder a patch");
    assert_ne!(brazing["price"], soft["price"]);
    let mut other = this_way(&conflict, "other_method");
    other["method_id"] = soft["id"].clone();
    chooses(&shop, &order, &other).done();
    let step = shop.technician().look_at(&order).operation("Braze the crack").clone();
    assert_eq!((&step["price"], &step["quoted_otherwise"]), (&soft["price"], &json!(false)));
}

#[test]
fn what_the_owner_left_out_is_no_part_of_the_plan() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let (order, brazing) = with_a_crack_near_the_ferrule(&shop);
    let buffing = mara.plans(&order, &step("Buff the bell", "40.00")).done();
    let order = mara.look_at(&order);
    let names = |plan: &Value, step: &Value| plan["steps"].as_array().unwrap().iter().any(|one| one["operation_id"] == step["id"]);
    let before = plan_of(&shop, &order);
    assert!(names(&before, &brazing) && names(&before, &buffing));
    let mut optional = harness::line(&buffing);
    optional["optional"] = json!(true);
    mara.drafts(&order, &[harness::line(&brazing), optional]).done();
    let draft = mara.look_at(&order).quote("draft").clone();
    mara.sends(&order, &draft).done();
    greta.records_answer(mara.look_at(&order).quote("sent"), "accepted", &json!({})).done();
    let plan = plan_of(&shop, &order);
    assert!(names(&plan, &brazing) && !names(&plan, &buffing), "{}", plan["steps"]);
    let now = mara.look_at(&order);
    assert_eq!((&now.operation("Buff the bell")["left_out"], &now.operation("Braze the crack")["left_out"]), (&json!(true), &json!(false)));
}

#[test]
fn a_way_that_the_plan_does_not_name_is_pointed_at() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, _) = with_a_crack_near_the_ferrule(&shop);
    let oil = mara.plans(&order, &step("Oil it", "10.00")).done();
    let conflict = mara.get(&format!("/work-orders/{order}/plan")).done()["conflicts"][0].clone();
    let good = this_way(&conflict, "take_apart");
    let before = mara.look_at(&order);
    for (field, value, pointer) in [
        ("operation_id", json!("00000000-0000-7000-8000-000000000000"), "/operation_id"),
        ("operation_id", oil["id"].clone(), "/joint"),
        ("joint", json!("moon"), "/joint"),
        ("joint", json!("x".repeat(5000)), "/joint"),
        ("how", json!("other_method"), "/method_id"),
        ("method_id", oil["id"].clone(), "/method_id"),
    ] {
        let mut bad = good.clone();
        bad[field] = value;
        assert_eq!(chooses(&shop, &order, &bad).refused(422, "invalid-input").pointers(), [pointer], "{bad}");
    }
    assert_eq!(mara.look_at(&order).version(), before.version());
}

#[test]
fn a_new_step_takes_the_shops_own_minutes_and_typed_ones_win() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let dent = method(&shop, "Take a dent out");
    let planned = |title: &str| step(title, "0.00").with("method_id", dent["id"].clone());
    let first = mara.plans(&order, &planned("Dent 1")).done();
    assert_eq!(first["minutes"], dent["minutes"], "typical while there are too few");
    for (number, minutes) in [12, 14, 15, 16, 18, 20, 22, 40].into_iter().enumerate() {
        let dented = if number == 0 { first.clone() } else { mara.plans(&order, &planned(&format!("Dent {}", number + 1))).done() };
        mara.starts(&dented).done();
        shop.clock().forward(chrono::TimeDelta::minutes(minutes));
        mara.finishes(&dented).done();
    }
    let own = method(&shop, "Take a dent out");
    assert_eq!((&own["own_count"], &own["listed_minutes"]), (&json!(8), &dent["listed_minutes"]));
    // By hand: tenths of eight values lie at 0.7, 3.5 and 6.3 places of seven.
    assert_eq!(own["minutes"], json!({"low": 13, "typical": 17, "high": 27}));
    assert_eq!(mara.plans(&order, &planned("Dent 9")).done()["minutes"], own["minutes"]);
    let typed = json!({"low": 1, "typical": 2, "high": 3});
    assert_eq!(mara.plans(&order, &planned("Dent 10").with("minutes", typed.clone())).done()["minutes"], typed);
}
