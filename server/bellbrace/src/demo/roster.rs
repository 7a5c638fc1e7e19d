//! Who the customers are and what they own, as the story goes on.

use super::cast::{self, Customer, Instrument, Shop};
use super::chance::Chance;
use super::diary::Diary;
use super::jobs::Job;
use super::story::Visit;
use super::telling::{Crew, Methods};
use chrono::{DateTime, Utc};
use std::collections::HashSet;
use trade::words::instrument::{Family, MarkKind};
use trade::words::paperwork::{CustomerKind, MailWanted};
use trade::words::stage::Role;

/// Families in the shares in which they come to a shop of brass and woodwind; invented.
const SHARES: &[(Family, usize)] = &[
    (Family::Trumpet, 14),
    (Family::Cornet, 5),
    (Family::Flugelhorn, 4),
    (Family::Horn, 9),
    (Family::Trombone, 11),
    (Family::Baritone, 7),
    (Family::Tuba, 6),
    (Family::Flute, 11),
    (Family::Clarinet, 13),
    (Family::Oboe, 5),
    (Family::Bassoon, 3),
    (Family::Saxophone, 10),
    (Family::Other, 2),
];

/// The people and instruments so far.
pub struct Roster {
    pub customers: Vec<Customer>,
    pub instruments: Vec<Instrument>,
    /// When each instrument's last visit ended; none: it was never here, or is.
    pub free_from: Vec<Option<DateTime<Utc>>>,
    pub visit_count: Vec<usize>,
    schools: Vec<usize>,
    dealers: Vec<usize>,
    notable: Vec<usize>,
    names: HashSet<String>,
    next_owners_number: i64,
}

impl Roster {
    pub fn new(shop: &Shop, chance: &mut Chance) -> Self {
        let mut roster = Self {
            customers: Vec::new(),
            instruments: Vec::new(),
            free_from: Vec::new(),
            visit_count: Vec::new(),
            schools: Vec::new(),
            dealers: Vec::new(),
            notable: Vec::new(),
            names: HashSet::new(),
            next_owners_number: 11,
        };
        for name in shop.schools {
            let host: String =
                name.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
            let customer = Customer {
                kind: CustomerKind::School,
                name: (*name).to_owned(),
                email: Some(format!("music@{host}.example")),
                phone: Some(phone(chance)),
                mail_wanted: if chance.percent(30) {
                    MailWanted::OnlyWhenAsked
                } else {
                    MailWanted::EveryChange
                },
                note: Some("Billed monthly; ask for the order number.".to_owned()),
            };
            roster.schools.push(roster.customers.len());
            roster.customers.push(customer);
        }
        for name in shop.dealers {
            let host: String =
                name.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
            let customer = Customer {
                kind: CustomerKind::Dealer,
                name: (*name).to_owned(),
                email: Some(format!("workshop@{host}.example")),
                phone: Some(phone(chance)),
                mail_wanted: MailWanted::OnlyWhenAsked,
                note: None,
            };
            roster.dealers.push(roster.customers.len());
            roster.customers.push(customer);
        }
        for notable in shop.notable {
            let customer = Customer {
                kind: CustomerKind::Person,
                name: notable.name.to_owned(),
                email: notable.email.map(ToOwned::to_owned),
                phone: notable.has_phone.then(|| phone(chance)),
                mail_wanted: notable.mail_wanted,
                note: notable.note.map(ToOwned::to_owned),
            };
            roster.names.insert(customer.name.clone());
            roster.notable.push(roster.customers.len());
            roster.customers.push(customer);
        }
        roster
    }

    pub fn school(&self, number: usize) -> usize {
        self.schools[number % self.schools.len()]
    }

    pub fn dealer(&self, number: usize) -> usize {
        self.dealers[number % self.dealers.len()]
    }

    pub fn notable(&self, number: usize) -> usize {
        self.notable[number % self.notable.len()]
    }

    pub fn any_school(&self, chance: &mut Chance) -> usize {
        *chance.of(&self.schools)
    }

    pub fn any_dealer(&self, chance: &mut Chance) -> usize {
        *chance.of(&self.dealers)
    }

    /// Somebody who was never here.
    pub fn new_person(&mut self, chance: &mut Chance) -> usize {
        let ((given, given_plain), (family, family_plain)) = loop {
            let (given, family) = (*chance.of(cast::GIVEN), *chance.of(cast::FAMILY));
            if self.names.insert(format!("{} {}", given.0, family.0)) {
                break (given, family);
            }
        };
        let host = *chance.of(cast::MAIL_HOSTS);
        let email = (!chance.percent(13)).then(|| format!("{given_plain}.{family_plain}@{host}"));
        self.customers.push(Customer {
            kind: CustomerKind::Person,
            name: format!("{given} {family}"),
            phone: (email.is_none() || chance.percent(85)).then(|| phone(chance)),
            mail_wanted: if chance.percent(15) {
                MailWanted::OnlyWhenAsked
            } else {
                MailWanted::EveryChange
            },
            email,
            note: None,
        });
        self.customers.len() - 1
    }

    /// A family by its share.
    pub fn any_family(chance: &mut Chance) -> Family {
        let all: Vec<Family> = SHARES
            .iter()
            .flat_map(|(family, share)| std::iter::repeat_n(*family, *share))
            .collect();
        *chance.of(&all)
    }

