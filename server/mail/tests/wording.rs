//! Every kind of letter as its reader sees it, compared whole with the files in `letters/`.
//!
//! `BELLBRACE_WRITE_LETTERS=1` writes the files anew; read them before committing.
//! `BELLBRACE_LETTERS_DIR` names a folder to which each is written as a message, for other
//! programs to judge (SpamAssassin 4.0.1, local tests only: none scored above 0.0).

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails where it stands")]

use chrono::{NaiveDate, TimeZone, Utc};
use mail::envelope::{Envelope, Person};
use mail::facts::{
    AcceptedBefore, AnsweredBy, Became, Decision, Finding, Handover, Instrument, LetterFacts, Line,
    Links, Money, Noted, Quote, Reader, Shop, Tests,
};
use mail::kinds::{Addressees, LetterKind, Verdict, Wish, addressees, readers, verdict};
use mail::wording::compose;
use mail_parser::MessageParser;
use std::path::PathBuf;

fn day(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, month, day).unwrap()
}

fn euro(amount: &str) -> Money {
    Money::new(amount.parse().unwrap(), "EUR")
}

/// What every letter of this order may know.
fn facts() -> LetterFacts {
    LetterFacts {
        shop: Shop {
            name: "Millrace Instrument Repair".into(),
            phone: Some("555 0100".into()),
            address: Some("4 Millrace Lane".into()),
            email: Some("desk@millrace.example".into()),
            hours: Some("Monday to Friday 9–18, Saturday 9–13".into()),
            time_zone: "Europe/Dublin".into(),
            language: "en".into(),
        },
        today: day(6, 16),
        claim_number: "1843-8".into(),
        reader_name: "Jonas Lund".into(),
        reader: Reader::ContactAndOwner,
        owner_name: None,
        instrument: Instrument {
            family: "baritone".into(),
            words: "baritone, Halvane, no. 4417, about 1925".into(),
            owners_number: None,
        },
        complaint: Some(
            "Hard to blow since the spring, hisses near the bottom. Was my grandfather’s, please \
             keep the marks."
                .into(),
        ),
        accessories: vec!["brown case".into(), "mouthpiece".into(), "oil".into()],
        not_with_it: vec!["lyre".into(), "strap".into()],
        counter_marks: vec![
            "dent, bell bow (2)".into(),
            "scratch, second valve".into(),
            "lacquer gone, rim".into(),
            "stuck, tuning slide".into(),
        ],
        keep_as_is: Some("the engraving and the marks on the bell".into()),
        planned_for: Some(day(6, 16)),
        planned_before: None,
        expected_on: None,
        may_cost: Some(euro("340")),
        examination_fee: None,
        fee_charged: None,
        findings: vec![],
        quote: None,
        decision: None,
        reason: None,
        tests: Tests::default(),
        done: vec![],
        not_repaired: vec![],
        left_on_purpose: vec![],
        to_look_at: vec![],
        care_note: None,
        amount_due: None,
        due_words: None,
        ready_since: None,
        uncollected_note: None,
        handover: None,
        signed_by: Some("Mara Voss".into()),
        links: Links {
            status: Some("https://millrace.example/status/k7Qm2vXw9RtB4nZp".into()),
            answer: None,
        },
    }
}

fn finding(number: u32, words: &str, became: Became, reason: Option<&str>) -> Finding {
    Finding { number, words: words.into(), became, reason: reason.map(Into::into), is_new: false }
}

fn first_findings() -> Vec<Finding> {
    vec![
        finding(
            1,
            "crack at the bottom bow, 14 mm, leaks",
            Became::ToRepair,
            Some("it leaks and will grow"),
        ),
        finding(
            2,
            "old patch at the bottom bow",
            Became::LeftAndWatched,
            Some("it holds, and belongs to the instrument’s story"),
        ),
        finding(3, "open joint at the bell brace", Became::ToRepair, None),
        finding(4, "dent in the bell bow, 6 mm", Became::AnotherVisit, None),
    ]
}

fn second_crack() -> Finding {
    Finding {
        number: 7,
        words: "crack under the old patch, 22 mm, leaks".into(),
        became: Became::ToRepair,
        reason: Some("without this it keeps hissing there, and the crack will grow".into()),
        is_new: true,
    }
}

fn line(text: &str, amount: &str) -> Line {
    Line {
        text: text.into(),
        amount: euro(amount),
        is_new: false,
        optional: false,
        irreversible: false,
    }
}

