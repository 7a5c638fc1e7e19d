//! What a reader gets: the API's answers, one type for one thing.

use crate::forecasts::{Cause, Chance};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use trade::bench::plan::ChosenWay;
use trade::bench::fit_check::{FitAnswer, FitMeasured};
use trade::bench::pressure_test::PressureAnswer;
use trade::bench::promise_date::Absence;
use trade::bench::shop_limits::FitKind;
use trade::maps::JointKind;
use trade::rules::promises::{ForecastBasis, Help, Kind, Skills};
use trade::rules::stages::Act;
use trade::words::ids::{CustomerId, DecisionId, FindingId, FitCheckId, HoldId, InstrumentId, LetterId, LinkId, OperationId, PersonId, PhotoId, QuoteId, TestId, WorkOrderId};
use trade::words::instrument::{Disposition, Family, FindingKind, FoundWhen, Heat, HowMuch, Leaks, MarkKind, OperationKind, OperationState, TestKind, TestMethod, Verdict};
use trade::words::money::{Money, plain};
use trade::words::paperwork::{Answer, AnswerHow, CustomerKind, LetterState, LinkPurpose, MailWanted, PaymentHow, PaymentKind, QuoteState};
use trade::words::photo::PhotoSize;
use trade::words::quote::{ContentDiscount, ContentLine, FurtherRange};
use trade::words::quote_totals::Totals;
use trade::words::stage::{Because, HoldReason, Role, Stage, WaitsFor};
use utoipa::ToSchema;
use uuid::Uuid;

