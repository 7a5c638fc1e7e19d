//! The secret of a customer's link is kept nowhere once its letter has gone, and the screens
//! learn at once how a letter stands.

use diesel::prelude::*;
use diesel::sql_types::Text;
use harness::{TestShop, baritone};
use serde_json::json;
use std::time::{Duration, Instant};

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    all: String,
}

/// Everything that any row of the database says.
fn everything(shop: &TestShop) -> Vec<(String, String)> {
    let mut conn = shop.database().superuser();
    crate::database::names(
        &mut conn,
        "SELECT relname::text AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY 1",
    )
    .into_iter()
    .map(|table| {
        let all = format!("SELECT coalesce(string_agg(t::text, ' '), '') AS all FROM {table} t");
        let row: Row = diesel::sql_query(all).get_result(&mut conn).unwrap();
        (table, row.all)
    })
    .collect()
}

/// What stands behind `/status/` and `/answer/`, wherever it stands.
fn secrets_in(words: &str) -> Vec<String> {
    ["/status/", "/answer/"]
        .iter()
        .flat_map(|page| words.split(page).skip(1))
        .map(|rest| rest.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '-' || *c == '_').collect::<String>())
        .filter(|secret| secret != "withheld" && !secret.is_empty())
        .collect()
}

#[test]
fn rule_10_no_row_holds_a_working_secret_once_the_letters_have_gone() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone());
    let issue = |purpose: &str| {
        let body = json!({"purpose": purpose});
        greta.request("POST", &format!("/work-orders/{order}/links")).once(&format!("key-{purpose}")).body(&body).send()
    };
    let links: Vec<String> = ["status", "answer"].iter().map(|purpose| issue(purpose).done()["url"].as_str().unwrap().to_owned()).collect();
    let mut secrets: Vec<String> = links.iter().map(|url| url.rsplit('/').next().unwrap().to_owned()).collect();
    for letter in shop.mail_has_gone().letters() {
        secrets.extend(secrets_in(&letter.text));
    }
    assert!(secrets.len() >= 5, "{secrets:?}");
    // They work, and stand nowhere.
    for secret in &secrets {
        let opens = ["status", "answer"].iter().any(|page| shop.stranger().get(&format!("/{page}/{secret}")).status == 200);
        assert!(opens, "{secret} opens nothing");
    }
    for (table, all) in everything(&shop) {
        assert!(secrets_in(&all).is_empty(), "{table} holds {:?}", secrets_in(&all));
        for secret in &secrets {
            assert!(!all.contains(secret), "{table} holds {secret}");
        }
    }
    // A repeated request has the same answer all the same.
    for (purpose, url) in ["status", "answer"].iter().zip(&links) {
        assert_eq!(issue(purpose).done()["url"], url.as_str());
    }
    // A letter is sent again with a link of its own, which opens too.
    let letter = shop.look_at(&order).letters().iter().find(|l| l["kind"] == "quote_sent").unwrap()["id"].clone();
    greta.post(&format!("/letters/{}/send-again", letter.as_str().unwrap()), &json!({})).done();
    let again = shop.mail_has_gone().letter("otto@player.example", "our quote");
    for page in ["status", "answer"] {
        let link = again.link(page).unwrap();
        assert!(!secrets.iter().any(|secret| link.ends_with(secret.as_str())), "a new one");
        assert_eq!(shop.stranger().get(&link).status, 200);
    }
    for (table, all) in everything(&shop) {
        assert!(secrets_in(&all).is_empty(), "{table} holds {:?}", secrets_in(&all));
    }
}

#[test]
fn a_letter_that_has_gone_is_shown_so_within_a_second() {
    let shop = TestShop::open();
    let screen = shop.front_desk().follow(None);
    let tell = || {
        let order = shop.checked_in(&baritone());
        let asked = Instant::now();
        let states: Vec<String> = (0..2)
            .map(|_| screen.of(order.id(), "letter").data["words"].as_str().unwrap().to_owned())
            .collect();
        assert_eq!(states, ["an e-mail: sending", "an e-mail: sent"]);
        (order, asked.elapsed())
    };
    // A busy machine may be slow once; what looks only every second would be slow each time.
    let (order, took) = (0..4).map(|_| tell()).min_by_key(|(_, took)| *took).unwrap();
    assert!(took < Duration::from_secs(1), "{took:?}");
    // Nobody's version is moved by it.
    assert_eq!(shop.look_at(&order).version(), order.version());
}

#[test]
fn whoever_missed_too_much_is_told_to_read_everything_anew() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    shop.mail_has_gone();
    // A shop's year: more events than anybody needs told one by one.
    let numbered = "INSERT INTO events (shop_id, id, number, kind, work_order_id, data, happened_at)
        SELECT shop_id, gen_random_uuid(), c.last_number + n, 'note_added', (SELECT id FROM work_orders), '{\"kind\": \"note_added\"}', now()
          FROM event_counters c, generate_series(1, 5000) n";
    let mut conn = shop.database().superuser();
    harness::until("every event has its number", || {
        (harness::postgres::count(&mut conn, "SELECT count(*) AS n FROM events WHERE number IS NULL") == 0).then_some(())
    });
    diesel::sql_query(numbered).execute(&mut conn).unwrap();
    diesel::sql_query("UPDATE event_counters SET last_number = last_number + 5000").execute(&mut conn).unwrap();
    let last = harness::postgres::count(&mut conn, "SELECT last_number AS n FROM event_counters");
    for after in [0, 1, last - 1001, last + 7] {
        let changes = shop.technician().follow(Some(after));
        let first = changes.next();
        assert_eq!((first.number, &first.data["kind"]), (last, &json!("anew")), "after {after}");
        assert!(changes.within(Duration::from_millis(100)).is_none(), "and nothing of before");
    }
    let changes = shop.technician().follow(Some(last - 1000));
    assert_eq!(changes.next().number, last - 999, "what is little is told");
    assert_eq!(order.stage(), "intake");
}