fn further() -> Option<String> {
    let range = trade::words::quote::FurtherRange {
        kind: trade::words::own_or_typical::Kind::Own,
        orders_count: 152,
        alike_count: 11,
        is_old: true,
        none_of_hundred: 64,
        count_p50: 0,
        count_p85: 1,
        cost_p50: 0.into(),
        cost_p85: 78.into(),
        cost_p95: 131.into(),
    };
    Some(range.words(|amount| euro(&amount.to_string()).said()))
}

fn first_quote() -> Quote {
    Quote {
        number: 1,
        message: None,
        accepted_before: None,
        lines: vec![
            line("braze the crack at the bottom bow", "145"),
            line("solder the bell brace", "48"),
            line("free the tuning slide", "85"),
            line("material", "40"),
            Line { optional: true, ..line("clean and oil the valves", "15") },
        ],
        discount: None,
        tax: None,
        total: euro("318"),
        total_with_optional: Some(euro("333")),
        limit: euro("340"),
        expires_on: Some(day(6, 12)),
        ready_if_answered_today: Some(day(6, 16)),
        further: further(),
        has_photo: false,
    }
}

fn extra_quote() -> Quote {
    Quote {
        number: 2,
        message: Some(
            "Under the old patch we found a second crack, 22 mm. It leaks. We would close it \
             with silver solder and put the patch back over it. The marks on the bell stay as \
             you asked."
                .into(),
        ),
        accepted_before: Some(AcceptedBefore { on: day(6, 4), amount: euro("318"), allowed: euro("340") }),
        lines: vec![
            Line { is_new: true, ..line("braze the crack, about 50 min", "62.50") },
            Line { is_new: true, ..line("silver solder, patch", "12") },
            Line { optional: true, ..line("clean and oil the valves", "15") },
            Line {
                optional: true,
                irreversible: true,
                ..line("buff the brazed place bright", "9.50")
            },
        ],
        total: euro("392.50"),
        total_with_optional: Some(euro("417")),
        limit: euro("420"),
        expires_on: Some(day(6, 23)),
        ready_if_answered_today: Some(day(6, 18)),
        has_photo: true,
        ..first_quote()
    }
}

fn decision(how: AnsweredBy) -> Decision {
    Decision {
        how,
        name: "Jonas Lund".into(),
        at: Utc.with_ymd_and_hms(2026, 6, 4, 9, 44, 0).unwrap(),
        allowed: Some(euro("340")),
        ticked: vec![],
        question: None,
    }
}

fn record(facts: &mut LetterFacts) {
    facts.done = vec![
        "both cracks brazed (1, 7)".into(),
        "bell brace soldered (3)".into(),
        "tuning slide freed (5)".into(),
    ];
    facts.left_on_purpose = vec![
        Noted {
            what: "old patch at the bottom bow".into(),
            why: Some("It holds and belongs to the instrument’s story. Put back as it was.".into()),
        },
        Noted {
            what: "dent, 6 mm".into(),
            why: Some("you asked to keep it for another visit".into()),
        },
    ];
    facts.to_look_at = vec![Noted {
        what: "leadpipe: three spots of red rot".into(),
        why: Some(
            "Wall 0.52 mm in 2024, 0.47 mm now. Rinse monthly; have it measured in June 2027."
                .into(),
        ),
    }];
    facts.care_note =
        Some("Oil the valves before you play.\nEmpty the water, wipe the mouthpiece.".into());
}

