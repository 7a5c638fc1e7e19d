//! What the outside of the metal gives its heat to, and how much.

/// Stefan-Boltzmann constant, W/(m² K⁴). Source: CODATA 2018.
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// 0 °C in kelvin.
const ICE_POINT_K: f64 = 273.15;

/// Below this wall temperature water does not boil, °C.
const BOILING_C: f64 = 100.0;

/// Natural convection into water, W/(m² K). From memory.
const WATER_CONVECTION: f64 = 800.0;

/// Nucleate boiling over the boiling point, W/(m² K³). From memory.
const WATER_BOILING: f64 = 20.0;

/// The most that boiling water takes, W/m²: about half of the critical heat flux of
/// pool boiling at one atmosphere. From memory.
const WATER_CEILING: f64 = 5e5;

/// How far the typical values are trusted.
///
/// Each factor multiplies a typical value; the cautious set makes every joint hotter.
/// Chosen, not measured: COMPUTATIONS.md, section 1, "Two runs".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// On the conductivity of the metal.
    pub conductivity: f64,
    /// On the heat transfer to still air.
    pub air: f64,
    /// On the emissivity.
    pub emissivity: f64,
    /// On convection, boiling and the ceiling of boiling in water.
    pub water: f64,
    /// On the heat transfer to a wet rag or a heat sink.
    pub contact: f64,
    /// On density times specific heat.
    pub heat_capacity: f64,
    /// Added to the torch temperature, K.
    pub torch_k: f64,
}

/// The typical values as they are.
pub const NOMINAL: Estimate = Estimate {
    conductivity: 1.0,
    air: 1.0,
    emissivity: 1.0,
    water: 1.0,
    contact: 1.0,
    heat_capacity: 1.0,
    torch_k: 0.0,
};

/// The values that a careful technician would count on.
pub const CAUTIOUS: Estimate = Estimate {
    conductivity: 1.15,
    air: 0.6,
    emissivity: 0.5,
    water: 0.5,
    contact: 0.5,
    heat_capacity: 0.95,
    torch_k: 30.0,
};

/// A law of heat loss, per unit of surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// Still air and radiation to the room.
    Air {
        /// Heat transfer, W/(m² K).
        h: f64,
        /// Emissivity times the Stefan-Boltzmann constant, W/(m² K⁴).
        radiation: f64,
        /// Room temperature, °C.
        ambient_c: f64,
    },
    /// Water: convection, then boiling up to a ceiling.
    Water {
        /// Convection, W/(m² K).
        h: f64,
        /// Boiling, W/(m² K³).
        boiling: f64,
        /// The most it takes, W/m².
        ceiling: f64,
        /// Wall temperature at which the ceiling is reached, °C.
        ceiling_at_c: f64,
        /// Water temperature, °C.
        water_c: f64,
    },
    /// A wet rag or a clamp, in place of the air.
    Contact {
        /// Heat transfer, W/(m² K).
        h: f64,
        /// Its temperature, °C.
        temperature_c: f64,
    },
}

impl Surface {
    /// Metal in the room's air; `h_w_m2_k` in W/(m² K).
    #[must_use]
    pub fn air(h_w_m2_k: f64, emissivity: f64, ambient_c: f64, estimate: &Estimate) -> Self {
        Surface::Air {
            h: h_w_m2_k * estimate.air,
            radiation: emissivity * estimate.emissivity * STEFAN_BOLTZMANN,
            ambient_c,
        }
    }

    /// Metal under water of `water_c`, °C, below the boiling point.
    #[must_use]
    pub fn water(water_c: f64, estimate: &Estimate) -> Self {
        let h = WATER_CONVECTION * estimate.water;
        let boiling = WATER_BOILING * estimate.water;
        let ceiling = WATER_CEILING * estimate.water;
        let rising = |t: f64| h * (t - water_c) + boiling * (t - BOILING_C).max(0.0).powi(3);
        let (mut below, mut above) = (water_c, water_c + ceiling / h);
        for _ in 0..80 {
            let middle = 0.5 * (below + above);
            if rising(middle) < ceiling { below = middle } else { above = middle }
        }
        Surface::Water { h, boiling, ceiling, ceiling_at_c: 0.5 * (below + above), water_c }
    }

    /// Metal in touch with a rag or clamp.
    #[must_use]
    pub fn contact(h_w_m2_k: f64, temperature_c: f64, estimate: &Estimate) -> Self {
        Surface::Contact { h: h_w_m2_k * estimate.contact, temperature_c }
    }

