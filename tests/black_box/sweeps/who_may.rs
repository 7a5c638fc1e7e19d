//! Who may ask: nobody unless signed in, nobody beyond their role, nobody of another shop.

use super::document::every_request;
use super::scene::Scene;

#[test]
fn whoever_is_not_signed_in_learns_and_changes_nothing() {
    let scene = Scene::open();
    let before = scene.all_records();
    let stranger = scene.shop.stranger();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| !asked.is_open() && asked.name != "sessions_end") {
        let good = scene.good(&asked);
        for who in [&stranger, &stranger.with_token("no-token"), &stranger.with_token("eyJhbGciOiJub25lIn0.e30.")] {
            scene.request(who, &asked, &good).send().refused(401, "not-signed-in");
            // Nor does a bad request learn what is wrong with it.
            who.request(&asked.method, &good.path).send().refused(401, "not-signed-in");
            let spoilt = who.request(&asked.method, &good.path).header("If-Match", "x").raw_body("text/plain", "{");
            spoilt.send().refused(401, "not-signed-in");
            let unknown = format!("{}{}no_such=1", good.path, if good.path.contains('?') { "&" } else { "?" });
            who.request(&asked.method, &unknown).send().refused(401, "not-signed-in");
        }
        count += 1;
    }
    assert!(count > 55, "{count}");
    assert_eq!(scene.all_records(), before);
}

#[test]
fn what_is_not_of_ones_role_is_refused_and_changes_nothing() {
    let scene = Scene::open();
    let mut faults = Vec::new();
    let before = scene.all_records();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| !asked.is_read() && !asked.is_open() && asked.name != "sessions_end") {
        let good = scene.good(&asked);
        for initials in good.not_for {
            let answer = scene.request(&scene.person(initials), &asked, &good).send();
            // It says whose it is.
            if answer.status != 403 || answer.json()["type"] != "not-yours" || answer.json()["detail"].as_str().is_none_or(str::is_empty) {
                faults.push(format!("{}: {answer}", asked.name));
            }
            count += 1;
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(count > 25, "{count}");
    assert_eq!(scene.all_records(), before);
}

#[test]
fn what_is_another_shops_is_not_there() {
    let scene = Scene::open();
    let theirs = scene.shop.in_another_shop();
    let before = scene.all_records();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| asked.path.contains("{id}") && asked.name != "sessions_end") {
        let good = scene.good(&asked);
        scene.request(&theirs, &asked, &good).send().refused(404, "absent");
        count += 1;
    }
    // A claim number is each shop's own.
    let bench = scene.order("bench");
    theirs.get(&format!("/work-orders/{}", bench.claim_number())).refused(404, "absent");
    // Nor is it found in any list.
    for path in ["/board", "/customers", "/work-orders", "/people", "/customers?q=Brenner", "/work-orders?q=Brenner"] {
        let answer = theirs.get(path);
        assert!(!answer.text().contains("Brenner") && !answer.text().contains("Mara"), "{answer}");
        answer.done();
    }
    let of_ours = theirs.get(&format!("/instruments?owner={}", bench["customer"]["id"].as_str().unwrap())).done();
    assert_eq!(of_ours["items"], serde_json::json!([]));
    assert!(count > 40, "{count}");
    assert_eq!(scene.all_records(), before);
}

#[test]
fn another_shops_things_cannot_be_named_in_a_body() {
    let scene = Scene::open();
    let theirs = scene.shop.in_another_shop();
    let before = scene.all_records();
    let bench = scene.order("bench");
    let promised = scene.shop.clock().in_days(10);
    for (field, id) in [("customer_id", &bench["customer"]["id"]), ("instrument_id", &bench["instrument"]["id"])] {
        let mut body = serde_json::json!({"complaint": "x", "promised_on": promised});
        body[field] = id.clone();
        let other = if field == "customer_id" { "instrument" } else { "customer" };
        body[other] = if other == "customer" { serde_json::json!({"name": "A"}) } else { serde_json::json!({"family": "tuba"}) };
        let refusal = theirs.post("/work-orders", &body).refused(422, "invalid-input");
        assert_eq!(refusal.pointers(), [format!("/{field}")]);
    }
    let owned = serde_json::json!({"owner_id": bench["customer"]["id"], "instrument": {"family": "tuba"}});
    let refusal = theirs.post("/instruments", &owned).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/owner_id"]);
    assert_eq!(scene.all_records(), before);
}
