//! The honest range: what may still turn up, on the quote, in the letter and on the owner's page.

use harness::{TestShop, baritone, crack, line, step, trumpet};
use serde_json::{Value, json};

fn euros(amount: &Value) -> f64 {
    amount.as_str().unwrap().parse().unwrap()
}

#[test]
fn a_draft_carries_the_range_and_proposes_a_limit_that_it_does_not_fill_in() {
    let shop = TestShop::open();
    let old = baritone().with("instrument", json!({"family": "baritone", "age_text": "about 1905"}));
    let order = shop.with_a_draft(&old);
    let draft = order.quote("draft");
    let range = &draft["range"];
    assert_eq!((&range["kind"], &range["orders_count"], &range["is_old"]), (&json!("typical"), &json!(0), &json!(true)));
    assert!(range["count_p85"].as_i64().unwrap() >= range["count_p50"].as_i64().unwrap());
    assert!(euros(&range["cost_p85"]) > 0.0 && euros(&range["cost_p85"]) <= euros(&range["cost_p95"]));
    // The limit is the total, as the shop wrote it; the proposal stands beside it.
    assert_eq!(draft["limit"]["amount"], "140.00");
    assert_eq!(euros(&draft["suggested_limit"]["amount"]), 140.0 + euros(&range["cost_p85"]));

    // A younger instrument hides less.
    let young = baritone().with("instrument", json!({"family": "baritone", "age_text": "2019"}));
    let young = shop.with_a_draft(&young);
    assert!(euros(&young.quote("draft")["range"]["cost_p85"]) < euros(&range["cost_p85"]));
}

#[test]
fn what_was_sent_is_sealed_with_its_range_and_told_alike_in_letter_and_page() {
    let shop = TestShop::open();
    let old = baritone().with("instrument", json!({"family": "baritone", "age_text": "between the wars"}));
    let order = shop.in_approval(&old);
    let sent = order.quote("sent").clone();
    assert_eq!(sent["suggested_limit"], Value::Null, "a sent version has its limit");
    let range = &sent["range"];
    let said = format!("in 15 of 100 it was more than €{}. These are typical figures, not yet this shop’s own.", range["cost_p85"].as_str().unwrap());

    let mail = shop.mail_has_gone();
    let letter = mail.to("otto@player.example").into_iter().last().unwrap();
    letter.says("Old instruments hide cracks");
    let link = shop.front_desk().issues_link(&order, "answer");
    let page = shop.stranger().get(link["url"].as_str().unwrap()).text();
    assert!(page.contains("Old instruments hide cracks") && page.contains(&said), "{said}\n{page}");

    // More is found and a newer version goes out: another range, another hash; the first one is
    // what it was.
    let mara = shop.technician();
    let found = mara.finds(&order, &crack("bottom bow").leaking()).done();
    let patch = mara.plans(&order, &step("Patch the crack", "78.00").answering(&found)).done();
    let lines = [line(order.operation("Braze the crack")), line(&patch)];
    let newer = mara.drafts(&order, &lines).done();
    mara.sends(&order, &newer).done();
    let now = shop.look_at(&order);
    let newer = now.quote("sent");
    assert_ne!(newer["content_hash"], sent["content_hash"]);
    assert_ne!(newer["range"], sent["range"], "two cracks found promise more than one");
    let first = now.quotes().iter().find(|quote| quote["id"] == sent["id"]).unwrap();
    assert_eq!((&first["range"], &first["content_hash"]), (&sent["range"], &sent["content_hash"]));
    shop.front_desk().records_answer(newer, "accepted", &json!({})).done();
    shop.mail_has_gone();
}

#[test]
fn that_nothing_more_is_to_be_expected_is_told_in_letter_and_page_too() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone().with("instrument", json!({"family": "trumpet", "age_text": "2019"})));
    let mut seen = crack("bell bow").leaking();
    seen["found_when"] = json!("taken_apart");
    let found = mara.finds(&order, &seen).done();
    let brazing = mara.plans(&order, &step("Braze the crack", "62.00").answering(&found)).done();
    let oiling = mara.plans(&order, &step("Oil the valves", "24.00")).done();
    let mut option = line(&oiling);
    option["optional"] = json!(true);
    let draft = mara.drafts(&order, &[line(&brazing), option]).done();
    let range = &draft["range"];
    assert_eq!(euros(&range["cost_p85"]), 0.0, "{range}");
    assert_eq!(draft["suggested_limit"], Value::Null);
    mara.sends(&order, &draft).done();
    let said = format!("What may still be hidden: in {} of 100 such instruments nothing more turned up", range["none_of_hundred"]);
    let mail = shop.mail_has_gone();
    let letter = mail.to("otto@player.example").into_iter().last().unwrap();
    letter.says(&format!("in {} of 100 such instruments nothing more", range["none_of_hundred"]));
    letter.says("These are typical figures");
    let link = shop.front_desk().issues_link(&order, "answer");
    let page = shop.stranger().get(link["url"].as_str().unwrap()).text();
    assert!(page.contains(&said) && page.contains("These are typical figures"), "{said}\n{page}");
    // Nothing is asked for what may be hidden: the limit is the lines.
    assert!(!page.contains("can hide more") && page.contains("We ask you to allow up to <b>€62.00</b>"), "{page}");
}

#[test]
fn a_seam_counts_once_somebody_saw_it_and_not_because_the_map_was_saved() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let range = |change: Option<Value>| {
        let order = shop.in_diagnosis(&trumpet());
        if let Some(change) = change {
            let map = format!("/instruments/{}/part-map", order["instrument"]["id"].as_str().unwrap());
            mara.request("PATCH", &map).seen(0).body(&json!({"parts": [change]})).send().done();
        }
        let found = mara.finds(&order, &crack("bell bow").leaking()).done();
        let brazing = mara.plans(&order, &step("Braze the crack", "140.00").answering(&found)).done();
        mara.drafts(&order, &[line(&brazing)]).done()["range"].clone()
    };
    let bare = range(None);
    assert_eq!(range(Some(json!({"part": "bell", "wall_mm": 0.44}))), bare, "a wall that was measured says nothing of a seam");
    assert_eq!(range(Some(json!({"part": "bell", "seam": "none"}))), bare, "one part without a seam is no seamless instrument");
    let seamed = range(Some(json!({"part": "bell", "seam": "lengthwise"})));
    assert_ne!(seamed, bare, "a seam that was seen does");
}
