//! The order that a technician fixed.

use super::answer::StepKind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// One step of an order fixed by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FixedStep {
    /// What it does.
    pub kind: StepKind,
    /// The operation, for an operation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub operation_id: Option<Uuid>,
    /// Another method of the shop's list for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub method_id: Option<Uuid>,
    /// The joint or brace to be taken apart or put together, by its id on the map.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<String>,
}
