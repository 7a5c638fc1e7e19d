//! Bad bodies: broken, too large, of another kind, with fields and values that cannot be.

use super::document::{Asked, every_request, is_a, is_free_text, with};
use super::scene::{Good, Scene};
use harness::Answer;
use serde_json::{Value, json};

fn with_bodies() -> Vec<Asked> {
    let found: Vec<Asked> = every_request().into_iter().filter(|asked| asked.body().is_some()).collect();
    assert!(found.len() > 28, "{}", found.len());
    found
}

/// Words that mean something to us and nothing to whoever typed.
const INNER: [&str; 11] =
    [" at line ", "column", "serde", "deserialize", "struct ", "variant", "u64", "i32", "RFC3339", "premature end", "trailing"];

/// What a sweep found, told all at once: one run shows every endpoint that is at fault.
#[derive(Default)]
struct Faults(Vec<String>);

impl Faults {
    /// What must be true of every refusal of a body: a problem, in words for people, and this besides.
    fn refused(&mut self, answer: &Answer, what: &str, also: impl Fn(&Answer) -> bool) {
        let is_problem = (400..500).contains(&answer.status) && answer.header("content-type") == Some("application/problem+json");
        let inner = INNER.iter().find(|inner| answer.text().contains(*inner));
        if !is_problem || inner.is_some() || !also(answer) {
            self.0.push(format!("{what}: {answer}"));
        }
    }

    /// Fails with all of them.
    #[track_caller]
    fn none(self) {
        assert!(self.0.is_empty(), "{} faults:\n{}", self.0.len(), self.0.join("\n"));
    }
}

fn is(answer: &Answer, status: u16, slug: &str) -> bool {
    answer.status == status && answer.json()["type"] == slug
}

/// Whether the refusal names this field, or, for one that is deep inside, something beside it: what
/// the sweep makes up around a field need not exist.
fn names_about(answer: &Answer, pointer: &str) -> bool {
    let part = pointer.rsplit_once('/').map_or("", |(parent, _)| parent.trim_end_matches(|c: char| c.is_ascii_digit() || c == '/'));
    answer.status == 422
        && pointers(answer).iter().any(|named| named == pointer || (!part.is_empty() && (named.starts_with(part) || (!named.is_empty() && part.starts_with(named.as_str())))))
}

fn pointers(answer: &Answer) -> Vec<String> {
    let body = answer.json();
    body["errors"].as_array().into_iter().flatten().map(|error| error["pointer"].as_str().unwrap().to_owned()).collect()
}

/// Sends the good body with one value changed.
fn spoilt(scene: &Scene, asked: &Asked, good: &Good, pointer: &str, value: Value) -> Answer {
    let body = with(good.body.as_ref().unwrap_or(&json!({})), asked.body().unwrap(), pointer, value);
    scene.send_body(asked, good, &body)
}

#[test]
fn a_body_that_cannot_be_read_is_refused_whole() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    for asked in with_bodies() {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let send = |kind: &str, body: Vec<u8>| {
            let mut request = who.request(&asked.method, &good.path).raw_body(kind, body);
            if let Some(seen) = good.seen {
                request = request.seen(seen);
            }
            request.send()
        };
        let whole = good.body.as_ref().unwrap().to_string();
        for broken in ["{", "nul", "{]", "\"", "[1,", "{\"a\":}", "{\"a\":1}x", "\u{feff}{}", "{\"a\":1e999999}", "'a'", "NaN"] {
            let answer = send("application/json", broken.as_bytes().to_vec());
            faults.refused(&answer, &format!("{} {broken}", asked.name), |answer| is(answer, 422, "invalid-input"));
        }
        for other in ["[]", "null", "1", "\"text\"", "true", "[{}]"] {
            let answer = send("application/json", other.as_bytes().to_vec());
            faults.refused(&answer, &format!("{} {other}", asked.name), |answer| answer.status == 422);
        }
        for no_text in [b"{\"a\":\"\xff\"}".to_vec(), b"\xc3\x28".to_vec(), vec![0xed, 0xa0, 0x80], [whole.as_bytes(), b"\xfe"].concat()] {
            let answer = send("application/json", no_text);
            faults.refused(&answer, asked.name, |answer| is(answer, 422, "invalid-input"));
        }
        for kind in ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "application/jsonx", "json", ""] {
            let answer = send(kind, whole.as_bytes().to_vec());
            faults.refused(&answer, &format!("{} {kind}", asked.name), |answer| is(answer, 415, "wrong-type"));
        }
        let deep = format!("{}{}", "[".repeat(5000), "]".repeat(5000));
        let answer = send("application/json", deep.into_bytes());
        faults.refused(&answer, asked.name, |answer| is(answer, 422, "invalid-input"));
    }
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn ten_mebibytes_are_too_large_for_everything() {
    let scene = Scene::open();
    let before = scene.all_records();
    let large = format!("{{\"a\":\"{}\"}}", "x".repeat(10 * 1024 * 1024));
    for asked in with_bodies() {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let mut request = who.request(&asked.method, &good.path).raw_body("application/json", large.clone());
        if let Some(seen) = good.seen {
            request = request.seen(seen);
        }
        request.send().refused(413, "too-large");
    }
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_field_that_nobody_knows_is_named() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    for asked in with_bodies() {
        let good = scene.good(&asked);
        let body = good.body.clone().unwrap();
        let mut places = vec![String::new()];
        objects(&body, "", &mut places);
        places.dedup();
        for place in places {
            let mut body = body.clone();
            body.pointer_mut(&place).unwrap()["no_such"] = json!(1);
            let answer = scene.send_body(&asked, &good, &body);
            faults.refused(&answer, asked.name, |answer| answer.status == 422 && pointers(answer) == [format!("{place}/no_such")]);
        }
    }
    faults.none();
    assert_eq!(scene.all_records(), before);
}