/// One order told as far as this letter; `facts()` and what the kind needs.
fn sample(kind: LetterKind) -> LetterFacts {
    let mut facts = facts();
    let answer = Some("https://millrace.example/answer/Vq8cT3mLx2HsY7dK".to_owned());
    match kind {
        LetterKind::CheckedIn => facts.examination_fee = Some(euro("25")),
        LetterKind::ExaminationBegins => {}
        LetterKind::QuoteSent => {
            facts.today = day(6, 3);
            facts.findings = first_findings();
            facts.quote = Some(first_quote());
            facts.links.answer = answer;
        }
        LetterKind::CoveredBeforehand => {
            facts.findings = vec![finding(1, "sticking second valve", Became::ToRepair, None)];
            facts.quote = Some(Quote {
                lines: vec![
                    line("lap and clean the second valve", "60"),
                    line("material", "4.50"),
                    line("oil the valves", "0"),
                ],
                total: euro("64.50"),
                limit: euro("340"),
                ..first_quote()
            });
            facts.links.answer = answer;
        }
        LetterKind::NothingToDo => {
            facts.findings =
                vec![finding(1, "lacquer loss at the rim", Became::LeftAndWatched, None)];
            facts.reason =
                Some("it blows freely and is tight; the hiss came from the mouthpiece".into());
            facts.amount_due = Some(euro("0"));
        }
        LetterKind::Accepted => {
            facts.today = day(6, 4);
            facts.quote = Some(first_quote());
            facts.decision = Some(Decision {
                ticked: vec!["clean and oil the valves".into()],
                ..decision(AnsweredBy::Phone)
            });
            facts.links.answer = answer;
        }
        LetterKind::ExtraDeclined => {
            facts.findings = vec![second_crack()];
            facts.quote = Some(extra_quote());
            facts.decision = Some(Decision {
                at: Utc.with_ymd_and_hms(2026, 6, 16, 11, 2, 0).unwrap(),
                ..decision(AnsweredBy::Link)
            });
            facts.links.answer = answer;
        }
        LetterKind::ExtraRecalled => {
            facts.quote = Some(extra_quote());
            facts.reason =
                Some("the second crack turned out to be a scratch in the old solder".into());
        }
        LetterKind::QuoteRecalled => {
            facts.quote = Some(first_quote());
            facts.reason = Some("we had left out the third slide".into());
        }
        LetterKind::Questions => {
            facts.quote = Some(extra_quote());
            facts.links.answer = answer;
            facts.decision = Some(Decision {
                question: Some(
                    "Will the patch still be seen?\nAnd can you keep the old one?".into(),
                ),
                ..decision(AnsweredBy::Link)
            });
        }
        LetterKind::Expired => facts.quote = Some(first_quote()),
        LetterKind::Declined => {
            facts.quote = Some(first_quote());
            facts.decision = Some(decision(AnsweredBy::InPerson));
            facts.examination_fee = Some(euro("25"));
            facts.fee_charged = Some(euro("25"));
            facts.left_on_purpose = vec![Noted {
                what: "crack at the bottom bow, 14 mm, leaks".into(),
                why: Some("not wanted for now".into()),
            }];
            facts.amount_due = Some(euro("25"));
        }
        LetterKind::ExtraWork => {
            facts.findings = first_findings();
            facts.findings.push(second_crack());
            facts.quote = Some(extra_quote());
            facts.links.answer = answer;
        }
        LetterKind::AcceptanceDisputed => {
            facts.quote = Some(extra_quote());
            facts.decision = Some(Decision {
                at: Utc.with_ymd_and_hms(2026, 6, 16, 11, 2, 0).unwrap(),
                ..decision(AnsweredBy::Link)
            });
            facts.links.answer = answer;
        }
        LetterKind::BenchDone => facts.expected_on = Some(day(6, 18)),
        LetterKind::TestFailed => {
            facts.expected_on = Some(day(6, 18));
            facts.tests.fails = Some("a leak at the third slide".into());
        }
        LetterKind::TestsPassed => {
            facts.tests.passed =
                vec!["leak test of the whole instrument".into(), "play test, all notes".into()];
            facts.tests.apart_from = vec!["the dent in the bell bow".into()];
            facts.amount_due = Some(euro("392.50"));
            record(&mut facts);
        }
        LetterKind::Overridden => {
            facts.tests.fails = Some("a slow leak at the third slide".into());
            facts.tests.passed = vec!["play test, all notes".into()];
            facts.reason = Some(
                "You need it for Saturday’s concert; it plays well, and we put the slide right \
                 afterwards at no cost."
                    .into(),
            );
            facts.amount_due = Some(euro("392.50"));
            record(&mut facts);
        }
        LetterKind::Withdrawn => {
            facts.reason = Some("you need it back before the tour".into());
            facts.tests.not_tested =
                Some("the work was stopped before the second crack was closed".into());
            facts.done = vec!["bell brace soldered (3)".into()];
            facts.not_repaired = vec![Noted { what: "crack under the old patch, 22 mm, leaks".into(), why: None }];
            facts.amount_due = Some(euro("48"));
        }
        LetterKind::Unanswered => {
            facts.quote = Some(first_quote());
            facts.amount_due = Some(euro("0"));
        }
        LetterKind::NotRepairable => {
            facts.reason = Some(
                "The bell wall is thinner than it can be brazed at, and would burn through.".into(),
            );
            facts.amount_due = Some(euro("0"));
            facts.left_on_purpose = vec![Noted { what: "everything as it was".into(), why: None }];
        }
        LetterKind::SentBack => {
            facts.reason = Some("the second valve was slow when you tried it".into());
            facts.expected_on = Some(day(6, 19));
        }
        LetterKind::Reopened => facts.may_cost = None,
        LetterKind::Collected => {
            facts.handover = Some(Handover {
                on: day(6, 19),
                by: Some("Ines Lund".into()),
                carrier: None,
                accessories: vec!["brown case".into(), "mouthpiece".into(), "oil".into()],
                lost: vec![],
                paid: Some(euro("392.50")),
            });
            record(&mut facts);
        }
        LetterKind::Shipped => {
            facts.handover = Some(Handover {
                on: day(6, 19),
                by: None,
                carrier: Some("Northern Parcel, number NP 4471 0098".into()),
                accessories: vec!["brown case".into(), "mouthpiece".into()],
                lost: vec![],
                paid: None,
            });
        }
        LetterKind::OtherwiseSettled => {
            facts.reason =
                Some("You sold it to us for parts, for €80.00, on Tuesday 16 June.".into());
        }
        LetterKind::EnteredByMistake => {
            facts.reason = Some("it was entered twice; your receipt is 1842-9".into());
        }
        LetterKind::DoneAtCounter => {
            facts.instrument.family = "trumpet".into();
            facts.done = vec!["stuck mouthpiece pulled".into(), "water-key cork replaced".into()];
            facts.tests.passed = vec!["finger and blow, whole instrument".into()];
            facts.handover = Some(Handover {
                on: day(6, 16),
                by: None,
                carrier: None,
                accessories: vec![],
                lost: vec![],
                paid: Some(euro("12")),
            });
        }
        LetterKind::NewerQuote => {
            facts.today = day(6, 5);
            facts.findings = first_findings();
            facts.quote = Some(Quote {
                number: 2,
                message: Some("As you asked: without the new case latch.".into()),
                discount: Some(euro("18")),
                tax: Some(euro("0")),
                total: euro("300"),
                ..first_quote()
            });
            facts.links.answer = answer;
        }
        LetterKind::AnswerReminder => {
            facts.today = day(6, 10);
            facts.findings = first_findings();
            facts.quote = Some(first_quote());
            facts.links.answer = answer;
        }
        LetterKind::AnswerAgain => {
            facts.findings = first_findings();
            facts.findings.push(second_crack());
            facts.quote = Some(extra_quote());
            facts.links.answer = answer;
        }
        LetterKind::PickupReminder => {
            facts.today = day(7, 9);
            facts.ready_since = Some(day(6, 18));
            facts.amount_due = Some(euro("392.50"));
            facts.uncollected_note =
                Some("Our terms of 1 March 2026: what is not collected within a year is …".into());
        }
        LetterKind::DateMoved => {
            facts.today = day(6, 12);
            facts.planned_before = Some(day(6, 16));
            facts.planned_for = Some(day(6, 23));
            facts.reason = Some("the new ferrule comes a week later than we were told".into());
        }
    }
    facts
}

