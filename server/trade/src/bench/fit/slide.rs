//! Clearance of one tube in another.

use super::{BORE_GAUGE, DIAMETERS_MM, Gauge, LOBES_NOTE, MICROMETER, PLACES_MM, entries};
use crate::bench::straight_line::count_as_f64;
use crate::calculation::{Node, Reading, Refused};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

/// Tight, slightly tight and free up to here, mm: typical for a tuning slide, no source.
pub const TYPICAL_LIMITS_MM: [f64; 3] = [0.02, 0.05, 0.09];

/// A diameter as measured across one direction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Diameter {
    /// Direction of the measurement about the tube's axis, degrees; 180° on is the same one.
    pub angle_deg: f64,
    /// Diameter, mm.
    pub diameter_mm: f64,
}

/// All diameters measured at one place along a tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = FitStation)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Where, mm from the zero that both tubes share.
    pub at_mm: f64,
    /// At least three, in directions that are not opposite ends of the same two.
    pub diameters: Vec<Diameter>,
}

/// Both tubes as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredSlide {
    /// Outside of the inner tube, places rising.
    pub inner: Vec<Station>,
    /// Bore of the outer tube, places rising.
    pub outer: Vec<Station>,
    /// The tool used on the inner tube.
    pub inner_gauge: Gauge,
    /// The tool used in the outer tube.
    pub outer_gauge: Gauge,
    /// Largest clearance that is tight, slightly tight and free, mm, rising. A shop that has
    /// not set them for this kind of fit gets no verdict.
    pub limits_mm: Option<[f64; 3]>,
}

/// Shape of a tube at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Section {
    /// Where, mm.
    pub at_mm: f64,
    /// Mean diameter, mm.
    pub mean_mm: f64,
    /// Largest less least diameter, mm.
    pub ovality_mm: f64,
    /// Direction of the largest diameter, 0 to 180°.
    pub long_axis_deg: f64,
    /// Standard uncertainty of the mean diameter, mm.
    pub u_mm: f64,
}

/// Room between the tubes at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Clearance {
    /// Where, mm.
    pub at_mm: f64,
    /// Difference of the mean diameters, mm.
    pub mean_clearance_mm: f64,
    /// What is left of it in the worst turn, long axis across long axis, mm.
    pub least_clearance_mm: f64,
    /// Standard uncertainty, mm.
    pub u_mm: f64,
}

/// How a slide goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FitVerdict {
    /// It does not go in.
    Interference,
    /// Tight.
    Tight,
    /// Slightly tight, as a tuning slide should be.
    SlightlyTight,
    /// Free.
    Free,
    /// Loose.
    Loose,
}

impl FitVerdict {
    const ALL: [Self; 5] =
        [Self::Interference, Self::Tight, Self::SlightlyTight, Self::Free, Self::Loose];

    /// The verdict on a clearance in mm.
    #[must_use]
    pub fn on(clearance_mm: f64, [tight, slightly_tight, free]: [f64; 3]) -> Self {
        match clearance_mm {
            c if c < 0.0 => Self::Interference,
            c if c <= tight => Self::Tight,
            c if c <= slightly_tight => Self::SlightlyTight,
            c if c <= free => Self::Free,
            _ => Self::Loose,
        }
    }
}

/// How two tubes fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SlideFit {
    /// The inner tube, place by place.
    pub inner: Vec<Section>,
    /// The outer tube, place by place.
    pub outer: Vec<Section>,
    /// The room at each place of the inner tube that lies within the outer.
    pub clearances: Vec<Clearance>,
    /// The least of them, mm; the verdict is on this.
    pub least_clearance_mm: f64,
    /// Where that is, mm.
    pub least_at_mm: f64,
    /// Half width of the 95 % interval of the least clearance, mm (twice its standard uncertainty).
    pub expanded_uncertainty_mm: f64,
    /// The verdict, if the shop has limits for this kind of fit.
    pub verdict: Option<FitVerdict>,
    /// Every verdict that the uncertainty allows, from tight to loose.
    pub could_be: Vec<FitVerdict>,
}

/// Why two tubes have no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SlideError {
    /// The diameters at a station do not tell an ellipse: fewer than three directions that differ.
    TooFewDirections,
    /// No station of the inner tube lies within the outer.
    NoOverlap,
}

