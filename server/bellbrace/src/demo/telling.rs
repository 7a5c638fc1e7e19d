//! Telling one visit: what the people of the shop do, one after another, with the time it takes.

use super::pictures;
use super::chance::Chance;
use super::diary::Diary;
use super::jobs::{self, Doing, Fault, Job};
use super::story::{By, Found, Moment, Pays, Planned, Step, Supplier, Visit};
use chrono::{DateTime, Days, Duration, NaiveDate, Utc};
use std::collections::HashMap;
use trade::rules::dispositions::suggest;
use trade::rules::required_tests::required_tests;
use trade::words::instrument::{
    Disposition, Family, FindingKind, FoundWhen, OperationKind, TestKind, TestMethod, Verdict,
};
use trade::words::paperwork::{Answer, AnswerHow, LineKind, PaymentHow};
use trade::words::stage::{Because, HoldReason, Stage};

/// What the shop's list says of a method.
#[derive(Debug, Clone, Copy)]
pub struct MethodFacts {
    pub minutes: [i32; 3],
    pub price: i64,
}

/// The shop's methods by name.
pub type Methods = HashMap<String, MethodFacts>;

/// Who may do what, by place in the staff.
#[derive(Debug, Clone)]
pub struct Crew {
    pub proprietor: usize,
    pub desks: Vec<usize>,
    pub technicians: Vec<usize>,
    pub both: usize,
}

/// How the answers of a shop's customers reach it.
const ANSWERS: &[AnswerHow] = &[
    AnswerHow::Link,
    AnswerHow::Link,
    AnswerHow::Link,
    AnswerHow::Link,
    AnswerHow::Link,
    AnswerHow::Phone,
    AnswerHow::Phone,
    AnswerHow::Phone,
    AnswerHow::InPerson,
];

/// A quote can be accepted for so many days, as the shop is set.
pub const QUOTE_DAYS: u64 = 14;

/// One visit as it is being told.
pub struct Telling<'a> {
    pub diary: &'a mut Diary,
    pub chance: &'a mut Chance,
    methods: &'a Methods,
    pub crew: &'a Crew,
    family: Family,
    pub job: &'static Job,
    pub visit: Visit,
    at: DateTime<Utc>,
    pub technician: usize,
    pub desk: usize,
    /// Everything planned, and whether it is offered only.
    planned: Vec<(Planned, bool)>,
    /// What each finding is.
    kinds: Vec<FindingKind>,
    /// Whether it was played since it came to be tested.
    was_played: bool,
    /// Findings that are left, to be named in the tests.
    left: Vec<usize>,
    done: Vec<bool>,
    is_ticked: bool,
    /// Whether the earlier work is under warranty.
    pub is_free: bool,
    /// All waits by so many hundredths.
    pub pace: i64,
    /// Whether the proprietor waives what is due.
    pub is_waived: bool,
    /// Whether the owner can be reached by e-mail.
    pub has_email: bool,
    /// Whether the next letters are really sent.
    pub is_aloud: bool,
    /// Whether photos are taken of what turns up.
    pub takes_photos: bool,
    sent_on: NaiveDate,
}

/// What a telling begins with.
pub struct Beginning<'a> {
    pub diary: &'a mut Diary,
    pub chance: &'a mut Chance,
    pub methods: &'a Methods,
    pub crew: &'a Crew,
    pub family: Family,
    pub job: &'static Job,
    pub visit: Visit,
    pub has_email: bool,
}

impl<'a> Telling<'a> {
    pub fn new(beginning: Beginning<'a>) -> Self {
        let Beginning { diary, chance, methods, crew, family, job, visit, has_email } = beginning;
        let technician = *chance.of(&crew.technicians);
        let desk = *chance.of(&crew.desks);
        let (at, sent_on) = (visit.came_at, diary.date(visit.came_at));
        Self {
            diary,
            chance,
            methods,
            crew,
            family,
            job,
            visit,
            at,
            technician,
            desk,
            planned: Vec::new(),
            kinds: Vec::new(),
            was_played: false,
            left: Vec::new(),
            done: Vec::new(),
            is_ticked: false,
            is_free: false,
            is_waived: false,
            pace: 100,
            has_email,
            is_aloud: false,
            takes_photos: false,
            sent_on,
        }
    }

