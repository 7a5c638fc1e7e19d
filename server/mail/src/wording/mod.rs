//! One source of words for a letter: subject, HTML and plain text from the same sentences.
//!
//! [`says`] says it, one file for each occasion, one file for each occasion, [`blocks`] sets it. English so far: a second language is a second
//! `says`, chosen by `facts.shop.language`; no sentence is built from pieces whose order
//! another language would change.

mod blocks;
mod password;
mod says;

use crate::facts::{LetterFacts, Reader};
use crate::kinds::LetterKind;
use blocks::{Sheet, said, typed};
pub use password::{PasswordFacts, PasswordLetter, compose_password};
use trade::words::said::one_line;

/// A letter, ready for an envelope.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// One line, without control characters.
    pub subject: String,
    /// A complete HTML document; fetches nothing.
    pub html: String,
    /// The same words, at most 56 columns but for addresses of pages.
    pub text: String,
}

/// Longest subject, in letters; a mail program shows about half of it.
const SUBJECT: usize = 120;

/// Write a letter.
///
/// What the facts leave out is left unsaid; no kind needs more than the shop, the claim
/// number and the instrument. Whatever was typed by people is cleaned of control characters
/// and escaped.
#[must_use]
pub fn compose(kind: LetterKind, facts: &LetterFacts) -> Letter {
    let shop = one_line(&facts.shop.name);
    let claim_number = one_line(&facts.claim_number);
    let says::Saying { subject, blocks } = says::saying(kind, facts);
    let subject: String =
        one_line(&format!("{claim_number} {subject}")).chars().take(SUBJECT).collect();

    let reader = one_line(&facts.reader_name);
    let greeting = if reader.is_empty() {
        vec![said("Good day,")]
    } else {
        vec![said("Dear "), typed(&reader), said(",")]
    };
    let mut signature = Vec::new();
    signature.extend(facts.signed_by.as_deref().map(one_line).filter(|name| !name.is_empty()));
    signature.push(shop.clone());
    let at: Vec<String> = [&facts.shop.address, &facts.shop.phone]
        .into_iter()
        .flatten()
        .map(|line| one_line(line))
        .collect();
    if !at.is_empty() {
        signature.push(at.join(" · "));
    }
    let sheet = Sheet {
        shop: &shop,
        claim_number: &claim_number,
        subject: &subject,
        greeting,
        blocks,
        signature,
        why_you_get_this: match (kind, facts.reader) {
            (LetterKind::EnteredByMistake, _) => {
                "You get this e-mail because we sent you a receipt."
            }
            (_, Reader::Contact) => "You get this e-mail because you brought us an instrument.",
            (_, Reader::Owner) => "You get this e-mail because an instrument of yours is with us.",
            (
                LetterKind::Collected
                | LetterKind::Shipped
                | LetterKind::OtherwiseSettled
                | LetterKind::DoneAtCounter,
                Reader::ContactAndOwner,
            ) => "You get this e-mail because your instrument was with us.",
            (_, Reader::ContactAndOwner) => {
                "You get this e-mail because your instrument is with us."
            }
        },
        wish: facts.links.status.as_deref().filter(|_| kind != LetterKind::EnteredByMistake).map(
            |url| {
                // Only those who get every change get a letter that only tells.
                let words = if kind.only_tells() {
                    "Only when asked, not at every change"
                } else {
                    "Choose which e-mails you get"
                };
                (words, url)
            },
        ),
    };
    Letter { html: blocks::html(&sheet), text: blocks::text(&sheet), subject }
}