/// The same kinds, to people who stand differently to the order.
fn further_samples() -> Vec<(&'static str, LetterKind, LetterFacts)> {
    let school = |facts: &mut LetterFacts| {
        facts.reader_name = "Rosa Amat".into();
        facts.owner_name = Some("Hillside School".into());
        facts.reader = Reader::Contact;
        facts.instrument.family = "horn".into();
        facts.instrument.owners_number = Some("7".into());
    };
    let mut ready = sample(LetterKind::TestsPassed);
    school(&mut ready);
    ready.due_words = Some("charged to the school’s account".into());
    let mut declined = sample(LetterKind::Declined);
    school(&mut declined);
    let mut withdrawn = sample(LetterKind::Withdrawn);
    school(&mut withdrawn);
    withdrawn.reader = Reader::Owner;
    withdrawn.reader_name = "Hillside School".into();

    let mut bare = sample(LetterKind::CheckedIn);
    bare.shop.phone = None;
    bare.shop.address = None;
    bare.reader_name = String::new();
    bare.signed_by = None;
    bare.links = Links::default();
    bare.complaint = None;
    bare.accessories.clear();
    bare.not_with_it.clear();
    bare.counter_marks.clear();
    bare.keep_as_is = None;
    bare.planned_for = None;
    bare.may_cost = None;
    bare.examination_fee = None;

    let mut by_link = sample(LetterKind::Accepted);
    by_link.decision = Some(decision(AnsweredBy::Link));
    let mut no_page = by_link.clone();
    no_page.links.answer = None;
    // Before anything was accepted, a question takes the quote back to the examination.
    let mut asked_first = sample(LetterKind::Questions);
    asked_first.quote = Some(first_quote());
    asked_first.links.answer = None;
    // Work within the shop's warranty costs nothing.
    let mut free = sample(LetterKind::QuoteSent);
    if let Some(quote) = &mut free.quote {
        quote.lines = vec![line("solder the bell brace again", "0"), Line { optional: true, ..line("oil the valves", "0") }];
        (quote.total, quote.total_with_optional, quote.limit, quote.further) = (euro("0"), Some(euro("0")), euro("0"), None);
    }
    vec![
        ("accepted-no-page", LetterKind::Accepted, no_page),
        ("questions-first-quote", LetterKind::Questions, asked_first),
        ("quote_sent-free", LetterKind::QuoteSent, free),
        ("tests_passed-contact-of-a-school", LetterKind::TestsPassed, ready),
        ("declined-contact-of-a-school", LetterKind::Declined, declined),
        ("withdrawn-owner", LetterKind::Withdrawn, withdrawn),
        ("checked_in-bare", LetterKind::CheckedIn, bare),
        ("accepted-by-link", LetterKind::Accepted, by_link),
    ]
}

