//! Who and what the made-up shops are made of. Every name is invented; every address ends in
//! `.example`, and every telephone number is 555-0100 to 555-0199, which the North American
//! numbering plan keeps for fiction (ATIS-0300115, from memory).

use trade::words::instrument::Family;
use trade::words::paperwork::{CustomerKind, MailWanted};
use trade::words::stage::Role;

/// Somebody who works here.
#[derive(Debug)]
pub struct Member {
    pub name: &'static str,
    pub initials: &'static str,
    /// In front of the shop's own domain.
    pub mailbox: &'static str,
    pub roles: &'static [Role],
    /// Hours a week at the bench, for who works there.
    pub weekly_bench_hours: Option<i32>,
}

/// A shop to be opened. `staff[0]` is the proprietor who opens it.
#[derive(Debug)]
pub struct Shop {
    pub name: &'static str,
    pub domain: &'static str,
    pub address: &'static str,
    pub phone: &'static str,
    pub staff: &'static [Member],
    pub terms: &'static str,
    /// Numbers drawn from this seed decide everything that happens in this shop.
    pub seed: u64,
    pub schools: &'static [&'static str],
    pub dealers: &'static [&'static str],
    pub notable: &'static [Notable],
    /// How many visits are over.
    pub closed: usize,
}

/// A customer who is there for a reason: a name, a wish, a missing address.
#[derive(Debug)]
pub struct Notable {
    pub name: &'static str,
    pub email: Option<&'static str>,
    pub has_phone: bool,
    pub mail_wanted: MailWanted,
    pub note: Option<&'static str>,
}

const fn notable(name: &'static str, email: &'static str) -> Notable {
    Notable {
        name,
        email: Some(email),
        has_phone: true,
        mail_wanted: MailWanted::EveryChange,
        note: None,
    }
}

impl Notable {
    const fn when_asked(mut self) -> Self {
        self.mail_wanted = MailWanted::OnlyWhenAsked;
        self
    }

    const fn noted(mut self, note: &'static str) -> Self {
        self.note = Some(note);
        self
    }
}

const fn on_paper(name: &'static str) -> Notable {
    Notable {
        name,
        email: None,
        has_phone: true,
        mail_wanted: MailWanted::EveryChange,
        note: Some("No e-mail. Ring after five."),
    }
}

/// Which member of the staff does what, by place in `staff`.
pub mod place {
    pub const PROPRIETOR: usize = 0;
    pub const DESK: usize = 1;
    /// Front desk and technician in one person.
    pub const BOTH: usize = 2;
}

pub const MARLBECK: Shop = Shop {
    name: "Marlbeck Horn & Reed",
    domain: "marlbeck.example",
    address: "7 Lantern Court, 01042 Marlbeck",
    phone: "555 0142",
    staff: &[
        Member {
            name: "Henrike Vollmoor",
            initials: "HV",
            mailbox: "henrike",
            roles: &[Role::Proprietor],
            weekly_bench_hours: None,
        },
        Member {
            name: "Oskar Tindale",
            initials: "OT",
            mailbox: "oskar",
            roles: &[Role::FrontDesk],
            weekly_bench_hours: None,
        },
        Member {
            name: "Beatriz Fallwell",
            initials: "BF",
            mailbox: "beatriz",
            roles: &[Role::FrontDesk, Role::Technician],
            weekly_bench_hours: Some(16),
        },
        Member {
            name: "Aino Korpilahde",
            initials: "AK",
            mailbox: "aino",
            roles: &[Role::Technician],
            weekly_bench_hours: Some(32),
        },
        Member {
            name: "Desmond Okwaro",
            initials: "DO",
            mailbox: "desmond",
            roles: &[Role::Technician],
            weekly_bench_hours: Some(32),
        },
        Member {
            name: "Lili Szentmarty",
            initials: "LS",
            mailbox: "lili",
            roles: &[Role::Technician],
            weekly_bench_hours: Some(28),
        },
    ],
    terms: "Work beyond the amount you allowed is done only after you said yes. Repairs are warranted for six months. \
            Please bring this half or identification when you collect. Instruments not collected are written about after \
            7, 21 and 60 days.",
    seed: 0x000B_E11B_12AC_E001,
    schools: &[
        "Kestrel Hill School",
        "Ottersand Town Band",
        "Saint Maddern's Music School",
        "Alderbrook Youth Orchestra",
        "Fellmouth Academy",
        "Brinkwater Wind Band",
    ],
    dealers: &["Tannery Yard Music", "Corner Stave Instruments", "Harbour Row Second-hand Brass"],
    notable: &[
        notable("Zoë Håkanbrink", "zoe.hakanbrink@fernmail.example"),
        notable("Łucja Wójtowiak", "lucja@wojtowiak.example"),
        notable("Søren Bødkerholt", "soren.bodkerholt@fernmail.example").when_asked(),
        notable("هدى السالمية", "huda@salmiya.example")
            .noted("Prefers to be written to; speaks English and Arabic."),
        notable("ליאור ברקאית", "lior@barkait.example"),
        on_paper("Wendelin Grubmeier"),
        notable("Renée Lachâtaigne", "renee@lachataigne.example"),
        notable("Íñigo Etxeberrieta", "inigo.e@postbag.example").when_asked(),
        on_paper("Mabel Thornquist"),
        notable("Nguyễn Thảo Vân An", "van.an@postbag.example"),
        notable("Jürgen Süßwald", "suesswald@kontor.example")
            .noted("Plays in three bands; always in a hurry."),
        notable("Đorđe Šimunić", "djordje@simunic.example"),
        notable("Ebba Ögrenlund", "ebba@ogrenlund.example").when_asked(),
        on_paper("Cornelius Abernatty"),
    ],
    closed: 400,
};

