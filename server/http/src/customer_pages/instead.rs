//! The page that is shown instead of the one asked for.

use super::page;
use crate::pages::{
    cannot_read_page, database_away_page, fault_page, no_date_page, password_used_page, ran_out_link_page,
    start_used_page, too_large_page, too_many_tries_page, unknown_link_page, withdrawn_link_page,
    wrong_method_page,
};
use crate::problem::{Kind, Problem};
use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, ResponseError};
use acts::Halt;
use std::fmt;

/// After so many seconds a page may be asked for again: a minute, as its words say.
const AGAIN_IN_SECONDS: &str = "60";

/// Why another page is shown.
#[derive(Debug)]
pub(super) enum Instead {
    /// The link opens nothing.
    Unknown,
    /// The shop withdrew the link.
    Withdrawn {
        /// The shop's telephone number.
        phone: Option<String>,
    },
    /// The link's own time is over.
    RanOut {
        /// The shop's telephone number.
        phone: Option<String>,
    },
    /// The start page was used.
    StartUsed,
    /// The link for a password was used, or ran out.
    PasswordUsed,
    /// No date lies ahead.
    NoDate {
        /// The status page.
        status_url: String,
    },
    /// Too many unknown links from one address.
    TooMany,
    /// The form is none, or was changed on the way.
    Unreadable {
        /// The page whose form it was.
        back: Option<String>,
    },
    /// The body is of another type than a form.
    WrongType,
    /// The form is larger than 64 KiB.
    TooLarge,
    /// The address knows no such method.
    WrongMethod {
        /// Those it knows.
        allow: &'static str,
    },
    /// The records are away, or the fault is ours.
    Trouble(Problem),
}

impl From<Halt> for Instead {
    fn from(halt: Halt) -> Self {
        Self::Trouble(halt.into())
    }
}

impl From<store::Error> for Instead {
    fn from(error: store::Error) -> Self {
        Self::Trouble(error.into())
    }
}

impl fmt::Display for Instead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("another page is shown")
    }
}

impl Instead {
    fn is_away(problem: &Problem) -> bool {
        problem.kind() == Kind::RecordsAway
    }
}

impl ResponseError for Instead {
    fn status_code(&self) -> StatusCode {
        match self {
            Self::Unknown | Self::NoDate { .. } | Self::StartUsed | Self::PasswordUsed => StatusCode::NOT_FOUND,
            Self::Withdrawn { .. } | Self::RanOut { .. } => StatusCode::GONE,
            Self::TooMany => StatusCode::TOO_MANY_REQUESTS,
            Self::Unreadable { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            Self::WrongType => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::WrongMethod { .. } => StatusCode::METHOD_NOT_ALLOWED,
            Self::Trouble(problem) if Self::is_away(problem) => StatusCode::SERVICE_UNAVAILABLE,
            Self::Trouble(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn error_response(&self) -> HttpResponse {
        let content = match self {
            Self::Unknown => unknown_link_page(),
            Self::Withdrawn { phone } => withdrawn_link_page(phone.as_deref()),
            Self::RanOut { phone } => ran_out_link_page(phone.as_deref()),
            Self::StartUsed => start_used_page(),
            Self::PasswordUsed => password_used_page(),
            Self::NoDate { status_url } => no_date_page(status_url),
            Self::TooMany => too_many_tries_page(1),
            Self::Unreadable { back } => cannot_read_page(back.as_deref()),
            Self::WrongType => cannot_read_page(None),
            Self::TooLarge => too_large_page(),
            Self::WrongMethod { .. } => wrong_method_page(),
            Self::Trouble(problem) => {
                problem.write_down();
                if Self::is_away(problem) { database_away_page() } else { fault_page() }
            }
        };
        let mut answer = page(self.status_code(), content);
        let headers = answer.headers_mut();
        match self {
            Self::TooMany => {
                headers.insert(
                    header::RETRY_AFTER,
                    header::HeaderValue::from_static(AGAIN_IN_SECONDS),
                );
            }
            Self::Trouble(problem) if Self::is_away(problem) => {
                headers.insert(
                    header::RETRY_AFTER,
                    header::HeaderValue::from_static(AGAIN_IN_SECONDS),
                );
            }
            Self::WrongMethod { allow } => {
                headers.insert(header::ALLOW, header::HeaderValue::from_static(allow));
            }
            _ => {}
        }
        answer
    }
}