#[test]
fn without_room_beyond_its_lines_a_quote_asks_for_them_and_for_what_is_ticked() {
    let mut facts = sample(LetterKind::QuoteSent);
    if let Some(quote) = &mut facts.quote {
        quote.limit = euro("333");
        quote.further = Some("What may still be hidden: in 90 of 100 such instruments nothing more turned up.".into());
    }
    let words = compose(LetterKind::QuoteSent, &facts).text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("nothing more turned up. We ask you to allow up to €318.00; what you tick on the page comes on top, up to €333.00."), "{words}");
    if let Some(quote) = &mut facts.quote {
        (quote.total_with_optional, quote.limit) = (None, euro("318"));
    }
    let words = compose(LetterKind::QuoteSent, &facts).text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("We ask you to allow up to €318.00. You pay for what is done"), "{words}");
}

fn all_samples() -> Vec<(String, LetterKind, LetterFacts)> {
    let mut all: Vec<_> = LetterKind::ALL
        .into_iter()
        .map(|kind| (kind.spelling().to_owned(), kind, sample(kind)))
        .collect();
    all.extend(
        further_samples().into_iter().map(|(name, kind, facts)| (name.to_owned(), kind, facts)),
    );
    all
}

fn letters() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/letters")
}

#[test]
fn every_kind_reads_as_it_was_agreed() {
    let writing = std::env::var_os("BELLBRACE_WRITE_LETTERS").is_some();
    let mut different = Vec::new();
    for (name, kind, facts) in all_samples() {
        let letter = compose(kind, &facts);
        let text = format!("Subject: {}\n\n{}", letter.subject, letter.text);
        for (file, now) in [(format!("{name}.txt"), text), (format!("{name}.html"), letter.html)] {
            let path = letters().join(&file);
            if writing {
                std::fs::write(&path, now).unwrap();
            } else if std::fs::read_to_string(&path).unwrap_or_default() != now {
                different.push(file);
            }
        }
    }
    assert!(different.is_empty(), "not as agreed: {different:?}");
}

#[test]
fn plain_text_is_at_most_56_columns_but_for_addresses() {
    for (name, kind, mut facts) in all_samples() {
        facts.reader_name =
            "Maria-Magdalena Anastasia von der Hohenwaldeckerstrasse und zu Unterwalden".into();
        facts.complaint = Some("Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichenhersteller 一二三四五六七八九十一二三四五六七八九十一二三四五六七八九十一二三四五六七八九十".into());
        if let Some(quote) = &mut facts.quote {
            quote.message.clone_from(&facts.complaint);
            quote.lines[0].text = "a line of a quote that goes on for much longer than any line of a quote should, and then a little".into();
        }
        for line in compose(kind, &facts).text.lines() {
            let is_address = line.starts_with("https://") && !line.contains(' ');
            let wide = textwrap::core::display_width(line);
            assert!(is_address || wide <= 56, "{name}: {wide} columns: {line}");
        }
    }
}

