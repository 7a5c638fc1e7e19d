//! The ways round that a technician chose, and what is written down for one.

use super::answer::WayHow;
use super::metalwork::Metalwork;
use super::settings::BenchSettings;
use crate::maps::PartMap;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use utoipa::ToSchema;

/// What is to save a joint from the heat of a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChosenWay {
    /// The joint or brace, by its id on the map.
    pub joint: String,
    /// How.
    pub how: WayHow,
}

/// Ids of the joints of a map that a word names: a joint itself, or all that hold a brace or part.
#[must_use]
pub fn joints_named(map: &PartMap, word: &str) -> BTreeSet<String> {
    Metalwork::of(map).joints_named(word).into_iter().map(|at| map.joints[at].id.clone()).collect()
}

/// Minutes of taking these joints apart, and of putting them together again, by how each is held.
#[must_use]
pub fn minutes_around(map: &PartMap, settings: &BenchSettings, joint_ids: &[String]) -> (u32, u32) {
    let held = || map.joints.iter().filter(|joint| joint_ids.contains(&joint.id)).map(|joint| joint.held);
    (
        held().filter_map(|held| settings.take_apart_minutes.of(held)).sum(),
        held().filter_map(|held| settings.put_together_minutes.of(held)).sum(),
    )
}
