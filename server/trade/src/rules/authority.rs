//! What may be started: money, acceptance by name, answers that are out, and order of steps.

use super::Refusal;
use super::facts::{OperationFacts, OrderFacts};
use crate::words::instrument::{OperationKind, OperationState};
use crate::words::stage::Stage;
use rust_decimal::Decimal;

/// Authorised: the larger of the amount given at the counter (none is 0) and what the latest
/// accepted, undisputed version allows: its limit, or, where that leaves no room beyond its lines,
/// what the accepted ones come to.
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
    if order.ending.is_some() && !matches!(order.stage, Some(Stage::Pickup | Stage::Closed)) {
        return may_start_ending(order, operation);
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
    by_name(operation)?;
    if operation.is_left_out {
        return Err(Refusal::new("not-chosen", "The owner left this step out. Ask for it as extra work first."));
    }
    if operation.comes_to > order.authorised {
        return Err(Refusal::new(
            "over-authorised",
            format!(
                "It would come to {}, more than the {} that the owner allows. Ask for the extra work first.",
                operation.comes_to, order.authorised
            ),
        ));
    }
    Ok(())
}

/// While an order is to end, only putting together may be started; it costs nothing.
fn may_start_ending(order: &OrderFacts, operation: &OperationFacts) -> Result<(), Refusal> {
    if operation.kind == OperationKind::PutTogether {
        return by_name(operation);
    }
    let because = order.ending.map(|because| because.to_string()).unwrap_or_default();
    Err(Refusal::new("ending", format!("The order is to end ({because}). Only putting together may be started.")))
}

