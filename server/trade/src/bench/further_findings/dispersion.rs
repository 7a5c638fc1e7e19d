//! How unlike instruments of one cell are, estimated from closed orders.

use super::{PastOrder, cell_means};
use std::collections::BTreeMap;

/// The range within which the dispersion is looked for.
const RANGE: (f64, f64) = (0.05, 50.0);

/// Standard deviation of the prior on the logarithm of the dispersion, around 1.
const LOG_SD: f64 = 0.7;

/// Number of grid points over the logarithm of the range: steps of 12 %.
const GRID: u32 = 60;

/// The dispersion κ (Gamma shape between instruments of one cell) that fits `history` best.
///
/// Maximises `Σ log NB(y; size κ, mean μe) − ½ (ln κ / 0.7)²` over κ from 0.05 to 50, each
/// row with the mean of its own cell, to better than 1e-9 relative. With an empty history it
/// is 1. Source: COMPUTATIONS.md, section 3, step 2.
#[must_use]
pub fn estimate_dispersion(history: &[PastOrder]) -> f64 {
    if history.is_empty() {
        return 1.0;
    }
    let fit = Fit::of(history);
    let (low, high) = (RANGE.0.ln(), RANGE.1.ln());
    let at = |step: u32| low + (high - low) * f64::from(step) / f64::from(GRID);
    let mut best = (0, f64::NEG_INFINITY);
    for step in 0..=GRID {
        let value = fit.objective(at(step));
        if value > best.1 {
            best = (step, value);
        }
    }
    // The slope is bisected, not the objective: the top is flat, and near it differences of
    // the objective drown in rounding at about 1e-7.
    let rising = fit.slope(at(best.0)) > 0.0;
    let (mut below, mut above) = match (rising, best.0) {
        (true, GRID) => return RANGE.1,
        (false, 0) => return RANGE.0,
        (true, step) => (at(step), at(step + 1)),
        (false, step) => (at(step - 1), at(step)),
    };
    for _ in 0..34 {
        let middle = 0.5 * (below + above);
        if fit.slope(middle) > 0.0 {
            below = middle;
        } else {
            above = middle;
        }
    }
    (0.5 * (below + above)).exp()
}

/// The history, boiled down to what the likelihood of κ depends on.
struct Fit {
    /// `(expected findings, rows with that expectation, their findings)`.
    expected: Vec<(f64, f64, f64)>,
    /// For each j, how many rows have more than j findings: since
    /// `Γ(κ+y)/Γ(κ) = Π_{j<y} (κ+j)`, no gamma function is needed and nothing cancels.
    more_than: Vec<f64>,
}

impl Fit {
    fn of(history: &[PastOrder]) -> Self {
        let means = cell_means(history);
        let mut groups: BTreeMap<(usize, u64), (f64, f64, f64)> = BTreeMap::new();
        let mut more_than = Vec::new();
        for past in history {
            let cell = past.examination.cell.index();
            let found = past.found();
            let mean = means[cell] * past.examination.exposure;
            let group = groups
                .entry((cell, past.examination.exposure.to_bits()))
                .or_insert((mean, 0.0, 0.0));
            group.1 += 1.0;
            group.2 += f64::from(found);
            let found = found as usize;
            if more_than.len() < found {
                more_than.resize(found, 0.0);
            }
            more_than[..found].iter_mut().for_each(|count| *count += 1.0);
        }
        Self { expected: groups.into_values().collect(), more_than }
    }

    /// The objective without the terms that do not depend on κ.
    fn objective(&self, log_dispersion: f64) -> f64 {
        let kappa = log_dispersion.exp();
        let rising: f64 =
            self.more_than.iter().zip(0u32..).map(|(n, j)| n * (kappa + f64::from(j)).ln()).sum();
        let falling: f64 = self
            .expected
            .iter()
            .map(|&(mean, rows, found)| {
                rows * kappa * (mean / kappa).ln_1p() + found * (kappa + mean).ln()
            })
            .sum();
        rising - falling - 0.5 * (log_dispersion / LOG_SD).powi(2)
    }

    /// Its derivative by ln κ.
    fn slope(&self, log_dispersion: f64) -> f64 {
        let kappa = log_dispersion.exp();
        let rising: f64 =
            self.more_than.iter().zip(0u32..).map(|(n, j)| n / (kappa + f64::from(j))).sum();
        let falling: f64 = self
            .expected
            .iter()
            .map(|&(mean, rows, found)| {
                rows * (mean / kappa).ln_1p() + (found - rows * mean) / (kappa + mean)
            })
            .sum();
        kappa * (rising - falling) - log_dispersion / LOG_SD.powi(2)
    }
}
