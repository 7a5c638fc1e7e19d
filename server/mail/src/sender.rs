//! By SMTP, command by command, so that it is always known whether the final dot went out.

use crate::envelope::Message;
use crate::folder::Folder;
use lettre::Address;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{AsyncSmtpConnection, Certificate, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt};
use lettre::transport::smtp::extension::{ClientId, Extension, MailBodyParameter, MailParameter};
use lettre::transport::smtp::response::{Response, Severity};
use std::error::Error;
use std::net::IpAddr;
use std::pin::pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::Notify;
use tokio::time::timeout;
use trade::words::said::one_line;

/// What became of one try to send one message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// The server took it, or it lies in the folder.
    Sent {
        /// What the server said, or the name of the file.
        reply: String,
    },
    /// The server refused this message or this reader for good: the letter has bounced.
    RefusedForGood {
        /// Three digits, 500 to 599; `None` when nothing was asked, as for an address
        /// that this server cannot write to.
        code: Option<u16>,
        /// What the server said.
        text: String,
    },
    /// Nothing was handed over; try again later.
    TryLater {
        /// Why, in words for staff.
        why: String,
    },
    /// The final dot went out and no answer came back: it may have been sent.
    Unknown {
        /// Why, in words for staff.
        why: String,
    },
}

/// How the connection is kept from being read by others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Security {
    /// TLS from the first byte (port 465).
    Tls,
    /// Begun in the clear, then TLS before anything is said (port 587). A server that does
    /// not offer it is not written to.
    StartTls,
    /// None: for a mail server on the same machine.
    Nothing,
}

/// How long each step may take. RFC 5321, 4.5.3.2 allows minutes; a shop's own mail host
/// answers in seconds, and one that hangs must not hold up the rest of the outbox.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Timeouts {
    /// Connecting, and TLS.
    pub connect: Duration,
    /// Each answer, the greeting too.
    pub answer: Duration,
    /// Sending the content.
    pub content: Duration,
    /// The answer after the final dot. Longest, because giving up here is what makes a
    /// letter `Unknown`.
    pub after_the_dot: Duration,
}

impl Default for Timeouts {
    fn default() -> Self {
        Self {
            connect: Duration::from_secs(10),
            answer: Duration::from_secs(30),
            content: Duration::from_secs(60),
            after_the_dot: Duration::from_secs(120),
        }
    }
}

/// Where and how to send.
#[derive(Clone)]
pub struct Server {
    /// Name of the host; TLS checks the certificate against it.
    pub host: String,
    /// Port.
    pub port: u16,
    /// TLS or not.
    pub security: Security,
    /// Name and password, where the server wants them.
    pub sign_in: Option<SignIn>,
    /// What this side calls itself in EHLO: a domain name.
    pub hello_name: String,
    /// Certificates to trust beside the system's, as PEM.
    pub extra_roots_pem: Option<String>,
    /// How long each step may take.
    pub timeouts: Timeouts,
}

/// Name and password for the mail server. Its `Debug` shows no password.
#[derive(Clone)]
pub struct SignIn {
    /// Name.
    pub name: String,
    /// Password.
    pub password: String,
}

impl std::fmt::Debug for SignIn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SignIn").field("name", &self.name).finish_non_exhaustive()
    }
}

/// A sender that cannot be set up, in words for whoever configures it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetupError(pub String);

impl std::fmt::Display for SetupError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for SetupError {}

/// Sends messages by SMTP, one connection each. Nothing is kept between calls, so one host
/// that hangs holds up nobody but the caller who waits for it.
#[derive(Clone)]
pub struct Sender {
    server: Server,
    hello: ClientId,
    tls: Option<TlsParameters>,
}

