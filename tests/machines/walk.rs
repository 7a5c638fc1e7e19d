//! One walk: an order, several people, and one act after the other, each with its answer beside
//! the model's, and the order beside the model after it.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use acts::{Actor, Acts, Clock, Halt};
use chrono::{DateTime, Duration, TimeZone, Utc};
use harness::{TestShop, runtime};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::json;
use store::views::WorkOrder;
use store::order_rows::{self, Named};
use store::photo_files::PhotoFolder;
use store::{Once, Store};
use trade::words::ids::{DecisionId, FindingId, OperationId, QuoteId, WorkOrderId};
use trade::words::instrument::{Disposition, OperationKind as Kind, OperationState as State};
use trade::words::paperwork::{Answer, QuoteState};
use trade::words::spelling::Spelt;
use trade::words::stage::{Because, Stage};
use uuid::Uuid;

use crate::chance::Chance;
use crate::model::{Finding, Line, Model, Person, QUOTE_DAYS, Quote, Step, Whys};
use crate::rules;

/// A shop to walk in, without a server and without a post.
pub fn ground() -> TestShop {
    TestShop::opening().without_sender().without_server().open()
}

/// How often each act was done and refused, and each move made.
#[derive(Default)]
pub struct Told {
    acts: BTreeMap<&'static str, (usize, BTreeMap<String, usize>)>,
    moves: BTreeMap<String, usize>,
    walks: usize,
}

impl Told {
    pub fn add(&mut self, other: Self) {
        for (name, (done, refused)) in other.acts {
            let own = self.acts.entry(name).or_default();
            own.0 += done;
            for (slug, count) in refused {
                *own.1.entry(slug).or_default() += count;
            }
        }
        for (row, count) in other.moves {
            *self.moves.entry(row).or_default() += count;
        }
        self.walks += other.walks;
    }

    fn moved(&mut self, change: &store::views::StageChange) {
        let from = change.from.map_or("nowhere", Spelt::spelling);
        *self.moves.entry(format!("{from} -> {} {}", change.to, change.because)).or_default() += 1;
    }

    pub fn and(mut self, other: Self) -> Self {
        self.add(other);
        self
    }

    /// Every row of the table was walked, and hardly an act was never done or never refused.
    pub fn is_wide(&self) {
        for because in Because::ALL {
            let count: usize = self.moves.iter().filter(|(row, _)| row.ends_with(&format!(" {because}"))).map(|(_, count)| count).sum();
            assert!(count > 0, "no walk made a move because of {because}");
        }
        for (name, (done, refused)) in &self.acts {
            assert!(*done > 0, "{name} was never done");
            // Nobody of the staff is refused these, as the walks do them: on a draft or finding that is there.
            let is_anybodys = matches!(*name, "the clock" | "amend finding" | "strike a draft");
            assert!(!refused.is_empty() || is_anybodys, "{name} was never refused");
        }
    }
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{} walks", self.walks)?;
        for (name, (done, refused)) in &self.acts {
            writeln!(f, "  {name}: done {done}, refused {refused:?}")?;
        }
        for (row, count) in &self.moves {
            writeln!(f, "  {row}: {count}")?;
        }
        Ok(())
    }
}

/// What came of one act, as far as the walk needs it.
type Came<T> = Result<T, Halt>;

/// The slug of a refusal.
fn slug(halt: &Halt) -> &str {
    match halt {
        Halt::Refused(refusal) => refusal.slug,
        Halt::Claimed { .. } => "already-claimed",
        Halt::Stale { .. } => "stale",
        Halt::Absent => "absent",
        Halt::Invalid(_) => "invalid",
        Halt::NotComputed(_) => "not-computed",
        Halt::Store(_) => "store",
    }
}

/// One walk.
pub struct Walk<'s> {
    shop: &'s TestShop,
    acts: Acts,
    ahead: Arc<AtomicI64>,
    chance: Chance,
    seed: u64,
    aloud: bool,
    order: WorkOrderId,
    model: Model,
    seen: WorkOrder,
    told: Told,
    serial: usize,
    most_authorised: Decimal,
    /// Whether anything was answered other than by a refusal in this act.
    was_done: bool,
}

fn start() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 5, 12, 8, 0, 0).unwrap()
}

