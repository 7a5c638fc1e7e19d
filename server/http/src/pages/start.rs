//! The first page of a new shop.

use super::facts::{StartField, StartPage, StartedPage};
use super::frame::page;
use maud::{Markup, html};

/// Offered while typing; any other zone or currency may be typed as well. The whole lists
/// would be larger than the page.
const ZONES: &[&str] = &[
    "Europe/London",
    "Europe/Dublin",
    "Europe/Lisbon",
    "Europe/Madrid",
    "Europe/Paris",
    "Europe/Brussels",
    "Europe/Amsterdam",
    "Europe/Berlin",
    "Europe/Zurich",
    "Europe/Vienna",
    "Europe/Rome",
    "Europe/Prague",
    "Europe/Warsaw",
    "Europe/Copenhagen",
    "Europe/Oslo",
    "Europe/Stockholm",
    "Europe/Helsinki",
    "Europe/Athens",
    "Europe/Istanbul",
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Los_Angeles",
    "America/Toronto",
    "America/Vancouver",
    "America/Mexico_City",
    "America/Bogota",
    "America/Sao_Paulo",
    "America/Argentina/Buenos_Aires",
    "Africa/Johannesburg",
    "Africa/Cairo",
    "Asia/Jerusalem",
    "Asia/Dubai",
    "Asia/Kolkata",
    "Asia/Shanghai",
    "Asia/Tokyo",
    "Asia/Seoul",
    "Australia/Sydney",
    "Australia/Perth",
    "Pacific/Auckland",
];
const CURRENCIES: &[&str] = &[
    "EUR", "GBP", "USD", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK", "CAD", "AUD", "NZD", "JPY",
    "MXN", "BRL", "ARS", "ZAR", "INR", "ILS", "TRY",
];

/// `/start/{token}`: the shop and its first proprietor.
#[must_use]
pub fn start_page(facts: &StartPage) -> Markup {
    let field = |which, label, hint: Option<String>, name, input: &dyn Fn(Aria<'_>) -> Markup| {
        let error = facts.errors.iter().find(|(field, _)| *field == which);
        let id = format!("{name}-error");
        html! {
            label.field {
                span { (label) }
                @if let Some(hint) = hint { small { (hint) } }
                @if let Some((_, words)) = error { span.err id=(id) { (words) } }
                (input(Aria { invalid: error.map(|_| "true"), described: error.map(|_| id.as_str()) }))
            }
        }
    };
    let text = |name: &'static str, value: &str, autocomplete: &'static str| {
        let value = value.to_owned();
        move |aria: Aria<'_>| {
            html! {
                input.in name=(name) value=(value) autocomplete=(autocomplete) dir="auto"
                    maxlength="200" required
                    aria-invalid=[aria.invalid] aria-describedby=[aria.described];
            }
        }
    };
    let listed = |name: &'static str, value: &str, list: &'static str| {
        let value = value.to_owned();
        move |aria: Aria<'_>| {
            html! {
                input.in name=(name) value=(value) list=(list) autocomplete="off"
                    autocapitalize="none" spellcheck="false" maxlength="60" required
                    aria-invalid=[aria.invalid] aria-describedby=[aria.described];
            }
        }
    };
    let content = html! {
        h1 { "Open your shop" }
        p { "This page works once. What you type here can be changed later." }
        @if !facts.errors.is_empty() {
            div.wrong role="alert" {
                p { b { "Not opened yet. " } "Please look at what is marked below." }
            }
        }
        form method="post" action=(facts.action) accept-charset="utf-8" {
            h2 { "The shop" }
            (field(StartField::ShopName, "Name of the shop", None, "shop_name",
                &text("shop_name", &facts.shop_name, "organization")))
            (field(StartField::TimeZone, "Time zone",
                Some("The nearest of the list, or another name such as Europe/Madrid.".into()),
                "time_zone", &listed("time_zone", &facts.time_zone, "zones")))
            datalist #zones { @for zone in ZONES { option value=(zone); } }
            (field(StartField::Currency, "Currency", Some("Three letters, such as EUR.".into()),
                "currency", &listed("currency", &facts.currency, "currencies")))
            datalist #currencies { @for currency in CURRENCIES { option value=(currency); } }
            h2 { "You, the proprietor" }
            (field(StartField::Name, "Your name", None, "name", &text("name", &facts.name, "name")))
            (field(StartField::Initials, "Initials",
                Some("Two or three letters; they stand on the tags you claim.".into()),
                "initials", &text("initials", &facts.initials, "off")))
            (field(StartField::Email, "E-mail", Some("You sign in with it.".into()), "email",
                &|aria| html! {
                    input.in type="email" name="email" value=(facts.email) autocomplete="username"
                        maxlength="200" required
                        aria-invalid=[aria.invalid] aria-describedby=[aria.described];
                }))
            (field(StartField::Password, "Password",
                Some(format!("At least {} letters; several words are better than signs.",
                    facts.password_at_least)),
                "password", &|aria| html! {
                    input.in type="password" name="password" autocomplete="new-password"
                        minlength=(facts.password_at_least) maxlength="200" required
                        aria-invalid=[aria.invalid] aria-describedby=[aria.described];
                }))
            button.btn.main { "Open the shop" }
        }
    };
    page("Open your shop", Some(("Bellbrace", None)), content)
}

/// What ties a field to its error for those who hear the page.
struct Aria<'a> {
    invalid: Option<&'static str>,
    described: Option<&'a str>,
}

/// After it was taken.
#[must_use]
pub fn started_page(facts: &StartedPage) -> Markup {
    let content = html! {
        h1 { "Your shop is open" }
        p { bdi { (facts.shop_name) } " is ready. You sign in with " b { (facts.email) } "." }
        p { a.btn.main href=(facts.sign_in_url) { "Sign in" } }
    };
    page("Your shop is open", Some((&facts.shop_name, None)), content)
}

/// The address was used before, or is not the one that was printed.
#[must_use]
pub fn start_used_page() -> Markup {
    let content = html! {
        h1 { "This page opens nothing" }
        p {
            "It works once, and only with the whole address that was printed when the program \
             was set up. If a shop is open already, sign in there."
        }
        p { a.btn.main href="/" { "Sign in" } }
    };
    page("This page opens nothing", Some(("Bellbrace", None)), content)
}