impl Sender {
    /// A sender for this server; nothing is connected yet.
    ///
    /// # Errors
    /// [`SetupError`] when a certificate cannot be read, a name is empty or holds a line
    /// end, or a password would go unencrypted to another machine.
    pub fn new(server: Server) -> Result<Self, SetupError> {
        let is_a_name = |name: &str| !name.is_empty() && name.bytes().all(|b| b.is_ascii_graphic());
        if !is_a_name(&server.host) {
            return Err(SetupError("the mail server has no host name".into()));
        }
        if !is_a_name(&server.hello_name) {
            return Err(SetupError("the name for EHLO must be a domain name".into()));
        }
        let same_machine = matches!(server.host.as_str(), "localhost" | "127.0.0.1" | "::1");
        if server.security == Security::Nothing && server.sign_in.is_some() && !same_machine {
            return Err(SetupError(format!(
                "a password for {} would travel unencrypted; use starttls or tls",
                server.host
            )));
        }
        let tls = match server.security {
            Security::Nothing => None,
            Security::Tls | Security::StartTls => Some(tls_parameters(&server)?),
        };
        let hello = match server.hello_name.parse() {
            Ok(IpAddr::V4(address)) => ClientId::Ipv4(address),
            Ok(IpAddr::V6(address)) => ClientId::Ipv6(address),
            Err(_) => ClientId::Domain(server.hello_name.clone()),
        };
        Ok(Self { server, hello, tls })
    }

    /// The longest a call of [`Sender::send`] can take; a lease on a letter must be longer.
    #[must_use]
    pub fn longest(&self) -> Duration {
        let t = &self.server.timeouts;
        // Greeting and EHLO, again after STARTTLS, sign-in, MAIL, RCPT, DATA.
        (t.connect + 2 * t.answer) * 2 + 4 * t.answer + t.content + t.after_the_dot + FAREWELL
    }

    /// Send one message.
    ///
    /// A refusal of this side (greeting, TLS, sign-in) says nothing about the letter and is
    /// `TryLater`; a 5xx to the sender, the reader or the content is `RefusedForGood`.
    /// No retry here: the outbox does that.
    pub async fn send(&self, message: &Message) -> Outcome {
        let mut connection = match self.open().await {
            Ok(connection) => connection,
            Err(why) => return Outcome::TryLater { why },
        };
        let outcome = self.hand_over(&mut connection, message).await;
        // The outcome stands whatever the server says to this; but a server that is simply
        // dropped may log an error for every letter.
        if !matches!(outcome, Outcome::Unknown { .. }) {
            let _ = timeout(FAREWELL, connection.quit()).await;
        }
        outcome
    }

    /// Connect, secure, sign in, and leave again; sends nothing.
    ///
    /// Gives a sentence for whoever configures it.
    ///
    /// # Errors
    /// What went wrong, likewise.
    pub async fn test(&self) -> Result<String, String> {
        let mut connection = self.open().await?;
        let secure = if connection.is_encrypted() { "with TLS" } else { "without TLS" };
        let signed_in = match &self.server.sign_in {
            Some(sign_in) => format!("signed in as {}", sign_in.name),
            None => "without signing in".to_owned(),
        };
        let _ = timeout(FAREWELL, connection.quit()).await;
        Ok(format!("{} answers, {secure}, {signed_in}", self.at()))
    }

    fn at(&self) -> String {
        format!("{}:{}", self.server.host, self.server.port)
    }

