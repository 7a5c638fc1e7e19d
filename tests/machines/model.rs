//! DOMAIN.md once more, small: its table of moves and its rules, written from the page and not
//! from the server. Amounts are whole euros without tax; instants are days.
//!
//! Where several things are in the way, the page does not say which is told first: a refusal
//! must give one of them.

use trade::words::instrument::{Disposition, OperationKind as Kind, OperationState as State};
use trade::words::paperwork::{Answer, QuoteState};
use trade::words::stage::{Because, Stage, WaitsFor};
use uuid::Uuid;

/// The people of the walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Person {
    Greta,
    Mara,
    Jonas,
    Ines,
    Owner,
    Clock,
}

impl Person {
    pub const STAFF: [Self; 4] = [Self::Greta, Self::Mara, Self::Jonas, Self::Ines];

    fn is_desk(self) -> bool {
        matches!(self, Self::Greta | Self::Ines)
    }

    fn is_technician(self) -> bool {
        matches!(self, Self::Mara | Self::Jonas | Self::Ines)
    }

    fn is_staff(self) -> bool {
        !matches!(self, Self::Owner | Self::Clock)
    }
}

#[derive(Clone, Debug)]
pub struct Finding {
    pub id: Uuid,
    pub version: i32,
    pub disposition: Disposition,
    pub failed_test: bool,
}

#[derive(Clone, Debug)]
pub struct Step {
    pub id: Uuid,
    pub version: i32,
    pub kind: Kind,
    pub price: i64,
    pub hard: bool,
    pub state: State,
    /// The tick of its first start.
    pub begun: Option<usize>,
    pub clock_of: Option<Person>,
    pub waits: bool,
    pub findings: Vec<Uuid>,
}

#[derive(Clone, Debug)]
pub struct Line {
    pub id: Uuid,
    pub step: Uuid,
    pub price: i64,
    pub optional: bool,
    pub hard: bool,
    pub is_new: bool,
}

#[derive(Clone, Debug)]
pub struct Quote {
    pub id: Uuid,
    pub version: i32,
    pub number: i32,
    pub hash: String,
    pub state: QuoteState,
    pub lines: Vec<Line>,
    pub is_extra: bool,
    pub limit: i64,
    /// Its last day; one that goes out by the shop's days has it from that day on.
    pub until: i64,
    /// Whether its last day was chosen.
    pub is_until_chosen: bool,
    pub sent_on: Option<i64>,
    /// Answer, ticked lines, question.
    pub answered: Option<(Answer, Vec<Uuid>, Option<String>)>,
}

impl Quote {
    fn total(&self) -> i64 {
        self.lines.iter().filter(|line| !line.optional).map(|line| line.price).sum()
    }

    /// What accepting it so authorises: its limit where that leaves room beyond all its lines,
    /// else the lines that count.
    fn authorises(&self, ticked: &[Uuid]) -> i64 {
        let all: i64 = self.lines.iter().map(|line| line.price).sum();
        let counted = self.lines.iter().filter(|line| !line.optional || ticked.contains(&line.id));
        if self.limit > all { self.limit } else { counted.map(|line| line.price).sum() }
    }
}

#[derive(Clone, Debug)]
pub struct Acceptance {
    pub decision: Uuid,
    pub quote: Uuid,
    pub counted: Vec<Line>,
    pub lines: Vec<Line>,
    pub named: Vec<Uuid>,
    pub limit: i64,
    pub tick: usize,
    pub disputed: bool,
}

/// Why not: every reason that holds. None: it must be done.
pub type Whys = Vec<&'static str>;

#[derive(Clone, Debug)]
pub struct Model {
    pub stage: Stage,
    pub version: i32,
    pub tick: usize,
    pub day: i64,
    pub claimed_by: Option<Person>,
    pub may_cost: Option<i64>,
    pub fee: Option<i64>,
    pub findings: Vec<Finding>,
    pub steps: Vec<Step>,
    pub quotes: Vec<Quote>,
    pub acceptances: Vec<Acceptance>,
    pub ending: Option<Because>,
    pub question: bool,
    pub came_through_tests: bool,
    pub was_bench_done: bool,
    pub in_pickup_because: Option<Because>,
    pub paid: i64,
    pub waived: i64,
    pub reminded: usize,
    pub last_reminded: i64,
    pub in_pickup_since: i64,
    pub pickup_reminded: usize,
    pub recorded: bool,
}

/// On which days after sending the owner is reminded, and after arriving in pickup the customer.
const REMINDERS: [i64; 2] = [7, 14];
const PICKUP_REMINDERS: [i64; 3] = [7, 21, 60];
/// How long a quote can be accepted.
pub const QUOTE_DAYS: i64 = 14;

impl Model {
    pub fn standing(&self) -> Vec<&Acceptance> {
        self.acceptances.iter().filter(|one| !one.disputed).collect()
    }

    pub fn accepted_before(&self) -> bool {
        !self.standing().is_empty()
    }

