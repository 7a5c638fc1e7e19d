//! Reading letters with a parser that is not ours (the mail-parser crate), whether they lie in
//! the server's mailbox folder or came over SMTP.

use std::path::{Path, PathBuf};

use mail_parser::{MessageParser, MimeHeaders};

use crate::until;

/// A letter as its reader gets it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mail {
    /// Addresses in `To`.
    pub to: Vec<String>,
    /// Addresses in `From`.
    pub from: Vec<String>,
    /// Addresses in `Reply-To`.
    pub reply_to: Vec<String>,
    /// The subject.
    pub subject: String,
    /// Without its angle brackets.
    pub message_id: String,
    /// Date, in seconds since 1970.
    pub sent_at: i64,
    /// The plain part.
    pub text: String,
    /// The HTML part.
    pub html: String,
    /// Names and raw values of all headers.
    pub headers: Vec<(String, String)>,
    /// The bytes as they came.
    pub raw: Vec<u8>,
}

impl Mail {
    /// Reads one message.
    ///
    /// # Panics
    /// When the parser finds no message, or no plain and no HTML part in it.
    pub fn read(raw: &[u8]) -> Self {
        let message = MessageParser::default().parse(raw).expect("a message");
        let addresses = |value: Option<&mail_parser::Address<'_>>| -> Vec<String> {
            value.into_iter().flat_map(|a| a.iter()).filter_map(|a| a.address().map(str::to_owned)).collect()
        };
        let part = |kind: &str| {
            message
                .parts
                .iter()
                .find(|part| part.content_type().is_some_and(|t| t.ctype() == "text" && t.subtype() == Some(kind)))
                .and_then(|part| part.text_contents())
                .unwrap_or_else(|| panic!("no {kind} part in {}", String::from_utf8_lossy(raw)))
                .to_owned()
        };
        Self {
            to: addresses(message.to()),
            from: addresses(message.from()),
            reply_to: addresses(message.reply_to()),
            subject: message.subject().unwrap_or_default().to_owned(),
            message_id: message.message_id().unwrap_or_default().to_owned(),
            sent_at: message.date().map(mail_parser::DateTime::to_timestamp).unwrap_or_default(),
            text: part("plain"),
            html: part("html"),
            headers: message.headers_raw().map(|(name, value)| (name.to_owned(), value.trim().to_owned())).collect(),
            raw: raw.to_owned(),
        }
    }

    /// The first header of this name, as it came.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, value)| value.as_str())
    }

    /// The address in it that leads to this page: `status` or `answer`.
    pub fn link(&self, page: &str) -> Option<String> {
        let inside = format!("/{page}/");
        self.text
            .split(|c: char| c.is_whitespace() || matches!(c, '<' | '>' | '(' | ')'))
            .find(|word| word.starts_with("http") && word.contains(&inside))
            .map(|word| word.trim_end_matches(['.', ',']).to_owned())
    }

    /// Checks that both parts say this.
    ///
    /// # Panics
    /// When one of them does not.
    #[track_caller]
    pub fn says(&self, words: &str) -> &Self {
        let plain = self.text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(plain.contains(words), "the plain part of {:?} does not say {words:?}:\n{}", self.subject, self.text);
        let html = visible(&self.html);
        assert!(html.contains(words), "the HTML part of {:?} does not say {words:?}:\n{html}", self.subject);
        self
    }
}

/// The words of a page or letter without its tags, with single spaces.
pub fn visible(html: &str) -> String {
    let text = mail_parser::decoders::html::html_to_text(html);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A folder of messages, one file each: `*.eml` in `new`.
#[derive(Clone, Debug)]
pub struct Mailbox {
    new: PathBuf,
}

impl Mailbox {
    /// The mailbox below this folder.
    pub fn at(root: &Path) -> Self {
        Self { new: root.join("new") }
    }

    /// Every letter, in the order in which they were written: their ids rise, and several are
    /// sent at once, so neither the date (whole seconds) nor the file's time tells.
    pub fn letters(&self) -> Vec<Mail> {
        let Ok(files) = std::fs::read_dir(&self.new) else { return Vec::new() };
        let mut found: Vec<_> = files
            .map(|file| file.unwrap().path())
            .filter(|path| path.extension().is_some_and(|end| end == "eml"))
            .map(|path| Mail::read(&std::fs::read(&path).unwrap()))
            .collect();
        found.sort_by(|a, b| (a.sent_at, &a.message_id).cmp(&(b.sent_at, &b.message_id)));
        found
    }

    /// Every letter to this address.
    pub fn to(&self, address: &str) -> Vec<Mail> {
        self.letters().into_iter().filter(|mail| mail.to.iter().any(|to| to == address)).collect()
    }

    /// The letter to this address whose subject holds these words; waits until it is there.
    ///
    /// # Panics
    /// When it never comes.
    #[track_caller]
    pub fn letter(&self, address: &str, subject: &str) -> Mail {
        until(&format!("a letter to {address} about {subject:?}"), || {
            self.to(address).into_iter().rev().find(|mail| mail.subject.contains(subject))
        })
    }
}

