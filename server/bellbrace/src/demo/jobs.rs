//! What goes wrong with instruments, and what is done about it. Common practice, no source.

use trade::words::instrument::{Family, FindingKind, Leaks, OperationKind};

/// Something found.
#[derive(Debug, Clone, Copy)]
pub struct Fault {
    pub kind: FindingKind,
    /// As the family's list of parts names it.
    pub part: &'static str,
    /// Smallest and largest size, mm.
    pub size_mm: Option<(i64, i64)>,
    pub leaks: Leaks,
    pub likely_to_spread: bool,
    /// Why it is left and watched; none: it is repaired.
    pub left: Option<&'static str>,
}

/// Something done.
#[derive(Debug, Clone, Copy)]
pub struct Doing {
    /// A method of the shop's list, or a title of its own.
    pub title: &'static str,
    /// Place of the finding that it answers.
    pub answers: usize,
    pub kind: OperationKind,
    /// Minutes and price in whole units of currency; none: those of the method.
    pub own: Option<([i32; 3], i64)>,
    /// Offered, and done only if the owner ticks it.
    pub optional: bool,
}

/// A complaint with all that follows from it.
#[derive(Debug)]
pub struct Job {
    pub families: &'static [Family],
    pub complaints: &'static [&'static str],
    pub faults: &'static [Fault],
    pub doings: &'static [Doing],
}

const fn fault(kind: FindingKind, part: &'static str) -> Fault {
    Fault {
        kind,
        part,
        size_mm: None,
        leaks: Leaks::NotTested,
        likely_to_spread: false,
        left: None,
    }
}

impl Fault {
    const fn mm(mut self, low: i64, high: i64) -> Self {
        self.size_mm = Some((low, high));
        self
    }

    const fn leaking(mut self) -> Self {
        self.leaks = Leaks::Yes;
        self
    }

    const fn tight(mut self) -> Self {
        self.leaks = Leaks::No;
        self
    }

    const fn spreading(mut self) -> Self {
        self.likely_to_spread = true;
        self
    }

    const fn watched(mut self, why: &'static str) -> Self {
        self.left = Some(why);
        self
    }
}

const fn by(method: &'static str, answers: usize) -> Doing {
    Doing { title: method, answers, kind: OperationKind::Work, own: None, optional: false }
}

const fn own(title: &'static str, answers: usize, minutes: [i32; 3], price: i64) -> Doing {
    Doing {
        title,
        answers,
        kind: OperationKind::Work,
        own: Some((minutes, price)),
        optional: false,
    }
}

const fn apart(title: &'static str, minutes: [i32; 3]) -> Doing {
    Doing {
        title,
        answers: 0,
        kind: OperationKind::TakeApart,
        own: Some((minutes, 0)),
        optional: false,
    }
}

const fn together(title: &'static str, minutes: [i32; 3]) -> Doing {
    Doing {
        title,
        answers: 0,
        kind: OperationKind::PutTogether,
        own: Some((minutes, 0)),
        optional: false,
    }
}

impl Doing {
    const fn offered(mut self) -> Self {
        self.optional = true;
        self
    }
}

use Family::{
    Baritone, Bassoon, Clarinet, Cornet, Flugelhorn, Flute, Horn, Oboe, Other, Saxophone, Trombone,
    Trumpet, Tuba,
};
use FindingKind as F;

