//! The shop's own people: invited by mail, a password chosen by a link, forgotten, changed.

use harness::people::PASSWORD;
use harness::mailbox::visible;
use harness::{Answer, Mail, Person, TestShop};
use serde_json::{Value, json};

const RUTH: &str = "ruth@shop.example";
const NEW: &str = "ein langes Wort für Zoë 🎺";

fn ruth() -> Value {
    json!({"name": "Ruth", "initials": "RA", "email": RUTH, "roles": ["technician"]})
}

fn signs_in(who: &Person, email: &str, password: &str) -> Answer {
    who.post("/sessions", &json!({"email": email, "password": password}))
}

/// The link in the newest letter to this address.
fn newest_link(shop: &TestShop, email: &str) -> String {
    newest(shop, email).link("password").expect("a link to choose a password")
}

fn newest(shop: &TestShop, email: &str) -> Mail {
    shop.mail_has_gone().to(email).pop().expect("a letter")
}

fn asks(shop: &TestShop, email: &str) -> Answer {
    shop.stranger().post("/sessions/forgotten-password", &json!({"email": email}))
}

/// Letters that were ever written to this address.
fn written(shop: &TestShop, email: &str) -> i64 {
    shop.database().count(&format!("SELECT count(*) AS n FROM letters WHERE to_email = '{email}'"))
}

/// ASVS 6.4.1: a first password is chosen by its person, by a link that runs out; 6.2.5: any letters.
#[test]
fn whoever_is_invited_chooses_name_and_password_by_a_link_that_works_once() {
    let shop = TestShop::open();
    let (ines, stranger) = (shop.proprietor(), shop.stranger());
    let added = ines.post("/people", &ruth()).done();
    assert!(added["invited_until"].is_string(), "{added}");
    let letter = newest(&shop, RUTH);
    letter.says(&format!("{} has added you", ines.name())).says(RUTH);
    let link = letter.link("password").unwrap();
    // Looking, as mail scanners do, uses nothing up.
    for _ in 0..3 {
        let page = stranger.get(&link);
        assert_eq!((page.status, page.header("referrer-policy"), page.header("cache-control")), (200, Some("no-referrer"), Some("no-store")));
        assert!(visible(&page.text()).contains(RUTH) && !page.text().contains("<script"), "{page}");
    }
    let short = stranger.post_form(&link, &[("name", "Ruth Amsel"), ("password", "too short")]);
    assert_eq!(short.status, 422);
    assert!(short.text().contains("Ruth Amsel") && !short.text().contains("too short"), "the name comes back, the password never");
    let chosen = stranger.post_form(&link, &[("name", "Ruth Amsel"), ("email", RUTH), ("password", NEW)]);
    assert_eq!(chosen.status, 200, "{chosen}");
    for used in [stranger.get(&link), stranger.post_form(&link, &[("name", "Eve"), ("password", "another long password")])] {
        assert_eq!(used.status, 404, "{used}");
    }
    let session = signs_in(&stranger, RUTH, NEW).done();
    assert_eq!(session["person"]["name"], "Ruth Amsel");
    let now = ines.get(&format!("/people/{}", added["id"].as_str().unwrap()));
    assert_eq!(now.json()["invited_until"], Value::Null);
    ines.post(&format!("/people/{}/invitation", added["id"].as_str().unwrap()), &json!({})).refused(409, "has-password");
}

