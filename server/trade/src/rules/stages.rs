//! The table of moves: the only one, row for row as in DOMAIN.md.

use super::Refusal;
use super::facts::{By, OrderFacts, QuoteFacts, Reminders, Who};
use crate::words::instrument::OperationState;
use crate::words::spelling::{Spelt, spelt};
use crate::words::stage::{Because, Stage};
use By::{Clock, FrontDesk, Owner, Proprietor, Technician};
use Stage::{Approval, Bench, Closed, Diagnosis, Intake, LeakTest, Pickup};

spelt! {
    /// The act that makes a move which cannot be asked for by itself.
    Act {
        /// Checking in.
        CheckIn = "check_in",
        /// Sending a quote or extra-work request.
        SendQuote = "send_quote",
        /// The owner's answer.
        Decide = "decide",
        /// Calling an acceptance a mistake.
        Dispute = "dispute",
        /// What the clock does.
        Expire = "expire",
        /// Recording a test.
        RecordTest = "record_test",
        /// The wish to end, and its confirmation.
        End = "end",
        /// Handing over at the counter.
        HandOver = "hand_over",
    }
}

impl Act {
    /// Where the act is done, below `/api/v1`, with `{id}` for the order unless it says otherwise.
    #[must_use]
    pub fn path(self) -> &'static str {
        match self {
            Self::CheckIn => "/work-orders",
            Self::SendQuote => "/quotes/{quote id}/send",
            Self::Decide => "/quotes/{quote id}/decisions",
            Self::Dispute => "/decisions/{decision id}/dispute",
            Self::Expire => "the clock",
            Self::RecordTest => "/work-orders/{id}/tests",
            Self::End => "/work-orders/{id}/ending",
            Self::HandOver => "/work-orders/{id}/handover",
        }
    }
}

/// One row of the table.
#[derive(Debug)]
pub struct MoveRow {
    /// From any of these; empty for the check-in.
    pub from: &'static [Stage],
    /// To this stage.
    pub to: Stage,
    /// For this reason.
    pub because: Because,
    /// In words, as the record and the screens say it.
    pub words: &'static str,
    /// Who may.
    pub by: &'static [By],
    /// The act that makes it, when it cannot be asked for by itself.
    pub act: Option<Act>,
    /// Whether a reason must be given.
    pub needs_reason: bool,
    /// What else must hold.
    pub only_if: fn(&OrderFacts, &Who) -> Result<(), Refusal>,
}

/// A move that may be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Move {
    /// From where; none for the check-in.
    pub from: Option<Stage>,
    /// To where.
    pub to: Stage,
    /// Why.
    pub because: Because,
    /// In words.
    pub words: &'static str,
}

const ANY_OPEN: &[Stage] = &[Intake, Diagnosis, Approval, Bench, LeakTest, Pickup];
const BEFORE_PICKUP: &[Stage] = &[Intake, Diagnosis, Approval, Bench, LeakTest];

