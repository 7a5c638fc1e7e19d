//! The message as bytes, read back with a parser that is not the writer's.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails where it stands")]

use chrono::{TimeZone, Utc};
use mail::envelope::{Envelope, Malformed, Person};
use mail::folder::Folder;
use mail::sender::Outcome;
use mail_parser::{HeaderValue, MessageParser};

fn envelope() -> Envelope {
    Envelope {
        from: Person {
            name: "Millrace Instrument Repair".into(),
            email: "desk@millrace.example".into(),
        },
        to: Person { name: "Jonas Lund".into(), email: "jonas@lund.example".into() },
        reply_to: Some(Person { name: String::new(), email: "mara@millrace.example".into() }),
        subject: "1843-8 Your baritone: a question before we go on".into(),
        message_id: "0197e3a0-0000-7000-8000-000000000001@millrace.example".into(),
        date: Utc.with_ymd_and_hms(2026, 6, 16, 8, 44, 0).unwrap(),
        unsubscribe_url: Some("https://millrace.example/status/k7Qm2vXw9RtB4nZp/wish".into()),
        text: "Dear Jonas Lund,\n\nTogether: 392.50 EUR\n".into(),
        html: "<!DOCTYPE html><p>Dear Jonas Lund, <b>€392.50</b></p>".into(),
    }
}

fn raw<'a>(bytes: &'a [u8], name: &str) -> Option<&'a str> {
    let text = std::str::from_utf8(bytes).unwrap();
    let head = text.split("\r\n\r\n").next().unwrap();
    head.split("\r\n").find_map(|line| line.strip_prefix(name)?.strip_prefix(": "))
}

#[test]
fn every_part_is_read_back_as_it_was_written() {
    let bytes = envelope().message().unwrap().bytes;
    let read = MessageParser::default().parse(&bytes).unwrap();
    assert_eq!(read.subject(), Some("1843-8 Your baritone: a question before we go on"));
    let from = read.from().unwrap().first().unwrap();
    assert_eq!(from.name(), Some("Millrace Instrument Repair"));
    assert_eq!(from.address(), Some("desk@millrace.example"));
    assert_eq!(read.to().unwrap().first().unwrap().address(), Some("jonas@lund.example"));
    assert_eq!(read.reply_to().unwrap().first().unwrap().address(), Some("mara@millrace.example"));
    assert_eq!(read.message_id(), Some("0197e3a0-0000-7000-8000-000000000001@millrace.example"));
    assert_eq!(read.date().unwrap().to_rfc3339(), "2026-06-16T08:44:00Z");
    assert_eq!(read.body_text(0).unwrap(), envelope().text.replace('\n', "\r\n"));
    assert_eq!(read.body_html(0).unwrap(), envelope().html);
    assert_eq!(raw(&bytes, "Auto-Submitted"), Some("auto-generated"));
    assert_eq!(
        raw(&bytes, "List-Unsubscribe"),
        Some("<https://millrace.example/status/k7Qm2vXw9RtB4nZp/wish>")
    );
    assert_eq!(raw(&bytes, "List-Unsubscribe-Post"), Some("List-Unsubscribe=One-Click"));
    let kinds: Vec<_> = read.parts.iter().map(|part| part.headers.len()).collect();
    assert_eq!(kinds.len(), 3, "the whole, plain text and HTML");
}

#[test]
fn the_same_envelope_gives_the_same_bytes_in_short_ascii_lines() {
    let mut envelope = envelope();
    envelope.text = "À la vôtre. ".repeat(200);
    envelope.html = format!("<p>{}</p>", "naïve ".repeat(900));
    let once = envelope.message().unwrap().bytes;
    assert_eq!(once, envelope.message().unwrap().bytes);
    assert!(once.is_ascii());
    for line in std::str::from_utf8(&once).unwrap().split("\r\n") {
        // RFC 5322, 2.1.1.
        assert!(line.len() <= 998 && !line.contains(['\r', '\n']), "{line}");
    }
    let read = MessageParser::default().parse(&once).unwrap();
    assert_eq!(read.body_text(0).unwrap(), envelope.text);
    assert_eq!(read.body_html(0).unwrap(), envelope.html);
}

#[test]
fn names_of_every_script_arrive() {
    for name in
        ["نور الهدى", "Zoë “Bell” Öğüt", "李小龍", "Ana, Ruiz; (tuba) <x>", "👩‍👩‍👧 Lund", "מרים"]
    {
        let mut envelope = envelope();
        envelope.to.name = name.into();
        envelope.subject = format!("1843-8 {name}");
        let bytes = envelope.message().unwrap().bytes;
        assert!(bytes.is_ascii());
        let read = MessageParser::default().parse(&bytes).unwrap();
        assert_eq!(read.to().unwrap().first().unwrap().name(), Some(name));
        assert_eq!(read.subject(), Some(format!("1843-8 {name}").as_str()));
    }
}

