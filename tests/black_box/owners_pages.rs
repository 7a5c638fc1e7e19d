//! What an owner reads and can do on their own pages: where the answer is given, what was allowed
//! before and why more is asked, what follows a question, how a mistake is called, what it costs.

use chrono::TimeDelta;
use harness::mailbox::visible;
use harness::people::eur;
use harness::{Order, TestShop, baritone, crack, line, step};
use serde_json::{Value, json};

const OTTO: &str = "otto@player.example";

/// The path of the answer page in the letter with this subject.
fn answer_page_of(shop: &TestShop, subject: &str) -> String {
    shop.mail_has_gone().letter(OTTO, subject).link("answer").unwrap()
}

/// Posts an answer with what the page holds.
fn answers(shop: &TestShop, link: &str, answer: &str, question: &str) -> u16 {
    let html = shop.stranger().get(link).text();
    let field = |name: &str| html.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned();
    let (version, hash) = (field("quote_version"), field("content_hash"));
    let fields =
        [("quote_version", version.as_str()), ("content_hash", &hash), ("name", "Otto Brenner"), ("answer", answer), ("question", question)];
    shop.stranger().post_form(link, &fields).status
}

/// On the bench with a second crack found and asked about.
fn with_extra_work(shop: &TestShop) -> Order {
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let found = mara.finds(&order, &crack("inner slide").leaking()).done();
    let brazing = mara.plans(&order, &step("Braze the second crack", "60.00").answering(&found)).done();
    let oiling = mara.plans(&order, &step("Oil the valves", "0.00")).done();
    let draft = mara.drafts(&order, &[line(&brazing), line(&oiling)]).done();
    mara.sends(&order, &draft).done();
    shop.look_at(&order)
}

#[test]
fn extra_work_is_asked_for_beside_what_was_allowed_before_and_with_its_reason() {
    let shop = TestShop::open();
    let mara = shop.technician();
    with_extra_work(&shop);
    let link = answer_page_of(&shop, "a question before we go on");
    let said = visible(&shop.stranger().get(&link).text());
    let allowed = said.find("What you allowed before").unwrap();
    let now = said.find("What it costs now").unwrap();
    assert!(said[allowed..now].contains("up to €140.00, for:") && said[allowed..now].contains("Braze the crack"), "{said}");
    for words in ["Crack, inner slide", "New: Braze the second crack", "€200.00", "So far you allow up to €140.00"] {
        assert!(said.contains(words), "{words:?}: {said}");
    }
    assert!(said.contains("included") && !said.contains("€0.00"), "{said}");
    shop.mail_has_gone().letter(OTTO, "a question before we go on").says("So far you allow up to €140.00");

    // More work on what was known already has its finding as the reason too.
    let order = shop.on_the_bench(&baritone());
    let patch = mara.plans(&order, &step("Patch the bell bow", "60.00").answering(&order.findings()[0])).done();
    let draft = mara.drafts(&order, &[line(&patch)]).done();
    mara.sends(&order, &draft).done();
    let mail = shop.mail_has_gone();
    let letter = mail.to(OTTO).into_iter().rfind(|one| one.subject.contains("a question before we go on")).unwrap();
    letter.says("Crack, bell bow");
    let said = visible(&shop.stranger().get(&letter.link("answer").unwrap()).text());
    assert!(said[said.find("What we would do, and why").unwrap()..].contains("Crack, bell bow"), "{said}");
}

#[test]
fn a_question_before_anything_was_accepted_says_what_comes_next() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_approval(&baritone());
    let link = answer_page_of(&shop, "our quote");
    assert_eq!(answers(&shop, &link, "questions", "Will it still look old?"), 303);
    assert_eq!(shop.look_at(&order).stage(), "diagnosis");
    let html = shop.stranger().get(&link).text();
    assert!(visible(&html).contains("then send you a new quote. You say yes or no to that one"), "{}", visible(&html));
    assert!(!html.contains("value=\"accepted\""), "nothing is asked now");
    shop.mail_has_gone().letter(OTTO, "we have your question").says("we send a new quote to answer");
    // The shop asks again, and every link leads there.
    let draft = mara.drafts(&order, &[line(order.operation("Braze the crack"))]).done();
    mara.sends(&order, &draft).done();
    assert!(shop.stranger().get(&link).text().contains("value=\"accepted\""));
    assert_eq!(answers(&shop, &link, "accepted", ""), 303);
    assert_eq!(shop.look_at(&order).stage(), "bench");
}

#[test]
fn a_question_about_extra_work_leaves_yes_and_no_open() {
    let shop = TestShop::open();
    let order = with_extra_work(&shop);
    let link = answer_page_of(&shop, "a question before we go on");
    assert_eq!(answers(&shop, &link, "questions", "Can the second one wait?"), 303);
    let now = shop.look_at(&order);
    assert_eq!((now.stage(), now.waits_for()), ("approval", "shop"));
    let html = shop.stranger().get(&link).text();
    let said = visible(&html);
    assert!(said.contains("We have your question") && said.contains("Can the second one wait?"), "{said}");
    assert!(html.contains("value=\"accepted\"") && html.contains("value=\"declined\""));
    // Nothing has moved, and yet the question is confirmed; the letter leads to where the answer is given.
    let link = answer_page_of(&shop, "we have your question");
    assert_eq!(answers(&shop, &link, "declined", ""), 303);
    assert_eq!(shop.look_at(&order).last_because(), "extra_declined");
}

