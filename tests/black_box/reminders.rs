//! Reminders: of a quote that waits for its owner, of an instrument that waits to be collected.

use harness::{Order, TestShop, baritone, crack};
use serde_json::json;

/// The letters of this kind on an order, with their states.
fn of_kind(order: &Order, kind: &str) -> Vec<String> {
    order.letters().iter().filter(|l| l["kind"] == kind).map(|l| l["state"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn the_owner_is_reminded_of_a_quote_after_a_week_and_on_its_last_day_once_each() {
    let shop = TestShop::open();
    let order = shop.in_approval(&baritone().owned_by_a_school());
    let reminded = || of_kind(&shop.look_at(&order), "answer_reminder").len();
    shop.days_pass(6);
    assert_eq!(reminded(), 0);
    shop.days_pass(1);
    assert_eq!(reminded(), 1);
    // However often the hour strikes, wherever.
    let another = shop.another_server();
    for _ in 0..3 {
        shop.an_hour_strikes();
        harness::runtime().block_on(rounds::hours::once(another.acts()));
    }
    assert_eq!(reminded(), 1);
    shop.days_pass(7);
    assert_eq!(reminded(), 2);
    shop.days_pass(1);
    assert_eq!(reminded(), 2, "what ran out is not reminded of");
    assert_eq!(shop.look_at(&order).stage(), "diagnosis");
    let mail = shop.mail_has_gone().to("office@school.example");
    let reminder = mail.iter().find(|letter| letter.subject.contains("still wait for your answer")).unwrap();
    reminder.says("waits for your answer").says("140.00").says("26 May");
    assert!(reminder.link("answer").is_some(), "it can be answered from the reminder");
}

#[test]
fn a_server_that_was_away_catches_up_one_a_day() {
    let shop = TestShop::open();
    let order = shop.in_approval(&baritone());
    shop.days_pass(14);
    shop.an_hour_strikes();
    assert_eq!(of_kind(&shop.look_at(&order), "answer_reminder").len(), 1, "never two on one day");
}

#[test]
fn nobody_is_reminded_while_it_is_the_shops_turn() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let asked = shop.in_approval(&baritone());
    let held = shop.in_approval(&baritone());
    greta.records_answer(asked.quote("sent"), "questions", &json!({"question": "What would it sound like?"})).done();
    greta.post(&format!("/work-orders/{held}/holds"), &json!({"reason": "parts", "look_again_on": shop.clock().in_days(7), "supplier": "Reedmouth Supplies", "note": "a ferrule"})).done();
    shop.days_pass(8);
    for order in [&asked, &held] {
        assert!(of_kind(&shop.look_at(order), "answer_reminder").is_empty());
    }
}

#[test]
fn an_instrument_in_pickup_is_written_about_again_on_the_shops_days() {
    let shop = TestShop::open();
    let order = shop.in_pickup(&baritone());
    let without = shop.in_pickup(&baritone().without_email());
    let days = [7, 14, 39, 40];
    for (count, days) in days.into_iter().enumerate() {
        shop.days_pass(days);
        let now = shop.look_at(&order);
        assert_eq!(of_kind(&now, "pickup_reminder").len(), (count + 1).min(3), "after the {count}th wait");
    }
    // Without an address it is a line for the telephone.
    assert_eq!(of_kind(&shop.look_at(&without), "pickup_reminder"), ["not_wanted"; 3]);
    let letter = shop.mail_has_gone().letter("otto@player.example", "still waits for you");
    letter.says("has been ready since").says("come and collect");
    // Once it is collected, nobody writes any more.
    shop.front_desk().hands_over_all(&order).done();
}

#[test]
fn the_shop_says_on_which_days_it_reminds() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let settings = ines.get("/shop").done();
    assert_eq!((&settings["quote_reminder_days"], &settings["pickup_reminder_days"]), (&json!([7, 14]), &json!([7, 21, 60])));
    let amend = |body: serde_json::Value| {
        let version = ines.get("/shop").done()["version"].as_i64().unwrap();
        ines.request("PATCH", "/shop").seen(version).body(&body).send()
    };
    for (bad, at) in [(json!([0]), "/quote_reminder_days/0"), (json!([7, 7]), "/quote_reminder_days/1"), (json!([9, 8]), "/quote_reminder_days/1"), (json!([400]), "/quote_reminder_days/0")] {
        assert_eq!(amend(json!({"quote_reminder_days": bad})).refused(422, "invalid-input").pointers(), [at]);
    }
    assert_eq!(amend(json!({"quote_reminder_days": [2]})).done()["quote_reminder_days"], json!([2]));
    let order = shop.in_approval(&baritone());
    shop.days_pass(2);
    assert_eq!(of_kind(&shop.look_at(&order), "answer_reminder").len(), 1);
    shop.front_desk().ends(&order, "unanswered", None).done();
    // A shop that reminds nobody needs to wait for no reminder.
    amend(json!({"quote_reminder_days": []})).done();
    let order = shop.in_approval(&baritone());
    shop.front_desk().ends(&order, "unanswered", None).done();
}

#[test]
fn a_test_that_fails_somewhere_new_leaves_something_open_on_the_bench() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_leak_test(&baritone());
    let failed = mara.fails_leak_test(&order, &crack("ferrule").undecided()).done();
    let done = || mara.moves(&order, "leak_test", "bench_done", None);
    // Nobody has said what becomes of it.
    done().refused(409, "failure-open").saying("crack, ferrule");
    assert!(mara.look_at(&order).may("leak_test", "bench_done").is_err());
    let pinned = shop.look_at(&order).findings().iter().find(|f| f["id"] == failed["finding_id"]).unwrap().clone();
    mara.amends_finding(&pinned, &json!({"disposition": "repair"})).done();
    // To be repaired, and nothing is planned; planned, and not done.
    done().refused(409, "failure-open");
    let patch = mara.plans(&order, &harness::step("Patch the ferrule", "0.00").answering(&pinned)).done();
    done().refused(409, "failure-open");
    mara.does(&patch);
    done().done();
    // It fails there again: the step is open again.
    mara.tests(&order, &json!({"kind": "leak_test", "verdict": "failed", "finding_id": pinned["id"]})).done();
    done().refused(409, "operation-open");
    mara.does(&patch);
    done().done();
    // Or it is left and watched after all, and the test passes apart from it.
    mara.tests(&order, &json!({"kind": "leak_test", "verdict": "failed", "finding": crack("brace").left_and_watched()})).done();
    done().done();
    let left = shop.look_at(&order).findings().last().unwrap()["id"].clone();
    mara.tests(&order, &json!({"kind": "leak_test", "verdict": "passed", "apart_from": [left]})).done();
    assert_eq!(shop.look_at(&order).stage(), "pickup");
}