/// How one tube fits in another.
///
/// Each station is an ellipse by least squares; the outer tube's is taken linearly between
/// its stations; the verdict is on the station with the least clearance in the worst turn.
///
/// # Errors
/// [`SlideError`].
/// Source: COMPUTATIONS.md, fit.
pub fn slide_fit(measured: &MeasuredSlide) -> Result<SlideFit, SlideError> {
    let shape = |stations: &[Station], gauge: &Gauge| -> Result<Vec<Section>, SlideError> {
        stations
            .iter()
            .map(|station| section(station, gauge).ok_or(SlideError::TooFewDirections))
            .collect()
    };
    let inner = shape(&measured.inner, &measured.inner_gauge)?;
    let outer = shape(&measured.outer, &measured.outer_gauge)?;
    let clearances: Vec<Clearance> = inner
        .iter()
        .filter_map(|inside| Some(clearance(inside, &between(&outer, inside.at_mm)?)))
        .collect();
    let least = clearances
        .iter()
        .copied()
        .reduce(
            |least, next| {
                if next.least_clearance_mm < least.least_clearance_mm { next } else { least }
            },
        )
        .ok_or(SlideError::NoOverlap)?;
    let expanded = 2.0 * least.u_mm;
    let verdict =
        |clearance_mm: f64| measured.limits_mm.map(|limits| FitVerdict::on(clearance_mm, limits));
    let could_be = match (
        verdict(least.least_clearance_mm - expanded),
        verdict(least.least_clearance_mm + expanded),
    ) {
        (Some(from), Some(to)) => {
            FitVerdict::ALL.into_iter().filter(|one| (from..=to).contains(one)).collect()
        }
        _ => Vec::new(),
    };
    Ok(SlideFit {
        inner,
        outer,
        least_clearance_mm: least.least_clearance_mm,
        least_at_mm: least.at_mm,
        expanded_uncertainty_mm: expanded,
        verdict: verdict(least.least_clearance_mm),
        could_be,
        clearances,
    })
}

/// The ellipse `D(θ) = D₀ + c cos 2θ + s sin 2θ` through the diameters of one station by least
/// squares; `None` when they do not tell one.
#[must_use]
pub fn section(station: &Station, gauge: &Gauge) -> Option<Section> {
    let n = count_as_f64(station.diameters.len());
    let waves: Vec<(f64, f64)> = station
        .diameters
        .iter()
        .map(|one| {
            let twice = 2.0 * one.angle_deg.rem_euclid(180.0).to_radians();
            (twice.cos(), twice.sin())
        })
        .collect();
    let mean_diameter = station.diameters.iter().map(|one| one.diameter_mm).sum::<f64>() / n;
    let mean_cos = waves.iter().map(|(cos, _)| cos).sum::<f64>() / n;
    let mean_sin = waves.iter().map(|(_, sin)| sin).sum::<f64>() / n;
    // Sums about the means: D₀ then drops out of the two equations for c and s.
    let (mut cc, mut cs, mut ss, mut cd, mut sd) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (one, (cos, sin)) in station.diameters.iter().zip(&waves) {
        let (cos, sin, diameter) =
            (cos - mean_cos, sin - mean_sin, one.diameter_mm - mean_diameter);
        cc += cos * cos;
        cs += cos * sin;
        ss += sin * sin;
        cd += cos * diameter;
        sd += sin * diameter;
    }
    let det = cc * ss - cs * cs;
    // Three directions half a degree apart come to about this: no hand turns a tube so finely.
    if station.diameters.len() < 3 || det <= 1e-12 * n * n {
        return None;
    }
    let c = (cd * ss - sd * cs) / det;
    let s = (sd * cc - cd * cs) / det;
    let mean_mm = mean_diameter - c * mean_cos - s * mean_sin;
    let squares: f64 = station
        .diameters
        .iter()
        .zip(&waves)
        .map(|(one, (cos, sin))| (one.diameter_mm - mean_mm - c * cos - s * sin).powi(2))
        .sum();
    let residual_sd = if n > 3.0 { (squares / (n - 3.0)).sqrt() } else { 0.0 };
    let scatter = residual_sd.max(gauge.step_sd_mm());
    // The mean's own element of (XᵀX)⁻¹, from the same sums.
    let share = 1.0 / n
        + (mean_cos * mean_cos * ss - 2.0 * mean_cos * mean_sin * cs + mean_sin * mean_sin * cc)
            / det;
    Some(Section {
        at_mm: station.at_mm,
        mean_mm,
        ovality_mm: 2.0 * c.hypot(s),
        long_axis_deg: direction_of(s.atan2(c).to_degrees() / 2.0),
        u_mm: (gauge.u_mm.powi(2) + scatter * scatter * share).sqrt(),
    })
}

/// The same direction from 0 up to but not including 180°.
fn direction_of(deg: f64) -> f64 {
    let turned = deg.rem_euclid(180.0);
    // A hair below 0 comes out as 180 itself.
    if turned < 180.0 { turned } else { 0.0 }
}