/// The table of moves. Whoever changes a rule lays it beside DOMAIN.md.
#[rustfmt::skip]
pub const MOVES: &[MoveRow] = &[
    MoveRow { from: &[], to: Intake, because: Because::CheckedIn, words: "checked in", by: &[FrontDesk], act: Some(Act::CheckIn), needs_reason: false, only_if: always },
    MoveRow { from: &[Intake], to: Diagnosis, because: Because::ExaminationBegins, words: "examination begins", by: &[Technician], act: None, needs_reason: false, only_if: claimed_by_asker },
    MoveRow { from: &[Diagnosis], to: Approval, because: Because::QuoteSent, words: "quote sent", by: &[Technician, FrontDesk], act: Some(Act::SendQuote), needs_reason: false, only_if: decided_and_quoted },
    MoveRow { from: &[Diagnosis], to: Bench, because: Because::CoveredBeforehand, words: "covered by what was authorised at the counter", by: &[Technician], act: None, needs_reason: false, only_if: covered_beforehand },
    MoveRow { from: &[Diagnosis], to: Pickup, because: Because::NothingToDo, words: "nothing to repair, or not worth it", by: &[Technician], act: None, needs_reason: true, only_if: never_started },
    MoveRow { from: &[Approval], to: Bench, because: Because::Accepted, words: "accepted", by: &[Owner, FrontDesk], act: Some(Act::Decide), needs_reason: false, only_if: current_version_open },
    MoveRow { from: &[Approval], to: Bench, because: Because::ExtraDeclined, words: "the extra is declined, the work accepted before goes on", by: &[Owner, FrontDesk], act: Some(Act::Decide), needs_reason: false, only_if: extra_is_asked },
    MoveRow { from: &[Approval], to: Bench, because: Because::Recalled, words: "the extra is taken back by the shop", by: &[Technician, FrontDesk], act: None, needs_reason: true, only_if: extra_taken_back },
    MoveRow { from: &[Approval], to: Diagnosis, because: Because::Recalled, words: "the quote is taken back by the shop", by: &[Technician, FrontDesk], act: None, needs_reason: true, only_if: quote_taken_back },
    MoveRow { from: &[Approval], to: Diagnosis, because: Because::Questions, words: "the owner asks", by: &[Owner, FrontDesk], act: Some(Act::Decide), needs_reason: false, only_if: nothing_accepted },
    MoveRow { from: &[Approval], to: Diagnosis, because: Because::Expired, words: "the quote's time ran out", by: &[Clock], act: Some(Act::Expire), needs_reason: false, only_if: run_out },
    MoveRow { from: &[Approval], to: Pickup, because: Because::Declined, words: "declined", by: &[Owner, FrontDesk, Technician], act: Some(Act::Decide), needs_reason: false, only_if: declined_and_ready },
    MoveRow { from: &[Bench], to: Approval, because: Because::ExtraWork, words: "extra work found", by: &[Technician], act: Some(Act::SendQuote), needs_reason: false, only_if: needs_asking },
    MoveRow { from: &[Bench], to: Approval, because: Because::AcceptanceDisputed, words: "called a mistake by the owner", by: &[Owner, FrontDesk], act: Some(Act::Dispute), needs_reason: false, only_if: may_be_a_mistake },
    MoveRow { from: &[Bench], to: LeakTest, because: Because::BenchDone, words: "bench work done", by: &[Technician], act: None, needs_reason: false, only_if: every_operation_settled },
    MoveRow { from: &[LeakTest], to: Bench, because: Because::TestFailed, words: "failed", by: &[Technician], act: Some(Act::RecordTest), needs_reason: false, only_if: not_ending },
    MoveRow { from: &[LeakTest], to: Pickup, because: Because::TestsPassed, words: "passed", by: &[Technician], act: Some(Act::RecordTest), needs_reason: false, only_if: every_test_passed },
    MoveRow { from: &[LeakTest], to: Pickup, because: Because::Overridden, words: "let go on the proprietor's word", by: &[Proprietor], act: None, needs_reason: true, only_if: not_ending },
    MoveRow { from: BEFORE_PICKUP, to: Pickup, because: Because::Withdrawn, words: "withdrawn by the customer", by: &[FrontDesk, Technician], act: Some(Act::End), needs_reason: true, only_if: ready_to_hand_over },
    MoveRow { from: &[Diagnosis, Approval], to: Pickup, because: Because::Unanswered, words: "the owner never answered", by: &[FrontDesk, Technician], act: Some(Act::End), needs_reason: false, only_if: never_answered },
    MoveRow { from: &[Diagnosis, Bench, LeakTest], to: Pickup, because: Because::NotRepairable, words: "cannot be repaired after all", by: &[Technician], act: Some(Act::End), needs_reason: true, only_if: ready_to_hand_over },
    MoveRow { from: &[Pickup], to: Bench, because: Because::SentBack, words: "sent back at the counter", by: &[FrontDesk], act: None, needs_reason: true, only_if: came_through_tests },
    MoveRow { from: &[Pickup], to: Diagnosis, because: Because::Reopened, words: "to be done after all", by: &[FrontDesk], act: None, needs_reason: true, only_if: did_not_come_through_tests },
    MoveRow { from: &[Pickup], to: Closed, because: Because::Collected, words: "collected", by: &[FrontDesk], act: Some(Act::HandOver), needs_reason: false, only_if: settled_at_the_counter },
    MoveRow { from: &[Pickup], to: Closed, because: Because::Shipped, words: "shipped", by: &[FrontDesk], act: Some(Act::HandOver), needs_reason: false, only_if: settled_at_the_counter },
    MoveRow { from: ANY_OPEN, to: Closed, because: Because::OtherwiseSettled, words: "kept, bought by the shop, scrapped or lost", by: &[Proprietor], act: None, needs_reason: true, only_if: nothing_running },
    MoveRow { from: &[Intake], to: Closed, because: Because::EnteredByMistake, words: "entered by mistake", by: &[FrontDesk], act: None, needs_reason: true, only_if: nothing_recorded },
];

/// The row of one move; `None` when the table has none.
#[must_use]
pub fn row(from: Option<Stage>, to: Stage, because: Because) -> Option<&'static MoveRow> {
    MOVES.iter().find(|row| {
        row.to == to && row.because == because && from.map_or(row.from.is_empty(), |from| row.from.contains(&from))
    })
}

/// Whether this order may go to `to` for this reason when `who` asks, by the act `through`
/// (none: asked for by itself).
///
/// # Errors
/// The first thing in the way, in words the person can act on: `no-such-move`, `not-yours`,
/// `use-the-act`, `reason-missing`, or what the row's condition says.
pub fn decide_move(
    order: &OrderFacts,
    to: Stage,
    because: Because,
    reason: Option<&str>,
    who: &Who,
    through: Option<Act>,
) -> Result<Move, Refusal> {
    let from = order.stage;
    let Some(row) = row(from, to, because) else {
        let from = from.map_or("nowhere", Spelt::spelling);
        return Err(Refusal::new(
            "no-such-move",
            format!("An order in {from} does not go to {to} because of {because}. The order's own list of moves says what is possible now."),
        ));
    };
    if !row.by.iter().any(|by| who.is(*by)) {
        return Err(not_theirs(row, row.by));
    }
    if let Some(act) = row.act
        && through != Some(act)
    {
        return Err(Refusal::new(
            "use-the-act",
            format!("This is the result of an act of its own: {}. Use {} ({}).", row.words, act, act.path()),
        ));
    }
    if row.needs_reason && reason.is_none_or(|reason| reason.trim().is_empty()) {
        return Err(Refusal::new("reason-missing", format!("Say why in one short sentence: {}.", row.words)));
    }
    (row.only_if)(order, who)?;
    Ok(Move { from, to, because, words: row.words })
}

