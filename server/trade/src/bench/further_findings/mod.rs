//! How many more cracks and open joints will turn up after the first examination, and
//! what they may cost.
//!
//! * `mod.rs`: what is known of an instrument, and the forecast of the hidden count.
//! * `dispersion`: how unlike instruments of one kind are, from the shop's own orders.
//! * `hidden_count`: the distribution of the count.
//! * `cost`: the distribution of the cost.
//! * `reading`: the JSON door.
//!
//! Source: gamma-Poisson (negative binomial) model with thinning for what is found at the
//! first look; COMPUTATIONS.md, section 3. The factors of the prior are typical figures
//! without a source: the shop's own closed orders take over as they come in.

mod cost;
mod dispersion;
mod hidden_count;
mod reading;

pub use cost::{CannotCost, CostForecast, cost_of};
pub use dispersion::estimate_dispersion;
pub use hidden_count::HiddenCount;
pub use reading::compute;

/// The weight of the prior on a cell's mean and of each observation: five ordinary instruments.
const PRIOR_ORDERS: f64 = 5.0;

/// Findings per ordinary instrument in all, before the factors; typical, no source.
const BASE_MEAN: f64 = 0.8;

/// How old the instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AgeBand {
    /// Under 20 years.
    Under20,
    /// 20 to 49 years.
    From20To49,
    /// 50 to 79 years.
    From50To79,
    /// 80 to 119 years.
    From80To119,
    /// Over 119 years.
    Over119,
    /// Nobody knows.
    Unknown,
}

/// Whether the tubes were wrapped from sheet and brazed along a seam.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Construction {
    /// Drawn tube without a seam.
    Seamless,
    /// A brazed seam along the tube.
    Seamed,
    /// It cannot be seen.
    Unknown,
}

/// Whether someone repaired it before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EarlierRepairs {
    /// Looked for and none seen.
    NoneSeen,
    /// Patches, solder or filler seen.
    Seen,
    /// Not looked for.
    Unknown,
}

/// How the first examination was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Examined {
    /// From outside only.
    Outside,
    /// With a bore light.
    BoreLight,
    /// Taken apart.
    TakenApart,
}

/// What instruments have in common that are taken as alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Cell {
    /// How old.
    pub age_band: AgeBand,
    /// How the tubes were made.
    pub construction: Construction,
    /// Whether repaired before.
    pub earlier_repairs: EarlierRepairs,
}

impl Cell {
    /// Number of different cells.
    const COUNT: usize = 6 * 3 * 3;

    fn index(self) -> usize {
        (self.age_band as usize * 3 + self.construction as usize) * 3
            + self.earlier_repairs as usize
    }

    /// Findings per ordinary instrument of this cell before any closed order is known.
    ///
    /// All figures are typical, from no source (COMPUTATIONS.md, section 3).
    #[must_use]
    pub fn prior_mean(self) -> f64 {
        let age = match self.age_band {
            AgeBand::Under20 => 0.5,
            AgeBand::From20To49 => 0.8,
            AgeBand::From50To79 | AgeBand::Unknown => 1.2,
            AgeBand::From80To119 => 2.0,
            AgeBand::Over119 => 3.0,
        };
        let construction = match self.construction {
            Construction::Seamless => 0.7,
            Construction::Seamed => 1.8,
            Construction::Unknown => 1.0,
        };
        let repairs = match self.earlier_repairs {
            EarlierRepairs::NoneSeen => 0.8,
            EarlierRepairs::Seen => 1.6,
            EarlierRepairs::Unknown => 1.0,
        };
        BASE_MEAN * age * construction * repairs
    }
}

impl Examined {
    /// The Beta prior of a finding being found at first, as (found, missed); typical, no source.
    fn prior(self) -> (f64, f64) {
        match self {
            Self::Outside => (5.0, 5.0),
            Self::BoreLight => (6.5, 3.5),
            Self::TakenApart => (8.5, 1.5),
        }
    }
}

