//! Rule 5: of two people who claim the same, exactly one wins, and the other is told who and when.

use std::sync::Barrier;

use harness::{Answer, Person, TestShop, baritone, step};
use serde_json::json;

fn all_at_once(people: &[Person], act: impl Fn(&Person) -> Answer + Sync) -> Vec<Answer> {
    let start = Barrier::new(people.len());
    std::thread::scope(|threads| {
        let tries: Vec<_> = people
            .iter()
            .map(|person| {
                let (start, act) = (&start, &act);
                threads.spawn(move || {
                    start.wait();
                    act(person)
                })
            })
            .collect();
        tries.into_iter().map(|one| one.join().unwrap()).collect()
    })
}

/// One answer is a win; each of the others names the winner and says since when.
fn one_won(people: &[Person], answers: Vec<Answer>) -> &'static str {
    let winners: Vec<&Person> = people.iter().zip(&answers).filter(|(_, answer)| answer.status == 200).map(|(p, _)| p).collect();
    assert_eq!(winners.len(), 1, "exactly one wins");
    let name = winners[0].name();
    for answer in answers.into_iter().filter(|answer| answer.status != 200) {
        let refusal = answer.refused(409, "already-claimed").saying(name);
        assert_eq!(refusal.body["changed_by"], name);
        assert!(refusal.body["changed_at"].as_str().is_some_and(|at| at.starts_with("2026-05-12T08:")), "{:?}", refusal.body);
    }
    name
}

#[test]
fn rule_5_two_technicians_claim_one_order_and_one_is_told_who_won() {
    let shop = TestShop::opening().with_connections(8).open();
    let another = shop.another_server();
    let people =
        [shop.technician(), shop.second_technician().at(another.address()), shop.desk_and_bench(), shop.proprietor().at(another.address())];
    for _ in 0..15 {
        let order = shop.checked_in(&baritone());
        let version = order.version();
        let answers = all_at_once(&people, |person| {
            person.request("PUT", &format!("/work-orders/{order}/claim")).seen(version).body(&json!({})).send()
        });
        let winner = one_won(&people, answers);
        assert_eq!(shop.look_at(&order)["claimed_by"]["name"], winner);
    }
}

#[test]
fn rule_5_two_technicians_claim_one_step_and_one_is_told_who_won() {
    let shop = TestShop::opening().with_connections(8).open();
    let people = [shop.technician(), shop.second_technician(), shop.desk_and_bench()];
    let order = shop.on_the_bench(&baritone().may_cost("500.00"));
    for n in 0..10 {
        let work = shop.technician().plans(&order, &step(&format!("Step {n}"), "1.00")).done();
        let path = format!("/operations/{}/claim", work["id"].as_str().unwrap());
        let answers = all_at_once(&people, |person| person.request("PUT", &path).seen(1).body(&json!({})).send());
        let winner = one_won(&people, answers);
        for person in people.iter().filter(|person| person.name() != winner) {
            person.starts(&work).refused(409, "already-claimed").saying(winner);
            person.request("DELETE", &path).seen(2).send().refused(409, "already-claimed");
        }
    }
}

