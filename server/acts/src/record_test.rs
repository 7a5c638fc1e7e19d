//! Recording a test. A failed one goes back to the bench, the last missing pass goes to pickup.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::record_finding::NewFinding;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::small_things::{self, TestRow};
use store::views::Test;
use store::{Once, Tx, Word, operations};
use trade::rules::facts::By;
use trade::rules::stages::Act;
use trade::words::ids::{FindingId, WorkOrderId};
use trade::words::instrument::{Disposition, OperationState, TestKind, TestMethod, Verdict};
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;
use uuid::Uuid;

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
    /// What it said.
    pub verdict: Verdict,
    /// Where it fails, in words.
    #[serde(default)]
    pub where_words: Option<String>,
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

impl Desk {
    /// Records a test on a locked order and makes the move it means.
    pub fn record_test(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewTest) -> Result<TestRow, Halt> {
        self.actor.must_be(&[By::Technician])?;
        if rows.order.stage.0 != Stage::LeakTest {
            return Err(Halt::refused("not-in-leak-test", "Tests that count are recorded in the leak test. Finish the bench work first."));
        }
        let mut checks = Checks::default();
        checks.short("/scope", new.scope.as_deref(), LINE);
        checks.short("/where_words", new.where_words.as_deref(), LINE);
        checks.short("/note", new.note.as_deref(), TEXT);
        if let Some(finding) = &new.finding {
            finding.check(&mut checks, "/finding");
        }
        if new.finding.is_some() && new.finding_id.is_some() {
            checks.fault("/finding", "is given twice; leave out finding or finding_id");
        }
        if let Some(id) = new.finding_id
            && !rows.findings.iter().any(|f| f.id == id.0 && f.struck_reason.is_none())
        {
            checks.fault("/finding_id", "is no finding of this order");
        }
        if new.verdict == Verdict::Failed && new.finding.is_none() && new.finding_id.is_none() {
            checks.fault("/finding", "is missing: pin where it fails, as a finding of this order or a new one");
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
        checks.done()?;
        let pinned = match (&new.finding, new.finding_id) {
            (Some(finding), _) if new.verdict == Verdict::Failed => Some(self.record_finding(tx, rows, finding)?.id),
            (_, Some(id)) => Some(id.0),
            _ => None,
        };
        let step = match new.verdict {
            Verdict::Failed => {
                Some(self.may_move(rows, Stage::Bench, Because::TestFailed, None, Some(Act::RecordTest))?)
            }
            Verdict::Passed => None,
        };
        let row = TestRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            kind: Word(new.kind),
            method: new.method.map(Word),
            scope: tidy(new.scope.as_deref()).unwrap_or_else(|| "whole instrument".to_owned()),
            verdict: Word(new.verdict),
            where_words: tidy(new.where_words.as_deref()),
            finding_id: pinned,
            apart_from: json!(new.apart_from),
            note: tidy(new.note.as_deref()),
            tested_by: self.actor.person()?.0,
            tested_at: self.now,
        };
        small_things::add_test(tx, &row)?;
        rows.tests.push(row.clone());
        let step = match step {
            Some(step) => Some(step),
            None if rows.required_tests().into_iter().all(|kind| rows.has_passed(kind)) => {
                Some(self.may_move(rows, Stage::Pickup, Because::TestsPassed, None, Some(Act::RecordTest))?)
            }
            None => None,
        };
        match step {
            Some(step) => {
                if new.verdict == Verdict::Failed {
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
    /// Records a test and makes the move it means.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; `not-in-leak-test`; `not-yours`.
    pub async fn record_test(&self, actor: &Actor, order: WorkOrderId, new: NewTest, once: Once) -> Result<Test, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                let row = desk.record_test(tx, &mut rows, &new)?;
                Ok(rows.test(&row)?)
            })
            .await
    }
}
