//! Quotes: the reference cases, what must hold of every quote, and what is refused.
#![expect(clippy::unwrap_used, reason = "a test may fail that way")]

mod comparing;

use comparing::{EXACT, check_all, reference};
use proptest::prelude::*;
use rust_decimal::Decimal;
use serde_json::{Value, json};
use trade::words::money::{Currency, Money, MoneyFault};
use trade::words::quote_totals::{
    PercentOrAmount, QuoteInput, QuoteLine, TaxClass, compute, share_out, totals,
};

#[test]
fn every_reference_case_holds() {
    check_all("quote-totals", compute, |_| EXACT);
}

fn a_quote() -> Value {
    json!({
        "currency": "EUR",
        "prices_include_tax": false,
        "tax_classes": [{ "id": "std", "percent": "19" }],
        "lines": [{ "kind": "labour", "quantity": "1", "unit_price": "100.00", "tax_class": "std" }],
    })
}

#[test]
fn every_refusal_names_its_place() {
    let long = vec![a_quote()["lines"][0].clone(); 501];
    for (pointer, wrong) in [
        ("/currency", json!("eur")),
        ("/currency", json!("XAU")),
        ("/currency", json!(978)),
        ("/prices_include_tax", json!("no")),
        ("/tax_classes/0/percent", json!("100.001")),
        ("/tax_classes/0/percent", json!("19.0001")),
        ("/tax_classes/0/percent", json!("-19")),
        ("/tax_classes/0/percent", json!("1e1")),
        ("/tax_classes/0/percent", json!(19)),
        ("/lines", json!([])),
        ("/lines", json!(long)),
        ("/lines/0/kind", json!("gift")),
        ("/lines/0/quantity", json!("1.0001")),
        ("/lines/0/quantity", json!("-1")),
        ("/lines/0/quantity", json!("+1")),
        ("/lines/0/quantity", json!("")),
        ("/lines/0/quantity", json!("1.")),
        ("/lines/0/quantity", json!(".5")),
        ("/lines/0/quantity", json!("1,5")),
        ("/lines/0/quantity", json!("1_000")),
        ("/lines/0/quantity", json!(" 1")),
        ("/lines/0/quantity", json!("\u{661}")),
        ("/lines/0/quantity", json!("1234567890123")),
        ("/lines/0/quantity", json!("NaN")),
        ("/lines/0/unit_price", json!("1.2345678")),
        ("/lines/0/unit_price", json!(100)),
        ("/lines/0/discount_percent", json!("101")),
        ("/lines/0/tax_class", json!("low")),
        ("/discount", json!({})),
        ("/discount", json!("10")),
        ("/discount", json!({ "percent": "10", "amount": "1" })),
        ("/discount/rate", json!({ "percent": "10", "rate": "1" })),
        ("/discount/percent", json!({ "percent": "100.5" })),
        ("/discount/amount", json!({ "amount": "0.001" })),
        ("/discount/amount", json!({ "amount": "100.01" })),
        ("/authorised", json!("0.001")),
        ("/authorised", json!({ "amount": "1.00", "currency": "EUR" })),
        ("/deposit/amount", json!({ "amount": "0.001" })),
        ("/deposit/percent", json!({ "percent": "101" })),
        ("/paid", json!("0.005")),
        ("/paid", json!("-1")),
        ("/colour", json!(1)),
    ] {
        let mut input = a_quote();
        put(&mut input, pointer, wrong.clone());
        let refused = compute(&input).expect_err(pointer);
        assert_eq!(refused.slug, "invalid-input");
        let pointers: Vec<&str> =
            refused.faults.iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(pointers, [pointer], "{wrong}");
    }
}

/// Puts a value where a fault is expected; a part of a discount stands for the whole of it.
fn put(input: &mut Value, pointer: &str, value: Value) {
    let fields: Vec<&str> = pointer.split('/').skip(1).collect();
    match (fields.as_slice(), value.is_object()) {
        ([field @ ("discount" | "deposit"), _], true) => input[*field] = value,
        ([list, index, field], _) => input[*list][index.parse::<usize>().unwrap()][*field] = value,
        ([list, index], _) => input[*list][index.parse::<usize>().unwrap()] = value,
        ([field], _) => input[*field] = value,
        _ => unreachable!("no such place"),
    }
}