pub const OSTWICK: Shop = Shop {
    name: "Ostwick Key Bench",
    domain: "ostwick.example",
    address: "2 Chandler Steps, 01077 Ostwick",
    phone: "555 0177",
    staff: &[
        Member {
            name: "Perpetua Landgrave",
            initials: "PL",
            mailbox: "perpetua",
            roles: &[Role::Proprietor, Role::FrontDesk, Role::Technician],
            weekly_bench_hours: Some(18),
        },
        Member {
            name: "Ivo Marchetto",
            initials: "IM",
            mailbox: "ivo",
            roles: &[Role::FrontDesk],
            weekly_bench_hours: None,
        },
        Member {
            name: "Signe Dahlqvarn",
            initials: "SD",
            mailbox: "signe",
            roles: &[Role::FrontDesk, Role::Technician],
            weekly_bench_hours: Some(14),
        },
        Member {
            name: "Tobiah Renwick-Oduya",
            initials: "TR",
            mailbox: "tobiah",
            roles: &[Role::Technician],
            weekly_bench_hours: Some(30),
        },
    ],
    terms: "Quotes hold for two weeks. Old parts are given back on request.",
    seed: 0x000B_E11B_12AC_E002,
    schools: &["Ostwick Quay School"],
    dealers: &["Chandler Steps Music"],
    notable: &[
        notable("Amélie Brûlefeuille", "amelie@brulefeuille.example"),
        on_paper("Gottlieb Ansorger"),
    ],
    closed: 3,
};

/// Given names, with their letters for an e-mail address.
pub const GIVEN: &[(&str, &str)] = &[
    ("Adaeze", "adaeze"),
    ("Anselm", "anselm"),
    ("Birgit", "birgit"),
    ("Caspar", "caspar"),
    ("Chiara", "chiara"),
    ("Dagny", "dagny"),
    ("Edwin", "edwin"),
    ("Elżbieta", "elzbieta"),
    ("Farah", "farah"),
    ("Fintan", "fintan"),
    ("Gisèle", "gisele"),
    ("Goran", "goran"),
    ("Hanneke", "hanneke"),
    ("Hiroko", "hiroko"),
    ("Imre", "imre"),
    ("Isolde", "isolde"),
    ("Jakub", "jakub"),
    ("Joaquín", "joaquin"),
    ("Katrin", "katrin"),
    ("Kofi", "kofi"),
    ("Leocadia", "leocadia"),
    ("Lorcan", "lorcan"),
    ("Maëlle", "maelle"),
    ("Magnus", "magnus"),
    ("Nadia", "nadia"),
    ("Noor", "noor"),
    ("Odile", "odile"),
    ("Pádraig", "padraig"),
    ("Quentin", "quentin"),
    ("Rosalind", "rosalind"),
    ("Samir", "samir"),
    ("Tereza", "tereza"),
    ("Ulrich", "ulrich"),
    ("Viggo", "viggo"),
    ("Wilhelmina", "wilhelmina"),
    ("Yusuf", "yusuf"),
];

/// Family names, with their letters for an e-mail address.
pub const FAMILY: &[(&str, &str)] = &[
    ("Ashgrove", "ashgrove"),
    ("Bellweather", "bellweather"),
    ("Bräsigke", "braesigke"),
    ("Carrowmoor", "carrowmoor"),
    ("Corvinho", "corvinho"),
    ("Dreyfeldt", "dreyfeldt"),
    ("Ekenstråle", "ekenstrale"),
    ("Fairholme", "fairholme"),
    ("Gantenbrink", "gantenbrink"),
    ("Glasswright", "glasswright"),
    ("Halloway-Reed", "halloway-reed"),
    ("Hörnlein", "hoernlein"),
    ("Iskanderov", "iskanderov"),
    ("Jarosławek", "jaroslawek"),
    ("Kettlethorn", "kettlethorn"),
    ("Kiplagari", "kiplagari"),
    ("Lindqvarn", "lindqvarn"),
    ("Lömker", "loemker"),
    ("Mahlstedter", "mahlstedter"),
    ("Montcalmette", "montcalmette"),
    ("Nakamorita", "nakamorita"),
    ("Nørregrav", "norregrav"),
    ("Oberlechtner", "oberlechtner"),
    ("Okonjobi", "okonjobi"),
    ("Pemberwick", "pemberwick"),
    ("Petrosyanu", "petrosyanu"),
    ("Quillfeather", "quillfeather"),
    ("Rautenstrauch-Bell", "rautenstrauch-bell"),
    ("Rivasola", "rivasola"),
    ("Sandcastelli", "sandcastelli"),
    ("Schönemaker", "schoenemaker"),
    ("Tavernel", "tavernel"),
    ("Thistlewaite", "thistlewaite"),
    ("Ustinovka", "ustinovka"),
    ("Vandersluys-Moor", "vandersluys-moor"),
    ("Wachholder", "wachholder"),
    ("Wexcombe", "wexcombe"),
    ("Yıldızhan", "yildizhan"),
    ("Zandbergher", "zandbergher"),
    ("Žitnikar", "zitnikar"),
];

