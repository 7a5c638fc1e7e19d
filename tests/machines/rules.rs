//! The rules that always hold, as far as one order shows them, asked after every act.

use rust_decimal::Decimal;
use store::views::WorkOrder;
use trade::words::instrument::{OperationKind, OperationState, Verdict};
use trade::words::paperwork::QuoteState;
use trade::words::stage::{Because, Stage};

/// Checks them, and what never grows less between two looks. `most_authorised` is the most that
/// the owner ever allowed on this order.
///
/// # Panics
/// With the first that does not hold.
pub fn hold(at: &str, order: &WorkOrder, before: &WorkOrder, most_authorised: Decimal) {
    let ways = &order.stage_changes;
    let last = ways.last().unwrap();
    assert_eq!(last.to, order.stage, "{at}: rule 1: the stage is what its last change says");
    for pair in ways.windows(2) {
        assert_eq!(pair[1].from, Some(pair[0].to), "{at}: rule 1: a change begins where the one before ended");
    }
    for step in order.operations.iter().filter(|step| step.state == OperationState::Running) {
        assert!(step.running.is_some(), "{at}: a running step has its clock");
    }
    // What was begun under an acceptance stays on the bill when it is called a mistake later.
    let fee = order.examination_fee.map_or(Decimal::ZERO, |fee| fee.amount());
    assert!(order.money.total.amount() <= most_authorised.max(fee), "{at}: rule 2: nothing is charged that was never authorised");
    for quote in &order.quotes {
        if let Some(decision) = &quote.decision {
            assert_eq!(decision.quote_number, quote.number, "{at}: rule 3: a decision is on one version");
            let is_open = matches!(quote.state, QuoteState::Draft);
            assert!(!is_open, "{at}: rule 3: nobody answers a draft");
        }
    }
    let waiting = order.quotes.iter().filter(|quote| quote.state == QuoteState::Sent).count();
    assert!(waiting <= 1, "{at}: rule 3: one version is out at most");
    if order.stage == Stage::Pickup {
        let came = ways.iter().rev().find(|change| change.to == Stage::Pickup).unwrap();
        let repair_begun = order
            .operations
            .iter()
            .any(|step| step.kind == OperationKind::Work && matches!(step.state, OperationState::Paused | OperationState::Done));
        if repair_begun && came.because == Because::TestsPassed {
            let arrived = ways.iter().rev().find(|change| change.to == Stage::LeakTest).unwrap().at;
            assert!(order.tests.iter().any(|test| test.verdict == Some(Verdict::Passed) && test.at >= arrived), "{at}: rule 4: passed since it arrived");
        }
        let may_be_untested = matches!(
            came.because,
            Because::Overridden | Because::Withdrawn | Because::NotRepairable | Because::Unanswered | Because::TestsPassed | Because::Declined
        );
        assert!(!repair_begun || may_be_untested, "{at}: rule 4: begun, and to pickup because of {}", came.because);
        if matches!(came.because, Because::Overridden | Because::Withdrawn | Because::NotRepairable) {
            assert!(came.reason.as_deref().is_some_and(|reason| !reason.is_empty()), "{at}: rule 4: it says why");
        }
    }
    for change in ways.iter().skip(before.stage_changes.len()) {
        let told = order.letters.iter().filter(|letter| letter.queued_at == change.at).count();
        assert!(told > 0, "{at}: rule 8: no letter tells of {} or says why not", change.because);
    }
    for (what, now, then) in [
        ("findings", order.findings.len(), before.findings.len()),
        ("tests", order.tests.len(), before.tests.len()),
        ("quotes", order.quotes.len(), before.quotes.len()),
        ("steps", order.operations.len(), before.operations.len()),
        ("letters", order.letters.len(), before.letters.len()),
        ("payments", order.payments.len(), before.payments.len()),
        ("moves", ways.len(), before.stage_changes.len()),
    ] {
        assert!(now >= then, "{at}: rule 9: {what} were lost");
    }
    for step in order.operations.iter().filter(|step| step.irreversible && step.actual_minutes > 0) {
        let named = order.quotes.iter().filter_map(|quote| quote.decision.as_ref()).any(|decision| decision.accepted_by_name.contains(&step.id));
        assert!(named, "{at}: rule 14: {} was begun and never accepted by name", step.title);
    }
}
