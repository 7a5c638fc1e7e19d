//! The instrument as parts and joints: its own copy, its drawing, and what is pinned to it.

use harness::{Order, Person, TestShop, baritone, crack, finding, trumpet};
use serde_json::{Value, json};

fn path(order: &Order) -> String {
    format!("/instruments/{}/part-map", order["instrument"]["id"].as_str().unwrap())
}

fn part<'m>(map: &'m Value, id: &str) -> &'m Value {
    map["map"]["parts"].as_array().unwrap().iter().find(|part| part["id"] == id).unwrap_or_else(|| panic!("no part {id}"))
}

fn joint<'m>(map: &'m Value, id: &str) -> &'m Value {
    map["map"]["joints"].as_array().unwrap().iter().find(|joint| joint["id"] == id).unwrap_or_else(|| panic!("no joint {id}"))
}

/// Every element of the drawing that has this attribute, as (its value, the element).
fn drawn(map: &Value, attribute: &str) -> Vec<(String, Value)> {
    fn walk(element: &Value, attribute: &str, found: &mut Vec<(String, Value)>) {
        if let Some(value) = element["attributes"][attribute].as_str() {
            found.push((value.to_owned(), element.clone()));
        }
        for child in element["children"].as_array().into_iter().flatten() {
            walk(child, attribute, found);
        }
    }
    let mut found = Vec::new();
    walk(&map["drawing"], attribute, &mut found);
    found
}

fn names(map: &Value, attribute: &str) -> Vec<String> {
    drawn(map, attribute).into_iter().map(|(name, _)| name).collect()
}

#[track_caller]
fn amend(who: &Person, order: &Order, change: &Value) -> harness::Answer {
    let version = who.get(&path(order)).done()["version"].as_i64().unwrap();
    who.request("PATCH", &path(order)).seen(version).body(change).send()
}

#[test]
fn an_instrument_has_its_familys_template_until_somebody_measures_it() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let template = mara.get("/families/baritone/part-map").done();
    let answer = mara.get(&path(&order));
    let etag = answer.header("etag").unwrap().to_owned();
    let own = answer.done();
    assert_eq!((&own["version"], &own["is_template"], &own["measured_count"]), (&json!(0), &json!(true), &json!(0)));
    assert_eq!(own["map"], template["map"], "a copy of the family's");
    let bell = part(&own, "bell");
    assert_eq!(bell["wall"]["basis"], "typical");
    let again = mara.request("GET", &path(&order)).header("If-None-Match", &etag).send();
    assert_eq!((again.status, again.bytes.len()), (304, 0));

    let length = bell["length"]["mm"].as_f64().unwrap();
    let change = json!({"parts": [{"part": "bell", "wall_mm": 0.62, "length_mm": length * 1.1, "diameters": [{"at_mm": 100.0, "outside_diameter_mm": 41.3}]}]});
    mara.request("PATCH", &path(&order)).body(&change).send().refused(428, "precondition-missing");
    // The whole tag names the version too.
    let measured = mara.request("PATCH", &path(&order)).header("If-Match", &etag).body(&change).send().done();
    assert_eq!((&measured["version"], &measured["is_template"], &measured["measured_count"]), (&json!(1), &json!(false), &json!(3)));
    assert_eq!(measured["changed_by"], "Mara Voss");
    let bell = part(&measured, "bell");
    assert_eq!(bell["wall"], json!({"mm": 0.62, "basis": "measured"}));
    let stations = bell["diameters"].as_array().unwrap();
    assert!(stations.contains(&json!({"at_mm": 100.0, "outside_diameter": {"mm": 41.3, "basis": "measured"}})), "{stations:?}");
    let last = stations.last().unwrap();
    assert!((last["at_mm"].as_f64().unwrap() - length * 1.1).abs() < 0.2, "the rim moves with the length: {last}");
    let underlined: Vec<String> = drawn(&measured, "text-decoration").into_iter().map(|(_, span)| span["text"].as_str().unwrap().to_owned()).collect();
    let long = format!("{:.1}", length * 1.1);
    assert_eq!(underlined, ["0.62", "41.3", long.trim_end_matches(".0")], "measured values are underlined on the drawing, the others are not");

    let stale = mara.request("PATCH", &path(&order)).seen(0).body(&change).send().refused(412, "stale");
    assert_eq!((&stale.body["current_version"], &stale.body["changed_by"]), (&json!(1), &json!("Mara Voss")));
    shop.front_desk().request("PATCH", &path(&order)).seen(1).body(&change).send().refused(403, "not-yours");
    // Another baritone is another instrument.
    let other = shop.in_diagnosis(&baritone().with("instrument", json!({"family": "baritone", "serial_number": "2"})));
    assert_eq!(mara.get(&path(&other)).done()["is_template"], true);
}

