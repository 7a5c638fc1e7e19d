//! Taper of a mouthpiece shank, and how far it goes into its receiver.

use super::{CALLIPER, DIAMETERS_MM, Gauge, PLACES_MM, entries};
use crate::bench::straight_line::StraightLine;
use crate::calculation::{Node, Reading, Refused};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

/// Morse taper 0, 1 in 19.212 (from memory): common for trumpet mouthpiece shanks.
pub const TYPICAL_TAPER: f64 = 0.05205;
/// How far a taper may be off, mm per mm (common practice, no source).
pub const TYPICAL_TOLERANCE: f64 = 0.0005;
/// A taper nearer to none than this is none: a nanometre over a metre.
const NO_TAPER: f64 = 1e-12;

/// A diameter at one place along a shank.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShankStation {
    /// Where, mm.
    pub at_mm: f64,
    /// Diameter, mm.
    pub diameter_mm: f64,
}

/// A shank as measured and what it should be.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredShank {
    /// At least two places that differ; the first is the end that insertion is counted from.
    pub stations: Vec<ShankStation>,
    /// The tool used.
    pub gauge: Gauge,
    /// Wanted rise of diameter per length, mm/mm; negative when measured from the large end. A
    /// shop that has set none gets no verdict.
    pub target_taper: Option<f64>,
    /// How far it may be off, mm/mm.
    pub tolerance: f64,
    /// Diameter of the receiver at its mouth, mm.
    pub receiver_diameter_mm: Option<f64>,
}

/// Whether a taper is the wanted one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum TaperVerdict {
    /// It is, with what is not known.
    Matches,
    /// It is not, whatever is not known.
    Differs,
    /// The measurement cannot tell.
    NotDecidable,
}

/// A shank's taper.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ShankFit {
    /// Rise of diameter per length, mm/mm.
    pub taper_mm_per_mm: f64,
    /// Its standard uncertainty, mm/mm.
    pub u_taper_mm_per_mm: f64,
    /// Length per rise of diameter; none without taper.
    pub one_in: Option<f64>,
    /// The larger end by the fit, mm.
    pub large_end_mm: f64,
    /// Taper less wanted taper, mm/mm; none when none is wanted.
    pub deviation_mm_per_mm: Option<f64>,
    /// Spread of the diameters about the straight taper, mm.
    pub straightness_mm: f64,
    /// Whether it is the wanted taper; none when none is wanted.
    pub verdict: Option<TaperVerdict>,
    /// How far it goes into the receiver, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub insertion_mm: Option<f64>,
    /// Standard uncertainty of that, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_insertion_mm: Option<f64>,
}

/// Why a shank has no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShankError {
    /// Fewer than two places that differ.
    NoLength,
    /// Without a taper there is no telling how far it goes in.
    NoTaper,
}

/// Taper of a shank by a straight line through its diameters.
///
/// # Errors
/// [`ShankError`].
/// Source: COMPUTATIONS.md, fit.
pub fn shank_fit(measured: &MeasuredShank) -> Result<ShankFit, ShankError> {
    let points = measured.stations.iter().map(|one| (one.at_mm, one.diameter_mm));
    let line = StraightLine::through(points.clone()).ok_or(ShankError::NoLength)?;
    let taper = line.slope;
    let has_taper = taper.abs() > NO_TAPER;
    let scatter = line.residual_sd.max(measured.gauge.step_sd_mm());
    let u_taper = scatter / line.s_xx.sqrt();
    let deviation = measured.target_taper.map(|target| taper - target);
    let off = points.clone().map(|(at, diameter)| diameter - line.at(at));
    let (lowest, highest) =
        off.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), one| (l.min(one), h.max(one)));

    let insertion = match (measured.receiver_diameter_mm, measured.stations.first()) {
        (Some(_), _) if !has_taper => return Err(ShankError::NoTaper),
        (Some(receiver), Some(first)) => {
            let at = line.mean_x + (receiver - line.mean_y) / taper;
            let u = (measured.gauge.u_mm.powi(2) + scatter * scatter * line.leverage(at)).sqrt()
                / taper.abs();
            Some(((at - first.at_mm).abs(), u))
        }
        _ => None,
    };
    Ok(ShankFit {
        taper_mm_per_mm: taper,
        u_taper_mm_per_mm: u_taper,
        one_in: has_taper.then(|| 1.0 / taper),
        large_end_mm: points.map(|(at, _)| line.at(at)).fold(f64::NEG_INFINITY, f64::max),
        deviation_mm_per_mm: deviation,
        straightness_mm: highest - lowest,
        verdict: deviation.map(|off| verdict(off.abs(), 2.0 * u_taper, measured.tolerance)),
        insertion_mm: insertion.map(|(depth, _)| depth),
        u_insertion_mm: insertion.map(|(_, u)| u),
    })
}

fn verdict(deviation: f64, expanded: f64, tolerance: f64) -> TaperVerdict {
    if deviation + expanded <= tolerance {
        TaperVerdict::Matches
    } else if deviation - expanded > tolerance {
        TaperVerdict::Differs
    } else {
        TaperVerdict::NotDecidable
    }
}

pub(super) fn answer(reading: &mut Reading, input: &Node<'_>) -> Result<Value, Refused> {
    let measured = read(reading, input);
    reading.done()?;
    Ok(json!(shank_fit(&measured).map_err(refusal)?))
}

/// What an input says was measured; faults and defaults are noted in `reading`.
pub(in crate::bench) fn read(reading: &mut Reading, input: &Node<'_>) -> MeasuredShank {
    reading.object(
        input,
        &[
            "kind",
            "stations",
            "gauge",
            "target_taper_mm_per_mm",
            "tolerance_mm_per_mm",
            "receiver_diameter_mm",
        ],
    );
    let stations: Vec<ShankStation> = entries(reading, input, "stations", 2)
        .iter()
        .filter_map(|node| {
            reading.object(node, &["at_mm", "diameter_mm"])?;
            let at_mm = reading.number(node, "at_mm", PLACES_MM);
            let diameter_mm = reading.number(node, "diameter_mm", DIAMETERS_MM);
            Some(ShankStation { at_mm: at_mm?, diameter_mm: diameter_mm? })
        })
        .collect();
    MeasuredShank {
        stations,
        gauge: Gauge::read(reading, input, "gauge", CALLIPER),
        target_taper: Some(reading.number_or(input, "target_taper_mm_per_mm", -1.0..=1.0, TYPICAL_TAPER)),
        tolerance: reading.number_or(input, "tolerance_mm_per_mm", 0.0..=1.0, TYPICAL_TOLERANCE),
        receiver_diameter_mm: reading.number_if(input, "receiver_diameter_mm", DIAMETERS_MM),
    }
}

/// Why there is no answer, with what to measure instead.
pub(in crate::bench) fn refusal(error: ShankError) -> Refused {
    match error {
        ShankError::NoLength => Refused::new("invalid-input")
            .at("/stations", "all lie at one place; measure at two or more"),
        ShankError::NoTaper => Refused::new("not-computable")
            .at("/stations", "have no taper, so there is no telling how far the shank goes in"),
    }
}
