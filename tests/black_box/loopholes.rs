//! Ways round a rule that somebody once found: each is closed, and stays so.

use harness::people::{PASSWORD, eur};
use harness::{Person, TestShop, baritone, line, step};
use serde_json::json;

#[test]
fn rule_14_a_step_by_a_method_that_cannot_be_undone_cannot_be_called_undoable() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone().may_cost("900.00"));
    let all = mara.get("/methods").done();
    let for_good = all["items"].as_array().unwrap().iter().find(|one| one["irreversible"] == true).unwrap();
    let planned = mara
        .post(&format!("/work-orders/{}/operations", order.id()), &json!({"method_id": for_good["id"], "irreversible": false, "price": eur("1.00")}))
        .done();
    assert_eq!(planned["irreversible"], true);
    assert_eq!(planned["may_start"], false, "nobody accepted it by name");
}

#[test]
fn rule_2_a_step_that_the_owner_is_asked_about_is_not_let_go_beside_the_question() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.on_the_bench(&baritone());
    let dents = mara.plans(&order, &step("Dress the dents", "400.00")).done();
    let draft = mara.drafts(&order, &[line(&dents)]).done();
    mara.sends(&order, &draft).done();
    mara.amends_step(&dents, &json!({"waits_for_answer": false})).refused(409, "waits-for-answer");
    greta.records_answer(shop.look_at(&order).quote("sent"), "declined", &json!({})).done();
    assert_eq!(shop.look_at(&order).operation("Dress the dents")["state"], "struck");
}

#[test]
fn rule_3_a_draft_with_a_struck_step_is_not_sent() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let (brace, bell) = (mara.plans(&order, &step("Solder the brace", "50.00")).done(), mara.plans(&order, &step("Roll the bell", "500.00")).done());
    let draft = mara.drafts(&order, &[line(&brace), line(&bell)]).done();
    mara.amends_step(&bell, &json!({"struck_reason": "not needed"})).done();
    mara.sends(&order, &draft).refused(409, "draft-outdated").saying("\"Roll the bell\" was struck");
    let path = format!("/quotes/{}", draft["id"].as_str().unwrap());
    let now = mara.get(&path).done();
    let again = mara.request("PUT", &path).seen(now["version"].as_i64().unwrap()).body(&json!({"lines": [line(&brace)]})).send().done();
    mara.sends(&order, &again).done();
}

#[test]
fn what_was_accepted_by_its_name_keeps_it_and_what_was_begun_keeps_its_findings() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone().may_cost("900.00"));
    mara.amends_step(order.operation("Braze the crack"), &json!({"title": "Buff the whole horn bright"})).refused(409, "accepted-step");
    let crack = mara.finds(&order, &json!({"kind": "crack", "part": "bell", "disposition": "repair", "disposition_reason": "asked for"})).done();
    let dent = mara.finds(&order, &json!({"kind": "dent", "part": "bell", "disposition": "repair", "disposition_reason": "asked for"})).done();
    let patch = mara.plans(&order, &step("Patch it", "10.00").answering(&crack)).done();
    mara.amends_step(&patch, &json!({"finding_ids": []})).done();
    mara.amends_step(&patch, &json!({"finding_ids": [crack["id"]]})).done();
    mara.does(&patch);
    mara.amends_step(&patch, &json!({"finding_ids": []})).refused(409, "begun-step");
    mara.amends_step(&patch, &json!({"finding_ids": [crack["id"], dent["id"]]})).done();
}

#[test]
fn a_test_of_an_order_that_went_on_meanwhile_is_not_recorded() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_leak_test(&baritone());
    let seen = order.version();
    let crack = json!({"kind": "crack", "part": "bell", "disposition": "repair"});
    mara.fails_leak_test(&order, &crack).done();
    let passed = json!({"kind": "leak_test", "method": "finger_and_blow", "verdict": "passed"});
    let path = format!("/work-orders/{}/tests", order.id());
    mara.request("POST", &path).seen(seen).body(&passed).send().refused(412, "stale");
    mara.request("POST", &path).header("If-Match", "soon").body(&passed).send().refused(422, "invalid-input");
    assert_eq!(shop.look_at(&order).stage(), "bench");
}