#[test]
fn what_is_wrong_with_a_change_is_pointed_at_and_nothing_is_half_done() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&trumpet());
    let change = json!({
        "parts": [{"part": "bell", "wall_mm": -0.5}, {"part": "nowhere"}, {"part": "leadpipe", "name": "mouth pipe", "struck_reason": " "}],
        "joints": [{"joint": "nothing"}],
        "add_parts": [{"name": "patch", "kind": "fitting", "material": "brass_c260", "length_mm": 0, "outside_diameter_mm": 12}],
        "add_joints": [{"held": "soft_soldered", "places": [{"part": "patch", "at_mm": 1.0}, {"part": "moon", "at_mm": 1.0}]}],
    });
    let refusal = amend(&mara, &order, &change).refused(422, "invalid-input");
    for pointer in [
        "/parts/0/wall_mm", "/parts/1/part", "/parts/2/struck_reason", "/joints/0/joint", "/add_parts/0/length_mm", "/add_joints/0/places/1/part",
    ] {
        assert!(refusal.pointers().contains(&pointer), "{pointer} is not among {:?}", refusal.pointers());
    }
    amend(&mara, &order, &json!({"parts": [{"part": "bell", "colour": "red"}]})).refused(422, "invalid-input");
    let now = mara.get(&path(&order)).done();
    assert_eq!((&now["version"], &part(&now, "leadpipe")["name"]), (&json!(0), &json!("leadpipe")));
    // A whole map is judged in the same way.
    let mut map = now["map"].clone();
    map["family"] = json!("tuba");
    map["joints"][0]["places"][0]["part"] = json!("moon");
    let refusal = mara.request("PUT", &path(&order)).seen(0).body(&map).send().refused(422, "invalid-input");
    assert!(refusal.pointers().contains(&"/joints/0/places/0/part"), "{:?}", refusal.pointers());
    assert!(refusal.pointers().contains(&"/family"), "{:?}", refusal.pointers());
    mara.get("/families/kazoo/part-map").refused(404, "absent");
}

#[test]
fn what_no_part_can_measure_is_refused_and_a_known_solidus_is_kept() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&trumpet());
    for (change, pointer) in [
        (json!({"part": "leadpipe", "diameters": [{"at_mm": 0, "outside_diameter_mm": 900}]}), "/parts/0/diameters/0/outside_diameter_mm"),
        (json!({"part": "leadpipe", "wall_mm": 50}), "/parts/0/wall_mm"),
        (json!({"part": "bell", "diameters": [{"at_mm": 490, "outside_diameter_mm": 5000}]}), "/parts/0/diameters/0/outside_diameter_mm"),
        (json!({"part": "bell", "length_mm": 3001}), "/parts/0/length_mm"),
    ] {
        let refusal = amend(&mara, &order, &json!({"parts": [change]})).refused(422, "invalid-input");
        assert_eq!(refusal.pointers(), [pointer], "{:?}", refusal.body);
        assert!(refusal.body["errors"][0]["message"].as_str().unwrap().contains("measure"), "it says what to do: {:?}", refusal.body);
    }
    assert_eq!(mara.get(&path(&order)).done()["version"], 0, "nothing was kept");
    let known = json!({"joints": [{"joint": "bell-to-bell-bow", "filler": "sac305", "solidus_c": 217.5}]});
    let kept = amend(&mara, &order, &known).done();
    assert_eq!((&joint(&kept, "bell-to-bell-bow")["filler"], &joint(&kept, "bell-to-bell-bow")["solidus_c"]), (&json!("sac305"), &json!(217.5)));
    let refusal = amend(&mara, &order, &json!({"joints": [{"joint": "bell-to-bell-bow", "solidus_c": 20}]})).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/joints/0/solidus_c"]);
}

#[test]
fn a_side_moves_the_ring_and_other_words_are_kept_as_they_were_said() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&trumpet());
    let finds = |side: &str| mara.finds(&order, &json!({"kind": "dent", "part": "leadpipe", "position_mm": "100", "side": side}));
    let foot = finds("front foot").done();
    // A straight pipe has no outer side: it is kept, and the drawing shows the middle.
    let outer = finds("outer side").done();
    assert_eq!((&foot["side"], &outer["side"]), (&json!("front foot"), &json!("outer side")));
    let above = finds("Above").done();
    let below = finds("lower side").done();
    assert_eq!((&above["side"], &below["side"]), (&json!("top"), &json!("bottom")));
    let map = mara.get(&format!("/work-orders/{order}/map")).done();
    let ring = |finding: &Value| -> f64 {
        let (_, group) = drawn(&map, "data-finding").into_iter().find(|(id, _)| finding["id"] == *id).unwrap();
        group["children"].as_array().unwrap().iter().find(|child| child["attributes"]["class"] == "spot").unwrap()["attributes"]["cy"].as_str().unwrap().parse().unwrap()
    };
    assert!(ring(&above) + 5.0 < ring(&below), "{} over {}", ring(&above), ring(&below));
    assert!([&foot, &outer].into_iter().all(|middle| (ring(&above)..ring(&below)).contains(&ring(middle))));
    let cleared = mara.amends_finding(&above, &json!({"side": ""})).done();
    assert_eq!(cleared["side"], Value::Null);
}