/// Declares answer types that serialize, read back (for repeated requests) and document themselves.
macro_rules! views {
    ($($(#[$outer:meta])* $name:ident { $($(#[$inner:meta])* $field:ident: $type:ty,)+ })+) => {$(
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
        $(#[$outer])*
        pub struct $name { $($(#[$inner])* pub $field: $type,)+ }
    )+};
}

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
    /// A staff member in short.
    PersonRef {
        /// Who.
        id: PersonId,
        /// Full name.
        name: String,
        /// As shown on a tag.
        initials: String,
    }
    /// A staff member.
    Person {
        /// Who.
        id: PersonId,
        /// Full name.
        name: String,
        /// As shown on a tag.
        initials: String,
        /// Where this person signs in.
        email: String,
        /// What this person may do.
        roles: Vec<Role>,
        /// Whether this person may sign in.
        is_active: bool,
        /// What this person can do at the bench.
        skills: Skills,
        /// Hours a week at the bench; none: a typical part of the opening hours.
        weekly_bench_hours: Option<i32>,
        /// When this person is away, as dates of the shop, both included.
        absent: Vec<Absence>,
        /// Until when the invitation can be used, for somebody who has not chosen a password yet.
        invited_until: Option<DateTime<Utc>>,
        /// For `If-Match`.
        version: i32,
    }
    /// A customer.
    Customer {
        /// Who.
        id: CustomerId,
        /// For `If-Match`.
        version: i32,
        /// Person, school or dealer.
        kind: CustomerKind,
        /// Name as typed.
        name: String,
        /// Where letters go; none: receipts are on paper.
        email: Option<String>,
        /// As typed.
        phone: Option<String>,
        /// Of their letters and pages.
        language: String,
        /// Which letters they want.
        mail_wanted: MailWanted,
        /// The shop's own note.
        note: Option<String>,
        /// How many work orders so far.
        visits_count: i64,
        /// Which field of a search matched.
        matched: Option<String>,
    }
    /// A customer as an order shows it.
    CustomerRef {
        /// Who.
        id: CustomerId,
        /// Person, school or dealer.
        kind: CustomerKind,
        /// Name as typed.
        name: String,
        /// Where letters go.
        email: Option<String>,
        /// As typed.
        phone: Option<String>,
        /// Of their letters and pages.
        language: String,
        /// Which letters they want.
        mail_wanted: MailWanted,
    }
    /// Somebody's id and name.
    NameRef {
        /// Who.
        id: CustomerId,
        /// Name as typed.
        name: String,
    }
    /// An instrument.
    Instrument {
        /// Which.
        id: InstrumentId,
        /// For `If-Match`.
        version: i32,
        /// Whose it is.
        owner: NameRef,
        /// Family.
        family: Family,
        /// As engraved, as text.
        maker: Option<String>,
        /// As engraved, as text.
        model: Option<String>,
        /// As engraved.
        serial_number: Option<String>,
        /// Year or age band, as text.
        age_text: Option<String>,
        /// Finish.
        finish: Option<String>,
        /// The owner's own number for it. Never a pupil's name.
        owners_number: Option<String>,
        /// The last check-in, as a date of the shop.
        last_here_on: Option<NaiveDate>,
    }
    /// Something left and watched on an earlier visit.
    WatchItem {
        /// The finding.
        finding_id: FindingId,
        /// What the head of its pin says on the instrument's map.
        head: String,
        /// Which part or joint of the map it is pinned to.
        pinned_to: Option<PinnedTo>,
        /// Which side.
        side: Option<String>,
        /// Along the part, mm.
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        position_mm: Option<Decimal>,
        /// The order it was found on.
        claim_number: String,
        /// When, as a date of the shop.
        found_on: NaiveDate,
        /// What and where.
        words: String,
        /// What was noted about it.
        note: Option<String>,
    }
    /// A test or fit check of a visit.
    PastTest {
        /// As a date of the shop.
        on: NaiveDate,
        /// What was tested, how, and what it said.
        words: String,
    }
    /// A size of a photo that can be fetched.
    PhotoCopy {
        /// Its name.
        size: PhotoSize,
        /// Held upright, in pixels.
        width_px: u32,
        /// Held upright, in pixels.
        height_px: u32,
    }
    /// A photo of an order.
    Photo {
        /// Which.
        id: PhotoId,
        /// For `If-Match`.
        version: i32,
        /// The order's version at this moment.
        order_version: i32,
        /// The finding it is pinned to.
        finding_id: Option<FindingId>,
        /// What is on it, in words.
        caption: Option<String>,
        /// Whether the customer sees it.
        shared: bool,
        /// Of the original.
        media_type: String,
        /// Length of the original.
        bytes_count: i32,
        /// What can be fetched of it; nothing of a struck one.
        sizes: Vec<PhotoCopy>,
        /// When it was added.
        at: DateTime<Utc>,
        /// Who added it.
        by: PersonRef,
        /// Why it is struck.
        struck_reason: Option<String>,
        /// Who struck it.
        struck_by: Option<PersonRef>,
        /// When.
        struck_at: Option<DateTime<Utc>>,
    }
    /// A photo of an earlier visit.
    PastPhoto {
        /// Which.
        id: PhotoId,
        /// What is on it, in words.
        caption: Option<String>,
        /// What is fetched to show it in a list.
        small: PhotoCopy,
        /// What is fetched to look at it.
        large: PhotoCopy,
    }
    /// One earlier visit.
    Visit {
        /// The order.
        work_order_id: WorkOrderId,
        /// Its claim number.
        claim_number: String,
        /// As a date of the shop.
        checked_in_on: NaiveDate,
        /// As a date of the shop; none while it is here.
        closed_on: Option<NaiveDate>,
        /// In the customer's words.
        complaint: String,
        /// What was found and what became of it.
        words: Vec<String>,
        /// Tests and fit checks, oldest first.
        tests: Vec<PastTest>,
        /// Photos, oldest first.
        photos: Vec<PastPhoto>,
    }
    /// What was ever found and done on an instrument.
    History {
        /// Watch items first.
        watch: Vec<WatchItem>,
        /// Newest first.
        visits: Vec<Visit>,
    }
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
    /// What the owner said.
    Decision {
        /// Which.
        id: DecisionId,
        /// The version of the work order after it.
        order_version: i32,
        /// To which quote version.
        quote_number: i32,
        /// Yes, no, or a question.
        answer: Answer,
        /// How it reached the shop.
        how: AnswerHow,
        /// The name typed or told.
        typed_name: String,
        /// Who recorded it, if the owner did not.
        recorded_by: Option<PersonRef>,
        /// When.
        decided_at: DateTime<Utc>,
        /// Optional lines that were ticked.
        chosen_lines: Vec<Uuid>,
        /// Operations accepted by name because they cannot be undone.
        accepted_by_name: Vec<OperationId>,
        /// The question.
        question: Option<String>,
        /// When the owner called it a mistake.
        disputed_at: Option<DateTime<Utc>>,
    }
    /// A numbered quote version.
    Quote {
        /// Which.
        id: QuoteId,
        /// For `If-Match`.
        version: i32,
        /// The version of the work order that holds it.
        order_version: i32,
        /// Version number, from 1.
        number: i32,
        /// Where it stands.
        state: QuoteState,
        /// Whether it asks for extra work.
        is_extra: bool,
        /// What was found and what the shop would do.
        message: Option<String>,
        /// The lines.
        lines: Vec<ContentLine>,
        /// On the whole.
        discount: Option<ContentDiscount>,
        /// Of the lines that are not optional; none while there are none.
        totals: Option<Totals>,
        /// Of all lines, optional ones too.
        total_with_optional: Money,
        /// The most the owner is asked to authorise.
        limit: Money,
        /// A limit that would cover what may still turn up in 85 of 100 such instruments; for a draft.
        /// It is never filled in by the program.
        suggested_limit: Option<Money>,
        /// What may still turn up and cost, as it is told with this version.
        range: Option<FurtherRange>,
        /// The last day it can be accepted.
        expires_on: NaiveDate,
        /// What a decision names; none for a draft.
        content_hash: Option<String>,
        /// When it went out.
        sent_at: Option<DateTime<Utc>>,
        /// Who sent it.
        sent_by: Option<PersonRef>,
        /// When the owner's page was first opened.
        seen_at: Option<DateTime<Utc>>,
        /// Why it was taken back.
        struck_reason: Option<String>,
        /// What the owner said.
        decision: Option<Decision>,
    }
    /// A place where it leaks, and how much.
    #[serde(deny_unknown_fields)]
    LeakSpot {
        /// On which part or joint, or which pad.
        part: String,
        /// Which side.
        #[serde(default)]
        side: Option<String>,
        /// Along the part, mm.
        #[serde(default, deserialize_with = "plain::optional")]
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        position_mm: Option<Decimal>,
        /// How much, as the bench says it.
        #[serde(default)]
        how_much: Option<HowMuch>,
        /// For a feeler: the thickest that slips under, mm.
        #[serde(default, deserialize_with = "plain::optional")]
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "0.05")]
        gap_mm: Option<Decimal>,
        /// For bubbles: how many in a minute.
        #[serde(default)]
        bubbles_per_minute: Option<u32>,
        /// In words.
        #[serde(default)]
        words: Option<String>,
    }
    /// A test.
    Test {
        /// Which.
        id: TestId,
        /// The version of the work order after it.
        order_version: i32,
        /// Leak test or play test.
        kind: TestKind,
        /// How.
        method: Option<TestMethod>,
        /// The whole instrument, or the part named.
        scope: String,
        /// Whether the whole instrument was tested; only that counts as the required test.
        of_whole_instrument: bool,
        /// What it said; none for a pressure test of a family without a leak limit.
        verdict: Option<Verdict>,
        /// Why a person's verdict is not the computed one.
        overruled_because: Option<String>,
        /// Where it fails.
        where_words: Option<String>,
        /// Where it leaks, and how much.
        spots: Vec<LeakSpot>,
        /// The finding that pins where it fails.
        finding_id: Option<FindingId>,
        /// Findings that the owner declined or that are left, and that the pass is apart from.
        apart_from: Vec<FindingId>,
        /// In words.
        note: Option<String>,
        /// Slugs of the cautions that go with the method.
        cautions: Vec<String>,
        /// Of a pressure decay test: rate, uncertainty, verdict and curve, as the server computed them.
        pressure: Option<PressureAnswer>,
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// A fit that was measured.
    FitCheck {
        /// Which.
        id: FitCheckId,
        /// The version of the work order after it.
        order_version: i32,
        /// What kind of fit.
        fit_kind: FitKind,
        /// Which part or joint.
        part: String,
        /// What was measured.
        measured: FitMeasured,
        /// What it says, as the server computed it.
        answer: FitAnswer,
        /// The finding it belongs to.
        finding_id: Option<FindingId>,
        /// In words.
        note: Option<String>,
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// A test that must pass before pickup.
    RequiredTest {
        /// Which kind.
        kind: TestKind,
        /// Whether it passed since the last arrival in the leak test.
        passed: bool,
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
    /// An outgoing mail.
    Letter {
        /// Which.
        id: LetterId,
        /// What it tells.
        kind: String,
        /// Its subject.
        subject: String,
        /// To whom.
        to_name: String,
        /// Where.
        to_email: Option<String>,
        /// Where it stands.
        state: LetterState,
        /// Why it stands there.
        state_reason: Option<String>,
        /// When it was written.
        queued_at: DateTime<Utc>,
        /// When the mail server took it.
        sent_at: Option<DateTime<Utc>>,
        /// How often it was tried.
        attempts: i32,
        /// When it is tried next.
        next_try_at: Option<DateTime<Utc>>,
        /// What the mail server said last.
        last_trouble: Option<String>,
    }
    /// A letter with its words.
    LetterText {
        /// The letter.
        letter: Letter,
        /// As plain text.
        text: String,
        /// As HTML.
        html: String,
    }
    /// A customer's link. Its secret is shown once, when it is issued.
    Link {
        /// Which.
        id: LinkId,
        /// What it opens.
        purpose: LinkPurpose,
        /// When it was issued.
        issued_at: DateTime<Utc>,
        /// When it stops opening.
        expires_at: Option<DateTime<Utc>>,
        /// When it was withdrawn.
        withdrawn_at: Option<DateTime<Utc>>,
        /// The address, only in the answer that issues it.
        url: Option<String>,
        /// The version of the work order that it opens, for `If-Match`.
        order_version: i32,
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
    /// A payment.
    Payment {
        /// Which.
        id: Uuid,
        /// The version of the work order after it.
        order_version: i32,
        /// How much; below zero: given back.
        amount: Money,
        /// For what.
        kind: PaymentKind,
        /// How.
        how: PaymentHow,
        /// In words.
        note: Option<String>,
        /// When.
        at: DateTime<Utc>,
        /// Who took it.
        by: PersonRef,
        /// Why it was struck; one that was struck does not count.
        struck_reason: Option<String>,
        /// Who struck it.
        struck_by: Option<PersonRef>,
        /// When it was struck.
        struck_at: Option<DateTime<Utc>>,
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
    /// What an order costs.
    OrderMoney {
        /// What is charged as things stand, tax included.
        total: Money,
        /// How much of that is the examination fee told at check-in; none where none is charged.
        examination_fee: Option<Money>,
        /// What was paid or charged to account.
        paid: Money,
        /// What the proprietor let go of.
        waived: Money,
        /// What is still to be paid.
        due: Money,
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
    /// One order on the board.
    BoardOrder {
        /// Which.
        id: WorkOrderId,
        /// Claim number.
        claim_number: String,
        /// For `If-Match`.
        version: i32,
        /// Where it stands.
        stage: Stage,
        /// Since when.
        stage_since: DateTime<Utc>,
        /// The promise, as a date of the shop.
        promised_on: NaiveDate,
        /// Open days of the shop from today to the promise; below zero once it is past.
        working_days_left: i64,
        /// Whose turn it is.
        waits_for: WaitsFor,
        /// Why, in words.
        waiting_words: String,
        /// Since when it waits for them.
        since: DateTime<Utc>,
        /// Whether a hold lies on it.
        held: bool,
        /// When to look again.
        held_until: Option<NaiveDate>,
        /// Who claimed it.
        claimed_by: Option<PersonRef>,
        /// Where it is in the shop.
        place: Option<String>,
        /// Who brought it.
        customer_name: String,
        /// Of the customer, for ringing.
        customer_phone: Option<String>,
        /// Family and maker.
        instrument_words: String,
        /// Family.
        family: Family,
        /// Working days from the promise to `ready_p85`; 0: not likely late. None where there is no
        /// forecast.
        likely_days_late: Option<i64>,
        /// Ready by then in 10 of 20 cases, as a date of the shop. None once it is ready, while nobody
        /// at the bench can work on it, and before the first forecast.
        ready_p50: Option<NaiveDate>,
        /// In 17 of 20.
        ready_p85: Option<NaiveDate>,
        /// In 19 of 20.
        ready_p95: Option<NaiveDate>,
    }
    /// A date on which an order may be ready, with its share of cases.
    DateShare {
        /// As a date of the shop.
        date: NaiveDate,
        /// Draws in which it was ready on this date; those of one order add up to the draws of the basis.
        draws_count: u32,
    }
    /// What closed orders of a family came to, tax included.
    SimilarCost {
        /// Closed orders that it rests on.
        count: i64,
        /// One in twenty came to less.
        low: Money,
        /// Half of them came to less.
        middle: Money,
        /// One in twenty came to more.
        high: Money,
    }
    /// When an order that may come would be ready. Without dates when nobody at the bench can
    /// work on it.
    NewOrderReady {
        /// What it is.
        family: Family,
        /// Ready by then in 10 of 20 cases.
        ready_p50: Option<NaiveDate>,
        /// In 17 of 20: the first date to promise.
        ready_p85: Option<NaiveDate>,
        /// In 19 of 20.
        ready_p95: Option<NaiveDate>,
        /// Twenty equally likely dates, rising.
        twenty: Vec<NaiveDate>,
        /// Every date on which it may be ready, rising.
        dates: Vec<DateShare>,
        /// The chance of the date that was considered.
        promise: Option<Chance>,
        /// What it will wait for, the longest first.
        largest_causes: Vec<Cause>,
        /// What such jobs cost; none below five of them.
        similar_cost: Option<SimilarCost>,
    }
    /// When orders that may come would be ready.
    NewOrdersForecast {
        /// From when it looks ahead.
        as_of: DateTime<Utc>,
        /// As they were asked for, in order.
        orders: Vec<NewOrderReady>,
        /// Open orders that are worked on as well.
        orders_before_count: i64,
        /// What it rests on.
        basis: ForecastBasis,
    }
    /// An open order with its forecast.
    ForecastOrder {
        /// Which.
        work_order_id: WorkOrderId,
        /// Claim number.
        claim_number: String,
        /// Where it stands.
        stage: Stage,
        /// The promise, as a date of the shop.
        promised_on: NaiveDate,
        /// Ready by then in 10 of 20 cases.
        ready_p50: NaiveDate,
        /// In 17 of 20.
        ready_p85: NaiveDate,
        /// In 19 of 20.
        ready_p95: NaiveDate,
        /// Twenty equally likely dates, rising.
        twenty: Vec<NaiveDate>,
        /// The chance that the promise is kept.
        promise: Option<Chance>,
        /// Working days from the promise to `ready_p85`; 0: not likely late.
        likely_days_late: i64,
        /// What it waits for, the longest first.
        largest_causes: Vec<Cause>,
    }
    /// A promise that is likely to be missed.
    LikelyLate {
        /// The order with its dates.
        order: ForecastOrder,
        /// Who brought it.
        customer_name: String,
        /// Family and maker.
        instrument_words: String,
        /// Whose turn it is.
        waits_for: WaitsFor,
        /// Who claimed it.
        claimed_by: Option<PersonRef>,
        /// Why that date was promised, where fewer than 10 of 20 such jobs would be ready by then.
        promise_reason: Option<String>,
        /// Why, and the one thing that would help.
        help: Help,
        /// Whom to ring, where ringing helps.
        ring: Option<NameRef>,
        /// Their number as typed.
        ring_phone: Option<String>,
    }
    /// The forecast over all open orders.
    Forecast {
        /// From when it looks ahead; none before the first.
        as_of: Option<DateTime<Utc>>,
        /// Rises when a date shown changes.
        number: Option<i64>,
        /// Orders that are not ready yet, by claim number.
        orders: Vec<ForecastOrder>,
        /// Promises likely to be missed, most pressing first: by the promised date, then by days late.
        likely_late: Vec<LikelyLate>,
        /// Open orders that nobody at the bench can work on, by claim number.
        nobody_can: Vec<String>,
        /// What it rests on; none before the first.
        basis: Option<ForecastBasis>,
    }
    /// An e-mail that did not arrive, or of which nobody knows.
    LetterBack {
        /// Which.
        id: LetterId,
        /// About which order.
        claim_number: String,
        /// Its subject.
        subject: String,
        /// To whom.
        to_name: String,
        /// Where.
        to_email: Option<String>,
        /// Where to ring instead; none: no number is known.
        phone: Option<String>,
        /// `bounced`, `given_up` or `unknown`.
        state: LetterState,
        /// Why it stands there.
        state_reason: Option<String>,
        /// When it was written.
        queued_at: DateTime<Utc>,
    }
    /// A step at the torch.
    Flame {
        /// On which order.
        claim_number: String,
        /// What was done.
        step: String,
        /// Who.
        by: PersonRef,
        /// When it was stopped; of one that still burns, when it was begun.
        at: DateTime<Utc>,
        /// Whether the clock was stopped by something else than the person, so that the time is not sure.
        to_check: bool,
    }
    /// That somebody looked at the bench before locking up.
    BenchLook {
        /// Who.
        by: PersonRef,
        /// When.
        at: DateTime<Utc>,
    }
    /// The shop's day in the evening, beside the board and the forecast.
    Evening {
        /// Which day, as a date of the shop.
        on: NaiveDate,
        /// Orders that came in on it; what was entered by mistake does not count.
        came_in_count: i64,
        /// Orders that were closed on it.
        left_count: i64,
        /// E-mails about orders that went out on it.
        letters_sent_count: i64,
        /// E-mails that came back, were given up, or of which nobody knows whether they arrived, oldest first:
        /// of open orders, and of the last ten days; at most fifty.
        letters_back: Vec<LetterBack>,
        /// Steps at the torch whose clock still runs.
        burning: Vec<Flame>,
        /// The last step at the torch that was stopped on it.
        last_flame: Option<Flame>,
        /// The last look at the bench on it.
        bench_look: Option<BenchLook>,
    }
    /// How long orders of one stage usually still need.
    BoardStage {
        /// Which stage.
        stage: Stage,
        /// Working days that 17 of 20 closed orders still needed from this stage on; none in pickup, and
        /// before the first forecast.
        reach_days: Option<f64>,
        /// Whether that is typical or the shop's own.
        reach_kind: Option<Kind>,
        /// Closed orders that went through this stage.
        reach_count: Option<i64>,
    }
    /// Open orders by stage, in one answer.
    Board {
        /// When it was true.
        as_of: DateTime<Utc>,
        /// The number of the last event it holds.
        last_event: i64,
        /// The number of the forecast it holds; it rises when a date shown changes. None before the
        /// first.
        forecast_number: Option<i64>,
        /// From when that forecast looks ahead.
        forecast_as_of: Option<DateTime<Utc>>,
        /// Today, as a date of the shop.
        today: NaiveDate,
        /// The shop's open days from today on, for the scale.
        open_days: Vec<NaiveDate>,
        /// In the order of the shop.
        stages: Vec<BoardStage>,
        /// Who works here.
        people: Vec<PersonRef>,
        /// Every open order, by claim number.
        orders: Vec<BoardOrder>,
    }
}
