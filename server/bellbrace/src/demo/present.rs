//! The visits that are open today: one of every situation a board shows.

use super::chance::Chance;
use super::diary::Diary;
use super::jobs::{JOBS, Job};
use super::roster::{Arrival, Roster};
use super::story::{By, Supplier, Visit};
use super::telling::{Beginning, Crew, Methods, Telling};
use trade::words::instrument::{Family, OperationKind};
use trade::words::paperwork::LineKind;
use trade::words::stage::{Because, HoldReason, Stage};

/// How an open order stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Scene {
    Fresh,
    Claimed,
    HeldBySchool,
    HeldByCustomer,
    Undecided,
    Drafted,
    Asked,
    Expired,
    ExaminedHeldForParts,
    Quoted,
    Newer,
    Extra,
    ExtraAsked,
    ExtraExpired,
    Disputed,
    Running,
    Begun,
    Planned,
    HeldForParts,
    HeldOutside,
    TestFailed,
    EndingApart,
    SentBack,
    ExtraDeclined,
    Covered,
    Arrived,
    Played,
    Passed,
    Overridden,
    Declined,
    NothingToDo,
    Unanswered,
    Withdrawn,
}

/// Who brings it.
#[derive(Debug, Clone, Copy)]
enum Who {
    /// A person, best one who was here before.
    Walk,
    /// A person with an old instrument that was here more than once.
    Old,
    Notable(usize),
    School(usize),
    Dealer(usize),
    /// Somebody brings what is another's.
    For,
}

/// One open order. Days are open days: it came and stands so since so many ago, and is promised
/// so many ahead (below zero: it is past).
#[derive(Debug)]
struct Row {
    scene: Scene,
    family: Family,
    who: Who,
    came: usize,
    since: usize,
    promise: i64,
    /// Its last letter is really sent.
    is_aloud: bool,
}

const fn row(
    scene: Scene,
    family: Family,
    who: Who,
    came: usize,
    since: usize,
    promise: i64,
) -> Row {
    Row { scene, family, who, came, since, promise, is_aloud: false }
}

impl Row {
    const fn aloud(mut self) -> Self {
        self.is_aloud = true;
        self
    }
}

use Family::{
    Baritone, Bassoon, Clarinet, Cornet, Flugelhorn, Flute, Horn, Oboe, Other, Saxophone, Trombone,
    Trumpet, Tuba,
};
use Who::{Dealer, For, Notable, Old, School, Walk};

