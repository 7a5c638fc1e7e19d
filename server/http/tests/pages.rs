//! The customers' pages as they are served: what every one of them promises, and each with
//! one order's facts. `BELLBRACE_PAGES_DIR` names a folder to which they are written, for
//! looking at them in a browser.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails where it stands")]

use bellbrace_http::pages::facts::{
    AcceptedBefore, AnswerError, AnswerPage, Answered, AnsweredBy, AnsweredPage, Asked, AskedBy, CustomersMap, Decision, Done,
    Event, Found, Happened, HeldFor, IfDeclined, Line, MistakeError, MistakeForm, Money, NotAnswerable,
    NotAnswerablePage, Noted, Now, Order, Photo, Proposal, Quote, Ready, Shop, StartField,
    StartPage, StartedPage, StatusPage, Tested, Tests, Typed, WishForm,
};
use bellbrace_http::pages::{
    CONTENT_POLICY, CUSTOMER_CSS, answer_page, answered_page, customer_css_address, database_away_page,
    not_answerable_page, start_page, start_used_page, started_page, status_page,
    too_many_tries_page, unknown_link_page, withdrawn_link_page,
};
use chrono::{NaiveDate, TimeZone, Utc};
use std::io::Write;
use trade::maps::{Drawing, Pin, Spot, Standing, draw, template_of};
use trade::words::instrument::{Disposition, Family};
use trade::words::spelling::Spelt;
use trade::words::own_or_typical::Kind;
use trade::words::quote::FurtherRange;

fn day(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, month, day).unwrap()
}

fn euro(amount: &str) -> Money {
    Money::new(amount.parse().unwrap(), "EUR")
}

fn order() -> Order {
    Order {
        shop: Shop {
            name: "Millrace Instrument Repair".into(),
            phone: Some("555 0100".into()),
            address: Some("4 Millrace Lane".into()),
            hours: Some("Monday to Friday 9–18, Saturday 9–13".into()),
            time_zone: "Europe/Dublin".into(),
        },
        today: day(6, 16),
        claim_number: "1843-8".into(),
        family: "baritone".into(),
        instrument_words: "baritone, Halvane, no. 4417, about 1925".into(),
        owners_number: None,
        reader_is_owner: true,
    }
}

/// The family's instrument with so many findings spread over it.
fn drawn(family: Family, count: usize) -> CustomersMap {
    let map = template_of(family);
    let step = (map.parts.len() / count).max(1);
    let pins: Vec<Pin> = map
        .parts
        .iter()
        .step_by(step)
        .take(count)
        .zip(1..)
        .map(|(part, number)| Pin {
            finding: number.to_string(),
            head: number.to_string(),
            words: format!("dent, {}", part.name),
            spot: Spot::Part { part: part.id.clone(), at_mm: None, side: None },
            disposition: Disposition::Repair,
            standing: Standing::ThisVisit,
            in_hand: false,
        })
        .collect();
    CustomersMap {
        places: pins.iter().zip(1..).map(|(pin, number)| (number, pin.words.clone())).collect(),
        drawing: draw(&Drawing {
            map,
            pins: &pins,
            marks: &[],
            title: "Drawing of the instrument",
            description: "Not to scale.",
            id: "map",
            labels: false,
            buttons: false,
        }),
    }
}

fn event(month: u32, on: u32, what: Happened) -> Event {
    Event { on: day(month, on), what }
}