/// The tube at `at_mm`, linearly between its stations; `None` outside them.
fn between(sections: &[Section], at_mm: f64) -> Option<Section> {
    let after = sections.partition_point(|one| one.at_mm < at_mm);
    let right = sections.get(after)?;
    if right.at_mm <= at_mm {
        return Some(*right);
    }
    let left = sections.get(after.checked_sub(1)?)?;
    let part = (at_mm - left.at_mm) / (right.at_mm - left.at_mm);
    let mix = |from: f64, to: f64| from + part * (to - from);
    Some(Section {
        at_mm,
        mean_mm: mix(left.mean_mm, right.mean_mm),
        ovality_mm: mix(left.ovality_mm, right.ovality_mm),
        long_axis_deg: left.long_axis_deg,
        u_mm: mix(left.u_mm, right.u_mm),
    })
}

fn clearance(inner: &Section, outer: &Section) -> Clearance {
    let mean = outer.mean_mm - inner.mean_mm;
    Clearance {
        at_mm: inner.at_mm,
        mean_clearance_mm: mean,
        least_clearance_mm: mean - f64::midpoint(outer.ovality_mm, inner.ovality_mm),
        u_mm: outer.u_mm.hypot(inner.u_mm),
    }
}

pub(super) fn answer(reading: &mut Reading, input: &Node<'_>) -> Result<Value, Refused> {
    let measured = read(reading, input);
    reading.done()?;
    let mut answer = json!(slide_fit(&measured).map_err(refusal)?);
    answer["notes"] = json!([LOBES_NOTE]);
    Ok(answer)
}

/// What an input says was measured; faults and defaults are noted in `reading`.
pub(in crate::bench) fn read(reading: &mut Reading, input: &Node<'_>) -> MeasuredSlide {
    reading.object(input, &["kind", "inner", "outer", "inner_gauge", "outer_gauge", "limits_mm"]);
    MeasuredSlide {
        inner: read_stations(reading, input, "inner"),
        outer: read_stations(reading, input, "outer"),
        inner_gauge: Gauge::read(reading, input, "inner_gauge", MICROMETER),
        outer_gauge: Gauge::read(reading, input, "outer_gauge", BORE_GAUGE),
        limits_mm: Some(read_limits(reading, input)),
    }
}

/// Why there is no answer, with what to measure instead.
pub(in crate::bench) fn refusal(error: SlideError) -> Refused {
    match error {
        SlideError::NoOverlap => Refused::new("no-overlap")
            .at("/outer", "has no length in common with the inner tube's stations"),
        SlideError::TooFewDirections => {
            Refused::new("invalid-input").at("/inner", TOO_FEW_DIRECTIONS)
        }
    }
}

const TOO_FEW_DIRECTIONS: &str = "does not tell an ellipse; measure in three directions or more, all different (180° on is the same direction)";

fn read_stations(reading: &mut Reading, input: &Node<'_>, key: &str) -> Vec<Station> {
    let mut stations: Vec<Station> = Vec::new();
    for node in entries(reading, input, key, 1) {
        if reading.object(&node, &["at_mm", "diameters"]).is_none() {
            continue;
        }
        let at_mm = reading.number(&node, "at_mm", PLACES_MM);
        let faults_before = reading.faults.len();
        let diameters: Vec<Diameter> = entries(reading, &node, "diameters", 3)
            .iter()
            .filter_map(|one| {
                reading.object(one, &["angle_deg", "diameter_mm"])?;
                let angle_deg = reading.number(one, "angle_deg", -360.0..=360.0);
                let diameter_mm = reading.number(one, "diameter_mm", DIAMETERS_MM);
                Some(Diameter { angle_deg: angle_deg?, diameter_mm: diameter_mm? })
            })
            .collect();
        let station = Station { at_mm: at_mm.unwrap_or(f64::NAN), diameters };
        if stations.last().is_some_and(|before| station.at_mm <= before.at_mm) {
            reading.fault(node.below("at_mm"), "must lie farther along than the station before");
        }
        if reading.faults.len() == faults_before && section(&station, &MICROMETER).is_none() {
            reading.fault(node.below("diameters"), TOO_FEW_DIRECTIONS);
        }
        stations.push(station);
    }
    stations
}

fn read_limits(reading: &mut Reading, input: &Node<'_>) -> [f64; 3] {
    if input.get("limits_mm").is_none() {
        reading.defaulted.push(input.below("limits_mm"));
        return TYPICAL_LIMITS_MM;
    }
    let limits: Vec<f64> = reading
        .list(input, "limits_mm")
        .iter()
        .filter_map(|node| reading.number_at(node, 0.0..=10.0))
        .collect();
    match <[f64; 3]>::try_from(limits) {
        Ok(limits) if limits[0] < limits[1] && limits[1] < limits[2] => limits,
        _ => {
            reading.fault(
                input.below("limits_mm"),
                "must be three rising numbers: tight, slightly tight, free",
            );
            TYPICAL_LIMITS_MM
        }
    }
}
