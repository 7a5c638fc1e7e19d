//! The orders that wait for a technician, by priority.

/// An order at the head of a queue as one number: smaller when its priority is better. Kept as a
/// float, because the lesser of two floats is a single operation without a jump.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct First(f64);

/// The bits of 2⁵²: whole numbers below it stand in its last bits as they are.
pub(super) const WHOLE: u64 = 0x4330_0000_0000_0000;

impl First {
    /// Nobody waits.
    pub(super) const NONE: Self = Self(f64::INFINITY);

    #[inline(always)]
    fn new(order: u32, queue: u16) -> Self {
        Self(f64::from_bits(WHOLE | u64::from(order) << 16 | u64::from(queue)))
    }

    #[inline(always)]
    pub(super) fn order(self) -> u32 {
        (self.0.to_bits() >> 16) as u32
    }

    #[inline(always)]
    pub(super) fn queue(self) -> u16 {
        self.0.to_bits() as u16
    }

    #[inline(always)]
    pub(super) fn better(self, other: Self) -> Self {
        if self.0 < other.0 { self } else { other }
    }
}

/// The orders in several queues, as sets over priorities: a bit for each order.
#[derive(Debug, Clone)]
pub(super) struct Queues {
    heads: Vec<Head>,
    words: Vec<u64>,
    /// Words of one queue.
    width: usize,
}

#[derive(Debug, Clone, Copy)]
struct Head {
    first: First,
    /// A bit for each word that is not empty, as long as 64 are enough.
    filled: u64,
}

impl Queues {
    pub(super) fn new(queues: usize, orders: usize) -> Self {
        let width = orders.div_ceil(64).max(1);
        Self {
            heads: vec![Head { first: First::NONE, filled: 0 }; queues],
            words: vec![0; queues * width],
            width,
        }
    }

    /// The order of best priority.
    #[inline(always)]
    pub(super) fn first(&self, queue: u16) -> First {
        self.heads[usize::from(queue)].first
    }

    #[inline(always)]
    pub(super) fn add(&mut self, queue: u16, order: u32) -> First {
        let word = order as usize / 64;
        let added = First::new(order, queue);
        let queue = usize::from(queue);
        let head = &mut self.heads[queue];
        head.first = added.better(head.first);
        head.filled |= 1 << (word % 64);
        self.words[queue * self.width + word] |= 1 << (order % 64);
        added
    }

    /// Takes this one out, the first of its queue.
    #[inline(always)]
    pub(super) fn take(&mut self, first: First) {
        let queue = usize::from(first.queue());
        let head = &mut self.heads[queue];
        let words = &mut self.words[queue * self.width..(queue + 1) * self.width];
        let mut word = first.order() as usize / 64;
        let left = words[word] & (words[word] - 1);
        words[word] = left;
        if words.len() <= 64 {
            let filled = head.filled & !(u64::from(left == 0) << (word % 64));
            head.filled = filled;
            word = (filled.trailing_zeros() as usize).min(words.len() - 1);
        } else {
            while words[word] == 0 && word + 1 < words.len() {
                word += 1;
            }
        }
        let next = words[word];
        let order = word as u32 * 64 + next.trailing_zeros();
        head.first = if next == 0 { First::NONE } else { First::new(order, first.queue()) };
    }

    pub(super) fn copy(&mut self, other: &Self) {
        self.words.copy_from_slice(&other.words);
        self.heads.copy_from_slice(&other.heads);
    }
}

#[cfg(test)]
mod tests {
    use super::{First, Queues};
    use std::collections::BTreeSet;

    /// Beside two ordered sets, with as many orders as fit into the words' own set and with more.
    #[test]
    fn the_first_of_a_queue_is_the_least() {
        for orders in [1, 64, 300, 4096, 9000] {
            let mut queues = Queues::new(2, orders as usize);
            let mut sets = [BTreeSet::new(), BTreeSet::new()];
            let mut number = 1u32;
            for turn in 0..20_000u32 {
                number = number.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let (queue, order) = ((number >> 30) as u16 & 1, (number >> 8) % orders);
                let set = &mut sets[usize::from(queue)];
                // More come than go, then more go than come.
                if (number >> 4) % 8 < if turn < 10_000 { 5 } else { 3 } {
                    set.insert(order);
                    assert_eq!(queues.add(queue, order).order(), order);
                } else if let Some(first) = set.pop_first() {
                    let found = queues.first(queue);
                    assert_eq!((found.order(), found.queue()), (first, queue));
                    queues.take(found);
                }
                let first = queues.first(queue);
                assert_eq!(
                    (first != First::NONE).then(|| first.order()),
                    sets[usize::from(queue)].first().copied()
                );
            }
        }
    }
}
