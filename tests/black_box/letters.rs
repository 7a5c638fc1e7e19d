//! Rule 8: every stage change has its letter, or the recorded reason why none was sent.
//! That each change has one is asked of every database a test leaves behind (the harness).

use harness::{TestShop, baritone, line, step};
use serde_json::{Value, json};

const OTTO: &str = "otto@player.example";
const SCHOOL: &str = "office@school.example";

#[test]
fn rule_8_the_contact_gets_the_status_letters_and_the_owner_the_quotes_and_their_outcome() {
    let shop = TestShop::open();
    let order = shop.collected(&baritone().owned_by_a_school());
    let mail = shop.mail_has_gone();
    let kinds = |address: &str| -> Vec<String> {
        order
            .letters()
            .iter()
            .filter(|letter| letter["to_email"] == address)
            .map(|letter| letter["kind"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(kinds(OTTO), ["checked_in", "examination_begins", "bench_done", "tests_passed", "collected"]);
    assert_eq!(kinds(SCHOOL), ["quote_sent", "accepted"]);
    assert_eq!((mail.to(OTTO).len(), mail.to(SCHOOL).len()), (5, 2));
    // Only the owner's letters lead to the page that decides.
    assert!(mail.to(OTTO).iter().all(|letter| letter.link("answer").is_none()));
    assert!(mail.to(SCHOOL)[0].link("answer").is_some());
    // What the end of the work concerns is told to both.
    let declined = shop.in_approval(&baritone().owned_by_a_school());
    shop.front_desk().records_answer(declined.quote("sent"), "declined", &json!({})).done();
    let told: Vec<Value> = shop.look_at(&declined).letters().iter().filter(|l| l["kind"] == "declined").cloned().collect();
    assert_eq!(told.len(), 2);
}

#[test]
fn rule_8_who_wants_mail_only_when_asked_gets_less_and_the_record_says_why() {
    let shop = TestShop::open();
    let quiet = json!({"name": "Otto Brenner", "email": OTTO, "mail_wanted": "only_when_asked"});
    let order = shop.collected(&baritone().with("customer", quiet));
    let mail = shop.mail_has_gone();
    let order = shop.look_at(&order);
    let sent: Vec<&str> = order.letters().iter().filter(|l| l["state"] == "sent").map(|l| l["kind"].as_str().unwrap()).collect();
    assert_eq!(sent, ["checked_in", "quote_sent", "accepted", "tests_passed"]);
    let kept_back: Vec<&Value> = order.letters().iter().filter(|l| l["state"] == "not_wanted").collect();
    assert_eq!(kept_back.len(), 3);
    assert!(kept_back.iter().all(|l| l["state_reason"].as_str().unwrap().contains("only when asked")), "{kept_back:?}");
    assert_eq!(mail.to(OTTO).len(), 4);
}

#[test]
fn rule_8_without_an_address_every_letter_is_a_line_for_the_telephone() {
    let shop = TestShop::open();
    let order = shop.collected(&baritone().without_email());
    assert_eq!(order.letters().len(), order.way().len());
    assert!(order.letters().iter().all(|l| l["state"] == "not_wanted" && l["state_reason"].as_str().unwrap().contains("ring list")));
    assert!(shop.mail_has_gone().letters().is_empty());
}

#[test]
fn rule_8_nothing_is_sent_for_a_change_that_was_rolled_back() {
    let shop = TestShop::open();
    let pia = shop.desk_and_bench();
    let order = shop.checked_in(&baritone());
    // Five moves and their letters are made in one transaction, and the sixth is refused.
    let visit = json!({
        "operations": [{"title": "Pull the mouthpiece", "price": harness::people::eur("12.00")}],
        "test": {"kind": "leak_test", "verdict": "passed"},
        "handover": {"how": "collected", "collected_by": "Otto Brenner",
                     "payment": {"amount": harness::people::eur("12.00"), "how": "cash"}},
    });
    pia.does_at_counter(&order, &visit).refused(409, "accessories");
    assert_eq!(shop.look_at(&order).letters().len(), 1);
    assert_eq!(shop.mail_has_gone().to(OTTO).len(), 1, "the receipt alone");
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM events WHERE kind <> 'letter'"), 1);
}

#[test]
fn rule_8_a_letter_keeps_one_message_id_when_it_is_sent_again() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let first = shop.mail_has_gone().to(OTTO);
    let letter = &order.letters()[0];
    let before = shop.look_at(&order).letters()[0].clone();
    shop.clock().forward(chrono::TimeDelta::hours(1));
    let again = shop.front_desk().post(&format!("/letters/{}/send-again", letter["id"].as_str().unwrap()), &json!({})).done();
    assert_eq!(again["id"], letter["id"]);
    let sent_twice = harness::until("it is sent again", || {
        let now = shop.look_at(&order).letters()[0].clone();
        (now["sent_at"] != before["sent_at"] && now["state"] == "sent").then_some(now)
    });
    assert_eq!(sent_twice["subject"], letter["subject"]);
    let after = shop.mail_has_gone().to(OTTO);
    // The folder holds one file for one Message-ID; its content is the same letter, with a link of its own.
    assert_eq!((after.len(), &after[0].message_id), (1, &first[0].message_id));
    let (old, new) = (first[0].link("status").unwrap(), after[0].link("status").unwrap());
    assert_ne!(old, new);
    assert_eq!(after[0].text.replace(&new, &old), first[0].text);
    for link in [old, new] {
        assert_eq!(shop.stranger().get(&link).status, 200, "{link}");
    }
    assert!(first[0].message_id.ends_with("@shop.example"), "{}", first[0].message_id);
}

#[test]
fn a_letter_can_be_read_again_as_it_was_written() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let mail = shop.mail_has_gone().to(OTTO).remove(0);
    let letter = shop.front_desk().get(&format!("/letters/{}", order.letters()[0]["id"].as_str().unwrap())).done();
    assert_eq!(letter["letter"]["subject"], mail.subject);
    // As it was written, but for the secrets of its links.
    let words = |text: &str| {
        let link = |word: &str| word.find("/status/").map_or(word.to_owned(), |at| word[..at].to_owned());
        text.split_whitespace().map(link).collect::<Vec<_>>()
    };
    assert_eq!(words(letter["text"].as_str().unwrap()), words(&mail.text));
}

#[test]
fn what_only_tells_of_a_change_can_be_ended_with_one_step_and_what_asks_cannot() {
    let shop = TestShop::open();
    shop.in_approval(&baritone());
    let letters = shop.mail_has_gone().to(OTTO);
    let of = |words: &str| letters.iter().find(|letter| letter.subject.contains(words)).unwrap();
    let unsubscribe = of("is being examined").header("List-Unsubscribe").expect("a way out (RFC 2369)");
    assert!(unsubscribe.starts_with('<') && unsubscribe.contains("/status/"), "{unsubscribe}");
    assert!(of("our quote").header("List-Unsubscribe").is_none());
    assert!(of("We have your").header("List-Unsubscribe").is_none());
}

#[test]
fn what_people_typed_stays_what_they_typed_in_letters_and_on_pages() {
    let shop = TestShop::open();
    let nasty = "\"><script>alert(1)</script> Ærø & Söhne\r\nBcc: x@evil.example";
    let customer = json!({"name": "Otto <b>Brenner</b>", "email": OTTO});
    let order = shop.in_diagnosis(&baritone().with("complaint", json!(nasty)).with("customer", customer));
    let mara = shop.technician();
    let polish = mara.plans(&order, &step("Polish <img src=x>", "10.00")).done();
    let draft = mara.drafts_quote(&order, &json!({"message": nasty, "lines": [line(&polish)]})).done();
    mara.sends(&order, &draft).done();
    for letter in shop.mail_has_gone().to(OTTO) {
        assert_eq!(letter.to, [OTTO]);
        assert!(letter.header("Bcc").is_none());
        for tag in ["<script", "<img src=x", "<b>Brenner"] {
            assert!(!letter.html.contains(tag), "{tag} in {}", letter.html);
        }
    }
    let quote = shop.mailbox().letter(OTTO, "our quote");
    assert!(quote.text.contains("Ærø & Söhne"));
    for page in ["status", "answer"] {
        let html = shop.stranger().get(&quote.link(page).unwrap()).text();
        for tag in ["<script", "<img src=x", "<b>Brenner"] {
            assert!(!html.contains(tag), "{tag} on the {page} page");
        }
    }
}
