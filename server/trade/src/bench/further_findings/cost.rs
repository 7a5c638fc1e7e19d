//! What the hidden findings may cost.

use super::hidden_count::{HiddenCount, Scale};
use crate::bench::three_point::ThreePoint;
use crate::words::money::{Currency, Money};

/// The grid of costs has at least this many steps up to the highest cost of one finding.
const STEPS: f64 = 200.0;

/// Above this many findings the sum is not worth its time: no instrument has so many.
pub(super) const MOST_FINDINGS: u32 = 50_000;

/// Why there is no cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CannotCost {
    /// The history leads to more hidden findings in one instrument than can be summed (50,000
    /// with a chance of 5 in 100): its counts or exposures cannot be right.
    TooManyFindings,
    /// Low, typical and high are not rising from zero in one currency.
    Unordered,
}

/// The cost of all hidden findings together, in major units of `currency` and, since it is a
/// forecast, not exact money: round up with [`CostForecast::rounded_up`] to show it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CostForecast {
    /// The currency.
    pub currency: Currency,
    /// The step of the grid on which costs are summed.
    pub step: f64,
    /// The mean cost.
    pub mean: f64,
    /// Least amount on the grid that is not exceeded in 50 of 100 such instruments.
    pub p50: f64,
    /// In 85 of 100.
    pub p85: f64,
    /// In 95 of 100.
    pub p95: f64,
}

impl CostForecast {
    /// One of the figures as money, rounded up to the minor unit; `None` beyond what money
    /// can hold.
    #[must_use]
    pub fn rounded_up(&self, figure: f64) -> Option<Money> {
        let minor_units = figure / minor_unit(self.currency);
        // 88 steps of 0.6 are 52.8 and not a cent more, though the float is.
        let whole = minor_units.round();
        let up = if (minor_units - whole).abs() < 1e-6 { whole } else { minor_units.ceil() };
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a float beyond i128 saturates and is too large"
        )]
        Money::from_minor_units(up as i128, self.currency).ok()
    }
}

/// The cost of `hidden` findings when one costs `low`, `typical` or `high`, independently of
/// the others, as a PERT-beta.
///
/// All three are in one currency, not below zero and rising. Compound distribution by Panjer's
/// recursion (H. H. Panjer 1981, *ASTIN Bulletin*); every amount within one step of the grid.
///
/// # Errors
/// [`CannotCost`].
pub fn cost_of(
    hidden: &HiddenCount,
    low: Money,
    typical: Money,
    high: Money,
) -> Result<CostForecast, CannotCost> {
    let currency = low.currency();
    if typical.currency() != currency || high.currency() != currency {
        return Err(CannotCost::Unordered);
    }
    let per_finding = ThreePoint::new(major_units(low), major_units(typical), major_units(high))
        .ok_or(CannotCost::Unordered)?;
    let step = minor_unit(currency).max(per_finding.high() / STEPS);
    let one = one_finding(&per_finding, step);
    if hidden.quantiles([0.95], MOST_FINDINGS).is_none() {
        return Err(CannotCost::TooManyFindings);
    }
    let mean_steps: f64 = one.iter().zip(0u32..).map(|(chance, k)| chance * f64::from(k)).sum();
    let [p50, p85, p95] =
        compound_quantiles(hidden, &one, [0.5, 0.85, 0.95]).map(|k| k as f64 * step);
    Ok(CostForecast { currency, step, mean: hidden.mean() * mean_steps * step, p50, p85, p95 })
}

/// The least amount of the currency in major units.
fn minor_unit(currency: Currency) -> f64 {
    10f64.powi(currency.places() as i32).recip()
}

fn major_units(money: Money) -> f64 {
    money.minor_units() as f64 / 10f64.powi(money.currency().places() as i32)
}

/// The chances of one finding costing 0, 1, 2, … steps.
fn one_finding(cost: &ThreePoint, step: f64) -> Vec<f64> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "high/step lies in 0..=200"
    )]
    let last = (cost.high() / step).ceil() as usize;
    let mut chances = vec![0.0; last + 1];
    if cost.is_known() {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most `last`"
        )]
        let nearest = (cost.high() / step + 0.5).floor() as usize;
        chances[nearest.min(last)] = 1.0;
        return chances;
    }
    let mut below = 0.0;
    for (k, chance) in chances.iter_mut().enumerate() {
        let at_most = if k == last { 1.0 } else { cost.cdf((k as f64 + 0.5) * step) };
        *chance = at_most - below;
        below = at_most;
    }
    chances
}

/// Least numbers of steps that the sum does not exceed with the rising chances `levels`.
///
/// `g_k = Σ_j (a + b j/k) f_j g_{k−j} / (1 − a f_0)` with a = 1 − p and b = (r − 1)(1 − p).
/// The start `g_0` may lie below the least floating-point number, so the terms run from 1
/// and carry their scale apart.
fn compound_quantiles<const N: usize>(
    hidden: &HiddenCount,
    one: &[f64],
    levels: [f64; N],
) -> [usize; N] {
    /// Terms kept before the window is moved back to the start of its memory.
    const KEPT: usize = 4096;
    let (a, b) = (hidden.failure(), (hidden.shape() - 1.0) * hidden.failure());
    let none = one[0];
    let mut scale = Scale(hidden.shape() * (hidden.success().ln() - (-a * none).ln_1p()));
    // Falling order of j, so that the sum runs forwards over the window of earlier terms.
    let reach = one.len() - 1;
    let weight: Vec<f64> = one[1..].iter().rev().map(|chance| chance / (1.0 - a * none)).collect();
    let weight_by_j: Vec<f64> =
        weight.iter().zip((1..=reach).rev()).map(|(weight, j)| weight * j as f64).collect();
    let mut window = Vec::with_capacity(KEPT + reach);
    window.resize(reach, 0.0);
    window.push(1.0);
    let (mut sum, mut steps, mut next) = (1.0, 0usize, 0);
    let mut found = [0; N];
    // The chance of `levels` below 1 is reached long before this; it only bounds the loop.
    let most = (MOST_FINDINGS as usize).saturating_mul(reach.max(1)).saturating_mul(2);
    loop {
        let at_most = scale.true_value(sum);
        while next < N && at_most >= levels[next] {
            found[next] = steps;
            next += 1;
        }
        if next == N || steps >= most {
            found[next..].fill(steps);
            return found;
        }
        steps += 1;
        let earlier = &window[window.len() - reach..];
        let term = a * dot(&weight, earlier) + b / steps as f64 * dot(&weight_by_j, earlier);
        sum += term;
        if window.len() == KEPT + reach {
            window.copy_within(KEPT.., 0);
            window.truncate(reach);
        }
        window.push(term);
        if Scale::is_due(sum) {
            let factor = scale.step_up();
            sum *= factor;
            window.iter_mut().for_each(|term| *term *= factor);
        }
    }
}

/// The inner product, in four running sums so that the processor need not wait for each.
fn dot(left: &[f64], right: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (left_fours, right_fours) = (left.chunks_exact(4), right.chunks_exact(4));
    let rest: f64 =
        left_fours.remainder().iter().zip(right_fours.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in left_fours.zip(right_fours) {
        for lane in 0..4 {
            sums[lane] += x[lane] * y[lane];
        }
    }
    sums.iter().sum::<f64>() + rest
}
