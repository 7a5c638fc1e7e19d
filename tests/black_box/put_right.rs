//! What was written at the check-in is put right, and what was paid by mistake is struck.

use harness::people::eur;
use harness::{Answer, Order, Person, TestShop, baritone};
use serde_json::{Value, json};
use std::time::Duration;

const OTTO: &str = "otto@player.example";

trait PutsRight {
    fn puts_right(&self, order: &Order, change: &Value) -> Answer;
    fn pays(&self, order: &Order, payment: &Value) -> Answer;
    fn strikes(&self, payment: &Value, reason: &str) -> Answer;
}

impl PutsRight for Person {
    fn puts_right(&self, order: &Order, change: &Value) -> Answer {
        let version = self.look_at(order).version();
        self.request("PATCH", &format!("/work-orders/{order}")).seen(version).body(change).send()
    }

    fn pays(&self, order: &Order, payment: &Value) -> Answer {
        self.post(&format!("/work-orders/{order}/payments"), payment)
    }

    fn strikes(&self, payment: &Value, reason: &str) -> Answer {
        self.post(&format!("/payments/{}/strike", payment["id"].as_str().unwrap()), &json!({"reason": reason}))
    }
}

#[test]
fn a_date_that_moves_is_told_to_the_customer_with_the_reason_and_stays_in_the_history() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.checked_in(&baritone());
    let changes = shop.technician().follow(None);
    let moved = greta
        .puts_right(&order, &json!({"promised_on": "2026-06-05", "moved_because": "the new ferrule comes a week later"}))
        .done();
    assert_eq!((&moved["promised_on"], moved["version"].as_i64()), (&json!("2026-06-05"), Some(order.version() + 1)));
    // The board hears of it, and so does whoever looks later.
    let told = changes.of(order.id(), "order_amended");
    assert_eq!(told.data["words"], "planned for Friday 5 June");
    let history = &moved["changes"][0];
    assert_eq!(
        (&history["changes"], &history["reason"], &history["by"]),
        (
            &json!([{"field": "promised_on", "before": "2026-05-29", "after": "2026-06-05"}]),
            &json!("the new ferrule comes a week later"),
            &json!(greta.name())
        )
    );
    let audited = shop.database().count("SELECT count(*) AS n FROM audit WHERE act = 'order_amended' AND by_person IS NOT NULL");
    assert_eq!(audited, 1);
    // In the same transaction the customer's letter, in words of theirs.
    let letters: Vec<&str> = moved["letters"].as_array().unwrap().iter().map(|l| l["kind"].as_str().unwrap()).collect();
    assert_eq!(letters, ["checked_in", "date_moved"]);
    let mail = shop.mail_has_gone().to(OTTO).pop().unwrap();
    mail.says("planned for Friday 5 June now, instead of Friday 29 May").says("The new ferrule comes a week later.");
    assert!(mail.link("status").is_some() && mail.subject.contains("planned for 5"), "{}", mail.subject);
    // The same date again moves nothing and writes nothing.
    let again = greta.puts_right(&order, &json!({"promised_on": "2026-06-05"})).done();
    assert_eq!((&again["version"], again["letters"].as_array().unwrap().len()), (&moved["version"], 2));
    assert!(changes.within(Duration::from_millis(300)).is_none_or(|change| change.data["kind"] == "letter"));
}

#[test]
fn who_wants_mail_only_when_asked_is_not_written_to_of_a_date_and_the_record_says_so() {
    let shop = TestShop::open();
    let quiet = json!({"name": "Otto Brenner", "email": OTTO, "mail_wanted": "only_when_asked"});
    let order = shop.checked_in(&baritone().with("customer", quiet));
    let moved = shop.front_desk().puts_right(&order, &json!({"promised_on": "2026-06-05"})).done();
    let letter = &moved["letters"][1];
    assert_eq!((&letter["kind"], &letter["state"]), (&json!("date_moved"), &json!("not_wanted")));
    assert_eq!(shop.mail_has_gone().to(OTTO).len(), 1, "the receipt alone");
}

#[test]
fn a_date_few_would_keep_asks_why_as_at_the_check_in_and_no_promise_is_taken_away() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone());
    shop.a_forecast_is_made();
    let refused = greta.puts_right(&order, &json!({"promised_on": "2026-05-13"})).refused(422, "invalid-input");
    assert_eq!(refused.pointers(), ["/promise_reason"]);
    let hurried = json!({"promised_on": "2026-05-13", "promise_reason": "Needed for a concert"});
    let moved = greta.puts_right(&order, &hurried).done();
    assert_eq!((&moved["promised_on"], &moved["promise_reason"]), (&json!("2026-05-13"), &json!("Needed for a concert")));
    // The reason for that date is none for the next one.
    let later = greta.puts_right(&order, &json!({"promised_on": "2026-07-31"})).done();
    assert_eq!(later["promise_reason"], Value::Null);
    for (bad, pointer) in [
        (json!({"promised_on": null}), "/promised_on"),
        (json!({"promised_on": "2020-01-01"}), "/promised_on"),
        (json!({"complaint": "  "}), "/complaint"),
        (json!({"may_cost": eur("500.00")}), "/may_cost"),
    ] {
        assert_eq!(greta.puts_right(&order, &bad).refused(422, "invalid-input").pointers(), [pointer], "{bad}");
    }
    assert_eq!(shop.look_at(&order).version(), later["version"].as_i64().unwrap());
    shop.mail_has_gone();
}

