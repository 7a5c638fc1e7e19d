//! The heat balance of all points, and its solution.
//!
//! Finite volumes with the loss lumped at the points. The balance is the gradient of a
//! strictly convex function (no loss ever falls with temperature), so a Newton step
//! whose length is cut where it overshoots always comes to the one solution. A Newton
//! step sweeps each tube down to its two end nodes and then eliminates the nodes, least
//! connected first: rings and branches need no special care.

use super::mesh::{Mesh, zone_surface};
use super::model::{Doing, Resolved};
use super::surface::{Estimate, Surface};

/// A part of a point's surface under one law.
#[derive(Debug, Clone, Copy)]
struct Share {
    point: u32,
    surface: u32,
    area_m2: f64,
}

/// Tubes as a chain of points between two nodes.
#[derive(Debug, Clone, Copy)]
struct Chain {
    from: usize,
    to: usize,
    first: usize,
    count: usize,
    first_cell: usize,
}

/// One assembly under one estimate, ready to be solved.
#[derive(Debug)]
pub(super) struct Network {
    node_count: usize,
    chains: Vec<Chain>,
    /// Conductance of each cell, W/K.
    conductance: Vec<f64>,
    /// Sum of the conductances at each point, W/K.
    conducted: Vec<f64>,
    /// Heat capacity of each point, J/K.
    pub capacity: Vec<f64>,
    surfaces: Vec<Surface>,
    shares: Vec<Share>,
    /// The shares from here on lie under the torch: they count once it is away.
    first_torch_share: usize,
    /// The temperature at which a point is held by a torch, °C.
    torch_c: Vec<Option<f64>>,
    elimination: Elimination,
}

/// No solution within the steps that are ever needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct DoesNotSettle;

/// What one step is asked to balance: `source = outflow(T) + inertia · capacity · T`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Balance<'s> {
    /// 1/s; 0 for the steady state.
    pub inertia: f64,
    /// W, one for each point; absent: none.
    pub source: Option<&'s [f64]>,
    /// Whether the torch holds its zones.
    pub torch: bool,
    /// The solution is good when the last step is smaller, K.
    pub within_k: f64,
}

/// Room for a solution's intermediate values, kept between steps.
#[derive(Debug)]
pub(super) struct Workspace {
    residual: Vec<f64>,
    diagonal: Vec<f64>,
    step: Vec<f64>,
    inverse: Vec<f64>,
    to_start: Vec<f64>,
    trial: Vec<f64>,
    matrix: Vec<f64>,
    right: Vec<f64>,
}

impl Network {
    pub fn new(resolved: &Resolved<'_>, mesh: &Mesh, estimate: &Estimate) -> Self {
        let assembly = resolved.assembly;
        let mut surfaces: Vec<Surface> = Vec::new();
        let mut shares: Vec<Share> = Vec::new();
        let mut torch_shares: Vec<Share> = Vec::new();
        let mut conductance = Vec::new();
        let mut conducted = vec![0.0; mesh.point_count];
        let mut capacity = vec![0.0; mesh.point_count];
        let mut chains = Vec::with_capacity(mesh.tubes.len());
        let zone_surfaces: Vec<Option<(u32, f64)>> = (0..assembly.zones.len())
            .map(|zone| {
                zone_surface(resolved, zone, estimate).map(|(surface, perimeter_m)| {
                    surfaces.push(surface);
                    (index(surfaces.len() - 1), perimeter_m)
                })
            })
            .collect();

        for (tube, places) in assembly.tubes.iter().zip(&mesh.tubes) {
            let metal = &tube.stock.metal;
            let section_m2 = tube.stock.section_m2();
            let outside_m = tube.stock.outside_m();
            let emissivity = tube.stock.emissivity;
            let room = assembly.room;
            surfaces.push(Surface::air(room.air_h_w_m2_k, emissivity, room.ambient_c, estimate));
            let air = index(surfaces.len() - 1);
            chains.push(Chain {
                from: places.from,
                to: places.to,
                first: places.first,
                count: places.inner_count(),
                first_cell: conductance.len(),
            });
            for (place, zone) in places.cell_zones.iter().enumerate() {
                let length_m = 1e-3 * (places.positions_mm[place + 1] - places.positions_mm[place]);
                let ends = [places.point(place), places.point(place + 1)];
                let g = metal.conductivity_w_m_k * estimate.conductivity * section_m2 / length_m;
                conductance.push(g);
                let (surface, perimeter_m, torch) = match zone.map(|zone| zone_surfaces[zone]) {
                    None => (air, outside_m, false),
                    Some(Some((surface, perimeter_m))) => (surface, perimeter_m, false),
                    Some(None) => (air, outside_m, true),
                };
                for point in ends {
                    conducted[point] += g;
                    capacity[point] += metal.density_kg_m3
                        * metal.heat_j_kg_k
                        * estimate.heat_capacity
                        * section_m2
                        * length_m
                        / 2.0;
                    let share = Share {
                        point: index(point),
                        surface,
                        area_m2: perimeter_m * length_m / 2.0,
                    };
                    let list = if torch { &mut torch_shares } else { &mut shares };
                    match list.last_mut() {
                        Some(last) if (last.point, last.surface) == (share.point, surface) => {
                            last.area_m2 += share.area_m2;
                        }
                        _ => list.push(share),
                    }
                }
            }
        }
        let first_torch_share = shares.len();
        shares.extend(torch_shares);
        Self {
            node_count: mesh.node_count,
            elimination: Elimination::new(mesh.node_count, &chains),
            chains,
            conductance,
            conducted,
            capacity,
            surfaces,
            shares,
            first_torch_share,
            torch_c: torch_temperatures(resolved, mesh, estimate),
        }
    }

