//! What the pickup letter says of looking after the instrument: typical words, or the shop's own.

use harness::{TestShop, baritone};
use serde_json::{Value, json};

fn note<'v>(settings: &'v Value, family: &str) -> &'v Value {
    settings["care_notes"].as_array().unwrap().iter().find(|note| note["family"] == family).unwrap()
}

#[test]
fn the_pickup_letter_says_how_to_look_after_it_in_typical_words_until_the_shop_writes_its_own() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let settings = ines.get("/shop").done();
    assert_eq!(settings["care_notes"].as_array().unwrap().len(), 13);
    assert_eq!(note(&settings, "baritone")["kind"], "typical");
    let typical = note(&settings, "baritone")["words"].as_str().unwrap().to_owned();
    let amend = |notes: Value| {
        let version = ines.get("/shop").done()["version"].as_i64().unwrap();
        ines.request("PATCH", "/shop").seen(version).body(&json!({"care_notes": notes})).send()
    };
    let last_said = || {
        shop.in_pickup(&baritone());
        let mail = shop.mail_has_gone().to("otto@player.example");
        let letters: Vec<_> = mail.iter().filter(|letter| letter.subject.contains("ready")).collect();
        letters.last().unwrap().text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(last_said().contains(&typical.split_whitespace().collect::<Vec<_>>().join(" ")));

    let own = amend(json!({"baritone": "  Come by in spring, we oil it for you. "})).done();
    assert_eq!(note(&own, "baritone"), &json!({"family": "baritone", "words": "Come by in spring, we oil it for you.", "kind": "own"}));
    assert_eq!(note(&own, "horn")["kind"], "typical", "what is left out stays");
    assert!(last_said().contains("Come by in spring, we oil it for you."));

    amend(json!({"baritone": ""})).done();
    assert!(!last_said().contains("Looking after it"), "an empty note says nothing");

    assert_eq!(note(&amend(json!({"baritone": null})).done(), "baritone")["words"], json!(typical));
    assert_eq!(amend(json!({"horn": "x".repeat(1001)})).refused(422, "invalid-input").pointers(), ["/care_notes/horn"]);
    assert_eq!(note(&ines.get("/shop").done(), "horn")["kind"], "typical", "nothing half-done");
    amend(json!({"kazoo": "Blow."})).refused(422, "invalid-input");
}
