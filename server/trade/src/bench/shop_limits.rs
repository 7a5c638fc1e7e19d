//! What a shop has set for its tests: leak limits, volumes, limits of fit, and what its gauges can do.

use crate::bench::fit::slide::TYPICAL_LIMITS_MM;
use crate::bench::fit::{BORE_GAUGE, CALLIPER, Gauge, MICROMETER};
use crate::calculation::Fault;
use crate::words::instrument::Family;
use crate::words::spelling::spelt;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

spelt! {
    /// What kind of fit is measured.
    FitKind {
        /// A tuning slide.
        TuningSlide = "tuning_slide",
        /// A hand slide.
        HandSlide = "hand_slide",
        /// A valve in its casing.
        Valve = "valve",
        /// A mouthpiece shank in its receiver.
        Shank = "shank",
        /// A tenon with cork in its socket.
        TenonWithCork = "tenon_with_cork",
    }
}

spelt! {
    /// A tool that diameters are measured with.
    GaugeKind {
        /// A calliper.
        Calliper = "calliper",
        /// A micrometer.
        Micrometer = "micrometer",
        /// A bore gauge.
        BoreGauge = "bore_gauge",
    }
}

spelt! {
    /// How the valves were when a limit was found.
    Valves {
        /// Without oil.
        Dry = "dry",
        /// With oil.
        Oiled = "oiled",
    }
}

/// The largest leak rate that the shop passes for a family.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LeakLimit {
    /// Which family.
    pub family: Family,
    /// The limit, Pa·m³/s.
    pub limit_pa_m3_s: f64,
    /// How many good instruments of the shop's own it rests on.
    #[serde(default)]
    pub instrument_count: Option<u32>,
    /// Whether their valves were dry or oiled.
    #[serde(default)]
    pub valves: Option<Valves>,
}

/// The air space that the shop takes for a family whose instrument was not measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FamilyVolume {
    /// Which family.
    pub family: Family,
    /// The closed bore with fittings, m³.
    pub volume_m3: f64,
    /// Its standard uncertainty, m³; a twentieth of the volume if left out.
    #[serde(default)]
    pub volume_u_m3: Option<f64>,
}

/// The largest clearances that are tight, slightly tight and free.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FitLimits {
    /// Of which kind of fit.
    pub fit_kind: FitKind,
    /// Tight, slightly tight and free up to here, mm, rising. For a shank leave it out.
    #[serde(default)]
    pub limits_mm: Option<[f64; 3]>,
    /// For a shank: the wanted rise of diameter per length, mm per mm.
    #[serde(default)]
    pub target_taper_mm_per_mm: Option<f64>,
    /// For a shank: how far it may be off, mm per mm.
    #[serde(default)]
    pub tolerance_mm_per_mm: Option<f64>,
}

/// What one of the shop's tools can do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopGauge {
    /// Which tool.
    pub gauge: GaugeKind,
    /// Standard uncertainty, mm.
    pub u_mm: f64,
    /// Smallest step, mm.
    pub resolution_mm: f64,
}

/// What the shop's pressure gauge can do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PressureGauge {
    /// Smallest step, Pa.
    pub resolution_pa: f64,
    /// Standard uncertainty of its scale, as a part of the reading.
    pub gain_u_rel: f64,
}

/// Everything a shop has set for its tests; what it has not set is left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TestSettings {
    /// Leak limits, one per family. Without one the rate is shown and there is no verdict.
    #[serde(default)]
    pub leak_limits: Vec<LeakLimit>,
    /// Volumes, one per family.
    #[serde(default)]
    pub volumes: Vec<FamilyVolume>,
    /// Limits of fit, one per kind.
    #[serde(default)]
    pub fit_limits: Vec<FitLimits>,
    /// Tools, one per kind.
    #[serde(default)]
    pub gauges: Vec<ShopGauge>,
    /// The pressure gauge.
    #[serde(default)]
    pub pressure_gauge: Option<PressureGauge>,
    /// The temperature that leak rates are stated at, °C; 20 if left out.
    #[serde(default)]
    pub reference_c: Option<f64>,
}

