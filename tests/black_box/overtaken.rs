//! Quotes that time or an answer has overtaken, and quotes with nothing but what is to be ticked.

use harness::people::eur;
use harness::{TestShop, baritone, line, step};
use serde_json::json;

#[test]
fn a_quote_with_nothing_but_a_step_that_cannot_be_undone_is_sent_and_answered() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.in_diagnosis(&baritone());
    let strip = mara.plans(&order, &step("Strip the lacquer", "90.00").irreversible()).done();
    let draft = mara.drafts(&order, &[line(&strip)]).done();
    mara.sends(&order, &draft).done();
    let sent = shop.look_at(&order);
    let ticked = json!({"accepted_by_name": [strip["id"]]});
    greta.records_answer(sent.quote("sent"), "accepted", &ticked).done();
    mara.does(&strip);
}

#[test]
fn rule_3_a_draft_that_an_answer_has_overtaken_is_saved_again_before_it_is_sent() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.in_approval(&baritone());
    let dents = mara.plans(&order, &step("Dress the dents", "500.00")).done();
    let draft = mara.drafts(&order, &[line(&dents)]).done();
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).done();
    mara.sends(&order, &draft).refused(409, "draft-outdated");
    let path = format!("/quotes/{}", draft["id"].as_str().unwrap());
    let again = json!({"lines": [line(&dents)]});
    let saved = mara.request("PUT", &path).seen(draft["version"].as_i64().unwrap()).body(&again).send().done();
    assert_eq!(saved["lines"].as_array().unwrap().len(), 2, "with the line accepted meanwhile");
    mara.sends(&order, &saved).done();
}

#[test]
fn a_question_ends_when_the_extra_is_taken_back() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.on_the_bench(&baritone());
    let dents = mara.plans(&order, &step("Dress the dents", "500.00")).done();
    let draft = mara.drafts(&order, &[line(&dents)]).done();
    mara.sends(&order, &draft).done();
    let asked = shop.look_at(&order);
    greta.records_answer(asked.quote("sent"), "questions", &json!({"question": "Is it needed?"})).done();
    assert_eq!(shop.look_at(&order).waits_for(), "shop");
    mara.moves(&order, "bench", "recalled", Some("it is not")).done();
    assert!(shop.look_at(&order)["open_question"].is_null());
}

#[test]
fn a_paused_step_is_not_called_done_once_the_order_has_ended() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.on_the_bench(&baritone());
    let braze = order.operation("Braze the crack");
    mara.starts(braze).done();
    mara.pauses(braze).done();
    greta.ends(&order, "withdrawn", Some("sold it")).done();
    mara.finishes(braze).refused(409, "not-on-the-bench");
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("0.00"));
}

#[test]
fn two_mutes_are_two_accessories() {
    let shop = TestShop::open();
    let order = shop.in_pickup(&baritone().with("accessories", json!(["mute", "mute"])));
    let greta = shop.front_desk();
    let due = shop.look_at(&order)["money"]["due"].clone();
    let handover = |names: &[&str]| {
        json!({"how": "collected", "collected_by": "Otto Brenner", "accessories_returned": names,
               "payment": {"amount": due, "how": "cash"}})
    };
    greta.hands_over(&order, &handover(&["mute"])).refused(409, "accessories");
    greta.hands_over(&order, &handover(&["mute", "mute"])).done();
}