fn status() -> StatusPage {
    StatusPage {
        order: order(),
        ready: Ready::ExpectedBy { expected: day(6, 18), planned: Some(day(6, 16)) },
        past: vec![
            event(
                6,
                1,
                Happened::BroughtIn {
                    accessories: vec!["case".into(), "mouthpiece".into(), "oil".into()],
                },
            ),
            event(6, 3, Happened::ExaminationBegan { by: Some("Mara Voss".into()) }),
            event(6, 3, Happened::QuoteSent { findings_count: 6 }),
            event(6, 4, Happened::SaidYes),
            event(6, 9, Happened::ExtraFound),
            event(6, 11, Happened::SaidYesToExtra),
            event(6, 15, Happened::BenchDone),
            event(6, 15, Happened::TestFailed { found: Some("a leak at the third slide".into()) }),
            event(6, 16, Happened::BenchDone),
        ],
        now: Now::Tested { put_right: Some("a leak at the third slide".into()) },
        now_since: day(6, 16),
        allowed: Some(euro("420")),
        amount_due: None,
        asked: None,
        asked_again: None,
        examination_fee: None,
        not_repaired: vec![],
        done: vec![
            Done { words: "both cracks brazed".into(), finding_numbers: vec![1, 7] },
            Done { words: "bell brace soldered".into(), finding_numbers: vec![3] },
            Done { words: "tuning slide freed".into(), finding_numbers: vec![5] },
        ],
        not_handed_back: Vec::new(),
        left_on_purpose: vec![
            Noted {
                finding_number: Some(2),
                what: "old patch at the bottom bow".into(),
                why: Some(
                    "It holds and belongs to the instrument’s story. Put back as it was.".into(),
                ),
            },
            Noted {
                finding_number: Some(4),
                what: "dent, 6 mm".into(),
                why: Some(
                    "You asked to keep it for another visit. It does not change the sound much."
                        .into(),
                ),
            },
        ],
        to_look_at: vec![Noted {
            finding_number: None,
            what: "leadpipe: three spots of red rot".into(),
            why: Some(
                "Wall 0.52 mm in 2024, 0.47 mm now. Rinse monthly; have it measured in June 2027."
                    .into(),
            ),
        }],
        tests: Tests {
            passed: vec![
                Tested {
                    what: "leak test of the whole instrument".into(),
                    how: Some("by the pressure it holds"),
                    rate: Some("4.8 ± 1.4 ml of air a minute, within our limit of 5.9".into()),
                },
                Tested { what: "play test".into(), how: None, rate: None },
            ],
            apart_from: vec!["dent, 6 mm".into()],
        },
        map: Some(drawn(Family::Baritone, 4)),
        photos: vec![],
        calendar_url: Some("/status/k7Qm2vXw9RtB4nZp/ready.ics".into()),
        wish: Some(WishForm { action: "/status/k7Qm2vXw9RtB4nZp/wish".into(), every_change: true }),
        wish_just_changed: false,
    }
}

fn line(id: &str, text: &str, amount: &str) -> Line {
    Line {
        id: id.into(),
        text: text.into(),
        amount: euro(amount),
        is_new: false,
        optional: false,
        irreversible: false,
        irreversible_why: None,
    }
}

fn extra_quote() -> Quote {
    Quote {
        number: 2,
        content_hash: "b5bb9d8014a0f9b1d61e21e796d78dccdf1352f23cd32812f4850b878ae4944c".into(),
        sent_on: day(6, 16),
        message: Some(
            "Close the crack with silver solder and put the patch back over it.\nThe marks on \
             the bell stay as you asked."
                .into(),
        ),
        findings: vec![
            Found {
                number: 1,
                words: "crack at the bottom bow, 14 mm".into(),
                leaks: Some(true),
                proposal: Proposal::Repair,
                reason: None,
                is_new: false,
                photos: vec![],
            },
            Found {
                number: 7,
                words: "a second crack, under the old patch, 22 mm".into(),
                leaks: Some(true),
                proposal: Proposal::Repair,
                reason: Some(
                    "without this it will keep hissing there, and the crack will grow".into(),
                ),
                is_new: true,
                photos: vec![Photo {
                    url: "/answer/Vq8cT3mLx2HsY7dK/photos/4".into(),
                    large_url: "/answer/Vq8cT3mLx2HsY7dK/photos/4/large".into(),
                    alt: "The second crack".into(),
                    caption: None,
                    width: 480,
                    height: 360,
                }],
            },
        ],
        map: Some(drawn(Family::Baritone, 1)),
        photos: vec![Photo {
            url: "/answer/Vq8cT3mLx2HsY7dK/photos/3".into(),
            large_url: "/answer/Vq8cT3mLx2HsY7dK/photos/3/large".into(),
            alt: "The bottom bow with the patch off; a crack of 22 mm runs along it".into(),
            caption: Some("The bottom bow with the patch off, Tuesday 10:44".into()),
            width: 640,
            height: 420,
        }],
        accepted_before: Some(AcceptedBefore {
            on: day(6, 4),
            amount: euro("318"),
            allowed: euro("340"),
            lines: vec!["braze the crack at the bottom bow".into(), "solder the bell brace".into()],
        }),
        lines: vec![
            Line { is_new: true, ..line("6", "braze the crack, about 50 min", "62.50") },
            Line { is_new: true, ..line("7", "silver solder, patch", "12") },
            Line { optional: true, ..line("8", "clean and oil the valves", "15") },
            Line {
                optional: true,
                irreversible: true,
                irreversible_why: Some("it takes metal and old marks away".into()),
                ..line("9", "buff the brazed place bright", "9.50")
            },
        ],
        discount: None,
        tax: None,
        total: euro("392.50"),
        total_with_optional: Some(euro("417")),
        limit: euro("420"),
        expires_on: Some(day(6, 23)),
        ready_if_answered_today: Some(day(6, 18)),
        further: None,
        planned_for: Some(day(6, 16)),
    }
}

fn answer() -> AnswerPage {
    AnswerPage {
        order: order(),
        owner_name: "Jonas Lund".into(),
        action: "/answer/Vq8cT3mLx2HsY7dK".into(),
        quote: extra_quote(),
        if_declined: IfDeclined::RestGoesOn { amount: euro("318") },
        typed: Typed::default(),
        errors: vec![],
        superseded: None,
        notice: None,
        status_url: Some("/status/k7Qm2vXw9RtB4nZp".into()),
    }
}

