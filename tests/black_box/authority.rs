//! Rules 2 and 14: what may be started, by money and by name.

use harness::people::eur;
use harness::{Order, TestShop, baritone, line, step};
use serde_json::{Value, json};

/// An order whose quote of these lines was accepted with `more` in the decision.
fn accepted(shop: &TestShop, steps: &[harness::Step], quote: &dyn Fn(&[Value]) -> Value, more: &dyn Fn(&Order) -> Value) -> Order {
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let planned: Vec<Value> = steps.iter().map(|step| mara.plans(&order, step).done()).collect();
    let draft = mara.drafts_quote(&order, &quote(&planned)).done();
    mara.sends(&order, &draft).done();
    let now = shop.look_at(&order);
    shop.front_desk().records_answer(now.quote("sent"), "accepted", &more(&now)).done();
    shop.look_at(&order)
}

fn plainly(_: &Order) -> Value {
    json!({})
}

#[test]
fn rule_2_nothing_that_would_cost_more_than_authorised_is_started() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone().may_cost("200.00"));
    assert_eq!(order["authorised"], eur("200.00"), "the larger of the counter amount and the accepted limit");
    let cent_too_much = mara.plans(&order, &step("Straighten the brace", "60.01")).done();
    mara.starts(&cent_too_much).refused(409, "over-authorised").saying("200");
    assert_eq!(shop.look_at(&order).operation("Straighten the brace")["may_start"], false);
    let fits = mara.plans(&order, &step("Clean the slides", "60.00")).done();
    mara.does(&fits);
    let more = mara.plans(&order, &step("Oil the valves", "0.01")).done();
    mara.starts(&more).refused(409, "over-authorised");
    mara.does(order.operation("Braze the crack"));
    mara.moves(&order, "leak_test", "bench_done", None).done();
    mara.passes_all_tests(&order);
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("200.00"), "what was done, and no more than was authorised");
}

#[test]
fn rule_2_accepted_material_counts_towards_the_cap() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = accepted(
        &shop,
        &[step("Braze the crack", "100.00")],
        &|steps| json!({"lines": [line(&steps[0]), {"kind": "material", "text": "Ferrule", "unit_price": "40.00"}]}),
        &plainly,
    );
    assert_eq!(order["authorised"], eur("140.00"));
    let more = mara.plans(&order, &step("Clean the slides", "40.00")).done();
    mara.starts(&more).refused(409, "over-authorised");
    mara.does(order.operation("Braze the crack"));
    mara.moves(&order, "leak_test", "bench_done", None).done();
    mara.passes_all_tests(&order);
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("140.00"));
}

#[test]
fn rule_2_what_was_accepted_with_a_discount_can_be_started_whole() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = accepted(
        &shop,
        &[step("Braze the crack", "100.00"), step("Dress the dents", "100.00")],
        &|steps| json!({"lines": [line(&steps[0]), line(&steps[1])], "discount": {"percent": "10"}}),
        &plainly,
    );
    assert_eq!(order["authorised"], eur("180.00"));
    mara.does(order.operation("Braze the crack"));
    mara.does(order.operation("Dress the dents"));
    let more = mara.plans(&order, &step("Oil the valves", "0.01")).done();
    mara.starts(&more).refused(409, "over-authorised");
    mara.moves(&order, "leak_test", "bench_done", None).done();
    mara.passes_all_tests(&order);
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("180.00"));
}

#[test]
fn rule_2_tax_rounded_once_for_the_whole_does_not_stand_in_the_way_of_a_step() {
    let shop = TestShop::open();
    let (mara, ines) = (shop.technician(), shop.proprietor());
    let version = ines.get("/shop").done()["version"].as_i64().unwrap();
    let settings = json!({"prices_include_tax": false, "tax_classes": [{"id": "standard", "percent": "19"}]});
    ines.request("PATCH", "/shop").seen(version).body(&settings).send().done();
    // Each alone is 0.03 × 1.19 = 0.0357, so 0.04 and 0.08 together; both at once are 0.0714, so 0.07.
    let order = accepted(
        &shop,
        &[step("One drop of oil", "0.03"), step("Another drop", "0.03")],
        &|steps| json!({"lines": [line(&steps[0]), line(&steps[1])]}),
        &plainly,
    );
    assert_eq!(order["authorised"], eur("0.07"));
    mara.does(order.operation("One drop of oil"));
    mara.does(order.operation("Another drop"));
}

