//! Doing what the story tells, through the same acts as real work.

use super::{gauge, pictures};
use super::story::{By, Moment, Pays, Planned, Step, Story, Visit};
use acts::change_stage::{DueBecomes, NewStageChange};
use acts::check_fit::NewFitCheck;
use acts::check_in::{NewCounterMark, NewWorkOrder};
use acts::claim::ClaimWish;
use acts::contacts::{NewCustomer, NewInstrument};
use acts::decide::{NewDecision, NewDispute};
use acts::done_at_counter::DoneAtCounter;
use acts::end::NewEnding;
use acts::hand_over::{HandoverHow, HandoverPayment, NewHandover, Waiver};
use acts::operations::{ClockAction, ClockAsk, NewOperation};
use acts::photos::NewPhoto;
use acts::quotes::{NewQuote, NewQuoteLine};
use acts::record_finding::{FindingChange, NewFinding};
use acts::record_test::NewTest;
use acts::small_things::{NewHold, NewNote, NewPayment};
use acts::{Actor, Acts, Clock, Halt};
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use store::views::Minutes;
use store::order_rows::{self, Named};
use store::photo_files::PhotoFiles;
use store::{Once, Store, findings, work_orders};
use trade::bench::shop_limits::FitKind;
use trade::words::ids::{
    CustomerId, DecisionId, FindingId, HoldId, InstrumentId, OperationId, PersonId, QuoteId,
    ShopId, WorkOrderId,
};
use trade::words::instrument::{TestKind, TestMethod, Verdict};
use trade::words::money::{Currency, Money};
use trade::words::paperwork::{Answer, LineKind, PaymentHow, PaymentKind};
use trade::words::stage::Role;
use uuid::Uuid;

/// Why letters of the past are kept back.
const KEPT_BACK: &str = "demo";

/// One who works in the shop, as the acts know them.
#[derive(Debug, Clone)]
pub struct Hand {
    pub person: PersonId,
    pub name: String,
    pub roles: Vec<Role>,
}

/// A shop in which a story is played.
pub struct Stage {
    pub store: Store,
    pub public_url: Arc<str>,
    pub photo_files: Arc<dyn PhotoFiles>,
    pub shop: ShopId,
    pub staff: Vec<Hand>,
    pub story: Story,
    /// The shop's methods, by name.
    pub methods: HashMap<String, Uuid>,
    /// A clock runs for one person on one step only, whatever the instants say, so whoever
    /// starts one holds this until it is stopped.
    turns: Vec<tokio::sync::Mutex<()>>,
    known: Mutex<Known>,
}

/// Who and what has an id already, by place in the story.
#[derive(Default)]
struct Known {
    customers: HashMap<usize, CustomerId>,
    instruments: HashMap<usize, InstrumentId>,
}

/// One visit under way: what its steps name by place.
#[derive(Debug)]
pub struct Life {
    visit: usize,
    /// How many of its moments are over.
    over: usize,
    order: WorkOrderId,
    claim_number: String,
    findings: Vec<FindingId>,
    operations: Vec<OperationId>,
    quote: Option<Out>,
    decision: Option<DecisionId>,
    holds: Vec<HoldId>,
}

/// The quote being written or out.
#[derive(Debug)]
struct Out {
    id: QuoteId,
    number: i32,
    hash: Option<String>,
    optional: Vec<Uuid>,
}

/// What stopped the story.
pub type Broken = Box<dyn std::error::Error + Send + Sync>;

fn nothing_kept() -> Once {
    Once { actor: String::new(), key: None, body_hash: Vec::new() }
}

fn euros(amount: i64) -> Money {
    Money::new(Decimal::from(amount), Currency::EUR).expect("whole euros fit the currency")
}

impl Stage {
    pub fn new(
        store: Store,
        public_url: Arc<str>,
        photo_files: Arc<dyn PhotoFiles>,
        shop: ShopId,
        staff: Vec<Hand>,
        story: Story,
        methods: HashMap<String, Uuid>,
    ) -> Self {
        let turns = staff.iter().map(|_| tokio::sync::Mutex::default()).collect();
        Self { store, public_url, photo_files, shop, staff, story, methods, turns, known: Mutex::default() }
    }

    /// The acts as they were at an instant.
    fn acts(&self, at: DateTime<Utc>, is_aloud: bool) -> Acts {
        Acts {
            store: self.store.clone(),
            clock: Clock::new(move || at),
            public_url: Arc::clone(&self.public_url),
            mute: (!is_aloud).then_some(KEPT_BACK),
            photo_files: Arc::clone(&self.photo_files),
        }
    }

