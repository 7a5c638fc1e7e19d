//! One order from the counter to closing, as everybody concerned sees it: the staff through the
//! shipped server as a process of its own, the owner through a mail server and the pages that
//! the letters lead to, and a screen that follows the changes on a second server.

use std::time::{Duration, Instant};

use harness::mailbox::visible;
use harness::people::eur;
use harness::{Changes, Mail, Order, Person, SmtpServer, TestShop, baritone, crack, finding, line, step};
use serde_json::json;

const OTTO: &str = "otto@player.example";

/// The value of a hidden field of a form.
fn hidden(html: &str, name: &str) -> String {
    let start = html.find(&format!("name=\"{name}\" value=\"")).unwrap_or_else(|| panic!("no field {name} in {html}"));
    let value = &html[start..];
    value.split('"').nth(3).unwrap().to_owned()
}

/// The owner's answer on the page that a letter leads to, by its form.
fn answers(otto: &Person, link: &str, answer: &str, ticked: &[&str]) -> String {
    let page = otto.get(link);
    assert_eq!(page.status, 200, "{page}");
    assert_eq!(page.header("referrer-policy"), Some("no-referrer"));
    assert_eq!(page.header("cache-control"), Some("no-store"));
    let html = page.text();
    let (version, hash) = (hidden(&html, "quote_version"), hidden(&html, "content_hash"));
    let mut fields = vec![("quote_version", version.as_str()), ("content_hash", &hash), ("name", "Otto Brenner"), ("answer", answer)];
    fields.extend(ticked.iter().map(|line| ("line", *line)));
    let taken = otto.post_form(link, &fields);
    assert_eq!(taken.status, 303, "{taken}");
    otto.get(taken.header("location").unwrap()).text()
}

struct Story<'s> {
    order: String,
    smtp: &'s SmtpServer,
    screen: Changes,
    otto: Person,
    greta: Person,
    letters_read: usize,
}

impl Story<'_> {
    /// The next letter to Otto, which is about this; read with a parser that is not ours.
    #[track_caller]
    fn letter(&mut self, subject: &str) -> Mail {
        let read = self.letters_read;
        let letter = harness::until(&format!("letter {} about {subject:?}", read + 1), || {
            self.smtp.mailbox().to(OTTO).into_iter().nth(read)
        });
        self.letters_read += 1;
        assert!(letter.subject.contains(subject), "{:?} is not about {subject:?}", letter.subject);
        assert_eq!(letter.from, ["bench@shop.example"]);
        assert_eq!(letter.reply_to, ["ines@shop.example"]);
        assert_eq!(letter.header("Auto-Submitted"), Some("auto-generated"));
        let claim_number = self.greta.look_at(&self.order).claim_number().to_owned();
        assert!(letter.subject.starts_with(&claim_number), "{:?}", letter.subject);
        letter
    }

    /// What the owner's status page says, by the link of a letter.
    #[track_caller]
    fn page_says(&self, letter: &Mail, words: &str) {
        let page = self.otto.get(&letter.link("status").expect("a link to the status page"));
        assert_eq!(page.status, 200, "{page}");
        let said = visible(&page.text());
        assert!(said.contains(words), "the page does not say {words:?}: {said}");
    }

    /// The screen at the second server shows the move of its own accord.
    #[track_caller]
    fn screen_shows(&self, stage: &str, since: Instant) {
        loop {
            let left = Duration::from_secs(10).saturating_sub(since.elapsed());
            let change = self.screen.within(left).unwrap_or_else(|| panic!("{stage} is never shown"));
            if change.data["work_order_id"] == *self.order && change.data["stage"] == stage && change.data["kind"] != "note_added" {
                return;
            }
        }
    }

    fn now(&self) -> Order {
        self.greta.look_at(&self.order)
    }
}

