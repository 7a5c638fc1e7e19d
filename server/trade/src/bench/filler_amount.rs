//! `filler-amount`: length of rod or strip to cut, and the patch to make.
//!
//! Plane geometry of the gap, the filed V, the crown and the lap. COMPUTATIONS.md,
//! section 8. The geometry is the uncertainty (± 30 %): a screen shows two
//! significant figures, rounded up.

use super::metals::{FILLERS, Filler};
use crate::calculation::{Node, Reading, Refused, above};
use serde_json::{Value, json};
use std::f64::consts::PI;
use std::ops::Bound;

/// The widest gap that silver brazing draws itself into, mm (from memory: 0.03 to 0.13).
pub const WIDEST_GAP_THAT_FILLS_MM: f64 = 0.13;

/// A crack, perhaps filed to a V, before it is filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crack {
    /// Length of the crack, mm.
    pub length_mm: f64,
    /// Width of the gap, mm.
    pub gap_mm: f64,
    /// Wall of the tube, mm; the filler goes through all of it.
    pub wall_mm: f64,
    /// Depth of the filed V, mm; 0 for none.
    pub v_depth_mm: f64,
    /// Whole angle of the V, degrees, between 0 and 180.
    pub v_angle_deg: f64,
    /// Height of the bead above the surface, mm.
    pub crown_mm: f64,
}

impl Crack {
    /// Width of the opening at the surface, mm: `g + 2 d tan(θ/2)`.
    #[must_use]
    pub fn mouth_mm(&self) -> f64 {
        self.gap_mm + 2.0 * self.v_depth_mm * self.half_angle_tan()
    }

    /// Section of the filler, mm²: gap, V, and a crown as a parabola over the mouth.
    #[must_use]
    pub fn section_mm2(&self) -> f64 {
        self.gap_mm * self.wall_mm
            + self.v_depth_mm * self.v_depth_mm * self.half_angle_tan()
            + 2.0 / 3.0 * self.mouth_mm() * self.crown_mm
    }

    /// Filler in the crack, mm³.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        self.section_mm2() * self.length_mm
    }

    fn half_angle_tan(&self) -> f64 {
        (self.v_angle_deg.to_radians() / 2.0).tan()
    }
}

/// A patch over a crack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// Length along the crack, mm.
    pub length_mm: f64,
    /// Width across it, mm.
    pub width_mm: f64,
}

impl Patch {
    /// The patch that reaches `overlap_mm` beyond the crack on every side.
    #[must_use]
    pub fn over(crack: &Crack, overlap_mm: f64) -> Self {
        Self {
            length_mm: crack.length_mm + 2.0 * overlap_mm,
            width_mm: crack.mouth_mm() + 2.0 * overlap_mm,
        }
    }

    /// Filler between patch and tube, mm³.
    #[must_use]
    pub fn volume_mm3(&self, clearance_mm: f64) -> f64 {
        self.length_mm * self.width_mm * clearance_mm
    }
}

/// A ferrule or sleeve on a tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lap {
    /// Diameter of the seat, mm.
    pub diameter_mm: f64,
    /// Length of the lap, mm.
    pub lap_mm: f64,
    /// Clearance between the two, all round, mm.
    pub clearance_mm: f64,
    /// Leg of each fillet, mm.
    pub fillet_mm: f64,
    /// How many rings of fillet.
    pub fillet_count: f64,
}

impl Lap {
    /// Filler in the lap and its concave fillets, mm³:
    /// `π D·lap·clearance + (1 − π/4)·leg²·π D·fillets`.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        let round_mm = PI * self.diameter_mm;
        round_mm * self.lap_mm * self.clearance_mm
            + (1.0 - PI / 4.0) * self.fillet_mm * self.fillet_mm * round_mm * self.fillet_count
    }
}

/// The shape filler is bought in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Round rod or wire.
    Rod {
        /// Diameter, mm.
        diameter_mm: f64,
    },
    /// Flat strip.
    Strip {
        /// Width, mm.
        width_mm: f64,
        /// Thickness, mm.
        thickness_mm: f64,
    },
}

impl Form {
    /// Length that holds a volume, mm.
    #[must_use]
    pub fn length_mm(&self, volume_mm3: f64) -> f64 {
        match *self {
            Form::Rod { diameter_mm } => volume_mm3 / (PI * diameter_mm * diameter_mm / 4.0),
            Form::Strip { width_mm, thickness_mm } => volume_mm3 / (width_mm * thickness_mm),
        }
    }
}

