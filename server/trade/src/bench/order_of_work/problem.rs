//! The bench steps to be ordered: what the problem is made of, and how it is read.

use crate::calculation::{Node, Reading, Refused};
use serde_json::Value;
use std::collections::BTreeMap;

/// Most operations, joints and stations of one problem.
pub const MOST_OPERATIONS: usize = 64;
/// Most joints of one problem.
pub const MOST_JOINTS: usize = 16;
/// Most stations of one problem.
pub const MOST_STATIONS: usize = 12;
/// Most methods of one operation; the section states none, so this is ours.
pub const MOST_METHODS: usize = 100;
/// Most minutes of anything.
pub const MOST_MINUTES: i64 = 10_000;

/// Work at a station for some minutes, hot enough to melt some joints.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Action {
    /// Minutes of the work itself.
    pub minutes: u32,
    /// Index of the station.
    pub station: usize,
    /// Indices of the joints that it melts where they are not apart, rising.
    pub melts: Vec<usize>,
    /// Joint index to the minutes it takes to save that joint (wet rags, a heat sink). A joint
    /// in `melts` without an entry cannot be saved.
    pub protect_minutes: BTreeMap<usize, u32>,
}

/// A soldered joint that may come apart once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Joint {
    /// Its name.
    pub id: String,
    /// Whether it is apart before the first step.
    pub apart_at_start: bool,
    /// How it comes apart, if it can.
    pub take_apart: Option<Action>,
    /// How it is put together, if it can be.
    pub put_together: Option<Action>,
}

/// One way of doing an operation.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Method {
    /// Its name, unique within the operation.
    pub id: String,
    /// What it takes.
    pub action: Action,
}

/// One step that must be done.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Operation {
    /// Its name.
    pub id: String,
    /// Indices of the operations that come before it, rising.
    pub after: Vec<usize>,
    /// Indices of the joints that must be apart for it, rising.
    pub needs_apart: Vec<usize>,
    /// Indices of the joints that must not be apart for it, rising.
    pub needs_together: Vec<usize>,
    /// The ways of doing it, at least one.
    pub methods: Vec<Method>,
}

/// The whole work on one instrument.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// Names of the stations.
    pub stations: Vec<String>,
    /// Minutes between stations, row = from; the diagonal is charged as given.
    pub changeover_minutes: Vec<Vec<u32>>,
    /// Where the first step is reached from; none, and it costs no changeover.
    pub start_station: Option<usize>,
    /// The joints.
    pub joints: Vec<Joint>,
    /// The operations.
    pub operations: Vec<Operation>,
}

impl Problem {
    /// Reads the input of `/calculations/order-of-work`.
    ///
    /// # Errors
    /// `invalid-input` with every fault, or `precedence-cycle`.
    pub fn read(input: &Value) -> Result<Self, Refused> {
        let mut reading = Reading::default();
        let problem = read_problem(&mut reading, &Node::root(input));
        reading.done()?;
        problem.refuse_cycles()?;
        Ok(problem)
    }

    /// One fault for each knot of operations that wait for each other, at its lowest index.
    fn refuse_cycles(&self) -> Result<(), Refused> {
        let count = self.operations.len();
        let mut before: Vec<u64> = self.operations.iter().map(|one| set_of(&one.after)).collect();
        // Warshall: after step k, `before` follows chains through operations up to k.
        for middle in 0..count {
            for operation in 0..count {
                if before[operation] >> middle & 1 == 1 {
                    before[operation] |= before[middle];
                }
            }
        }
        let mut refused = Refused::new("precedence-cycle");
        let mut told = 0_u64;
        for (operation, one) in self.operations.iter().enumerate() {
            if before[operation] >> operation & 1 == 1 && told >> operation & 1 == 0 {
                told |= (0..count)
                    .filter(|&other| {
                        before[operation] >> other & 1 == 1 && before[other] >> operation & 1 == 1
                    })
                    .fold(0, |set, other| set | 1 << other);
                refused = refused.at(
                    format!("/operations/{operation}/after"),
                    format!("{} would have to come before itself", one.id),
                );
            }
        }
        if refused.faults.is_empty() { Ok(()) } else { Err(refused) }
    }
}

