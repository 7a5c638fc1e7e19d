//! The square that a phone or a scanner reads: QR code, level M, quiet zone of four modules
//! (ISO/IEC 18004). The matrix is the crate's, the drawing is ours: one path, no script.

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write;

/// Free modules on each side, as the standard asks for.
const QUIET: usize = 4;

/// The least side of the square without its quiet zone, mm: LOOK.md section 11.
const LEAST_MM: usize = 19;

/// Dots per millimetre of a label printer with 203.2 dots per inch. A module of whole dots is as
/// wide everywhere; one of four and a half is not.
const DOTS_PER_MM: usize = 8;

/// An address is longer than any square of this level can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooLong;

impl std::fmt::Display for TooLong {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("the address is too long for a square")
    }
}

impl std::error::Error for TooLong {}

/// A square that holds a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Square {
    side: usize,
    dark: Vec<bool>,
}

impl Square {
    /// The square of a text, the smallest that holds it.
    ///
    /// # Errors
    /// [`TooLong`] beyond 2,331 bytes.
    pub fn of(text: &str) -> Result<Self, TooLong> {
        let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(|_| TooLong)?;
        Ok(Self { side: code.width(), dark: code.to_colors().into_iter().map(|color| color == Color::Dark).collect() })
    }

    /// Modules on a side, without the quiet zone.
    #[must_use]
    pub fn side(&self) -> usize {
        self.side
    }

    /// Whether the module in this row and column is dark.
    #[must_use]
    pub fn is_dark(&self, row: usize, column: usize) -> bool {
        row < self.side && column < self.side && self.dark[row * self.side + column]
    }

    /// Dots of a label printer for one module: as many as the room allows, and never so few that
    /// the square without its quiet zone gets under 19 mm.
    #[must_use]
    pub fn dots_per_module(&self, room_mm: usize) -> usize {
        let most = room_mm * DOTS_PER_MM / (self.side + 2 * QUIET);
        let least = (LEAST_MM * DOTS_PER_MM).div_ceil(self.side);
        most.max(least)
    }

    /// The square with its quiet zone as SVG, `room_mm` wide or a little less; more only where a
    /// long address would else come out under 19 mm. `says` is for those who do not see it.
    #[must_use]
    pub fn svg(&self, room_mm: usize, says: &str) -> Markup {
        let modules = self.side + 2 * QUIET;
        let eighths = modules * self.dots_per_module(room_mm);
        let size = format!("{}.{:03}mm", eighths / DOTS_PER_MM, eighths % DOTS_PER_MM * 1000 / DOTS_PER_MM);
        html! {
            svg.square role="img" aria-label=(says) width=(size) height=(size) viewBox={ "0 0 " (modules) " " (modules) } shape-rendering="crispEdges" {
                path d=(self.path()) fill="#000" {}
            }
        }
    }

    /// Every run of dark modules of a row as one rectangle of the path.
    fn path(&self) -> String {
        let mut path = String::new();
        for row in 0..self.side {
            let mut column = 0;
            while column < self.side {
                let run = (column..self.side).take_while(|at| self.is_dark(row, *at)).count();
                if run > 0 {
                    // Writing to a string cannot fail.
                    let _ = write!(path, "M{} {}h{run}v1h-{run}z", column + QUIET, row + QUIET);
                }
                column += run.max(1);
            }
        }
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_never_gets_under_nineteen_millimetres() {
        for length in [12, 40, 66, 120, 300] {
            let square = Square::of(&"x".repeat(length)).unwrap();
            for room in [10, 24, 30] {
                let mm = square.side() * square.dots_per_module(room);
                assert!(mm >= LEAST_MM * DOTS_PER_MM, "{length} letters in {room} mm give {mm} dots");
            }
        }
    }

    #[test]
    fn what_no_square_holds_is_refused() {
        assert_eq!(Square::of(&"x".repeat(2332)), Err(TooLong));
        assert!(Square::of(&"x".repeat(2331)).is_ok());
    }

    #[test]
    fn its_path_covers_the_dark_modules_and_no_other() {
        let square = Square::of("https://desk.bellbrace.example/work-orders/1843-8").unwrap();
        let mut drawn = vec![false; square.side * square.side];
        for run in square.path().split('M').skip(1) {
            let (at, rest) = run.split_once('h').unwrap();
            let (x, y) = at.split_once(' ').unwrap();
            let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
            let length: usize = rest.split_once('v').unwrap().0.parse().unwrap();
            for step in 0..length {
                let at = (y - QUIET) * square.side + x - QUIET + step;
                assert!(!drawn[at], "drawn twice");
                drawn[at] = true;
            }
        }
        assert_eq!(drawn, square.dark);
    }
}
