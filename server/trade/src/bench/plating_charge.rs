//! `plating-charge`: charge, minutes and solution for brush-plating a spot.
//!
//! Faraday's law: `m = A t ρ`, `C = m z F / (M η)`. COMPUTATIONS.md, section 7.

use crate::calculation::{Node, Reading, Refused, above, above_up_to};
use serde_json::{Value, json};

/// Faraday constant, C/mol. Source: CODATA 2018, exact in the SI of 2019 (from memory).
pub const FARADAY_C_MOL: f64 = 96_485.332_12;

/// A metal in the state in which its bath carries it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlatingMetal {
    /// The word for it in inputs.
    pub slug: &'static str,
    /// Molar mass, g/mol. Source: IUPAC standard atomic weights (from memory).
    pub molar_mass_g_mol: f64,
    /// Electrons that one atom takes up.
    pub electrons: u8,
    /// Density of the wrought metal, g/cm³; deposits are up to a few percent lighter.
    pub density_g_cm3: f64,
    /// What to be careful of with its usual baths: slugs of the table of cautions.
    pub cautions: &'static [&'static str],
}

/// The metals of section 7. Copper(II) baths are acid sulphate baths, without cyanide.
pub const PLATING_METALS: [PlatingMetal; 6] = [
    plating_metal("silver", 107.868_2, 1, 10.49, &["cyanide"]),
    plating_metal("nickel", 58.693_4, 2, 8.908, &["nickel"]),
    plating_metal("gold_i", 196.966_570, 1, 19.30, &["cyanide"]),
    plating_metal("gold_iii", 196.966_570, 3, 19.30, &["cyanide"]),
    plating_metal("copper_i", 63.546, 1, 8.96, &["cyanide"]),
    plating_metal("copper_ii", 63.546, 2, 8.96, &[]),
];

const fn plating_metal(
    slug: &'static str,
    molar_mass_g_mol: f64,
    electrons: u8,
    density_g_cm3: f64,
    cautions: &'static [&'static str],
) -> PlatingMetal {
    PlatingMetal { slug, molar_mass_g_mol, electrons, density_g_cm3, cautions }
}

impl PlatingMetal {
    /// The metal of this slug.
    #[must_use]
    pub fn named(slug: &str) -> Option<&'static PlatingMetal> {
        PLATING_METALS.iter().find(|metal| metal.slug == slug)
    }

    /// Electrochemical equivalent `M/(zF)`, g/C.
    #[must_use]
    pub fn equivalent_g_c(&self) -> f64 {
        self.molar_mass_g_mol / (f64::from(self.electrons) * FARADAY_C_MOL)
    }
}

/// A spot to be plated and the bath it is plated with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Area of the spot, cm².
    pub area_cm2: f64,
    /// Wished thickness of the deposit, µm.
    pub thickness_um: f64,
    /// Share of the charge that deposits metal, above 0 and at most 1.
    pub efficiency: f64,
    /// Standard uncertainty of the efficiency.
    pub efficiency_u: f64,
    /// Relative standard uncertainty of the area.
    pub area_u_rel: f64,
    /// Current density under the anode, A/dm².
    pub current_density_a_dm2: f64,
    /// Area that the swab really covers, cm²; it carries the current.
    pub anode_contact_cm2: f64,
}

/// What the spot takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charge {
    /// Mass of the deposit, g.
    pub mass_g: f64,
    /// Charge to pass, C.
    pub charge_c: f64,
    /// The same in A h.
    pub ampere_hours: f64,
    /// Standard uncertainty of the ampere-hours.
    pub ampere_hours_u: f64,
    /// Current at the asked current density, A.
    pub current_a: f64,
    /// Time at that current, min.
    pub minutes: f64,
}

/// Charge and time for a spot.
///
/// Nothing is checked here: outside the ranges of section 7 the numbers mean nothing.
/// Source: Faraday's laws of electrolysis; COMPUTATIONS.md, section 7.
#[must_use]
pub fn plating_charge(metal: &PlatingMetal, spot: &Spot) -> Charge {
    // cm² times µm is 1e-4 cm³.
    let mass_g = spot.area_cm2 * spot.thickness_um * 1e-4 * metal.density_g_cm3;
    let charge_c = mass_g / metal.equivalent_g_c() / spot.efficiency;
    let ampere_hours = charge_c / 3600.0;
    let current_a = spot.current_density_a_dm2 * spot.anode_contact_cm2 / 100.0;
    let u_rel = (spot.efficiency_u / spot.efficiency).hypot(spot.area_u_rel);
    Charge {
        mass_g,
        charge_c,
        ampere_hours,
        ampere_hours_u: ampere_hours * u_rel,
        current_a,
        minutes: charge_c / current_a / 60.0,
    }
}

