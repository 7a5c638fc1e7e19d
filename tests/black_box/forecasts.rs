//! The forecast as its readers see it: on the board, at the check-in, in the evening.

use harness::{Order, Person, TestShop, Visit, baritone, crack, line, step, trumpet};
use serde_json::{Value, json};

fn on_board(person: &Person, order: &Order) -> Value {
    let board = person.get("/board").done();
    board["orders"].as_array().unwrap().iter().find(|shown| shown["id"] == order.id()).unwrap().clone()
}

fn minutes(low: i32, typical: i32, high: i32) -> Value {
    json!({"low": low, "typical": typical, "high": high})
}

/// On the bench with one accepted step that takes so many minutes.
fn with_work_of(shop: &TestShop, visit: &Visit, work: Value) -> Order {
    let order = shop.in_diagnosis(visit);
    let mara = shop.technician();
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    let planned = mara.plans(&order, &step("Braze the crack", "140.00").answering(&found).with("minutes", work)).done();
    mara.drafts(&order, &[line(&planned)]).done();
    let order = mara.look_at(order);
    mara.sends(&order, order.quote("draft")).done();
    let order = mara.look_at(order);
    shop.front_desk().records_answer(order.quote("sent"), "accepted", &json!({})).done();
    mara.look_at(order)
}

fn asked(orders: Value) -> Value {
    json!({ "orders": orders })
}

#[test]
fn the_board_says_when_orders_are_likely_ready_and_by_how_much_they_are_late() {
    let shop = TestShop::open();
    let desk = shop.front_desk();
    // Promised for today, with two weeks of work for whoever has it.
    let late = with_work_of(&shop, &baritone().with("promised_on", json!("2026-05-12")), minutes(4000, 4000, 4000));
    let fine = with_work_of(&shop, &trumpet().with("promised_on", json!("2026-06-30")), minutes(20, 30, 40));
    let before = on_board(&desk, &late);
    assert_eq!((&before["ready_p85"], &before["likely_days_late"]), (&Value::Null, &Value::Null), "no forecast yet");

    assert_eq!(shop.a_forecast_is_made(), 1);
    let shown = on_board(&desk, &late);
    let dates: Vec<&str> = ["ready_p50", "ready_p85", "ready_p95"].map(|field| shown[field].as_str().unwrap()).to_vec();
    assert!(dates.is_sorted() && dates[0] > "2026-05-20", "{dates:?}");
    assert!(shown["likely_days_late"].as_i64().unwrap() >= 6, "{shown}");
    let shown = on_board(&desk, &fine);
    assert_eq!(shown["likely_days_late"], 0);

    // Below twenty closed orders the reach of every rail is typical, and says so.
    let board = desk.get("/board").done();
    for stage in board["stages"].as_array().unwrap() {
        if stage["stage"] == "pickup" {
            assert_eq!(stage["reach_days"], Value::Null);
        } else {
            assert!(stage["reach_days"].as_f64().unwrap() > 0.0 && stage["reach_kind"] == "typical", "{stage}");
        }
    }

    // What is ready has no date ahead, at once.
    let mara = shop.technician();
    mara.does(fine.operation("Braze the crack"));
    mara.moves(&fine, "leak_test", "bench_done", None).done();
    mara.passes_all_tests(&fine);
    assert_eq!(on_board(&desk, &fine)["ready_p85"], Value::Null);
}

