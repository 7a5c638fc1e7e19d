//! Which technician takes which task next: one schedule, nothing random.
//!
//! The rule (COMPUTATIONS.md, section 4, order of service): among all orders with a next
//! task and all technicians who can do it, the pair with the earliest start is taken; ties go
//! to the order of better priority, then to the technician of better rank. The task runs in
//! that technician's working time. Nobody waits on purpose, nothing is interrupted.
//!
//! Starts only grow, so the shop is played through in time: an order stands in the queue of
//! its next task from the moment it can be worked on, and a technician who can start looks
//! through their queues. Orders go by priority (0 is first), technicians by rank (0 is first).
//!
//! This runs for every draw and takes most of a forecast's time: what belongs together lies
//! together, lists of lists are one list, and each technician has one event, a plain number.

use super::bench_hours::{BenchHours, NEVER, Place};
use std::hint::select_unpredictable;

/// No order.
const NONE: u32 = u32::MAX;

/// As many technicians as a [`People`] holds, and orders as a `u32` numbers.
pub(super) const MOST_TECHNICIANS: usize = 128;
pub(super) const MOST_ORDERS: usize = 1 << 24;

/// A set of technicians: a bit for each rank.
type People = u128;

/// The shop as it stands: who can do what, and which tasks the orders need.
#[derive(Debug, Clone)]
pub(super) struct Shop {
    hours: BenchHours,
    /// Technicians of each queue. A queue holds the orders whose next task the same people
    /// can do.
    people: Vec<People>,
    /// Queues of each technician, all lists filled up to the same length with their own, so
    /// that the loop over them always has the same length.
    queues: Vec<u16>,
    queues_each: usize,
    /// The queue of each step that an order may need, all orders one behind the other.
    steps: Vec<u16>,
    /// The first step of each order, and one more.
    first_step: Vec<u32>,
}

impl Shop {
    /// * `hours`: of the technicians, best rank first; at most [`MOST_TECHNICIANS`].
    /// * `queues`: the technicians of each queue.
    /// * `steps`: for each order, best priority first, the queues of its steps; at most
    ///   [`MOST_ORDERS`].
    pub(super) fn new(hours: BenchHours, queues: &[Vec<u16>], steps: &[Vec<u16>]) -> Self {
        let people: Vec<People> = queues
            .iter()
            .map(|who| who.iter().fold(0, |people, rank| people | 1 << rank))
            .collect();
        let of_technician: Vec<Vec<u16>> = (0..hours.technician_count())
            .map(|technician| {
                let can = |queue: &u16| people[usize::from(*queue)] >> technician & 1 == 1;
                (0..people.len() as u16).filter(can).collect()
            })
            .collect();
        let queues_each = of_technician.iter().map(Vec::len).max().unwrap_or(0);
        let queues = of_technician
            .iter()
            .flat_map(|queues| {
                // One who can do nothing that is asked for is never called: any queue will do.
                let own = if queues.is_empty() { &[0] } else { queues.as_slice() };
                own.iter().copied().cycle().take(queues_each)
            })
            .collect();
        let mut first_step = vec![0];
        for steps in steps {
            first_step.push(first_step[first_step.len() - 1] + steps.len() as u32);
        }
        Self { hours, people, queues, queues_each, steps: steps.concat(), first_step }
    }

    /// The queues of a technician, some of them more than once.
    #[inline]
    fn queues_of(&self, technician: usize) -> &[u16] {
        &self.queues[technician * self.queues_each..(technician + 1) * self.queues_each]
    }

    /// The place of an order's first step among all steps.
    pub(super) fn first_step(&self, order: usize) -> u32 {
        self.first_step[order]
    }

    /// How many steps all orders may need together.
    pub(super) fn step_count(&self) -> usize {
        self.steps.len()
    }
}

/// The work goes on beyond the horizon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OutOfTime;

/// The orders in the queues, as sets over priorities: a bit for each order, and a bit for
/// each word of 64 that is not empty.
#[derive(Debug, Clone)]
struct Queues {
    words: Vec<u64>,
    filled: Vec<u64>,
    /// Words of one queue, and words of `filled`.
    width: usize,
    filled_width: usize,
    /// The order of best priority in each queue, or [`NONE`].
    firsts: Vec<u32>,
}

impl Queues {
    fn new(queues: usize, orders: usize) -> Self {
        let width = orders.div_ceil(64);
        let filled_width = width.div_ceil(64);
        Self {
            words: vec![0; queues * width],
            filled: vec![0; queues * filled_width],
            width,
            filled_width,
            firsts: vec![NONE; queues],
        }
    }

