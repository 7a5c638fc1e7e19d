//! The problem as the search sees it: elements to be done, as bits of one number.
//!
//! Element `i` below the number of operations is that operation; then come the joints'
//! taking apart, then their putting together. A joint that is never taken apart counts both
//! as done from the beginning, so that "together, and staying so" is one state however it
//! came about.

use super::problem::{Action, Problem};
use super::replay::Step;

/// A set of elements.
pub(super) type Elements = u128;
/// A set of joints.
pub(super) type Joints = u32;

/// No plan: above any number of minutes that a plan can take.
pub(super) const NEVER: u32 = u32::MAX / 4;

/// One way of doing an element.
#[derive(Debug, Clone)]
pub(super) struct Way {
    pub method: usize,
    pub station: usize,
    /// Minutes of the work, and the part of the changeover that every way of coming to this
    /// station costs (see [`Work::of`]).
    pub minutes: u32,
    /// Joints in the heat.
    pub melts: Joints,
    /// Joints that must be apart: asked for by the operation, or melted with nothing to save them.
    pub apart: Joints,
    /// Joints that must not be apart.
    pub together: Joints,
    /// Joints that are saved from the heat while not apart, and the minutes of that.
    pub protect: Vec<(Joints, u32)>,
}

impl Way {
    /// Whether it is allowed while exactly `apart` are apart.
    pub fn is_allowed(&self, apart: Joints) -> bool {
        self.apart & !apart == 0 && self.together & apart == 0
    }

    /// Minutes while `apart` are apart.
    pub fn cost(&self, apart: Joints) -> u32 {
        self.minutes
            + self
                .protect
                .iter()
                .filter(|(joint, _)| joint & apart == 0)
                .map(|(_, m)| m)
                .sum::<u32>()
    }
}

/// Something to be done once.
#[derive(Debug, Clone)]
pub(super) struct Element {
    /// What must be done before.
    pub after: Elements,
    pub ways: Vec<Way>,
}

/// The whole work.
#[derive(Debug, Clone)]
pub(super) struct Work {
    pub operation_count: usize,
    pub joint_count: usize,
    pub station_count: usize,
    pub elements: Vec<Element>,
    /// Every element.
    pub all: Elements,
    /// Done before the first step, whatever is decided: joints that cannot come apart, and the
    /// taking apart of those that are apart.
    pub done_at_start: Elements,
    /// Joints that may or may not be taken apart.
    pub free: Joints,
    /// Station of the beginning; `station_count` when there is none.
    pub start: usize,
    /// Minutes from station to station, less what every way of coming there costs; the last
    /// row is from nowhere.
    pub changeover: Vec<Vec<u32>>,
    /// What was added to the first step's changeover to keep it from going below 0.
    pub too_much: u32,
}

impl Work {
    /// The problem as elements.
    ///
    /// What every way of coming to a station costs at least is moved from the changeovers into
    /// the minutes of the work there. That changes no plan's total, makes the usual diagonal of
    /// 0 stay 0, and takes the sting out of a matrix that charges for staying.
    pub fn of(problem: &Problem) -> Self {
        let (operation_count, joint_count) = (problem.operations.len(), problem.joints.len());
        let station_count = problem.stations.len();
        let entry: Vec<u32> = (0..station_count)
            .map(|to| {
                problem.changeover_minutes.iter().map(|row| row[to]).min().unwrap_or_default()
            })
            .collect();
        let highest = entry.iter().copied().max().unwrap_or_default();
        let mut changeover: Vec<Vec<u32>> = problem
            .changeover_minutes
            .iter()
            .map(|row| row.iter().zip(&entry).map(|(minutes, least)| minutes - least).collect())
            .collect();
        changeover.push(entry.iter().map(|least| highest - least).collect());

        let mut work = Self {
            operation_count,
            joint_count,
            station_count,
            elements: Vec::with_capacity(operation_count + 2 * joint_count),
            all: 0,
            done_at_start: 0,
            free: 0,
            start: problem.start_station.unwrap_or(station_count),
            changeover,
            too_much: if problem.start_station.is_none() { highest } else { 0 },
        };
        for operation in &problem.operations {
            let (apart, together) =
                (joint_set(&operation.needs_apart), joint_set(&operation.needs_together));
            let ways = operation.methods.iter().enumerate();
            let ways = ways
                .map(|(index, method)| way(&method.action, index, None, apart, together, &entry));
            work.elements.push(Element {
                after: operation.after.iter().fold(0, |set, before| set | 1 << before),
                ways: ways.filter(|way| way.apart & way.together == 0).collect(),
            });
        }
        for (index, joint) in problem.joints.iter().enumerate() {
            if joint.apart_at_start {
                work.done_at_start |= work.take(index);
            } else if joint.take_apart.is_some() && joint.put_together.is_some() {
                work.free |= 1 << index;
            } else {
                work.done_at_start |= work.take(index) | work.put(index);
            }
        }
        let actions = problem.joints.iter().map(|joint| &joint.take_apart);
        let actions = actions.chain(problem.joints.iter().map(|joint| &joint.put_together));
        for (place, action) in actions.enumerate() {
            let joint = place % joint_count;
            let is_never = work.done_at_start >> (operation_count + place) & 1 == 1;
            // What never happens has no way: its heat must not count anywhere.
            let ways = action.iter().filter(|_| !is_never);
            let ways = ways.map(|action| way(action, 0, Some(joint), 0, 0, &entry)).collect();
            let after = if place < joint_count { 0 } else { work.take(joint) };
            work.elements.push(Element { after, ways });
        }
        work.all = (0..work.elements.len()).fold(0, |set, element| set | 1 << element);
        work
    }

