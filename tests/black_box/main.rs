//! What a customer, a client, a script or whoever keeps the database can see: HTTP, pages, mail,
//! the API document, PostgreSQL's catalogue. One module for each part.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

mod authority;
mod care_notes;
mod catalogue;
mod claims;
mod contract;
mod counter;
mod database;
mod decisions;
mod endings;
mod evening;
mod fits;
mod flights;
mod forecasts;
mod honest_range;
mod leaning;
mod letters;
mod links;
mod loopholes;
mod methods;
mod migrations;
mod moves;
mod overtaken;
mod owners_pages;
mod papers;
mod part_maps;
mod people;
mod photos;
mod plans;
mod plausible;
mod put_right;
mod record;
mod reminders;
mod repeating;
mod ring_list;
mod secrets;
mod settling;
mod shops_apart;
mod story;
mod sweeps;
mod tests;
mod versions;