/// Whether the act that makes this move would be done if `who` did it now with all that it asks
/// for: a reason, a payment, accessories ticked off, a test that passes. What a screen offers.
///
/// It is [`decide_move`], but for acts that are also done where the move follows later: the wish
/// to end is recorded while something is apart, a technician's word then makes the move, and a
/// question about extra work leaves the order where it is.
///
/// # Errors
/// What the act would answer.
pub fn may_ask(order: &OrderFacts, row: &MoveRow, who: &Who) -> Result<(), Refusal> {
    let by = |any_of: &[By]| {
        if any_of.iter().any(|by| who.is(*by)) {
            return Ok(());
        }
        Err(not_theirs(row, any_of))
    };
    let is_decision = row.act == Some(Act::Decide);
    match (order.ending, row.act) {
        // The wish was recorded: what is left is a technician's word that it is together again.
        (Some(ending), Some(Act::End | Act::Decide)) if row.because == ending => {
            by(&[Technician])?;
            return ready_to_hand_over(order, who);
        }
        (Some(_), Some(Act::End | Act::Decide)) => return not_ending(order, who),
        (None, Some(Act::End)) => {
            by(wished_by(row.because))?;
            return if row.because == Because::Unanswered { reminded(order) } else { Ok(()) };
        }
        _ => {}
    }
    if is_decision {
        by(&[Owner, FrontDesk])?;
        current_version(order)?;
        return match row.because {
            Because::Accepted => current_version_open(order, who),
            Because::ExtraDeclined => accepted_before(order, who),
            Because::Declined => not_accepted_or_begun(order),
            // Any question can be asked; about extra work it moves nothing.
            _ => Ok(()),
        };
    }
    if row.act == Some(Act::RecordTest) {
        by(row.by)?;
        not_ending(order, who)?;
        // The last missing test makes the move when it passes.
        return if row.because == Because::TestsPassed && order.missing_tests.len() > 1 { every_test_passed(order, who) } else { Ok(()) };
    }
    if row.act == Some(Act::HandOver) {
        return by(row.by);
    }
    decide_move(order, row.to, row.because, Some("a reason"), who, row.act).map(|_| ())
}

/// Who may wish this end; whoever may confirm it stands in the table's row as well.
#[must_use]
pub fn wished_by(because: Because) -> &'static [By] {
    match because {
        Because::NotRepairable => &[Technician],
        _ => &[FrontDesk],
    }
}

/// The words of a move as the record says them.
#[must_use]
pub fn words_of(from: Option<Stage>, to: Stage, because: Because) -> &'static str {
    row(from, to, because).map_or("", |row| row.words)
}

fn not_theirs(row: &MoveRow, by: &[By]) -> Refusal {
    Refusal::new("not-yours", format!("Only {} can record this: {}.", names(by), row.words))
}

fn names(by: &[By]) -> String {
    let names: Vec<&str> = by
        .iter()
        .map(|by| match by {
            FrontDesk => "the front desk",
            Technician => "a technician",
            Proprietor => "the proprietor",
            Owner => "the owner",
            Clock => "the clock",
        })
        .collect();
    match names.as_slice() {
        [first @ .., next, last] => format!("{}{next} or {last}", first.iter().map(|name| format!("{name}, ")).collect::<String>()),
        _ => names.concat(),
    }
}

fn always(_: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    Ok(())
}

fn not_ending(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    match order.ending {
        None => Ok(()),
        Some(because) => Err(Refusal::new(
            "ending",
            format!("The order is to end ({because}). Confirm the end, or take the wish back first."),
        )),
    }
}

fn nothing_running(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    match order.operations.iter().find(|o| o.state == OperationState::Running) {
        None => Ok(()),
        Some(operation) => {
            Err(Refusal::new("clock-running", format!("The clock still runs on \"{}\". Stop it first.", operation.title)))
        }
    }
}

fn claimed_by_asker(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    if order.claimed_by.is_some() && order.claimed_by == who.person() {
        Ok(())
    } else {
        Err(Refusal::new("claim-it-first", "Claim the order first: who examines it must have claimed it."))
    }
}

fn every_finding_decided(order: &OrderFacts) -> Result<(), Refusal> {
    match order.undecided_count {
        0 => Ok(()),
        1 => Err(Refusal::new("finding-undecided", "One finding has no decision yet. Say what to do about it first.")),
        n => Err(Refusal::new("finding-undecided", format!("{n} findings have no decision yet. Say what to do about each first."))),
    }
}

fn decided_and_quoted(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    every_finding_decided(order)?;
    match &order.draft {
        Some(draft) if draft.line_count > 0 => can_go_out(draft),
        _ => Err(Refusal::new("quote-empty", "The quote has no line yet. Add at least one.")),
    }
}

/// Whether this draft can go out as it was written.
fn can_go_out(draft: &QuoteFacts) -> Result<(), Refusal> {
    if draft.is_past {
        return Err(Refusal::new("quote-expired", "The last day of this draft is over. Set a later one."));
    }
    if draft.is_outdated {
        let words = match draft.struck_lines.as_slice() {
            [] => "Something was answered since this draft was written. Save it again, then look at it once more.".to_owned(),
            [one] => format!("The step of the line \"{one}\" was struck since this draft was written. Take that line off, then look at it once more."),
            several => format!(
                "The steps of {} lines were struck since this draft was written. Take these lines off, then look at it once more: {}.",
                several.len(),
                several.iter().map(|line| format!("\"{line}\"")).collect::<Vec<_>>().join(", ")
            ),
        };
        return Err(Refusal::new("draft-outdated", words));
    }
    Ok(())
}

/// Whether a further version can be sent while the owner is asked already; it supersedes the one
/// before and moves nothing.
///
/// # Errors
/// As for the first one.
pub fn may_supersede(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    decided_and_quoted(order, who)
}

/// An acceptance is called a mistake only while nothing was begun on it.
fn may_be_a_mistake(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    if !order.accepted_before {
        return Err(Refusal::new("not-the-last-acceptance", "No acceptance stands that could be called a mistake."));
    }
    match &order.begun_on_acceptance {
        None => Ok(()),
        Some(title) => Err(Refusal::new("work-begun", format!("\"{title}\" was begun on this acceptance. Please ring the shop."))),
    }
}