#[test]
fn an_order_goes_from_the_counter_to_closing() {
    let shop = TestShop::opening().without_server().open();
    let smtp = SmtpServer::start(&shop.folder().join("smtp"));
    let first = shop.child_server(&smtp.settings());
    // The second sends no letters of its own accord either: both share one outbox.
    let second = shop.child_server(&smtp.settings());
    let (greta, mara) = (shop.front_desk().at(first.address()), shop.technician().at(first.address()));
    let otto = shop.stranger().at(first.address());
    let screen = mara.at(second.address()).follow(None);

    // It comes in.
    let visit = baritone().may_cost("20.00").examined_for("15.00");
    let order = Order(greta.check_in(&visit).done());
    let mut story =
        Story { order: order.id().to_owned(), smtp: &smtp, screen, otto: otto.clone(), greta: greta.clone(), letters_read: 0 };
    story.screen_shows("intake", Instant::now());
    let letter = story.letter("We have your baritone");
    letter.says("It wheezes in the low register").says("case and mouthpiece").says("Lacquer worn at the left hand").says("€15.00");
    story.page_says(&letter, order.claim_number());
    let receipt = letter;

    // Claimed, and examined.
    mara.claim(&order).done();
    let asked = Instant::now();
    mara.begin_examination(&order).done();
    story.screen_shows("diagnosis", asked);
    let letter = story.letter("is being examined");
    story.page_says(&letter, "examined");
    let cracked = mara.finds(&order, &crack("bell bow").leaking()).done();
    mara.finds(&order, &crack("first branch").left_and_watched()).done();
    let brazing = mara.plans(&order, &step("Braze the crack", "140.00").answering(&cracked)).done();

    // Quoted.
    let quote = json!({"message": "The crack runs along the seam.", "lines": [line(&brazing)]});
    let draft = mara.drafts_quote(&order, &quote).done();
    let asked = Instant::now();
    mara.sends(&order, &draft).done();
    story.screen_shows("approval", asked);
    let letter = story.letter("what we found, and our quote");
    letter.says("The crack runs along the seam.").says("140.00").says("until 26 May");
    story.page_says(&letter, "it waits for your answer, until Tuesday 26 May");
    assert_eq!(story.now().quote("sent")["seen_at"], serde_json::Value::Null);

    // Answered by its owner on the page.
    let link = letter.link("answer").expect("a link to the answer page");
    let asked = Instant::now();
    let said = visible(&answers(&otto, &link, "accepted", &[]));
    assert!(said.contains("140.00"), "{said}");
    story.screen_shows("bench", asked);
    let now = story.now();
    let decision = &now.quote("answered")["decision"];
    assert_eq!((&decision["how"], &decision["typed_name"], &decision["recorded_by"]), (&json!("link"), &json!("Otto Brenner"), &serde_json::Value::Null));
    story.letter("we have your yes").says("€140.00");
    story.page_says(&receipt, "you said yes");

    // Repaired; more is found.
    mara.does(now.operation("Braze the crack"));
    let under = mara.finds(&order, &crack("under the old patch").leaking()).done();
    let patch = mara.plans(&order, &step("Patch the second crack", "60.00").answering(&under)).done();
    let extra = mara.drafts(&order, &[line(&patch)]).done();
    let asked = Instant::now();
    mara.sends(&order, &extra).done();
    story.screen_shows("approval", asked);
    let letter = story.letter("baritone");
    letter.says("under the old patch").says("200.00");
    story.page_says(&letter, "waits for your answer");

    // The first quote's page leads to the current one and decides nothing about the old.
    let old = visible(&otto.get(&link).text());
    assert!(!old.contains("Your answer is recorded"), "{old}");

    // Answered again.
    let asked = Instant::now();
    answers(&otto, &letter.link("answer").unwrap(), "accepted", &[]);
    story.screen_shows("bench", asked);
    assert_eq!(story.now()["authorised"], eur("200.00"));
    story.letter("we have your yes").says("€200.00");

    // Leak-tested; it fails once.
    mara.does(&patch);
    let asked = Instant::now();
    mara.moves(&order, "leak_test", "bench_done", None).done();
    story.screen_shows("leak_test", asked);
    story.letter("the work is done, now the tests");
    let asked = Instant::now();
    let failed = mara.fails_leak_test(&order, &finding("open_joint", "second ferrule")).done();
    story.screen_shows("bench", asked);
    let letter = story.letter("baritone");
    letter.says("at the ferrule");
    story.page_says(&letter, "being worked on");

    // Repaired within the limit, tested again, passed.
    mara.moves(&order, "leak_test", "bench_done", None).refused(409, "failure-open").saying("second ferrule");
    let where_it_fails = json!({"id": failed["finding_id"]});
    let ferrule = mara.plans(&order, &step("Solder the ferrule", "0.00").answering(&where_it_fails)).done();
    mara.does(&ferrule);
    mara.moves(&order, "leak_test", "bench_done", None).done();
    story.letter("the work is done, now the tests");
    let asked = Instant::now();
    mara.passes_all_tests(&order);
    story.screen_shows("pickup", asked);
    let letter = story.letter("is ready to collect");
    letter.says("It passed its tests").says("€200.00").says("Braze the crack").says("Patch the second crack");
    // What was left on purpose is told.
    letter.says("first branch");
    story.page_says(&letter, "ready");

    // Collected.
    let asked = Instant::now();
    greta.hands_over_all(&order).done();
    story.screen_shows("closed", asked);
    let letter = story.letter("was collected");
    letter.says("€200.00").says("Otto Brenner");
    story.page_says(&letter, "collected");

    // One letter for each move and no other, each with an id of its own, and the way as it was gone.
    // The last letter is marked a moment after it has arrived.
    let now = harness::until("every letter is marked as sent", || {
        let now = story.now();
        now.letters().iter().all(|letter| letter["state"] == "sent").then_some(now)
    });
    let because: Vec<String> = now.way().into_iter().map(|(_, _, because)| because).collect();
    assert_eq!(
        because,
        [
            "checked_in", "examination_begins", "quote_sent", "accepted", "extra_work", "accepted", "bench_done",
            "test_failed", "bench_done", "tests_passed", "collected",
        ]
    );
    let letters = smtp.mailbox().letters();
    assert_eq!(letters.len(), because.len());
    let mut ids: Vec<&str> = letters.iter().map(|letter| letter.message_id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), letters.len());
    assert!(now.letters().iter().all(|letter| letter["attempts"] == 1));
    assert_eq!(shop.outbox(), 0);
}
