//! The message as bytes, with its headers.

use chrono::{DateTime, Utc};
use lettre::message::header::{ContentType, HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart, SinglePart};
use lettre::{Address, Message as Built};
use std::time::SystemTime;

/// A name and an address. The name may be empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// As shown in the mail program.
    pub name: String,
    /// `local@domain`.
    pub email: String,
}

/// What a message is made from. The same envelope gives the same bytes, so a letter that
/// is tried again is the same letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Envelope {
    /// The shop.
    pub from: Person,
    /// The reader.
    pub to: Person,
    /// Where answers go, when not to `from`.
    pub reply_to: Option<Person>,
    /// One line.
    pub subject: String,
    /// Stable over all tries of one letter, without the angle brackets: `id@shop.example`.
    pub message_id: String,
    /// When the letter was written, not when it was tried.
    pub date: DateTime<Utc>,
    /// An `https` address at which one POST ends letters that only tell of a change
    /// (RFC 8058). Given for those letters, left out for others. Over plain `http`, which
    /// RFC 8058 does not allow, the address is offered without the one click.
    pub unsubscribe_url: Option<String>,
    /// Plain text.
    pub text: String,
    /// HTML.
    pub html: String,
}

/// A message as it goes over the wire, and for whom.
#[derive(Debug, Clone)]
pub struct Message {
    /// Whom a delivery failure is told.
    pub from: Address,
    /// For whom.
    pub to: Address,
    /// The stable id, without the angle brackets.
    pub message_id: String,
    /// The date of the letter.
    pub date: DateTime<Utc>,
    /// Headers and body, lines ended by CRLF, ASCII only but for the addresses of people
    /// who have one with other letters (RFC 6531).
    pub bytes: Vec<u8>,
}

/// Why no message can be made from an envelope.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Malformed {
    /// This address is none.
    Address(String),
    /// This header holds a line end or another control character.
    ControlCharacter(&'static str),
    /// The Message-ID is not of the form `something@domain` in plain ASCII.
    MessageId,
    /// The address to unsubscribe at is not a plain web address.
    UnsubscribeUrl,
    /// The date is before 1970, which no letter is.
    Date,
}

impl std::fmt::Display for Malformed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Address(address) => write!(f, "not an e-mail address: {address:?}"),
            Self::ControlCharacter(header) => {
                write!(f, "a line end or control character in {header}")
            }
            Self::MessageId => f.write_str("not a Message-ID"),
            Self::UnsubscribeUrl => f.write_str("not a web address to unsubscribe at"),
            Self::Date => f.write_str("a date before 1970"),
        }
    }
}

impl std::error::Error for Malformed {}

impl Envelope {
    /// The message as bytes: `multipart/alternative`, plain text first.
    ///
    /// `Auto-Submitted: auto-generated` keeps other programs from answering (RFC 3834),
    /// `X-Auto-Response-Suppress` those that do not read it (widely used; no standard).
    ///
    /// # Errors
    /// [`Malformed`] when an address is none, or a header would hold a line end.
    pub fn message(&self) -> Result<Message, Malformed> {
        let from = mailbox("From", &self.from)?;
        let to = mailbox("To", &self.to)?;
        calm("Subject", &self.subject)?;
        let id_is_plain = self.message_id.bytes().all(|b| {
            b.is_ascii_alphanumeric() || matches!(b, b'.' | b'-' | b'_' | b'+' | b'=' | b'@')
        });
        let id_has_two_sides = matches!(
            self.message_id.split_once('@'),
            Some((left, right)) if !left.is_empty() && !right.is_empty() && !right.contains('@')
        );
        if !id_is_plain || !id_has_two_sides || self.message_id.len() > 200 {
            return Err(Malformed::MessageId);
        }
        if self.date.timestamp() < 0 {
            return Err(Malformed::Date);
        }

        let mut builder = Built::builder()
            .from(from.clone())
            .to(to.clone())
            .subject(self.subject.as_str())
            .message_id(Some(format!("<{}>", self.message_id)))
            .date(SystemTime::from(self.date))
            .raw_header(plain("Auto-Submitted", "auto-generated"))
            .raw_header(plain("X-Auto-Response-Suppress", "All"));
        if let Some(person) = &self.reply_to {
            builder = builder.reply_to(mailbox("Reply-To", person)?);
        }
        if let Some(url) = &self.unsubscribe_url {
            let secure = url.starts_with("https://");
            let is_plain = url.bytes().all(|b| b.is_ascii_graphic() && !matches!(b, b'<' | b'>'));
            if !is_plain || url.len() > 900 || !(secure || url.starts_with("http://")) {
                return Err(Malformed::UnsubscribeUrl);
            }
            builder = builder.raw_header(plain("List-Unsubscribe", &format!("<{url}>")));
            if secure {
                builder = builder
                    .raw_header(plain("List-Unsubscribe-Post", "List-Unsubscribe=One-Click"));
            }
        }

        let body = MultiPart::alternative()
            .boundary(self.boundary())
            .singlepart(part(ContentType::TEXT_PLAIN, &self.text))
            .singlepart(part(ContentType::TEXT_HTML, &self.html));
        let built =
            builder.multipart(body).map_err(|_| Malformed::Address(self.to.email.clone()))?;
        Ok(Message {
            from: from.email,
            to: to.email,
            message_id: self.message_id.clone(),
            date: self.date,
            bytes: built.formatted(),
        })
    }

    /// From the Message-ID, so that every try has the same bytes. `=_` occurs in no
    /// quoted-printable line (RFC 2045, 6.7), and a customer cannot know the id beforehand.
    fn boundary(&self) -> String {
        let id: String =
            self.message_id.chars().filter(char::is_ascii_alphanumeric).take(60).collect();
        format!("=_{id}")
    }
}

fn part(kind: ContentType, words: &str) -> SinglePart {
    SinglePart::builder().header(kind).body(words.to_owned())
}

/// A header whose value was checked to be printable ASCII; kept whole, since an address in
/// it must not be folded.
fn plain(name: &'static str, value: &str) -> HeaderValue {
    HeaderValue::dangerous_new_pre_encoded(
        HeaderName::new_from_ascii_str(name),
        value.to_owned(),
        value.to_owned(),
    )
}

fn mailbox(header: &'static str, person: &Person) -> Result<Mailbox, Malformed> {
    calm(header, &person.name)?;
    calm(header, &person.email)?;
    let address: Address =
        person.email.trim().parse().map_err(|_| Malformed::Address(person.email.clone()))?;
    let name = person.name.trim();
    Ok(Mailbox::new((!name.is_empty()).then(|| name.to_owned()), address))
}

fn calm(header: &'static str, value: &str) -> Result<(), Malformed> {
    let restless = |c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    if value.contains(restless) { Err(Malformed::ControlCharacter(header)) } else { Ok(()) }
}
