//! Quantile functions, tabulated, so that a random number costs a few loads.
//!
//! The chance is cut into octaves towards both ends (32 nodes in each of 31 octaves on each
//! side): near 0 the quantile of a PERT-beta rises like the fifth root, and equal steps
//! would miss a quarter of the range in their first cell. Between nodes it is linear, hence
//! rising.

use crate::bench::three_point::ThreePoint;
use statrs::function::{beta::ln_beta, erf::erfc_inv};
use std::f64::consts::SQRT_2;
use std::sync::OnceLock;

/// Nodes for one side: 31 octaves of 32, the middle, and one more to interpolate towards.
const NODES: usize = 31 * 32 + 2;

/// Places for one side, and for both: powers of two, so that no place needs checking.
const SIDE: usize = 1024;
const PLACES: usize = 2 * SIDE;

/// Nodes over the lean of a three-point estimate.
const LEANS: usize = 65;

/// Draws that are made side by side.
pub(super) const LANES: usize = 8;

/// The same thing of each draw.
pub(super) type Lanes<T> = [T; LANES];

/// The chance of a node, counted from its own end: 2⁻³² … ½.
fn chance_of(node: usize) -> f64 {
    2f64.powi(node as i32 / 32 - 32) * (1.0 + (node % 32) as f64 / 32.0)
}

/// Where 32 random bits fall: the place in a table of both sides, and the share of the next node.
#[inline(always)]
fn place(bits: u32) -> (u32, f32) {
    // The number is made a float, whose exponent is the octave and whose first five bits of
    // the mantissa are the node in it.
    let float = ((bits & 0x7FFF_FFFF) | 1).cast_signed() as f32;
    let node = (float.to_bits() >> 18) - (127 << 5);
    let share = (float.to_bits() & 0x3_FFFF).cast_signed() as f32 * (1.0 / 262_144.0);
    (node + (bits >> 31) * SIDE as u32, share)
}

/// The places of several random numbers.
struct Places {
    nodes: Lanes<u32>,
    shares: Lanes<f32>,
}

impl Places {
    #[inline(always)]
    fn of(bits: &Lanes<u32>) -> Self {
        let mut places = Self { nodes: [0; LANES], shares: [0.0; LANES] };
        for (lane, bits) in bits.iter().enumerate() {
            (places.nodes[lane], places.shares[lane]) = place(*bits);
        }
        places
    }
}

/// The quantiles of one distribution: at each place the figure, and how much more it is at the next.
struct Row([[f32; 2]; PLACES]);

impl Row {
    /// * `sides`: the figures at the nodes of the low and of the high end.
    fn new(sides: [&[f32]; 2]) -> Self {
        let mut row = [[0.0; 2]; PLACES];
        for (side, figures) in row.chunks_exact_mut(SIDE).zip(sides) {
            for (place, pair) in side.iter_mut().zip(figures.windows(2)) {
                *place = [pair[0], pair[1] - pair[0]];
            }
        }
        Self(row)
    }

    #[inline(always)]
    fn figures(&self, places: &Places) -> Lanes<f32> {
        let mut figures = [0.0; LANES];
        for (lane, figure) in figures.iter_mut().enumerate() {
            let [low, more] = self.0[places.nodes[lane] as usize % PLACES];
            *figure = low + places.shares[lane] * more;
        }
        figures
    }

    #[inline(always)]
    fn figure(&self, (place, share): (u32, f32)) -> f32 {
        let [figure, more] = self.0[place as usize % PLACES];
        figure + share * more
    }
}

/// The factor from estimated to actual minutes, `exp(log_mean + log_sd Z)`.
pub(super) struct StretchTable(Box<Row>);

impl StretchTable {
    pub(super) fn new(log_mean: f64, log_sd: f64) -> Self {
        let side = |sign: f64| -> Vec<f32> {
            (0..NODES)
                .map(|node| {
                    let z = SQRT_2 * erfc_inv(2.0 * chance_of(node));
                    (log_mean + sign * log_sd * z).exp() as f32
                })
                .collect()
        };
        Self(Box::new(Row::new([&side(-1.0), &side(1.0)])))
    }

