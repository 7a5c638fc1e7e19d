//! The evening as the proprietor reads it before locking up: the day, e-mails that did not arrive, the last
//! flame, and who looked at the bench.

use chrono::TimeDelta;
use diesel::connection::SimpleConnection;
use harness::{Order, Person, SmtpServer, TestShop, baritone, crack, line, step, trumpet, until};
use serde_json::{Value, json};

fn evening(person: &Person) -> Value {
    person.get("/evening").done()
}

/// On the bench with these steps accepted, and the steps.
fn with_steps(shop: &TestShop, steps: &[(&str, &str)]) -> (Order, Vec<Value>) {
    let order = shop.in_diagnosis(&baritone());
    let mara = shop.technician();
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    let planned: Vec<Value> =
        steps.iter().map(|(title, heat)| mara.plans(&order, &step(title, "10.00").answering(&found).with("heat", json!(heat))).done()).collect();
    mara.drafts(&order, &planned.iter().map(line).collect::<Vec<_>>()).done();
    let order = mara.look_at(order);
    mara.sends(&order, order.quote("draft")).done();
    let order = mara.look_at(order);
    shop.front_desk().records_answer(order.quote("sent"), "accepted", &json!({})).done();
    let order = mara.look_at(order);
    let planned = steps.iter().map(|(title, _)| order.operation(title).clone()).collect();
    (order, planned)
}

fn step_now<'o>(order: &'o Order, title: &str) -> &'o Value {
    order.operation(title)
}

#[test]
fn comings_and_goings_of_the_day_are_counted_and_those_of_yesterday_are_not() {
    let shop = TestShop::open();
    let desk = shop.front_desk();
    shop.collected(&baritone());
    // What is still on its way would go out on the next day.
    shop.mail_has_gone();
    shop.days_pass(1);
    let quiet = evening(&desk);
    assert_eq!((&quiet["came_in_count"], &quiet["left_count"], &quiet["letters_sent_count"]), (&json!(0), &json!(0), &json!(0)));
    shop.collected(&baritone());
    shop.checked_in(&trumpet());
    let mistake = shop.checked_in(&trumpet());
    desk.moves(&mistake, "closed", "entered_by_mistake", Some("Another shop's.")).done();
    let sent = shop.mail_has_gone().letters().len();
    let day = evening(&desk);
    assert_eq!(day["on"], shop.clock().today().to_string());
    // What was entered by mistake neither came nor left.
    assert_eq!((&day["came_in_count"], &day["left_count"]), (&json!(2), &json!(1)));
    let of_today = day["letters_sent_count"].as_u64().unwrap();
    assert!(of_today >= 3 && of_today < u64::try_from(sent).unwrap(), "{of_today} of {sent}");
    assert_eq!((&day["letters_back"], &day["last_flame"], &day["burning"]), (&json!([]), &Value::Null, &json!([])));
}

#[test]
fn the_last_flame_is_the_last_step_at_the_torch_of_today_and_one_that_burns_is_told() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let (order, steps) = with_steps(&shop, &[("Unsolder the brace", "solder"), ("Braze the crack", "braze"), ("Fit the slide", "none")]);
    mara.starts(&steps[0]).done();
    shop.clock().forward(TimeDelta::minutes(20));
    let burning = evening(&mara);
    let one = &burning["burning"][0];
    assert_eq!((&one["step"], &one["claim_number"], &one["by"]["name"]), (&json!("Unsolder the brace"), &json!(order.claim_number()), &json!(mara.name())));
    assert_eq!(burning["last_flame"], Value::Null, "nothing went out yet");

    mara.finishes(step_now(&mara.look_at(&order), "Unsolder the brace")).done();
    let out_at = shop.clock().now();
    mara.starts(step_now(&mara.look_at(&order), "Fit the slide")).done();
    shop.clock().forward(TimeDelta::minutes(30));
    mara.finishes(step_now(&mara.look_at(&order), "Fit the slide")).done();
    let after = evening(&mara);
    assert_eq!((&after["burning"], &after["last_flame"]["step"]), (&json!([]), &json!("Unsolder the brace")), "a cold step is no flame");
    let told: chrono::DateTime<chrono::Utc> = after["last_flame"]["at"].as_str().unwrap().parse().unwrap();
    assert!((told - out_at).abs() < TimeDelta::seconds(30), "{told} is not {out_at}");
    shop.days_pass(1);
    assert_eq!(evening(&mara)["last_flame"], Value::Null, "that was yesterday's");
}

