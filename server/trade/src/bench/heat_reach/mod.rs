//! `heat-reach`: how hot each joint gets when one place is brazed.
//!
//! One temperature per cross-section of thin metal, heat conducted along tubes that
//! meet at nodes, lost to air, water, rags and clamps. Two runs, with typical and with
//! cautious values: their difference is the stated uncertainty. COMPUTATIONS.md,
//! section 1.
//!
//! * `model`: the question and its check. Read this first.
//! * `surface`: the laws of heat loss and how far they are trusted.
//! * `mesh`, `network`: points along the tubes and their heat balance.
//! * `steady`, `transient`: its two solutions.
//! * `long_tube`: safe distance and least cover of water, by quadrature.
//! * `part_map`: the question put as an instrument's parts and joints.
//! * `reading`: the question and the answer as JSON.
//!
//! Everything in it is thin metal in still air. What it leaves out (hot gas along the
//! tube, flame on the joint, poor contact, fillets and collars) is for the screen to say
//! and the technician to decide.

mod long_tube;
mod mesh;
mod model;
mod network;
mod part_map;
mod reading;
mod steady;
mod surface;
mod transient;

pub use long_tube::{LongTube, Water, WaterCover};
pub use model::{Assembly, Doing, Duration, Joint, Place, Room, Stock, Tube, Zone};
pub use part_map::{Part, PartJoint, PartMap, PartPlace, PartZone};
pub use reading::compute;
pub use surface::{CAUTIOUS, Estimate, NOMINAL, Surface};

use crate::calculation::Refused;
use mesh::Mesh;
use model::{Faults, Resolved};
use network::{DoesNotSettle, Network};
use transient::Peak;

/// Whether a joint lives through it; the worse is the greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Below its limit even with cautious values.
    Safe,
    /// Above its limit with cautious values.
    AtRisk,
    /// At or above its solidus with typical values.
    Melts,
}

impl Verdict {
    /// The verdict on a joint at `temperature_c`, with cautious values at
    /// `temperature_high_c`.
    #[must_use]
    pub fn on(temperature_c: f64, temperature_high_c: f64, solidus_c: f64, margin_k: f64) -> Self {
        if temperature_c >= solidus_c {
            Verdict::Melts
        } else if temperature_high_c > solidus_c - margin_k {
            Verdict::AtRisk
        } else {
            Verdict::Safe
        }
    }

    /// The word for it in answers.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Verdict::Safe => "safe",
            Verdict::AtRisk => "at_risk",
            Verdict::Melts => "melts",
        }
    }
}

/// How hot one joint gets.
#[derive(Debug, Clone, PartialEq)]
pub struct JointReach {
    /// The joint's name.
    pub id: String,
    /// With typical values, °C; the peak when the duration is transient.
    pub temperature_c: f64,
    /// With cautious values, °C.
    pub temperature_high_c: f64,
    /// Its solidus less the margin, °C.
    pub limit_c: f64,
    /// What that means.
    pub verdict: Verdict,
    /// When the peak is reached with typical values, s after the torch was lit; absent
    /// when the duration is steady.
    pub peak_at_s: Option<f64>,
}

/// One place of a drawing of temperature along the metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// mm from the beginning of the tube or part.
    pub position_mm: f64,
    /// With typical values, °C; the peak when the duration is transient.
    pub temperature_c: f64,
    /// With cautious values, °C.
    pub temperature_high_c: f64,
}

/// How hot one tube gets.
#[derive(Debug, Clone, PartialEq)]
pub struct TubeReach {
    /// The tube's name.
    pub id: String,
    /// Along the whole tube, from end to end, closest where the curve bends most.
    pub profile: Vec<Station>,
}

impl TubeReach {
    /// The hottest place with typical values, °C.
    #[must_use]
    pub fn max_c(&self) -> f64 {
        self.profile.iter().map(|station| station.temperature_c).fold(f64::MIN, f64::max)
    }

    /// The coldest place with typical values, °C.
    #[must_use]
    pub fn min_c(&self) -> f64 {
        self.profile.iter().map(|station| station.temperature_c).fold(f64::MAX, f64::min)
    }

    /// The hottest place with cautious values, °C.
    #[must_use]
    pub fn max_high_c(&self) -> f64 {
        self.profile.iter().map(|station| station.temperature_high_c).fold(f64::MIN, f64::max)
    }

    /// Length above a temperature with typical values, mm: above 300 °C expect it
    /// annealed, above 150 °C lacquer may discolour (both from memory).
    #[must_use]
    pub fn length_over_mm(&self, limit_c: f64) -> f64 {
        self.profile
            .windows(2)
            .map(|pair| {
                let (low, high) = (
                    pair[0].temperature_c.min(pair[1].temperature_c),
                    pair[0].temperature_c.max(pair[1].temperature_c),
                );
                let share = if low > limit_c {
                    1.0
                } else if high <= limit_c {
                    0.0
                } else {
                    (high - limit_c) / (high - low)
                };
                share * (pair[1].position_mm - pair[0].position_mm)
            })
            .sum()
    }

    /// The fewest of its stations that a drawing by straight lines needs to stay within
    /// `within_k` of both curves; the two ends always stay.
    #[must_use]
    pub fn drawn(&self, within_k: f64) -> Vec<Station> {
        thinned(&self.profile, within_k)
    }
}

/// The fewest stations, found greedily, between which straight lines stay within
/// `within_k` of all others.
pub(crate) fn thinned(stations: &[Station], within_k: f64) -> Vec<Station> {
    let Some(first) = stations.first() else { return Vec::new() };
    let mut kept = vec![*first];
    let mut from = 0;
    while from + 1 < stations.len() {
        let mut to = from + 1;
        while to + 1 < stations.len() && is_straight(&stations[from..=to + 1], within_k) {
            to += 1;
        }
        kept.push(stations[to]);
        from = to;
    }
    kept
}