    /// Lets so many minutes of open time go by.
    pub fn wait(&mut self, low: i64, high: i64) {
        let minutes = self.chance.between(low, high) * self.pace / 100;
        let seconds = self.chance.between(5, 59);
        self.at = self.diary.after(self.at, minutes, seconds);
    }

    /// Goes on so many open days ago, or a little later if that is past.
    pub fn on_day(&mut self, days_ago: usize) {
        let share = self.chance.share() * 0.9;
        let there = self.diary.within(self.diary.days_ago(days_ago), share);
        self.wait(2, 9);
        self.at = self.at.max(there);
    }

    fn push(&mut self, by: By, step: Step) {
        self.visit.moments.push(Moment { at: self.at, by, step, is_aloud: self.is_aloud });
    }

    pub fn by_technician(&mut self, step: Step) {
        self.push(By::Staff(self.technician), step);
    }

    pub fn by_desk(&mut self, step: Step) {
        self.push(By::Staff(self.desk), step);
    }

    pub fn claimed(&mut self) {
        self.by_technician(Step::Claim);
    }

    /// Examines: findings with what to do about them, or not yet; and the steps, if it is decided.
    pub fn examined(&mut self, decided: bool) {
        self.by_technician(Step::Examine);
        let job = self.job;
        for fault in job.faults {
            self.wait(3, 12);
            self.find(fault, decided, None);
        }
        if self.chance.percent(35) {
            self.wait(1, 5);
            let fault = jobs::watched(self.family);
            self.find(&fault, true, None);
        }
        if self.chance.percent(22) {
            self.wait(1, 6);
            let text = *self.chance.of(&[
                "Old parts to be given back.",
                "Customer prefers a call in the morning.",
                "Screws are soft; use the good driver.",
                "Same model as the one on rack B; do not mix up the slides.",
                "Check the mouthpiece too, it has a dented rim.",
            ]);
            self.by_technician(Step::Note(text.to_owned()));
        }
        if decided {
            self.plan_job();
        }
    }

    /// Records a finding and gives its place.
    pub fn find(&mut self, fault: &Fault, decided: bool, found_when: Option<FoundWhen>) -> usize {
        let size_mm = fault.size_mm.map(|(low, high)| self.chance.between(low, high));
        let disposition = match (decided, fault.left) {
            (_, Some(_)) => Disposition::LeaveAndWatch,
            (true, None) => Disposition::Repair,
            (false, None) => Disposition::Undecided,
        };
        self.by_technician(Step::Find(Found {
            kind: fault.kind,
            part: fault.part.to_owned(),
            size_mm,
            leaks: fault.leaks,
            likely_to_spread: fault.likely_to_spread,
            found_when,
            disposition,
            // Against the rules' suggestion the technician says why.
            reason: fault.left.map(ToOwned::to_owned).or_else(|| {
                let suggestion = suggest(fault.kind, fault.leaks, fault.likely_to_spread);
                suggestion.is_overruled_by(disposition).then(|| "The owner wants it done at this visit.".to_owned())
            }),
        }));
        let place = self.kinds.len();
        self.kinds.push(fault.kind);
        if fault.left.is_some() {
            self.left.push(place);
        }
        // What the owner is asked about is shown; of the rest the shop keeps one for itself.
        if self.takes_photos && pictures::caption(fault.kind).is_some() && (place == 0 || found_when == Some(FoundWhen::OnTheBench)) {
            self.by_technician(Step::Photo { finding: place, of: fault.kind, shared: fault.left.is_none() });
        }
        if fault.kind == FindingKind::Slide {
            self.measured(place, fault.part, 1);
        }
        place
    }