/// Bath that holds the metal of a deposit, ml.
///
/// * `metal_g_l`: metal in the fresh bath, g/l, above 0.
/// * `usable_fraction`: share of it that may be taken before the bath is spent.
#[must_use]
pub fn solution_ml(mass_g: f64, metal_g_l: f64, usable_fraction: f64) -> f64 {
    1000.0 * mass_g / (metal_g_l * usable_fraction)
}

/// Answers `/calculations/plating-charge`.
///
/// # Errors
/// `invalid-input`: a value out of its range, an unknown metal or field, a swab
/// larger than the spot, or a quotient too large to be a number.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let root = Node::root(input);
    let mut reading = Reading::default();
    reading.object(
        &root,
        &[
            "metal",
            "area_cm2",
            "thickness_um",
            "efficiency",
            "efficiency_u",
            "area_u_rel",
            "current_density_a_dm2",
            "anode_contact_cm2",
            "metal_g_l",
            "usable_fraction",
        ],
    );
    let metal = reading.text(&root, "metal").and_then(|slug| {
        let known = PlatingMetal::named(slug);
        if known.is_none() {
            let names: Vec<_> = PLATING_METALS.iter().map(|metal| metal.slug).collect();
            reading.fault(root.below("metal"), format!("must be one of {}", names.join(", ")));
        }
        known
    });
    let area_cm2 = reading.number(&root, "area_cm2", 0.01..=10_000.0);
    let thickness_um = reading.number(&root, "thickness_um", 0.01..=500.0);
    let efficiency = reading.number_or(&root, "efficiency", above_up_to(0.0, 1.0), 0.9);
    let efficiency_u = reading.number_or(&root, "efficiency_u", above_up_to(0.0, 1.0), 0.05);
    let area_u_rel = reading.number_or(&root, "area_u_rel", 0.0..=1.0, 0.1);
    let current_density_a_dm2 =
        reading.number_or(&root, "current_density_a_dm2", 0.01..=200.0, 10.0);
    let contact = root.get("anode_contact_cm2");
    if contact.is_none() {
        reading.defaulted.push(root.below("anode_contact_cm2"));
    }
    let contact = contact.and_then(|found| {
        reading.number_at(&found, above_up_to(0.0, area_cm2.unwrap_or(10_000.0)))
    });
    let metal_g_l = reading.number_if(&root, "metal_g_l", above(0.0));
    // Without the strength of the bath there is no volume to work out, so the
    // typical share is then no part of the answer.
    let usable_fraction = match metal_g_l {
        Some(_) => reading.number_or(&root, "usable_fraction", above_up_to(0.0, 1.0), 0.5),
        None => reading.number_if(&root, "usable_fraction", above_up_to(0.0, 1.0)).unwrap_or(0.5),
    };
    reading.done()?;
    let (Some(metal), Some(area_cm2), Some(thickness_um)) = (metal, area_cm2, thickness_um) else {
        unreachable!("a required input that could not be read is a fault, and done() refused it");
    };

    let charge = plating_charge(
        metal,
        &Spot {
            area_cm2,
            thickness_um,
            efficiency,
            efficiency_u,
            area_u_rel,
            current_density_a_dm2,
            anode_contact_cm2: contact.unwrap_or(area_cm2),
        },
    );
    let solution_ml =
        metal_g_l.map(|metal_g_l| solution_ml(charge.mass_g, metal_g_l, usable_fraction));
    // A divisor just above zero overflows; infinity has no place in an answer.
    if !charge.ampere_hours_u.is_finite() || !charge.charge_c.is_finite() {
        reading.fault(root.below("efficiency"), "is too small to work with");
    } else if !charge.minutes.is_finite() {
        reading.fault(root.below("anode_contact_cm2"), "is too small to work with");
    }
    if solution_ml.is_some_and(|volume| !volume.is_finite()) {
        reading.fault(root.below("metal_g_l"), "is too small to work with");
    }
    reading.done()?;

    let mut answer = json!({
        "mass_g": charge.mass_g,
        "charge_c": charge.charge_c,
        "ampere_hours": charge.ampere_hours,
        "ampere_hours_u": charge.ampere_hours_u,
        "current_a": charge.current_a,
        "minutes": charge.minutes,
        "g_per_c": metal.equivalent_g_c(),
    });
    if let Some(solution_ml) = solution_ml {
        answer["solution_ml"] = json!(solution_ml);
    }
    answer["defaulted"] = json!(reading.defaulted);
    answer["cautions"] = json!(metal.cautions);
    Ok(answer)
}