/// Largest believable leak limit, Pa·m³/s: 600 ml of air a minute.
const LARGEST_LIMIT: f64 = 1.0;

impl TestSettings {
    /// What is wrong with the settings, each below `at`.
    #[must_use]
    pub fn faults(&self, at: &str) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut wrong = |pointer: String, message: &str| {
            faults.push(Fault { pointer: format!("{at}/{pointer}"), message: message.to_owned() });
        };
        let within = |value: f64, least: f64, most: f64| value > least && value <= most;
        for (index, limit) in self.leak_limits.iter().enumerate() {
            let own = format!("leak_limits/{index}");
            if self.leak_limits[..index].iter().any(|other| other.family == limit.family) {
                wrong(format!("{own}/family"), "is there already; each family has one limit");
            }
            if !within(limit.limit_pa_m3_s, 0.0, LARGEST_LIMIT) {
                wrong(format!("{own}/limit_pa_m3_s"), "must be above 0 and at most 1 Pa·m³/s");
            }
            if limit.instrument_count.is_some_and(|count| count > 100_000) {
                wrong(format!("{own}/instrument_count"), "is more instruments than a shop has had on its bench");
            }
        }
        for (index, volume) in self.volumes.iter().enumerate() {
            let own = format!("volumes/{index}");
            if self.volumes[..index].iter().any(|other| other.family == volume.family) {
                wrong(format!("{own}/family"), "is there already; each family has one volume");
            }
            if !(1e-6..=0.1).contains(&volume.volume_m3) {
                wrong(format!("{own}/volume_m3"), "must lie between 0.000001 and 0.1 m³ (a millilitre and 100 litres)");
            }
            if volume.volume_u_m3.is_some_and(|u| !(0.0..=0.1).contains(&u)) {
                wrong(format!("{own}/volume_u_m3"), "must lie between 0 and 0.1 m³");
            }
        }
        for (index, fit) in self.fit_limits.iter().enumerate() {
            let own = format!("fit_limits/{index}");
            if self.fit_limits[..index].iter().any(|other| other.fit_kind == fit.fit_kind) {
                wrong(format!("{own}/fit_kind"), "is there already; each kind has its limits once");
            }
            let is_shank = fit.fit_kind == FitKind::Shank;
            match fit.limits_mm {
                Some(_) if is_shank => wrong(format!("{own}/limits_mm"), "a shank has a taper; give target_taper_mm_per_mm"),
                Some([tight, slightly, free]) if !(0.0 <= tight && tight < slightly && slightly < free && free <= 10.0) => {
                    wrong(format!("{own}/limits_mm"), "must be three rising numbers from 0 to 10 mm: tight, slightly tight, free");
                }
                None if !is_shank => wrong(format!("{own}/limits_mm"), "is missing; give tight, slightly tight and free in mm"),
                _ => {}
            }
            match fit.target_taper_mm_per_mm {
                Some(_) if !is_shank => wrong(format!("{own}/target_taper_mm_per_mm"), "is for a shank only"),
                Some(taper) if !(-1.0..=1.0).contains(&taper) => {
                    wrong(format!("{own}/target_taper_mm_per_mm"), "must lie between -1 and 1 mm per mm");
                }
                None if is_shank => wrong(format!("{own}/target_taper_mm_per_mm"), "is missing; Morse 0 is 0.05205"),
                _ => {}
            }
            if fit.tolerance_mm_per_mm.is_some_and(|tolerance| !is_shank || !(0.0..=1.0).contains(&tolerance)) {
                wrong(format!("{own}/tolerance_mm_per_mm"), "is for a shank, from 0 to 1 mm per mm");
            }
        }
        for (index, gauge) in self.gauges.iter().enumerate() {
            let own = format!("gauges/{index}");
            if self.gauges[..index].iter().any(|other| other.gauge == gauge.gauge) {
                wrong(format!("{own}/gauge"), "is there already; each tool stands once");
            }
            if !within(gauge.u_mm, 0.0, 1.0) {
                wrong(format!("{own}/u_mm"), "must be above 0 and at most 1 mm");
            }
            if !(0.0..=1.0).contains(&gauge.resolution_mm) {
                wrong(format!("{own}/resolution_mm"), "must lie between 0 and 1 mm");
            }
        }
        if let Some(gauge) = &self.pressure_gauge {
            if !(0.0..=1_000.0).contains(&gauge.resolution_pa) {
                wrong("pressure_gauge/resolution_pa".to_owned(), "must lie between 0 and 1000 Pa");
            }
            if !(0.0..=0.5).contains(&gauge.gain_u_rel) {
                wrong("pressure_gauge/gain_u_rel".to_owned(), "must lie between 0 and 0.5");
            }
        }
        if self.reference_c.is_some_and(|reference| !(-20.0..=50.0).contains(&reference)) {
            wrong("reference_c".to_owned(), "must lie between -20 and 50 °C");
        }
        faults
    }

    /// The shop's leak limit for a family, Pa·m³/s.
    #[must_use]
    pub fn leak_limit(&self, family: Family) -> Option<f64> {
        self.leak_limits.iter().find(|limit| limit.family == family).map(|limit| limit.limit_pa_m3_s)
    }

    /// The shop's own volume for a family.
    #[must_use]
    pub fn volume(&self, family: Family) -> Option<&FamilyVolume> {
        self.volumes.iter().find(|volume| volume.family == family)
    }

    /// The limits of a kind of fit: the shop's own, or the typical ones of a tuning slide; the
    /// second says whether they are the shop's.
    #[must_use]
    pub fn clearances(&self, kind: FitKind) -> Option<([f64; 3], bool)> {
        let own = self.fit_limits.iter().find(|limits| limits.fit_kind == kind).and_then(|limits| limits.limits_mm);
        own.map(|limits| (limits, true)).or((kind == FitKind::TuningSlide).then_some((TYPICAL_LIMITS_MM, false)))
    }

    /// The shop's own wanted taper of a shank.
    #[must_use]
    pub fn taper(&self) -> Option<&FitLimits> {
        self.fit_limits.iter().find(|limits| limits.fit_kind == FitKind::Shank)
    }

    /// What a tool can do; the second says whether the shop has said so.
    #[must_use]
    pub fn gauge(&self, kind: GaugeKind) -> (Gauge, bool) {
        let own = self.gauges.iter().find(|gauge| gauge.gauge == kind);
        own.map_or((typical_gauge(kind), false), |own| (Gauge { u_mm: own.u_mm, resolution_mm: own.resolution_mm }, true))
    }
}

/// What such a tool usually can do (from memory).
#[must_use]
pub fn typical_gauge(kind: GaugeKind) -> Gauge {
    match kind {
        GaugeKind::Calliper => CALLIPER,
        GaugeKind::Micrometer => MICROMETER,
        GaugeKind::BoreGauge => BORE_GAUGE,
    }
}

/// The air space of an instrument of this family, closed with bungs for a test, m³. Typical, from
/// memory, for the commonest member of each family; none for what has no common size.
#[must_use]
pub fn typical_volume_m3(family: Family) -> Option<f64> {
    let litres = match family {
        Family::Trumpet | Family::Cornet => 0.25,
        Family::Flugelhorn => 0.4,
        Family::Horn | Family::Trombone => 1.0,
        Family::Baritone => 2.6,
        Family::Tuba => 10.0,
        Family::Flute => 0.17,
        Family::Clarinet => 0.12,
        Family::Oboe => 0.05,
        Family::Bassoon => 1.1,
        Family::Saxophone => 1.2,
        Family::Other => return None,
    };
    Some(litres / 1_000.0)
}