    /// Measures a slide: stuck, it has no room; freed, it is slightly tight.
    fn measured(&mut self, finding: usize, part: &str, clearance_hundredths: i32) {
        self.by_technician(Step::Fit { finding, part: part.to_owned(), clearance_hundredths });
    }

    /// Plans every step of the job that answers something to be repaired.
    pub fn plan_job(&mut self) {
        let job = self.job;
        let mut earlier = None;
        // What is offered alters the finish; nobody offers that where the owner wants it kept.
        let offers = self.visit.keep_as_is.is_none();
        for doing in job.doings.iter().filter(|doing| offers || !doing.optional) {
            self.wait(1, 3);
            // Taking apart comes first, putting together last; what lies between follows one another.
            let after = earlier.into_iter().collect();
            let place = self.plan(doing, doing.answers, after);
            if !doing.optional {
                earlier = Some(place);
            }
        }
    }

    /// Plans one step and gives its place.
    pub fn plan(&mut self, doing: &Doing, finding: usize, after: Vec<usize>) -> usize {
        let method = self.methods.get(doing.title).copied();
        let (minutes, price) = match (doing.own, method) {
            (Some(own), _) => own,
            (None, Some(method)) => (method.minutes, method.price),
            (None, None) => ([15, 30, 60], 38),
        };
        let planned = Planned {
            title: doing.title.to_owned(),
            is_method: method.is_some() && doing.own.is_none(),
            kind: doing.kind,
            findings: vec![finding],
            after,
            minutes,
            price: if self.is_free { 0 } else { price },
        };
        self.by_technician(Step::Plan(planned.clone()));
        self.planned.push((planned, doing.optional));
        self.done.push(false);
        self.planned.len() - 1
    }

    /// Plans a step that costs nothing.
    pub fn plan_for_nothing(&mut self, title: &'static str, finding: usize) -> usize {
        let doing = Doing {
            title,
            answers: 0,
            kind: OperationKind::Work,
            own: Some(([10, 20, 40], 0)),
            optional: false,
        };
        self.plan(&doing, finding, Vec::new())
    }

    /// What the steps cost that are not only offered.
    pub fn price(&self) -> i64 {
        self.planned.iter().filter(|(_, offered)| !offered).map(|(planned, _)| planned.price).sum()
    }

    /// Writes a quote over every step of work; with the offered ones, unless they are left out.
    pub fn drafted(&mut self, with_offers: bool, extras: Vec<(LineKind, String, i64)>) {
        let operations = self
            .planned
            .iter()
            .enumerate()
            .filter(|(_, (planned, offered))| {
                planned.kind == OperationKind::Work && (with_offers || !offered)
            })
            .map(|(place, (_, offered))| (place, *offered))
            .collect();
        let message = self.chance.percent(55).then(|| {
            (*self.chance.of(&[
                "This is what the examination showed and what we would do about it.",
                "Old instruments hide cracks; should another turn up we ask before going on.",
                "The instrument is worth it. We would do the work in one visit.",
                "We would do what it needs to play well, and no more.",
            ]))
            .to_owned()
        });
        self.by_technician(Step::Draft { operations, extras, message });
    }

    pub fn sent(&mut self) {
        self.sent_on = self.diary.date(self.at);
        self.by_technician(Step::Send);
    }

    /// Writes a quote and sends it.
    pub fn quoted(&mut self) {
        self.wait(3, 15);
        let extras = if self.chance.percent(18) && !self.is_free {
            vec![(
                LineKind::Material,
                "Small parts and consumables".to_owned(),
                self.chance.between(4, 19),
            )]
        } else {
            Vec::new()
        };
        self.drafted(true, extras);
        self.wait(2, 10);
        self.sent();
    }

