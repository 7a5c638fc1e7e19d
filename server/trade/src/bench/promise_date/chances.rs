//! What chance decides of several draws at once: how long each step takes, and when an order that
//! cannot be worked on from the start can be.
//!
//! Order by order and side by side for [`LANES`] draws, because then the same few tables are at hand
//! and nothing waits for the number before it.

use super::MOST_FAILURES;
use super::order_of_service::OutOfTime;
use super::plan::{OrderPlan, Plan, StepPlan, Stretch};
use super::quantile_tables::{LANES, Lanes, Leans};
use super::queues::WHOLE;
use super::schedule::{MOST_SECONDS, Step};
use super::streams::Stream;
use super::tally::Tally;

/// The chances of several draws.
pub(super) struct Chances {
    /// By draw, then by step.
    steps: Vec<Step>,
    /// Steps of one draw.
    width: usize,
    /// By draw: points above 32 bits with the order, rising.
    releases: Vec<Vec<u64>>,
}

impl Chances {
    pub(super) fn new(plan: &Plan<'_>) -> Self {
        // Some more than there are, so that no two draws begin at the same place of a page.
        let width = plan.shop.step_count() + 8;
        Self {
            steps: vec![Step::default(); LANES * width],
            width,
            releases: vec![Vec::new(); LANES],
        }
    }

    /// The steps in one of the draws, each order's up to the one after which it is done.
    pub(super) fn steps(&self, lane: usize) -> &[Step] {
        &self.steps[lane * self.width..(lane + 1) * self.width]
    }

    /// The releases in one of the draws.
    pub(super) fn releases(&self, lane: usize) -> &[u64] {
        &self.releases[lane]
    }

    /// Draws for the `count` draws from `first` on.
    ///
    /// # Errors
    /// [`OutOfTime`] when an order is not free within the horizon.
    pub(super) fn draw(
        &mut self,
        plan: &Plan<'_>,
        first: u32,
        count: usize,
        tally: &mut Tally,
    ) -> Result<(), OutOfTime> {
        let mut of_draw: Lanes<Stream> =
            std::array::from_fn(|lane| Stream::of_draw(plan.seed, first.wrapping_add(lane as u32)));
        let failing = of_draw.each_mut().map(|stream| failing(plan, stream));
        for releases in &mut self.releases {
            releases.clear();
        }
        for (place, order) in plan.orders.iter().enumerate() {
            let mut streams = of_draw.map(|stream| stream.of_order(order.key));
            let heads = streams.each_mut().map(Stream::bits);
            if order.is_free_from_the_start() && order.steps == 0 {
                tally.ready(place, std::iter::repeat_n((0, plan.dates.day_at(0)), count));
            }
            if !order.is_free_from_the_start() {
                for (lane, stream) in streams.iter_mut().enumerate().take(count) {
                    let taken_up = self.release(plan, place, lane, stream, tally)?;
                    tally.not_waited += u64::from(taken_up);
                }
            }
            let worked = self.draw_steps(plan, place, order, &failing, &heads, &streams);
            tally.not_waited += worked.iter().take(count).sum::<u64>();
        }
        for releases in &mut self.releases {
            releases.sort_unstable();
        }
        Ok(())
    }

    /// How long each step of an order takes, and which is the last; the seconds of all that are
    /// taken.
    #[inline(always)]
    fn draw_steps(
        &mut self,
        plan: &Plan<'_>,
        place: usize,
        order: &OrderPlan<'_>,
        failing: &Lanes<[u64; MOST_FAILURES as usize]>,
        heads: &Lanes<u64>,
        streams: &Lanes<Stream>,
    ) -> Lanes<u64> {
        let mut worked = [0; LANES];
        if order.steps == 0 {
            return worked;
        }
        let stretch = match &plan.stretch {
            Stretch::Known(_) => [1.0; LANES],
            Stretch::Drawn(table) => table.all_at(&heads.map(|head| head as u32)),
        };
        let first_step = plan.shop.first_step(place) as usize;
        let count = order.steps as usize;
        let steps = &plan.steps[first_step..first_step + count];
        let nobodys = plan.shop.nobodys();
        for (pair, steps) in steps.chunks(2).enumerate() {
            let mut bits = [0; LANES];
            for (bits, stream) in bits.iter_mut().zip(streams) {
                *bits = stream.bits_after(pair as u64);
            }
            for (half, step) in steps.iter().enumerate() {
                let at = 2 * pair + half;
                let goes_to =
                    if at + 1 < count { plan.shop.queue_of(first_step + at + 1) } else { nobodys };
                let seconds =
                    step.all_seconds(&bits.map(|bits| (bits >> (32 * half)) as u32), &stretch);
                for (lane, seconds) in seconds.into_iter().enumerate() {
                    self.steps[lane * self.width + first_step + at] = Step::new(seconds, goes_to);
                    worked[lane] += seconds;
                }
            }
        }
        if order.can_fail {
            for lane in 0..LANES {
                let luck = heads[lane] >> 32;
                if luck < failing[lane][0] {
                    // The chance of at least so many failures is π, π², π³: one number will do.
                    let failures = failing[lane].iter().filter(|chance| luck < **chance).count();
                    let last = count + 2 * failures;
                    let own = &mut self.steps[lane * self.width + first_step..][..last];
                    for again in count..last {
                        let bits = streams[lane].bits_after(again as u64 / 2) >> (32 * (again % 2));
                        let seconds =
                            plan.steps[first_step + again].seconds(bits as u32, stretch[lane]);
                        let queue = plan.shop.queue_of(first_step + again);
                        own[again - 1] = Step::new(u64::from(own[again - 1].seconds()), queue);
                        own[again] = Step::new(seconds, nobodys);
                        worked[lane] += seconds;
                    }
                }
            }
        }
        worked
    }