/// The jobs of the shops; each family has several.
pub const JOBS: &[Job] = &[
    Job {
        families: &[Trumpet, Cornet, Flugelhorn],
        complaints: &[
            "Second valve hangs when it is cold.",
            "Valves are slow, worst the third.",
            "The first valve sticks halfway down.",
        ],
        faults: &[fault(F::Valve, "valves"), fault(F::ValveAlignment, "valve casings").tight()],
        doings: &[
            apart("Take the valves out", [5, 8, 15]),
            by("Align and clean valves", 0),
            together("Put the valves back", [5, 8, 15]),
        ],
    },
    Job {
        families: &[Trumpet, Cornet, Flugelhorn],
        complaints: &[
            "It fell off the stand; the bell is bent.",
            "Dropped at the rehearsal. It buzzes on low notes.",
        ],
        faults: &[
            fault(F::Dent, "bell").mm(12, 40),
            fault(F::OpenJoint, "bell brace").leaking().spreading(),
        ],
        doings: &[
            by("Take a dent out", 0),
            by("Soft-solder a joint", 1),
            by("Buff bright", 0).offered(),
        ],
    },
    Job {
        families: &[Trumpet, Cornet, Flugelhorn],
        complaints: &[
            "The tuning slide does not move any more.",
            "All slides stuck; it was in the attic for years.",
        ],
        faults: &[fault(F::Slide, "tuning slide"), fault(F::Slide, "third valve slide")],
        doings: &[
            by("Free a stuck slide", 0),
            by("Free a stuck slide", 1),
            by("Chemical clean and oil", 0),
        ],
    },
    Job {
        families: &[Trumpet, Cornet],
        complaints: &["Stuffy, and it smells of metal.", "Feels as if there were a sock in it."],
        faults: &[
            fault(F::RedRot, "leadpipe").mm(3, 9).tight().spreading(),
            fault(F::LacquerLoss, "valve casings").watched("Cosmetic, where the hand lies."),
        ],
        doings: &[
            own("Fit a new leadpipe", 0, [70, 95, 150], 168),
            by("Chemical clean and oil", 0),
        ],
    },
    Job {
        families: &[Horn],
        complaints: &[
            "The rotors clatter.",
            "Linkage is noisy and there is play in the second lever.",
        ],
        faults: &[fault(F::Linkage, "linkage"), fault(F::LostMotion, "rotors")],
        doings: &[
            apart("Take the rotors out", [15, 25, 40]),
            own("Restring and quieten the linkage", 0, [30, 45, 80], 58),
            own("Refit the rotor bearings", 1, [50, 75, 130], 110),
            together("Put the rotors back", [15, 25, 40]),
        ],
    },
    Job {
        families: &[Horn],
        complaints: &[
            "There is a crack in the bell throat; one can see light through it.",
            "It hisses near the bell.",
        ],
        faults: &[
            fault(F::Crack, "bell throat").mm(9, 38).leaking().spreading(),
            fault(F::EarlierRepair, "bell throat").watched("An old patch; it is tight and holds."),
        ],
        doings: &[by("Braze a crack", 0), by("Buff bright", 0).offered()],
    },
    Job {
        families: &[Trombone],
        complaints: &[
            "The slide scrapes in fourth position.",
            "Slide is slow after it was stepped on.",
        ],
        faults: &[
            fault(F::Bent, "hand slide, inner").mm(1, 2),
            fault(F::Dent, "hand slide, outer").mm(2, 6),
        ],
        doings: &[
            own("Straighten and true the hand slide", 0, [45, 65, 120], 92),
            by("Take a dent out", 1),
        ],
    },
    Job {
        families: &[Trombone],
        complaints: &["The trigger leaks; low C does not speak.", "F side is stuffy."],
        faults: &[fault(F::Valve, "trigger valve").leaking(), fault(F::Linkage, "linkage")],
        doings: &[
            apart("Take the trigger valve out", [10, 15, 30]),
            own("Refit the trigger rotor", 0, [50, 70, 120], 98),
            together("Put the trigger valve back", [10, 15, 30]),
        ],
    },
    Job {
        families: &[Trombone, Baritone, Tuba, Other],
        complaints: &[
            "Mouthpiece has been stuck for a month.",
            "The mouthpiece will not come out, pliers did not help.",
        ],
        faults: &[fault(F::StuckMouthpiece, "mouthpiece receiver")],
        doings: &[by("Free a stuck mouthpiece", 0)],
    },
    Job {
        families: &[Baritone, Tuba],
        complaints: &[
            "Grandfather's instrument. It plays flat and loses air.",
            "Something leaks at the bottom.",
        ],
        faults: &[
            fault(F::Crack, "bottom bow").mm(10, 45).leaking().spreading(),
            fault(F::OpenJoint, "bell brace").leaking(),
            fault(F::EarlierRepair, "inner bow")
                .watched("Old patch, tight. Look again at the next visit."),
        ],
        doings: &[
            by("Patch a crack", 0),
            by("Soft-solder a joint", 1),
            by("Strip and relacquer", 0).offered(),
        ],
    },
    Job {
        families: &[Baritone, Tuba, Other],
        complaints: &["The big bow is pushed in from the stairs.", "Fell over in the bus."],
        faults: &[fault(F::Dent, "bell").mm(30, 120), fault(F::Bent, "bell").mm(3, 9)],
        doings: &[own("Roll the bell straight", 1, [40, 60, 110], 85), by("Take a dent out", 0)],
    },
    Job {
        families: &[Tuba],
        complaints: &[
            "Third rotor will not turn.",
            "Valves are tired; everything is wet in winter.",
        ],
        faults: &[fault(F::Valve, "valves"), fault(F::Slide, "third valve slide")],
        doings: &[
            apart("Take the valves out", [15, 25, 40]),
            by("Align and clean valves", 0),
            by("Free a stuck slide", 1),
            together("Put the valves back", [15, 20, 35]),
        ],
    },
    Job {
        families: &[Other],
        complaints: &[
            "Nobody has played it for thirty years. Can it be made to?",
            "One side of it rattles.",
        ],
        faults: &[fault(F::OpenJoint, "body").leaking(), fault(F::Other, "valves")],
        doings: &[by("Soft-solder a joint", 0), by("Chemical clean and oil", 1)],
    },
    Job {
        families: &[Flute],
        complaints: &["G sharp does not speak.", "Low notes have gone; it was fine last summer."],
        faults: &[
            fault(F::LeakingPad, "pads").leaking(),
            fault(F::KeysNotTogether, "keys"),
            fault(F::PlatingLoss, "lip plate").watched("Worn where the lip lies; does no harm."),
        ],
        doings: &[by("Replace a pad", 0), by("Regulate the keys", 1)],
    },
    Job {
        families: &[Flute],
        complaints: &["The foot joint wobbles.", "Head joint is loose and slips while playing."],
        faults: &[fault(F::LooseTenon, "foot tenon"), fault(F::WornCork, "crown and cork")],
        doings: &[own("Expand and fit the tenon", 0, [15, 25, 45], 38), by("Replace a cork", 1)],
    },
    Job {
        families: &[Clarinet],
        complaints: &["Squeaks on the throat notes.", "It takes too much air; pads look yellow."],
        faults: &[
            fault(F::LeakingPad, "pads").leaking(),
            fault(F::WornCork, "tenon corks"),
            fault(F::BentKey, "keys").tight(),
        ],
        doings: &[by("Replace a pad", 0), by("Replace a cork", 1), by("Regulate the keys", 2)],
    },
    Job {
        families: &[Clarinet, Oboe],
        complaints: &["There is a fine crack at the top.", "A crack came after the cold church."],
        faults: &[
            fault(F::WoodCrack, "upper joint").mm(12, 60).leaking().spreading(),
            fault(F::ChippedToneHole, "tone holes").mm(1, 2),
        ],
        doings: &[
            own("Pin and fill the crack", 0, [50, 80, 140], 125),
            own("Rebuild the tone hole's edge", 1, [30, 45, 80], 64),
        ],
    },
    Job {
        families: &[Oboe],
        complaints: &["Low B flat only with force.", "The octave is not clean any more."],
        faults: &[
            fault(F::KeyHeight, "adjustment screws"),
            fault(F::LeakingPad, "octave vents").leaking(),
            fault(F::SeizedScrew, "rods and posts"),
        ],
        doings: &[
            by("Regulate the keys", 0),
            by("Replace a pad", 1),
            own("Free a seized screw", 2, [10, 25, 80], 26),
        ],
    },
    Job {
        families: &[Bassoon],
        complaints: &["Water comes out where it should not.", "Pads on the boot are wet and hard."],
        faults: &[
            fault(F::LeakingPad, "pads").leaking(),
            fault(F::OpenJoint, "boot bow").leaking(),
            fault(F::LooseTenon, "tenons"),
        ],
        doings: &[
            apart("Take the boot bow off", [10, 15, 25]),
            by("Replace a pad", 0),
            own("Reseat the boot bow", 1, [30, 45, 80], 60),
            own("Wrap the tenons anew", 2, [20, 30, 45], 34),
            together("Put the boot bow on", [10, 15, 25]),
        ],
    },
    Job {
        families: &[Bassoon, Oboe, Clarinet],
        complaints: &["A spring broke in the middle of the concert.", "One key hangs open."],
        faults: &[fault(F::BrokenSpring, "springs")],
        doings: &[by("Replace a spring", 0)],
    },
    Job {
        families: &[Saxophone],
        complaints: &[
            "Fell from the chair; low B does not come.",
            "Bell was pushed toward the body.",
        ],
        faults: &[
            fault(F::Bent, "bell").mm(2, 7),
            fault(F::LeakingPad, "pads").leaking(),
            fault(F::BentKey, "key guards"),
        ],
        doings: &[
            own("Straighten the bell and its brace", 0, [40, 60, 100], 88),
            by("Replace a pad", 1),
            by("Regulate the keys", 2),
        ],
    },
    Job {
        families: &[Saxophone],
        complaints: &["Neck is loose.", "Octave key does not work in the high register."],
        faults: &[
            fault(F::LooseTenon, "neck tenon").leaking(),
            fault(F::KeysNotTogether, "octave vent"),
        ],
        doings: &[
            own("Expand and fit the neck tenon", 0, [20, 30, 50], 42),
            by("Regulate the keys", 1),
            by("Replate a spot", 0).offered(),
        ],
    },
    Job {
        families: &[Saxophone, Flute],
        complaints: &[
            "Please go over it once before the summer.",
            "Many pads are old; what would you do?",
        ],
        faults: &[
            fault(F::LeakingPad, "pads").leaking(),
            fault(F::BrokenSpring, "springs"),
            fault(F::LostMotion, "keys"),
        ],
        doings: &[
            own("Replace worn pads", 0, [90, 130, 190], 210),
            by("Replace a spring", 1),
            by("Regulate the keys", 2),
        ],
    },
];