/// Nobody is given up on before the shop's reminders have gone.
fn reminded(order: &OrderFacts) -> Result<(), Refusal> {
    match order.reminders {
        Reminders::AllSent => Ok(()),
        Reminders::NextOn(day) => Err(Refusal::new(
            "reminders-first",
            format!("The owner is reminded first; the next reminder goes on {day}. Whoever rang and was told no records that as declined or withdrawn."),
        )),
        Reminders::NothingAsked => Err(Refusal::new("never-asked", "No quote waits for the owner, so there is nothing that was never answered.")),
    }
}

fn never_answered(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    ready_to_hand_over(order, who)
}

fn covered_beforehand(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    decided_and_quoted(order, who)?;
    let draft = order.draft.as_ref().ok_or_else(|| Refusal::new("quote-empty", "The quote has no line yet. Add at least one."))?;
    if draft.has_irreversible {
        return Err(Refusal::new(
            "irreversible-needs-name",
            "A step of this quote cannot be undone. The owner must accept it by name: send the quote.",
        ));
    }
    if draft.optional_count == draft.line_count {
        return Err(Refusal::new("quote-empty", "Every line is optional, and nobody ticked one. Send the quote."));
    }
    if draft.total > order.authorised {
        return Err(Refusal::new(
            "over-authorised",
            format!("It comes to {}, more than the {} authorised at the counter. Send the quote.", draft.total, order.authorised),
        ));
    }
    Ok(())
}

fn current_version(order: &OrderFacts) -> Result<(), Refusal> {
    match &order.sent {
        None => Err(Refusal::new("no-open-quote", "No quote is waiting for an answer.")),
        Some(_) => Ok(()),
    }
}

fn extra_is_asked(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    current_version(order)?;
    accepted_before(order, who)
}

fn never_started(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    if order.is_begun() {
        return Err(Refusal::new("work-begun", "Work was begun on this order. End it as not repairable or withdrawn instead."));
    }
    Ok(())
}

fn current_version_open(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    match &order.sent {
        None => Err(Refusal::new("no-open-quote", "No quote is waiting for an answer.")),
        Some(sent) if sent.is_past => {
            Err(Refusal::new("quote-expired", format!("Quote {} could be accepted until its last day, which is over. Send a new one.", sent.number)))
        }
        Some(_) => Ok(()),
    }
}

fn accepted_before(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    if order.accepted_before {
        Ok(())
    } else {
        Err(Refusal::new("nothing-accepted", "Nothing was accepted before, so there is no work that could go on."))
    }
}

fn nothing_accepted(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    if order.accepted_before {
        Err(Refusal::new("accepted-before", "Work was accepted before; the order goes back to the bench, not to the examination."))
    } else {
        Ok(())
    }
}

fn extra_taken_back(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    accepted_before(order, who)
}

fn quote_taken_back(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    nothing_accepted(order, who)
}

fn run_out(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    nothing_accepted(order, who)?;
    if order.sent.as_ref().is_some_and(|sent| sent.is_past) {
        Ok(())
    } else {
        Err(Refusal::new("quote-open", "The quote can still be answered."))
    }
}

fn declined_and_ready(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_accepted_or_begun(order)?;
    ready_to_hand_over(order, who)
}

/// An acceptance that was called a mistake is revoked: its owner may decline.
fn not_accepted_or_begun(order: &OrderFacts) -> Result<(), Refusal> {
    if order.accepted_before || order.repair_is_begun() {
        return Err(Refusal::new("accepted-before", "Work was accepted or begun before; declining now declines only the extra."));
    }
    Ok(())
}

fn needs_asking(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    every_finding_decided(order)?;
    match &order.draft {
        None => Err(Refusal::new("quote-empty", "Write what is new into a quote first.")),
        Some(draft) if draft.line_count == 0 => Err(Refusal::new("quote-empty", "The quote has no line yet. Add at least one.")),
        Some(draft) if draft.total > order.authorised || draft.has_left_out || draft.needs_name || draft.has_new_optional => can_go_out(draft),
        Some(draft) => Err(Refusal::new(
            "within-authorised",
            format!("It comes to {}, within the {} that the owner allows. No answer is needed: go on.", draft.total, order.authorised),
        )),
    }
}

fn every_operation_settled(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    nothing_running(order, who)?;
    let open: Vec<&str> = order
        .operations
        .iter()
        .filter(|o| (o.is_accepted || o.was_begun) && !matches!(o.state, OperationState::Done | OperationState::Struck))
        .map(|o| o.title.as_str())
        .collect();
    if !open.is_empty() {
        return Err(Refusal::new("operation-open", format!("Not done and not struck yet: {}.", open.join(", "))));
    }
    if order.is_apart() {
        return Err(Refusal::new("apart", "Something is still apart. Put it together first."));
    }
    if let Some(finding) = order.failures_open.first() {
        return Err(Refusal::new(
            "failure-open",
            format!("The test failed at \"{finding}\", and nothing was done about it. Decide on it, and if it is to be repaired, plan a step for it and do it."),
        ));
    }
    Ok(())
}

fn every_test_passed(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    not_ending(order, who)?;
    if order.missing_tests.is_empty() {
        Ok(())
    } else {
        let missing: Vec<String> = order.missing_tests.iter().map(ToString::to_string).collect();
        Err(Refusal::new("test-missing", format!("Still to pass: {}.", missing.join(", "))))
    }
}

