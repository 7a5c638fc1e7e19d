//! The shop as it stands, the same in every draw: who can do what, and which tasks the orders need.

use super::bench_hours::BenchHours;
use super::open_time::NEVER;

/// As many technicians as a [`People`] holds, and orders as a `u32` numbers.
pub(super) const MOST_TECHNICIANS: usize = 128;
pub(super) const MOST_ORDERS: usize = 1 << 24;

/// A set of technicians: a bit for each rank.
pub(super) type People = u128;

/// The shop as it stands: who can do what, and which tasks the orders need.
#[derive(Debug, Clone)]
pub(super) struct Shop {
    pub(super) hours: BenchHours,
    /// Where the shop closes, with the seconds until it opens; then a sentinel.
    pub(super) closings: Vec<(u32, u32)>,
    /// Technicians of each queue. A queue holds the orders whose next task the same people
    /// can do. The last is nobody's: what is done goes there.
    pub(super) people: Vec<People>,
    /// Queues of each technician in fours, all lists filled up to the same length with their own, so
    /// that the loop over them always has the same length.
    queues: Vec<[u16; 4]>,
    fours_each: usize,
    /// The queue of each step that an order may need, all orders one behind the other, and one more.
    pub(super) steps: Vec<u16>,
    /// The first step of each order, and one more.
    pub(super) first_step: Vec<u32>,
}

impl Shop {
    /// * `hours`: of the technicians, best rank first; at most [`MOST_TECHNICIANS`].
    /// * `queues`: the technicians of each queue.
    /// * `steps`: for each order, best priority first, the queues of its steps; at most
    ///   [`MOST_ORDERS`].
    pub(super) fn new(hours: BenchHours, queues: &[Vec<u16>], steps: &[Vec<u16>]) -> Self {
        let mut people: Vec<People> = queues
            .iter()
            .map(|who| who.iter().fold(0, |people, rank| people | 1 << rank))
            .collect();
        people.push(0);
        let nobodys = (people.len() - 1) as u16;
        let of_technician: Vec<Vec<u16>> = (0..hours.technician_count())
            .map(|technician| {
                let can = |queue: &u16| people[usize::from(*queue)] >> technician & 1 == 1;
                (0..nobodys).filter(can).collect()
            })
            .collect();
        let fours_each = of_technician.iter().map(Vec::len).max().unwrap_or(0).div_ceil(4);
        let queues = of_technician
            .iter()
            .flat_map(|queues| {
                // One who can do nothing that is asked for is never called: any queue will do.
                let own = if queues.is_empty() { &[0] } else { queues.as_slice() };
                (0..fours_each)
                    .map(|four| [0, 1, 2, 3].map(|one| own[(4 * four + one) % own.len()]))
            })
            .collect();
        let mut first_step = vec![0];
        for steps in steps {
            first_step.push(first_step[first_step.len() - 1] + steps.len() as u32);
        }
        let mut steps = steps.concat();
        steps.push(nobodys);
        let closings = hours.open.closings().chain([(NEVER, 0)]).collect();
        Self { hours, closings, people, queues, fours_each, steps, first_step }
    }

    /// The queues of a technician, some of them more than once.
    #[inline(always)]
    pub(super) fn queues_of(&self, technician: usize) -> &[[u16; 4]] {
        &self.queues[technician * self.fours_each..][..self.fours_each]
    }

    /// The place of an order's first step among all steps.
    pub(super) fn first_step(&self, order: usize) -> u32 {
        self.first_step[order]
    }

    /// The queue of a step.
    pub(super) fn queue_of(&self, step: usize) -> u16 {
        self.steps[step]
    }

    /// How many steps all orders may need together.
    pub(super) fn step_count(&self) -> usize {
        self.steps.len() - 1
    }

    /// The queue of what is done.
    pub(super) fn nobodys(&self) -> u16 {
        (self.people.len() - 1) as u16
    }
}