#[test]
fn a_forecast_is_made_when_something_happened_and_every_minute_while_the_shop_is_open() {
    let shop = TestShop::open();
    let desk = shop.front_desk();
    let changes = desk.follow(None);
    let order = with_work_of(&shop, &trumpet().with("promised_on", json!("2026-05-12")), minutes(30, 30, 30));
    // What is numbered later would make another one due.
    shop.events_have_numbers();
    assert_eq!(shop.a_forecast_is_made(), 1);
    let told = loop {
        let change = changes.next();
        if change.data["kind"] == "forecast" {
            break change;
        }
    };
    assert_eq!((&told.data["work_order_id"], &told.data["words"]), (&Value::Null, &json!("ready dates were forecast anew")));
    let tag = desk.get("/board").header("etag").unwrap().to_owned();

    // Nothing happened: none is due, and the board is the same.
    assert_eq!(shop.a_forecast_is_made(), 0);
    assert_eq!(desk.request("GET", "/board").header("If-None-Match", &tag).send().status, 304);

    // A minute later one is made, as of then; nothing that is shown changed, so nothing is told.
    shop.clock().forward(chrono::TimeDelta::seconds(60));
    assert_eq!(shop.a_forecast_is_made(), 1);
    let as_of = desk.get("/forecast").done()["as_of"].as_str().unwrap().to_owned();
    assert!(as_of.starts_with("2026-05-12T08:01:"), "{as_of}");
    // A letter on its way is told, and changes nothing of a forecast.
    let told = std::iter::from_fn(|| changes.within(std::time::Duration::from_millis(900)));
    assert!(told.into_iter().all(|change| change.data["kind"] == "letter"), "no storm");

    // More work turns up for the same order: the dates change, and browsers are told once.
    shop.technician().plans(&order, &step("Make a new bow", "500.00").with("minutes", minutes(2400, 2400, 2400))).done();
    harness::until("a forecast is due", || (shop.a_forecast_is_made() > 0).then_some(()));
    let told = loop {
        let change = changes.next();
        if change.data["kind"] == "forecast" {
            break change;
        }
    };
    assert_eq!(told.data["likely_late_count"], 1);
    let now = desk.request("GET", "/board").header("If-None-Match", &tag).send();
    assert_eq!(now.status, 200, "the board changed");

    // At night none is due.
    harness::until("all is forecast", || (shop.a_forecast_is_made() == 0).then_some(()));
    shop.clock().forward(chrono::TimeDelta::hours(12));
    assert_eq!(shop.a_forecast_is_made(), 0);
}

#[test]
fn whoever_is_away_works_on_nothing_and_a_setting_changes_the_forecast() {
    let shop = TestShop::open();
    let ines = shop.proprietor();
    let order = with_work_of(&shop, &trumpet(), minutes(30, 30, 30));
    shop.a_forecast_is_made();
    assert!(on_board(&ines, &order)["ready_p85"].as_str().unwrap() < "2026-05-25");

    let people = ines.get("/people").done();
    let mara = people["items"].as_array().unwrap().iter().find(|person| person["initials"] == "MV").unwrap().clone();
    assert_eq!((&mara["skills"], &mara["weekly_bench_hours"], &mara["absent"]), (&json!({}), &Value::Null, &json!([])));
    let amend = |change: &Value, version: i64| {
        ines.request("PATCH", &format!("/people/{}", mara["id"].as_str().unwrap())).seen(version).body(change).send()
    };
    let away = json!({"absent": [{"from": "2026-05-11", "to": "2026-05-28"}], "weekly_bench_hours": 20});
    let amended = amend(&away, 1).done();
    assert_eq!((&amended["absent"], &amended["weekly_bench_hours"]), (&away["absent"], &json!(20)));
    assert_eq!(shop.a_forecast_is_made(), 1, "a setting changed");
    assert_eq!(on_board(&ines, &order)["ready_p85"], "2026-05-29", "the order is Mara's");

    // Null means typical again; a list that runs backwards is refused, with its place.
    assert_eq!(amend(&json!({"weekly_bench_hours": null}), 2).done()["weekly_bench_hours"], Value::Null);
    let backwards = json!({"absent": [{"from": "2026-05-14", "to": "2026-05-11"}], "weekly_bench_hours": 0});
    let refused = amend(&backwards, 3).refused(422, "invalid-input");
    for pointer in ["/absent/0/to", "/weekly_bench_hours"] {
        assert!(refused.body["errors"].as_array().unwrap().iter().any(|error| error["pointer"] == pointer), "{pointer}");
    }
}

