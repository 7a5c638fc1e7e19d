//! The metals an instrument is made of and the fillers that hold its joints.
//!
//! Every number here is from memory of handbook tables (conductivities ± 10 %,
//! temperatures ± 10 K): typical, not measured, and shown so. COMPUTATIONS.md,
//! tables 1a and 1b and section 8.

/// A metal that tubes, braces and bells are made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Metal {
    /// The word for it in inputs.
    pub slug: &'static str,
    /// Thermal conductivity near room temperature, W/(m K).
    pub conductivity_w_m_k: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Specific heat, J/(kg K).
    pub heat_j_kg_k: f64,
    /// Where it begins to melt, °C.
    pub solidus_c: f64,
}

const fn metal(slug: &'static str, k: f64, rho: f64, c: f64, solidus_c: f64) -> Metal {
    Metal { slug, conductivity_w_m_k: k, density_kg_m3: rho, heat_j_kg_k: c, solidus_c }
}

/// Table 1a, in its order.
pub const METALS: [Metal; 9] = [
    metal("brass_c260", 120.0, 8530.0, 375.0, 915.0),
    metal("brass_c240", 140.0, 8670.0, 375.0, 965.0),
    metal("brass_c230", 159.0, 8750.0, 380.0, 990.0),
    metal("bronze_c220", 189.0, 8800.0, 376.0, 1020.0),
    metal("nickel_silver_c752", 33.0, 8730.0, 380.0, 1070.0),
    metal("nickel_silver_c757", 40.0, 8690.0, 380.0, 1040.0),
    metal("copper_c122", 340.0, 8940.0, 385.0, 1083.0),
    metal("silver_fine", 429.0, 10490.0, 235.0, 961.0),
    metal("silver_sterling", 360.0, 10360.0, 245.0, 779.0),
];

impl Metal {
    /// The metal of this slug.
    #[must_use]
    pub fn named(slug: &str) -> Option<&'static Metal> {
        METALS.iter().find(|metal| metal.slug == slug)
    }

    /// Whether it gives off zinc fume when it comes near its solidus.
    #[must_use]
    pub fn is_brass(&self) -> bool {
        self.slug.starts_with("brass")
    }
}

/// What kind of joining a filler is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joining {
    /// Soft solder, melting below 450 °C.
    SoftSolder,
    /// Silver brazing or old spelter.
    Brazing,
}

/// A solder or brazing filler.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filler {
    /// The word for it in inputs.
    pub slug: &'static str,
    /// Soft solder or brazing filler.
    pub joining: Joining,
    /// Where it begins to melt, °C.
    pub solidus_c: f64,
    /// Where it is all liquid, °C.
    pub liquidus_c: f64,
    /// Density, g/cm³; absent where section 8 gives none.
    pub density_g_cm3: Option<f64>,
    /// Contains lead.
    pub lead: bool,
    /// Contains cadmium.
    pub cadmium: bool,
}

const fn solder(slug: &'static str, melts: (f64, f64), density: Option<f64>, lead: bool) -> Filler {
    Filler {
        slug,
        joining: Joining::SoftSolder,
        solidus_c: melts.0,
        liquidus_c: melts.1,
        density_g_cm3: density,
        lead,
        cadmium: false,
    }
}

const fn brazing(
    slug: &'static str,
    melts: (f64, f64),
    density: Option<f64>,
    cadmium: bool,
) -> Filler {
    Filler {
        slug,
        joining: Joining::Brazing,
        solidus_c: melts.0,
        liquidus_c: melts.1,
        density_g_cm3: density,
        lead: false,
        cadmium,
    }
}

/// Table 1b, in its order, with the densities of section 8.
pub const FILLERS: [Filler; 13] = [
    solder("sn63pb37", (183.0, 183.0), Some(8.4), true),
    solder("sn60pb40", (183.0, 191.0), Some(8.5), true),
    solder("sn50pb50", (183.0, 214.0), Some(8.9), true),
    solder("sn40pb60", (183.0, 238.0), None, true),
    solder("sn96_5ag3_5", (221.0, 221.0), Some(7.4), false),
    solder("sac305", (217.0, 220.0), Some(7.4), false),
    solder("sn95sb5", (232.0, 240.0), Some(7.25), false),
    brazing("bag_1", (607.0, 618.0), Some(9.4), true),
    brazing("bag_5", (663.0, 743.0), Some(9.1), false),
    brazing("bag_7", (618.0, 652.0), Some(9.4), false),
    brazing("bag_24", (660.0, 707.0), Some(9.2), false),
    brazing("spelter_old", (870.0, 900.0), None, false),
    brazing("bag_36", (646.0, 677.0), Some(9.1), false),
];

/// Soft solder nobody can name: the lowest of the tin-lead family, with lead.
pub const UNKNOWN_SOFT_SOLDER: Filler = solder("unknown_soft_solder", (183.0, 238.0), None, true);

/// Old brazing nobody can name: as low as the cadmium-bearing fillers, and as poisonous.
pub const UNKNOWN_BRAZING: Filler = brazing("unknown_brazing", (607.0, 900.0), None, true);

impl Filler {
    /// The filler of this slug; `unknown_soft_solder` and `unknown_brazing` are the
    /// two of which the bench knows only the colour.
    #[must_use]
    pub fn named(slug: &str) -> Option<&'static Filler> {
        FILLERS
            .iter()
            .chain([&UNKNOWN_SOFT_SOLDER, &UNKNOWN_BRAZING])
            .find(|filler| filler.slug == slug)
    }

    /// What to be careful of with it on the bench: slugs of the table of cautions,
    /// in that table's order.
    #[must_use]
    pub fn cautions(&self) -> Vec<&'static str> {
        let brazing = self.joining == Joining::Brazing;
        [("torch", brazing), ("cadmium", self.cadmium), ("flux-fume", brazing), ("lead", self.lead)]
            .into_iter()
            .filter_map(|(slug, applies)| applies.then_some(slug))
            .collect()
    }
}