    /// When an order is taken up in one of the draws, an instant.
    #[inline(always)]
    fn release(
        &mut self,
        plan: &Plan<'_>,
        place: usize,
        lane: usize,
        stream: &mut Stream,
        tally: &mut Tally,
    ) -> Result<u32, OutOfTime> {
        let order = &plan.orders[place];
        let sums = &mut tally.sums[place];
        let mut free = order.not_before;
        if let Some((wait, waited_seconds)) = &order.approval {
            // The chance that nobody is asked lies at the end of the soonest answers.
            let u = stream.unit();
            let asked_until = if u < order.answer_chance {
                (wait.wait_days(u / order.answer_chance) * 86_400.0).round()
            } else {
                0.0
            };
            // A float beyond the range becomes the end of the range.
            let answered = (asked_until - *waited_seconds as f64).max(0.0) as u32;
            sums.approval += u64::from(answered);
            free = free.max(answered);
        }
        if let Some(parts) = &order.parts {
            let there = (Leans::get().at(parts, stream.bits() as u32) + 0.5) as u32;
            sums.parts += u64::from(there);
            free = free.max(there);
        }
        if free >= plan.horizon {
            return Err(OutOfTime);
        }
        sums.free += u64::from(free);
        if let Some(stands) = &order.stands {
            free = plan.bench_time.later(free, at_chance(stands, stream.bits() as u32));
            if free >= plan.horizon {
                return Err(OutOfTime);
            }
        }
        if order.steps > 0 {
            let point = plan.shop.hours.open.point(free);
            self.releases[lane].push(u64::from(point) << 32 | place as u64);
        } else {
            tally.ready(place, [(free, plan.dates.day_at(free))].into_iter());
        }
        Ok(free)
    }
}

/// The chances of at least one, two and three failures in a draw, of 2³².
///
/// One chance of failing for all tests of a draw: what is not known of it moves all orders together.
fn failing(plan: &Plan<'_>, of_draw: &mut Stream) -> [u64; MOST_FAILURES as usize] {
    let failing =
        plan.tests.map_or(0.0, |(failed, passed)| of_draw.beta(1.0 + failed, 4.0 + passed));
    let mut chance = 1.0;
    [(); MOST_FAILURES as usize].map(|()| {
        chance *= failing;
        (chance * 4_294_967_296.0).ceil() as u64
    })
}

impl StepPlan {
    #[inline(always)]
    fn all_seconds(&self, bits: &Lanes<u32>, stretch: &Lanes<f32>) -> Lanes<u64> {
        match self {
            Self::Known(seconds) => [u64::from(*seconds); LANES],
            Self::Drawn { estimate, stretched } => {
                let mut figures = Leans::get().all_at(estimate, bits);
                if *stretched {
                    for (figure, stretch) in figures.iter_mut().zip(stretch) {
                        *figure *= stretch;
                    }
                }
                let mut seconds = [0; LANES];
                for (seconds, figure) in seconds.iter_mut().zip(figures) {
                    *seconds = whole(figure);
                }
                seconds
            }
        }
    }

    fn seconds(&self, bits: u32, stretch: f32) -> u64 {
        match self {
            Self::Known(seconds) => u64::from(*seconds),
            Self::Drawn { estimate, stretched } => {
                let figure = Leans::get().at(estimate, bits) as f32;
                whole(if *stretched { figure * stretch } else { figure })
            }
        }
    }
}

/// Whole seconds.
#[inline(always)]
fn whole(seconds: f32) -> u64 {
    // Added to 2⁵², a number stands whole in the last bits; a cast would check for what is no number.
    let most = MOST_SECONDS as f32;
    let seconds = if seconds < most { seconds } else { most };
    (f64::from(seconds) + f64::from_bits(WHOLE)).to_bits() - WHOLE
}

/// The figure of a list of quantiles at equal steps of chance for 32 random bits.
fn at_chance(quantiles: &[u32], bits: u32) -> u32 {
    let place = f64::from(bits) / 4_294_967_296.0 * (quantiles.len() - 1) as f64;
    let below = place as usize;
    let (low, high) = (f64::from(quantiles[below]), f64::from(quantiles[below + 1]));
    (low + (high - low) * (place - below as f64) + 0.5) as u32
}
