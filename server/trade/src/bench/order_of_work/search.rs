//! The search for the plan with the least minutes.
//!
//! Best first on (what is done, station). What is done tells the joints' states; which joints
//! come apart at all is decided at the beginning, one beginning for each set of them, so that
//! the bound knows it. What may as well be done at once is done at once.
//!
//! No clock is looked at: effort is counted in states, so that the same input gives the same
//! plan on any machine.

use super::bound::Bounds;
use super::work::{Elements, Joints, NEVER, Work, bits, members};
use rustc_hash::FxHashMap;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// A plan as elements and the ways of doing them, with its minutes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    pub steps: Vec<(usize, usize)>,
    pub total_minutes: u32,
}

/// What a search came to.
#[derive(Debug, Clone)]
pub(super) struct Outcome {
    /// The best plan found.
    pub best: Option<Found>,
    /// No plan takes fewer minutes; [`NEVER`] when it is certain that there is no plan.
    pub lower_bound: u32,
    /// States that were looked at on the way, here and in the bound.
    pub spent: usize,
}

impl Outcome {
    /// Whether nothing better is left to be found, or nothing at all.
    pub fn is_proven(&self) -> bool {
        self.best.as_ref().map_or(NEVER, |found| found.total_minutes) <= self.lower_bound
    }
}

/// How much may be searched.
#[derive(Debug, Clone, Copy)]
pub(super) struct Effort {
    /// States that the exact search and its bound may look at.
    pub exact_states: usize,
    /// States kept abreast by the search that takes over then; 0 for none.
    pub beam_width: usize,
}

/// Looked at this many states in vain, the exact search asks for a good plan first: whatever
/// cannot beat it need not be kept. Most work is done long before.
const LONG_SEARCH: usize = 100_000;

/// Finds the best plan, or a good one and a lower bound when the effort runs out.
pub(super) fn search(work: &Work, effort: Effort) -> Outcome {
    let mut search = Search {
        work,
        bounds: Bounds::of(work, effort.exact_states + effort.exact_states / 2),
        decisions: decisions(work),
        nodes: Vec::new(),
        index_of: FxHashMap::default(),
        ceiling: NEVER,
        looked_at: 0,
        beam_spent: 0,
    };
    let (best, least_total) = search.best_first(effort);
    // The totals of states hold what a start from nowhere added to the first changeover.
    let lower_bound =
        if least_total < NEVER { least_total.saturating_sub(work.too_much) } else { NEVER };
    Outcome { best, lower_bound, spent: search.spent() }
}

/// A state reached, and how.
#[derive(Debug, Clone, Copy)]
struct Node {
    done: Elements,
    cost: u32,
    /// Least minutes from here.
    rest: u32,
    /// Index of the state before; [`NOWHERE`] for a beginning.
    from: u32,
    station: u8,
    element: u8,
    way: u8,
    stage: Stage,
}

/// How far a state has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Its `rest` is the quick bound.
    Reached,
    /// Its `rest` is the full bound.
    Weighed,
    /// What comes after it has been reached.
    Opened,
}

const NOWHERE: u32 = u32::MAX;

/// Least total first, then the deepest, then the oldest: a total order, so that heaps do not
/// bring chance in.
type Open = BinaryHeap<(Reverse<u32>, u32, Reverse<usize>)>;

struct Search<'w> {
    work: &'w Work,
    bounds: Bounds<'w>,
    /// Least minutes with exactly these joints taken apart, cheapest first.
    decisions: Vec<(u32, Joints)>,
    nodes: Vec<Node>,
    index_of: FxHashMap<u128, usize>,
    /// States that come to this total or more are of no use.
    ceiling: u32,
    looked_at: usize,
    /// What of all that was spent on the good plan, beside the exact search.
    beam_spent: usize,
}

