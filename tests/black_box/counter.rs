//! Done at the counter: the whole visit in one act.

use harness::people::eur;
use harness::{TestShop, trumpet};
use serde_json::{Value, json};

fn visit(more: Value) -> Value {
    let mut visit = json!({
        "operations": [{"title": "Pull the mouthpiece", "price": eur("12.00")}],
        "test": {"kind": "leak_test", "method": "finger_and_blow", "verdict": "passed"},
        "handover": {
            "how": "collected", "collected_by": "Otto Brenner",
            "accessories_returned": ["case", "mouthpiece"],
            "payment": {"amount": eur("12.00"), "how": "cash"},
        },
    });
    for (name, value) in more.as_object().unwrap() {
        visit[name] = value.clone();
    }
    visit
}

#[test]
fn one_act_makes_every_move_with_its_rows_one_test_and_one_letter() {
    let shop = TestShop::open();
    let pia = shop.desk_and_bench();
    let order = shop.checked_in(&trumpet());
    pia.does_at_counter(&order, &visit(json!({}))).done();
    let now = shop.look_at(&order);
    let because: Vec<String> = now.way().into_iter().map(|(_, _, because)| because).collect();
    assert_eq!(because, ["checked_in", "examination_begins", "covered_beforehand", "bench_done", "tests_passed", "collected"]);
    assert_eq!(now["tests"].as_array().unwrap().len(), 1);
    assert_eq!(now["money"], json!({"total": eur("12.00"), "examination_fee": null, "paid": eur("12.00"), "waived": eur("0.00"), "due": eur("0.00")}));
    let mail = shop.mail_has_gone();
    let letters = mail.to("otto@player.example");
    assert_eq!(letters.len(), 2, "the receipt, and one letter for the visit");
    letters[1].says("Pull the mouthpiece").says("€12.00");
    // The changes without a letter of their own say why.
    let kept_back: Vec<&Value> = now.letters().iter().filter(|letter| letter["state"] == "not_wanted").collect();
    assert_eq!(kept_back.len(), 4);
    assert!(kept_back.iter().all(|letter| letter["state_reason"].as_str().unwrap().contains("done at the counter")));
}

#[test]
fn it_is_done_by_somebody_who_is_both_front_desk_and_technician() {
    let shop = TestShop::open();
    let order = shop.checked_in(&trumpet());
    shop.front_desk().does_at_counter(&order, &visit(json!({}))).refused(403, "not-yours");
    shop.technician().does_at_counter(&order, &visit(json!({}))).refused(403, "not-yours");
    assert_eq!(shop.look_at(&order).version(), order.version());
}

#[test]
fn nothing_is_kept_of_a_visit_that_stops_half_way() {
    let shop = TestShop::open();
    let pia = shop.desk_and_bench();
    let order = shop.checked_in(&trumpet());
    let handover = |more: Value| {
        let mut whole = visit(json!({}))["handover"].clone();
        for (name, value) in more.as_object().unwrap() {
            whole[name] = value.clone();
        }
        whole
    };
    let irreversible = json!([{"title": "Buff the bell", "price": eur("12.00"), "irreversible": true}]);
    for (refused, slug, status) in [
        (visit(json!({"operations": irreversible})), "irreversible-needs-name", 409),
        (visit(json!({"operations": []})), "invalid-input", 422),
        (visit(json!({"test": {"kind": "play_test", "verdict": "passed"}})), "test-missing", 409),
        (visit(json!({"test": {"kind": "leak_test", "verdict": "failed"}})), "invalid-input", 422),
        // Neither paid nor within what was allowed at the counter.
        (visit(json!({"handover": handover(json!({"payment": {"amount": eur("11.99"), "how": "cash"}}))})), "over-authorised", 409),
        (visit(json!({"handover": handover(json!({"accessories_returned": ["case"]}))})), "accessories", 409),
    ] {
        pia.does_at_counter(&order, &refused).refused(status, slug);
    }
    let now = shop.look_at(&order);
    assert_eq!(now.version(), order.version());
    assert_eq!((now.stage(), now.operations().len(), now.quotes().len(), &now["payments"]), ("intake", 0, 0, &json!([])));

    // Allowed at check-in, it may be charged to the account.
    let allowed = shop.checked_in(&trumpet().may_cost("20.00"));
    let charged = handover(json!({"payment": null, "charge_to_account": true}));
    pia.does_at_counter(&allowed, &visit(json!({"handover": charged}))).done();
    assert_eq!(shop.look_at(&allowed)["payments"][0]["how"], "account");
    pia.does_at_counter(&allowed, &visit(json!({}))).refused(409, "not-at-the-counter");
}
