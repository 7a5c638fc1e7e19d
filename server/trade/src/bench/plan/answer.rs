//! What a plan says.

use crate::bench::order_of_work::replay::Rule;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

/// Declares the parts of the answer.
macro_rules! answers {
    ($($(#[$outer:meta])* $name:ident { $($(#[$inner:meta])* $field:ident: $type:ty,)+ })+) => {$(
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
        $(#[$outer])*
        pub struct $name { $($(#[$inner])* pub $field: $type,)+ }
    )+};
}

/// What a step of a plan does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum StepKind {
    /// An operation.
    Operation,
    /// Taking a joint or brace apart.
    TakeApart,
    /// Putting it together again.
    PutTogether,
}

/// A way round a heat conflict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum WayHow {
    /// Take it apart first and put it together after.
    TakeApart,
    /// A heat sink on the joint.
    HeatSink,
    /// The joint under water.
    Water,
    /// A wet rag round the joint, kept wet.
    WetRag,
    /// Another method of the shop's list.
    OtherMethod,
}

/// What becomes of a joint in the heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HeatVerdict {
    /// Below its limit even with cautious values.
    Safe,
    /// It may melt.
    AtRisk,
    /// It would melt.
    Melts,
}

answers! {
    /// One joint, or all that come apart together, by their names on the map.
    PlanJoint {
        /// The id that the plan and an order fixed by hand know it by.
        id: String,
        /// What it is called at the bench.
        name: String,
        /// Ids of all joints of the map that are one with it.
        joint_ids: Vec<String>,
    }
    /// One place of a curve.
    CurvePoint {
        /// mm along the tube as straightened out.
        position_mm: f64,
        /// With typical values, °C.
        temperature_c: f64,
        /// With cautious values, °C.
        temperature_high_c: f64,
    }
    /// A part of the tube straightened out.
    CurvePart {
        /// The part's id.
        part_id: String,
        /// What it is called.
        name: String,
        /// mm along the tube as straightened out.
        from_mm: f64,
        /// mm along the tube as straightened out.
        to_mm: f64,
    }
    /// Temperature along the tube from the torch to a joint and beyond; steady, the worst case.
    HeatCurve {
        /// The places; straight lines between them are within 2 K.
        points: Vec<CurvePoint>,
        /// The parts that make up the tube straightened out.
        parts: Vec<CurvePart>,
        /// Where the torch begins.
        torch_from_mm: f64,
        /// Where it ends.
        torch_to_mm: f64,
        /// Where the joint is.
        joint_at_mm: f64,
        /// What stands in water, in a wet rag or in a clamp.
        covered: Vec<CurveCover>,
    }
    /// A stretch of the tube straightened out that is kept cool.
    CurveCover {
        /// mm along the tube as straightened out.
        from_mm: f64,
        /// mm along the tube as straightened out.
        to_mm: f64,
    }
    /// A way round a conflict.
    Way {
        /// Which.
        how: WayHow,
        /// In words for the bench.
        words: String,
        /// Whether heat-reach says that the joint is safe, or it is apart.
        allowed: bool,
        /// Why it is not allowed.
        why_not: Option<String>,
        /// Minutes that the way adds to the step; another method may take fewer than the step's own.
        minutes: i32,
        /// Minutes of the whole work with it; none where no order of work goes with it.
        plan_minutes: Option<u32>,
        /// Whether the computed order takes it.
        chosen: bool,
        /// Whether a technician chose it; the computed order takes it as long as it is allowed.
        wanted: bool,
        /// The other method.
        method_id: Option<String>,
        /// How hot the joint gets with it, typical values, °C; none where it is apart.
        temperature_c: Option<f64>,
        /// With cautious values, °C.
        temperature_high_c: Option<f64>,
        /// The temperature along the tube with it.
        curve: Option<HeatCurve>,
    }
    /// A joint in the heat of an operation.
    HeatConflict {
        /// The operation.
        operation_id: String,
        /// The joint.
        joint: PlanJoint,
        /// The one of its joints that gets hottest against its limit: its id on the map.
        worst_joint_id: String,
        /// Whether it is apart already, so that nothing can happen to it as the instrument lies there.
        apart: bool,
        /// What would become of it.
        verdict: HeatVerdict,
        /// In words for the bench.
        words: String,
        /// How hot it gets, typical values, °C.
        temperature_c: f64,
        /// With cautious values, °C.
        temperature_high_c: f64,
        /// Where what holds it begins to melt, °C.
        melts_at_c: f64,
        /// How hot it may get, °C: the margin below that.
        limit_c: f64,
        /// The filler's slug, or the one that an unknown filler is taken for.
        filler: String,
        /// Whether somebody said which filler it is.
        filler_known: bool,
        /// How hot the torch makes the metal, °C.
        torch_c: f64,
        /// mm along the metal from the torch's edge to the joint.
        distance_mm: f64,
        /// The temperature along the tube with nothing done about it.
        curve: HeatCurve,
        /// The ways round it, as equal choices.
        ways: Vec<Way>,
    }
    /// A joint saved from the heat during a step.
    Protection {
        /// Which.
        joint: PlanJoint,
        /// How.
        how: WayHow,
        /// Minutes.
        minutes: u32,
    }
    /// One step of a plan.
    PlanStep {
        /// From 1.
        number: u32,
        /// What it does.
        kind: StepKind,
        /// The operation; none for taking apart or putting together that nobody planned yet.
        operation_id: Option<String>,
        /// The joint taken apart or put together.
        joint: Option<PlanJoint>,
        /// The method, where the operation has one.
        method_id: Option<String>,
        /// In words for the bench.
        words: String,
        /// Where.
        station: Option<String>,
        /// Minutes of coming from the station before.
        changeover_minutes: u32,
        /// Minutes of the work itself.
        minutes: u32,
        /// Joints saved from the heat meanwhile.
        protections: Vec<Protection>,
        /// Minutes from the beginning to the end of this step.
        running_minutes: u64,
        /// Slugs of what to be careful of; their words stand in the plan's list.
        cautions: Vec<String>,
        /// Filler to cut, with the patch where there is one: the answer of filler-amount.
        #[schema(value_type = Option<Object>)]
        filler: Option<Value>,
        /// Charge and minutes of a plated spot: the answer of plating-charge.
        #[schema(value_type = Option<Object>)]
        plating: Option<Value>,
    }
    /// What has no way round.
    NoWay {
        /// The operation.
        operation_id: Option<String>,
        /// The joint.
        joint: Option<PlanJoint>,
        /// In words.
        words: String,
    }
    /// What to be careful of.
    Caution {
        /// Its slug.
        slug: String,
        /// In words for the bench.
        words: String,
    }
    /// A rule that an order fixed by hand breaks.
    PlanBreach {
        /// Which rule.
        rule: Rule,
        /// The step, from 1; none when it shows only at the end.
        step: Option<u32>,
        /// What is wrong, in words for the bench.
        words: String,
    }
    /// The order that a technician fixed, gone through by the same rules.
    OwnOrder {
        /// Its steps with what they cost.
        steps: Vec<PlanStep>,
        /// Minutes of the whole.
        total_minutes: u64,
        /// Minutes more than the computed order; none where there is no computed one.
        extra_minutes: Option<i64>,
        /// The rules that it breaks.
        breaches: Vec<PlanBreach>,
        /// Why it stands although it breaks a rule.
        reason: Option<String>,
    }
    /// The computed order of work.
    ComputedPlan {
        /// The steps.
        steps: Vec<PlanStep>,
        /// Minutes of the whole; none where there is no way.
        total_minutes: Option<u64>,
        /// Whether no other order takes fewer.
        proven_optimal: bool,
        /// Minutes that no order can do without.
        lower_bound: Option<u64>,
        /// The joints in the heat, and the ways round.
        conflicts: Vec<HeatConflict>,
        /// What has no way round.
        impossible: Vec<NoWay>,
        /// Torch work whose place on the instrument nobody said: nothing was reckoned for it.
        unplaced: Vec<NoWay>,
        /// The order that a technician fixed.
        own: Option<OwnOrder>,
        /// JSON pointers of inputs that were typical, not measured: into the part map by ids, and into the bench's settings.
        defaulted: Vec<String>,
        /// What to be careful of.
        cautions: Vec<Caution>,
        /// What is said beside every plan.
        notes: Vec<String>,
    }
}