fn first_answer() -> AnswerPage {
    let mut page = answer();
    let found = |number, words: &str, leaks, proposal, reason: Option<&str>| Found {
        number,
        words: words.into(),
        leaks,
        proposal,
        reason: reason.map(Into::into),
        is_new: true,
        photos: vec![],
    };
    page.if_declined = IfDeclined::Collect { fee: Some(euro("25")) };
    page.quote = Quote {
        number: 1,
        sent_on: day(6, 3),
        message: None,
        accepted_before: None,
        photos: vec![],
        map: Some(drawn(Family::Baritone, 4)),
        findings: vec![
            found(
                1,
                "crack at the bottom bow, 14 mm",
                Some(true),
                Proposal::Repair,
                Some("it leaks and will grow"),
            ),
            found(
                2,
                "old patch at the bottom bow",
                Some(false),
                Proposal::LeaveAndWatch,
                Some("it holds, and belongs to the instrument’s story"),
            ),
            found(3, "open joint at the bell brace", None, Proposal::Repair, None),
            found(4, "dent in the bell bow, 6 mm", None, Proposal::AnotherVisit, None),
        ],
        lines: vec![
            line("1", "braze the crack at the bottom bow", "145"),
            line("2", "solder the bell brace", "48"),
            Line {
                irreversible: true,
                irreversible_why: Some("the old lacquer is gone for good".into()),
                ..line("3", "strip and relacquer the bell bow", "125")
            },
        ],
        discount: Some(euro("18")),
        tax: Some(euro("60.00")),
        total: euro("360"),
        total_with_optional: None,
        limit: euro("380"),
        ..extra_quote()
    };
    page
}

fn decision(answer: Answered) -> Decision {
    Decision {
        answer,
        how: AnsweredBy::Link,
        name: "Jonas Lund".into(),
        at: Utc.with_ymd_and_hms(2026, 6, 16, 11, 2, 0).unwrap(),
        quote_number: 2,
        is_extra: true,
        allowed: Some(euro("420")),
        ticked: vec!["clean and oil the valves".into()],
        question: None,
    }
}

fn answered() -> AnsweredPage {
    AnsweredPage {
        order: order(),
        decision: decision(Answered::Accepted),
        just_now: true,
        too_late: false,
        mistake: Some(MistakeForm {
            action: "/answer/Vq8cT3mLx2HsY7dK/mistake".into(),
            decision_id: "0197e3a0-0000-7000-8000-000000000009".into(),
            name: String::new(),
            reason: String::new(),
            errors: vec![],
        }),
        status_url: Some("/status/k7Qm2vXw9RtB4nZp".into()),
    }
}

fn start() -> StartPage {
    StartPage {
        action: "/start/Zq1".into(),
        time_zone: "Europe/Dublin".into(),
        currency: "EUR".into(),
        password_at_least: 12,
        ..StartPage::default()
    }
}

