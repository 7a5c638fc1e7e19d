//! The plan: which joints the torch work of an order would melt on this very instrument, the ways
//! round, and the order of work with the least minutes.
//!
//! * `answer`: what a plan says.
//! * `settings`: what it must know of the shop.
//! * `metalwork`: the part map as metal, and what must come off together.
//! * `heat`: heat-reach on it, what saves a joint, and the curve to draw.
//! * `working`: joints and operations put to `order_of_work`; read this first.
//! * `sequence`: what comes before what, as somebody said and as the trade does it.
//! * `grouping`: joints that come apart together.
//! * `joint_work`: the torch of taking joints apart and putting them together.
//! * `torches`: where the torch stands, and what it heats.
//! * `saving`: what saves a joint, and whether it still does in a whole order.
//! * `conflicts`: the joints in the heat of an operation, and the ways round.
//! * `joint_conflicts`: those in the heat of taking others apart and putting them together.
//! * `steps`: what the bench must know at each step.
//! * `chosen`: the ways round that a technician chose.
//! * `fixed`, `own_order`: the order that a technician fixed.
//! * `small_helps`: filler to cut and plating charge of a step.
//!
//! Source: COMPUTATIONS.md, sections 0, 1 and 2; LOOK.md, the plan and the heat.

mod answer;
mod chosen;
mod conflicts;
mod fixed;
mod grouping;
mod heat;
mod joint_conflicts;
mod joint_work;
mod metalwork;
mod own_order;
mod saving;
mod sequence;
mod settings;
mod small_helps;
mod steps;
mod torches;
mod working;

pub use answer::{
    Caution, ComputedPlan, CurveCover, CurvePart, CurvePoint, HeatConflict, HeatCurve, HeatVerdict, NoWay, OwnOrder, PlanBreach, PlanJoint,
    PlanStep, Protection, StepKind, Way, WayHow,
};
pub use chosen::{ChosenWay, joints_named, minutes_around};
pub use fixed::FixedStep;
pub use settings::{BenchSettings, JointMinutes, ProtectMinutes};
pub use working::plan;

use crate::maps::{JointKind, PartMap};
use crate::words::instrument::{FindingKind, Heat, OperationKind};

/// The cautions of COMPUTATIONS.md, section 0, for the bench, and `chemicals`, which it does not have: it
/// has no computation of stripping, lacquering or cleaning. Its text is common practice, no source.
pub const CAUTIONS: [(&str, &str); 13] = [
    ("torch", "Open flame: extinguisher at hand, eye protection, no flammable solvent or lacquer fume near, ventilate."),
    ("cadmium", "Cadmium fume is poisonous; prefer a cadmium-free filler; local extraction."),
    ("flux-fume", "Fluoride flux: fume and burns; acid flux: burns and rust; extraction, gloves, rinse."),
    ("zinc-fume", "White fume: metal fume fever; less heat, extraction."),
    ("trapped-water", "Trapped water or flux bursts when heated: vent and dry first."),
    ("buffing", "Eyes, dust, a caught edge is thrown; it also takes metal and history away."),
    (
        "chemicals",
        "Stripper, lacquer and cleaning baths: harmful fume, burns; lacquer and thinner catch fire: no flame, spark or hot metal near, \
         extraction, gloves, eye protection; never mix them.",
    ),
    ("hygiene", "Clean and disinfect before anyone blows."),
    ("lead", "Wash hands, no eating at the bench, collect waste."),
    ("quench-steam", "Steam and spatter at the waterline; never close both ends of a hot tube."),
    ("pressure", "Air only, at most 10 kPa over atmosphere; thin bells and pads can be harmed; never oxygen or fuel gas."),
    ("cyanide", "Many such baths contain cyanide: never near acid; only with training, permit and antidote plan."),
    ("nickel", "Skin sensitiser; may be unlawful for parts that touch skin."),
];

