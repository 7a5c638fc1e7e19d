//! What the plan must know of the shop: stations, set-ups, and minutes around a joint.

use crate::calculation::Fault;
use crate::maps::JointKind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The most minutes of anything in these settings: a long working day.
const MOST_MINUTES: u32 = 600;
/// The most stations that the order of work reckons with.
const MOST_STATIONS: usize = 12;

/// Minutes by how a joint is held. Brazed joints are not taken apart for a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JointMinutes {
    /// A soft-soldered one.
    pub soft_soldered: u32,
    /// A slide.
    pub slide_fit: u32,
    /// A thread.
    pub threaded: u32,
    /// A tenon with cork.
    pub tenon_and_cork: u32,
    /// One that turns.
    pub pivot: u32,
}

impl JointMinutes {
    /// The minutes of one joint; none where it is not taken apart.
    #[must_use]
    pub fn of(&self, held: JointKind) -> Option<u32> {
        match held {
            JointKind::SoftSoldered => Some(self.soft_soldered),
            JointKind::SlideFit => Some(self.slide_fit),
            JointKind::Threaded => Some(self.threaded),
            JointKind::TenonAndCork => Some(self.tenon_and_cork),
            JointKind::Pivot => Some(self.pivot),
            JointKind::Brazed => None,
        }
    }

    fn all(&self) -> [u32; 5] {
        [self.soft_soldered, self.slide_fit, self.threaded, self.tenon_and_cork, self.pivot]
    }
}

/// Minutes of saving one joint from the heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProtectMinutes {
    /// Clamping a heat sink on.
    pub heat_sink: u32,
    /// Standing the tube in water, and drying it.
    pub water: u32,
    /// Wrapping a wet rag round it, and keeping it wet.
    #[serde(default = "typical_wet_rag")]
    pub wet_rag: u32,
}

/// Minutes, from memory; for settings that were made before there was this way.
fn typical_wet_rag() -> u32 {
    5
}

/// What the plan must know of the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BenchSettings {
    /// Where work is done, by name; at most twelve. Methods name one of them.
    pub stations: Vec<String>,
    /// Minutes of changing from one station (row) to another (column), set-up and cooling with it.
    pub changeover_minutes: Vec<Vec<u32>>,
    /// Where the day begins; left out, and the first step costs no change.
    #[serde(default)]
    pub start_station: Option<String>,
    /// Minutes of taking a joint apart.
    pub take_apart_minutes: JointMinutes,
    /// Minutes of putting it together again.
    pub put_together_minutes: JointMinutes,
    /// Minutes of saving a joint from the heat.
    pub protect_minutes: ProtectMinutes,
    /// How far below its solidus a joint must stay, K, 0 to 200.
    pub margin_k: f64,
    /// Diameter of the shop's brazing rod and solder wire, mm.
    pub rod_diameter_mm: f64,
}

impl Default for BenchSettings {
    /// Typical values, from memory; a shop puts its own in their place.
    fn default() -> Self {
        let stations = ["bench", "torch", "sink", "wheel", "plating"].map(str::to_owned).to_vec();
        Self {
            stations,
            changeover_minutes: vec![
                vec![0, 5, 3, 4, 10],
                vec![8, 0, 4, 10, 14],
                vec![3, 6, 0, 5, 8],
                vec![5, 9, 4, 0, 10],
                vec![8, 12, 5, 10, 0],
            ],
            start_station: Some("bench".to_owned()),
            take_apart_minutes: JointMinutes { soft_soldered: 8, slide_fit: 1, threaded: 2, tenon_and_cork: 1, pivot: 4 },
            put_together_minutes: JointMinutes { soft_soldered: 12, slide_fit: 1, threaded: 2, tenon_and_cork: 1, pivot: 5 },
            protect_minutes: ProtectMinutes { heat_sink: 3, water: 9, wet_rag: typical_wet_rag() },
            margin_k: 25.0,
            rod_diameter_mm: 1.5,
        }
    }
}

impl BenchSettings {
    /// Everything that keeps a plan from being made with them.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut fault = |pointer: String, message: &str| faults.push(Fault { pointer, message: message.to_owned() });
        if !(1..=MOST_STATIONS).contains(&self.stations.len()) {
            fault("/stations".to_owned(), "1 to 12 stations");
        }
        for (at, name) in self.stations.iter().enumerate() {
            if name.trim().is_empty() || name.chars().count() > 60 || self.stations[..at].contains(name) {
                fault(format!("/stations/{at}"), "must be a name of its own, at most 60 letters");
            }
        }
        if self.changeover_minutes.len() != self.stations.len() {
            fault("/changeover_minutes".to_owned(), "one row for each station");
        }
        for (row, minutes) in self.changeover_minutes.iter().enumerate() {
            if minutes.len() != self.stations.len() {
                fault(format!("/changeover_minutes/{row}"), "one number for each station");
            }
            for (column, one) in minutes.iter().enumerate().filter(|(_, one)| **one > MOST_MINUTES) {
                fault(format!("/changeover_minutes/{row}/{column}"), &format!("{one} is more than 600 minutes"));
            }
        }
        if self.start_station.as_ref().is_some_and(|start| !self.stations.contains(start)) {
            fault("/start_station".to_owned(), "is none of the stations");
        }
        let protect = [self.protect_minutes.heat_sink, self.protect_minutes.water, self.protect_minutes.wet_rag];
        for (name, too_many) in [
            ("/take_apart_minutes", self.take_apart_minutes.all().iter().any(|one| *one > MOST_MINUTES)),
            ("/put_together_minutes", self.put_together_minutes.all().iter().any(|one| *one > MOST_MINUTES)),
            ("/protect_minutes", protect.iter().any(|one| *one > MOST_MINUTES)),
        ] {
            if too_many {
                fault(name.to_owned(), "at most 600 minutes each");
            }
        }
        if !(0.0..=200.0).contains(&self.margin_k) {
            fault("/margin_k".to_owned(), "between 0 and 200");
        }
        if !(0.1..=20.0).contains(&self.rod_diameter_mm) {
            fault("/rod_diameter_mm".to_owned(), "between 0.1 and 20");
        }
        faults
    }

    /// The place of a station in the list; the first one for a name that the shop no longer has.
    #[must_use]
    pub fn station(&self, name: &str) -> usize {
        self.stations.iter().position(|one| one == name).unwrap_or(0)
    }
}