#[test]
fn all_faults_are_told_together() {
    let refused = compute(&json!({
        "currency": "EURO",
        "tax_classes": [{ "id": "std", "percent": "119" }, { "id": "std", "percent": "7" }],
        "lines": [{ "kind": "gift", "quantity": 1, "tax_class": "none", "colour": "red" }],
        "discount": { "amount": "1e3" },
        "paid": 5,
    }))
    .expect_err("refused");
    let mut pointers: Vec<&str> =
        refused.faults.iter().map(|fault| fault.pointer.as_str()).collect();
    pointers.sort_unstable();
    assert_eq!(
        pointers,
        [
            "/currency",
            "/discount/amount",
            "/lines/0/colour",
            "/lines/0/kind",
            "/lines/0/quantity",
            "/lines/0/tax_class",
            "/lines/0/unit_price",
            "/paid",
            "/prices_include_tax",
            "/tax_classes/0/percent",
            "/tax_classes/1/id",
        ]
    );
}

#[test]
fn what_is_no_quote_at_all_is_refused() {
    for (pointer, wrong) in [
        ("/tax_classes", json!({})),
        ("/tax_classes/0/id", json!(1)),
        ("/lines", json!("none")),
        ("/lines/0", json!("labour")),
    ] {
        let mut input = a_quote();
        put(&mut input, pointer, wrong);
        let refused = compute(&input).expect_err(pointer);
        assert!(
            refused.faults.iter().any(|fault| fault.pointer == pointer),
            "{:?}",
            refused.faults
        );
    }
    for input in [
        json!(null),
        json!(1),
        json!([]),
        json!("quote"),
        json!({}),
        json!({ "lines": [null, 1, [[]]] }),
    ] {
        assert_eq!(compute(&input).expect_err("refused").slug, "invalid-input", "{input}");
    }
}

#[test]
fn trailing_zeros_are_not_finer_than_the_minor_unit() {
    let mut input = a_quote();
    input["paid"] = json!("1.5000");
    assert_eq!(compute(&input).unwrap()["due"]["amount"], "117.50");
}

/// Checked with Python: `Decimal("999999999999.999") * Decimal("999999999999.999999")`
/// is 999999999999998999000000.000000001.
#[test]
fn the_largest_line_is_exact() {
    let mut input = a_quote();
    input["lines"][0]["quantity"] = json!("999999999999.999");
    input["lines"][0]["unit_price"] = json!("999999999999.999999");
    input["tax_classes"][0]["percent"] = json!("0");
    for (currency, amount) in [
        ("EUR", "999999999999998999000000.00"),
        ("CLF", "999999999999998999000000.0000"),
        ("JPY", "999999999999998999000000"),
    ] {
        input["currency"] = json!(currency);
        let answer = compute(&input).unwrap();
        assert_eq!(answer["total"]["amount"], amount);
        assert_eq!(answer["lines"][0]["amount"]["amount"], amount);
    }
}

#[test]
fn a_sum_beyond_every_decimal_is_refused_and_a_large_one_is_shared_exactly() {
    let mut input = a_quote();
    let line = json!({ "kind": "labour", "quantity": "999999999999.999", "unit_price": "999999999999.999999", "tax_class": "std" });
    input["lines"] = json!(vec![line; 500]);
    input["tax_classes"][0]["percent"] = json!("100");
    input["discount"] = json!({ "percent": "33.333" });
    assert!(compute(&input).is_ok());
    input["currency"] = json!("CLF");
    let refused = compute(&input).expect_err("refused");
    assert_eq!(refused.faults[0].pointer, "/lines");

    input["currency"] = json!("EUR");
    input["tax_classes"][0]["percent"] = json!("0");
    input["discount"] = json!({ "amount": "999999999999.99" });
    let answer = compute(&input).unwrap();
    // 99,999,999,999,999 cents over 500 equal lines: 199,999,999,999 each and 499 left over.
    for (index, line) in answer["lines"].as_array().unwrap().iter().enumerate() {
        let expected = if index < 499 { "2000000000.00" } else { "1999999999.99" };
        assert_eq!(line["quote_discount"]["amount"], expected, "line {index}");
    }
}

/// ISO 4217, list one; from memory, all others have two places.
#[test]
fn currencies_have_the_places_of_iso_4217() {
    let none = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF";
    for (codes, places) in [(none, 0), ("BHD IQD JOD KWD LYD OMR TND", 3), ("CLF UYW", 4)] {
        for code in codes.split(' ') {
            assert_eq!(Currency::from_code(code).unwrap().places(), places, "{code}");
        }
    }
    for code in ["EUR", "USD", "GBP", "CHF", "MGA", "MRU", "HUF", "CVE", "IRR", "LBP", "TZS"] {
        assert_eq!(Currency::from_code(code).unwrap().places(), 2, "{code}");
    }
    for (code, places) in reference("quote-totals")["minor_units"].as_object().unwrap() {
        assert_eq!(
            u64::from(Currency::from_code(code).unwrap().places()),
            places.as_u64().unwrap(),
            "{code}"
        );
    }
    for code in ["", "eur", "EU", "XXX", "XTS", "XAU", "XDR", "EURO", "ÄÖÜ"] {
        assert_eq!(Currency::from_code(code), Err(MoneyFault::UnknownCurrency), "{code}");
    }
}