/// What may turn up on the bench, and what it takes.
pub fn further(family: Family) -> (Fault, Doing) {
    match family {
        Trumpet | Cornet | Flugelhorn | Trombone => {
            (fault(F::Crack, "bell bow").mm(6, 24).leaking().spreading(), by("Patch a crack", 0))
        }
        Horn => (
            fault(F::Crack, "first branch").mm(6, 22).leaking().spreading(),
            by("Patch a crack", 0),
        ),
        Baritone | Tuba => {
            (fault(F::Crack, "bottom bow").mm(8, 30).leaking().spreading(), by("Patch a crack", 0))
        }
        Other => (fault(F::OpenJoint, "body").leaking(), by("Braze a crack", 0)),
        Flute => (
            fault(F::SeizedScrew, "rods and posts"),
            own("Drill out and replace a rod", 0, [30, 50, 110], 74),
        ),
        Clarinet | Oboe => (
            fault(F::WoodCrack, "upper joint").mm(8, 26).leaking().spreading(),
            own("Pin and fill the crack", 0, [50, 80, 140], 125),
        ),
        Bassoon => (
            fault(F::WoodCrack, "wing joint").mm(8, 26).leaking().spreading(),
            own("Pin and fill the crack", 0, [50, 80, 140], 125),
        ),
        Saxophone => (
            fault(F::OpenJoint, "bell brace").spreading(),
            own("Resolder the bell brace", 0, [25, 40, 70], 66),
        ),
    }
}

