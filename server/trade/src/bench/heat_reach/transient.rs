//! The torch is lit, stays, is taken away, and the metal is watched.
//!
//! TR-BDF2, which damps what is too quick to follow. The steps grow with the time since
//! the torch was lit or taken away: what happens after a time t takes about t to
//! happen, so every stretch of it gets the same number of steps.
//! Source: Bank and others 1985, Hosea and Shampine 1996 (from memory).

use super::model::Room;
use super::network::{Balance, DoesNotSettle, Network};
use std::f64::consts::SQRT_2;

/// The first part of a TR-BDF2 step.
const GAMMA: f64 = 2.0 - SQRT_2;
/// A step as a share of the time since the last change of the torch.
const STEP_SHARE: f64 = 0.05;
/// A Newton step within a time step is good when it is smaller than this, K. The
/// steps converge quadratically: what is left is thousands of times smaller.
const WITHIN_K: f64 = 0.01;

/// The highest temperatures of the whole time.
#[derive(Debug)]
pub(super) struct Peaks {
    /// Of each point, °C.
    pub points_c: Vec<f64>,
    /// Of each joint: °C, and when, s after the torch was lit.
    pub joints: Vec<Peak>,
}

/// A highest temperature and when it is reached.
#[derive(Debug, Clone, Copy)]
pub(super) struct Peak {
    pub temperature_c: f64,
    pub at_s: f64,
}

/// Follows the metal from the room's temperature through heating and watching.
///
/// * `joints`: the points whose peaks are timed.
/// * `heating_s`: above zero; `watch_s`: zero or more.
pub(super) fn peaks(
    network: &Network,
    room: &Room,
    joints: &[usize],
    heating_s: f64,
    watch_s: f64,
) -> Result<Peaks, DoesNotSettle> {
    let mut t = vec![room.ambient_c; network.point_count()];
    network.light_the_torch(&mut t);
    let mut record = Record::new(&t, joints);
    run(network, &mut t, Phase { from_s: 0.0, duration_s: heating_s, torch: true }, &mut record)?;
    record.torch_away = record.times_s.len() - 1;
    if watch_s > 0.0 {
        let phase = Phase { from_s: heating_s, duration_s: watch_s, torch: false };
        run(network, &mut t, phase, &mut record)?;
    }
    Ok(record.into_peaks())
}

/// A stretch of time in which the torch does not change.
#[derive(Debug, Clone, Copy)]
struct Phase {
    from_s: f64,
    duration_s: f64,
    torch: bool,
}

fn run(
    network: &Network,
    t: &mut Vec<f64>,
    phase: Phase,
    record: &mut Record<'_>,
) -> Result<(), DoesNotSettle> {
    let mut work = network.workspace();
    let first_s =
        (0.5 * network.quickest_s()).clamp(1e-6 * phase.duration_s, 1e-2 * phase.duration_s);
    let mut source = vec![0.0; t.len()];
    let mut net = network.net_heat(t, phase.torch, &mut work);
    let mut middle = t.clone();
    let mut elapsed_s = 0.0;
    while elapsed_s < phase.duration_s {
        let left_s = phase.duration_s - elapsed_s;
        let wished_s = first_s.max(STEP_SHARE * elapsed_s);
        // The last two steps share what is left, so that none is a sliver.
        let step_s = match left_s / wished_s {
            steps if steps <= 1.0 => left_s,
            steps if steps < 2.0 => left_s / 2.0,
            _ => wished_s,
        };
        let inertia = 1.0 / (GAMMA / 2.0 * step_s);
        let balance = Balance { inertia, source: None, torch: phase.torch, within_k: WITHIN_K };

        for (point, source) in source.iter_mut().enumerate() {
            *source = inertia * network.capacity[point] * t[point] + net[point];
        }
        middle.copy_from_slice(t);
        network.settle(&Balance { source: Some(&source), ..balance }, &mut middle, &mut work)?;

        let (of_middle, of_start) =
            (1.0 / (GAMMA * (2.0 - GAMMA)), (1.0 - GAMMA).powi(2) / (GAMMA * (2.0 - GAMMA)));
        for (point, source) in source.iter_mut().enumerate() {
            let known = of_middle * middle[point] - of_start * t[point];
            *source = inertia * network.capacity[point] * known;
            // The first part of the step foretells the second.
            middle[point] += (1.0 - GAMMA) / GAMMA * (middle[point] - t[point]);
        }
        std::mem::swap(t, &mut middle);
        network.settle(&Balance { source: Some(&source), ..balance }, t, &mut work)?;

        for (point, net) in net.iter_mut().enumerate() {
            *net = inertia * network.capacity[point] * t[point] - source[point];
        }
        elapsed_s = if step_s < left_s { elapsed_s + step_s } else { phase.duration_s };
        record.add(phase.from_s + elapsed_s, t);
    }
    Ok(())
}

/// What is kept of the way: the peak of every point, and every joint at every time.
struct Record<'j> {
    joints: &'j [usize],
    times_s: Vec<f64>,
    joints_c: Vec<Vec<f64>>,
    points_c: Vec<f64>,
    /// Place in `times_s` when the torch was taken away: the curves have a bend there.
    torch_away: usize,
}

impl<'j> Record<'j> {
    fn new(t: &[f64], joints: &'j [usize]) -> Self {
        let joints_c = joints.iter().map(|point| vec![t[*point]]).collect();
        Self { joints, times_s: vec![0.0], joints_c, points_c: t.to_vec(), torch_away: 0 }
    }

    fn add(&mut self, time_s: f64, t: &[f64]) {
        self.times_s.push(time_s);
        for (history, point) in self.joints_c.iter_mut().zip(self.joints) {
            history.push(t[*point]);
        }
        for (peak, t) in self.points_c.iter_mut().zip(t) {
            *peak = peak.max(*t);
        }
    }

    fn into_peaks(self) -> Peaks {
        let joints = self.joints_c.iter().map(|history| self.peak_of(history)).collect();
        Peaks { points_c: self.points_c, joints }
    }

    /// The first highest value; between the steps, the top of the parabola through it
    /// and its neighbours.
    fn peak_of(&self, history: &[f64]) -> Peak {
        let mut top = 0;
        for (place, t) in history.iter().enumerate() {
            if *t > history[top] {
                top = place;
            }
        }
        let at_step = Peak { temperature_c: history[top], at_s: self.times_s[top] };
        if top == 0 || top + 1 == history.len() || top == self.torch_away {
            return at_step;
        }
        let (before_s, after_s) =
            (self.times_s[top] - self.times_s[top - 1], self.times_s[top + 1] - self.times_s[top]);
        let rise = (history[top] - history[top - 1]) / before_s;
        let fall = (history[top] - history[top + 1]) / after_s;
        let bend = (rise + fall) / (before_s + after_s);
        if bend <= 0.0 {
            return at_step;
        }
        let slope = (rise * after_s - fall * before_s) / (before_s + after_s);
        let shift_s = slope / (2.0 * bend);
        Peak {
            temperature_c: history[top] + slope * slope / (4.0 * bend),
            at_s: self.times_s[top] + shift_s,
        }
    }
}
