//! The wish to end: recorded at once, stops every start but putting together, and becomes a move
//! when nothing is apart (DOMAIN.md, "Ready to hand over").

use harness::people::eur;
use harness::{Order, TestShop, baritone, line, step};
use serde_json::{Value, json};

#[test]
fn an_order_is_withdrawn_at_once_while_nothing_is_apart() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let made: [fn(&TestShop) -> Order; 5] = [
        |shop| shop.checked_in(&baritone()),
        |shop| shop.in_diagnosis(&baritone()),
        |shop| shop.in_approval(&baritone()),
        |shop| shop.on_the_bench(&baritone()),
        |shop| shop.in_leak_test(&baritone()),
    ];
    for (make, charged) in made.iter().zip(["0.00", "0.00", "0.00", "0.00", "140.00"]) {
        let order = make(&shop);
        greta.ends(&order, "withdrawn", Some("sold it")).done();
        let now = shop.look_at(&order);
        let last = now.way().pop().unwrap();
        assert_eq!(last, (order.stage().to_owned(), "pickup".to_owned(), "withdrawn".to_owned()));
        assert_eq!(now["money"]["due"], eur(charged), "work done and accepted is charged, from {}", order.stage());
        assert!(now.quotes().iter().all(|quote| quote["state"] != "sent"));
    }
}

#[test]
fn the_owner_who_never_answers_ends_an_order_from_the_examination_or_from_approval() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    // Whom nobody asked cannot have failed to answer.
    greta.ends(shop.in_diagnosis(&baritone()), "unanswered", None).refused(409, "never-asked");
    let (asked, run_out) = (shop.in_approval(&baritone()), shop.in_approval(&baritone()));
    let first = shop.clock().in_days(7);
    greta.ends(&asked, "unanswered", None).refused(409, "reminders-first").saying(&first);
    assert!(greta.look_at(&asked).may("pickup", "unanswered").unwrap_err().contains(&first));
    shop.days_pass(7);
    greta.ends(&asked, "unanswered", None).refused(409, "reminders-first").saying(&shop.clock().in_days(7));
    shop.days_pass(7);
    assert_eq!(greta.look_at(&asked).may("pickup", "unanswered"), Ok(()));
    greta.ends(&asked, "unanswered", None).done();
    assert_eq!(shop.look_at(&asked).last_because(), "unanswered");
    // A day later the other quote's time is over, and its order is back in the examination.
    shop.days_pass(1);
    assert_eq!(shop.look_at(&run_out).stage(), "diagnosis");
    greta.ends(&run_out, "unanswered", None).done();
    assert_eq!(shop.look_at(&run_out).last_because(), "unanswered");
    let bench = shop.on_the_bench(&baritone());
    greta.ends(&bench, "unanswered", None).refused(409, "no-such-move");
    greta.ends(&bench, "declined", None).refused(422, "invalid-input");
}

#[test]
fn what_cannot_be_repaired_ends_from_the_examination_the_bench_or_the_leak_test() {
    let shop = TestShop::open();
    let mara = shop.technician();
    for order in [shop.in_diagnosis(&baritone()), shop.on_the_bench(&baritone()), shop.in_leak_test(&baritone())] {
        mara.ends(&order, "not_repairable", Some("the tube is paper-thin")).done();
        assert_eq!(shop.look_at(&order).last_because(), "not_repairable");
    }
    for order in [shop.checked_in(&baritone()), shop.in_approval(&baritone())] {
        mara.ends(&order, "not_repairable", Some("the tube is paper-thin")).refused(409, "no-such-move");
    }
}

/// On the bench, with the valves out.
fn taken_apart(shop: &TestShop) -> Order {
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    mara.does(&mara.plans(&order, &step("Take the valves out", "0.00").taking_apart()).done());
    mara.look_at(order)
}

#[test]
fn an_end_with_something_apart_waits_until_a_technician_has_put_it_together() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = taken_apart(&shop);
    let later = mara.plans(&order, &step("Clean the valves", "0.00")).done();
    mara.starts(order.operation("Braze the crack")).done();
    greta.ends(&order, "withdrawn", Some("sold it")).done();

    let now = shop.look_at(&order);
    assert_eq!((now.stage(), now.waits_for()), ("bench", "shop"));
    assert_eq!(now["waiting_words"], "To end: put together and confirm");
    assert_eq!((&now["ending"]["because"], &now["ending"]["awaits_confirmation"]), (&json!("withdrawn"), &json!(true)));
    let brazing = now.operation("Braze the crack");
    assert_eq!((&brazing["state"], &brazing["to_check"]), (&json!("paused"), &json!(true)), "a running clock is stopped, to be checked");
    assert_eq!(now.operation("Clean the valves")["state"], "struck", "what was not begun will not be");

    // Nothing starts any more, nothing is sent or answered, and no other way is open.
    mara.starts(brazing).refused(409, "ending");
    mara.starts(&later).refused(409, "struck");
    mara.moves(&order, "leak_test", "bench_done", None).refused(409, "ending");
    let extra = mara.plans(&order, &step("Polish", "900.00")).done();
    mara.starts(&extra).refused(409, "ending");
    let draft = mara.drafts(&order, &[line(&extra)]).done();
    mara.sends(&order, &draft).refused(409, "ending");
    greta.records_dispute(&now.quote("answered")["decision"]).refused(409, "work-begun");

    mara.confirms_ending(&order).refused(409, "apart");
    let together = mara.plans(&order, &step("Put the valves in", "0.00").putting_together()).done();
    mara.does(&together);
    greta.confirms_ending(&order).refused(403, "not-yours");
    mara.confirms_ending(&order).done();
    let now = shop.look_at(&order);
    assert_eq!(now.way().pop().unwrap(), ("bench".to_owned(), "pickup".to_owned(), "withdrawn".to_owned()));
    assert_eq!(now["stage_changes"].as_array().unwrap().last().unwrap()["reason"], "sold it");
    mara.confirms_ending(&order).refused(409, "no-such-move");
}

