//! What may be started: money, acceptance by name, answers that are out, and order of steps.

use super::Refusal;
use super::facts::{OperationFacts, OrderFacts};
use crate::words::instrument::{OperationKind, OperationState};
use crate::words::stage::Stage;
use rust_decimal::Decimal;

/// Authorised: the larger of the amount given at the counter (none is 0) and the limit of the
/// latest accepted, undisputed version.
#[must_use]
pub fn authorised(at_the_counter: Option<Decimal>, accepted_limit: Option<Decimal>) -> Decimal {
    at_the_counter.unwrap_or_default().max(accepted_limit.unwrap_or_default())
}

/// Whether this operation of this order may be started now (rules 2 and 14 of DOMAIN.md).
///
/// # Errors
/// The first thing in the way: `struck`, `done`, `ending`, `not-on-the-bench`,
/// `waits-for-answer`, `comes-later`, `irreversible-needs-name`, `not-chosen`, `over-authorised`.
pub fn may_start(order: &OrderFacts, operation: &OperationFacts) -> Result<(), Refusal> {
    match operation.state {
        OperationState::Struck => return Err(Refusal::new("struck", "This step was struck.")),
        OperationState::Done => return Err(Refusal::new("done", "This step is done.")),
        OperationState::Planned | OperationState::Running | OperationState::Paused => {}
    }
    if let Some(because) = order.ending {
        return if operation.kind == OperationKind::PutTogether {
            Ok(())
        } else {
            Err(Refusal::new("ending", format!("The order is to end ({because}). Only putting together may be started.")))
        };
    }
    let on_the_bench = match order.stage {
        Some(Stage::Bench) => true,
        Some(Stage::Approval) => order.accepted_before,
        _ => false,
    };
    if !on_the_bench {
        return Err(Refusal::new("not-on-the-bench", "Nothing can be started before the order is on the bench."));
    }
    if operation.waits_for_answer {
        return Err(Refusal::new("waits-for-answer", "This step depends on the owner's answer, which is still out."));
    }
    if order.stage == Some(Stage::Approval) && !operation.is_accepted {
        return Err(Refusal::new("waits-for-answer", "While the owner is asked, only steps accepted before may go on."));
    }
    if !operation.still_before.is_empty() {
        return Err(Refusal::new("comes-later", format!("Comes after {}.", operation.still_before.join(", "))));
    }
    if operation.irreversible && !operation.is_accepted_by_name {
        return Err(Refusal::new(
            "irreversible-needs-name",
            "This step cannot be undone. The owner must accept it by name first; a limit does not cover it.",
        ));
    }
    if operation.is_left_out && !operation.is_accepted {
        return Err(Refusal::new("not-chosen", "The owner left this step out. Ask for it as extra work first."));
    }
    let counted = operation.was_begun || operation.is_accepted;
    let total = order.committed() + if counted { Decimal::ZERO } else { operation.price };
    if total > order.authorised {
        return Err(Refusal::new(
            "over-authorised",
            format!("It would come to {total}, more than the {} that the owner allows. Ask for the extra work first.", order.authorised),
        ));
    }
    Ok(())
}
