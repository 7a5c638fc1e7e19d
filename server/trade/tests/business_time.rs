//! The shop's hours: the reference cases, zones with odd clock changes, and refusals.
#![expect(clippy::unwrap_used, reason = "a test may fail that way")]

mod comparing;

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Timelike, Utc};
use comparing::{EXACT, Tolerance, check_all};
use proptest::prelude::*;
use serde_json::{Value, json};
use trade::words::business_time::{Calendar, Hours, NeverOpen, Span, compute, tzdata_version};

#[test]
fn every_reference_case_holds() {
    check_all("business-time", compute, |pointer| {
        if pointer == "/minutes" { Tolerance { abs: 0.0, rel: 1e-12 } } else { EXACT }
    });
}

/// One stretch of hours on one date, and where it lies on the real time line.
type Stretch =
    (&'static str, &'static str, &'static str, &'static str, Option<(&'static str, &'static str)>);

/// Computed with Python's zoneinfo and tzdata 2026f (`fold=0`): half hours at Lord Howe,
/// quarter hours at Chatham and Kathmandu, changes at midnight, two hours at Troll, a
/// date that Apia and Kwajalein lost, and rules that changed in 2026.
#[test]
fn hours_lie_where_zoneinfo_puts_them() {
    let stretches: [Stretch; 28] = [
        (
            "Australia/Lord_Howe",
            "2026-10-04",
            "01:00",
            "04:00",
            Some(("2026-10-03T14:30:00Z", "2026-10-03T17:00:00Z")),
        ),
        (
            "Australia/Lord_Howe",
            "2026-10-04",
            "02:10",
            "04:00",
            Some(("2026-10-03T15:40:00Z", "2026-10-03T17:00:00Z")),
        ),
        (
            "Australia/Lord_Howe",
            "2026-04-05",
            "01:40",
            "03:00",
            Some(("2026-04-04T14:40:00Z", "2026-04-04T16:30:00Z")),
        ),
        (
            "Australia/Lord_Howe",
            "2026-04-05",
            "01:00",
            "01:45",
            Some(("2026-04-04T14:00:00Z", "2026-04-04T14:45:00Z")),
        ),
        ("Pacific/Chatham", "2026-09-27", "02:45", "03:45", None),
        (
            "Pacific/Chatham",
            "2026-09-27",
            "02:50",
            "05:00",
            Some(("2026-09-26T14:05:00Z", "2026-09-26T15:15:00Z")),
        ),
        (
            "Pacific/Chatham",
            "2026-04-05",
            "03:00",
            "04:00",
            Some(("2026-04-04T13:15:00Z", "2026-04-04T15:15:00Z")),
        ),
        (
            "Asia/Kathmandu",
            "1986-01-01",
            "00:00",
            "01:00",
            Some(("1985-12-31T18:30:00Z", "1985-12-31T19:15:00Z")),
        ),
        (
            "Africa/Cairo",
            "2026-04-24",
            "00:00",
            "02:00",
            Some(("2026-04-23T22:00:00Z", "2026-04-23T23:00:00Z")),
        ),
        (
            "Africa/Cairo",
            "2026-10-29",
            "22:00",
            "24:00",
            Some(("2026-10-29T19:00:00Z", "2026-10-29T22:00:00Z")),
        ),
        (
            "America/Santiago",
            "2026-09-06",
            "00:00",
            "01:30",
            Some(("2026-09-06T04:00:00Z", "2026-09-06T04:30:00Z")),
        ),
        (
            "America/Santiago",
            "2026-04-04",
            "22:00",
            "24:00",
            Some(("2026-04-05T01:00:00Z", "2026-04-05T04:00:00Z")),
        ),
        (
            "America/Havana",
            "2026-03-08",
            "00:30",
            "02:00",
            Some(("2026-03-08T05:30:00Z", "2026-03-08T06:00:00Z")),
        ),
        (
            "Asia/Beirut",
            "2026-03-29",
            "00:00",
            "24:00",
            Some(("2026-03-28T22:00:00Z", "2026-03-29T21:00:00Z")),
        ),
        (
            "Pacific/Apia",
            "2011-12-29",
            "09:00",
            "17:00",
            Some(("2011-12-29T19:00:00Z", "2011-12-30T03:00:00Z")),
        ),
        (
            "Pacific/Apia",
            "2011-12-30",
            "09:00",
            "17:00",
            Some(("2011-12-30T19:00:00Z", "2011-12-31T03:00:00Z")),
        ),
        (
            "Pacific/Apia",
            "2011-12-31",
            "09:00",
            "17:00",
            Some(("2011-12-30T19:00:00Z", "2011-12-31T03:00:00Z")),
        ),
        (
            "Pacific/Apia",
            "2011-12-29",
            "12:00",
            "24:00",
            Some(("2011-12-29T22:00:00Z", "2011-12-30T10:00:00Z")),
        ),
        (
            "Pacific/Kwajalein",
            "1993-08-21",
            "09:00",
            "17:00",
            Some(("1993-08-21T21:00:00Z", "1993-08-22T05:00:00Z")),
        ),
        (
            "America/St_Johns",
            "2005-10-30",
            "00:00",
            "02:00",
            Some(("2005-10-30T02:30:00Z", "2005-10-30T05:30:00Z")),
        ),
        (
            "Antarctica/Troll",
            "2026-03-29",
            "00:30",
            "04:00",
            Some(("2026-03-29T00:30:00Z", "2026-03-29T02:00:00Z")),
        ),
        (
            "America/Vancouver",
            "2026-11-25",
            "09:00",
            "17:00",
            Some(("2026-11-25T16:00:00Z", "2026-11-26T00:00:00Z")),
        ),
        (
            "America/Winnipeg",
            "2026-12-01",
            "09:00",
            "17:00",
            Some(("2026-12-01T14:00:00Z", "2026-12-01T22:00:00Z")),
        ),
        (
            "Africa/Casablanca",
            "2026-11-25",
            "09:00",
            "17:00",
            Some(("2026-11-25T09:00:00Z", "2026-11-25T17:00:00Z")),
        ),
        (
            "Africa/Casablanca",
            "2026-02-15",
            "02:00",
            "04:00",
            Some(("2026-02-15T01:00:00Z", "2026-02-15T04:00:00Z")),
        ),
        (
            "Europe/Berlin",
            "2026-03-29",
            "02:15",
            "02:45",
            Some(("2026-03-29T01:15:00Z", "2026-03-29T01:45:00Z")),
        ),
        ("Europe/Berlin", "2026-03-29", "02:30", "03:15", None),
        (
            "Europe/Berlin",
            "2026-10-25",
            "02:30",
            "03:00",
            Some(("2026-10-25T00:30:00Z", "2026-10-25T02:00:00Z")),
        ),
    ];
    for (zone, date, from, to, expected) in stretches {
        let input = json!({
            "calendar": { "time_zone": zone, "weekly": {}, "extra_days": [{ "date": date, "open": [{ "from": from, "to": to }] }] },
            "question": { "kind": "intervals", "date": date },
        });
        let expected: Vec<Value> =
            expected.iter().map(|(from, to)| json!({ "from": from, "to": to })).collect();
        assert_eq!(compute(&input).unwrap()["intervals"], json!(expected), "{zone} {date} {from}");
    }
}

