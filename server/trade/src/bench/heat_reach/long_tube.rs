//! One long straight tube: how far is far enough, and how deep under water.
//!
//! With the temperature as the variable the fin equation has a first integral, so that
//! lengths are single integrals. Cautious values only.

use super::model::{Faults, Room, Stock, check_torch};
use super::surface::{CAUTIOUS, Surface};
use crate::calculation::{Refused, above_up_to};

/// A long tube with a torch on one place and a joint somewhere along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LongTube {
    /// The tube.
    pub stock: Stock,
    /// Torch temperature, °C.
    pub torch_c: f64,
    /// Where what holds the joint begins to melt, °C.
    pub solidus_c: f64,
    /// How far below it the joint must stay, K.
    pub margin_k: f64,
    /// The room.
    pub room: Room,
}

/// The tube standing in water, the joint under it or at the waterline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// From the torch's edge to the joint, mm.
    pub distance_mm: f64,
    /// Water temperature, °C, 0 to 95.
    pub water_c: f64,
    /// Whether the tube is full of it too.
    pub inside: bool,
    /// How near the waterline may come to the torch, mm.
    pub least_dry_mm: f64,
}

/// How deep the joint must be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WaterCover {
    /// The joint is far enough without water.
    NotNeeded,
    /// At least this deep; a shop adds its practical cover, never less.
    Deep {
        /// Depth of the joint below the waterline, mm.
        cover_mm: f64,
        /// Temperature of the wall at the waterline, °C.
        waterline_c: f64,
    },
    /// No water keeps it safe without touching the torch's place.
    OutOfReach,
}

impl LongTube {
    /// Whether the question makes sense.
    ///
    /// # Errors
    /// `invalid-input`, `torch-melts-part`, or `not-computable` when the limit does not
    /// lie above the room's temperature. Pointers are those of the JSON form.
    pub fn check(&self) -> Result<(), Refused> {
        self.check_with(Faults::default())
    }

    pub(super) fn check_with(&self, mut faults: Faults) -> Result<(), Refused> {
        self.stock.check("/tube", &mut faults);
        faults.number("/ambient_c".into(), self.room.ambient_c, &(-10.0..=50.0));
        faults.number("/air_h_w_m2_k".into(), self.room.air_h_w_m2_k, &(0.0..=100.0));
        faults.number("/margin_k".into(), self.margin_k, &(0.0..=200.0));
        faults.number("/solidus_c".into(), self.solidus_c, &above_up_to(0.0, 5e3));
        check_torch(self.torch_c, self.room.ambient_c, &mut faults);
        faults.done()?;
        let melts_c = self.stock.metal.solidus_c;
        if self.torch_c >= melts_c {
            return Err(Refused::new("torch-melts-part").at(
                "/torch_c",
                format!("{} °C melts the tube itself, from {melts_c} °C on", self.torch_c),
            ));
        }
        if self.limit_c() <= self.room.ambient_c && self.limit_c() < self.hottest_c() {
            let why = "the limit (solidus less margin) must lie above the room's temperature";
            return Err(Refused::new("not-computable")
                .at("/margin_k", why)
                .at("/solidus_c", why)
                .at("/ambient_c", why));
        }
        Ok(())
    }

    /// The distance from the torch's edge at which the joint is at its limit, mm.
    ///
    /// `s = ∫ dT / √((2P/kA) G(T))` from the limit to the torch; 0 when the torch itself
    /// is below the limit.
    ///
    /// # Errors
    /// What [`LongTube::check`] refuses; `not-computable` when nothing takes the heat.
    pub fn safe_distance_mm(&self) -> Result<f64, Refused> {
        self.check()?;
        let s = self.fall_mm();
        if s.is_finite() {
            Ok(s)
        } else {
            let why = "nothing takes the heat: no distance is far enough";
            Err(Refused::new("not-computable").at("/air_h_w_m2_k", why).at("/emissivity", why))
        }
    }