#[test]
fn rule_2_an_accepted_amount_is_a_cap_and_never_a_target() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = accepted(
        &shop,
        &[step("Braze the crack", "100.00")],
        &|steps| json!({"lines": [line(&steps[0])], "limit": eur("250.00")}),
        &plainly,
    );
    assert_eq!(order["authorised"], eur("250.00"));
    mara.amends_step(order.operation("Braze the crack"), &json!({"price": eur("250.00")})).refused(409, "accepted-price");
    mara.does(order.operation("Braze the crack"));
    mara.moves(&order, "leak_test", "bench_done", None).done();
    mara.passes_all_tests(&order);
    assert_eq!(shop.look_at(&order)["money"]["due"], eur("100.00"));
    // A limit below the lines would be no cap.
    let order = shop.with_a_draft(&baritone());
    let draft = order.quote("draft");
    let lines = [line(order.operation("Braze the crack"))];
    mara.request("PUT", &format!("/quotes/{}", draft["id"].as_str().unwrap()))
        .seen(draft["version"].as_i64().unwrap())
        .body(&json!({"lines": lines, "limit": eur("139.99")}))
        .send()
        .refused(422, "invalid-input");
}

#[test]
fn rule_2_a_step_that_the_owner_left_unticked_is_not_started_under_the_same_limit() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let with_option = |steps: &[Value]| {
        let mut option = line(&steps[1]);
        option["optional"] = json!(true);
        json!({"lines": [line(&steps[0]), option], "limit": eur("200.00")})
    };
    let steps = [step("Braze the crack", "100.00"), step("Dress the dents", "50.00")];
    let order = accepted(&shop, &steps, &with_option, &plainly);
    assert_eq!(order["authorised"], eur("200.00"), "the limit the owner was asked for");
    let dents = order.operation("Dress the dents");
    assert_eq!((&dents["accepted"], &dents["may_start"]), (&json!(false), &json!(false)));
    mara.starts(dents).refused(409, "not-chosen").saying("left this step out");
    // It can be asked for, although the money would suffice.
    let extra = mara.drafts(&order, &[line(dents)]).done();
    mara.sends(&order, &extra).done();
    shop.front_desk().records_answer(shop.look_at(&order).quote("sent"), "accepted", &json!({})).done();
    mara.does(dents);

    let ticked = |now: &Order| json!({"chosen_lines": [now.quote("sent")["lines"][1]["id"]]});
    let order = accepted(&shop, &steps, &with_option, &ticked);
    mara.does(order.operation("Dress the dents"));
}

#[test]
fn rule_2_the_money_of_a_line_that_was_left_out_is_for_nothing_else() {
    let shop = TestShop::open();
    let (mara, greta) = (shop.technician(), shop.front_desk());
    let with_option = |steps: &[Value]| {
        let mut option = line(&steps[1]);
        option["optional"] = json!(true);
        json!({"lines": [line(&steps[0]), option]})
    };
    let steps = [step("Braze the crack", "62.00"), step("Oil the valves", "24.00")];
    let order = accepted(&shop, &steps, &with_option, &plainly);
    assert_eq!(order["authorised"], eur("62.00"), "what was accepted, without what was left out");
    let polish = mara.plans(&order, &step("Polish the seam", "24.00")).done();
    mara.starts(&polish).refused(409, "over-authorised").saying("62");
    mara.does(order.operation("Braze the crack"));
    // The owner's own page and the letter say the same sum.
    let link = greta.issues_link(&order, "status");
    let page = shop.stranger().get(link["url"].as_str().unwrap()).text();
    assert!(page.contains("€62.00") && !page.contains("€86.00"), "{page}");
    let mail = shop.mail_has_gone();
    mail.to("otto@player.example").into_iter().last().unwrap().says("€62.00");

    let ticked = |now: &Order| json!({"chosen_lines": [now.quote("sent")["lines"][1]["id"]]});
    let order = accepted(&shop, &steps, &with_option, &ticked);
    assert_eq!(order["authorised"], eur("86.00"));
    // Room asked for on purpose is the owner's word, whatever is left out.
    let with_room = |steps: &[Value]| {
        let mut quote = with_option(steps);
        quote["limit"] = eur("100.00");
        quote
    };
    let order = accepted(&shop, &steps, &with_room, &plainly);
    assert_eq!(order["authorised"], eur("100.00"));
    let polish = mara.plans(&order, &step("Polish the seam", "24.00")).done();
    mara.does(&polish);
}