#[test]
fn a_map_that_falls_apart_is_saved_and_says_which_parts_hang_loose() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&trumpet());
    assert_eq!(mara.get(&path(&order)).done()["loose_parts"], json!([]));
    let patch = json!({"add_parts": [{"name": "old patch", "kind": "fitting", "material": "brass_c260", "length_mm": 20, "outside_diameter_mm": 14, "wall_mm": 0.5}]});
    let loose = amend(&mara, &order, &patch).done();
    assert_eq!(loose["loose_parts"], json!(["old-patch"]));
    assert!(names(&loose, "data-part").contains(&"old-patch".to_owned()), "it lies at the foot of the drawing");
    // A joint ties it to the bell bow; both may come in one change, by name.
    let tied = json!({"add_joints": [{"held": "soft_soldered", "places": [{"part": "old patch", "at_mm": 10.0}, {"part": "bell-bow", "at_mm": 60.0}]}]});
    let whole = amend(&mara, &order, &tied).done();
    assert_eq!(whole["loose_parts"], json!([]));
    assert_eq!(joint(&whole, "old-patch-to-bell-bow")["name"], "old patch to bell bow");
    // Struck, the joint lets it fall again.
    let apart = amend(&mara, &order, &json!({"joints": [{"joint": "old-patch-to-bell-bow", "struck_reason": "it was never soldered"}]})).done();
    assert_eq!(apart["loose_parts"], json!(["old-patch"]));
    let back = amend(&mara, &order, &json!({"joints": [{"joint": "old-patch-to-bell-bow", "restored": true}]})).done();
    assert_eq!(back["loose_parts"], json!([]));
}

#[test]
fn rule_9_a_struck_part_keeps_its_findings_and_what_a_new_map_leaves_out_is_struck() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&trumpet());
    let found = mara.finds(&order, &crack("rear brace").leaking()).done();
    assert_eq!(found["pinned_to"], json!({"on": "part", "id": "rear-brace", "name": "rear brace", "struck": false}));
    let struck = amend(&mara, &order, &json!({"parts": [{"part": "rear-brace", "struck_reason": "this model has one brace"}]})).done();
    assert_eq!(part(&struck, "rear-brace")["struck_reason"], "this model has one brace");
    assert!(!names(&struck, "data-part").contains(&"rear-brace".to_owned()), "it is not drawn");
    assert!(!names(&struck, "data-joint").iter().any(|id| id.starts_with("rear-brace")), "nor are its feet");
    assert_eq!(names(&struck, "data-finding"), [found["id"].as_str().unwrap()], "its finding is");
    assert_eq!(shop.look_at(&order).findings()[0]["pinned_to"]["struck"], true);
    // The whole map, without the water key, as another program would send it.
    let mut map = struck["map"].clone();
    let gone: Vec<&str> = vec!["water-key", "water-key-cork"];
    map["parts"].as_array_mut().unwrap().retain(|part| !gone.contains(&part["id"].as_str().unwrap()));
    map["joints"].as_array_mut().unwrap().retain(|joint| !joint["id"].as_str().unwrap().starts_with("water-key"));
    let put = mara.request("PUT", &path(&order)).seen(1).body(&map).send().done();
    assert_eq!(part(&put, "water-key")["struck_reason"], "left out by Mara Voss");
    assert_eq!(put["loose_parts"], json!([]));
    assert!(!names(&put, "data-part").contains(&"water-key".to_owned()));
}