    /// Connect, secure and sign in.
    async fn open(&self) -> Result<AsyncSmtpConnection, String> {
        let (at, limits) = (self.at(), &self.server.timeouts);
        let from_the_first_byte = match self.server.security {
            Security::Tls => self.tls.clone(),
            Security::StartTls | Security::Nothing => None,
        };
        let connecting = AsyncSmtpConnection::connect_tokio1(
            (self.server.host.as_str(), self.server.port),
            Some(limits.connect),
            &self.hello,
            from_the_first_byte,
            None,
        );
        let mut connection = within(limits.connect + 2 * limits.answer, connecting)
            .await
            .map_err(|failed| format!("no mail connection to {at}: {}", failed.words()))?;

        if self.server.security == Security::StartTls {
            if !connection.can_starttls() {
                return Err(format!("{at} does not offer STARTTLS; nothing was sent to it"));
            }
            let tls = self.tls.clone().ok_or("TLS is not set up")?;
            within(limits.connect + 2 * limits.answer, connection.starttls(tls, &self.hello))
                .await
                .map_err(|failed| format!("STARTTLS with {at} failed: {}", failed.words()))?;
        }

        if let Some(SignIn { name, password }) = &self.server.sign_in {
            let credentials = Credentials::new(name.clone(), password.clone());
            within(2 * limits.answer, connection.auth(&MECHANISMS, &credentials))
                .await
                .map_err(|failed| format!("{at} did not let {name} in: {}", failed.words()))?;
        }
        Ok(connection)
    }

    /// From MAIL to the answer after the final dot.
    async fn hand_over(&self, connection: &mut AsyncSmtpConnection, message: &Message) -> Outcome {
        let limits = &self.server.timeouts;
        let mut options = Vec::new();
        let is_ascii = |address: &Address| AsRef::<str>::as_ref(address).is_ascii();
        if !is_ascii(&message.from) || !is_ascii(&message.to) {
            if !connection.server_info().supports_feature(Extension::SmtpUtfEight) {
                return Outcome::RefusedForGood {
                    code: None,
                    text: format!(
                        "{} cannot write to an address with letters beyond ASCII",
                        self.at()
                    ),
                };
            }
            options.push(MailParameter::SmtpUtfEight);
            options.push(MailParameter::Body(MailBodyParameter::EightBitMime));
        }

        let mail = Mail::new(Some(message.from.clone()), options);
        if let Err(failed) = within(limits.answer, connection.command(mail)).await {
            return failed.before_the_dot("the sender's address");
        }
        let reader = Rcpt::new(message.to.clone(), vec![]);
        if let Err(failed) = within(limits.answer, connection.command(reader)).await {
            return failed.before_the_dot("the reader's address");
        }
        match within(limits.answer, connection.command(Data)).await {
            Ok(answer) if answer.has_code(354) => {}
            // Anything else positive is out of step, as when somebody slipped an answer in
            // before TLS began; to go on would be to read every later answer for the one
            // before it.
            Ok(answer) => {
                return Outcome::TryLater {
                    why: format!("answered DATA with {} instead of 354", u16::from(answer.code())),
                };
            }
            Err(failed) => return failed.before_the_dot("the letter"),
        }
        self.content(connection, message).await
    }

    /// The content and the final dot.
    ///
    /// lettre writes what the iterator gives, then the dot. It asks for more only when all
    /// before was written: once the iterator has said "no more", the dot may be out.
    async fn content(&self, connection: &mut AsyncSmtpConnection, message: &Message) -> Outcome {
        let limits = &self.server.timeouts;
        let dot = Notify::new();
        let dot_may_be_out = AtomicBool::new(false);
        let mut rest = Some(message.bytes.as_slice());
        let pieces = std::iter::from_fn(|| {
            let piece = rest.take();
            if piece.is_none() {
                dot_may_be_out.store(true, Ordering::SeqCst);
                dot.notify_one();
            }
            piece
        });
        let mut writing = pin!(connection.message_iter(pieces));
        let answer = tokio::select! {
            biased;
            answer = &mut writing => answer.map_err(Failed::Smtp),
            () = dot.notified() => within(limits.after_the_dot, writing).await,
            () = tokio::time::sleep(limits.content) => Err(Failed::TooLong(limits.content)),
        };
        match answer {
            Ok(answer) if answer.code().severity == Severity::PositiveCompletion => {
                Outcome::Sent { reply: said(&answer) }
            }
            Ok(answer) => Outcome::Unknown {
                why: format!("answered the letter with {}", u16::from(answer.code())),
            },
            Err(failed) if failed.is_an_answer() || !dot_may_be_out.load(Ordering::SeqCst) => {
                failed.before_the_dot("the letter")
            }
            Err(failed) => Outcome::Unknown {
                why: format!(
                    "the whole letter was handed over, then no answer came: {}",
                    failed.words()
                ),
            },
        }
    }
}

