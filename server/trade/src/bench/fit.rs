//! `fit`.

use crate::calculation::Refused;
use serde_json::Value;

/// Answers `/calculations/fit`.
///
/// # Errors
/// Not built yet.
pub fn compute(_input: &Value) -> Result<Value, Refused> {
    Err(Refused::new("not-computable").at("", "this computation is not built yet"))
}
