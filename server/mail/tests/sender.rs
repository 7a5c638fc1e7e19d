//! The sender against a mail server that misbehaves on purpose.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails where it stands")]

mod scripted;

use chrono::{TimeZone, Utc};
use mail::envelope::{Envelope, Message, Person};
use mail::sender::{Outcome, Security, Sender, Server, SignIn, Timeouts};
use scripted::{Do, Script, Scripted};
use std::time::{Duration, Instant};

/// Where a server hangs, nobody waits longer than this.
const SHORT: Duration = Duration::from_millis(250);
/// Where none does, a busy machine is not taken for a server that hangs.
const LONG: Duration = Duration::from_secs(30);

fn envelope() -> Envelope {
    Envelope {
        from: Person {
            name: "Millrace Instrument Repair".into(),
            email: "desk@millrace.example".into(),
        },
        to: Person { name: "Jonas Lund".into(), email: "jonas@lund.example".into() },
        reply_to: None,
        subject: "1843-8 Your baritone is ready".into(),
        message_id: "0197e3a0-0000-7000-8000-000000000001@millrace.example".into(),
        date: Utc.with_ymd_and_hms(2026, 6, 18, 9, 30, 0).unwrap(),
        unsubscribe_url: None,
        text: "Dear Jonas Lund,\n\n.a line that begins with a dot\n.\nand one that is a dot\n"
            .into(),
        html: "<p>Dear Jonas Lund,</p>".into(),
    }
}

fn letter() -> Message {
    envelope().message().unwrap()
}

fn at(server: &Scripted) -> Server {
    waiting(server, [LONG; 2])
}

/// Waits so long before the dot and after it.
fn waiting(server: &Scripted, [before, after_the_dot]: [Duration; 2]) -> Server {
    Server {
        host: "127.0.0.1".into(),
        port: server.address.port(),
        security: Security::Nothing,
        sign_in: None,
        hello_name: "shop.example".into(),
        extra_roots_pem: None,
        timeouts: Timeouts { connect: before, answer: before, content: before, after_the_dot },
    }
}

async fn outcome_of(script: Script) -> (Outcome, scripted::Heard, Duration) {
    outcome_waiting(script, [LONG; 2]).await
}

async fn outcome_waiting(script: Script, limits: [Duration; 2]) -> (Outcome, scripted::Heard, Duration) {
    let server = Scripted::open(script).await;
    let began = Instant::now();
    let outcome = Sender::new(waiting(&server, limits)).unwrap().send(&letter()).await;
    (outcome, server.heard(), began.elapsed())
}

#[tokio::test]
async fn a_letter_is_taken_and_arrives_byte_for_byte() {
    let (outcome, heard, _) = outcome_of(Script::default()).await;
    assert_eq!(outcome, Outcome::Sent { reply: "250 2.0.0 taken as 4711".into() });
    assert_eq!(
        heard.commands,
        [
            "EHLO shop.example",
            "MAIL FROM:<desk@millrace.example>",
            "RCPT TO:<jonas@lund.example>",
            "DATA",
            "QUIT"
        ]
    );
    // The dot is set after a line end of its own, so one line end is added and no more.
    let mut expected = letter().bytes;
    expected.extend_from_slice(b"\r\n");
    assert_eq!(heard.letters, [expected]);
}

#[tokio::test]
async fn a_server_that_is_busy_is_tried_later() {
    for script in [
        Script { rcpt: Do::Say("450 4.2.1 greylisted, come back"), ..Script::default() },
        Script { mail: Do::Say("421 4.3.2 closing"), ..Script::default() },
        Script { data: Do::Say("451 4.3.0 not now"), ..Script::default() },
        Script { dot: Do::Say("452 4.3.1 disk full"), ..Script::default() },
        Script { greeting: Do::Say("421 too many connections"), ..Script::default() },
        Script { greeting: Do::Say("554 not to you"), ..Script::default() },
        Script { ehlo: Do::Say("550 not to you"), ..Script::default() },
    ] {
        let (outcome, _, _) = outcome_of(script).await;
        assert!(matches!(outcome, Outcome::TryLater { .. }), "{outcome:?}");
    }
    let (outcome, _, _) =
        outcome_of(Script { rcpt: Do::Say("450 4.2.1 come back"), ..Script::default() }).await;
    assert_eq!(
        outcome,
        Outcome::TryLater { why: "the reader's address was not taken: 450 4.2.1 come back".into() }
    );
}