/// Every page, by the name of its file.
fn pages() -> Vec<(&'static str, String)> {
    let mut ready = status();
    ready.ready = Ready::ReadyNow;
    ready.past.push(event(6, 18, Happened::TestsPassed));
    ready.now = Now::ReadyToCollect;
    ready.now_since = day(6, 18);
    ready.amount_due = Some(euro("392.50"));
    ready.wish = Some(WishForm { every_change: false, ..ready.wish.unwrap() });
    ready.wish_just_changed = true;

    let mut waiting = status();
    waiting.past.truncate(5);
    waiting.now = Now::WaitsForAnswer { until: Some(day(6, 23)), other_work_goes_on: true };
    waiting.now_since = day(6, 9);
    waiting.asked = Some(Asked {
        letter: AskedBy::Letter { on: day(6, 9), to: Some("j…@lund.example".into()) },
        again: Some("/status/k7Qm2vXw9RtB4nZp/again".into()),
    });
    waiting.done.clear();
    waiting.left_on_purpose.clear();
    waiting.to_look_at.clear();

    let mut contact = status();
    contact.order.reader_is_owner = false;
    contact.order.family = "horn".into();
    contact.order.owners_number = Some("7".into());
    contact.ready = Ready::PlannedFor(day(7, 3));
    contact.now = Now::Held { held_for: HeldFor::Parts, until: Some(day(6, 24)) };
    contact.wish = None;

    let mut closed = status();
    closed.ready = Ready::Gone;
    closed.past.push(event(6, 19, Happened::Collected));
    closed.now = Now::Closed;
    closed.calendar_url = None;

    let mut wrong = answer();
    wrong.errors = vec![AnswerError::NameMissing, AnswerError::QuestionMissing];
    wrong.typed.lines = vec!["9".into()];
    let mut superseded = answer();
    superseded.superseded = Some(Quote {
        number: 1,
        content_hash: "0a".into(),
        sent_on: day(6, 15),
        total: euro("380.50"),
        limit: euro("400"),
        ..extra_quote()
    });

    let mut later = answered();
    later.just_now = false;
    later.mistake = None;
    let mut asked = answered();
    asked.decision = decision(Answered::Questions);
    asked.decision.allowed = None;
    asked.decision.ticked.clear();
    asked.decision.question =
        Some("Will the patch still be seen?\nCan you keep the old one?".into());
    asked.mistake = None;
    let mut mistake_again = answered();
    mistake_again.mistake.as_mut().unwrap().errors = vec![MistakeError::NameMissing];
    mistake_again.mistake.as_mut().unwrap().reason = "I pressed the wrong one".into();

    let not = |because, quote| {
        not_answerable_page(&NotAnswerablePage {
            order: order(),
            because,
            quote,
            status_url: Some("/status/k7Qm2vXw9RtB4nZp".into()),
        })
    };
    let mut wrong_start = start();
    wrong_start.shop_name = "Millrace Instrument Repair".into();
    wrong_start.errors = vec![
        (StartField::TimeZone, "No time zone of that name; choose one of the list.".into()),
        (StartField::Password, "That is shorter than 12 letters.".into()),
    ];
    vec![
        ("status", status_page(&status()).into_string()),
        ("status-ready", status_page(&ready).into_string()),
        ("status-waiting", status_page(&waiting).into_string()),
        ("status-contact", status_page(&contact).into_string()),
        ("status-closed", status_page(&closed).into_string()),
        ("answer", answer_page(&answer()).into_string()),
        ("answer-first", answer_page(&first_answer()).into_string()),
        ("answer-wrong", answer_page(&wrong).into_string()),
        ("answer-superseded", answer_page(&superseded).into_string()),
        ("answered", answered_page(&answered()).into_string()),
        ("answered-later", answered_page(&later).into_string()),
        ("answered-question", answered_page(&asked).into_string()),
        ("answered-mistake-again", answered_page(&mistake_again).into_string()),
        ("expired", not(NotAnswerable::Expired(day(6, 12)), Some(extra_quote())).into_string()),
        (
            "decided",
            not(
                NotAnswerable::AlreadyDecided(Box::new(Decision {
                    how: AnsweredBy::Phone,
                    ..decision(Answered::Declined)
                })),
                None,
            )
            .into_string(),
        ),
        ("taken-back", not(NotAnswerable::TakenBack, None).into_string()),
        ("ended", not(NotAnswerable::Ended, None).into_string()),
        ("withdrawn-link", withdrawn_link_page(Some("555 0100")).into_string()),
        ("unknown-link", unknown_link_page().into_string()),
        ("too-many-tries", too_many_tries_page(7).into_string()),
        ("database-away", database_away_page().into_string()),
        ("start", start_page(&start()).into_string()),
        ("start-wrong", start_page(&wrong_start).into_string()),
        (
            "started",
            started_page(&StartedPage {
                shop_name: "Millrace Instrument Repair".into(),
                email: "mara@millrace.example".into(),
                sign_in_url: "/".into(),
            })
            .into_string(),
        ),
        ("start-used", start_used_page().into_string()),
    ]
}

/// Bytes on the wire, as the server compresses them.
fn gzipped(text: &str) -> usize {
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packed.write_all(text.as_bytes()).unwrap();
    packed.finish().unwrap().len()
}

#[test]
fn the_drawing_of_every_family_fits_the_first_flight_with_its_page() {
    for family in Family::ALL {
        let mut page = status();
        page.map = Some(drawn(*family, 8));
        let html = status_page(&page).into_string();
        let flight = gzipped(&html) + gzipped(CUSTOMER_CSS);
        assert!(flight <= 14 * 1024, "{family}: {flight} bytes of {}", html.len());
        assert!(html.len() < 60_000, "{family}: {} bytes", html.len());
        // Named and described for whoever does not see it, and nothing in it to press.
        assert!(html.contains("role=\"img\"") && html.contains("aria-labelledby=\"map-title map-desc\""));
        assert!(html.contains("id=\"map-title\"") && html.contains("id=\"map-desc\""));
        for never in ["tabindex", "role=\"button\"", "data-part", "data-joint", "xmlns"] {
            assert!(!html.contains(never), "{family}: {never}");
        }
    }
}