/// The same hours on the lost 30 December and on the 31st are one stretch of real time.
#[test]
fn a_lost_date_is_not_worked_twice() {
    let apia = calendar(json!({ "time_zone": "Pacific/Apia", "weekly": {
        "thursday": hours("09:00", "17:00"), "friday": hours("12:00", "18:00"), "saturday": hours("09:00", "17:00"),
    } }));
    let (from, to) = (at("2011-12-29T00:00:00Z"), at("2012-01-01T00:00:00Z"));
    assert_eq!(apia.open_seconds(from, to, &[]), (8 + 9) * 3600);
    let spans: Vec<Span> = apia.open_spans(from).take_while(|span| span.from < to).collect();
    assert!(spans.windows(2).all(|two| two[0].to <= two[1].from), "{spans:?}");
    assert_eq!(apia.after_open_seconds(from, 17 * 3600, &[]), Ok(at("2011-12-31T04:00:00Z")));
}

fn hours(from: &str, to: &str) -> Value {
    json!([{ "from": from, "to": to }])
}

fn calendar(json: Value) -> Calendar {
    serde_json::from_value(json).unwrap()
}

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Monday to Friday, with a lunch break.
fn weekdays() -> Value {
    let open = json!([{ "from": "09:00", "to": "12:30" }, { "from": "13:30", "to": "18:00" }]);
    json!({ "time_zone": "Europe/Berlin", "weekly": {
        "monday": open, "tuesday": open, "wednesday": open, "thursday": open, "friday": open,
    } })
}

