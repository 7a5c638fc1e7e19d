//! The shop's list of methods: its ways of doing a kind of work, and its price list.

use harness::people::eur;
use harness::{TestShop, baritone, crack, line, step};
use serde_json::{Value, json};

fn list(shop: &TestShop) -> Value {
    shop.technician().get("/methods").done()
}

fn named(list: &Value, name: &str) -> Value {
    list["items"].as_array().unwrap().iter().find(|method| method["name"] == name).unwrap_or_else(|| panic!("no {name}")).clone()
}

#[test]
fn the_proprietor_puts_a_method_on_the_list_with_the_cautions_that_come_with_it() {
    let shop = TestShop::open();
    let (ines, mara) = (shop.proprietor(), shop.technician());
    let new = json!({
        "name": " Sleeve a tube ", "heat": "solder", "minutes": {"low": 20, "typical": 35, "high": 60}, "price": eur("55.00"),
        "filler": "sac305", "heat_c": 250, "joint_kind": "lap", "answers": ["crack"], "needs_apart": ["slide_fit"],
    });
    mara.post("/methods", &new).refused(403, "not-yours");
    let sleeve = ines.post("/methods", &new).done();
    assert_eq!((&sleeve["name"], &sleeve["station"], &sleeve["version"]), (&json!("Sleeve a tube"), &json!("torch"), &json!(1)));
    assert_eq!(sleeve["cautions"], json!(["torch", "flux-fume"]), "no lead in it");
    assert_eq!((&sleeve["minutes"], &sleeve["own_count"]), (&sleeve["listed_minutes"], &Value::Null));
    assert_eq!(named(&list(&shop), "Sleeve a tube"), sleeve);
    ines.post("/methods", &new).refused(409, "already-here");
    let of = |name: &str| named(&list(&shop), name)["cautions"].clone();
    assert_eq!(of("Strip and relacquer"), json!(["buffing", "chemicals"]));
    assert_eq!(of("Replate a spot"), json!(["cyanide"]));
    // It can be planned, with its price, minutes and heat.
    let order = shop.in_diagnosis(&baritone());
    let planned = mara.post(&format!("/work-orders/{order}/operations"), &json!({"method_id": sleeve["id"]})).done();
    assert_eq!((&planned["title"], &planned["heat"], &planned["price"]), (&json!("Sleeve a tube"), &json!("solder"), &eur("55.00")));
}

#[test]
fn everything_that_is_wrong_with_a_method_is_pointed_at_together() {
    let shop = TestShop::open();
    let bad = json!({
        "name": " ", "heat": "none", "minutes": {"low": 20, "typical": 10, "high": 60}, "price": eur("55.00"), "station": "cellar",
        "filler": "bag_7", "heat_c": 700, "joint_kind": "lap", "plating_metal": "tin", "cautions": ["torch", "torch", "cold"],
    });
    let refusal = shop.proprietor().post("/methods", &bad).refused(422, "invalid-input");
    for pointer in ["/name", "/minutes", "/station", "/filler", "/heat_c", "/joint_kind", "/plating_metal", "/cautions/1", "/cautions/2"] {
        assert!(refusal.pointers().contains(&pointer), "{pointer}: {:?}", refusal.pointers());
    }
    // A filler that does not go with the heat, and a heat at which it does not melt.
    let before = list(&shop);
    let braze = named(&before, "Braze a crack");
    let ines = shop.proprietor();
    let amends = |change: &Value| ines.request("PATCH", &format!("/methods/{}", braze["id"].as_str().unwrap())).seen(1).body(change).send();
    assert_eq!(amends(&json!({"filler": "sn60pb40"})).refused(422, "invalid-input").pointers(), ["/filler"]);
    assert_eq!(amends(&json!({"heat_c": 600})).refused(422, "invalid-input").pointers(), ["/heat_c"]);
    assert_eq!(amends(&json!({"heat_c": 1101})).refused(422, "invalid-input").pointers(), ["/heat_c"]);
    assert_eq!(list(&shop), before);
}