    /// Authorised: the larger of the counter amount and what the latest accepted version allows.
    pub fn authorised(&self) -> i64 {
        self.may_cost.unwrap_or(0).max(self.standing().last().map_or(0, |last| last.limit))
    }

    pub fn step(&self, id: Uuid) -> &Step {
        self.steps.iter().find(|step| step.id == id).unwrap()
    }

    pub fn step_mut(&mut self, id: Uuid) -> &mut Step {
        self.steps.iter_mut().find(|step| step.id == id).unwrap()
    }

    pub fn sent(&self) -> Option<&Quote> {
        self.quotes.iter().find(|quote| quote.state == QuoteState::Sent)
    }

    pub fn draft(&self) -> Option<&Quote> {
        self.quotes.iter().find(|quote| quote.state == QuoteState::Draft)
    }

    pub fn is_apart(&self) -> bool {
        let begun = |kind| self.steps.iter().filter(move |step| step.kind == kind && step.begun.is_some());
        begun(Kind::TakeApart).count() > begun(Kind::PutTogether).filter(|step| step.state == State::Done).count()
    }

    fn runs(&self) -> bool {
        self.steps.iter().any(|step| step.state == State::Running)
    }

    fn is_accepted(&self, step: Uuid) -> bool {
        self.standing().iter().any(|one| one.counted.iter().any(|line| line.step == step))
    }

    fn is_named(&self, step: Uuid) -> bool {
        self.standing().iter().any(|one| one.named.contains(&step))
    }

    fn is_left_out(&self, step: Uuid) -> bool {
        self.standing().last().is_some_and(|last| last.lines.iter().any(|line| line.step == step)) && !self.is_accepted(step)
    }

    /// What everything accepted or begun comes to, and this step with it. Putting together is
    /// free unless it stands on an accepted line.
    fn comes_to(&self, also: Uuid) -> i64 {
        let counted: Vec<Line> = self.standing().last().map_or(Vec::new(), |last| last.counted.clone());
        let stands = |id: Uuid| self.step(id).state != State::Struck;
        let lines: i64 = counted.iter().filter(|line| stands(line.step)).map(|line| line.price).sum();
        let beside = self.steps.iter().filter(|step| {
            step.state != State::Struck
                && (step.begun.is_some() || step.id == also)
                && step.kind != Kind::PutTogether
                && !counted.iter().any(|line| line.step == step.id)
        });
        lines + beside.map(|step| step.price).sum::<i64>()
    }

    /// What is charged: accepted lines that are done, and what was done within the limit.
    pub fn charged(&self) -> i64 {
        let counted: Vec<Line> = self.standing().last().map_or(Vec::new(), |last| last.counted.clone());
        let is_done = |id: Uuid| self.step(id).state == State::Done;
        let lines: i64 = counted.iter().filter(|line| is_done(line.step)).map(|line| line.price).sum();
        let beside: Vec<&Step> = self
            .steps
            .iter()
            .filter(|step| step.state == State::Done && step.kind != Kind::PutTogether && step.price > 0)
            .filter(|step| !counted.iter().any(|line| line.step == step.id))
            .collect();
        let work = lines + beside.iter().map(|step| step.price).sum::<i64>();
        if self.decided_against() { work.max(self.fee.unwrap_or(0)) } else { work }
    }

    /// The owner said no, or took it back once something had been proposed.
    fn decided_against(&self) -> bool {
        let has_ended = matches!(self.stage, Stage::Pickup | Stage::Closed);
        match self.ending.or(self.in_pickup_because.filter(|_| has_ended)) {
            Some(Because::Declined) => true,
            Some(Because::Withdrawn) => self.quotes.iter().any(|quote| quote.sent_on.is_some()),
            _ => false,
        }
    }

    pub fn due(&self) -> i64 {
        (self.charged() - self.paid - self.waived).max(0)
    }

    pub fn waits_for(&self) -> Option<WaitsFor> {
        if self.stage == Stage::Closed {
            return None;
        }
        if self.question || (self.ending.is_some() && self.stage != Stage::Pickup) {
            return Some(WaitsFor::Shop);
        }
        Some(match self.stage {
            Stage::Approval if self.sent().is_some_and(|sent| sent.until >= self.day) => WaitsFor::Customer,
            Stage::Pickup => WaitsFor::Customer,
            _ => WaitsFor::Shop,
        })
    }

    fn undecided(&self) -> bool {
        self.findings.iter().any(|finding| finding.disposition == Disposition::Undecided)
    }

    fn failure_open(&self) -> bool {
        self.findings.iter().filter(|finding| finding.failed_test).any(|finding| match finding.disposition {
            Disposition::Undecided => true,
            Disposition::Repair => !self.steps.iter().any(|step| step.state == State::Done && step.findings.contains(&finding.id)),
            _ => false,
        })
    }

