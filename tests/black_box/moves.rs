//! The table of moves of DOMAIN.md, row by row: the allowed case, each condition refused with
//! its slug and its words, the wrong role, the act that must be used, the reason that is missing.
//!
//! The table below is typed from DOMAIN.md, not taken from the server.

use harness::people::eur;
use harness::{Order, Person, TestShop, baritone, crack, finding, line, step, trumpet};
use serde_json::{Value, json};

const FRONT_DESK: u8 = 1;
const TECHNICIAN: u8 = 2;
const PROPRIETOR: u8 = 4;
/// By no member of the staff: the owner's link, or the clock.
const NOBODY: u8 = 0;

/// From these stages, to, because, whose it is among the staff, the act it results from (as part
/// of its path), whether a reason is asked for.
type Row = (&'static [&'static str], &'static str, &'static str, u8, Option<&'static str>, bool);

#[rustfmt::skip]
const TABLE: &[Row] = &[
    (&["intake"],                                              "diagnosis", "examination_begins", TECHNICIAN, None, false),
    (&["diagnosis"],                                           "approval",  "quote_sent",         TECHNICIAN | FRONT_DESK, Some("/send"), false),
    (&["diagnosis"],                                           "bench",     "covered_beforehand", TECHNICIAN, None, false),
    (&["diagnosis"],                                           "pickup",    "nothing_to_do",      TECHNICIAN, None, true),
    (&["approval"],                                            "bench",     "accepted",           FRONT_DESK, Some("/decisions"), false),
    (&["approval"],                                            "bench",     "extra_declined",     FRONT_DESK, Some("/decisions"), false),
    (&["approval"],                                            "bench",     "recalled",           TECHNICIAN | FRONT_DESK, None, true),
    (&["approval"],                                            "diagnosis", "recalled",           TECHNICIAN | FRONT_DESK, None, true),
    (&["approval"],                                            "diagnosis", "questions",          FRONT_DESK, Some("/decisions"), false),
    (&["approval"],                                            "diagnosis", "expired",            NOBODY, Some("clock"), false),
    (&["approval"],                                            "pickup",    "declined",           FRONT_DESK, Some("/decisions"), false),
    (&["bench"],                                               "approval",  "extra_work",         TECHNICIAN, Some("/send"), false),
    (&["bench"],                                               "approval",  "acceptance_disputed", FRONT_DESK, Some("/dispute"), false),
    (&["bench"],                                               "leak_test", "bench_done",         TECHNICIAN, None, false),
    (&["leak_test"],                                           "bench",     "test_failed",        TECHNICIAN, Some("/tests"), false),
    (&["leak_test"],                                           "pickup",    "tests_passed",       TECHNICIAN, Some("/tests"), false),
    (&["leak_test"],                                           "pickup",    "overridden",         PROPRIETOR, None, true),
    (&["intake", "diagnosis", "approval", "bench", "leak_test"], "pickup",  "withdrawn",          FRONT_DESK, Some("/ending"), true),
    (&["diagnosis", "approval"],                               "pickup",    "unanswered",         FRONT_DESK, Some("/ending"), false),
    (&["diagnosis", "bench", "leak_test"],                     "pickup",    "not_repairable",     TECHNICIAN, Some("/ending"), true),
    (&["pickup"],                                              "bench",     "sent_back",          FRONT_DESK, None, true),
    (&["pickup"],                                              "diagnosis", "reopened",           FRONT_DESK, None, true),
    (&["pickup"],                                              "closed",    "collected",          FRONT_DESK, Some("/handover"), false),
    (&["pickup"],                                              "closed",    "shipped",            FRONT_DESK, Some("/handover"), false),
    (&["intake", "diagnosis", "approval", "bench", "leak_test", "pickup"], "closed", "otherwise_settled", PROPRIETOR, None, true),
    (&["intake"],                                              "closed",    "entered_by_mistake", FRONT_DESK, None, true),
];

const STAGES: [&str; 7] = ["intake", "diagnosis", "approval", "bench", "leak_test", "pickup", "closed"];

/// One order in each stage, in the order of [`STAGES`].
fn one_in_each_stage(shop: &TestShop) -> Vec<Order> {
    let made: [fn(&TestShop) -> Order; 7] = [
        |shop| shop.checked_in(&baritone()),
        |shop| shop.in_diagnosis(&baritone()),
        |shop| shop.in_approval(&baritone()),
        |shop| shop.on_the_bench(&baritone()),
        |shop| shop.in_leak_test(&baritone()),
        |shop| shop.in_pickup(&baritone()),
        |shop| shop.collected(&baritone()),
    ];
    let orders: Vec<Order> = made.iter().map(|make| make(shop)).collect();
    for (order, stage) in orders.iter().zip(STAGES) {
        assert_eq!(order.stage(), stage);
    }
    orders
}

fn asks(person: &Person, order: &Order, to: &str, because: &str, reason: Option<&str>) -> harness::Answer {
    let mut body = json!({"to": to, "because": because});
    if let Some(reason) = reason {
        body["reason"] = json!(reason);
    }
    person.request("POST", &format!("/work-orders/{order}/stage-changes")).seen(order.version()).body(&body).send()
}

