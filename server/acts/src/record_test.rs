//! Recording a test. A failed one goes back to the bench, the last missing pass goes to pickup;
//! what is played there before the handover is kept and moves nothing.
//! What a pressure log says is computed here from the readings, never taken from the client.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::record_finding::NewFinding;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::pressure_tests::{self, PressureTestRow};
use store::small_things::{self, TestRow, WHOLE_INSTRUMENT};
use store::views::{LeakSpot, Test};
use store::{Once, Tx, Word, instruments, operations, shops, work_orders};
use trade::bench::leak_rate::LeakVerdict;
use trade::bench::pressure_test::{PressureAnswer, PressureTest, Reckoned};
use trade::rules::facts::By;
use trade::rules::stages::Act;
use trade::words::ids::{FindingId, InstrumentId, WorkOrderId};
use trade::words::instrument::{Disposition, OperationState, TestKind, TestMethod, Verdict};
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;
use uuid::Uuid;

/// A test names at most so many places.
const MOST_SPOTS: usize = 100;

/// A test as recorded. A failed one pins where: a finding of this order, or a new one.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewTest {
    /// Leak test or play test.
    pub kind: TestKind,
    /// How.
    #[serde(default)]
    pub method: Option<TestMethod>,
    /// The whole instrument if left out, or the part named.
    #[serde(default)]
    pub scope: Option<String>,
    /// What it said. For a pressure decay test left out: as computed; given: the person's own,
    /// with `overruled_because` where it is another.
    #[serde(default)]
    pub verdict: Option<Verdict>,
    /// Why the person's verdict is not the computed one.
    #[serde(default)]
    pub overruled_because: Option<String>,
    /// The readings of a pressure decay test.
    #[serde(default)]
    pub pressure: Option<PressureTest>,
    /// Where it fails, in words.
    #[serde(default)]
    pub where_words: Option<String>,
    /// Where it leaks, and how much: which pad, which joint.
    #[serde(default)]
    pub spots: Vec<LeakSpot>,
    /// The finding that pins where it fails.
    #[serde(default)]
    pub finding_id: Option<FindingId>,
    /// A new finding that pins where it fails.
    #[serde(default)]
    pub finding: Option<NewFinding>,
    /// Passes apart from these findings, which the owner declined or that are left and watched.
    #[serde(default)]
    pub apart_from: Vec<FindingId>,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
}

impl NewTest {
    /// A test of the whole instrument with nothing more to say.
    #[must_use]
    pub fn plain(kind: TestKind, method: TestMethod, verdict: Verdict) -> Self {
        Self {
            kind,
            method: Some(method),
            scope: None,
            verdict: Some(verdict),
            overruled_because: None,
            pressure: None,
            where_words: None,
            spots: Vec::new(),
            finding_id: None,
            finding: None,
            apart_from: Vec::new(),
            note: None,
        }
    }

    fn check(&self, checks: &mut Checks) {
        checks.short("/scope", self.scope.as_deref(), LINE);
        checks.short("/where_words", self.where_words.as_deref(), LINE);
        checks.short("/overruled_because", self.overruled_because.as_deref(), TEXT);
        checks.short("/note", self.note.as_deref(), TEXT);
        if self.spots.len() > MOST_SPOTS {
            checks.fault("/spots", format!("has {} places; name at most {MOST_SPOTS}", self.spots.len()));
        }
        for (index, spot) in self.spots.iter().enumerate() {
            let at = format!("/spots/{index}");
            checks.said(&format!("{at}/part"), &spot.part, LINE);
            checks.short(&format!("{at}/side"), spot.side.as_deref(), LINE);
            checks.short(&format!("{at}/words"), spot.words.as_deref(), LINE);
            checks.millimetres(&format!("{at}/position_mm"), spot.position_mm);
            checks.millimetres(&format!("{at}/gap_mm"), spot.gap_mm);
            if spot.gap_mm.is_some() && self.method != Some(TestMethod::Feeler) {
                checks.fault(format!("{at}/gap_mm"), "is for a feeler; leave it out");
            }
            if spot.bubbles_per_minute.is_some() && self.method != Some(TestMethod::Bubbles) {
                checks.fault(format!("{at}/bubbles_per_minute"), "is for bubbles; leave it out");
            }
            if spot.bubbles_per_minute.is_some_and(|count| count > 100_000) {
                checks.fault(format!("{at}/bubbles_per_minute"), "is more than anybody counts; say how_much");
            }
        }
        if let Some(finding) = &self.finding {
            finding.check(checks, "/finding");
        }
        if self.finding.is_some() && self.finding_id.is_some() {
            checks.fault("/finding", "is given twice; leave out finding or finding_id");
        }
        let by_pressure = self.method == Some(TestMethod::PressureDecay);
        match (&self.pressure, by_pressure) {
            (None, true) => checks.fault("/pressure", "is missing: type the readings, or send the logger's file"),
            (Some(_), false) => checks.fault("/pressure", "belongs to the method pressure_decay; leave it out or name that method"),
            _ => {}
        }
        match (self.kind, self.method) {
            (TestKind::PlayTest, Some(method)) if method != TestMethod::Played => {
                checks.fault("/method", "is a method of leak tests; a play test is played");
            }
            (TestKind::LeakTest, Some(TestMethod::Played)) => checks.fault("/method", "is a play test; name how it was tested for leaks"),
            _ => {}
        }
        if !by_pressure {
            match self.verdict {
                None => checks.fault("/verdict", "is missing; say passed or failed"),
                Some(Verdict::NotDecidable) => checks.fault("/verdict", "is said by a pressure test only; say passed or failed"),
                Some(Verdict::Passed | Verdict::Failed) => {}
            }
            if self.overruled_because.is_some() {
                checks.fault("/overruled_because", "overrules a computed verdict; here nothing is computed");
            }
        }
    }
}