const MARLBECK: &[Row] = &[
    row(Scene::Fresh, Trumpet, Walk, 0, 0, 13),
    row(Scene::Fresh, Clarinet, School(0), 1, 1, 14),
    row(Scene::Fresh, Clarinet, School(0), 1, 1, 14),
    row(Scene::Fresh, Flute, School(0), 1, 1, 14),
    row(Scene::Fresh, Saxophone, Notable(4), 1, 1, 12),
    row(Scene::Claimed, Horn, Old, 2, 2, 12),
    row(Scene::Claimed, Bassoon, Walk, 1, 1, 12),
    row(Scene::Fresh, Trombone, Walk, 2, 2, 2),
    row(Scene::HeldBySchool, Tuba, School(1), 6, 6, 17),
    row(Scene::HeldByCustomer, Oboe, Notable(2), 4, 4, 14),
    row(Scene::Undecided, Baritone, Old, 3, 1, 11),
    row(Scene::Undecided, Cornet, For, 4, 1, 10),
    row(Scene::Undecided, Saxophone, Dealer(0), 3, 0, 13),
    row(Scene::Drafted, Oboe, Walk, 4, 1, 10),
    row(Scene::Drafted, Trumpet, School(2), 5, 2, 10),
    row(Scene::Asked, Horn, Notable(0), 9, 1, 9),
    row(Scene::Asked, Clarinet, Notable(1), 8, 2, 1),
    row(Scene::Expired, Tuba, Dealer(1), 21, 17, -1),
    row(Scene::ExaminedHeldForParts, Bassoon, School(1), 8, 5, 12),
    row(Scene::Quoted, Flugelhorn, Notable(6), 5, 2, 10).aloud(),
    row(Scene::Quoted, Saxophone, Notable(9), 4, 1, 11).aloud(),
    row(Scene::Quoted, Flute, Notable(5), 7, 4, 2),
    row(Scene::Quoted, Trumpet, School(0), 9, 6, 11),
    row(Scene::Quoted, Clarinet, School(0), 9, 6, 11),
    row(Scene::Quoted, Horn, Old, 8, 5, 9),
    row(Scene::Quoted, Other, For, 6, 3, 10),
    row(Scene::Newer, Trombone, Walk, 10, 3, 9),
    row(Scene::Extra, Baritone, Notable(10), 12, 1, 4).aloud(),
    row(Scene::Extra, Tuba, School(1), 13, 2, 9),
    row(Scene::ExtraAsked, Cornet, Notable(7), 11, 1, 9),
    row(Scene::ExtraExpired, Bassoon, Walk, 22, 15, -3),
    row(Scene::Disputed, Saxophone, Notable(11), 7, 1, 9),
    row(Scene::Running, Trumpet, Walk, 7, 3, 3),
    row(Scene::Running, Horn, Notable(12), 9, 4, 4),
    row(Scene::Begun, Clarinet, School(3), 10, 4, 3),
    row(Scene::Begun, Flute, Walk, 8, 3, 0),
    row(Scene::Planned, Saxophone, Dealer(2), 8, 2, 7),
    row(Scene::Planned, Oboe, Walk, 6, 1, 7),
    row(Scene::Planned, Trumpet, School(4), 12, 5, -2),
    row(Scene::HeldForParts, Tuba, School(1), 16, 9, 11),
    row(Scene::HeldOutside, Saxophone, Notable(3), 18, 11, 12),
    row(Scene::HeldOutside, Cornet, Dealer(0), 15, 8, -4),
    row(Scene::TestFailed, Baritone, Old, 14, 1, 0),
    row(Scene::TestFailed, Clarinet, Walk, 11, 0, 6),
    row(Scene::EndingApart, Trombone, Walk, 12, 5, 2),
    row(Scene::SentBack, Flute, Notable(0), 20, 1, -3),
    row(Scene::ExtraDeclined, Horn, For, 13, 3, 4),
    row(Scene::Covered, Clarinet, Notable(8), 4, 1, 6),
    row(Scene::Arrived, Trumpet, Walk, 9, 0, 2),
    row(Scene::Arrived, Saxophone, School(5), 10, 1, 2),
    row(Scene::Arrived, Flugelhorn, Dealer(1), 13, 1, 2),
    row(Scene::Played, Oboe, Walk, 12, 0, 1),
    row(Scene::Played, Trombone, Old, 8, 0, 2),
    row(Scene::Passed, Clarinet, Notable(6), 10, 1, 0).aloud(),
    row(Scene::Passed, Flute, Notable(9), 9, 2, -1).aloud(),
    row(Scene::Passed, Tuba, School(1), 20, 8, -5),
    row(Scene::Passed, Trombone, Notable(13), 70, 52, -58),
    row(Scene::Overridden, Other, Old, 15, 4, -6),
    row(Scene::Declined, Cornet, Walk, 13, 3, -2),
    row(Scene::NothingToDo, Bassoon, School(2), 5, 2, 3),
    row(Scene::Unanswered, Saxophone, Walk, 40, 12, -20),
    row(Scene::Withdrawn, Trumpet, Dealer(2), 11, 4, -3),
];

const OSTWICK: &[Row] = &[
    row(Scene::Fresh, Oboe, Notable(0), 1, 1, 12),
    row(Scene::Quoted, Clarinet, School(0), 5, 2, 10),
    row(Scene::Begun, Flute, Walk, 9, 3, 3),
    row(Scene::Arrived, Saxophone, Dealer(0), 10, 0, 0),
    row(Scene::Passed, Bassoon, Notable(1), 14, 3, -2),
];

/// Tells every open visit, in the order of arrival.
pub fn tell(
    is_first: bool,
    roster: &mut Roster,
    diary: &mut Diary,
    chance: &mut Chance,
    methods: &Methods,
    crew: &Crew,
) -> Vec<Visit> {
    let mut rows: Vec<&Row> = if is_first { MARLBECK } else { OSTWICK }.iter().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.came));
    rows.into_iter().map(|row| open(row, roster, diary, chance, methods, crew)).collect()
}

