//! A double horn in F and B flat. Dimensions from memory.

use super::draft::{At, DRAWN, Draft, NICKEL, SEAMED};
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{Brazed, Pivot, SlideFit, SoftSoldered};

/// Middle of the coil.
const MIDDLE: (f64, f64) = (262.0, 226.0);
/// Radius of the outer turn.
const RADIUS: f64 = 160.0;

/// Tube of the F side and of the B flat side, mm; typical, from memory.
const SIDES_MM: (f64, f64) = (3_700.0, 2_775.0);
/// By how many semitones each valve lowers.
const SEMITONES: [f64; 3] = [2.0, 1.0, 3.0];

/// What a valve adds to a side, mm: equal temperament, `L (2^(n/12) − 1)`.
fn added_mm(side_mm: f64, semitones: f64) -> f64 {
    side_mm * ((semitones / 12.0).exp2() - 1.0)
}

/// A double horn: one great turn, rotors and slides inside it, the bell to the right.
pub fn horn() -> PartMap {
    let mut d = Draft::new(Family::Horn, 640.0, 510.0, 0.74);
    let (x, y) = MIDDLE;
    let (left, right, top, foot) = (x - RADIUS, x + RADIUS, y - RADIUS, y + RADIUS);
    d.tube("mouthpiece receiver", NICKEL, 50.0, &[(0.0, 13.5), (1.0, 11.5)], &[(14.0, 132.0, 0.0), (50.0, 112.0, 0.0)], 30)
        .wall(0.9);
    d.tube(
        "leadpipe",
        DRAWN,
        560.0,
        &[(0.0, 10.0), (0.93, 12.8), (0.935, 14.1), (1.0, 14.1)],
        &[(50.0, 112.0, 0.0), (190.0, 34.0, 150.0), (456.0, 34.0, 176.0), (456.0, 306.0, 22.0), (392.0, 306.0, 22.0), (392.0, 256.0, 0.0)],
        12,
    )
    .label(440.0, 60.0);
    d.tube(
        "main tuning slide",
        DRAWN,
        260.0,
        &[(0.0, 13.0), (1.0, 13.1)],
        &[(392.0, 256.0, 0.0), (392.0, 134.0, 14.0), (364.0, 134.0, 14.0), (364.0, 256.0, 0.0)],
        13,
    );
    d.tube(
        "tuning slide tail",
        NICKEL,
        90.0,
        &[(0.0, 14.2)],
        &[(364.0, 256.0, 0.0), (364.0, 290.0, 14.0), (334.0, 290.0, 14.0), (334.0, 244.0, 0.0)],
        11,
    )
    .listed("main tuning slide");
    // The rotors stand in a row; the thumb's change valve is the fourth.
    let rotors = [("first", 178.0), ("second", 226.0), ("third", 274.0), ("change", 330.0)];
    for (nth, at) in rotors {
        let casing = format!("{nth} rotor casing");
        let rotor = format!("{nth} rotor");
        let line: [At; 2] = [(at - 14.0, y, 0.0), (at + 14.0, y, 0.0)];
        d.part(PartKind::RotorCasing, &casing, NICKEL, 36.0, &[(0.0, 40.0)], &line, 20).wall(0.8).listed("rotor casings");
        d.part(PartKind::Rotor, &rotor, NICKEL, 32.0, &[(0.0, 38.36)], &line, 21).listed("rotors");
        d.join(SlideFit, (&rotor, 0.5), (&casing, 0.5));
    }
    for pair in rotors.windows(2) {
        let name = format!("knuckle, {} to {} rotor", pair[0].0, pair[1].0);
        d.tube(&name, NICKEL, 12.0, &[(0.0, 15.0)], &[(pair[0].1, y, 0.0), (pair[1].1, y, 0.0)], 19).listed("rotor casings");
        d.join(Brazed, (&name, 0.3), (&format!("{} rotor casing", pair[0].0), 0.9));
        d.join(Brazed, (&name, 0.7), (&format!("{} rotor casing", pair[1].0), 0.1));
    }
    for (k, (nth, at)) in rotors[..3].iter().enumerate() {
        let casing = format!("{nth} rotor casing");
        let (f_reach, b_reach) = ([116.0, 84.0, 128.0][k], [74.0, 46.0, 84.0][k]);
        for (name, listed, sign, reach, side_mm) in [
            (format!("{nth} F slide"), "F slides", -1.0, f_reach, SIDES_MM.0),
            (format!("{nth} B flat slide"), "B flat slides", 1.0, b_reach, SIDES_MM.1),
        ] {
            let near = y + sign * 13.0;
            let ends = y + sign * 36.0;
            let far = y + sign * reach;
            for (which, off) in [("left", -9.0), ("right", 9.0)] {
                let leg = format!("{name}, {which} leg");
                d.tube(&leg, NICKEL, 34.0, &[(0.0, 14.0)], &[(at + off, near, 0.0), (at + off, ends, 0.0)], 18).listed(listed);
                d.join(Brazed, (&leg, 0.1), (&casing, 0.5));
            }
            let line: [At; 4] = [(at - 9.0, ends, 0.0), (at - 9.0, far, 9.0), (at + 9.0, far, 9.0), (at + 9.0, ends, 0.0)];
            d.tube(&name, DRAWN, added_mm(side_mm, SEMITONES[k]), &[(0.0, 12.9)], &line, 17).listed(listed);
            d.join(SlideFit, (&name, 0.02), (&format!("{name}, left leg"), 1.0));
            d.join(SlideFit, (&name, 0.98), (&format!("{name}, right leg"), 1.0));
        }
        // The levers lie at the left, outside the turn.
        let height = y - 26.0 + 26.0 * k as f64;
        let lever = format!("{nth} lever");
        d.part(
            PartKind::Linkage,
            &lever,
            NICKEL,
            120.0,
            &[(0.0, 5.0)],
            &[(54.0, height, 0.0), (132.0, height, 6.0), (at - 8.0, y + 6.0 - 6.0 * k as f64, 0.0)],
            25,
        )
        .listed("linkage");
        d.join_as(&format!("{nth} string"), Pivot, (&lever, 1.0), (&format!("{nth} rotor"), 0.3));
    }
    d.part(
        PartKind::Linkage,
        "thumb lever",
        NICKEL,
        130.0,
        &[(0.0, 5.0)],
        &[(66.0, 296.0, 0.0), (140.0, 306.0, 10.0), (316.0, 240.0, 0.0)],
        24,
    )
    .listed("linkage");
    d.join_as("thumb string", Pivot, ("thumb lever", 1.0), ("change rotor", 0.3));
    d.tube(
        "branch pipe",
        DRAWN,
        260.0,
        &[(0.0, 13.0), (1.0, 15.0)],
        &[(322.0, 240.0, 0.0), (322.0, 338.0, 40.0), (right, 338.0, 90.0), (right, y, 0.0)],
        9,
    )
    .listed("first branch");
    // The leadpipe and the levers lie round it: no name of it could be led to but through them.
    d.tube(
        "first branch",
        SEAMED,
        760.0,
        &[(0.0, 15.0), (0.5, 21.0), (1.0, 29.0)],
        &[(right, y, 0.0), (right, top, RADIUS), (left, top, RADIUS), (left, y, 0.0)],
        14,
    );
    d.tube(
        "bell throat",
        SEAMED,
        480.0,
        &[(0.0, 29.0), (0.5, 42.0), (0.8, 58.0), (1.0, 76.0)],
        &[(left, y, 0.0), (left, foot, RADIUS), (x, foot, 0.0), (430.0, foot, 0.0)],
        15,
    )
    .label(60.0, 452.0);
    d.tube(
        "bell",
        SEAMED,
        270.0,
        &[(0.0, 76.0), (0.25, 94.0), (0.5, 124.0), (0.7, 168.0), (0.85, 222.0), (0.95, 276.0), (1.0, 310.0)],
        &[(430.0, foot, 0.0), (610.0, foot, 0.0)],
        16,
    )
    .wall(0.4)
    .label(330.0, 480.0);
    d.join(SoftSoldered, ("mouthpiece receiver", 0.92), ("leadpipe", 0.0));
    d.join(SlideFit, ("leadpipe", 0.99), ("main tuning slide", 0.0));
    d.join(SlideFit, ("tuning slide tail", 0.05), ("main tuning slide", 1.0));
    d.join(SoftSoldered, ("tuning slide tail", 0.95), ("change rotor casing", 0.6));
    d.join(SoftSoldered, ("branch pipe", 0.03), ("change rotor casing", 0.4));
    d.join(SoftSoldered, ("first branch", 0.01), ("branch pipe", 1.0));
    d.join(SoftSoldered, ("bell throat", 0.01), ("first branch", 1.0));
    d.join(Brazed, ("bell", 0.02), ("bell throat", 1.0));
    d.brace("upper brace", ("first branch", 0.44, 0.9), ("second F slide, left leg", 0.8, 0.0)).listed("braces");
    d.brace("leadpipe brace", ("leadpipe", 0.4, 0.9), ("first branch", 0.33, -0.9)).listed("braces");
    d.brace("lever plate", ("bell throat", 0.03, -0.9), ("first lever", 0.3, 0.0)).listed("braces");
    d.brace("bell brace", ("bell throat", 0.86, -0.95), ("branch pipe", 0.6, 0.9)).listed("braces");
    d.done()
}
