//! Letters to customers: what they say, and how they leave the house.
//!
//! * [`kinds`]: every kind of letter, who gets it, and who would rather not.
//! * [`facts`]: what a letter may know, as plain fields. It has no place for anything
//!   that is for staff only.
//! * [`wording`]: one source of words, giving subject, HTML and plain text.
//! * [`envelope`]: the message as bytes, with its headers.
//! * [`sender`] and [`folder`]: by SMTP, or into a folder on this machine.
//! * [`secrets`]: what is taken out of a letter's words once it has gone.
//! * [`retries`]: when to try again, and when to give up.
//!
//! It never reads the database, the clock or the environment, and keeps no outbox:
//! which letter is due, and what was tried already, is told by the caller.
//! Start with `kinds.rs`.

pub mod envelope;
pub mod facts;
pub mod folder;
pub mod kinds;
pub mod retries;
pub mod secrets;
pub mod sender;
pub mod wording;

pub use envelope::{Envelope, Malformed, Message, Person};
pub use facts::LetterFacts;
pub use folder::Folder;
pub use kinds::{Addressees, LetterKind, Verdict, Wish};
pub use sender::{Outcome, Post, Sender};
pub use wording::{Letter, PasswordFacts, PasswordLetter, compose, compose_password};