#[test]
fn a_method_is_amended_by_whoever_saw_it_as_it_is_and_what_was_planned_stays() {
    let shop = TestShop::open();
    let (ines, mara) = (shop.proprietor(), shop.technician());
    let braze = named(&list(&shop), "Braze a crack");
    let path = format!("/methods/{}", braze["id"].as_str().unwrap());
    let order = shop.in_diagnosis(&baritone());
    let planned = mara.plans(&order, &step("Braze it", "60.00").with("method_id", braze["id"].clone())).done();
    let change = json!({"heat_c": 690, "filler": "bag_1", "needs_apart": ["soft_soldered"], "price": eur("70.00"), "irreversible": true});
    mara.request("PATCH", &path).seen(1).body(&change).send().refused(403, "not-yours");
    ines.request("PATCH", &path).body(&change).send().refused(428, "precondition-missing");
    let amended = ines.request("PATCH", &path).seen(1).body(&change).send().done();
    assert_eq!((&amended["heat_c"], &amended["needs_apart"], &amended["version"]), (&json!(690), &json!(["soft_soldered"]), &json!(2)));
    assert!(amended["cautions"].as_array().unwrap().contains(&json!("cadmium")), "{}", amended["cautions"]);
    let stale = ines.request("PATCH", &path).seen(1).body(&json!({"heat_c": 680})).send().refused(412, "stale");
    assert_eq!((&stale.body["current_version"], &stale.body["changed_by"]), (&json!(2), &json!("Ines Falk")));
    // Null takes away what may be missing.
    let typical = ines.request("PATCH", &path).seen(2).body(&json!({"heat_c": null, "filler": null})).send().done();
    assert_eq!((&typical["heat_c"], &typical["filler"]), (&Value::Null, &Value::Null));
    let now = mara.get(&format!("/operations/{}", planned["id"].as_str().unwrap())).done();
    assert_eq!((&now["price"], &now["irreversible"], &now["minutes"]), (&planned["price"], &planned["irreversible"], &planned["minutes"]));
}

#[test]
fn what_is_not_offered_any_more_is_planned_no_more_and_stays_known() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let buff = named(&list(&shop), "Buff bright");
    let path = format!("/methods/{}", buff["id"].as_str().unwrap());
    let put_aside = ines.request("PATCH", &path).seen(1).body(&json!({"is_offered": false})).send().done();
    assert_eq!(named(&list(&shop), "Buff bright"), put_aside);
    let order = shop.in_diagnosis(&baritone());
    let refusal = shop.technician().plans(&order, &step("Buff", "10.00").with("method_id", buff["id"].clone())).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/method_id"]);
}

#[test]
fn a_standard_method_that_is_not_on_the_list_is_told_and_can_be_added_as_it_is() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    assert_eq!(list(&shop)["standard"], json!([]), "a new shop has them all");
    let patch = named(&list(&shop), "Soft-solder a patch");
    let path = format!("/methods/{}", patch["id"].as_str().unwrap());
    ines.request("PATCH", &path).seen(1).body(&json!({"name": "Patch it softly"})).send().done();
    let told = list(&shop)["standard"].clone();
    assert_eq!((told.as_array().unwrap().len(), &told[0]["name"], &told[0]["joint_kind"]), (1, &json!("Soft-solder a patch"), &json!("patch")));
    let added = ines.post("/methods", &told[0]).done();
    assert_eq!((&added["answers"], &added["minutes"]), (&patch["answers"], &patch["minutes"]));
    assert_eq!(list(&shop)["standard"], json!([]));
}

#[test]
fn a_step_that_was_only_ticked_off_says_nothing_of_how_long_its_method_takes() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let braze = named(&list(&shop), "Braze a crack");
    let order = shop.in_diagnosis(&baritone());
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    let titles: Vec<String> = (1..=9).map(|number| format!("Braze crack {number}")).collect();
    let planned: Vec<Value> = titles
        .iter()
        .map(|title| mara.plans(&order, &step(title, "10.00").answering(&found).with("method_id", braze["id"].clone())).done())
        .collect();
    mara.drafts(&order, &planned.iter().map(line).collect::<Vec<_>>()).done();
    let order = mara.look_at(order);
    mara.sends(&order, order.quote("draft")).done();
    shop.front_desk().records_answer(mara.look_at(&order).quote("sent"), "accepted", &json!({})).done();
    // Seven take ten minutes, one is ticked off after a second; the ninth takes ten minutes as well.
    for (index, title) in titles.iter().enumerate() {
        mara.starts(mara.look_at(&order).operation(title)).done();
        if index != 7 {
            shop.clock().forward(chrono::TimeDelta::minutes(10));
        }
        mara.finishes(mara.look_at(&order).operation(title)).done();
        let now = named(&list(&shop), "Braze a crack");
        if index < 8 {
            assert_eq!(now["own_count"], Value::Null, "after {title}");
        } else {
            assert_eq!((&now["own_count"], &now["minutes"]["low"], &now["minutes"]["high"]), (&json!(8), &json!(10), &json!(10)));
        }
    }
}
