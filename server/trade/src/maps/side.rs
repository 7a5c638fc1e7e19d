//! Which side of a part a finding is on, in the few words that a drawing can follow.

use super::line::{Sample, less};
use super::part_map::Point;
use super::scene::Laid;

/// How far a bend is looked at on both sides of a place, units.
const ALONG: f64 = 8.0;
/// A run that turns less than this there (sine of the angle) counts as straight.
const STRAIGHT: f64 = 0.02;
/// A side counts where the run leaves at least so much of it: a level tube has no left.
const CLEAR: f64 = 0.25;

/// A side of a part, as it lies in the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Above.
    Top,
    /// Below.
    Bottom,
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// The longer way round a bend.
    Outer,
    /// The shorter way round a bend.
    Inner,
}

impl Side {
    /// Reads a side as it is said at the bench; none where it is no side, or more than one.
    /// "Inside" alone is the bore as often as the inner side of a bend, so it is none either.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.to_lowercase();
        let said: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let of_bend = said.iter().any(|word| matches!(*word, "bend" | "bow" | "curve" | "crook"));
        let mut found = None;
        for word in said {
            let side = match word {
                "top" | "above" | "upper" | "over" => Self::Top,
                "bottom" | "below" | "lower" | "under" | "underneath" | "underside" | "beneath" => Self::Bottom,
                "left" => Self::Left,
                "right" => Self::Right,
                "outer" => Self::Outer,
                "inner" => Self::Inner,
                "outside" if of_bend => Self::Outer,
                "inside" if of_bend => Self::Inner,
                "the" | "on" | "at" | "of" | "from" | "side" | "hand" | "edge" | "face" | "bend" | "bow" | "curve" | "crook" => continue,
                _ => return None,
            };
            if found.is_some_and(|other| other != side) {
                return None;
            }
            found = Some(side);
        }
        found
    }

    /// The word that is kept.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Bottom => "bottom",
            Self::Left => "left",
            Self::Right => "right",
            Self::Outer => "outer side",
            Self::Inner => "inner side",
        }
    }
}

/// The point of a part at a sample and a side: on the middle line where no side is given, or where
/// the run there has no such side.
pub fn beside(laid: &Laid<'_>, sample: &Sample, side: Option<Side>, share: f64) -> Point {
    let half = share * laid.half_at(sample);
    let Some(side) = side else { return sample.at };
    if laid.is_spot() {
        let (x, y) = match side {
            Side::Top => (0.0, -half),
            Side::Bottom => (0.0, half),
            Side::Left => (-half, 0.0),
            Side::Right => (half, 0.0),
            Side::Outer | Side::Inner => (0.0, 0.0),
        };
        return Point { x: sample.at.x + x, y: sample.at.y + y };
    }
    let out = less(sample.beside(1.0), sample.at);
    let wanted = match side {
        Side::Top => -out.y,
        Side::Bottom => out.y,
        Side::Left => -out.x,
        Side::Right => out.x,
        Side::Outer => -bend(laid, sample),
        Side::Inner => bend(laid, sample),
    };
    if wanted.abs() < CLEAR { sample.at } else { sample.beside(wanted.signum() * half) }
}

/// 1 where the line turns to the right of somebody walking along it, −1 to the left, 0 where it
/// runs straight.
fn bend(laid: &Laid<'_>, sample: &Sample) -> f64 {
    let long = laid.line.length();
    if long < 1e-6 {
        return 0.0;
    }
    let along = |run: f64| laid.line.at(run / long).along;
    let (a, b) = (along(sample.run - ALONG), along(sample.run + ALONG));
    let turn = a.x * b.y - a.y * b.x;
    if turn.abs() < STRAIGHT { 0.0 } else { turn.signum() }
}
