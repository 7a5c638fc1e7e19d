//! The least minutes that the rest of the work can take.
//!
//! The bound solves an easier problem exactly: each element costs the least it still can, the
//! joints that must be apart or together for it only fix what comes before what, and between
//! stations the shortest chain of changeovers counts. There, whatever can be done at the
//! present station at its least cost may as well be done at once, so that only the order of
//! the stations is left to be searched, and very few states are.

use super::work::{Elements, Joints, NEVER, Way, Work, bits, members};
use rustc_hash::FxHashMap;

/// What is true of every plan, whatever has been done already.
struct Always {
    /// What comes before each element.
    before: Vec<Elements>,
    /// Joints that cannot be apart when it is done.
    not_apart: Vec<Joints>,
}

/// The easier problem for one state of the joints.
struct Easier {
    before: Vec<Elements>,
    /// `(station, cost)` of the ways that are left, cheapest first.
    ways: Vec<Vec<(usize, u32)>>,
    /// Elements that cost their least at a station.
    cheapest_at: Vec<Elements>,
    /// Elements that can be done at a station, though dearer.
    dearer_at: Vec<Elements>,
    least: Vec<u32>,
    /// The station as a bit, for an element that can be done at one only.
    only_at: Vec<usize>,
    /// What doing an element later costs at least, less what leaving it out there would save
    /// on changeovers.
    least_later: Vec<i64>,
}

/// Bounds for one problem, with what was worked out on the way.
pub(super) struct Bounds<'w> {
    work: &'w Work,
    always: Always,
    /// Shortest chains of changeovers; the last row is from nowhere.
    shortest: Vec<Vec<u32>>,
    /// Least that coming to a station and going on costs over not going there.
    detour: Vec<i64>,
    easier: Vec<Easier>,
    easier_of: FxHashMap<(Joints, Joints), usize>,
    rest_of: FxHashMap<u128, u32>,
    spent: usize,
    allowance: usize,
    gave_up: u32,
    /// Shortest chain from a station through each set of stations, worked out when first needed.
    chains: Option<Vec<Vec<u32>>>,
}

/// Most states of the easier problem that one bound may open; after that the simpler bound
/// stands in. Enough for 16 operations; it keeps 64 from taking all the time.
const MOST_STATES: usize = 20_000;
/// Bounds given up like that before the work counts as too large for them.
const MOST_GIVEN_UP: u32 = 3;

impl<'w> Bounds<'w> {
    /// Bounds for `work`; after `allowance` states the simpler bound stands in.
    pub fn of(work: &'w Work, allowance: usize) -> Self {
        let shortest = shortest_chains(&work.changeover, work.station_count);
        Self {
            always: Always::of(work),
            detour: detours(&work.changeover, work.station_count),
            shortest,
            easier: Vec::new(),
            easier_of: FxHashMap::default(),
            rest_of: FxHashMap::default(),
            spent: 0,
            allowance,
            gave_up: 0,
            chains: None,
            work,
        }
    }

    /// How many states of the easier problem have been opened: a measure of effort.
    pub fn spent(&self) -> usize {
        self.spent
    }

    /// Least minutes of what is not `done`, from `station`; [`NEVER`] when there is no way.
    pub fn rest(&mut self, done: Elements, station: usize) -> u32 {
        let easier = self.easier_for(done);
        if self.gave_up < MOST_GIVEN_UP && self.spent < self.allowance {
            let mut left = MOST_STATES;
            let solved = self.solve(easier, done, station, &mut left);
            self.spent += MOST_STATES - left;
            match solved {
                Some(minutes) => return minutes,
                None => self.gave_up += 1,
            }
        }
        self.simple(easier, done, station)
    }

    /// A quicker and lower bound than [`Bounds::rest`].
    pub fn at_least(&mut self, done: Elements, station: usize) -> u32 {
        let easier = self.easier_for(done);
        self.simple(easier, done, station)
    }

    /// Whether doing `element` now for `cost` at `station`, being there already, can lose nothing.
    pub fn may_as_well(
        &mut self,
        done: Elements,
        element: usize,
        station: usize,
        cost: u32,
    ) -> bool {
        let easier = self.easier_for(done);
        let staying = self.work.changeover[station][station];
        i64::from(cost) + i64::from(staying) <= self.easier[easier].least_later[element]
    }

    fn easier_for(&mut self, done: Elements) -> usize {
        let key = (self.work.may_be_apart(done), self.work.apart(done));
        if let Some(&index) = self.easier_of.get(&key) {
            return index;
        }
        let easier = Easier::of(self.work, &self.always, &self.detour, key.0, key.1);
        self.easier.push(easier);
        self.easier_of.insert(key, self.easier.len() - 1);
        self.easier.len() - 1
    }