/// The patch's overlap when nobody gave one, mm: three walls, but thin tube wants a
/// few millimetres to hold (from memory).
#[must_use]
pub fn typical_overlap_mm(wall_mm: f64) -> f64 {
    (3.0 * wall_mm).max(3.0)
}

/// The lap when nobody gave one, mm: three walls (from memory).
#[must_use]
pub fn typical_lap_mm(wall_mm: f64) -> f64 {
    3.0 * wall_mm
}

/// Answers `/calculations/filler-amount`.
///
/// # Errors
/// `invalid-input`: a value out of its range, an unknown filler or field, a filler of
/// which no density is known, or sizes that leave the range of numbers.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let root = Node::root(input);
    let mut reading = Reading::default();
    let kind = root.get("kind").map(|found| (found.value.as_str(), found));
    let volume = match kind {
        Some((Some("crack"), _)) => read_crack(&mut reading, &root),
        Some((Some("lap"), _)) => read_lap(&mut reading, &root),
        Some((_, found)) => {
            reading.fault(&found.pointer, "must be crack or lap");
            None
        }
        None => {
            reading.fault(root.below("kind"), "is missing; give crack or lap");
            None
        }
    };
    let filler = read_filler(&mut reading, &root);
    let form = read_form(&mut reading, &root);
    reading.done()?;
    let (Some(volume), Some((filler, density_g_cm3)), Some(form)) = (volume, filler, form) else {
        unreachable!("a required input that could not be read is a fault, and done() refused it");
    };

    let Filled { mut answer, volume_mm3, waste } = volume;
    let with_waste_mm3 = volume_mm3 * (1.0 + waste);
    let mass_g = with_waste_mm3 * density_g_cm3 / 1000.0;
    let length_mm = form.length_mm(with_waste_mm3);
    if !mass_g.is_finite() {
        reading.fault("", "the sizes are too large to work with");
    } else if !length_mm.is_finite() {
        reading.fault(root.below("form"), "is too thin to work with");
    }
    reading.done()?;
    answer["volume_mm3"] = json!(volume_mm3);
    answer["with_waste_mm3"] = json!(with_waste_mm3);
    answer["mass_g"] = json!(mass_g);
    answer["length_mm"] = json!(length_mm);
    answer["defaulted"] = json!(reading.defaulted);
    answer["cautions"] = json!(filler.cautions());
    Ok(answer)
}

/// What both kinds of joint hand on: their own part of the answer, the filler in the
/// joint, and the share to add for what runs away.
struct Filled {
    answer: Value,
    volume_mm3: f64,
    waste: f64,
}

fn read_crack(reading: &mut Reading, root: &Node<'_>) -> Option<Filled> {
    reading.object(
        root,
        &[
            "kind",
            "length_mm",
            "wall_mm",
            "gap_mm",
            "v_depth_mm",
            "v_angle_deg",
            "crown_mm",
            "patch",
            "overlap_mm",
            "clearance_mm",
            "waste",
            "filler",
            "form",
        ],
    );
    let length_mm = reading.number(root, "length_mm", above(0.0));
    let wall_mm = reading.number(root, "wall_mm", above(0.0));
    let gap_mm = reading.number_or(root, "gap_mm", 0.0..=3.0, 0.1);
    let v_depth_mm = reading.number_or(root, "v_depth_mm", 0.0..=wall_mm.unwrap_or(f64::MAX), 0.0);
    let angles = (Bound::Excluded(0.0), Bound::Excluded(180.0));
    let v_angle_deg = reading.number_or(root, "v_angle_deg", angles, 60.0);
    let crown_mm = reading.number_or(root, "crown_mm", 0.0..=3.0, 0.2);
    let patched = root.get("patch").is_some_and(|found| {
        found.value.as_bool().unwrap_or_else(|| {
            reading.fault(&found.pointer, "must be true or false");
            false
        })
    });
    // Overlap and clearance belong to the patch: without one they are read for
    // their faults, and no typical value stands in for them.
    let overlap_mm = reading.number_if(root, "overlap_mm", above(0.0));
    let clearance_mm = reading.number_if(root, "clearance_mm", 0.01..=1.0);
    if patched {
        for (key, given) in [("overlap_mm", overlap_mm), ("clearance_mm", clearance_mm)] {
            if given.is_none() {
                reading.defaulted.push(root.below(key));
            }
        }
    }
    let waste = reading.number_or(root, "waste", 0.0..=5.0, 0.3);

    let wall_mm = wall_mm?;
    let crack = Crack { length_mm: length_mm?, gap_mm, wall_mm, v_depth_mm, v_angle_deg, crown_mm };
    let mut volume_mm3 = crack.volume_mm3();
    let mut answer = json!({
        "section_mm2": crack.section_mm2(),
        "mouth_mm": crack.mouth_mm(),
        "gap_fills": gap_mm <= WIDEST_GAP_THAT_FILLS_MM,
    });
    if patched {
        let patch = Patch::over(&crack, overlap_mm.unwrap_or_else(|| typical_overlap_mm(wall_mm)));
        volume_mm3 += patch.volume_mm3(clearance_mm.unwrap_or(0.08));
        answer["patch_length_mm"] = json!(patch.length_mm);
        answer["patch_width_mm"] = json!(patch.width_mm);
    }
    Some(Filled { answer, volume_mm3, waste })
}