#[tokio::test]
async fn a_reader_who_does_not_exist_has_bounced_with_the_servers_words() {
    let no_such =
        Script { rcpt: Do::Say("550-5.1.1 no such\r\n550 5.1.1 person"), ..Script::default() };
    let (outcome, heard, _) = outcome_of(no_such).await;
    let Outcome::RefusedForGood { code: Some(550), text } = outcome else { panic!("{outcome:?}") };
    assert!(text.contains("no such") && text.contains("person"), "{text}");
    assert!(heard.letters.is_empty());
    for script in [
        Script { mail: Do::Say("553 5.7.1 not from there"), ..Script::default() },
        Script { data: Do::Say("554 5.5.1 no"), ..Script::default() },
        Script { dot: Do::Say("552 5.3.4 too big"), ..Script::default() },
    ] {
        let (outcome, _, _) = outcome_of(script).await;
        assert!(
            matches!(outcome, Outcome::RefusedForGood { code: Some(552..=554), .. }),
            "{outcome:?}"
        );
    }
}

#[tokio::test]
async fn a_server_that_wants_a_sign_in_bounces_nothing() {
    // RFC 4954, section 6: 530 is the shop's setting to mend, and says nothing of the reader.
    let (outcome, _, _) =
        outcome_of(Script { mail: Do::Say("530 5.7.0 sign in first"), ..Script::default() }).await;
    assert!(matches!(&outcome, Outcome::TryLater { why } if why.contains("530")), "{outcome:?}");
}

#[tokio::test]
async fn a_hang_anywhere_before_the_dot_is_tried_later_and_bounded() {
    for script in [
        Script { greeting: Do::Hang, ..Script::default() },
        Script { ehlo: Do::Hang, ..Script::default() },
        Script { mail: Do::Hang, ..Script::default() },
        Script { rcpt: Do::Hang, ..Script::default() },
        Script { data: Do::Hang, ..Script::default() },
    ] {
        let (outcome, heard, took) = outcome_waiting(script, [SHORT; 2]).await;
        assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
        assert!(heard.letters.is_empty());
        // Three of the short limits for connecting and greeting, one for the step, and the
        // farewell to a server that does not answer.
        assert!(took < 4 * SHORT + Duration::from_secs(3), "{took:?}");
    }
}

#[tokio::test]
async fn one_byte_at_a_time_does_not_hold_the_line_for_ever() {
    let slow =
        Script { rcpt: Do::Drip("250 2.1.5 ok, one moment please", 40), ..Script::default() };
    let (outcome, heard, took) = outcome_waiting(slow, [SHORT; 2]).await;
    assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
    assert!(heard.letters.is_empty());
    assert!(took < Duration::from_secs(4), "{took:?}");
}

#[tokio::test]
async fn a_break_before_the_dot_is_tried_later() {
    for script in [
        Script { greeting: Do::Break, ..Script::default() },
        Script { mail: Do::Break, ..Script::default() },
        Script { rcpt: Do::Break, ..Script::default() },
        Script { data: Do::Break, ..Script::default() },
    ] {
        let (outcome, heard, _) = outcome_of(script).await;
        assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
        assert!(heard.letters.is_empty());
    }
}

#[tokio::test]
async fn after_the_dot_a_lost_answer_is_unknown() {
    for (dot, limit) in [(Do::Break, LONG), (Do::Hang, SHORT), (Do::Say("what? this is no answer"), LONG)] {
        let (outcome, heard, _) = outcome_waiting(Script { dot, ..Script::default() }, [LONG, limit]).await;
        assert!(matches!(&outcome, Outcome::Unknown { .. }), "{outcome:?}");
        assert_eq!(heard.letters.len(), 1, "it may well have been taken");
    }
}

