//! Whether there is any plan at all, and if not, which operation and joint are in the way.

use super::problem::{Action, Problem};
use super::work::{Elements, Work, bits};
use crate::calculation::Refused;
use rustc_hash::FxHashSet;

/// States that one question, and all questions of one refusal, may look at.
const ONE_QUESTION: usize = 100_000;
const ALL_QUESTIONS: usize = 400_000;

/// What came of looking for any plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum AnyPlan {
    /// A plan, as elements and their ways; not a good one.
    Found(Vec<(usize, usize)>),
    /// There is none.
    None,
    /// The effort ran out.
    Unknown,
}

/// Looks for any plan, minutes apart.
///
/// An operation that can be done may always be done at once, since it changes no joint; only
/// the order of the joints' taking apart and putting together is left to be tried.
pub(super) fn any_plan(work: &Work) -> AnyPlan {
    let mut left = ONE_QUESTION;
    any_plan_within(work, &mut left)
}

fn any_plan_within(work: &Work, left: &mut usize) -> AnyPlan {
    let mut seen: FxHashSet<Elements> = FxHashSet::default();
    let mut steps = Vec::new();
    match go_on(work, work.done_at_start, &mut steps, &mut seen, left) {
        Some(true) => AnyPlan::Found(steps),
        Some(false) => AnyPlan::None,
        None => AnyPlan::Unknown,
    }
}

fn go_on(
    work: &Work,
    mut done: Elements,
    steps: &mut Vec<(usize, usize)>,
    seen: &mut FxHashSet<Elements>,
    left: &mut usize,
) -> Option<bool> {
    let before = steps.len();
    let apart = work.apart(done);
    let operations: Elements = (1 << work.operation_count) - 1;
    let ready = |element: usize, done: Elements| {
        let found = &work.elements[element];
        let ways = found.ways.iter().enumerate().filter(|(_, way)| way.is_allowed(apart));
        let cheapest = ways.min_by_key(|(_, way)| way.cost(apart)).map(|(index, _)| index);
        cheapest.filter(|_| found.after & !done == 0)
    };
    loop {
        let known = done;
        for element in bits(operations & !done) {
            if let Some(way) = ready(element, done) {
                done |= 1 << element;
                steps.push((element, way));
            }
        }
        if done == known {
            break;
        }
    }
    if operations & !done == 0 && apart == 0 {
        return Some(true);
    }
    if seen.insert(done) {
        *left = left.checked_sub(1)?;
        for action in bits(work.all & !done & !operations) {
            if let Some(way) = ready(action, done) {
                steps.push((action, way));
                if go_on(work, done | 1 << action, steps, seen, left)? {
                    return Some(true);
                }
                steps.pop();
            }
        }
    }
    steps.truncate(before);
    Some(false)
}

/// The refusal of work that has no plan: each demand whose giving up, alone, would let it be
/// done; where an operation and a joint make several demands, all of theirs together.
pub(super) fn refusal(problem: &Problem) -> Refused {
    let mut left = ALL_QUESTIONS;
    let mut would_help = |given_up: &[Demand]| {
        let mut relaxed = problem.clone();
        given_up.iter().for_each(|demand| demand.give_up(&mut relaxed));
        let mut for_this = left.min(ONE_QUESTION);
        left -= for_this;
        let found = any_plan_within(&Work::of(&relaxed), &mut for_this);
        left += for_this;
        matches!(found, AnyPlan::Found(_))
    };
    let mut refused = Refused::new("no-feasible-plan");
    for pair in demands(problem) {
        let before = refused.faults.len();
        for demand in &pair {
            if would_help(std::slice::from_ref(demand)) {
                refused = refused.at(demand.pointer(), demand.words(problem));
            }
        }
        if pair.len() > 1 && refused.faults.len() == before && would_help(&pair) {
            let (pointer, words) = pair[0].whole_pair(problem);
            refused = refused.at(pointer, words);
        }
    }
    if refused.faults.is_empty() {
        refused = refused.at(
            "/operations",
            "have no order that keeps every rule, and giving up no single demand would make one; \
             look at what must be apart or together, and at what melts what",
        );
    }
    refused
}

/// Something that a plan must heed, by index of the things concerned.
#[derive(Debug, Clone, Copy)]
enum Demand {
    NeedsApart { operation: usize, joint: usize },
    NeedsTogether { operation: usize, joint: usize },
    OperationHeats { operation: usize, joint: usize },
    TakingApartHeats { doing: usize, joint: usize },
    PuttingTogetherHeats { doing: usize, joint: usize },
    NotApartAtTheEnd { joint: usize },
}