#[test]
fn the_letter_about_a_yes_leads_to_the_page_that_takes_it_back() {
    let shop = TestShop::open();
    let order = shop.on_the_bench(&baritone());
    let link = answer_page_of(&shop, "we have your yes");
    let html = shop.stranger().get(&link).text();
    assert!(html.contains("This was a mistake"), "{}", visible(&html));
    let decision = html.split("name=\"decision_id\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let fields = [("decision_id", decision.as_str()), ("name", "Otto Brenner"), ("reason", "")];
    assert_eq!(shop.stranger().post_form(&format!("{link}/mistake"), &fields).status, 303);
    assert_eq!(shop.look_at(&order).last_because(), "acceptance_disputed");

    let covered = shop.with_a_draft(&baritone().may_cost("300.00"));
    shop.technician().moves(&covered, "bench", "covered_beforehand", None).done();
    let link = answer_page_of(&shop, "the repair begins");
    let said = visible(&shop.stranger().get(&link).text());
    assert!(said.contains("within what you allowed when it was checked in") && said.contains("This was a mistake"), "{said}");
}

#[test]
fn the_status_page_says_where_the_answer_is_given_and_sends_the_quote_once_more() {
    let shop = TestShop::open();
    let order = shop.in_approval(&baritone());
    let page = shop.mail_has_gone().letter(OTTO, "our quote").link("status").unwrap();
    let stranger = shop.stranger();
    let said = visible(&stranger.get(&page).text());
    for words in ["Where you answer", "We wrote to you on Tuesday 12 May, to o…@player.example", order.claim_number()] {
        assert!(said.contains(words), "{words:?}: {said}");
    }
    assert!(!stranger.get(&page).text().contains(OTTO), "no address in full");
    let again = format!("{page}/again");
    let ask = || stranger.post_form(&again, &[("again", "quote")]);
    // The first letter has only just gone.
    let refused = ask();
    assert_eq!((refused.status, refused.header("retry-after")), (429, Some("600")), "{refused}");
    assert!(visible(&refused.text()).contains("Not sent once more"));
    let letters = |order: &Order| -> usize { order.letters().iter().filter(|one| one["kind"] == "answer_again").count() };
    for round in 1..=3 {
        shop.clock().forward(TimeDelta::minutes(11));
        let before = shop.look_at(&order);
        assert_eq!(ask().status, 303, "round {round}");
        let now = shop.look_at(&order);
        assert_eq!((letters(&now), now.stage(), now.way()), (round, "approval", before.way()), "it moves nothing");
        assert_eq!(ask().status, 429, "not twice at once");
    }
    shop.clock().forward(TimeDelta::minutes(11));
    assert_eq!(ask().status, 429, "not more than three a day");
    assert!(visible(&stranger.get(&format!("{page}?sent")).text()).contains("It is on its way"));
    // Opening the address, a form with something else, and a decision by it do nothing.
    assert_eq!(stranger.get(&again).status, 200);
    assert!((400..500).contains(&stranger.post_form(&again, &[("again", "yes")]).status));
    assert_eq!(letters(&shop.look_at(&order)), 3);
    // The shop's own reminders are counted apart.
    assert!(shop.look_at(&order).letters().iter().all(|one| one["kind"] != "answer_reminder"));
    let link = answer_page_of(&shop, "once more");
    assert_eq!(answers(&shop, &link, "accepted", ""), 303);
    assert_eq!(shop.look_at(&order).stage(), "bench");
    // Answered since: nothing is sent any more, and the page says how it stands.
    assert_eq!(ask().status, 303);
    assert_eq!(letters(&shop.look_at(&order)), 3);
    assert!(!visible(&stranger.get(&page).text()).contains("Where you answer"));
}

#[test]
fn the_contact_of_a_school_is_told_when_the_owner_was_asked_and_cannot_have_it_sent() {
    let shop = TestShop::open();
    let order = shop.in_approval(&baritone().owned_by_a_school());
    let page = shop.mail_has_gone().letter(OTTO, "We have the").link("status").unwrap();
    let said = visible(&shop.stranger().get(&page).text());
    assert!(said.contains("The quote went to the owner by e-mail on Tuesday 12 May"), "{said}");
    assert!(!said.contains("Where you answer") && !said.contains("school.example"), "{said}");
    shop.clock().forward(TimeDelta::minutes(11));
    assert!((400..500).contains(&shop.stranger().post_form(&format!("{page}/again"), &[("again", "quote")]).status));
    assert!(shop.look_at(&order).letters().iter().all(|one| one["kind"] != "answer_again"));
}

#[test]
fn the_examination_fee_is_charged_where_the_owner_decides_against_the_repair_and_nowhere_else() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let visit = || baritone().examined_for("25.00");
    let money = |order: &Order| {
        let now = shop.look_at(order);
        (now["money"]["due"].clone(), now["money"]["examination_fee"].clone())
    };
    let fee = || (eur("25.00"), eur("25.00"));
    let none = || (eur("0.00"), Value::Null);

    let declined = shop.in_approval(&visit());
    assert_eq!(money(&declined), none(), "nothing is decided yet");
    greta.records_answer(declined.quote("sent"), "declined", &json!({})).done();
    assert_eq!(money(&declined), fee());
    greta.hands_over(&declined, &json!({"how": "collected", "collected_by": "Otto", "accessories_returned": ["case", "mouthpiece"]})).refused(409, "amount-due");
    // Taken up again, it is undecided again.
    greta.moves(&declined, "diagnosis", "reopened", Some("do it after all")).done();
    assert_eq!(money(&declined), none());

    let withdrawn = shop.in_approval(&visit());
    greta.ends(&withdrawn, "withdrawn", Some("sold it")).done();
    assert_eq!(money(&withdrawn), fee());
    let letter = shop.mail_has_gone().letter(OTTO, "stopped as asked");
    letter.says("The examination costs €25.00, as told when it was brought in.").says("€25.00");
    let said = visible(&shop.stranger().get(&letter.link("status").unwrap()).text());
    assert!(said.contains("To pay when you collect it: €25.00. For the examination, as told when it was brought in: €25.00."), "{said}");
    let said_no_yet = shop.on_the_bench(&visit());
    greta.ends(&said_no_yet, "withdrawn", Some("sold it")).done();
    assert_eq!(money(&said_no_yet), fee(), "accepted, and taken back before anything was done");
    let done = shop.in_leak_test(&visit());
    greta.ends(&done, "withdrawn", Some("sold it")).done();
    assert_eq!(money(&done), (eur("140.00"), Value::Null), "it counts toward the work done");

    let early = shop.in_diagnosis(&visit());
    greta.ends(&early, "withdrawn", Some("sold it")).done();
    assert_eq!(money(&early), none(), "nothing was proposed that could be decided against");
    let beyond = shop.in_diagnosis(&visit());
    shop.technician().ends(&beyond, "not_repairable", Some("cracked through")).done();
    assert_eq!(money(&beyond), none());
    let unheard = shop.in_approval(&visit());
    shop.days_pass(7);
    shop.days_pass(7);
    greta.ends(&unheard, "unanswered", None).done();
    assert_eq!(money(&unheard), none(), "silence is no decision");
}

