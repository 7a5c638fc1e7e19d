//! Where along the tubes temperatures are computed.
//!
//! Points stand on every zone edge and joint. They are close where the temperature may
//! bend (0.25 mm and less at a torch or a waterline) and stand further apart in
//! proportion to the distance from there, along the metal.

use super::model::{Doing, Resolved, ResolvedPlace, Zone};
use super::surface::{NOMINAL, Surface};

/// Places nearer than this are one, mm.
const SAME_PLACE_MM: f64 = 1e-3;
/// The closest and the widest spacing at a zone's edge, mm.
const EDGE_MM: (f64, f64) = (0.02, 0.25);
/// How much the spacing grows per mm of distance from an edge.
const GROWTH: f64 = 0.06;
/// The narrowest and the widest upper limit of the spacing, mm.
const WIDEST_MM: (f64, f64) = (0.5, 4.0);
/// Points per length over which a temperature falls by e: at an edge, and far from one.
const POINTS_PER_FALL: (f64, f64) = (20.0, 16.0);

/// Points of all tubes: the nodes first, then the inner points of each tube in turn.
#[derive(Debug)]
pub(super) struct Mesh {
    pub node_count: usize,
    pub point_count: usize,
    pub tubes: Vec<TubeMesh>,
    /// The point of each joint.
    pub joints: Vec<usize>,
}

#[derive(Debug)]
pub(super) struct TubeMesh {
    pub from: usize,
    pub to: usize,
    /// Index of the first inner point.
    pub first: usize,
    /// Of all points of the tube, both ends included, mm, rising.
    pub positions_mm: Vec<f64>,
    /// The zone of each cell between two points.
    pub cell_zones: Vec<Option<usize>>,
}

impl TubeMesh {
    /// The point at a place in [`TubeMesh::positions_mm`].
    pub fn point(&self, place: usize) -> usize {
        match place {
            0 => self.from,
            _ if place + 1 == self.positions_mm.len() => self.to,
            _ => self.first + place - 1,
        }
    }

    pub fn inner_count(&self) -> usize {
        self.positions_mm.len() - 2
    }

    /// The place nearest to a position.
    pub fn nearest(&self, at_mm: f64) -> usize {
        let after = self.positions_mm.partition_point(|x| *x < at_mm);
        let last = self.positions_mm.len() - 1;
        if after == 0 {
            0
        } else if after > last
            || at_mm - self.positions_mm[after - 1] <= self.positions_mm[after] - at_mm
        {
            after - 1
        } else {
            after
        }
    }
}

/// How far it takes a temperature to fall by e, mm, on one tube over one surface.
fn fall_mm(resolved: &Resolved<'_>, tube: usize, slope: f64, perimeter_m: f64) -> f64 {
    let stock = &resolved.assembly.tubes[tube].stock;
    1e3 * (stock.metal.conductivity_w_m_k * stock.section_m2() / (perimeter_m * slope)).sqrt()
}

/// A place from which the spacing grows.
#[derive(Debug, Clone, Copy)]
struct Close {
    at_mm: f64,
    spacing_mm: f64,
}

