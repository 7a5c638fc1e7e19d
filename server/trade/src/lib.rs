//! The trade: words, rules and bench computations of a brass and woodwind repair shop.
//!
//! Everything here is a pure function or a plain value: no I/O, no clock, no
//! randomness, no environment. The time and the seed are arguments.
//!
//! * `words`: ids, stages, money, claim numbers, the shop's time.
//! * `rules`: the table of moves, what is authorised, who waits for whom.
//! * `bench`: the sums of the trade (heat, order of work, leak rates, fits).
//! * `maps`: the instrument as parts and joints, its templates and its drawing.
//! * `calculation`: how a computation reads its input and refuses it; read this first
//!   if you add one.
#![deny(missing_docs)]

pub mod bench;
pub mod calculation;
pub mod maps;
pub mod rules;
pub mod words;
