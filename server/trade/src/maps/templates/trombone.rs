//! A tenor trombone with an F attachment. Dimensions from memory.

use super::draft::{DRAWN, Draft, NICKEL, SEAMED};
use super::trumpets::water_key;
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{Brazed, Pivot, SlideFit, SoftSoldered, Threaded};

/// A tenor trombone: bell section above, hand slide below.
pub fn trombone() -> PartMap {
    let mut d = Draft::new(Family::Trombone, 640.0, 430.0, 0.85);
    d.tube("mouthpiece receiver", NICKEL, 60.0, &[(0.0, 17.0), (1.0, 16.0)], &[(112.0, 378.0, 0.0), (164.0, 378.0, 0.0)], 24)
        .wall(0.9)
        .label(30.0, 412.0);
    d.tube("hand slide, inner", NICKEL, 700.0, &[(0.0, 14.5)], &[(164.0, 378.0, 0.0), (300.0, 378.0, 0.0)], 20).wall(0.35);
    d.tube("hand slide, inner, bell side", NICKEL, 700.0, &[(0.0, 14.5)], &[(164.0, 300.0, 0.0), (300.0, 300.0, 0.0)], 20)
        .wall(0.35)
        .listed("hand slide, inner");
    d.tube("hand slide, outer", DRAWN, 680.0, &[(0.0, 15.2)], &[(226.0, 378.0, 0.0), (560.0, 378.0, 0.0)], 22)
        .wall(0.3)
        .label(330.0, 412.0);
    d.tube("hand slide, outer, bell side", DRAWN, 680.0, &[(0.0, 15.2)], &[(226.0, 300.0, 0.0), (560.0, 300.0, 0.0)], 22)
        .wall(0.3)
        .listed("hand slide, outer");
    d.tube(
        "slide bow",
        NICKEL,
        150.0,
        &[(0.0, 16.0)],
        &[(560.0, 378.0, 0.0), (618.0, 378.0, 39.0), (618.0, 300.0, 39.0), (560.0, 300.0, 0.0)],
        23,
    )
    .wall(0.4);
    d.tube("neckpipe", DRAWN, 130.0, &[(0.0, 17.0), (1.0, 15.6)], &[(164.0, 300.0, 0.0), (164.0, 226.0, 0.0)], 12)
        .listed("slide lock ring");
    d.part(PartKind::RotorCasing, "trigger valve", NICKEL, 40.0, &[(0.0, 46.0)], &[(145.0, 208.0, 0.0), (183.0, 208.0, 0.0)], 14)
        .wall(0.8);
    d.part(PartKind::Rotor, "trigger rotor", NICKEL, 36.0, &[(0.0, 44.36)], &[(145.0, 208.0, 0.0), (183.0, 208.0, 0.0)], 15)
        .listed("trigger valve");
    d.part(
        PartKind::Linkage,
        "linkage",
        NICKEL,
        110.0,
        &[(0.0, 4.0)],
        &[(164.0, 196.0, 0.0), (202.0, 238.0, 8.0), (196.0, 286.0, 0.0)],
        26,
    );
    d.tube(
        "trigger tubing",
        DRAWN,
        900.0,
        &[(0.0, 15.4), (0.95, 15.4), (0.955, 16.5), (1.0, 16.5)],
        &[
            (183.0, 214.0, 0.0),
            (330.0, 214.0, 14.0),
            (330.0, 242.0, 14.0),
            (226.0, 242.0, 14.0),
            (226.0, 186.0, 14.0),
            (300.0, 186.0, 0.0),
        ],
        9,
    )
    .listed("trigger tubing");
    d.tube(
        "trigger tuning slide",
        DRAWN,
        150.0,
        &[(0.0, 15.4)],
        &[(300.0, 186.0, 0.0), (386.0, 186.0, 14.0), (386.0, 158.0, 14.0), (176.0, 158.0, 12.0), (176.0, 190.0, 0.0)],
        8,
    )
    .listed("trigger tubing");
    d.tube("goose neck", DRAWN, 90.0, &[(0.0, 16.0), (0.6, 16.6), (0.61, 18.1), (1.0, 18.1)], &[(147.0, 202.0, 0.0), (96.0, 202.0, 0.0)], 12)
        .listed("tuning slide");
    d.tube(
        "tuning slide",
        DRAWN,
        330.0,
        &[(0.0, 17.0), (1.0, 20.5)],
        &[(96.0, 202.0, 0.0), (24.0, 202.0, 50.0), (24.0, 102.0, 50.0), (96.0, 102.0, 0.0)],
        11,
    )
    .label(20.0, 62.0);
    d.tube("bell bow", SEAMED, 200.0, &[(0.0, 21.5), (1.0, 27.0)], &[(96.0, 102.0, 0.0), (230.0, 102.0, 0.0)], 10);
    d.tube(
        "bell",
        SEAMED,
        560.0,
        &[(0.0, 27.0), (0.35, 34.0), (0.58, 45.0), (0.74, 62.0), (0.84, 84.0), (0.91, 114.0), (0.96, 156.0), (1.0, 215.0)],
        &[(230.0, 102.0, 0.0), (520.0, 102.0, 0.0)],
        13,
    )
    .wall(0.45)
    .label(410.0, 228.0);
    d.join(SoftSoldered, ("mouthpiece receiver", 0.95), ("hand slide, inner", 0.0));
    d.join(SlideFit, ("hand slide, outer", 0.02), ("hand slide, inner", 0.5));
    d.join(SlideFit, ("hand slide, outer, bell side", 0.02), ("hand slide, inner, bell side", 0.5));
    d.join(SoftSoldered, ("hand slide, outer", 0.99), ("slide bow", 0.0));
    d.join(SoftSoldered, ("hand slide, outer, bell side", 0.99), ("slide bow", 1.0));
    d.join(Threaded, ("neckpipe", 0.1), ("hand slide, inner, bell side", 0.0));
    d.join(SoftSoldered, ("neckpipe", 0.9), ("trigger valve", 0.5));
    d.join(SlideFit, ("trigger rotor", 0.5), ("trigger valve", 0.5));
    d.join(Pivot, ("linkage", 0.0), ("trigger rotor", 0.5));
    d.join(Brazed, ("trigger tubing", 0.01), ("trigger valve", 1.0));
    d.join(SlideFit, ("trigger tubing", 0.98), ("trigger tuning slide", 0.0));
    d.join(SoftSoldered, ("trigger tuning slide", 0.97), ("trigger valve", 0.6));
    d.join(SoftSoldered, ("goose neck", 0.06), ("trigger valve", 0.0));
    d.join(SlideFit, ("goose neck", 0.95), ("tuning slide", 0.0));
    d.join(SlideFit, ("bell bow", 0.03), ("tuning slide", 1.0));
    d.join(SoftSoldered, ("bell", 0.01), ("bell bow", 1.0));
    d.brace("slide brace", ("hand slide, outer", 0.06, -0.9), ("hand slide, outer, bell side", 0.06, 0.9));
    d.brace("slide brace, inner", ("hand slide, inner", 0.15, -0.9), ("hand slide, inner, bell side", 0.15, 0.9))
        .listed("slide brace");
    d.brace("bell brace", ("bell", 0.2, 0.95), ("trigger tubing", 0.12, -0.9));
    d.brace("tuning slide brace", ("tuning slide", 0.12, 0.9), ("tuning slide", 0.88, 0.9)).listed("tuning slide");
    water_key(&mut d, "slide bow", 0.12, (-34.0, 10.0));
    d.done()
}
