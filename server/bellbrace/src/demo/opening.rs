//! Opening a made-up shop: its settings, its people, its methods; and the story it will have.

use super::cast::{Member, Shop};
use super::chance::Chance;
use super::diary::{self, Diary};
use super::gauge;
use super::play::{Broken, Hand, Stage};
use super::roster::{self, Roster};
use super::story::Story;
use super::telling::{MethodFacts, Methods, QUOTE_DAYS};
use super::{SignIn, past, present, reminders};
use acts::shop::{NewPerson, NewShop, ShopChange};
use acts::{Actor, Acts, Clock, Halt};
use chrono::{DateTime, Duration, Utc};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::sync::Arc;
use store::{Once, lists};
use trade::words::business_time::Calendar;
use trade::words::ids::PersonId;
use trade::words::instrument::Family;
use trade::words::quote::ContentTaxClass;

/// The shops were opened so many days before now.
const OPENED_DAYS_AGO: i64 = 760;

/// Days after which the shops write again, as they are set. A quote drafted on a Saturday and sent on
/// the Monday is still open on the second of them.
const QUOTE_REMINDERS: [u16; 2] = [5, 10];
const PICKUP_REMINDERS: [u16; 3] = [7, 21, 60];

/// What these shops say in their own words of looking after a baritone.
const BARITONE_NOTE: &str = "Oil the valves before you play and let the water out after. Old solder does not like a hot car: \
    please leave it in the shade. Once a year we are glad to look it over.";

/// A shop with its people and settings, of whose story nothing is played yet.
pub struct Opened {
    pub stage: Stage,
    /// What happens from here on is played in the order of the clock, whoever it happens to.
    pub cut: DateTime<Utc>,
    pub sign_ins: Vec<SignIn>,
}

/// Opens one shop and thinks its story out.
pub async fn open(
    acts: &Acts,
    shop: &'static Shop,
    is_first: bool,
    password: &str,
) -> Result<Opened, Broken> {
    let now = acts.clock.now();
    let then =
        Acts { clock: Clock::new(move || now - Duration::days(OPENED_DAYS_AGO)), ..acts.clone() };
    let new = |member: &Member| NewPerson {
        name: member.name.to_owned(),
        initials: member.initials.to_owned(),
        email: format!("{}@{}", member.mailbox, shop.domain),
        roles: member.roles.to_vec(),
        password: Some(password.to_owned()),
        weekly_bench_hours: member.weekly_bench_hours,
        ..NewPerson::default()
    };
    let (id, first) = then
        .open_shop(NewShop {
            name: shop.name.to_owned(),
            time_zone: diary::ZONE.to_owned(),
            currency: "EUR".to_owned(),
            proprietor: new(&shop.staff[0]),
        })
        .await
        .map_err(|halt| told(&halt))?;
    let proprietor =
        Actor::staff(id, PersonId(first.id), &first.name, shop.staff[0].roles.to_vec());
    let mut staff = vec![Hand {
        person: PersonId(first.id),
        name: first.name,
        roles: shop.staff[0].roles.to_vec(),
    }];
    for member in &shop.staff[1..] {
        let once = Once { actor: String::new(), key: None, body_hash: Vec::new() };
        let person =
            then.add_person(&proprietor, new(member), once).await.map_err(|halt| told(&halt))?;
        staff.push(Hand { person: person.id, name: person.name, roles: member.roles.to_vec() });
    }
    let today =
        Calendar::local_date(&serde_json::from_value(diary::calendar(now.date_naive()))?, now);
    let calendar = diary::calendar(today);
    let change = ShopChange {
        address: Some(shop.address.to_owned()),
        phone: Some(shop.phone.to_owned()),
        email: Some(format!("workshop@{}", shop.domain)),
        calendar: Some(calendar.clone()),
        tax_classes: Some(vec![ContentTaxClass {
            id: "standard".to_owned(),
            percent: Decimal::from(19),
        }]),
        prices_include_tax: Some(true),
        labour_rate: Some(Decimal::from(76)),
        quote_days: i32::try_from(QUOTE_DAYS).ok(),
        quote_reminder_days: Some(QUOTE_REMINDERS.to_vec()),
        pickup_reminder_days: Some(PICKUP_REMINDERS.to_vec()),
        terms: Some(shop.terms.to_owned()),
        test_settings: Some(gauge::settings()),
        // The rest stays with the typical words.
        care_notes: Some([(Family::Baritone, Some(BARITONE_NOTE.to_owned()))].into()),
        ..ShopChange::default()
    };
    then.amend_shop(&proprietor, 1, change).await.map_err(|halt| told(&halt))?;
    let rows = acts.store.read(id, lists::methods).await?;
    let methods: Methods = rows
        .iter()
        .map(|row| {
            let minutes = [row.low_minutes, row.typical_minutes, row.high_minutes];
            let facts = MethodFacts { minutes, price: row.price.to_i64().unwrap_or(0) };
            (row.name.clone(), facts)
        })
        .collect();
    let diary = Diary::new(serde_json::from_value(calendar)?, now, shop.staff.len());
    let cut = diary.within(diary.days_ago(1), 0.0);
    let story =
        tokio::task::spawn_blocking(move || thought_out(shop, is_first, diary, &methods)).await?;
    let ids = rows.into_iter().map(|row| (row.name, row.id)).collect();
    let sign_ins = shop
        .staff
        .iter()
        .map(|member| SignIn {
            email: format!("{}@{}", member.mailbox, shop.domain),
            password: password.to_owned(),
            roles: member.roles.to_vec(),
            name: member.name.to_owned(),
            shop: shop.name.to_owned(),
        })
        .collect();
    let stage = Stage::new(acts.store.clone(), Arc::clone(&acts.public_url), Arc::clone(&acts.photo_files), id, staff, story, ids);
    Ok(Opened { stage, cut, sign_ins })
}

