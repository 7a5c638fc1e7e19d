//! Faults in the middle of things: two servers on one database, a database that is taken away,
//! a server that is killed between sending a letter and recording it.

use std::collections::BTreeSet;
use std::sync::Barrier;
use std::time::Duration;

use diesel::connection::SimpleConnection;
use harness::{SmtpServer, TestShop, baritone, until};
use serde_json::json;

/// Two processes of the shipped program on one database, which is all they share.
fn two_servers(shop: &TestShop, settings: &[(&str, String)]) -> [harness::ChildServer; 2] {
    [shop.child_server(settings), shop.child_server(settings)]
}

#[test]
fn rule_5_of_those_who_claim_at_two_servers_exactly_one_wins_and_the_others_are_told_who() {
    let shop = TestShop::opening().without_server().open();
    let [one, other] = two_servers(&shop, &[]);
    let greta = shop.front_desk().at(one.address());
    let people = [
        shop.technician().at(one.address()),
        shop.second_technician().at(other.address()),
        shop.desk_and_bench().at(one.address()),
        shop.proprietor().at(other.address()),
    ];
    for _ in 0..20 {
        let order = harness::Order(greta.check_in(&baritone()).done());
        let start = Barrier::new(people.len());
        let answers: Vec<_> = std::thread::scope(|threads| {
            let tries: Vec<_> = people
                .iter()
                .map(|person| {
                    let (start, order) = (&start, &order);
                    threads.spawn(move || {
                        start.wait();
                        person.request("PUT", &format!("/work-orders/{order}/claim")).seen(order.version()).body(&json!({})).send()
                    })
                })
                .collect();
            tries.into_iter().map(|one| one.join().unwrap()).collect()
        });
        let winners: Vec<_> = people.iter().zip(&answers).filter(|(_, answer)| answer.status == 200).collect();
        assert_eq!(winners.len(), 1, "exactly one wins");
        let name = winners[0].0.name();
        for answer in answers.into_iter().filter(|answer| answer.status != 200) {
            let refusal = answer.refused(409, "already-claimed").saying(name);
            assert!(refusal.body["changed_at"].is_string());
        }
        assert_eq!(people[3].look_at(&order)["claimed_by"]["name"], name, "the other server says the same");
    }
    shop.outbox();
}

#[test]
fn events_reach_the_readers_of_both_servers_without_gap_or_repeat_also_when_one_is_killed() {
    let shop = TestShop::opening().without_server().open();
    let [mut one, other] = two_servers(&shop, &[]);
    // The first forecast is told whoever listens.
    let all = || shop.database().count("SELECT count(*) AS n FROM events");
    until("the first forecast is told", || (all() > 0).then_some(()));
    shop.events_have_numbers();
    let before = all();
    let here = shop.technician().at(one.address()).follow(None);
    let there = shop.technician().at(other.address()).follow(None);
    // Four write at once, two at each server.
    let write = |count: usize, addresses: &[&str]| {
        std::thread::scope(|threads| {
            for n in 0..4 {
                let greta = shop.front_desk().at(addresses[n % addresses.len()]);
                threads.spawn(move || {
                    let order = harness::Order(greta.check_in(&baritone()).done());
                    for _ in 0..count {
                        greta.post(&format!("/work-orders/{order}/notes"), &json!({"text": "rings"})).done();
                    }
                });
            }
        });
    };
    write(15, &[one.address(), other.address()]);
    // The letters' states are events as well; how many there are by then is the database's to say.
    until("every letter has gone", || (shop.database().count("SELECT count(*) AS n FROM outbox") == 0).then_some(()));
    let read = |changes: &harness::Changes, upto: i64, from: i64| {
        let mut numbers = Vec::new();
        while numbers.last().copied().unwrap_or(from) < upto {
            numbers.push(changes.next().number);
        }
        assert_eq!(numbers, (from + 1..=upto).collect::<Vec<_>>(), "in order, each once");
    };
    let so_far = all();
    assert!(so_far >= before + 4 * 16);
    read(&here, so_far, before);
    read(&there, so_far, before);
    // One is killed; the other goes on numbering, and whoever was cut off resumes there.
    one.kill();
    drop(here);
    write(5, &[other.address()]);
    until("every letter has gone", || (shop.database().count("SELECT count(*) AS n FROM outbox") == 0).then_some(()));
    let in_all = all();
    read(&there, in_all, so_far);
    let resumed = shop.technician().at(other.address()).follow(Some(so_far));
    read(&resumed, in_all, so_far);
    // A forecast made meanwhile is told as well.
    let more = std::iter::from_fn(|| resumed.within(Duration::from_millis(300)).map(|change| change.number));
    let more: Vec<i64> = more.collect();
    assert_eq!(more, (in_all + 1..).take(more.len()).collect::<Vec<_>>(), "nothing twice");
    shop.outbox();
}

