//! What is counted over draws, in whole numbers.

/// Counts and sums of all orders.
pub(super) struct Tally {
    /// For each order, how often it was ready on each day.
    counts: Vec<u32>,
    /// Days that each order has in it, a power of two; 0 when dates are not counted.
    width: usize,
    pub(super) sums: Vec<Sums>,
    /// Seconds in which orders were on a bench or stood before they were taken up, from start to end.
    pub(super) not_waited: u64,
}

/// Seconds after now, over draws.
#[derive(Debug, Clone, Default)]
pub(super) struct Sums {
    pub(super) ready: u64,
    pub(super) ready_squared: u128,
    /// Free to be worked on.
    pub(super) free: u64,
    /// Answered.
    pub(super) approval: u64,
    /// Parts there.
    pub(super) parts: u64,
}

impl Tally {
    pub(super) fn new(orders: usize) -> Self {
        let width = 64;
        Self {
            counts: vec![0; orders * width],
            width,
            sums: vec![Sums::default(); orders],
            not_waited: 0,
        }
    }

    /// A tally of a single draw, which has no need to count dates.
    pub(super) fn of_one_draw(orders: usize) -> Self {
        Self { counts: Vec::new(), width: 0, sums: vec![Sums::default(); orders], not_waited: 0 }
    }

    /// Notes that an order was ready at these instants, on these days.
    #[inline(always)]
    pub(super) fn ready(&mut self, place: usize, ready: impl Iterator<Item = (u32, u32)>) {
        let (mut sum, mut squares) = (0, 0);
        for (at, day) in ready {
            if self.width > 0 {
                if day as usize >= self.width {
                    self.widen(day as usize + 1);
                }
                self.counts[place * self.width + day as usize] += 1;
            }
            let at = u64::from(at);
            sum += at;
            squares += u128::from(at * at);
        }
        self.sums[place].ready += sum;
        self.sums[place].ready_squared += squares;
    }

    #[cold]
    fn widen(&mut self, days: usize) {
        let width = days.next_power_of_two();
        let mut counts = vec![0; self.sums.len() * width];
        for (wide, narrow) in
            counts.chunks_exact_mut(width).zip(self.counts.chunks_exact(self.width))
        {
            wide[..self.width].copy_from_slice(narrow);
        }
        (self.counts, self.width) = (counts, width);
    }

    /// How often an order was ready on each day.
    pub(super) fn counts_of(&self, place: usize) -> &[u32] {
        &self.counts[place * self.width..(place + 1) * self.width]
    }

    /// Both together.
    pub(super) fn plus(mut self, other: &Self) -> Self {
        self.widen(self.width.max(other.width));
        for place in 0..self.sums.len() {
            let start = place * self.width;
            for (count, more) in self.counts[start..].iter_mut().zip(other.counts_of(place)) {
                *count += more;
            }
            let (sums, more) = (&mut self.sums[place], &other.sums[place]);
            sums.ready += more.ready;
            sums.ready_squared += more.ready_squared;
            sums.free += more.free;
            sums.approval += more.approval;
            sums.parts += more.parts;
        }
        self.not_waited += other.not_waited;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::Tally;

    #[test]
    fn tallies_of_different_width_add_up() {
        let (mut one, mut other) = (Tally::new(2), Tally::new(2));
        one.ready(0, [(5, 3)].into_iter());
        one.ready(1, [(7, 63)].into_iter());
        other.ready(1, [(11, 63), (13, 200)].into_iter());
        let both = one.plus(&other);
        assert_eq!(
            (both.counts_of(0)[3], both.counts_of(1)[63], both.counts_of(1)[200]),
            (1, 2, 1)
        );
        assert_eq!(both.counts.iter().sum::<u32>(), 4);
        assert_eq!((both.sums[1].ready, both.sums[1].ready_squared), (31, 49 + 121 + 169));
    }
}
