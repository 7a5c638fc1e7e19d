//! An alto saxophone. Dimensions from memory.

use super::draft::{CORK, DRAWN, Draft, RUBBER, SEAMED};
use super::woodwind_keys::Keywork;
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{SlideFit, SoftSoldered, TenonAndCork};

/// An alto saxophone, standing, its bell to the right.
pub fn saxophone() -> PartMap {
    let mut d = Draft::new(Family::Saxophone, 640.0, 540.0, 0.92);
    let keys = Keywork { make: DRAWN, posts: SoftSoldered };
    d.part(PartKind::Body, "mouthpiece", RUBBER, 90.0, &[(0.0, 8.0), (0.4, 22.0), (0.7, 25.0), (1.0, 24.0)], &[(92.0, 112.0, 0.0), (154.0, 78.0, 0.0)], 8)
        .wall(4.0)
        .listed("neck");
    d.tube("neck", SEAMED, 195.0, &[(0.0, 12.5), (1.0, 24.0)], &[(138.0, 87.0, 0.0), (212.0, 44.0, 60.0), (262.0, 44.0, 40.0), (268.0, 102.0, 0.0)], 6)
        .wall(0.7)
        .label(196.0, 28.0);
    d.seated(PartKind::TenonCork, "neck cork", CORK, 30.0, 16.0, "neck", 0.08, 0.0).listed("neck");
    d.tube("neck tenon", DRAWN, 25.0, &[(0.0, 27.5)], &[(268.0, 102.0, 0.0), (269.0, 122.0, 0.0)], 7).wall(1.0);
    d.tube("body", SEAMED, 480.0, &[(0.0, 29.0), (0.04, 29.0), (0.045, 26.0), (1.0, 58.0)], &[(269.0, 116.0, 0.0), (276.0, 412.0, 0.0)], 5)
        .wall(0.7)
        .label(96.0, 300.0);
    d.tube("bow", SEAMED, 240.0, &[(0.0, 58.0), (0.5, 66.0), (1.0, 72.0)], &[(276.0, 412.0, 0.0), (278.0, 490.0, 58.0), (392.0, 490.0, 58.0), (396.0, 412.0, 0.0)], 6)
        .wall(0.7)
        .label(180.0, 520.0);
    d.tube("bell", SEAMED, 330.0, &[(0.0, 72.0), (0.45, 79.0), (0.7, 87.0), (0.85, 97.0), (0.94, 109.0), (1.0, 123.0)], &[(396.0, 412.0, 0.0), (414.0, 206.0, 0.0)], 7)
        .wall(0.7)
        .label(430.0, 184.0);
    d.join(TenonAndCork, ("mouthpiece", 0.8), ("neck", 0.08));
    d.join(SoftSoldered, ("neck", 0.99), ("neck tenon", 0.0));
    d.join(SlideFit, ("neck tenon", 0.8), ("body", 0.02));
    d.join(SoftSoldered, ("bow", 0.01), ("body", 1.0));
    d.join(SoftSoldered, ("bell", 0.01), ("bow", 1.0));
    d.brace("bell brace", ("body", 0.64, -0.95), ("bell", 0.56, -0.95));
    keys.rod(&mut d, "upper stack rod", "body", 0.16, 0.5, 1.45);
    keys.rod(&mut d, "lower stack rod", "body", 0.56, 0.97, 1.3);
    keys.rod(&mut d, "side key rod", "body", 0.14, 0.62, -1.5);
    keys.rod(&mut d, "low key rod", "body", 0.68, 0.99, -1.25);
    keys.levered(&mut d, "neck octave", "neck", 0.36, -0.9, 9.0, &[(24.0, -14.0, 8.0), (64.0, 2.0, 18.0), (68.0, 44.0, 0.0)], 0.45);
    d.seated(PartKind::Fitting, "octave vent", DRAWN, 8.0, 4.0, "neck", 0.36, -0.6);
    d.join_as("octave vent to neck", SoftSoldered, ("octave vent", 0.5), ("neck", 0.36));
    for (name, share, pad_mm) in [("C", 0.2, 14.0), ("B", 0.27, 17.0), ("B flat", 0.335, 18.0), ("A", 0.4, 20.0), ("G", 0.475, 22.0)] {
        keys.padded(&mut d, name, "body", share, 0.15, pad_mm, "upper stack rod");
    }
    for (name, share, pad_mm) in [("F sharp", 0.6, 25.0), ("F", 0.7, 27.0), ("E", 0.8, 29.0), ("D", 0.905, 31.0)] {
        keys.padded(&mut d, name, "body", share, 0.15, pad_mm, "lower stack rod");
    }
    for (name, share) in [("high F", 0.1), ("high E flat", 0.17), ("high D", 0.24)] {
        keys.levered(&mut d, name, "body", share, 0.85, 12.0, &[(-20.0, 4.0, 8.0), (-38.0, 26.0, 0.0)], 0.4);
    }
    for (name, share) in [("side B flat", 0.3), ("side C", 0.38)] {
        keys.padded(&mut d, name, "body", share, -0.85, 14.0, "side key rod");
    }
    keys.levered(&mut d, "G sharp", "body", 0.53, -0.7, 18.0, &[(20.0, -22.0, 6.0), (20.0, -54.0, 0.0)], 0.5);
    keys.padded(&mut d, "low E flat", "body", 0.97, -0.75, 27.0, "low key rod");
    for (name, host, share, across, pad_mm, line) in [
        ("low C", "bow", 0.3, 0.72, 34.0, [(-34.0, -22.0, 14.0), (-40.0, -70.0, 0.0)]),
        ("low B", "bell", 0.12, 0.62, 36.0, [(46.0, -10.0, 12.0), (50.0, -62.0, 0.0)]),
        ("low B flat", "bell", 0.42, 0.62, 36.0, [(48.0, -4.0, 12.0), (52.0, -60.0, 0.0)]),
    ] {
        let line = line.map(|(x, y, bend)| (x, y, bend));
        keys.levered(&mut d, name, host, share, across, pad_mm, &line, 0.5);
        let guard = format!("{name} guard");
        d.seated(PartKind::Guard, &guard, DRAWN, 20.0, pad_mm + 12.0, host, share, across).listed("key guards");
        d.join(SoftSoldered, (&guard, 0.5), (host, share));
    }
    d.done()
}
