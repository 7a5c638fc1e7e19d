//! Lists: page by page, each told where the next one begins.

use super::document::{every_request, resolve};
use super::scene::Scene;
use harness::people::PASSWORD;
use harness::{Answer, Person};
use serde_json::{Value, json};

/// Where the next page is, by the `Link` header of RFC 8288; it says the same as the body.
#[track_caller]
fn next_page(answer: &Answer) -> Option<String> {
    let body = answer.json();
    let link = answer.header("link").map(|link| link.strip_prefix('<').unwrap().strip_suffix(">; rel=\"next\"").unwrap().to_owned());
    assert_eq!(link.is_some(), body["next"].is_string(), "{answer}");
    if let (Some(link), Some(cursor)) = (&link, body["next"].as_str()) {
        assert!(link.contains(&format!("cursor={cursor}")), "{link}");
    }
    link
}

/// Every item, so many at a time.
#[track_caller]
fn all_by(who: &Person, path: &str, limit: usize) -> Vec<Value> {
    let joint = if path.contains('?') { "&" } else { "?" };
    let mut next = Some(format!("{path}{joint}limit={limit}"));
    let mut seen = Vec::new();
    while let Some(path) = next {
        let answer = who.get(&path);
        assert_eq!(answer.status, 200, "{answer}");
        let items = answer.json()["items"].as_array().unwrap().clone();
        next = next_page(&answer);
        assert!(items.len() == limit || (next.is_none() && items.len() < limit), "{answer}");
        seen.extend(items);
        assert!(seen.len() < 500, "{path} never ends");
    }
    seen
}

#[test]
fn every_list_is_given_page_by_page() {
    let scene = Scene::open();
    // Something to turn over in those that the scene has hardly anything in.
    let bench = scene.order("bench");
    let mara = scene.shop.technician();
    for purpose in ["status", "status", "status"] {
        scene.shop.front_desk().issues_link(bench, purpose);
    }
    for word in ["first", "second", "third", "main"] {
        let fit = json!({"fit_kind": "tuning_slide", "part": format!("{word} slide"), "measured": super::scene::a_fit()});
        mara.post(&format!("/work-orders/{bench}/fit-checks"), &fit).done();
    }
    for family in ["tuba", "horn", "flute", "clarinet"] {
        scene.shop.front_desk().post("/instruments", &json!({"owner_id": bench["customer"]["id"], "instrument": {"family": family}})).done();
    }
    let mut turned = Vec::new();
    for asked in every_request().into_iter().filter(|asked| asked.is_read() && asked.parameters("query").iter().any(|one| one["name"] == "cursor")) {
        let good = scene.good(&asked);
        let who = scene.person(good.by);
        let whole = all_by(&who, &good.path, 200);
        assert_eq!(all_by(&who, &good.path, 1), whole, "{}", asked.name);
        assert_eq!(all_by(&who, &good.path, 3), whole, "{}", asked.name);
        if whole.len() > 3 {
            turned.push(asked.name);
        }
        let joint = if good.path.contains('?') { "&" } else { "?" };
        for limit in ["0", "201", "-1", "all"] {
            let refusal = who.get(&format!("{}{joint}limit={limit}", good.path)).refused(422, "invalid-input");
            assert_eq!(refusal.pointers(), ["limit"], "{}", asked.name);
        }
        let refusal = who.get(&format!("{}{joint}cursor=bm9uZQ", good.path)).refused(422, "invalid-input");
        assert_eq!(refusal.pointers(), ["cursor"], "{}", asked.name);
    }
    for name in [
        "people_list", "shop_methods", "shop_families", "letters_of_order", "work_orders_stage_changes", "work_orders_links",
        "work_orders_fit_checks", "work_orders_list", "instruments_list",
    ] {
        assert!(turned.contains(&name), "{name} is no list of several pages here: {turned:?}");
    }
}

#[test]
fn no_answer_with_a_list_of_things_is_without_its_pages() {
    for asked in every_request().into_iter().filter(|asked| asked.is_read()) {
        let Some(answer) = asked.answer() else { continue };
        let fields = &resolve(answer)["properties"];
        if fields["items"].is_object() {
            assert!(fields["next"].is_object(), "{}", asked.name);
            let known: Vec<&str> = asked.parameters("query").iter().map(|one| one["name"].as_str().unwrap()).collect();
            assert!(known.contains(&"limit") && known.contains(&"cursor"), "{}: {known:?}", asked.name);
        }
    }
}

#[test]
fn ones_own_sessions_are_turned_over_newest_first() {
    let scene = Scene::open();
    let stranger = scene.shop.stranger();
    let mut last = String::new();
    for _ in 0..5 {
        let signed_in = stranger.post("/sessions", &json!({"email": "mara@shop.example", "password": PASSWORD})).done();
        signed_in["access_token"].as_str().unwrap().clone_into(&mut last);
    }
    let mara = stranger.with_token(&last);
    let whole = all_by(&mara, "/sessions", 200);
    assert_eq!(whole.len(), 5);
    assert_eq!(whole[0]["current"], true, "the newest is this one");
    assert_eq!(all_by(&mara, "/sessions", 2), whole);
    // One that ends meanwhile takes none of the others along.
    let first = mara.get("/sessions?limit=2");
    let next = next_page(&first).unwrap();
    let gone = first.json()["items"][1]["id"].clone();
    mara.request("DELETE", &format!("/sessions/{}", gone.as_str().unwrap())).send().done();
    let left = mara.get(&next).done();
    assert_eq!(left["items"].as_array().unwrap()[..], whole[2..4]);
}

#[test]
fn staff_methods_and_places_are_found_by_what_one_remembers() {
    let scene = Scene::open();
    let ines = scene.shop.proprietor();
    let names = |path: &str| -> Vec<String> {
        ines.get(path).done()["items"].as_array().unwrap().iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(names("/people?q=mara"), ["Mara Voss"]);
    assert_eq!(names("/people?q=MV"), ["Mara Voss"]);
    assert_eq!(names("/people?q=greta@shop"), ["Greta Lind"]);
    assert_eq!(names("/people?q=Jonas%20Keler"), ["Jonas Keller"], "typed wrong");
    assert!(names("/people?q=nobody%20of%20this%20name").is_empty());
    assert_eq!(names("/people?q=%25"), Vec::<String>::new(), "a percent sign is one");
    assert!(names("/methods?q=braze%20a%20crack").contains(&"Braze a crack".to_owned()));
    assert!(names("/methods?q=braz%20a%20crak").contains(&"Braze a crack".to_owned()));
    assert!(names("/methods?q=zzz").is_empty());
    let places = names("/places");
    if let Some(place) = places.first() {
        let asked: String = place.bytes().map(|byte| format!("%{byte:02X}")).collect();
        assert!(names(&format!("/places?q={asked}")).contains(place));
    }
    assert!(names("/places?q=zzz").is_empty());
    // A page of what is found is one of that alone.
    let found = names("/methods?q=a");
    let paged: Vec<String> = all_by(&ines, "/methods?q=a", 1).iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect();
    assert_eq!(paged, found);
}
