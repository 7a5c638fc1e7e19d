//! Chance with a fixed seed: the same story every time.

use rand::rngs::StdRng;
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};

/// Draws from one seed. Another version of the generator's crate may deal another story;
/// nothing hangs on which one.
#[derive(Debug)]
pub struct Chance(StdRng);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(StdRng::seed_from_u64(seed))
    }

    /// A whole number from `low` to `high`, both included.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    /// A share of one, one excluded.
    pub fn share(&mut self) -> f64 {
        self.0.random()
    }

    /// True so many times in a hundred.
    pub fn percent(&mut self, percent: u32) -> bool {
        self.0.random_ratio(percent, 100)
    }

    /// One of these.
    ///
    /// # Panics
    /// Of none.
    pub fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.0.random_range(0..list.len())]
    }

    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        list.shuffle(&mut self.0);
    }
}
