//! A flute in C. Dimensions from memory.

use super::draft::{CORK, Draft, PLATED};
use super::woodwind_keys::Keywork;
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{SlideFit, SoftSoldered, Threaded};

/// A flute in two rows: head joint above, body and foot joint below.
pub fn flute() -> PartMap {
    let mut d = Draft::new(Family::Flute, 640.0, 330.0, 1.75);
    let keys = Keywork { make: PLATED, posts: SoftSoldered };
    d.part(PartKind::Fitting, "crown", PLATED, 14.0, &[(0.0, 12.0), (0.4, 19.5), (1.0, 19.5)], &[(34.0, 92.0, 0.0), (56.0, 92.0, 0.0)], 6)
        .listed("crown and cork");
    d.tube("head joint", PLATED, 225.0, &[(0.0, 17.8), (1.0, 19.8)], &[(56.0, 92.0, 0.0), (410.0, 92.0, 0.0)], 5)
        .wall(0.38)
        .label(290.0, 140.0);
    d.part(PartKind::TenonCork, "head cork", CORK, 12.0, &[(0.0, 17.2)], &[(92.0, 92.0, 0.0), (112.0, 92.0, 0.0)], 7)
        .listed("crown and cork");
    d.part(
        PartKind::Fitting,
        "lip plate",
        PLATED,
        62.0,
        &[(0.0, 6.0), (0.08, 15.0), (0.25, 24.0), (0.5, 28.0), (0.75, 24.0), (0.92, 15.0), (1.0, 6.0)],
        &[(136.0, 92.0, 0.0), (236.0, 92.0, 0.0)],
        8,
    )
    .label(146.0, 50.0);
    d.seated(PartKind::ToneHole, "embouchure hole", PLATED, 5.0, 11.0, "lip plate", 0.5, 0.0).listed("lip plate");
    d.tube("barrel tenon", PLATED, 40.0, &[(0.0, 19.0)], &[(410.0, 92.0, 0.0), (462.0, 92.0, 0.0)], 4).wall(0.38);
    d.tube("body", PLATED, 350.0, &[(0.0, 22.5), (0.08, 22.5), (0.081, 19.8), (1.0, 19.8)], &[(28.0, 236.0, 0.0), (446.0, 236.0, 0.0)], 5)
        .wall(0.38)
        .label(150.0, 296.0);
    d.tube("foot tenon", PLATED, 14.0, &[(0.0, 19.0)], &[(446.0, 236.0, 0.0), (474.0, 236.0, 0.0)], 4).wall(0.38);
    d.tube("foot joint", PLATED, 130.0, &[(0.0, 22.5), (0.14, 22.5), (0.141, 19.8), (1.0, 19.8)], &[(474.0, 236.0, 0.0), (616.0, 236.0, 0.0)], 5)
        .wall(0.38)
        .label(486.0, 296.0);
    d.join(Threaded, ("crown", 0.9), ("head joint", 0.0));
    d.join(SlideFit, ("head cork", 0.5), ("head joint", 0.12));
    d.join(SoftSoldered, ("lip plate", 0.5), ("head joint", 0.38));
    d.join(SoftSoldered, ("head joint", 0.99), ("barrel tenon", 0.0));
    d.join(SlideFit, ("barrel tenon", 0.96), ("body", 0.0));
    d.join(SoftSoldered, ("body", 0.99), ("foot tenon", 0.0));
    d.join(SlideFit, ("foot joint", 0.03), ("foot tenon", 0.9));
    keys.rod(&mut d, "left hand rod", "body", 0.12, 0.53, -1.3);
    keys.rod(&mut d, "right hand rod", "body", 0.56, 0.97, -1.3);
    keys.rod(&mut d, "trill rod", "body", 0.14, 0.72, -1.75);
    keys.rod(&mut d, "foot rod", "foot joint", 0.2, 0.96, -1.3);
    keys.padded(&mut d, "C sharp", "body", 0.14, 0.0, 9.5, "left hand rod");
    for (name, share) in [("C", 0.215), ("B flat", 0.285), ("A", 0.355), ("G", 0.45)] {
        keys.padded(&mut d, name, "body", share, 0.0, 15.5, "left hand rod");
    }
    keys.levered(&mut d, "thumb B", "body", 0.25, 0.98, 13.5, &[(20.0, 14.0, 6.0), (52.0, 16.0, 0.0)], 0.45);
    keys.levered(&mut d, "G sharp", "body", 0.485, 0.98, 13.5, &[(-10.0, 18.0, 6.0), (-44.0, 20.0, 0.0)], 0.4);
    for (name, share) in [("F sharp", 0.585), ("F", 0.665), ("E", 0.745), ("D", 0.825)] {
        keys.padded(&mut d, name, "body", share, 0.0, 16.0, "right hand rod");
    }
    for (name, share) in [("D sharp trill", 0.105), ("D trill", 0.18)] {
        keys.padded(&mut d, name, "body", share, -0.75, 8.0, "trill rod");
    }
    keys.levered(&mut d, "E flat", "foot joint", 0.27, 0.55, 15.5, &[(-4.0, 28.0, 6.0), (-34.0, 34.0, 0.0)], 0.4);
    for (name, share) in [("low C sharp", 0.57), ("low C", 0.82)] {
        keys.padded(&mut d, name, "foot joint", share, 0.0, 16.0, "foot rod");
    }
    d.done()
}
