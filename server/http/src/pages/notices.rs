//! Pages that say why there is no other page.

use super::frame::{page, telephone};
use maud::{Markup, html};
use trade::words::said::one_line;

/// A link that the shop has withdrawn: says so and gives the telephone number, nothing else.
/// Neither the shop nor the order is named, since whoever holds it now may be anybody.
#[must_use]
pub fn withdrawn_link_page(phone: Option<&str>) -> Markup {
    page(
        "This link was withdrawn",
        None,
        html! {
            h1 { "This link was withdrawn" }
            @match phone.map(one_line).filter(|phone| !phone.is_empty()) {
                Some(phone) => p { "If you need it, ring " (telephone(&phone)) "." },
                None => p { "If you need it, ask the shop for a new one." },
            }
        },
    )
}

/// A link whose own time is over. Like a withdrawn one it names nothing but the number.
#[must_use]
pub fn ran_out_link_page(phone: Option<&str>) -> Markup {
    page(
        "This link has run out",
        None,
        html! {
            h1 { "This link has run out" }
            @match phone.map(one_line).filter(|phone| !phone.is_empty()) {
                Some(phone) => p { "If you need a new one, ring " (telephone(&phone)) "." },
                None => p { "If you need a new one, ask the shop." },
            }
        },
    )
}

/// A link that opens nothing. No shop is known here.
#[must_use]
pub fn unknown_link_page() -> Markup {
    page(
        "This link opens nothing",
        None,
        html! {
            h1 { "This link opens nothing" }
            p {
                "Perhaps a letter of it was lost, as when a long address is broken over two \
                 lines. Open it from the e-mail once more, or copy the whole of it."
            }
            p { "If that does not help, ask the shop for a new one; its number is on your receipt." }
        },
    )
}

/// Too many tries from one place; served with 429 and `Retry-After`.
///
/// * `wait_minutes`: rounded up.
#[must_use]
pub fn too_many_tries_page(wait_minutes: u32) -> Markup {
    page(
        "Too many tries",
        None,
        html! {
            h1 { "Too many tries" }
            p {
                "This was asked for too often from where you are. Nothing was recorded. Please \
                 try again in "
                @match wait_minutes {
                    0 | 1 => "a minute",
                    minutes => { (minutes) " minutes" }
                }
                "."
            }
        },
    )
}

/// The database is away; served with 503 and `Retry-After`.
#[must_use]
pub fn database_away_page() -> Markup {
    page(
        "Please try again",
        None,
        html! {
            h1 { "Please try again in a minute" }
            p {
                "The shop’s records are out of reach just now, so this page cannot be shown. \
                 If you sent an answer, we cannot say whether it was recorded: open the link \
                 again in a minute, and it will tell you."
            }
        },
    )
}

/// No date can be put into a calendar now; served with 404.
#[must_use]
pub fn no_date_page(status_url: &str) -> Markup {
    page(
        "No date to put down",
        None,
        html! {
            h1 { "There is no date to put down now" }
            p { "Its planned day is over, or it has left the shop." }
            p { a.btn href=(status_url) { "See how it is going" } }
        },
    )
}

/// A form that could not be read; served with 415 or 422.
///
/// * `back`: the page whose form it was.
#[must_use]
pub fn cannot_read_page(back: Option<&str>) -> Markup {
    page(
        "This could not be read",
        None,
        html! {
            h1 { "What was sent could not be read" }
            p {
                "Something of the form was lost or changed on the way. Nothing was recorded. \
                 Please open the page anew and send it once more."
            }
            @if let Some(back) = back { p { a.btn href=(back) { "Open the page" } } }
        },
    )
}

/// A form larger than a form can be; served with 413.
#[must_use]
pub fn too_large_page() -> Markup {
    page(
        "This is too long",
        None,
        html! {
            h1 { "What was sent is too long" }
            p { "Nothing was recorded. Please go back and say it in fewer words, or ring the shop." }
        },
    )
}

/// Asked in a way that this address does not know, as programs do; served with 405.
#[must_use]
pub fn wrong_method_page() -> Markup {
    page(
        "This is not how to ask",
        None,
        html! {
            h1 { "This address cannot be asked that way" }
            p { "Nothing was recorded. Open the link from the e-mail in a browser." }
        },
    )
}

/// Our fault; served with 500.
#[must_use]
pub fn fault_page() -> Markup {
    page(
        "Something broke",
        None,
        html! {
            h1 { "Something broke on our side" }
            p {
                "It was written down. If you sent an answer, open the link again in a minute: it \
                 tells you whether the answer was recorded. If this stays so, ring the shop; its \
                 number is on your receipt."
            }
        },
    )
}
