//! Pictures of invented damage: a length of brass tube as a lamp shows it, with what was found on
//! it. Drawn, so that no photo of a real instrument is needed.

use acts::picture::{self, Picture};
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, Rgb, RgbImage};
use trade::words::instrument::FindingKind;

const WIDTH: u32 = 960;
const HEIGHT: u32 = 720;
/// Where the tube lies, from its upper edge to its lower one.
const TUBE: (f64, f64) = (190.0, 560.0);

/// What is said of the picture; none of what is not drawn.
pub fn caption(of: FindingKind) -> Option<&'static str> {
    mark(of).map(|mark| match mark {
        Mark::Crack => "Wetted, under the lamp",
        Mark::Dent => "Seen against the lamp",
        Mark::Spots => "As it came",
    })
}

/// A picture of something like this; another `place`, another picture. None of what is not
/// drawn.
pub fn drawn(of: FindingKind, place: usize) -> Option<Picture> {
    let shift = f64::from(u32::try_from(place % 17).unwrap_or(0)) * 11.0;
    let (mark, is_wood) = (mark(of)?, of == FindingKind::WoodCrack);
    let scene = RgbImage::from_fn(WIDTH, HEIGHT, |x, y| pixel(f64::from(x), f64::from(y), shift, mark, is_wood));
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, 85).encode(scene.as_raw(), WIDTH, HEIGHT, ExtendedColorType::Rgb8).ok()?;
    picture::read(&jpeg).ok()
}

#[derive(Clone, Copy)]
enum Mark {
    Crack,
    Dent,
    Spots,
}

fn mark(of: FindingKind) -> Option<Mark> {
    match of {
        FindingKind::Crack | FindingKind::OpenJoint | FindingKind::WoodCrack => Some(Mark::Crack),
        FindingKind::Dent | FindingKind::OutOfRound => Some(Mark::Dent),
        FindingKind::LacquerLoss | FindingKind::PlatingLoss | FindingKind::RedRot | FindingKind::Pitting => Some(Mark::Spots),
        _ => None,
    }
}

fn pixel(x: f64, y: f64, shift: f64, mark: Mark, is_wood: bool) -> Rgb<u8> {
    let (top, foot) = TUBE;
    // A band of nickel silver: a ferrule.
    let band = (x - 170.0 - shift).abs() < 46.0;
    let reach = if band { 14.0 } else { 0.0 };
    let across = (y - (top + foot) / 2.0) / ((foot - top) / 2.0 + reach);
    if across.abs() >= 1.0 {
        // The bench: felt, darker below the tube.
        let shade = if across > 0.0 { (-(across - 1.0) * 5.0).exp() * 26.0 } else { 0.0 };
        let weave = (x * 0.9).sin() * (y * 1.1).sin() * 5.0;
        return colour([46.0, 74.0, 62.0], 1.0, weave - shade);
    }
    // Light from above on a round tube, and its reflection along it.
    let slope = (1.0 - across * across).sqrt();
    let mut light = 0.25 + 0.62 * slope + 0.9 * (-((across + 0.42) / 0.12).powi(2)).exp() - 0.25 * (-((across - 0.55) / 0.2).powi(2)).exp();
    let metal = match (band, is_wood) {
        (true, _) => [176.0, 180.0, 182.0],
        (false, true) => [108.0, 62.0, 40.0],
        (false, false) => [196.0, 158.0, 74.0],
    };
    let grain = (x * 0.37 + (y * 0.07).sin() * 3.0).sin() * 2.5;
    let along = x - 560.0 + shift;
    match mark {
        Mark::Crack => {
            // It runs along the tube, in small turns, and thins out to both ends.
            let line = 340.0 + shift * 0.6 + (x * 0.031).sin() * 9.0 + (x * 0.113).sin() * 4.0;
            let width = 4.2 * (1.0 - (along / 250.0).powi(2)).max(0.0);
            let off = y - line;
            if off.abs() < width {
                return colour([30.0, 22.0, 14.0], 1.0, 0.0);
            }
            // A bright edge, and the dark rim that water leaves.
            light += 0.35 * (-((off + width + 2.0) / 2.5).powi(2)).exp() * width.min(1.0);
            light -= 0.18 * (-(off / 26.0).powi(2)).exp() * width.min(1.0);
        }
        Mark::Dent => {
            let (dx, dy) = (along / 120.0, (y - 330.0) / 80.0);
            let depth = (-(dx * dx + dy * dy)).exp();
            light += depth * (dy * 0.9 - 0.15);
        }
        Mark::Spots => {
            let spots = ((x * 0.021 + shift).sin() * (y * 0.033).cos() + (x * 0.047).cos() * (y * 0.041 + shift).sin()) * 0.5;
            if spots > 0.42 {
                light *= 0.62;
            }
        }
    }
    colour(metal, light, grain)
}

fn colour(base: [f64; 3], light: f64, more: f64) -> Rgb<u8> {
    Rgb(base.map(|part| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
        let byte = (part * light + more).clamp(0.0, 255.0) as u8;
        byte
    }))
}