    fn solve(
        &mut self,
        index: usize,
        mut done: Elements,
        station: usize,
        left: &mut usize,
    ) -> Option<u32> {
        let mut cost = self.easier[index].finish_at(&mut done, station);
        if done == self.work.all {
            return Some(cost);
        }
        let key = done | (station as u128) << 96 | (index as u128) << 100;
        if let Some(&rest) = self.rest_of.get(&key) {
            return Some((cost + rest).min(NEVER));
        }
        *left = left.checked_sub(1)?;
        let mut turns = self.turns(index, done, station);
        turns.sort_unstable();
        let mut best = NEVER;
        for (at_least, so_far, done, to) in turns {
            if at_least >= best {
                break;
            }
            best = best.min(so_far + self.solve(index, done, to, left)?);
        }
        self.rest_of.insert(key, best);
        cost += best;
        Some(cost.min(NEVER))
    }

    /// Where to turn next in the easier problem: (what it all costs at least, what is spent on
    /// the way, what is done then, where).
    fn turns(
        &mut self,
        index: usize,
        done: Elements,
        station: usize,
    ) -> Vec<(u32, u32, Elements, usize)> {
        let mut turns = Vec::new();
        for to in 0..self.work.station_count {
            let travel = if to == station { 0 } else { self.shortest[station][to] };
            let easier = &self.easier[index];
            let ready =
                |set: Elements| bits(set & !done).filter(|&e| easier.before[e] & !done == 0);
            if to != station && ready(easier.cheapest_at[to]).next().is_some() {
                turns.push((travel, travel, done, to));
                continue;
            }
            for element in ready(easier.dearer_at[to]) {
                let at = easier.ways[element].iter().find(|(at, _)| *at == to);
                let spent = travel + at.map_or(NEVER, |(_, cost)| *cost);
                turns.push((spent, spent, done | 1 << element, to));
            }
        }
        for (at_least, spent, done, to) in &mut turns {
            *at_least = *spent + self.simple(index, *done, *to);
        }
        turns
    }

    /// The sum of the least costs, and the shortest chain through every station that something
    /// cannot do without.
    fn simple(&mut self, index: usize, done: Elements, station: usize) -> u32 {
        let count = self.work.station_count;
        let chains = self.chains.get_or_insert_with(|| chains_through(&self.shortest, count));
        let easier = &self.easier[index];
        let (mut cost, mut needed) = (0, 0_usize);
        for element in bits(self.work.all & !done) {
            cost = (cost + easier.least[element]).min(NEVER);
            needed |= easier.only_at[element];
        }
        (cost + chains[station][needed]).min(NEVER)
    }
}

impl Always {
    /// Orders that hold in every plan: joints that an operation needs apart in all its ways
    /// come apart before it and go together after it; and what needs them together lies before
    /// or after that, where what comes before or after it tells which.
    fn of(work: &Work) -> Self {
        let count = work.elements.len();
        let common = |element: usize, set: fn(&Way) -> Joints| -> Joints {
            work.elements[element].ways.iter().map(set).reduce(|a, b| a & b).unwrap_or_default()
        };
        let apart: Vec<Joints> =
            (0..count).map(|element| common(element, |way| way.apart)).collect();
        let together: Vec<Joints> =
            (0..count).map(|element| common(element, |way| way.together)).collect();
        // Joints that certainly come apart. Only their taking apart and putting together may
        // carry an order onward: those of other joints may never happen.
        let mut certain: Joints =
            apart[..work.operation_count].iter().fold(0, |set, one| set | one);
        loop {
            let known = certain;
            for joint in members(known) {
                certain |= apart[work.take_index(joint)] | apart[work.put_index(joint)];
            }
            if certain == known {
                break;
            }
        }
        let happens = |element: usize| {
            element < work.operation_count
                || certain >> ((element - work.operation_count) % work.joint_count) & 1 == 1
        };

        let mut before: Vec<Elements> = work.elements.iter().map(|element| element.after).collect();
        for element in (0..count).filter(|&element| happens(element)) {
            for joint in members(apart[element]) {
                before[element] |= work.take(joint);
                before[work.put_index(joint)] |= 1 << element;
            }
        }
        loop {
            let known = before.clone();
            for middle in (0..count).filter(|&element| happens(element)) {
                for element in 0..count {
                    if before[element] >> middle & 1 == 1 {
                        before[element] |= before[middle];
                    }
                }
            }
            for element in (0..count).filter(|&element| happens(element)) {
                for joint in members(together[element] & certain) {
                    let (take, put) = (work.take(joint), work.put(joint));
                    let within = |other: usize| apart[other] >> joint & 1 == 1 && happens(other);
                    if before[element] & take != 0 || bits(before[element]).any(within) {
                        before[element] |= put;
                    }
                    let is_before = |other: usize| before[other] >> element & 1 == 1;
                    if (0..count).any(|other| is_before(other) && within(other))
                        || is_before(work.put_index(joint))
                    {
                        before[work.take_index(joint)] |= 1 << element;
                    }
                }
            }
            if before == known {
                break;
            }
        }
        let not_apart = (0..count)
            .map(|element| {
                members(certain).fold(0, |set, joint| {
                    let take = work.take_index(joint);
                    let is_before = before[take] >> element & 1 == 1;
                    let is_after = before[element] & work.put(joint) != 0;
                    if is_before || is_after { set | 1 << joint } else { set }
                })
            })
            .collect();
        Self { before, not_apart }
    }
}