#[test]
fn every_page_keeps_what_all_of_them_promise() {
    let folder = std::env::var_os("BELLBRACE_PAGES_DIR").map(std::path::PathBuf::from);
    for (name, page) in pages() {
        if let Some(folder) = &folder {
            std::fs::create_dir_all(folder.join("assets")).unwrap();
            std::fs::write(folder.join("assets/customer.css"), CUSTOMER_CSS).unwrap();
            let near = page.replace(customer_css_address(), "assets/customer.css");
            std::fs::write(folder.join(format!("{name}.html")), near).unwrap();
        }
        // The first flight of a new connection holds the page and its sheet as they go over the wire.
        let flight = gzipped(&page) + gzipped(CUSTOMER_CSS);
        assert!(flight <= 14 * 1024, "{name}: {flight} bytes");
        assert!(page.contains("<svg") || page.len() <= 14 * 1024, "{name}: {} bytes", page.len());
        for needed in [
            "<!DOCTYPE html>",
            "<html lang=\"en\">",
            "name=\"robots\" content=\"noindex, nofollow\"",
            "name=\"referrer\" content=\"no-referrer\"",
            "name=\"viewport\"",
            "<main>",
            format!("<link rel=\"stylesheet\" href=\"{}\">", customer_css_address()).as_str(),
        ] {
            assert!(page.contains(needed), "{name} lacks {needed}");
        }
        for never in [
            "<script",
            "style=",
            "<style",
            "onclick",
            "javascript:",
            "http://",
            "https://",
            "None",
            "autofocus",
            "!</",
            "refresh",
        ] {
            assert!(!page.contains(never), "{name} has {never}");
        }
        assert_eq!(page.matches("<h1>").count(), 1, "{name}");
        assert!(!page.contains("!\u{20}") && !page.contains(".."), "{name}");
    }
    assert!(CUSTOMER_CSS.len() < 9 * 1024, "{}", CUSTOMER_CSS.len());
    assert!(CONTENT_POLICY.contains("default-src 'none'") && !CONTENT_POLICY.contains("unsafe"));
    assert!(!CUSTOMER_CSS.contains("url(") && !CUSTOMER_CSS.contains("@import"));
}

#[test]
fn nothing_on_the_answer_page_is_preselected_or_sent_by_enter() {
    for page in [answer_page(&answer()), answer_page(&first_answer())] {
        let page = page.into_string();
        assert!(!page.contains("checked") && !page.contains("selected"));
        let form = &page[page.find("<form").unwrap()..];
        let first_button = &form[form.find("<button").unwrap()..];
        assert!(first_button.starts_with("<button type=\"submit\" disabled hidden>"));
        assert!(form.contains("name=\"name\" value=\"\""), "the name starts empty");
        for answer in ["accepted", "declined", "questions"] {
            assert_eq!(form.matches(&format!("name=\"answer\" value=\"{answer}\"")).count(), 1);
        }
        // The two that decide look alike.
        assert_eq!(form.matches("<button class=\"ans\"").count(), 2);
    }
}

fn range(kind: Kind, cost_p50: i64, cost_p85: i64) -> FurtherRange {
    FurtherRange {
        kind,
        orders_count: 152,
        alike_count: 11,
        is_old: true,
        none_of_hundred: 64,
        count_p50: 0,
        count_p85: 1,
        cost_p50: cost_p50.into(),
        cost_p85: cost_p85.into(),
        cost_p95: 131.into(),
    }
}

#[test]
fn the_answer_page_says_in_plain_words_what_may_still_turn_up_beside_the_limit() {
    let told = |range: &FurtherRange| {
        let mut page = answer();
        page.quote.further = Some(range.words(|amount| euro(&amount.to_string()).said()));
        answer_page(&page).into_string()
    };
    let own = told(&range(Kind::Own, 0, 78));
    let sentence = "Old instruments hide cracks: in 64 of 100 such instruments nothing more turned up, and in 15 of 100 \
                    it was more than €78.00. This rests on 152 instruments that were repaired here.";
    assert!(own.contains(&format!("<p>{sentence}</p><p>So far you allow up to €340.00. We ask you to allow up to")), "{own}");
    assert!(!own.contains("can hide more"));
    let typical = told(&range(Kind::Typical, 40, 78));
    assert!(typical.contains("in half of such instruments what turned up later cost more than €40.00, and in 15 of 100 it was more than €78.00."));
    assert!(typical.contains("These are typical figures, not yet this shop’s own."));
    // That nothing more is to be expected is said too, and what it was in the rest.
    let nothing = told(&FurtherRange { none_of_hundred: 90, cost_p95: 80.into(), ..range(Kind::Typical, 0, 0) });
    let sentence = "What may still be hidden: in 90 of 100 such instruments nothing more turned up, and in 5 of 100 what \
                    turned up later cost more than €80.00. These are typical figures, not yet this shop’s own.";
    assert!(nothing.contains(&format!("<p>{sentence}</p><p>So far you allow up to")), "{nothing}");
    assert!(!nothing.contains("can hide more"));
    let never = told(&FurtherRange { none_of_hundred: 100, cost_p95: 0.into(), ..range(Kind::Own, 0, 0) });
    assert!(never.contains("in more than 99 of 100 such instruments nothing more turned up. This rests on 152"), "{never}");
}