/// Everything that happens in a shop, from its seed.
fn thought_out(shop: &Shop, is_first: bool, mut diary: Diary, methods: &Methods) -> Story {
    let mut chance = Chance::new(shop.seed);
    let mut roster = Roster::new(shop, &mut chance);
    let crew = roster::crew(shop);
    let mut visits = past::tell(shop, &mut roster, &mut diary, &mut chance, methods, &crew);
    visits.extend(present::tell(is_first, &mut roster, &mut diary, &mut chance, methods, &crew));
    for visit in &mut visits {
        reminders::add(visit, |at| diary.date(at), diary.now(), [&QUOTE_REMINDERS, &PICKUP_REMINDERS]);
    }
    visits.sort_by_key(|visit| visit.came_at);
    Story { customers: roster.customers, instruments: roster.instruments, visits }
}

fn told(halt: &Halt) -> Broken {
    format!("the demo shop could not be opened: {halt:?}").into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::cast::{MARLBECK, OSTWICK};
    use crate::demo::story::Step;
    use std::collections::HashMap;

    fn methods() -> Methods {
        [
            "Braze a crack",
            "Soft-solder a joint",
            "Patch a crack",
            "Take a dent out",
            "Free a stuck slide",
            "Free a stuck mouthpiece",
            "Align and clean valves",
            "Chemical clean and oil",
            "Replace a pad",
            "Replace a cork",
            "Replace a spring",
            "Regulate the keys",
            "Buff bright",
            "Strip and relacquer",
            "Replate a spot",
        ]
        .into_iter()
        .map(|name| (name.to_owned(), MethodFacts { minutes: [10, 25, 60], price: 40 }))
        .collect()
    }

    fn story(shop: &Shop, now: DateTime<Utc>) -> (Story, Calendar) {
        let rough: Calendar = serde_json::from_value(diary::calendar(now.date_naive())).unwrap();
        let calendar: Calendar =
            serde_json::from_value(diary::calendar(rough.local_date(now))).unwrap();
        let diary = Diary::new(calendar.clone(), now, shop.staff.len());
        (thought_out(shop, shop.seed == MARLBECK.seed, diary, &methods()), calendar)
    }

    /// Noon, night, Sunday, a minute after opening, the days on which clocks change, Christmas,
    /// the last day of February in a leap year.
    const NOWS: &[&str] = &[
        "2026-06-10T10:15:00Z",
        "2026-06-14T13:00:00Z",
        "2026-10-25T01:30:00Z",
        "2027-03-28T01:30:00Z",
        "2026-12-25T09:00:00Z",
        "2026-11-30T08:01:00Z",
        "2027-01-01T00:00:00Z",
        "2028-02-29T16:59:00Z",
        "2026-05-01T12:00:00Z",
        "2026-08-31T03:00:00Z",
    ];

    #[test]
    fn whatever_time_it_is_everything_happened_before_in_order_and_in_opening_hours() {
        for (now, shop) in NOWS.iter().flat_map(|now| [(now, &MARLBECK), (now, &OSTWICK)]) {
            let now: DateTime<Utc> = now.parse().unwrap();
            let (story, calendar) = story(shop, now);
            let mut busy: HashMap<usize, Vec<[DateTime<Utc>; 2]>> = HashMap::new();
            let mut here: HashMap<usize, DateTime<Utc>> = HashMap::new();
            for visit in &story.visits {
                assert!(
                    visit.promised_on >= calendar.local_date(visit.came_at),
                    "{now}: {visit:?}"
                );
                assert!(
                    here.insert(visit.instrument, visit.ended_at())
                        .is_none_or(|gone| gone < visit.came_at),
                    "{now}: {visit:?}"
                );
                let mut last = visit.came_at;
                for moment in &visit.moments {
                    assert!(
                        last <= moment.at && moment.at <= now,
                        "{now}: {moment:?} after {last}"
                    );
                    last = moment.at;
                    if let (Step::Work { until, .. }, crate::demo::story::By::Staff(who)) =
                        (&moment.step, moment.by)
                    {
                        let minutes = (*until - moment.at).num_minutes();
                        let open = calendar.open_seconds(moment.at, *until, &[]);
                        assert_eq!(
                            open,
                            (*until - moment.at).num_seconds(),
                            "{now}: {minutes} minutes out of hours: {moment:?}"
                        );
                        busy.entry(who).or_default().push([moment.at, *until]);
                        last = *until;
                    }
                }
            }
            for times in busy.values_mut() {
                times.sort_unstable();
                assert!(
                    times.windows(2).all(|pair| pair[0][1] <= pair[1][0]),
                    "{now}: at two benches at once"
                );
            }
        }
    }

    #[test]
    fn nobody_offers_to_alter_a_finish_that_is_to_be_kept() {
        for now in NOWS {
            let (story, _) = story(&MARLBECK, now.parse().unwrap());
            let alters = |step: &Step| matches!(step, Step::Plan(planned) if ["Buff bright", "Strip and relacquer", "Replate a spot"].contains(&planned.title.as_str()));
            let does = |kept: bool| {
                let visits = story.visits.iter().filter(|visit| visit.keep_as_is.is_some() == kept);
                visits.flat_map(|visit| &visit.moments).filter(|moment| alters(&moment.step)).count()
            };
            assert_eq!(does(true), 0, "{now}");
            assert!(does(false) > 0, "{now}: nothing is left to tell of a step that cannot be undone");
        }
    }

    #[test]
    fn the_same_seed_tells_the_same_story() {
        let now = NOWS[0].parse().unwrap();
        let told = || format!("{:?}", story(&MARLBECK, now).0);
        assert!(told() == told());
    }
}
