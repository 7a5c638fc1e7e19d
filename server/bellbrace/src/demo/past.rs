//! The visits that are over: two years of them, with every way to end.

use super::cast::Shop;
use super::chance::Chance;
use super::diary::Diary;
use super::jobs::{JOBS, Job};
use super::roster::{Arrival, Roster};
use super::story::{By, Step, Supplier, Visit};
use super::telling::{Beginning, Crew, Methods, Telling};
use chrono::{DateTime, Days, Utc};
use trade::words::instrument::{Disposition, OperationKind};
use trade::words::stage::{Because, HoldReason, Stage};

/// How a visit goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Course {
    Plain,
    Covered,
    AtCounter,
    Extra,
    ExtraDeclined,
    Failed,
    Questions,
    Newer,
    Expired,
    Recalled,
    Declined,
    WithdrawnEarly,
    WithdrawnFromBench,
    NothingToDo,
    NotRepairable,
    Overridden,
    Unanswered,
    Settled,
    Mistake,
    SentBack,
    Reopened,
    Disputed,
}

/// How many of 400 visits go how. Invented, in shares that a shop would find likely.
const SHARES: &[(Course, usize)] = &[
    (Course::Plain, 152),
    (Course::Covered, 66),
    (Course::AtCounter, 24),
    (Course::Extra, 30),
    (Course::ExtraDeclined, 8),
    (Course::Failed, 26),
    (Course::Questions, 12),
    (Course::Newer, 5),
    (Course::Expired, 5),
    (Course::Recalled, 3),
    (Course::Declined, 18),
    (Course::WithdrawnEarly, 4),
    (Course::WithdrawnFromBench, 3),
    (Course::NothingToDo, 12),
    (Course::NotRepairable, 7),
    (Course::Overridden, 5),
    (Course::Unanswered, 4),
    (Course::Settled, 3),
    (Course::Mistake, 3),
    (Course::SentBack, 4),
    (Course::Reopened, 3),
    (Course::Disputed, 3),
];

/// Two years.
const PAST_DAYS: u64 = 730;
/// The youngest visit that is over came so many open days ago.
const YOUNGEST: usize = 11;
/// Visits younger than so many days go quickly, or they would not be over.
const RECENT_DAYS: u64 = 80;

