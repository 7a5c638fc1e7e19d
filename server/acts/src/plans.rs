//! The plan of an order's bench work, the order that a technician fixes, and the bench's settings.

use crate::checks::{Checks, TEXT, tidy};
use crate::desk::{Actor, Acts, Halt};
use crate::methods::cautions_now;
use chrono::{DateTime, Utc};
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use store::lists::{self, MethodRow};
use store::operations::OperationRow;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::plans::{self, BenchSettingsRow, PlanRow};
use store::{Conn, Error, audit, shops};
use trade::bench::plan::{Bench, BenchSettings, ComputedPlan, FixedStep, Spot, StepKind, Task, TaskMethod, plan};
use trade::maps::JointKind;
use trade::rules::facts::By;
use trade::words::ids::WorkOrderId;
use trade::words::instrument::{FindingKind, Heat, OperationKind, OperationState};
use utoipa::ToSchema;
use uuid::Uuid;

/// The plan of an order.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct Plan {
    /// For `If-Match`; 0 while nobody fixed an order.
    pub version: i32,
    /// The version of the work order that it was made from.
    pub order_version: i32,
    /// Who fixed an order last.
    pub changed_by: Option<String>,
    /// When.
    pub changed_at: Option<DateTime<Utc>>,
    /// The computed order, its conflicts, and the fixed order beside it.
    #[serde(flatten)]
    pub plan: ComputedPlan,
}

/// An order of work fixed by hand.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPlan {
    /// The steps in order; none, and the computed order counts again.
    pub steps: Vec<FixedStep>,
    /// Why, where the order breaks a rule.
    #[serde(default)]
    pub reason: Option<String>,
}

/// The bench's settings as the shop has them.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct ShopBench {
    /// For `If-Match`; 0 while the typical values count.
    pub version: i32,
    /// Whether nobody has set them: typical values, from memory.
    pub is_typical: bool,
    /// Stations, set-ups, and minutes around a joint.
    pub settings: BenchSettings,
}

/// The most steps of a fixed order.
const MOST_STEPS: usize = 200;

impl ShopBench {
    fn of(row: Option<&BenchSettingsRow>) -> Result<Self, Error> {
        Ok(match row {
            Some(row) => Self { version: row.version, is_typical: false, settings: row.settings()? },
            None => Self { version: 0, is_typical: true, settings: BenchSettings::default() },
        })
    }
}

/// The bench's settings. One statement.
///
/// # Errors
/// When the database refuses, or what is stored cannot be read.
pub fn shop_bench(conn: &mut Conn) -> Result<ShopBench, Error> {
    ShopBench::of(plans::settings(conn)?.as_ref())
}

/// The plan of an order from its rows. At most four statements.
///
/// # Errors
/// When the database refuses, or what is stored cannot be read.
pub fn plan_of(conn: &mut Conn, rows: &OrderRows) -> Result<Plan, Error> {
    let bench = shop_bench(conn)?;
    let methods = methods_for(conn, rows)?;
    let row = plans::of_order(conn, WorkOrderId(rows.order.id))?;
    let fixed = row.as_ref().map(|row| row.fixed().map(|steps| (steps, row.reason.clone()))).transpose()?;
    let fixed = fixed.filter(|(steps, _)| !steps.is_empty());
    Ok(Plan {
        version: row.as_ref().map_or(0, |row| row.version),
        order_version: rows.order.version,
        changed_by: row.as_ref().map(|row| row.changed_by.clone()),
        changed_at: row.as_ref().map(|row| row.changed_at),
        plan: reckoned(rows, &methods, &bench, fixed)?,
    })
}

/// The shop's methods; those that could stand in for a step's own, with the shop's own minutes.
fn methods_for(conn: &mut Conn, rows: &OrderRows) -> Result<Vec<MethodRow>, Error> {
    let mut methods = lists::methods(conn)?;
    let hot = rows.operations.iter().filter(|row| is_open(row) && row.heat.0 != Heat::None).map(|row| kinds_of(rows, row)).collect::<Result<Vec<_>, _>>()?;
    let mut others = Vec::new();
    for method in &methods {
        let answers: Vec<FindingKind> = read_list(&method.answers, "answers")?;
        if hot.iter().any(|kinds| !kinds.is_empty() && kinds.iter().all(|kind| answers.contains(kind))) {
            others.push(method.id);
        }
    }
    let taken = lists::minutes_taken(conn, &others)?;
    for method in &mut methods {
        let (minutes, _) = lists::minutes(method, &taken);
        (method.low_minutes, method.typical_minutes, method.high_minutes) = (minutes.low, minutes.typical, minutes.high);
    }
    Ok(methods)
}

fn is_open(row: &OperationRow) -> bool {
    !matches!(row.state.0, OperationState::Done | OperationState::Struck)
}