    /// A draft carries what is accepted now, and asks for no struck step.
    fn is_outdated(&self, draft: &Quote) -> bool {
        if draft.lines.iter().any(|line| self.step(line.step).state == State::Struck) {
            return true;
        }
        match self.standing().last() {
            None => draft.is_extra,
            Some(last) => {
                let carried = last.counted.iter().filter(|line| self.step(line.step).state != State::Struck);
                !draft.is_extra
                    || carried.into_iter().any(|line| !draft.lines.iter().any(|own| own.id == line.id))
                    || draft.lines.iter().any(|own| !own.is_new && !last.counted.iter().any(|line| line.id == own.id))
            }
        }
    }

    // Reasons that many acts share.

    fn ending_reasons(&self) -> Whys {
        self.ending.map(|_| "ending").into_iter().collect()
    }

    fn draft_reasons(&self) -> Whys {
        let mut whys = self.ending_reasons();
        if self.undecided() {
            whys.push("finding-undecided");
        }
        match self.draft() {
            None => whys.push("quote-empty"),
            Some(draft) => {
                if draft.lines.is_empty() {
                    whys.push("quote-empty");
                }
                if self.is_outdated(draft) {
                    whys.push("draft-outdated");
                }
                if draft.is_until_chosen && draft.until < self.day {
                    whys.push("quote-expired");
                }
            }
        }
        whys
    }

    // The acts: what is in the way of each.

    pub fn claim(&self, who: Person) -> Whys {
        let mut whys = Vec::new();
        if self.stage == Stage::Closed {
            whys.push("closed");
        }
        if !who.is_technician() {
            whys.push("not-yours");
        }
        if self.claimed_by.is_some_and(|by| by != who) {
            whys.push("already-claimed");
        }
        whys
    }

    pub fn give_back(&self, who: Person) -> Whys {
        match self.claimed_by {
            Some(by) if by != who && who != Person::Ines => vec!["not-yours"],
            _ => Vec::new(),
        }
    }

    pub fn hand_claim(&self, who: Person) -> Whys {
        let mut whys = Vec::new();
        if self.stage == Stage::Closed {
            whys.push("closed");
        }
        if who != Person::Ines {
            whys.push("not-yours");
        }
        whys
    }

    /// A move that is asked for by itself. `row` of DOMAIN.md's table, or none.
    pub fn asked(&self, who: Person, to: Stage, because: Because, has_reason: bool, says_due: bool) -> Whys {
        use Because as B;
        use Stage::{Approval, Bench, Closed, Diagnosis, Intake, LeakTest, Pickup};
        let here = |from: &[Stage], there: Stage| from.contains(&self.stage) && to == there;
        let exists = match because {
            B::CheckedIn => false,
            B::ExaminationBegins => here(&[Intake], Diagnosis),
            B::QuoteSent => here(&[Diagnosis], Approval),
            B::CoveredBeforehand => here(&[Diagnosis], Bench),
            B::NothingToDo => here(&[Diagnosis], Pickup),
            B::Accepted | B::ExtraDeclined => here(&[Approval], Bench),
            B::Recalled => here(&[Approval], Bench) || here(&[Approval], Diagnosis),
            B::Questions | B::Expired => here(&[Approval], Diagnosis),
            B::Declined => here(&[Approval], Pickup),
            B::ExtraWork | B::AcceptanceDisputed => here(&[Bench], Approval),
            B::BenchDone => here(&[Bench], LeakTest),
            B::TestFailed => here(&[LeakTest], Bench),
            B::TestsPassed | B::Overridden => here(&[LeakTest], Pickup),
            B::Withdrawn => here(&[Intake, Diagnosis, Approval, Bench, LeakTest], Pickup),
            B::Unanswered => here(&[Diagnosis, Approval], Pickup),
            B::NotRepairable => here(&[Diagnosis, Bench, LeakTest], Pickup),
            B::SentBack => here(&[Pickup], Bench),
            B::Reopened => here(&[Pickup], Diagnosis),
            B::Collected | B::Shipped => here(&[Pickup], Closed),
            B::OtherwiseSettled => self.stage != Closed && to == Closed,
            B::EnteredByMistake => here(&[Intake], Closed),
        };
        if !exists {
            return vec!["no-such-move"];
        }
        let mut whys = Vec::new();
        // Of an end, a technician confirms what another wished; both stand in the row.
        let whose = match because {
            B::ExaminationBegins | B::CoveredBeforehand | B::NothingToDo | B::ExtraWork | B::BenchDone | B::TestFailed | B::TestsPassed | B::NotRepairable => {
                who.is_technician()
            }
            B::QuoteSent | B::Recalled => who.is_technician() || who.is_desk(),
            B::Accepted | B::ExtraDeclined | B::Questions | B::AcceptanceDisputed => who.is_desk() || who == Person::Owner,
            B::Declined => who.is_staff() || who == Person::Owner,
            B::Expired => who == Person::Clock,
            B::Withdrawn | B::Unanswered => who.is_staff(),
            B::SentBack | B::Reopened | B::Collected | B::Shipped | B::EnteredByMistake => who.is_desk(),
            B::Overridden | B::OtherwiseSettled => who == Person::Ines,
            B::CheckedIn => false,
        };
        if !whose {
            whys.push("not-yours");
        }
        let by_itself = matches!(
            because,
            B::ExaminationBegins | B::CoveredBeforehand | B::NothingToDo | B::Recalled | B::BenchDone | B::Overridden | B::SentBack
                | B::Reopened | B::OtherwiseSettled | B::EnteredByMistake
        );
        if !by_itself {
            whys.push("use-the-act");
            return whys;
        }
        let needs_reason = !matches!(because, B::ExaminationBegins | B::CoveredBeforehand | B::BenchDone);
        if needs_reason && !has_reason {
            whys.push("reason-missing");
        }
        whys.extend(match because {
            B::ExaminationBegins => {
                let mut whys = self.ending_reasons();
                if self.claimed_by != Some(who) {
                    whys.push("claim-it-first");
                }
                whys
            }
            B::CoveredBeforehand => {
                let mut whys = self.draft_reasons();
                if let Some(draft) = self.draft() {
                    if draft.lines.iter().any(|line| line.hard) {
                        whys.push("irreversible-needs-name");
                    }
                    if draft.total() > self.authorised() {
                        whys.push("over-authorised");
                    }
                    if draft.lines.iter().all(|line| line.optional) {
                        whys.push("quote-empty");
                    }
                }
                whys
            }
            B::NothingToDo => {
                let mut whys = self.ending_reasons();
                if self.steps.iter().any(|step| step.begun.is_some()) {
                    whys.push("work-begun");
                }
                whys
            }
            B::Recalled => {
                let mut whys = self.ending_reasons();
                match (to, self.accepted_before()) {
                    (Bench, false) => whys.push("nothing-accepted"),
                    (Diagnosis, true) => whys.push("accepted-before"),
                    _ => {}
                }
                whys
            }
            B::BenchDone => {
                let mut whys = self.ending_reasons();
                if self.runs() {
                    whys.push("clock-running");
                }
                let is_open = |step: &Step| !matches!(step.state, State::Done | State::Struck);
                if self.steps.iter().any(|step| is_open(step) && (step.begun.is_some() || self.is_accepted(step.id))) {
                    whys.push("operation-open");
                }
                if self.is_apart() {
                    whys.push("apart");
                }
                if self.failure_open() {
                    whys.push("failure-open");
                }
                whys
            }
            B::Overridden => self.ending_reasons(),
            B::SentBack if !self.came_through_tests => vec!["not-tested"],
            B::Reopened if self.came_through_tests => vec!["tested"],
            B::OtherwiseSettled => {
                let mut whys = Vec::new();
                if self.runs() {
                    whys.push("clock-running");
                }
                if self.due() > 0 && !says_due {
                    whys.push("amount-due");
                }
                whys
            }
            B::EnteredByMistake if self.recorded => vec!["has-records"],
            _ => Vec::new(),
        });
        whys
    }

