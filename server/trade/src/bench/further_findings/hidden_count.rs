//! The distribution of the number of hidden findings.

/// Beyond this the running terms are scaled down, so that they never overflow.
const SCALE_AT: f64 = 1e200;

/// A negative binomial count: `P(k) = Γ(r+k)/(Γ(r) k!) pʳ (1−p)ᵏ`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HiddenCount {
    shape: f64,
    success: f64,
    failure: f64,
}

impl HiddenCount {
    /// With shape r above zero, success p in (0, 1] and failure 1 − p, given apart because
    /// it may be far smaller than the rounding of p.
    pub(super) fn new(shape: f64, success: f64, failure: f64) -> Self {
        Self { shape, success, failure }
    }

    /// The shape r.
    #[must_use]
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// The success probability p.
    #[must_use]
    pub fn success(&self) -> f64 {
        self.success
    }

    /// The failure probability 1 − p.
    #[must_use]
    pub fn failure(&self) -> f64 {
        self.failure
    }

    /// The mean count.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.shape * self.failure / self.success
    }

    /// The standard deviation of the count.
    #[must_use]
    pub fn sd(&self) -> f64 {
        (self.mean() / self.success).sqrt()
    }

    /// The chances of exactly 0, 1, 2, … without end.
    pub fn chances(&self) -> impl Iterator<Item = f64> {
        self.steps().map(|step| step.chance)
    }

    /// For each of the rising chances `levels` (below 1), the least count that is not
    /// exceeded with at least that chance; `None` if one of them is over `limit`.
    #[must_use]
    pub fn quantiles<const N: usize>(&self, levels: [f64; N], limit: u32) -> Option<[u32; N]> {
        let mut found = [0; N];
        let mut next = 0;
        for (count, step) in (0..=limit).zip(self.steps()) {
            while next < N && step.at_most >= levels[next] {
                found[next] = count;
                next += 1;
            }
            if next == N {
                return Some(found);
            }
        }
        None
    }

    fn steps(&self) -> Steps {
        Steps {
            of: *self,
            count: 0.0,
            term: 1.0,
            sum: 0.0,
            scale: Scale(self.shape * self.success.ln()),
        }
    }
}

/// The logarithm of the factor by which running terms are to be multiplied. `pʳ` and its
/// like fall below the least floating-point number long before they stop to matter.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale(pub f64);

impl Scale {
    /// Whether a running term has grown so much that it must be scaled down.
    pub(super) fn is_due(term: f64) -> bool {
        term > SCALE_AT
    }

    /// The factor for all running terms; the scale itself grows to make up for it.
    pub(super) fn step_up(&mut self) -> f64 {
        self.0 += SCALE_AT.ln();
        SCALE_AT.recip()
    }

    /// The true value of a running term.
    pub(super) fn true_value(self, term: f64) -> f64 {
        term * self.0.exp()
    }
}

struct Step {
    chance: f64,
    at_most: f64,
}

struct Steps {
    of: HiddenCount,
    count: f64,
    term: f64,
    sum: f64,
    scale: Scale,
}

impl Iterator for Steps {
    type Item = Step;

    fn next(&mut self) -> Option<Step> {
        self.sum += self.term;
        let step = Step {
            chance: self.scale.true_value(self.term),
            at_most: self.scale.true_value(self.sum),
        };
        self.term *= (self.of.shape + self.count) / (self.count + 1.0) * self.of.failure;
        self.count += 1.0;
        if Scale::is_due(self.term) {
            let factor = self.scale.step_up();
            self.term *= factor;
            self.sum *= factor;
        }
        Some(step)
    }
}

#[cfg(test)]
mod tests {
    use super::HiddenCount;

    #[test]
    fn a_chance_of_none_below_the_least_number_does_not_stop_the_count() {
        // p^r = 0.02^250 ≈ 1e-425. Mean 12,250, sd 783; a normal approximation is good to a
        // few counts here (from memory: Cornish-Fisher with skewness 0.126 moves the median
        // by −sd·skewness/6 = −16).
        let count = HiddenCount::new(250.0, 0.02, 0.98);
        let [p50, p85, p95] =
            count.quantiles([0.5, 0.85, 0.95], 100_000).expect("well below the limit");
        assert!((f64::from(p50) - (12_250.0 - 16.0)).abs() < 5.0, "{p50}");
        assert!(p50 < p85 && p85 < p95);
        let total: f64 = count.chances().take(40_000).sum();
        assert!((total - 1.0).abs() < 1e-9, "{total}");
    }

    #[test]
    fn nothing_hidden_is_certain_when_nothing_can_be_missed() {
        let count = HiddenCount::new(3.0, 1.0, 0.0);
        assert_eq!(count.quantiles([0.5, 0.95], 10), Some([0, 0]));
        assert_eq!(count.mean(), 0.0);
    }
}
