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
//! This runs for every draw and takes most of a forecast's time. So it knows nothing of closed
//! hours (all times are points on the axis of open time), what belongs together lies together, and
//! the common case, one technician puts an order down and takes up the next while everyone else is
//! busy, goes straight through; everything else is [`Run::instant`].

use super::open_time::NEVER;
use super::queues::First;
use super::schedule::{AT_OPENING, Bench, Event, InWork, Schedule, Step};
use super::shop::{People, Shop};

/// The work goes on beyond the horizon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OutOfTime;

/// A schedule with what it is about.
pub(super) struct Run<'r> {
    shop: &'r Shop,
    schedule: &'r mut Schedule,
    /// When each order that cannot be worked on from the start can be, as a point above 32 bits with
    /// the order, rising; only those that have something to do.
    releases: &'r [u64],
    steps: &'r [Step],
    orders: &'r mut [InWork],
}

impl<'r> Run<'r> {
    pub(super) fn new(
        shop: &'r Shop,
        start: &Schedule,
        schedule: &'r mut Schedule,
        (releases, steps): (&'r [u64], &'r [Step]),
        orders: &'r mut [InWork],
    ) -> Self {
        schedule.restart(start);
        for (order, step) in orders.iter_mut().zip(&shop.first_step) {
            order.step = *step;
        }
        let mut run = Self { shop, schedule, releases, steps, orders };
        run.note_next();
        run.schedule.next = run.schedule.least();
        run
    }

    /// The seconds between starts and ends of tasks that were not worked, once there is nothing more
    /// to do.
    ///
    /// # Errors
    /// [`OutOfTime`].
    pub(super) fn paused(&self) -> Result<u64, OutOfTime> {
        let left =
            (0..self.shop.nobodys()).any(|queue| self.schedule.queues.first(queue) != First::NONE);
        if self.schedule.out_of_time || left { Err(OutOfTime) } else { Ok(self.schedule.paused) }
    }

    /// Goes on by one event; false when there is none.
    #[inline(always)]
    pub(super) fn advance(&mut self) -> bool {
        let schedule = &mut *self.schedule;
        let next = schedule.next;
        let (at, slot) = (next.at(), next.slot());
        if slot == 0 {
            return self.shop_event(at);
        }
        schedule.benches[slot].event = Event::NONE;
        let others = schedule.least();
        let Bench { queue, order, free, .. } = schedule.benches[slot];
        if others.at() == at || free != at {
            schedule.benches[slot].event = next;
            self.instant(at);
            return true;
        }
        let added = schedule.queues.add(queue, order);
        let called = self.shop.people[usize::from(queue)] & schedule.idle;
        if called != 0 {
            self.hand_over(slot, added, called, others);
            return true;
        }
        let best = schedule.best_for(self.shop, slot);
        if best == First::NONE {
            schedule.benches[slot].queue = self.shop.nobodys();
            schedule.make_idle(slot);
            schedule.next = others;
            return true;
        }
        let end = self.start_task(slot, best, at);
        self.schedule.next = end.earlier(others);
        true
    }

    /// Goes on to the end.
    #[inline(never)]
    pub(super) fn finish(&mut self) {
        while self.advance() {}
    }

    /// The next closing or release.
    #[inline(never)]
    fn shop_event(&mut self, at: u32) -> bool {
        if at == NEVER {
            return false;
        }
        let schedule = &mut *self.schedule;
        if self.shop.closings[schedule.closed].0 == at {
            let (point, seconds) = self.shop.closings[schedule.closed];
            let across =
                schedule.benches[..schedule.used].iter().filter(|bench| bench.end > point).count();
            schedule.paused += across as u64 * u64::from(seconds);
            schedule.closed += 1;
            schedule.benches[0].event = Event::NONE;
            let goes_on =
                schedule.least() != Event::NONE || schedule.released < self.releases.len();
            self.note_next();
            self.schedule.next = self.schedule.least();
            return goes_on;
        }
        let order = self.releases[schedule.released] as u32;
        schedule.released += 1;
        self.note_next();
        let schedule = &mut *self.schedule;
        schedule.next = schedule.least();
        let queue = self.shop.steps[self.orders[order as usize].step as usize];
        let added = schedule.queues.add(queue, order);
        let called = self.shop.people[usize::from(queue)] & schedule.idle;
        if called != 0 {
            let helper = called.trailing_zeros() as usize + 1;
            if schedule.next.at() != at && schedule.benches[helper].until > at {
                schedule.idle &= !(1 << (helper - 1));
                let end = self.start_apart(helper, added, at);
                self.schedule.next = end.earlier(self.schedule.next);
            } else {
                schedule.call(self.shop, called, at);
                schedule.next = schedule.least();
            }
        }
        true
    }