/// How long a server may take to say goodbye.
const FAREWELL: Duration = Duration::from_secs(2);

/// PLAIN first: one round trip, and both are equally open inside TLS.
const MECHANISMS: [Mechanism; 2] = [Mechanism::Plain, Mechanism::Login];

/// Why a step did not get its answer.
enum Failed {
    Smtp(lettre::transport::smtp::Error),
    TooLong(Duration),
}

impl Failed {
    /// The server said no, now or for good; so it has not taken the letter.
    fn is_an_answer(&self) -> bool {
        matches!(self, Self::Smtp(error) if error.is_permanent() || error.is_transient())
    }

    /// In words for staff, on one line, at most 400 letters.
    fn words(&self) -> String {
        match self {
            Self::TooLong(limit) => format!("no answer within {} s", limit.as_secs_f64()),
            Self::Smtp(error) => {
                let source = error.source().map(ToString::to_string);
                let words = match (error.status(), source) {
                    (Some(code), Some(text)) => format!("{} {text}", u16::from(code)),
                    (Some(code), None) => u16::from(code).to_string(),
                    (None, Some(text)) => text,
                    (None, None) => error.to_string(),
                };
                short(&words)
            }
        }
    }

    /// What a failure means while the final dot is certainly not out, or was answered.
    fn before_the_dot(self, what: &str) -> Outcome {
        if let Self::Smtp(error) = &self
            && error.is_permanent()
        {
            let code = error.status().map(u16::from);
            let text = error.source().map_or_else(String::new, |text| short(&text.to_string()));
            // RFC 4954, section 6: this side should have signed in or used TLS. That is the
            // shop's to mend within the days of retrying, and no fault of the reader's.
            if !matches!(code, Some(530 | 534 | 535 | 538)) {
                return Outcome::RefusedForGood { code, text };
            }
        }
        Outcome::TryLater { why: format!("{what} was not taken: {}", self.words()) }
    }
}

/// One step, within its time.
async fn within<T>(
    limit: Duration,
    step: impl Future<Output = Result<T, lettre::transport::smtp::Error>>,
) -> Result<T, Failed> {
    match timeout(limit, step).await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(Failed::Smtp(error)),
        Err(_) => Err(Failed::TooLong(limit)),
    }
}

fn said(answer: &Response) -> String {
    let lines: Vec<&str> = answer.message().collect();
    short(&format!("{} {}", u16::from(answer.code()), lines.join(" ")))
}

/// What a stranger's server says is kept to one line and a sensible length.
fn short(words: &str) -> String {
    one_line(words).chars().take(400).collect()
}

fn tls_parameters(server: &Server) -> Result<TlsParameters, SetupError> {
    let mut builder = TlsParameters::builder(server.host.clone());
    if let Some(pem) = &server.extra_roots_pem {
        let root = Certificate::from_pem(pem.as_bytes()).map_err(|error| {
            SetupError(format!("the extra certificate cannot be read: {error}"))
        })?;
        builder = builder.add_root_certificate(root);
    }
    builder.build().map_err(|error| SetupError(format!("TLS cannot be set up: {error}")))
}

/// How letters leave the house.
#[derive(Clone)]
pub enum Post {
    /// By a mail server.
    Smtp(Box<Sender>),
    /// Into a folder on this machine, for a shop without a mail server and for trying out.
    Folder(Folder),
}

impl Post {
    /// Send one message.
    pub async fn send(&self, message: &Message) -> Outcome {
        match self {
            Self::Smtp(sender) => sender.send(message).await,
            Self::Folder(folder) => folder.send(message).await,
        }
    }
}