    pub fn point_count(&self) -> usize {
        self.capacity.len()
    }

    pub fn workspace(&self) -> Workspace {
        let points = vec![0.0; self.point_count()];
        Workspace {
            residual: points.clone(),
            diagonal: points.clone(),
            step: points.clone(),
            inverse: points.clone(),
            to_start: points.clone(),
            trial: points,
            matrix: vec![0.0; self.node_count * self.node_count],
            right: vec![0.0; self.node_count],
        }
    }

    /// Sets the points under the torch to its temperature.
    pub fn light_the_torch(&self, t: &mut [f64]) {
        for (t, torch_c) in t.iter_mut().zip(&self.torch_c) {
            if let Some(torch_c) = torch_c {
                *t = *torch_c;
            }
        }
    }

    /// The time a cell beside the torch needs to follow it, s: the shortest step that
    /// tells anything.
    pub fn quickest_s(&self) -> f64 {
        let mut quickest = f64::INFINITY;
        self.each_cell(|g, left, right| {
            for (held, free) in [(left, right), (right, left)] {
                if self.torch_c[held].is_some() && self.torch_c[free].is_none() {
                    quickest = quickest.min(self.capacity[free] / g);
                }
            }
        });
        quickest
    }

    /// `(heat given by the torch, heat lost by surfaces)`, W, at the temperatures `t`.
    pub fn heat_w(&self, t: &[f64]) -> (f64, f64) {
        let mut given = 0.0;
        self.each_cell(|g, left, right| {
            for (held, free) in [(left, right), (right, left)] {
                if self.torch_c[held].is_some() {
                    given += g * (t[held] - t[free]);
                }
            }
        });
        let mut lost = 0.0;
        for share in &self.shares[..self.first_torch_share] {
            let point = share.point as usize;
            let loss = share.area_m2 * self.surfaces[share.surface as usize].loss(t[point]).0;
            lost += loss;
            if self.torch_c[point].is_some() {
                given += loss;
            }
        }
        (given, lost)
    }

    /// Heat flowing into each point by conduction less what its surface loses, W.
    pub fn net_heat(&self, t: &[f64], torch: bool, work: &mut Workspace) -> Vec<f64> {
        let balance = Balance { inertia: 0.0, source: None, torch, within_k: 0.0 };
        self.evaluate(&balance, t, &mut work.residual, &mut work.diagonal);
        work.residual.clone()
    }

    /// Brings `t` from a first guess to the solution of `balance`.
    pub fn settle(
        &self,
        balance: &Balance<'_>,
        t: &mut [f64],
        work: &mut Workspace,
    ) -> Result<(), DoesNotSettle> {
        self.evaluate(balance, t, &mut work.residual, &mut work.diagonal);
        for _ in 0..200 {
            self.newton_step(balance, work);
            if work.step.iter().any(|step| !step.is_finite()) {
                return Err(DoesNotSettle);
            }
            if work.step.iter().all(|step| step.abs() <= balance.within_k) {
                t.iter_mut().zip(&work.step).for_each(|(t, step)| *t += step);
                return Ok(());
            }
            self.go_along(balance, t, work);
        }
        Err(DoesNotSettle)
    }