    /// Notes the next release or closing at the shop's own bench.
    #[inline(always)]
    fn note_next(&mut self) {
        let release =
            self.releases.get(self.schedule.released).map_or(NEVER, |next| (next >> 32) as u32);
        let closing = self.shop.closings[self.schedule.closed].0;
        self.schedule.benches[0].event = Event::new(release.min(closing), 0);
    }

    /// The technician in this slot has put an order down that those who are called could take up, and
    /// nothing else happens now.
    #[inline(never)]
    fn hand_over(&mut self, slot: usize, added: First, called: People, others: Event) {
        let schedule = &mut *self.schedule;
        let at = schedule.benches[slot].free;
        schedule.benches[slot].queue = self.shop.nobodys();
        let helper = called.trailing_zeros() as usize + 1;
        let best = schedule.best_for(self.shop, slot);
        let takes_time = |first: First| {
            first == First::NONE
                || self.steps[self.orders[first.order() as usize].step as usize].seconds() > 0
        };
        // What takes no time is put down again before anything else starts.
        if schedule.benches[helper].until <= at || !takes_time(added) || !takes_time(best) {
            schedule.call(self.shop, called, at);
            schedule.benches[slot].event = Event::new(at, slot);
            self.instant(at);
            return;
        }
        let mut next = others;
        if best != added || helper < slot {
            // The called have nothing else to do, so the first of them gets it.
            schedule.idle &= !(1 << (helper - 1));
            next = self.start_apart(helper, added, at).earlier(next);
        }
        let best = self.schedule.best_for(self.shop, slot);
        if best == First::NONE {
            self.schedule.make_idle(slot);
        } else {
            next = self.start_apart(slot, best, at).earlier(next);
        }
        self.schedule.next = next;
    }

    /// Everything that technicians do at one instant, by the rule: orders are put down, then the
    /// best pair starts, until nobody is left who can start now.
    #[inline(never)]
    fn instant(&mut self, at: u32) {
        let slots = self.shop.hours.technician_count() + 1;
        loop {
            let schedule = &mut *self.schedule;
            let mut called = 0;
            for slot in 1..slots {
                let bench = &mut schedule.benches[slot];
                if bench.event == Event::new(at, slot) {
                    let queue = std::mem::replace(&mut bench.queue, self.shop.nobodys());
                    bench.event = Event::of_free(bench.free, slot);
                    let order = bench.order;
                    schedule.queues.add(queue, order);
                    called |= self.shop.people[usize::from(queue)];
                }
            }
            schedule.call(self.shop, called & schedule.idle, at);
            let (mut taker, mut first) = (0, First::NONE);
            for slot in 1..slots {
                if schedule.benches[slot].event == Event::new(at, slot) {
                    let best = schedule.best_for(self.shop, slot);
                    if best == First::NONE {
                        schedule.make_idle(slot);
                    } else if best.order() < first.order() || first == First::NONE {
                        (taker, first) = (slot, best);
                    }
                }
            }
            if first == First::NONE {
                schedule.next = schedule.least();
                return;
            }
            self.start_apart(taker, first, at);
        }
    }

    /// [`Self::start_task`] for what is not so common, so that it is there only once.
    #[inline(never)]
    fn start_apart(&mut self, slot: usize, first: First, at: u32) -> Event {
        self.start_task(slot, first, at)
    }

    /// Gives this technician, who can start now, this order, the first of its queue; the event of its
    /// end.
    #[inline(always)]
    fn start_task(&mut self, slot: usize, first: First, at: u32) -> Event {
        let schedule = &mut *self.schedule;
        schedule.queues.take(first);
        let in_work = &mut self.orders[first.order() as usize];
        let step = self.steps[in_work.step as usize];
        in_work.step += 1;
        let bench = &mut schedule.benches[slot];
        bench.order = first.order();
        bench.queue = step.goes_to();
        let mut end = at + step.seconds();
        bench.free = end;
        if end >= bench.until {
            end = go_on(self.shop, bench, at, step.seconds());
            schedule.paused += u64::from(end - at - step.seconds());
            schedule.out_of_time |= end == NEVER;
        }
        bench.end = end;
        in_work.ready = end;
        if step.seconds() == 0 {
            in_work.ready |= AT_OPENING;
        }
        bench.event = Event::new(end, slot);
        bench.event
    }
}

/// A task that reaches the end of the technician's stretch: its end.
#[cold]
fn go_on(shop: &Shop, bench: &mut Bench, at: u32, seconds: u32) -> u32 {
    let end = shop.hours.after(bench.stretch, at, seconds);
    let free = shop.hours.open_from(end.stretch, end.at);
    bench.free = free.at;
    bench.stretch = free.stretch;
    bench.until = shop.hours.end_of(free.stretch);
    end.at
}
