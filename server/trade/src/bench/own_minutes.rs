//! A shop's own three-point minutes of a method, from the minutes that it took.

/// From so many done operations on, the shop's own minutes count; before, the typical ones. Common
/// practice, no source: fewer than eight say little about the slow tenth.
pub const OWN_FROM: usize = 8;

/// Low, typical and high minutes as they were taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OwnMinutes {
    /// How many done operations they rest on.
    pub count: usize,
    /// One in ten took no longer.
    pub low: u32,
    /// The middle one.
    pub typical: u32,
    /// Nine in ten took no longer.
    pub high: u32,
}

/// The shop's own minutes: the tenth, fiftieth and ninetieth of a hundred of what was taken,
/// straight between the observations (type 7 of Hyndman and Fan), to the whole minute. `None`
/// for fewer than [`OWN_FROM`]. What took no whole minute was ticked off, not worked on, and says
/// nothing.
#[must_use]
pub fn own_minutes(taken: &[u32]) -> Option<OwnMinutes> {
    let mut sorted: Vec<u32> = taken.iter().copied().filter(|minutes| *minutes > 0).collect();
    if sorted.len() < OWN_FROM {
        return None;
    }
    sorted.sort_unstable();
    let last = u64::try_from(sorted.len() - 1).unwrap_or_default();
    // In hundredths of a place, so that nothing is lost to rounding.
    let quantile = |hundredths: u64| {
        let place = last * hundredths;
        let (whole, rest) = (usize::try_from(place / 100).unwrap_or_default(), place % 100);
        let (a, b) = (u64::from(sorted[whole]), u64::from(sorted[(whole + 1).min(sorted.len() - 1)]));
        let value = (a * (100 - rest) + b * rest + 50) / 100;
        u32::try_from(value).unwrap_or(u32::MAX)
    };
    Some(OwnMinutes { count: sorted.len(), low: quantile(10), typical: quantile(50), high: quantile(90) })
}

#[cfg(test)]
mod tests {
    use super::{OwnMinutes, own_minutes};

    #[test]
    fn few_operations_say_nothing_of_their_own() {
        assert_eq!(own_minutes(&[10; 7]), None);
        assert_eq!(own_minutes(&[10; 8]), Some(OwnMinutes { count: 8, low: 10, typical: 10, high: 10 }));
    }

    #[test]
    fn what_was_only_ticked_off_counts_for_nothing() {
        assert_eq!(own_minutes(&[10, 10, 10, 10, 10, 10, 10, 0]), None);
        let ten = Some(OwnMinutes { count: 8, low: 10, typical: 10, high: 10 });
        assert_eq!(own_minutes(&[0, 10, 10, 0, 10, 10, 10, 10, 10, 10, 0]), ten);
    }

    /// By hand: eleven values 10, 20 ... 110 have their tenths at 20, 60 and 100.
    #[test]
    fn the_minutes_are_quantiles_of_what_was_taken_in_any_order() {
        let taken = [110, 10, 100, 20, 90, 30, 80, 40, 70, 50, 60];
        assert_eq!(own_minutes(&taken), Some(OwnMinutes { count: 11, low: 20, typical: 60, high: 100 }));
        // Between two observations: 0.1 * 9 = 0.9 of the way from 10 to 20.
        let ten: Vec<u32> = (1..=10).map(|k| k * 10).collect();
        assert_eq!(own_minutes(&ten), Some(OwnMinutes { count: 10, low: 19, typical: 55, high: 91 }));
    }
}