#[test]
fn a_limit_that_only_covers_the_lines_is_not_asked_for_what_may_be_hidden() {
    let page = |total: &str, with_ticks: Option<&str>, limit: &str, before: bool| {
        let mut page = answer();
        (page.quote.total, page.quote.limit) = (euro(total), euro(limit));
        page.quote.total_with_optional = with_ticks.map(euro);
        if !before {
            page.quote.accepted_before = None;
        }
        answer_page(&page).into_string()
    };
    let ticks = page("62", Some("86"), "86", false);
    assert!(!ticks.contains("can hide more"), "{ticks}");
    assert!(ticks.contains("We ask you to allow up to <b>€62.00</b>; what you tick below comes on top, up to €86.00."), "{ticks}");
    assert!(ticks.contains("Up to €62.00, and what you tick above."), "{ticks}");
    let extra = page("62", Some("86"), "86", true);
    assert!(extra.contains("So far you allow up to €340.00. We ask you to allow up to <b>€62.00</b> in all; what you tick below"), "{extra}");
    let lines = page("62", None, "62", false);
    assert!(!lines.contains("can hide more") && lines.contains("We ask you to allow up to <b>€62.00</b>."), "{lines}");
    let only_ticks = page("0", Some("24"), "24", false);
    assert!(only_ticks.contains("You allow only what you tick below, up to <b>€24.00</b>."), "{only_ticks}");
    // Room that the shop asks for on purpose is for what nobody sees yet.
    let room = page("62", Some("86"), "150", false);
    assert!(room.contains("An instrument can hide more. We ask you to allow up to <b>€150.00</b>."), "{room}");
    assert!(room.contains("Up to €150.00 in all."), "{room}");
}

#[test]
fn the_answer_page_asks_in_the_order_of_a_careful_reader() {
    let page = answer_page(&answer()).into_string();
    let order = [
        "A second crack, under the old patch, 22 mm</h1>",
        "What we found",
        "<figure class=\"photo\">",
        "What we would do, and why",
        "7 · <bdi>A second crack, under the old patch, 22 mm</bdi>, which leaks: Repair it.",
        "What you allowed before",
        "On Thursday 4 June, up to <b>€340.00</b>, for:",
        "Braze the crack at the bottom bow",
        "What it costs now",
        "Accepted on 4 June",
        "New: braze the crack",
        "Together, tax included",
        "allow up to <b>€420.00</b>",
        "Likely ready by <b>Thursday 18 June</b>",
        "If you like, as well",
        "Cannot be undone",
        "With both: €417.00",
        "Your name",
        "Yes, go ahead",
        "No, leave this",
        "We finish the rest for €318.00",
        "Or ask us something first",
        "it never asks for bank details",
    ];
    let mut from = 0;
    for words in order {
        let at = page[from..]
            .find(words)
            .unwrap_or_else(|| panic!("{words} is not after the one before"));
        from += at;
    }
    // Findings that were settled before are not asked about again.
    assert!(!page.contains("crack at the bottom bow, 14 mm"));
    let first = answer_page(&first_answer()).into_string();
    assert!(first.contains("The examination costs €25.00."));
    assert!(first.contains("In the sum above, but done only if you tick it."));
    assert!(first.contains("−€18.00") && first.contains("€60.00"));
}

#[test]
fn an_error_is_shown_in_its_place_and_keeps_what_was_typed() {
    let mut page = answer();
    page.errors = vec![AnswerError::NameMissing];
    page.typed = Typed {
        name: String::new(),
        question: "Will it <still> sound?".into(),
        lines: vec!["9".into()],
    };
    let html = answer_page(&page).into_string();
    assert!(html.contains("role=\"alert\""));
    assert!(html.contains("aria-invalid=\"true\" aria-describedby=\"name-error\""));
    assert!(html.contains("id=\"name-error\">Please type your name first."));
    assert!(html.contains("Will it &lt;still&gt; sound?</textarea>"));
    assert!(html.contains("value=\"9\" checked"));
    assert!(!html.contains("value=\"8\" checked"));

    page.errors = vec![AnswerError::ChoiceMissing, AnswerError::QuestionTooLong];
    page.typed.name = "Jonas \"J\" Lund".into();
    let html = answer_page(&page).into_string();
    assert!(html.contains("Please choose one of the three answers."));
    assert!(html.contains("aria-describedby=\"question-error\""));
    assert!(html.contains("value=\"Jonas &quot;J&quot; Lund\""));
}

#[test]
fn a_superseded_quote_shows_both_with_the_current_one_on_top() {
    let mut page = answer();
    page.superseded = Some(Quote { total: euro("380.50"), sent_on: day(6, 15), ..extra_quote() });
    let html = answer_page(&page).into_string();
    let (notice, now, before) = (
        html.find("A newer quote has gone out.").unwrap(),
        html.find("€392.50").unwrap(),
        html.find("€380.50").unwrap(),
    );
    assert!(notice < now && now < before);
    // Only the current one can be sent.
    assert_eq!(html.matches("<form").count(), 1);
    assert_eq!(html.matches("name=\"content_hash\"").count(), 1);
}