#[test]
fn money_is_written_as_text_and_read_only_from_text() {
    let money = Money::new(Decimal::new(12345, 2), Currency::EUR).unwrap();
    assert_eq!(
        serde_json::to_value(money).unwrap(),
        json!({ "amount": "123.45", "currency": "EUR" })
    );
    assert_eq!(money.to_string(), "123.45 EUR");
    let yen = Currency::from_code("JPY").unwrap();
    assert_eq!(Money::new(Decimal::new(500, 0), yen).unwrap().to_string(), "500 JPY");
    assert_eq!(Money::new(Decimal::new(5, 1), yen), Err(MoneyFault::FinerThanMinorUnit(yen)));
    for (text, minor_units) in
        [("123.45", 12345), ("123.4", 12340), ("7", 700), ("-0.05", -5), ("0.010000", 1)]
    {
        let read: Money =
            serde_json::from_value(json!({ "amount": text, "currency": "EUR" })).unwrap();
        assert_eq!(read.minor_units(), minor_units, "{text}");
        assert_eq!(
            serde_json::from_value::<Money>(serde_json::to_value(read).unwrap()).unwrap(),
            read
        );
    }
    for wrong in [
        json!({ "amount": 123.45, "currency": "EUR" }),
        json!({ "amount": 123, "currency": "EUR" }),
        json!({ "amount": "1e2", "currency": "EUR" }),
        json!({ "amount": "+1", "currency": "EUR" }),
        json!({ "amount": "--1", "currency": "EUR" }),
        json!({ "amount": "1.005", "currency": "EUR" }),
        json!({ "amount": "9999999999999999999999999999", "currency": "EUR" }),
        json!({ "amount": "1.00", "currency": "XXX" }),
        json!({ "amount": "1.00", "currency": "EUR", "colour": "red" }),
        json!({ "amount": "1.00" }),
        json!("1.00"),
    ] {
        assert!(serde_json::from_value::<Money>(wrong.clone()).is_err(), "{wrong}");
    }
}

#[test]
fn money_of_two_currencies_is_neither_added_nor_compared() {
    let euro = Money::from_minor_units(500, Currency::EUR).unwrap();
    let yen = Money::from_minor_units(500, Currency::from_code("JPY").unwrap()).unwrap();
    assert_eq!(euro.plus(yen), Err(MoneyFault::OtherCurrency));
    assert_eq!(euro.partial_cmp(&yen), None);
    assert_eq!(euro.minus(euro), Ok(Money::zero(Currency::EUR)));
    let most = Money::from_minor_units((1 << 96) - 1, Currency::EUR).unwrap();
    assert_eq!(most.plus(euro), Err(MoneyFault::TooLarge));
    assert_eq!(most.amount().to_string(), "792281625142643375935439503.35");
    let mut quote = typed(&[(1, 100, 0, 0)], &[19], false);
    quote.paid = Some(yen);
    assert_eq!(totals(&quote).expect_err("refused").faults[0].pointer, "/paid");
}

/// Lines as (quantity, price in cents, class, discount percent).
fn typed(
    lines: &[(u32, u32, usize, u32)],
    percents: &[u32],
    prices_include_tax: bool,
) -> QuoteInput {
    QuoteInput {
        currency: Currency::EUR,
        prices_include_tax,
        tax_classes: percents
            .iter()
            .enumerate()
            .map(|(index, percent)| TaxClass {
                id: index.to_string(),
                percent: Decimal::from(*percent),
            })
            .collect(),
        lines: lines
            .iter()
            .map(|(quantity, cents, class, percent)| QuoteLine {
                quantity: Decimal::new(i64::from(*quantity), 1),
                unit_price: Decimal::new(i64::from(*cents), 2),
                tax_class: (class % percents.len()).to_string(),
                discount_percent: Some(Decimal::from(*percent)),
            })
            .collect(),
        discount: None,
        authorised: None,
        deposit: None,
        paid: None,
    }
}