    #[inline(always)]
    pub(super) fn all_at(&self, bits: &Lanes<u32>) -> Lanes<f32> {
        self.0.figures(&Places::of(bits))
    }
}

/// A three-point estimate, ready to be drawn from.
#[derive(Debug, Clone, Copy)]
pub(super) struct ThreePointTable {
    low: f64,
    range: f64,
    row: usize,
    share: f32,
}

impl ThreePointTable {
    pub(super) fn is_known(&self) -> bool {
        self.range == 0.0
    }

    /// The estimate with all its figures multiplied.
    pub(super) fn times(self, factor: f64) -> Self {
        Self { low: self.low * factor, range: self.range * factor, ..self }
    }

    /// The figure, when it is known.
    pub(super) fn low(&self) -> f64 {
        self.low
    }
}

/// The quantiles of PERT-beta distributions on 0…1, for 65 leans from 0 to 1.
///
/// One table serves all estimates: between two leans it is interpolated as well. It is the
/// same for everyone and takes some milliseconds, so it is made once.
pub(super) struct Leans(Vec<Row>);

impl Leans {
    pub(super) fn get() -> &'static Self {
        static LEANS_TABLE: OnceLock<Leans> = OnceLock::new();
        LEANS_TABLE.get_or_init(Self::new)
    }

    fn new() -> Self {
        let lower: Vec<Vec<f64>> =
            (0..LEANS).map(|lean| lower_quantiles(lean as f64 / (LEANS - 1) as f64)).collect();
        let row = |lean: usize| {
            let low: Vec<f32> = lower[lean].iter().map(|x| *x as f32).collect();
            // Seen from its high end, an estimate is one of the opposite lean.
            let high: Vec<f32> = lower[LEANS - 1 - lean].iter().map(|x| (1.0 - x) as f32).collect();
            Row::new([&low, &high])
        };
        Self((0..LEANS).map(row).collect())
    }

    /// The table of one estimate, its figures multiplied by `unit`.
    pub(super) fn of(estimate: &ThreePoint, unit: f64) -> ThreePointTable {
        let lean = estimate.lean() * (LEANS - 1) as f64;
        let row = (lean.floor() as usize).min(LEANS - 2);
        ThreePointTable {
            low: estimate.low() * unit,
            range: (estimate.high() - estimate.low()) * unit,
            row,
            share: (lean - row as f64) as f32,
        }
    }

    /// The figure of `estimate` for 32 random bits.
    pub(super) fn at(&self, estimate: &ThreePointTable, bits: u32) -> f64 {
        let place = place(bits);
        let (one, other) =
            (self.0[estimate.row].figure(place), self.0[estimate.row + 1].figure(place));
        estimate.low + estimate.range * f64::from(one + estimate.share * (other - one))
    }

    /// The figures of `estimate` for several random numbers at once, in fewer digits.
    #[inline(always)]
    pub(super) fn all_at(&self, estimate: &ThreePointTable, bits: &Lanes<u32>) -> Lanes<f32> {
        let places = Places::of(bits);
        let mut shares = self.0[estimate.row].figures(&places);
        if estimate.share > 0.0 {
            let next = self.0[estimate.row + 1].figures(&places);
            for (share, next) in shares.iter_mut().zip(next) {
                *share += estimate.share * (next - *share);
            }
        }
        let (low, range) = (estimate.low as f32, estimate.range as f32);
        for share in &mut shares {
            *share = low + range * *share;
        }
        shares
    }
}

