//! HEAD: what GET would say, without its body.

use super::document::every_request;
use super::scene::Scene;
use harness::{Answer, Person};

/// What every answer has of its own.
fn shared(answer: &Answer) -> Vec<(String, String)> {
    let mut headers: Vec<_> = answer.headers.iter().filter(|(name, _)| name != "date" && name != "x-request-id").cloned().collect();
    headers.sort();
    headers
}

#[track_caller]
fn same_without_body(who: &Person, path: &str, more: &[(&str, &str)]) -> Answer {
    let ask = |method: &str| {
        let request = who.request(method, path);
        more.iter().fold(request, |request, (name, value)| request.header(name, value)).send()
    };
    let (get, head) = (ask("GET"), ask("HEAD"));
    assert_eq!((head.status, shared(&head)), (get.status, shared(&get)), "{head}");
    assert_eq!(head.bytes.len(), 0, "{head}");
    if let Some(length) = head.header("content-length") {
        assert_eq!(length, get.bytes.len().to_string(), "{head}");
    }
    get
}

#[test]
fn whatever_can_be_read_can_be_asked_for_its_headers() {
    let scene = Scene::open();
    let before = scene.all_records();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| asked.is_read() && asked.name != "events_follow") {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let whole = same_without_body(&who, &good.path, &[("Accept-Encoding", "identity")]);
        assert!(whole.status == 200 && whole.header("content-length").is_some(), "{whole}");
        same_without_body(&who, &good.path, &[("Accept-Encoding", "br")]);
        if let Some(tag) = whole.header("etag") {
            let same = same_without_body(&who, &good.path, &[("If-None-Match", tag)]);
            assert_eq!(same.status, 304, "{same}");
        }
        assert_eq!(same_without_body(&scene.shop.stranger(), &good.path, &[]).status, 401);
        count += 1;
    }
    assert!(count > 25, "{count}");
    // What is refused is refused alike.
    let mara = scene.shop.technician();
    assert_eq!(same_without_body(&mara, "/board?no_such=1", &[]).status, 422);
    assert_eq!(same_without_body(&mara, "/no-such", &[]).status, 404);
    assert_eq!(same_without_body(&mara, "/customers/0190c0de-0000-7000-8000-000000000001", &[]).status, 404);
    assert_eq!(scene.all_records(), before);
}

#[test]
fn the_pages_the_client_and_health_tell_their_headers_too() {
    let scene = Scene::open();
    let link = scene.shop.front_desk().issues_link(scene.order("approval"), "answer");
    let before = scene.all_records();
    let stranger = scene.shop.stranger();
    let outside = ["/", "/board", "/robots.txt", "/assets/customer.css", "/api/v1/openapi.json", "/health/live", "/health/ready"];
    for path in outside.map(|path| format!("{}{path}", scene.shop.address())).iter().map(String::as_str).chain([link["url"].as_str().unwrap()]) {
        let whole = same_without_body(&stranger, path, &[("Accept-Encoding", "identity")]);
        assert!(whole.status == 200 && !whole.bytes.is_empty(), "{whole}");
    }
    assert_eq!(same_without_body(&stranger, "/status/no-such-token", &[]).status, 404);
    assert_eq!(scene.all_records(), before, "looking marks nothing");
}

#[test]
fn asking_for_the_headers_of_the_changes_opens_no_stream() {
    let scene = Scene::open();
    let refused = scene.shop.technician().request("HEAD", "/events").send();
    assert_eq!((refused.status, refused.header("allow"), refused.bytes.len()), (405, Some("GET"), 0));
}
