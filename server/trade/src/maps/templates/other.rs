//! A map to begin with when the instrument belongs to no family of the list.

use super::draft::{DRAWN, Draft, NICKEL, SEAMED};
use super::woodwind_keys::Keywork;
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{Brazed, SlideFit, SoftSoldered};

/// A straight tube with receiver, one valve with its slide, one key, and a bell.
pub fn other() -> PartMap {
    let mut d = Draft::new(Family::Other, 640.0, 300.0, 1.1);
    let keys = Keywork { make: NICKEL, posts: SoftSoldered };
    d.tube("mouthpiece receiver", NICKEL, 45.0, &[(0.0, 20.0), (0.2, 17.0), (1.0, 15.0)], &[(18.0, 140.0, 0.0), (66.0, 140.0, 0.0)], 10).wall(1.0);
    d.tube("body", DRAWN, 320.0, &[(0.0, 14.0), (1.0, 26.0)], &[(66.0, 140.0, 0.0), (400.0, 140.0, 0.0)], 8).label(230.0, 200.0);
    d.part(PartKind::Casing, "valve casing", NICKEL, 100.0, &[(0.0, 18.6)], &[(180.0, 92.0, 0.0), (180.0, 192.0, 0.0)], 12).wall(0.8).listed("valves");
    d.part(PartKind::Piston, "valve", NICKEL, 70.0, &[(0.0, 16.96)], &[(180.0, 66.0, 0.0), (180.0, 92.0, 0.0)], 13).listed("valves");
    for (name, y) in [("slide, upper leg", 162.0), ("slide, lower leg", 184.0)] {
        d.tube(name, NICKEL, 35.0, &[(0.0, 15.0)], &[(169.5, y, 0.0), (128.0, y, 0.0)], 9).listed("slides");
        d.join(Brazed, (name, 0.05), ("valve casing", (y - 92.0) / 100.0));
    }
    d.tube("slide", DRAWN, 150.0, &[(0.0, 13.9)], &[(128.0, 162.0, 0.0), (84.0, 162.0, 11.0), (84.0, 184.0, 11.0), (128.0, 184.0, 0.0)], 9).listed("slides");
    d.tube("bell", SEAMED, 230.0, &[(0.0, 26.0), (0.5, 36.0), (0.75, 56.0), (0.9, 92.0), (1.0, 150.0)], &[(400.0, 140.0, 0.0), (612.0, 140.0, 0.0)], 9).label(420.0, 70.0);
    d.join(SoftSoldered, ("mouthpiece receiver", 0.93), ("body", 0.0));
    d.join(SoftSoldered, ("body", 0.34), ("valve casing", 0.48));
    d.join(SlideFit, ("valve", 0.9), ("valve casing", 0.3));
    d.join(SlideFit, ("slide", 0.02), ("slide, upper leg", 0.98));
    d.join(SlideFit, ("slide", 0.98), ("slide, lower leg", 0.98));
    d.join(SoftSoldered, ("bell", 0.01), ("body", 1.0));
    keys.rod(&mut d, "rod", "body", 0.5, 0.9, -1.6);
    keys.padded(&mut d, "vent", "body", 0.7, 0.0, 16.0, "rod");
    d.done()
}
