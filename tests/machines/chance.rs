//! Chance that can be had again: the same seed gives the same walk.

/// SplitMix64 (Steele, Lea and Flood, 2014).
pub struct Chance(u64);

impl Chance {
    /// From this seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5bd1_e995)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `most`.
    pub fn below(&mut self, most: usize) -> usize {
        usize::try_from(self.next() % u64::try_from(most.max(1)).unwrap()).unwrap()
    }

    /// True so many times in a hundred.
    pub fn percent(&mut self, of_a_hundred: usize) -> bool {
        self.below(100) < of_a_hundred
    }

    /// One of these.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }
}