impl<'s> Walk<'s> {
    /// Checks an instrument in.
    pub fn begin(shop: &'s TestShop, seed: u64, aloud: bool) -> Self {
        let ahead = Arc::new(AtomicI64::new(0));
        let hand = Arc::clone(&ahead);
        let acts = Acts {
            store: STORES.with(|stores| stores.borrow_mut().entry(shop.id()).or_insert_with(|| Store::new(&shop.database().serving_url(), 2)).clone()),
            clock: Clock::new(move || start() + Duration::seconds(hand.load(Ordering::Relaxed))),
            public_url: "http://localhost".into(),
            mute: None,
            photo_files: Arc::new(PhotoFolder::at("/nowhere")),
        };
        let mut chance = Chance::new(seed);
        let may_cost = chance.percent(40).then(|| i64::try_from(chance.below(4) * 100).unwrap());
        let fee = chance.percent(30).then_some(35);
        let euros = |amount: i64| json!({"amount": format!("{amount}.00"), "currency": "EUR"});
        let mut new = json!({
            "customer": {"name": "Otto Brenner", "email": "otto@player.example"},
            "instrument": {"family": "baritone"},
            "complaint": "It wheezes.", "promised_on": "2026-06-10",
        });
        if let Some(amount) = may_cost {
            new["may_cost"] = euros(amount);
        }
        if let Some(amount) = fee {
            new["examination_fee"] = euros(amount);
        }
        let actor = shop.actor("GL");
        let seen = runtime().block_on(acts.check_in(&actor, serde_json::from_value(new).unwrap(), once(None))).unwrap();
        let model = Model {
            stage: Stage::Intake,
            version: seen.version,
            tick: 0,
            day: 0,
            claimed_by: None,
            may_cost,
            fee,
            findings: Vec::new(),
            steps: Vec::new(),
            quotes: Vec::new(),
            acceptances: Vec::new(),
            ending: None,
            question: false,
            came_through_tests: false,
            was_bench_done: false,
            in_pickup_because: None,
            paid: 0,
            waived: 0,
            reminded: 0,
            last_reminded: -1,
            in_pickup_since: 0,
            pickup_reminded: 0,
            recorded: false,
        };
        let order = seen.id;
        let mut told = Told { walks: 1, ..Told::default() };
        for change in &seen.stage_changes {
            told.moved(change);
        }
        Self { shop, acts, ahead, chance, seed, aloud, order, model, seen, told, serial: 0, most_authorised: Decimal::ZERO, was_done: false }
    }

    /// So many acts.
    pub fn go(mut self, count: usize) -> Told {
        for _ in 0..count {
            self.model.tick += 1;
            self.ahead.fetch_add(60, Ordering::Relaxed);
            let before = (self.model.clone(), self.seen.clone());
            self.was_done = false;
            let (name, done) = self.act();
            // After a refusal every third time: whatever it changed shows at the next look as well.
            if self.was_done || self.chance.percent(35) {
                self.look(name, done, &before.0, &before.1);
            }
        }
        // No clock is left running for the next walk.
        for step in self.model.steps.clone().iter().filter(|step| step.state == State::Running) {
            let by = self.actor(step.clock_of.unwrap());
            self.run(self.acts.clone().clock(&by, OperationId(step.id), from(json!({"action": "stop"})), once(None))).unwrap();
        }
        self.told
    }

    fn actor(&self, who: Person) -> Actor {
        match who {
            Person::Greta => self.shop.actor("GL"),
            Person::Mara => self.shop.actor("MV"),
            Person::Jonas => self.shop.actor("JK"),
            Person::Ines => self.shop.actor("IF"),
            Person::Owner => Actor::owner(self.shop.id(), "Otto Brenner"),
            Person::Clock => Actor::clock(self.shop.id()),
        }
    }

    fn run<T>(&self, act: impl Future<Output = Came<T>>) -> Came<T> {
        runtime().block_on(act)
    }

    fn somebody(&mut self, mostly: &[Person]) -> Person {
        if self.chance.percent(88) { self.chance.one(mostly) } else { self.chance.one(&Person::STAFF) }
    }

    fn key(&mut self) -> Once {
        self.serial += 1;
        // Some under a key: a walk is made with and without.
        let key = self.chance.percent(20).then(|| format!("{}-{}", self.seed, self.serial));
        once(key)
    }

    /// Compares what came of an act with the reasons that the model has against it.
    fn compare<T>(&mut self, name: &'static str, who: Person, whys: &Whys, came: Came<T>) -> Option<T> {
        if self.aloud {
            let said = came.as_ref().err().map_or("done", slug);
            eprintln!("{:>3} {:?} {name}: {said}; the model: {whys:?}; {}", self.model.tick, who, self.model.stage);
        }
        let entry = self.told.acts.entry(name).or_default();
        match came {
            Ok(value) => {
                entry.0 += 1;
                self.was_done = true;
                assert!(whys.is_empty(), "{}: {who:?} could {name}, against {whys:?}", self.seed);
                Some(value)
            }
            Err(halt) => {
                *entry.1.entry(slug(&halt).to_owned()).or_default() += 1;
                assert!(whys.contains(&slug(&halt)), "{}: {who:?} could not {name}: {halt:?}; the model has {whys:?} against it", self.seed);
                None
            }
        }
    }