#[test]
fn the_place_is_everybodys_to_say_and_the_rest_is_the_desks() {
    let shop = TestShop::open();
    let (greta, mara) = (shop.front_desk(), shop.technician());
    let order = shop.checked_in(&baritone());
    let hung = mara.puts_right(&order, &json!({"place": " Bench 1 "})).done();
    assert_eq!(hung["place"], "Bench 1");
    mara.puts_right(&order, &json!({"place": "Rack A", "complaint": "It hisses."})).refused(403, "not-yours");
    let all = json!({
        "complaint": "It hisses and rattles.", "condition_note": "", "keep_as_is": "the engraving",
        "accessories": ["case", "mouthpiece", "lyre"], "loaner_number": "7", "old_parts_back": true,
    });
    let now = greta.puts_right(&order, &all).done();
    assert_eq!((&now["complaint"], &now["condition_note"], &now["keep_as_is"]), (&all["complaint"], &Value::Null, &all["keep_as_is"]));
    assert_eq!((&now["loaner_number"], &now["old_parts_back"], &now["place"]), (&json!("7"), &json!(true), &json!("Bench 1")));
    let names: Vec<&Value> = now["accessories"].as_array().unwrap().iter().map(|a| &a["name"]).collect();
    assert_eq!(json!(names), all["accessories"]);
    let fields: Vec<&str> = now["changes"][1]["changes"].as_array().unwrap().iter().map(|c| c["field"].as_str().unwrap()).collect();
    assert_eq!(fields, ["complaint", "condition_note", "keep_as_is", "accessories", "loaner_number", "old_parts_back"]);
    // Nobody is written to of any of that.
    assert_eq!(now["letters"].as_array().unwrap().len(), 1);
}

#[test]
fn what_was_changed_meanwhile_stands_beside_what_was_typed() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.checked_in(&baritone());
    let mut version = order.version();
    shop.technician().puts_right(&order, &json!({"place": "Bench 1"})).done();
    let path = format!("/work-orders/{}", order.claim_number());
    let late = json!({"place": "Rack B", "accessories": ["case", "mouthpiece"]});
    let stale = greta.request("PATCH", &path).seen(version).body(&late).send().refused(412, "stale");
    assert_eq!(stale.body["differences"], json!([{"field": "place", "yours": "Rack B", "theirs": "Bench 1"}]));
    version = stale.body["current_version"].as_i64().unwrap();
    assert_eq!(greta.request("PATCH", &path).seen(version).body(&late).send().done()["place"], "Rack B");
    greta.request("PATCH", &path).body(&late).send().refused(428, "precondition-missing");
}

#[test]
fn a_fee_told_at_the_check_in_is_lowered_or_left_out_and_never_raised() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.checked_in(&baritone().examined_for("25.00"));
    let raised = greta.puts_right(&order, &json!({"examination_fee": eur("26.00")})).refused(422, "invalid-input");
    assert_eq!(raised.pointers(), ["/examination_fee"]);
    assert_eq!(greta.puts_right(&order, &json!({"examination_fee": eur("20.00")})).done()["examination_fee"], eur("20.00"));
    assert_eq!(greta.puts_right(&order, &json!({"examination_fee": null})).done()["examination_fee"], Value::Null);
    let again = greta.puts_right(&order, &json!({"examination_fee": eur("1.00")})).refused(422, "invalid-input");
    assert_eq!(again.pointers(), ["/examination_fee"]);
}

#[test]
fn an_order_is_handed_over_when_the_loaner_is_back_and_then_stands_as_it_is() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_pickup(&baritone().without_accessories().with("loaner_number", json!("7")));
    greta.puts_right(&order, &json!({"promised_on": "2026-07-31"})).refused(409, "ready-already");
    let handover = |more: Value| {
        let mut body = json!({"how": "collected", "collected_by": "Otto Brenner", "payment": {"amount": order["money"]["due"], "how": "cash"}});
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        body
    };
    greta.hands_over(&order, &handover(json!({}))).refused(409, "loaner").saying("7");
    let closed = greta.hands_over(&order, &handover(json!({"loaner_returned": true}))).done();
    assert!(closed["loaner_back_at"].is_string(), "{}", closed["loaner_back_at"]);
    greta.puts_right(&order, &json!({"place": "Rack A"})).refused(409, "closed");
    // Who never had one cannot bring it back.
    let other = shop.in_pickup(&baritone().without_accessories().with("instrument", json!({"family": "baritone", "serial_number": "2"})));
    let back = greta.hands_over(&other, &handover(json!({"loaner_returned": true}))).refused(422, "invalid-input");
    assert_eq!(back.pointers(), ["/loaner_returned"]);
}

