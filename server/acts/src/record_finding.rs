//! Recording and amending what an examination turns up.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use store::findings::{self, FindingRow};
use store::order_rows::OrderRows;
use store::views::Finding;
use store::{Once, Tx, Word};
use trade::maps::{PartMap, Side};
use trade::rules::dispositions::suggest;
use trade::rules::facts::By;
use trade::words::ids::{FindingId, WorkOrderId};
use trade::words::money::plain;
use trade::words::instrument::{Disposition, FindingKind, FoundWhen, Leaks};
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// A finding as recorded.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewFinding {
    /// What.
    pub kind: FindingKind,
    /// On which part or joint.
    pub part: String,
    /// Which side, as it lies in the drawing: top, bottom, left or right (above, below, upper and
    /// lower side are understood), or where the part bends outer or inner side. Any other words are
    /// kept as they are, and the drawing shows the middle.
    #[serde(default)]
    pub side: Option<String>,
    /// Along the part, mm.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
    pub position_mm: Option<Decimal>,
    /// Length or depth, mm.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
    pub size_mm: Option<Decimal>,
    /// Whether it leaks; not tested if left out.
    #[serde(default = "not_tested")]
    pub leaks: Leaks,
    /// Whether it is likely to spread.
    #[serde(default)]
    pub likely_to_spread: bool,
    /// When it was found; by the order's stage if left out.
    #[serde(default)]
    pub found_when: Option<FoundWhen>,
    /// What is to be done; undecided if left out.
    #[serde(default = "undecided")]
    pub disposition: Disposition,
    /// Why.
    #[serde(default)]
    pub disposition_reason: Option<String>,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
    /// Whether the customer sees it; yes if left out.
    #[serde(default = "yes")]
    pub shared: bool,
}

fn not_tested() -> Leaks {
    Leaks::NotTested
}

fn undecided() -> Disposition {
    Disposition::Undecided
}

fn yes() -> bool {
    true
}

/// What can be amended; what is left out stays. `struck_reason` strikes the finding.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingChange {
    /// What.
    #[serde(default)]
    pub kind: Option<FindingKind>,
    /// On which part or joint.
    #[serde(default)]
    pub part: Option<String>,
    /// Which side, as it lies in the drawing: top, bottom, left or right (above, below, upper and
    /// lower side are understood), or where the part bends outer or inner side. Any other words are
    /// kept as they are, and the drawing shows the middle.
    #[serde(default)]
    pub side: Option<String>,
    /// Along the part, mm.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
    pub position_mm: Option<Decimal>,
    /// Length or depth, mm.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
    pub size_mm: Option<Decimal>,
    /// Whether it leaks.
    #[serde(default)]
    pub leaks: Option<Leaks>,
    /// Whether it is likely to spread.
    #[serde(default)]
    pub likely_to_spread: Option<bool>,
    /// What is to be done.
    #[serde(default)]
    pub disposition: Option<Disposition>,
    /// Why.
    #[serde(default)]
    pub disposition_reason: Option<String>,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
    /// Whether the customer sees it.
    #[serde(default)]
    pub shared: Option<bool>,
    /// Strikes the finding, for this reason.
    #[serde(default)]
    pub struck_reason: Option<String>,
}

impl NewFinding {
    pub(crate) fn check(&self, checks: &mut Checks, at: &str) {
        checks.said(&format!("{at}/part"), &self.part, LINE);
        checks.short(&format!("{at}/side"), self.side.as_deref(), LINE);
        checks.short(&format!("{at}/note"), self.note.as_deref(), TEXT);
        checks.short(&format!("{at}/disposition_reason"), self.disposition_reason.as_deref(), TEXT);
        checks.millimetres(&format!("{at}/position_mm"), self.position_mm);
        checks.millimetres(&format!("{at}/size_mm"), self.size_mm);
        if self.size_mm == Some(Decimal::ZERO) {
            checks.fault(format!("{at}/size_mm"), "must be above zero; leave it out when it was not measured");
        }
        if self.overruled().is_some() && tidy(self.disposition_reason.as_deref()).is_none() {
            checks.fault(format!("{at}/disposition_reason"), say_why(self.overruled()));
        }
    }

    /// What the rules suggest, where the disposition goes against it.
    fn overruled(&self) -> Option<Disposition> {
        overruled(self.kind, self.leaks, self.likely_to_spread, self.disposition)
    }
}

fn overruled(kind: FindingKind, leaks: Leaks, likely_to_spread: bool, chosen: Disposition) -> Option<Disposition> {
    let suggestion = suggest(kind, leaks, likely_to_spread);
    suggestion.is_overruled_by(chosen).then_some(suggestion.disposition)
}

fn say_why(suggested: Option<Disposition>) -> String {
    let suggested = suggested.map(|one| one.to_string().replace('_', " ")).unwrap_or_default();
    format!("say why it is not \u{201c}{suggested}\u{201d}, as the rules suggest")
}

/// The word that is kept for a side; what is no side stays as it is said.
fn kept_side(said: Option<&str>) -> Option<String> {
    tidy(said).map(|said| Side::read(&said).map_or(said, |side| side.word().to_owned()))
}

