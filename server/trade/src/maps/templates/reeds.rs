//! Clarinet in B flat, oboe and bassoon. Dimensions from memory.

use super::draft::{CORK, Draft, GRENADILLA, MAPLE, NICKEL, PLATED, RUBBER};
use super::woodwind_keys::Keywork;
use crate::maps::part_map::{JointKind, PartKind, PartMap};
use crate::words::instrument::Family;

use JointKind::{SlideFit, SoftSoldered, TenonAndCork, Threaded};

/// A tenon that stands free at the break of a row, with its cork.
fn free_tenon(d: &mut Draft, name: &str, of: &str, diameter_mm: f64, from: (f64, f64), long: f64) {
    d.part(
        PartKind::Body,
        name,
        GRENADILLA,
        18.0,
        &[(0.0, diameter_mm)],
        &[(from.0, from.1, 0.0), (from.0 + long, from.1, 0.0)],
        4,
    )
    .wall(4.0);
    d.seated(PartKind::TenonCork, &format!("{name} cork"), CORK, 11.0, diameter_mm, name, 0.5, 0.0);
    d.join(Threaded, (name, 0.0), (of, 1.0));
}

/// A clarinet in two rows, broken at the centre tenon.
pub fn clarinet() -> PartMap {
    let mut d = Draft::new(Family::Clarinet, 640.0, 370.0, 1.5);
    let keys = Keywork { make: PLATED, posts: Threaded };
    let body = PartKind::Body;
    d.part(body, "mouthpiece", RUBBER, 89.0, &[(0.0, 5.0), (0.1, 10.0), (0.5, 22.0), (0.68, 28.0), (1.0, 28.5)], &[(16.0, 96.0, 0.0), (120.0, 96.0, 0.0)], 5)
        .wall(5.0);
    d.part(body, "barrel", GRENADILLA, 66.0, &[(0.0, 34.0), (0.06, 34.0), (0.5, 31.0), (0.94, 34.0), (1.0, 34.0)], &[(128.0, 96.0, 0.0), (208.0, 96.0, 0.0)], 6)
        .wall(8.0)
        .label(142.0, 148.0);
    d.part(body, "upper joint", GRENADILLA, 228.0, &[(0.0, 30.0), (0.06, 27.0), (0.9, 27.5), (1.0, 29.0)], &[(216.0, 96.0, 0.0), (588.0, 96.0, 0.0)], 5)
        .wall(6.5)
        .label(400.0, 166.0);
    free_tenon(&mut d, "centre tenon", "upper joint", 22.5, (588.0, 96.0), 30.0);
    d.part(body, "lower joint", GRENADILLA, 256.0, &[(0.0, 33.0), (0.09, 33.0), (0.1, 28.0), (0.75, 29.0), (1.0, 35.0)], &[(30.0, 260.0, 0.0), (430.0, 260.0, 0.0)], 5)
        .wall(6.5)
        .label(160.0, 340.0);
    d.part(body, "bell", GRENADILLA, 108.0, &[(0.0, 42.0), (0.12, 42.0), (0.13, 38.0), (0.35, 41.0), (0.6, 49.0), (0.8, 61.0), (0.93, 75.0), (1.0, 80.0)], &[(442.0, 260.0, 0.0), (606.0, 260.0, 0.0)], 6)
        .wall(6.0)
        .label(470.0, 350.0);
    d.join(TenonAndCork, ("mouthpiece", 0.98), ("barrel", 0.05));
    d.join(TenonAndCork, ("upper joint", 0.0), ("barrel", 0.95));
    d.join(TenonAndCork, ("centre tenon", 0.5), ("lower joint", 0.05));
    d.join(TenonAndCork, ("lower joint", 1.0), ("bell", 0.05));
    for (name, host, share) in [
        ("mouthpiece tenon cork", "mouthpiece", 0.93),
        ("upper tenon cork", "upper joint", 0.02),
        ("bell tenon cork", "lower joint", 0.98),
    ] {
        d.seated(PartKind::TenonCork, name, CORK, 10.0, 22.0, host, share, 0.0).listed("tenon corks");
    }
    keys.rod(&mut d, "left hand rod", "upper joint", 0.3, 0.86, -1.3);
    keys.rod(&mut d, "side key rod", "upper joint", 0.2, 0.7, 1.35);
    keys.rod(&mut d, "right hand rod", "lower joint", 0.12, 0.52, -1.3);
    keys.rod(&mut d, "little finger rod", "lower joint", 0.28, 0.97, 1.35);
    keys.levered(&mut d, "register", "upper joint", 0.1, -0.6, 9.0, &[(22.0, -14.0, 6.0), (58.0, -14.0, 0.0)], 0.45);
    keys.padded(&mut d, "throat A", "upper joint", 0.19, 0.0, 9.5, "left hand rod");
    keys.padded(&mut d, "throat G sharp", "upper joint", 0.26, 0.35, 9.5, "side key rod");
    keys.open(&mut d, "first finger", "upper joint", 0.37, 0.0, 7.5, Some("left hand rod"));
    keys.padded(&mut d, "upper trill", "upper joint", 0.31, 0.75, 9.0, "side key rod");
    keys.padded(&mut d, "lower trill", "upper joint", 0.43, 0.75, 9.0, "side key rod");
    keys.open(&mut d, "second finger", "upper joint", 0.52, 0.0, 8.0, Some("left hand rod"));
    keys.padded(&mut d, "side E flat", "upper joint", 0.58, 0.75, 9.5, "side key rod");
    keys.open(&mut d, "third finger", "upper joint", 0.68, 0.0, 8.0, Some("left hand rod"));
    keys.levered(&mut d, "C sharp", "upper joint", 0.8, -0.35, 10.0, &[(-26.0, -28.0, 6.0), (-58.0, -30.0, 0.0)], 0.5);
    keys.open(&mut d, "fourth finger", "lower joint", 0.17, 0.0, 8.5, Some("right hand rod"));
    keys.open(&mut d, "fifth finger", "lower joint", 0.3, 0.0, 8.5, Some("right hand rod"));
    keys.levered(&mut d, "B natural", "lower joint", 0.37, 0.5, 10.0, &[(24.0, 22.0, 6.0), (56.0, 24.0, 0.0)], 0.5);
    keys.open(&mut d, "sixth finger", "lower joint", 0.44, 0.0, 9.0, Some("right hand rod"));
    for (name, share, pad_mm) in [("A flat", 0.57, 14.0), ("F sharp", 0.69, 15.5), ("F", 0.81, 16.5), ("E", 0.93, 17.5)] {
        keys.padded(&mut d, name, "lower joint", share, 0.1, pad_mm, "little finger rod");
    }
    d.done()
}

