//! Trumpet, cornet and flugelhorn in B flat. Dimensions from memory.

use super::draft::{DRAWN, Draft, NICKEL, SEAMED};
use super::piston_valves::Block;
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{Pivot, SlideFit, SoftSoldered};

/// A water key at a place of a tube: hole with nipple, lever, cork.
pub fn water_key(draft: &mut Draft, tube: &str, share: f64, away: (f64, f64)) {
    let (x, y) = draft.spot(tube, share, 0.9);
    draft.part(
        PartKind::Key,
        "water key",
        NICKEL,
        35.0,
        &[(0.0, 3.0)],
        &[(x, y, 0.0), (x + away.0, y + away.1, 0.0)],
        40,
    );
    draft.seated(PartKind::Pad, "water key cork", super::draft::CORK, 3.0, 6.0, "water key", 0.04, 0.0).listed("water key");
    draft.join(Pivot, ("water key", 0.45), (tube, share));
}

/// Receiver and leadpipe along one height; its end is the outer tube of the tuning slide.
fn leadpipe(draft: &mut Draft, y: f64, from: f64, to: f64, length_mm: f64) {
    draft.tube(
        "mouthpiece receiver",
        NICKEL,
        40.0,
        &[(0.0, 15.0), (0.12, 15.0), (0.13, 13.0), (1.0, 13.4)],
        &[(from, y, 0.0), (from + 50.0, y, 0.0)],
        30,
    )
    .wall(0.9);
    draft.tube("leadpipe", DRAWN, length_mm, &[(0.0, 10.2), (0.85, 11.9), (0.86, 13.0), (1.0, 13.0)], &[(from + 50.0, y, 0.0), (to, y, 0.0)], 29);
    draft.join(SoftSoldered, ("mouthpiece receiver", 0.94), ("leadpipe", 0.0));
}

/// A trumpet.
pub fn trumpet() -> PartMap {
    let mut d = Draft::new(Family::Trumpet, 640.0, 420.0, 1.25);
    let block = Block { x: [286.0, 326.0, 366.0], top: 128.0, foot: 330.0, bore_mm: 17.0, length_mm: 145.0, tube_mm: 12.0 };
    leadpipe(&mut d, 196.0, 14.0, 470.0, 240.0);
    d.tube(
        "tuning slide",
        DRAWN,
        230.0,
        &[(0.0, 11.9), (1.0, 11.9)],
        &[(470.0, 196.0, 0.0), (556.0, 196.0, 52.0), (556.0, 300.0, 52.0), (470.0, 300.0, 0.0)],
        29,
    )
    .label(486.0, 334.0);
    d.tube("tuning slide, lower leg", NICKEL, 75.0, &[(0.0, 13.0)], &[(470.0, 300.0, 0.0), (377.5, 300.0, 0.0)], 18)
        .listed("tuning slide");
    block.add(&mut d);
    block.slide(&mut d, 0, -1.0, (226.0, 256.0), 34.0, 92.0, 15);
    block.slide(&mut d, 2, 1.0, (228.0, 262.0), 46.0, 118.0, 16);
    block.front_slide(&mut d, 250.0, 34.0);
    d.tube(
        "bell bow",
        SEAMED,
        270.0,
        &[(0.0, 12.6), (1.0, 17.0)],
        &[(274.5, 300.0, 0.0), (46.0, 300.0, 75.0), (46.0, 150.0, 75.0), (150.0, 150.0, 0.0)],
        6,
    )
    .label(150.0, 356.0);
    d.tube(
        "bell",
        SEAMED,
        490.0,
        &[(0.0, 17.0), (0.4, 20.5), (0.6, 24.5), (0.74, 30.0), (0.84, 39.0), (0.9, 51.0), (0.95, 72.0), (0.98, 97.0), (1.0, 123.0)],
        &[(150.0, 150.0, 0.0), (622.0, 150.0, 0.0)],
        7,
    )
    .label(400.0, 96.0);
    d.join(SlideFit, ("leadpipe", 0.98), ("tuning slide", 0.02));
    d.join(SlideFit, ("tuning slide, lower leg", 0.02), ("tuning slide", 0.98));
    d.join(SoftSoldered, ("tuning slide, lower leg", 0.93), ("third valve casing", block.share(300.0)));
    d.join(SoftSoldered, ("bell bow", 0.03), ("first valve casing", block.share(300.0)));
    d.join(SoftSoldered, ("bell", 0.01), ("bell bow", 1.0));
    d.brace("bell brace", ("bell", 0.62, 0.95), ("leadpipe", 0.92, -0.9)).listed("bell brace");
    d.brace("rear brace", ("bell", 0.06, 0.95), ("leadpipe", 0.22, -0.9)).listed("bell brace");
    d.brace("tuning slide brace", ("tuning slide", 0.2, 0.9), ("tuning slide", 0.8, 0.9)).listed("tuning slide");
    water_key(&mut d, "tuning slide", 0.66, (-34.0, 12.0));
    d.done()
}

