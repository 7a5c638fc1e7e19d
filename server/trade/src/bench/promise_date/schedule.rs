//! Where a schedule stands: each technician's bench, what happens next, and the steps of the orders.

use super::open_time::NEVER;
use super::queues::{First, Queues, WHOLE};
use super::shop::{People, Shop};

/// More seconds than any horizon has, and no step takes more.
pub(super) const MOST_SECONDS: u32 = 1 << 30;

/// In a ready point: the last task took no time, so that the order is ready at an opening.
pub(super) const AT_OPENING: u32 = 1 << 31;

/// A step of an order in one schedule: its working seconds, and the queue that the order goes to
/// after it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Step(u64);

impl Step {
    #[inline(always)]
    pub(super) fn new(seconds: u64, goes_to: u16) -> Self {
        Self(u64::from(goes_to) << 32 | seconds)
    }

    #[inline(always)]
    pub(super) fn seconds(self) -> u32 {
        self.0 as u32
    }

    #[inline(always)]
    pub(super) fn goes_to(self) -> u16 {
        (self.0 >> 32) as u16
    }
}

/// An order in one schedule.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct InWork {
    /// Its next step.
    pub(super) step: u32,
    /// When its last step so far ends, a point.
    pub(super) ready: u32,
}

/// What happens next at a bench as one number: smaller when earlier, then when the technician's
/// rank is better. A float for the same reason as [`First`].
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct Event(f64);

impl Event {
    pub(super) const NONE: Self = Self(f64::INFINITY);

    /// * `slot`: 0 for what happens to the shop, else the technician's rank and 1.
    #[inline(always)]
    pub(super) fn new(at: u32, slot: usize) -> Self {
        Self(f64::from_bits(WHOLE | u64::from(at) << 8 | slot as u64))
    }

    /// Of a technician who may never be free again.
    pub(super) fn of_free(at: u32, slot: usize) -> Self {
        if at == NEVER { Self::NONE } else { Self::new(at, slot) }
    }

    #[inline(always)]
    pub(super) fn at(self) -> u32 {
        (self.0.to_bits() >> 8) as u32
    }

    #[inline(always)]
    pub(super) fn slot(self) -> usize {
        (self.0.to_bits() & 0xFF) as usize
    }

    #[inline(always)]
    pub(super) fn earlier(self, other: Self) -> Self {
        if self.0 < other.0 { self } else { other }
    }
}

/// A technician during a schedule.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bench {
    /// The end of the task or, without one, the point from which another could start.
    pub(super) event: Event,
    /// The order that was taken up last, and the queue it goes to when the task ends.
    pub(super) order: u32,
    pub(super) queue: u16,
    /// When that task ends.
    pub(super) end: u32,
    /// The first open point after it.
    pub(super) free: u32,
    /// The stretch that `free` lies in, and its end.
    pub(super) stretch: u32,
    pub(super) until: u32,
}

/// One run through time; its memory is used again.
#[derive(Debug, Clone)]
pub(super) struct Schedule {
    pub(super) queues: Queues,
    /// First the shop's, at which the next release or closing happens, then by rank; filled up to
    /// an even number.
    pub(super) benches: Box<[Bench; 256]>,
    /// How many of them there are, an even number.
    pub(super) used: usize,
    /// The least event.
    pub(super) next: Event,
    /// Those who have nothing to do.
    pub(super) idle: People,
    /// Releases and closings that are over.
    pub(super) released: usize,
    pub(super) closed: usize,
    /// Seconds between starts and ends of tasks that were not worked: the technician was away or the
    /// shop closed.
    pub(super) paused: u64,
    pub(super) out_of_time: bool,
}

impl Schedule {
    /// The start of every schedule of this shop: `waiting` are the orders that can be worked
    /// on from the start and have something to do.
    pub(super) fn new(shop: &Shop, waiting: impl Iterator<Item = u32>) -> Self {
        let wanted = shop.people.iter().fold(0, |wanted, people| wanted | people);
        let nobody = Bench {
            event: Event::NONE,
            order: 0,
            queue: shop.nobodys(),
            end: 0,
            free: 0,
            stretch: 0,
            until: 0,
        };
        let mut benches = Box::new([nobody; 256]);
        for technician in 0..shop.hours.technician_count() {
            let first = shop.hours.first(technician);
            let is_wanted = wanted >> technician & 1 == 1;
            let event =
                if is_wanted { Event::of_free(first.at, technician + 1) } else { Event::NONE };
            let until = shop.hours.end_of(first.stretch);
            benches[technician + 1] =
                Bench { event, free: first.at, stretch: first.stretch, until, ..nobody };
        }
        let mut queues = Queues::new(shop.people.len(), shop.first_step.len() - 1);
        for order in waiting {
            queues.add(shop.steps[shop.first_step[order as usize] as usize], order);
        }
        Self {
            queues,
            benches,
            used: (shop.hours.technician_count() + 1).next_multiple_of(2),
            next: Event::NONE,
            idle: 0,
            released: 0,
            closed: 0,
            paused: 0,
            out_of_time: false,
        }
    }

    /// Makes this the start again without asking for new memory.
    pub(super) fn restart(&mut self, start: &Self) {
        self.queues.copy(&start.queues);
        self.benches[..self.used].copy_from_slice(&start.benches[..self.used]);
        (self.idle, self.released, self.closed) = (0, 0, 0);
        (self.paused, self.out_of_time) = (0, false);
    }

    /// The least event.
    #[inline(always)]
    pub(super) fn least(&self) -> Event {
        let mut least = [Event::NONE; 2];
        for pair in self.benches[..self.used].as_chunks::<2>().0 {
            least = [0, 1].map(|side| pair[side].event.earlier(least[side]));
        }
        least[0].earlier(least[1])
    }

    /// Has those who wait for an order start when they are there.
    pub(super) fn call(&mut self, shop: &Shop, called: People, at: u32) {
        self.idle &= !called;
        let mut called = called;
        while called != 0 {
            let technician = called.trailing_zeros() as usize;
            called &= called - 1;
            let bench = &mut self.benches[technician + 1];
            let free = shop.hours.open_from(bench.stretch, at);
            (bench.free, bench.stretch) = (free.at, free.stretch);
            bench.until = shop.hours.end_of(free.stretch);
            bench.event = Event::of_free(free.at, technician + 1);
        }
    }

    #[inline(always)]
    pub(super) fn make_idle(&mut self, slot: usize) {
        self.benches[slot].event = Event::NONE;
        self.idle |= 1 << (slot - 1);
    }

    /// The order of best priority in the queues of this technician.
    #[inline(always)]
    pub(super) fn best_for(&self, shop: &Shop, slot: usize) -> First {
        shop.queues_of(slot - 1).iter().fold(First::NONE, |best, four| {
            let [one, two, three, four] = four.map(|queue| self.queues.first(queue));
            best.better(one.better(two).better(three.better(four)))
        })
    }
}