impl Mesh {
    pub fn new(resolved: &Resolved<'_>) -> Self {
        let assembly = resolved.assembly;
        let mut zones: Vec<Vec<(usize, &Zone)>> = vec![Vec::new(); assembly.tubes.len()];
        for (index, (zone, tube)) in assembly.zones.iter().zip(&resolved.zone_tubes).enumerate() {
            zones[*tube].push((index, zone));
        }
        let edges: Vec<Vec<Close>> =
            (0..assembly.tubes.len()).map(|tube| edges_of(resolved, tube, &zones[tube])).collect();
        let at_nodes = spacing_at_nodes(resolved, &edges);
        let mut along: Vec<Vec<f64>> = vec![Vec::new(); assembly.tubes.len()];
        for place in &resolved.joint_places {
            if let ResolvedPlace::Along { tube, at_mm } = place {
                along[*tube].push(*at_mm);
            }
        }

        let mut point_count = resolved.node_count;
        let mut tubes = Vec::with_capacity(assembly.tubes.len());
        for (index, (from, to)) in resolved.ends.iter().enumerate() {
            let length_mm = assembly.tubes[index].length_mm;
            let mut close = edges[index].clone();
            close.push(Close { at_mm: 0.0, spacing_mm: at_nodes[*from] });
            close.push(Close { at_mm: length_mm, spacing_mm: at_nodes[*to] });
            let mut marks = along[index].clone();
            marks.extend(zones[index].iter().flat_map(|(_, zone)| [zone.from_mm, zone.to_mm]));
            let widest_mm = widest_spacing_mm(resolved, index);
            let positions_mm = points(length_mm, marks, &close, widest_mm);
            let cell_zones = cell_zones(&positions_mm, &zones[index]);
            let tube =
                TubeMesh { from: *from, to: *to, first: point_count, positions_mm, cell_zones };
            point_count += tube.inner_count();
            tubes.push(tube);
        }
        let joints = resolved
            .joint_places
            .iter()
            .map(|place| match *place {
                ResolvedPlace::Node(node) => node,
                ResolvedPlace::Along { tube, at_mm } => {
                    let tube: &TubeMesh = &tubes[tube];
                    tube.point(tube.nearest(at_mm))
                }
            })
            .collect();
        Self { node_count: resolved.node_count, point_count, tubes, joints }
    }
}

/// The law of loss inside a zone, `None` under the torch, and the perimeter it acts on.
pub(super) fn zone_surface(
    resolved: &Resolved<'_>,
    zone: usize,
    estimate: &super::surface::Estimate,
) -> Option<(Surface, f64)> {
    let stock = &resolved.assembly.tubes[resolved.zone_tubes[zone]].stock;
    let outside_m = stock.outside_m();
    match resolved.assembly.zones[zone].doing {
        Doing::Torch { .. } => None,
        Doing::Water { temperature_c, inside } => {
            let inside_m = if inside { stock.inside_m() } else { 0.0 };
            Some((Surface::water(temperature_c, estimate), outside_m + inside_m))
        }
        Doing::WetRag { h_w_m2_k, temperature_c } | Doing::HeatSink { h_w_m2_k, temperature_c } => {
            Some((Surface::contact(h_w_m2_k, temperature_c, estimate), outside_m))
        }
    }
}

fn air(resolved: &Resolved<'_>, tube: usize) -> Surface {
    let room = resolved.assembly.room;
    let emissivity = resolved.assembly.tubes[tube].stock.emissivity;
    Surface::air(room.air_h_w_m2_k, emissivity, room.ambient_c, &NOMINAL)
}

fn widest_spacing_mm(resolved: &Resolved<'_>, tube: usize) -> f64 {
    let slope = air(resolved, tube).loss(resolved.assembly.room.ambient_c).1;
    let outside_m = resolved.assembly.tubes[tube].stock.outside_m();
    (fall_mm(resolved, tube, slope, outside_m) / POINTS_PER_FALL.1).clamp(WIDEST_MM.0, WIDEST_MM.1)
}

fn edges_of(resolved: &Resolved<'_>, tube: usize, zones: &[(usize, &Zone)]) -> Vec<Close> {
    let hottest_c = resolved
        .assembly
        .zones
        .iter()
        .filter_map(|zone| match zone.doing {
            Doing::Torch { temperature_c } => Some(temperature_c),
            _ => None,
        })
        .fold(resolved.assembly.room.ambient_c, f64::max);
    let outside_m = resolved.assembly.tubes[tube].stock.outside_m();
    let dry = fall_mm(resolved, tube, air(resolved, tube).steepest(hottest_c), outside_m);
    let mut edges = Vec::with_capacity(2 * zones.len());
    for (index, zone) in zones {
        let fall = match zone_surface(resolved, *index, &NOMINAL) {
            Some((surface, perimeter_m)) => {
                dry.min(fall_mm(resolved, tube, surface.steepest(hottest_c), perimeter_m))
            }
            None => dry,
        };
        let spacing_mm = (fall / POINTS_PER_FALL.0).clamp(EDGE_MM.0, EDGE_MM.1);
        edges.extend([zone.from_mm, zone.to_mm].map(|at_mm| Close { at_mm, spacing_mm }));
    }
    edges
}

