//! What a customer, a client, a script or whoever keeps the database can see: HTTP, pages, mail,
//! the API document, PostgreSQL's catalogue. One module for each part.
#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]
//! What a customer or a client can see: HTTP, pages, mail. One module for each part.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

mod authority;
mod claims;
mod counter;
mod decisions;
mod endings;
mod letters;
mod links;
mod moves;
mod record;
mod repeating;
mod catalogue;
mod database;
mod leaning;
mod migrations;
mod shops_apart;
mod story;
mod versions;