#[tokio::test]
async fn answers_out_of_step_send_nothing() {
    // As after an answer slipped in before TLS: every answer is read for the one before.
    let (outcome, heard, _) =
        outcome_of(Script { data: Do::Say("250 2.1.5 ok"), ..Script::default() }).await;
    assert!(matches!(&outcome, Outcome::TryLater { why } if why.contains("354")), "{outcome:?}");
    assert!(heard.letters.is_empty());
}

#[tokio::test]
async fn nobody_listening_is_tried_later() {
    let server = Scripted::open(Script::default()).await;
    let gone = at(&server);
    drop(server);
    // The port may take a moment to close; until then the connection is at least not served.
    tokio::time::sleep(Duration::from_millis(50)).await;
    let outcome = Sender::new(gone).unwrap().send(&letter()).await;
    assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
}

const WITH_TLS: Do = Do::Say("250-post.example\r\n250-STARTTLS\r\n250 AUTH PLAIN LOGIN");

fn secured(server: &Scripted, security: Security) -> Server {
    Server {
        host: "localhost".into(),
        security,
        extra_roots_pem: Some(server.certificate_pem.clone()),
        ..at(server)
    }
}

#[tokio::test]
async fn starttls_encrypts_before_a_password_is_said() {
    let server = Scripted::open(Script { ehlo: WITH_TLS, ..Script::default() }).await;
    let mut wanted = secured(&server, Security::StartTls);
    wanted.sign_in = Some(SignIn { name: "desk".into(), password: "brass".into() });
    let sender = Sender::new(wanted).unwrap();
    let outcome = sender.send(&letter()).await;
    assert!(matches!(outcome, Outcome::Sent { .. }), "{outcome:?}");
    let heard = server.heard();
    assert_eq!(
        heard.commands,
        [
            "EHLO shop.example",
            "STARTTLS",
            "EHLO shop.example",
            // base64 of NUL desk NUL brass (RFC 4616), made with Python's base64 module.
            "AUTH PLAIN AGRlc2sAYnJhc3M=",
            "MAIL FROM:<desk@millrace.example>",
            "RCPT TO:<jonas@lund.example>",
            "DATA",
            "QUIT"
        ]
    );
    let words = sender.test().await.unwrap();
    assert!(words.contains("with TLS") && words.contains("signed in as desk"), "{words}");
    assert!(!words.contains("brass"));
}

#[tokio::test]
async fn tls_from_the_first_byte_works() {
    let server = Scripted::open(Script { tls_at_once: true, ..Script::default() }).await;
    let outcome = Sender::new(secured(&server, Security::Tls)).unwrap().send(&letter()).await;
    assert!(matches!(outcome, Outcome::Sent { .. }), "{outcome:?}");
}

#[tokio::test]
async fn a_server_without_starttls_is_told_nothing() {
    let server = Scripted::open(Script::default()).await;
    let outcome = Sender::new(secured(&server, Security::StartTls)).unwrap().send(&letter()).await;
    assert!(
        matches!(&outcome, Outcome::TryLater { why } if why.contains("STARTTLS")),
        "{outcome:?}"
    );
    assert_eq!(server.heard().commands, ["EHLO shop.example"]);
}

#[tokio::test]
async fn starttls_refused_or_hanging_is_tried_later() {
    for starttls in [Do::Say("454 4.7.0 no TLS just now"), Do::Hang, Do::Break] {
        let server = Scripted::open(Script { ehlo: WITH_TLS, starttls, ..Script::default() }).await;
        let wanted = Server { timeouts: waiting(&server, [SHORT; 2]).timeouts, ..secured(&server, Security::StartTls) };
        let outcome = Sender::new(wanted).unwrap().send(&letter()).await;
        assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
        assert!(!server.heard().commands.iter().any(|c| c.starts_with("MAIL")));
    }
}

#[tokio::test]
async fn a_certificate_for_another_host_or_from_nobody_is_not_trusted() {
    let script = Script { ehlo: WITH_TLS, ..Script::default() };
    let other = Scripted::open_named(script.clone(), "elsewhere.example").await;
    let outcome = Sender::new(secured(&other, Security::StartTls)).unwrap().send(&letter()).await;
    assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
    assert!(other.heard().letters.is_empty());

    let unknown = Scripted::open(script).await;
    let mut wanted = secured(&unknown, Security::StartTls);
    wanted.extra_roots_pem = None;
    let outcome = Sender::new(wanted).unwrap().send(&letter()).await;
    assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
    assert!(unknown.heard().letters.is_empty());
}