impl Easier {
    fn of(
        work: &Work,
        always: &Always,
        detour: &[i64],
        may_be_apart: Joints,
        apart_now: Joints,
    ) -> Self {
        let count = work.elements.len();
        let mut before = always.before.clone();
        let mut ways: Vec<Vec<(usize, u32)>> = Vec::with_capacity(count);
        for (index, element) in work.elements.iter().enumerate() {
            let can_be_apart = may_be_apart & !always.not_apart[index];
            let left = element.ways.iter().filter(|way| way.apart & !can_be_apart == 0);
            let needed = left
                .clone()
                .map(|way| (way.apart, way.together))
                .reduce(|a, b| (a.0 & b.0, a.1 & b.1));
            let (apart, together) = needed.unwrap_or_default();
            for joint in members(apart) {
                before[index] |= work.take(joint);
                before[work.put_index(joint)] |= 1 << index;
            }
            for joint in members(together & apart_now) {
                before[index] |= work.put(joint);
            }
            let mut cheapest: Vec<(usize, u32)> =
                left.map(|way| (way.station, way.cost(can_be_apart & !way.together))).collect();
            cheapest.sort_unstable_by_key(|&(station, cost)| (cost, station));
            ways.push(cheapest);
        }
        let least: Vec<u32> =
            ways.iter().map(|ways| ways.first().map_or(NEVER, |(_, cost)| *cost)).collect();
        let later = |(station, cost): &(usize, u32)| i64::from(*cost) + detour[*station];
        let least_later = ways
            .iter()
            .map(|ways| ways.iter().map(later).min().unwrap_or(i64::from(NEVER)))
            .collect();
        let only_at = ways
            .iter()
            .map(|ways| match ways.first() {
                Some((at, _)) if ways.iter().all(|(other, _)| other == at) => 1 << at,
                _ => 0,
            })
            .collect();
        let mut cheapest_at = vec![0; work.station_count];
        let mut dearer_at = vec![0; work.station_count];
        for (index, ways) in ways.iter().enumerate() {
            for (station, cost) in ways {
                let at = if *cost == least[index] { &mut cheapest_at } else { &mut dearer_at };
                at[*station] |= 1 << index;
            }
        }
        for (cheapest, dearer) in cheapest_at.iter().zip(&mut dearer_at) {
            *dearer &= !cheapest;
        }
        Self { before, ways, cheapest_at, dearer_at, least, only_at, least_later }
    }

    /// Does whatever is ready and costs its least at `station`; gives the minutes of it.
    fn finish_at(&self, done: &mut Elements, station: usize) -> u32 {
        let mut cost = 0;
        let Some(cheapest) = self.cheapest_at.get(station) else { return cost };
        loop {
            let before = *done;
            for element in bits(cheapest & !before) {
                if self.before[element] & !*done == 0 {
                    *done |= 1 << element;
                    cost += self.least[element];
                }
            }
            if *done == before {
                return cost;
            }
        }
    }
}

/// Floyd–Warshall, with nothing for staying: what a chain of changeovers costs at least.
fn shortest_chains(changeover: &[Vec<u32>], count: usize) -> Vec<Vec<u32>> {
    let mut shortest = changeover.to_vec();
    for middle in 0..count {
        for from in 0..=count {
            for to in 0..count {
                shortest[from][to] =
                    shortest[from][to].min(shortest[from][middle] + shortest[middle][to]);
            }
        }
    }
    for (station, row) in shortest.iter_mut().enumerate().take(count) {
        row[station] = 0;
    }
    shortest
}

/// For each station, what one visit between any two others (or at the end) costs at least over
/// leaving it out. Below 0 where the triangle inequality fails.
fn detours(changeover: &[Vec<u32>], count: usize) -> Vec<i64> {
    let minutes = |from: usize, to: usize| i64::from(changeover[from][to]);
    (0..count)
        .map(|at| {
            let within = (0..count).flat_map(|from| {
                (0..count).map(move |to| minutes(from, at) + minutes(at, to) - minutes(from, to))
            });
            let at_the_end = (0..count).map(|from| minutes(from, at));
            within.chain(at_the_end).min().unwrap_or_default()
        })
        .collect()
}

/// Shortest chain from each station (the last: from nowhere) through every set of stations.
fn chains_through(shortest: &[Vec<u32>], count: usize) -> Vec<Vec<u32>> {
    let mut chains = vec![vec![0; 1 << count]; count + 1];
    for set in 1..1_usize << count {
        for from in 0..=count {
            let next = (0..count).filter(|to| set >> to & 1 == 1);
            let through = next.map(|to| shortest[from][to] + chains[to][set & !(1 << to)]);
            chains[from][set] = through.min().unwrap_or_default();
        }
    }
    chains
}