/// The kinds of the findings that a step answers.
fn kinds_of(rows: &OrderRows, row: &OperationRow) -> Result<Vec<FindingKind>, Error> {
    let findings = ids(&row.finding_ids)?;
    Ok(rows.findings.iter().filter(|one| findings.contains(&one.id) && one.struck_reason.is_none()).map(|one| one.kind.0).collect())
}

fn reckoned(rows: &OrderRows, methods: &[MethodRow], bench: &ShopBench, fixed: Option<(Vec<FixedStep>, Option<String>)>) -> Result<ComputedPlan, Error> {
    // What the owner left out is not done, and so in nobody's way.
    let left_out = rows.left_out()?;
    let is_planned = |row: &&OperationRow| is_open(row) && !left_out.contains(&row.id);
    let tasks = rows.operations.iter().filter(is_planned).map(|row| task(rows, methods, row)).collect::<Result<Vec<_>, _>>()?;
    let done = |kind: OperationKind, joint: &str| {
        let is_one = |row: &&OperationRow| row.kind.0 == kind && row.state.0 == OperationState::Done && row.joint.as_deref() == Some(joint);
        rows.operations.iter().filter(is_one).count()
    };
    let mut apart: Vec<String> = rows
        .operations
        .iter()
        .filter_map(|row| row.joint.clone())
        .filter(|joint| done(OperationKind::TakeApart, joint) > done(OperationKind::PutTogether, joint))
        .collect();
    apart.sort();
    apart.dedup();
    Ok(plan(&Bench {
        map: &rows.part_map.map,
        settings: &bench.settings,
        settings_are_typical: bench.is_typical,
        tasks,
        apart,
        fixed,
    }))
}

fn task(rows: &OrderRows, methods: &[MethodRow], row: &OperationRow) -> Result<Task, Error> {
    let findings = ids(&row.finding_ids)?;
    let found: Vec<_> = rows.findings.iter().filter(|one| findings.contains(&one.id) && one.struck_reason.is_none()).collect();
    let own = row.method_id.and_then(|id| methods.iter().find(|method| method.id == id));
    let minutes = u32::try_from(row.typical_minutes).unwrap_or_default();
    let kinds = kinds_of(rows, row)?;
    let others = methods
        .iter()
        .filter(|method| Some(method.id) != row.method_id && method.is_offered && !kinds.is_empty())
        .map(|method| Ok((method, read_list::<FindingKind>(&method.answers, "answers")?)))
        .collect::<Result<Vec<_>, Error>>()?;
    Ok(Task {
        id: row.id.to_string(),
        title: row.title.clone(),
        kind: row.kind.0,
        after: ids(&row.after_ids)?.iter().map(Uuid::to_string).collect(),
        joint: row.joint.clone(),
        needs_apart: read_list(&row.needs_apart, "needs_apart")?,
        chosen: row.chosen_ways()?,
        spots: found
            .iter()
            .map(|one| Spot {
                word: one.part.clone(),
                kind: one.kind.0,
                position_mm: one.position_mm.and_then(|mm| mm.to_f64()),
                size_mm: one.size_mm.and_then(|mm| mm.to_f64()),
            })
            .collect(),
        method: match own {
            // What was planned for this very step goes before the list.
            Some(method) => TaskMethod { minutes, heat: row.heat.0, ..task_method(method)? },
            None => TaskMethod { irreversible: row.irreversible, ..TaskMethod::unlisted(&row.title, minutes, row.heat.0) },
        },
        others: others
            .into_iter()
            .filter(|(_, answers)| row.kind.0 == OperationKind::Work && kinds.iter().all(|kind| answers.contains(kind)))
            .map(|(method, _)| task_method(method))
            .collect::<Result<_, _>>()?,
    })
}

fn read_list<T: serde::de::DeserializeOwned>(value: &serde_json::Value, what: &str) -> Result<Vec<T>, Error> {
    serde_json::from_value(value.clone()).map_err(|e| Error::Unreadable(format!("{what}: {e}")))
}

fn task_method(row: &MethodRow) -> Result<TaskMethod, Error> {
    let answers: Vec<FindingKind> = read_list(&row.answers, "answers")?;
    Ok(TaskMethod {
        id: row.id.to_string(),
        name: row.name.clone(),
        minutes: u32::try_from(row.typical_minutes).unwrap_or_default(),
        station: row.station.clone(),
        heat: row.heat.0,
        heat_c: row.heat_c.map(f64::from),
        filler: row.filler.clone(),
        joint_kind: row.joint_kind.clone(),
        needs_apart: read_list::<JointKind>(&row.needs_apart, "needs_apart")?,
        plating_metal: row.plating_metal.clone(),
        plates: row.plating_metal.is_some() || answers.contains(&FindingKind::PlatingLoss),
        lacquers: answers.contains(&FindingKind::LacquerLoss),
        irreversible: row.irreversible,
        cautions: cautions_now(row)?,
    })
}

