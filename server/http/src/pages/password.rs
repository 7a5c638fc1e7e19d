//! The page on which somebody of the staff chooses a password by a link that was mailed.

use super::frame::page;
use maud::{Markup, html};

/// `/password/{token}`: posts `password`, and for somebody new `name`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PasswordPage {
    /// Where it is posted.
    pub action: String,
    /// Whether somebody new is invited; else it is a new password.
    pub is_invitation: bool,
    /// Their name, as it is known or was typed before.
    pub name: String,
    /// To sign in with.
    pub email: String,
    /// Name of the shop.
    pub shop_name: String,
    /// Shortest password that is taken, in letters.
    pub at_least: usize,
    /// Longest password that is taken, in letters.
    pub at_most: usize,
    /// What is wrong with the name.
    pub name_error: Option<String>,
    /// What is wrong with the password.
    pub password_error: Option<String>,
}

/// The page.
#[must_use]
pub fn password_page(facts: &PasswordPage) -> Markup {
    let heading = if facts.is_invitation { "Choose your password" } else { "Choose a new password" };
    let error = |id: &'static str, words: &Option<String>| {
        html! { @if let Some(words) = words { span.err id=(id) { (words) } } }
    };
    let content = html! {
        h1 { (heading) }
        p {
            "You sign in at " bdi { (facts.shop_name) } " with " b { (facts.email) } ". "
            @if facts.is_invitation { "This page works once." }
            @else { "This page works once. Wherever you are signed in, you are signed out by it." }
        }
        @if facts.name_error.is_some() || facts.password_error.is_some() {
            div.wrong role="alert" {
                p { b { "Not kept yet. " } "Please look at what is marked below." }
            }
        }
        form method="post" action=(facts.action) accept-charset="utf-8" {
            @if facts.is_invitation {
                label.field {
                    span { "Your name" }
                    small { "As your colleagues and the shop’s customers read it." }
                    (error("name-error", &facts.name_error))
                    input.in name="name" value=(facts.name) autocomplete="name" dir="auto" maxlength="200" required
                        aria-invalid=[facts.name_error.as_ref().map(|_| "true")]
                        aria-describedby=[facts.name_error.as_ref().map(|_| "name-error")];
                }
            }
            // Where password managers look for whose password it is.
            input type="hidden" name="email" value=(facts.email) autocomplete="username";
            label.field {
                span { "Password" }
                small { "At least " (facts.at_least) " letters; several words are better than signs." }
                (error("password-error", &facts.password_error))
                input.in type="password" name="password" autocomplete="new-password"
                    minlength=(facts.at_least) maxlength=(facts.at_most) required
                    aria-invalid=[facts.password_error.as_ref().map(|_| "true")]
                    aria-describedby=[facts.password_error.as_ref().map(|_| "password-error")];
            }
            button.btn.main { "Keep this password" }
        }
    };
    page(heading, Some((&facts.shop_name, None)), content)
}

/// After it was chosen.
#[must_use]
pub fn password_chosen_page(shop_name: &str, email: &str) -> Markup {
    let content = html! {
        h1 { "Your password is kept" }
        p { "You sign in at " bdi { (shop_name) } " with " b { (email) } " and the password you chose." }
        p { a.btn.main href="/" { "Sign in" } }
    };
    page("Your password is kept", Some((shop_name, None)), content)
}

/// The link was used before, ran out, or is not the whole one.
#[must_use]
pub fn password_used_page() -> Markup {
    let content = html! {
        h1 { "This link opens nothing" }
        p {
            "A link for a password works once, only while its e-mail says, and only with its whole \
             address; a newer one takes its place. Where you sign in, you can ask for a new \
             password. Whoever was invited asks the proprietor."
        }
        p { a.btn.main href="/" { "To where you sign in" } }
    };
    page("This link opens nothing", Some(("Bellbrace", None)), content)
}
