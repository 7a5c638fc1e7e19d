//! How long customers take to answer, from the shop's own waits, answered or not.

/// One past or present wait for a customer's answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ApprovalWait {
    /// How long it lasted or has lasted, in days of 86,400 s; not below zero.
    pub days: f64,
    /// Whether the answer came then; else the wait was still going on (censored).
    pub answered: bool,
}

/// A list to go on with while a shop has none of its own; typical, made up, not measured.
pub const TYPICAL_APPROVAL_WAITS: [ApprovalWait; 20] = {
    const fn after(days: f64) -> ApprovalWait {
        ApprovalWait { days, answered: true }
    }
    const fn none_after(days: f64) -> ApprovalWait {
        ApprovalWait { days, answered: false }
    }
    [
        after(0.1),
        after(0.2),
        after(0.4),
        after(0.5),
        after(0.9),
        after(1.1),
        after(1.3),
        after(1.8),
        after(2.2),
        after(2.9),
        after(3.5),
        none_after(4.2),
        after(5.1),
        after(6.8),
        none_after(7.5),
        after(9.3),
        after(12.1),
        none_after(15.0),
        after(21.5),
        none_after(30.0),
    ]
};

/// A step of the survival curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalStep {
    /// The wait at which answers came.
    pub days: f64,
    /// Share of customers who take longer.
    pub survival: f64,
    /// Waits that lasted at least as long.
    pub at_risk: u32,
    /// Answers at this wait.
    pub answered: u32,
}

/// The distribution of a customer's wait: the Kaplan–Meier estimate, with an exponential
/// tail beyond the last answer.
///
/// Source: E. L. Kaplan and P. Meier 1958, *Journal of the American Statistical Association*;
/// COMPUTATIONS.md, section 4.
#[derive(Debug, Clone, PartialEq)]
pub struct ApprovalWaits {
    steps: Vec<SurvivalStep>,
    tail_rate_per_day: f64,
}

/// None of the waits ended with an answer, so nothing is known of how they end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoAnswer;

impl ApprovalWaits {
    /// The estimate from these waits, in any order; all days finite and not below zero.
    ///
    /// # Errors
    /// [`NoAnswer`].
    pub fn new(waits: &[ApprovalWait]) -> Result<Self, NoAnswer> {
        let mut waits = waits.to_vec();
        waits.sort_by(|one, other| one.days.total_cmp(&other.days));
        let mut at_risk = u32::try_from(waits.len()).unwrap_or(u32::MAX);
        let mut survival = 1.0;
        let mut steps = Vec::new();
        let mut answers = 0.0;
        // A wait that was cut off at the very time of an answer is still at risk then.
        for same in waits.chunk_by(|one, other| one.days == other.days) {
            let answered = same.iter().filter(|wait| wait.answered).count() as u32;
            if answered > 0 {
                survival *= 1.0 - f64::from(answered) / f64::from(at_risk);
                steps.push(SurvivalStep { days: same[0].days, survival, at_risk, answered });
                answers += f64::from(answered);
            }
            at_risk -= same.len() as u32;
        }
        let total_days: f64 = waits.iter().map(|wait| wait.days).sum();
        if steps.is_empty() {
            Err(NoAnswer)
        } else {
            Ok(Self { steps, tail_rate_per_day: answers / total_days })
        }
    }

    /// The steps of the curve, by rising days.
    #[must_use]
    pub fn steps(&self) -> &[SurvivalStep] {
        &self.steps
    }

    /// Answers per day waited, over all waits: the rate of the tail.
    #[must_use]
    pub fn tail_rate_per_day(&self) -> f64 {
        self.tail_rate_per_day
    }

    /// The whole wait in days of a customer who has been waited for `waited_days` already,
    /// for a `u` in (0, 1): the larger u, the sooner the answer.
    #[must_use]
    pub fn wait_days(&self, waited_days: f64, u: f64) -> f64 {
        self.given(waited_days).wait_days(u)
    }

    /// The same, prepared for many `u`.
    pub(super) fn given(&self, waited_days: f64) -> WaitGiven<'_> {
        let ahead = self.steps.partition_point(|step| step.days <= waited_days);
        let still_waiting = if ahead == 0 { 1.0 } else { self.steps[ahead - 1].survival };
        WaitGiven { waits: self, waited_days, ahead, still_waiting }
    }
}

/// The distribution of a wait that has lasted some time already.
#[derive(Debug, Clone, Copy)]
pub(super) struct WaitGiven<'w> {
    waits: &'w ApprovalWaits,
    waited_days: f64,
    /// The first step after the time waited.
    ahead: usize,
    /// S(waited), while there is a step ahead.
    still_waiting: f64,
}

impl WaitGiven<'_> {
    pub(super) fn wait_days(&self, u: f64) -> f64 {
        let steps = &self.waits.steps;
        let last = steps[steps.len() - 1];
        let rate = self.waits.tail_rate_per_day;
        if self.ahead == steps.len() {
            // S falls from here by the tail alone, so S(w) cancels: it would underflow for
            // one who has waited for years.
            return self.waited_days.max(last.days) - u.ln() / rate;
        }
        let chance = u * self.still_waiting;
        let reached =
            self.ahead + steps[self.ahead..].partition_point(|step| step.survival > chance);
        match steps.get(reached) {
            Some(step) => step.days,
            None => self.waited_days.max(last.days - (chance / last.survival).ln() / rate),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{ApprovalWait, ApprovalWaits, NoAnswer};

    #[test]
    fn answers_at_once_give_no_wait_and_no_division_by_zero() {
        let at_once = ApprovalWait { days: 0.0, answered: true };
        let waits = ApprovalWaits::new(&[at_once, at_once]).expect("answered");
        assert_eq!(waits.wait_days(0.0, 0.5), 0.0);
        assert_eq!(waits.wait_days(3.0, 0.5), 3.0);
    }

    #[test]
    fn without_an_answer_there_is_no_curve() {
        assert_eq!(ApprovalWaits::new(&[]), Err(NoAnswer));
        assert_eq!(
            ApprovalWaits::new(&[ApprovalWait { days: 3.0, answered: false }]),
            Err(NoAnswer)
        );
    }

    #[test]
    fn one_who_has_waited_for_years_still_has_a_wait_ahead() {
        let waits = ApprovalWaits::new(&super::TYPICAL_APPROVAL_WAITS).expect("answered");
        let wait = waits.wait_days(1e6, 0.5);
        assert!(wait > 1e6 && wait < 1e6 + 10.0, "{wait}");
    }
}