#[test]
fn a_wish_to_end_is_taken_back_before_it_is_confirmed() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = taken_apart(&shop);
    greta.takes_ending_back(&order).refused(409, "not-ending");
    mara.confirms_ending(&order).refused(409, "not-ending");
    greta.ends(&order, "withdrawn", Some("sold it")).done();
    greta.takes_ending_back(&order).done();
    let now = shop.look_at(&order);
    assert_eq!((now.stage(), &now["ending"]), ("bench", &Value::Null));

    let ended = shop.checked_in(&baritone());
    greta.ends(&ended, "withdrawn", Some("sold it")).done();
    greta.takes_ending_back(&ended).refused(409, "ended").saying("Reopen");
}

#[test]
fn a_recorded_end_is_not_replaced_by_another() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = taken_apart(&shop);
    greta.ends(&order, "withdrawn", Some("sold it")).done();
    mara.ends(&order, "not_repairable", Some("hopeless")).refused(409, "ending");
    assert_eq!(shop.look_at(&order)["ending"]["reason"], "sold it");
}

/// In approval with something apart and nothing accepted: an acceptance was called a mistake
/// after the valves had been taken out for the work.
fn apart_in_approval(shop: &TestShop) -> Order {
    let greta = shop.front_desk();
    let order = taken_apart(shop);
    greta.records_dispute(&order.quote("answered")["decision"]).done();
    let now = shop.look_at(&order);
    assert_eq!(now.stage(), "approval");
    now
}

#[test]
fn an_order_that_is_to_end_goes_nowhere_else_meanwhile() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = apart_in_approval(&shop);
    greta.ends(&order, "withdrawn", Some("sold it")).done();
    assert_eq!(shop.look_at(&order).stage(), "approval");
    // Taken back by the shop, it would be in a stage from which this end does not lead.
    mara.moves(&order, "diagnosis", "recalled", Some("wrong horn")).refused(409, "ending");
    let draft = mara.drafts(&order, &[line(order.operation("Braze the crack"))]);
    if draft.status < 300 {
        mara.sends(&order, &draft.done()).refused(409, "ending");
    }
    let together = mara.plans(&order, &step("Put the valves in", "0.00").putting_together()).done();
    mara.does(&together);
    mara.confirms_ending(&order).done();
    assert_eq!(shop.look_at(&order).last_because(), "withdrawn");
}

#[test]
fn what_is_called_a_mistake_cannot_be_disputed_while_the_order_is_to_end() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = taken_apart(&shop);
    mara.ends(&order, "not_repairable", Some("the tube is paper-thin")).done();
    // From approval this end would lead nowhere.
    greta.records_dispute(&order.quote("answered")["decision"]).refused(409, "ending");
    let together = mara.plans(&order, &step("Put the valves in", "0.00").putting_together()).done();
    mara.does(&together);
    mara.confirms_ending(&order).done();
    assert_eq!(shop.look_at(&order).last_because(), "not_repairable");
}

#[test]
fn rule_4_an_order_on_which_repair_was_begun_reaches_pickup_tested_overridden_or_with_the_reason_why_not() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.on_the_bench(&baritone());
    mara.starts(order.operation("Braze the crack")).done();
    mara.pauses(order.operation("Braze the crack")).done();
    // Neither "nothing to do" nor a pass recorded on the bench leads there.
    mara.passes_leak_test(&order).refused(409, "not-in-leak-test");
    mara.moves(&order, "pickup", "nothing_to_do", Some("fine")).refused(409, "no-such-move");
    greta.ends(&order, "withdrawn", None).refused(409, "reason-missing");
    greta.ends(&order, "withdrawn", Some("sold it")).done();
    let now = shop.look_at(&order);
    assert_eq!(now.last_because(), "withdrawn");
    // The letter of the end says what was not tested, and why.
    let mail = shop.mail_has_gone().letter("otto@player.example", "baritone");
    mail.says("Sold it");
    mail.says("Not tested, because");
}

#[test]
fn whoever_called_their_acceptance_a_mistake_may_decline() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.on_the_bench(&baritone());
    greta.records_dispute(&order.quote("answered")["decision"]).done();
    // The acceptance is revoked and nothing was begun on it: the same quote is answered anew.
    greta.records_answer(order.quote("answered"), "declined", &json!({})).done();
    assert_eq!(shop.look_at(&order).last_because(), "declined");
}