    /// Does something, and says what and whether it was done.
    fn act(&mut self) -> (&'static str, bool) {
        const TECHNICIANS: [Person; 2] = [Person::Mara, Person::Jonas];
        if self.chance.percent(4) {
            return self.stale();
        }
        // An end that waits for something to be put together again is seldom reached by chance alone.
        let waits_for_its_end = self.model.ending.is_some() && !matches!(self.model.stage, Stage::Pickup | Stage::Closed);
        if waits_for_its_end && self.chance.percent(60) {
            return match self.chance.below(10) {
                0..3 => self.plans_to(Kind::PutTogether),
                3..6 => self.starts(),
                6..8 => self.stops(),
                8 => self.confirms(),
                _ => self.takes_ending_back(),
            };
        }
        if self.model.is_apart() && self.model.ending.is_none() && self.chance.percent(10) {
            return self.ends();
        }
        let roll = self.chance.below(100);
        match self.model.stage {
            Stage::Intake => match roll {
                0..35 => self.claim(),
                35..75 => self.asks(Stage::Diagnosis, Because::ExaminationBegins, &TECHNICIANS),
                75..80 => self.finds(),
                80..84 => self.ends(),
                84..88 => self.gives_back(),
                88..91 => self.asks(Stage::Closed, Because::EnteredByMistake, &[Person::Greta]),
                91..93 => self.starts(),
                _ => self.asks_anything(),
            },
            Stage::Diagnosis => match roll {
                0..12 => self.finds(),
                12..20 => self.amends_finding(),
                20..38 => self.plans(),
                38..54 => self.drafts(),
                54..68 => self.sends(),
                68..75 => self.asks(Stage::Bench, Because::CoveredBeforehand, &TECHNICIANS),
                75..79 => self.strikes_draft(),
                79..82 => self.ends(),
                82..85 => self.takes_ending_back(),
                85..88 => self.confirms(),
                88..90 => self.asks(Stage::Pickup, Because::NothingToDo, &TECHNICIANS),
                90..93 => self.decides(),
                93..95 => self.starts(),
                95..98 => self.days_pass(),
                _ => self.asks_anything(),
            },
            Stage::Approval => match roll {
                0..40 => self.decides(),
                40..50 => self.days_pass(),
                50..56 => self.starts(),
                56..60 => self.stops(),
                60..66 => self.drafts(),
                66..72 => self.sends(),
                72..76 => self.plans(),
                76..80 => self.asks_recall(),
                80..84 => self.ends(),
                84..88 => self.takes_ending_back(),
                88..92 => self.confirms(),
                92..94 => self.finds(),
                94..96 => self.disputes(),
                _ => self.asks_anything(),
            },
            Stage::Bench => match roll {
                0..26 => self.starts(),
                26..46 => self.stops(),
                46..58 => self.asks(Stage::LeakTest, Because::BenchDone, &TECHNICIANS),
                58..64 => self.plans(),
                64..70 => self.drafts(),
                70..75 => self.sends(),
                75..79 => self.disputes(),
                79..82 => self.finds(),
                82..85 => self.amends_finding(),
                85..88 => self.strikes_step(),
                88..91 => self.ends(),
                91..93 => self.confirms(),
                93..94 => self.takes_ending_back(),
                94..95 => self.strikes_draft(),
                95..97 => self.days_pass(),
                97..98 => self.claim(),
                _ => self.asks_anything(),
            },
            Stage::LeakTest => match roll {
                0..55 => self.tests(),
                55..65 => self.asks(Stage::Pickup, Because::Overridden, &[Person::Ines]),
                65..72 => self.finds(),
                72..78 => self.ends(),
                78..84 => self.starts(),
                84..88 => self.hands_over(),
                _ => self.asks_anything(),
            },
            Stage::Pickup => match roll {
                0..22 => self.hands_over(),
                22..40 => self.asks(Stage::Bench, Because::SentBack, &[Person::Greta]),
                40..58 => self.asks(Stage::Diagnosis, Because::Reopened, &[Person::Greta]),
                58..66 => self.days_pass(),
                66..70 => self.confirms(),
                70..74 => self.takes_ending_back(),
                74..78 => self.stops(),
                78..82 => self.decides(),
                82..86 => self.plans(),
                86..88 => self.asks(Stage::Closed, Because::OtherwiseSettled, &[Person::Ines]),
                _ => self.asks_anything(),
            },
            Stage::Closed => match roll {
                0..20 => self.starts(),
                20..40 => self.finds(),
                40..60 => self.claim(),
                60..80 => self.hands_over(),
                _ => self.asks_anything(),
            },
        }
    }

    // The acts.

    fn claim(&mut self) -> (&'static str, bool) {
        if self.chance.percent(12) {
            let who = self.somebody(&[Person::Ines]);
            let whys = self.model.hand_claim(who);
            let wish = from(json!({"for": self.actor(Person::Jonas).who.person(), "reason": "illness"}));
            let came = self.run(self.acts.claim(&self.actor(who), self.order, self.seen.version, wish));
            let done = self.compare("hand a claim over", who, &whys, came).is_some();
            if done {
                let before = self.model.claimed_by;
                self.model.stop_clocks_of(before);
                self.model.claimed_by = Some(Person::Jonas);
            }
            return ("hand a claim over", done);
        }
        let who = self.somebody(&[Person::Mara, Person::Mara, Person::Jonas]);
        let whys = self.model.claim(who);
        let came = self.run(self.acts.claim(&self.actor(who), self.order, self.seen.version, from(json!({}))));
        let done = self.compare("claim", who, &whys, came).is_some();
        let is_new = done && self.model.claimed_by != Some(who);
        if done {
            self.model.claimed_by = Some(who);
        }
        ("claim", is_new)
    }

