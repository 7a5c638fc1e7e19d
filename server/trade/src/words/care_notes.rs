//! How to look after an instrument once it is home again: typical words for each family, until a
//! shop writes its own. Common practice, no source.

use super::instrument::Family;
use super::own_or_typical::Kind;
use super::spelling::Spelt;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// The most letters of a note.
pub const LONGEST: usize = 1000;

/// What the pickup letter says of looking after an instrument of a family.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CareNote {
    /// Of which family.
    pub family: Family,
    /// In words for the customer; empty: nothing is said.
    pub words: String,
    /// Whether the shop wrote them.
    pub kind: Kind,
}

/// What a shop wrote itself, by family.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct OwnCareNotes(pub BTreeMap<Family, String>);

impl OwnCareNotes {
    /// What is said of a family: the shop's own words, else the typical ones.
    #[must_use]
    pub fn of(&self, family: Family) -> CareNote {
        match self.0.get(&family) {
            Some(own) => CareNote { family, words: own.clone(), kind: Kind::Own },
            None => CareNote { family, words: typical(family).to_owned(), kind: Kind::Typical },
        }
    }

    /// What is said of every family, in the order of the design.
    #[must_use]
    pub fn all(&self) -> Vec<CareNote> {
        Family::ALL.iter().map(|family| self.of(*family)).collect()
    }
}

const PISTONS: &str = "Oil the valves before you play and grease the slides every few weeks; wipe the outside with a soft cloth afterwards. \
    Let the water out and put it away dry. If a slide or the mouthpiece sticks, please do not force it: bring it in.";

/// Typical words for a family; deliberately little, and nothing that could harm an old finish.
#[must_use]
pub fn typical(family: Family) -> &'static str {
    match family {
        Family::Trumpet | Family::Cornet | Family::Flugelhorn | Family::Baritone | Family::Tuba => PISTONS,
        Family::Horn => {
            "A drop of rotor oil on each bearing now and then, and slide grease every few weeks. Take out the water from each slide, and wipe \
             the outside with a soft cloth. If a string frays or a slide sticks, please do not force it: bring it in."
        }
        Family::Trombone => {
            "Wipe the inner slide and put on a little fresh slide cream or oil before you play. Never lay the slide down where it can fall, \
             and lock it when you put it away. If the slide drags in one place, it may be dented: please bring it in rather than force it."
        }
        Family::Flute => {
            "Wipe the inside dry with a soft cloth each time you have played, and dry the pads with a thin paper rather than powder. \
             Put it together by the ends of the tube and not by the keys. Please leave the screws and the crown as they are."
        }
        Family::Clarinet => {
            "Pull a dry swab through each time you have played, and put a little cork grease on a tenon that turns stiffly. Keep wood away \
             from radiators and a cold car; a new instrument is played in slowly. If you see a crack, stop playing and bring it in."
        }
        Family::Oboe => {
            "Pull a dry swab or a feather through each time you have played, and keep water out of the small tone holes. Keep the wood away \
             from radiators and a cold car. If you see a crack, stop playing and bring it in; please leave the adjusting screws as they are."
        }
        Family::Bassoon => {
            "Empty the boot and pull a dry swab through the boot and the wing each time you have played. Grease the tenons lightly, and carry \
             the bocal apart from the rest. If a tenon is loose or the boot smells damp, please bring it in."
        }
        Family::Saxophone => {
            "Pull a dry swab through each time you have played, and lift a sticking pad off with a thin paper rather than powder. Carry it by \
             the bell and not by the keys. A little cork grease helps a stiff neck cork; please do not bend keys yourself."
        }
        Family::Other => {
            "Wipe it dry each time you have played and keep it away from great heat and cold. If anything sticks or comes loose, please do not \
             force it: bring it in."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_family_has_words_that_fit_a_letter_and_none_asks_to_use_force() {
        for family in Family::ALL {
            let said = typical(*family);
            assert!((80..LONGEST).contains(&said.chars().count()), "{family}: {said}");
            assert!(!said.contains("  ") && said.ends_with('.'), "{family}: {said}");
        }
    }

    #[test]
    fn what_a_shop_wrote_goes_before_the_typical_words_and_nothing_is_said_where_it_wrote_nothing() {
        let own = OwnCareNotes(BTreeMap::from([(Family::Horn, "Come by in spring.".to_owned()), (Family::Tuba, String::new())]));
        assert_eq!(own.of(Family::Horn), CareNote { family: Family::Horn, words: "Come by in spring.".to_owned(), kind: Kind::Own });
        assert_eq!((own.of(Family::Tuba).words.as_str(), own.of(Family::Tuba).kind), ("", Kind::Own));
        assert_eq!((own.of(Family::Flute).words.as_str(), own.of(Family::Flute).kind), (typical(Family::Flute), Kind::Typical));
        let kept = serde_json::to_value(&own).expect("it can be written");
        assert_eq!(kept, serde_json::json!({"horn": "Come by in spring.", "tuba": ""}));
        assert_eq!(serde_json::from_value::<OwnCareNotes>(kept).expect("and read"), own);
        assert_eq!(own.all().len(), Family::ALL.len());
    }
}
