//! Three-point estimates: low, typical and high, read as a PERT-beta distribution.

use statrs::function::beta::{beta_reg, inv_beta_reg};

/// A low, a typical and a high figure of one thing (minutes, days, money), with
/// `0 ≤ low ≤ typical ≤ high`, all finite.
///
/// Read as PERT-beta: `X = low + (high − low) · Beta(α, β)` with
/// `α = 1 + 4 (typical − low)/(high − low)` and `α + β = 6`. When low equals high, X is
/// that figure. Source: the distribution of the Program Evaluation and Review Technique
/// in its usual form with weight 4 on the typical figure; COMPUTATIONS.md, section 4.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePoint {
    low: f64,
    typical: f64,
    high: f64,
}

impl ThreePoint {
    /// The estimate; `None` unless `0 ≤ low ≤ typical ≤ high` and all are finite.
    #[must_use]
    pub fn new(low: f64, typical: f64, high: f64) -> Option<Self> {
        let rising = 0.0 <= low && low <= typical && typical <= high && high.is_finite();
        rising.then_some(Self { low, typical, high })
    }

    /// The estimate of something known: all three figures the same. `None` as in [`Self::new`].
    #[must_use]
    pub fn known(figure: f64) -> Option<Self> {
        Self::new(figure, figure, figure)
    }

    /// The low figure.
    #[must_use]
    pub fn low(&self) -> f64 {
        self.low
    }

    /// The high figure.
    #[must_use]
    pub fn high(&self) -> f64 {
        self.high
    }

    /// Whether low and high are the same, so that nothing is uncertain.
    #[must_use]
    pub fn is_known(&self) -> bool {
        self.low == self.high
    }

    /// Where the typical figure lies between low (0) and high (1); 0 when they are the same.
    #[must_use]
    pub fn lean(&self) -> f64 {
        if self.is_known() {
            return 0.0;
        }
        ((self.typical - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }

    /// `(low + 4 typical + high)/6`.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.low / 6.0 + self.typical / 6.0 * 4.0 + self.high / 6.0
    }

    /// `(mean − low)(high − mean)/7`.
    #[must_use]
    pub fn variance(&self) -> f64 {
        (self.mean() - self.low) * (self.high - self.mean()) / 7.0
    }

    /// The chance of at most `x`.
    #[must_use]
    pub fn cdf(&self, x: f64) -> f64 {
        if x >= self.high {
            1.0
        } else if x < self.low {
            0.0
        } else {
            let alpha = 1.0 + 4.0 * self.lean();
            beta_reg(alpha, 6.0 - alpha, ((x - self.low) / (self.high - self.low)).clamp(0.0, 1.0))
        }
    }

    /// The figure that is not exceeded with chance `u` (0…1).
    #[must_use]
    pub fn quantile(&self, u: f64) -> f64 {
        if self.is_known() {
            return self.low;
        }
        let alpha = 1.0 + 4.0 * self.lean();
        self.low + (self.high - self.low) * inv_beta_reg(alpha, 6.0 - alpha, u.clamp(0.0, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::ThreePoint;

    /// The library's inverse is an iteration with an accuracy of its own, so it is checked
    /// by going back over a grid of leans and chances.
    #[test]
    fn the_quantile_undoes_the_chance_of_at_most() {
        for lean in 0..=40 {
            let estimate = ThreePoint::new(0.0, f64::from(lean) / 40.0, 1.0).expect("rising");
            for u in
                [1e-6, 0.001, 0.01, 0.1, 0.25, 0.5, 0.75, 0.85, 0.9, 0.95, 0.99, 0.999, 1.0 - 1e-6]
            {
                let x = estimate.quantile(u);
                assert!((0.0..=1.0).contains(&x));
                // Where the distribution is flat, x is not well defined by u; u always is by x.
                let back = estimate.cdf(x);
                assert!((back - u).abs() < 1e-9, "lean {lean}/40, u {u}: x {x} gives {back}");
            }
        }
    }

    #[test]
    fn figures_out_of_order_or_not_finite_are_no_estimate() {
        assert!(ThreePoint::new(1.0, 0.5, 2.0).is_none());
        assert!(ThreePoint::new(1.0, 3.0, 2.0).is_none());
        assert!(ThreePoint::new(-1.0, 3.0, 4.0).is_none());
        assert!(ThreePoint::new(f64::NAN, 3.0, 4.0).is_none());
        assert!(ThreePoint::new(0.0, 3.0, f64::INFINITY).is_none());
    }

    #[test]
    fn a_known_figure_stays_itself() {
        let known = ThreePoint::known(7.5).expect("finite");
        assert_eq!((known.quantile(0.1), known.quantile(0.9), known.mean()), (7.5, 7.5, 7.5));
        assert_eq!((known.cdf(7.4), known.cdf(7.5)), (0.0, 1.0));
    }
}