/// A cornet with its shepherd's crook.
pub fn cornet() -> PartMap {
    let mut d = Draft::new(Family::Cornet, 640.0, 440.0, 1.35);
    let block = Block { x: [306.0, 348.0, 390.0], top: 116.0, foot: 326.0, bore_mm: 17.0, length_mm: 140.0, tube_mm: 12.2 };
    leadpipe(&mut d, 192.0, 72.0, 470.0, 190.0);
    d.tube(
        "tuning slide",
        DRAWN,
        190.0,
        &[(0.0, 11.9), (1.0, 11.9)],
        &[(470.0, 192.0, 0.0), (534.0, 192.0, 50.0), (534.0, 292.0, 50.0), (474.0, 292.0, 0.0)],
        29,
    )
    .label(468.0, 328.0);
    d.tube("tuning slide, lower leg", NICKEL, 50.0, &[(0.0, 13.0)], &[(474.0, 292.0, 0.0), (402.4, 292.0, 0.0)], 18)
        .listed("tuning slide");
    block.add(&mut d);
    block.slide(&mut d, 0, -1.0, (214.0, 246.0), 30.0, 82.0, 15);
    block.slide(&mut d, 2, 1.0, (222.0, 256.0), 36.0, 98.0, 16);
    block.front_slide(&mut d, 240.0, 36.0);
    d.tube(
        "bell bow",
        SEAMED,
        420.0,
        &[(0.0, 12.8), (0.35, 15.5), (1.0, 22.0)],
        &[
            (293.6, 292.0, 0.0),
            (236.0, 292.0, 30.0),
            (236.0, 366.0, 36.0),
            (48.0, 366.0, 116.0),
            (48.0, 134.0, 116.0),
            (190.0, 134.0, 0.0),
        ],
        6,
    )
    .label(214.0, 404.0);
    d.tube(
        "bell",
        SEAMED,
        330.0,
        &[(0.0, 22.0), (0.3, 25.0), (0.55, 30.5), (0.72, 38.0), (0.84, 50.0), (0.92, 69.0), (0.97, 94.0), (1.0, 119.0)],
        &[(190.0, 134.0, 0.0), (600.0, 134.0, 0.0)],
        7,
    )
    .label(392.0, 70.0);
    d.join(SlideFit, ("leadpipe", 0.98), ("tuning slide", 0.02));
    d.join(SlideFit, ("tuning slide, lower leg", 0.02), ("tuning slide", 0.98));
    d.join(SoftSoldered, ("tuning slide, lower leg", 0.92), ("third valve casing", block.share(292.0)));
    d.join(SoftSoldered, ("bell bow", 0.02), ("first valve casing", block.share(292.0)));
    d.join(SoftSoldered, ("bell", 0.01), ("bell bow", 1.0));
    d.brace("bell brace", ("bell", 0.6, 0.95), ("leadpipe", 0.9, -0.9));
    d.brace("rear brace", ("bell", 0.04, 0.95), ("leadpipe", 0.2, -0.9)).listed("bell brace");
    water_key(&mut d, "tuning slide", 0.68, (-34.0, 12.0));
    d.done()
}