#[test]
fn a_line_end_in_a_header_is_refused() {
    for evil in
        ["x\r\nBcc: all@lund.example", "x\nX: y", "x\ry", "x\0y", "x\u{2028}Bcc: y", "x\u{85}y"]
    {
        let mut subject = envelope();
        subject.subject = evil.into();
        assert_eq!(subject.message().unwrap_err(), Malformed::ControlCharacter("Subject"));
        let mut to = envelope();
        to.to.name = evil.into();
        assert_eq!(to.message().unwrap_err(), Malformed::ControlCharacter("To"));
        let mut from = envelope();
        from.from.name = evil.into();
        assert_eq!(from.message().unwrap_err(), Malformed::ControlCharacter("From"));
        let mut reply = envelope();
        reply.reply_to = Some(Person { name: evil.into(), email: "a@b.example".into() });
        assert_eq!(reply.message().unwrap_err(), Malformed::ControlCharacter("Reply-To"));
        let mut address = envelope();
        address.to.email = format!("jonas@lund.example{evil}");
        assert!(address.message().is_err());
        let mut id = envelope();
        id.message_id = format!("1@shop.example{evil}");
        assert_eq!(id.message().unwrap_err(), Malformed::MessageId);
        let mut url = envelope();
        url.unsubscribe_url = Some(format!("https://millrace.example/{evil}"));
        assert_eq!(url.message().unwrap_err(), Malformed::UnsubscribeUrl);
    }
    for evil in ["https://a.example/>, <mailto:x@y.example", "javascript:1", "mailto:x@y.example"] {
        let mut url = envelope();
        url.unsubscribe_url = Some(evil.into());
        assert_eq!(url.message().unwrap_err(), Malformed::UnsubscribeUrl);
    }
    for evil in ["", "@", "a@", "@b", "a@b@c", "a b@c", "<a@b>"] {
        let mut id = envelope();
        id.message_id = evil.into();
        assert_eq!(id.message().unwrap_err(), Malformed::MessageId, "{evil}");
    }
    for evil in ["", "jonas", "jonas@", "jonas@lund.example, all@lund.example", "a b@lund.example"]
    {
        let mut address = envelope();
        address.to.email = evil.into();
        assert_eq!(address.message().unwrap_err(), Malformed::Address(evil.into()));
    }
}

#[test]
fn line_ends_in_the_body_stay_in_the_body() {
    let mut envelope = envelope();
    envelope.text =
        "one\r\n.\r\nMAIL FROM:<x@y.example>\r\n\r\n--=_boundary\r\nBcc: z@y.example".into();
    let bytes = envelope.message().unwrap().bytes;
    let read = MessageParser::default().parse(&bytes).unwrap();
    assert!(matches!(read.header("Bcc"), None | Some(HeaderValue::Empty)));
    assert_eq!(read.body_text(0).unwrap(), envelope.text);
}

#[test]
fn over_plain_http_there_is_no_one_click() {
    let mut envelope = envelope();
    envelope.unsubscribe_url = Some("http://shop.example/status/abc/wish".into());
    let bytes = envelope.message().unwrap().bytes;
    assert!(raw(&bytes, "List-Unsubscribe").is_some());
    assert_eq!(raw(&bytes, "List-Unsubscribe-Post"), None);
    envelope.unsubscribe_url = None;
    assert_eq!(raw(&envelope.message().unwrap().bytes, "List-Unsubscribe"), None);
}

#[tokio::test]
async fn the_folder_keeps_each_letter_once_with_the_bytes_of_the_wire() {
    let home = std::env::temp_dir().join(format!("letters-{}", std::process::id()));
    let folder = Folder::open(&home).unwrap();
    let first = envelope().message().unwrap();
    let mut other = envelope();
    other.message_id = "0197e3a0-0000-7000-8000-000000000002@millrace.example".into();
    let other = other.message().unwrap();
    for letter in [&first, &other, &first] {
        let outcome = folder.send(letter).await;
        assert!(matches!(outcome, Outcome::Sent { .. }), "{outcome:?}");
    }
    let names = |part: &str| -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(home.join(part))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    assert_eq!(
        names("new"),
        [
            "1781599440.0197e3a0-0000-7000-8000-000000000001@millrace.example.eml",
            "1781599440.0197e3a0-0000-7000-8000-000000000002@millrace.example.eml"
        ]
    );
    assert!(names("tmp").is_empty() && names("cur").is_empty());
    assert_eq!(std::fs::read(home.join("new").join(&names("new")[0])).unwrap(), first.bytes);

    std::fs::remove_dir_all(&home).unwrap();
    let outcome = folder.send(&first).await;
    assert!(matches!(&outcome, Outcome::TryLater { why } if why.contains("folder")), "{outcome:?}");
}