    fn staff(&self, place: usize) -> Actor {
        let hand = &self.staff[place];
        Actor::staff(self.shop, hand.person, &hand.name, hand.roles.clone())
    }

    fn owner_name(&self, visit: &Visit) -> &str {
        &self.story.customers[self.story.instruments[visit.instrument].owner].name
    }

    fn actor(&self, by: By, visit: &Visit) -> Actor {
        match by {
            By::Staff(place) => self.staff(place),
            By::Owner => Actor::owner(self.shop, self.owner_name(visit)),
            By::Clock => Actor::clock(self.shop),
        }
    }

    fn customer(&self, place: usize) -> (Option<CustomerId>, Option<NewCustomer>) {
        let known = self
            .known
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
            .customers
            .get(&place)
            .copied();
        let new = known.is_none().then(|| {
            let customer = self.story.customers[place].clone();
            NewCustomer {
                kind: customer.kind,
                name: customer.name,
                email: customer.email,
                phone: customer.phone,
                language: None,
                mail_wanted: customer.mail_wanted,
                note: customer.note,
            }
        });
        (known, new)
    }

    /// Checks a visit in. Visits are checked in one after another, so that claim numbers rise.
    pub async fn check_in(&self, place: usize) -> Result<Life, Broken> {
        let visit = &self.story.visits[place];
        let instrument = &self.story.instruments[visit.instrument];
        let instrument_id = self
            .known
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
            .instruments
            .get(&visit.instrument)
            .copied();
        let (customer_id, customer) = self.customer(visit.customer);
        // A known instrument is its owner's; a new one is told whose it is.
        let (owner_id, owner) = if instrument_id.is_none() && instrument.owner != visit.customer {
            self.customer(instrument.owner)
        } else {
            (None, None)
        };
        let new = NewWorkOrder {
            customer_id,
            customer,
            owner_id,
            owner,
            instrument_id,
            instrument: instrument_id.is_none().then(|| NewInstrument {
                family: instrument.family,
                maker: Some(instrument.maker.clone()),
                model: Some(instrument.model.clone()),
                serial_number: instrument.serial_number.clone(),
                age_text: Some(instrument.age_text.clone()),
                finish: Some(instrument.finish.clone()),
                owners_number: instrument.owners_number.clone(),
            }),
            complaint: visit.complaint.clone(),
            condition_note: visit.condition_note.clone(),
            counter_marks: visit
                .marks
                .iter()
                .map(|(part, kind)| NewCounterMark {
                    part: part.clone(),
                    kind: *kind,
                    side: None,
                    position_mm: None,
                })
                .collect(),
            accessories: visit.accessories.clone(),
            may_cost: visit.may_cost.map(euros),
            examination_fee: visit.examination_fee.map(euros),
            promised_on: visit.promised_on,
            promise_reason: None,
            loaner_number: None,
            old_parts_back: false,
            keep_as_is: visit.keep_as_is.clone(),
            place: Some(visit.place.clone()),
        };
        let order = self
            .acts(visit.came_at, false)
            .check_in(&self.staff(visit.by), new, nothing_kept())
            .await
            .map_err(|halt| broken(&format!("check-in of {}", instrument.family), &halt))?;
        let mut known = self.known.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        known.customers.insert(visit.customer, order.customer.id);
        known.customers.insert(instrument.owner, order.owner.id);
        known.instruments.insert(visit.instrument, order.instrument.id);
        Ok(Life {
            visit: place,
            over: 0,
            order: order.id,
            claim_number: order.claim_number,
            findings: Vec::new(),
            operations: Vec::new(),
            quote: None,
            decision: None,
            holds: Vec::new(),
        })
    }

    /// Plays the moments of a visit that lie before `until`.
    pub async fn live(&self, life: &mut Life, until: DateTime<Utc>) -> Result<(), Broken> {
        while self.next_at(life).is_some_and(|at| at < until) {
            self.next(life).await?;
        }
        Ok(())
    }

    /// When the next moment of a visit is.
    pub fn next_at(&self, life: &Life) -> Option<DateTime<Utc>> {
        self.story.visits[life.visit].moments.get(life.over).map(|moment| moment.at)
    }

    /// Plays the next moment of a visit.
    pub async fn next(&self, life: &mut Life) -> Result<(), Broken> {
        let visit = &self.story.visits[life.visit];
        let Some(moment) = visit.moments.get(life.over) else { return Ok(()) };
        life.over += 1;
        self.play(life, visit, moment).await.map_err(|halt| {
            broken(
                &format!(
                    "{}, {:?} by {:?} at {}",
                    life.claim_number, moment.step, moment.by, moment.at
                ),
                &halt,
            )
        })
    }