#[test]
fn adding_nothing_goes_to_the_next_open_instant() {
    let shop = calendar(weekdays());
    let lunch = Span { from: at("2026-11-25T10:00:00Z"), to: at("2026-11-25T11:00:00Z") };
    let gone = Span { from: at("2026-11-25T10:00:00Z"), to: at("2026-11-27T10:00:00Z") };
    for (from, holds, expected) in [
        ("2026-11-25T10:00:00Z", vec![], "2026-11-25T10:00:00Z"),
        ("2026-11-25T10:00:00Z", vec![lunch], "2026-11-25T11:00:00Z"),
        ("2026-11-25T10:59:59Z", vec![lunch, lunch], "2026-11-25T11:00:00Z"),
        ("2026-11-25T11:30:00Z", vec![lunch], "2026-11-25T12:30:00Z"),
        ("2026-11-25T10:00:00Z", vec![lunch, gone], "2026-11-27T10:00:00Z"),
        ("2026-11-25T17:00:00Z", vec![], "2026-11-26T08:00:00Z"),
    ] {
        assert_eq!(
            shop.after_open_seconds(at(from), 0, &holds),
            Ok(at(expected)),
            "{from} {holds:?}"
        );
    }
}

#[test]
fn what_never_opens_is_told_and_what_opens_late_is_found() {
    let from = at("2026-11-23T09:00:00Z");
    let mut never = weekdays();
    never["closed"] = json!([{ "from": "2020-01-01", "to": "2099-12-31" }]);
    let shop = calendar(never.clone());
    assert_eq!(shop.after_open_seconds(from, 0, &[]), Err(NeverOpen));
    assert_eq!(shop.after_open_days(day("2026-11-23"), 1), Err(NeverOpen));
    assert_eq!(shop.after_open_days(day("2026-11-23"), 0), Ok(day("2026-11-23")));
    assert_eq!(shop.open_seconds(from, at("2099-12-31T00:00:00Z"), &[]), 0);
    assert_eq!(shop.open_spans(from).count(), 0);

    never["extra_days"] = json!([{ "date": "2036-11-20", "open": hours("10:00", "11:00") }]);
    let shop = calendar(never.clone());
    assert_eq!(shop.after_open_seconds(from, 3600, &[]), Ok(at("2036-11-20T10:00:00Z")));
    assert_eq!(shop.after_open_seconds(from, 3601, &[]), Err(NeverOpen));
    assert_eq!(shop.after_open_days(day("2026-11-23"), 1), Ok(day("2036-11-20")));

    never["extra_days"][0]["date"] = json!("2037-11-20");
    let shop = calendar(never);
    assert_eq!(shop.after_open_seconds(from, 3600, &[]), Err(NeverOpen));
    assert_eq!(shop.open_seconds(from, at("2040-01-01T00:00:00Z"), &[]), 3600);

    let held = Span { from, to: at("2037-11-23T09:00:00Z") };
    assert_eq!(calendar(weekdays()).after_open_seconds(from, 60, &[held]), Err(NeverOpen));
}