/// Every demand, those of one operation on one joint together.
fn demands(problem: &Problem) -> Vec<Vec<Demand>> {
    let mut demands = Vec::new();
    for (operation, found) in problem.operations.iter().enumerate() {
        for joint in 0..problem.joints.len() {
            let heats = found.methods.iter().any(|method| method.action.melts.contains(&joint));
            let pair = [
                (found.needs_apart.contains(&joint), Demand::NeedsApart { operation, joint }),
                (found.needs_together.contains(&joint), Demand::NeedsTogether { operation, joint }),
                (heats, Demand::OperationHeats { operation, joint }),
            ];
            demands.push(
                pair.into_iter()
                    .filter(|(is_made, _)| *is_made)
                    .map(|(_, demand)| demand)
                    .collect(),
            );
        }
    }
    for (doing, found) in problem.joints.iter().enumerate() {
        let heated = |action: &Option<Action>| {
            let melts = action.iter().flat_map(|action| action.melts.clone());
            melts.filter(|joint| *joint != doing).collect::<Vec<_>>()
        };
        let taking = heated(&found.take_apart)
            .into_iter()
            .map(|joint| Demand::TakingApartHeats { doing, joint });
        let putting = heated(&found.put_together)
            .into_iter()
            .map(|joint| Demand::PuttingTogetherHeats { doing, joint });
        demands.extend(taking.chain(putting).map(|demand| vec![demand]));
        if found.apart_at_start && found.put_together.is_none() && !problem.stations.is_empty() {
            demands.push(vec![Demand::NotApartAtTheEnd { joint: doing }]);
        }
    }
    demands
}

impl Demand {
    fn give_up(self, problem: &mut Problem) {
        let spare =
            |action: &mut Action, joint: usize| action.melts.retain(|other| *other != joint);
        match self {
            Self::NeedsApart { operation, joint } => {
                problem.operations[operation].needs_apart.retain(|other| *other != joint);
            }
            Self::NeedsTogether { operation, joint } => {
                problem.operations[operation].needs_together.retain(|other| *other != joint);
            }
            Self::OperationHeats { operation, joint } => {
                let methods = &mut problem.operations[operation].methods;
                methods.iter_mut().for_each(|method| spare(&mut method.action, joint));
            }
            Self::TakingApartHeats { doing, joint } => {
                problem.joints[doing].take_apart.iter_mut().for_each(|action| spare(action, joint));
            }
            Self::PuttingTogetherHeats { doing, joint } => {
                problem.joints[doing]
                    .put_together
                    .iter_mut()
                    .for_each(|action| spare(action, joint));
            }
            Self::NotApartAtTheEnd { joint } => {
                problem.joints[joint].put_together = Some(Action::default())
            }
        }
    }

    fn pointer(self) -> String {
        match self {
            Self::NeedsApart { operation, .. } => format!("/operations/{operation}/needs_apart"),
            Self::NeedsTogether { operation, .. } => {
                format!("/operations/{operation}/needs_together")
            }
            Self::OperationHeats { operation, .. } => format!("/operations/{operation}/methods"),
            Self::TakingApartHeats { doing, .. } => format!("/joints/{doing}/take_apart/melts"),
            Self::PuttingTogetherHeats { doing, .. } => {
                format!("/joints/{doing}/put_together/melts")
            }
            Self::NotApartAtTheEnd { joint } => format!("/joints/{joint}/put_together"),
        }
    }

    fn words(self, problem: &Problem) -> String {
        let operation_id = |operation: usize| &problem.operations[operation].id;
        let joint_id = |joint: usize| &problem.joints[joint].id;
        match self {
            Self::NeedsApart { operation, joint } => {
                format!(
                    "{} needs {} apart, and there is no way to have it apart then",
                    operation_id(operation),
                    joint_id(joint)
                )
            }
            Self::NeedsTogether { operation, joint } => {
                format!(
                    "{} needs {} together, and there is no way to have it together then",
                    operation_id(operation),
                    joint_id(joint)
                )
            }
            Self::OperationHeats { operation, joint } => {
                format!("{} would melt {}, {NO_HELP}", operation_id(operation), joint_id(joint))
            }
            Self::TakingApartHeats { doing, joint } => {
                format!(
                    "taking {} apart would melt {}, {NO_HELP}",
                    joint_id(doing),
                    joint_id(joint)
                )
            }
            Self::PuttingTogetherHeats { doing, joint } => {
                format!(
                    "putting {} together would melt {}, {NO_HELP}",
                    joint_id(doing),
                    joint_id(joint)
                )
            }
            Self::NotApartAtTheEnd { joint } => {
                format!(
                    "{} is apart at the start, and there is no way of putting it together",
                    joint_id(joint)
                )
            }
        }
    }

    /// Where and how an operation and a joint do not go together at all.
    fn whole_pair(self, problem: &Problem) -> (String, String) {
        match self {
            Self::NeedsApart { operation, joint }
            | Self::NeedsTogether { operation, joint }
            | Self::OperationHeats { operation, joint } => {
                let (id, name) = (&problem.operations[operation].id, &problem.joints[joint].id);
                let words = format!(
                    "{id} and {name} are in each other's way, by what must be apart or together and by the heat"
                );
                (format!("/operations/{operation}"), words)
            }
            Self::TakingApartHeats { .. }
            | Self::PuttingTogetherHeats { .. }
            | Self::NotApartAtTheEnd { .. } => (self.pointer(), self.words(problem)),
        }
    }
}

const NO_HELP: &str = "which can be neither apart then nor saved from the heat";
