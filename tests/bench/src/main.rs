//! Diesel on blocking threads beside diesel-async, on the product's own tables and statements:
//! one read, the board, one stage change. Each arm runs for some seconds and prints its rate and
//! the CPU time it took; `run` interleaves the arms with pgbench on the same SQL.
//!
//! Usage: `bellbrace-bench cluster FOLDER` keeps a seeded cluster until standard input ends;
//! `bellbrace-bench ARM WORK URL SECONDS CLIENTS` runs one arm; `bellbrace-bench token KEYFILE`
//! prints an access token for the requests over HTTP; `bellbrace-bench statement order|board` the
//! statement that the product sends for one.

use chrono::{DateTime, NaiveDate, Utc};
use diesel::connection::SimpleConnection;
use diesel::prelude::{Connection, PgConnection, QueryableByName};
use diesel::sql_types::{BigInt, Date, Integer, Text, Uuid as SqlUuid};
use diesel_async::pooled_connection::deadpool::Pool;
use diesel_async::pooled_connection::{AsyncDieselConnectionManager, ManagerConfig, RecyclingMethod};
use diesel_async::AsyncPgConnection;
use rand::RngExt;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use store::Store;
use uuid::Uuid;

mod asynchronous;
mod blocking;

type Fault = Box<dyn std::error::Error + Send + Sync>;

const SHOP: Uuid = Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0001);
const READ: &str = include_str!("../read.sql");
const BOARD: &str = include_str!("../../../server/store/src/board.sql");

/// The writes of one stage change, statement by statement, as the acts write them.
const CHANGE: [&str; 7] = [
    "UPDATE work_orders SET stage = CASE stage WHEN 'bench' THEN 'leak_test' ELSE 'bench' END, version = version + 1, changed_at = now() WHERE id = $1 RETURNING version, stage::text AS stage",
    "INSERT INTO stage_changes (shop_id, id, work_order_id, number, from_stage, to_stage, because, by_words, changed_at) VALUES (current_setting('bellbrace.shop')::uuid, $2, $1, $3, NULL, $4, 'bench_done', 'x', now())",
    "INSERT INTO letters (shop_id, id, work_order_id, stage_change_id, kind, state, to_customer_id, to_name, to_email, message_id, subject, text, html, queued_at) SELECT shop_id, $2, id, $2, 'bench_done', 'waiting', customer_id, 'x', 'x@bench.example', $2::text, 's', 'a letter of some length', '<p>a letter of some length</p>', now() FROM work_orders WHERE id = $1",
    "INSERT INTO outbox (letter_id, shop_id, due_at) VALUES ($1, current_setting('bellbrace.shop')::uuid, now())",
    "INSERT INTO events (shop_id, id, kind, work_order_id, data, happened_at) VALUES (current_setting('bellbrace.shop')::uuid, $2, 'stage_changed', $1, '{\"kind\": \"stage_changed\"}', now())",
    "INSERT INTO event_queue (event_id, shop_id) VALUES ($1, current_setting('bellbrace.shop')::uuid)",
    "INSERT INTO audit (shop_id, id, act, work_order_id, by_words, happened_at) VALUES (current_setting('bellbrace.shop')::uuid, $2, 'stage_changed', $1, 'x', now())",
];

#[derive(QueryableByName)]
#[expect(dead_code, reason = "read to be decoded, as a handler would")]
struct One {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = BigInt)]
    claim_count: i64,
    #[diesel(sql_type = Integer)]
    version: i32,
    #[diesel(sql_type = Text)]
    stage: String,
    #[diesel(sql_type = Text)]
    complaint: String,
    #[diesel(sql_type = Date)]
    promised_on: NaiveDate,
    #[diesel(sql_type = Text)]
    customer_name: String,
    #[diesel(sql_type = Text)]
    family: String,
}

#[derive(QueryableByName)]
#[expect(dead_code, reason = "read to be decoded, as a handler would")]
struct BoardRow {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = BigInt)]
    claim_count: i64,
    #[diesel(sql_type = Integer)]
    version: i32,
    #[diesel(sql_type = Text)]
    stage: String,
    #[diesel(sql_type = diesel::sql_types::Timestamptz)]
    stage_since: DateTime<Utc>,
    #[diesel(sql_type = Date)]
    promised_on: NaiveDate,
    #[diesel(sql_type = Text)]
    customer_name: String,
    #[diesel(sql_type = Text)]
    family: String,
}

#[derive(QueryableByName)]
struct Moved {
    #[diesel(sql_type = Integer)]
    version: i32,
    #[diesel(sql_type = Text)]
    stage: String,
}

fn open_order() -> Uuid {
    order(rand::rng().random_range(19_801..=20_000))
}

fn any_order() -> Uuid {
    order(rand::rng().random_range(1..=20_000))
}

fn order(number: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_b000_0000_0000_0000 + number)
}

