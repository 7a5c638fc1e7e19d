//! Pages for customers, and the first page of a new shop: plain HTML that works without
//! script and prints. Views only: they take the plain fields of [`facts`] and give HTML.
//!
//! The handlers answer with [`CONTENT_POLICY`], `Referrer-Policy: no-referrer` and
//! `Cache-Control: no-store`, and serve [`CUSTOMER_CSS`] at [`customer_css_address`].

pub mod answer;
pub mod facts;
pub mod frame;
pub mod notices;
pub mod password;
pub mod ready_ics;
pub mod start;
pub mod status;

use sha2::{Digest, Sha256};
use std::sync::LazyLock;

pub use answer::{answer_page, answered_page, not_answerable_page};
pub use notices::{
    cannot_read_page, database_away_page, fault_page, no_date_page, ran_out_link_page,
    too_large_page, too_many_tries_page, unknown_link_page, withdrawn_link_page,
    wrong_method_page,
};
pub use password::{PasswordPage, password_chosen_page, password_page, password_used_page};
pub use ready_ics::{ReadyDay, ready_ics};
pub use start::{start_page, start_used_page, started_page};
pub use status::status_page;

/// The one sheet of these pages.
pub const CUSTOMER_CSS: &str = include_str!("customer.css");

/// Where the sheet is served: its address changes with its content, so a browser may keep it
/// for good.
#[must_use]
pub fn customer_css_address() -> &'static str {
    static ADDRESS: LazyLock<String> = LazyLock::new(|| {
        let hash: String = Sha256::digest(CUSTOMER_CSS).iter().take(6).map(|byte| format!("{byte:02x}")).collect();
        format!("/assets/customer.css?{hash}")
    });
    &ADDRESS
}

/// `Content-Security-Policy` under which these pages work in full.
pub const CONTENT_POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; \
     form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
