//! What the tests stand on: a shop of their own in a few milliseconds.
//!
//! [`TestShop::open`] gives a database copied from a migrated template, a server on a free port
//! of this machine, a clock to move, a mailbox to read, and staff of every role. Its people
//! speak the trade: `shop.technician().claim(&order)`. Whatever they are told comes back as an
//! [`Answer`]: `.done()` when it must have worked, `.refused(409, "ending")` when it must not.
//! Dropping the shop removes its database, and fails the test when a letter was left unsent
//! that nobody looked at.
//!
//! Nothing here judges the server; that is the tests' own work.
//! Read first: `shop.rs`, then `people.rs`, then `visits.rs`.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

pub mod answer;
pub mod clock;
pub mod invariants;
pub mod live;
pub mod mailbox;
pub mod pictures;
pub mod people;
pub mod postgres;
pub mod server;
pub mod shop;
pub mod smtp;
pub mod visits;

use std::sync::OnceLock;
use std::time::{Duration, Instant};

pub use answer::Answer;
pub use clock::HandClock;
pub use live::{Change, Changes};
pub use mailbox::{Mailbox, Mail};
pub use people::{Order, Person, Request};
pub use server::{ChildServer, Server};
pub use shop::{Opening, TestShop};
pub use smtp::SmtpServer;
pub use visits::{Crack, Step, Visit, baritone, crack, finding, line, step, trumpet};

/// The runtime on which every server of this test binary runs.
pub fn runtime() -> &'static tokio::runtime::Runtime {
    static ONE: OnceLock<tokio::runtime::Runtime> = OnceLock::new();
    ONE.get_or_init(|| {
        tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap()
    })
}

/// How long anything is waited for. Everything awaited takes far less on an idle machine.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// Waits until `look` finds something.
///
/// # Panics
/// When it never does.
pub fn until<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let began = Instant::now();
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(began.elapsed() < PATIENCE, "never: {what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}
