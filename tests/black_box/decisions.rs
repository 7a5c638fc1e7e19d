//! Rule 3: a decision is bound to one exact quote version.

use harness::{Order, TestShop, baritone, line};
use serde_json::json;

fn newer_quote(shop: &TestShop, order: &Order) -> Order {
    let mara = shop.technician();
    let lines = [line(order.operation("Braze the crack"))];
    let draft = mara.drafts_quote(order, &json!({"message": "Once more.", "lines": lines})).done();
    mara.sends(order, &draft).done();
    shop.look_at(order)
}

#[test]
fn rule_3_a_version_that_is_not_the_one_that_went_out_is_refused() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone());
    let quote = order.quote("sent");
    let altered = json!({"content_hash": "0".repeat(64)});
    greta.records_answer(quote, "accepted", &altered).refused(409, "quote-altered").saying("current one");
    greta.records_answer(quote, "accepted", &json!({"quote_version": 2})).refused(409, "quote-altered");
    let draft = shop.with_a_draft(&baritone());
    greta.records_answer(draft.quote("draft"), "accepted", &json!({"content_hash": "x"})).refused(409, "quote-altered");
    let nowhere = format!("/quotes/{}/decisions", uuid::Uuid::now_v7());
    let whole = json!({"quote_version": 1, "content_hash": "x", "answer": "accepted", "how": "phone", "typed_name": "Otto"});
    greta.post(&nowhere, &whole).refused(404, "absent");
    assert_eq!(shop.look_at(&order).version(), order.version());
}

#[test]
fn rule_3_what_was_sent_cannot_be_altered_any_more() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_approval(&baritone());
    let quote = order.quote("sent");
    let path = format!("/quotes/{}", quote["id"].as_str().unwrap());
    let version = quote["version"].as_i64().unwrap();
    mara.request("PUT", &path).seen(version).body(&json!({"lines": []})).send().refused(409, "not-a-draft");
    mara.request("DELETE", &path).seen(version).send().refused(409, "not-a-draft");
    assert_eq!(shop.look_at(&order).quote("sent")["content_hash"], quote["content_hash"]);
}

#[test]
fn rule_3_a_superseded_version_is_refused_whatever_is_answered() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone());
    let now = newer_quote(&shop, &order);
    for answer in ["accepted", "declined", "questions"] {
        let ask = json!({"question": "Why?"});
        let more = if answer == "questions" { &ask } else { &json!({}) };
        greta.records_answer(order.quote("sent"), answer, more).refused(409, "quote-superseded");
    }
    greta.records_answer(now.quote("sent"), "accepted", &json!({})).done();
    // A newer one exists and was answered: the old one stays refused.
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).refused(409, "quote-superseded");
}

#[test]
fn rule_3_deciding_twice_the_same_way_is_harmless_and_the_other_way_is_refused_with_who_how_and_when() {
    let shop = TestShop::open();
    let (greta, ines) = (shop.front_desk(), shop.proprietor());
    let order = shop.in_approval(&baritone());
    let quote = order.quote("sent");
    let first = greta.records_answer(quote, "accepted", &json!({"how": "in_person"})).done();
    let now = shop.look_at(&order);
    let again = ines.records_answer(quote, "accepted", &json!({"typed_name": "Otto B."})).done();
    assert_eq!(again["id"], first["id"], "the decision that stands");
    assert_eq!(shop.look_at(&order).way(), now.way());
    assert_eq!(shop.look_at(&order).letters().len(), now.letters().len(), "no second letter");
    let refusal = greta.records_answer(quote, "declined", &json!({})).refused(409, "already-decided");
    for words in ["Otto Brenner", "accepted", "at the counter", "2026-05-12"] {
        assert!(refusal.words().contains(words), "{words:?} in {:?}", refusal.words());
    }

    let order = shop.in_approval(&baritone());
    greta.records_answer(order.quote("sent"), "declined", &json!({})).done();
    greta.records_answer(order.quote("sent"), "declined", &json!({})).done();
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).refused(409, "already-decided").saying("declined");
}

#[test]
fn rule_3_a_decision_says_who_and_chooses_only_what_stands_in_its_version() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone());
    let quote = order.quote("sent");
    let cases = [
        json!({"typed_name": " "}),
        json!({"how": "link"}),
        json!({"how": "beforehand"}),
        json!({"chosen_lines": [uuid::Uuid::now_v7()]}),
        // A line that is not optional is not chosen.
        json!({"chosen_lines": [quote["lines"][0]["id"]]}),
        json!({"accepted_by_name": [order.operations()[0]["id"]]}),
        json!({"unknown": true}),
    ];
    for case in &cases {
        greta.records_answer(quote, "accepted", case).refused(422, "invalid-input");
    }
    assert_eq!(shop.look_at(&order).version(), order.version());
}

#[test]
fn rule_3_two_answers_at_once_are_one_decision() {
    let shop = TestShop::opening().with_connections(8).open();
    for round in 0..10 {
        let order = shop.in_approval(&baritone());
        let start = std::sync::Barrier::new(2);
        let (greta, ines) = (shop.front_desk(), shop.proprietor());
        let say = |person: &harness::Person, answer: &str| {
            start.wait();
            person.records_answer(order.quote("sent"), answer, &json!({}))
        };
        let mut statuses = std::thread::scope(|threads| {
            let (yes, no) = (threads.spawn(|| say(&greta, "accepted")), threads.spawn(|| say(&ines, "declined")));
            [yes.join().unwrap().status, no.join().unwrap().status]
        });
        statuses.sort_unstable();
        assert_eq!(statuses, [201, 409], "round {round}");
        let now = shop.look_at(&order);
        assert!(["accepted", "declined"].contains(&now.last_because().as_str()));
        assert_eq!(shop.database().count("SELECT count(*) AS n FROM decisions"), round + 1);
    }
}
