//! The records: the only crate that knows Diesel and SQL.
//!
//! [`Store`] gives three doors: [`Store::read`], [`Store::write`] and
//! [`Store::write_once`]. Each runs a closure in one transaction on a blocking
//! thread, with the shop set for row-level security. A closure that has begun is
//! finished even when the browser hangs up. Writing needs a [`Tx`], and only this
//! crate makes one, so writing outside a transaction does not compile.
//!
//! Never here: rules, HTTP words, sending anything.
//! Read first: `door.rs`, then `order_rows.rs`, then the file of the thing you need.
#![deny(missing_docs)]

mod door;
mod error;
mod rows;
mod word;

pub mod audit;
pub mod board;
pub mod customers;
pub mod decisions;
pub mod desk_fields;
pub mod evening;
pub mod events;
pub mod findings;
pub mod fit_checks;
pub mod forecasts;
pub mod further;
pub mod instruments;
pub mod keys;
pub mod letters;
pub mod links;
pub mod lists;
pub mod migrate;
pub mod one_time_links;
pub mod operations;
pub mod order_facts;
pub mod order_rows;
pub mod order_view;
pub mod part_maps;
pub mod people;
pub mod photo_files;
pub mod photos;
pub mod pressure_tests;
pub mod plans;
pub mod quotes;
pub mod ring_list;
pub mod schema;
pub mod search;
pub mod sessions;
pub mod shops;
pub mod small_things;
pub mod views;
pub mod work_orders;

pub use diesel::pg::PgConnection as Conn;
pub use door::{Once, Store, Tx};
pub use error::Error;
pub use word::Word;
