//! What is due and what came with it, where things do not go as planned.

use harness::people::eur;
use harness::{TestShop, baritone};
use serde_json::json;

#[test]
fn a_lost_accessory_is_recorded_with_what_became_of_it_and_keeps_nobody_waiting() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_pickup(&baritone());
    let handover = |more: serde_json::Value| {
        let mut body = json!({"how": "collected", "collected_by": "Otto Brenner", "payment": {"amount": order["money"]["due"], "how": "cash"}});
        for (name, value) in more.as_object().unwrap() {
            body[name] = value.clone();
        }
        greta.hands_over(&order, &body)
    };
    handover(json!({"accessories_returned": ["case"]})).refused(409, "accessories").saying("mouthpiece").saying("lost");
    let bad = handover(json!({"accessories_returned": ["case"], "accessories_lost": [{"name": "mouthpiece", "reason": " "}, {"name": "mute", "reason": "x"}]}));
    assert_eq!(bad.refused(422, "invalid-input").pointers(), ["/accessories_lost/0/reason", "/accessories_lost/1/name"]);
    handover(json!({"accessories_returned": ["case"], "accessories_lost": [{"name": "mouthpiece", "reason": "lost at the plater's; a new one is ordered"}]})).done();
    let now = shop.look_at(&order);
    assert_eq!(now.stage(), "closed");
    assert_eq!(now["accessories"][1], json!({"name": "mouthpiece", "returned": false, "lost": "lost at the plater's; a new one is ordered"}));
    let letter = shop.mail_has_gone().letter("otto@player.example", "was collected");
    letter.says("Not handed back").says("Mouthpiece: lost at the plater's; a new one is ordered");
    // The customer's page says in the same words what it began with and what was not handed back.
    let page = harness::mailbox::visible(&shop.stranger().get(&letter.link("status").unwrap()).text());
    assert!(page.contains("Not handed backMouthpiece Lost at the plater's; a new one is ordered"), "{page}");
}

#[test]
fn what_is_due_when_nobody_collects_is_waived_or_charged_and_never_left_hanging() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let settle = |order: &harness::Order, due: Option<&str>| {
        let mut body = json!({"to": "closed", "because": "otherwise_settled", "reason": "bought by the shop"});
        if let Some(due) = due {
            body["due"] = json!(due);
        }
        let version = ines.look_at(order).version();
        ines.request("POST", &format!("/work-orders/{order}/stage-changes")).seen(version).body(&body).send()
    };
    let (waived, charged) = (shop.in_pickup(&baritone()), shop.in_pickup(&baritone()));
    settle(&waived, None).refused(409, "amount-due").saying("140.00");
    settle(&waived, Some("waived")).done();
    let now = shop.look_at(&waived);
    assert_eq!((&now["money"]["waived"], &now["money"]["due"], now.stage()), (&eur("140.00"), &eur("0.00"), "closed"));
    settle(&charged, Some("charged_to_account")).done();
    let now = shop.look_at(&charged);
    assert_eq!((&now["money"]["waived"], &now["money"]["due"]), (&eur("0.00"), &eur("0.00")));
    assert_eq!((&now["payments"][0]["kind"], &now["payments"][0]["amount"]), (&json!("account"), &eur("140.00")));
    assert_eq!(now["payments"][0]["note"], "bought by the shop");
    // Where nothing is due, nothing need be said of it; and it goes with no other move.
    settle(&shop.in_diagnosis(&baritone()), None).done();
    let asked = shop.in_approval(&baritone());
    let version = ines.look_at(&asked).version();
    let body = json!({"to": "diagnosis", "because": "recalled", "reason": "a slip", "due": "waived"});
    let refusal = ines.request("POST", &format!("/work-orders/{asked}/stage-changes")).seen(version).body(&body).send().refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/due"]);
}

#[test]
fn a_visit_done_at_the_counter_records_the_minutes_it_took() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone().without_accessories());
    let visit = json!({
        "operations": [
            {"title": "Free the mouthpiece", "price": eur("10.00"), "minutes": {"low": 5, "typical": 12, "high": 20}},
            {"title": "Water-key cork", "price": eur("5.00")},
        ],
        "test": {"kind": "leak_test", "verdict": "passed"},
        "handover": {"how": "collected", "collected_by": "Otto Brenner", "payment": {"amount": eur("15.00"), "how": "cash"}},
    });
    shop.desk_and_bench().does_at_counter(&order, &visit).done();
    let now = shop.look_at(&order);
    assert_eq!(now.operation("Free the mouthpiece")["actual_minutes"], 12);
    assert_eq!(now.operation("Water-key cork")["actual_minutes"], 0, "what nobody said took no time that anybody knows");
}
