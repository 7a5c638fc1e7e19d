//! Instruments, what is found on them, and what is done about it.

use super::spelling::{Spelt, spelt};

spelt! {
    /// The families of instruments that the shop takes in.
    Family {
        /// Trumpet.
        Trumpet = "trumpet",
        /// Cornet.
        Cornet = "cornet",
        /// Flugelhorn.
        Flugelhorn = "flugelhorn",
        /// Horn.
        Horn = "horn",
        /// Trombone.
        Trombone = "trombone",
        /// Baritone or euphonium.
        Baritone = "baritone",
        /// Tuba.
        Tuba = "tuba",
        /// Flute.
        Flute = "flute",
        /// Clarinet.
        Clarinet = "clarinet",
        /// Oboe.
        Oboe = "oboe",
        /// Bassoon.
        Bassoon = "bassoon",
        /// Saxophone.
        Saxophone = "saxophone",
        /// Anything else.
        Other = "other",
    }
}

impl Family {
    /// The everyday word for it, in lower case: `baritone`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Other => "instrument",
            named => named.spelling(),
        }
    }

    /// The parts that can be named at the counter and at the examination, from the bell or
    /// head end on. Common practice, no source; a part map replaces this list.
    #[must_use]
    pub fn parts(self) -> &'static [&'static str] {
        match self {
            Self::Trumpet | Self::Cornet | Self::Flugelhorn => &[
                "bell", "bell bow", "bell brace", "valve casings", "first valve slide", "second valve slide",
                "third valve slide", "tuning slide", "leadpipe", "mouthpiece receiver", "water key", "valves",
            ],
            Self::Horn => &[
                "bell", "bell throat", "first branch", "rotor casings", "rotors", "linkage", "main tuning slide",
                "F slides", "B flat slides", "leadpipe", "mouthpiece receiver", "braces",
            ],
            Self::Trombone => &[
                "bell", "bell bow", "tuning slide", "bell brace", "hand slide, outer", "hand slide, inner",
                "slide bow", "slide brace", "water key", "mouthpiece receiver", "trigger valve", "linkage",
            ],
            Self::Baritone | Self::Tuba => &[
                "bell", "bell brace", "bottom bow", "upper branch", "lower branch", "inner bow", "valve casings",
                "first valve slide", "second valve slide", "third valve slide", "tuning slide", "leadpipe",
                "mouthpiece receiver", "water key", "valves",
            ],
            Self::Flute => &[
                "head joint", "lip plate", "crown and cork", "body", "foot joint", "barrel tenon", "foot tenon", "pads",
                "keys", "springs", "rods and posts",
            ],
            Self::Clarinet => &[
                "mouthpiece", "barrel", "upper joint", "lower joint", "bell", "centre tenon", "tenon corks", "pads",
                "keys", "springs", "rods and posts", "tone holes",
            ],
            Self::Oboe => &[
                "reed well", "upper joint", "lower joint", "bell", "tenons", "octave vents", "pads", "keys", "springs",
                "rods and posts", "adjustment screws", "tone holes",
            ],
            Self::Bassoon => &[
                "bocal", "wing joint", "boot joint", "boot bow", "long joint", "bell", "tenons", "pads", "keys", "springs",
                "rods and posts", "tone holes",
            ],
            Self::Saxophone => &[
                "neck", "neck tenon", "octave vent", "body", "bow", "bell", "bell brace", "tone holes", "pads", "keys",
                "springs", "rods and posts", "key guards",
            ],
            Self::Other => &["body", "bell", "valves", "slides", "keys", "pads", "mouthpiece receiver"],
        }
    }
}

spelt! {
    /// What the front desk and the customer agreed the instrument looked like.
    MarkKind {
        /// A dent.
        Dent = "dent",
        /// A scratch.
        Scratch = "scratch",
        /// A crack.
        Crack = "crack",
        /// Lacquer gone.
        LacquerGone = "lacquer_gone",
        /// Stuck.
        Stuck = "stuck",
        /// A part is missing.
        Missing = "missing",
    }
}

spelt! {
    /// What an examination turns up.
    FindingKind {
        /// A crack in metal.
        Crack = "crack",
        /// A solder joint that came open.
        OpenJoint = "open_joint",
        /// A dent.
        Dent = "dent",
        /// Bent or out of line.
        Bent = "bent",
        /// A worn or stuck slide.
        Slide = "slide",
        /// Out of round.
        OutOfRound = "out_of_round",
        /// Plating loss.
        PlatingLoss = "plating_loss",
        /// Lacquer loss.
        LacquerLoss = "lacquer_loss",
        /// Red rot.
        RedRot = "red_rot",
        /// Pitting.
        Pitting = "pitting",
        /// Trace of an earlier repair.
        EarlierRepair = "earlier_repair",
        /// A leaking pad.
        LeakingPad = "leaking_pad",
        /// A worn cork.
        WornCork = "worn_cork",
        /// A broken spring.
        BrokenSpring = "broken_spring",
        /// A bent key or post.
        BentKey = "bent_key",
        /// Lost motion.
        LostMotion = "lost_motion",
        /// Keys not closing together.
        KeysNotTogether = "keys_not_together",
        /// Wrong key height.
        KeyHeight = "key_height",
        /// A seized screw.
        SeizedScrew = "seized_screw",
        /// A chipped tone hole.
        ChippedToneHole = "chipped_tone_hole",
        /// A loose tenon.
        LooseTenon = "loose_tenon",
        /// A crack in wood.
        WoodCrack = "wood_crack",
        /// A sticking or worn valve.
        Valve = "valve",
        /// Valve alignment.
        ValveAlignment = "valve_alignment",
        /// Linkage or string.
        Linkage = "linkage",
        /// A stuck mouthpiece.
        StuckMouthpiece = "stuck_mouthpiece",
        /// Something else, said in the note.
        Other = "other",
    }
}