impl Desk {
    /// Records a finding on a locked order; raising the version and telling of it is the caller's.
    pub fn record_finding(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewFinding) -> Result<FindingRow, Halt> {
        self.actor.must_be(&[By::Technician])?;
        let found_when = new.found_when.unwrap_or(match rows.order.stage.0 {
            Stage::Intake | Stage::Diagnosis | Stage::Approval => FoundWhen::FirstExamination,
            Stage::Bench => FoundWhen::OnTheBench,
            Stage::LeakTest | Stage::Pickup => FoundWhen::AtTheTest,
            Stage::Closed => return Err(Halt::refused("closed", "The order is closed; record it at the next visit.")),
        });
        if rows.order.stage.0 == Stage::Intake {
            return Err(Halt::refused("not-examined", "Begin the examination first; what is seen at the counter is a counter mark."));
        }
        let mut checks = Checks::default();
        checks.on_part("/position_mm", new.position_mm, &rows.part_map.map, &new.part);
        checks.done()?;
        let row = FindingRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            number: i32::try_from(rows.findings.len()).unwrap_or(i32::MAX) + 1,
            kind: Word(new.kind),
            part: new.part.trim().to_owned(),
            side: kept_side(new.side.as_deref()),
            position_mm: new.position_mm,
            size_mm: new.size_mm,
            leaks: Word(new.leaks),
            likely_to_spread: new.likely_to_spread,
            found_when: Word(found_when),
            disposition: Word(new.disposition),
            disposition_reason: tidy(new.disposition_reason.as_deref()),
            note: tidy(new.note.as_deref()),
            shared: new.shared,
            struck_reason: None,
            found_by: self.actor.person()?.0,
            found_at: self.now,
            version: 1,
            changed_by: self.actor.words.clone(),
            changed_at: self.now,
            overruled: new.overruled().map(Word),
        };
        findings::add(tx, &row)?;
        rows.findings.push(row.clone());
        Ok(row)
    }
}

impl Acts {
    /// Records a finding.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; `not-yours`; `closed`; `not-examined`.
    pub async fn record_finding(&self, actor: &Actor, order: WorkOrderId, new: NewFinding, once: Once) -> Result<Finding, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut checks = Checks::default();
                new.check(&mut checks, "");
                checks.done()?;
                let mut rows = desk.open(tx, order, None)?;
                let row = desk.record_finding(tx, &mut rows, &new)?;
                desk.recorded(tx, &mut rows, "finding_recorded", "a finding was recorded")?;
                Ok(rows.finding(&row))
            })
            .await
    }

    /// Amends or strikes a finding.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `not-yours`; `struck`.
    pub async fn amend_finding(&self, actor: &Actor, id: FindingId, seen: i32, change: FindingChange) -> Result<Finding, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician])?;
                let found = findings::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let at = rows.findings.iter().position(|f| f.id == id.0).ok_or(Halt::Absent)?;
                let mut row = rows.findings[at].clone();
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &rows.finding(&row)));
                }
                if row.struck_reason.is_some() {
                    return Err(Halt::refused("struck", "This finding was struck."));
                }
                amend(&mut row, &change, &rows.part_map.map)?;
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                findings::save(tx, &row)?;
                rows.findings[at] = row.clone();
                desk.recorded(tx, &mut rows, "finding_amended", "a finding was amended")?;
                Ok(rows.finding(&row))
            })
            .await
    }
}

fn amend(row: &mut FindingRow, change: &FindingChange, map: &PartMap) -> Result<(), Halt> {
    let mut checks = Checks::default();
    if let Some(part) = &change.part {
        checks.said("/part", part, LINE);
        row.part = part.trim().to_owned();
    }
    checks.short("/side", change.side.as_deref(), LINE);
    checks.short("/note", change.note.as_deref(), TEXT);
    checks.short("/disposition_reason", change.disposition_reason.as_deref(), TEXT);
    checks.short("/struck_reason", change.struck_reason.as_deref(), TEXT);
    checks.millimetres("/position_mm", change.position_mm);
    // What was written before the part was measured stays until somebody moves it.
    if change.part.is_some() || change.position_mm.is_some() {
        checks.on_part("/position_mm", change.position_mm.or(row.position_mm), map, &row.part);
    }
    checks.millimetres("/size_mm", change.size_mm);
    if change.size_mm == Some(Decimal::ZERO) {
        checks.fault("/size_mm", "must be above zero; leave it out when it was not measured");
    }
    if change.struck_reason.as_deref().is_some_and(|reason| reason.trim().is_empty()) {
        checks.fault("/struck_reason", "must say why the finding is struck");
    }
    let chosen = change.disposition.filter(|chosen| *chosen != row.disposition.0);
    let against = chosen.and_then(|chosen| {
        let leaks = change.leaks.unwrap_or(row.leaks.0);
        overruled(change.kind.unwrap_or(row.kind.0), leaks, change.likely_to_spread.unwrap_or(row.likely_to_spread), chosen)
    });
    if against.is_some() && tidy(change.disposition_reason.as_deref()).is_none() {
        checks.fault("/disposition_reason", say_why(against));
    }
    checks.done()?;
    if chosen.is_some() {
        // The reason was that of what was chosen before.
        row.disposition_reason = None;
        row.overruled = against.map(Word);
    }
    if let Some(kind) = change.kind {
        row.kind = Word(kind);
    }
    if let Some(side) = &change.side {
        row.side = kept_side(Some(side));
    }
    row.position_mm = change.position_mm.or(row.position_mm);
    row.size_mm = change.size_mm.or(row.size_mm);
    if let Some(leaks) = change.leaks {
        row.leaks = Word(leaks);
    }
    row.likely_to_spread = change.likely_to_spread.unwrap_or(row.likely_to_spread);
    if let Some(disposition) = change.disposition {
        row.disposition = Word(disposition);
    }
    if let Some(reason) = &change.disposition_reason {
        row.disposition_reason = tidy(Some(reason));
    }
    if let Some(note) = &change.note {
        row.note = tidy(Some(note));
    }
    row.shared = change.shared.unwrap_or(row.shared);
    if let Some(reason) = &change.struck_reason {
        row.struck_reason = tidy(Some(reason));
    }
    Ok(())
}