/// Tells every visit that is over, in the order of arrival.
pub fn tell(
    shop: &Shop,
    roster: &mut Roster,
    diary: &mut Diary,
    chance: &mut Chance,
    methods: &Methods,
    crew: &Crew,
) -> Vec<Visit> {
    let mut courses: Vec<Course> =
        SHARES.iter().flat_map(|(course, count)| std::iter::repeat_n(*course, *count)).collect();
    chance.shuffle(&mut courses);
    let youngest = diary.days_ago(YOUNGEST);
    let dates = diary.open_dates(diary.today() - Days::new(PAST_DAYS), youngest);
    let mut arrivals: Vec<DateTime<Utc>> = (0..shop.closed)
        .map(|_| {
            let date = *chance.of(&dates);
            let share = chance.share();
            diary.within(date, share)
        })
        .collect();
    arrivals.sort_unstable();
    // Long courses belong where there is time for them.
    let recent = diary.now() - Days::new(RECENT_DAYS);
    let first_recent = arrivals.partition_point(|at| *at < recent);
    courses.truncate(arrivals.len());
    let mut plain =
        (0..first_recent).filter(|place| courses[*place] == Course::Plain).collect::<Vec<_>>();
    for place in first_recent..courses.len() {
        if !matches!(
            courses[place],
            Course::Plain
                | Course::Covered
                | Course::AtCounter
                | Course::Failed
                | Course::NothingToDo
        ) && let Some(other) = plain.pop()
        {
            courses.swap(place, other);
        }
    }

    let mut visits: Vec<Visit> = Vec::new();
    let mut comebacks: Vec<(DateTime<Utc>, usize, &'static Job)> = Vec::new();
    for (came_at, course) in arrivals.into_iter().zip(courses) {
        let due = comebacks.iter().position(|(due, instrument, _)| {
            *due <= came_at && roster.free_from[*instrument].is_some_and(|free| free < came_at)
        });
        let comeback = due
            .filter(|_| matches!(course, Course::Plain | Course::Covered))
            .map(|place| comebacks.remove(place));
        let (customer, instrument) = match comeback {
            Some((_, instrument, _)) => (roster.instruments[instrument].owner, instrument),
            None => who_comes(roster, chance, came_at),
        };
        let family = roster.instruments[instrument].family;
        let jobs: Vec<&'static Job> = JOBS
            .iter()
            .filter(|job| job.families.contains(&family) && suits(course, job))
            .collect();
        let job = match comeback {
            Some((_, _, job)) => job,
            None => match jobs.as_slice() {
                [] => JOBS.iter().find(|job| job.families.contains(&family)).unwrap_or(&JOBS[0]),
                jobs => chance.of(jobs),
            },
        };
        let mut course = if comeback.is_some() { Course::Covered } else { course };
        let mut pace = if came_at > recent { 45 } else { 100 };
        // A visit that would not be over by now is told again, quicker.
        let visit = loop {
            let mut trial = diary.clone();
            let mut visit = Arrival { roster, diary: &trial, chance, methods, crew }
                .visit(customer, instrument, job, came_at);
            if comeback.is_some() {
                visit.complaint = "It came back: the same trouble as before.".to_owned();
                visit.may_cost = None;
            }
            let now = trial.now();
            let has_email = roster.customers[roster.instruments[instrument].owner].email.is_some();
            let mut telling = Telling::new(Beginning {
                diary: &mut trial,
                chance,
                methods,
                crew,
                family,
                job,
                visit,
                has_email,
            });
            telling.pace = pace;
            telling.is_free = comeback.is_some();
            let name = roster.customers[customer].name.clone();
            go(&mut telling, course, &name, roster.is_billed(roster.instruments[instrument].owner));
            let visit = telling.visit;
            if visit.ended_at() < now {
                *diary = trial;
                break visit;
            }
            (course, pace) = if pace > 20 { (course, pace / 2) } else { (Course::AtCounter, 10) };
        };
        roster.told(&visit, true);
        if course == Course::Plain && comeback.is_none() && chance.percent(14) {
            comebacks.push((visit.ended_at() + Days::new(9), instrument, job));
        }
        visits.push(visit);
    }
    visits
}

/// Whether a job can go this way.
fn suits(course: Course, job: &Job) -> bool {
    let has_offer = job.doings.iter().any(|doing| doing.optional);
    match course {
        // What is offered raises the limit asked for, which an extra must exceed.
        Course::Extra | Course::ExtraDeclined => !has_offer,
        Course::AtCounter => job.doings.len() <= 2 && !has_offer,
        _ => true,
    }
}

/// Somebody with an instrument that is not here now.
fn who_comes(roster: &mut Roster, chance: &mut Chance, at: DateTime<Utc>) -> (usize, usize) {
    let draw = chance.between(0, 99);
    if draw < 34 {
        let owner = if draw < 25 { roster.any_school(chance) } else { roster.any_dealer(chance) };
        let known = roster.known(Some(owner), None, at, 1);
        let instrument = if known.len() > 3 && chance.percent(60) {
            *chance.of(&known)
        } else {
            let family = Roster::any_family(chance);
            roster.new_instrument(owner, family, false, chance)
        };
        return (owner, instrument);
    }
    let known = roster.known(None, None, at, 1);
    if draw < 66 && !known.is_empty() {
        let instrument = *chance.of(&known);
        let owner = roster.instruments[instrument].owner;
        // Now and then somebody else brings it.
        let customer = if chance.percent(8) { roster.new_person(chance) } else { owner };
        return (customer, instrument);
    }
    let owner = if draw < 70 {
        roster.notable(usize::try_from(chance.between(0, 99)).unwrap_or(0))
    } else {
        roster.new_person(chance)
    };
    let family = Roster::any_family(chance);
    let is_old = chance.percent(12);
    let instrument = roster.new_instrument(owner, family, is_old, chance);
    (owner, instrument)
}

/// Tells one visit from the check-in to its end.
fn go(t: &mut Telling<'_>, course: Course, name: &str, is_billed: bool) {
    match course {
        Course::AtCounter => {
            t.visit.may_cost = None;
            t.visit.examination_fee = None;
            t.wait(8, 35);
            t.done_at_counter(name);
            return;
        }
        Course::Mistake => {
            t.wait(4, 30);
            let desk = t.desk;
            t.moved(
                By::Staff(desk),
                Stage::Closed,
                Because::EnteredByMistake,
                Some("Entered twice; the other one counts."),
            );
            return;
        }
        _ => {}
    }
    if course == Course::Covered {
        t.visit.may_cost = Some(500);
    }
    t.wait(90, 1500);
    t.claimed();
    t.wait(5, 240);
    t.examined(true);
    t.wait(5, 60);
    let technician = By::Staff(t.technician);
    let desk = By::Staff(t.desk);
    let proprietor = By::Staff(t.crew.proprietor);
    let mut extra_is_asked = false;
    match course {
        Course::NothingToDo => {
            t.moved(
                technician,
                Stage::Pickup,
                Because::NothingToDo,
                Some("Plays as it should; the mouthpiece did not fit."),
            );
            return leave(t, name, is_billed);
        }
        Course::Covered => {
            t.drafted(false, Vec::new());
            t.wait(1, 5);
            t.visit.may_cost = (!t.is_free).then(|| (t.price() * 11 / 10 / 10 + 1) * 10);
            t.moved(technician, Stage::Bench, Because::CoveredBeforehand, None);
        }
        Course::WithdrawnEarly => {
            t.wait(60, 900);
            t.end(desk, Because::Withdrawn, Some("Customer needs it back for a concert."));
            return leave(t, name, is_billed);
        }
        Course::Recalled => {
            t.quoted();
            t.wait(30, 200);
            t.moved(technician, Stage::Diagnosis, Because::Recalled, Some("A price was wrong."));
            t.quoted();
            t.wait(120, 1900);
            t.accepted();
        }
        Course::Newer => {
            t.quoted();
            t.wait(100, 700);
            t.quoted();
            t.wait(120, 1900);
            t.accepted();
        }
        Course::Questions => {
            t.quoted();
            t.wait(60, 1400);
            t.asked();
            t.wait(20, 400);
            t.quoted();
            t.wait(60, 1400);
            t.accepted();
        }
        Course::Expired | Course::Unanswered => {
            t.quoted();
            t.expired();
            if course == Course::Unanswered {
                t.wait(400, 2000);
                t.end(desk, Because::Unanswered, Some("Reminded twice, no answer."));
                t.wait(500, 3000);
                return leave(t, name, is_billed);
            }
            t.wait(60, 500);
            t.quoted();
            t.wait(20, 600);
            t.accepted();
        }
        Course::Declined => {
            t.quoted();
            t.wait(120, 2400);
            t.declined();
            return leave(t, name, is_billed);
        }
        Course::Reopened => {
            t.quoted();
            t.wait(120, 1900);
            t.declined();
            t.wait(200, 1500);
            t.moved(
                desk,
                Stage::Diagnosis,
                Because::Reopened,
                Some("Wants it repaired after all."),
            );
            t.wait(20, 200);
            for (finding, fault) in t.job.faults.iter().enumerate() {
                if fault.left.is_none() {
                    t.by_technician(Step::Dispose {
                        finding,
                        disposition: Disposition::Repair,
                        reason: Some("Wanted after all.".to_owned()),
                    });
                }
            }
            t.quoted();
            t.wait(10, 300);
            t.accepted();
        }
        Course::Disputed => {
            t.quoted();
            t.wait(60, 900);
            t.accepted();
            t.wait(2, 20);
            t.disputed();
            t.wait(30, 300);
            t.accepted();
        }
        _ => {
            t.quoted();
            t.wait(60, 1900);
            t.accepted();
        }
    }
    if t.chance.percent(12) {
        t.wait(30, 200);
        let today = t.diary.date(t.visit.moments.last().map_or(t.visit.came_at, |m| m.at));
        let look = t.diary.open_days_from(today, 4);
        let supplier = Supplier { name: "Reedmouth Supplies", order_number: None };
        t.held_at(HoldReason::Parts, look, supplier, "Ordered.");
        t.wait(700, 3400);
        t.by_technician(Step::Lift);
    }
    t.wait(150, 2400);
    match course {
        Course::Extra | Course::ExtraDeclined => {
            if let Some(first) = t.to_do().first().copied() {
                t.worked(first, true);
            }
            t.extra_asked();
            extra_is_asked = true;
        }
        Course::WithdrawnFromBench | Course::NotRepairable => {
            let works: Vec<usize> = t.to_do();
            // Whatever is taken apart is put together again.
            let is_apart =
                t.job.doings.first().is_some_and(|doing| doing.kind == OperationKind::TakeApart);
            if let Some(first) = works.first().copied() {
                t.worked(first, true);
            }
            t.wait(30, 300);
            if course == Course::WithdrawnFromBench {
                t.end(desk, Because::Withdrawn, Some("Bought another one meanwhile."));
            } else {
                t.end(
                    technician,
                    Because::NotRepairable,
                    Some("The metal is too thin around it; it tears on."),
                );
                t.is_waived = t.chance.percent(60);
            }
            if is_apart && let Some(last) = works.last().copied() {
                t.worked(last, true);
                t.by_technician(Step::ConfirmEnd);
            }
            return leave(t, name, is_billed);
        }
        _ => {}
    }
    if extra_is_asked {
        t.wait(60, 1400);
        if course == Course::Extra {
            t.accepted()
        } else {
            t.extra_declined()
        }
        t.wait(60, 900);
    }
    t.worked_through();
    t.wait(3, 60);
    t.bench_done();
    t.wait(3, 120);
    match course {
        Course::Failed => {
            t.failed();
            t.wait(30, 600);
            t.worked_through();
            t.bench_done();
            t.wait(3, 60);
            t.passed();
        }
        Course::Overridden => {
            t.moved(
                proprietor,
                Stage::Pickup,
                Because::Overridden,
                Some("Leak light is away for repair; played without fault."),
            );
        }
        _ => {
            if t.chance.percent(45) {
                t.played();
                t.wait(2, 10);
            }
            t.passed();
        }
    }
    if course == Course::SentBack {
        t.wait(100, 1500);
        t.moved(
            desk,
            Stage::Bench,
            Because::SentBack,
            Some("The customer hears a rattle at the counter."),
        );
        t.wait(10, 200);
        let again = t.plan_for_nothing("Find and stop the rattle", 0);
        t.worked(again, true);
        t.bench_done();
        t.wait(2, 20);
        t.passed();
    }
    if course == Course::Settled {
        t.wait(2000, 6000);
        t.moved(
            proprietor,
            Stage::Closed,
            Because::OtherwiseSettled,
            Some("Bought by the shop; the owner moved away."),
        );
        return;
    }
    leave(t, name, is_billed);
}

/// Waits on the shelf and is handed over.
fn leave(t: &mut Telling<'_>, name: &str, is_billed: bool) {
    t.wait(60, 4200);
    let is_shipped = t.chance.percent(7);
    t.handed_over(is_billed, is_shipped, name);
}
