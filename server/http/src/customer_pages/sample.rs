//! An invented order for the tests of what its pages say, grown step by step as it is in the shop.

use super::link::Opened;
use chrono::{DateTime, NaiveDate, TimeZone, Utc};
use rust_decimal::Decimal;
use serde_json::json;
use store::Word;
use store::customers::CustomerRow;
use store::desk_fields::DeskFieldsRow;
use store::decisions::{DecisionRow, DisputeRow};
use store::findings::FindingRow;
use store::instruments::InstrumentRow;
use store::links::LinkRow;
use store::operations::OperationRow;
use store::order_rows::OrderRows;
use store::part_maps::InstrumentMap;
use store::quotes::QuoteRow;
use store::shops::ShopRow;
use store::small_things::{HoldRow, TestRow};
use store::work_orders::{StageChangeRow, WorkOrderRow};
use trade::words::ids::OperationId;
use trade::words::instrument::{
    Disposition, Family, FindingKind, FoundWhen, Heat, Leaks, OperationKind, OperationState,
    TestKind, Verdict,
};
use trade::words::money::Currency;
use trade::words::paperwork::{
    Answer, AnswerHow, CustomerKind, LineKind, LinkPurpose, MailWanted, QuoteState,
};
use trade::words::quote::{ContentDiscount, ContentLine, ContentTaxClass, QuoteContent};
use trade::words::stage::{Because, HoldReason, Stage, WaitsFor};
use uuid::Uuid;

/// That hour of that day of June 2026, UTC; the shop's clock in Dublin says one hour more.
pub(super) fn at(day: u32, hour: u32) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 6, day, hour, 0, 0).unwrap()
}

/// That day of June 2026.
pub(super) fn june(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, day).unwrap()
}