fn set_of(indices: &[usize]) -> u64 {
    indices.iter().fold(0, |set, index| set | 1 << index)
}

/// The names that other parts of the input refer to.
struct Names {
    stations: Vec<String>,
    joints: Vec<String>,
    operations: Vec<String>,
}

fn read_problem(reading: &mut Reading, input: &Node<'_>) -> Problem {
    let known = ["stations", "changeover_minutes", "start_station", "joints", "operations"];
    if reading.object(input, &known).is_none() {
        return Problem::default();
    }
    let station_nodes = capped(reading, input, "stations", MOST_STATIONS);
    let stations: Vec<String> = station_nodes
        .iter()
        .map(|node| reading.text_at(node).unwrap_or_default().to_owned())
        .collect();
    refuse_twins(reading, &stations, |index| station_nodes[index].pointer.clone());
    let joint_nodes = capped(reading, input, "joints", MOST_JOINTS);
    let joints = read_ids(reading, &joint_nodes);
    let operation_nodes = capped(reading, input, "operations", MOST_OPERATIONS);
    let operations = read_ids(reading, &operation_nodes);
    let names = Names { stations, joints, operations };
    Problem {
        changeover_minutes: read_changeovers(reading, input, names.stations.len()),
        start_station: input
            .get("start_station")
            .and_then(|node| read_name(reading, &node, &names.stations, "station")),
        joints: joint_nodes
            .iter()
            .zip(&names.joints)
            .map(|(node, id)| read_joint(reading, node, id.clone(), &names))
            .collect(),
        operations: operation_nodes
            .iter()
            .zip(&names.operations)
            .map(|(node, id)| read_operation(reading, node, id.clone(), &names))
            .collect(),
        stations: names.stations,
    }
}

fn capped<'v>(reading: &mut Reading, node: &Node<'v>, key: &str, most: usize) -> Vec<Node<'v>> {
    let count =
        node.get(key).and_then(|list| list.value.as_array().map(Vec::len)).unwrap_or_default();
    if count > most {
        reading.fault(
            node.below(key),
            format!("has {count} entries; at most {most} are reckoned with"),
        );
        return Vec::new();
    }
    reading.list(node, key)
}

fn refuse_twins(reading: &mut Reading, ids: &[String], pointer: impl Fn(usize) -> String) {
    for (index, id) in ids.iter().enumerate() {
        // An empty one was missing or no text, and has its fault already.
        if !id.is_empty() && ids[..index].contains(id) {
            reading.fault(pointer(index), format!("{id} is there already; give each its own id"));
        }
    }
}