    /// The least depth of the joint under water.
    ///
    /// # Errors
    /// What [`LongTube::check`] refuses, and `invalid-input` for the water's own values.
    pub fn water_cover(&self, water: &Water) -> Result<WaterCover, Refused> {
        self.check_water(water, Faults::default())?;
        if self.fall_mm() <= water.distance_mm {
            return Ok(WaterCover::NotNeeded);
        }
        let deepest_mm = water.distance_mm - water.least_dry_mm;
        if deepest_mm <= 0.0 || self.limit_c() <= water.water_c {
            return Ok(WaterCover::OutOfReach);
        }
        let wet = Wet::new(self, water);
        // The wall at the waterline settles both lengths: the dry one down to it, and
        // the wet one from it to the limit. Both follow from it one way only.
        let too_hot_at_the_line = wet.dry_mm(self, self.limit_c()) > water.distance_mm;
        if !too_hot_at_the_line {
            let waterline_c = falling_root(water.water_c, self.limit_c(), |waterline_c| {
                wet.dry_mm(self, waterline_c) - water.distance_mm
            });
            return Ok(WaterCover::Deep { cover_mm: 0.0, waterline_c });
        }
        let waterline_c = falling_root(self.limit_c(), self.hottest_c(), |waterline_c| {
            wet.dry_mm(self, waterline_c) + wet.wet_mm(self.limit_c(), waterline_c)
                - water.distance_mm
        });
        let cover_mm = wet.wet_mm(self.limit_c(), waterline_c);
        if cover_mm > deepest_mm {
            Ok(WaterCover::OutOfReach)
        } else {
            Ok(WaterCover::Deep { cover_mm, waterline_c })
        }
    }

    pub(super) fn check_water(&self, water: &Water, mut faults: Faults) -> Result<(), Refused> {
        faults.number("/distance_mm".into(), water.distance_mm, &(0.0..=3000.0));
        faults.number("/water_c".into(), water.water_c, &(0.0..=95.0));
        faults.number("/least_dry_mm".into(), water.least_dry_mm, &(0.0..=3000.0));
        self.check_with(faults)
    }

    fn limit_c(&self) -> f64 {
        self.solidus_c - self.margin_k
    }

    fn hottest_c(&self) -> f64 {
        self.torch_c + CAUTIOUS.torch_k
    }

    fn air(&self) -> Surface {
        let room = self.room;
        Surface::air(room.air_h_w_m2_k, self.stock.emissivity, room.ambient_c, &CAUTIOUS)
    }

    /// `2P/(kA)` for a perimeter in m: the square of the slope is this times the
    /// potential of the loss.
    fn steepness(&self, perimeter_m: f64) -> f64 {
        let conductivity = self.stock.metal.conductivity_w_m_k * CAUTIOUS.conductivity;
        2.0 * perimeter_m / (conductivity * self.stock.section_m2())
    }

    /// The length over which a dry tube falls from the torch to the limit, mm.
    fn fall_mm(&self) -> f64 {
        let (air, rest_c) = (self.air(), self.room.ambient_c);
        let steepness = self.steepness(self.stock.outside_m());
        if self.limit_c() >= self.hottest_c() {
            return 0.0;
        }
        // Equal ratios above the room's temperature take about equal lengths.
        let (from, to) = ((self.limit_c() - rest_c).ln(), (self.hottest_c() - rest_c).ln());
        1e3 * integral(from, to, |ln_over| {
            let over = ln_over.exp();
            over / (steepness * air.potential(rest_c + over)).sqrt()
        })
    }
}

/// The wet end of a long tube.
struct Wet {
    water: Surface,
    wet_steepness: f64,
    dry_steepness: f64,
}

impl Wet {
    fn new(tube: &LongTube, water: &Water) -> Self {
        let outside_m = tube.stock.outside_m();
        let inside_m = if water.inside { tube.stock.inside_m() } else { 0.0 };
        Self {
            water: Surface::water(water.water_c, &CAUTIOUS),
            wet_steepness: tube.steepness(outside_m + inside_m),
            dry_steepness: tube.steepness(outside_m),
        }
    }