/// What every plan with a caution ends with.
pub const NO_PERMISSION: &str =
    "The shop follows local codes, the safety data sheet of the product and licensed practice; this program gives no permission.";

/// Where on the instrument a finding is that an operation answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// The part or joint as the finding says it.
    pub word: String,
    /// What was found.
    pub kind: FindingKind,
    /// mm from the part's beginning; none: its middle.
    pub position_mm: Option<f64>,
    /// Length or depth, mm.
    pub size_mm: Option<f64>,
}

/// One way of doing an operation, from the shop's list.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskMethod {
    /// Its id; empty for an operation without a method.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Minutes of the work.
    pub minutes: u32,
    /// Where it is done.
    pub station: String,
    /// How hot it gets.
    pub heat: Heat,
    /// How hot the metal is made, °C; none: 30 above the filler's liquidus.
    pub heat_c: Option<f64>,
    /// The filler's slug; none: a typical one for its heat.
    pub filler: Option<String>,
    /// What the filler joins: `butt`, `patch` or `lap`.
    pub joint_kind: Option<String>,
    /// Every joint of these kinds on the part must be apart for it.
    pub needs_apart: Vec<JointKind>,
    /// The metal it plates with.
    pub plating_metal: Option<String>,
    /// Whether it plates a spot at all.
    pub plates: bool,
    /// Whether it lays lacquer on.
    pub lacquers: bool,
    /// Whether it cannot be undone.
    pub irreversible: bool,
    /// Slugs of its cautions.
    pub cautions: Vec<String>,
}

/// What is done to a surface, the later the further down; common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Finishing {
    /// Nothing.
    Nothing,
    /// It is made bright at the wheel.
    Buffs,
    /// Metal is laid on.
    Plates,
    /// Lacquer is laid on.
    Lacquers,
}

impl TaskMethod {
    /// What it does to a surface.
    pub(super) fn finishing(&self) -> Finishing {
        if self.lacquers {
            Finishing::Lacquers
        } else if self.plates {
            Finishing::Plates
        } else if self.cautions.iter().any(|slug| slug == "buffing") {
            Finishing::Buffs
        } else {
            Finishing::Nothing
        }
    }

    /// How a step is done that names no method of the list.
    #[must_use]
    pub fn unlisted(name: &str, minutes: u32, heat: Heat) -> Self {
        Self {
            id: String::new(),
            name: name.to_owned(),
            minutes,
            station: if heat == Heat::None { "bench" } else { "torch" }.to_owned(),
            heat,
            heat_c: None,
            filler: None,
            joint_kind: None,
            needs_apart: Vec::new(),
            plating_metal: None,
            plates: false,
            lacquers: false,
            irreversible: false,
            cautions: Vec::new(),
        }
    }
}

/// An operation that is not done yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// Work, taking apart or putting together.
    pub kind: OperationKind,
    /// Ids of operations that come before it.
    pub after: Vec<String>,
    /// For taking apart and putting together: the joint or brace, as the map knows it.
    pub joint: Option<String>,
    /// Joints that must be apart for it.
    pub needs_apart: Vec<String>,
    /// What was chosen to save joints from its heat.
    pub chosen: Vec<ChosenWay>,
    /// Where its findings are.
    pub spots: Vec<Spot>,
    /// How it is to be done.
    pub method: TaskMethod,
    /// Other methods of the shop's list that answer the same findings.
    pub others: Vec<TaskMethod>,
}

/// What a plan is made from.
#[derive(Debug, Clone)]
pub struct Bench<'a> {
    /// The instrument's own part map.
    pub map: &'a PartMap,
    /// What the shop is set to.
    pub settings: &'a BenchSettings,
    /// Whether those are typical values that nobody has set.
    pub settings_are_typical: bool,
    /// What is to be done.
    pub tasks: Vec<Task>,
    /// Joints and braces that are apart already.
    pub apart: Vec<String>,
    /// The order that a technician fixed, and why.
    pub fixed: Option<(Vec<FixedStep>, Option<String>)>,
}