/// What the first examination of an instrument showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Examination {
    /// What kind of instrument.
    pub cell: Cell,
    /// How it was examined.
    pub examined: Examined,
    /// Cracks and open joints found at first.
    pub found_first: u32,
    /// Tubing, in ordinary trumpets; above zero. A tuba has about 4 (typical, from memory).
    pub exposure: f64,
}

/// A closed order of the shop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PastOrder {
    /// What the first examination showed.
    pub examination: Examination,
    /// What turned up later, on the bench.
    pub found_later: u32,
}

impl PastOrder {
    fn found(&self) -> u32 {
        self.examination.found_first.saturating_add(self.found_later)
    }
}

/// The forecast of what is still hidden in one instrument.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FurtherFindings {
    /// Findings per ordinary instrument of the cell, hidden and found together.
    pub cell_mean: f64,
    /// Gamma shape between instruments of one cell: the smaller, the more unlike they are.
    pub dispersion: f64,
    /// Share of findings that an examination of this kind finds at first.
    pub detection: f64,
    /// The distribution of the number still hidden.
    pub hidden: HiddenCount,
}

/// Forecasts what the first examination of `order` has not found.
///
/// * `history`: closed orders of the shop; may be empty, then everything rests on typical
///   figures.
/// * `dispersion`: if known, above zero; else it is estimated from the history
///   ([`estimate_dispersion`]), and is 1 when that is empty.
///
/// Source: COMPUTATIONS.md, section 3, steps 1 to 4.
#[must_use]
pub fn further_findings(
    order: &Examination,
    history: &[PastOrder],
    dispersion: Option<f64>,
) -> FurtherFindings {
    let means = cell_means(history);
    let cell_mean = means[order.cell.index()];
    let dispersion = dispersion.unwrap_or_else(|| estimate_dispersion(history));
    let detection = detection(order.examined, history);
    // Posterior rate ~ Gamma(κ + n₁, b + d) with b = κ/(μe); written over (κ + μe) so that a
    // tiny exposure cannot overflow b.
    let expected = cell_mean * order.exposure;
    let hidden = HiddenCount::new(
        dispersion + f64::from(order.found_first),
        (dispersion + detection * expected) / (dispersion + expected),
        (1.0 - detection) * expected / (dispersion + expected),
    );
    FurtherFindings { cell_mean, dispersion, detection, hidden }
}

/// Posterior mean findings per ordinary instrument, for every cell.
fn cell_means(history: &[PastOrder]) -> [f64; Cell::COUNT] {
    let mut found = [0.0; Cell::COUNT];
    let mut exposure = [0.0; Cell::COUNT];
    for past in history {
        let cell = past.examination.cell.index();
        found[cell] += f64::from(past.found());
        exposure[cell] += past.examination.exposure;
    }
    let mut means = [0.0; Cell::COUNT];
    for age_band in [
        AgeBand::Under20,
        AgeBand::From20To49,
        AgeBand::From50To79,
        AgeBand::From80To119,
        AgeBand::Over119,
        AgeBand::Unknown,
    ] {
        for construction in [Construction::Seamless, Construction::Seamed, Construction::Unknown] {
            for earlier_repairs in
                [EarlierRepairs::NoneSeen, EarlierRepairs::Seen, EarlierRepairs::Unknown]
            {
                let cell = Cell { age_band, construction, earlier_repairs };
                let at = cell.index();
                means[at] =
                    (PRIOR_ORDERS * cell.prior_mean() + found[at]) / (PRIOR_ORDERS + exposure[at]);
            }
        }
    }
    means
}

/// Share of findings that an examination of this kind finds at first.
fn detection(examined: Examined, history: &[PastOrder]) -> f64 {
    let (found_prior, missed_prior) = examined.prior();
    let alike = history.iter().filter(|past| past.examination.examined == examined);
    let (first, all) = alike.fold((0.0, 0.0), |(first, all), past| {
        (first + f64::from(past.examination.found_first), all + f64::from(past.found()))
    });
    (found_prior + first) / (found_prior + missed_prior + all)
}
