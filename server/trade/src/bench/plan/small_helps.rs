//! Small helps where they are needed: filler to cut for a crack or a joint, charge of a plated spot.

use super::metalwork::Metalwork;
use super::{Spot, TaskMethod};
use crate::bench::{filler_amount, plating_charge};
use crate::maps::{Finish, Part, Pinned};
use crate::words::instrument::Heat;
use serde_json::{Value, json};

/// Typical thickness of a plated spot, µm (from memory: silver 5 to 15).
const SPOT_UM: f64 = 10.0;

/// The slug of the filler that a method takes.
pub fn filler_of(method: &TaskMethod) -> Option<&str> {
    method.filler.as_deref().or(match method.heat {
        Heat::None => None,
        Heat::Solder => Some("sn60pb40"),
        Heat::Braze => Some("bag_7"),
    })
}

/// Filler for this method on this spot: the answer of filler-amount, with what it rests on.
/// None where nothing is filled; where a size is missing the answer says so.
pub fn filler(metal: &Metalwork<'_>, method: &TaskMethod, spot: &Spot, rod_diameter_mm: f64) -> Option<Value> {
    let kind = method.joint_kind.as_deref()?;
    let slug = filler_of(method)?;
    let part = part_of(metal, spot)?;
    let wall_mm = metal.heat_part(&part.id)?.stock.wall_mm;
    let form = json!({"kind": "rod", "diameter_mm": rod_diameter_mm});
    let mut input = if kind == "lap" {
        let diameter_mm = metal.heat_part(&part.id)?.stock.outside_diameter_mm;
        json!({"kind": "lap", "diameter_mm": diameter_mm, "wall_mm": wall_mm, "filler": slug, "form": form})
    } else {
        let Some(length_mm) = spot.size_mm else {
            return Some(json!({"joint_kind": kind, "wants": "size_mm", "words": "Measure how long the crack is; then the filler can be told."}));
        };
        json!({"kind": "crack", "length_mm": length_mm, "wall_mm": wall_mm, "patch": kind == "patch", "filler": slug, "form": form})
    };
    let mut answer = filler_amount::compute(&input).ok()?;
    let length = answer["length_mm"].as_f64().map(two_figures_up);
    let fills = answer["gap_fills"] == true;
    answer["joint_kind"] = json!(kind);
    answer["shown_length_mm"] = json!(length);
    answer["is_poor"] = json!(kind == "butt");
    let rod = format!("Cut {} mm of {rod_diameter_mm} mm rod ({slug}), ± 30 %.", length.unwrap_or_default());
    answer["words"] = json!(match (kind, fills) {
        ("butt", _) => format!("{rod} A butt joint fills poorly and is the weak one: a patch or a lap holds better."),
        (_, false) => format!("{rod} The gap is wider than filler draws into: close it up first."),
        (_, true) => rod,
    });
    if kind == "butt" {
        // What the better joint would take, beside it.
        input["patch"] = json!(true);
        answer["with_patch"] = filler_amount::compute(&input).unwrap_or(Value::Null);
    }
    Some(answer)
}

/// The slug of the metal that a method plates this spot with: its own, or by the part's finish.
pub fn plating_metal<'a>(metal: &Metalwork<'_>, method: &'a TaskMethod, spot: &Spot) -> Option<&'a str> {
    if !method.plates {
        return None;
    }
    let by_finish = match part_of(metal, spot)?.finish {
        Finish::NickelPlated => "nickel",
        Finish::GoldPlated => "gold_i",
        Finish::SilverPlated | Finish::Bare | Finish::Lacquered | Finish::Oiled => "silver",
    };
    Some(method.plating_metal.as_deref().unwrap_or(by_finish))
}

/// Charge and minutes for plating this spot: the answer of plating-charge, for a round spot as
/// wide as the finding.
pub fn plating(metal: &Metalwork<'_>, method: &TaskMethod, spot: &Spot) -> Option<Value> {
    let metal = plating_metal(metal, method, spot)?;
    let Some(size_mm) = spot.size_mm else {
        return Some(json!({"metal": metal, "wants": "size_mm", "words": "Measure how wide the spot is; then charge and minutes can be told."}));
    };
    let area_cm2 = std::f64::consts::PI / 4.0 * size_mm * size_mm / 100.0;
    let mut answer = plating_charge::compute(&json!({"metal": metal, "area_cm2": area_cm2, "thickness_um": SPOT_UM})).ok()?;
    answer["metal"] = json!(metal);
    answer["area_cm2"] = json!(area_cm2);
    answer["words"] = json!(format!(
        "{metal}, a round spot {size_mm} mm wide, {SPOT_UM} µm thick (typical): {} A h, about {} minutes.",
        two_figures_up(answer["ampere_hours"].as_f64().unwrap_or_default()),
        two_figures_up(answer["minutes"].as_f64().unwrap_or_default()),
    ));
    Some(answer)
}

fn part_of<'a>(metal: &Metalwork<'a>, spot: &Spot) -> Option<&'a Part> {
    match metal.map.resolve(&spot.word)? {
        Pinned::Part(part) => Some(part),
        Pinned::Joint(joint) => metal.part(&joint.places[1].part),
    }
}

/// Two significant figures, rounded up: geometry is the uncertainty.
fn two_figures_up(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = 10f64.powf(value.log10().floor() - 1.0);
    // The rounding takes the noise of the division by the step away.
    ((value / step - 1e-9).ceil() * step * 1e6).round() / 1e6
}