fn begin() -> String {
    format!(
        "BEGIN; SELECT set_config('bellbrace.shop', '{SHOP}', true), set_config('statement_timeout', '15s', true), set_config('lock_timeout', '5s', true)"
    )
}

fn main() -> Result<(), Fault> {
    let words: Vec<String> = std::env::args().collect();
    let word = |at: usize| words.get(at).map(String::as_str).unwrap_or_default();
    if word(1) == "cluster" {
        return cluster(word(2));
    }
    if word(1) == "token" {
        return token(word(2));
    }
    if word(1) == "statement" {
        let statement = if word(2) == "board" { store::board::statement()? } else { store::order_rows::statement()? };
        println!("{statement}");
        return Ok(());
    }
    let seconds: u64 = word(4).parse()?;
    let clients: usize = word(5).parse()?;
    tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?.block_on(arm(
        word(1),
        word(2),
        word(3),
        seconds,
        clients,
    ))
}

/// Prints an access token of the seeded person, made with the key file of a running server.
fn token(key_file: &str) -> Result<(), Fault> {
    let secret: [u8; 32] = std::fs::read(key_file)?.try_into().map_err(|_| "the key file holds no 32 bytes")?;
    let keys = bellbrace_http::Keys::new(&secret, Duration::from_secs(600));
    let roles = vec![trade::words::stage::Role::Technician];
    let (token, _) = keys.access(
        trade::words::ids::PersonId(Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0002)),
        trade::words::ids::ShopId(SHOP),
        Uuid::now_v7(),
        "Bench Person",
        roles,
    )?;
    println!("{token}");
    Ok(())
}

/// Keeps a fresh, seeded cluster until standard input ends; prints its serving URL.
fn cluster(folder: &str) -> Result<(), Fault> {
    let cluster = bellbrace::cluster::Cluster::start(&bellbrace::cluster::Plan::new(std::path::Path::new(folder)))?;
    store::migrate::migrate(&cluster.owner_url(), &store::migrate::role_of(&cluster.serving_url())?)?;
    let mut conn = PgConnection::establish(&cluster.serving_url())?;
    conn.batch_execute("BEGIN")?;
    conn.batch_execute(include_str!("../seed.sql"))?;
    conn.batch_execute("COMMIT")?;
    PgConnection::establish(&cluster.owner_url())?.batch_execute("ANALYZE")?;
    println!("{}", cluster.serving_url());
    let mut rest = String::new();
    std::io::Read::read_to_string(&mut std::io::stdin(), &mut rest)?;
    cluster.stop();
    Ok(())
}

async fn arm(arm: &str, work: &str, url: &str, seconds: u64, clients: usize) -> Result<(), Fault> {
    let count = Arc::new(AtomicU64::new(0));
    let until = Instant::now() + Duration::from_secs(seconds);
    let cpu = cpu_seconds();
    let mut tasks = tokio::task::JoinSet::new();
    match arm {
        "blocking" => {
            let store = Store::new(url, 8);
            for _ in 0..clients {
                let (store, count, work) = (store.clone(), Arc::clone(&count), work.to_owned());
                tasks.spawn(async move {
                    while Instant::now() < until {
                        blocking::once(&store, &work).await?;
                        count.fetch_add(1, Ordering::Relaxed);
                    }
                    Ok::<(), Fault>(())
                });
            }
        }
        "async" => {
            let mut config = ManagerConfig::default();
            config.recycling_method = RecyclingMethod::Fast;
            let manager = AsyncDieselConnectionManager::<AsyncPgConnection>::new_with_config(url, config);
            let pool = Pool::builder(manager).max_size(8).build()?;
            for _ in 0..clients {
                let (pool, count, work) = (pool.clone(), Arc::clone(&count), work.to_owned());
                tasks.spawn(async move {
                    while Instant::now() < until {
                        asynchronous::once(&pool, &work).await?;
                        count.fetch_add(1, Ordering::Relaxed);
                    }
                    Ok::<(), Fault>(())
                });
            }
        }
        other => return Err(format!("no arm {other:?}").into()),
    }
    while let Some(done) = tasks.join_next().await {
        done??;
    }
    let done = count.load(Ordering::Relaxed);
    #[expect(clippy::cast_precision_loss, reason = "a rate")]
    let rate = done as f64 / seconds as f64;
    #[expect(clippy::cast_precision_loss, reason = "a rate")]
    let cpu = (cpu_seconds() - cpu) * 1e6 / done.max(1) as f64;
    println!("{rate:.0} {cpu:.1}");
    Ok(())
}

/// User and system time of this process, in seconds, from /proc.
fn cpu_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    let ticks = |at: usize| fields.get(at).and_then(|f| f.parse::<f64>().ok()).unwrap_or(0.0);
    (ticks(11) + ticks(12)) / 100.0
}