#[test]
fn open_days_are_counted_as_they_are_added() {
    let mut shop = weekdays();
    shop["closed"] = json!([{ "from": "2026-12-24", "to": "2027-01-03" }, { "from": "2026-12-20", "to": "2026-12-25" }]);
    shop["extra_days"] = json!([{ "date": "2026-12-28", "open": hours("10:00", "14:00") }, { "date": "2027-01-05", "open": [] }]);
    let shop = calendar(shop);
    for (date, open) in [
        ("2026-12-18", true),
        ("2026-12-19", false),
        ("2026-12-21", false),
        ("2026-12-28", true),
        ("2027-01-04", true),
        ("2027-01-05", false),
    ] {
        assert_eq!(shop.is_open_on(day(date)), open, "{date}");
    }
    assert_eq!(shop.after_open_days(day("2026-12-18"), 3), Ok(day("2027-01-06")));
    assert_eq!(shop.open_days_between(day("2026-12-18"), day("2027-01-06")), 3);
    assert_eq!(shop.open_days_between(day("2027-01-06"), day("2026-12-18")), 0);
}

#[test]
fn a_calendar_is_written_as_it_was_read() {
    let json = json!({
        "time_zone": "America/New_York",
        "weekly": {
            "monday": [{ "from": "00:00", "to": "09:05" }, { "from": "09:05", "to": "24:00" }],
            "tuesday": [], "wednesday": [], "thursday": [], "friday": [], "saturday": [], "sunday": [],
        },
        "closed": [{ "from": "2027-01-01", "to": "2027-01-01" }, { "from": "2026-05-01", "to": "2026-05-02" }],
        "extra_days": [{ "date": "2026-05-01", "open": hours("10:00", "11:00") }],
    });
    let shop = calendar(json.clone());
    assert_eq!(serde_json::to_value(&shop).unwrap(), json);
    assert_eq!(shop.open_intervals(day("2026-11-23")).len(), 1, "touching hours are one stretch");
    let wrong =
        serde_json::from_value::<Calendar>(json!({ "time_zone": "Mars/Base", "weekly": {} }))
            .unwrap_err();
    assert!(wrong.to_string().contains("/time_zone"), "{wrong}");
    assert_eq!((Hours::new(60, 60), Hours::new(0, 1441)), (None, None));
}

#[test]
fn the_zone_data_has_an_edition() {
    let edition = tzdata_version();
    assert!(edition.len() == 5 && *edition >= *"2026a", "{edition}");
}