    fn decide(&mut self, answer: Answer, how: AnswerHow, question: Option<String>, ticks: bool) {
        self.in_time();
        // Who has no e-mail has no link.
        let how = if self.has_email || how != AnswerHow::Link { how } else { AnswerHow::Phone };
        if how == AnswerHow::Link {
            self.push(By::Owner, Step::Seen);
            self.wait(1, 6);
            self.push(By::Owner, Step::Decide { answer, how, question, ticks });
        } else {
            self.by_desk(Step::Decide { answer, how, question, ticks });
        }
    }

    /// Where the shop's holidays made it too late for an answer, it came before them.
    fn in_time(&mut self) {
        let last_day = self.sent_on + Days::new(QUOTE_DAYS);
        if self.diary.date(self.at) < last_day {
            return;
        }
        let Some(day) =
            self.diary.open_dates(self.sent_on, last_day.pred_opt().unwrap_or(last_day)).pop()
        else {
            return;
        };
        let earliest =
            self.visit.moments.last().map_or(self.at, |moment| moment.at + Duration::seconds(90));
        self.at = self.diary.within(day, 0.7).max(earliest);
    }

    pub fn seen(&mut self) {
        self.push(By::Owner, Step::Seen);
    }

    /// The owner says yes; more than one in three ticks what is offered.
    pub fn accepted(&mut self) {
        let ticks = self.chance.percent(38);
        self.is_ticked |= ticks;
        let how = *self.chance.of(ANSWERS);
        self.decide(Answer::Accepted, how, None, ticks);
        if self.price() > 150 && self.chance.percent(30) {
            self.wait(5, 200);
            let how = *self.chance.of(&[PaymentHow::Card, PaymentHow::Transfer, PaymentHow::Cash]);
            self.by_desk(Step::Deposit { amount: 50, how });
        }
    }

    pub fn declined(&mut self) {
        let how = *self.chance.of(ANSWERS);
        self.decide(Answer::Declined, how, None, false);
    }

    pub fn asked(&mut self) {
        let question = *self.chance.of(&[
            "Would it be cheaper without the cosmetic part?",
            "Can it wait until after the summer concert?",
            "What happens if I leave the crack as it is?",
            "Is it still worth repairing at its age?",
        ]);
        let how = *self.chance.of(ANSWERS);
        self.decide(Answer::Questions, how, Some(question.to_owned()), false);
    }

    pub fn disputed(&mut self) {
        self.push(
            By::Owner,
            Step::Dispute("I pressed the wrong button; please ring me first.".to_owned()),
        );
    }

    /// The quote that is out runs out, at the first opening after its last day.
    pub fn expired(&mut self) {
        let day = self.diary.open_days_from(self.sent_on + Days::new(QUOTE_DAYS), 1);
        self.at = self.at.max(self.diary.within(day, 0.0)).min(self.diary.now());
        self.push(By::Clock, Step::Expire);
    }

    pub fn moved(&mut self, by: By, to: Stage, because: Because, reason: Option<&str>) {
        self.push(by, Step::Move { to, because, reason: reason.map(ToOwned::to_owned) });
    }

    /// Works on one step, to its end or not.
    pub fn worked(&mut self, place: usize, is_done: bool) {
        let [low, typical, high] = self.planned[place].0.minutes;
        let share = self.chance.share();
        // Most take about the typical time, a few much longer.
        #[expect(clippy::cast_possible_truncation, reason = "a few hundred minutes")]
        let minutes = if share < 0.5 {
            f64::from(low) + f64::from(typical - low) * 2.0 * share
        } else {
            f64::from(typical) + f64::from(high - typical) * (2.0 * share - 1.0).powi(2)
        } as i64;
        let span =
            self.diary.book(self.technician, self.at, if is_done { minutes } else { minutes / 2 });
        self.at = span.from;
        self.by_technician(Step::Work { operation: place, until: span.to, is_done });
        self.at = span.to;
        self.done[place] = is_done;
        let slides: Vec<usize> =
            self.planned[place].0.findings.iter().copied().filter(|finding| self.kinds[*finding] == FindingKind::Slide).collect();
        for finding in slides {
            if let Some(fault) = self.job.faults.get(finding).filter(|_| is_done) {
                self.measured(finding, fault.part, 4);
            }
        }
        self.wait(1, 8);
    }

