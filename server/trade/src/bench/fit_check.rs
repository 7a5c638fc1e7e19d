//! A fit measured on an order: the tools and limits of the shop, clearance or taper with its
//! uncertainty, roundness, and the verdict where the shop has limits for that kind.

use super::fit::circle::{self, Circle};
use super::fit::shank::{self, ShankFit, ShankStation, TYPICAL_TOLERANCE};
use super::fit::slide::{self, FitVerdict, SlideFit, Station};
use super::fit::{Gauge, LOBES_NOTE};
use super::shop_limits::{FitKind, GaugeKind, TestSettings};
use crate::calculation::{Node, Reading, Refused};
use crate::words::spelling::spelt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

/// The tool that was used: by name, as the shop has set it, or by what it can do.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GaugeUsed {
    /// Which of the shop's tools.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<GaugeKind>,
    /// Standard uncertainty, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_mm: Option<f64>,
    /// Smallest step, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution_mm: Option<f64>,
}

/// What was measured. A slide, hand slide, valve or tenon: `inner` and `outer`. A shank:
/// `stations`. Roundness all round: `points_mm`, alone or beside.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FitMeasured {
    /// Outside of the inner tube, places rising.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inner: Option<Vec<Station>>,
    /// Bore of the outer tube, from the same zero, places rising.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outer: Option<Vec<Station>>,
    /// The tool on the inner tube; the shop's micrometer if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inner_gauge: Option<GaugeUsed>,
    /// The tool in the outer tube; the shop's bore gauge if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outer_gauge: Option<GaugeUsed>,
    /// Diameters along a shank, from the end that insertion is counted from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stations: Option<Vec<ShankStation>>,
    /// The tool on the shank; the shop's calliper if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<GaugeUsed>,
    /// Wanted taper of this shank, mm per mm; the shop's if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_taper_mm_per_mm: Option<f64>,
    /// How far it may be off, mm per mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance_mm_per_mm: Option<f64>,
    /// Diameter of the receiver at its mouth, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receiver_diameter_mm: Option<f64>,
    /// Points all round one section, x and y, mm; three at least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub points_mm: Option<Vec<[f64; 2]>>,
}

spelt! {
    /// Where a value comes from.
    TakenFrom {
        /// It was given with this measurement.
        Given = "given",
        /// The shop has set it.
        Shop = "shop",
        /// Typical, from memory or common practice.
        Typical = "typical",
    }
}

/// What a tool was taken to be able to do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GaugeTaken {
    /// Standard uncertainty, mm.
    pub u_mm: f64,
    /// Smallest step, mm.
    pub resolution_mm: f64,
    /// Where that comes from.
    pub from: TakenFrom,
}

spelt! {
    /// What a fit check says.
    FitWord {
        /// It does not go in.
        Interference = "interference",
        /// Tight.
        Tight = "tight",
        /// Slightly tight.
        SlightlyTight = "slightly_tight",
        /// Free.
        Free = "free",
        /// Loose.
        Loose = "loose",
        /// The taper is the wanted one.
        Matches = "matches",
        /// It is another.
        Differs = "differs",
        /// The measurement cannot tell.
        NotDecidable = "not_decidable",
    }
}

/// What a fit check says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FitAnswer {
    /// The verdict; none for a kind whose limits the shop has not set.
    pub verdict: Option<FitWord>,
    /// Every verdict that the uncertainty allows.
    pub could_be: Vec<FitWord>,
    /// Clearance of one tube in another, with its sections.
    pub slide: Option<SlideFit>,
    /// Taper of a shank.
    pub shank: Option<ShankFit>,
    /// Roundness all round.
    pub circle: Option<Circle>,
    /// Tight, slightly tight and free up to here, mm.
    pub limits_mm: Option<[f64; 3]>,
    /// Where the limits or the wanted taper come from; none when there are none.
    pub limits_from: Option<TakenFrom>,
    /// The tool on the inner tube, as taken.
    pub inner_gauge: Option<GaugeTaken>,
    /// The tool in the outer tube, as taken.
    pub outer_gauge: Option<GaugeTaken>,
    /// The tool on the shank, as taken.
    pub gauge: Option<GaugeTaken>,
    /// What the technician should know.
    pub notes: Vec<String>,
    /// Pointers of inputs that were left out and took the shop's or a typical value.
    pub defaulted: Vec<String>,
}

impl FitAnswer {
    fn empty() -> Self {
        Self {
            verdict: None,
            could_be: Vec::new(),
            slide: None,
            shank: None,
            circle: None,
            limits_mm: None,
            limits_from: None,
            inner_gauge: None,
            outer_gauge: None,
            gauge: None,
            notes: Vec::new(),
            defaulted: Vec::new(),
        }
    }
}

