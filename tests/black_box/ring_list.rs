//! The ring list: whoever no letter reaches is on it until somebody was spoken with.

use chrono::TimeDelta;
use harness::{Order, Person, SmtpServer, TestShop, baritone, trumpet};
use serde_json::{Value, json};

fn lines(person: &Person) -> Vec<Value> {
    person.get("/ring-list").done()["lines"].as_array().unwrap().clone()
}

fn numbers(person: &Person) -> Vec<String> {
    lines(person).iter().map(|line| line["claim_number"].as_str().unwrap().to_owned()).collect()
}

/// A minute later somebody rings.
fn rings(shop: &TestShop, order: &Order, outcome: &str, words: Option<&str>) -> Value {
    shop.clock().forward(TimeDelta::minutes(1));
    let body = json!({"customer_id": order["customer"]["id"], "outcome": outcome, "words": words});
    shop.front_desk().post(&format!("/work-orders/{order}/calls"), &body).done()
}

#[test]
fn without_an_address_a_letter_becomes_a_line_until_somebody_was_spoken_with() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    shop.checked_in(&trumpet().without_email());
    assert_eq!(numbers(&greta), Vec::<String>::new(), "the receipt is on paper");
    let order = shop.in_approval(&baritone().without_email());
    let line = lines(&greta).remove(0);
    assert_eq!(line["claim_number"], order.claim_number());
    assert_eq!((&line["customer_name"], &line["customer_phone"]), (&json!("Otto Brenner"), &json!("0151 2345678")));
    assert_eq!((&line["stage"], &line["is_owner"]), (&json!("approval"), &json!(true)));
    let kinds: Vec<&str> = line["letters"].as_array().unwrap().iter().map(|letter| letter["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["quote_sent", "examination_begins"], "newest first");
    assert_eq!(line["letters"][0]["state"], "not_wanted");
    assert_eq!((&line["calls_count"], &line["last_call"]), (&json!(0), &Value::Null));
    // Nobody there, a message: the line stays, and says so.
    rings(&shop, &order, "no_answer", None);
    let left = rings(&shop, &order, "left_message", Some(" on the machine "));
    assert_eq!(left["words"], "on the machine");
    let line = lines(&greta).remove(0);
    assert_eq!((&line["calls_count"], &line["last_call"]), (&json!(2), &left));
    // Spoken with: it is gone, and nothing is decided.
    let before = shop.look_at(&order);
    rings(&shop, &order, "spoke", Some("wants to think it over"));
    assert_eq!(numbers(&greta), Vec::<String>::new());
    let after = shop.look_at(&order);
    assert_eq!((after.stage(), after.quote("sent")["decision"].clone()), ("approval", Value::Null));
    assert_eq!(after.quote("sent")["content_hash"], before.quote("sent")["content_hash"]);
    let made = greta.get(&format!("/work-orders/{order}/calls")).done();
    let outcomes: Vec<&str> = made["items"].as_array().unwrap().iter().map(|call| call["outcome"].as_str().unwrap()).collect();
    assert_eq!(outcomes, ["no_answer", "left_message", "spoke"]);
    // What is written after that is news again; the answer itself was given on the telephone.
    shop.clock().forward(TimeDelta::minutes(1));
    greta.records_answer(after.quote("sent"), "accepted", &json!({})).done();
    assert_eq!(numbers(&greta), Vec::<String>::new(), "whoever answered knows the answer");
    shop.clock().forward(TimeDelta::minutes(1));
    let bench = shop.look_at(&order);
    shop.technician().does(bench.operation("Braze the crack"));
    shop.technician().moves(&bench, "leak_test", "bench_done", None).done();
    assert_eq!(numbers(&greta), [order.claim_number()]);
}

#[test]
fn an_unanswered_quote_goes_before_what_is_ready_and_that_before_what_only_is_told() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let visit = |name: &str| {
        let mut visit = baritone().without_email();
        visit.0["customer"]["name"] = json!(name);
        visit.0["instrument"]["serial_number"] = json!(name);
        visit
    };
    let mut wanted = Vec::new();
    for place in ["told", "ready", "asked"] {
        let order = match place {
            "told" => shop.in_diagnosis(&visit("Ada")),
            "ready" => shop.in_pickup(&visit("Bea")),
            _ => shop.in_approval(&visit("Cleo")),
        };
        wanted.insert(0, order.claim_number().to_owned());
        shop.clock().forward(TimeDelta::minutes(1));
    }
    assert_eq!(numbers(&greta), wanted);
    let ready = shop.look_at(&wanted[1]);
    greta.hands_over_all(&ready).done();
    assert_eq!(numbers(&greta), [wanted[0].clone(), wanted[2].clone()], "who fetched it knows");
}

