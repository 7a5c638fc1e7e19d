//! Claim numbers: the reference cases, and that no single slip goes unseen.
#![expect(clippy::unwrap_used, reason = "a test may fail that way")]

mod comparing;

use comparing::{EXACT, check_all};
use proptest::prelude::*;
use serde_json::{Value, json};
use trade::words::claim_number::{ClaimNumber, ClaimNumberFault, compute};

#[test]
fn every_reference_case_holds() {
    check_all("claim-number", compute, |_| EXACT);
}

/// Source: python-stdnum's `stdnum.damm`, as the note of the reference file says.
#[test]
fn check_digits_agree_with_python_stdnum() {
    for (number, check) in
        [(1000, 8), (999_999_999, 0), (74370, 3), (630_700_660, 0), (83559, 3), (1584, 5)]
    {
        assert_eq!(ClaimNumber::make(number).unwrap().check_digit(), check, "{number}");
    }
}

/// Source: H. M. Damm, *Total anti-symmetrische Quasigruppen* (2004): 572 gives 4.
/// 572 is below a shop's first number, so it stands here behind 10008, whose interim
/// is 0 (1000-8 is valid), as the start of the scheme is.
#[test]
fn the_worked_example_of_the_thesis_holds() {
    assert_eq!(ClaimNumber::make(10_008_572).unwrap().check_digit(), 4);
}

/// The promise of Damm's scheme, counted out: every number from 1000 to 99,999, every
/// place, every other digit, and every exchange of neighbours that changes anything.
#[test]
fn every_single_wrong_digit_and_every_exchange_of_neighbours_is_seen() {
    let mut slips = 0_u32;
    for number in 1000..=99_999 {
        let claim = ClaimNumber::make(number).unwrap();
        let digits = format!("{number}{}", claim.check_digit()).into_bytes();
        assert_eq!(ClaimNumber::read(as_text(&digits)), Ok(claim));
        let mut slip = digits.clone();
        for place in 0..digits.len() {
            for digit in (b'0'..=b'9').filter(|digit| *digit != digits[place]) {
                slip[place] = digit;
                slips += 1;
                assert!(is_seen(&slip), "{} for {claim}", as_text(&slip));
            }
            slip[place] = digits[place];
            if place > 0 && digits[place] != digits[place - 1] {
                slip.swap(place, place - 1);
                slips += 1;
                assert!(is_seen(&slip), "{} for {claim}", as_text(&slip));
                slip.swap(place, place - 1);
            }
        }
    }
    assert!(slips > 5_000_000, "only {slips} slips were tried");
}

fn as_text(digits: &[u8]) -> &str {
    std::str::from_utf8(digits).unwrap()
}

fn is_seen(digits: &[u8]) -> bool {
    let expected =
        if digits[0] == b'0' { ClaimNumberFault::LeadingZero } else { ClaimNumberFault::Check };
    ClaimNumber::read(as_text(digits)) == Err(expected)
}

/// Source: `\d` of the `regex-syntax` crate, general category Nd of Unicode 16.0.
#[test]
fn a_digit_of_any_script_is_a_digit_and_nothing_else_is() {
    let class = regex_syntax::parse(r"\d").unwrap();
    let regex_syntax::hir::HirKind::Class(regex_syntax::hir::Class::Unicode(class)) = class.kind()
    else {
        panic!("a class of characters");
    };
    for sign in '\u{80}'..=char::MAX {
        let run = class.ranges().iter().find(|run| (run.start()..=run.end()).contains(&sign));
        let text = format!("1000{sign}");
        match run {
            Some(run) => {
                let digit = (u32::from(sign) - u32::from(run.start())) % 10;
                assert_eq!(ClaimNumber::read(&text).is_ok(), digit == 8, "{sign:?}");
            }
            None if sign.is_whitespace() || ('\u{2010}'..='\u{2015}').contains(&sign) => {
                assert_eq!(
                    ClaimNumber::read(&text),
                    Err(ClaimNumberFault::TooShort(4)),
                    "{sign:?}"
                );
            }
            None => assert_eq!(ClaimNumber::read(&text), Err(ClaimNumberFault::Symbol(sign))),
        }
    }
}