/// A flugelhorn: straight leadpipe, wide bell over a large rear bow.
pub fn flugelhorn() -> PartMap {
    let mut d = Draft::new(Family::Flugelhorn, 640.0, 460.0, 1.15);
    let block = Block { x: [286.0, 324.0, 362.0], top: 138.0, foot: 330.0, bore_mm: 17.0, length_mm: 140.0, tube_mm: 12.0 };
    d.tube(
        "mouthpiece receiver",
        NICKEL,
        35.0,
        &[(0.0, 14.0), (0.12, 14.0), (0.13, 12.4), (1.0, 12.6)],
        &[(16.0, 232.0, 0.0), (58.0, 232.0, 0.0)],
        30,
    )
    .wall(0.9);
    // It lies within the bow: there is no room for its name that is not led to through another tube.
    d.tube("tuning slide", DRAWN, 90.0, &[(0.0, 11.2), (1.0, 11.7)], &[(58.0, 232.0, 0.0), (150.0, 232.0, 0.0)], 29);
    d.tube("leadpipe", NICKEL, 110.0, &[(0.0, 12.8), (1.0, 12.8)], &[(150.0, 232.0, 0.0), (275.4, 232.0, 0.0)], 29);
    block.add(&mut d);
    block.slide(&mut d, 0, -1.0, (268.0, 300.0), 34.0, 86.0, 15);
    block.slide(&mut d, 2, 1.0, (206.0, 236.0), 40.0, 100.0, 16);
    block.front_slide(&mut d, 262.0, 32.0);
    d.tube(
        "front bow",
        SEAMED,
        250.0,
        &[(0.0, 12.6), (1.0, 17.5)],
        &[(372.6, 278.0, 0.0), (520.0, 278.0, 52.0), (520.0, 382.0, 52.0), (420.0, 382.0, 0.0)],
        8,
    )
    .listed("bell bow")
    .label(470.0, 424.0);
    d.tube(
        "bell bow",
        SEAMED,
        640.0,
        &[(0.0, 17.5), (0.4, 24.0), (1.0, 33.0)],
        &[(420.0, 382.0, 0.0), (42.0, 382.0, 118.0), (42.0, 146.0, 118.0), (190.0, 146.0, 0.0)],
        6,
    )
    .label(190.0, 430.0);
    d.tube(
        "bell",
        SEAMED,
        340.0,
        &[(0.0, 33.0), (0.3, 39.0), (0.55, 48.0), (0.72, 60.0), (0.84, 78.0), (0.92, 102.0), (0.97, 128.0), (1.0, 152.0)],
        &[(190.0, 146.0, 0.0), (612.0, 146.0, 0.0)],
        7,
    )
    .label(376.0, 74.0);
    d.join(SoftSoldered, ("mouthpiece receiver", 0.92), ("tuning slide", 0.0));
    d.join(SlideFit, ("leadpipe", 0.03), ("tuning slide", 0.98));
    d.join(SoftSoldered, ("leadpipe", 0.96), ("first valve casing", block.share(232.0)));
    d.join(SoftSoldered, ("front bow", 0.04), ("third valve casing", block.share(278.0)));
    d.join(SoftSoldered, ("bell bow", 0.01), ("front bow", 1.0));
    d.join(SoftSoldered, ("bell", 0.01), ("bell bow", 1.0));
    d.brace("bell brace", ("bell", 0.1, 0.95), ("leadpipe", 0.5, -0.9));
    d.brace("lower brace", ("bell bow", 0.14, 0.95), ("second valve casing", 1.0, 0.0)).listed("bell brace");
    water_key(&mut d, "front bow", 0.72, (-34.0, 14.0));
    d.done()
}
