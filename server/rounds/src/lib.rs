//! What the clock does: numbers events, sends the outbox, forecasts, lets quotes run out, stops
//! clocks.
//!
//! Each round runs until the process stops. Rounds of several processes share the work: the
//! relay holds an advisory lock, letters are leased, and the rest are acts that do nothing when
//! another did them first.
//! Read first: `relay.rs`, then `outbox.rs`.
#![deny(missing_docs)]

pub mod forecasts;
pub mod hours;
pub mod outbox;
pub mod relay;