/// The computed verdict as tests keep it.
fn word_of(verdict: LeakVerdict) -> Verdict {
    match verdict {
        LeakVerdict::Pass => Verdict::Passed,
        LeakVerdict::Fail => Verdict::Failed,
        LeakVerdict::NotDecidable => Verdict::NotDecidable,
    }
}

impl Desk {
    /// Which verdict stands: the computed one, or a person's with the reason (rule 15). What the
    /// readings leave open a technician may decide; what they say fails, only the proprietor lets
    /// pass, unless it passes apart from findings that are named.
    fn verdict(&self, new: &NewTest, reckoned: Option<&Reckoned>) -> Result<Option<Verdict>, Halt> {
        let Some(reckoned) = reckoned else { return Ok(new.verdict) };
        let computed = reckoned.answer.rate.verdict.map(word_of);
        let Some(wanted) = new.verdict.filter(|wanted| Some(*wanted) != computed) else {
            if new.overruled_because.is_some() {
                return Err(Halt::invalid("/overruled_because", "overrules nothing: this is what was computed; leave it out"));
            }
            return Ok(computed);
        };
        if wanted == Verdict::NotDecidable {
            return Err(Halt::invalid("/verdict", "must be passed or failed, or left out for what was computed"));
        }
        if tidy(new.overruled_because.as_deref()).is_none() {
            let computed = match computed {
                Some(Verdict::Passed) => "the readings pass",
                Some(Verdict::Failed) => "the readings fail",
                Some(Verdict::NotDecidable) => "the readings cannot tell",
                None => "the shop has set no limit for this family",
            };
            return Err(Halt::invalid("/overruled_because", format!("is missing: {computed}; say why it {wanted} all the same")));
        }
        if computed == Some(Verdict::Failed) && new.apart_from.is_empty() {
            self.actor.must_be(&[By::Proprietor])?;
        }
        Ok(Some(wanted))
    }