#[test]
fn every_refusal_names_its_place() {
    for (pointer, wrong) in [
        ("/calendar", json!(null)),
        ("/calendar", json!("always")),
        ("/calendar/time_zone", json!(null)),
        ("/calendar/time_zone", json!("europe/berlin")),
        ("/calendar/time_zone", json!("CET+1")),
        ("/calendar/time_zone", json!("")),
        ("/calendar/weekly", json!([])),
        ("/calendar/weekly", json!(null)),
        ("/calendar/weekly/holiday", json!([])),
        ("/calendar/weekly/monday", json!("09:00")),
        ("/calendar/weekly/monday/0", json!(["09:00"])),
        ("/calendar/weekly/monday/0/by", json!([{ "from": "09:00", "to": "10:00", "by": 1 }])),
        ("/calendar/weekly/monday/0/from", json!([{ "from": "9:00", "to": "10:00" }])),
        ("/calendar/weekly/monday/0/from", json!([{ "from": 9, "to": "10:00" }])),
        ("/calendar/weekly/monday/0/from", json!([{ "to": "10:00" }])),
        ("/calendar/weekly/monday/0/to", json!([{ "from": "09:00", "to": "25:00" }])),
        ("/calendar/weekly/monday/0/to", json!([{ "from": "09:00", "to": "24:01" }])),
        ("/calendar/weekly/monday/0/to", json!([{ "from": "09:00", "to": "10:60" }])),
        ("/calendar/weekly/monday/0/to", json!([{ "from": "09:00", "to": "10:00:00" }])),
        ("/calendar/weekly/monday/0/to", json!([{ "from": "09:00", "to": "09:00" }])),
        ("/calendar/weekly/monday/0/to", json!([{ "from": "22:00", "to": "02:00" }])),
        (
            "/calendar/weekly/monday/1",
            json!([{ "from": "09:00", "to": "12:00" }, { "from": "11:59", "to": "13:00" }]),
        ),
        (
            "/calendar/weekly/monday/1/from",
            json!([{ "from": "13:00", "to": "14:00" }, { "from": "09:00", "to": "10:00" }]),
        ),
        ("/calendar/closed", json!({})),
        ("/calendar/closed/0/to", json!([{ "from": "2026-05-02", "to": "2026-05-01" }])),
        ("/calendar/closed/0/to", json!([{ "from": "2026-05-02" }])),
        ("/calendar/closed/0/from", json!([{ "from": "2026-02-30", "to": "2026-05-01" }])),
        ("/calendar/closed/0/from", json!([{ "from": "2026-2-3", "to": "2026-05-01" }])),
        ("/calendar/closed/0/from", json!([{ "from": "+2026-02-03", "to": "2026-05-01" }])),
        ("/calendar/extra_days/0/open", json!([{ "date": "2026-05-02" }])),
        (
            "/calendar/extra_days/0/open/0/to",
            json!([{ "date": "2026-05-02", "open": hours("10:00", "09:00") }]),
        ),
        (
            "/calendar/extra_days/1/date",
            json!([{ "date": "2026-05-02", "open": [] }, { "date": "2026-05-02", "open": [] }]),
        ),
        ("/calendar/hours", json!(1)),
        ("/holds", json!({})),
        ("/holds/0/to", json!([{ "from": "2026-11-24T10:00:00Z", "to": "2026-11-24T09:59:59Z" }])),
        ("/holds/0/to", json!([{ "from": "2026-11-24T10:00:00Z" }])),
        (
            "/holds/0/reason",
            json!([{ "from": "2026-11-24T10:00:00Z", "to": "2026-11-25T10:00:00Z", "reason": "parts" }]),
        ),
        ("/question", json!(null)),
        ("/question", json!("between")),
        ("/question/kind", json!({})),
        ("/question/kind", json!({ "kind": "subtract" })),
        ("/question/from", json!({ "kind": "add", "from": "2026-11-23", "minutes": 5 })),
        ("/question/from", json!({ "kind": "add", "from": "2026-11-23T09:00:00", "minutes": 5 })),
        (
            "/question/from",
            json!({ "kind": "add", "from": "2026-11-23T09:00:00.5Z", "minutes": 5 }),
        ),
        ("/question/from", json!({ "kind": "add", "from": "2016-12-31T23:59:60Z", "minutes": 5 })),
        ("/question/from", json!({ "kind": "add", "minutes": 5 })),
        ("/question/minutes", json!({ "kind": "add", "from": "2026-11-23T09:00:00Z" })),
        (
            "/question/minutes",
            json!({ "kind": "add", "from": "2026-11-23T09:00:00Z", "minutes": -1 }),
        ),
        (
            "/question/minutes",
            json!({ "kind": "add", "from": "2026-11-23T09:00:00Z", "minutes": "5" }),
        ),
        (
            "/question/minutes",
            json!({ "kind": "add", "from": "2026-11-23T09:00:00Z", "minutes": 1e300 }),
        ),
        (
            "/question/to",
            json!({ "kind": "add", "from": "2026-11-23T09:00:00Z", "minutes": 1, "to": "2026-11-23T09:00:00Z" }),
        ),
        ("/question/to", json!({ "kind": "between", "from": "2026-11-23T09:00:00Z" })),
        (
            "/question/to",
            json!({ "kind": "between", "from": "2026-11-23T09:00:00Z", "to": "2026-11-23T09:00:00+01:00" }),
        ),
        ("/question/days", json!({ "kind": "add_open_days", "from": "2026-11-23", "days": -1 })),
        ("/question/days", json!({ "kind": "add_open_days", "from": "2026-11-23", "days": 1.5 })),
        (
            "/question/from",
            json!({ "kind": "add_open_days", "from": "2026-11-23T09:00:00Z", "days": 1 }),
        ),
        ("/question/date", json!({ "kind": "intervals", "date": 20261123 })),
        ("/colour", json!("red")),
    ] {
        let mut input = json!({ "calendar": weekdays(), "question": { "kind": "intervals", "date": "2026-11-23" } });
        put(&mut input, pointer, wrong.clone());
        let refused = compute(&input).expect_err(pointer);
        assert_eq!(refused.slug, "invalid-input", "{pointer} {wrong}");
        assert!(
            refused.faults.iter().any(|fault| fault.pointer == pointer),
            "{wrong}: {:?}",
            refused.faults
        );
    }
    for input in [json!(null), json!([]), json!({})] {
        assert_eq!(compute(&input).expect_err("refused").slug, "invalid-input");
    }
}