/// An oboe in two rows.
pub fn oboe() -> PartMap {
    let mut d = Draft::new(Family::Oboe, 640.0, 350.0, 1.75);
    let keys = Keywork { make: PLATED, posts: Threaded };
    let body = PartKind::Body;
    d.part(body, "reed well", GRENADILLA, 22.0, &[(0.0, 20.0), (0.25, 25.0), (0.55, 21.0), (0.8, 24.0), (1.0, 17.0)], &[(56.0, 92.0, 0.0), (100.0, 92.0, 0.0)], 6)
        .wall(7.0)
        .label(40.0, 142.0);
    d.part(PartKind::Tube, "reed", NICKEL, 70.0, &[(0.0, 7.0), (0.35, 4.5), (1.0, 6.0)], &[(8.0, 92.0, 0.0), (56.0, 92.0, 0.0)], 3)
        .wall(0.5)
        .listed("reed well");
    d.part(body, "upper joint", GRENADILLA, 225.0, &[(0.0, 17.0), (0.85, 22.5), (1.0, 24.5)], &[(100.0, 92.0, 0.0), (580.0, 92.0, 0.0)], 5)
        .wall(7.0)
        .label(330.0, 158.0);
    free_tenon(&mut d, "tenons", "upper joint", 16.5, (580.0, 92.0), 30.0);
    d.part(body, "lower joint", GRENADILLA, 240.0, &[(0.0, 29.0), (0.09, 29.0), (0.1, 23.0), (0.8, 26.0), (1.0, 27.5)], &[(24.0, 244.0, 0.0), (440.0, 244.0, 0.0)], 5)
        .wall(7.0)
        .label(180.0, 318.0);
    d.part(body, "bell", GRENADILLA, 115.0, &[(0.0, 33.0), (0.16, 33.0), (0.17, 28.0), (0.4, 31.0), (0.62, 39.0), (0.75, 42.0), (0.88, 40.0), (0.95, 38.0), (1.0, 39.0)], &[(452.0, 244.0, 0.0), (612.0, 244.0, 0.0)], 6)
        .wall(6.0)
        .label(486.0, 318.0);
    d.join(SlideFit, ("reed", 0.96), ("reed well", 0.0));
    d.join(Threaded, ("reed well", 1.0), ("upper joint", 0.0));
    d.join(TenonAndCork, ("tenons", 0.5), ("lower joint", 0.05));
    d.join(TenonAndCork, ("lower joint", 1.0), ("bell", 0.05));
    d.seated(PartKind::TenonCork, "bell tenon cork", CORK, 10.0, 18.0, "lower joint", 0.98, 0.0).listed("tenons");
    keys.rod(&mut d, "upper rod", "upper joint", 0.2, 0.92, -1.6);
    keys.rod(&mut d, "octave rod", "upper joint", 0.16, 0.6, 1.6);
    keys.rod(&mut d, "lower rod", "lower joint", 0.13, 0.62, -1.5);
    keys.rod(&mut d, "low key rod", "lower joint", 0.3, 0.97, 1.5);
    for (name, share) in [("first octave vent", 0.2), ("second octave vent", 0.3)] {
        d.seated(PartKind::Fitting, name, PLATED, 6.0, 3.0, "upper joint", share, 0.35).listed("octave vents");
        d.join(Threaded, (name, 0.5), ("upper joint", share));
    }
    keys.padded(&mut d, "first octave", "upper joint", 0.2, 0.35, 7.0, "octave rod");
    keys.padded(&mut d, "second octave", "upper joint", 0.3, 0.35, 7.0, "octave rod");
    keys.padded(&mut d, "upper trill", "upper joint", 0.24, -0.5, 8.0, "upper rod");
    keys.padded(&mut d, "first finger plate", "upper joint", 0.38, 0.0, 10.5, "upper rod");
    keys.padded(&mut d, "C", "upper joint", 0.48, 0.0, 9.5, "upper rod");
    keys.padded(&mut d, "second finger plate", "upper joint", 0.58, 0.0, 10.5, "upper rod");
    keys.padded(&mut d, "B flat", "upper joint", 0.67, 0.0, 9.5, "upper rod");
    keys.padded(&mut d, "third finger plate", "upper joint", 0.77, 0.0, 10.5, "upper rod");
    keys.levered(&mut d, "G sharp", "upper joint", 0.86, 0.6, 10.0, &[(-20.0, 16.0, 6.0), (-54.0, 18.0, 0.0)], 0.5);
    keys.padded(&mut d, "fourth finger plate", "lower joint", 0.18, 0.0, 11.0, "lower rod");
    keys.padded(&mut d, "F sharp vent", "lower joint", 0.27, -0.2, 9.0, "lower rod");
    keys.padded(&mut d, "fifth finger plate", "lower joint", 0.36, 0.0, 11.5, "lower rod");
    keys.padded(&mut d, "sixth finger plate", "lower joint", 0.47, 0.0, 11.5, "lower rod");
    keys.padded(&mut d, "F", "lower joint", 0.57, 0.0, 12.0, "lower rod");
    for (name, share) in [("E flat", 0.66), ("C sharp", 0.76), ("low C", 0.87)] {
        keys.padded(&mut d, name, "lower joint", share, 0.15, 13.5, "low key rod");
    }
    keys.levered(&mut d, "low B flat", "bell", 0.34, 0.2, 15.0, &[(-40.0, 26.0, 6.0), (-92.0, 26.0, 0.0)], 0.5);
    for (name, rod, share) in [("upper adjustment screw", "upper rod", 0.5), ("lower adjustment screw", "lower rod", 0.5)] {
        d.seated(PartKind::Fitting, name, PLATED, 5.0, 2.8, rod, share, 0.0).listed("adjustment screws");
        d.join(Threaded, (name, 0.5), (rod, share));
    }
    d.done()
}