    /// Steps that are still to be done: neither done nor only offered.
    pub fn to_do(&self) -> Vec<usize> {
        (0..self.planned.len())
            .filter(|place| !self.done[*place] && (!self.planned[*place].1 || self.is_ticked))
            .collect()
    }

    /// Does everything that is still to be done.
    pub fn worked_through(&mut self) {
        for place in self.to_do() {
            self.worked(place, true);
            if self.chance.percent(30) {
                self.wait(5, 180);
            }
        }
    }

    /// Leaves the clock running on the first step that is still to be done, since a while ago.
    pub fn left_running(&mut self) {
        let Some(place) = self.to_do().first().copied() else { return };
        let since = self.diary.now() - Duration::seconds(self.chance.between(500, 2800));
        self.at = self.diary.run(self.technician, self.at.max(since));
        self.by_technician(Step::Start { operation: place });
    }

    pub fn bench_done(&mut self) {
        self.was_played = false;
        self.moved(By::Staff(self.technician), Stage::LeakTest, Because::BenchDone, None);
    }

    fn method(&mut self) -> TestMethod {
        let brass: &[TestMethod] = &[
            TestMethod::FingerAndBlow,
            TestMethod::Bubbles,
            TestMethod::PressureDecay,
            TestMethod::FingerAndBlow,
        ];
        let wood: &[TestMethod] =
            &[TestMethod::LeakLight, TestMethod::Feeler, TestMethod::LeakLight, TestMethod::Smoke];
        let is_wood = matches!(
            self.family,
            Family::Flute | Family::Clarinet | Family::Oboe | Family::Bassoon | Family::Saxophone
        );
        *self.chance.of(if is_wood { wood } else { brass })
    }

    /// Whether what was repaired must be played before it is let go.
    fn is_to_be_played(&self) -> bool {
        let repaired: Vec<FindingKind> = (0..self.planned.len())
            .filter(|place| self.done[*place] && self.planned[*place].0.kind == OperationKind::Work)
            .flat_map(|place| self.planned[place].0.findings.iter().map(|finding| self.kinds[*finding]))
            .collect();
        required_tests(self.family, &repaired).contains(&TestKind::PlayTest)
    }

    pub fn played(&mut self) {
        self.was_played = true;
        self.by_technician(Step::Test {
            kind: TestKind::PlayTest,
            method: TestMethod::Played,
            verdict: Verdict::Passed,
            pinned: None,
            where_words: None,
            apart_from: Vec::new(),
            note: Some("All notes, low to high.".to_owned()),
        });
    }

    pub fn passed(&mut self) {
        let method = self.method();
        if self.is_to_be_played() && !self.was_played {
            self.played();
            self.at += Duration::seconds(210);
        }
        // Every third time nobody looked at the thermometer, and it is tested again.
        if method == TestMethod::PressureDecay && self.at.timestamp() % 3 == 0 {
            self.by_technician(Step::Test {
                kind: TestKind::LeakTest,
                method,
                verdict: Verdict::NotDecidable,
                pinned: None,
                where_words: None,
                apart_from: Vec::new(),
                note: Some("No thermometer at hand; again with one.".to_owned()),
            });
            self.at += Duration::seconds(150);
        }
        self.by_technician(Step::Test {
            kind: TestKind::LeakTest,
            method,
            verdict: Verdict::Passed,
            pinned: None,
            where_words: None,
            apart_from: self.left.clone(),
            note: None,
        });
    }

