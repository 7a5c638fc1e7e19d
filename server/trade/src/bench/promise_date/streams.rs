//! Random numbers that are a function of where they are used: seed, draw, order, place.
//!
//! Each draw and each order in it has a stream of its own, so that neither the number of
//! threads nor the orders beside it change what an order meets. A stream is SplitMix64
//! (G. L. Steele, D. Lea and C. H. Flood 2014, "Fast splittable pseudorandom number
//! generators"): a counter in steps of the golden ratio, mixed. Written out here, in three
//! lines, because the same seed shall give the same forecast in every later edition.

use std::f64::consts::TAU;

const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

/// A stream of random numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stream(u64);

impl Stream {
    /// The stream of one draw.
    pub(super) fn of_draw(seed: u64, draw: u32) -> Self {
        Self(mix(mix(seed) ^ u64::from(draw).wrapping_mul(GOLDEN)))
    }

    /// The stream of one order within this draw.
    pub(super) fn of_order(self, order: OrderKey) -> Self {
        Self(mix(self.0 ^ order.0))
    }

    /// The next 64 random bits.
    #[inline]
    pub(super) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(GOLDEN);
        mix(self.0)
    }

    /// The random bits that come after `count` others, without taking any.
    #[inline(always)]
    pub(super) fn bits_after(self, count: u64) -> u64 {
        mix(self.0.wrapping_add(GOLDEN.wrapping_mul(count + 1)))
    }

    /// The next number strictly between 0 and 1.
    pub(super) fn unit(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// The next number of Beta(first, second), both at least 1, from two gamma numbers.
    pub(super) fn beta(&mut self, first: f64, second: f64) -> f64 {
        let (one, other) = (self.gamma(first), self.gamma(second));
        one / (one + other)
    }

    /// Gamma with shape at least 1 by G. Marsaglia and W. W. Tsang 2000, "A simple method
    /// for generating gamma variables", *ACM Transactions on Mathematical Software*.
    fn gamma(&mut self, shape: f64) -> f64 {
        let d = shape - 1.0 / 3.0;
        let c = (9.0 * d).sqrt().recip();
        loop {
            let normal = (-2.0 * self.unit().ln()).sqrt() * (TAU * self.unit()).cos();
            let v = (1.0 + c * normal).powi(3);
            if v > 0.0 && self.unit().ln() < 0.5 * normal * normal + d * (1.0 - v + v.ln()) {
                return d * v;
            }
        }
    }
}

/// What tells an order's stream from the others: its id, so that an order keeps its own
/// chances when the list around it changes.
#[derive(Debug, Clone, Copy)]
pub(super) struct OrderKey(u64);

impl OrderKey {
    /// Hashed by FNV-1a (G. Fowler, L. C. Noll and P. Vo), 64 bits; constants from memory.
    pub(super) fn of(id: &str) -> Self {
        Self(id.bytes().fold(0xCBF2_9CE4_8422_2325, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3)
        }))
    }
}

/// The finalizer of SplitMix64.
#[inline]
fn mix(z: u64) -> u64 {
    let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::{OrderKey, Stream};

    /// The first numbers of SplitMix64 from 1234567, as widely published with it (typed from
    /// memory of the Rosetta Code page).
    #[test]
    fn the_stream_is_split_mix_64() {
        let mut stream = Stream(1_234_567);
        let expected = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        assert_eq!(expected.map(|_| stream.bits()), expected);
    }

    /// FNV-1a of "a" and "foobar", from the test vectors of its authors (typed from memory).
    #[test]
    fn the_key_of_an_order_is_its_hash() {
        assert_eq!(OrderKey::of("a").0, 0xAF63_DC4C_8601_EC8C);
        assert_eq!(OrderKey::of("foobar").0, 0x8594_4171_F739_67E8);
    }

    #[test]
    fn neighbouring_streams_do_not_resemble_each_other() {
        // Correlation of 100,000 pairs: standard error 0.0032, five of them.
        let pairs = 100_000;
        let key = OrderKey::of("o1");
        for (one, other) in [
            (
                Stream::of_draw as fn(u64, u32) -> Stream,
                (|seed, draw| Stream::of_draw(seed, draw + 1)) as fn(u64, u32) -> Stream,
            ),
            (Stream::of_draw, |seed, draw| Stream::of_draw(seed + 1, draw)),
            (Stream::of_draw, |seed, draw| {
                Stream::of_draw(seed, draw).of_order(OrderKey::of("o2"))
            }),
        ] {
            let product: f64 = (0..pairs)
                .map(|draw| {
                    (one(7, draw).of_order(key).unit() - 0.5)
                        * (other(7, draw).of_order(key).unit() - 0.5)
                })
                .sum();
            let correlation = product / f64::from(pairs) * 12.0;
            assert!(correlation.abs() < 0.016, "{correlation}");
        }
    }

    /// Mean a/(a+b) and variance ab/((a+b)²(a+b+1)) of the Beta distribution.
    #[test]
    fn beta_numbers_have_their_mean_and_variance() {
        let count = 100_000;
        for (a, b) in [(1.0, 4.0), (10.0, 34.0), (8.0, 4.0)] {
            let numbers: Vec<f64> =
                (0..count).map(|draw| Stream::of_draw(3, draw).beta(a, b)).collect();
            let mean = numbers.iter().sum::<f64>() / f64::from(count);
            let variance =
                numbers.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / f64::from(count);
            let expected: f64 = a * b / ((a + b) * (a + b) * (a + b + 1.0));
            assert!(
                (mean - a / (a + b)).abs() < 4.0 * (expected / f64::from(count)).sqrt(),
                "{mean}"
            );
            assert!((variance / expected - 1.0).abs() < 0.03, "{variance} instead of {expected}");
        }
    }
}