#[test]
fn the_evening_list_says_why_and_the_one_thing_that_would_help() {
    let shop = TestShop::open();
    let desk = shop.front_desk();
    let past = |visit: Visit, day: &str| visit.with("promised_on", json!(format!("2026-05-{day}")));
    let hurried = past(baritone(), "14").with("promise_reason", json!(" Needed for a concert "));
    let asked = shop.in_approval(&hurried);
    let held = with_work_of(&shop, &past(trumpet(), "13"), minutes(30, 30, 30));
    let hold = json!({"reason": "parts", "look_again_on": "2026-05-20", "supplier": "Reedmouth Supplies"});
    shop.technician().post(&format!("/work-orders/{held}/holds"), &hold).done();
    let busy = with_work_of(&shop, &past(baritone(), "15"), minutes(3000, 3000, 3000));
    let fresh = shop.checked_in(&past(trumpet(), "12"));
    shop.a_forecast_is_made();

    let forecast = desk.get("/forecast").done();
    let late = forecast["likely_late"].as_array().unwrap();
    let of = |order: &Order| late.iter().find(|one| one["order"]["work_order_id"] == order.id()).unwrap();
    let promised: Vec<&str> = late.iter().map(|one| one["order"]["promised_on"].as_str().unwrap()).collect();
    assert!(promised.is_sorted() && promised.len() == 4, "most pressing first: {promised:?}");
    let helps = [(&asked, "ring_owner"), (&held, "ask_supplier"), (&busy, "next_step"), (&fresh, "examine")];
    for (order, kind) in helps {
        assert_eq!(of(order)["help"]["kind"], kind, "{}", of(order));
    }
    assert_eq!((&of(&asked)["ring"]["name"], &of(&asked)["ring_phone"]), (&json!("Otto Brenner"), &json!("0151 2345678")));
    assert_eq!(of(&asked)["help"]["why"], "no answer since today");
    // Why it was promised so early stands beside it, and on the order.
    assert_eq!(of(&asked)["promise_reason"], "Needed for a concert");
    assert_eq!(desk.get(&format!("/work-orders/{asked}")).done()["promise_reason"], "Needed for a concert");
    assert_eq!(of(&busy)["promise_reason"], Value::Null);
    assert_eq!(of(&busy)["help"]["helps"], "Next: Braze the crack.");
    assert_eq!(of(&held)["order"]["largest_causes"][0]["cause"], "parts");
    assert_eq!(forecast["orders"].as_array().unwrap().len(), 4);
    for order in forecast["orders"].as_array().unwrap() {
        let twenty: Vec<&str> = order["twenty"].as_array().unwrap().iter().map(|date| date.as_str().unwrap()).collect();
        assert!(twenty.len() == 20 && twenty.is_sorted());
        assert!((0..=100).contains(&order["promise"]["of_hundred"].as_i64().unwrap()));
    }
    let basis = &forecast["basis"];
    assert_eq!((&basis["kind"], &basis["closed_orders_count"], &basis["open_orders_count"]), (&json!("typical"), &json!(0), &json!(4)));

    // The same again is not sent again.
    let tag = desk.get("/forecast").header("etag").unwrap().to_owned();
    assert_eq!(desk.request("GET", "/forecast").header("If-None-Match", &tag).send().status, 304);
}

#[test]
fn at_the_check_in_a_new_order_is_told_twenty_dates_beside_what_is_on_the_benches() {
    let shop = TestShop::open();
    let desk = shop.front_desk();
    // Before the first forecast as well.
    let alone = desk.post("/forecast", &asked(json!([{"family": "trumpet", "may_cost": {"amount": "300.00", "currency": "EUR"}, "promised_on": "2026-05-29"}]))).done();
    let ready = &alone["orders"][0];
    let twenty: Vec<&str> = ready["twenty"].as_array().unwrap().iter().map(|date| date.as_str().unwrap()).collect();
    assert!(twenty.len() == 20 && twenty.is_sorted() && twenty[0] >= "2026-05-12");
    // The dots stand in the middle of their twentieths: the 85 % lie between the 17th and the 18th.
    let p85 = ready["ready_p85"].as_str().unwrap();
    assert!(twenty[16] <= p85 && p85 <= twenty[17], "{p85} in {twenty:?}");
    let draws: i64 = ready["dates"].as_array().unwrap().iter().map(|one| one["draws_count"].as_i64().unwrap()).sum();
    assert_eq!(alone["basis"]["draws_count"], draws);
    assert!(ready["promise"]["of_twenty"].as_u64().unwrap() >= 19, "{ready}");
    assert_eq!((&alone["basis"]["kind"], &alone["orders_before_count"]), (&json!("typical"), &json!(0)));
    assert_eq!(ready["similar_cost"], Value::Null, "nothing was closed yet");

    // With three weeks of work promised before it, it is ready later, and so is the second of two.
    for day in ["13", "14", "15"] {
        with_work_of(&shop, &baritone().with("promised_on", json!(format!("2026-05-{day}"))), minutes(4000, 4000, 4000));
    }
    shop.a_forecast_is_made();
    let two = json!([{"family": "trumpet"}, {"family": "trumpet", "available_on": "2026-06-15"}]);
    let crowded = desk.post("/forecast", &asked(two)).done();
    assert_eq!(crowded["orders_before_count"], 3);
    assert!(crowded["orders"][0]["ready_p85"].as_str().unwrap() > ready["ready_p85"].as_str().unwrap());
    assert!(crowded["orders"][1]["twenty"][0].as_str().unwrap() >= "2026-06-15");
    assert_eq!(shop.technician().get("/board").done()["orders"].as_array().unwrap().len(), 3, "nothing is kept");
}

