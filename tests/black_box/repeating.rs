//! Rule 7: a request repeated with the same `Idempotency-Key` has one effect and one answer.

use std::sync::Barrier;

use harness::postgres::count;
use harness::{TestShop, baritone, crack, trumpet};
use serde_json::json;

#[test]
fn rule_7_the_same_request_under_the_same_key_has_one_effect_and_the_same_answer_to_the_byte() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let check_in = || greta.request("POST", "/work-orders").once("k1").body(&baritone().0).send();
    let (first, second) = (check_in(), check_in());
    assert_eq!((first.status, second.status), (201, 201));
    assert_eq!(first.text(), second.text());
    assert_eq!(first.header("etag"), second.header("etag"));
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM work_orders"), 1);
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM customers"), 1);
    assert_eq!(shop.mail_has_gone().to("otto@player.example").len(), 1, "one letter");
    // Without a key it is another order.
    greta.check_in(&baritone()).done();
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM work_orders"), 2);
}

#[test]
fn rule_7_the_key_is_looked_up_before_the_version_is_compared() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.checked_in(&baritone());
    mara.claim(&order).done();
    let version = shop.look_at(&order).version();
    let body = json!({"to": "diagnosis", "because": "examination_begins"});
    let ask = || mara.request("POST", &format!("/work-orders/{order}/stage-changes")).seen(version).once("k1").body(&body).send();
    let first = ask();
    assert_eq!(first.status, 201);
    assert_eq!(ask().text(), first.text(), "its own first try has moved the version");
    assert_eq!(shop.look_at(&order).way().len(), 2);
    // Without the key, the version seen is old.
    mara.request("POST", &format!("/work-orders/{order}/stage-changes")).seen(version).body(&body).send().refused(412, "stale");
}

#[test]
fn rule_7_every_act_that_creates_or_decides_is_answered_alike_when_repeated() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let order = shop.in_diagnosis(&baritone());
    let path = |what: &str| format!("/work-orders/{order}/{what}");
    // Each of these without a version, in an order that is possible.
    let finding = ines.request("POST", &path("findings")).once("finding").body(&crack("bell bow").leaking()).send();
    let step = ines.request("POST", &path("operations")).once("step").body(&harness::step("Braze", "90.00").0).send();
    let line = harness::line(&step.json());
    let draft = ines.request("POST", &path("quotes")).once("draft").body(&json!({"lines": [line]})).send();
    let quote = draft.json();
    let sending = format!("/quotes/{}/send", quote["id"].as_str().unwrap());
    let version = shop.look_at(&order).version();
    let sent = ines.request("POST", &sending).seen(version).once("send").send();
    let answer = json!({
        "quote_version": 1, "content_hash": sent.json()["content_hash"], "answer": "accepted",
        "how": "in_person", "typed_name": "Otto Brenner",
    });
    let deciding = format!("/quotes/{}/decisions", quote["id"].as_str().unwrap());
    let decided = ines.request("POST", &deciding).once("decide").body(&answer).send();
    let clock = format!("/operations/{}/time", step.json()["id"].as_str().unwrap());
    let started = ines.request("POST", &clock).once("start").body(&json!({"action": "start"})).send();
    let note = json!({"text": "rings at nine"});
    let noted = ines.request("POST", &path("notes")).once("note").body(&note).send();
    let hold = json!({"reason": "parts", "look_again_on": shop.clock().in_days(7), "supplier": "Reedmouth Supplies", "note": "a ferrule"});
    let held = ines.request("POST", &path("holds")).once("hold").body(&hold).send();
    let payment = json!({"amount": harness::people::eur("10.00"), "kind": "deposit", "how": "cash"});
    let paid = ines.request("POST", &path("payments")).once("pay").body(&payment).send();
    let state = shop.look_at(&order);

    let again = |method: &str, path: &str, key: &str, body: &serde_json::Value| ines.request(method, path).once(key).body(body).send();
    for (first, repeated) in [
        (&finding, again("POST", &path("findings"), "finding", &crack("bell bow").leaking())),
        (&step, again("POST", &path("operations"), "step", &harness::step("Braze", "90.00").0)),
        (&draft, again("POST", &path("quotes"), "draft", &json!({"lines": [line]}))),
        (&sent, ines.request("POST", &sending).seen(version).once("send").send()),
        (&decided, again("POST", &deciding, "decide", &answer)),
        (&started, again("POST", &clock, "start", &json!({"action": "start"}))),
        (&noted, again("POST", &path("notes"), "note", &note)),
        (&held, again("POST", &path("holds"), "hold", &hold)),
        (&paid, again("POST", &path("payments"), "pay", &payment)),
    ] {
        assert!((200..300).contains(&first.status), "{first}");
        assert_eq!((repeated.status, repeated.text()), (first.status, first.text()), "{}", first.asked);
    }
    assert_eq!(shop.look_at(&order).version(), state.version(), "nothing happened twice");
}

