//! Rule 6: nobody overwrites what they have not seen.

use harness::{TestShop, baritone, crack, line, step};
use serde_json::{Value, json};

#[test]
fn rule_6_whoever_does_not_say_what_they_saw_is_asked_to() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let order = shop.with_a_draft(&baritone());
    let path = |what: &str| format!("/work-orders/{order}{what}");
    let id = |value: &Value| value["id"].as_str().unwrap().to_owned();
    let (finding, operation, quote) = (id(&order.findings()[0]), id(&order.operations()[0]), id(order.quote("draft")));
    let customer = order["customer"]["id"].as_str().unwrap();
    let instrument = order["instrument"]["id"].as_str().unwrap();
    let cases: Vec<(&str, String, Value)> = vec![
        ("POST", path("/stage-changes"), json!({"to": "closed", "because": "otherwise_settled", "reason": "lost"})),
        ("PUT", path("/claim"), json!({"for": shop.second_technician().id(), "reason": "illness"})),
        ("DELETE", path("/claim"), Value::Null),
        ("POST", path("/ending"), json!({"because": "withdrawn", "reason": "sold"})),
        ("DELETE", path("/ending"), Value::Null),
        ("POST", path("/ending/confirmation"), Value::Null),
        ("POST", path("/handover"), json!({"how": "collected", "collected_by": "Otto"})),
        ("POST", path("/done-at-counter"), json!({"operations": [], "test": {"kind": "leak_test", "verdict": "passed"}, "handover": {"how": "collected", "collected_by": "Otto"}})),
        ("PATCH", format!("/findings/{finding}"), json!({"note": "x"})),
        ("PATCH", format!("/operations/{operation}"), json!({"title": "x"})),
        ("PUT", format!("/quotes/{quote}"), json!({"lines": []})),
        ("DELETE", format!("/quotes/{quote}"), Value::Null),
        ("POST", format!("/quotes/{quote}/send"), Value::Null),
        ("PATCH", format!("/customers/{customer}"), json!({"name": "x"})),
        ("PATCH", format!("/instruments/{instrument}"), json!({"maker": "x"})),
        ("PATCH", format!("/people/{}", ines.id()), json!({"name": "x"})),
        ("PATCH", "/shop".to_owned(), json!({"name": "x"})),
    ];
    for (method, path, body) in &cases {
        let request = || if body.is_null() { ines.request(method, path) } else { ines.request(method, path).body(body) };
        request().send().refused(428, "precondition-missing");
        for bad in ["7", "", "\"7"] {
            request().header("If-Match", bad).send().refused(422, "invalid-input");
        }
        // RFC 9110: a weak tag and one that is none of ours match nothing strongly; `*` names no version.
        for other in ["W/\"1\"", "\"one\""] {
            request().header("If-Match", other).send().refused(412, "stale");
        }
        request().header("If-Match", "*").send().refused(428, "precondition-missing");
        let refusal = request().seen(9999).send().refused(412, "stale");
        assert!(refusal.body["current_version"].as_i64().is_some_and(|version| version > 0), "{method} {path}: {:?}", refusal.body);
        assert!(refusal.body["changed_by"].as_str().is_some_and(|name| !name.is_empty()));
        assert!(refusal.body["changed_at"].as_str().is_some());
    }
    assert_eq!(shop.look_at(&order).version(), order.version(), "nothing was changed");
}

#[test]
fn rule_6_who_comes_second_is_shown_who_changed_what() {
    let shop = TestShop::open();
    let (mara, jonas) = (shop.technician(), shop.second_technician());
    let order = shop.in_diagnosis(&baritone());
    let seen_by_both = mara.finds(&order, &crack("bell bow").undecided()).done();
    mara.amends_finding(&seen_by_both, &json!({"disposition": "repair", "note": "leaks when warm"})).done();
    let change = json!({"disposition": "leave_and_watch", "note": "leaks when warm", "side": "left"});
    let refusal = jonas.amends_finding(&seen_by_both, &change).refused(412, "stale").saying("Mara Voss");
    assert_eq!(refusal.body["current_version"], 2);
    assert_eq!(refusal.body["changed_by"], "Mara Voss");
    assert_eq!(refusal.body["current"]["note"], "leaks when warm");
    let differences: Vec<&str> =
        refusal.body["differences"].as_array().unwrap().iter().map(|d| d["field"].as_str().unwrap()).collect();
    assert!(differences.contains(&"disposition"), "{:?}", refusal.body["differences"]);
    assert!(!differences.contains(&"note"), "both want the same there");
    // Having seen it, they may say what should stand.
    jonas.amends_finding(&refusal.body["current"], &change).done();
    assert_eq!(shop.look_at(&order).findings()[0]["disposition"], "leave_and_watch");
}

#[test]
fn rule_6_an_orders_version_covers_its_findings_steps_quotes_and_tests() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let mut version = order.version();
    let mut raised = |what: &str| {
        let now = shop.look_at(&order).version();
        assert!(now > version, "{what} raises the version");
        version = now;
    };
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    raised("a finding");
    mara.amends_finding(&found, &json!({"note": "x"})).done();
    raised("an amended finding");
    let brazing = mara.plans(&order, &step("Braze", "90.00")).done();
    raised("a step");
    mara.amends_step(&brazing, &json!({"title": "Braze it"})).done();
    raised("an amended step");
    let draft = mara.drafts(&order, &[line(&brazing)]).done();
    raised("a draft");
    mara.sends(&order, &draft).done();
    raised("a sent quote");
    shop.front_desk().records_answer(shop.look_at(&order).quote("sent"), "accepted", &json!({})).done();
    raised("a decision");
    mara.starts(&brazing).done();
    raised("a started clock");
    mara.finishes(&brazing).done();
    raised("a stopped clock");
    mara.moves(&order, "leak_test", "bench_done", None).done();
    raised("a move");
    mara.tests(&order, &json!({"kind": "play_test", "verdict": "passed"})).done();
    raised("a test");
}

#[test]
fn rule_6_an_unchanged_thing_is_answered_with_304() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let path = format!("/work-orders/{order}");
    let first = mara.get(&path);
    let etag = first.header("etag").unwrap().to_owned();
    assert_eq!(etag, format!("\"{}\"", order.version()), "strong, and the version");
    let again = mara.request("GET", &path).header("If-None-Match", &etag).send();
    assert_eq!((again.status, again.bytes.len()), (304, 0));
    mara.finds(&order, &crack("bell bow").undecided()).done();
    let changed = mara.request("GET", &path).header("If-None-Match", &etag).send();
    assert_eq!(changed.status, 200);
}

#[test]
fn rule_6_two_who_change_the_same_order_at_once_are_never_both_right() {
    let shop = TestShop::opening().with_connections(8).open();
    let mara = shop.technician();
    for round in 0..10 {
        let order = shop.in_approval(&baritone().may_cost("10.00"));
        let (a, b) = (mara.clone(), shop.front_desk());
        let start = std::sync::Barrier::new(2);
        let ask = |person: &harness::Person| {
            start.wait();
            person
                .request("POST", &format!("/work-orders/{order}/stage-changes"))
                .seen(order.version())
                .body(&json!({"to": "diagnosis", "because": "recalled", "reason": "wrong horn"}))
                .send()
        };
        let answers = std::thread::scope(|threads| {
            let (one, other) = (threads.spawn(|| ask(&a)), threads.spawn(|| ask(&b)));
            [one.join().unwrap(), other.join().unwrap()]
        });
        let mut statuses = answers.each_ref().map(|answer| answer.status);
        statuses.sort_unstable();
        assert_eq!(statuses, [201, 412], "round {round}");
    }
}