#[tokio::test]
async fn a_wrong_password_is_told_and_bounces_nothing() {
    let script = Script {
        ehlo: Do::Say("250-post.example\r\n250 AUTH PLAIN LOGIN"),
        auth: Do::Say("535 5.7.8 wrong"),
        ..Script::default()
    };
    let server = Scripted::open(script).await;
    let mut wanted = at(&server);
    wanted.sign_in = Some(SignIn { name: "desk".into(), password: "brass".into() });
    let sender = Sender::new(wanted).unwrap();
    let outcome = sender.send(&letter()).await;
    assert!(
        matches!(&outcome, Outcome::TryLater { why }
            if why.contains("did not let desk in") && why.contains("535") && !why.contains("brass")),
        "{outcome:?}"
    );
    assert!(sender.test().await.unwrap_err().contains("535"));
}

#[tokio::test]
async fn auth_that_hangs_or_is_not_offered_is_tried_later() {
    for script in [
        Script {
            ehlo: Do::Say("250-post.example\r\n250 AUTH PLAIN"),
            auth: Do::Hang,
            ..Script::default()
        },
        Script::default(),
    ] {
        let server = Scripted::open(script).await;
        let mut wanted = waiting(&server, [SHORT, LONG]);
        wanted.sign_in = Some(SignIn { name: "desk".into(), password: "brass".into() });
        let outcome = Sender::new(wanted).unwrap().send(&letter()).await;
        assert!(matches!(&outcome, Outcome::TryLater { .. }), "{outcome:?}");
    }
}

#[tokio::test]
async fn a_password_does_not_travel_unencrypted_to_another_machine() {
    let server = Scripted::open(Script::default()).await;
    let mut wanted = at(&server);
    wanted.sign_in = Some(SignIn { name: "desk".into(), password: "brass".into() });
    assert!(Sender::new(wanted.clone()).is_ok(), "on this machine it does");
    wanted.host = "post.example".into();
    let error = Sender::new(wanted.clone()).err().unwrap();
    assert!(error.0.contains("unencrypted"));
    assert!(!format!("{:?}", wanted.sign_in).contains("brass"));
}

#[tokio::test]
async fn an_address_with_other_letters_needs_a_server_that_can_write_to_it() {
    let mut envelope = envelope();
    envelope.to.email = "jürgen@müller.example".into();
    let letter = envelope.message().unwrap();

    let plain = Scripted::open(Script::default()).await;
    let outcome = Sender::new(at(&plain)).unwrap().send(&letter).await;
    assert!(matches!(&outcome, Outcome::RefusedForGood { code: None, .. }), "{outcome:?}");
    assert!(!plain.heard().commands.iter().any(|c| c.starts_with("MAIL")));

    let able = Do::Say("250-post.example\r\n250-8BITMIME\r\n250 SMTPUTF8");
    let able = Scripted::open(Script { ehlo: able, ..Script::default() }).await;
    let outcome = Sender::new(at(&able)).unwrap().send(&letter).await;
    assert!(matches!(&outcome, Outcome::Sent { .. }), "{outcome:?}");
    assert!(able.heard().commands[1].contains("SMTPUTF8"));
}

#[tokio::test]
async fn one_host_that_hangs_does_not_hold_up_another() {
    let stuck = Scripted::open(Script { greeting: Do::Hang, ..Script::default() }).await;
    let well = Scripted::open(Script::default()).await;
    let (stuck, well) = (Sender::new(at(&stuck)).unwrap(), (Sender::new(at(&well)).unwrap(), well));
    let letter = letter();
    // The one is still being waited for when the other is through.
    let outcome = tokio::select! {
        given_up = stuck.send(&letter) => panic!("it did not hang: {given_up:?}"),
        outcome = well.0.send(&letter) => outcome,
    };
    assert!(matches!(outcome, Outcome::Sent { .. }));
}
