//! Letters to the shop's own people, each with the link by which a password is chosen.

use super::blocks::{self, Block, Sheet, said, strong, typed};
use super::{Letter, SUBJECT};
use crate::facts::Shop;
use trade::words::said::one_line;

/// Why somebody of the staff is written to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PasswordLetter {
    /// The proprietor added them.
    Invitation,
    /// Somebody asked for a new password at the door.
    Reset,
}

/// Everything such a letter is written from.
#[derive(Debug, Clone, PartialEq)]
pub struct PasswordFacts {
    /// The shop that writes.
    pub shop: Shop,
    /// The name the letter opens with.
    pub reader_name: String,
    /// Who invites.
    pub invited_by: Option<String>,
    /// With which address they sign in.
    pub email: String,
    /// The one-time link.
    pub url: String,
    /// Until when it works, in words that follow "until": `Friday 5 June, 10:44`.
    pub until: String,
}

impl PasswordLetter {
    /// How the kind is written in SQL, JSON and logs.
    #[must_use]
    pub fn spelling(self) -> &'static str {
        match self {
            Self::Invitation => "invitation",
            Self::Reset => "password_reset",
        }
    }
}

/// Writes such a letter.
#[must_use]
pub fn compose_password(kind: PasswordLetter, facts: &PasswordFacts) -> Letter {
    let shop = one_line(&facts.shop.name);
    let reader = one_line(&facts.reader_name);
    let (subject, first, then, leave_it) = match kind {
        PasswordLetter::Invitation => (
            format!("Choose your password for {shop}"),
            vec![
                match facts.invited_by.as_deref().map(one_line).filter(|by| !by.is_empty()) {
                    Some(by) => typed(&by),
                    None => said("The proprietor"),
                },
                said(" has added you to the people of "),
                typed(&shop),
                said(". You sign in with "),
                strong(one_line(&facts.email)),
                said("."),
            ],
            format!("Choose your password on the page below. It works once, until {}.", facts.until),
            "If you do not know why you get this e-mail, leave it be: nothing happens by itself.",
        ),
        PasswordLetter::Reset => (
            format!("A new password for {shop}"),
            vec![
                said("Somebody, most likely you, asked for a new password for "),
                strong(one_line(&facts.email)),
                said(" at "),
                typed(&shop),
                said("."),
            ],
            format!(
                "Choose it on the page below. It works once, until {}. Wherever you are signed in, \
                 you are signed out by it.",
                facts.until
            ),
            "If it was not you, leave this e-mail be: your password stays as it is.",
        ),
    };
    let subject: String = one_line(&subject).chars().take(SUBJECT).collect();
    let greeting = if reader.is_empty() {
        vec![said("Good day,")]
    } else {
        vec![said("Dear "), typed(&reader), said(",")]
    };
    let sheet = Sheet {
        shop: &shop,
        claim_number: "",
        subject: &subject,
        greeting,
        blocks: vec![
            Block::Para(first),
            Block::Para(vec![said(then)]),
            Block::Button {
                words: "Choose the password".to_owned(),
                before: "Choose the password:".to_owned(),
                url: facts.url.clone(),
            },
            Block::Para(vec![said("Give this link to nobody: whoever opens it first signs in as you.")]),
            Block::Para(vec![said(leave_it)]),
        ],
        signature: vec![shop.clone()],
        why_you_get_this: "You get this e-mail because you work here.",
        wish: None,
    };
    Letter { html: blocks::html(&sheet), text: blocks::text(&sheet), subject }
}