#[test]
fn what_people_typed_is_never_taken_for_html() {
    let evil = "<script>alert(1)</script>\"'><img src=x>\u{202e}";
    let mut order = order();
    order.shop.name = evil.into();
    order.shop.address = Some(evil.into());
    order.shop.phone = Some(evil.into());
    order.shop.hours = Some(evil.into());
    order.family = evil.into();
    order.owners_number = Some(evil.into());
    order.claim_number = evil.into();
    let noted =
        || vec![Noted { finding_number: Some(1), what: evil.into(), why: Some(evil.into()) }];
    let mut status = status();
    status.order = order.clone();
    status.past = vec![
        event(6, 1, Happened::BroughtIn { accessories: vec![evil.into()] }),
        event(6, 1, Happened::ExaminationBegan { by: Some(evil.into()) }),
        event(6, 1, Happened::TestFailed { found: Some(evil.into()) }),
        event(6, 1, Happened::Overridden { reason: Some(evil.into()) }),
        event(6, 1, Happened::NothingToDo { reason: Some(evil.into()) }),
        event(6, 1, Happened::NotRepairable { reason: Some(evil.into()) }),
        event(6, 1, Happened::Shipped { carrier: Some(evil.into()) }),
        event(6, 1, Happened::OtherwiseSettled { reason: Some(evil.into()) }),
    ];
    status.now = Now::Tested { put_right: Some(evil.into()) };
    status.done = vec![Done { words: evil.into(), finding_numbers: vec![] }];
    status.not_handed_back = noted();
    status.left_on_purpose = noted();
    status.to_look_at = noted();
    status.not_repaired = noted();
    status.asked = Some(Asked {
        letter: AskedBy::Letter { on: day(6, 9), to: Some(evil.into()) },
        again: Some(evil.into()),
    });
    status.calendar_url = Some(evil.into());

    let mut answer = answer();
    answer.order = order.clone();
    answer.owner_name = evil.into();
    answer.action = evil.into();
    answer.typed = Typed { name: evil.into(), question: evil.into(), lines: vec![evil.into()] };
    answer.quote.message = Some(evil.into());
    answer.quote.content_hash = evil.into();
    for found in &mut answer.quote.findings {
        found.words = evil.into();
        found.reason = Some(evil.into());
    }
    for line in &mut answer.quote.lines {
        line.text = evil.into();
        line.id = evil.into();
        line.irreversible_why = Some(evil.into());
    }
    let of_findings = answer.quote.findings.iter_mut().flat_map(|found| &mut found.photos);
    for photo in answer.quote.photos.iter_mut().chain(of_findings) {
        photo.alt = evil.into();
        photo.caption = Some(evil.into());
        photo.url = evil.into();
        photo.large_url = evil.into();
    }
    answer.superseded = Some(answer.quote.clone());

    let mut answered = answered();
    answered.order = order.clone();
    answered.decision.name = evil.into();
    answered.decision.question = Some(evil.into());
    answered.decision.ticked = vec![evil.into()];
    let form = answered.mistake.as_mut().unwrap();
    form.name = evil.into();
    form.reason = evil.into();
    form.decision_id = evil.into();

    let decided = not_answerable_page(&NotAnswerablePage {
        order,
        because: NotAnswerable::AlreadyDecided(Box::new(answered.decision.clone())),
        quote: Some(answer.quote.clone()),
        status_url: Some(evil.into()),
    });
    let start = start_page(&StartPage {
        action: evil.into(),
        shop_name: evil.into(),
        time_zone: evil.into(),
        currency: evil.into(),
        name: evil.into(),
        initials: evil.into(),
        email: evil.into(),
        password_at_least: 12,
        errors: vec![(StartField::Name, evil.into())],
    });
    let started = started_page(&StartedPage {
        shop_name: evil.into(),
        email: evil.into(),
        sign_in_url: "/".into(),
    });
    for page in [
        status_page(&status),
        answer_page(&answer),
        answered_page(&answered),
        decided,
        start,
        started,
        withdrawn_link_page(Some(evil)),
    ] {
        let html = page.into_string();
        assert!(html.contains("&lt;script&gt;"), "it is shown as it was typed");
        assert!(!html.contains("<script") && !html.contains("<img src=x"), "{html}");
        assert!(!html.contains("\"'>"), "an attribute was left: {html}");
    }
}