/// Where invented people have their mailboxes.
pub const MAIL_HOSTS: &[&str] =
    &["fernmail.example", "postbag.example", "kontor.example", "quietpost.example"];

/// Invented makers.
pub const MAKERS: &[&str] = &[
    "Quorvane",
    "Brassenholt",
    "Lumbrecht",
    "Tolvary",
    "Ossenvik",
    "Zelbrand",
    "Harrowmere",
    "Fennimark",
    "Dulcanto & Sons",
];

/// Invented models of a family, and its finishes.
pub fn models(family: Family) -> (&'static [&'static str], &'static [&'static str]) {
    const BRASS: &[&str] =
        &["lacquered", "lacquered", "silver-plated", "raw brass", "gold lacquer"];
    const WOOD: &[&str] = &["African blackwood", "African blackwood", "composite"];
    match family {
        Family::Trumpet => (&["B flat 37", "Concert C", "Student 110", "Piccolo 8"], BRASS),
        Family::Cornet => (&["Short 22", "Band 24", "Long model"], BRASS),
        Family::Flugelhorn => (&["Model 5", "Copper bell 6"], BRASS),
        Family::Horn => (&["Double 103", "Single F 20", "Double 88, screw bell"], BRASS),
        Family::Trombone => (&["Tenor 12", "Tenor with F 42", "Bass 50"], BRASS),
        Family::Baritone => (&["Baritone 14", "Euphonium 67", "Compensating 72"], BRASS),
        Family::Tuba => (&["F 4/4", "B flat 5/4", "E flat 15"], BRASS),
        Family::Flute => (
            &["C foot 200", "Open hole B foot 400", "Piccolo 3"],
            &["silver-plated", "solid silver", "blackwood"],
        ),
        Family::Clarinet => (&["B flat 10", "A 10", "Bass to low C", "Student 4"], WOOD),
        Family::Oboe => (&["Full system 6", "Student 2", "English horn 9"], WOOD),
        Family::Bassoon => {
            (&["Standard 5", "Short-reach 3"], &["maple, red", "maple, dark", "composite"])
        }
        Family::Saxophone => (&["Alto 62", "Tenor 64", "Soprano 60", "Baritone to low A"], BRASS),
        Family::Other => (&["Sousaphone 20", "Valved bugle", "Ophicleide", "Helicon"], BRASS),
    }
}

/// What comes with an instrument of a family.
pub fn accessories(family: Family) -> &'static [&'static str] {
    match family {
        Family::Flute => &["case", "cleaning rod"],
        Family::Oboe | Family::Bassoon => &["case", "reed case", "swab"],
        Family::Clarinet | Family::Saxophone => {
            &["case", "mouthpiece", "ligature and cap", "neck strap"]
        }
        Family::Tuba | Family::Other => &["gig bag", "mouthpiece"],
        Family::Trumpet
        | Family::Cornet
        | Family::Flugelhorn
        | Family::Horn
        | Family::Trombone
        | Family::Baritone => &["case", "mouthpiece", "valve oil", "lyre"],
    }
}

/// Ages as people say them.
pub const AGES: &[&str] = &["2019", "2011", "about ten years", "1998", "1984", "1970s", "unknown"];
/// Ages of instruments that were somebody's grandfather's.
pub const OLD_AGES: &[&str] = &["about 1905", "between the wars", "1931", "about 1890", "1952"];

/// A customer as the story keeps one.
#[derive(Debug, Clone)]
pub struct Customer {
    pub kind: CustomerKind,
    pub name: String,
    pub email: Option<String>,
    pub phone: Option<String>,
    pub mail_wanted: MailWanted,
    pub note: Option<String>,
}

/// An instrument as the story keeps one.
#[derive(Debug, Clone)]
pub struct Instrument {
    /// Place in the list of customers.
    pub owner: usize,
    pub family: Family,
    pub maker: String,
    pub model: String,
    pub serial_number: Option<String>,
    pub age_text: String,
    pub finish: String,
    pub owners_number: Option<String>,
}
