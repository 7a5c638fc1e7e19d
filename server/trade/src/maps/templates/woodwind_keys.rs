//! Tone holes, keys, pads, rods, posts and springs of woodwinds.

use super::draft::{At, Draft, FELT, Make, STEEL};
use crate::maps::part_map::{JointKind, PartKind};

/// How the keywork of an instrument is made and held.
pub struct Keywork {
    /// Material of keys and posts.
    pub make: Make,
    /// How posts are held in the body: soldered on metal, screwed into wood.
    pub posts: JointKind,
}

impl Keywork {
    /// A rod on posts along a body, with its spring.
    pub fn rod(&self, d: &mut Draft, name: &str, body: &str, from: f64, to: f64, across: f64) {
        let (ax, ay) = d.spot(body, from, across);
        let (bx, by) = d.spot(body, to, across);
        let length_mm = ((ax - bx).hypot(ay - by) / d.scale()).max(10.0);
        d.part(PartKind::Rod, name, self.make, length_mm, &[(0.0, 3.2)], &[(ax, ay, 0.0), (bx, by, 0.0)], 30)
            .listed("rods and posts");
        for (which, share, end) in [("upper", from, 0.0), ("lower", to, 1.0)] {
            let post = format!("{name}, {which} post");
            d.seated(PartKind::Post, &post, self.make, 10.0, 6.0, body, share, across).listed("rods and posts");
            d.join(self.posts, (&post, 0.0), (body, share));
            d.join(JointKind::Pivot, (name, end), (&post, 0.5));
        }
        let spring = format!("{name}, spring");
        let (dx, dy) = ((bx - ax) / (bx - ax).hypot(by - ay), (by - ay) / (bx - ax).hypot(by - ay));
        let off = if across < 0.0 { -4.0 } else { 4.0 };
        let (sx, sy) = (ax - dy * off, ay + dx * off);
        d.part(
            PartKind::Spring,
            &spring,
            STEEL,
            25.0,
            &[(0.0, 0.8)],
            &[(sx, sy, 0.0), (sx + 24.0 * dx, sy + 24.0 * dy, 0.0)],
            31,
        )
        .listed("springs")
        .on(10.0, &format!("{name}, upper post"), 0.5, 0.0);
    }

    /// A tone hole under a padded key that turns on a rod.
    #[expect(clippy::too_many_arguments, reason = "a row of a template's table; names would hide the numbers")]
    pub fn padded(&self, d: &mut Draft, name: &str, body: &str, share: f64, across: f64, pad_mm: f64, rod: &str) {
        let (x, y) = self.hole(d, name, body, share, across, pad_mm * 0.78);
        let at = nearest_share(d, rod, (x, y));
        let (rx, ry) = d.spot(rod, at, 0.0);
        self.key(d, name, &[(x, y, 0.0), (rx, ry, 0.0)], pad_mm);
        d.join(JointKind::Pivot, (&format!("{name} key"), 1.0), (rod, at));
    }

    /// A tone hole under a padded key with a lever of its own; `line` is relative to the
    /// hole and ends at the touch, and the key turns on a post of its own.
    #[expect(clippy::too_many_arguments, reason = "a row of a template's table; names would hide the numbers")]
    pub fn levered(
        &self,
        d: &mut Draft,
        name: &str,
        body: &str,
        share: f64,
        across: f64,
        pad_mm: f64,
        line: &[At],
        pivot: f64,
    ) {
        let (x, y) = self.hole(d, name, body, share, across, pad_mm * 0.78);
        let mut whole: Vec<At> = vec![(x, y, 0.0)];
        whole.extend(line.iter().map(|&(dx, dy, bend)| (x + dx, y + dy, bend)));
        self.key(d, name, &whole, pad_mm);
        let post = format!("{name} key post");
        d.seated(PartKind::Post, &post, self.make, 10.0, 5.0, body, share, across).listed("rods and posts");
        d.join(self.posts, (&post, 0.0), (body, share));
        d.join(JointKind::Pivot, (&format!("{name} key"), pivot), (&post, 0.5));
    }

    /// An open tone hole, with a ring that turns on a rod where one is named.
    #[expect(clippy::too_many_arguments, reason = "a row of a template's table; names would hide the numbers")]
    pub fn open(&self, d: &mut Draft, name: &str, body: &str, share: f64, across: f64, hole_mm: f64, rod: Option<&str>) {
        let (x, y) = self.hole(d, name, body, share, across, hole_mm);
        let Some(rod) = rod else { return };
        let ring = format!("{name} ring");
        d.seated(PartKind::Key, &ring, self.make, 14.0, hole_mm + 6.0, body, share, across).listed("keys");
        let at = nearest_share(d, rod, (x, y));
        d.join(JointKind::Pivot, (rod, at), (&ring, 0.5));
    }

    fn hole(&self, d: &mut Draft, name: &str, body: &str, share: f64, across: f64, hole_mm: f64) -> (f64, f64) {
        let hole = format!("{name} hole");
        let make = d.make_of(body);
        d.seated(PartKind::ToneHole, &hole, make, 4.0, hole_mm, body, share, across).listed("tone holes");
        d.spot(body, share, across)
    }

    fn key(&self, d: &mut Draft, name: &str, line: &[At], pad_mm: f64) {
        let key = format!("{name} key");
        let run: f64 = line.windows(2).map(|pair| (pair[0].0 - pair[1].0).hypot(pair[0].1 - pair[1].1)).sum();
        let length_mm = (run / d.scale()).max(5.0);
        d.part(PartKind::Key, &key, self.make, length_mm, &[(0.0, 3.4)], line, 32).listed("keys");
        d.seated(PartKind::Pad, &format!("{name} pad"), FELT, 3.0, pad_mm, &key, 0.0, 0.0).listed("pads");
    }
}

/// The place of a straight rod that lies nearest to a point.
fn nearest_share(d: &Draft, rod: &str, (x, y): (f64, f64)) -> f64 {
    let ((ax, ay), (bx, by)) = (d.spot(rod, 0.0, 0.0), d.spot(rod, 1.0, 0.0));
    let square = ((bx - ax).powi(2) + (by - ay).powi(2)).max(1e-9);
    (((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / square).clamp(0.05, 0.95)
}
