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
    let hold = id(&ines.post(&path("/holds"), &json!({"reason": "customer", "look_again_on": shop.clock().in_days(7)})).done());
    let link = id(&ines.issues_link(&order, "status"));
    let order = shop.look_at(&order);
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
        ("PUT", format!("/operations/{operation}/claim"), Value::Null),
        ("DELETE", format!("/operations/{operation}/claim"), Value::Null),
        ("DELETE", format!("/holds/{hold}"), Value::Null),
        ("DELETE", format!("/links/{link}"), Value::Null),
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
    // A letter on its way out would change what is shown.
    let shop = TestShop::opening().without_sender().open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let path = format!("/work-orders/{order}");
    let first = mara.get(&path);
    let etag = first.header("etag").unwrap().to_owned();
    assert!(etag.starts_with(&format!("\"{}-", order.version())), "strong, and begins with the version: {etag}");
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

#[test]
fn rule_6_a_tag_names_what_is_shown_and_an_act_asks_for_the_version_alone() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.checked_in(&baritone());
    let path = format!("/work-orders/{order}");
    let first = mara.get(&path);
    let old = first.header("etag").unwrap().to_owned();
    // The customer is called otherwise now: the order is shown otherwise, and is still the same order.
    let customer = format!("/customers/{}", order["customer"]["id"].as_str().unwrap());
    let seen = greta.get(&customer).done()["version"].as_i64().unwrap();
    greta.request("PATCH", &customer).seen(seen).body(&json!({"name": "Otto Brenner-Holm", "phone": "+49 351 555 0199"})).send().done();
    let again = mara.request("GET", &path).header("If-None-Match", &old).send();
    assert_eq!(again.status, 200, "what is shown is not what was seen");
    let mut new = again.header("etag").unwrap().to_owned();
    assert_eq!(again.json()["customer"]["name"], "Otto Brenner-Holm");
    assert_eq!(again.json()["version"], order.version());
    assert_ne!(new, old);
    // A letter that goes out meanwhile shows as well; when nothing does, nothing is sent again.
    harness::until("what was seen is not sent again", || {
        let same = mara.request("GET", &path).header("If-None-Match", &new).send();
        same.header("etag").unwrap().clone_into(&mut new);
        (same.status == 304).then_some(())
    });
    // What the customer is called stops no technician.
    let claimed = mara.request("PUT", &format!("{path}/claim")).header("If-Match", &old).body(&json!({})).send();
    assert_eq!(claimed.status, 200, "{claimed}");
    // The act's own answer has the tag of what it shows; a letter may have gone out since.
    let now = mara.get(&path);
    assert_eq!(claimed.header("etag") == now.header("etag"), claimed.json() == now.json());
    // Whatever was touched on the order itself does, with either tag.
    let move_on = json!({"to": "diagnosis", "because": "examination_begins"});
    for tag in [&old, &new] {
        mara.request("POST", &format!("{path}/stage-changes")).header("If-Match", tag).body(&move_on).send().refused(412, "stale");
    }
    // So with the letters: one that was delivered meanwhile shows, and stops nobody.
    let before = shop.look_at(&order).version();
    shop.mail_has_gone();
    harness::until("the letter shows as sent", || shop.look_at(&order).letters().iter().all(|one| one["state"] == "sent").then_some(()));
    mara.request("POST", &format!("{path}/stage-changes")).seen(before).body(&move_on).send().done();
}

#[test]
fn rule_6_whoever_acts_on_an_old_order_is_told_what_was_done_since_by_whom_and_when() {
    let shop = TestShop::open();
    let (mara, jonas, greta) = (shop.technician(), shop.second_technician(), shop.front_desk());
    let seen = shop.with_a_draft(&baritone());
    mara.finds(&seen, &crack("bell bow").left_and_watched()).done();
    greta.post(&format!("/work-orders/{seen}/holds"), &json!({"reason": "customer", "look_again_on": shop.clock().in_days(7)})).done();
    mara.sends(&seen, seen.quote("draft")).done();
    let refusal = jonas
        .request("POST", &format!("/work-orders/{seen}/stage-changes"))
        .seen(seen.version())
        .body(&json!({"to": "closed", "because": "otherwise_settled", "reason": "lost"}))
        .send()
        .refused(412, "stale");
    let body = &refusal.body;
    assert_eq!((&body["changed_by"], &body["current"]["stage"]), (&json!("Mara Voss"), &json!("approval")));
    let changes = body["changes"].as_array().unwrap();
    let told: Vec<(&str, &str)> = changes.iter().map(|one| (one["by"].as_str().unwrap(), one["words"].as_str().unwrap())).collect();
    assert_eq!(told, [("Mara Voss", "a finding was recorded"), ("Greta Lind", "a hold was set"), ("Mara Voss", "quote sent")]);
    let versions: Vec<i64> = changes.iter().map(|one| one["version"].as_i64().unwrap()).collect();
    assert!(versions.is_sorted() && versions[0] > seen.version(), "{versions:?}");
    assert_eq!(versions.last(), body["current_version"].as_i64().as_ref());
    assert!(changes.iter().all(|one| one["at"].as_str().is_some_and(|at| at.starts_with("2026-05-12T"))), "{changes:?}");
    let differs = body["differences"].as_array().unwrap();
    let fields: Vec<&str> = differs.iter().map(|one| one["field"].as_str().unwrap()).collect();
    assert_eq!(fields, ["findings", "holds", "stage"]);
    assert_eq!((&differs[2]["yours"], &differs[2]["theirs"]), (&json!("diagnosis"), &json!("approval")));
    assert_eq!(differs[0]["theirs"], body["current"]["findings"]);
    // A hold and a link are the order's: whoever lifts one has seen the order too.
    let hold = shop.look_at(&seen)["holds"][0]["id"].clone();
    let refusal = jonas.request("DELETE", &format!("/holds/{}", hold.as_str().unwrap())).seen(seen.version()).send().refused(412, "stale");
    assert_eq!(refusal.body["changes"].as_array().unwrap().len(), 3);
    // What an owner typed stays on the record: the others are told that it was the owner.
    let link = shop.mail_has_gone().letter("otto@player.example", "our quote").link("answer").unwrap();
    let before = shop.look_at(&seen);
    let sent = before.quote("sent");
    let (number, hash) = (sent["number"].to_string(), sent["content_hash"].as_str().unwrap());
    let fields = [("quote_version", number.as_str()), ("content_hash", hash), ("name", "Otto B."), ("answer", "accepted")];
    assert_eq!(shop.stranger().post_form(&link, &fields).status, 303);
    let refusal = mara.request("DELETE", &format!("/work-orders/{seen}/claim")).seen(before.version()).send().refused(412, "stale");
    let by: Vec<&str> = refusal.body["changes"].as_array().unwrap().iter().map(|one| one["by"].as_str().unwrap()).collect();
    assert!(!by.is_empty() && by.iter().all(|by| *by == "the owner"), "{by:?}");
}