fn read_ids(reading: &mut Reading, nodes: &[Node<'_>]) -> Vec<String> {
    let ids: Vec<String> = nodes
        .iter()
        .map(|node| {
            if node.value.is_object() {
                reading.text(node, "id").unwrap_or_default().to_owned()
            } else {
                String::new()
            }
        })
        .collect();
    refuse_twins(reading, &ids, |index| nodes[index].below("id"));
    ids
}

fn read_changeovers(
    reading: &mut Reading,
    input: &Node<'_>,
    station_count: usize,
) -> Vec<Vec<u32>> {
    let rows = reading.list(input, "changeover_minutes");
    if rows.len() != station_count {
        reading.fault(
            input.below("changeover_minutes"),
            format!(
                "has {} rows for {station_count} stations; give one row and one column each",
                rows.len()
            ),
        );
        return Vec::new();
    }
    rows.iter()
        .map(|row| {
            let cells = row.elements();
            if cells.len() != station_count {
                reading.fault(
                    &row.pointer,
                    format!("must be a list of {station_count} minutes, one for each station"),
                );
                return vec![0; station_count];
            }
            cells.iter().map(|cell| minutes_at(reading, cell)).collect()
        })
        .collect()
}

fn minutes_at(reading: &mut Reading, node: &Node<'_>) -> u32 {
    let minutes = reading.whole_at(node, 0..=MOST_MINUTES).unwrap_or_default();
    u32::try_from(minutes).expect("between 0 and 10,000")
}

fn read_name(
    reading: &mut Reading,
    node: &Node<'_>,
    names: &[String],
    what: &str,
) -> Option<usize> {
    let text = reading.text_at(node)?;
    let found = names.iter().position(|name| name == text);
    if found.is_none() {
        reading.fault(&node.pointer, format!("{text:?} is not the id of a {what}"));
    }
    found
}

/// Indices of the named things, rising, each once.
fn read_names(
    reading: &mut Reading,
    node: &Node<'_>,
    key: &str,
    names: &[String],
    what: &str,
) -> Vec<usize> {
    let nodes = reading.list_if(node, key);
    let mut found: Vec<usize> =
        nodes.iter().filter_map(|one| read_name(reading, one, names, what)).collect();
    found.sort_unstable();
    found.dedup();
    found
}

fn read_joint(reading: &mut Reading, node: &Node<'_>, id: String, names: &Names) -> Joint {
    if reading.object(node, &["id", "apart_at_start", "take_apart", "put_together"]).is_none() {
        return Joint::default();
    }
    let apart_at_start = node.get("apart_at_start").is_some_and(|found| {
        found.value.as_bool().unwrap_or_else(|| {
            reading.fault(found.pointer, "must be true or false");
            false
        })
    });
    let mut action = |key: &str| {
        let found = node.get(key)?;
        reading.object(&found, &ACTION_FIELDS)?;
        Some(read_action(reading, &found, names))
    };
    Joint {
        id,
        apart_at_start,
        take_apart: action("take_apart"),
        put_together: action("put_together"),
    }
}

const ACTION_FIELDS: [&str; 4] = ["minutes", "station", "melts", "protect_minutes"];

fn read_action(reading: &mut Reading, node: &Node<'_>, names: &Names) -> Action {
    let minutes = match node.get("minutes") {
        Some(found) => minutes_at(reading, &found),
        None => {
            reading.fault(node.below("minutes"), "is missing; give whole minutes");
            0
        }
    };
    let station = match node.get("station") {
        Some(found) => read_name(reading, &found, &names.stations, "station").unwrap_or_default(),
        None => {
            reading.fault(node.below("station"), "is missing; give the id of a station");
            0
        }
    };
    let melts = read_names(reading, node, "melts", &names.joints, "joint");
    Action { minutes, station, melts, protect_minutes: read_protections(reading, node, names) }
}

fn read_protections(reading: &mut Reading, node: &Node<'_>, names: &Names) -> BTreeMap<usize, u32> {
    let mut protections = BTreeMap::new();
    let Some(found) = node.get("protect_minutes") else { return protections };
    let Some(entries) = found.value.as_object() else {
        reading.fault(found.pointer, "must be an object: joint id to minutes");
        return protections;
    };
    for (joint, value) in entries {
        let entry = Node { value, pointer: found.below(joint) };
        match names.joints.iter().position(|name| name == joint) {
            // A null says that there is none.
            Some(_) if value.is_null() => {}
            Some(index) => {
                protections.insert(index, minutes_at(reading, &entry));
            }
            None => reading.fault(entry.pointer, format!("{joint:?} is not the id of a joint")),
        }
    }
    protections
}

fn read_operation(reading: &mut Reading, node: &Node<'_>, id: String, names: &Names) -> Operation {
    if reading.object(node, &["id", "after", "needs_apart", "needs_together", "methods"]).is_none()
    {
        return Operation::default();
    }
    let after = read_names(reading, node, "after", &names.operations, "operation");
    let needs_apart = read_names(reading, node, "needs_apart", &names.joints, "joint");
    let needs_together = read_names(reading, node, "needs_together", &names.joints, "joint");
    let nodes = capped(reading, node, "methods", MOST_METHODS);
    if node.get("methods").is_some_and(|list| list.value.as_array().is_some_and(Vec::is_empty)) {
        reading.fault(node.below("methods"), "is empty; give at least one way of doing it");
    }
    let ids = read_ids(reading, &nodes);
    let methods = nodes
        .iter()
        .zip(ids)
        .filter_map(|(one, id)| {
            reading.object(one, &["id", "minutes", "station", "melts", "protect_minutes"])?;
            Some(Method { id, action: read_action(reading, one, names) })
        })
        .collect();
    Operation { id, after, needs_apart, needs_together, methods }
}