#[test]
fn rule_1_no_move_is_made_that_is_not_in_the_table() {
    let shop = TestShop::open();
    let orders = one_in_each_stage(&shop);
    // Whoever may do everything.
    let ines = shop.proprietor();
    let mut reasons: Vec<&str> = TABLE.iter().map(|row| row.2).collect();
    reasons.push("checked_in");
    reasons.dedup();
    for order in &orders {
        for to in STAGES {
            for because in &reasons {
                if TABLE.iter().any(|row| row.0.contains(&order.stage()) && row.1 == to && row.2 == *because) {
                    continue;
                }
                asks(&ines, order, to, because, Some("just so")).refused(409, "no-such-move");
            }
        }
    }
    for order in &orders {
        assert_eq!(shop.look_at(order).version(), order.version(), "a refusal changes nothing");
    }
}

#[test]
fn rule_1_every_move_of_the_table_is_on_the_list_of_an_order_in_its_stage_and_no_other_is() {
    let shop = TestShop::open();
    for order in one_in_each_stage(&shop) {
        let mut listed: Vec<(String, String)> = order["moves"]
            .as_array()
            .unwrap()
            .iter()
            .map(|m| (m["to"].as_str().unwrap().to_owned(), m["because"].as_str().unwrap().to_owned()))
            .collect();
        listed.sort();
        // What the clock does is nobody's to choose.
        let mut expected: Vec<(String, String)> = TABLE
            .iter()
            .filter(|row| row.0.contains(&order.stage()) && row.2 != "expired")
            .map(|row| (row.1.to_owned(), row.2.to_owned()))
            .collect();
        expected.sort();
        assert_eq!(listed, expected, "in {}", order.stage());
    }
}

#[test]
fn rule_1_a_move_that_an_act_makes_is_refused_by_naming_the_act() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    for order in one_in_each_stage(&shop) {
        for (_, to, because, whose, act, _) in TABLE.iter().filter(|row| row.0.contains(&order.stage())) {
            match act {
                Some(act) if *whose != NOBODY => {
                    asks(&ines, &order, to, because, Some("just so")).refused(409, "use-the-act").saying(act);
                }
                Some(_) => {
                    asks(&ines, &order, to, because, None).refused(403, "not-yours").saying("the clock");
                }
                None => {}
            }
        }
        assert_eq!(shop.look_at(&order).version(), order.version(), "a refusal changes nothing");
    }
}

#[test]
fn rule_1_each_move_is_made_by_its_own_people() {
    let shop = TestShop::open();
    let people = [
        (FRONT_DESK, shop.front_desk(), "the front desk"),
        (TECHNICIAN, shop.second_technician(), "a technician"),
    ];
    for order in one_in_each_stage(&shop) {
        for (_, to, because, whose, _, _) in TABLE.iter().filter(|row| row.0.contains(&order.stage())) {
            for (role, person, _) in &people {
                // Whoever confirms an end makes its move, so these four are a technician's too;
                // the wish itself is not (see `endings`).
                let by_confirmation = *role == TECHNICIAN && matches!(*because, "withdrawn" | "unanswered" | "declined");
                if whose & role == 0 && !by_confirmation {
                    asks(person, &order, to, because, Some("just so")).refused(403, "not-yours");
                }
            }
        }
        asks(&shop.stranger(), &order, "closed", "otherwise_settled", Some("just so")).refused(401, "not-signed-in");
        assert_eq!(shop.look_at(&order).version(), order.version(), "a refusal changes nothing");
    }
}

#[test]
fn rule_1_the_acts_that_move_are_done_by_their_own_people() {
    let shop = TestShop::open();
    let (greta, mara, ines) = (shop.front_desk(), shop.technician(), shop.proprietor());
    mara.check_in(&baritone()).refused(403, "not-yours").saying("the front desk");
    let asked = shop.in_approval(&baritone());
    mara.records_answer(asked.quote("sent"), "accepted", &json!({})).refused(403, "not-yours");
    let bench = shop.on_the_bench(&baritone());
    mara.records_dispute(&bench.quote("answered")["decision"]).refused(403, "not-yours");
    greta.starts(bench.operation("Braze the crack")).refused(403, "not-yours").saying("a technician");
    mara.ends(&bench, "withdrawn", Some("too dear")).refused(403, "not-yours");
    mara.ends(&asked, "unanswered", None).refused(403, "not-yours");
    greta.ends(&bench, "not_repairable", Some("the tube is gone")).refused(403, "not-yours");
    let tested = shop.in_leak_test(&baritone());
    greta.passes_leak_test(&tested).refused(403, "not-yours");
    let ready = shop.in_pickup(&baritone());
    mara.hands_over_all(&ready).refused(403, "not-yours");
    // The proprietor may do what the others may.
    ines.hands_over_all(&ready).done();
    ines.passes_leak_test(&tested).done();
    ines.records_answer(asked.quote("sent"), "accepted", &json!({})).done();
    ines.check_in(&baritone()).done();
}