/// The spacing at each node: grown along the shortest way from an edge.
fn spacing_at_nodes(resolved: &Resolved<'_>, edges: &[Vec<Close>]) -> Vec<f64> {
    let mut spacing = vec![f64::INFINITY; resolved.node_count];
    for (tube, (from, to)) in resolved.ends.iter().enumerate() {
        let length_mm = resolved.assembly.tubes[tube].length_mm;
        for edge in &edges[tube] {
            spacing[*from] = spacing[*from].min(edge.spacing_mm + GROWTH * edge.at_mm);
            spacing[*to] = spacing[*to].min(edge.spacing_mm + GROWTH * (length_mm - edge.at_mm));
        }
    }
    for _ in 0..resolved.ends.len() {
        for (tube, (from, to)) in resolved.ends.iter().enumerate() {
            let grown = GROWTH * resolved.assembly.tubes[tube].length_mm;
            spacing[*from] = spacing[*from].min(spacing[*to] + grown);
            spacing[*to] = spacing[*to].min(spacing[*from] + grown);
        }
    }
    spacing
}

fn points(length_mm: f64, mut marks: Vec<f64>, close: &[Close], widest_mm: f64) -> Vec<f64> {
    marks.push(length_mm);
    marks.sort_by(f64::total_cmp);
    let mut kept = vec![0.0];
    for mark in marks {
        if mark - kept[kept.len() - 1] > SAME_PLACE_MM {
            kept.push(mark);
        }
    }
    // The end of the tube is exact; a mark that all but touches it gives way.
    let last = kept.len() - 1;
    kept[last] = length_mm;
    let spacing = |x: f64| {
        close
            .iter()
            .map(|place| place.spacing_mm + GROWTH * (x - place.at_mm).abs())
            .fold(widest_mm, f64::min)
    };
    let mut positions = vec![0.0];
    for pair in kept.windows(2) {
        fill(&mut positions, pair[0], pair[1], spacing(pair[0]), spacing(pair[1]), widest_mm);
    }
    positions
}

/// Adds the points after `from_mm` up to and with `to_mm`, mirrored when the two ends are.
fn fill(
    positions: &mut Vec<f64>,
    from_mm: f64,
    to_mm: f64,
    at_from_mm: f64,
    at_to_mm: f64,
    widest_mm: f64,
) {
    let length = to_mm - from_mm;
    // Where the two ramps meet each other, or the plateau between them.
    let meet = (length / 2.0 + (at_to_mm - at_from_mm) / (2.0 * GROWTH)).clamp(0.0, length);
    let left = ((widest_mm - at_from_mm) / GROWTH).clamp(0.0, meet);
    let right = ((widest_mm - at_to_mm) / GROWTH).clamp(0.0, length - meet);
    let flat = length - left - right;
    // Points on a ramp: the integral of one over the spacing.
    let on_ramp = |start: f64, run: f64| (1.0 + GROWTH * run / start).ln() / GROWTH;
    let (on_left, on_right) = (on_ramp(at_from_mm, left), on_ramp(at_to_mm, right));
    let on_flat = flat / widest_mm;
    let total = on_left + on_flat + on_right;
    let along_ramp = |start: f64, points: f64| start / GROWTH * (GROWTH * points).exp_m1();
    let steps = total.ceil().max(1.0);
    let mut step = 1.0;
    while step < steps {
        let points = total * step / steps;
        let x = if points <= on_left {
            along_ramp(at_from_mm, points)
        } else if points <= on_left + on_flat {
            left + (points - on_left) * widest_mm
        } else {
            length - along_ramp(at_to_mm, total - points)
        };
        positions.push(from_mm + x);
        step += 1.0;
    }
    positions.push(to_mm);
}

fn cell_zones(positions_mm: &[f64], zones: &[(usize, &Zone)]) -> Vec<Option<usize>> {
    positions_mm
        .windows(2)
        .map(|cell| {
            let middle = 0.5 * (cell[0] + cell[1]);
            zones
                .iter()
                .find(|(_, zone)| zone.from_mm < middle && middle < zone.to_mm)
                .map(|(index, _)| *index)
        })
        .collect()
}
