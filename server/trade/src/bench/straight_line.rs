//! A straight line through measured points by least squares, with how sure it is.

/// `y = mean_y + slope · (x − mean_x)`, fitted by least squares in y.
///
/// Kept about the means and not about x = 0, because an intercept far outside the
/// readings throws away digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    /// How many points were fitted.
    pub point_count: usize,
    /// Mean of x.
    pub mean_x: f64,
    /// Mean of y.
    pub mean_y: f64,
    /// Rise of y per unit of x.
    pub slope: f64,
    /// Sum of the squared distances of x from its mean.
    pub s_xx: f64,
    /// Standard deviation of the points about the line, with n − 2 degrees of freedom;
    /// 0 for two points, which leave none.
    pub residual_sd: f64,
}

impl StraightLine {
    /// Fits `(x, y)` points, in any order.
    ///
    /// Two passes: first the means, then sums of what is left, so that nothing large is
    /// subtracted from something large. On NIST's Norris data it agrees with the certified
    /// values to 1e-10.
    ///
    /// `None` when there are fewer than two points, all x are equal, or a sum overflows.
    #[must_use]
    pub fn through(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Self> {
        let point_count = points.clone().count();
        let n = count_as_f64(point_count);
        let (sum_x, sum_y) = points.clone().fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
        let (mean_x, mean_y) = (sum_x / n, sum_y / n);
        let (s_xx, s_xy) = points.clone().fold((0.0, 0.0), |(xx, xy), (x, y)| {
            let dx = x - mean_x;
            (xx + dx * dx, xy + dx * (y - mean_y))
        });
        let slope = s_xy / s_xx;
        let squares: f64 = points.map(|(x, y)| (y - mean_y - slope * (x - mean_x)).powi(2)).sum();
        let residual_sd = if point_count > 2 { (squares / (n - 2.0)).sqrt() } else { 0.0 };
        let line = Self { point_count, mean_x, mean_y, slope, s_xx, residual_sd };
        (point_count >= 2 && s_xx > 0.0 && slope.is_finite() && residual_sd.is_finite())
            .then_some(line)
    }

    /// The line's y at `x`.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }

    /// Variance of the line's y at `x` in units of the points' variance: `1/n + (x − x̄)²/S_xx`.
    #[must_use]
    pub fn leverage(&self, x: f64) -> f64 {
        1.0 / count_as_f64(self.point_count) + (x - self.mean_x).powi(2) / self.s_xx
    }
}

/// A count of readings as a number to reckon with.
#[expect(clippy::cast_precision_loss, reason = "counts of readings stay far below 2^53")]
pub(crate) fn count_as_f64(count: usize) -> f64 {
    count as f64
}
