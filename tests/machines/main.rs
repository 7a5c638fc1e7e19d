//! Random acts against a small model of the rules, and faults in the middle of things.
#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod chance;
mod faults;
mod model;
mod rules;
mod walk;

use std::sync::atomic::{AtomicU64, Ordering};

/// How many walks, and how many acts each. `BELLBRACE_SEED` replays one walk and tells every act;
/// `BELLBRACE_WALKS` walks more of them.
const WALKS: u64 = 1000;
const ACTS: usize = 50;

#[test]
fn a_thousand_walks_of_fifty_acts_go_as_the_table_of_moves_says() {
    if let Ok(seed) = std::env::var("BELLBRACE_SEED") {
        let shop = walk::ground();
        walk::Walk::begin(&shop, seed.parse().unwrap(), true).go(ACTS);
        return;
    }
    let walks = std::env::var("BELLBRACE_WALKS").map_or(WALKS, |walks| walks.parse().unwrap());
    let next = AtomicU64::new(0);
    let began = std::time::Instant::now();
    let told = std::thread::scope(|threads| {
        let walkers: Vec<_> = (0..2)
            .map(|_| {
                threads.spawn(|| {
                    let shop = walk::ground();
                    let mut told = walk::Told::default();
                    loop {
                        let seed = next.fetch_add(1, Ordering::Relaxed);
                        if seed >= walks {
                            return told;
                        }
                        let _says_which = OnPanic(seed);
                        told.add(walk::Walk::begin(&shop, seed, false).go(ACTS));
                    }
                })
            })
            .collect();
        walkers.into_iter().map(|walker| walker.join().unwrap()).reduce(walk::Told::and).unwrap()
    });
    // A walk that goes nowhere proves nothing: every row of the table is walked, and most acts
    // are both done and refused.
    eprintln!("{told}in {:.0?}", began.elapsed());
    told.is_wide();
}

/// Says which walk failed, so that it can be walked again alone.
struct OnPanic(u64);

impl Drop for OnPanic {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("walk {} failed: BELLBRACE_SEED={} cargo test -p bellbrace-tests --test machines walks", self.0, self.0);
        }
    }
}