/// ASVS 6.5.1: a code works once.
#[test]
fn a_newer_invitation_takes_the_place_of_the_one_before_and_the_hash_alone_is_kept() {
    let shop = TestShop::open();
    let (ines, stranger) = (shop.proprietor(), shop.stranger());
    let added = ines.post("/people", &ruth()).done();
    let first = newest_link(&shop, RUTH);
    ines.post(&format!("/people/{}/invitation", added["id"].as_str().unwrap()), &json!({})).done();
    let second = newest_link(&shop, RUTH);
    assert_ne!(first, second);
    assert_eq!((stranger.get(&first).status, stranger.get(&second).status), (404, 200));
    // Nor does what has gone keep the secret, and no colleague reads the letter.
    let secret = second.rsplit('/').next().unwrap();
    assert_eq!(shop.database().count(&format!("SELECT count(*) AS n FROM letters WHERE text LIKE '%{secret}%' OR html LIKE '%{secret}%'")), 0);
    let id = crate::database::names(&mut shop.database().superuser(), "SELECT id::text AS name FROM letters WHERE to_person_id IS NOT NULL").remove(0);
    for who in [&ines, &shop.front_desk()] {
        who.get(&format!("/letters/{id}")).refused(404, "absent");
        who.post(&format!("/letters/{id}/send-again"), &json!({})).refused(404, "absent");
    }
    // Time runs out by the database's clock.
    crate::database::run(&mut shop.database().superuser(), "UPDATE one_time_links SET expires_at = now() WHERE purpose = 'invitation'");
    assert_eq!(stranger.get(&second).status, 404);
}

/// ASVS 6.3.8: nobody learns who works here; 6.4.3: a reset goes round no check; 7.4.3: it ends sessions.
#[test]
fn a_forgotten_password_is_asked_for_alike_by_everybody_and_ends_every_session() {
    let shop = TestShop::open();
    let stranger = shop.stranger();
    let mail = "mara@shop.example";
    let session = signs_in(&stranger, mail, PASSWORD).done();
    let mara = stranger.with_token(session["access_token"].as_str().unwrap());
    let (known, unknown) = (asks(&shop, " Mara@Shop.example "), asks(&shop, "nobody@shop.example"));
    let alike = |answer: &Answer| {
        let mut headers = answer.headers.clone();
        headers.retain(|(name, _)| name != "x-request-id" && name != "date");
        headers.sort();
        (answer.status, answer.bytes.clone(), headers)
    };
    assert_eq!(alike(&known), alike(&unknown));
    assert_eq!(known.status, 204);
    harness::until("the letter is written", || (written(&shop, mail) == 1).then_some(()));
    let letter = newest(&shop, mail);
    letter.says("asked for a new password").says("your password stays as it is");
    assert_eq!(written(&shop, "nobody@shop.example"), 0);
    // Asking alone changes nothing.
    signs_in(&stranger, mail, PASSWORD).done();
    mara.get("/sessions/current").done();
    let link = letter.link("password").unwrap();
    assert!(!stranger.get(&link).text().contains("name=\"name\""), "a name is not asked for again");
    assert_eq!(stranger.post_form(&link, &[("password", NEW)]).status, 200);
    mara.get("/sessions/current").refused(401, "not-signed-in");
    signs_in(&stranger, mail, PASSWORD).refused(401, "does-not-fit");
    signs_in(&stranger, mail, NEW).done();
    assert_eq!(stranger.get(&link).status, 404);
    let audited = shop.database().count("SELECT count(*) AS n FROM audit WHERE act IN ('password_asked_for', 'password_chosen')");
    assert_eq!(audited, 2);
    let hours = shop.database().count(
        "SELECT count(*) AS n FROM one_time_links WHERE purpose = 'password_reset' AND expires_at <= now() + interval '1 hour'",
    );
    assert_eq!(hours, 1, "good for an hour at most");
}

/// ASVS 2.4.1, 6.3.1: how often it may be tried.
#[test]
fn nobodys_mailbox_is_filled_by_strangers() {
    let shop = TestShop::open();
    let mail = "mara@shop.example";
    for email in [mail, "nobody@shop.example"] {
        for _ in 0..3 {
            assert_eq!(asks(&shop, email).status, 204);
        }
        let refused = asks(&shop, email).refused(429, "too-many");
        assert!(refused.words().contains("mailbox"), "{}", refused.words());
    }
    harness::until("the letters are written", || (written(&shop, mail) == 3).then_some(()));
    shop.mail_has_gone();
    assert_eq!(asks(&shop, "no address").refused(422, "invalid-input").pointers(), ["/email"]);
}