#[test]
fn a_claim_number_is_read_however_it_is_written() {
    let claim = ClaimNumber::make(1584).unwrap();
    for text in ["1584-5", " #1584 5", "-#15845", "1584\u{2014}5\r\n", "15.84/5", "1_5\u{a0}8 4–5"]
    {
        assert_eq!(ClaimNumber::read(text), Ok(claim), "{text:?}");
    }
    assert_eq!(serde_json::to_value(claim).unwrap(), json!("1584-5"));
    assert_eq!(serde_json::from_value::<ClaimNumber>(json!("#1584 5")).unwrap(), claim);
    assert!(serde_json::from_value::<ClaimNumber>(json!(15845)).is_err());
    assert!(serde_json::from_value::<ClaimNumber>(json!("15846")).is_err());
}

#[test]
fn what_is_no_claim_number_is_refused_for_its_first_fault() {
    for (text, slug) in [
        ("", "claim-number-length"),
        ("#", "claim-number-length"),
        ("##15845", "claim-number-symbol"),
        ("1584#5", "claim-number-symbol"),
        ("15845#", "claim-number-symbol"),
        ("l5845", "claim-number-symbol"),
        ("1584²", "claim-number-symbol"),
        ("1584½", "claim-number-symbol"),
        ("15845+", "claim-number-symbol"),
        ("1584−5", "claim-number-symbol"),
        ("1584＿5", "claim-number-symbol"),
        ("1584\u{200b}5", "claim-number-symbol"),
        ("12x", "claim-number-symbol"),
        ("1584", "claim-number-length"),
        ("00000", "claim-number-length"),
        ("015845", "claim-number-length"),
        ("12345678901", "claim-number-length"),
        ("15846", "claim-number-check"),
    ] {
        let refused = compute(&json!({ "kind": "read", "text": text })).expect_err(text);
        assert_eq!((refused.slug, refused.faults[0].pointer.as_str()), (slug, "/text"), "{text:?}");
    }
    let long = "9".repeat(1_000_000);
    assert_eq!(ClaimNumber::read(&long), Err(ClaimNumberFault::TooLong(1_000_000)));
}

#[test]
fn a_broken_question_is_refused_at_its_place() {
    for (input, pointer) in [
        (json!(null), ""),
        (json!([1]), ""),
        (json!({}), "/kind"),
        (json!({ "kind": 3 }), "/kind"),
        (json!({ "kind": "guess" }), "/kind"),
        (json!({ "kind": "make" }), "/number"),
        (json!({ "kind": "make", "number": "1000" }), "/number"),
        (json!({ "kind": "make", "number": 1000.5 }), "/number"),
        (json!({ "kind": "make", "number": -1000 }), "/number"),
        (json!({ "kind": "make", "number": 1e300 }), "/number"),
        (json!({ "kind": "make", "number": u64::MAX }), "/number"),
        (json!({ "kind": "make", "number": 1000, "text": "1" }), "/text"),
        (json!({ "kind": "read" }), "/text"),
        (json!({ "kind": "read", "text": 15845 }), "/text"),
        (json!({ "kind": "read", "text": "15845", "n/m": 1 }), "/n~1m"),
    ] {
        let refused = compute(&input).expect_err("refused");
        assert_eq!(refused.slug, "invalid-input", "{input}");
        assert!(
            refused.faults.iter().any(|fault| fault.pointer == pointer),
            "{input}: {:?}",
            refused.faults
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, rng_seed: prop::test_runner::RngSeed::Fixed(1843), ..ProptestConfig::default() })]

    #[test]
    fn what_is_made_is_read_again(number in 1000_u32..=999_999_999) {
        let claim = ClaimNumber::make(number).unwrap();
        prop_assert_eq!(ClaimNumber::read(&claim.to_string()), Ok(claim));
        let made = compute(&json!({ "kind": "make", "number": number })).unwrap();
        let read = compute(&json!({ "kind": "read", "text": made["claim_number"] })).unwrap();
        prop_assert_eq!(&read["number"], &Value::from(number));
    }

    #[test]
    fn any_text_is_answered(text in any::<String>()) {
        if let Ok(claim) = ClaimNumber::read(&text) {
            prop_assert_eq!(ClaimNumber::read(&claim.to_string()), Ok(claim));
        }
    }
}
