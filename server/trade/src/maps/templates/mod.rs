//! One template for every family. All dimensions are typical ones, from memory: a shop
//! measures its instrument and the measured value takes their place.

mod draft;
mod former;
mod horn;
mod low_brass;
mod other;
mod piston_valves;
mod reeds;
mod saxophone;
mod side_blown;
mod trombone;
mod trumpets;
mod woodwind_keys;

pub use former::with_mended_places;

use super::part_map::PartMap;
use crate::words::instrument::Family;
use crate::words::spelling::Spelt;
use std::sync::LazyLock;

static TEMPLATES: LazyLock<Vec<PartMap>> = LazyLock::new(|| Family::ALL.iter().map(|family| template(*family)).collect());

/// The family's part map, made once.
#[must_use]
pub fn template_of(family: Family) -> &'static PartMap {
    // Families stand in the list in the order of their values.
    &TEMPLATES[family as usize]
}

/// The family's part map with typical dimensions, for an instrument to copy.
#[must_use]
pub fn template(family: Family) -> PartMap {
    match family {
        Family::Trumpet => trumpets::trumpet(),
        Family::Cornet => trumpets::cornet(),
        Family::Flugelhorn => trumpets::flugelhorn(),
        Family::Horn => horn::horn(),
        Family::Trombone => trombone::trombone(),
        Family::Baritone => low_brass::baritone(),
        Family::Tuba => low_brass::tuba(),
        Family::Flute => side_blown::flute(),
        Family::Clarinet => reeds::clarinet(),
        Family::Oboe => reeds::oboe(),
        Family::Bassoon => reeds::bassoon(),
        Family::Saxophone => saxophone::saxophone(),
        Family::Other => other::other(),
    }
}
