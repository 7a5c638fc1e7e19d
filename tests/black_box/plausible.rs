//! What cannot be is not recorded: a place beyond its part, a number that nobody can dial, a hold
//! that nobody looks at again.

use harness::{TestShop, baritone, step};
use serde_json::{Value, json};

#[test]
fn a_place_beyond_its_part_is_refused_by_the_length_that_its_own_map_knows() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.in_diagnosis(&baritone());
    let map_path = format!("/instruments/{}/part-map", order["instrument"]["id"].as_str().unwrap());
    let map = mara.get(&map_path).done();
    let bell = map["map"]["parts"].as_array().unwrap().iter().find(|one| one["id"] == "bell").unwrap();
    let length = bell["length"]["mm"].as_f64().unwrap();
    let crack_at = |mm: f64| json!({"kind": "crack", "part": "bell", "position_mm": format!("{mm:.1}"), "disposition": "undecided"});
    let refusal = mara.finds(&order, &crack_at(length + 1.0)).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/position_mm"]);
    let words = refusal.body["errors"][0]["message"].as_str().unwrap();
    assert!(words.contains(&format!("{length} mm")) && words.contains("typical"), "{words}");
    let found = mara.finds(&order, &crack_at(length)).done();
    // Neither can one be moved there, by its place or by its part.
    let beyond = json!({"position_mm": format!("{:.1}", length + 20.0)});
    assert_eq!(mara.amends_finding(&found, &beyond).refused(422, "invalid-input").pointers(), ["/position_mm"]);
    let short = map["map"]["parts"].as_array().unwrap().iter().find(|one| one["length"]["mm"].as_f64().unwrap() < length - 1.0).unwrap();
    assert_eq!(mara.amends_finding(&found, &json!({"part": short["name"]})).refused(422, "invalid-input").pointers(), ["/position_mm"]);
    // This one is longer than usual: measured on the map, it has that place.
    let measured = json!({"parts": [{"part": "bell", "length_mm": length + 30.0}]});
    mara.request("PATCH", &map_path).seen(0).body(&measured).send().done();
    let found = mara.amends_finding(&found, &beyond).done();
    let refusal = mara.finds(&order, &crack_at(length + 31.0)).refused(422, "invalid-input");
    assert!(refusal.body["errors"][0]["message"].as_str().unwrap().contains("as it was measured"));
    // Measured shorter again, what was written stays and can still be amended otherwise.
    mara.request("PATCH", &map_path).seen(1).body(&json!({"parts": [{"part": "bell", "length_mm": length - 5.0}]})).send().done();
    mara.amends_finding(&found, &json!({"note": "near the rim", "disposition": "repair", "leaks": "yes"})).done();
    // A part in one's own words has no length that anybody knows.
    mara.finds(&order, &json!({"kind": "dent", "part": "the case", "position_mm": "9999"})).done();
    // So with the marks of the counter, and what a test finds.
    let marked = |mm: &str| baritone().with("counter_marks", json!([{"part": "bell", "kind": "dent"}, {"part": "bell", "kind": "scratch", "position_mm": mm}]));
    let refusal = greta.check_in(&marked("9999")).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/counter_marks/1/position_mm"]);
    greta.check_in(&marked(&format!("{length:.1}"))).done();
    let tested = shop.in_leak_test(&baritone());
    let refusal = mara.fails_leak_test(&tested, &crack_at(9000.0)).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/finding/position_mm"]);
    assert_eq!(shop.look_at(&tested).stage(), "leak_test", "nothing was recorded");
}

#[test]
fn a_telephone_number_is_one_that_can_be_dialled() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let customer = greta.post("/customers", &json!({"name": "Ida Holm", "phone": "+49 (351) 555-0142 ext. 12"})).done();
    assert_eq!(customer["phone"], "+49 (351) 555-0142 ext. 12", "kept as typed");
    let path = format!("/customers/{}", customer["id"].as_str().unwrap());
    for bad in ["ask at the bar", "555 0142 after six", "12", "555 0142 ext", "٥٥٥ 0142"] {
        let new = json!({"name": "Ida Holm", "phone": bad});
        assert_eq!(greta.post("/customers", &new).refused(422, "invalid-input").pointers(), ["/phone"], "{bad}");
        assert_eq!(greta.request("PATCH", &path).seen(1).body(&json!({"phone": bad})).send().refused(422, "invalid-input").pointers(), ["/phone"], "{bad}");
        assert_eq!(greta.check_in(&baritone().with("customer", new.clone())).refused(422, "invalid-input").pointers(), ["/customer/phone"], "{bad}");
        assert_eq!(greta.check_in(&baritone().with("owner", new)).refused(422, "invalid-input").pointers(), ["/owner/phone"], "{bad}");
        let ines = shop.proprietor();
        let seen = ines.get("/shop").done()["version"].as_i64().unwrap();
        assert_eq!(ines.request("PATCH", "/shop").seen(seen).body(&json!({"phone": bad})).send().refused(422, "invalid-input").pointers(), ["/phone"], "{bad}");
    }
    assert_eq!(greta.request("PATCH", &path).seen(1).body(&json!({"phone": ""})).send().done()["phone"], Value::Null, "and there may be none");
}

#[test]
fn a_hold_says_when_to_look_again_and_who_is_waited_for() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let holds = |hold: &Value| mara.post(&format!("/work-orders/{order}/holds"), hold);
    let on = shop.clock().in_days(7);
    for reason in ["parts", "outside_work"] {
        let refusal = holds(&json!({"reason": reason, "look_again_on": on})).refused(422, "invalid-input");
        assert_eq!(refusal.pointers(), ["/supplier"], "{reason}");
        let refusal = holds(&json!({"reason": reason, "look_again_on": on, "supplier": "  "})).refused(422, "invalid-input");
        assert_eq!(refusal.pointers(), ["/supplier"], "{reason}");
    }
    for reason in ["customer", "school_calendar", "other"] {
        let refusal = holds(&json!({"reason": reason, "note": "rings back", "look_again_on": on, "supplier": "Reedmouth Supplies", "order_number": "7", "expected_on": on}))
            .refused(422, "invalid-input");
        assert_eq!(refusal.pointers(), ["/supplier", "/order_number", "/expected_on"], "{reason}");
    }
    let refusal = holds(&json!({"reason": "customer"})).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/look_again_on"]);
    let past = json!({"reason": "parts", "supplier": "Reedmouth Supplies", "look_again_on": on, "expected_on": "2020-01-01"});
    assert_eq!(holds(&past).refused(422, "invalid-input").pointers(), ["/expected_on"]);
    assert_eq!(shop.look_at(&order)["holds"], json!([]), "nothing was recorded");
    let held = holds(&json!({"reason": "parts", "supplier": " Reedmouth Supplies ", "order_number": "20717", "look_again_on": on, "expected_on": on})).done();
    assert_eq!((&held["supplier"], &held["order_number"], &held["expected_on"]), (&json!("Reedmouth Supplies"), &json!("20717"), &json!(on)));
    let now = shop.look_at(&order);
    assert_eq!((&now["holds"][0]["supplier"], now.waits_for()), (&json!("Reedmouth Supplies"), "supplier"));
    // Work that can go on goes on.
    mara.does(&mara.plans(&order, &step("Clean the case", "0.00")).done());
}