#[test]
fn rule_1_a_move_that_needs_a_reason_is_refused_without_one() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    for order in one_in_each_stage(&shop) {
        for (_, to, because, _, act, needs) in TABLE.iter().filter(|row| row.0.contains(&order.stage())) {
            let asked = order["moves"].as_array().unwrap().iter().find(|m| m["to"] == *to && m["because"] == *because);
            if *because != "expired" {
                assert_eq!(asked.unwrap()["needs_reason"], *needs, "{because}");
            }
            if !needs {
                continue;
            }
            for reason in [None, Some(""), Some("  \n ")] {
                let answer = match act {
                    None => asks(&ines, &order, to, because, reason),
                    Some(_) => ines.ends(&order, because, reason),
                };
                answer.refused(409, "reason-missing");
            }
        }
        assert_eq!(shop.look_at(&order).version(), order.version(), "a refusal changes nothing");
    }
}

/// Checks the last row of an order's history.
#[track_caller]
fn came(shop: &TestShop, order: &Order, from: &str, to: &str, because: &str) -> Order {
    let now = shop.look_at(order);
    let last = now.way().pop().unwrap();
    assert_eq!((last.0.as_str(), last.1.as_str(), last.2.as_str()), (from, to, because));
    assert_eq!(now.stage(), to);
    now
}

#[test]
fn checked_in_needs_a_customer_an_instrument_a_complaint_and_a_promise() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    for (without, pointer) in
        [("customer", "/customer"), ("instrument", "/instrument"), ("complaint", "/complaint"), ("promised_on", "/promised_on")]
    {
        let mut visit = baritone();
        visit.0.as_object_mut().unwrap().remove(without);
        let refusal = greta.check_in(&visit).refused(422, "invalid-input");
        assert!(refusal.pointers().contains(&pointer), "{without}: {:?}", refusal.body);
    }
    greta.check_in(&baritone().with("complaint", json!("  "))).refused(422, "invalid-input");
    greta.check_in(&baritone().with("promised_on", json!("2026-05-11"))).refused(422, "invalid-input");
    let order = shop.checked_in(&baritone());
    assert_eq!(order.way(), [(String::new(), "intake".to_owned(), "checked_in".to_owned())]);
    assert_eq!((order.stage(), order.waits_for()), ("intake", "shop"));
}

#[test]
fn an_examination_begins_by_whoever_claimed_the_order() {
    let shop = TestShop::open();
    let (mara, jonas) = (shop.technician(), shop.second_technician());
    let order = shop.checked_in(&baritone());
    mara.begin_examination(&order).refused(409, "claim-it-first").saying("Claim the order first");
    jonas.claim(&order).done();
    mara.begin_examination(&order).refused(409, "claim-it-first");
    jonas.begin_examination(&order).done();
    came(&shop, &order, "intake", "diagnosis", "examination_begins");
}

#[test]
fn a_quote_is_sent_when_every_finding_is_decided_and_it_has_a_line() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.in_diagnosis(&baritone());
    let found = mara.finds(&order, &crack("bell bow").undecided()).done();
    let empty = mara.drafts(&order, &[]).done();
    mara.sends(&order, &empty).refused(409, "finding-undecided").saying("One finding has no decision yet");
    mara.amends_finding(&found, &json!({"disposition": "repair"})).done();
    mara.sends(&order, &empty).refused(409, "quote-empty").saying("no line yet");
    let brazing = mara.plans(&order, &step("Braze the crack", "140.00").answering(&found)).done();
    let rewritten = mara
        .request("PUT", &format!("/quotes/{}", empty["id"].as_str().unwrap()))
        .seen(empty["version"].as_i64().unwrap())
        .body(&json!({"lines": [line(&brazing)]}))
        .send()
        .done();
    // The front desk sends quotes too.
    greta.sends(&order, &rewritten).done();
    let now = came(&shop, &order, "diagnosis", "approval", "quote_sent");
    assert_eq!(now.waits_for(), "customer");
    mara.sends(&order, &rewritten).refused(409, "not-a-draft");
}

#[test]
fn what_the_counter_amount_covers_goes_to_the_bench_without_asking() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone().may_cost("150.00"));
    let covered = |order: &Order| mara.moves(order, "bench", "covered_beforehand", None);
    covered(&order).refused(409, "quote-empty");
    let found = mara.finds(&order, &crack("bell bow").undecided()).done();
    covered(&order).refused(409, "finding-undecided");
    mara.amends_finding(&found, &json!({"disposition": "repair"})).done();
    let dear = mara.plans(&order, &step("Braze the crack", "150.01")).done();
    let draft = mara.drafts(&order, &[line(&dear)]).done();
    covered(&order).refused(409, "over-authorised").saying("150.01");
    assert!(shop.look_at(&order).may("bench", "covered_beforehand").unwrap_err().contains("150.01"));
    let price = mara.amends_step(&dear, &json!({"price": eur("150.00")})).done();
    let rewritten = mara
        .request("PUT", &format!("/quotes/{}", draft["id"].as_str().unwrap()))
        .seen(draft["version"].as_i64().unwrap())
        .body(&json!({"lines": [line(&price)]}))
        .send()
        .done();
    assert_eq!(rewritten["totals"]["total"]["amount"], "150.00");
    covered(&order).done();
    let now = came(&shop, &order, "diagnosis", "bench", "covered_beforehand");
    let decision = &now.quote("answered")["decision"];
    assert_eq!((&decision["answer"], &decision["how"]), (&json!("accepted"), &json!("beforehand")));
    assert_eq!(now["authorised"], eur("150.00"));
    mara.starts(now.operation("Braze the crack")).done();
}

