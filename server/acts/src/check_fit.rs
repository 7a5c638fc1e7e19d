//! Checking a fit: diameters as measured, clearance or taper as computed here, kept for good.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::fit_checks::{self, FitCheckRow};
use store::order_rows::OrderRows;
use store::views::FitCheck;
use store::{Once, Tx, Word, shops, work_orders};
use trade::bench::fit_check::{FitAnswer, FitMeasured};
use trade::bench::shop_limits::FitKind;
use trade::calculation::Refused;
use trade::rules::facts::By;
use trade::words::ids::{FindingId, WorkOrderId};
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// A fit check as recorded.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewFitCheck {
    /// What kind of fit.
    pub fit_kind: FitKind,
    /// Which part or joint.
    pub part: String,
    /// What was measured.
    pub measured: FitMeasured,
    /// The finding it belongs to.
    #[serde(default)]
    pub finding_id: Option<FindingId>,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
}

/// A fit check to be computed only.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FitPreview {
    /// What kind of fit.
    pub fit_kind: FitKind,
    /// What was measured.
    pub measured: FitMeasured,
}

fn below_measured(refused: Refused) -> Halt {
    Halt::from(refused).below("/measured")
}

impl Desk {
    /// Records a fit check on a locked order. It moves nothing: what to do about it is a finding's.
    pub fn check_fit(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewFitCheck) -> Result<FitCheckRow, Halt> {
        self.actor.must_be(&[By::Technician])?;
        match rows.order.stage.0 {
            Stage::Intake => return Err(Halt::refused("not-examined", "Begin the examination first; then measure.")),
            Stage::Closed => return Err(Halt::refused("closed", "The order is closed; measure at the next visit.")),
            Stage::Diagnosis | Stage::Approval | Stage::Bench | Stage::LeakTest | Stage::Pickup => {}
        }
        let mut checks = Checks::default();
        checks.said("/part", &new.part, LINE);
        checks.short("/note", new.note.as_deref(), TEXT);
        if let Some(id) = new.finding_id
            && !rows.findings.iter().any(|f| f.id == id.0 && f.struck_reason.is_none())
        {
            checks.fault("/finding_id", "is no finding of this order");
        }
        checks.done()?;
        let answer = new.measured.reckon(new.fit_kind, &rows.shop.test_settings()?).map_err(below_measured)?;
        let row = FitCheckRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            fit_kind: Word(new.fit_kind),
            part: new.part.trim().to_owned(),
            measured: json!(new.measured),
            answer: json!(answer),
            finding_id: new.finding_id.map(|id| id.0),
            note: tidy(new.note.as_deref()),
            checked_by: self.actor.person()?.0,
            checked_at: self.now,
        };
        fit_checks::add(tx, &row)?;
        rows.fit_checks.push(row.clone());
        self.recorded(tx, rows, "fit_checked", "a fit was checked")?;
        Ok(row)
    }
}

impl Acts {
    /// Records a fit check.
    ///
    /// # Errors
    /// [`Halt::Absent`]; [`Halt::Invalid`] with every fault, [`Halt::NotComputed`]; `not-examined`,
    /// `closed`; `not-yours`.
    pub async fn check_fit(&self, actor: &Actor, order: WorkOrderId, new: NewFitCheck, once: Once) -> Result<FitCheck, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                let row = desk.check_fit(tx, &mut rows, &new)?;
                Ok(rows.fit_check(&row)?)
            })
            .await
    }

    /// What a fit check on this order would say. Nothing is stored.
    ///
    /// # Errors
    /// As [`Acts::check_fit`].
    pub async fn preview_fit_check(&self, actor: &Actor, order: WorkOrderId, wanted: FitPreview) -> Result<FitAnswer, Halt> {
        actor.must_be(&[By::Technician])?;
        self.store
            .read(actor.shop, move |conn| {
                work_orders::find(conn, order)?.ok_or(Halt::Absent)?;
                let settings = shops::current(conn)?.test_settings()?;
                wanted.measured.reckon(wanted.fit_kind, &settings).map_err(below_measured)
            })
            .await
    }
}