#[test]
fn a_letter_that_came_back_is_rung_about_and_one_that_nobody_wanted_is_not() {
    let folder = std::env::temp_dir().join(format!("bellbrace-ring-list-{}", std::process::id()));
    let smtp = SmtpServer::start(&folder);
    let shop = TestShop::opening().with_post(smtp.post()).open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.with_a_draft(&baritone());
    shop.mail_has_gone();
    assert_eq!(numbers(&greta), Vec::<String>::new());
    // Meanwhile the address was given up: the mail server refuses it for good.
    smtp.will("never");
    mara.sends(&order, order.quote("draft")).done();
    shop.mail_has_gone();
    let line = lines(&greta).remove(0);
    assert_eq!(line["letters"].as_array().unwrap().len(), 1, "{line}");
    assert_eq!((&line["claim_number"], &line["letters"][0]["state"]), (&json!(order.claim_number()), &json!("bounced")));
    let mut seldom = trumpet().without_email();
    seldom.0["customer"]["mail_wanted"] = json!("only_when_asked");
    shop.in_diagnosis(&seldom);
    assert_eq!(numbers(&greta), [order.claim_number()], "who wants to hear only when asked is not rung about less");
    drop(smtp);
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_call_is_noted_about_who_has_to_do_with_the_order_and_by_nobody_of_another_shop() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone().without_email().owned_by_a_school());
    let other = shop.checked_in(&trumpet().with("customer", json!({"name": "Ada Lund", "email": "ada@player.example"})));
    let path = format!("/work-orders/{order}/calls");
    let call = |customer: &Value, outcome: &str| json!({"customer_id": customer, "outcome": outcome});
    let strange = greta.post(&path, &call(&other["customer"]["id"], "spoke")).refused(422, "invalid-input");
    assert_eq!(strange.pointers(), ["/customer_id"]);
    greta.post(&path, &call(&order["customer"]["id"], "decided")).refused(422, "invalid-input");
    let long = json!({"customer_id": order["customer"]["id"], "outcome": "spoke", "words": "x".repeat(20_000)});
    assert_eq!(greta.post(&path, &long).refused(422, "invalid-input").pointers(), ["/words"]);
    // The contact was spoken with; the school's own letters went by e-mail.
    let line = lines(&greta).remove(0);
    assert_eq!((&line["customer_id"], &line["is_owner"]), (&order["customer"]["id"], &json!(false)));
    let stranger = shop.in_another_shop();
    let id = order["id"].as_str().unwrap();
    stranger.post(&format!("/work-orders/{id}/calls"), &call(&order["customer"]["id"], "spoke")).refused(404, "absent");
    stranger.get(&format!("/work-orders/{id}/calls")).refused(404, "absent");
    assert_eq!(numbers(&stranger), Vec::<String>::new());
    greta.post(&path, &call(&order["owner"]["id"], "spoke")).done();
    assert_eq!(numbers(&greta), [order.claim_number()], "another person of the same order is still to be rung");
    shop.mail_has_gone();
}

#[test]
fn what_was_noted_of_a_call_is_struck_with_a_reason_and_then_the_words_are_nowhere() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone().without_email());
    shop.clock().forward(TimeDelta::minutes(1));
    let note = |words: Option<&str>, key: &str| {
        let body = json!({"customer_id": order["customer"]["id"], "outcome": "left_message", "words": words});
        greta.request("POST", &format!("/work-orders/{order}/calls")).body(&body).once(key).send().done()
    };
    let call = note(Some("CANARY is in hospital"), "call-1");
    let path = format!("/calls/{}/strike", call["id"].as_str().unwrap());
    assert_eq!(greta.post(&path, &json!({"reason": " "})).refused(422, "invalid-input").pointers(), ["/reason"]);
    shop.in_another_shop().post(&path, &json!({"reason": "not ours"})).refused(404, "absent");
    let before = shop.look_at(&order).version();
    let struck = greta.post(&path, &json!({"reason": "the customer asked for it"})).done();
    assert_eq!((&struck["words"], &struck["words_struck_reason"]), (&Value::Null, &json!("the customer asked for it")));
    assert_eq!((&struck["outcome"], &struck["by"], &struck["at"]), (&call["outcome"], &call["by"], &call["at"]), "the call itself stays");
    assert_eq!(shop.look_at(&order).version(), before + 1, "whoever looks at the order is told");
    assert_eq!(greta.get(&format!("/work-orders/{order}/calls")).done()["items"], json!([struck]));
    assert_eq!(lines(&greta)[0]["last_call"], struck);
    greta.post(&path, &json!({"reason": "once more"})).refused(409, "struck");
    // A repeat of the note is still the same call, and has forgotten the words as well.
    let again = note(Some("CANARY is in hospital"), "call-1");
    assert_eq!((&again["id"], &again["words"]), (&call["id"], &Value::Null));
    let mut conn = shop.database().superuser();
    let tables = crate::database::names(
        &mut conn,
        "SELECT relname::text AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY 1",
    );
    for table in tables {
        let found = crate::database::names(&mut conn, &format!("SELECT t::text AS name FROM {table} t WHERE t::text LIKE '%CANARY%'"));
        assert!(found.is_empty(), "{table}: {found:?}");
    }
    let silent = note(None, "call-2");
    greta.post(&format!("/calls/{}/strike", silent["id"].as_str().unwrap()), &json!({"reason": "nothing there"})).refused(409, "nothing-noted");
}
