//! What the shop suggests about a finding, by stated rules. The technician decides.

use crate::words::instrument::{Disposition, FindingKind, Leaks};

/// A suggested disposition with its reason, both shown to the technician.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggestion {
    /// What to do.
    pub disposition: Disposition,
    /// Why, in words.
    pub reason: &'static str,
}

impl Suggestion {
    /// Whether choosing this goes against the suggestion, so that the reason is asked (rule 15).
    /// Not to decide yet is no choice, and what the rules leave open cannot be overruled.
    #[must_use]
    pub fn is_overruled_by(&self, chosen: Disposition) -> bool {
        self.disposition != Disposition::Undecided && chosen != Disposition::Undecided && chosen != self.disposition
    }
}

/// Suggests what to do: what leaks or will spread is repaired; a tight crack that does not leak
/// and is not spreading may be left and watched; a trace of an earlier repair that holds is
/// left; looks alone wait for another visit. Source: DOMAIN.md, finding; common practice, no source.
#[must_use]
pub fn suggest(kind: FindingKind, leaks: Leaks, likely_to_spread: bool) -> Suggestion {
    use Disposition::{AnotherVisit, LeaveAndWatch, Repair, Undecided};
    let (disposition, reason) = match (kind, leaks, likely_to_spread) {
        (_, Leaks::Yes, _) => (Repair, "It leaks."),
        (_, _, true) => (Repair, "It is likely to spread."),
        (FindingKind::EarlierRepair, _, _) => (LeaveAndWatch, "An earlier repair that holds is left; look at it at every visit."),
        (FindingKind::Crack | FindingKind::WoodCrack, Leaks::No, false) => (LeaveAndWatch, "Tight, does not leak, does not spread."),
        (FindingKind::Crack | FindingKind::WoodCrack, Leaks::NotTested, false) => (Undecided, "Test it for leaks first."),
        (FindingKind::RedRot | FindingKind::Pitting, _, _) => (LeaveAndWatch, "Measure the wall at every visit."),
        (FindingKind::PlatingLoss | FindingKind::LacquerLoss | FindingKind::Dent, _, _) => {
            (AnotherVisit, "It changes the looks, hardly the sound.")
        }
        (
            FindingKind::OpenJoint
            | FindingKind::Bent
            | FindingKind::Slide
            | FindingKind::OutOfRound
            | FindingKind::LeakingPad
            | FindingKind::WornCork
            | FindingKind::BrokenSpring
            | FindingKind::BentKey
            | FindingKind::LostMotion
            | FindingKind::KeysNotTogether
            | FindingKind::KeyHeight
            | FindingKind::SeizedScrew
            | FindingKind::ChippedToneHole
            | FindingKind::LooseTenon
            | FindingKind::Valve
            | FindingKind::ValveAlignment
            | FindingKind::Linkage
            | FindingKind::StuckMouthpiece,
            _,
            false,
        ) => (Repair, "It keeps the instrument from playing as it should."),
        (FindingKind::Other, _, false) => (Undecided, "No rule speaks of this; decide by eye."),
    };
    Suggestion { disposition, reason }
}