fn word_of(verdict: FitVerdict) -> FitWord {
    match verdict {
        FitVerdict::Interference => FitWord::Interference,
        FitVerdict::Tight => FitWord::Tight,
        FitVerdict::SlightlyTight => FitWord::SlightlyTight,
        FitVerdict::Free => FitWord::Free,
        FitVerdict::Loose => FitWord::Loose,
    }
}

impl FitMeasured {
    /// Reckons a fit of this kind in a shop with these settings.
    ///
    /// # Errors
    /// As the computation's own, with pointers into what was measured.
    /// Source: COMPUTATIONS.md, fit.
    pub fn reckon(&self, kind: FitKind, shop: &TestSettings) -> Result<FitAnswer, Refused> {
        let mut answer = FitAnswer::empty();
        let mut amiss = Reading::default();
        let is_shank = kind == FitKind::Shank;
        let misplaced = |given: bool, pointer: &str, belongs: &str, amiss: &mut Reading| {
            if given {
                amiss.fault(pointer, format!("belongs to {belongs}; leave it out"));
            }
        };
        let tubes = "a slide, valve or tenon";
        misplaced(is_shank && self.inner.is_some(), "/inner", tubes, &mut amiss);
        misplaced(is_shank && self.outer.is_some(), "/outer", tubes, &mut amiss);
        misplaced(is_shank && self.inner_gauge.is_some(), "/inner_gauge", tubes, &mut amiss);
        misplaced(is_shank && self.outer_gauge.is_some(), "/outer_gauge", tubes, &mut amiss);
        misplaced(!is_shank && self.stations.is_some(), "/stations", "a shank", &mut amiss);
        misplaced(!is_shank && self.gauge.is_some(), "/gauge", "a shank", &mut amiss);
        misplaced(!is_shank && self.receiver_diameter_mm.is_some(), "/receiver_diameter_mm", "a shank", &mut amiss);
        misplaced(!is_shank && self.target_taper_mm_per_mm.is_some(), "/target_taper_mm_per_mm", "a shank", &mut amiss);
        misplaced(!is_shank && self.tolerance_mm_per_mm.is_some(), "/tolerance_mm_per_mm", "a shank", &mut amiss);
        amiss.done()?;
        let has_tubes = self.inner.is_some() || self.outer.is_some();
        if is_shank && (self.stations.is_some() || self.points_mm.is_none()) {
            self.shank(shop, &mut answer)?;
        } else if !is_shank && (has_tubes || self.points_mm.is_none()) {
            self.tubes(kind, shop, &mut answer)?;
        }
        if let Some(points) = &self.points_mm {
            answer.circle = Some(circle::circle_from(&json!({ "points_mm": points }))?);
        }
        if answer.slide.is_some() || answer.circle.is_some() {
            answer.notes.push(LOBES_NOTE.to_owned());
        }
        Ok(answer)
    }

    fn tubes(&self, kind: FitKind, shop: &TestSettings, answer: &mut FitAnswer) -> Result<(), Refused> {
        let inner_gauge = taken(self.inner_gauge.as_ref(), "/inner_gauge", GaugeKind::Micrometer, shop, &mut answer.defaulted)?;
        let outer_gauge = taken(self.outer_gauge.as_ref(), "/outer_gauge", GaugeKind::BoreGauge, shop, &mut answer.defaulted)?;
        let input = json!({
            "inner": self.inner,
            "outer": self.outer,
            "inner_gauge": plain(&inner_gauge),
            "outer_gauge": plain(&outer_gauge),
        });
        let mut reading = Reading::default();
        let mut measured = slide::read(&mut reading, &Node::root(&input));
        reading.done()?;
        let limits = shop.clearances(kind);
        measured.limits_mm = limits.map(|(limits, _)| limits);
        let fit = slide::slide_fit(&measured).map_err(slide::refusal)?;
        answer.verdict = fit.verdict.map(word_of);
        answer.could_be = fit.could_be.iter().copied().map(word_of).collect();
        answer.limits_mm = measured.limits_mm;
        answer.limits_from = limits.map(|(_, is_own)| if is_own { TakenFrom::Shop } else { TakenFrom::Typical });
        answer.defaulted.push("/limits_mm".to_owned());
        match answer.limits_from {
            None => answer.notes.push(
                "no limits are set for this kind of fit: clearance is shown without a verdict; set them after measuring good ones of your own"
                    .to_owned(),
            ),
            Some(TakenFrom::Typical) => {
                answer.notes.push("the limits are typical for a tuning slide, common practice, no source".to_owned());
            }
            Some(TakenFrom::Given | TakenFrom::Shop) => {}
        }
        if answer.could_be.len() > 1 {
            answer.notes.push("the measurement leaves more than one verdict open: a finer tool or more stations tell more".to_owned());
        }
        answer.slide = Some(fit);
        answer.inner_gauge = Some(inner_gauge);
        answer.outer_gauge = Some(outer_gauge);
        Ok(())
    }