#[test]
fn letters_follow_the_rules_of_the_house() {
    for (name, kind, facts) in all_samples() {
        let letter = compose(kind, &facts);
        assert!(letter.subject.starts_with("1843-8 "), "{name}");
        assert!(letter.subject.chars().count() <= 70, "{name}: {}", letter.subject);
        // RFC and spam filters aside, a letter is read on a phone.
        assert!(letter.html.len() <= 30_000, "{name}: {}", letter.html.len());
        for words in [&letter.text, &letter.subject] {
            for never in
                ["!", " he ", " she ", " his ", " her ", "Mr", "authorised", "bounced", "None"]
            {
                assert!(!words.contains(never), "{name} says {never:?}:\n{words}");
            }
            assert!(
                !words.contains("  .") && !words.contains("..") && !words.contains(" ,"),
                "{name}:\n{words}"
            );
        }
        assert!(!letter.html.contains("<img") && !letter.html.contains("http-equiv"), "{name}");
        assert!(!letter.html.contains("<script") && !letter.html.contains("url("), "{name}");
        if kind.asks_for_an_answer() {
            let answer = facts.links.answer.as_deref().unwrap();
            assert!(letter.html.contains(answer) && letter.text.contains(answer), "{name}");
        }
        if facts.shop.phone.is_some() {
            assert!(letter.text.contains("555 0100"), "{name} gives no telephone number");
        }
    }
}

/// Words of a page or a mail without their marks, for comparing.
fn words_of_html(html: &str) -> String {
    let body = &html[html.find("<body").unwrap()..];
    mail_parser::decoders::html::html_to_text(body)
}

#[test]
fn html_and_plain_text_say_the_same() {
    for (name, kind, facts) in all_samples() {
        let letter = compose(kind, &facts);
        let html = words_of_html(&letter.html).split_whitespace().collect::<Vec<_>>().join(" ");
        let text = letter.text.split_whitespace().collect::<Vec<_>>().join(" ");
        // Sentences: whatever ends in a full stop in plain text, apart from what only
        // introduces an address that is a button in HTML.
        for sentence in text.split_inclusive(". ") {
            let sentence = sentence.trim();
            if sentence.contains("https://") || sentence.contains("---") || sentence.contains("- ")
            {
                continue;
            }
            // The full stop between a thing and the sentence about it is a line end in HTML.
            let last: Vec<&str> = sentence.trim_end_matches('.').split(' ').collect();
            let tail = last[last.len().saturating_sub(4)..].join(" ");
            if tail.contains(':') || tail.contains("EUR") {
                continue;
            }
            assert!(html.contains(&tail), "{name}: {tail:?} is not in the HTML:\n{html}");
        }
    }
}