#[test]
fn whoever_works_in_two_shops_chooses_each_password_apart() {
    let shop = TestShop::open();
    let (ines, stranger) = (shop.proprietor(), shop.stranger());
    shop.in_another_shop();
    let nele = "nele@other.example";
    ines.post("/people", &json!({"name": "Nele Sander", "initials": "NS", "email": nele, "roles": ["front_desk"]})).done();
    let invited = newest_link(&shop, nele);
    assert_eq!(stranger.post_form(&invited, &[("name", "Nele Sander"), ("password", NEW)]).status, 200);
    let there = signs_in(&stranger, nele, PASSWORD).done();
    assert_eq!(there["shop"]["name"], "The Other Bench");
    assert_ne!(signs_in(&stranger, nele, NEW).done()["shop"]["name"], "The Other Bench");
    assert_eq!(asks(&shop, nele).status, 204);
    harness::until("a letter for each shop", || (written(&shop, nele) == 3).then_some(()));
    let letters = shop.mail_has_gone().to(nele);
    let theirs = letters.iter().rfind(|letter| letter.text.contains("The Other Bench")).unwrap();
    let link = theirs.link("password").unwrap();
    assert_eq!(stranger.post_form(&link, &[("password", "a password for there alone")]).status, 200);
    signs_in(&stranger, nele, NEW).done();
    signs_in(&stranger, nele, PASSWORD).refused(401, "does-not-fit");
}

/// ASVS 6.2.9, 6.2.11, 7.4.3: a long one is taken, and the others end.
#[test]
fn ones_own_password_is_changed_with_the_old_one_and_other_sessions_end() {
    let shop = TestShop::open();
    let stranger = shop.stranger();
    let mail = "mara@shop.example";
    let with_session = || stranger.with_token(signs_in(&stranger, mail, PASSWORD).done()["access_token"].as_str().unwrap());
    let (here, elsewhere) = (with_session(), with_session());
    let change = |old: &str, new: &str| here.post("/sessions/current/password", &json!({"old_password": old, "new_password": new}));
    assert_eq!(change("not the old one", NEW).refused(422, "invalid-input").pointers(), ["/old_password"]);
    assert_eq!(change(PASSWORD, "short").refused(422, "invalid-input").pointers(), ["/new_password"]);
    assert_eq!(change(PASSWORD, "Mara  Voss").refused(422, "invalid-input").pointers(), ["/new_password"]);
    assert_eq!(change(PASSWORD, PASSWORD).refused(422, "invalid-input").pointers(), ["/new_password"]);
    elsewhere.get("/sessions/current").done();
    let long = "ein langes Wort ".repeat(12);
    assert_eq!(change(PASSWORD, &long).status, 204);
    here.get("/sessions/current").done();
    elsewhere.get("/sessions/current").refused(401, "not-signed-in");
    signs_in(&stranger, mail, PASSWORD).refused(401, "does-not-fit");
    signs_in(&stranger, mail, long.trim_end()).refused(401, "does-not-fit");
    signs_in(&stranger, mail, &long).done();
}

#[test]
fn a_person_is_read_with_the_version_that_a_change_must_name() {
    let shop = TestShop::open();
    let (ines, mara) = (shop.proprietor(), shop.technician());
    let path = format!("/people/{}", mara.id());
    let read = mara.get(&path);
    let tag = read.header("etag").unwrap().to_owned();
    assert_eq!(read.json()["name"], mara.name());
    assert_eq!(mara.request("GET", &path).header("If-None-Match", &tag).send().status, 304);
    let amended = ines.request("PATCH", &path).header("If-Match", &tag).body(&json!({"weekly_bench_hours": 20})).send();
    assert_ne!(amended.header("etag"), Some(tag.as_str()));
    amended.done();
    assert_eq!(mara.request("GET", &path).header("If-None-Match", &tag).send().status, 200);
    ines.get("/people/0190c0de-0000-7000-8000-000000000001").refused(404, "absent");
}