/// The thing with this number, in ids.
pub(super) fn id(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

fn customer(number: u128, name: &str) -> CustomerRow {
    CustomerRow {
        shop_id: id(1),
        id: id(number),
        kind: Word(CustomerKind::Person),
        name: name.into(),
        email: Some(format!("{}@lund.example", name.to_lowercase())),
        phone: None,
        language: "en".into(),
        mail_wanted: Word(MailWanted::EveryChange),
        note: None,
        version: 1,
        changed_by: "Mara".into(),
        changed_at: at(1, 8),
        created_at: at(1, 8),
    }
}

/// A baritone checked in on 1 June at nine, promised for the 16th; Jonas brought it, and Eva owns it.
pub(super) fn checked_in() -> OrderRows {
    let (contact, owner) = (customer(10, "Jonas"), customer(11, "Eva"));
    let mut rows = OrderRows {
        shop: ShopRow {
            shop_id: id(1),
            name: "Millrace Instrument Repair".into(),
            address: "4 Millrace Lane".into(),
            phone: "555 0100".into(),
            email: "shop@millrace.example".into(),
            language: "en".into(),
            time_zone: "Europe/Dublin".into(),
            currency: "EUR".into(),
            calendar: json!({"weekly": {"monday": [{"from": "09:00", "to": "18:00"}]}}),
            tax_classes: json!([{"id": "standard", "percent": "20"}]),
            prices_include_tax: false,
            labour_rate: Decimal::from(75),
            quote_days: 14,
            reminder_days: json!([7]),
            quote_reminder_days: json!([7]),
            care_notes: json!({}),
            terms: String::new(),
            next_claim_count: 2000,
            version: 1,
            changed_by: "Mara".into(),
            changed_at: at(1, 8),
            test_settings: json!({}),
        },
        people: std::collections::HashMap::new(),
        part_map: InstrumentMap {
            map: std::borrow::Cow::Borrowed(trade::maps::template_of(Family::Baritone)),
            version: 0,
            changed: None,
        },
        order: WorkOrderRow {
            shop_id: id(1),
            id: id(2),
            claim_count: 1843,
            customer_id: contact.id,
            owner_id: owner.id,
            instrument_id: id(3),
            stage: Word(Stage::Intake),
            stage_since: at(1, 8),
            complaint: "hisses".into(),
            condition_note: Some("staff: careless owner".into()),
            keep_as_is: None,
            accessories: json!([{"name": "case", "returned": false}]),
            may_cost: None,
            examination_fee: Some(Decimal::from(25)),
            promised_on: june(16),
            promise_reason: None,
            place: None,
            terms: String::new(),
            checked_in_at: at(1, 8),
            checked_in_by: id(20),
            claimed_by: None,
            claimed_at: None,
            ending_because: None,
            ending_reason: None,
            ending_by: None,
            ending_at: None,
            question: None,
            question_by: None,
            question_at: None,
            version: 1,
            changed_by: "Mara".into(),
            changed_at: at(1, 8),
        },
        customer: contact,
        owner,
        instrument: InstrumentRow {
            shop_id: id(1),
            id: id(3),
            owner_id: id(11),
            family: Word(Family::Baritone),
            maker: Some("Halvane".into()),
            model: None,
            serial_number: Some("4417".into()),
            age_text: None,
            finish: None,
            owners_number: None,
            version: 1,
            changed_by: "Mara".into(),
            changed_at: at(1, 8),
        },
        last_here: None,
        counter_marks: vec![],
        findings: vec![],
        photos: vec![],
        operations: vec![],
        times: vec![],
        quotes: vec![],
        decisions: vec![],
        disputes: vec![],
        tests: vec![],
        fit_checks: vec![],
        pressure_answers: std::collections::HashMap::new(),
        holds: vec![],
        notes: vec![],
        payments: vec![],
        struck_payments: vec![],
        handover: None,
        waivers: Vec::new(),
        stage_changes: vec![],
        desk_fields: DeskFieldsRow::none(id(1), id(2)),
        changes: vec![],
        letters: vec![],
        links: vec![],
    };
    moved(&mut rows, at(1, 8), Stage::Intake, Because::CheckedIn);
    rows
}

/// Moves the order.
pub(super) fn moved(rows: &mut OrderRows, when: DateTime<Utc>, to: Stage, because: Because) {
    let from = (!rows.stage_changes.is_empty()).then_some(rows.order.stage);
    rows.stage_changes.push(StageChangeRow {
        shop_id: id(1),
        id: id(1000 + rows.stage_changes.len() as u128),
        work_order_id: id(2),
        number: i32::try_from(rows.stage_changes.len()).unwrap() + 1,
        from_stage: from,
        to_stage: Word(to),
        because: Word(because),
        reason: Some("why".into()),
        by_person: Some(id(20)),
        by_words: "Mara Voss".into(),
        changed_at: when,
    });
    rows.order.stage = Word(to);
    rows.order.stage_since = when;
}

/// Records a crack somewhere, which leaks.
pub(super) fn crack(
    rows: &mut OrderRows,
    when: DateTime<Utc>,
    part: &str,
    disposition: Disposition,
    shared: bool,
) -> Uuid {
    let number = i32::try_from(rows.findings.len()).unwrap() + 1;
    let own = id(100 + rows.findings.len() as u128);
    rows.findings.push(FindingRow {
        shop_id: id(1),
        id: own,
        work_order_id: id(2),
        number,
        kind: Word(FindingKind::Crack),
        part: part.into(),
        side: None,
        position_mm: None,
        size_mm: Some(Decimal::from(14)),
        leaks: Word(Leaks::Yes),
        likely_to_spread: false,
        found_when: Word(FoundWhen::FirstExamination),
        disposition: Word(disposition),
        disposition_reason: Some("as it is".into()),
        note: Some("staff: looks like a bodge".into()),
        shared,
        struck_reason: None,
        found_by: id(20),
        found_at: when,
        version: 1,
        changed_by: "Mara".into(),
        changed_at: when,
        overruled: None,
    });
    own
}

/// Plans a step that answers a finding.
pub(super) fn step(
    rows: &mut OrderRows,
    title: &str,
    finding: Uuid,
    state: OperationState,
) -> Uuid {
    let own = id(200 + rows.operations.len() as u128);
    rows.operations.push(OperationRow {
        shop_id: id(1),
        id: own,
        work_order_id: id(2),
        number: i32::try_from(rows.operations.len()).unwrap() + 1,
        title: title.into(),
        kind: Word(OperationKind::Work),
        method_id: None,
        heat: Word(Heat::None),
        irreversible: false,
        finding_ids: json!([finding]),
        after_ids: json!([]),
        low_minutes: 1,
        typical_minutes: 2,
        high_minutes: 3,
        price: Decimal::from(50),
        tax_class: "standard".into(),
        state: Word(state),
        begun_at: None,
        claimed_by: None,
        claimed_at: None,
        rework_count: 0,
        waits_for_answer: false,
        struck_reason: None,
        version: 1,
        changed_by: "Mara".into(),
        changed_at: at(1, 8),
        joint: None,
        needs_apart: json!([]),
        chosen_ways: json!([]),
        method_changed_at: None,
    });
    own
}

/// A line of a quote.
pub(super) fn line(number: u128, text: &str, price: &str, operation: Option<Uuid>) -> ContentLine {
    ContentLine {
        id: id(300 + number),
        kind: LineKind::Labour,
        text: text.into(),
        quantity: Decimal::ONE,
        unit_price: price.parse().unwrap(),
        tax_class: "standard".into(),
        discount_percent: None,
        optional: false,
        operation_id: operation.map(OperationId),
        irreversible: false,
        is_new: false,
    }
}

/// Sends a quote version that is open until the 20th; whatever was out before is superseded.
pub(super) fn sent(
    rows: &mut OrderRows,
    when: DateTime<Utc>,
    lines: Vec<ContentLine>,
    discount: Option<ContentDiscount>,
) -> Uuid {
    for old in rows.quotes.iter_mut().filter(|quote| quote.state.0 == QuoteState::Sent) {
        old.state = Word(QuoteState::Superseded);
    }
    let own = id(400 + rows.quotes.len() as u128);
    let mut content = QuoteContent {
        message: Some("As found.".into()),
        lines,
        discount,
        tax_classes: vec![ContentTaxClass { id: "standard".into(), percent: Decimal::from(20) }],
        prices_include_tax: rows.shop.prices_include_tax,
        currency: Currency::from_code("EUR").unwrap(),
        limit: Decimal::ZERO,
        expires_on: june(20),
        range: None,
    };
    content.limit = content.total_of(|_| true).unwrap();
    rows.quotes.push(QuoteRow {
        shop_id: id(1),
        id: own,
        work_order_id: id(2),
        number: i32::try_from(rows.quotes.len()).unwrap() + 1,
        state: Word(QuoteState::Sent),
        is_extra: !rows.acceptances().unwrap().is_empty(),
        total: content.total_without_optional().unwrap(),
        limit_amount: content.limit,
        expires_on: content.expires_on,
        content_hash: Some(content.hash()),
        content: json!(content),
        sent_by: Some(id(20)),
        sent_at: Some(when),
        seen_at: None,
        struck_reason: None,
        version: 1,
        changed_by: "Mara".into(),
        changed_at: when,
        days_count: None,
    });
    own
}

/// Answers the version that is out.
pub(super) fn decided(rows: &mut OrderRows, when: DateTime<Utc>, answer: Answer) -> Uuid {
    let own = id(500 + rows.decisions.len() as u128);
    let quote = rows.quotes.iter_mut().rfind(|quote| quote.state.0 == QuoteState::Sent).unwrap();
    if answer == Answer::Questions {
        rows.order.question = Some("Why?".into());
        rows.order.question_at = Some(when);
    } else {
        quote.state = Word(QuoteState::Answered);
        rows.order.question = None;
    }
    rows.decisions.push(DecisionRow {
        shop_id: id(1),
        id: own,
        work_order_id: id(2),
        quote_id: quote.id,
        content_hash: quote.content_hash.clone().unwrap(),
        answer: Word(answer),
        how: Word(AnswerHow::Link),
        typed_name: "Eva".into(),
        recorded_by: None,
        chosen_lines: json!([]),
        accepted_by_name: json!([]),
        question: (answer == Answer::Questions).then(|| "Why?".into()),
        decided_at: when,
    });
    own
}

/// Calls a decision a mistake: its version is out again.
pub(super) fn disputed(rows: &mut OrderRows, when: DateTime<Utc>, decision: Uuid) {
    let quote = rows.decisions.iter().find(|d| d.id == decision).unwrap().quote_id;
    rows.quotes.iter_mut().find(|q| q.id == quote).unwrap().state = Word(QuoteState::Sent);
    rows.order.question = Some("This was a mistake.".into());
    rows.order.question_at = Some(when);
    rows.disputes.push(DisputeRow {
        shop_id: id(1),
        id: id(600 + rows.disputes.len() as u128),
        decision_id: decision,
        typed_name: "Eva".into(),
        reason: None,
        recorded_by: None,
        disputed_at: when,
    });
    moved(rows, when, Stage::Approval, Because::AcceptanceDisputed);
}

/// Records a failed leak test at the third slide.
pub(super) fn failed(rows: &mut OrderRows, when: DateTime<Utc>, finding: Option<Uuid>) {
    rows.tests.push(TestRow {
        shop_id: id(1),
        id: id(700 + rows.tests.len() as u128),
        work_order_id: id(2),
        kind: Word(TestKind::LeakTest),
        method: None,
        scope: "whole instrument".into(),
        verdict: Some(Word(Verdict::Failed)),
        where_words: Some("third slide".into()),
        finding_id: finding,
        apart_from: json!([]),
        note: Some("staff: my own fault".into()),
        tested_by: id(20),
        tested_at: when,
        spots: json!([]),
        overruled_because: None,
    });
    moved(rows, when, Stage::Bench, Because::TestFailed);
}

/// Holds the order.
pub(super) fn held(
    rows: &mut OrderRows,
    when: DateTime<Utc>,
    reason: HoldReason,
    look_again_on: Option<NaiveDate>,
) {
    rows.holds.push(HoldRow {
        shop_id: id(1),
        id: id(800 + rows.holds.len() as u128),
        work_order_id: id(2),
        reason: Word(reason),
        look_again_on,
        note: Some("staff: supplier is slow".into()),
        set_by: id(20),
        set_at: when,
        lifted_at: None,
        supplier: (reason.waits_for() == WaitsFor::Supplier).then(|| "staff: Reedmouth".into()),
        order_number: None,
        expected_on: None,
    });
}

/// Opens the order on a day of June by the link of the contact (10) or the owner (11), for a
/// quote where it is an answer link.
pub(super) fn opened(rows: OrderRows, day: u32, reader: u128, quote: Option<Uuid>) -> Opened {
    Opened {
        secret: "aSecretOfTheTests0000000000000000".into(),
        link: LinkRow {
            shop_id: id(1),
            id: id(900),
            work_order_id: id(2),
            purpose: Word(if quote.is_some() { LinkPurpose::Answer } else { LinkPurpose::Status }),
            quote_id: quote,
            issued_at: at(1, 8),
            expires_at: None,
            withdrawn_at: None,
            customer_id: id(reader),
        },
        rows,
        today: june(day),
        ready_if_answered: None,
    }
}