    pub fn find(&self, who: Person) -> Whys {
        let mut whys = Vec::new();
        if !who.is_technician() {
            whys.push("not-yours");
        }
        match self.stage {
            Stage::Intake => whys.push("not-examined"),
            Stage::Closed => whys.push("closed"),
            _ => {}
        }
        whys
    }

    pub fn technicians_only(who: Person) -> Whys {
        if who.is_technician() { Vec::new() } else { vec!["not-yours"] }
    }

    pub fn strike_step(&self, who: Person, step: Uuid) -> Whys {
        let mut whys = Self::technicians_only(who);
        match self.step(step).state {
            State::Struck => whys.push("struck"),
            State::Running => whys.push("clock-running"),
            State::Done => whys.push("done"),
            State::Planned | State::Paused => {}
        }
        whys
    }

    pub fn write_draft(&self) -> Whys {
        let mut whys = Vec::new();
        if self.draft().is_some() {
            whys.push("draft-exists");
        }
        if !matches!(self.stage, Stage::Diagnosis | Stage::Approval | Stage::Bench) {
            whys.push("no-quote-now");
        }
        whys
    }

    pub fn send(&self, who: Person) -> Whys {
        match self.stage {
            Stage::Diagnosis | Stage::Approval => self.draft_reasons(),
            Stage::Bench => {
                let mut whys = Self::technicians_only(who);
                whys.extend(self.draft_reasons());
                if let Some(draft) = self.draft() {
                    // Asked is what costs more than allowed, what needs its name, and what only
                    // the owner can tick.
                    let needs_asking = draft.total() > self.authorised()
                        || draft.lines.iter().any(|line| (line.hard && !self.is_named(line.step)) || self.is_left_out(line.step))
                        || draft.lines.iter().any(|line| line.optional && line.is_new);
                    if !needs_asking {
                        whys.push("within-authorised");
                    }
                }
                whys
            }
            _ => vec!["no-quote-now"],
        }
    }

