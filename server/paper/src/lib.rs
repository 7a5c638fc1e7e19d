//! What is printed at the counter: the label, the tag with its stub, the receipt.
//!
//! * [`facts`]: what a paper may know, as plain fields.
//! * [`square`]: the square that a phone reads (QR code), drawn to the dots of a label printer.
//! * [`sheets`]: the paper sizes and the style sheet of each; the server gives them out.
//! * [`label_page`], [`tag_page`], [`receipt_page`]: whole pages of HTML that need no script.
//!
//! Black on white, nothing told by tint, each paper with its own page size. The shop's half
//! carries the staff address of the order, which needs a sign-in; only the stub and the receipt
//! carry the customer's own link.
//!
//! It never reads the database or the clock, and issues no links: whoever prints has done so.
//! Start with `facts.rs`.
#![deny(missing_docs)]

pub mod facts;
pub mod sheets;
pub mod square;

mod frame;
mod label;
mod receipt;
mod tag;

pub use label::label_page;
pub use receipt::receipt_page;
pub use tag::tag_page;