/// The pointers of every object in `value`.
fn objects(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            found.push(at.to_owned());
            for (name, inner) in fields {
                objects(inner, &format!("{at}/{name}"), found);
            }
        }
        Value::Array(list) => {
            for (index, inner) in list.iter().enumerate() {
                objects(inner, &format!("{at}/{index}"), found);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[test]
fn a_field_that_is_missing_is_named() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    for asked in with_bodies() {
        let good = scene.good(&asked);
        let schema = super::document::resolve(asked.body().unwrap());
        for field in schema["required"].as_array().into_iter().flatten().map(|name| name.as_str().unwrap()) {
            let mut body = good.body.clone().unwrap();
            if body.as_object_mut().unwrap().remove(field).is_none() {
                continue;
            }
            let answer = scene.send_body(&asked, &good, &body);
            faults.refused(&answer, asked.name, |answer| answer.status == 422 && pointers(answer) == [format!("/{field}")]);
        }
    }
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn every_field_refuses_another_type_by_its_pointer() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    let mut count = 0;
    for asked in with_bodies() {
        let good = scene.good(&asked);
        for (pointer, field) in asked.fields().into_iter().filter(|(pointer, _)| !pointer.is_empty()) {
            let wrong = match () {
                () if is_a(field, "string") => json!(7),
                () if is_a(field, "object") => json!("text"),
                () => json!({"a": "text"}),
            };
            let answer = spoilt(&scene, &asked, &good, &pointer, wrong);
            faults.refused(&answer, &format!("{} {pointer}", asked.name), |answer| names_about(answer, &pointer));
            count += 1;
        }
    }
    assert!(count > 150, "{count}");
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_nul_letter_and_a_text_without_end_are_named_by_their_field() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    let mut count = 0;
    for asked in with_bodies().into_iter().filter(|asked| asked.name != "sessions_sign_in") {
        let good = scene.good(&asked);
        for (pointer, field) in asked.fields() {
            if !is_a(field, "string") {
                continue;
            }
            for nul in ["a\0b", "\0"] {
                let answer = spoilt(&scene, &asked, &good, &pointer, json!(nul));
                faults.refused(&answer, &format!("{} {pointer}", asked.name), |answer| answer.status == 422 && pointers(answer).contains(&pointer));
            }
            if is_free_text(field) {
                let answer = spoilt(&scene, &asked, &good, &pointer, json!("ä".repeat(100_000)));
                // Nor is it read back to them.
                faults.refused(&answer, &format!("{} {pointer}", asked.name), |answer| {
                    names_about(answer, &pointer) && answer.bytes.len() < 4096
                });
                count += 1;
            }
        }
    }
    assert!(count > 60, "{count}");
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_date_that_cannot_be_is_named() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    let mut count = 0;
    for asked in with_bodies() {
        let good = scene.good(&asked);
        for (pointer, _) in asked.fields().into_iter().filter(|(_, field)| field["format"] == "date") {
            for date in [
                "2026-02-30", "2026-13-01", "0000-00-00", "0000-01-01", "0001-01-01", "9999-12-31", "10000-01-01", "+262142-12-31", "-4713-11-24",
                "1900-01-01", "12.05.2026", "2026-5-1", "2026-05-20T00:00:00Z", "tomorrow", "", " 2026-05-20",
            ] {
                // Somebody may have been away long ago.
                if pointer.contains("/absent/") && ["0000-01-01", "0001-01-01", "1900-01-01", "9999-12-31"].contains(&date) {
                    continue;
                }
                let answer = spoilt(&scene, &asked, &good, &pointer, json!(date));
                faults.refused(&answer, &format!("{} {pointer} {date:?}", asked.name), |answer| answer.status == 422 && pointers(answer).contains(&pointer));
                count += 1;
            }
        }
    }
    assert!(count > 30, "{count}");
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_number_that_cannot_be_is_named() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    let mut count = 0;
    for asked in with_bodies() {
        let good = scene.good(&asked);
        for (pointer, field) in asked.fields() {
            let is_decimal = is_a(field, "string") && field["pattern"].as_str().is_some_and(|pattern| pattern.contains(r"\d{1,"));
            let bad: Vec<Value> = match () {
                () if is_decimal => [
                    "1.", ".5", "+1", "-1", "1e3", "1,5", " 1", "1 ", "", "NaN", "Infinity", "0x10", "1_000", "١", "99999999999999999999999999999999",
                    "0.00000000000000000000000000000001", "99999999999999.99",
                ]
                .map(|text| json!(text))
                .to_vec(),
                () if is_a(field, "integer") => {
                    let mut bad = vec![json!(1e300), json!(0.5), json!("1")];
                    if field["format"] == "int32" {
                        bad.extend([json!(1_i64 << 31), json!(i64::MIN), json!(u64::MAX)]);
                    }
                    // In which order things are drawn may begin anywhere.
                    if !pointer.ends_with("/order") {
                        bad.push(json!(-1));
                    }
                    bad
                }
                () => Vec::new(),
            };
            for value in bad {
                let answer = spoilt(&scene, &asked, &good, &pointer, value.clone());
                // Which version is meant is no number to be out of range.
                faults.refused(&answer, &format!("{} {pointer} {value}", asked.name), |answer| {
                    names_about(answer, &pointer) || (pointer == "/quote_version" && answer.status == 409)
                });
                count += 1;
            }
        }
    }
    assert!(count > 200, "{count}");
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_word_that_is_not_on_the_list_is_named() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    let before = scene.all_records();
    for asked in with_bodies() {
        let good = scene.good(&asked);
        for (pointer, _) in asked.fields().into_iter().filter(|(_, field)| field["enum"].is_array()) {
            for word in ["no_such", "", "Crack", "crack ", "\u{202e}"] {
                let answer = spoilt(&scene, &asked, &good, &pointer, json!(word));
                faults.refused(&answer, &format!("{} {pointer}", asked.name), |answer| answer.status == 422 && pointers(answer) == [pointer.clone()]);
            }
        }
        for (pointer, _) in asked.fields().into_iter().filter(|(_, field)| field["format"] == "uuid") {
            for id in ["no-id", "", "0190c0de-0000-7000-8000-00000000000"] {
                let answer = spoilt(&scene, &asked, &good, &pointer, json!(id));
                faults.refused(&answer, &format!("{} {pointer}", asked.name), |answer| answer.status == 422 && pointers(answer) == [pointer.clone()]);
            }
        }
    }
    faults.none();
    assert_eq!(scene.all_records(), before);
}

#[test]
fn a_discount_says_which_of_the_two_it_is() {
    let scene = Scene::open();
    let mut faults = Faults::default();
    for asked in with_bodies().into_iter().filter(|asked| matches!(asked.name, "quotes_draft" | "quotes_replace")) {
        let good = scene.good(&asked);
        for discount in [json!({}), json!({"percent": "5", "amount": "5"}), json!({"share": "5"}), json!("percent"), json!([]), json!({"percent": null})] {
            let answer = spoilt(&scene, &asked, &good, "/discount", discount.clone());
            faults.refused(&answer, &discount.to_string(), |answer| {
                answer.status == 422 && !pointers(answer).is_empty() && pointers(answer).iter().all(|one| one.starts_with("/discount"))
            });
        }
    }
    faults.none();
}

#[test]
fn names_in_every_script_are_kept_as_typed() {
    let scene = Scene::open();
    for name in ["Ọlá 🎺", "שרה כהן", "محمد", "Zo\u{301}e", "O'Brien \"Bo\" <b>&amp;", "李小龍", "🏳️\u{200d}🌈"] {
        let kept = scene.shop.front_desk().post("/customers", &json!({"name": name})).done();
        assert_eq!(kept["name"], name);
        let again = scene.shop.front_desk().get(&format!("/customers/{}", kept["id"].as_str().unwrap())).done();
        assert_eq!(again["name"], name);
    }
}