#[test]
fn extra_work_that_is_only_offered_can_be_asked_for() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let polish = mara.plans(&order, &harness::step("Polish the bell", "30.00")).done();
    let mut line = harness::line(&polish);
    line["optional"] = json!(true);
    let draft = mara.drafts(&order, &[line]).done();
    mara.sends(&order, &draft).done();
    let now = shop.look_at(&order);
    assert_eq!((now.stage(), now.waits_for()), ("approval", "customer"));
    // The owner does not want it: the work accepted before goes on.
    shop.front_desk().records_answer(now.quote("sent"), "declined", &json!({})).done();
    assert_eq!(shop.look_at(&order).stage(), "bench");
}

#[test]
fn what_the_order_says_of_its_moves_depends_on_who_asks_and_on_what_was_begun() {
    let shop = TestShop::open();
    let (greta, mara) = (shop.front_desk(), shop.technician());
    let order = shop.on_the_bench(&baritone());
    assert_eq!(greta.look_at(&order).may("approval", "acceptance_disputed"), Ok(()));
    assert!(mara.look_at(&order).may("approval", "acceptance_disputed").is_err(), "a technician does not speak for the owner");
    assert_eq!(greta.look_at(&order).may("pickup", "withdrawn"), Ok(()));
    assert!(mara.look_at(&order).may("pickup", "withdrawn").is_err());
    mara.starts(order.operation("Braze the crack")).done();
    assert!(greta.look_at(&order).may("approval", "acceptance_disputed").unwrap_err().contains("Braze the crack"));
    mara.finishes(order.operation("Braze the crack")).done();
    let covered = shop.in_diagnosis(&baritone().may_cost("10.00"));
    assert!(greta.look_at(&covered).may("pickup", "unanswered").is_err());
}