    /// Fails at the first thing that was repaired: that step is to be done again.
    pub fn failed(&mut self) {
        let method = self.method();
        let Some(place) = (0..self.planned.len())
            .find(|place| self.done[*place] && self.planned[*place].0.kind == OperationKind::Work)
        else {
            return;
        };
        let finding = self.planned[place].0.findings[0];
        let part = self.job.faults.get(finding).map_or("the joint", |fault| fault.part);
        self.by_technician(Step::Test {
            kind: TestKind::LeakTest,
            method,
            verdict: Verdict::Failed,
            pinned: Some(finding),
            where_words: Some(part.to_owned()),
            apart_from: Vec::new(),
            note: None,
        });
        // Everything that answers the pinned finding is open again.
        for place in 0..self.planned.len() {
            if self.planned[place].0.findings.contains(&finding) {
                self.done[place] = false;
            }
        }
    }

    /// Something turns up on the bench and the owner is asked.
    pub fn extra_asked(&mut self) {
        let (fault, doing) = jobs::further(self.family);
        let finding = self.find(&fault, true, Some(FoundWhen::OnTheBench));
        self.wait(2, 10);
        let place = self.plan(&doing, finding, Vec::new());
        self.wait(2, 8);
        self.by_technician(Step::Draft {
            operations: vec![(place, false)],
            extras: Vec::new(),
            message: Some(
                "This showed only when it was apart. The work you accepted goes on meanwhile."
                    .to_owned(),
            ),
        });
        self.wait(1, 5);
        self.sent();
    }

    /// The step that was asked for last is not wanted: it was struck.
    pub fn extra_declined(&mut self) {
        self.declined();
        if let Some(done) = self.done.last_mut() {
            *done = true;
        }
    }

    pub fn held(&mut self, reason: HoldReason, look_again_on: NaiveDate, note: &str) {
        self.by_technician(Step::Hold { reason, look_again_on, supplier: None, note: Some(note.to_owned()) });
    }

    pub fn held_at(&mut self, reason: HoldReason, look_again_on: NaiveDate, supplier: Supplier, note: &str) {
        self.by_technician(Step::Hold { reason, look_again_on, supplier: Some(supplier), note: Some(note.to_owned()) });
    }

    pub fn handed_over(&mut self, is_on_account: bool, is_shipped: bool, name: &str) {
        let pays = if self.is_waived {
            Pays::Waived
        } else if is_on_account {
            Pays::OnAccount
        } else {
            Pays::Now(*self.chance.of(&[
                PaymentHow::Card,
                PaymentHow::Card,
                PaymentHow::Cash,
                PaymentHow::Transfer,
            ]))
        };
        let collected_by = if is_shipped {
            format!("Northlane Parcels, {}", 4_100_000 + self.chance.between(1, 899_999))
        } else {
            name.to_owned()
        };
        let who = if self.is_waived { self.crew.proprietor } else { self.desk };
        self.push(By::Staff(who), Step::HandOver { is_shipped, collected_by, pays });
    }

    /// The whole visit at the counter.
    pub fn done_at_counter(&mut self, name: &str) {
        let doings: Vec<Planned> = self
            .job
            .doings
            .iter()
            .filter(|doing| !doing.optional && doing.kind == OperationKind::Work)
            .take(1)
            .filter_map(|doing| {
                let (minutes, price) = doing
                    .own
                    .or_else(|| self.methods.get(doing.title).map(|m| (m.minutes, m.price)))?;
                Some(Planned {
                    title: doing.title.to_owned(),
                    is_method: doing.own.is_none(),
                    kind: OperationKind::Work,
                    findings: Vec::new(),
                    after: Vec::new(),
                    minutes,
                    price,
                })
            })
            .collect();
        let how = *self.chance.of(&[PaymentHow::Card, PaymentHow::Cash]);
        let both = self.crew.both;
        self.push(By::Staff(both), Step::AtCounter { doings, collected_by: name.to_owned(), how });
    }

    pub fn end(&mut self, by: By, because: Because, reason: Option<&str>) {
        self.push(by, Step::End { because, reason: reason.map(ToOwned::to_owned) });
    }

    pub fn noted(&mut self, text: &str) {
        self.by_desk(Step::Note(text.to_owned()));
    }
}