impl FindingKind {
    /// The finding as a customer would call it, in lower case.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Crack => "crack",
            Self::OpenJoint => "open solder joint",
            Self::Dent => "dent",
            Self::Bent => "bent or out of line",
            Self::Slide => "worn or stuck slide",
            Self::OutOfRound => "out of round",
            Self::PlatingLoss => "plating loss",
            Self::LacquerLoss => "lacquer loss",
            Self::RedRot => "red rot",
            Self::Pitting => "pitting",
            Self::EarlierRepair => "trace of an earlier repair",
            Self::LeakingPad => "leaking pad",
            Self::WornCork => "worn cork",
            Self::BrokenSpring => "broken spring",
            Self::BentKey => "bent key or post",
            Self::LostMotion => "lost motion",
            Self::KeysNotTogether => "keys not closing together",
            Self::KeyHeight => "wrong key height",
            Self::SeizedScrew => "seized screw",
            Self::ChippedToneHole => "chipped tone hole",
            Self::LooseTenon => "loose tenon",
            Self::WoodCrack => "crack in the wood",
            Self::Valve => "sticking or worn valve",
            Self::ValveAlignment => "valve alignment",
            Self::Linkage => "linkage or string",
            Self::StuckMouthpiece => "stuck mouthpiece",
            Self::Other => "finding",
        }
    }
}

spelt! {
    /// Whether a finding leaks.
    Leaks {
        /// It leaks.
        Yes = "yes",
        /// It was tested and does not leak.
        No = "no",
        /// Nobody has tested it.
        NotTested = "not_tested",
    }
}

spelt! {
    /// When a finding was made.
    FoundWhen {
        /// At the first examination.
        FirstExamination = "first_examination",
        /// After taking apart.
        TakenApart = "taken_apart",
        /// During the bench work.
        OnTheBench = "on_the_bench",
        /// At the test.
        AtTheTest = "at_the_test",
    }
}

spelt! {
    /// What is to be done about a finding.
    Disposition {
        /// Nobody has decided.
        Undecided = "undecided",
        /// Repair it.
        Repair = "repair",
        /// Leave it and watch it.
        LeaveAndWatch = "leave_and_watch",
        /// Another visit.
        AnotherVisit = "another_visit",
        /// The owner does not want it.
        Declined = "declined",
    }
}

spelt! {
    /// What an operation is in the order of work.
    OperationKind {
        /// Work that answers a finding.
        Work = "work",
        /// Taking something apart.
        TakeApart = "take_apart",
        /// Putting it together again.
        PutTogether = "put_together",
    }
}

spelt! {
    /// How hot an operation gets.
    Heat {
        /// No heat.
        None = "none",
        /// Soft solder heat.
        Solder = "solder",
        /// Brazing heat.
        Braze = "braze",
    }
}

spelt! {
    /// Where an operation stands.
    OperationState {
        /// Not begun.
        Planned = "planned",
        /// Somebody's clock runs on it.
        Running = "running",
        /// Begun, no clock runs.
        Paused = "paused",
        /// Done.
        Done = "done",
        /// Struck with a reason.
        Struck = "struck",
    }
}

spelt! {
    /// What kind of test.
    TestKind {
        /// Tested for leaks.
        LeakTest = "leak_test",
        /// Played.
        PlayTest = "play_test",
    }
}

spelt! {
    /// How it was tested.
    TestMethod {
        /// A finger over one end, blowing at the other.
        FingerAndBlow = "finger_and_blow",
        /// Bubbles under water.
        Bubbles = "bubbles",
        /// Smoke.
        Smoke = "smoke",
        /// Leak light.
        LeakLight = "leak_light",
        /// Feeler.
        Feeler = "feeler",
        /// Pressure decay.
        PressureDecay = "pressure_decay",
        /// Played.
        Played = "played",
    }
}

spelt! {
    /// What a test said.
    Verdict {
        /// It passed.
        Passed = "passed",
        /// It failed.
        Failed = "failed",
        /// It was measured and cannot tell.
        NotDecidable = "not_decidable",
    }
}

spelt! {
    /// How much it leaks, as the bench says it.
    HowMuch {
        /// Barely: a bubble now and then, a breath of smoke, a thread of light.
        Slight = "slight",
        /// Plainly.
        Clear = "clear",
        /// So that nothing holds.
        Strong = "strong",
    }
}

impl TestMethod {
    /// Slugs of the cautions for the bench.
    #[must_use]
    pub fn cautions(self) -> &'static [&'static str] {
        match self {
            Self::PressureDecay => &["pressure"],
            Self::FingerAndBlow | Self::Played => &["hygiene"],
            Self::Bubbles | Self::Smoke | Self::LeakLight | Self::Feeler => &[],
        }
    }
}