#[test]
fn what_people_typed_can_change_nothing() {
    let evil = "x</b><script>alert(1)</script><a href=\"https://evil.example\">\r\nBcc: all@lund.example\r\n\r\n\u{202e}y";
    for (name, kind, mut facts) in all_samples() {
        facts.reader_name = evil.into();
        facts.owner_name = Some(evil.into());
        facts.complaint = Some(evil.into());
        facts.reason = Some(evil.into());
        facts.signed_by = Some(evil.into());
        facts.shop.name = evil.into();
        facts.shop.hours = Some(evil.into());
        facts.shop.phone = Some(evil.into());
        facts.shop.address = Some(evil.into());
        facts.instrument.family = evil.into();
        facts.instrument.words = evil.into();
        facts.instrument.owners_number = Some(evil.into());
        facts.keep_as_is = Some(evil.into());
        facts.care_note = Some(evil.into());
        facts.uncollected_note = Some(evil.into());
        facts.due_words = Some(evil.into());
        facts.claim_number = format!("1843-8{evil}");
        for words in [
            &mut facts.accessories,
            &mut facts.not_with_it,
            &mut facts.counter_marks,
            &mut facts.done,
        ] {
            words.push(evil.into());
        }
        for noted in facts.left_on_purpose.iter_mut().chain(&mut facts.to_look_at) {
            noted.what = evil.into();
            noted.why = Some(evil.into());
        }
        for found in &mut facts.findings {
            found.words = evil.into();
            found.reason = Some(evil.into());
        }
        if let Some(quote) = &mut facts.quote {
            quote.message = Some(evil.into());
            quote.lines[0].text = evil.into();
        }
        if let Some(decision) = &mut facts.decision {
            decision.name = evil.into();
            decision.question = Some(evil.into());
            decision.ticked = vec![evil.into()];
        }
        facts.tests.fails = facts.tests.fails.map(|_| evil.into());
        facts.tests.not_tested = facts.tests.not_tested.map(|_| evil.into());
        facts.tests.passed.push(evil.into());
        facts.tests.apart_from.push(evil.into());
        if let Some(handover) = &mut facts.handover {
            handover.by = Some(evil.into());
            handover.carrier = Some(evil.into());
            handover.accessories = vec![evil.into()];
        }
        let letter = compose(kind, &facts);
        assert!(
            !letter.html.contains("<script") && !letter.html.contains("<a href=\"https://evil"),
            "{name}"
        );
        assert!(!letter.html.contains('\u{202e}') && !letter.text.contains('\u{202e}'), "{name}");
        assert!(!letter.subject.contains(['\r', '\n']), "{name}");
        assert!(!letter.text.contains('\r'), "{name}");
        assert!(!letter.text.lines().any(|line| line.starts_with("Bcc:")), "{name}");
        let envelope = Envelope {
            from: Person { name: "Millrace".into(), email: "desk@millrace.example".into() },
            to: Person { name: "Jonas Lund".into(), email: "jonas@lund.example".into() },
            reply_to: None,
            subject: letter.subject.clone(),
            message_id: "1@millrace.example".into(),
            date: Utc.with_ymd_and_hms(2026, 6, 16, 8, 44, 0).unwrap(),
            unsubscribe_url: None,
            text: letter.text,
            html: letter.html,
        };
        let bytes = envelope.message().unwrap().bytes;
        let read = MessageParser::default().parse(&bytes).unwrap();
        assert!(read.bcc().is_none(), "{name}");
        assert_eq!(read.subject(), Some(letter.subject.as_str()), "{name}");
    }
}

#[test]
fn every_letter_survives_the_post() {
    for (name, kind, facts) in all_samples() {
        let letter = compose(kind, &facts);
        let envelope = Envelope {
            from: Person { name: facts.shop.name.clone(), email: "desk@millrace.example".into() },
            to: Person { name: facts.reader_name.clone(), email: "jonas@lund.example".into() },
            reply_to: None,
            subject: letter.subject.clone(),
            message_id: format!("{name}@millrace.example"),
            date: Utc.with_ymd_and_hms(2026, 6, 16, 8, 44, 0).unwrap(),
            unsubscribe_url: kind
                .only_tells()
                .then(|| "https://millrace.example/status/k7Qm2vXw9RtB4nZp/wish".to_owned()),
            text: letter.text.clone(),
            html: letter.html.clone(),
        };
        let bytes = envelope.message().unwrap().bytes;
        if let Some(folder) = std::env::var_os("BELLBRACE_LETTERS_DIR") {
            std::fs::write(PathBuf::from(folder).join(format!("{name}.eml")), &bytes).unwrap();
        }
        assert!(bytes.is_ascii() && bytes.len() <= 30_000, "{name}: {} bytes", bytes.len());
        let read = MessageParser::default().parse(&bytes).unwrap();
        assert_eq!(read.subject(), Some(letter.subject.as_str()), "{name}");
        assert_eq!(read.body_text(0).unwrap().replace("\r\n", "\n"), letter.text, "{name}");
        assert_eq!(read.body_html(0).unwrap().replace("\r\n", "\n"), letter.html, "{name}");
    }
}

#[test]
fn names_of_every_script_are_kept() {
    for name in ["نور الهدى", "מרים כהן", "李小龍", "👩‍👩‍👧 Lund", "Zoë Öğüt"]
    {
        let mut facts = sample(LetterKind::TestsPassed);
        facts.reader_name = name.into();
        let letter = compose(LetterKind::TestsPassed, &facts);
        assert!(letter.text.starts_with(&format!("Dear {name},\n")), "{}", letter.text);
        // Kept apart, so that a name from right to left does not carry the comma along.
        assert!(letter.html.contains(&format!("Dear <bdi>{name}</bdi>,")));
    }
}