/// Puts a whole list, question or field where a fault is expected somewhere in it.
fn put(input: &mut Value, pointer: &str, value: Value) {
    let fields: Vec<&str> = pointer.split('/').skip(1).collect();
    match fields.as_slice() {
        ["calendar", "weekly", day, ..] => input["calendar"]["weekly"][*day] = value,
        ["calendar", field, ..] => input["calendar"][*field] = value,
        [field, ..] => input[*field] = value,
        [] => *input = value,
    }
}

#[test]
fn the_ends_of_the_calendar_are_answered() {
    let always = json!({ "time_zone": "Pacific/Apia", "weekly": {
        "monday": hours("00:00", "24:00"), "friday": hours("00:00", "24:00"), "saturday": hours("00:00", "24:00"),
    } });
    for question in [
        json!({ "kind": "intervals", "date": "9999-12-31" }),
        json!({ "kind": "intervals", "date": "0000-01-01" }),
        json!({ "kind": "between", "from": "9999-12-01T00:00:00-23:59", "to": "9999-12-31T23:59:59-23:59" }),
        json!({ "kind": "between", "from": "0000-01-01T00:00:00+23:59", "to": "0000-02-01T00:00:00+23:59" }),
        json!({ "kind": "add", "from": "9999-12-31T23:59:59Z", "minutes": 5e9 }),
        json!({ "kind": "add", "from": "9999-12-31T23:59:59-23:59", "minutes": 0 }),
        json!({ "kind": "add", "from": "0000-01-01T00:00:00+23:59", "minutes": 60 }),
        json!({ "kind": "add_open_days", "from": "9999-12-01", "days": 4_000_000_000_u32 }),
    ] {
        let answer = compute(&json!({ "calendar": always, "question": question }));
        assert!(
            answer.as_ref().map_or_else(|refused| refused.slug == "never-open", Value::is_object),
            "{question}: {answer:?}"
        );
    }
}

/// Opening hours in whole quarters of an hour, away from the night's clock changes.
fn any_hours() -> impl Strategy<Value = Value> {
    prop::collection::btree_set(20_u16..96, 0..=4).prop_map(|quarters| {
        let quarters: Vec<u16> = quarters.into_iter().collect();
        let clock = |quarter: u16| format!("{:02}:{:02}", quarter / 4, quarter % 4 * 15);
        quarters
            .chunks_exact(2)
            .map(|two| json!({ "from": clock(two[0]), "to": clock(two[1]) }))
            .collect()
    })
}