/// Quantiles of Beta(1 + 4 lean, 5 − 4 lean) at the nodes up to ½.
///
/// Follows `d ln x / d ln F = F / (x f(x))` from node to node by the classical Runge–Kutta
/// method, from `F ≈ xᵅ/(α B)` near 0. What that start is wrong by is some part of 2⁻³² in F
/// and stays so, which is nothing at the nodes that matter.
fn lower_quantiles(lean: f64) -> Vec<f64> {
    let (alpha, beta) = (1.0 + 4.0 * lean, 5.0 - 4.0 * lean);
    let log_scale = ln_beta(alpha, beta);
    let slope = |log_chance: f64, log_x: f64| {
        (log_chance + log_scale - alpha * log_x - (beta - 1.0) * (-log_x.exp()).ln_1p()).exp()
    };
    let mut log_chance = chance_of(0).ln();
    let mut log_x = (log_chance + alpha.ln() + log_scale) / alpha;
    let mut quantiles = vec![log_x.exp()];
    for node in 1..NODES {
        let next = chance_of(node).ln();
        let step = next - log_chance;
        let first = slope(log_chance, log_x);
        let second = slope(log_chance + 0.5 * step, log_x + 0.5 * step * first);
        let third = slope(log_chance + 0.5 * step, log_x + 0.5 * step * second);
        let fourth = slope(next, log_x + step * third);
        log_x += step / 6.0 * (first + 2.0 * second + 2.0 * third + fourth);
        log_chance = next;
        quantiles.push(log_x.exp());
    }
    quantiles
}

#[cfg(test)]
mod tests {
    use super::{LANES, Leans, StretchTable};
    use crate::bench::three_point::ThreePoint;
    use statrs::function::erf::erfc_inv;

    /// The design asks for less than 0.1 % of the range; the quantiles it is compared with
    /// come from the incomplete beta function of statrs.
    #[test]
    fn a_drawn_figure_is_the_quantile_within_a_thousandth_of_the_range() {
        let leans = Leans::get();
        let mut worst = 0.0f64;
        for lean in 0..=200 {
            let estimate = ThreePoint::new(0.0, f64::from(lean) / 200.0, 1.0).expect("rising");
            let table = Leans::of(&estimate, 1.0);
            for part in 0u32..400 {
                let u = (f64::from(part) + 0.37) / 400.0;
                let mirrored = if u < 0.5 { u } else { 1.0 - u };
                let bits = (mirrored * 4_294_967_296.0) as u32 | if u < 0.5 { 0 } else { 1 << 31 };
                let figure = leans.at(&table, bits);
                let side_by_side = leans.all_at(&table, &[bits; LANES]);
                assert!(side_by_side.iter().all(|one| (f64::from(*one) - figure).abs() < 1e-6));
                let error = (figure - estimate.quantile(u)).abs();
                worst = worst.max(error);
            }
        }
        assert!(worst < 0.0005, "{worst}");
    }

    #[test]
    fn drawn_figures_have_the_mean_and_variance_of_the_estimate() {
        let leans = Leans::get();
        for (low, typical, high) in
            [(10.0, 20.0, 60.0), (0.0, 0.0, 30.0), (5.0, 50.0, 50.0), (1.0, 3.0, 5.0)]
        {
            let estimate = ThreePoint::new(low, typical, high).expect("rising");
            let table = Leans::of(&estimate, 1.0);
            // Every 4,096th of all bit patterns, in place of random ones.
            let figures: Vec<f64> =
                (0..1 << 20).map(|n: u32| leans.at(&table, (n << 12) + 2048)).collect();
            let mean = figures.iter().sum::<f64>() / figures.len() as f64;
            let variance =
                figures.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / figures.len() as f64;
            assert!(
                (mean - estimate.mean()).abs() < 1e-4 * (high - low),
                "{mean} for {estimate:?}"
            );
            assert!(
                (variance / estimate.variance() - 1.0).abs() < 2e-3,
                "{variance} for {estimate:?}"
            );
            assert!(figures.iter().all(|x| (low..=high).contains(x)));
        }
    }

    #[test]
    fn the_stretch_is_lognormal() {
        let table = StretchTable::new(0.2, 0.5);
        for u in [1e-6, 0.01, 0.2, 0.4999, 0.500_1, 0.9, 0.999] {
            let mirrored = if u < 0.5 { u } else { 1.0 - u };
            let bits = (mirrored * 4_294_967_296.0) as u32 | if u < 0.5 { 0 } else { 1 << 31 };
            let z = -std::f64::consts::SQRT_2 * erfc_inv(2.0 * u);
            let expected = (0.2 + 0.5 * z).exp();
            assert!(
                (f64::from(table.all_at(&[bits; LANES])[0]) / expected - 1.0).abs() < 2e-4,
                "{} instead of {expected}",
                table.all_at(&[bits; LANES])[0]
            );
        }
    }
}
