//! What an order of steps costs, and which rule it breaks where.
//!
//! This follows rules 1 to 4 of the section word by word and shares nothing with the search,
//! so that each checks the other. It also prices the order that a technician fixed by hand.

use super::problem::{Action, Problem};
use crate::calculation::{Node, Reading};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use serde_json::{Value, json};

/// One step of a plan, by index into the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Step {
    /// Doing an operation.
    Operation {
        /// Which operation.
        operation: usize,
        /// By which of its methods.
        method: usize,
    },
    /// Taking a joint apart.
    TakeApart {
        /// Which joint.
        joint: usize,
    },
    /// Putting a joint together.
    PutTogether {
        /// Which joint.
        joint: usize,
    },
}

/// A step with what it costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostedStep {
    /// The step.
    pub step: Step,
    /// Index of the station it is done at; none for an action that the joint does not have.
    pub station: Option<usize>,
    /// Minutes of coming from the station before.
    pub changeover_minutes: u32,
    /// Minutes of the work itself.
    pub minutes: u32,
    /// Joints that had to be saved from the heat, and the minutes of that.
    pub protections: Vec<(usize, u32)>,
    /// Minutes from the start to the end of this step.
    pub running_minutes: u64,
}

/// A rule of the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// Every operation is done, and once.
    EachOperationOnce,
    /// Rule 1: a joint comes apart at most once, and none is apart at the end.
    JointStates,
    /// Rule 2: what comes before, what must be apart or together.
    OrderAndNeeds,
    /// Rule 3: no joint melts that should hold.
    Heat,
}

/// A rule broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// Which rule.
    pub rule: Rule,
    /// Index of the step; none when it shows only at the end.
    pub step: Option<usize>,
    /// Index of the operation, where there is one.
    pub operation: Option<usize>,
    /// Index of the joint, where there is one.
    pub joint: Option<usize>,
    /// What is wrong, in words for the bench.
    pub words: String,
}

/// An order of steps gone through.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Replay {
    /// Every step with its cost.
    pub steps: Vec<CostedStep>,
    /// The whole cost. Where rules are broken it is that of the steps as written, a joint that
    /// nothing saves counting nothing.
    pub total_minutes: u64,
    /// Every rule broken, in the order of the steps, then what shows at the end. Empty: the
    /// order can be worked.
    pub breaches: Vec<Breach>,
}

/// Rule 1's three states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum JointState {
    Together,
    Apart,
    TogetherAgain,
}

/// Goes through an order of steps by rules 1 to 4.
#[must_use]
pub fn replay(problem: &Problem, steps: &[Step]) -> Replay {
    let start = |apart: bool| if apart { JointState::Apart } else { JointState::Together };
    let mut bench = Bench {
        problem,
        joints: problem.joints.iter().map(|joint| start(joint.apart_at_start)).collect(),
        times_done: vec![0; problem.operations.len()],
        station: problem.start_station,
        gone: Replay { steps: Vec::new(), total_minutes: 0, breaches: Vec::new() },
    };
    for step in steps {
        bench.take(*step);
    }
    bench.finish()
}

struct Bench<'p> {
    problem: &'p Problem,
    joints: Vec<JointState>,
    times_done: Vec<u32>,
    station: Option<usize>,
    gone: Replay,
}