    /// The element of taking a joint apart.
    pub fn take_index(&self, joint: usize) -> usize {
        self.operation_count + joint
    }

    /// The element of putting a joint together.
    pub fn put_index(&self, joint: usize) -> usize {
        self.operation_count + self.joint_count + joint
    }

    /// The element of taking a joint apart, as a set.
    pub fn take(&self, joint: usize) -> Elements {
        1 << self.take_index(joint)
    }

    /// The element of putting a joint together, as a set.
    pub fn put(&self, joint: usize) -> Elements {
        1 << self.put_index(joint)
    }

    /// Joints that are apart when `done` is done.
    pub fn apart(&self, done: Elements) -> Joints {
        self.taken(done) & !self.put_together(done)
    }

    /// Joints that are apart or still will be.
    pub fn may_be_apart(&self, done: Elements) -> Joints {
        !self.put_together(done) & joints_below(self.joint_count)
    }

    fn taken(&self, done: Elements) -> Joints {
        narrow(done >> self.operation_count, self.joint_count)
    }

    fn put_together(&self, done: Elements) -> Joints {
        narrow(done >> (self.operation_count + self.joint_count), self.joint_count)
    }

    /// Done at the beginning when, of the free joints, exactly `apart` will be taken apart.
    pub fn beginning(&self, apart: Joints) -> Elements {
        members(self.free & !apart)
            .fold(self.done_at_start, |done, joint| done | self.take(joint) | self.put(joint))
    }

    /// An element's way as a step of the plan.
    pub fn step(&self, element: usize, way: usize) -> Step {
        if element < self.operation_count {
            Step::Operation { operation: element, method: self.elements[element].ways[way].method }
        } else if element < self.operation_count + self.joint_count {
            Step::TakeApart { joint: element - self.operation_count }
        } else {
            Step::PutTogether { joint: element - self.operation_count - self.joint_count }
        }
    }
}

fn way(
    action: &Action,
    method: usize,
    own: Option<usize>,
    apart: Joints,
    together: Joints,
    entry: &[u32],
) -> Way {
    let own = own.map_or(0, |joint| 1 << joint);
    let melts = joint_set(&action.melts) & !own;
    let protect: Vec<(Joints, u32)> = action
        .protect_minutes
        .iter()
        .map(|(joint, minutes)| (1 << joint, *minutes))
        .filter(|(joint, _)| joint & melts != 0)
        .collect();
    let saved = protect.iter().fold(0, |set, (joint, _)| set | joint);
    Way {
        method,
        station: action.station,
        minutes: action.minutes + entry[action.station],
        melts,
        apart: apart | (melts & !saved),
        together,
        protect,
    }
}

/// Indices of a set's members, rising.
pub(super) fn members(set: Joints) -> impl Iterator<Item = usize> {
    bits(u128::from(set))
}

/// Indices of a set's members, rising.
pub(super) fn bits(mut set: u128) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let lowest = (set != 0).then(|| set.trailing_zeros() as usize)?;
        set &= set - 1;
        Some(lowest)
    })
}

fn joint_set(indices: &[usize]) -> Joints {
    indices.iter().fold(0, |set, joint| set | 1 << joint)
}

fn joints_below(count: usize) -> Joints {
    (1 << count) - 1
}

#[expect(clippy::cast_possible_truncation, reason = "masked to at most 16 joints")]
fn narrow(bits: u128, count: usize) -> Joints {
    bits as Joints & joints_below(count)
}