fn any_calendar() -> impl Strategy<Value = Value> {
    let zones = [
        "Europe/Berlin",
        "America/New_York",
        "Australia/Lord_Howe",
        "Pacific/Chatham",
        "Asia/Kathmandu",
    ];
    (prop::sample::select(zones.to_vec()), prop::collection::vec(any_hours(), 7), 0_i64..30, any_hours()).prop_map(
        |(zone, week, shift, extra)| {
            let date = |days: i64| (day("2026-03-20") + Duration::days(days)).to_string();
            json!({
                "time_zone": zone,
                "weekly": {
                    "monday": week[0], "tuesday": week[1], "wednesday": week[2], "thursday": week[3],
                    "friday": week[4], "saturday": week[5], "sunday": week[6],
                },
                "closed": [{ "from": date(shift), "to": date(shift + 2) }],
                "extra_days": [{ "date": date(shift + 1), "open": extra }],
            })
        },
    )
}

/// Whether the clock on the wall shows an opening minute, asked without the time line.
fn shows_an_open_minute(json: &Value, shop: &Calendar, at: DateTime<Utc>) -> bool {
    let local = shop.time_zone().local(at);
    let date = local.date().to_string();
    let hours = match json["extra_days"]
        .as_array()
        .unwrap()
        .iter()
        .find(|day| day["date"] == date.as_str())
    {
        Some(extra) => &extra["open"],
        None if json["closed"].as_array().unwrap().iter().any(|days| {
            *days["from"].as_str().unwrap() <= *date && *date <= *days["to"].as_str().unwrap()
        }) =>
        {
            return false;
        }
        None => &json["weekly"][local.format("%A").to_string().to_lowercase()],
    };
    hours.as_array().unwrap().iter().any(|hours| {
        let clock = |key: &str| hours[key].as_str().unwrap().parse::<NaiveTime>().unwrap();
        (clock("from")..clock("to")).contains(&local.time().with_second(0).unwrap())
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, rng_seed: prop::test_runner::RngSeed::Fixed(11), ..ProptestConfig::default() })]

    #[test]
    fn open_time_is_what_the_clock_on_the_wall_shows_minute_by_minute(
        json in any_calendar(),
        from_minute in 0_i64..40_000,
        length in 0_i64..8_000,
        hold in (0_i64..8_000, 0_i64..3_000),
    ) {
        let shop = calendar(json.clone());
        let from = at("2026-03-15T00:00:00Z") + Duration::minutes(from_minute);
        let to = from + Duration::minutes(length);
        let hold_from = from + Duration::minutes(hold.0 - 1_000);
        let hold = Span { from: hold_from, to: hold_from + Duration::minutes(hold.1) };
        let counted = (0..length)
            .map(|minute| from + Duration::minutes(minute))
            .filter(|at| !(hold.from..hold.to).contains(at) && shows_an_open_minute(&json, &shop, *at))
            .count();
        let holds = [hold, hold];
        prop_assert_eq!(shop.open_seconds(from, to, &holds), 60 * i64::try_from(counted).unwrap());
    }

    #[test]
    fn time_added_is_the_time_between_and_no_earlier_instant_has_it(
        json in any_calendar(),
        from_second in 0_i64..2_000_000,
        seconds in 1_u64..300_000,
        cut in 0_i64..300_000,
    ) {
        let shop = calendar(json);
        let from = at("2026-03-15T00:00:00Z") + Duration::seconds(from_second);
        let hold = Span { from: from + Duration::seconds(cut / 2), to: from + Duration::seconds(cut) };
        let Ok(end) = shop.after_open_seconds(from, seconds, &[hold]) else {
            prop_assert_eq!(shop.open_spans(from).count(), 0);
            return Ok(());
        };
        let between = |to| shop.open_seconds(from, to, &[hold]);
        let seconds = i64::try_from(seconds).unwrap();
        prop_assert_eq!(between(end), seconds);
        prop_assert_eq!(between(end - Duration::seconds(1)), seconds - 1);
        let middle = from + (end - from) / 2;
        let parts = between(middle) + shop.open_seconds(DateTime::from_timestamp(middle.timestamp(), 0).unwrap(), end, &[hold]);
        prop_assert_eq!(parts, seconds);
    }
}