#[test]
fn nothing_irreversible_is_covered_beforehand() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone().may_cost("1000.00"));
    let buffing = mara.plans(&order, &step("Buff the bell", "50.00").irreversible()).done();
    mara.drafts(&order, &[line(&buffing)]).done();
    mara.moves(&order, "bench", "covered_beforehand", None).refused(409, "irreversible-needs-name").saying("by name");
    assert_eq!(shop.look_at(&order).stage(), "diagnosis");
}

#[test]
fn an_open_quote_is_superseded_by_what_is_covered_beforehand() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_approval(&baritone().may_cost("100.00"));
    let quote = order.quote("sent").clone();
    shop.front_desk().records_answer(&quote, "questions", &json!({"question": "Is there a cheaper way?"})).done();
    let soldering = mara.plans(&order, &step("Solder a patch", "80.00")).done();
    mara.drafts(&order, &[line(&soldering)]).done();
    mara.moves(&order, "bench", "covered_beforehand", None).done();
    let now = shop.look_at(&order);
    assert_eq!(now.quotes()[0]["state"], "superseded", "the first one can be answered no more");
    shop.front_desk().records_answer(&quote, "accepted", &json!({})).refused(409, "quote-superseded");
}

#[test]
fn nothing_to_do_ends_an_examination_while_nothing_was_ever_started() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.with_a_draft(&baritone());
    mara.moves(&order, "pickup", "nothing_to_do", Some("It plays as it should.")).done();
    let now = came(&shop, &order, "diagnosis", "pickup", "nothing_to_do");
    assert_eq!((now.waits_for(), &now["money"]["due"]), ("customer", &eur("0.00")));
    assert_eq!(now.quotes()[0]["state"], "struck", "a draft is set aside with the end");

    let begun = shop.on_the_bench(&baritone());
    mara.starts(begun.operation("Braze the crack")).done();
    mara.pauses(begun.operation("Braze the crack")).done();
    greta.ends(&begun, "withdrawn", Some("moving away")).done();
    greta.moves(&begun, "diagnosis", "reopened", Some("stays after all")).done();
    mara.moves(&begun, "pickup", "nothing_to_do", Some("It plays.")).refused(409, "work-begun");
}

#[test]
fn an_acceptance_brings_the_order_to_the_bench_until_its_last_day() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone());
    let quote = order.quote("sent");
    assert_eq!(quote["expires_on"], shop.clock().in_days(14));
    shop.clock().forward(chrono::TimeDelta::days(14));
    greta.records_answer(quote, "accepted", &json!({})).done();
    let now = came(&shop, &order, "approval", "bench", "accepted");
    assert_eq!((now.waits_for(), &now["authorised"]), ("shop", &eur("140.00")));

    let late = shop.in_approval(&trumpet().with("promised_on", json!("2026-06-30")));
    shop.clock().forward(chrono::TimeDelta::days(15));
    greta.records_answer(late.quote("sent"), "accepted", &json!({})).refused(409, "quote-expired");
    assert_eq!(shop.look_at(&late).stage(), "approval");
}

#[test]
fn the_days_of_a_quote_count_from_the_day_it_goes_out_unless_its_last_day_was_chosen() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.with_a_draft(&baritone().with("promised_on", json!("2026-06-30")));
    let draft = order.quote("draft").clone();
    assert_eq!(draft["expires_on"], shop.clock().in_days(14));
    // Written on a screen and sent back with the day that was shown: nobody chose it.
    let same = json!({"lines": draft["lines"].as_array().unwrap().iter().map(line_again).collect::<Vec<_>>(), "message": "As it stands.", "expires_on": draft["expires_on"]});
    let replaced = mara.request("PUT", &format!("/quotes/{}", draft["id"].as_str().unwrap())).seen(draft["version"].as_i64().unwrap()).body(&same).send().done();
    assert_eq!(replaced["expires_on"], draft["expires_on"]);
    // Three weeks later the draft is still good, and the owner has the whole fortnight.
    shop.clock().forward(chrono::TimeDelta::days(21));
    let sent = mara.sends(&order, &replaced).done();
    assert_eq!(sent["expires_on"], shop.clock().in_days(14));
    assert_ne!(sent["expires_on"], draft["expires_on"]);
    shop.clock().forward(chrono::TimeDelta::days(14));
    shop.front_desk().records_answer(&sent, "accepted", &json!({})).done();
    came(&shop, &order, "approval", "bench", "accepted");

    // A day that was chosen stays, and a draft whose chosen day is over is not sent.
    let chosen = shop.in_diagnosis(&trumpet().with("promised_on", json!("2026-08-31")));
    let lines = [json!({"kind": "material", "text": "Cork", "unit_price": "10"})];
    let day = shop.clock().in_days(5);
    let draft = mara.drafts_quote(&chosen, &json!({"lines": lines, "expires_on": day})).done();
    shop.clock().forward(chrono::TimeDelta::days(6));
    mara.sends(&chosen, &draft).refused(409, "quote-expired");
    let late = json!({"lines": lines, "expires_on": day});
    let replace = |body: &Value| mara.request("PUT", &format!("/quotes/{}", draft["id"].as_str().unwrap())).seen(draft["version"].as_i64().unwrap()).body(body).send();
    assert_eq!(replace(&late).refused(422, "invalid-input").pointers(), ["/expires_on"]);
    let day = shop.clock().in_days(3);
    let draft = replace(&json!({"lines": lines, "expires_on": day})).done();
    shop.clock().forward(chrono::TimeDelta::days(1));
    assert_eq!(mara.sends(&chosen, &draft).done()["expires_on"], day);
}