fn is_straight(stations: &[Station], within_k: f64) -> bool {
    let (first, last) = (stations[0], stations[stations.len() - 1]);
    let length_mm = last.position_mm - first.position_mm;
    stations.iter().all(|station| {
        let share = (station.position_mm - first.position_mm) / length_mm;
        let straight = |from: f64, to: f64| from + share * (to - from);
        let off = straight(first.temperature_c, last.temperature_c) - station.temperature_c;
        let off_high = straight(first.temperature_high_c, last.temperature_high_c)
            - station.temperature_high_c;
        off.abs() <= within_k && off_high.abs() <= within_k
    })
}

/// What the torch gives and the surfaces lose in the steady state, typical values, W.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatFlow {
    /// Heat that the torch zones give, W.
    pub given_w: f64,
    /// Heat that air, water, rags and clamps take, W.
    pub lost_w: f64,
}

/// The answer to one question.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// In the order asked.
    pub joints: Vec<JointReach>,
    /// In the order asked.
    pub tubes: Vec<TubeReach>,
    /// Present when the duration is steady.
    pub heat: Option<HeatFlow>,
}

/// How hot every joint and every tube gets.
///
/// Discretisation is finer than 0.3 K; the uncertainty of the typical values is told by
/// the pair of temperatures.
///
/// # Errors
/// What [`Assembly::check`] refuses, and `not-computable` for values within their ranges
/// that lead out of the range of numbers.
pub fn reach(assembly: &Assembly) -> Result<Reach, Refused> {
    reach_of(&assembly.resolve(Faults::default())?)
}

/// More points than this are not followed through heating and watching. A large tuba's 12 m of tube
/// need about 5,000; each point costs some hundred steps, twice, where the steady state costs a few.
const MOST_POINTS_IN_TIME: usize = 12_000;

fn reach_of(resolved: &Resolved<'_>) -> Result<Reach, Refused> {
    let mesh = Mesh::new(resolved);
    if matches!(resolved.assembly.duration, Duration::Transient { .. }) && mesh.point_count > MOST_POINTS_IN_TIME {
        return Err(Refused::new("invalid-input").at(
            "/tubes",
            format!(
                "need {} places to be followed in time, more than {MOST_POINTS_IN_TIME}: leave out what lies far from the torch, \
                 or ask for the steady state, which is the worst case",
                mesh.point_count
            ),
        ));
    }
    solved(resolved, &mesh).map_err(|DoesNotSettle| {
        Refused::new("not-computable")
            .at("", "no heat balance can be found with these values; look for an extreme one")
    })
}

/// Temperatures of all points and of the joints under one estimate.
struct Run {
    points_c: Vec<f64>,
    joints: Vec<Peak>,
}

fn solved(resolved: &Resolved<'_>, mesh: &Mesh) -> Result<Reach, DoesNotSettle> {
    let assembly = resolved.assembly;
    let nominal_network = Network::new(resolved, mesh, &NOMINAL);
    let cautious_network = Network::new(resolved, mesh, &CAUTIOUS);
    let nominal = run(resolved, mesh, &nominal_network, None)?;
    let cautious = run(resolved, mesh, &cautious_network, Some(&nominal.points_c))?;
    let joints = assembly
        .joints
        .iter()
        .zip(nominal.joints.iter().zip(&cautious.joints))
        .map(|(joint, (typical, high))| JointReach {
            id: joint.id.clone(),
            temperature_c: typical.temperature_c,
            temperature_high_c: high.temperature_c,
            limit_c: joint.solidus_c - assembly.margin_k,
            verdict: Verdict::on(
                typical.temperature_c,
                high.temperature_c,
                joint.solidus_c,
                assembly.margin_k,
            ),
            peak_at_s: match assembly.duration {
                Duration::Steady => None,
                Duration::Transient { .. } => Some(typical.at_s),
            },
        })
        .collect();
    let tubes = assembly
        .tubes
        .iter()
        .zip(&mesh.tubes)
        .map(|(tube, places)| {
            let station = |(place, position_mm): (usize, &f64)| {
                let point = places.point(place);
                Station {
                    position_mm: *position_mm,
                    temperature_c: nominal.points_c[point],
                    temperature_high_c: cautious.points_c[point],
                }
            };
            let profile = places.positions_mm.iter().enumerate().map(station).collect();
            TubeReach { id: tube.id.clone(), profile }
        })
        .collect();
    let heat = match assembly.duration {
        Duration::Steady => {
            let (given_w, lost_w) = nominal_network.heat_w(&nominal.points_c);
            Some(HeatFlow { given_w, lost_w })
        }
        Duration::Transient { .. } => None,
    };
    Ok(Reach { joints, tubes, heat })
}

fn run(
    resolved: &Resolved<'_>,
    mesh: &Mesh,
    network: &Network,
    guess: Option<&[f64]>,
) -> Result<Run, DoesNotSettle> {
    let room = &resolved.assembly.room;
    match resolved.assembly.duration {
        Duration::Steady => {
            let points_c = steady::temperatures(network, room, guess)?;
            let joint = |point: &usize| Peak { temperature_c: points_c[*point], at_s: 0.0 };
            let joints = mesh.joints.iter().map(joint).collect();
            Ok(Run { points_c, joints })
        }
        Duration::Transient { heating_s, watch_s } => {
            let peaks = transient::peaks(network, room, &mesh.joints, heating_s, watch_s)?;
            Ok(Run { points_c: peaks.points_c, joints: peaks.joints })
        }
    }
}