    async fn version(&self, order: WorkOrderId) -> Result<i32, Halt> {
        self.store
            .read(self.shop, move |conn| {
                Ok::<_, Halt>(work_orders::find(conn, order)?.ok_or(Halt::Absent)?.version)
            })
            .await
    }

    async fn play(&self, life: &mut Life, visit: &Visit, moment: &Moment) -> Result<(), Halt> {
        let acts = self.acts(moment.at, moment.is_aloud);
        let actor = self.actor(moment.by, visit);
        let order = life.order;
        match &moment.step {
            Step::Claim => {
                let seen = self.version(order).await?;
                acts.claim(&actor, order, seen, ClaimWish::default()).await?;
            }
            Step::Examine => {
                let ask = NewStageChange {
                    to: trade::words::stage::Stage::Diagnosis,
                    because: trade::words::stage::Because::ExaminationBegins,
                    reason: None,
                    due: None,
                };
                let seen = self.version(order).await?;
                acts.change_stage(&actor, order, seen, ask, nothing_kept()).await?;
            }
            Step::Move { to, because, reason } => {
                let ask = NewStageChange {
                    to: *to,
                    because: *because,
                    reason: reason.clone(),
                    due: (*because == trade::words::stage::Because::OtherwiseSettled).then_some(DueBecomes::Waived),
                };
                let seen = self.version(order).await?;
                acts.change_stage(&actor, order, seen, ask, nothing_kept()).await?;
            }
            Step::Find(found) => {
                let new = NewFinding {
                    kind: found.kind,
                    part: found.part.clone(),
                    side: None,
                    position_mm: None,
                    size_mm: found.size_mm.map(Decimal::from),
                    leaks: found.leaks,
                    likely_to_spread: found.likely_to_spread,
                    found_when: found.found_when,
                    disposition: found.disposition,
                    disposition_reason: found.reason.clone(),
                    note: None,
                    shared: true,
                };
                life.findings
                    .push(acts.record_finding(&actor, order, new, nothing_kept()).await?.id);
            }
            Step::Fit { finding, part, clearance_hundredths } => {
                let new = NewFitCheck {
                    fit_kind: if part.contains("hand slide") { FitKind::HandSlide } else { FitKind::TuningSlide },
                    part: part.clone(),
                    measured: gauge::slide(f64::from(*clearance_hundredths) / 100.0),
                    finding_id: Some(life.findings[*finding]),
                    note: None,
                };
                acts.check_fit(&actor, order, new, nothing_kept()).await?;
            }
            Step::Photo { finding, of, shared } => {
                let finding_id = life.findings[*finding];
                let drawn = pictures::drawn(*of, life.visit)
                    .ok_or_else(|| store::Error::Unreadable("a picture of the demo".to_owned()))?;
                let caption = pictures::caption(*of).map(ToOwned::to_owned);
                let new = NewPhoto { finding_id: Some(finding_id), caption, shared: *shared };
                acts.add_photo(&actor, order, new, drawn, nothing_kept()).await?;
            }
            Step::Dispose { finding, disposition, reason } => {
                let id = life.findings[*finding];
                let seen = self
                    .store
                    .read(self.shop, move |conn| {
                        Ok::<_, Halt>(findings::find(conn, id)?.ok_or(Halt::Absent)?.version)
                    })
                    .await?;
                let change = FindingChange {
                    disposition: Some(*disposition),
                    disposition_reason: reason.clone(),
                    ..FindingChange::default()
                };
                acts.amend_finding(&actor, id, seen, change).await?;
            }
            Step::Plan(planned) => {
                let new = self.operation(planned, life);
                life.operations
                    .push(acts.add_operation(&actor, order, new, nothing_kept()).await?.id);
            }
            Step::Draft { operations, extras, message } => {
                let line = |kind, text, unit_price, optional, operation_id| NewQuoteLine {
                    id: None,
                    kind,
                    text,
                    quantity: None,
                    unit_price,
                    tax_class: None,
                    discount_percent: None,
                    optional,
                    operation_id,
                };
                let mut lines: Vec<NewQuoteLine> = operations
                    .iter()
                    .map(|(place, optional)| {
                        line(LineKind::Labour, None, None, *optional, Some(life.operations[*place]))
                    })
                    .collect();
                lines.extend(extras.iter().map(|(kind, text, price)| {
                    line(*kind, Some(text.clone()), Some(Decimal::from(*price)), false, None)
                }));
                let new = NewQuote {
                    message: message.clone(),
                    lines,
                    discount: None,
                    limit: None,
                    expires_on: None,
                };
                let quote = acts.draft_quote(&actor, order, new, nothing_kept()).await?;
                let optional =
                    quote.lines.iter().filter(|line| line.optional).map(|line| line.id).collect();
                life.quote = Some(Out { id: quote.id, number: quote.number, hash: None, optional });
            }
            Step::Send => {
                let seen = self.version(order).await?;
                let out = life.quote.as_mut().ok_or(Halt::Absent)?;
                out.hash =
                    acts.send_quote(&actor, out.id, seen, nothing_kept()).await?.content_hash;
            }
            Step::Seen => {
                acts.quote_seen(&actor, life.quote.as_ref().ok_or(Halt::Absent)?.id).await?
            }
            Step::Decide { answer, how, question, ticks } => {
                let out = life.quote.as_ref().ok_or(Halt::Absent)?;
                let new = NewDecision {
                    quote_version: out.number,
                    content_hash: out.hash.clone().unwrap_or_default(),
                    answer: *answer,
                    chosen_lines: if *ticks && *answer == Answer::Accepted {
                        out.optional.clone()
                    } else {
                        Vec::new()
                    },
                    accepted_by_name: Vec::new(),
                    how: *how,
                    typed_name: self.owner_name(visit).to_owned(),
                    question: question.clone(),
                };
                life.decision = Some(acts.decide(&actor, out.id, new, nothing_kept()).await?.id);
            }
            Step::Dispute(reason) => {
                let new = NewDispute {
                    typed_name: self.owner_name(visit).to_owned(),
                    reason: Some(reason.clone()),
                };
                acts.dispute(&actor, life.decision.ok_or(Halt::Absent)?, new, nothing_kept())
                    .await?;
            }
            Step::Expire => {
                let quote = life.quote.as_ref().ok_or(Halt::Absent)?.id;
                if !acts.expire_quote(self.shop, order, quote).await? {
                    return Err(Halt::refused("not-expired", "the quote can still be answered"));
                }
            }
            Step::Remind => {
                acts.remind_of(self.shop, order).await?;
            }
            Step::Work { operation, until, is_done } => {
                let By::Staff(place) = moment.by else { return Err(Halt::Absent) };
                let id = life.operations[*operation];
                let turn = self.turns[place].lock().await;
                let ask = |action| ClockAsk { action, stop_other: false };
                acts.clock(&actor, id, ask(ClockAction::Start), nothing_kept()).await?;
                let action = if *is_done { ClockAction::Done } else { ClockAction::Stop };
                self.acts(*until, false).clock(&actor, id, ask(action), nothing_kept()).await?;
                drop(turn);
            }
            Step::Start { operation } => {
                let ask = ClockAsk { action: ClockAction::Start, stop_other: false };
                acts.clock(&actor, life.operations[*operation], ask, nothing_kept()).await?;
            }
            Step::Test { kind, method, verdict, pinned, where_words, apart_from, note } => {
                let new = NewTest {
                    where_words: where_words.clone(),
                    finding_id: pinned.map(|place| life.findings[place]),
                    apart_from: apart_from.iter().map(|place| life.findings[*place]).collect(),
                    note: note.clone(),
                    ..NewTest::plain(*kind, *method, *verdict)
                };
                // What the readings say is for the server to compute.
                let new = if *method == TestMethod::PressureDecay {
                    let family = self.story.instruments[visit.instrument].family;
                    NewTest { verdict: None, pressure: Some(gauge::log(family, *verdict)), ..new }
                } else {
                    new
                };
                acts.record_test(&actor, order, None, new, nothing_kept()).await?;
            }
            Step::End { because, reason } => {
                let seen = self.version(order).await?;
                acts.end(
                    &actor,
                    order,
                    seen,
                    NewEnding { because: *because, reason: reason.clone() },
                    nothing_kept(),
                )
                .await?;
            }
            Step::ConfirmEnd => {
                let seen = self.version(order).await?;
                acts.confirm_ending(&actor, order, seen, nothing_kept()).await?;
            }
            Step::Hold { reason, look_again_on, supplier, note } => {
                let new = NewHold {
                    reason: *reason,
                    look_again_on: *look_again_on,
                    supplier: supplier.map(|one| one.name.to_owned()),
                    order_number: supplier.and_then(|one| one.order_number).map(ToOwned::to_owned),
                    expected_on: None,
                    note: note.clone(),
                };
                life.holds.push(acts.set_hold(&actor, order, new, nothing_kept()).await?.id);
            }
            Step::Lift => {
                if let Some(hold) = life.holds.pop() {
                    let seen = self.version(order).await?;
                    acts.lift_hold(&actor, hold, seen).await?;
                }
            }
            Step::Note(text) => {
                acts.add_note(&actor, order, NewNote { text: text.clone() }, nothing_kept())
                    .await?;
            }
            Step::Deposit { amount, how } => {
                let new = NewPayment {
                    amount: euros(*amount),
                    kind: PaymentKind::Deposit,
                    how: *how,
                    note: None,
                    more_than_due: false,
                };
                acts.take_payment(&actor, order, new, nothing_kept()).await?;
            }
            Step::HandOver { is_shipped, collected_by, pays } => {
                self.hand_over(&acts, &actor, order, *is_shipped, collected_by, *pays).await?
            }
            Step::AtCounter { doings, collected_by, how } => {
                let By::Staff(place) = moment.by else { return Err(Halt::Absent) };
                let paid = doings.iter().map(|doing| doing.price).sum();
                let visit = DoneAtCounter {
                    operations: doings.iter().map(|doing| self.operation(doing, life)).collect(),
                    test: NewTest::plain(TestKind::LeakTest, TestMethod::FingerAndBlow, Verdict::Passed),
                    handover: NewHandover {
                        how: HandoverHow::Collected,
                        collected_by: collected_by.clone(),
                        accessories_returned: visit.accessories.clone(),
                        accessories_lost: Vec::new(),
                        payment: Some(HandoverPayment {
                            amount: euros(paid),
                            how: *how,
                            note: None,
                            more_than_due: false,
                        }),
                        loaner_returned: false,
                        charge_to_account: false,
                        waive: None,
                        note: None,
                    },
                };
                let seen = self.version(order).await?;
                let turn = self.turns[place].lock().await;
                acts.done_at_counter(&actor, order, seen, visit, nothing_kept()).await?;
                drop(turn);
            }
        }
        Ok(())
    }