/// A line of a quote as it is written again.
fn line_again(line: &Value) -> Value {
    json!({"id": line["id"], "kind": line["kind"], "text": line["text"], "quantity": line["quantity"], "unit_price": line["unit_price"],
           "tax_class": line["tax_class"], "optional": line["optional"], "operation_id": line["operation_id"]})
}

/// An order back in approval with extra work asked for, something accepted before.
fn with_extra_asked(shop: &TestShop) -> Order {
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let found = mara.finds(&order, &crack("second branch").leaking()).done();
    let patch = mara.plans(&order, &step("Patch the second crack", "60.00").answering(&found)).done();
    let extra = mara.drafts(&order, &[line(&patch)]).done();
    assert_eq!(extra["is_extra"], true);
    mara.sends(&order, &extra).done();
    let now = came(shop, &order, "bench", "approval", "extra_work");
    assert_eq!(now.waits_for(), "customer");
    now
}

#[test]
fn extra_work_is_asked_for_when_it_is_more_than_authorised_and_answered_either_way() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());

    let order = with_extra_asked(&shop);
    let extra = order.quote("sent");
    assert_eq!(extra["totals"]["total"]["amount"], "200.00", "the work accepted before stands in it");
    assert_eq!(extra["lines"].as_array().unwrap().iter().filter(|l| l["is_new"] == true).count(), 1);
    // Work accepted before goes on meanwhile; the new step waits.
    mara.starts(order.operation("Patch the second crack")).refused(409, "waits-for-answer");
    mara.does(order.operation("Braze the crack"));
    greta.records_answer(extra, "declined", &json!({})).done();
    let now = came(&shop, &order, "approval", "bench", "extra_declined");
    assert_eq!(now.operation("Patch the second crack")["state"], "struck");
    assert_eq!(now["authorised"], eur("140.00"));
    assert_eq!(now.findings()[1]["disposition"], "declined");

    let order = with_extra_asked(&shop);
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).done();
    let now = came(&shop, &order, "approval", "bench", "accepted");
    assert_eq!(now["authorised"], eur("200.00"));
    mara.does(now.operation("Patch the second crack"));
}

#[test]
fn extra_work_within_what_is_authorised_is_not_asked_for() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone().may_cost("300.00"));
    let patch = mara.plans(&order, &step("Patch the second crack", "60.00")).done();
    let extra = mara.drafts(&order, &[line(&patch)]).done();
    mara.sends(&order, &extra).refused(409, "within-authorised").saying("go on");
    mara.does(&patch);

    let found = mara.finds(&order, &crack("third branch").undecided()).done();
    mara.sends(&order, &extra).refused(409, "finding-undecided");
    mara.amends_finding(&found, &json!({"disposition": "another_visit"})).done();

    // What cannot be undone is asked for by name, whatever the money.
    let buffing = mara.plans(&order, &step("Buff the bell", "10.00").irreversible()).done();
    let rewritten = mara
        .request("PUT", &format!("/quotes/{}", extra["id"].as_str().unwrap()))
        .seen(extra["version"].as_i64().unwrap())
        .body(&json!({"lines": [line(&buffing)]}))
        .send()
        .done();
    mara.sends(&order, &rewritten).done();
    came(&shop, &order, "bench", "approval", "extra_work");
}

#[test]
fn an_extra_is_taken_back_to_the_bench_and_a_first_quote_to_the_examination() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());

    let order = with_extra_asked(&shop);
    mara.moves(&order, "diagnosis", "recalled", Some("found another way")).refused(409, "accepted-before");
    mara.moves(&order, "bench", "recalled", Some("found another way")).done();
    let now = came(&shop, &order, "approval", "bench", "recalled");
    let recalled = now.quotes().last().unwrap();
    assert_eq!((&recalled["state"], &recalled["struck_reason"]), (&json!("struck"), &json!("found another way")));
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).refused(409, "quote-recalled");

    let order = shop.in_approval(&baritone());
    greta.moves(&order, "bench", "recalled", Some("wrong horn")).refused(409, "nothing-accepted");
    greta.moves(&order, "diagnosis", "recalled", Some("wrong horn")).done();
    let now = came(&shop, &order, "approval", "diagnosis", "recalled");
    assert_eq!(now.quotes()[0]["state"], "struck");
    assert_eq!(now.waits_for(), "shop");
}

#[test]
fn a_question_goes_back_to_the_examination_unless_something_was_accepted_before() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let ask = json!({"question": "Must it be brazed?"});

    let order = shop.in_approval(&baritone());
    greta.records_answer(order.quote("sent"), "questions", &json!({})).refused(422, "invalid-input");
    greta.records_answer(order.quote("sent"), "questions", &ask).done();
    let now = came(&shop, &order, "approval", "diagnosis", "questions");
    assert_eq!((now.waits_for(), &now["open_question"]["text"]), ("shop", &ask["question"]));
    // The answer to it is a newer quote.
    let mara = shop.technician();
    let draft = mara.drafts(&order, &[line(now.operation("Braze the crack"))]).done();
    mara.sends(&order, &draft).done();
    let now = shop.look_at(&order);
    assert_eq!((now.waits_for(), &now["open_question"]), ("customer", &serde_json::Value::Null));
    assert_eq!(now.quotes()[0]["state"], "superseded");

    let order = with_extra_asked(&shop);
    greta.records_answer(order.quote("sent"), "questions", &ask).done();
    let now = shop.look_at(&order);
    assert_eq!((now.stage(), now.waits_for()), ("approval", "shop"), "the order stays, and waits for the shop");
    // It can still be answered.
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).done();
    came(&shop, &order, "approval", "bench", "accepted");
}

