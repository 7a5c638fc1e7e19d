//! When to try a letter again, and when to give up.

use std::time::Duration;
use uuid::Uuid;

const MINUTE: u64 = 60;
const HOUR: u64 = 60 * MINUTE;

/// Waits after the first, second, … failed try, in seconds. Close together at first, because
/// greylisting and a restarting host clear within minutes; together 4 days and 16 hours.
/// RFC 5321, 4.5.4.1 asks for at least 4 to 5 days before giving up.
const WAITS: [u64; 11] = [
    MINUTE,
    5 * MINUTE,
    15 * MINUTE,
    HOUR,
    3 * HOUR,
    6 * HOUR,
    12 * HOUR,
    18 * HOUR,
    24 * HOUR,
    24 * HOUR,
    24 * HOUR,
];

/// Wait before the next try.
///
/// * `letter`: the letter's id; spreads the tries of many letters, always the same way.
/// * `tries_made`: how many have failed, from 1 (0 is read as 1).
///
/// Gives the time from the last failed try, up to a fifth longer than the schedule so that
/// letters that failed together do not come back together; `None` means that it is given up.
#[must_use]
pub fn wait_before_next(letter: Uuid, tries_made: u32) -> Option<Duration> {
    let place = tries_made.max(1) as usize - 1;
    let wait = *WAITS.get(place)?;
    let spread = scattered(letter.as_u128(), place as u64) % 1000;
    Some(Duration::from_millis(wait * 1000 + wait * spread / 5))
}

/// The finishing step of SplitMix64 (Steele, Lea and Flood 2014): one bit in changes half of
/// the bits out. Not secret, only spread.
fn scattered(id: u128, place: u64) -> u64 {
    let folded = (id ^ (id >> 64)) as u64;
    let mut z = folded.wrapping_add((place + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DAY: Duration = Duration::from_secs(24 * HOUR);

    fn waits(letter: u128) -> Vec<Duration> {
        (1..).map_while(|tries| wait_before_next(Uuid::from_u128(letter), tries)).collect()
    }

    #[test]
    fn tries_are_spread_over_four_days_and_then_given_up() {
        for letter in 0..500_u128 {
            let all = waits(letter << 60 | letter);
            let together: Duration = all.iter().sum();
            assert!(together > 4 * DAY && together < 6 * DAY, "{together:?}");
            let longest = all.iter().max().copied();
            assert!(longest < Some(Duration::from_secs(29 * HOUR)), "tried daily: {all:?}");
            assert!(all[..8].is_sorted(), "soon at first, then further apart: {all:?}");
            assert_eq!(wait_before_next(Uuid::from_u128(letter), all.len() as u32 + 1), None);
        }
    }

    #[test]
    fn ten_minutes_of_refusal_cost_no_more_than_half_an_hour() {
        let all = waits(7);
        let until_third: Duration = all[..3].iter().sum();
        assert!(until_third > Duration::from_secs(10 * MINUTE));
        assert!(until_third < Duration::from_secs(30 * MINUTE));
    }

    #[test]
    fn the_same_letter_waits_alike_and_a_hundred_letters_do_not_meet() {
        assert_eq!(waits(42), waits(42));
        // Ids made in one millisecond differ only in their last bits, as UUIDv7 do.
        let base = 0x0197_0000_0000_7000_8000_0000_0000_0000_u128;
        let mut first: Vec<u128> = (0..100)
            .filter_map(|n| wait_before_next(Uuid::from_u128(base + n), 4))
            .map(|wait| wait.as_secs() as u128 / 60)
            .collect();
        first.sort_unstable();
        first.dedup();
        assert!(first.len() >= 10, "an hour's wait is spread over its twelve minutes: {first:?}");
    }
}