    /// Goes along the step as far as the convex function does not clearly rise again.
    fn go_along(&self, balance: &Balance<'_>, t: &mut [f64], work: &mut Workspace) {
        let slope = |residual: &[f64], step: &[f64]| -> f64 {
            residual.iter().zip(step).map(|(r, s)| -r * s).sum()
        };
        let at_start = slope(&work.residual, &work.step);
        let mut length = 1.0;
        for _ in 0..40 {
            for ((trial, t), step) in work.trial.iter_mut().zip(t.iter()).zip(&work.step) {
                *trial = t + length * step;
            }
            self.evaluate(balance, &work.trial, &mut work.residual, &mut work.diagonal);
            let here = slope(&work.residual, &work.step);
            if here <= -0.5 * at_start {
                break;
            }
            // Where a straight line between the two slopes crosses zero, but not so short
            // that a corner in between could hold the step back for ever.
            length *= (at_start / (at_start - here)).clamp(0.1, 0.7);
        }
        t.copy_from_slice(&work.trial);
    }

    fn each_cell(&self, mut visit: impl FnMut(f64, usize, usize)) {
        for chain in &self.chains {
            for cell in 0..=chain.count {
                let left = if cell == 0 { chain.from } else { chain.first + cell - 1 };
                let right = if cell == chain.count { chain.to } else { chain.first + cell };
                visit(self.conductance[chain.first_cell + cell], left, right);
            }
        }
    }

    fn evaluate(
        &self,
        balance: &Balance<'_>,
        t: &[f64],
        residual: &mut [f64],
        diagonal: &mut [f64],
    ) {
        for point in 0..t.len() {
            let inertia = balance.inertia * self.capacity[point];
            residual[point] = -inertia * t[point];
            diagonal[point] = inertia + self.conducted[point];
        }
        if let Some(source) = balance.source {
            residual.iter_mut().zip(source).for_each(|(residual, source)| *residual += source);
        }
        self.each_cell(|g, left, right| {
            let flow = g * (t[right] - t[left]);
            residual[left] += flow;
            residual[right] -= flow;
        });
        let shares =
            if balance.torch { &self.shares[..self.first_torch_share] } else { &self.shares[..] };
        for share in shares {
            let point = share.point as usize;
            let (flux, slope) = self.surfaces[share.surface as usize].loss(t[point]);
            residual[point] -= share.area_m2 * flux;
            diagonal[point] += share.area_m2 * slope;
        }
        if balance.torch {
            for (residual, torch_c) in residual.iter_mut().zip(&self.torch_c) {
                if torch_c.is_some() {
                    *residual = 0.0;
                }
            }
        }
    }

    /// Solves the linearised balance into `work.step`.
    fn newton_step(&self, balance: &Balance<'_>, work: &mut Workspace) {
        let held = |point: usize| balance.torch && self.torch_c[point].is_some();
        let n = self.node_count;
        let rank = &self.elimination.rank;
        self.elimination.clear(&mut work.matrix);
        for (node, place) in rank.iter().enumerate() {
            work.matrix[place * (n + 1)] = work.diagonal[node];
            work.right[*place] = work.residual[node];
        }
        for chain in &self.chains {
            let (from, to) = (rank[chain.from], rank[chain.to]);
            // What the point to be eliminated next has inherited: its tie to the start
            // of the tube, and its diagonal and right-hand side so far.
            let mut tie = self.conductance[chain.first_cell];
            let (mut passed_diagonal, mut passed_right) = (0.0, 0.0);
            for cell in 0..chain.count {
                let point = chain.first + cell;
                let onward = self.conductance[chain.first_cell + cell + 1];
                if held(point) {
                    work.inverse[point] = 0.0;
                    work.to_start[point] = 0.0;
                    work.step[point] = 0.0;
                    (tie, passed_diagonal, passed_right) = (0.0, 0.0, 0.0);
                    continue;
                }
                let inverse = 1.0 / (work.diagonal[point] - passed_diagonal);
                let right = work.residual[point] + passed_right;
                work.inverse[point] = inverse;
                work.to_start[point] = tie;
                work.step[point] = right;
                work.matrix[from * (n + 1)] -= tie * (tie * inverse);
                work.right[from] += tie * (right * inverse);
                passed_diagonal = onward * (onward * inverse);
                passed_right = onward * (right * inverse);
                tie *= onward * inverse;
            }
            work.matrix[to * (n + 1)] -= passed_diagonal;
            work.right[to] += passed_right;
            if from == to {
                work.matrix[from * (n + 1)] -= 2.0 * tie;
            } else {
                work.matrix[from.min(to) * n + from.max(to)] -= tie;
            }
        }
        self.elimination.solve(&mut work.matrix, &mut work.right, held);
        for (node, place) in rank.iter().enumerate() {
            work.step[node] = work.right[*place];
        }
        for chain in &self.chains {
            let at_start = work.step[chain.from];
            let mut next = work.step[chain.to];
            for cell in (0..chain.count).rev() {
                let point = chain.first + cell;
                let onward = self.conductance[chain.first_cell + cell + 1];
                next = (work.step[point] + work.to_start[point] * at_start + onward * next)
                    * work.inverse[point];
                work.step[point] = next;
            }
        }
    }
}

