//! The parts of the server's binary that stand on their own: the private
//! PostgreSQL ([`cluster`]), the settings ([`settings`]), what can be told to be
//! wrong before anything starts ([`check`]), the log ([`logging`]), and how
//! everything is put together ([`wiring`]).
//!
//! No rule of the trade lives here, no SQL but the two roles and the database
//! of a new cluster, and no handler of HTTP. It is a library only so that the
//! tests can start the same PostgreSQL in the same way as the binary does.
//! Read `main.rs` first, then `wiring.rs`.

pub mod check;
pub mod cluster;
pub mod database;
pub mod demo;
pub mod logging;
pub mod settings;
pub mod signals;
pub mod wiring;
