//! What is kept and how it is said: rules 9, 11, 12, 13 and 15.

use chrono::{TimeDelta, TimeZone, Utc};
use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};
use harness::people::eur;
use harness::{TestShop, baritone, crack, line, step};
use serde_json::{Value, json};

#[test]
fn rule_9_findings_and_steps_are_struck_with_a_reason_and_stay_on_the_record() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let found = mara.finds(&order, &crack("bell bow").undecided()).done();
    mara.amends_finding(&found, &json!({"struck_reason": " "})).refused(422, "invalid-input");
    mara.amends_finding(&found, &json!({"struck_reason": "it was a scratch"})).done();
    let now = shop.look_at(&order);
    assert_eq!(now.findings()[0]["struck_reason"], "it was a scratch");
    mara.amends_finding(&now.findings()[0], &json!({"note": "x"})).refused(409, "struck");
    // Struck, it stands in nobody's way.
    let brazing = mara.plans(&order, &step("Braze", "10.00")).done();
    let draft = mara.drafts(&order, &[line(&brazing)]).done();
    mara.sends(&order, &draft).done();

    let order = shop.on_the_bench(&baritone());
    let brazing = order.operation("Braze the crack");
    mara.does(brazing);
    mara.amends_step(brazing, &json!({"struck_reason": "never mind"})).refused(409, "done").saying("stays on the record");
    let mara_sees = mara.look_at(&order);
    for path in [
        format!("/findings/{}", order.findings()[0]["id"].as_str().unwrap()),
        format!("/operations/{}", brazing["id"].as_str().unwrap()),
        format!("/work-orders/{order}"),
    ] {
        let version = mara_sees.version();
        shop.proprietor().request("DELETE", &path).seen(version).send().refused(405, "wrong-method");
    }
}

/// What the role that serves may do, asked of PostgreSQL as that role.
#[test]
fn rule_9_the_serving_role_can_neither_delete_nor_rewrite_what_the_shop_learned() {
    let shop = TestShop::open();
    shop.collected(&baritone());
    let mut serving = PgConnection::establish(&shop.database().serving_url()).unwrap();
    serving.batch_execute(&format!("SELECT set_config('bellbrace.shop', '{}', false)", shop.id())).unwrap();
    let kept = [
        "work_orders", "findings", "operations", "quotes", "tests", "decisions", "disputes", "stage_changes", "payments",
        "handovers", "waivers", "order_changes", "struck_payments", "desk_fields", "letters", "notes", "counter_marks", "audit", "events", "customers", "instruments", "people",
    ];
    for table in kept {
        let refused = serving.batch_execute(&format!("DELETE FROM {table}")).unwrap_err().to_string();
        assert!(refused.contains("permission denied"), "{table}: {refused}");
    }
    for table in ["tests", "pressure_tests", "fit_checks", "decisions", "disputes", "stage_changes", "payments", "handovers", "waivers", "order_changes", "struck_payments", "notes", "counter_marks", "audit"] {
        let refused = serving.batch_execute(&format!("UPDATE {table} SET shop_id = shop_id")).unwrap_err().to_string();
        assert!(refused.contains("permission denied"), "{table}: {refused}");
    }
    for table in kept {
        assert!(serving.batch_execute(&format!("TRUNCATE {table}")).is_err(), "{table}");
    }
    // Without a shop, the same role sees nothing at all.
    serving.batch_execute("SELECT set_config('bellbrace.shop', '', false)").unwrap();
    assert!(serving.batch_execute("SELECT * FROM work_orders").is_err());
}

#[test]
fn rule_11_money_is_exact_in_the_shops_currency_and_nothing_else_is_taken() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    for amount in [
        json!({"amount": "10.005", "currency": "EUR"}),
        json!({"amount": "10.00", "currency": "USD"}),
        json!({"amount": "10.00"}),
        json!({"amount": 10.0, "currency": "EUR"}),
        json!({"amount": "1e2", "currency": "EUR"}),
        json!({"amount": "10,00", "currency": "EUR"}),
        json!({"amount": "-1.00", "currency": "EUR"}),
        json!("10.00"),
    ] {
        let refusal = greta.check_in(&baritone().with("may_cost", amount.clone())).refused(422, "invalid-input");
        assert!(refusal.pointers()[0].starts_with("/may_cost"), "{amount}: {:?}", refusal.body);
    }
    let order = shop.checked_in(&baritone().may_cost("0.10"));
    assert_eq!(order["may_cost"], eur("0.10"), "with the currency's own places");
}

/// By hand: net prices, 19 %, half away from zero, once per line and once per tax class.
/// Lines 3 × 0.335 = 1.005 → 1.01 and 1 × 0.125 → 0.13: net 1.14, tax 0.2166 → 0.22, total 1.36.
#[test]
fn rule_11_a_line_is_rounded_once_and_a_tax_class_once_half_away_from_zero() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let version = ines.get("/shop").done()["version"].as_i64().unwrap();
    let settings = json!({"prices_include_tax": false, "tax_classes": [{"id": "standard", "percent": "19"}]});
    ines.request("PATCH", "/shop").seen(version).body(&settings).send().done();
    let order = shop.in_diagnosis(&baritone());
    let lines = [
        json!({"kind": "material", "text": "Cork", "quantity": "3", "unit_price": "0.335"}),
        json!({"kind": "material", "text": "Thread", "unit_price": "0.125"}),
    ];
    let quote = shop.technician().drafts(&order, &lines).done();
    let totals = &quote["totals"];
    assert_eq!((&totals["net"], &totals["tax"], &totals["total"]), (&eur("1.14"), &eur("0.22"), &eur("1.36")));
}