    #[inline]
    fn add(&mut self, queue: usize, order: u32) {
        let word = order as usize / 64;
        self.words[queue * self.width + word] |= 1 << (order % 64);
        self.filled[queue * self.filled_width + word / 64] |= 1 << (word % 64);
        self.firsts[queue] = self.firsts[queue].min(order);
    }

    /// Takes the first one out; there must be one.
    #[inline]
    fn take_first(&mut self, queue: usize) {
        let words = &mut self.words[queue * self.width..(queue + 1) * self.width];
        let filled = &mut self.filled[queue * self.filled_width..(queue + 1) * self.filled_width];
        let mut word = self.firsts[queue] as usize / 64;
        words[word] &= words[word] - 1;
        if words[word] == 0 {
            let mut block = word / 64;
            filled[block] &= !(1 << (word % 64));
            while filled[block] == 0 {
                block += 1;
                if block == filled.len() {
                    self.firsts[queue] = NONE;
                    return;
                }
            }
            word = block * 64 + filled[block].trailing_zeros() as usize;
        }
        self.firsts[queue] = word as u32 * 64 + words[word].trailing_zeros();
    }

    fn copy(&mut self, other: &Self) {
        self.words.copy_from_slice(&other.words);
        self.filled.copy_from_slice(&other.filled);
        self.firsts.copy_from_slice(&other.firsts);
    }
}

/// A technician during a schedule.
#[derive(Debug, Clone, Copy)]
struct Bench {
    /// The first open instant after their last task; later, if nothing was to be done then,
    /// the first at which something was.
    free: Place,
    /// The order on the bench that goes on to another step when the task ends, or [`NONE`].
    in_hand: u32,
}

/// An order during a schedule.
#[derive(Debug, Clone, Copy)]
struct InWork {
    /// Since when it could be worked on.
    since: u32,
    /// Its next step, and the one after its last.
    step: u32,
    end: u32,
}

/// One run through time; its memory is used again.
#[derive(Debug, Clone)]
pub(super) struct Schedule {
    queues: Queues,
    benches: Vec<Bench>,
    /// By technician: [`return_at`] an order in hand, or [`start_at`] a task if one is there
    /// by then; all ones when idle. The least is what happens next.
    events: Vec<u64>,
    /// Those who have nothing to do.
    idle: People,
    orders: Vec<InWork>,
}

impl Schedule {
    /// The start of every schedule of this shop: `waiting` are the orders that can be worked
    /// on from the start and have something to do.
    pub(super) fn new(shop: &Shop, waiting: impl Iterator<Item = u32>) -> Self {
        let orders = shop.first_step.len() - 1;
        let technicians = shop.hours.technician_count();
        let bench = |technician| Bench { free: shop.hours.first(technician), in_hand: NONE };
        let mut schedule = Self {
            queues: Queues::new(shop.people.len(), orders),
            benches: (0..technicians).map(bench).collect(),
            events: vec![IDLE; technicians],
            idle: (0..technicians).fold(0, |idle, technician| idle | 1 << technician),
            orders: shop.first_step[..orders]
                .iter()
                .map(|&step| InWork { since: 0, step, end: step })
                .collect(),
        };
        for order in waiting {
            schedule.queue_up(shop, order, 0);
        }
        schedule
    }

    /// Makes this the start again without asking for new memory.
    pub(super) fn restart(&mut self, start: &Self) {
        self.queues.copy(&start.queues);
        self.benches.copy_from_slice(&start.benches);
        self.events.copy_from_slice(&start.events);
        self.idle = start.idle;
        self.orders.copy_from_slice(&start.orders);
    }

    /// Says how many of its steps an order takes this time.
    #[inline]
    pub(super) fn set_steps(&mut self, order: usize, count: u32) {
        let order = &mut self.orders[order];
        order.end = order.step + count;
    }

    /// Plays the schedule through and notes in `ready` when each order that has something to
    /// do is done. Gives the seconds that orders stood and waited for a technician, closed
    /// hours included.
    ///
    /// * `released`: when each order that cannot be worked on from the start can be, by
    ///   rising instants, with the order; only those that have something to do.
    /// * `seconds`: the working seconds of each step.
    ///
    /// # Errors
    /// [`OutOfTime`].
    pub(super) fn run(
        &mut self,
        shop: &Shop,
        released: &[(u32, u32)],
        seconds: &[u32],
        ready: &mut [u32],
    ) -> Result<u64, OutOfTime> {
        let mut waited = 0;
        let mut released = released.iter();
        let mut release = released.next();
        loop {
            let (technician, event) = least(&self.events);
            // Whoever can be worked on by the time of a start takes part in the choice: at one
            // instant releases come first, then returns, then starts.
            if let Some(&(at, order)) = release
                && u64::from(at) << 32 <= event
            {
                self.queue_up(shop, order, at);
                release = released.next();
                continue;
            }
            if event == IDLE {
                return Ok(waited);
            }
            let at = (event >> 32) as u32;
            let order = std::mem::replace(&mut self.benches[technician].in_hand, NONE);
            if order != NONE {
                self.events[technician] = start_at(self.benches[technician].free.at);
                self.queue_up(shop, order, at);
            } else if let Some((technician, order)) = self.first_pair(shop, technician, at) {
                waited += self.start_task(shop, technician, order, seconds, ready)?;
            }
        }
    }