    /// Gives somebody an instrument.
    pub fn new_instrument(
        &mut self,
        owner: usize,
        family: Family,
        is_old: bool,
        chance: &mut Chance,
    ) -> usize {
        let (models, finishes) = cast::models(family);
        let kind = self.customers[owner].kind;
        let owners_number = (kind == CustomerKind::School).then(|| {
            self.next_owners_number += 1;
            format!(
                "{} {:03}",
                family.to_string().to_uppercase().chars().take(3).collect::<String>(),
                self.next_owners_number
            )
        });
        self.instruments.push(Instrument {
            owner,
            family,
            maker: (*chance.of(cast::MAKERS)).to_owned(),
            model: if is_old {
                String::new()
            } else {
                (*chance.of(models)).to_owned()
            },
            serial_number: (!is_old || chance.percent(40))
                .then(|| chance.between(1204, 98_765).to_string()),
            age_text: (*chance.of(if is_old { cast::OLD_AGES } else { cast::AGES })).to_owned(),
            finish: (*chance.of(finishes)).to_owned(),
            owners_number,
        });
        self.free_from.push(None);
        self.visit_count.push(0);
        self.instruments.len() - 1
    }

    /// Instruments of one owner, or of all persons, of one family or of all, that are not here at
    /// this instant but were before.
    pub fn known(
        &self,
        owner: Option<usize>,
        family: Option<Family>,
        at: DateTime<Utc>,
        visits: usize,
    ) -> Vec<usize> {
        (0..self.instruments.len())
            .filter(|place| {
                let instrument = &self.instruments[*place];
                let owner_fits = match owner {
                    Some(owner) => instrument.owner == owner,
                    None => {
                        self.customers[instrument.owner].kind == CustomerKind::Person
                            && !self.notable.contains(&instrument.owner)
                    }
                };
                owner_fits
                    && family.is_none_or(|family| instrument.family == family)
                    && self.visit_count[*place] >= visits
                    && self.free_from[*place].is_some_and(|free| free < at)
            })
            .collect()
    }

    /// Notes that a visit was told; an open one leaves its instrument here.
    pub fn told(&mut self, visit: &Visit, is_over: bool) {
        self.free_from[visit.instrument] = is_over.then(|| visit.ended_at());
        self.visit_count[visit.instrument] += 1;
    }

    pub fn is_billed(&self, customer: usize) -> bool {
        self.customers[customer].kind != CustomerKind::Person
    }
}

/// A telephone number of fiction: 555-0100 to 555-0199 in some area.
fn phone(chance: &mut Chance) -> String {
    format!("{} 555 01{:02}", *chance.of(&["541", "542", "543", "546"]), chance.between(0, 99))
}

/// Who of a shop's staff does what.
pub fn crew(shop: &Shop) -> Crew {
    let holds = |place: &usize, role: Role| shop.staff[*place].roles.contains(&role);
    let others: Vec<usize> = (1..shop.staff.len()).collect();
    Crew {
        proprietor: cast::place::PROPRIETOR,
        desks: [cast::place::DESK, cast::place::DESK, cast::place::DESK, cast::place::BOTH]
            .to_vec(),
        technicians: others
            .iter()
            .flat_map(|place| {
                std::iter::repeat_n(
                    *place,
                    if holds(place, Role::Technician) {
                        if holds(place, Role::FrontDesk) { 1 } else { 3 }
                    } else {
                        0
                    },
                )
            })
            .collect(),
        both: cast::place::BOTH,
    }
}

/// What is needed to check something in.
pub struct Arrival<'a> {
    pub roster: &'a Roster,
    pub diary: &'a Diary,
    pub chance: &'a mut Chance,
    pub methods: &'a Methods,
    pub crew: &'a Crew,
}

impl Arrival<'_> {
    /// A visit as it begins, with what is said and seen at the counter.
    pub fn visit(
        self,
        customer: usize,
        instrument: usize,
        job: &Job,
        came_at: DateTime<Utc>,
    ) -> Visit {
        let Self { roster, diary, chance, methods, crew } = self;
        let family = roster.instruments[instrument].family;
        let all = cast::accessories(family);
        let accessories = all
            .iter()
            .enumerate()
            .filter(|(place, _)| *place == 0 || chance.percent(45))
            .map(|(_, name)| (*name).to_owned())
            .collect();
        let marks = if chance.percent(40) {
            let part = (*chance.of(family.parts())).to_owned();
            vec![(part, *chance.of(&[MarkKind::Dent, MarkKind::Scratch, MarkKind::LacquerGone]))]
        } else {
            Vec::new()
        };
        let typical: i64 = job
            .doings
            .iter()
            .filter_map(|d| d.own.map(|o| o.1).or_else(|| methods.get(d.title).map(|m| m.price)))
            .sum();
        let may_cost = chance.percent(25).then(|| (typical / 2 / 10 + 1) * 10);
        Visit {
            customer,
            instrument,
            came_at,
            by: *chance.of(&crew.desks),
            complaint: (*chance.of(job.complaints)).to_owned(),
            condition_note: chance.percent(25).then(|| {
                (*chance.of(&[
                    "Played daily, clean.",
                    "Dusty, from the attic.",
                    "Case lock broken.",
                    "Green at the water key.",
                    "Well kept.",
                ]))
                .to_owned()
            }),
            marks,
            accessories,
            may_cost,
            examination_fee: chance.percent(60).then_some(25),
            promised_on: diary.open_days_from(diary.date(came_at), chance.between(7, 17)),
            keep_as_is: chance.percent(10).then(|| {
                (*chance.of(&[
                    "The engraving.",
                    "Patina stays as it is.",
                    "The old patch, if it is tight.",
                ]))
                .to_owned()
            }),
            place: (*chance.of(&["Counter shelf", "Rack A", "Rack B"])).to_owned(),
            moments: Vec::new(),
        }
    }
}