#[test]
fn a_letter_needs_no_more_than_shop_number_and_instrument() {
    let bare: LetterFacts = serde_json::from_value(serde_json::json!({
        "shop": {"name": "Millrace", "time_zone": "Nowhere/At_All", "language": "en"},
        "today": "2026-06-16",
        "claim_number": "1843-8",
        "reader_name": "Jonas Lund",
        "reader": "contact_and_owner",
        "instrument": {"family": "tuba", "words": "tuba"},
    }))
    .unwrap();
    for kind in LetterKind::ALL {
        let letter = compose(kind, &bare);
        assert!(letter.text.contains("Dear Jonas Lund,"), "{kind:?}");
        assert!(
            letter.text.to_lowercase().contains("tuba") || kind == LetterKind::EnteredByMistake,
            "{kind:?}"
        );
        for broken in ["None", "  \n", "“”", ": .", "on .", "by ."] {
            assert!(!letter.text.contains(broken), "{kind:?} {broken:?}:\n{}", letter.text);
        }
    }
}

#[test]
fn facts_survive_being_kept_as_json() {
    for (name, _, facts) in all_samples() {
        let kept = serde_json::to_string(&facts).unwrap();
        assert_eq!(serde_json::from_str::<LetterFacts>(&kept).unwrap(), facts, "{name}");
    }
}

#[test]
fn every_row_of_the_table_of_moves_has_its_letter() {
    // DOMAIN.md, Stages: the column "because".
    let table = "checked_in examination_begins quote_sent covered_beforehand nothing_to_do accepted \
        extra_declined recalled questions expired declined extra_work acceptance_disputed bench_done \
        test_failed tests_passed overridden withdrawn unanswered not_repairable sent_back reopened \
        collected shipped otherwise_settled entered_by_mistake";
    for because in table.split_whitespace() {
        assert!(LetterKind::for_move(because, true).is_some(), "{because}");
        assert!(LetterKind::for_move(because, false).is_some(), "{because}");
    }
    assert_eq!(LetterKind::for_move("recalled", true), Some(LetterKind::ExtraRecalled));
    assert_eq!(LetterKind::for_move("recalled", false), Some(LetterKind::QuoteRecalled));
    assert_eq!(LetterKind::for_move("newer_quote", false), None);
    assert_eq!(LetterKind::for_move("", false), None);
    for kind in LetterKind::ALL {
        assert_eq!(LetterKind::from_spelling(kind.spelling()), Some(kind));
        assert_eq!(serde_json::to_value(kind).unwrap(), kind.spelling());
    }
}

#[test]
fn one_person_gets_one_letter_and_two_get_what_is_theirs() {
    for kind in LetterKind::ALL {
        assert_eq!(readers(kind, 1, 1), [(1, Reader::ContactAndOwner)], "{kind:?}");
        let two = readers(kind, 1, 2);
        let expected = match addressees(kind) {
            Addressees::Contact => vec![(1, Reader::Contact)],
            Addressees::Owner => vec![(2, Reader::Owner)],
            Addressees::Both => vec![(1, Reader::Contact), (2, Reader::Owner)],
        };
        assert_eq!(two, expected, "{kind:?}");
        // Only who decides is asked to decide.
        assert!(!kind.asks_for_an_answer() || addressees(kind) == Addressees::Owner, "{kind:?}");
    }
}

#[test]
fn who_wants_mail_only_when_asked_is_still_asked_and_called_to_collect() {
    for kind in LetterKind::ALL {
        assert_eq!(verdict(kind, Wish::EveryChange, true), Verdict::Send);
        let without = verdict(kind, Wish::OnlyWhenAsked, false);
        assert!(matches!(without, Verdict::NotWanted(why) if why.contains("ring list")));
        let rarely = verdict(kind, Wish::OnlyWhenAsked, true);
        assert_eq!(rarely == Verdict::Send, !kind.only_tells(), "{kind:?}");
        if kind.asks_for_an_answer() {
            assert_eq!(rarely, Verdict::Send, "{kind:?}");
        }
    }
    for needed in [
        LetterKind::CheckedIn,
        LetterKind::TestsPassed,
        LetterKind::PickupReminder,
        LetterKind::Overridden,
    ] {
        assert_eq!(verdict(needed, Wish::OnlyWhenAsked, true), Verdict::Send);
    }
    assert_ne!(verdict(LetterKind::BenchDone, Wish::OnlyWhenAsked, true), Verdict::Send);
}
