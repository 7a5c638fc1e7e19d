//! Baritone (and euphonium), and tuba. Dimensions from memory.

use super::draft::{DRAWN, Draft, NICKEL, SEAMED};
use super::piston_valves::Block;
use super::trumpets::water_key;
use crate::maps::part_map::{JointKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{SlideFit, SoftSoldered, Threaded};

/// A baritone, lying with its bell to the right.
pub fn baritone() -> PartMap {
    let mut d = Draft::new(Family::Baritone, 640.0, 536.0, 0.9);
    let block = Block { x: [222.0, 260.0, 298.0], top: 310.0, foot: 404.0, bore_mm: 19.6, length_mm: 140.0, tube_mm: 15.0 };
    d.tube(
        "mouthpiece receiver",
        NICKEL,
        45.0,
        &[(0.0, 24.0), (0.45, 22.0), (1.0, 18.0)],
        &[(40.0, 462.0, 0.0), (80.0, 462.0, 0.0)],
        30,
    )
    .wall(1.0);
    d.tube(
        "leadpipe",
        DRAWN,
        620.0,
        &[(0.0, 15.0), (0.9, 19.5), (0.91, 21.1), (1.0, 21.1)],
        &[(80.0, 462.0, 0.0), (592.0, 462.0, 21.0), (592.0, 420.0, 21.0), (156.0, 420.0, 0.0)],
        10,
    )
    .wall(0.6)
    .label(300.0, 526.0);
    d.tube(
        "tuning slide",
        DRAWN,
        330.0,
        &[(0.0, 19.8), (1.0, 20.9)],
        &[(156.0, 420.0, 0.0), (78.0, 420.0, 37.0), (78.0, 346.0, 37.0), (156.0, 346.0, 0.0)],
        11,
    );
    d.tube("tuning slide, upper leg", NICKEL, 45.0, &[(0.0, 22.0)], &[(150.0, 346.0, 0.0), (212.5, 346.0, 0.0)], 9)
        .listed("tuning slide");
    block.add(&mut d);
    block.slide(&mut d, 0, -1.0, (372.0, 392.0), 30.0, 72.0, 8);
    block.slide(&mut d, 2, 1.0, (364.0, 392.0), 44.0, 118.0, 8);
    block.front_slide(&mut d, 352.0, 34.0);
    d.tube(
        "lower branch",
        SEAMED,
        190.0,
        &[(0.0, 28.0), (1.0, 33.5)],
        &[(307.0, 356.0, 0.0), (322.0, 356.0, 8.0), (322.0, 328.0, 14.0), (344.0, 328.0, 8.0), (476.0, 328.0, 0.0)],
        12,
    );
    d.tube(
        "inner bow",
        SEAMED,
        230.0,
        &[(0.0, 33.5), (1.0, 38.0)],
        &[(476.0, 328.0, 0.0), (534.0, 328.0, 41.0), (534.0, 246.0, 41.0), (476.0, 246.0, 0.0)],
        13,
    );
    d.tube("upper branch", SEAMED, 420.0, &[(0.0, 38.0), (1.0, 52.0)], &[(476.0, 246.0, 0.0), (98.0, 246.0, 0.0)], 14)
        .wall(0.45)
        .label(262.0, 196.0);
    d.tube(
        "bottom bow",
        SEAMED,
        330.0,
        &[(0.0, 52.0), (0.5, 57.0), (1.0, 61.0)],
        &[(98.0, 246.0, 0.0), (46.0, 246.0, 62.0), (46.0, 122.0, 62.0), (98.0, 122.0, 0.0)],
        15,
    );
    d.tube(
        "bell",
        SEAMED,
        560.0,
        &[(0.0, 62.0), (0.55, 66.0), (0.68, 72.0), (0.78, 86.0), (0.86, 111.0), (0.92, 147.0), (0.96, 184.0), (1.0, 240.0)],
        &[(98.0, 122.0, 0.0), (618.0, 122.0, 0.0)],
        16,
    )
    .wall(0.45)
    .label(300.0, 72.0);
    d.join(Threaded, ("mouthpiece receiver", 0.3), ("leadpipe", 0.0));
    d.join(SlideFit, ("leadpipe", 0.99), ("tuning slide", 0.0));
    d.join(SlideFit, ("tuning slide", 0.97), ("tuning slide, upper leg", 0.1));
    d.join(SoftSoldered, ("tuning slide, upper leg", 0.9), ("first valve casing", block.share(346.0)));
    d.join(SoftSoldered, ("lower branch", 0.02), ("third valve casing", block.share(350.0)));
    d.join(SoftSoldered, ("lower branch", 0.99), ("inner bow", 0.0));
    d.join(SoftSoldered, ("upper branch", 0.01), ("inner bow", 1.0));
    d.join(SoftSoldered, ("upper branch", 0.98), ("bottom bow", 0.0));
    d.join(SoftSoldered, ("bell", 0.02), ("bottom bow", 1.0));
    d.brace("bell brace", ("bell", 0.28, 0.97), ("upper branch", 0.6, 0.95));
    d.brace("long brace", ("bell", 0.9, 0.7), ("leadpipe", 0.56, 0.9)).listed("bell brace");
    water_key(&mut d, "tuning slide", 0.5, (-16.0, 30.0));
    d.done()
}

/// A tuba, standing, bell up.
pub fn tuba() -> PartMap {
    let mut d = Draft::new(Family::Tuba, 720.0, 520.0, 0.6);
    let block = Block { x: [322.0, 352.0, 382.0], top: 212.0, foot: 306.0, bore_mm: 23.0, length_mm: 170.0, tube_mm: 19.0 };
    d.tube(
        "mouthpiece receiver",
        NICKEL,
        50.0,
        &[(0.0, 26.0), (0.2, 22.0), (1.0, 20.0)],
        &[(596.0, 176.0, 0.0), (566.0, 176.0, 0.0)],
        30,
    )
    .wall(1.0);
    d.tube(
        "leadpipe",
        DRAWN,
        520.0,
        &[(0.0, 16.0), (1.0, 20.0)],
        &[(566.0, 176.0, 0.0), (300.0, 176.0, 20.0), (300.0, 236.0, 12.0), (314.7, 236.0, 0.0)],
        29,
    )
    .wall(0.6)
    .label(520.0, 208.0);
    block.add(&mut d);
    block.slide(&mut d, 0, -1.0, (252.0, 266.0), 50.0, 104.0, 9);
    block.slide(&mut d, 2, -1.0, (282.0, 298.0), 110.0, 176.0, 8);
    block.front_slide(&mut d, 250.0, 34.0);
    d.tube("inner bow", NICKEL, 110.0, &[(0.0, 21.0), (1.0, 22.2)], &[(382.0, 306.0, 0.0), (382.0, 350.0, 0.0)], 10);
    d.tube(
        "tuning slide",
        DRAWN,
        420.0,
        &[(0.0, 21.0), (1.0, 24.2)],
        &[(382.0, 350.0, 0.0), (382.0, 404.0, 40.0), (272.0, 404.0, 40.0), (272.0, 350.0, 0.0)],
        11,
    );
    d.tube("lower branch", SEAMED, 520.0, &[(0.0, 25.0), (1.0, 40.0)], &[(272.0, 350.0, 0.0), (272.0, 140.0, 0.0)], 12);
    d.tube(
        "top bow",
        SEAMED,
        420.0,
        &[(0.0, 40.0), (1.0, 56.0)],
        &[(272.0, 140.0, 0.0), (272.0, 62.0, 52.0), (166.0, 62.0, 52.0), (166.0, 140.0, 0.0)],
        13,
    )
    .label(22.0, 60.0);
    d.tube("upper branch", SEAMED, 620.0, &[(0.0, 56.0), (1.0, 84.0)], &[(166.0, 140.0, 0.0), (166.0, 340.0, 0.0)], 14)
        .label(10.0, 240.0);
    d.tube(
        "bottom bow",
        SEAMED,
        640.0,
        &[(0.0, 84.0), (0.5, 102.0), (1.0, 118.0)],
        &[(166.0, 340.0, 0.0), (166.0, 468.0, 118.0), (462.0, 468.0, 118.0), (462.0, 340.0, 0.0)],
        15,
    )
    .wall(0.6)
    .label(24.0, 504.0);
    d.tube(
        "bell",
        SEAMED,
        760.0,
        &[(0.0, 118.0), (0.4, 140.0), (0.6, 163.0), (0.74, 194.0), (0.84, 232.0), (0.92, 286.0), (0.97, 340.0), (1.0, 400.0)],
        &[(462.0, 340.0, 0.0), (462.0, 22.0, 0.0)],
        16,
    )
    .wall(0.55)
    .label(524.0, 268.0);
    d.join(SoftSoldered, ("mouthpiece receiver", 0.9), ("leadpipe", 0.0));
    d.join(SoftSoldered, ("leadpipe", 0.98), ("first valve casing", block.share(236.0)));
    d.join(SoftSoldered, ("inner bow", 0.08), ("third valve casing", 1.0));
    d.join(SlideFit, ("inner bow", 0.95), ("tuning slide", 0.0));
    d.join(SlideFit, ("lower branch", 0.02), ("tuning slide", 1.0));
    d.join(SoftSoldered, ("lower branch", 0.99), ("top bow", 0.0));
    d.join(SoftSoldered, ("upper branch", 0.01), ("top bow", 1.0));
    d.join(SoftSoldered, ("upper branch", 0.99), ("bottom bow", 0.0));
    d.join(SoftSoldered, ("bell", 0.02), ("bottom bow", 1.0));
    d.brace("bell brace", ("bell", 0.2, -0.95), ("third valve casing", 0.8, -0.95));
    d.brace("branch brace", ("upper branch", 0.15, -0.95), ("lower branch", 0.85, -0.9)).listed("bell brace");
    water_key(&mut d, "tuning slide", 0.5, (30.0, 14.0));
    d.done()
}