/// What is often left and watched.
pub fn watched(family: Family) -> Fault {
    match family {
        Flute => fault(F::PlatingLoss, "head joint").watched("Cosmetic; look again in a year."),
        Clarinet | Oboe => fault(F::WoodCrack, "upper joint")
            .mm(4, 10)
            .tight()
            .watched("A hairline that is tight and does not grow; keep it out of the sun."),
        Bassoon => fault(F::LostMotion, "keys").watched("A little play; not worth doing alone."),
        Saxophone => fault(F::LacquerLoss, "body").watched("Cosmetic, from the hand."),
        Horn => fault(F::LacquerLoss, "bell").watched("Cosmetic, from the hand."),
        Trumpet | Cornet | Flugelhorn | Trombone => {
            fault(F::LacquerLoss, "bell").watched("Cosmetic; no pitting under it yet.")
        }
        Baritone | Tuba => {
            fault(F::Dent, "bell").mm(5, 25).tight().watched("Does not trouble the sound.")
        }
        Other => fault(F::Dent, "body").mm(5, 25).tight().watched("Does not trouble the sound."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trade::words::spelling::Spelt;

    #[test]
    fn every_family_has_jobs_and_every_part_is_on_its_list() {
        for family in Family::ALL {
            let jobs: Vec<&Job> = JOBS.iter().filter(|job| job.families.contains(family)).collect();
            assert!(jobs.len() >= 2, "{family} has {} jobs", jobs.len());
            let faults = jobs
                .iter()
                .flat_map(|job| job.faults)
                .copied()
                .chain([further(*family).0, watched(*family)]);
            for fault in faults {
                assert!(
                    family.parts().contains(&fault.part),
                    "{family} has no part {:?}",
                    fault.part
                );
            }
            for job in jobs {
                assert!(job.doings.iter().all(|doing| doing.answers < job.faults.len()));
            }
        }
    }
}