#[test]
fn a_look_at_the_bench_is_kept_with_who_and_when_once_for_a_key_and_for_its_day() {
    let shop = TestShop::open();
    let (mara, desk) = (shop.technician(), shop.front_desk());
    assert_eq!(evening(&desk)["bench_look"], Value::Null);
    let look = |person: &Person, key: &str| person.request("POST", "/evening/bench-looks").once(key).send();
    let first = look(&mara, "look-1");
    assert_eq!(first.status, 201);
    let first = first.done();
    assert_eq!(first["by"]["name"], mara.name());
    assert_eq!(look(&mara, "look-1").done(), first, "a repeat is the same look");
    assert_eq!(evening(&desk)["bench_look"], first);
    // Whoever looks again is the one that is told.
    shop.clock().forward(TimeDelta::minutes(5));
    let second = look(&desk, "look-2").done();
    assert_eq!(evening(&desk)["bench_look"], second);
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM bench_looks"), 2);
    assert_eq!(evening(&shop.in_another_shop())["bench_look"], Value::Null);
    shop.days_pass(1);
    assert_eq!(evening(&desk)["bench_look"], Value::Null);
}

#[test]
fn an_email_that_comes_back_is_listed_with_its_order_until_it_is_sent_again() {
    let folder = std::env::temp_dir().join(format!("bellbrace-evening-{}", std::process::id()));
    let smtp = SmtpServer::start(&folder);
    smtp.will("never");
    let shop = TestShop::opening().with_post(smtp.post()).open();
    let desk = shop.front_desk();
    let order = shop.checked_in(&baritone());
    shop.mail_has_gone();
    let day = evening(&desk);
    let [back] = day["letters_back"].as_array().unwrap().as_slice() else { panic!("{day:#}") };
    assert_eq!((&back["claim_number"], &back["state"], &back["to_email"]), (&json!(order.claim_number()), &json!("bounced"), &json!("otto@player.example")));
    assert!(back["state_reason"].as_str().unwrap().contains("Nobody lives here"), "{back}");
    assert_eq!((&back["phone"], &day["letters_sent_count"]), (&json!("0151 2345678"), &json!(0)));
    smtp.will("take");
    desk.post(&format!("/letters/{}/send-again", back["id"].as_str().unwrap()), &json!({})).done();
    shop.mail_has_gone();
    let day = evening(&desk);
    assert_eq!((&day["letters_back"], &day["letters_sent_count"]), (&json!([]), &json!(1)));
    drop(smtp);
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn an_email_of_which_nobody_knows_is_listed_once_it_is_no_longer_repeated_by_itself() {
    let folder = std::env::temp_dir().join(format!("bellbrace-evening-lost-{}", std::process::id()));
    let smtp = SmtpServer::start(&folder);
    smtp.will("lost");
    let shop = TestShop::opening().with_post(smtp.post()).open();
    let desk = shop.front_desk();
    let order = shop.checked_in(&baritone());
    let letter = || shop.look_at(&order).letters()[0].clone();
    until("the answer was lost", || (letter()["state"] == "unknown").then_some(()));
    assert!(letter()["next_try_at"].is_string(), "{}", letter());
    assert_eq!(evening(&desk)["letters_back"], json!([]), "it is tried once more by itself");
    // The ten minutes until then are over, by the database's clock.
    shop.database().superuser().batch_execute("UPDATE outbox SET due_at = now()").unwrap();
    shop.mail_has_gone();
    let day = evening(&desk);
    let [back] = day["letters_back"].as_array().unwrap().as_slice() else { panic!("{day:#}") };
    assert_eq!((&back["claim_number"], &back["state"]), (&json!(order.claim_number()), &json!("unknown")));
    assert!(back["state_reason"].as_str().unwrap().contains("may have arrived"), "{back}");
    smtp.will("take");
    desk.post(&format!("/letters/{}/send-again", back["id"].as_str().unwrap()), &json!({})).done();
    shop.mail_has_gone();
    assert_eq!(evening(&desk)["letters_back"], json!([]));
    drop(smtp);
    std::fs::remove_dir_all(&folder).unwrap();
}