fn ready_to_hand_over(order: &OrderFacts, who: &Who) -> Result<(), Refusal> {
    nothing_running(order, who)?;
    if order.is_apart() {
        Err(Refusal::new("apart", "Something is apart. A technician puts it together and confirms the end."))
    } else {
        Ok(())
    }
}

fn came_through_tests(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    if order.came_through_tests {
        Ok(())
    } else {
        Err(Refusal::new("not-tested", "It did not come through its tests. Reopen it instead: it goes back to the examination."))
    }
}

fn did_not_come_through_tests(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    if order.came_through_tests {
        Err(Refusal::new("tested", "It came through its tests. Send it back to the bench instead."))
    } else {
        Ok(())
    }
}

fn settled_at_the_counter(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    if order.due > rust_decimal::Decimal::ZERO {
        return Err(Refusal::new(
            "amount-due",
            format!("{} is still due. Take the payment, charge it to the account, or have the proprietor waive it.", order.due),
        ));
    }
    if !order.accessories_out.is_empty() {
        return Err(Refusal::new("accessories", format!("Not ticked off yet: {}. What was lost is recorded so, with what became of it.", order.accessories_out.join(", "))));
    }
    if let Some(loaner) = &order.loaner_out {
        return Err(Refusal::new("loaner", format!("The loaner {loaner} has not come back. Tick it off, or take its number off the order where it is not coming back.")));
    }
    Ok(())
}