#[test]
fn a_quote_runs_out_after_its_last_day_by_the_clock() {
    let shop = TestShop::open();
    let late = |visit: harness::Visit| visit.with("promised_on", json!("2026-07-30"));
    let order = shop.in_approval(&late(baritone()));
    let extra = with_extra_asked(&shop);
    shop.days_pass(14);
    assert_eq!((shop.look_at(&order).stage(), shop.look_at(&extra).waits_for()), ("approval", "customer"));
    shop.days_pass(1);
    let now = came(&shop, &order, "approval", "diagnosis", "expired");
    assert_eq!((&now.quotes()[0]["state"], now.waits_for()), (&json!("expired"), "shop"));
    assert_eq!(now["stage_changes"].as_array().unwrap().last().unwrap()["by"], "the clock");
    let now = shop.look_at(&extra);
    assert_eq!((now.stage(), now.waits_for()), ("approval", "shop"), "something was accepted before: it stays");
    shop.front_desk().records_answer(extra.quote("sent"), "accepted", &json!({})).refused(409, "quote-expired");
    // The hour strikes again, and nothing more happens.
    let version = shop.look_at(&order).version();
    shop.an_hour_strikes();
    assert_eq!(shop.look_at(&order).version(), version);
}

#[test]
fn declining_ends_the_order_and_charges_the_examination() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.in_approval(&baritone().examined_for("25.00"));
    greta.records_answer(order.quote("sent"), "declined", &json!({})).done();
    let now = came(&shop, &order, "approval", "pickup", "declined");
    assert_eq!((&now["money"]["due"], now.waits_for()), (&eur("25.00"), "customer"));
    assert_eq!(now.findings()[0]["disposition"], "declined");
    // Told nothing at check-in, charged nothing.
    let free = shop.in_approval(&baritone());
    greta.records_answer(free.quote("sent"), "declined", &json!({})).done();
    assert_eq!(shop.look_at(&free)["money"]["due"], eur("0.00"));
}

#[test]
fn an_acceptance_can_be_called_a_mistake_until_its_first_step_is_started() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = shop.on_the_bench(&baritone());
    let decision = &order.quote("answered")["decision"];
    greta.records_dispute(decision).done();
    let now = came(&shop, &order, "bench", "approval", "acceptance_disputed");
    assert_eq!(now["authorised"], eur("0.00"), "the acceptance is revoked");
    assert_eq!(now.waits_for(), "shop");
    mara.starts(now.operation("Braze the crack")).refused(409, "not-on-the-bench");
    // Saying it twice is harmless.
    greta.records_dispute(decision).done();
    // The same version can be accepted again.
    greta.records_answer(order.quote("answered"), "accepted", &json!({})).done();
    came(&shop, &order, "approval", "bench", "accepted");
    let again = shop.look_at(&order);
    mara.starts(again.operation("Braze the crack")).done();
    greta.records_dispute(&again.quote("answered")["decision"]).refused(409, "work-begun").saying("Braze the crack");
}

#[test]
fn a_disputed_extra_leaves_what_was_accepted_before() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let order = with_extra_asked(&shop);
    let first = shop.look_at(&order).quote("answered")["decision"].clone();
    mara.does(order.operation("Braze the crack"));
    greta.records_answer(order.quote("sent"), "accepted", &json!({})).done();
    greta.records_dispute(&first).refused(409, "not-the-last-acceptance");
    let second = shop.look_at(&order).quotes()[1]["decision"].clone();
    greta.records_dispute(&second).done();
    let now = came(&shop, &order, "bench", "approval", "acceptance_disputed");
    assert_eq!(now["authorised"], eur("140.00"));
    mara.starts(now.operation("Patch the second crack")).refused(409, "waits-for-answer");
    greta.records_answer(&now.quotes()[1], "declined", &json!({})).done();
    came(&shop, &order, "approval", "bench", "extra_declined");
}

#[test]
fn bench_work_is_done_when_every_accepted_step_is_done_or_struck() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone().may_cost("300.00"));
    let done = |order: &Order| mara.moves(order, "leak_test", "bench_done", None);
    let brazing = order.operation("Braze the crack").clone();
    done(&order).refused(409, "operation-open").saying("Braze the crack");
    mara.starts(&brazing).done();
    done(&order).refused(409, "clock-running").saying("Braze the crack");
    mara.pauses(&brazing).done();
    done(&order).refused(409, "operation-open");
    mara.finishes(&brazing).done();
    let apart = mara.plans(&order, &step("Take the valves out", "0.00").taking_apart()).done();
    mara.does(&apart);
    done(&order).refused(409, "apart").saying("Put it together first");
    let together = mara.plans(&order, &step("Put the valves in", "0.00").putting_together()).done();
    mara.does(&together);
    done(&order).done();
    came(&shop, &order, "bench", "leak_test", "bench_done");

    let order = shop.on_the_bench(&baritone());
    let brazing = order.operation("Braze the crack");
    mara.amends_step(brazing, &json!({"struck_reason": "  "})).refused(422, "invalid-input");
    mara.amends_step(brazing, &json!({"struck_reason": "a patch from inside did it"})).done();
    done(&order).done();
}