fn open(
    row: &Row,
    roster: &mut Roster,
    diary: &mut Diary,
    chance: &mut Chance,
    methods: &Methods,
    crew: &Crew,
) -> Visit {
    let share = chance.share() * 0.8;
    let came_at = diary.within(diary.days_ago(row.came), share);
    let (customer, instrument) = who_comes(row, roster, chance, came_at);
    let jobs: Vec<&'static Job> =
        JOBS.iter().filter(|job| job.families.contains(&row.family) && suits(row, job)).collect();
    let job = match jobs.as_slice() {
        [] => JOBS.iter().find(|job| job.families.contains(&row.family)).unwrap_or(&JOBS[0]),
        jobs => chance.of(jobs),
    };
    let mut visit =
        Arrival { roster, diary, chance, methods, crew }.visit(customer, instrument, job, came_at);
    visit.promised_on = diary.open_days_from(diary.today(), row.promise).max(diary.date(came_at));
    if matches!(row.who, Old) {
        visit.keep_as_is = Some("Patina and the old engraving stay.".to_owned());
        visit.condition_note = Some("Grandfather's; handle with care.".to_owned());
    }
    let has_email = roster.customers[roster.instruments[instrument].owner].email.is_some();
    let mut telling = Telling::new(Beginning {
        diary,
        chance,
        methods,
        crew,
        family: row.family,
        job,
        visit,
        has_email,
    });
    telling.takes_photos = row.is_aloud || matches!(row.scene, Scene::Extra | Scene::ExtraAsked | Scene::ExtraExpired | Scene::ExtraDeclined);
    go(&mut telling, row);
    let visit = telling.visit;
    roster.told(&visit, false);
    visit
}

/// Whether a job can stand so.
fn suits(row: &Row, job: &Job) -> bool {
    let has_offer = job.doings.iter().any(|doing| doing.optional);
    let is_apart = job.doings.iter().any(|doing| doing.kind == OperationKind::TakeApart);
    match row.scene {
        Scene::Extra | Scene::ExtraAsked | Scene::ExtraExpired | Scene::ExtraDeclined => {
            !has_offer && job.doings.len() >= 2
        }
        Scene::EndingApart => is_apart,
        Scene::Quoted if row.is_aloud => has_offer,
        Scene::Running | Scene::Begun => job.doings.len() >= 2,
        _ => true,
    }
}

fn who_comes(
    row: &Row,
    roster: &mut Roster,
    chance: &mut Chance,
    at: chrono::DateTime<chrono::Utc>,
) -> (usize, usize) {
    let family = row.family;
    let owner = match row.who {
        Walk | Old => {
            let known = if matches!(row.who, Old) {
                let twice = roster.known(None, Some(family), at, 2);
                if twice.is_empty() { roster.known(None, Some(family), at, 1) } else { twice }
            } else {
                roster.known(None, Some(family), at, 1)
            };
            if !known.is_empty() && (matches!(row.who, Old) || chance.percent(50)) {
                let instrument = *chance.of(&known);
                return (roster.instruments[instrument].owner, instrument);
            }
            roster.new_person(chance)
        }
        Notable(number) => roster.notable(number),
        School(number) => roster.school(number),
        Dealer(number) => roster.dealer(number),
        For => {
            let contact = roster.new_person(chance);
            let owner = roster.new_person(chance);
            return (contact, roster.new_instrument(owner, family, true, chance));
        }
    };
    let known = roster.known(Some(owner), Some(family), at, 1);
    if let Some(instrument) = known.first() {
        return (owner, *instrument);
    }
    (owner, roster.new_instrument(owner, family, matches!(row.who, Old), chance))
}