    pub fn decide(&self, who: Person, quote: &Quote, answer: Answer, ticked: &[Uuid], question: Option<&str>) -> Whys {
        let mut whys = Vec::new();
        if !(who.is_desk() || who == Person::Owner) {
            whys.push("not-yours");
        }
        match quote.state {
            QuoteState::Draft => whys.push("quote-altered"),
            QuoteState::Superseded => whys.push("quote-superseded"),
            QuoteState::Expired => whys.push("quote-expired"),
            QuoteState::Struck => whys.push("quote-recalled"),
            QuoteState::Answered => {
                if !self.is_repeat(quote, answer, ticked, question) {
                    whys.push("already-decided");
                }
            }
            QuoteState::Sent if self.stage != Stage::Approval => {
                if !self.is_repeat(quote, answer, ticked, question) {
                    whys.push("not-asked");
                }
            }
            QuoteState::Sent => {
                whys.extend(self.ending_reasons());
                if answer == Answer::Accepted && quote.until < self.day {
                    whys.push("quote-expired");
                }
                if answer == Answer::Declined && !self.accepted_before() && self.repair_begun() {
                    whys.push("accepted-before");
                }
            }
        }
        whys
    }

    /// Deciding twice the same way is harmless.
    pub fn is_repeat(&self, quote: &Quote, answer: Answer, ticked: &[Uuid], question: Option<&str>) -> bool {
        let Some((was, lines, asked)) = &quote.answered else { return false };
        match (quote.state, answer) {
            (QuoteState::Answered, Answer::Accepted) => {
                let (mut a, mut b) = (lines.clone(), ticked.to_vec());
                a.sort_unstable();
                b.sort_unstable();
                *was == answer && a == b
            }
            (QuoteState::Answered, _) => *was == answer,
            (QuoteState::Sent, Answer::Questions) if self.stage != Stage::Approval => *was == answer && asked.as_deref() == question,
            _ => false,
        }
    }

    pub fn repair_begun(&self) -> bool {
        self.steps.iter().any(|step| step.kind == Kind::Work && step.begun.is_some())
    }

    /// An acceptance can be called a mistake until the first step it allowed is started; taking
    /// apart that it does not name does not count.
    pub fn dispute(&self, who: Person, decision: Uuid) -> Whys {
        let mut whys = Vec::new();
        if !(who.is_desk() || who == Person::Owner) {
            whys.push("not-yours");
        }
        if self.acceptances.iter().any(|one| one.decision == decision && one.disputed) {
            return whys;
        }
        let standing = self.standing();
        match standing.split_last() {
            Some((last, earlier)) if last.decision == decision => {
                let names = |one: &Acceptance, id: Uuid| one.counted.iter().any(|line| line.step == id);
                let begun = self.steps.iter().any(|step| {
                    step.begun.is_some_and(|tick| tick >= last.tick)
                        && !earlier.iter().any(|one| names(one, step.id))
                        && (step.kind == Kind::Work || names(last, step.id))
                });
                if begun {
                    whys.push("work-begun");
                }
            }
            _ => whys.push("not-the-last-acceptance"),
        }
        if self.stage != Stage::Bench {
            whys.push("no-such-move");
        }
        whys.extend(self.ending_reasons());
        whys
    }

    pub fn start(&self, who: Person, id: Uuid) -> Whys {
        let mut whys = Self::technicians_only(who);
        whys.extend(self.may_start(id));
        let step = self.step(id);
        if step.clock_of.is_some_and(|by| by != who) {
            whys.push("already-claimed");
        }
        if step.clock_of != Some(who) && self.steps.iter().any(|other| other.clock_of == Some(who)) {
            whys.push("clock-running");
        }
        whys
    }

    /// Rules 2 and 14, what waits for an answer, and what an end stops.
    pub fn may_start(&self, id: Uuid) -> Whys {
        let step = self.step(id);
        let mut whys = Vec::new();
        match step.state {
            State::Struck => whys.push("struck"),
            State::Done => whys.push("done"),
            _ => {}
        }
        if step.hard && !self.is_named(id) {
            whys.push("irreversible-needs-name");
        }
        if self.ending.is_some() && !matches!(self.stage, Stage::Pickup | Stage::Closed) {
            if step.kind != Kind::PutTogether {
                whys.push("ending");
            }
            return whys;
        }
        let on_the_bench = self.stage == Stage::Bench || (self.stage == Stage::Approval && self.accepted_before());
        if !on_the_bench {
            whys.push("not-on-the-bench");
        }
        if step.waits || (self.stage == Stage::Approval && !self.is_accepted(id)) {
            whys.push("waits-for-answer");
        }
        if self.is_left_out(id) {
            whys.push("not-chosen");
        }
        if self.comes_to(id) > self.authorised() {
            whys.push("over-authorised");
        }
        whys
    }

    pub fn finish(&self, who: Person, id: Uuid) -> Whys {
        let step = self.step(id);
        let mut whys = self.stop(who, id);
        if matches!(self.stage, Stage::Pickup | Stage::Closed) {
            whys.push("not-on-the-bench");
        }
        if step.state == State::Planned {
            whys.push("not-begun");
        }
        whys
    }