#[test]
fn what_is_played_in_pickup_is_kept_and_moves_nothing() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_pickup(&baritone());
    let played = |verdict: &str| json!({"kind": "play_test", "method": "played", "verdict": verdict, "note": "all notes"});
    mara.tests(&order, &played("passed")).done();
    let now = shop.look_at(&order);
    assert_eq!((now.stage(), now.way()), ("pickup", order.way()));
    mara.tests(&order, &played("failed")).refused(409, "send-it-back").saying("sent_back");
    let leak = json!({"kind": "leak_test", "method": "bubbles", "verdict": "passed"});
    mara.tests(&order, &leak).refused(409, "not-in-leak-test");
    shop.front_desk().tests(&order, &played("passed")).refused(403, "not-yours");
    let page = shop.mail_has_gone().letter(OTTO, "is ready to collect").link("status").unwrap();
    let said = visible(&shop.stranger().get(&page).text());
    assert!(said.contains("Play test: passed."), "{said}");
    // What was never tested is not made tested by playing it.
    let withdrawn = shop.in_approval(&baritone());
    shop.front_desk().ends(&withdrawn, "withdrawn", Some("sold it")).done();
    mara.tests(&withdrawn, &played("passed")).refused(409, "not-in-leak-test");
}

#[test]
fn the_end_tells_what_was_done_what_was_left_and_what_was_not_repaired() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    mara.finds(&order, &crack("inner slide").left_and_watched()).done();
    let mut hidden = crack("hidden brace").left_and_watched();
    hidden["shared"] = json!(false);
    mara.finds(&order, &hidden).done();
    let brazing = mara.plans(&order, &step("Braze the crack", "140.00").answering(&found)).done();
    let draft = mara.drafts(&order, &[line(&brazing)]).done();
    mara.sends(&order, &draft).done();
    let order = shop.look_at(&order);
    shop.front_desk().ends(&order, "withdrawn", Some("sold it")).done();
    let letter = shop.mail_has_gone().letter(OTTO, "stopped as asked");
    letter.says("Found, and not repaired").says("Crack, bell bow").says("To look at next time").says("Crack, inner slide");
    let said = visible(&shop.stranger().get(&letter.link("status").unwrap()).text());
    for words in ["Found, and not repaired", "Crack, bell bow", "To look at next time", "Crack, inner slide"] {
        assert!(said.contains(words), "{words:?}: {said}");
    }
    assert!(!said.contains("hidden brace") && !letter.text.contains("hidden brace"));
}