#[test]
fn a_question_about_new_orders_that_makes_no_sense_is_refused_with_every_fault() {
    let shop = TestShop::open();
    let desk = shop.front_desk();
    let odd = asked(json!([{
        "family": "horn",
        "methods": ["00000000-0000-7000-8000-000000000001"],
        "may_cost": {"amount": "10", "currency": "JPY"},
        "available_on": "2026-05-11",
        "promised_on": "2031-01-01",
    }]));
    let refused = desk.post("/forecast", &odd).refused(422, "invalid-input");
    for pointer in ["/orders/0/methods/0", "/orders/0/may_cost/currency", "/orders/0/available_on", "/orders/0/promised_on"] {
        assert!(refused.body["errors"].as_array().unwrap().iter().any(|error| error["pointer"] == pointer), "{pointer}");
    }
    desk.post("/forecast", &asked(json!([]))).refused(422, "invalid-input");
    desk.post("/forecast", &asked(json!([{"family": "horn", "stage": "bench"}]))).refused(422, "invalid-input");
}

#[test]
fn two_processes_make_one_forecast_between_them() {
    let shop = TestShop::open();
    with_work_of(&shop, &trumpet(), minutes(30, 30, 30));
    let other = shop.another_server();
    shop.events_have_numbers();
    harness::until("all is forecast", || (shop.a_forecast_is_made() == 0).then_some(()));
    shop.clock().forward(chrono::TimeDelta::seconds(70));
    let made: usize = std::thread::scope(|scope| {
        [shop.acts(), other.acts()]
            .map(|acts| scope.spawn(|| harness::runtime().block_on(rounds::forecasts::once(acts))))
            .into_iter()
            .map(|thread| thread.join().unwrap())
            .sum()
    });
    assert_eq!(made, 1);
}

#[test]
fn the_owner_is_told_when_it_is_likely_ready_if_they_answer_today_and_nothing_when_nobody_can_say() {
    let shop = TestShop::open();
    let order = shop.in_approval(&baritone());
    let link = shop.front_desk().issues_link(&order, "answer")["url"].as_str().unwrap().to_owned();
    let says = || {
        let page = shop.stranger().get(&link).text();
        let from = page.find("Likely ready by <b>")?;
        Some(page[from..].split("</p>").next().unwrap().to_owned())
    };
    assert_eq!(says(), None, "no forecast was made yet");
    shop.a_forecast_is_made();
    let told = says().expect("the forecast says");
    assert!(told.contains("if you answer today"), "{told}");
    // Somebody who answers at once has it no later than one who takes as long as owners do.
    let forecast = shop.front_desk().get("/forecast").done();
    let usual: chrono::NaiveDate = forecast["orders"][0]["ready_p85"].as_str().unwrap().parse().unwrap();
    let database = shop.database();
    let sooner = |date: chrono::NaiveDate| database.count(&format!("SELECT count(*) AS n FROM order_forecasts WHERE (said ->> 'ready_if_answered')::date <= '{date}'"));
    assert_eq!(sooner(usual), 1);
    // A day on which no forecast was made says nothing.
    shop.clock().forward(chrono::TimeDelta::days(1));
    assert_eq!(says(), None, "a forecast of yesterday is not today's");
    shop.a_forecast_is_made();
    assert!(says().is_some());
    // What is answered is not asked any more.
    shop.front_desk().records_answer(order.quote("sent"), "accepted", &json!({})).done();
    assert_eq!(says(), None);
}