    pub fn stop(&self, who: Person, id: Uuid) -> Whys {
        let step = self.step(id);
        let mut whys = Self::technicians_only(who);
        if step.state == State::Struck {
            whys.push("struck");
        }
        if step.clock_of.is_some_and(|by| by != who) && who != Person::Ines {
            whys.push("not-yours");
        }
        whys
    }

    pub fn test(&self, who: Person) -> Whys {
        let mut whys = Self::technicians_only(who);
        if self.stage != Stage::LeakTest {
            whys.push("not-in-leak-test");
        }
        whys.extend(self.ending_reasons());
        whys
    }

    /// The shop's reminders: which is the next to go, and whether anybody was asked at all.
    fn reminders(&self) -> Whys {
        let last = self.quotes.iter().rfind(|quote| quote.sent_on.is_some());
        let Some(quote) = last.filter(|quote| matches!(quote.state, QuoteState::Sent | QuoteState::Expired)) else {
            return vec!["never-asked"];
        };
        let sent_on = quote.sent_on.unwrap();
        let within = REMINDERS.iter().filter(|days| sent_on + **days <= quote.until).count();
        let can_still = quote.state == QuoteState::Sent && quote.until >= self.day;
        if can_still && self.reminded < within { vec!["reminders-first"] } else { Vec::new() }
    }

    /// Whether the clock writes a reminder now.
    pub fn is_to_remind(&self) -> bool {
        if self.waits_for() != Some(WaitsFor::Customer) || self.last_reminded == self.day {
            return false;
        }
        match self.stage {
            Stage::Approval => {
                let sent = self.sent().unwrap();
                REMINDERS.get(self.reminded).is_some_and(|days| {
                    let day = sent.sent_on.unwrap() + days;
                    day <= self.day && day <= sent.until
                })
            }
            Stage::Pickup => PICKUP_REMINDERS.get(self.pickup_reminded).is_some_and(|days| self.in_pickup_since + days <= self.day),
            _ => false,
        }
    }

    pub fn end(&self, who: Person, because: Because, has_reason: bool) -> Whys {
        let possible = match because {
            Because::Withdrawn => !matches!(self.stage, Stage::Pickup | Stage::Closed),
            Because::Unanswered => matches!(self.stage, Stage::Diagnosis | Stage::Approval),
            Because::NotRepairable => matches!(self.stage, Stage::Diagnosis | Stage::Bench | Stage::LeakTest),
            _ => false,
        };
        if !possible {
            return vec!["no-such-move"];
        }
        let mut whys = self.ending_reasons();
        let whose = if because == Because::NotRepairable { who.is_technician() } else { who.is_desk() };
        if !whose {
            whys.push("not-yours");
        }
        if because != Because::Unanswered && !has_reason {
            whys.push("reason-missing");
        }
        if because == Because::Unanswered {
            whys.extend(self.reminders());
        }
        whys
    }

    pub fn take_ending_back(&self, who: Person) -> Whys {
        let mut whys = Vec::new();
        if !who.is_staff() {
            whys.push("not-yours");
        }
        match self.ending {
            None => whys.push("not-ending"),
            Some(Because::Declined) => whys.push("declined-stands"),
            Some(_) if matches!(self.stage, Stage::Pickup | Stage::Closed) => whys.push("ended"),
            Some(_) => {}
        }
        whys
    }

    pub fn confirm(&self, who: Person) -> Whys {
        let mut whys = Self::technicians_only(who);
        match self.ending {
            None => whys.push("not-ending"),
            Some(_) if matches!(self.stage, Stage::Pickup | Stage::Closed) => whys.push("no-such-move"),
            Some(_) => {
                if self.runs() {
                    whys.push("clock-running");
                }
                if self.is_apart() {
                    whys.push("apart");
                }
            }
        }
        whys
    }

    pub fn hand_over(&self, who: Person, settles: bool, waives: bool) -> Whys {
        let mut whys = Vec::new();
        if !who.is_desk() || (waives && self.due() > 0 && who != Person::Ines) {
            whys.push("not-yours");
        }
        if self.stage != Stage::Pickup {
            whys.push("no-such-move");
        }
        if self.due() > 0 && !settles {
            whys.push("amount-due");
        }
        whys
    }

    // What the acts do.

    fn go(&mut self, to: Stage, because: Because) {
        self.stage = to;
        match to {
            Stage::Pickup => {
                self.in_pickup_because = Some(because);
                self.came_through_tests = matches!(because, Because::TestsPassed | Because::Overridden);
                self.in_pickup_since = self.day;
                self.pickup_reminded = 0;
                self.last_reminded = -1;
            }
            Stage::LeakTest => self.was_bench_done = true,
            _ => {}
        }
        // An open question is cleared by any move but these three.
        if !matches!(because, Because::Questions | Because::AcceptanceDisputed | Because::Expired) {
            self.question = false;
        }
    }

    fn stop_all(&mut self) {
        for step in self.steps.iter_mut().filter(|step| step.state == State::Running) {
            step.state = State::Paused;
            step.clock_of = None;
        }
    }