#[test]
fn rule_8_two_servers_share_one_outbox_and_no_letter_goes_twice() {
    let shop = TestShop::opening().without_server().open();
    let smtp = SmtpServer::start(&shop.folder().join("smtp"));
    let [one, other] = two_servers(&shop, &smtp.settings());
    let people = [shop.front_desk().at(one.address()), shop.front_desk().at(other.address())];
    std::thread::scope(|threads| {
        for greta in &people {
            threads.spawn(move || {
                for _ in 0..15 {
                    greta.check_in(&baritone()).done();
                }
            });
        }
    });
    until("every letter has gone", || (shop.outbox() == 0).then_some(()));
    let letters = smtp.mailbox().letters();
    let ids: BTreeSet<&str> = letters.iter().map(|letter| letter.message_id.as_str()).collect();
    assert_eq!((letters.len(), ids.len()), (30, 30), "each once");
    assert_eq!(shop.database().count("SELECT count(*) AS n FROM letters WHERE state = 'sent'"), 30);
}

#[test]
fn a_database_that_goes_away_is_said_so_and_everything_works_again_without_a_restart() {
    let shop = TestShop::opening().without_server().open();
    let server = shop.child_server(&[]);
    let (greta, mara) = (shop.front_desk().at(server.address()), shop.technician().at(server.address()));
    let order = harness::Order(greta.check_in(&baritone()).done());
    let screen = mara.follow(None);
    until("the letter has gone", || (shop.database().count("SELECT count(*) AS n FROM outbox") == 0).then_some(()));
    let notes = || shop.database().count("SELECT count(*) AS n FROM notes");
    // In the middle of a request: it waits for a row that somebody else holds.
    let note = || mara.request("POST", &format!("/work-orders/{order}/notes")).once("k1").body(&json!({"text": "rings"})).send();
    let mut holder = shop.database().superuser();
    holder.batch_execute("BEGIN; SELECT * FROM work_orders FOR UPDATE").unwrap();
    let answer = std::thread::scope(|threads| {
        let under_way = threads.spawn(note);
        until("the request waits for the row", || {
            let waiting = "SELECT count(*) AS n FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'";
            (shop.database().count(waiting) == 1).then_some(())
        });
        shop.database().take_away();
        under_way.join().unwrap()
    });
    drop(holder);
    let is_away = |answer: harness::Answer| {
        let refusal = answer.refused(503, "records-away");
        assert!(refusal.retry_after.is_some_and(|seconds| seconds.parse::<u32>().is_ok_and(|seconds| (1..=30).contains(&seconds))), "Retry-After");
    };
    is_away(answer);
    // While it is away: reading and writing are refused alike, and the process stays.
    is_away(mara.get(&format!("/work-orders/{order}")));
    is_away(mara.get("/board"));
    is_away(note());
    let live = shop.stranger().at(server.address());
    assert_eq!(live.get("/health/live").status, 200);
    assert_eq!(live.get("/health/ready").status, 503);
    shop.database().give_back();
    // By itself, and nothing half-done: the same key has one effect.
    until("it works again", || (mara.get("/board").status == 200).then_some(()));
    assert_eq!(notes(), 0, "what broke off was rolled back");
    note().done();
    note().done();
    assert_eq!(notes(), 1);
    assert_eq!(live.get("/health/ready").status, 200);
    // The live stream of before goes on, or is opened anew at its last number; nothing is lost.
    assert!(screen.of(order.id(), "note_added").number > 0);
    // The post works again as well.
    greta.check_in(&baritone()).done();
    until("the letter has gone", || (shop.outbox() == 0).then_some(()));
}

#[test]
fn rule_8_a_server_killed_between_sending_and_recording_sends_once_more_under_the_same_message_id() {
    let shop = TestShop::opening().without_server().open();
    let smtp = SmtpServer::start(&shop.folder().join("smtp"));
    let mut first = shop.child_server(&smtp.settings());
    smtp.will("silent");
    let greta = shop.front_desk().at(first.address());
    let order = harness::Order(greta.check_in(&baritone()).done());
    // The mail server has it, and has said nothing: nobody can know.
    until("the letter is with the mail server", || (smtp.mailbox().letters().len() == 1).then_some(()));
    first.kill();
    smtp.will("take");
    let second = shop.child_server(&smtp.settings());
    let greta = greta.at(second.address());
    let letter = || greta.look_at(&order).letters()[0].clone();
    assert_eq!(letter()["state"], "sending");
    // The dead server's lease still holds; nobody takes the letter from under it.
    assert_eq!(shop.outbox(), 1);
    assert_eq!(smtp.mailbox().letters().len(), 1);
    // When it has run out by the database's clock, whoever is there sends the letter.
    shop.database().superuser().batch_execute("UPDATE outbox SET leased_until = now() - interval '1 second'").unwrap();
    until("the letter is sent", || (letter()["state"] == "sent").then_some(()));
    let both = smtp.mailbox().letters();
    assert_eq!(both.len(), 2, "at most one repeat");
    assert_eq!(both[0].message_id, both[1].message_id, "a mail program shows one of them");
    assert_eq!(shop.outbox(), 0);
    assert_eq!(letter()["attempts"], 2);
}