    /// Square of the slope at a waterline of this temperature, K²/m².
    fn slope_squared(&self, waterline_c: f64) -> f64 {
        self.wet_steepness * self.water.potential(waterline_c)
    }

    /// The dry length over which the wall falls from the torch to the waterline, mm;
    /// infinite when it cannot be so cold there.
    fn dry_mm(&self, tube: &LongTube, waterline_c: f64) -> f64 {
        let air = tube.air();
        let fall = tube.hottest_c() - waterline_c;
        if fall <= 0.0 {
            return 0.0;
        }
        let at_line = self.slope_squared(waterline_c);
        let potential = air.potential(waterline_c);
        if waterline_c < air.rest_c() && at_line <= self.dry_steepness * potential {
            return f64::INFINITY;
        }
        // The slope changes over this rise of temperature: steps in its logarithm.
        let bend = self.dry_steepness * air.loss(waterline_c).0;
        let scale = if bend > 0.0 { (at_line / bend).clamp(1e-9 * fall, fall) } else { fall };
        1e3 * integral(0.0, (fall / scale).ln_1p(), |ln_rise| {
            let rise = scale * ln_rise.exp_m1();
            let more = self.dry_steepness * (air.potential(waterline_c + rise) - potential);
            (scale + rise) / (at_line + more).sqrt()
        })
    }

    /// The wet length over which the wall falls from the waterline to the limit, mm.
    fn wet_mm(&self, limit_c: f64, waterline_c: f64) -> f64 {
        let rest_c = self.water.rest_c();
        let mut length_mm = 0.0;
        let mut from_c = limit_c;
        for to_c in self.water.corners_c().into_iter().chain([f64::INFINITY]) {
            let to_c = to_c.min(waterline_c);
            if to_c > from_c {
                length_mm += 1e3
                    * integral((from_c - rest_c).ln(), (to_c - rest_c).ln(), |ln_over| {
                        let over = ln_over.exp();
                        over / self.slope_squared(rest_c + over).sqrt()
                    });
                from_c = to_c;
            }
        }
        length_mm
    }
}

/// `∫ f` by five-point Gauss-Legendre on 48 panels.
/// Source: Abramowitz and Stegun, 25.4.29 (from memory); checked below.
fn integral(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    const PANELS: u32 = 48;
    let half = (to - from) / (2.0 * f64::from(PANELS));
    let (inner, outer) = (
        (5.0 - 2.0 * (10.0_f64 / 7.0).sqrt()).sqrt() / 3.0,
        (5.0 + 2.0 * (10.0_f64 / 7.0).sqrt()).sqrt() / 3.0,
    );
    let (at_middle, at_inner, at_outer) = (
        128.0 / 225.0,
        (322.0 + 13.0 * 70.0_f64.sqrt()) / 900.0,
        (322.0 - 13.0 * 70.0_f64.sqrt()) / 900.0,
    );
    (0..PANELS)
        .map(|panel| {
            let middle = from + half * f64::from(2 * panel + 1);
            let pair = |offset: f64| f(middle - half * offset) + f(middle + half * offset);
            half * (at_middle * f(middle) + at_inner * pair(inner) + at_outer * pair(outer))
        })
        .sum()
}

/// Where a falling function crosses zero between `low` and `high`; an end where it does not.
fn falling_root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::{falling_root, integral};

    #[test]
    fn the_quadrature_knows_integrals_in_closed_form() {
        assert!((integral(0.0, 1.0, |x| x.powi(9)) - 0.1).abs() < 1e-14);
        assert!((integral(0.0, std::f64::consts::PI, f64::sin) - 2.0).abs() < 1e-13);
    }

    #[test]
    fn a_root_is_found_to_the_last_digits() {
        assert!(
            (falling_root(0.0, 10.0, |x| 2.0 - x * x) - std::f64::consts::SQRT_2).abs() < 1e-13
        );
    }
}
