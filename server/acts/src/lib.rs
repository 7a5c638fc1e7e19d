//! What people do, one transaction each.
//!
//! An act opens the one transaction, asks the rules, writes rows, queues the letter and the
//! live event, and gives back what a screen shows. It sends nothing and spawns nothing.
//! An act that needs another calls its `Tx` form, so there is still one transaction.
//!
//! Never here: HTTP words, SQL, sending.
//! Read first: `desk.rs` (who asks, when, and what can be in the way), then `moving.rs`
//! (the only function that changes a stage), then the act you need.
#![deny(missing_docs)]

mod checks;
mod desk;
mod given;
mod honest_range;
mod letter_facts;
mod moving;
mod opening_hours;
mod quote_told;
mod since_seen;

pub mod amend_order;
pub mod ask_again;
pub mod bench_looks;
pub mod change_stage;
pub mod check_fit;
pub mod check_in;
pub mod choose_way;
pub mod claim;
pub mod clockwork;
pub mod contacts;
pub mod decide;
pub mod done_at_counter;
pub mod drawn_map;
pub mod end;
pub mod forecast;
pub mod hand_over;
pub mod links;
pub mod methods;
pub mod operations;
pub mod papers;
pub mod part_maps;
pub mod passwords;
pub mod photos;
pub mod picture;
pub mod plans;
pub mod quotes;
pub mod record_finding;
pub mod record_test;
pub mod ring_list;
pub mod send_again;
pub mod shop;
pub mod sign_in;
pub mod small_things;

pub use desk::{Actor, Acts, Clock, Halt};
pub use since_seen::{ChangeSince, SinceSeen};
pub use quote_told::{QuoteTold, ToldBefore, accepted_before, asked_anew, quote_told, rest_goes_on};
pub use letter_facts::{
    customer_words, customers_number, finding_words, instrument_in_full, left_on_purpose, not_repaired, passed_apart_from,
    pressure_that_passes, test_found, tested_words, tests_passed, to_look_at,
};
pub use opening_hours::hours_in_words;