    fn gives_back(&mut self) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Mara]);
        let whys = self.model.give_back(who);
        let came = self.run(self.acts.give_back(&self.actor(who), self.order, self.seen.version));
        let done = self.compare("give a claim back", who, &whys, came).is_some();
        let had = self.model.claimed_by;
        if done {
            self.model.stop_clocks_of(had);
            self.model.claimed_by = None;
        }
        ("give a claim back", done && had.is_some())
    }

    fn asks(&mut self, to: Stage, because: Because, mostly: &[Person]) -> (&'static str, bool) {
        let who = self.somebody(mostly);
        let reason = self.chance.percent(92).then_some("so it is");
        let due = match self.chance.below(3) {
            _ if because != Because::OtherwiseSettled => None,
            0 => Some("waived"),
            1 => Some("charged_to_account"),
            _ => None,
        };
        let whys = self.model.asked(who, to, because, reason.is_some(), due.is_some());
        let wanted = from(json!({"to": to, "because": because, "reason": reason, "due": due}));
        let once = self.key();
        let came = self.run(self.acts.change_stage(&self.actor(who), self.order, self.seen.version, wanted, once));
        let done = self.compare("ask for a move", who, &whys, came).is_some();
        if done {
            self.model.moved(to, because, due == Some("waived"));
        }
        ("ask for a move", done)
    }

    fn asks_recall(&mut self) -> (&'static str, bool) {
        let to = if self.model.accepted_before() != self.chance.percent(15) { Stage::Bench } else { Stage::Diagnosis };
        self.asks(to, Because::Recalled, &[Person::Greta, Person::Mara])
    }

    fn asks_anything(&mut self) -> (&'static str, bool) {
        let (to, because) = (self.chance.one(Stage::ALL), self.chance.one(Because::ALL));
        // An end that was asked for by chance ends too many walks.
        if matches!(because, Because::OtherwiseSettled) && !self.chance.percent(20) {
            return self.asks(Stage::Closed, Because::CheckedIn, &Person::STAFF);
        }
        self.asks(to, because, &Person::STAFF)
    }

    fn finds(&mut self) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Mara, Person::Jonas]);
        let disposition = self.chance.one(&[Disposition::Repair, Disposition::Repair, Disposition::LeaveAndWatch, Disposition::Undecided]);
        let whys = self.model.find(who);
        let new = from(json!({"kind": "crack", "part": "bell bow", "disposition": disposition, "disposition_reason": "as the owner wishes"}));
        let once = self.key();
        let came = self.run(self.acts.record_finding(&self.actor(who), self.order, new, once));
        let found = self.compare("record a finding", who, &whys, came);
        if let Some(found) = &found {
            self.model.findings.push(Finding { id: found.id.0, version: found.version, disposition, failed_test: false });
            self.model.recorded = true;
        }
        ("record a finding", found.is_some())
    }

    fn amends_finding(&mut self) -> (&'static str, bool) {
        let undecided: Vec<usize> =
            (0..self.model.findings.len()).filter(|at| self.model.findings[*at].disposition == Disposition::Undecided).collect();
        if undecided.is_empty() {
            return self.finds();
        }
        let at = self.chance.one(&undecided);
        let who = self.chance.one(&[Person::Mara, Person::Jonas]);
        let disposition = self.chance.one(&[Disposition::Repair, Disposition::LeaveAndWatch]);
        let finding = self.model.findings[at].clone();
        let change = from(json!({"disposition": disposition, "disposition_reason": "as the owner wishes"}));
        let came = self.run(self.acts.amend_finding(&self.actor(who), FindingId(finding.id), finding.version, change));
        let done = self.compare("amend finding", who, &Vec::new(), came);
        if let Some(now) = &done {
            self.model.findings[at].disposition = disposition;
            self.model.findings[at].version = now.version;
        }
        ("amend finding", done.is_some())
    }

    fn plans(&mut self) -> (&'static str, bool) {
        let kind = match self.chance.below(10) {
            0..6 => Kind::Work,
            6..8 => Kind::TakeApart,
            _ => Kind::PutTogether,
        };
        self.plans_to(kind)
    }

    fn plans_to(&mut self, kind: Kind) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Mara, Person::Jonas]);
        let hard = kind == Kind::Work && self.chance.percent(20);
        let price = i64::try_from(self.chance.below(4) * 40).unwrap();
        let findings: Vec<Uuid> = self.model.findings.iter().map(|finding| finding.id).filter(|_| self.chance.percent(60)).collect();
        // As a finding is recorded, so is a step planned.
        let whys = self.model.find(who);
        let new = from(json!({
            "title": format!("step {}", self.model.steps.len()), "kind": kind, "irreversible": hard, "finding_ids": findings,
            "price": {"amount": format!("{price}.00"), "currency": "EUR"},
        }));
        let once = self.key();
        let came = self.run(self.acts.add_operation(&self.actor(who), self.order, new, once));
        let planned = self.compare("plan a step", who, &whys, came);
        if let Some(step) = &planned {
            self.model.steps.push(Step {
                id: step.id.0, version: step.version, kind, price, hard, state: State::Planned, begun: None, clock_of: None, waits: false, findings,
            });
            self.model.recorded = true;
        }
        ("plan a step", planned.is_some())
    }

    fn any_step(&mut self) -> Option<Uuid> {
        let ids: Vec<Uuid> = self.model.steps.iter().map(|step| step.id).collect();
        (!ids.is_empty()).then(|| self.chance.one(&ids))
    }

    fn strikes_step(&mut self) -> (&'static str, bool) {
        let Some(id) = self.any_step() else { return self.plans() };
        let who = self.somebody(&[Person::Mara]);
        let whys = self.model.strike_step(who, id);
        let version = self.model.step(id).version;
        let change = from(json!({"struck_reason": "not needed"}));
        let came = self.run(self.acts.amend_operation(&self.actor(who), OperationId(id), version, change));
        let done = self.compare("strike a step", who, &whys, came).is_some();
        if done {
            self.model.step_mut(id).state = State::Struck;
        }
        ("strike a step", done)
    }

    /// A line for each of some steps, sometimes optional.
    fn drafts(&mut self) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Mara, Person::Greta]);
        let whys = self.model.write_draft();
        let chosen: Vec<(Uuid, bool)> = self
            .model
            .steps
            .clone()
            .iter()
            .filter(|step| step.state != State::Struck && step.begun.is_none())
            .filter(|_| self.chance.percent(75))
            .map(|step| step.id)
            .collect::<Vec<_>>()
            .into_iter()
            .map(|id| (id, self.chance.percent(20)))
            .collect();
        let lines: Vec<_> = chosen.iter().map(|(id, optional)| json!({"kind": "labour", "operation_id": id, "optional": optional})).collect();
        let until = (start() + Duration::days(self.model.day + QUOTE_DAYS)).date_naive();
        let is_until_chosen = self.chance.percent(50);
        let new = from(if is_until_chosen { json!({"lines": lines, "expires_on": until}) } else { json!({"lines": lines}) });
        let once = self.key();
        let came = self.run(self.acts.draft_quote(&self.actor(who), self.order, new, once));
        let draft = self.compare("write a draft", who, &whys, came);
        if let Some(draft) = &draft {
            let carried: Vec<Line> = self.model.standing().last().map_or(Vec::new(), |last| {
                let stands = |line: &&Line| self.model.step(line.step).state != State::Struck;
                last.counted.iter().filter(stands).map(|line| Line { optional: false, is_new: false, ..line.clone() }).collect()
            });
            let is_extra = self.model.accepted_before();
            let mut wanted = carried.clone();
            for (id, optional) in &chosen {
                if !carried.iter().any(|line| line.step == *id) {
                    let step = self.model.step(*id);
                    wanted.push(Line { id: Uuid::nil(), step: *id, price: step.price, optional: *optional || step.hard, hard: step.hard, is_new: is_extra });
                }
            }
            assert_eq!(draft.lines.len(), wanted.len(), "{}: the lines of a draft", self.seed);
            for (own, line) in wanted.iter_mut().zip(&draft.lines) {
                assert_eq!((Some(OperationId(own.step)), own.optional, own.hard, own.is_new), (line.operation_id, line.optional, line.irreversible, line.is_new));
                own.id = line.id;
            }
            let limit = euros(draft.limit.amount());
            assert_eq!(limit, wanted.iter().map(|line| line.price).sum::<i64>(), "{}: the limit is everything with what may be ticked", self.seed);
            self.model.quotes.push(Quote {
                id: draft.id.0,
                version: draft.version,
                number: draft.number,
                hash: String::new(),
                state: QuoteState::Draft,
                lines: wanted,
                is_extra,
                limit,
                until: self.model.day + QUOTE_DAYS,
                is_until_chosen,
                sent_on: None,
                answered: None,
            });
            self.model.recorded = true;
        }
        ("write a draft", draft.is_some())
    }

    fn strikes_draft(&mut self) -> (&'static str, bool) {
        let Some(draft) = self.model.draft().cloned() else { return self.drafts() };
        let who = self.somebody(&[Person::Mara]);
        let came = self.run(self.acts.strike_draft(&self.actor(who), QuoteId(draft.id), draft.version));
        let done = self.compare("strike a draft", who, &Vec::new(), came).is_some();
        self.model.quotes.iter_mut().find(|quote| quote.id == draft.id).unwrap().state = QuoteState::Struck;
        ("strike a draft", done)
    }

    fn sends(&mut self) -> (&'static str, bool) {
        let Some(draft) = self.model.draft().cloned() else { return self.drafts() };
        let who = self.somebody(&[Person::Mara]);
        let whys = self.model.send(who);
        let once = self.key();
        let came = self.run(self.acts.send_quote(&self.actor(who), QuoteId(draft.id), self.seen.version, once));
        let sent = self.compare("send a quote", who, &whys, came);
        if let Some(sent) = &sent {
            self.model.sent_draft(sent.content_hash.clone().unwrap());
            let until = self.model.sent().unwrap().until;
            assert_eq!(sent.expires_on, (start() + Duration::days(until)).date_naive(), "{}: the last day of a quote", self.seed);
        }
        ("send a quote", sent.is_some())
    }

    fn decides(&mut self) -> (&'static str, bool) {
        let all: Vec<Quote> = self.model.quotes.iter().filter(|quote| !quote.hash.is_empty()).cloned().collect();
        if all.is_empty() {
            return self.drafts();
        }
        // Mostly the one that is out; sometimes an old page.
        let quote = match self.model.sent() {
            Some(sent) if self.chance.percent(85) => sent.clone(),
            _ => all[self.chance.below(all.len())].clone(),
        };
        let who = self.somebody(&[Person::Owner, Person::Owner, Person::Greta]);
        let answer = self.chance.one(&[Answer::Accepted, Answer::Accepted, Answer::Accepted, Answer::Declined, Answer::Questions]);
        let ticked: Vec<Uuid> = if answer == Answer::Accepted {
            let optional: Vec<Uuid> = quote.lines.iter().filter(|line| line.optional).map(|line| line.id).collect();
            optional.into_iter().filter(|_| self.chance.percent(60)).collect()
        } else {
            Vec::new()
        };
        let question = (answer == Answer::Questions).then(|| "What would it sound like?".to_owned());
        let whys = self.model.decide(who, &quote, answer, &ticked, question.as_deref());
        let repeats = self.model.is_repeat(&quote, answer, &ticked, question.as_deref());
        let new = from(json!({
            "quote_version": quote.number, "content_hash": quote.hash, "answer": answer, "chosen_lines": ticked,
            "how": if who == Person::Owner { "link" } else { "phone" }, "typed_name": "Otto Brenner", "question": question,
        }));
        let once = self.key();
        let came = self.run(self.acts.decide(&self.actor(who), QuoteId(quote.id), new, once));
        let decided = self.compare("decide", who, &whys, came);
        if let Some(decision) = &decided
            && !repeats
        {
            self.model.decided(quote.id, answer, ticked, question, decision.id.0);
        }
        ("decide", decided.is_some() && !repeats)
    }

    fn disputes(&mut self) -> (&'static str, bool) {
        let all: Vec<Uuid> = self.model.acceptances.iter().map(|one| one.decision).collect();
        if all.is_empty() {
            return self.starts();
        }
        let decision = if self.chance.percent(80) { *all.last().unwrap() } else { self.chance.one(&all) };
        let who = self.somebody(&[Person::Owner, Person::Greta]);
        let was = self.model.acceptances.iter().any(|one| one.decision == decision && one.disputed);
        let whys = self.model.dispute(who, decision);
        let once = self.key();
        let new = from(json!({"typed_name": "Otto Brenner", "reason": "I meant the other one."}));
        let came = self.run(self.acts.dispute(&self.actor(who), DecisionId(decision), new, once));
        let done = self.compare("call it a mistake", who, &whys, came).is_some();
        if done && !was {
            self.model.disputed(decision);
        }
        ("call it a mistake", done && !was)
    }

    fn starts(&mut self) -> (&'static str, bool) {
        let open: Vec<Uuid> = self.model.steps.iter().filter(|step| self.model.may_start(step.id).is_empty()).map(|step| step.id).collect();
        let id = if !open.is_empty() && self.chance.percent(75) { Some(self.chance.one(&open)) } else { self.any_step() };
        let Some(id) = id else { return self.plans() };
        let who = self.somebody(&[Person::Mara, Person::Mara, Person::Jonas]);
        let whys = self.model.start(who, id);
        let runs = self.model.step(id).clock_of == Some(who);
        let once = self.key();
        let came = self.run(self.acts.clock(&self.actor(who), OperationId(id), from(json!({"action": "start"})), once));
        let done = self.compare("start the clock", who, &whys, came).is_some();
        if done {
            self.model.started(who, id);
        }
        ("start the clock", done && !runs)
    }

    fn stops(&mut self) -> (&'static str, bool) {
        let begun: Vec<Uuid> = self.model.steps.iter().filter(|step| matches!(step.state, State::Running | State::Paused)).map(|step| step.id).collect();
        let id = if !begun.is_empty() && self.chance.percent(85) { Some(self.chance.one(&begun)) } else { self.any_step() };
        let Some(id) = id else { return self.plans() };
        let step = self.model.step(id).clone();
        let who = match step.clock_of {
            Some(by) if self.chance.percent(80) => by,
            _ => self.somebody(&[Person::Mara, Person::Jonas]),
        };
        let finishes = self.chance.percent(80);
        let (name, whys) = if finishes { ("finish a step", self.model.finish(who, id)) } else { ("stop the clock", self.model.stop(who, id)) };
        let once = self.key();
        let ask = from(json!({"action": if finishes { "done" } else { "stop" }}));
        let came = self.run(self.acts.clock(&self.actor(who), OperationId(id), ask, once));
        let done = self.compare(name, who, &whys, came).is_some();
        if done {
            let step = self.model.step_mut(id);
            if finishes || step.state == State::Running {
                step.state = if finishes { State::Done } else { State::Paused };
            }
            step.clock_of = None;
        }
        // What is done already is done again without harm.
        let nothing = if finishes { step.state == State::Done } else { step.state != State::Running };
        (name, done && !nothing)
    }

    fn tests(&mut self) -> (&'static str, bool) {
        // An order is seldom at its tests: whoever may not test has to try it oftener than elsewhere.
        let who = if self.chance.percent(15) { Person::Greta } else { self.somebody(&[Person::Mara, Person::Jonas]) };
        let whys = self.model.test(who);
        let fails = self.chance.percent(45);
        let known: Vec<Uuid> = self.model.findings.iter().map(|finding| finding.id).collect();
        let mut new = json!({"kind": "leak_test", "method": "bubbles", "verdict": if fails { "failed" } else { "passed" }});
        let pinned = (fails && !known.is_empty() && self.chance.percent(60)).then(|| self.chance.one(&known));
        let disposition = self.chance.one(&[Disposition::Repair, Disposition::Undecided, Disposition::LeaveAndWatch]);
        match pinned {
            Some(id) => new["finding_id"] = json!(id),
            None if fails => new["finding"] = json!({"kind": "open_joint", "part": "ferrule", "disposition": disposition, "disposition_reason": "as the owner wishes"}),
            None => {}
        }
        let once = self.key();
        let came = self.run(self.acts.record_test(&self.actor(who), self.order, None, from(new), once));
        let tested = self.compare(if fails { "fail a test" } else { "pass a test" }, who, &whys, came);
        if let Some(tested) = &tested {
            let at = tested.finding_id.map(|id| id.0);
            if let Some(id) = at
                && !known.contains(&id)
            {
                self.model.findings.push(Finding { id, version: 1, disposition, failed_test: true });
            }
            self.model.tested(at);
        }
        ("record a test", tested.is_some())
    }

    fn ends(&mut self) -> (&'static str, bool) {
        let because = self.chance.one(&[Because::Withdrawn, Because::Unanswered, Because::Unanswered, Because::NotRepairable]);
        let whose: &[Person] = if because == Because::NotRepairable { &[Person::Mara] } else { &[Person::Greta] };
        let who = self.somebody(whose);
        let reason = self.chance.percent(92).then_some("so it is");
        let whys = self.model.end(who, because, reason.is_some());
        let once = self.key();
        let came = self.run(self.acts.end(&self.actor(who), self.order, self.seen.version, from(json!({"because": because, "reason": reason})), once));
        let done = self.compare("wish to end", who, &whys, came).is_some();
        if done {
            self.model.ended(because);
        }
        ("wish to end", done)
    }

    fn takes_ending_back(&mut self) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Greta]);
        let whys = self.model.take_ending_back(who);
        let came = self.run(self.acts.take_ending_back(&self.actor(who), self.order, self.seen.version));
        let done = self.compare("take the wish back", who, &whys, came).is_some();
        if done {
            self.model.ending = None;
        }
        ("take the wish back", done)
    }

    fn confirms(&mut self) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Mara]);
        let whys = self.model.confirm(who);
        let once = self.key();
        let came = self.run(self.acts.confirm_ending(&self.actor(who), self.order, self.seen.version, once));
        let done = self.compare("confirm the end", who, &whys, came).is_some();
        if done {
            self.model.confirmed();
        }
        ("confirm the end", done)
    }

    fn hands_over(&mut self) -> (&'static str, bool) {
        let who = self.somebody(&[Person::Greta]);
        let (settles, waives) = (self.chance.percent(60), self.chance.percent(30));
        let due = self.model.due();
        let mut new = json!({"how": if self.chance.percent(50) { "collected" } else { "shipped" }, "collected_by": "Otto Brenner"});
        if settles && due > 0 {
            if waives {
                new["waive"] = json!({"reason": "an old friend"});
            } else {
                new["payment"] = json!({"amount": {"amount": format!("{due}.00"), "currency": "EUR"}, "how": "cash"});
            }
        }
        let whys = self.model.hand_over(who, settles, settles && waives);
        let once = self.key();
        let came = self.run(self.acts.hand_over(&self.actor(who), self.order, self.seen.version, from(new), once));
        let done = self.compare("hand over", who, &whys, came).is_some();
        if done {
            self.model.handed_over(settles && waives);
        }
        ("hand over", done)
    }

    /// Days go by, and the clock does what it does.
    fn days_pass(&mut self) -> (&'static str, bool) {
        let days = self.chance.one(&[1, 3, 7, 7, 8, 15]);
        self.model.day += days;
        self.ahead.fetch_add(days * 86_400, Ordering::Relaxed);
        let mut any = false;
        if let Some(quote) = self.model.sent().cloned() {
            let expires = self.run(self.acts.expire_quote(self.shop.id(), self.order, QuoteId(quote.id)));
            let should = self.model.expired();
            let did = self.compare("the clock", Person::Clock, &Vec::new(), expires).unwrap();
            assert_eq!(did, should, "{}: a quote runs out on the day after its last", self.seed);
            any |= did;
        }
        // Twice: what was written is not written again.
        for _ in 0..2 {
            let should = self.model.is_to_remind();
            let came = self.run(self.acts.remind_of(self.shop.id(), self.order));
            let did = self.compare("the clock", Person::Clock, &Vec::new(), came).unwrap();
            assert_eq!(did, should, "{}: day {}: a reminder goes on its day", self.seed, self.model.day);
            if did {
                self.model.reminded();
                any = true;
            }
        }
        ("the clock", any)
    }

    /// Rule 6: somebody who looked at an older version changes nothing.
    fn stale(&mut self) -> (&'static str, bool) {
        let who = Person::Ines;
        let old = self.seen.version - 1;
        let wanted = from(json!({"to": "closed", "because": "otherwise_settled", "reason": "lost", "due": "waived"}));
        let came = self.run(self.acts.change_stage(&self.actor(who), self.order, old, wanted, once(None)));
        self.compare("change what was not seen", who, &vec!["stale"], came);
        self.told.acts.remove("change what was not seen");
        ("change what was not seen", false)
    }

    // Looking at the order.

    /// The order beside the model after an act.
    fn look(&mut self, name: &'static str, done: bool, was: &Model, before: &WorkOrder) {
        let who = self.chance.one(&Person::STAFF);
        let asker = self.actor(who).who;
        let (order, now) = (self.order, self.acts.clock.now());
        let seen: WorkOrder = self
            .run(self.acts.store.read(self.shop.id(), move |conn| {
                Ok::<_, Halt>(order_rows::find(conn, Named::Id(order))?.unwrap().view(&asker, now)?)
            }))
            .unwrap();
        let at = format!("walk {}, act {} ({name})", self.seed, self.model.tick);
        // Rule 6: done is a new version, refused is none.
        if done {
            assert!(seen.version > before.version, "{at}: done without a new version");
        } else if name != "the clock" && !(name == "start the clock" || name == "stop the clock" || name == "finish a step") {
            assert_eq!(seen.version, before.version, "{at}: refused or repeated, and yet changed");
        }
        if was.stage != self.model.stage || seen.stage_changes.len() != before.stage_changes.len() {
            self.told.moved(seen.stage_changes.last().unwrap());
        }
        let model = &mut self.model;
        model.version = seen.version;
        // What only the server knows: ids and versions of single things.
        for step in &mut model.steps {
            step.version = seen.operations.iter().find(|one| one.id.0 == step.id).unwrap().version;
        }
        for finding in &mut model.findings {
            finding.version = seen.findings.iter().find(|one| one.id.0 == finding.id).unwrap().version;
        }
        for acceptance in model.acceptances.iter_mut().filter(|one| one.decision.is_nil()) {
            let quote = seen.quotes.iter().find(|one| one.id.0 == acceptance.quote).unwrap();
            acceptance.decision = quote.decision.as_ref().unwrap().id.0;
            let own = model.quotes.iter_mut().find(|one| one.id == acceptance.quote).unwrap();
            own.hash = quote.content_hash.clone().unwrap();
        }
        let model = &self.model;
        assert_eq!(seen.stage, model.stage, "{at}: the stage");
        assert_eq!(euros(seen.authorised.amount()), model.authorised(), "{at}: authorised");
        assert_eq!(seen.waits_for, model.waits_for(), "{at}: whom it waits for; {}", seen.waiting_words);
        assert_eq!(euros(seen.money.total.amount()), model.charged(), "{at}: what is charged");
        assert_eq!(euros(seen.money.due.amount()), model.due(), "{at}: what is due");
        assert_eq!(seen.ending.as_ref().map(|ending| ending.because), model.ending, "{at}: the wish to end");
        assert_eq!(seen.open_question.is_some(), model.question, "{at}: an open question");
        assert_eq!(seen.claimed_by.as_ref().map(|by| by.initials.as_str()), model.claimed_by.map(initials), "{at}: the claim");
        for (step, own) in seen.operations.iter().zip(&model.steps) {
            assert_eq!(step.state, own.state, "{at}: {}", step.title);
            let whys = model.may_start(own.id);
            let may = whys.is_empty() && own.state != State::Running;
            assert_eq!(step.may_start, may, "{at}: whether {} may be started: {:?}, {whys:?}", step.title, step.why_not);
        }
        for (quote, own) in seen.quotes.iter().zip(&model.quotes) {
            assert_eq!(quote.state, own.state, "{at}: quote {}", quote.number);
        }
        for (finding, own) in seen.findings.iter().zip(&model.findings) {
            assert_eq!(finding.disposition, own.disposition, "{at}: finding {}", finding.number);
        }
        // What the order says of its moves is what the acts would answer.
        for one in &seen.moves {
            let would = model.would(who, one.to, one.because);
            assert_eq!(one.may, would, "{at}: {who:?}: whether it may go to {} because of {}: {:?}", one.to, one.because, one.why_not);
            assert_eq!(one.may, one.why_not.is_none(), "{at}: a refusal says why");
        }
        self.most_authorised = self.most_authorised.max(seen.authorised.amount());
        rules::hold(&at, &seen, before, self.most_authorised);
        self.seen = seen;
    }
}

thread_local! {
    /// One pool for each shop, not for each walk.
    static STORES: std::cell::RefCell<std::collections::HashMap<trade::words::ids::ShopId, Store>> = std::cell::RefCell::default();
}

fn once(key: Option<String>) -> Once {
    Once { actor: "walk".to_owned(), key, body_hash: vec![0; 32] }
}

/// What is asked, as the API would read it.
fn from<T: serde::de::DeserializeOwned>(value: serde_json::Value) -> T {
    serde_json::from_value(value).unwrap()
}

fn euros(amount: Decimal) -> i64 {
    assert!(amount.fract().is_zero(), "{amount}");
    amount.to_i64().unwrap()
}

fn initials(who: Person) -> &'static str {
    match who {
        Person::Greta => "GL",
        Person::Mara => "MV",
        Person::Jonas => "JK",
        Person::Ines => "IF",
        Person::Owner | Person::Clock => "",
    }
}