    pub fn stop_clocks_of(&mut self, who: Option<Person>) {
        for step in self.steps.iter_mut().filter(|step| step.state == State::Running && step.clock_of == who) {
            step.state = State::Paused;
            step.clock_of = None;
        }
    }

    fn strike_quotes(&mut self, which: &[QuoteState]) {
        for quote in self.quotes.iter_mut().filter(|quote| which.contains(&quote.state)) {
            quote.state = QuoteState::Struck;
        }
    }

    fn free_waiting(&mut self, strike: bool) {
        for step in self.steps.iter_mut().filter(|step| step.waits) {
            step.waits = false;
            if strike && step.begun.is_none() && step.state == State::Planned {
                step.state = State::Struck;
            }
        }
    }

    fn lock_new(&mut self, quote: &Quote) {
        if quote.is_extra {
            for line in quote.lines.iter().filter(|line| line.is_new) {
                let step = self.step_mut(line.step);
                if step.begun.is_none() {
                    step.waits = true;
                }
            }
        }
    }

    pub fn moved(&mut self, to: Stage, because: Because, waives: bool) {
        match because {
            Because::CoveredBeforehand => {
                let limit = self.authorised();
                self.supersede();
                let tick = self.tick;
                let quote = self.quotes.iter_mut().find(|quote| quote.state == QuoteState::Draft).unwrap();
                quote.state = QuoteState::Answered;
                quote.sent_on = Some(self.day);
                quote.lines.retain(|line| !line.optional);
                quote.limit = limit;
                quote.answered = Some((Answer::Accepted, Vec::new(), None));
                let (id, lines) = (quote.id, quote.lines.clone());
                // The decision's id is read from the order afterwards.
                self.acceptances.push(Acceptance { decision: Uuid::nil(), quote: id, counted: lines.clone(), lines, named: Vec::new(), limit, tick, disputed: false });
            }
            Because::Recalled => {
                self.strike_quotes(&[QuoteState::Sent]);
                self.free_waiting(true);
            }
            Because::SentBack | Because::Reopened => self.ending = None,
            Because::OtherwiseSettled => {
                self.strike_quotes(&[QuoteState::Sent, QuoteState::Draft]);
                if self.due() > 0 {
                    if waives { self.waived += self.due() } else { self.paid += self.due() }
                }
            }
            Because::EnteredByMistake | Because::NothingToDo => self.strike_quotes(&[QuoteState::Sent, QuoteState::Draft]),
            _ => {}
        }
        self.go(to, because);
    }

    fn supersede(&mut self) {
        for quote in self.quotes.iter_mut().filter(|quote| quote.state == QuoteState::Sent) {
            quote.state = QuoteState::Superseded;
        }
    }

    pub fn sent_draft(&mut self, hash: String) {
        self.supersede();
        let day = self.day;
        let quote = self.quotes.iter_mut().find(|quote| quote.state == QuoteState::Draft).unwrap();
        quote.state = QuoteState::Sent;
        quote.sent_on = Some(day);
        if !quote.is_until_chosen {
            quote.until = day + QUOTE_DAYS;
        }
        quote.hash = hash;
        let quote = quote.clone();
        self.lock_new(&quote);
        self.question = false;
        self.reminded = 0;
        if self.stage != Stage::Approval {
            let because = if self.stage == Stage::Bench { Because::ExtraWork } else { Because::QuoteSent };
            self.go(Stage::Approval, because);
        }
    }

    pub fn decided(&mut self, quote: Uuid, answer: Answer, ticked: Vec<Uuid>, question: Option<String>, decision: Uuid) {
        let before = self.accepted_before();
        let tick = self.tick;
        let named_before: Vec<Uuid> = self.standing().iter().flat_map(|one| one.named.clone()).collect();
        let row = self.quotes.iter_mut().find(|one| one.id == quote).unwrap();
        row.answered = Some((answer, ticked.clone(), question));
        if answer != Answer::Questions {
            row.state = QuoteState::Answered;
        }
        let row = row.clone();
        match answer {
            Answer::Accepted => {
                let counted: Vec<Line> = row.lines.iter().filter(|line| !line.optional || ticked.contains(&line.id)).cloned().collect();
                let named = row
                    .lines
                    .iter()
                    .filter(|line| line.hard && (ticked.contains(&line.id) || (!line.optional && named_before.contains(&line.step))))
                    .map(|line| line.step)
                    .collect();
                let limit = row.authorises(&ticked);
                self.acceptances.push(Acceptance { decision, quote, counted, lines: row.lines, named, limit, tick, disputed: false });
                self.free_waiting(false);
                self.go(Stage::Bench, Because::Accepted);
            }
            Answer::Declined => {
                self.free_waiting(true);
                let by = |state: fn(&Step) -> bool| -> Vec<Uuid> { self.steps.iter().filter(|step| state(step)).flat_map(|step| step.findings.clone()).collect() };
                let (struck, answered) = (by(|step| step.state == State::Struck), by(|step| step.state != State::Struck));
                for finding in self.findings.iter_mut().filter(|finding| finding.disposition == Disposition::Repair) {
                    if !before || (struck.contains(&finding.id) && !answered.contains(&finding.id)) {
                        finding.disposition = Disposition::Declined;
                        finding.version += 1;
                    }
                }
                self.question = false;
                if before {
                    self.go(Stage::Bench, Because::ExtraDeclined);
                } else {
                    self.stop_all();
                    self.ending = Some(Because::Declined);
                    if !self.is_apart() {
                        self.go(Stage::Pickup, Because::Declined);
                    }
                }
            }
            Answer::Questions => {
                self.question = true;
                if !before {
                    self.go(Stage::Diagnosis, Because::Questions);
                }
            }
        }
    }