    fn shank(&self, shop: &TestSettings, answer: &mut FitAnswer) -> Result<(), Refused> {
        let gauge = taken(self.gauge.as_ref(), "/gauge", GaugeKind::Calliper, shop, &mut answer.defaulted)?;
        let own = shop.taper();
        let (target, limits_from) = match (self.target_taper_mm_per_mm, own.and_then(|own| own.target_taper_mm_per_mm)) {
            (Some(given), _) => (Some(given), Some(TakenFrom::Given)),
            (None, Some(own)) => (Some(own), Some(TakenFrom::Shop)),
            (None, None) => (None, None),
        };
        if self.target_taper_mm_per_mm.is_none() {
            answer.defaulted.push("/target_taper_mm_per_mm".to_owned());
        }
        let tolerance = self.tolerance_mm_per_mm.unwrap_or_else(|| {
            answer.defaulted.push("/tolerance_mm_per_mm".to_owned());
            own.and_then(|own| own.tolerance_mm_per_mm).unwrap_or(TYPICAL_TOLERANCE)
        });
        let input = json!({
            "stations": self.stations,
            "gauge": plain(&gauge),
            "target_taper_mm_per_mm": target,
            "tolerance_mm_per_mm": tolerance,
            "receiver_diameter_mm": self.receiver_diameter_mm,
        });
        let mut reading = Reading::default();
        let mut measured = shank::read(&mut reading, &Node::root(&input));
        reading.done()?;
        measured.target_taper = target;
        let fit = shank::shank_fit(&measured).map_err(shank::refusal)?;
        answer.verdict = fit.verdict.map(|verdict| match verdict {
            shank::TaperVerdict::Matches => FitWord::Matches,
            shank::TaperVerdict::Differs => FitWord::Differs,
            shank::TaperVerdict::NotDecidable => FitWord::NotDecidable,
        });
        answer.could_be = match answer.verdict {
            Some(FitWord::NotDecidable) => vec![FitWord::Matches, FitWord::Differs],
            Some(verdict) => vec![verdict],
            None => Vec::new(),
        };
        if target.is_none() {
            answer.notes.push(
                "no taper is set for shanks: the taper is shown without a verdict; Morse 0, 1 in 19.212, is common for trumpet mouthpieces (from memory)"
                    .to_owned(),
            );
        }
        answer.limits_from = limits_from;
        answer.shank = Some(fit);
        answer.gauge = Some(gauge);
        Ok(())
    }
}

fn plain(gauge: &GaugeTaken) -> Value {
    json!({ "u_mm": gauge.u_mm, "resolution_mm": gauge.resolution_mm })
}

/// What a tool can do: as given, as the shop has set it, or typical.
fn taken(
    used: Option<&GaugeUsed>,
    pointer: &str,
    usual: GaugeKind,
    shop: &TestSettings,
    defaulted: &mut Vec<String>,
) -> Result<GaugeTaken, Refused> {
    let (named, u_mm, resolution_mm) = used.map_or((None, None, None), |used| (used.gauge, used.u_mm, used.resolution_mm));
    for (value, field) in [(u_mm, "u_mm"), (resolution_mm, "resolution_mm")] {
        if value.is_some_and(|value| !(0.0..=10.0).contains(&value)) {
            return Err(Refused::new("invalid-input").at(format!("{pointer}/{field}"), "must lie between 0 and 10 mm"));
        }
    }
    if let (Some(u_mm), Some(resolution_mm)) = (u_mm, resolution_mm) {
        return Ok(GaugeTaken { u_mm, resolution_mm, from: TakenFrom::Given });
    }
    defaulted.push(pointer.to_owned());
    let (Gauge { u_mm: own_u, resolution_mm: own_resolution }, is_own) = shop.gauge(named.unwrap_or(usual));
    Ok(GaugeTaken {
        u_mm: u_mm.unwrap_or(own_u),
        resolution_mm: resolution_mm.unwrap_or(own_resolution),
        from: if is_own { TakenFrom::Shop } else { TakenFrom::Typical },
    })
}

impl FitAnswer {
    /// The answer in a few words: `slightly tight, 0.041 ± 0.014 mm`.
    #[must_use]
    pub fn words(&self) -> String {
        let verdict = self.verdict.map(|verdict| verdict.to_string().replace('_', " "));
        let measured = match (&self.slide, &self.shank, &self.circle) {
            (Some(slide), _, _) => {
                Some(format!("clearance {:.3} ± {:.3} mm", slide.least_clearance_mm, slide.expanded_uncertainty_mm))
            }
            (_, Some(shank), _) => Some(format!("taper {:.5} ± {:.5}", shank.taper_mm_per_mm, 2.0 * shank.u_taper_mm_per_mm)),
            (_, _, Some(circle)) => Some(format!("out of round by {:.3} mm", circle.roundness_mm)),
            (None, None, None) => None,
        };
        [verdict, measured].into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}