    fn operation(&self, planned: &Planned, life: &Life) -> NewOperation {
        let [low, typical, high] = planned.minutes;
        NewOperation {
            joint: None,
            needs_apart: Vec::new(),
            title: (!planned.is_method).then(|| planned.title.clone()),
            kind: Some(planned.kind),
            method_id: planned
                .is_method
                .then(|| self.methods.get(&planned.title).copied())
                .flatten(),
            heat: None,
            irreversible: None,
            finding_ids: planned.findings.iter().map(|place| life.findings[*place]).collect(),
            after: planned.after.iter().map(|place| life.operations[*place]).collect(),
            minutes: Some(Minutes { low, typical, high }),
            price: Some(euros(planned.price)),
            tax_class: None,
        }
    }

    async fn hand_over(
        &self,
        acts: &Acts,
        actor: &Actor,
        order: WorkOrderId,
        is_shipped: bool,
        collected_by: &str,
        pays: Pays,
    ) -> Result<(), Halt> {
        let (seen, due, accessories) = self
            .store
            .read(self.shop, move |conn| {
                let rows = order_rows::find(conn, Named::Id(order))?.ok_or(Halt::Absent)?;
                let names: Vec<String> =
                    rows.accessories()?.into_iter().map(|accessory| accessory.name).collect();
                Ok::<_, Halt>((rows.order.version, rows.due()?, names))
            })
            .await?;
        let is_due = due > Decimal::ZERO;
        let payment = match pays {
            Pays::Now(how) if is_due && how != PaymentHow::Account => Some(HandoverPayment {
                amount: Money::new(due, Currency::EUR).map_err(|_| Halt::Absent)?,
                how,
                note: None,
                more_than_due: false,
            }),
            Pays::Now(_) | Pays::OnAccount | Pays::Waived => None,
        };
        let new = NewHandover {
            how: if is_shipped { HandoverHow::Shipped } else { HandoverHow::Collected },
            collected_by: collected_by.to_owned(),
            accessories_returned: accessories,
            accessories_lost: Vec::new(),
            loaner_returned: false,
            payment,
            charge_to_account: pays == Pays::OnAccount,
            waive: (pays == Pays::Waived)
                .then(|| Waiver { reason: "Nothing came of it.".to_owned() }),
            note: None,
        };
        acts.hand_over(actor, order, seen, new, nothing_kept()).await?;
        Ok(())
    }
}

/// What stands in the way, in words, with where.
fn broken(place: &str, halt: &Halt) -> Broken {
    let why = match halt {
        Halt::Refused(refusal) => format!("{}: {}", refusal.slug, refusal.words),
        other => format!("{other:?}"),
    };
    format!("the demo shop could not be made ({place}): {why}").into()
}