#[test]
fn a_failed_test_goes_back_to_the_bench_with_the_place_pinned_and_rework_counted() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_leak_test(&baritone());
    let unpinned = json!({"kind": "leak_test", "verdict": "failed", "where_words": "somewhere"});
    mara.tests(&order, &unpinned).refused(422, "invalid-input");
    let known = &order.findings()[0];
    let failed = json!({"kind": "leak_test", "verdict": "failed", "where_words": "at the old seam", "finding_id": known["id"]});
    mara.tests(&order, &failed).done();
    let now = came(&shop, &order, "leak_test", "bench", "test_failed");
    let brazing = now.operation("Braze the crack");
    assert_eq!((&brazing["rework_count"], &brazing["state"]), (&json!(1), &json!("paused")), "the step is open again");
    assert_eq!(now["tests"][0]["verdict"], "failed");
    mara.moves(&order, "leak_test", "bench_done", None).refused(409, "operation-open");
    mara.does(brazing);
    mara.moves(&order, "leak_test", "bench_done", None).done();
    // Where nothing was found before, a new finding pins it.
    mara.fails_leak_test(&order, &finding("open_joint", "ferrule")).done();
    let now = came(&shop, &order, "leak_test", "bench", "test_failed");
    assert_eq!((now.findings().len(), &now.findings()[1]["found_when"]), (2, &json!("at_the_test")));
}

#[test]
fn every_required_test_passes_anew_after_each_arrival() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_leak_test(&baritone());
    mara.tests(&order, &json!({"kind": "play_test", "method": "played", "verdict": "passed"})).done();
    assert_eq!(shop.look_at(&order).stage(), "leak_test", "a play test alone is not the leak test");
    mara.passes_leak_test(&order).done();
    let now = came(&shop, &order, "leak_test", "pickup", "tests_passed");
    assert!(now["required_tests"].as_array().unwrap().iter().all(|test| test["passed"] == true));
    mara.passes_leak_test(&order).refused(409, "not-in-leak-test");

    // Sent back at the counter, the old pass counts no more.
    shop.front_desk().moves(&order, "bench", "sent_back", Some("the case latch bent a key")).done();
    mara.moves(&order, "leak_test", "bench_done", None).done();
    let now = shop.look_at(&order);
    assert_eq!(now["required_tests"][0]["passed"], false);
    mara.tests(&order, &json!({"kind": "play_test", "verdict": "passed"})).done();
    assert_eq!(shop.look_at(&order).stage(), "leak_test");
    mara.passes_leak_test(&order).done();
    assert_eq!(shop.look_at(&order).stage(), "pickup");
}

#[test]
fn the_proprietor_lets_an_instrument_go_on_their_own_word() {
    let shop = TestShop::open();
    let order = shop.in_leak_test(&baritone());
    let reason = "The owner knows of the slow leak and plays tomorrow.";
    shop.technician().moves(&order, "pickup", "overridden", Some(reason)).refused(403, "not-yours");
    shop.proprietor().moves(&order, "pickup", "overridden", Some(reason)).done();
    let now = came(&shop, &order, "leak_test", "pickup", "overridden");
    assert_eq!(now["stage_changes"].as_array().unwrap().last().unwrap()["reason"], reason);
    shop.mail_has_gone().letter("otto@player.example", "baritone").says(reason);
}

#[test]
fn sent_back_and_reopened_each_have_their_own_way_into_pickup() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let tested = shop.in_pickup(&baritone());
    greta.moves(&tested, "diagnosis", "reopened", Some("one more thing")).refused(409, "tested");
    greta.moves(&tested, "bench", "sent_back", Some("a valve sticks")).done();
    came(&shop, &tested, "pickup", "bench", "sent_back");

    let declined = shop.in_approval(&baritone());
    greta.records_answer(declined.quote("sent"), "declined", &json!({})).done();
    greta.moves(&declined, "bench", "sent_back", Some("a valve sticks")).refused(409, "not-tested");
    greta.moves(&declined, "diagnosis", "reopened", Some("do it after all")).done();
    let now = came(&shop, &declined, "pickup", "diagnosis", "reopened");
    assert_eq!((&now["ending"], now.waits_for()), (&serde_json::Value::Null, "shop"));
    // The whole way can be gone again.
    let mara = shop.technician();
    mara.amends_finding(&now.findings()[0], &json!({"disposition": "repair"})).done();
    let draft = mara.drafts(&declined, &[line(now.operation("Braze the crack"))]).done();
    mara.sends(&declined, &draft).done();
    greta.records_answer(shop.look_at(&declined).quote("sent"), "accepted", &json!({})).done();
    came(&shop, &declined, "approval", "bench", "accepted");
}

