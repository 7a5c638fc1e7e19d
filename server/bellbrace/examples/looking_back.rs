//! Looks back on a shop's closed orders: were its forecasts right?
//!
//! `DATABASE_URL=… cargo run --release -p bellbrace --example looking_back` prints, for every shop of
//! the database, how many closed orders were ready by the P50, P85 and P95 that would have been told
//! on their first day, and in how many no more turned up than would have been told with the quote;
//! each share with its count and its Wilson 95 % interval.

use std::error::Error;

use acts::Halt;
use chrono::{NaiveDate, Utc};
use store::{Store, forecasts, further, shops};
use trade::rules::further::{SeenOrder, told_with_the_quote};
use trade::rules::promises::ShopAtWork;
use trade::rules::promises::looking_back::{OrderRecord, Told, told_on_the_first_day};
use trade::words::ids::ShopId;

/// Enough for a date: the shares of a forecast are then within one of 100.
const DRAWS: u32 = 2_000;

type Outcome = Result<(), Box<dyn Error + Send + Sync>>;

fn main() -> Outcome {
    let url = std::env::var("DATABASE_URL").map_err(|_| "set DATABASE_URL to the serving role's database")?;
    tokio::runtime::Builder::new_multi_thread().enable_all().build()?.block_on(look_back(&url))
}

async fn look_back(url: &str) -> Outcome {
    let store = Store::new(url, 1);
    let ids: Vec<ShopId> = store.directory(shops::ids).await.map_err(|error| error.to_string())?;
    #[expect(clippy::disallowed_methods, reason = "a program that looks at the past begins now")]
    let now = Utc::now();
    for shop in ids {
        let read = store
            .read(shop, move |conn| {
                let name = shops::current(conn)?.name;
                let at_work = forecasts::at_work(conn, now, None)?;
                let records = forecasts::records(conn)?;
                let mut seen = further::history(conn)?;
                seen.reverse();
                Ok::<_, Halt>((name, at_work, records, seen))
            })
            .await;
        let (name, at_work, records, seen) = read.map_err(|halt| format!("{halt:?}"))?;
        say(&name, &at_work, &records, &seen);
    }
    Ok(())
}

fn say(name: &str, shop: &ShopAtWork, records: &[OrderRecord], seen: &[SeenOrder]) {
    println!("{name}: {} orders", records.len());
    let told = told_on_the_first_day(records, &shop.people, &shop.calendar, DRAWS);
    let early: Vec<&Told> = told.iter().filter(|one| one.closed_orders_count < 20).collect();
    let later: Vec<&Told> = told.iter().filter(|one| one.closed_orders_count >= 20).collect();
    for (words, told) in [("typical figures", &early), ("own figures", &later)] {
        println!("  ready by the date told on the first day, {words}:");
        let by = |date: fn(&Told) -> NaiveDate| told.iter().filter(|one| one.ready_on <= date(one)).count();
        share("P50", by(|one| one.ready_p50), told.len());
        share("P85", by(|one| one.ready_p85), told.len());
        share("P95", by(|one| one.ready_p95), told.len());
        let mut days: Vec<i64> = told.iter().map(|one| (one.ready_on - one.ready_p50).num_days()).collect();
        days.sort_unstable();
        if let (Some(low), Some(middle), Some(high)) = (days.get(days.len() / 10), days.get(days.len() / 2), days.get(days.len() * 9 / 10)) {
            println!("    days from the P50 to the day it was ready: {low} / {middle} / {high} (10, 50, 90 of 100)");
        }
    }
    println!("  no more turned up later than told with the quote:");
    let counts = told_with_the_quote(seen);
    for (at, quantile) in ["P50", "P85", "P95"].iter().enumerate() {
        share(quantile, counts.iter().filter(|(told, later)| *later <= told[at]).count(), counts.len());
    }
}

/// A share with its count and its Wilson 95 % interval (E. B. Wilson 1927).
fn share(words: &str, kept: usize, of: usize) {
    if of == 0 {
        println!("    {words}: none to look at");
        return;
    }
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let (n, p) = (of as f64, kept as f64 / of as f64);
    let z = 1.959_963_984_540_054_f64;
    let centre = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    println!("    {words}: {:.1} % ({kept} of {of}; {:.1} to {:.1} %)", p * 100.0, (centre - half) * 100.0, (centre + half) * 100.0);
}