impl Search<'_> {
    /// States looked at, one for eight sets of joints decided on (they are that much quicker).
    fn spent(&self) -> usize {
        self.looked_at + self.bounds.spent() + self.decisions.len() / 8
    }

    fn spent_on_exactness(&self) -> usize {
        self.spent() - self.beam_spent
    }

    /// The best plan and what no plan's total is below.
    fn best_first(&mut self, effort: Effort) -> (Option<Found>, u32) {
        let mut open = Open::new();
        let mut next_decision = 0;
        let mut good = None;
        loop {
            // A beginning is only worked out when nothing on hand is sure to be as good.
            while let Some(&(least, apart)) = self.decisions.get(next_decision) {
                if open.peek().is_some_and(|(Reverse(total), ..)| *total < least) {
                    break;
                }
                next_decision += 1;
                let done = self.work.beginning(apart);
                let rest = self.bounds.at_least(done, self.work.start).max(least);
                self.reach(Node::beginning(done, self.work.start, rest), &mut open);
            }
            // Nothing left below the ceiling: the good plan that set it is the best, or there is none.
            let Some((Reverse(total), _, Reverse(index))) = open.pop() else {
                return (good, self.ceiling);
            };
            let node = self.nodes[index];
            if node.stage == Stage::Opened || total > node.cost + node.rest {
                continue;
            }
            if node.done == self.work.all {
                return (Some(self.found(&self.nodes, node)), total);
            }
            if self.beam_spent == 0
                && effort.beam_width > 0
                && self.spent() >= LONG_SEARCH.min(effort.exact_states)
            {
                let before = self.spent();
                good = self.beam(effort.beam_width);
                self.beam_spent = self.spent() - before;
                self.ceiling =
                    good.as_ref().map_or(NEVER, |found| found.total_minutes + self.work.too_much);
            }
            if self.spent_on_exactness() >= effort.exact_states {
                return (good, total.min(self.ceiling));
            }
            if node.stage == Stage::Reached && !self.weigh(index) {
                let node = self.nodes[index];
                if node.cost + node.rest < self.ceiling {
                    open.push((Reverse(node.cost + node.rest), node.cost, Reverse(index)));
                }
                continue;
            }
            self.nodes[index].stage = Stage::Opened;
            for (element, way) in self.choices(&node) {
                let mut next = self.after(&node, index, element, way);
                next.rest = self
                    .bounds
                    .at_least(next.done, next.station())
                    .max(total.saturating_sub(next.cost));
                self.reach(next, &mut open);
            }
        }
    }

    /// Gives a state its full bound; whether it stays where it is in the order.
    fn weigh(&mut self, index: usize) -> bool {
        let node = &mut self.nodes[index];
        let rest = self.bounds.rest(node.done, node.station());
        node.stage = Stage::Weighed;
        let stays = rest <= node.rest;
        node.rest = rest.max(node.rest);
        stays
    }

    fn reach(&mut self, node: Node, open: &mut Open) {
        let (total, cost) = (node.cost + node.rest, node.cost);
        if total >= self.ceiling {
            return;
        }
        let key = node.done | u128::from(node.station) << 96;
        let index = match self.index_of.get(&key) {
            Some(&index) if self.nodes[index].cost <= cost => return,
            Some(&index) => {
                self.nodes[index] = node;
                index
            }
            None => {
                self.nodes.push(node);
                self.index_of.insert(key, self.nodes.len() - 1);
                self.nodes.len() - 1
            }
        };
        open.push((Reverse(total), cost, Reverse(index)));
    }

    /// The next elements and ways from a state; only one where one may as well be done at once.
    fn choices(&mut self, node: &Node) -> Vec<(usize, usize)> {
        let (done, station) = (node.done, node.station());
        let apart = self.work.apart(done);
        let left = self.work.all & !done;
        let mut choices = Vec::new();
        for element in bits(left) {
            if self.work.elements[element].after & !done != 0 {
                continue;
            }
            for (way_index, way) in self.work.elements[element].ways.iter().enumerate() {
                if !way.is_allowed(apart) {
                    continue;
                }
                if way.station == station
                    && self.hurts_nothing(element, left)
                    && self.bounds.may_as_well(done, element, station, way.cost(apart))
                {
                    self.looked_at += 1;
                    return vec![(element, way_index)];
                }
                choices.push((element, way_index));
            }
        }
        self.looked_at += choices.len();
        choices
    }

    /// Whether having done an element can be in the way of nothing that is left: always for an
    /// operation; for taking apart when nothing wants the joint together; for putting together
    /// when nothing wants it apart.
    fn hurts_nothing(&self, element: usize, left: Elements) -> bool {
        let work = self.work;
        let Some(action) = element.checked_sub(work.operation_count) else { return true };
        let joint: Joints = 1 << (action % work.joint_count);
        let takes_apart = action < work.joint_count;
        bits(left & !(1 << element)).all(|other| {
            let mut ways = work.elements[other].ways.iter();
            ways.all(|way| {
                joint & if takes_apart { way.together } else { way.apart | way.melts } == 0
            })
        })
    }

    fn after(&self, node: &Node, index: usize, element: usize, way: usize) -> Node {
        let taken = &self.work.elements[element].ways[way];
        let travel = self.work.changeover[node.station()][taken.station];
        Node {
            done: node.done | 1 << element,
            cost: node.cost + travel + taken.cost(self.work.apart(node.done)),
            rest: 0,
            from: u32::try_from(index).expect("far fewer states than 2^32 fit into memory"),
            station: small(taken.station),
            element: small(element),
            way: small(way),
            stage: Stage::Reached,
        }
    }

    fn found(&self, nodes: &[Node], mut node: Node) -> Found {
        let total_minutes = node.cost.saturating_sub(self.work.too_much);
        let mut steps = Vec::new();
        while node.from != NOWHERE {
            steps.push((usize::from(node.element), usize::from(node.way)));
            node = nodes[node.from as usize];
        }
        steps.reverse();
        Found { steps, total_minutes }
    }

    /// Goes on from the cheapest beginnings with the `width` most promising states of each
    /// number of elements done. Finds a plan in nearly all work that has one, not always the best.
    fn beam(&mut self, width: usize) -> Option<Found> {
        let work = self.work;
        let mut nodes: Vec<Node> = Vec::new();
        let mut levels: Vec<Vec<usize>> = vec![Vec::new(); work.elements.len() + 1];
        for &(least, apart) in self.decisions.iter().take(width) {
            let done = work.beginning(apart);
            levels[done.count_ones() as usize].push(nodes.len());
            nodes.push(Node::beginning(done, work.start, least));
        }
        for level in 0..work.elements.len() {
            for index in most_promising(&nodes, std::mem::take(&mut levels[level]), width) {
                let node = nodes[index];
                for (element, way) in self.choices(&node) {
                    let mut next = self.after(&node, index, element, way);
                    next.rest = self.bounds.rest(next.done, next.station());
                    if next.rest < NEVER {
                        levels[level + 1].push(nodes.len());
                        nodes.push(next);
                    }
                }
            }
        }
        let last = levels.pop().unwrap_or_default();
        let best = last.into_iter().min_by_key(|&index| (nodes[index].cost, index))?;
        Some(self.found(&nodes, nodes[best]))
    }
}

