//! How often a read goes to the database and back, counted by Diesel's own instrumentation.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use diesel::connection::{Instrumentation, InstrumentationEvent, set_default_instrumentation};
use harness::{TestShop, baritone};

/// Everything that was sent to databases of this process: on which connection, and to which URL.
static SENT: Mutex<Vec<(usize, String, Flight)>> = Mutex::new(Vec::new());
static LINES: AtomicUsize = AtomicUsize::new(0);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Flight {
    /// A statement with its parameters, or a batch of them.
    Statement(String),
    /// A text is told beforehand, once for each connection.
    Prepares,
}

struct Ear {
    line: usize,
    url: String,
}

impl Instrumentation for Ear {
    fn on_connection_event(&mut self, event: InstrumentationEvent<'_>) {
        let flight = match event {
            InstrumentationEvent::StartEstablishConnection { url, .. } => {
                url.clone_into(&mut self.url);
                return;
            }
            InstrumentationEvent::StartQuery { query, .. } => Flight::Statement(query.to_string()),
            InstrumentationEvent::CacheQuery { .. } => Flight::Prepares,
            _ => return,
        };
        SENT.lock().unwrap_or_else(PoisonError::into_inner).push((self.line, self.url.clone(), flight));
    }
}

/// What one thing sends to this shop's database, transaction by transaction; nothing else may be
/// going on there.
fn sent_by(shop: &TestShop, act: impl FnOnce()) -> Vec<Vec<Flight>> {
    let url = shop.database().serving_url();
    let all = || -> Vec<(usize, Flight)> {
        let sent = SENT.lock().unwrap_or_else(PoisonError::into_inner);
        sent.iter().filter(|(_, at, _)| *at == url).map(|(line, _, flight)| (*line, flight.clone())).collect()
    };
    let before = all().len();
    act();
    let mut since = all().split_off(before);
    // The relay listens on a connection of its own.
    since.sort_by_key(|(line, _)| *line);
    let mut transactions: Vec<Vec<Flight>> = Vec::new();
    for (_, flight) in since {
        if matches!(&flight, Flight::Statement(text) if text.starts_with("BEGIN")) {
            transactions.push(vec![flight]);
        } else if let Some(transaction) = transactions.last_mut()
            && transaction.last() != Some(&Flight::Statement("COMMIT".to_owned()))
        {
            transaction.push(flight);
        }
    }
    // The relay and the rounds look into their directories of no shop's.
    transactions.retain(|transaction| matches!(&transaction[0], Flight::Statement(text) if text.contains("bellbrace.shop")));
    transactions
}

#[test]
fn an_order_by_either_name_the_board_the_evening_and_the_ring_list_take_one_statement_each() {
    set_default_instrumentation(|| Some(Box::new(Ear { line: LINES.fetch_add(1, Ordering::Relaxed), url: String::new() }))).unwrap();
    // One connection: every text is told once, and what follows one another stands so.
    let shop = TestShop::opening().without_sender().with_connections(1).open();
    let order = shop.in_pickup(&baritone());
    shop.events_have_numbers();
    let mara = shop.technician();
    for path in [
        format!("/work-orders/{order}"),
        format!("/work-orders/{}", order.claim_number()),
        format!("/work-orders/{order}/tests"),
        format!("/operations/{}", order.operations()[0]["id"].as_str().unwrap()),
        "/board".to_owned(),
        "/evening".to_owned(),
        "/ring-list".to_owned(),
    ] {
        let ask = || {
            let transactions = sent_by(&shop, || {
                mara.get(&path).done();
            });
            assert_eq!(transactions.len(), 1, "{path}: {transactions:?}");
            transactions.into_iter().next().unwrap()
        };
        ask();
        let flights = ask();
        let texts: Vec<&str> = flights
            .iter()
            .map(|flight| match flight {
                Flight::Statement(text) => text.as_str(),
                Flight::Prepares => "prepares",
            })
            .collect();
        // The shop is set in the flight that begins; an operation is looked up before its order.
        let statements = if path.starts_with("/operations") { 2 } else { 1 };
        assert_eq!(texts.len(), statements + 2, "{path}: {texts:#?}");
        assert!(texts[0].starts_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY; SELECT set_config('bellbrace.shop'"), "{path}: {}", texts[0]);
        let reads = |text: &&str| ["SELECT", "WITH"].contains(&text.lines().find(|line| !line.starts_with("--")).and_then(|line| line.split(' ').next()).unwrap_or(""));
        assert!(texts[1..=statements].iter().all(reads), "{path}: {texts:#?}");
        assert_eq!(texts.last(), Some(&"COMMIT"), "{path}");
    }
}

#[test]
fn whoever_sets_no_shop_reads_no_order_and_no_board() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let id: uuid::Uuid = order.id().parse().unwrap();
    let store = shop.acts().store.clone();
    let read = store.directory(move |conn| {
        let named = store::order_rows::Named::Id(trade::words::ids::WorkOrderId(id));
        Ok::<_, store::Error>(store::order_rows::find(conn, named)?.is_some())
    });
    let board = store.directory(|conn| Ok::<_, store::Error>(store::board::board(conn, chrono::DateTime::UNIX_EPOCH)?.orders.len()));
    for refused in [harness::runtime().block_on(read).err(), harness::runtime().block_on(board).err()] {
        let refused = refused.expect("an error, not an empty answer");
        let cause = std::error::Error::source(&refused).map(ToString::to_string).unwrap_or_default();
        assert!(cause.contains("bellbrace.shop") || cause.contains("invalid input syntax for type uuid"), "{refused}: {cause}");
    }
    shop.mail_has_gone();
}