/// A bassoon, lying: boot at the left, wing and long joint side by side, the bell at the right.
pub fn bassoon() -> PartMap {
    let mut d = Draft::new(Family::Bassoon, 640.0, 380.0, 1.15);
    let keys = Keywork { make: PLATED, posts: Threaded };
    let body = PartKind::Body;
    d.tube(
        "bocal",
        NICKEL,
        330.0,
        &[(0.0, 5.0), (1.0, 10.0)],
        &[(372.0, 48.0, 0.0), (436.0, 56.0, 60.0), (560.0, 72.0, 44.0), (560.0, 178.0, 44.0), (474.0, 178.0, 0.0)],
        4,
    )
    .label(440.0, 44.0);
    d.part(body, "wing joint", MAPLE, 480.0, &[(0.0, 29.0), (0.05, 29.0), (0.06, 26.0), (0.28, 28.0), (0.4, 40.0), (0.62, 40.0), (0.74, 30.0), (1.0, 30.0)], &[(474.0, 178.0, 0.0), (236.0, 178.0, 0.0)], 6)
        .wall(8.0)
        .label(266.0, 140.0);
    d.part(body, "boot joint", MAPLE, 440.0, &[(0.0, 76.0), (0.06, 76.0), (0.07, 72.0), (0.9, 62.0), (1.0, 62.0)], &[(236.0, 200.0, 0.0), (40.0, 200.0, 0.0)], 8)
        .wall(8.0)
        .label(70.0, 296.0);
    d.part(PartKind::Fitting, "boot bow", NICKEL, 45.0, &[(0.0, 64.0), (0.7, 60.0), (1.0, 44.0)], &[(40.0, 200.0, 0.0), (12.0, 200.0, 0.0)], 7)
        .wall(0.8);
    d.part(body, "long joint", MAPLE, 540.0, &[(0.0, 38.0), (0.93, 38.0), (0.94, 43.0), (1.0, 43.0)], &[(236.0, 224.0, 0.0), (508.0, 224.0, 0.0)], 5)
        .wall(8.0)
        .label(300.0, 296.0);
    d.part(body, "bell", MAPLE, 330.0, &[(0.0, 50.0), (0.12, 50.0), (0.13, 42.0), (0.5, 43.0), (0.72, 46.0), (0.86, 44.0), (0.87, 52.0), (1.0, 53.0)], &[(516.0, 224.0, 0.0), (626.0, 224.0, 0.0)], 6)
        .wall(8.0)
        .label(520.0, 284.0);
    d.join(TenonAndCork, ("bocal", 0.97), ("wing joint", 0.02));
    d.join(TenonAndCork, ("wing joint", 0.98), ("boot joint", 0.03));
    d.join(TenonAndCork, ("long joint", 0.02), ("boot joint", 0.03));
    d.join(SlideFit, ("boot bow", 0.06), ("boot joint", 1.0));
    d.join(TenonAndCork, ("long joint", 1.0), ("bell", 0.03));
    for (name, host, share) in [("wing tenon cork", "wing joint", 0.96), ("long joint tenon cork", "long joint", 0.99)] {
        d.seated(PartKind::TenonCork, name, CORK, 18.0, 26.0, host, share, 0.0).listed("tenons");
    }
    keys.rod(&mut d, "wing rod", "wing joint", 0.12, 0.9, 1.35);
    keys.rod(&mut d, "boot rod", "boot joint", 0.12, 0.94, 1.12);
    keys.rod(&mut d, "boot thumb rod", "boot joint", 0.14, 0.94, -1.12);
    keys.rod(&mut d, "long joint rod", "long joint", 0.08, 0.9, 1.4);
    keys.levered(&mut d, "whisper", "bocal", 0.93, 0.0, 7.0, &[(-16.0, -22.0, 6.0), (-70.0, -22.0, 0.0)], 0.5);
    for (name, share) in [("C vent", 0.2), ("A vent", 0.29)] {
        keys.padded(&mut d, name, "wing joint", share, 0.3, 8.0, "wing rod");
    }
    for (name, share) in [("first finger", 0.42), ("second finger", 0.52), ("third finger", 0.62)] {
        keys.open(&mut d, name, "wing joint", share, 0.15, 6.5, None);
    }
    for (name, share) in [("fourth finger", 0.16), ("fifth finger", 0.28)] {
        keys.open(&mut d, name, "boot joint", share, 0.45, 8.0, Some("boot rod"));
    }
    for (name, share, across, pad_mm, rod) in [
        ("G", 0.42, 0.45, 14.0, "boot rod"),
        ("A flat", 0.57, 0.45, 15.0, "boot rod"),
        ("F", 0.74, 0.45, 18.0, "boot rod"),
        ("B flat", 0.3, -0.4, 14.0, "boot thumb rod"),
        ("F sharp", 0.5, -0.4, 16.0, "boot thumb rod"),
        ("E", 0.72, -0.4, 20.0, "boot thumb rod"),
    ] {
        keys.padded(&mut d, name, "boot joint", share, across, pad_mm, rod);
    }
    for (name, share, pad_mm) in [("low D", 0.24, 18.0), ("low C", 0.46, 18.0), ("low B", 0.74, 18.0)] {
        keys.padded(&mut d, name, "long joint", share, 0.0, pad_mm, "long joint rod");
    }
    keys.levered(&mut d, "low B flat", "bell", 0.38, 0.0, 17.0, &[(-30.0, 32.0, 6.0), (-96.0, 32.0, 0.0)], 0.5);
    d.brace("hand rest", ("boot joint", 0.3, 1.0), ("boot rod", 0.25, 0.0)).listed("rods and posts");
    d.join(SoftSoldered, ("hand rest", 0.5), ("boot rod", 0.3));
    d.done()
}
