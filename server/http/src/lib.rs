//! Requests and answers: routes, what a request must bring, problems, live events, the
//! customers' pages, the OpenAPI document, and the staff client's files.
//!
//! A handler makes the question, calls the act, and gives the answer. It opens no
//! transaction, writes no SQL, and sends no mail.
//! Read first: `routes.rs`, then the resource in `staff/`, then `extract/`.
#![deny(missing_docs)]

pub mod customer_pages;
pub mod extract;
pub mod head;
pub mod health;
pub mod live;
pub mod openapi;
pub mod pages;
pub mod problem;
pub mod routes;
pub mod server;
pub mod staff;
pub mod staff_client;
pub mod state;
pub mod tokens;

pub use live::Live;
pub use routes::all as routes;
pub use state::Parts;
pub use tokens::Keys;