fn index(place: usize) -> u32 {
    u32::try_from(place).expect("the checked sizes keep the points far below four thousand million")
}

fn torch_temperatures(
    resolved: &Resolved<'_>,
    mesh: &Mesh,
    estimate: &Estimate,
) -> Vec<Option<f64>> {
    let mut torch_c: Vec<Option<f64>> = vec![None; mesh.point_count];
    for (zone, tube) in resolved.assembly.zones.iter().zip(&resolved.zone_tubes) {
        if let Doing::Torch { temperature_c } = zone.doing {
            let places = &mesh.tubes[*tube];
            for place in places.nearest(zone.from_mm)..=places.nearest(zone.to_mm) {
                let held = &mut torch_c[places.point(place)];
                // Where two torches touch, the hotter holds.
                let hotter = held.unwrap_or(f64::MIN).max(temperature_c + estimate.torch_k);
                *held = Some(hotter);
            }
        }
    }
    torch_c
}

/// The order in which nodes are eliminated, and which are tied to which by then.
#[derive(Debug)]
struct Elimination {
    /// Place of each node in the order.
    rank: Vec<usize>,
    /// Node of each rank.
    node: Vec<usize>,
    /// For each rank the later ranks it is tied to, rising.
    later: Vec<Vec<usize>>,
}

impl Elimination {
    fn new(node_count: usize, chains: &[Chain]) -> Self {
        let mut ties = vec![std::collections::BTreeSet::new(); node_count];
        for chain in chains.iter().filter(|chain| chain.from != chain.to) {
            ties[chain.from].insert(chain.to);
            ties[chain.to].insert(chain.from);
        }
        let mut rank = vec![usize::MAX; node_count];
        let mut node = Vec::with_capacity(node_count);
        let mut tied: Vec<Vec<usize>> = Vec::with_capacity(node_count);
        for place in 0..node_count {
            let next = (0..node_count)
                .filter(|node| rank[*node] == usize::MAX)
                .min_by_key(|node| (ties[*node].len(), *node))
                .expect("one is left in each round");
            rank[next] = place;
            node.push(next);
            let others: Vec<usize> = std::mem::take(&mut ties[next]).into_iter().collect();
            for one in &others {
                ties[*one].remove(&next);
                ties[*one].extend(others.iter().filter(|other| *other != one));
            }
            tied.push(others);
        }
        let later = tied
            .into_iter()
            .map(|nodes| {
                let mut ranks: Vec<usize> = nodes.into_iter().map(|node| rank[node]).collect();
                ranks.sort_unstable();
                ranks
            })
            .collect();
        Self { rank, node, later }
    }

    fn clear(&self, matrix: &mut [f64]) {
        let n = self.rank.len();
        for (place, later) in self.later.iter().enumerate() {
            for other in later {
                matrix[place * n + other] = 0.0;
            }
        }
    }

    /// Solves in place; the upper triangle of the symmetric matrix is given, by rank.
    fn solve(&self, matrix: &mut [f64], right: &mut [f64], held: impl Fn(usize) -> bool) {
        let n = self.rank.len();
        for (place, later) in self.later.iter().enumerate() {
            if held(self.node[place]) {
                continue;
            }
            let inverse = 1.0 / matrix[place * (n + 1)];
            for (done, row) in later.iter().enumerate() {
                let factor = matrix[place * n + row] * inverse;
                right[*row] -= factor * right[place];
                for column in &later[done..] {
                    matrix[row * n + column] -= factor * matrix[place * n + column];
                }
            }
        }
        for (place, later) in self.later.iter().enumerate().rev() {
            if held(self.node[place]) {
                right[place] = 0.0;
                continue;
            }
            let tied: f64 =
                later.iter().map(|other| matrix[place * n + other] * right[*other]).sum();
            right[place] = (right[place] - tied) / matrix[place * (n + 1)];
        }
    }
}