#[test]
fn rule_12_the_shops_own_clock_dates_everything_and_its_own_zone_names_the_day() {
    let shop = TestShop::open();
    // 23:30 in Berlin on 12 May, while it is still 21:30 in UTC.
    shop.clock().set(Utc.with_ymd_and_hms(2026, 5, 12, 21, 30, 0).unwrap());
    let order = shop.in_approval(&baritone().with("promised_on", json!("2026-05-12")));
    assert!(order["checked_in_at"].as_str().unwrap().starts_with("2026-05-12T21:30:"), "{}", order["checked_in_at"]);
    assert_eq!(order.quote("sent")["expires_on"], "2026-05-26");
    // Half an hour later it is the next day in Berlin, and not yet in UTC.
    shop.clock().forward(TimeDelta::minutes(31));
    shop.front_desk().check_in(&baritone().with("promised_on", json!("2026-05-12"))).refused(422, "invalid-input");
    let next = shop.in_approval(&baritone().with("promised_on", json!("2026-05-13")));
    assert!(next["checked_in_at"].as_str().unwrap().starts_with("2026-05-12T22:0"), "every instant is UTC");
    assert_eq!(next.quote("sent")["expires_on"], "2026-05-27");
    assert_eq!(shop.front_desk().get("/board").done()["today"], "2026-05-13");
    // The last day ends at the shop's own midnight: 26 May, 22:00 UTC.
    shop.clock().set(Utc.with_ymd_and_hms(2026, 5, 26, 21, 59, 0).unwrap());
    shop.an_hour_strikes();
    assert_eq!(shop.look_at(&order).stage(), "approval");
    shop.clock().set(Utc.with_ymd_and_hms(2026, 5, 26, 22, 0, 1).unwrap());
    shop.an_hour_strikes();
    assert_eq!((shop.look_at(&order).stage(), shop.look_at(&next).stage()), ("diagnosis", "approval"));
    // A promised date is a date and moves with no clock.
    assert_eq!(shop.look_at(&order)["promised_on"], "2026-05-12");
    // The letter names the moment in the shop's zone.
    shop.front_desk().records_answer(next.quote("sent"), "accepted", &json!({})).done();
    shop.mail_has_gone().letter("otto@player.example", "we have your yes").says("Wednesday 27 May, 00:00");
}

/// The reference cases of `tests/vectors`, one of each computation, as the API answers them.
#[test]
fn rule_13_a_computed_figure_carries_its_unit_and_range_and_is_the_one_of_the_reference_cases() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors");
    let mut computed = 0;
    for file in std::fs::read_dir(folder).unwrap() {
        let file = file.unwrap().path();
        let name = file.file_stem().unwrap().to_str().unwrap().to_owned();
        let cases: Value = serde_json::from_slice(&std::fs::read(&file).unwrap()).unwrap();
        let cases = cases["cases"].as_array().or(cases.as_array()).unwrap_or_else(|| panic!("no cases in {name}")).clone();
        let Some(case) = cases.iter().find(|case| case["output"].is_object() && case["output"]["refused"].is_null()) else { continue };
        let answer = mara.post(&format!("/calculations/{name}"), &case["input"]);
        if answer.status == 404 {
            continue;
        }
        let answer = answer.done();
        for field in case["output"].as_object().unwrap().keys() {
            assert!(answer.get(field).is_some(), "{name} does not say {field}");
        }
        computed += 1;
    }
    assert!(computed >= 5, "only {computed} computations are answered");
}

#[test]
fn rule_15_a_suggestion_is_overruled_with_a_reason_and_the_record_shows_both() {
    let shop = TestShop::open();
    let mara = shop.technician();
    let order = shop.in_diagnosis(&baritone());
    let found = mara.finds(&order, &json!({"kind": "crack", "part": "bell bow", "leaks": "yes"})).done();
    assert_eq!((&found["disposition"], &found["suggestion"]["disposition"]), (&json!("undecided"), &json!("repair")));
    assert_eq!(found["suggestion"]["reason"], "It leaks.");
    let decided = json!({"disposition": "leave_and_watch", "disposition_reason": "The owner keeps it as a picture on the wall."});
    mara.amends_finding(&found, &decided).done();
    let now = shop.look_at(&order).findings()[0].clone();
    assert_eq!((&now["disposition"], &now["suggestion"]["disposition"]), (&json!("leave_and_watch"), &json!("repair")));
    assert_eq!(now["disposition_reason"], decided["disposition_reason"]);
    // Each stated rule, as DOMAIN.md gives them.
    for (finding, suggestion) in [
        (json!({"kind": "crack", "part": "bell", "leaks": "no"}), "leave_and_watch"),
        (json!({"kind": "crack", "part": "bell", "leaks": "no", "likely_to_spread": true}), "repair"),
        (json!({"kind": "dent", "part": "bell", "leaks": "yes"}), "repair"),
    ] {
        assert_eq!(mara.finds(&order, &finding).done()["suggestion"]["disposition"], suggestion, "{finding}");
    }
}