    /// Records a test on a locked order and makes the move it means.
    pub fn record_test(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewTest) -> Result<TestRow, Halt> {
        self.actor.must_be(&[By::Technician])?;
        let stands_ready = rows.order.stage.0 == Stage::Pickup && rows.facts(self.today(rows)?)?.came_through_tests;
        if new.kind == TestKind::PlayTest && stands_ready {
            // The last required pass moved it on; playing it afterwards is worth keeping, and what
            // does not play goes back by the counter's own move, with its reason and its letter.
            if new.verdict == Some(Verdict::Failed) {
                return Err(Halt::refused(
                    "send-it-back",
                    "It stands in pickup, where no test fails. Send it back to the bench with the reason (sent_back); it is then tested anew.",
                ));
            }
        } else if rows.order.stage.0 != Stage::LeakTest {
            return Err(Halt::refused("not-in-leak-test", "Tests that count are recorded in the leak test. Finish the bench work first."));
        }
        let mut checks = Checks::default();
        new.check(&mut checks);
        if let Some(id) = new.finding_id
            && !rows.findings.iter().any(|f| f.id == id.0 && f.struck_reason.is_none())
        {
            checks.fault("/finding_id", "is no finding of this order");
        }
        for (index, id) in new.apart_from.iter().enumerate() {
            let known = rows.findings.iter().find(|f| f.id == id.0 && f.struck_reason.is_none());
            let may_stay = known.is_some_and(|f| {
                matches!(f.disposition.0, Disposition::Declined | Disposition::LeaveAndWatch | Disposition::AnotherVisit)
            });
            if !may_stay {
                checks.fault(format!("/apart_from/{index}"), "is no finding that was declined or left");
            }
        }
        let is_pinned = new.finding.is_some() || new.finding_id.is_some();
        let unpinned = "is missing: pin where it fails, as a finding of this order or a new one";
        if new.verdict == Some(Verdict::Failed) && !is_pinned {
            checks.fault("/finding", unpinned);
        }
        checks.done()?;
        let reckoned = match &new.pressure {
            Some(pressure) => {
                let settings = rows.shop.test_settings()?;
                Some(pressure.reckon(rows.instrument.family.0, &settings).map_err(|refused| Halt::from(refused).below("/pressure"))?)
            }
            None => None,
        };
        let verdict = self.verdict(new, reckoned.as_ref())?;
        if verdict == Some(Verdict::Failed) && !is_pinned {
            return Err(Halt::invalid("/finding", unpinned));
        }
        let pinned = match (&new.finding, new.finding_id) {
            (Some(finding), _) if verdict == Some(Verdict::Failed) => Some(self.record_finding(tx, rows, finding).map_err(|halt| halt.below("/finding"))?.id),
            (_, Some(id)) => Some(id.0),
            _ => None,
        };
        let step = match verdict {
            Some(Verdict::Failed) => {
                Some(self.may_move(rows, Stage::Bench, Because::TestFailed, None, Some(Act::RecordTest))?)
            }
            Some(Verdict::Passed | Verdict::NotDecidable) | None => None,
        };
        // However it is typed, the whole instrument is one thing.
        let scope = tidy(new.scope.as_deref()).filter(|scope| !scope.eq_ignore_ascii_case(WHOLE_INSTRUMENT));
        let row = TestRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            kind: Word(new.kind),
            method: new.method.map(Word),
            scope: scope.unwrap_or_else(|| WHOLE_INSTRUMENT.to_owned()),
            verdict: verdict.map(Word),
            where_words: tidy(new.where_words.as_deref()),
            finding_id: pinned,
            apart_from: json!(new.apart_from),
            note: tidy(new.note.as_deref()),
            tested_by: self.actor.person()?.0,
            tested_at: self.now,
            spots: json!(new.spots),
            overruled_because: tidy(new.overruled_because.as_deref()),
        };
        small_things::add_test(tx, &row)?;
        if let (Some(pressure), Some(reckoned)) = (&new.pressure, reckoned) {
            let asked = PressureTest { readings: None, csv: None, ..pressure.clone() };
            pressure_tests::add(
                tx,
                &PressureTestRow {
                    shop_id: row.shop_id,
                    test_id: row.id,
                    readings: pressure_tests::kept(&reckoned.readings),
                    asked: json!(asked),
                    answer: json!(reckoned.answer),
                },
            )?;
            rows.pressure_answers.insert(row.id, reckoned.answer);
        }
        rows.tests.push(row.clone());
        let step = match step {
            Some(step) => Some(step),
            None if rows.order.stage.0 == Stage::LeakTest && rows.required_tests().into_iter().all(|kind| rows.has_passed(kind)) => {
                Some(self.may_move(rows, Stage::Pickup, Because::TestsPassed, None, Some(Act::RecordTest))?)
            }
            None => None,
        };
        match step {
            Some(step) => {
                if verdict == Some(Verdict::Failed) {
                    self.count_rework(tx, rows, pinned)?;
                }
                self.make(tx, rows, step, new.where_words.as_deref())?;
            }
            None => self.recorded(tx, rows, "test_recorded", "a test was recorded")?,
        }
        Ok(row)
    }

    /// The done steps that answered the pinned finding are open again, and counted.
    fn count_rework(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, pinned: Option<Uuid>) -> Result<(), Halt> {
        let Some(pinned) = pinned else { return Ok(()) };
        for row in rows.operations.iter_mut().filter(|o| o.state.0 == OperationState::Done) {
            if !ids(&row.finding_ids)?.contains(&pinned) {
                continue;
            }
            row.state = Word(OperationState::Paused);
            row.rework_count += 1;
            row.version += 1;
            row.changed_by.clone_from(&self.actor.words);
            row.changed_at = self.now;
            operations::save(tx, row)?;
        }
        Ok(())
    }
}

impl Acts {
    /// Records a test and makes the move it means; when a version was seen, only of that.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; [`Halt::NotComputed`] of a pressure log; `not-in-leak-test`;
    /// `send-it-back` of a play test that fails in pickup; `not-yours`.
    pub async fn record_test(&self, actor: &Actor, order: WorkOrderId, seen: Option<i32>, new: NewTest, once: Once) -> Result<Test, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, seen)?;
                let row = desk.record_test(tx, &mut rows, &new)?;
                Ok(rows.test(&row)?)
            })
            .await
    }

    /// What a pressure test of this order would say. Nothing is stored.
    ///
    /// # Errors
    /// [`Halt::Absent`]; [`Halt::Invalid`] with every fault, [`Halt::NotComputed`]; `not-yours`.
    pub async fn preview_pressure_test(&self, actor: &Actor, order: WorkOrderId, test: PressureTest) -> Result<PressureAnswer, Halt> {
        actor.must_be(&[By::Technician])?;
        let (family, settings) = self
            .store
            .read(actor.shop, move |conn| {
                let order = work_orders::find(conn, order)?.ok_or(Halt::Absent)?;
                let instrument = instruments::find(conn, InstrumentId(order.instrument_id))?.ok_or(Halt::Absent)?;
                Ok::<_, Halt>((instrument.family.0, shops::current(conn)?.test_settings()?))
            })
            .await?;
        // A log of 100,000 rows takes a good part of a second: not on the thread that answers others.
        let reckoned = tokio::task::spawn_blocking(move || test.reckon(family, &settings))
            .await
            .map_err(|broken| store::Error::Away(format!("the computation broke off: {broken}")))??;
        Ok(reckoned.answer)
    }
}
