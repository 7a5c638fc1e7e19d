//! Which tests must pass before pickup, by family and kind of work.

use crate::words::instrument::{Family, FindingKind, TestKind};

/// The tests that an instrument of this family must pass after these findings were repaired.
///
/// The whole instrument is tested for leaks, always. It is played too when what was repaired
/// moves or seals under the fingers: valves and their linkage on brass; on woodwinds, where every
/// pad, spring and tenon is heard, whatever was repaired that is not only to be looked at.
/// Common practice, no source.
#[must_use]
pub fn required_tests(family: Family, repaired: &[FindingKind]) -> Vec<TestKind> {
    if repaired.iter().any(|kind| is_heard(family, *kind)) {
        vec![TestKind::LeakTest, TestKind::PlayTest]
    } else {
        vec![TestKind::LeakTest]
    }
}

fn is_heard(family: Family, kind: FindingKind) -> bool {
    let has_keys = matches!(family, Family::Flute | Family::Clarinet | Family::Oboe | Family::Bassoon | Family::Saxophone);
    match kind {
        FindingKind::Valve
        | FindingKind::ValveAlignment
        | FindingKind::Linkage
        | FindingKind::LeakingPad
        | FindingKind::BrokenSpring
        | FindingKind::BentKey
        | FindingKind::LostMotion
        | FindingKind::KeysNotTogether
        | FindingKind::KeyHeight
        | FindingKind::ChippedToneHole => true,
        FindingKind::WornCork | FindingKind::SeizedScrew | FindingKind::LooseTenon | FindingKind::WoodCrack | FindingKind::Crack => has_keys,
        FindingKind::OpenJoint
        | FindingKind::Dent
        | FindingKind::Bent
        | FindingKind::Slide
        | FindingKind::OutOfRound
        | FindingKind::PlatingLoss
        | FindingKind::LacquerLoss
        | FindingKind::RedRot
        | FindingKind::Pitting
        | FindingKind::EarlierRepair
        | FindingKind::StuckMouthpiece
        | FindingKind::Other => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::spelling::Spelt;

    #[test]
    fn every_instrument_is_tested_for_leaks() {
        for family in Family::ALL {
            assert_eq!(required_tests(*family, &[]), [TestKind::LeakTest]);
            for kind in FindingKind::ALL {
                assert!(required_tests(*family, &[*kind]).contains(&TestKind::LeakTest), "{family} {kind}");
            }
        }
    }

    #[test]
    fn what_moves_or_seals_under_the_fingers_is_played() {
        let plays = |family, kinds: &[FindingKind]| required_tests(family, kinds).contains(&TestKind::PlayTest);
        assert!(plays(Family::Trumpet, &[FindingKind::Dent, FindingKind::Valve]));
        assert!(plays(Family::Horn, &[FindingKind::Linkage]));
        assert!(plays(Family::Clarinet, &[FindingKind::WornCork]));
        assert!(!plays(Family::Trumpet, &[FindingKind::WornCork, FindingKind::Crack, FindingKind::Slide]), "a water key's cork");
        assert!(!plays(Family::Saxophone, &[FindingKind::LacquerLoss, FindingKind::Dent]));
    }
}
