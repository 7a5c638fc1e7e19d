//! Work orders: what the counter took in, what was found, the steps of the bench.

use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use super::{CustomerRef, FitCheck, Instrument, Letter, Link, OrderMoney, Payment, PersonRef, Photo, Quote, RequiredTest, Test};
use trade::bench::plan::ChosenWay;
use trade::maps::JointKind;
use trade::rules::stages::Act;
use trade::words::ids::{FindingId, HoldId, OperationId, WorkOrderId};
use trade::words::instrument::{Disposition, FindingKind, FoundWhen, Heat, Leaks, MarkKind, OperationKind, OperationState};
use trade::words::money::Money;
use trade::words::stage::{Because, HoldReason, Stage, WaitsFor};
use utoipa::ToSchema;
use uuid::Uuid;

/// What something can be pinned to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MapThing {
    /// A part.
    Part,
    /// A joint.
    Joint,
}

views! {
    /// Three-point minutes.
    #[serde(deny_unknown_fields)]
    Minutes {
        /// At best.
        low: i32,
        /// Most likely.
        typical: i32,
        /// At worst.
        high: i32,
    }
    /// A method with its price.
    Method {
        /// Which.
        id: Uuid,
        /// For `If-Match`.
        version: i32,
        /// Whether it is offered for new steps.
        is_offered: bool,
        /// What it is called.
        name: String,
        /// How hot it gets.
        heat: Heat,
        /// Whether it cannot be undone.
        irreversible: bool,
        /// How long it takes: the shop's own minutes once there are enough, else typical ones.
        minutes: Minutes,
        /// How long it takes by the shop's list.
        listed_minutes: Minutes,
        /// How many done operations of the shop's own the minutes rest on; none: they are typical.
        own_count: Option<i64>,
        /// From how many done operations on the shop's own minutes count.
        own_from: i64,
        /// What it costs.
        price: Money,
        /// Slugs of the usual cautions.
        cautions: Vec<String>,
        /// Where it is done.
        station: String,
        /// The solder or brazing filler.
        filler: Option<String>,
        /// What the filler joins: butt (the poor one), patch or lap.
        joint_kind: Option<String>,
        /// How hot the metal is made, °C; none: 30 above the filler's liquidus.
        heat_c: Option<i32>,
        /// Every joint of these kinds on the part must be apart for it.
        needs_apart: Vec<JointKind>,
        /// The findings that it answers.
        answers: Vec<FindingKind>,
        /// The metal that it plates with; none: by the part's finish, or it plates nothing.
        plating_metal: Option<String>,
    }
    /// A place in the shop.
    Place {
        /// Which.
        id: Uuid,
        /// What it is called.
        name: String,
    }
    /// A thing that came with the instrument.
    Accessory {
        /// What.
        name: String,
        /// Whether it was handed back.
        returned: bool,
        /// Why it cannot be handed back, when it was lost.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lost: Option<String>,
    }
    /// How it looked at the counter.
    CounterMark {
        /// Which.
        id: Uuid,
        /// Which part.
        part: String,
        /// What.
        kind: MarkKind,
        /// Which side.
        side: Option<String>,
        /// Along the part, mm.
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        position_mm: Option<Decimal>,
    }
    /// The wish to end an order.
    Ending {
        /// Why.
        because: Because,
        /// In words.
        reason: Option<String>,
        /// Who recorded it.
        by: String,
        /// When.
        at: DateTime<Utc>,
        /// Something is apart: a technician puts it together and confirms.
        awaits_confirmation: bool,
    }
    /// The owner's question.
    OpenQuestion {
        /// In the owner's words.
        text: String,
        /// The name typed.
        asked_by: String,
        /// When.
        asked_at: DateTime<Utc>,
    }
    /// Why an order waits across stages.
    Hold {
        /// Which.
        id: HoldId,
        /// Why.
        reason: HoldReason,
        /// Whose turn it makes it.
        waits_for: WaitsFor,
        /// When to look again, as a date of the shop.
        look_again_on: Option<NaiveDate>,
        /// Who is waited for, for parts and outside work.
        supplier: Option<String>,
        /// The number of the order at the supplier.
        order_number: Option<String>,
        /// When the supplier expects to be ready, as a date of the shop.
        expected_on: Option<NaiveDate>,
        /// In words.
        note: Option<String>,
        /// When it was set.
        set_at: DateTime<Utc>,
        /// When it was lifted.
        lifted_at: Option<DateTime<Utc>>,
        /// The version of the work order that holds it, for `If-Match`.
        order_version: i32,
    }
    /// What the rules propose about a finding.
    SuggestionView {
        /// What to do.
        disposition: Disposition,
        /// Why.
        reason: String,
    }
    /// A part or joint of the instrument's map.
    PinnedTo {
        /// Part or joint.
        on: MapThing,
        /// Its id on the map.
        id: String,
        /// What it is called at the bench.
        name: String,
        /// Whether it was struck from the map.
        struck: bool,
    }
    /// What an examination turned up.
    Finding {
        /// Which.
        id: FindingId,
        /// The number on the map and in the list.
        number: i32,
        /// For `If-Match`.
        version: i32,
        /// The version of the work order that holds it.
        order_version: i32,
        /// What.
        kind: FindingKind,
        /// On which part or joint, as it was said; the customer reads this.
        part: String,
        /// Which part or joint of the instrument's map that is; none: the map does not have it.
        pinned_to: Option<PinnedTo>,
        /// Which side.
        side: Option<String>,
        /// Along the part, mm.
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        position_mm: Option<Decimal>,
        /// Length or depth, mm.
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        size_mm: Option<Decimal>,
        /// Whether it leaks.
        leaks: Leaks,
        /// Whether it is likely to spread.
        likely_to_spread: bool,
        /// When it was found.
        found_when: FoundWhen,
        /// What is to be done.
        disposition: Disposition,
        /// Why.
        disposition_reason: Option<String>,
        /// In words.
        note: Option<String>,
        /// Whether the customer sees it.
        shared: bool,
        /// Why it was struck.
        struck_reason: Option<String>,
        /// Who found it.
        found_by: PersonRef,
        /// When.
        found_at: DateTime<Utc>,
        /// What the rules propose.
        suggestion: SuggestionView,
        /// What the rules proposed when it was decided against them; the reason stands beside it.
        overruled: Option<Disposition>,
    }
    /// A clock that runs.
    Running {
        /// Whose.
        by: PersonRef,
        /// Since when.
        since: DateTime<Utc>,
    }
    /// One step on the bench.
    Operation {
        /// Which.
        id: OperationId,
        /// The number in the list.
        number: i32,
        /// For `If-Match`.
        version: i32,
        /// The version of the work order that holds it.
        order_version: i32,
        /// What it is called.
        title: String,
        /// Work, take apart or put together.
        kind: OperationKind,
        /// From the shop's list.
        method_id: Option<Uuid>,
        /// How hot it gets.
        heat: Heat,
        /// Whether it cannot be undone.
        irreversible: bool,
        /// Which findings it answers.
        finding_ids: Vec<FindingId>,
        /// Which operations come before it.
        after: Vec<OperationId>,
        /// For taking apart and putting together: the joint, brace or part, as the instrument's map knows it.
        joint: Option<String>,
        /// Joints and braces that must be apart for it, as the instrument's map knows them.
        needs_apart: Vec<String>,
        /// What was chosen to save joints from its heat.
        chosen_ways: Vec<ChosenWay>,
        /// Whether another method was chosen for it since its owner was last told of it on a quote.
        quoted_otherwise: bool,
        /// Whether the owner left it out of what was accepted last: it is no part of the plan.
        left_out: bool,
        /// How long it takes.
        minutes: Minutes,
        /// Its price as on a quote line.
        price: Money,
        /// Its tax class.
        tax_class: String,
        /// Where it stands.
        state: OperationState,
        /// Whether it may be started now.
        may_start: bool,
        /// What is in the way.
        why_not: Option<String>,
        /// On a chosen line of an accepted version.
        accepted: bool,
        /// Minutes taken so far, to the whole minute.
        actual_minutes: i64,
        /// The clock that runs on it.
        running: Option<Running>,
        /// Who claimed it.
        claimed_by: Option<PersonRef>,
        /// How often it was done again after a failed test.
        rework_count: i32,
        /// Depends on an answer that is out.
        waits_for_answer: bool,
        /// A clock was stopped at closing time; check the minutes.
        to_check: bool,
        /// Why it was struck.
        struck_reason: Option<String>,
    }
    /// One move of an order.
    StageChange {
        /// Which.
        id: Uuid,
        /// The version of the work order after the latest of them.
        order_version: i32,
        /// From where; none for the check-in.
        from: Option<Stage>,
        /// To where.
        to: Stage,
        /// Why.
        because: Because,
        /// In words.
        words: String,
        /// What was said about it.
        reason: Option<String>,
        /// When.
        at: DateTime<Utc>,
        /// Who.
        by: String,
    }
    /// A note.
    Note {
        /// Which.
        id: Uuid,
        /// What.
        text: String,
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// One field that was put right.
    FieldChange {
        /// Its name, as the order has it.
        field: String,
        /// What stood there, as text; none: nothing.
        before: Option<String>,
        /// What stands there since, as text; none: nothing.
        after: Option<String>,
    }
    /// What one person put right on an order at one time.
    OrderChange {
        /// Which.
        id: Uuid,
        /// Each field.
        changes: Vec<FieldChange>,
        /// Why the promised date moved, as the customer was told.
        reason: Option<String>,
        /// When.
        at: DateTime<Utc>,
        /// Who.
        by: String,
    }
    /// A move that an order may or may not make now.
    PossibleMove {
        /// To where.
        to: Stage,
        /// Why.
        because: Because,
        /// In words.
        words: String,
        /// Whether the act that makes it would be done now if the person asking did it, with all that it asks for.
        may: bool,
        /// What is in the way.
        why_not: Option<String>,
        /// The act that makes it; none: asked for by itself.
        act: Option<Act>,
        /// Whether a reason must be given.
        needs_reason: bool,
    }
    /// One visit of one instrument, with all that its screen needs.
    WorkOrder {
        /// Which.
        id: WorkOrderId,
        /// Short, readable over the telephone.
        claim_number: String,
        /// For `If-Match`; covers findings, operations, quotes and tests.
        version: i32,
        /// Where it stands.
        stage: Stage,
        /// Since when.
        stage_since: DateTime<Utc>,
        /// Whose turn it is; none once it is closed.
        waits_for: Option<WaitsFor>,
        /// Why, in words.
        waiting_words: String,
        /// The promise, as a date of the shop.
        promised_on: NaiveDate,
        /// Why that date, where fewer than 10 of 20 such jobs would be ready by then.
        promise_reason: Option<String>,
        /// In the customer's words.
        complaint: String,
        /// How it looked at the counter.
        condition_note: Option<String>,
        /// What the owner wants left.
        keep_as_is: Option<String>,
        /// What came with it.
        accessories: Vec<Accessory>,
        /// Marks agreed at the counter.
        counter_marks: Vec<CounterMark>,
        /// Amount authorised beforehand.
        may_cost: Option<Money>,
        /// Charged if the owner declines.
        examination_fee: Option<Money>,
        /// What the owner allows now.
        authorised: Money,
        /// Where it is in the shop.
        place: Option<String>,
        /// The number of the loaner that the customer has meanwhile.
        loaner_number: Option<String>,
        /// When the loaner came back.
        loaner_back_at: Option<DateTime<Utc>>,
        /// Whether the customer wants the old parts back.
        old_parts_back: bool,
        /// When it came in.
        checked_in_at: DateTime<Utc>,
        /// Who took it in.
        checked_in_by: PersonRef,
        /// Who brought it.
        customer: CustomerRef,
        /// Who decides and pays.
        owner: CustomerRef,
        /// Which instrument.
        instrument: Instrument,
        /// Who claimed it.
        claimed_by: Option<PersonRef>,
        /// When.
        claimed_at: Option<DateTime<Utc>>,
        /// The wish to end.
        ending: Option<Ending>,
        /// The owner's question that waits for the shop.
        open_question: Option<OpenQuestion>,
        /// Holds, also lifted ones.
        holds: Vec<Hold>,
        /// What was found.
        findings: Vec<Finding>,
        /// What can be seen of it, oldest first; struck ones too.
        photos: Vec<Photo>,
        /// What is done about it.
        operations: Vec<Operation>,
        /// Every version.
        quotes: Vec<Quote>,
        /// Every test.
        tests: Vec<Test>,
        /// What must pass before pickup.
        required_tests: Vec<RequiredTest>,
        /// Every fit check.
        fit_checks: Vec<FitCheck>,
        /// Every move.
        stage_changes: Vec<StageChange>,
        /// What was put right after the check-in, oldest first.
        changes: Vec<OrderChange>,
        /// Every letter.
        letters: Vec<Letter>,
        /// Every link.
        links: Vec<Link>,
        /// Every note.
        notes: Vec<Note>,
        /// Every payment.
        payments: Vec<Payment>,
        /// What it costs.
        money: OrderMoney,
        /// Where it may go from here.
        moves: Vec<PossibleMove>,
    }
    /// One order in a list.
    OrderLine {
        /// Which.
        id: WorkOrderId,
        /// Claim number.
        claim_number: String,
        /// For `If-Match`.
        version: i32,
        /// Where it stands.
        stage: Stage,
        /// Who brought it.
        customer_name: String,
        /// Family, maker and number.
        instrument_words: String,
        /// The promise.
        promised_on: NaiveDate,
        /// When it came in.
        checked_in_at: DateTime<Utc>,
    }
}
