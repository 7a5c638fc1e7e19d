//! A block of piston valves and the slides on it.

use super::draft::{At, DRAWN, Draft, NICKEL};
use crate::maps::part_map::{JointKind, PartKind};

/// Wall of a casing, mm.
const CASING_WALL_MM: f64 = 0.7;
/// By how much a piston is smaller across than its casing's bore, mm.
const PISTON_PLAY_MM: f64 = 0.04;
/// By how much an outer leg is wider than the slide in it, mm: two walls of 0.5 and a tenth of play.
const LEG_OVER_SLIDE_MM: f64 = 1.1;

const NTH: [&str; 3] = ["first", "second", "third"];

/// Three casings with their pistons, tied to one another by knuckles.
pub struct Block {
    /// Middle of each casing, left to right.
    pub x: [f64; 3],
    /// Upper end of the casings.
    pub top: f64,
    /// Lower end of the casings.
    pub foot: f64,
    /// Bore of a casing, mm: the piston's diameter and what it has of play.
    pub bore_mm: f64,
    /// Length of a casing, mm.
    pub length_mm: f64,
    /// Outside diameter of the tubes between, mm.
    pub tube_mm: f64,
}

impl Block {
    /// Adds the block.
    pub fn add(&self, draft: &mut Draft) {
        for (nth, x) in NTH.iter().zip(self.x) {
            let casing = format!("{nth} valve casing");
            let piston = format!("{nth} valve");
            draft
                .part(
                    PartKind::Casing,
                    &casing,
                    NICKEL,
                    self.length_mm,
                    &[(0.0, self.casing_mm())],
                    &[(x, self.top, 0.0), (x, self.foot, 0.0)],
                    20,
                )
                .wall(CASING_WALL_MM)
                .listed("valve casings");
            draft
                .part(
                    PartKind::Piston,
                    &piston,
                    NICKEL,
                    self.length_mm * 0.6,
                    &[(0.0, hundredth(self.bore_mm - PISTON_PLAY_MM))],
                    &[(x, self.top - 24.0, 0.0), (x, self.top, 0.0)],
                    21,
                )
                .listed("valves");
            draft.join(JointKind::SlideFit, (&piston, 0.9), (&casing, 0.3));
        }
        for (k, share) in [(0, 0.42), (1, 0.55)] {
            let y = self.top + share * (self.foot - self.top);
            let name = format!("knuckle, {} to {} valve", NTH[k], NTH[k + 1]);
            let gap = self.x[k + 1] - self.x[k];
            draft
                .tube(
                    &name,
                    DRAWN,
                    (gap / draft.scale()).max(6.0),
                    &[(0.0, self.tube_mm)],
                    &[(self.x[k], y, 0.0), (self.x[k + 1], y, 0.0)],
                    19,
                )
                .listed("valve casings");
            for (end, casing) in [(0.0, k), (1.0, k + 1)] {
                draft.join(JointKind::Brazed, (&name, end), (&format!("{} valve casing", NTH[casing]), share));
            }
        }
    }

    /// Outside diameter of a casing, mm.
    fn casing_mm(&self) -> f64 {
        hundredth(self.bore_mm + 2.0 * CASING_WALL_MM)
    }

    /// The left or right wall of a casing.
    pub fn wall(&self, draft: &Draft, valve: usize, sign: f64) -> f64 {
        self.x[valve] + sign * self.casing_mm() * draft.scale() / 2.0
    }

    /// Where on a casing a height of the sheet is.
    pub fn share(&self, y: f64) -> f64 {
        ((y - self.top) / (self.foot - self.top)).clamp(0.0, 1.0)
    }

    /// The slide of a valve to the left (−1) or right (1): two outer legs soldered to the
    /// casing and the bow that slides in them.
    #[expect(clippy::too_many_arguments, reason = "a row of a template's table; names would hide the numbers")]
    pub fn slide(&self, draft: &mut Draft, valve: usize, sign: f64, y: (f64, f64), legs: f64, reach: f64, order: i32) {
        let name = format!("{} valve slide", NTH[valve]);
        let casing = format!("{} valve casing", NTH[valve]);
        let wall = self.wall(draft, valve, sign);
        let ends = wall + sign * legs;
        let far = wall + sign * reach;
        let leg_mm = legs / draft.scale();
        for (which, at) in [("upper", y.0), ("lower", y.1)] {
            let leg = format!("{name}, {which} leg");
            draft
                .tube(
                    &leg,
                    NICKEL,
                    leg_mm,
                    &[(0.0, hundredth(self.tube_mm + LEG_OVER_SLIDE_MM))],
                    &[(wall, at, 0.0), (ends, at, 0.0)],
                    order,
                )
                .listed(&name);
            draft.join(JointKind::Brazed, (&leg, 0.03), (&casing, self.share(at)));
        }
        let bend = (y.1 - y.0) / 2.0;
        let line: [At; 4] = [(ends, y.0, 0.0), (far, y.0, bend), (far, y.1, bend), (ends, y.1, 0.0)];
        let bow_mm = (2.0 * (reach - legs) + y.1 - y.0) / draft.scale() + 2.0 * leg_mm * 0.8;
        draft.tube(&name, DRAWN, bow_mm, &[(0.0, self.tube_mm)], &line, order);
        draft.join(JointKind::SlideFit, (&name, 0.02), (&format!("{name}, upper leg"), 0.98));
        draft.join(JointKind::SlideFit, (&name, 0.98), (&format!("{name}, lower leg"), 0.98));
    }

    /// The second slide, which points at whoever looks: a short bow in front of the casing.
    pub fn front_slide(&self, draft: &mut Draft, y: f64, reach: f64) {
        let x = self.x[1];
        let half = (self.tube_mm * draft.scale() * 0.62).max(5.0);
        let line: [At; 4] =
            [(x - half, y, 0.0), (x - half, y + reach, half), (x + half, y + reach, half), (x + half, y, 0.0)];
        draft.tube("second valve slide", DRAWN, 60.0, &[(0.0, self.tube_mm)], &line, 24);
        draft.join(JointKind::SlideFit, ("second valve slide", 0.06), ("second valve casing", self.share(y)));
        draft.join_as(
            "second valve slide to second valve casing, lower leg",
            JointKind::SlideFit,
            ("second valve slide", 0.94),
            ("second valve casing", self.share(y)),
        );
    }
}

fn hundredth(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}