    /// Heat lost at the wall temperature `t` (°C), W/m², and how it rises with it, W/(m² K).
    ///
    /// Never falls as `t` rises: that makes the temperatures of a network unique.
    #[must_use]
    #[inline]
    pub fn loss(&self, t: f64) -> (f64, f64) {
        match *self {
            Surface::Air { h, radiation, ambient_c } => {
                let room_k = ambient_c + ICE_POINT_K;
                // A trial step may fall below absolute zero, where the fourth power
                // would rise again.
                let wall_k = (t + ICE_POINT_K).max(0.0);
                let (wall2, room2) = (wall_k * wall_k, room_k * room_k);
                let flux = h * (t - ambient_c) + radiation * (wall2 * wall2 - room2 * room2);
                (flux, h + 4.0 * radiation * wall2 * wall_k)
            }
            Surface::Water { ceiling, ceiling_at_c, .. } if t >= ceiling_at_c => (ceiling, 0.0),
            Surface::Water { h, boiling, water_c, .. } => {
                let over = (t - BOILING_C).max(0.0);
                (h * (t - water_c) + boiling * over * over * over, h + 3.0 * boiling * over * over)
            }
            Surface::Contact { h, temperature_c } => (h * (t - temperature_c), h),
        }
    }

    /// The temperature at which nothing is lost, °C.
    #[must_use]
    pub fn rest_c(&self) -> f64 {
        match *self {
            Surface::Air { ambient_c, .. } => ambient_c,
            Surface::Water { water_c, .. } => water_c,
            Surface::Contact { temperature_c, .. } => temperature_c,
        }
    }

    /// The loss integrated over the wall temperature, from [`Surface::rest_c`] to `t`, W K/m².
    #[must_use]
    pub fn potential(&self, t: f64) -> f64 {
        let over = t - self.rest_c();
        match *self {
            Surface::Air { h, radiation, ambient_c } => {
                let room = ambient_c + ICE_POINT_K;
                // (T⁵ − Tₐ⁵)/5 − Tₐ⁴ (T − Tₐ), multiplied out: near room temperature the
                // difference of the powers would lose its digits.
                let quintic = room * room * room * 2.0
                    + over * (2.0 * room * room + over * (room + over / 5.0));
                over * over * (h / 2.0 + radiation * quintic)
            }
            Surface::Water { h, boiling, ceiling, ceiling_at_c, water_c } => {
                let rising = |t: f64| {
                    h / 2.0 * (t - water_c).powi(2)
                        + boiling / 4.0 * (t - BOILING_C).max(0.0).powi(4)
                };
                rising(t.min(ceiling_at_c)) + ceiling * (t - ceiling_at_c).max(0.0)
            }
            Surface::Contact { h, .. } => h / 2.0 * over * over,
        }
    }

    /// Wall temperatures at which the law changes its shape, °C, rising.
    #[must_use]
    pub fn corners_c(&self) -> Vec<f64> {
        match *self {
            Surface::Water { ceiling_at_c, .. } => vec![BOILING_C, ceiling_at_c],
            Surface::Air { .. } | Surface::Contact { .. } => Vec::new(),
        }
    }

    /// The steepest that the loss rises up to the wall temperature `hottest_c`, W/(m² K).
    #[must_use]
    pub fn steepest(&self, hottest_c: f64) -> f64 {
        match *self {
            Surface::Water { h, boiling, ceiling_at_c, .. } => {
                h + 3.0 * boiling * (ceiling_at_c - BOILING_C).max(0.0).powi(2)
            }
            Surface::Air { .. } | Surface::Contact { .. } => self.loss(hottest_c).1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{CAUTIOUS, NOMINAL, Surface};

    #[test]
    fn the_potential_is_the_integral_of_the_loss() {
        for estimate in [NOMINAL, CAUTIOUS] {
            for surface in [
                Surface::air(10.0, 0.3, 20.0, &estimate),
                Surface::water(25.0, &estimate),
                Surface::contact(500.0, 100.0, &estimate),
            ] {
                let mut integral = 0.0;
                let mut t = surface.rest_c();
                while t < 700.0 {
                    integral += surface.loss(t + 0.005).0 * 0.01;
                    t += 0.01;
                }
                assert!((surface.potential(t) / integral - 1.0).abs() < 1e-5, "{surface:?}");
            }
        }
    }

    #[test]
    fn water_never_takes_more_than_its_ceiling_and_never_less_when_hotter() {
        let water = Surface::water(25.0, &NOMINAL);
        let mut last = f64::MIN;
        for step in 0..1000 {
            let (flux, slope) = water.loss(f64::from(step));
            assert!(flux >= last && flux <= 5e5 && slope >= 0.0);
            last = flux;
        }
        assert_eq!(last, 5e5);
    }

    /// Source: radiation of a black body at 1000 K, 56.70 kW/m² (handbooks, from memory).
    #[test]
    fn a_black_wall_radiates_by_the_fourth_power() {
        let black = Surface::air(0.0, 1.0, -273.15, &NOMINAL);
        assert!((black.loss(1000.0 - 273.15).0 - 56_703.7).abs() < 0.1);
    }
}