/// The `width` states with the least total, each once.
fn most_promising(nodes: &[Node], mut level: Vec<usize>, width: usize) -> Vec<usize> {
    let state = |index: usize| (nodes[index].done, nodes[index].station);
    level.sort_unstable_by_key(|&index| (state(index), nodes[index].cost, index));
    level.dedup_by_key(|index| state(*index));
    level.sort_unstable_by_key(|&index| (nodes[index].cost + nodes[index].rest, index));
    level.truncate(width);
    level
}

impl Node {
    fn beginning(done: Elements, station: usize, rest: u32) -> Self {
        let station = small(station);
        Self {
            done,
            cost: 0,
            rest,
            from: NOWHERE,
            station,
            element: 0,
            way: 0,
            stage: Stage::Reached,
        }
    }

    fn station(&self) -> usize {
        usize::from(self.station)
    }
}

fn small(index: usize) -> u8 {
    u8::try_from(index).expect("at most 100 methods, 96 elements and 13 stations")
}

/// Every set of free joints to be taken apart with the sum of the least costs that leaves,
/// cheapest first; none that leaves something without a way.
///
/// Goes through the sets by changing one joint at a time (Gray code), so that only the elements
/// which that joint touches are looked at again: there may be 65,536 sets.
fn decisions(work: &Work) -> Vec<(u32, Joints)> {
    let free: Vec<usize> = members(work.free).collect();
    let touched = |joint: usize| -> Elements {
        let heated = (0..work.elements.len()).filter(|&element| {
            work.elements[element].ways.iter().any(|way| (way.melts | way.apart) >> joint & 1 == 1)
        });
        heated.fold(work.take(joint) | work.put(joint), |set, element| set | 1 << element)
    };
    let touched: Vec<Elements> = free.iter().map(|&joint| touched(joint)).collect();

    let mut apart: Joints = 0;
    let mut sum = LeastSum { least: vec![0; work.elements.len()], minutes: 0, without_way: 0 };
    sum.look_again(work, work.all, work.beginning(apart));
    let mut decisions = Vec::new();
    for turn in 0..1_usize << free.len() {
        if turn > 0 {
            let changed = turn.trailing_zeros() as usize;
            apart ^= 1 << free[changed];
            sum.look_again(work, touched[changed], work.beginning(apart));
        }
        if sum.without_way == 0 {
            decisions.push((sum.minutes, apart));
        }
    }
    decisions.sort_unstable();
    decisions
}

struct LeastSum {
    least: Vec<u32>,
    minutes: u32,
    without_way: usize,
}

impl LeastSum {
    fn look_again(&mut self, work: &Work, elements: Elements, done: Elements) {
        let may_be_apart = work.may_be_apart(done);
        for element in bits(elements) {
            let ways =
                work.elements[element].ways.iter().filter(|way| way.apart & !may_be_apart == 0);
            let least = ways.map(|way| way.cost(may_be_apart & !way.together)).min();
            let least = if done >> element & 1 == 1 { 0 } else { least.unwrap_or(NEVER) };
            for (minutes, sign) in [(self.least[element], false), (least, true)] {
                match (minutes < NEVER, sign) {
                    (true, false) => self.minutes -= minutes,
                    (true, true) => self.minutes += minutes,
                    (false, false) => self.without_way -= 1,
                    (false, true) => self.without_way += 1,
                }
            }
            self.least[element] = least;
        }
    }
}