impl Bench<'_> {
    fn take(&mut self, step: Step) {
        match step {
            Step::Operation { operation, method } => {
                self.check_operation(operation);
                self.charge(
                    step,
                    Some(&self.problem.operations[operation].methods[method].action),
                    None,
                );
                self.times_done[operation] += 1;
            }
            Step::TakeApart { joint } => {
                let found = &self.problem.joints[joint];
                if found.take_apart.is_none() || found.put_together.is_none() {
                    self.breach(
                        Rule::JointStates,
                        None,
                        Some(joint),
                        format!("{} cannot be taken apart and put together again", found.id),
                    );
                } else if found.apart_at_start {
                    self.breach(
                        Rule::JointStates,
                        None,
                        Some(joint),
                        format!("{} was apart from the start", found.id),
                    );
                } else if self.joints[joint] != JointState::Together {
                    self.breach(
                        Rule::JointStates,
                        None,
                        Some(joint),
                        format!("{} comes apart a second time", found.id),
                    );
                }
                self.charge(step, found.take_apart.as_ref(), Some(joint));
                self.joints[joint] = JointState::Apart;
            }
            Step::PutTogether { joint } => {
                let found = &self.problem.joints[joint];
                if found.put_together.is_none() {
                    self.breach(
                        Rule::JointStates,
                        None,
                        Some(joint),
                        format!("there is no way of putting {} together", found.id),
                    );
                } else if self.joints[joint] != JointState::Apart {
                    self.breach(
                        Rule::JointStates,
                        None,
                        Some(joint),
                        format!("{} is not apart", found.id),
                    );
                }
                self.charge(step, found.put_together.as_ref(), Some(joint));
                self.joints[joint] = JointState::TogetherAgain;
            }
        }
    }

    fn check_operation(&mut self, operation: usize) {
        let problem = self.problem;
        let found = &problem.operations[operation];
        if self.times_done[operation] > 0 {
            self.breach(
                Rule::EachOperationOnce,
                Some(operation),
                None,
                format!("{} is done already", found.id),
            );
        }
        for &before in &found.after {
            if self.times_done[before] == 0 {
                let words = format!("{} comes after {}", found.id, problem.operations[before].id);
                self.breach(Rule::OrderAndNeeds, Some(operation), None, words);
            }
        }
        for &joint in &found.needs_apart {
            if self.joints[joint] != JointState::Apart {
                let words = format!("{} must be apart for {}", problem.joints[joint].id, found.id);
                self.breach(Rule::OrderAndNeeds, Some(operation), Some(joint), words);
            }
        }
        for &joint in &found.needs_together {
            if self.joints[joint] == JointState::Apart {
                let words =
                    format!("{} must be together for {}", problem.joints[joint].id, found.id);
                self.breach(Rule::OrderAndNeeds, Some(operation), Some(joint), words);
            }
        }
    }

    /// Rule 3 and rule 4 for one step; `own` is the joint that an action itself works on.
    fn charge(&mut self, step: Step, action: Option<&Action>, own: Option<usize>) {
        let problem = self.problem;
        let operation = match step {
            Step::Operation { operation, .. } => Some(operation),
            Step::TakeApart { .. } | Step::PutTogether { .. } => None,
        };
        let mut protections = Vec::new();
        for &joint in action.map(|action| action.melts.as_slice()).unwrap_or_default() {
            if Some(joint) == own || self.joints[joint] == JointState::Apart {
                continue;
            }
            match action.and_then(|action| action.protect_minutes.get(&joint)) {
                Some(&minutes) => protections.push((joint, minutes)),
                None => {
                    let words =
                        format!("{} would melt, and nothing saves it", problem.joints[joint].id);
                    self.breach(Rule::Heat, operation, Some(joint), words);
                }
            }
        }
        let station = action.map(|action| action.station);
        let changeover_minutes = match (self.station, station) {
            (Some(from), Some(to)) => problem.changeover_minutes[from][to],
            _ => 0,
        };
        let minutes = action.map_or(0, |action| action.minutes);
        let saving: u64 = protections.iter().map(|(_, minutes)| u64::from(*minutes)).sum();
        self.gone.total_minutes += u64::from(changeover_minutes) + u64::from(minutes) + saving;
        self.station = station.or(self.station);
        self.gone.steps.push(CostedStep {
            step,
            station,
            changeover_minutes,
            minutes,
            protections,
            running_minutes: self.gone.total_minutes,
        });
    }

    fn breach(
        &mut self,
        rule: Rule,
        operation: Option<usize>,
        joint: Option<usize>,
        words: String,
    ) {
        self.gone.breaches.push(Breach {
            rule,
            step: Some(self.gone.steps.len()),
            operation,
            joint,
            words,
        });
    }

    fn finish(mut self) -> Replay {
        for (operation, times) in self.times_done.iter().enumerate() {
            if *times == 0 {
                let words = format!("{} is not done", self.problem.operations[operation].id);
                self.gone.breaches.push(Breach {
                    rule: Rule::EachOperationOnce,
                    step: None,
                    operation: Some(operation),
                    joint: None,
                    words,
                });
            }
        }
        for (joint, state) in self.joints.iter().enumerate() {
            if *state == JointState::Apart {
                let words = format!("{} is still apart at the end", self.problem.joints[joint].id);
                self.gone.breaches.push(Breach {
                    rule: Rule::JointStates,
                    step: None,
                    operation: None,
                    joint: Some(joint),
                    words,
                });
            }
        }
        self.gone
    }
}