#[test]
fn the_tests_it_passed_are_told_with_what_leaked_and_what_the_shop_lets_pass() {
    let html = status_page(&status()).into_string();
    assert!(html.contains("Leak test of the whole instrument</bdi></b>, by the pressure it holds: passed with 4.8 ± 1.4 ml of air a minute, within our limit of 5.9."));
    assert!(html.contains("Play test</bdi></b>: passed."));
    assert!(html.contains("true figure in 19 of 20 cases") && html.contains("Left as it is, and not counted: <bdi>dent, 6 mm</bdi>"));
    let mut page = status();
    page.tests.passed.remove(0);
    assert!(!status_page(&page).into_string().contains("19 of 20"), "no figure, no range to explain");
    page.tests = Tests::default();
    assert!(!status_page(&page).into_string().contains("How it was tested"));
}

#[test]
fn a_withdrawn_link_tells_a_number_and_nothing_else() {
    let html = withdrawn_link_page(Some("555 0100")).into_string();
    assert!(html.contains("href=\"tel:5550100\">555 0100</a>"));
    for never in ["Millrace", "1843", "baritone", "Lund", "<header"] {
        assert!(!html.contains(never));
    }
    assert!(!withdrawn_link_page(None).into_string().contains("tel:"));
}

#[test]
fn the_status_page_says_what_is_now_last_and_once() {
    let html = status_page(&status()).into_string();
    assert_eq!(html.matches("aria-current=\"step\"").count(), 1);
    let now = html.find("aria-current").unwrap();
    assert!(html[now..].contains("it is being tested for leaks."));
    assert!(html.contains(
        "On <b>Monday 1 June</b> you brought it in, with <bdi>case, mouthpiece and oil</bdi>."
    ));
    assert!(html.contains("(planned for: 16 June)"));
    assert!(html.contains("value=\"only_when_asked\"") && !html.contains("value=\"every_change\""));

    let mut closed = status();
    closed.now = Now::Closed;
    assert!(!status_page(&closed).into_string().contains("aria-current"));

    let mut contact = status();
    contact.order.reader_is_owner = false;
    let html = status_page(&contact).into_string();
    assert!(html.contains("the owner said yes.") && !html.contains("you said yes"));
    assert!(html.contains("<h1>The baritone</h1>"));
}

#[test]
fn every_event_and_every_present_makes_a_sentence() {
    use Happened as H;
    let events = [
        H::BroughtIn { accessories: vec![] },
        H::ExaminationBegan { by: None },
        H::QuoteSent { findings_count: 0 },
        H::QuoteSent { findings_count: 1 },
        H::NewerQuoteSent,
        H::CoveredBeforehand,
        H::SaidYes,
        H::SaidYesToExtra,
        H::SaidNoToExtra,
        H::QuoteTakenBack { is_extra: true },
        H::QuoteTakenBack { is_extra: false },
        H::Asked,
        H::QuoteRanOut,
        H::SaidNo,
        H::ExtraFound,
        H::CalledMistake,
        H::BenchDone,
        H::TestFailed { found: None },
        H::TestsPassed,
        H::Overridden { reason: Some("it is needed on Saturday".into()) },
        H::Overridden { reason: None },
        H::NothingToDo { reason: None },
        H::Withdrawn,
        H::Unanswered,
        H::NotRepairable { reason: None },
        H::SentBack,
        H::Reopened,
        H::Collected,
        H::Shipped { carrier: None },
        H::OtherwiseSettled { reason: None },
        H::EnteredByMistake,
    ];
    let presents = [
        Now::WaitsToBeExamined,
        Now::BeingExamined,
        Now::QuestionWithUs,
        Now::WaitsForAnswer { until: None, other_work_goes_on: false },
        Now::WorkedOn,
        Now::Tested { put_right: None },
        Now::PutBackTogether,
        Now::ReadyToCollect,
        Now::Held { held_for: HeldFor::OutsideWork, until: None },
        Now::Held { held_for: HeldFor::Customer, until: Some(day(7, 1)) },
        Now::Held { held_for: HeldFor::SchoolCalendar, until: None },
        Now::Held { held_for: HeldFor::Other, until: Some(day(7, 1)) },
    ];
    for owner in [true, false] {
        for now in &presents {
            let mut page = status();
            page.order.reader_is_owner = owner;
            page.past =
                events.iter().map(|what| Event { on: day(6, 1), what: what.clone() }).collect();
            page.now = now.clone();
            let html = status_page(&page).into_string();
            let tube = &html[html.find("<ol").unwrap()..html.find("</ol>").unwrap()];
            for sentence in tube.split("<li").skip(1) {
                let words = &sentence[sentence.find('>').unwrap() + 1..];
                assert!(words.starts_with("On <b>") || words.starts_with("Since <b>"), "{words}");
                assert!(words.trim_end_matches("</li>").ends_with('.'), "{words}");
                assert!(!words.contains("  ") && !words.contains(" ."), "{words}");
                if !owner {
                    assert!(!words.contains("you"), "{words}");
                }
            }
        }
    }
}