impl Acts {
    /// Fixes a technician's own order of work, or gives the computed one its place back.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`]; [`Halt::Invalid`] where a step names nothing of this
    /// order, or a rule is broken without a reason (rule 15); `not-yours`.
    pub async fn fix_plan(&self, actor: &Actor, order: WorkOrderId, seen: i32, new: NewPlan) -> Result<Plan, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician])?;
                let mut rows = desk.open(tx, order, None)?;
                let before = plans::of_order(tx.conn(), order)?;
                let version = before.as_ref().map_or(0, |row| row.version);
                if version != seen {
                    let (changed_by, changed_at) =
                        before.map_or(("nobody yet".to_owned(), rows.order.changed_at), |row| (row.changed_by, row.changed_at));
                    return Err(Halt::stale(version, &changed_by, changed_at, &plan_of(tx.conn(), &rows)?));
                }
                let mut checks = Checks::default();
                checks.short("/reason", new.reason.as_deref(), TEXT);
                if new.steps.len() > MOST_STEPS {
                    checks.fault("/steps", "at most 200 steps");
                }
                for (at, step) in new.steps.iter().enumerate() {
                    check_step(&mut checks, &rows, at, step);
                }
                checks.done()?;
                let bench = shop_bench(tx.conn())?;
                let methods = methods_for(tx.conn(), &rows)?;
                for (at, id) in new.steps.iter().enumerate().filter_map(|(at, step)| Some((at, step.method_id?))) {
                    if !methods.iter().any(|method| method.id == id) {
                        return Err(Halt::invalid(format!("/steps/{at}/method_id"), "is no method of this shop"));
                    }
                }
                let reason = tidy(new.reason.as_deref());
                if !new.steps.is_empty() {
                    let reckoned = reckoned(&rows, &methods, &bench, Some((new.steps.clone(), reason.clone())))?;
                    let broken = reckoned.own.and_then(|own| own.breaches.into_iter().next());
                    if let Some(breach) = broken.filter(|_| reason.is_none()) {
                        return Err(Halt::invalid("/reason", format!("say why it is done so although {}", breach.words)));
                    }
                }
                let row = PlanRow {
                    shop_id: desk.actor.shop.0,
                    work_order_id: rows.order.id,
                    steps: serde_json::to_value(&new.steps).map_err(|e| Error::Unreadable(format!("plan: {e}")))?,
                    reason,
                    version: version + 1,
                    changed_by: desk.actor.words.clone(),
                    changed_at: desk.now,
                };
                plans::save(tx, &row)?;
                desk.recorded(tx, &mut rows, "plan_fixed", "the order of work was fixed")?;
                Ok(plan_of(tx.conn(), &rows)?)
            })
            .await
    }

    /// Sets stations, set-ups and minutes around a joint.
    ///
    /// # Errors
    /// [`Halt::Stale`], [`Halt::Invalid`] with every fault; `not-yours`.
    pub async fn set_bench(&self, actor: &Actor, seen: i32, settings: BenchSettings) -> Result<ShopBench, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Proprietor])?;
                let shop = shops::lock(tx)?;
                let before = plans::settings(tx.conn())?;
                let version = before.as_ref().map_or(0, |row| row.version);
                if version != seen {
                    let current = ShopBench::of(before.as_ref())?.settings;
                    let (changed_by, changed_at) =
                        before.map_or(("the typical values".to_owned(), shop.changed_at), |row| (row.changed_by, row.changed_at));
                    return Err(Halt::stale(version, &changed_by, changed_at, &current));
                }
                let faults = settings.faults();
                if !faults.is_empty() {
                    return Err(Halt::Invalid(faults));
                }
                let row = BenchSettingsRow {
                    shop_id: desk.actor.shop.0,
                    settings: serde_json::to_value(&settings).map_err(|e| Error::Unreadable(format!("bench settings: {e}")))?,
                    version: version + 1,
                    changed_by: desk.actor.words.clone(),
                    changed_at: desk.now,
                };
                plans::save_settings(tx, &row)?;
                audit::write(tx, "bench_set", None, desk.actor.who.person(), &desk.actor.words, desk.now)?;
                Ok(ShopBench::of(Some(&row))?)
            })
            .await
    }
}

fn check_step(checks: &mut Checks, rows: &OrderRows, at: usize, step: &FixedStep) {
    match (step.kind, step.operation_id, &step.joint) {
        (StepKind::Operation, Some(id), None) => {
            if !rows.operations.iter().any(|row| row.id == id) {
                checks.fault(format!("/steps/{at}/operation_id"), "is no operation of this order");
            }
        }
        (StepKind::Operation, ..) => checks.fault(format!("/steps/{at}/operation_id"), "name the operation, and no joint"),
        (StepKind::TakeApart | StepKind::PutTogether, _, Some(word)) => {
            if rows.part_map.map.resolve(word).is_none() {
                checks.fault(format!("/steps/{at}/joint"), "is neither joint nor part of this instrument's map");
            }
        }
        (StepKind::TakeApart | StepKind::PutTogether, _, None) => {
            checks.fault(format!("/steps/{at}/joint"), "name the joint or brace");
        }
    }
}