fn nothing_recorded(order: &OrderFacts, _: &Who) -> Result<(), Refusal> {
    if order.has_records {
        Err(Refusal::new("has-records", "Something was recorded on this order already. Let it be withdrawn instead."))
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::facts::OperationFacts;
    use crate::rules::facts::examples::{begun, order, quote, step};
    use crate::words::ids::PersonId;
    use crate::words::instrument::OperationKind;
    use crate::words::stage::Role;
    use proptest::prelude::{Just, Strategy, any, prop_assert, prop_oneof, proptest};
    use rust_decimal::Decimal;
    use uuid::Uuid;

    const ME: PersonId = PersonId(Uuid::from_u128(1));

    fn staff(role: Role) -> Who {
        Who::Staff { person: ME, roles: vec![role] }
    }

    fn one_of(by: By) -> Who {
        match by {
            FrontDesk => staff(Role::FrontDesk),
            Technician => staff(Role::Technician),
            Proprietor => staff(Role::Proprietor),
            Owner => Who::Owner,
            Clock => Who::Clock,
        }
    }

    /// An order from which the row's move may be made.
    fn ready_for(row: &MoveRow, from: Option<Stage>) -> OrderFacts {
        let mut facts = OrderFacts { claimed_by: Some(ME), ..order(from) };
        match row.because {
            Because::QuoteSent => facts.draft = Some(quote(80)),
            Because::CoveredBeforehand => {
                facts.draft = Some(quote(80));
                facts.authorised = Decimal::from(80);
            }
            Because::Accepted => facts.sent = Some(quote(80)),
            Because::Expired => facts.sent = Some(crate::rules::facts::QuoteFacts { is_past: true, ..quote(80) }),
            Because::ExtraDeclined => {
                facts.accepted_before = true;
                facts.sent = Some(quote(80));
            }
            Because::AcceptanceDisputed => facts.accepted_before = true,
            Because::Recalled => facts.accepted_before = row.to == Bench,
            Because::ExtraWork => {
                facts.authorised = Decimal::from(80);
                facts.draft = Some(quote(81));
            }
            Because::TestsPassed => facts.missing_tests.clear(),
            Because::SentBack => facts.came_through_tests = true,
            _ => {}
        }
        facts
    }

    fn ask(facts: &OrderFacts, row: &MoveRow, who: &Who) -> Result<Move, Refusal> {
        decide_move(facts, row.to, row.because, Some("a reason"), who, row.act)
    }

    fn every_row() -> impl Iterator<Item = (&'static MoveRow, Option<Stage>)> {
        MOVES.iter().flat_map(|row| {
            let from: Vec<Option<Stage>> =
                if row.from.is_empty() { vec![None] } else { row.from.iter().copied().map(Some).collect() };
            from.into_iter().map(move |from| (row, from))
        })
    }

    #[test]
    fn an_outdated_draft_says_which_line_has_lost_its_step() {
        let said = |struck: &[&str]| {
            let draft = QuoteFacts { is_outdated: true, struck_lines: struck.iter().map(|line| (*line).to_owned()).collect(), ..quote(10) };
            can_go_out(&draft).unwrap_err().words
        };
        assert!(said(&["Braze the crack"]).contains("\"Braze the crack\" was struck"));
        assert!(said(&["Braze the crack", "Buff it"]).contains("2 lines were struck") && said(&["Braze the crack", "Buff it"]).contains("\"Buff it\""));
        assert!(!said(&[]).contains("struck"));
    }

    #[test]
    fn every_row_can_be_made_by_whom_it_names_and_by_nobody_else() {
        for (row, from) in every_row() {
            let facts = ready_for(row, from);
            for by in [FrontDesk, Technician, Proprietor, Owner, Clock] {
                let who = one_of(by);
                let answer = ask(&facts, row, &who);
                if row.by.iter().any(|named| who.is(*named)) {
                    let step = answer.unwrap_or_else(|refusal| panic!("{} by {by:?}: {refusal:?}", row.because));
                    assert_eq!((step.from, step.to, step.because), (from, row.to, row.because));
                } else {
                    assert_eq!(answer.unwrap_err().slug, "not-yours", "{} by {by:?}", row.because);
                }
            }
        }
    }

    #[test]
    fn a_move_that_is_the_result_of_an_act_is_refused_without_it_and_names_it() {
        for (row, from) in every_row() {
            let Some(act) = row.act else { continue };
            let who = one_of(row.by[0]);
            for through in Act::ALL.iter().copied().map(Some).chain([None]).filter(|through| *through != Some(act)) {
                let refusal =
                    decide_move(&ready_for(row, from), row.to, row.because, Some("a reason"), &who, through).unwrap_err();
                assert_eq!(refusal.slug, "use-the-act", "{}", row.because);
                assert!(refusal.words.contains(act.path()), "{}", refusal.words);
            }
        }
    }

    #[test]
    fn a_row_that_asks_for_a_reason_is_refused_without_one() {
        for (row, from) in every_row().filter(|(row, _)| row.needs_reason) {
            for empty in [None, Some(""), Some("  ")] {
                let who = one_of(row.by[0]);
                let refusal = decide_move(&ready_for(row, from), row.to, row.because, empty, &who, row.act).unwrap_err();
                assert_eq!(refusal.slug, "reason-missing", "{}", row.because);
            }
        }
    }

    #[test]
    fn no_triple_outside_the_table_is_a_move() {
        for from in Stage::ALL.iter().copied().map(Some).chain([None]) {
            for to in Stage::ALL.iter().copied() {
                for because in Because::ALL.iter().copied().filter(|because| row(from, to, *because).is_none()) {
                    let who = staff(Role::Proprietor);
                    let refusal = decide_move(&order(from), to, because, Some("a reason"), &who, None).unwrap_err();
                    assert_eq!(refusal.slug, "no-such-move");
                }
            }
        }
        assert!(MOVES.iter().all(|row| !row.from.contains(&Closed)), "closed is the end");
    }

    /// What is in the way of each move, one thing at a time: (move, what is changed, slug).
    #[test]
    fn every_condition_of_the_table_refuses_by_its_own_name() {
        type Spoil = fn(&mut OrderFacts);
        let cases: &[(Stage, Stage, Because, Spoil, &str)] = &[
            (Intake, Diagnosis, Because::ExaminationBegins, |o| o.claimed_by = None, "claim-it-first"),
            (Intake, Diagnosis, Because::ExaminationBegins, |o| o.claimed_by = Some(PersonId(Uuid::nil())), "claim-it-first"),
            (Diagnosis, Approval, Because::QuoteSent, |o| o.undecided_count = 1, "finding-undecided"),
            (Diagnosis, Approval, Because::QuoteSent, |o| o.draft = None, "quote-empty"),
            (Diagnosis, Bench, Because::CoveredBeforehand, |o| o.undecided_count = 2, "finding-undecided"),
            (Diagnosis, Bench, Because::CoveredBeforehand, |o| o.authorised = Decimal::from(79), "over-authorised"),
            (Diagnosis, Bench, Because::CoveredBeforehand, |o| o.draft.as_mut().unwrap().has_irreversible = true, "irreversible-needs-name"),
            (Diagnosis, Pickup, Because::NothingToDo, |o| o.operations = vec![begun("dent out", OperationKind::Work, OperationState::Done)], "work-begun"),
            (Approval, Bench, Because::Accepted, |o| o.sent = None, "no-open-quote"),
            (Approval, Bench, Because::Accepted, |o| o.sent.as_mut().unwrap().is_past = true, "quote-expired"),
            (Approval, Bench, Because::ExtraDeclined, |o| o.accepted_before = false, "nothing-accepted"),
            (Approval, Bench, Because::Recalled, |o| o.accepted_before = false, "nothing-accepted"),
            (Approval, Diagnosis, Because::Recalled, |o| o.accepted_before = true, "accepted-before"),
            (Approval, Diagnosis, Because::Questions, |o| o.accepted_before = true, "accepted-before"),
            (Approval, Diagnosis, Because::Expired, |o| o.accepted_before = true, "accepted-before"),
            (Approval, Diagnosis, Because::Expired, |o| o.sent.as_mut().unwrap().is_past = false, "quote-open"),
            (Approval, Pickup, Because::Declined, |o| o.accepted_before = true, "accepted-before"),
            (Approval, Pickup, Because::Declined, |o| o.operations = vec![begun("dent out", OperationKind::Work, OperationState::Paused)], "accepted-before"),
            (Bench, Approval, Because::ExtraWork, |o| o.authorised = Decimal::from(81), "within-authorised"),
            (Bench, Approval, Because::ExtraWork, |o| o.draft.as_mut().unwrap().line_count = 0, "quote-empty"),
            (Bench, Approval, Because::ExtraWork, |o| o.undecided_count = 1, "finding-undecided"),
            (Bench, LeakTest, Because::BenchDone, |o| o.operations = vec![step("dent out", OperationKind::Work)], "operation-open"),
            (Bench, LeakTest, Because::BenchDone, |o| o.operations = vec![begun("dent out", OperationKind::Work, OperationState::Running)], "clock-running"),
            (Bench, LeakTest, Because::BenchDone, |o| o.operations = vec![begun("brace off", OperationKind::TakeApart, OperationState::Done)], "apart"),
            (Bench, LeakTest, Because::BenchDone, |o| o.failures_open = vec!["open joint, ferrule".to_owned()], "failure-open"),
            (Bench, Approval, Because::AcceptanceDisputed, |o| o.accepted_before = false, "not-the-last-acceptance"),
            (Bench, Approval, Because::AcceptanceDisputed, |o| o.begun_on_acceptance = Some("dent out".to_owned()), "work-begun"),
            (Approval, Bench, Because::ExtraDeclined, |o| o.sent = None, "no-open-quote"),
            (Diagnosis, Approval, Because::QuoteSent, |o| o.draft.as_mut().unwrap().is_past = true, "quote-expired"),
            (Diagnosis, Approval, Because::QuoteSent, |o| o.draft.as_mut().unwrap().is_outdated = true, "draft-outdated"),
            (Diagnosis, Bench, Because::CoveredBeforehand, |o| o.draft.as_mut().unwrap().is_outdated = true, "draft-outdated"),
            (Diagnosis, Bench, Because::CoveredBeforehand, |o| o.draft.as_mut().unwrap().optional_count = 1, "quote-empty"),
            (Bench, Approval, Because::ExtraWork, |o| o.draft.as_mut().unwrap().is_outdated = true, "draft-outdated"),
            (LeakTest, Pickup, Because::TestsPassed, |o| o.missing_tests = vec![crate::words::instrument::TestKind::LeakTest], "test-missing"),
            (Pickup, Bench, Because::SentBack, |o| o.came_through_tests = false, "not-tested"),
            (Pickup, Diagnosis, Because::Reopened, |o| o.came_through_tests = true, "tested"),
            (Pickup, Closed, Because::Collected, |o| o.due = Decimal::ONE, "amount-due"),
            (Pickup, Closed, Because::Shipped, |o| o.accessories_out = vec!["case".to_owned()], "accessories"),
            (Pickup, Closed, Because::Collected, |o| o.loaner_out = Some("7".to_owned()), "loaner"),
            (Bench, Closed, Because::OtherwiseSettled, |o| o.operations = vec![begun("dent out", OperationKind::Work, OperationState::Running)], "clock-running"),
            (Intake, Closed, Because::EnteredByMistake, |o| o.has_records = true, "has-records"),
        ];
        for (from, to, because, spoil, slug) in cases {
            let row = row(Some(*from), *to, *because).unwrap();
            let mut facts = ready_for(row, Some(*from));
            let who = one_of(row.by[0]);
            assert!(ask(&facts, row, &who).is_ok(), "{because} before it was spoilt");
            spoil(&mut facts);
            assert_eq!(ask(&facts, row, &who).unwrap_err().slug, *slug, "{because}");
        }
    }

    #[test]
    fn an_operation_that_needs_its_name_is_asked_for_within_the_money() {
        let row = row(Some(Bench), Approval, Because::ExtraWork).unwrap();
        let mut facts = ready_for(row, Some(Bench));
        facts.authorised = Decimal::from(1000);
        assert_eq!(ask(&facts, row, &staff(Role::Technician)).unwrap_err().slug, "within-authorised");
        facts.draft.as_mut().unwrap().needs_name = true;
        assert!(ask(&facts, row, &staff(Role::Technician)).is_ok());
    }

    #[test]
    fn extra_work_that_is_only_offered_is_asked_for_within_the_money() {
        let row = row(Some(Bench), Approval, Because::ExtraWork).unwrap();
        let mut facts = ready_for(row, Some(Bench));
        facts.authorised = Decimal::from(1000);
        facts.draft.as_mut().unwrap().has_new_optional = true;
        assert!(ask(&facts, row, &staff(Role::Technician)).is_ok());
    }

    #[test]
    fn nobody_is_given_up_on_before_the_reminders_have_gone() {
        let row = row(Some(Approval), Pickup, Because::Unanswered).unwrap();
        let mut facts = ready_for(row, Some(Approval));
        assert!(may_ask(&facts, row, &staff(Role::FrontDesk)).is_ok());
        let day = chrono::NaiveDate::from_ymd_opt(2026, 5, 19).unwrap();
        facts.reminders = Reminders::NextOn(day);
        let refusal = may_ask(&facts, row, &staff(Role::FrontDesk)).unwrap_err();
        assert_eq!(refusal.slug, "reminders-first");
        assert!(refusal.words.contains("2026-05-19"), "{}", refusal.words);
        facts.reminders = Reminders::NothingAsked;
        assert_eq!(may_ask(&facts, row, &staff(Role::FrontDesk)).unwrap_err().slug, "never-asked");
    }

    #[test]
    fn an_end_is_wished_by_one_and_confirmed_by_another() {
        for (because, wisher, other) in [
            (Because::Withdrawn, Role::FrontDesk, Role::Technician),
            (Because::Unanswered, Role::FrontDesk, Role::Technician),
            (Because::NotRepairable, Role::Technician, Role::FrontDesk),
        ] {
            let row = MOVES.iter().find(|row| row.because == because).unwrap();
            let mut facts = OrderFacts { operations: vec![begun("brace off", OperationKind::TakeApart, OperationState::Done)], ..order(Some(Diagnosis)) };
            assert!(may_ask(&facts, row, &staff(wisher)).is_ok(), "{because}: the wish is recorded while something is apart");
            assert_eq!(may_ask(&facts, row, &staff(other)).unwrap_err().slug, "not-yours", "{because}");
            facts.ending = Some(because);
            assert_eq!(may_ask(&facts, row, &staff(Role::Technician)).unwrap_err().slug, "apart", "{because}");
            facts.operations.clear();
            assert!(may_ask(&facts, row, &staff(Role::Technician)).is_ok(), "{because}");
            assert_eq!(may_ask(&facts, row, &staff(Role::FrontDesk)).unwrap_err().slug, "not-yours", "{because}");
        }
    }

    #[test]
    fn what_is_apart_stays_until_it_is_together_again() {
        let off = begun("brace off", OperationKind::TakeApart, OperationState::Done);
        let on = |state| begun("brace on", OperationKind::PutTogether, state);
        for because in [Because::Withdrawn, Because::NotRepairable, Because::Unanswered, Because::Declined] {
            let row = MOVES.iter().find(|row| row.because == because).unwrap();
            let from = if row.from.contains(&Bench) { Bench } else { Approval };
            let mut facts = OrderFacts { ending: Some(because), operations: vec![off.clone()], ..order(Some(from)) };
            let who = staff(Role::Technician);
            assert_eq!(ask(&facts, row, &who).unwrap_err().slug, "apart", "{because}");
            facts.operations.push(on(OperationState::Paused));
            assert_eq!(ask(&facts, row, &who).unwrap_err().slug, "apart", "{because}");
            facts.operations[1] = on(OperationState::Done);
            assert!(ask(&facts, row, &who).is_ok(), "{because}");
        }
    }

    #[test]
    fn a_wish_to_end_stops_every_other_way_on() {
        for (row, from) in every_row() {
            let goes_on = matches!(
                row.because,
                Because::ExaminationBegins | Because::QuoteSent | Because::CoveredBeforehand | Because::NothingToDo
                    | Because::ExtraWork | Because::BenchDone | Because::TestFailed | Because::TestsPassed | Because::Overridden
            );
            if goes_on {
                let facts = OrderFacts { ending: Some(Because::Withdrawn), ..ready_for(row, from) };
                assert_eq!(ask(&facts, row, &one_of(row.by[0])).unwrap_err().slug, "ending", "{}", row.because);
            }
        }
    }

    fn any_operation() -> impl Strategy<Value = OperationFacts> {
        let kind = proptest::sample::select(OperationKind::ALL.to_vec());
        let state = proptest::sample::select(OperationState::ALL.to_vec());
        (kind, state, any::<bool>()).prop_map(|(kind, state, is_accepted)| OperationFacts {
            is_accepted,
            was_begun: matches!(state, OperationState::Running | OperationState::Paused | OperationState::Done),
            ..begun("step", kind, state)
        })
    }

    fn any_quote() -> impl Strategy<Value = Option<crate::rules::facts::QuoteFacts>> {
        (0_i64..200, 0_usize..2, any::<bool>(), any::<bool>(), any::<bool>()).prop_map(|(total, line_count, hard, past, there)| {
            there.then(|| crate::rules::facts::QuoteFacts {
                line_count,
                has_irreversible: hard,
                needs_name: hard,
                has_left_out: hard,
                is_past: past,
                ..quote(total)
            })
        })
    }

    fn any_order() -> impl Strategy<Value = OrderFacts> {
        let stage = proptest::sample::select(Stage::ALL.to_vec());
        let ending = prop_oneof![4 => Just(None), 1 => Just(Some(Because::Withdrawn))];
        let operations = proptest::collection::vec(any_operation(), 0..4);
        let flags = proptest::array::uniform6(any::<bool>());
        (stage, ending, operations, any_quote(), any_quote(), 0_i64..200, flags).prop_map(
            |(stage, ending, operations, draft, sent, cap, [a, b, c, d, e, f])| OrderFacts {
                claimed_by: a.then_some(ME),
                undecided_count: usize::from(b),
                authorised: Decimal::from(cap),
                accepted_before: c,
                draft,
                sent,
                operations,
                ending,
                missing_tests: if d { Vec::new() } else { order(None).missing_tests },
                came_through_tests: e,
                has_records: f,
                due: Decimal::from(i64::from(f)),
                ..order(Some(stage))
            },
        )
    }

    proptest! {
        #[test]
        fn an_allowed_move_is_a_row_and_keeps_the_rules(facts in any_order(), place in 0..MOVES.len(), by in 0_usize..5) {
            let row = &MOVES[place];
            let who = one_of([FrontDesk, Technician, Proprietor, Owner, Clock][by]);
            let answer = ask(&facts, row, &who);
            // The same question has the same answer.
            prop_assert!(answer == ask(&facts, row, &who));
            if let Ok(step) = answer {
                prop_assert!(row.from.contains(&facts.stage.unwrap()) && step.from == facts.stage);
                if step.to == Pickup {
                    // Rule 4, and nothing leaves the bench in pieces or under a running clock.
                    let by_word = matches!(step.because, Because::Overridden | Because::Withdrawn | Because::NotRepairable | Because::Unanswered);
                    prop_assert!(!facts.repair_is_begun() || facts.missing_tests.is_empty() || by_word);
                    prop_assert!(facts.stage == Some(LeakTest) || !facts.is_apart());
                }
                if step.because == Because::CoveredBeforehand {
                    prop_assert!(facts.draft.as_ref().is_some_and(|d| d.total <= facts.authorised && !d.has_irreversible));
                }
                if step.to == Closed && matches!(step.because, Because::Collected | Because::Shipped) {
                    prop_assert!(facts.due <= Decimal::ZERO && facts.accessories_out.is_empty() && facts.loaner_out.is_none());
                }
            }
        }

        #[test]
        fn going_back_and_going_on_exclude_each_other(facts in any_order()) {
            let may = |to, because, act| {
                [FrontDesk, Technician, Proprietor, Owner, Clock]
                    .into_iter()
                    .any(|by| decide_move(&facts, to, because, Some("a reason"), &one_of(by), act).is_ok())
            };
            prop_assert!(!(may(Bench, Because::Recalled, None) && may(Diagnosis, Because::Recalled, None)));
            prop_assert!(!(may(Bench, Because::SentBack, None) && may(Diagnosis, Because::Reopened, None)));
            let decide = Some(Act::Decide);
            prop_assert!(!(may(Bench, Because::ExtraDeclined, decide) && may(Pickup, Because::Declined, decide)));
            prop_assert!(!(may(Bench, Because::Accepted, decide) && may(Diagnosis, Because::Expired, Some(Act::Expire))));
        }
    }
}