impl Replay {
    /// The steps as the service answers them.
    #[must_use]
    pub fn steps_json(&self, problem: &Problem) -> Value {
        let named = |step: &CostedStep| {
            let mut entry = match step.step {
                Step::Operation { operation, method } => {
                    let found = &problem.operations[operation];
                    json!({"kind": "operation", "id": found.id, "method": found.methods[method].id})
                }
                Step::TakeApart { joint } => {
                    json!({"kind": "take_apart", "id": problem.joints[joint].id})
                }
                Step::PutTogether { joint } => {
                    json!({"kind": "put_together", "id": problem.joints[joint].id})
                }
            };
            entry["station"] = json!(step.station.map(|station| &problem.stations[station]));
            entry["changeover_minutes"] = json!(step.changeover_minutes);
            entry["minutes"] = json!(step.minutes);
            entry["protections"] = step
                .protections
                .iter()
                .map(|(joint, minutes)| json!({"joint": problem.joints[*joint].id, "minutes": minutes}))
                .collect();
            entry["running_minutes"] = json!(step.running_minutes);
            entry
        };
        self.steps.iter().map(named).collect()
    }

    /// The broken rules as the service answers them: rule, step (counted from 0), the operation
    /// and the joint where there is one, and the words.
    #[must_use]
    pub fn breaches_json(&self, problem: &Problem) -> Value {
        let named = |breach: &Breach| {
            json!({
                "rule": breach.rule,
                "step": breach.step,
                "operation": breach.operation.map(|operation| &problem.operations[operation].id),
                "joint": breach.joint.map(|joint| &problem.joints[joint].id),
                "words": breach.words,
            })
        };
        self.breaches.iter().map(named).collect()
    }
}

/// Longest order that is gone through: far above what one plan can hold.
const MOST_STEPS: usize = 1_000;

/// Reads an order of steps (`kind`, `id`, and `method` for an operation; what
/// [`Replay::steps_json`] adds is passed over, so that an answer can be sent back rearranged).
/// Faults go to `reading`.
pub fn read_steps(reading: &mut Reading, list: &Node<'_>, problem: &Problem) -> Vec<Step> {
    let Some(entries) = list.value.as_array() else {
        reading.fault(&list.pointer, "must be a list of steps");
        return Vec::new();
    };
    if entries.len() > MOST_STEPS {
        reading.fault(
            &list.pointer,
            format!("has {} steps; at most {MOST_STEPS} are gone through", entries.len()),
        );
        return Vec::new();
    }
    list.elements().iter().filter_map(|node| read_step(reading, node, problem)).collect()
}

fn read_step(reading: &mut Reading, node: &Node<'_>, problem: &Problem) -> Option<Step> {
    let known = [
        "kind",
        "id",
        "method",
        "station",
        "changeover_minutes",
        "minutes",
        "protections",
        "running_minutes",
    ];
    reading.object(node, &known)?;
    let kind = reading.text(node, "kind");
    let id = reading.text(node, "id")?;
    let joint = problem.joints.iter().position(|joint| joint.id == id);
    match kind? {
        "operation" => {
            let Some(operation) = problem.operations.iter().position(|one| one.id == id) else {
                reading.fault(node.below("id"), format!("{id:?} is not the id of an operation"));
                return None;
            };
            let name = reading.text(node, "method")?;
            let method =
                problem.operations[operation].methods.iter().position(|one| one.id == name);
            if method.is_none() {
                reading.fault(node.below("method"), format!("{name:?} is not a method of {id}"));
            }
            Some(Step::Operation { operation, method: method? })
        }
        "take_apart" | "put_together" if joint.is_none() => {
            reading.fault(node.below("id"), format!("{id:?} is not the id of a joint"));
            None
        }
        "take_apart" => Some(Step::TakeApart { joint: joint? }),
        "put_together" => Some(Step::PutTogether { joint: joint? }),
        _ => {
            reading.fault(node.below("kind"), "must be operation, take_apart or put_together");
            None
        }
    }
}