#[test]
fn a_payment_struck_with_its_reason_does_not_count_and_is_not_gone() {
    let shop = TestShop::open();
    let (greta, mara) = (shop.front_desk(), shop.technician());
    let order = shop.in_pickup(&baritone().without_accessories());
    assert_eq!(order["money"]["due"], eur("140.00"));
    let paid = greta.pays(&order, &json!({"amount": eur("100.00"), "kind": "balance", "how": "card"})).done();
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("40.00"));
    mara.strikes(&paid, "typed on the wrong order").refused(403, "not-yours");
    assert_eq!(greta.strikes(&paid, " ").refused(422, "invalid-input").pointers(), ["/reason"]);
    let struck = greta.strikes(&paid, "typed on the wrong order").done();
    assert_eq!((&struck["struck_reason"], &struck["struck_by"]["name"]), (&json!("typed on the wrong order"), &json!(greta.name())));
    let now = shop.look_at(&order);
    assert_eq!((&now["money"]["due"], &now["money"]["paid"], &now["payments"][0]), (&eur("140.00"), &eur("0.00"), &struck));
    assert_eq!(struck["order_version"], json!(now.version()), "whoever looks at the order is told");
    greta.strikes(&paid, "again").refused(409, "struck").saying("typed on the wrong order");
    greta.post("/payments/0190c0de-0000-7000-8000-000000000001/strike", &json!({"reason": "x"})).refused(404, "absent");
}

#[test]
fn a_payment_struck_after_the_handover_leaves_what_is_due_to_be_paid() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.collected(&baritone().without_accessories());
    let more = json!({"amount": eur("140.00"), "kind": "balance", "how": "card"});
    greta.pays(&order, &more).refused(409, "closed");
    let first = order["payments"][0].clone();
    greta.strikes(&first, "it was the card, not cash").done();
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("140.00"));
    greta.pays(&order, &more).done();
    let now = shop.look_at(&order);
    assert_eq!((&now["money"]["due"], &now["money"]["paid"], now.stage()), (&eur("0.00"), &eur("140.00"), "closed"));
}

#[test]
fn more_than_is_due_is_taken_only_when_it_is_meant() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_pickup(&baritone().without_accessories());
    let balance = json!({"amount": eur("140.01"), "kind": "balance", "how": "cash"});
    let refused = greta.pays(&order, &balance).refused(422, "invalid-input");
    assert_eq!(refused.pointers(), ["/amount/amount"]);
    let handover = json!({"how": "collected", "collected_by": "Otto Brenner", "payment": {"amount": eur("150.00"), "how": "cash"}});
    let refused = greta.hands_over(&order, &handover).refused(422, "invalid-input");
    assert_eq!(refused.pointers(), ["/payment/amount/amount"]);
    let mut meant = balance.clone();
    meant["more_than_due"] = json!(true);
    greta.pays(&order, &meant).done();
    // A deposit comes before anything is due, so nothing is asked of it.
    let early = shop.checked_in(&baritone().with("instrument", json!({"family": "horn"})));
    greta.takes_payment(&early, "50.00").done();
}

#[test]
fn what_is_given_back_says_why_and_is_never_more_than_was_paid() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_pickup(&baritone().without_accessories());
    let paid = greta.pays(&order, &json!({"amount": eur("140.00"), "kind": "balance", "how": "cash"})).done();
    let back = |amount: &str, more: Value| {
        let mut body = json!({"amount": eur(amount), "kind": "balance", "how": "cash"});
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        greta.pays(&order, &body)
    };
    assert_eq!(back("-20.00", json!({})).refused(422, "invalid-input").pointers(), ["/note"]);
    let too_much = back("-140.01", json!({"note": "goodwill"})).refused(422, "invalid-input");
    assert_eq!(too_much.pointers(), ["/amount/amount"]);
    assert_eq!(back("0.00", json!({})).refused(422, "invalid-input").pointers(), ["/amount/amount"]);
    let given = back("-20.00", json!({"note": "charged twice for the cork"})).done();
    let now = shop.look_at(&order);
    assert_eq!((&now["money"]["paid"], &now["money"]["due"]), (&eur("120.00"), &eur("20.00")));
    // What was given back came out of what was paid: that stands first.
    greta.strikes(&paid, "wrong").refused(409, "given-back");
    greta.strikes(&given, "it was not given back after all").done();
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("0.00"));
}