    /// Puts an order into the queue of its next step, and calls those who wait for one.
    #[inline]
    fn queue_up(&mut self, shop: &Shop, order: u32, at: u32) {
        let in_work = &mut self.orders[order as usize];
        in_work.since = at;
        let queue = usize::from(shop.steps[in_work.step as usize]);
        self.queues.add(queue, order);
        let mut called = shop.people[queue] & self.idle;
        self.idle &= !called;
        while called != 0 {
            let technician = called.trailing_zeros() as usize;
            called &= called - 1;
            let bench = &mut self.benches[technician];
            if bench.free.at < at {
                bench.free = shop.hours.open_from(bench.free, at);
            }
            self.events[technician] = start_at(bench.free.at);
        }
    }

    /// Of the technicians who can start now, the one to do so, with the order: the order of
    /// best priority, then the technician of best rank. Those with nothing to do become idle.
    ///
    /// `technician` is the first of them.
    #[inline]
    fn first_pair(&mut self, shop: &Shop, technician: usize, now: u32) -> Option<(usize, u32)> {
        // All returns at this instant are over: an event now is a start.
        let start = start_at(now);
        let starting = self.events.iter().map(|&event| u32::from(event == start)).sum::<u32>();
        let mut first = (technician, self.best_for(shop, technician));
        if first.1 == NONE {
            self.make_idle(technician);
        }
        if starting > 1 {
            for other in technician + 1..self.events.len() {
                if self.events[other] == start {
                    let order = self.best_for(shop, other);
                    if order == NONE {
                        self.make_idle(other);
                    } else if order < first.1 {
                        first = (other, order);
                    }
                }
            }
        }
        (first.1 != NONE).then_some(first)
    }

    /// The order of best priority in the queues of this technician, or [`NONE`].
    #[inline]
    fn best_for(&self, shop: &Shop, technician: usize) -> u32 {
        let queues = shop.queues_of(technician).iter();
        queues.fold(NONE, |best, &queue| best.min(self.queues.firsts[usize::from(queue)]))
    }

    fn make_idle(&mut self, technician: usize) {
        self.events[technician] = IDLE;
        self.idle |= 1 << technician;
    }

    /// Gives this technician, who can start now, this order, the first of its queue; the
    /// seconds it waited.
    #[inline]
    fn start_task(
        &mut self,
        shop: &Shop,
        technician: usize,
        order: u32,
        seconds: &[u32],
        ready: &mut [u32],
    ) -> Result<u64, OutOfTime> {
        let bench = &mut self.benches[technician];
        let in_work = &mut self.orders[order as usize];
        let step = in_work.step as usize;
        let waited = u64::from(bench.free.at - in_work.since);
        let end = shop.hours.after(bench.free, seconds[step]);
        if end.at == NEVER {
            return Err(OutOfTime);
        }
        bench.free = shop.hours.open_from(end, end.at);
        in_work.step += 1;
        if in_work.step < in_work.end {
            bench.in_hand = order;
            self.events[technician] = return_at(end.at);
        } else {
            ready[order as usize] = end.at;
            self.events[technician] = start_at(bench.free.at);
        }
        self.queues.take_first(usize::from(shop.steps[step]));
        Ok(waited)
    }
}

/// Nothing happens at this bench.
const IDLE: u64 = u64::MAX;

/// The start of a task as a number: smaller when earlier.
#[inline]
fn start_at(at: u32) -> u64 {
    u64::from(at) << 32 | 1
}

/// The return of an order in hand to a queue: before all starts at the same instant.
#[inline]
fn return_at(at: u32) -> u64 {
    u64::from(at) << 32
}

/// The least event and the first technician with it.
#[inline]
fn least(events: &[u64]) -> (usize, u64) {
    let mut least = (0, u64::MAX);
    for (technician, &event) in events.iter().enumerate() {
        // Who is next cannot be predicted, so a jump would cost more than the choice.
        least = select_unpredictable(event < least.1, (technician, event), least);
    }
    least
}