#[test]
fn rule_5_a_claim_is_given_back_by_its_holder_or_handed_on_by_the_proprietor() {
    let shop = TestShop::open();
    let (mara, jonas, ines) = (shop.technician(), shop.second_technician(), shop.proprietor());
    let order = shop.on_the_bench(&baritone());
    // Claiming one's own again is harmless.
    mara.claim(&order).done();
    jonas.give_claim_back(&order).refused(403, "not-yours").saying("Mara Voss");
    jonas.hand_claim_to(&order, &jonas, "I want it").refused(403, "not-yours");
    ines.hand_claim_to(&order, &jonas, " ").refused(422, "invalid-input");
    ines.hand_claim_to(&order, &shop.front_desk(), "illness").refused(422, "invalid-input");
    mara.starts(order.operation("Braze the crack")).done();
    ines.hand_claim_to(&order, &jonas, "illness").done();
    let now = shop.look_at(&order);
    assert_eq!(now["claimed_by"]["name"], "Jonas Keller");
    let brazing = now.operation("Braze the crack");
    assert_eq!((&brazing["state"], &brazing["to_check"]), (&json!("paused"), &json!(true)), "a running clock stops, to be checked");
    jonas.starts(brazing).done();
    jonas.give_claim_back(&order).done();
    let now = shop.look_at(&order);
    assert_eq!((&now["claimed_by"], &now.operation("Braze the crack")["state"]), (&serde_json::Value::Null, &json!("paused")));
    mara.claim(&order).done();
    shop.front_desk().claim(shop.checked_in(&baritone())).refused(403, "not-yours");
}

#[test]
fn rule_6_a_step_is_claimed_and_given_back_as_it_was_seen() {
    let shop = TestShop::open();
    let (mara, jonas) = (shop.technician(), shop.second_technician());
    let order = shop.on_the_bench(&baritone());
    let brazing = order.operation("Braze the crack").clone();
    let path = format!("/operations/{}/claim", brazing["id"].as_str().unwrap());
    let claims = |person: &Person, seen: i64| person.request("PUT", &path).seen(seen).send();
    let gives_back = |person: &Person, seen: i64| person.request("DELETE", &path).seen(seen).send();
    let seen = brazing["version"].as_i64().unwrap();
    // Somebody wrote another time beside it meanwhile: that has to be looked at first.
    let amended = jonas.amends_step(&brazing, &json!({"minutes": {"low": 60, "typical": 120, "high": 240}})).done();
    let refusal = claims(&mara, seen).refused(412, "stale").saying("Jonas Keller");
    assert_eq!(refusal.body["current"]["minutes"]["typical"], 120);
    let now = amended["version"].as_i64().unwrap();
    let claimed = claims(&mara, now);
    assert!(claimed.header("etag").unwrap().starts_with(&format!("\"{}-", now + 1)), "{claimed}");
    let claimed = claimed.done();
    assert_eq!(claimed["claimed_by"]["name"], "Mara Voss");
    // Her own again: nothing to write.
    assert_eq!(claims(&mara, now + 1).done()["version"], now + 1);
    gives_back(&mara, now).refused(412, "stale");
    assert_eq!(gives_back(&mara, now + 1).done()["claimed_by"], serde_json::Value::Null);
    assert_eq!(gives_back(&mara, now + 2).done()["version"], now + 2, "nobody has it: nothing to give back");
}

#[test]
fn a_step_that_is_done_or_struck_or_of_a_closed_order_is_claimed_by_nobody() {
    let shop = TestShop::open();
    let (mara, jonas) = (shop.technician(), shop.second_technician());
    let order = shop.on_the_bench(&baritone().may_cost("500.00"));
    let claims = |title: &str| {
        let seen = shop.look_at(&order).operation(title).clone();
        jonas.request("PUT", &format!("/operations/{}/claim", seen["id"].as_str().unwrap())).seen(seen["version"].as_i64().unwrap()).send()
    };
    mara.does(order.operation("Braze the crack"));
    claims("Braze the crack").refused(409, "done").saying("is done");
    let spare = mara.plans(&order, &step("Polish", "1.00")).done();
    mara.amends_step(&spare, &json!({"struck_reason": "not wanted"})).done();
    claims("Polish").refused(409, "struck").saying("was struck");
    mara.moves(&order, "leak_test", "bench_done", None).done();
    mara.passes_all_tests(&order);
    shop.front_desk().hands_over_all(&order).done();
    assert_eq!(shop.look_at(&order).stage(), "closed");
    claims("Braze the crack").refused(409, "closed").saying("closed");
    assert_eq!(shop.look_at(&order).operation("Braze the crack")["claimed_by"], serde_json::Value::Null);
}
