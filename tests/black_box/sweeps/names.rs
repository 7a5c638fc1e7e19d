//! Bad addresses: unknown parameters, wrong methods, ids and numbers that are none.

use super::document::every_request;
use super::scene::Scene;
use harness::Answer;

/// Whatever was wrong with the request, it is said as a problem and is not our fault.
#[track_caller]
fn is_a_problem(answer: &Answer) {
    assert!((400..500).contains(&answer.status), "{answer}");
    assert_eq!(answer.header("content-type"), Some("application/problem+json"), "{answer}");
    let body = answer.json();
    assert!(body["type"].is_string() && body["title"].is_string() && body["status"] == answer.status, "{answer}");
    let text = answer.text();
    for inner in [" at line ", "column", "serde", "deserialize", "panicked", "diesel", "struct "] {
        assert!(!text.contains(inner), "{inner:?} is none of the person's words: {answer}");
    }
}

#[test]
fn a_parameter_that_nobody_knows_is_refused() {
    let scene = Scene::open();
    let before = scene.all_records();
    for asked in every_request() {
        if asked.name == "sessions_end" {
            continue;
        }
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let joint = if good.path.contains('?') { "&" } else { "?" };
        for unknown in ["no_such", "shop_id", "Q", "q[]"] {
            let path = format!("{}{joint}{unknown}=1", good.path);
            let mut request = who.request(&asked.method, &path);
            if let Some(body) = &good.body {
                request = request.body(body);
            }
            let refusal = request.send().refused(422, "invalid-input");
            assert_eq!(refusal.pointers(), [unknown], "{}", asked.name);
        }
    }
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_parameter_with_a_value_that_means_nothing_is_named() {
    let scene = Scene::open();
    let mut count = 0;
    for asked in every_request().into_iter().filter(|asked| asked.is_read()) {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let path = good.path.split('?').next().unwrap();
        for parameter in asked.parameters("query") {
            let name = parameter["name"].as_str().unwrap();
            let long = "x".repeat(6000);
            let bad = ["%00", "a%00b", "%FF", "%C3%28", "-1", "0", "999999999999999999999", "1e99", "%F0%9F%8E%BA", "'%22;--", "no-such", long.as_str()];
            for value in bad {
                let answer = who.get(&format!("{path}?{name}={value}"));
                if answer.status == 200 {
                    // Only what is searched for may be anything.
                    assert!(name == "q" && !value.contains("%00"), "{answer}");
                    continue;
                }
                is_a_problem(&answer);
                assert!(answer.status == 422 || (answer.status == 404 && parameter["required"] == true), "{answer}");
                if answer.status == 422 {
                    assert_eq!(answer.json()["errors"][0]["pointer"], name, "{answer}");
                }
                count += 1;
            }
            // Twice is not once.
            let twice = who.get(&format!("{path}?{name}=1&{name}=2"));
            is_a_problem(&twice);
        }
    }
    assert!(count > 40, "{count}");
}

#[test]
fn a_name_in_a_path_that_is_none_is_absent() {
    let scene = Scene::open();
    let before = scene.all_records();
    let mut count = 0;
    let long = "9".repeat(3000);
    for asked in every_request().into_iter().filter(|asked| asked.path.contains('{')) {
        if asked.name == "sessions_end" {
            continue;
        }
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        for name in [
            "0190c0de-0000-7000-8000-000000000001", "1843-8", "1843-9", "x", "%00", "%FF", "%C3%A4", "%D9%A1%D9%A8%D9%A4%D9%A3%D9%A8",
            "%F0%9F%8E%BA", "%2F", "..%2Fshop", "%25", "null", "-1", &long,
        ] {
            let (start, end) = asked.path.split_once('{').unwrap();
            let path = format!("{start}{name}{}", end.split_once('}').unwrap().1);
            let mut request = who.request(&asked.method, &path);
            if let Some(seen) = good.seen {
                request = request.seen(seen);
            }
            if let Some(body) = &good.body {
                request = request.body(body);
            }
            if let Some((kind, bytes)) = &good.raw {
                request = request.raw_body(kind, bytes.clone());
            }
            let answer = request.send();
            is_a_problem(&answer);
            assert_eq!(answer.status, 404, "{answer}");
            count += 1;
        }
    }
    assert!(count > 600, "{count}");
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_claim_number_in_the_digits_of_any_script_names_its_order() {
    let scene = Scene::open();
    let bench = scene.order("bench");
    let arabic: String = bench.claim_number().chars().map(|c| c.to_digit(10).map_or(c, |d| char::from_u32(0x0660 + d).unwrap())).collect();
    let encoded: String = arabic.bytes().map(|byte| format!("%{byte:02X}")).collect();
    assert_eq!(scene.shop.technician().get(&format!("/work-orders/{encoded}")).done()["id"], bench.id());
}

#[test]
fn an_address_tells_which_methods_it_knows() {
    let scene = Scene::open();
    let before = scene.all_records();
    let all = every_request();
    let mut count = 0;
    for asked in &all {
        if asked.name == "sessions_end" {
            continue;
        }
        let good = scene.good(asked);
        let path = good.path.split('?').next().unwrap();
        // What is one word for a placeholder may be another's name: `/sessions/current`.
        let known: Vec<&str> = all.iter().filter(|one| one.path == asked.path).map(|one| one.method.as_str()).collect();
        for method in ["GET", "POST", "PUT", "PATCH", "DELETE", "TRACE", "BREW"] {
            if known.contains(&method) || all.iter().any(|one| one.method == method && fits(one.path, path)) {
                continue;
            }
            let answer = scene.person(good.by).request(method, path).send();
            is_a_problem(&answer);
            let allow = answer.header("allow").unwrap_or_default().to_owned();
            assert!(known.iter().all(|known| allow.contains(known)), "{answer}: Allow: {allow}");
            answer.refused(405, "wrong-method");
            count += 1;
        }
    }
    assert!(count > 300, "{count}");
    for path in ["/api/v1/no-such", "/api/v1/", "/api/v1/customers/", "/api/v2/board", "/no-such"] {
        is_a_problem(&scene.shop.technician().get(path));
    }
    assert_eq!(scene.all_records(), before);
}

fn fits(template: &str, path: &str) -> bool {
    let (own, asked): (Vec<&str>, Vec<&str>) = (template.split('/').collect(), path.split('/').collect());
    own.len() == asked.len() && own.iter().zip(asked).all(|(own, asked)| own.starts_with('{') || *own == asked)
}

#[test]
fn a_document_of_another_kind_is_not_asked_for_in_vain() {
    let scene = Scene::open();
    // Whoever wants something else than JSON gets JSON; a HEAD is a GET without its body.
    let who = scene.shop.technician();
    let answer = who.request("GET", "/board").header("Accept", "application/xml").send();
    assert_eq!((answer.status, answer.header("content-type")), (200, Some("application/json")));
}