#[test]
fn a_finding_is_pinned_where_its_words_say_a_part_a_joint_or_a_word_of_the_list() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&trumpet());
    let pinned = |part: &str| mara.finds(&order, &json!({"kind": "open_joint", "part": part})).done()["pinned_to"].clone();
    assert_eq!(pinned("bell"), json!({"on": "part", "id": "bell", "name": "bell", "struck": false}));
    assert_eq!(pinned("Bell Bow")["id"], "bell-bow");
    let of_the_list = pinned("first valve slide");
    assert_eq!(of_the_list["on"], "part", "{of_the_list}");
    assert_eq!(pinned("bell-brace-first-foot"), json!({"on": "joint", "id": "bell-brace-first-foot", "name": "bell brace, first foot", "struck": false}));
    assert_eq!(pinned("bell to bell bow")["on"], "joint");
    assert_eq!(pinned("the case"), Value::Null, "in the list, not on the map");

    let map = mara.get(&format!("/work-orders/{order}/map")).done();
    let ids: Vec<&str> = map["pins"].as_array().unwrap().iter().filter(|pin| !pin["pinned_to"].is_null()).map(|pin| pin["finding_id"].as_str().unwrap()).collect();
    assert_eq!(ids.len(), 5);
    assert_eq!(names(&map, "data-finding"), ids, "every pin is drawn under its finding's id");
    let (_, first) = &drawn(&map, "data-finding")[0];
    assert_eq!((&first["attributes"]["role"], &first["attributes"]["tabindex"]), (&json!("button"), &json!("0")));
    assert_eq!(first["attributes"]["aria-label"], "1, open solder joint, bell");
    // By the claim number as well, and a client has nothing to interpret: no script, style or reference.
    let by_number = mara.get(&format!("/work-orders/{}/map", order.claim_number())).done();
    assert_eq!(by_number, map);
    for forbidden in ["style", "href", "onclick", "onload", "xlink:href"] {
        assert!(drawn(&map, forbidden).is_empty(), "{forbidden}");
    }
}

#[test]
fn what_was_left_and_watched_stands_first_on_the_next_visit() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let first = shop.in_diagnosis(&baritone());
    let watched = mara.finds(&first, &json!({"kind": "crack", "part": "bell", "position_mm": "120", "side": "left", "leaks": "no", "disposition": "leave_and_watch"})).done();
    mara.finds(&first, &finding("dent", "bottom bow")).done();
    mara.moves(&first, "pickup", "nothing_to_do", Some("not worth it")).done();
    let greta = shop.front_desk();
    greta.hands_over_all(&first).done();
    let again = shop.in_diagnosis(&baritone().with("instrument", Value::Null).with("instrument_id", first["instrument"]["id"].clone()));
    mara.finds(&again, &crack("leadpipe").leaking()).done();

    let map = mara.get(&format!("/work-orders/{again}/map")).done();
    let pins: Vec<(&str, &str, &str)> = map["pins"]
        .as_array()
        .unwrap()
        .iter()
        .map(|pin| (pin["head"].as_str().unwrap(), pin["standing"].as_str().unwrap(), pin["words"].as_str().unwrap()))
        .collect();
    assert_eq!(
        pins,
        [("W1", "watched", "crack, bell"), ("1", "this_visit", "crack, leadpipe, leaks"), ("", "settled", "dent, bottom bow")]
    );
    assert_eq!(names(&map, "data-finding").len(), 3, "what was settled keeps its ring");
    let history = mara.get(&format!("/instruments/{}/history", again["instrument"]["id"].as_str().unwrap())).done();
    let item = &history["watch"][0];
    assert_eq!((&item["finding_id"], &item["head"], &item["side"], &item["position_mm"]), (&watched["id"], &json!("W1"), &json!("left"), &json!("120")));
    assert_eq!(item["pinned_to"]["id"], "bell");
    assert_eq!(item["claim_number"], first.claim_number());
    // On the map of the first visit the same crack has its own number.
    let before = mara.get(&format!("/work-orders/{first}/map")).done();
    assert_eq!(before["pins"][0]["head"], "1");
}

#[test]
fn rule_15_going_against_a_suggestion_asks_why_and_the_record_keeps_both() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let refusal = mara.finds(&order, &json!({"kind": "dent", "part": "bell", "disposition": "repair"})).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/disposition_reason"]);
    assert!(refusal.body["errors"][0]["message"].as_str().unwrap().starts_with("say why"), "{:?}", refusal.body);
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    assert_eq!(found["overruled"], Value::Null, "as the rules suggest");
    let bare = mara.amends_finding(&found, &json!({"disposition": "leave_and_watch", "disposition_reason": " "}));
    assert_eq!(bare.refused(422, "invalid-input").pointers(), ["/disposition_reason"]);
    let decided = json!({"disposition": "leave_and_watch", "disposition_reason": "A museum piece; nothing is to be touched."});
    let kept = mara.amends_finding(&found, &decided).done();
    assert_eq!((&kept["disposition"], &kept["overruled"]), (&json!("leave_and_watch"), &json!("repair")));
    assert_eq!(kept["disposition_reason"], decided["disposition_reason"]);
    // What was learned later changes the suggestion, not what was overruled.
    let dry = mara.amends_finding(&kept, &json!({"leaks": "no"})).done();
    assert_eq!((&dry["suggestion"]["disposition"], &dry["overruled"]), (&json!("leave_and_watch"), &json!("repair")));
    // A test for leaks comes first: there is nothing to overrule yet.
    mara.finds(&order, &json!({"kind": "crack", "part": "bell", "disposition": "repair"})).done();
}
