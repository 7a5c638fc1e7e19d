//! Whether a slide, shank or tenon fits, how round it is, and how sure that is.
//!
//! * `slide`: clearance of one tube in another, the worst turn, the verdict.
//! * `circle`: roundness from points all round.
//! * `shank`: taper of a mouthpiece shank, and how far it goes into its receiver.

pub mod circle;
pub mod shank;
pub mod slide;

use crate::calculation::{Node, Reading, Refused};
use serde_json::{Value, json};
use std::ops::RangeInclusive;

/// What a two-point diameter cannot show, told with every roundness.
pub const LOBES_NOTE: &str = "two-point diameters cannot see three lobes (as left by a three-jaw chuck): \
     a tube can show one diameter all round and still not be round; turn it in a vee block or measure points all round";

/// Diameters of brass and woodwind tubes and bodies, mm.
const DIAMETERS_MM: RangeInclusive<f64> = 1.0..=400.0;
/// Places along a tube, mm.
const PLACES_MM: RangeInclusive<f64> = -10_000.0..=10_000.0;
/// More stations, angles or points than this are no measurement by hand.
const MOST_ENTRIES: usize = 10_000;

/// What a measuring tool can do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gauge {
    /// Standard uncertainty, mm.
    pub u_mm: f64,
    /// Smallest step, mm.
    pub resolution_mm: f64,
}

/// Typical calliper (from memory).
pub const CALLIPER: Gauge = Gauge { u_mm: 0.02, resolution_mm: 0.01 };
/// Typical micrometer (from memory).
pub const MICROMETER: Gauge = Gauge { u_mm: 0.003, resolution_mm: 0.001 };
/// Typical bore gauge (from memory).
pub const BORE_GAUGE: Gauge = Gauge { u_mm: 0.006, resolution_mm: 0.001 };

impl Gauge {
    /// Scatter that the tool's steps hide: a rectangular step's standard deviation, mm.
    fn step_sd_mm(&self) -> f64 {
        self.resolution_mm / 12_f64.sqrt()
    }

    fn read(reading: &mut Reading, input: &Node<'_>, key: &str, typical: Self) -> Self {
        let Some(node) = input.get(key) else {
            reading.defaulted.push(input.below(key));
            return typical;
        };
        if reading.object(&node, &["u_mm", "resolution_mm"]).is_none() {
            return typical;
        }
        Self {
            u_mm: reading.number_or(&node, "u_mm", 0.0..=10.0, typical.u_mm),
            resolution_mm: reading.number_or(
                &node,
                "resolution_mm",
                0.0..=10.0,
                typical.resolution_mm,
            ),
        }
    }
}

/// Answers `/calculations/fit`.
///
/// # Errors
/// `invalid-input`, `no-overlap` or `not-computable`.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let root = Node::root(input);
    let mut reading = Reading::default();
    let answer = match root.get("kind").as_ref().map(|kind| kind.value.as_str()) {
        Some(Some("slide")) => slide::answer(&mut reading, &root),
        Some(Some("circle")) => circle::answer(&mut reading, &root),
        Some(Some("shank")) => shank::answer(&mut reading, &root),
        None if !input.is_object() => {
            Err(Refused::new("invalid-input").at("", "must be an object"))
        }
        _ => Err(Refused::new("invalid-input").at("/kind", "must be slide, circle or shank")),
    };
    let mut answer = answer?;
    answer["kind"] = input["kind"].clone();
    answer["defaulted"] = json!(reading.defaulted);
    Ok(answer)
}

/// The entries of a required list, refused when fewer than `fewest` or absurdly many.
fn entries<'v>(reading: &mut Reading, node: &Node<'v>, key: &str, fewest: usize) -> Vec<Node<'v>> {
    let count = node.get(key).and_then(|list| list.value.as_array().map(Vec::len));
    if count.is_some_and(|count| !(fewest..=MOST_ENTRIES).contains(&count)) {
        let found = count.unwrap_or_default();
        reading.fault(
            node.below(key),
            format!("has {found} entries; give {fewest} to {MOST_ENTRIES}"),
        );
        return Vec::new();
    }
    reading.list(node, key)
}