#[test]
fn an_instrument_leaves_when_it_is_paid_and_everything_is_ticked_off() {
    let shop = TestShop::open();
    let (greta, ines) = (shop.front_desk(), shop.proprietor());
    let order = shop.in_pickup(&baritone());
    let all = json!(["case", "mouthpiece"]);
    let given = |more: serde_json::Value| {
        let mut handover = json!({"how": "collected", "collected_by": "Otto Brenner", "accessories_returned": all});
        for (name, value) in more.as_object().unwrap() {
            handover[name] = value.clone();
        }
        handover
    };
    greta.hands_over(&order, &given(json!({}))).refused(409, "amount-due").saying("140");
    let paid = json!({"amount": eur("139.99"), "how": "card"});
    greta.hands_over(&order, &given(json!({"payment": paid}))).refused(409, "amount-due").saying("0.01");
    assert_eq!(shop.look_at(&order)["payments"], json!([]), "a refused handover keeps no payment");
    let paid = json!({"amount": eur("140.00"), "how": "card"});
    let without_case = given(json!({"payment": paid, "accessories_returned": ["mouthpiece"]}));
    greta.hands_over(&order, &without_case).refused(409, "accessories").saying("case");
    greta.hands_over(&order, &given(json!({"payment": paid, "collected_by": " "}))).refused(422, "invalid-input");
    greta.hands_over(&order, &given(json!({"accessories_returned": ["mute"]}))).refused(422, "invalid-input");
    greta.hands_over(&order, &given(json!({"payment": paid}))).done();
    let now = came(&shop, &order, "pickup", "closed", "collected");
    assert_eq!(now["money"], json!({"total": eur("140.00"), "examination_fee": null, "paid": eur("140.00"), "waived": eur("0.00"), "due": eur("0.00")}));
    greta.hands_over(&order, &given(json!({}))).refused(409, "no-such-move");

    // Charged to the account of a school.
    let order = shop.in_pickup(&baritone());
    greta.hands_over(&order, &given(json!({"how": "shipped", "charge_to_account": true}))).done();
    let now = came(&shop, &order, "pickup", "closed", "shipped");
    assert_eq!(now["payments"][0]["how"], "account");

    // Waived, by nobody but the proprietor.
    let order = shop.in_pickup(&baritone());
    let waived = given(json!({"waive": {"reason": "we broke it"}}));
    greta.hands_over(&order, &waived).refused(403, "not-yours");
    ines.hands_over(&order, &waived).done();
    came(&shop, &order, "pickup", "closed", "collected");
}

#[test]
fn the_proprietor_settles_an_open_order_otherwise_from_any_stage() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    for order in one_in_each_stage(&shop) {
        if order.stage() == "closed" {
            ines.moves(&order, "closed", "otherwise_settled", Some("bought")).refused(409, "no-such-move");
            continue;
        }
        let from = order.stage().to_owned();
        // What is due is paid first here; `settling` has the other ways.
        let due = order["money"]["due"]["amount"].as_str().unwrap();
        if due != "0.00" {
            ines.takes_payment(&order, due).done();
        }
        ines.moves(&order, "closed", "otherwise_settled", Some("bought by the shop")).done();
        let now = came(&shop, &order, &from, "closed", "otherwise_settled");
        assert_eq!(now["waits_for"], serde_json::Value::Null);
        assert!(now.quotes().iter().all(|q| q["state"] != "sent" && q["state"] != "draft"), "nothing can be answered any more");
    }
    let order = shop.on_the_bench(&baritone());
    shop.technician().starts(order.operation("Braze the crack")).done();
    ines.moves(&order, "closed", "otherwise_settled", Some("lost")).refused(409, "clock-running");
}

#[test]
fn what_was_entered_by_mistake_is_closed_while_nothing_is_recorded_on_it() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.checked_in(&baritone());
    greta.moves(&order, "closed", "entered_by_mistake", Some("twice")).done();
    came(&shop, &order, "intake", "closed", "entered_by_mistake");
    let paid = shop.checked_in(&baritone());
    greta.takes_payment(&paid, "20.00").done();
    greta.moves(&paid, "closed", "entered_by_mistake", Some("twice")).refused(409, "has-records").saying("withdrawn");
    let noted = shop.checked_in(&baritone());
    greta.post(&format!("/work-orders/{noted}/notes"), &json!({"text": "rings at nine"})).done();
    greta.moves(&noted, "closed", "entered_by_mistake", Some("twice")).refused(409, "has-records");
}

#[test]
fn a_newer_version_sent_while_the_owner_is_asked_is_no_move() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_approval(&baritone());
    let way = order.way();
    let old = order.quote("sent").clone();
    let draft = mara
        .drafts_quote(&order, &json!({"message": "A cheaper way.", "lines": [line(order.operation("Braze the crack"))]}))
        .done();
    mara.sends(&order, &draft).done();
    let now = shop.look_at(&order);
    assert_eq!(now.way(), way, "no move");
    assert_eq!((&now.quotes()[0]["state"], &now.quotes()[1]["state"]), (&json!("superseded"), &json!("sent")));
    assert_eq!(now.letters().last().unwrap()["kind"], "newer_quote", "it has a letter of its own");
    shop.front_desk().records_answer(&old, "accepted", &json!({})).refused(409, "quote-superseded").saying("newer");
    shop.front_desk().records_answer(now.quote("sent"), "accepted", &json!({})).done();
}