#[test]
fn whoever_signed_out_or_may_no_longer_sign_in_is_out_at_once() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let enters = |email: &str| {
        let entered = shop.stranger().post("/sessions", &json!({"email": email, "password": PASSWORD})).done();
        shop.stranger().with_token(entered["access_token"].as_str().unwrap())
    };
    let mara = enters("mara@shop.example");
    mara.get("/board").done();
    mara.request("DELETE", "/sessions/current").send().done();
    mara.get("/board").refused(401, "not-signed-in");
    let jonas = enters("jonas@shop.example");
    let path = format!("/people/{}", shop.second_technician().id());
    let all = ines.get("/people").done();
    let now = all["items"].as_array().unwrap().iter().find(|one| one["id"] == json!(shop.second_technician().id())).unwrap();
    ines.request("PATCH", &path).seen(now["version"].as_i64().unwrap()).body(&json!({"is_active": false})).send().done();
    jonas.get("/board").refused(401, "not-signed-in");
    // The same roles said again shut nobody out; others do.
    let greta = enters("greta@shop.example");
    let path = format!("/people/{}", shop.front_desk().id());
    let amends = |roles: serde_json::Value| {
        let all = ines.get("/people").done();
        let now = all["items"].as_array().unwrap().iter().find(|one| one["initials"] == "GL").unwrap().clone();
        ines.request("PATCH", &path).seen(now["version"].as_i64().unwrap()).body(&json!({"name": "Greta Lindt", "roles": roles})).send().done();
    };
    amends(json!(["front_desk"]));
    greta.get("/board").done();
    amends(json!(["front_desk", "technician"]));
    greta.get("/board").refused(401, "not-signed-in");
}

#[test]
fn a_stream_of_changes_ends_with_the_session_that_opened_it() {
    let shop = TestShop::open();
    let another = shop.another_server();
    let ines = shop.proprietor();
    let enters = |email: &str| {
        let entered = shop.stranger().post("/sessions", &json!({"email": email, "password": PASSWORD})).done();
        shop.stranger().with_token(entered["access_token"].as_str().unwrap())
    };
    let ends = |what: &str, stream: &harness::Changes| {
        let began = std::time::Instant::now();
        // What comes before the end is read; nothing comes after it.
        harness::until(what, || (stream.within(std::time::Duration::ZERO).is_none() && stream.has_ended()).then_some(()));
        assert!(began.elapsed() < std::time::Duration::from_secs(5), "{what}: {:?}", began.elapsed());
    };
    let amends = |initials: &str, change: serde_json::Value| {
        let all = ines.get("/people").done();
        let now = all["items"].as_array().unwrap().iter().find(|one| one["initials"] == initials).unwrap().clone();
        ines.request("PATCH", &format!("/people/{}", now["id"].as_str().unwrap())).seen(now["version"].as_i64().unwrap()).body(&change).send().done();
    };
    // Each has one stream where the end is told, and one at another server, which has to hear of it.
    let streams = |person: &Person| [person.follow(None), person.at(another.address()).follow(None)];
    let (mara, jonas, greta, second_mara) =
        (enters("mara@shop.example"), enters("jonas@shop.example"), enters("greta@shop.example"), enters("mara@shop.example"));
    let (of_mara, of_jonas, of_greta, stays) = (streams(&mara), streams(&jonas), streams(&greta), streams(&second_mara));
    mara.request("DELETE", "/sessions/current").send().done();
    of_mara.iter().for_each(|stream| ends("signed out", stream));
    amends("JK", json!({"is_active": false}));
    of_jonas.iter().for_each(|stream| ends("no longer of the staff", stream));
    amends("GL", json!({"roles": ["front_desk", "technician"]}));
    of_greta.iter().for_each(|stream| ends("has other roles", stream));
    // Her other sign-in goes on, with everything.
    let order = shop.checked_in(&baritone());
    for stream in &stays {
        stream.of(order.id(), "checked_in");
    }
    let all = second_mara.get("/sessions").done();
    let own = all["items"].as_array().unwrap().iter().find(|one| one["current"] == true).unwrap();
    second_mara.at(another.address()).request("DELETE", &format!("/sessions/{}", own["id"].as_str().unwrap())).send().done();
    stays.iter().for_each(|stream| ends("ended among one's own", stream));
    mara.request("GET", "/events").send().refused(401, "not-signed-in");
}

#[test]
fn no_shop_chooses_a_password_that_opens_another() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let nele = shop.in_another_shop();
    let known = |password: &str| json!({"name": "Ada Both", "initials": "AB", "email": "ada@both.example", "roles": ["proprietor"], "password": password});
    ines.post("/people", &known("the word of the first shop")).done();
    nele.post("/people", &known("the word of the other shop")).done();
    let enters = |password: &str| shop.stranger().post("/sessions", &json!({"email": "ada@both.example", "password": password}));
    let there = enters("the word of the other shop").done();
    assert_eq!(there["shop"]["name"], "The Other Bench");
    let here = enters("the word of the first shop").done();
    assert_ne!(here["shop"]["name"], "The Other Bench");
    // Whoever is shut out here is not let in there by this shop's word.
    let all = ines.get("/people").done();
    let ada = all["items"].as_array().unwrap().iter().find(|one| one["initials"] == "AB").unwrap();
    let path = format!("/people/{}", ada["id"].as_str().unwrap());
    ines.request("PATCH", &path).seen(ada["version"].as_i64().unwrap()).body(&json!({"is_active": false})).send().done();
    enters("the word of the first shop").refused(401, "does-not-fit");
    enters("the word of the other shop").done();
}