fn go(t: &mut Telling<'_>, row: &Row) {
    // Nobody's clock runs on two steps.
    if row.scene == Scene::Running
        && let Some(free) = t.crew.technicians.iter().find(|one| !t.diary.is_running(**one))
    {
        t.technician = *free;
    }
    let technician = By::Staff(t.technician);
    let desk = By::Staff(t.desk);
    let proprietor = By::Staff(t.crew.proprietor);
    let last = row.since;
    // So many parts of the way from the check-in to how it stands now.
    let part = |of: usize, parts: usize| row.came - (row.came - last) * of / parts;
    let day = |t: &Telling<'_>, days: i64| t.diary.open_days_from(t.diary.today(), days);
    match row.scene {
        Scene::Fresh => {
            if row.promise <= 2 {
                t.wait(3, 20);
                t.noted("Rush: needed for the concert on the day it is promised.");
            }
            return;
        }
        Scene::Claimed => {
            t.wait(20, 120);
            return t.claimed();
        }
        Scene::HeldBySchool => {
            t.wait(5, 20);
            let until = day(t, 5);
            return t.held(
                HoldReason::SchoolCalendar,
                until,
                "Only after the school's concert week.",
            );
        }
        Scene::HeldByCustomer => {
            t.wait(5, 20);
            let until = day(t, 3);
            return t.held(
                HoldReason::Customer,
                until,
                "Customer is away; will ring about the reed.",
            );
        }
        _ => {}
    }
    if row.scene == Scene::Covered {
        t.visit.may_cost = Some(300);
    }
    let examined_on = match row.scene {
        Scene::Undecided | Scene::Drafted | Scene::ExaminedHeldForParts | Scene::NothingToDo => {
            last
        }
        Scene::Unanswered => row.came - 2,
        _ => part(1, 4),
    };
    t.on_day(examined_on);
    t.claimed();
    t.wait(4, 30);
    if row.scene == Scene::Undecided {
        return t.examined(false);
    }
    t.examined(true);
    match row.scene {
        Scene::Drafted => {
            t.wait(5, 20);
            return t.drafted(true, Vec::new());
        }
        Scene::ExaminedHeldForParts => {
            t.wait(5, 20);
            let until = day(t, 2);
            return t.held_at(
                HoldReason::Parts,
                until,
                Supplier { name: "Reedmouth Supplies", order_number: None },
                "Asked whether the key is still made.",
            );
        }
        Scene::NothingToDo => {
            t.wait(5, 40);
            return t.moved(
                technician,
                Stage::Pickup,
                Because::NothingToDo,
                Some("It leaks nowhere; the reed was split."),
            );
        }
        Scene::Asked => {
            t.on_day(part(1, 2));
            t.quoted();
            t.on_day(last);
            return t.asked();
        }
        Scene::Expired => {
            t.on_day(last);
            t.quoted();
            return t.expired();
        }
        Scene::Unanswered => {
            t.quoted();
            t.expired();
            t.on_day(last);
            return t.end(desk, Because::Unanswered, Some("Reminded twice, no answer."));
        }
        Scene::Quoted => {
            t.on_day(last);
            t.is_aloud = row.is_aloud;
            t.quoted();
            if !row.is_aloud && t.has_email && t.chance.percent(50) {
                t.wait(30, 200);
                t.seen();
            }
            return;
        }
        Scene::Newer => {
            t.on_day(part(1, 2));
            t.quoted();
            t.on_day(last);
            return t.quoted();
        }
        Scene::Declined => {
            t.visit.examination_fee = Some(25);
            t.on_day(part(1, 2));
            t.quoted();
            t.on_day(last);
            return t.declined();
        }
        Scene::Withdrawn => {
            t.on_day(part(1, 2));
            t.quoted();
            t.on_day(last);
            return t.end(desk, Because::Withdrawn, Some("Sold as it is to another dealer."));
        }
        _ => {}
    }
    // What follows was accepted.
    if row.scene == Scene::Covered {
        t.on_day(last);
        t.drafted(false, Vec::new());
        t.wait(1, 5);
        t.visit.may_cost = Some((t.price() / 10 + 2) * 10);
        return t.moved(technician, Stage::Bench, Because::CoveredBeforehand, None);
    }
    t.on_day(part(2, 4));
    if row.scene == Scene::HeldOutside {
        t.wait(3, 15);
        t.drafted(
            true,
            vec![(LineKind::OutsideWork, "Silver plating at the plater's".to_owned(), 140)],
        );
        t.wait(2, 10);
        t.sent();
    } else {
        t.quoted();
    }
    if matches!(
        row.scene,
        Scene::Running
            | Scene::Begun
            | Scene::Planned
            | Scene::HeldForParts
            | Scene::HeldOutside
            | Scene::EndingApart
            | Scene::Disputed
    ) {
        t.on_day(last);
    } else {
        t.on_day(part(3, 5));
    }
    t.accepted();
    t.wait(5, 40);
    match row.scene {
        Scene::Planned => {}
        Scene::Disputed => t.disputed(),
        Scene::Running => t.left_running(),
        Scene::Begun => {
            let to_do = t.to_do();
            for (count, place) in to_do.into_iter().take(2).enumerate() {
                t.worked(place, count == 0);
            }
        }
        Scene::HeldForParts => {
            let until = day(t, 4);
            t.held_at(
                HoldReason::Parts,
                until,
                Supplier { name: "Reedmouth Supplies", order_number: Some("20717") },
                "A rotor bearing.",
            );
        }
        Scene::HeldOutside => {
            let until = day(t, row.promise.min(4));
            let today = t.diary.today();
            t.held_at(
                HoldReason::OutsideWork,
                until.max(today),
                Supplier { name: "Silvergate Finishers", order_number: Some("3391") },
                "At the plater's.",
            );
        }
        Scene::EndingApart => {
            if let Some(first) = t.to_do().first().copied() {
                t.worked(first, true);
            }
            t.on_day(last.saturating_sub(2));
            t.end(desk, Because::Withdrawn, Some("Customer moves away; wants it back as it is."));
        }
        Scene::Extra | Scene::ExtraAsked | Scene::ExtraExpired | Scene::ExtraDeclined => {
            if let Some(first) = t.to_do().first().copied() {
                t.worked(first, true);
            }
            let asked_on = if matches!(row.scene, Scene::Extra | Scene::ExtraExpired) {
                last
            } else {
                part(4, 5)
            };
            t.on_day(asked_on);
            t.is_aloud = row.is_aloud;
            t.extra_asked();
            match row.scene {
                Scene::ExtraAsked => {
                    t.on_day(last);
                    t.asked();
                }
                Scene::ExtraDeclined => {
                    t.on_day(last);
                    t.extra_declined();
                }
                Scene::ExtraExpired => t.expired(),
                _ => {}
            }
        }
        _ => {
            t.worked_through();
            t.on_day(
                if row.scene == Scene::TestFailed
                    || row.scene == Scene::Overridden
                    || row.scene == Scene::Passed
                {
                    part(4, 5)
                } else {
                    last
                },
            );
            if row.scene == Scene::SentBack {
                // It was ready long before it came back.
                t.bench_done();
                t.wait(4, 20);
                t.passed();
                t.wait(5, 30);
                return t.moved(
                    desk,
                    Stage::Bench,
                    Because::SentBack,
                    Some("Rattles on the low notes, shown at the counter."),
                );
            }
            t.bench_done();
            t.wait(5, 30);
            match row.scene {
                Scene::Played => t.played(),
                Scene::TestFailed => {
                    t.on_day(last);
                    t.failed();
                }
                Scene::Overridden => {
                    t.on_day(last);
                    t.moved(
                        proprietor,
                        Stage::Pickup,
                        Because::Overridden,
                        Some("The old patch weeps a little; the owner knows and wants it so."),
                    );
                }
                Scene::Passed => {
                    t.on_day(last);
                    t.is_aloud = row.is_aloud;
                    t.passed();
                }
                _ => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trade::words::spelling::Spelt;

    #[test]
    fn no_order_was_promised_for_before_it_came() {
        for row in MARLBECK.iter().chain(OSTWICK) {
            let came = i64::try_from(row.came).expect("a few days");
            assert!(row.since <= row.came && -row.promise <= came, "{row:?}");
        }
    }

    #[test]
    fn every_family_is_on_the_board() {
        for family in Family::ALL {
            assert!(MARLBECK.iter().any(|row| row.family == *family), "{family}");
        }
    }
}