#[test]
fn nothing_is_started_before_the_bench_nor_before_what_comes_first() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_approval(&baritone().may_cost("500.00"));
    mara.starts(order.operation("Braze the crack")).refused(409, "not-on-the-bench");
    let order = shop.on_the_bench(&baritone().may_cost("500.00"));
    let first = order.operation("Braze the crack");
    let second = mara.plans(&order, &step("Polish the seam", "10.00").after(first)).done();
    mara.starts(&second).refused(409, "comes-later").saying("Braze the crack");
    mara.does(first);
    mara.does(&second);
    mara.starts(first).refused(409, "done");
    let struck = mara.plans(&order, &step("Oil the valves", "1.00")).done();
    mara.finishes(&struck).refused(409, "not-begun");
    mara.amends_step(&struck, &json!({"struck_reason": "no need"})).done();
    mara.starts(&struck).refused(409, "struck");
}

#[test]
fn one_clock_runs_for_one_person() {
    let shop = TestShop::open();
    let (mara, jonas) = (shop.technician(), shop.second_technician());
    let order = shop.on_the_bench(&baritone().may_cost("500.00"));
    let brazing = order.operation("Braze the crack");
    let polish = mara.plans(&order, &step("Polish the seam", "10.00")).done();
    mara.starts(brazing).done();
    mara.starts(brazing).done();
    mara.starts(&polish).refused(409, "clock-running");
    let path = format!("/operations/{}/time", polish["id"].as_str().unwrap());
    mara.post(&path, &json!({"action": "start", "stop_other": true})).done();
    assert_eq!(shop.look_at(&order).operation("Braze the crack")["state"], "paused");
    // Somebody else's clock on the same step.
    jonas.starts(&polish).refused(409, "already-claimed").saying("Mara Voss");
    jonas.pauses(&polish).refused(403, "not-yours");
    jonas.starts(brazing).done();
    // Left running, both are stopped at closing time (18:00 in Berlin), to be checked.
    shop.clock().forward(chrono::TimeDelta::hours(12));
    shop.an_hour_strikes();
    for title in ["Braze the crack", "Polish the seam"] {
        let now = shop.look_at(&order);
        let step = now.operation(title);
        assert_eq!((&step["state"], &step["to_check"]), (&json!("paused"), &json!(true)), "{title}");
        let minutes = step["actual_minutes"].as_i64().unwrap();
        assert!((479..=480).contains(&minutes), "from 10:00 to 18:00: {minutes}");
    }
}

#[test]
fn rule_14_what_cannot_be_undone_starts_only_when_the_owner_accepted_it_by_name() {
    let shop = TestShop::open();
    let mara = shop.technician();
    // Whatever the money: the counter amount would cover it ten times.
    let order = shop.on_the_bench(&baritone().may_cost("1000.00"));
    let buffing = mara.plans(&order, &step("Buff the bell", "50.00").irreversible()).done();
    mara.starts(&buffing).refused(409, "irreversible-needs-name").saying("by name");
    let extra = mara.drafts(&order, &[line(&buffing)]).done();
    let new = extra["lines"].as_array().unwrap().iter().find(|l| l["operation_id"] == buffing["id"]).unwrap();
    assert_eq!((&new["optional"], &new["irreversible"]), (&json!(true), &json!(true)), "unticked until the owner ticks it");
    mara.sends(&order, &extra).done();
    let out = shop.look_at(&order).quote("sent").clone();
    // A yes to the rest is no yes to this.
    shop.front_desk().records_answer(&out, "accepted", &json!({})).done();
    mara.starts(&buffing).refused(409, "irreversible-needs-name");

    let again = mara.drafts(&order, &[line(&buffing)]).done();
    mara.sends(&order, &again).done();
    let out = shop.look_at(&order).quote("sent").clone();
    shop.front_desk().records_answer(&out, "accepted", &json!({"accepted_by_name": [buffing["id"]]})).done();
    assert_eq!(shop.look_at(&order).quotes().last().unwrap()["decision"]["accepted_by_name"], json!([buffing["id"]]));
    mara.does(&buffing);

    // Ticking its line says the same.
    let order = accepted(
        &shop,
        &[step("Braze the crack", "100.00"), step("Strip the lacquer", "50.00").irreversible()],
        &|steps| json!({"lines": [line(&steps[0]), line(&steps[1])]}),
        &|now| json!({"chosen_lines": [now.quote("sent")["lines"][1]["id"]]}),
    );
    mara.does(order.operation("Strip the lacquer"));
}