    pub fn disputed(&mut self, decision: Uuid) {
        let one = self.acceptances.iter_mut().find(|one| one.decision == decision).unwrap();
        one.disputed = true;
        let quote = one.quote;
        let row = self.quotes.iter_mut().find(|row| row.id == quote).unwrap();
        row.state = QuoteState::Sent;
        let row = row.clone();
        self.lock_new(&row);
        self.question = true;
        self.go(Stage::Approval, Because::AcceptanceDisputed);
    }

    pub fn started(&mut self, who: Person, id: Uuid) {
        let tick = self.tick;
        let step = self.step_mut(id);
        step.state = State::Running;
        step.begun = step.begun.or(Some(tick));
        step.clock_of = Some(who);
    }

    pub fn tested(&mut self, failed_at: Option<Uuid>) {
        match failed_at {
            None => self.go(Stage::Pickup, Because::TestsPassed),
            Some(finding) => {
                self.findings.iter_mut().find(|one| one.id == finding).unwrap().failed_test = true;
                for step in self.steps.iter_mut().filter(|step| step.state == State::Done && step.findings.contains(&finding)) {
                    step.state = State::Paused;
                }
                self.go(Stage::Bench, Because::TestFailed);
            }
        }
    }

    pub fn ended(&mut self, because: Because) {
        self.stop_all();
        self.ending = Some(because);
        self.strike_quotes(&[QuoteState::Sent, QuoteState::Draft]);
        for step in self.steps.iter_mut().filter(|step| step.kind != Kind::PutTogether && step.begun.is_none() && step.state == State::Planned) {
            step.state = State::Struck;
        }
        if !self.is_apart() {
            self.go(Stage::Pickup, because);
        }
    }

    pub fn confirmed(&mut self) {
        let because = self.ending.unwrap();
        self.go(Stage::Pickup, because);
    }

    pub fn handed_over(&mut self, waives: bool) {
        if waives {
            self.waived += self.due();
        } else {
            self.paid += self.due();
        }
        self.go(Stage::Closed, Because::Collected);
    }

    /// The quote's time ran out, if it did.
    pub fn expired(&mut self) -> bool {
        let day = self.day;
        let Some(quote) = self.quotes.iter_mut().find(|quote| quote.state == QuoteState::Sent && quote.until < day) else { return false };
        quote.state = QuoteState::Expired;
        if self.stage == Stage::Approval && !self.accepted_before() {
            self.go(Stage::Diagnosis, Because::Expired);
        }
        true
    }

    pub fn reminded(&mut self) {
        self.last_reminded = self.day;
        if self.stage == Stage::Approval {
            self.reminded += 1;
        } else {
            self.pickup_reminded += 1;
        }
    }

    /// Whether the act that makes this move would be done, with all that it asks for.
    pub fn would(&self, who: Person, to: Stage, because: Because) -> bool {
        use Because as B;
        match because {
            B::QuoteSent | B::ExtraWork => (who.is_desk() || who.is_technician()) && self.send(who).is_empty(),
            B::Accepted | B::ExtraDeclined | B::Questions | B::Declined => {
                // What a wish to end left open is a technician's word.
                if because == B::Declined && self.ending == Some(B::Declined) {
                    return self.confirm(who).is_empty();
                }
                let answer = match because {
                    B::Accepted => Answer::Accepted,
                    B::Questions => Answer::Questions,
                    _ => Answer::Declined,
                };
                // Declining is the one or the other, by what was accepted before.
                let fits = match because {
                    B::ExtraDeclined => self.accepted_before(),
                    B::Declined => !self.accepted_before(),
                    _ => true,
                };
                fits && self.sent().is_some_and(|sent| self.decide(who, sent, answer, &[], Some("?")).is_empty())
            }
            B::AcceptanceDisputed => self.standing().last().is_some_and(|last| self.dispute(who, last.decision).is_empty()),
            B::Withdrawn | B::Unanswered | B::NotRepairable => {
                if self.ending == Some(because) { self.confirm(who).is_empty() } else { self.end(who, because, true).is_empty() }
            }
            B::TestFailed | B::TestsPassed => self.test(who).is_empty(),
            B::Collected | B::Shipped => self.hand_over(who, true, false).is_empty(),
            B::OtherwiseSettled => self.asked(who, to, because, true, true).is_empty(),
            _ => self.asked(who, to, because, true, false).is_empty(),
        }
    }
}