fn sum(of: impl Iterator<Item = Money>) -> i128 {
    of.map(Money::minor_units).sum()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, rng_seed: prop::test_runner::RngSeed::Fixed(9), ..ProptestConfig::default() })]

    #[test]
    fn net_and_tax_are_the_total_and_the_shares_are_the_discount(
        lines in prop::collection::vec((0_u32..50, 0_u32..100_000, 0_usize..3, 0_u32..=100), 1..40),
        percents in prop::collection::vec(0_u32..=100, 1..4),
        included in any::<bool>(),
        off_percent in 0_u32..=100_000,
        by_amount in any::<bool>(),
    ) {
        let mut quote = typed(&lines, &percents, included);
        let before = totals(&quote).unwrap();
        let available = sum(before.lines.iter().map(|line| line.after_discount));
        let off = available * i128::from(off_percent) / 100_000;
        quote.discount = Some(if by_amount {
            PercentOrAmount::Amount(Money::from_minor_units(off, Currency::EUR).unwrap())
        } else {
            PercentOrAmount::Percent(Decimal::new(i64::from(off_percent), 3))
        });
        let after = totals(&quote).unwrap();
        prop_assert_eq!(after.net.plus(after.tax).unwrap(), after.total);
        let shared = sum(after.lines.iter().map(|line| line.quote_discount));
        if by_amount {
            prop_assert_eq!(shared, off);
        } else {
            // The distance from the exact share, in hundred-thousandths of a cent, is at most a half.
            prop_assert!((shared * 100_000 - available * i128::from(off_percent)).abs() <= 50_000);
        }
        for line in &after.lines {
            prop_assert!(!line.after_discount.is_negative() && !line.quote_discount.is_negative());
            let parts = line.line_discount.plus(line.quote_discount).unwrap().plus(line.after_discount).unwrap();
            prop_assert_eq!(parts, line.amount);
        }
        for class in &after.tax_classes {
            prop_assert_eq!(class.net.plus(class.tax).unwrap(), class.gross);
        }
        prop_assert_eq!(sum(after.tax_classes.iter().map(|class| class.net)), after.net.minor_units());
        prop_assert_eq!(sum(after.tax_classes.iter().map(|class| class.tax)), after.tax.minor_units());
        let left = sum(after.lines.iter().map(|line| line.after_discount));
        prop_assert_eq!(left, if included { after.total.minor_units() } else { after.net.minor_units() });
    }

    #[test]
    fn another_order_of_lines_moves_only_the_odd_unit_between_tied_lines(
        numbered in prop::collection::vec(0_i128..2_000, 1..30)
            .prop_map(|amounts| amounts.into_iter().enumerate().collect::<Vec<_>>())
            .prop_flat_map(|numbered| (Just(numbered.clone()), Just(numbered).prop_shuffle())),
        part in 0_i128..=1_000,
    ) {
        let (first, second) = numbered;
        let amounts: Vec<i128> = first.iter().map(|(_, amount)| *amount).collect();
        let whole: i128 = amounts.iter().sum();
        let off = whole * part / 1_000;
        let shares = share_out(off, &amounts);
        let others = share_out(off, &second.iter().map(|(_, amount)| *amount).collect::<Vec<_>>());
        prop_assert_eq!(shares.iter().sum::<i128>(), off);
        let mut moved_remainders = Vec::new();
        for ((number, amount), other) in second.iter().zip(&others) {
            if *other != shares[*number] {
                prop_assert_eq!((other - shares[*number]).abs(), 1);
                moved_remainders.push(off * amount % whole);
            }
        }
        moved_remainders.dedup();
        prop_assert!(moved_remainders.len() <= 1, "not tied: {:?}", moved_remainders);
    }

    #[test]
    fn any_texts_for_numbers_are_answered(
        quantity in r"[0-9]{1,13}(\.[0-9]{1,7})?",
        price in r"[0-9]{1,13}(\.[0-9]{1,7})?",
        percent in r"[0-9]{1,3}(\.[0-9]{1,4})?",
        discount in r"[0-9]{1,13}(\.[0-9]{1,4})?",
        code in "EUR|JPY|BHD|CLF|XXX",
        count in 1_usize..4,
        included in any::<bool>(),
    ) {
        let line = json!({ "kind": "material", "quantity": quantity, "unit_price": price, "tax_class": "a", "discount_percent": percent });
        let input = json!({
            "currency": code,
            "prices_include_tax": included,
            "tax_classes": [{ "id": "a", "percent": percent }],
            "lines": vec![line; count],
            "discount": { "amount": discount },
            "authorised": discount,
            "deposit": { "percent": percent },
            "paid": discount,
        });
        match compute(&input) {
            Ok(answer) => prop_assert_eq!(&answer, &compute(&input).unwrap()),
            Err(refused) => prop_assert!(!refused.faults.is_empty()),
        }
    }
}
