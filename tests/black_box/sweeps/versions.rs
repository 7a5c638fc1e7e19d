//! Which version was seen, and requests that are made again.

use super::document::every_request;
use super::scene::Scene;

#[test]
fn rule_6_every_change_asks_which_version_was_seen_and_refuses_an_old_one() {
    let scene = Scene::open();
    let before = scene.all_records();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| asked.knows_header("If-Match")) {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let ask = || {
            let request = who.request(&asked.method, &good.path);
            match &good.body {
                Some(body) => request.body(body),
                None => request,
            }
        };
        ask().send().refused(428, "precondition-missing");
        // Whatever version there is: nobody overwrites what they have not seen.
        ask().header("If-Match", "*").send().refused(428, "precondition-missing");
        for old in ["\"999999\"", "W/\"1\"", "\"some-other-tag\"", "\"99999999999999\"", "\"-1\"", "\"\""] {
            let refusal = ask().header("If-Match", old).send().refused(412, "stale");
            assert!(refusal.body["current_version"].as_i64().is_some_and(|now| now >= 0), "{} {:?}", asked.name, refusal.body);
            assert!(refusal.body["changed_by"].is_string() && refusal.body["changed_at"].is_string(), "{}", asked.name);
            assert!(refusal.body["current"].is_object(), "{}: what stands now is shown", asked.name);
        }
        for malformed in ["", "7", "'7'", "\"7", "\"7\", \"8\""] {
            let refusal = ask().header("If-Match", malformed).send().refused(422, "invalid-input");
            assert_eq!(refusal.pointers(), ["If-Match"], "{}: {malformed}", asked.name);
        }
        count += 1;
    }
    assert!(count >= 27, "{count}");
    assert_eq!(scene.all_records(), before);
}

#[test]
fn rule_6_the_document_names_no_change_that_asks_for_no_version() {
    for asked in every_request().into_iter().filter(|asked| ["PUT", "PATCH", "DELETE"].contains(&asked.method.as_str())) {
        // A session is ended, never edited.
        assert_eq!(asked.knows_header("If-Match"), !asked.path.starts_with("/sessions/"), "{}", asked.name);
    }
}

#[test]
fn what_was_seen_already_is_not_sent_again() {
    let scene = Scene::open();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| asked.knows_header("If-None-Match")) {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let first = who.get(&good.path);
        let tag = first.header("etag").unwrap_or_else(|| panic!("{}: no ETag", asked.name)).to_owned();
        // Of the board some fields change nothing that hangs on it: it alone has a weak one.
        let opaque = tag.trim_start_matches("W/");
        assert_eq!(opaque == tag, asked.name != "board_read", "{}: {tag} names the bytes", asked.name);
        assert!(opaque.starts_with('"') && opaque.ends_with('"'), "{}: {tag}", asked.name);
        for seen in [tag.clone(), format!("W/{opaque}"), format!("\"old\", {tag}"), "*".to_owned()] {
            let again = who.request("GET", &good.path).header("If-None-Match", &seen).send();
            assert_eq!((again.status, again.bytes.len(), again.header("etag")), (304, 0, Some(tag.as_str())), "{} {seen}", asked.name);
        }
        for other in ["\"old\"", "", "old", opaque.trim_matches('"')] {
            let again = who.request("GET", &good.path).header("If-None-Match", other).send();
            assert_eq!((again.status, again.header("etag")), (200, Some(tag.as_str())), "{} {other}", asked.name);
        }
        count += 1;
    }
    assert!(count >= 8, "{count}");
}

#[test]
fn rule_7_whatever_takes_a_key_is_done_once_under_it() {
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| asked.knows_header("Idempotency-Key")) {
        let scene = Scene::open();
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let ask = || scene.request(&who, &asked, &good).once("one key");
        ask().send().refused(422, "invalid-input");
        let ask = || scene.request(&who, &asked, &good).once("one-key");
        let first = ask().send();
        assert!((200..300).contains(&first.status), "{}: {first}", asked.name);
        let after = scene.all_records();
        let again = ask().send();
        assert_eq!((again.status, again.text()), (first.status, first.text()), "{}: one answer", asked.name);
        assert_eq!(again.header("etag"), first.header("etag"), "{}: one version", asked.name);
        if let Some(other) = &good.other_body {
            let mut request = who.request(&asked.method, &good.path).once("one-key").body(other);
            if let Some(seen) = good.seen {
                request = request.seen(seen);
            }
            request.send().refused(422, "key-reused");
        } else {
            assert!(asked.body().is_none(), "{}: say in scene.rs what else could be sent", asked.name);
        }
        assert_eq!(scene.all_records(), after, "{}: done once", asked.name);
        count += 1;
    }
    assert!(count > 20, "{count}");
}