#[test]
fn rule_7_a_key_used_with_another_body_or_place_is_refused() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    greta.request("POST", "/work-orders").once("k1").body(&baritone().0).send().done();
    greta.request("POST", "/work-orders").once("k1").body(&trumpet().0).send().refused(422, "key-reused");
    greta.request("POST", "/customers").once("k1").body(&baritone().0["customer"]).send().refused(422, "key-reused");
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM work_orders"), 1);
    // A key is its person's own.
    shop.proprietor().request("POST", "/work-orders").once("k1").body(&trumpet().0).send().done();
    for bad in ["", "with space", &"k".repeat(201)] {
        greta.request("POST", "/work-orders").header("Idempotency-Key", bad).body(&baritone().0).send().refused(422, "invalid-input");
    }
}

#[test]
fn rule_7_a_refusal_keeps_no_key() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.checked_in(&baritone());
    let body = json!({"to": "diagnosis", "because": "examination_begins"});
    let ask = || {
        let version = shop.look_at(&order).version();
        mara.request("POST", &format!("/work-orders/{order}/stage-changes")).seen(version).once("k1").body(&body).send()
    };
    ask().refused(409, "claim-it-first");
    mara.claim(&order).done();
    ask().done();
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM idempotency_keys"), 1);
}

#[test]
fn rule_7_a_twin_that_is_still_running_is_told_to_wait() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.checked_in(&baritone());
    // Somebody holds the order's row, so that the first try has to wait for it.
    let mut holder = shop.database().superuser();
    diesel::connection::SimpleConnection::batch_execute(&mut holder, "BEGIN; SELECT * FROM work_orders FOR UPDATE").unwrap();
    let ask = || mara.request("POST", &format!("/work-orders/{order}/notes")).once("k1").body(&json!({"text": "rings"})).send();
    let (first, twin) = std::thread::scope(|threads| {
        let first = threads.spawn(ask);
        harness::until("the first try waits for the row", || {
            let waiting = "SELECT count(*) AS n FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'";
            (shop.database().count(waiting) == 1).then_some(())
        });
        let twin = ask();
        diesel::connection::SimpleConnection::batch_execute(&mut holder, "ROLLBACK").unwrap();
        (first.join().unwrap(), twin)
    });
    let refusal = twin.refused(409, "twin-running");
    assert!(refusal.retry_after.is_some(), "Retry-After");
    first.clone().done();
    assert_eq!(ask().text(), first.text());
}

#[test]
fn rule_7_sixty_four_at_once_under_one_key_have_one_effect() {
    let shop = TestShop::opening().with_connections(16).open();
    let (greta, another) = (shop.front_desk(), shop.another_server());
    let elsewhere = greta.at(another.address());
    let start = Barrier::new(64);
    let answers: Vec<_> = std::thread::scope(|threads| {
        let tries: Vec<_> = (0..64)
            .map(|n| {
                let (person, start) = (if n % 2 == 0 { &greta } else { &elsewhere }, &start);
                threads.spawn(move || {
                    start.wait();
                    person.request("POST", "/work-orders").once("k1").body(&baritone().0).send()
                })
            })
            .collect();
        tries.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let mut done: Vec<String> = Vec::new();
    for answer in answers {
        match answer.status {
            201 => done.push(answer.text()),
            // Too many at once for the pool is said as such.
            503 => assert!(answer.header("retry-after").is_some(), "{answer}"),
            _ => {
                answer.refused(409, "twin-running");
            }
        }
    }
    assert!(!done.is_empty());
    assert!(done.iter().all(|text| *text == done[0]), "one answer, byte for byte");
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM work_orders"), 1);
}

#[test]
fn rule_7_a_key_is_kept_a_day_at_least_by_the_databases_clock() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let check_in = || greta.request("POST", "/work-orders").once("k1").body(&baritone().0).send();
    let first = check_in();
    // The shop's own clock says nothing about it.
    shop.days_pass(10);
    assert_eq!(check_in().text(), first.text());
    let mut admin = shop.database().superuser();
    let age = |admin: &mut diesel::PgConnection, hours: i32| {
        let sql = format!("UPDATE idempotency_keys SET kept_at = now() - interval '{hours} hours'");
        diesel::connection::SimpleConnection::batch_execute(admin, &sql).unwrap();
    };
    age(&mut admin, 25);
    shop.an_hour_strikes();
    assert_eq!(check_in().text(), first.text());
    // In the end it is forgotten, so that the table does not grow for ever.
    age(&mut admin, 24 * 8);
    shop.an_hour_strikes();
    assert_eq!(count(&mut admin, "SELECT count(*) AS n FROM idempotency_keys"), 0);
}