fn read_lap(reading: &mut Reading, root: &Node<'_>) -> Option<Filled> {
    reading.object(
        root,
        &[
            "kind",
            "diameter_mm",
            "wall_mm",
            "lap_mm",
            "clearance_mm",
            "fillet_mm",
            "fillets",
            "waste",
            "filler",
            "form",
        ],
    );
    let diameter_mm = reading.number(root, "diameter_mm", above(0.0));
    let wall_mm = reading.number(root, "wall_mm", above(0.0));
    let lap_mm =
        reading.number_or(root, "lap_mm", above(0.0), typical_lap_mm(wall_mm.unwrap_or_default()));
    let clearance_mm = reading.number_or(root, "clearance_mm", 0.01..=1.0, 0.08);
    let fillet_mm = reading.number_or(root, "fillet_mm", 0.0.., 0.5);
    let fillet_count = match root.get("fillets") {
        Some(found) => reading.whole_at(&found, 0..=1_000_000),
        None => {
            reading.defaulted.push(root.below("fillets"));
            Some(1)
        }
    };
    let waste = reading.number_or(root, "waste", 0.0..=5.0, 0.5);

    wall_mm?;
    #[expect(clippy::cast_precision_loss, reason = "at most a million")]
    let lap = Lap {
        diameter_mm: diameter_mm?,
        lap_mm,
        clearance_mm,
        fillet_mm,
        fillet_count: fillet_count? as f64,
    };
    let answer = json!({
        "lap_mm": lap_mm,
        "gap_fills": clearance_mm <= WIDEST_GAP_THAT_FILLS_MM,
    });
    Some(Filled { answer, volume_mm3: lap.volume_mm3(), waste })
}

fn read_filler(reading: &mut Reading, root: &Node<'_>) -> Option<(&'static Filler, f64)> {
    let slug = reading.text(root, "filler")?;
    let known = Filler::named(slug);
    let density = known.and_then(|filler| filler.density_g_cm3);
    if density.is_none() {
        let names: Vec<_> = FILLERS
            .iter()
            .filter(|filler| filler.density_g_cm3.is_some())
            .map(|filler| filler.slug)
            .collect();
        reading.fault(
            root.below("filler"),
            format!("must be a filler whose density is known: {}", names.join(", ")),
        );
    }
    known.zip(density)
}

fn read_form(reading: &mut Reading, root: &Node<'_>) -> Option<Form> {
    let Some(form) = root.get("form") else {
        reading.fault(root.below("form"), "is missing; give a rod or a strip");
        return None;
    };
    match form.value.get("kind").and_then(Value::as_str) {
        Some("rod") => {
            reading.object(&form, &["kind", "diameter_mm"]);
            let diameter_mm = reading.number(&form, "diameter_mm", above(0.0))?;
            Some(Form::Rod { diameter_mm })
        }
        Some("strip") => {
            reading.object(&form, &["kind", "width_mm", "thickness_mm"]);
            let width_mm = reading.number(&form, "width_mm", above(0.0));
            let thickness_mm = reading.number(&form, "thickness_mm", above(0.0));
            Some(Form::Strip { width_mm: width_mm?, thickness_mm: thickness_mm? })
        }
        _ => {
            reading.object(&form, &["kind", "diameter_mm", "width_mm", "thickness_mm"]);
            reading.fault(form.below("kind"), "must be rod or strip");
            None
        }
    }
}