/// Rule 14: whatever the money, and whatever the kind of step.
fn by_name(operation: &OperationFacts) -> Result<(), Refusal> {
    if operation.irreversible && !operation.is_accepted_by_name {
        return Err(Refusal::new(
            "irreversible-needs-name",
            "This step cannot be undone. The owner must accept it by name first; a limit does not cover it.",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::facts::examples::{order, step};
    use crate::words::spelling::Spelt;
    use crate::words::stage::Because;
    use proptest::prelude::{Just, Strategy, any, prop_assert, prop_assert_eq, prop_oneof, proptest};

    fn slug(order: &OrderFacts, operation: &OperationFacts) -> &'static str {
        may_start(order, operation).map_or_else(|refusal| refusal.slug, |()| "may")
    }

    fn on_the_bench(authorised: i64) -> OrderFacts {
        OrderFacts { authorised: Decimal::from(authorised), accepted_before: true, ..order(Some(Stage::Bench)) }
    }

    fn coming_to(total: i64) -> OperationFacts {
        OperationFacts { comes_to: Decimal::from(total), ..step("dent out", OperationKind::Work) }
    }

    #[test]
    fn the_larger_of_counter_and_limit_is_authorised() {
        let amount = |n: i64| Some(Decimal::from(n));
        assert_eq!(authorised(None, None), Decimal::ZERO);
        assert_eq!(authorised(amount(50), None), Decimal::from(50));
        assert_eq!(authorised(amount(50), amount(40)), Decimal::from(50));
        assert_eq!(authorised(None, amount(40)), Decimal::from(40));
    }

    #[test]
    fn the_cap_is_met_to_the_cent_and_not_passed() {
        assert_eq!(slug(&on_the_bench(100), &coming_to(100)), "may");
        let over = OperationFacts { comes_to: Decimal::new(10_001, 2), ..coming_to(0) };
        assert_eq!(slug(&on_the_bench(100), &over), "over-authorised");
    }

    #[test]
    fn what_cannot_be_undone_needs_its_name_whatever_the_money() {
        let mut strip = OperationFacts { irreversible: true, ..coming_to(1) };
        assert_eq!(slug(&on_the_bench(1000), &strip), "irreversible-needs-name");
        strip.is_accepted_by_name = true;
        assert_eq!(slug(&on_the_bench(1000), &strip), "may");
        strip.comes_to = Decimal::from(1001);
        assert_eq!(slug(&on_the_bench(1000), &strip), "over-authorised");
    }

    #[test]
    fn a_line_left_unticked_is_not_started_although_the_limit_would_cover_it() {
        let left = OperationFacts { is_accepted: false, is_left_out: true, ..coming_to(10) };
        assert_eq!(slug(&on_the_bench(100), &left), "not-chosen");
    }

    #[test]
    fn while_the_owner_is_asked_only_what_was_accepted_before_goes_on() {
        let asked = OrderFacts { stage: Some(Stage::Approval), ..on_the_bench(100) };
        assert_eq!(slug(&asked, &coming_to(10)), "may");
        assert_eq!(slug(&asked, &OperationFacts { waits_for_answer: true, ..coming_to(10) }), "waits-for-answer");
        assert_eq!(slug(&asked, &OperationFacts { is_accepted: false, ..coming_to(10) }), "waits-for-answer");
        let first = OrderFacts { accepted_before: false, ..asked };
        assert_eq!(slug(&first, &coming_to(10)), "not-on-the-bench");
    }

    #[test]
    fn a_step_waits_for_those_before_it() {
        let after = OperationFacts { still_before: vec!["brace off".to_owned()], ..coming_to(10) };
        let refusal = may_start(&on_the_bench(100), &after).unwrap_err();
        assert_eq!(refusal.slug, "comes-later");
        assert!(refusal.words.contains("brace off"));
    }

    #[test]
    fn an_order_that_is_to_end_is_only_put_together_and_that_is_free() {
        let together = OperationFacts { is_accepted: false, comes_to: Decimal::from(5), ..step("brace on", OperationKind::PutTogether) };
        for stage in Stage::ALL.iter().copied() {
            let ending = OrderFacts { ending: Some(Because::Withdrawn), authorised: Decimal::ZERO, ..order(Some(stage)) };
            let has_ended = matches!(stage, Stage::Pickup | Stage::Closed);
            assert_eq!(slug(&ending, &together), if has_ended { "not-on-the-bench" } else { "may" }, "{stage}");
            assert_eq!(slug(&ending, &coming_to(0)), if has_ended { "not-on-the-bench" } else { "ending" }, "{stage}");
            // Rule 14 has no exception for the way out.
            let cut = OperationFacts { irreversible: true, ..together.clone() };
            assert_ne!(slug(&ending, &cut), "may", "{stage}");
        }
    }

    fn any_order() -> impl Strategy<Value = OrderFacts> {
        let stage = proptest::sample::select(Stage::ALL.to_vec());
        let ending = prop_oneof![3 => Just(None), 1 => Just(Some(Because::Withdrawn))];
        (stage, 0_i64..200, any::<bool>(), ending).prop_map(|(stage, cap, accepted_before, ending)| OrderFacts {
            authorised: Decimal::from(cap),
            accepted_before,
            ending,
            ..order(Some(stage))
        })
    }

    fn any_step() -> impl Strategy<Value = OperationFacts> {
        let kind = proptest::sample::select(OperationKind::ALL.to_vec());
        let state = proptest::sample::select(OperationState::ALL.to_vec());
        let flags = proptest::array::uniform6(any::<bool>());
        (kind, state, 0_i64..200, flags).prop_map(|(kind, state, comes_to, [a, b, c, d, e, f])| OperationFacts {
            state,
            irreversible: a,
            was_begun: b,
            comes_to: Decimal::from(comes_to),
            is_accepted: c,
            is_left_out: !c && d,
            is_accepted_by_name: e,
            waits_for_answer: f,
            ..step("dent out", kind)
        })
    }

    proptest! {
        #[test]
        fn nothing_that_may_start_breaks_a_rule(order in any_order(), step in any_step()) {
            if may_start(&order, &step).is_ok() {
                prop_assert!(!step.irreversible || step.is_accepted_by_name);
                prop_assert!(!matches!(step.state, OperationState::Done | OperationState::Struck));
                prop_assert!(!matches!(order.stage, Some(Stage::Pickup | Stage::Closed)));
                if order.ending.is_some() {
                    prop_assert_eq!(step.kind, OperationKind::PutTogether);
                } else {
                    prop_assert!(step.comes_to <= order.authorised);
                    prop_assert!(!step.waits_for_answer && !step.is_left_out);
                    prop_assert!(matches!(order.stage, Some(Stage::Bench | Stage::Approval)));
                }
            }
        }

        #[test]
        fn a_higher_cap_forbids_nothing(order in any_order(), step in any_step(), more in 0_i64..100) {
            let richer = OrderFacts { authorised: order.authorised + Decimal::from(more), ..order.clone() };
            prop_assert!(may_start(&order, &step).is_err() || may_start(&richer, &step).is_ok());
        }
    }
}
