//! The settings of one installation: from the command line, the environment and
//! a TOML file, in this order of strength, all read and judged before anything
//! is started. What belongs to a shop (rates, wording, hours) is not here but
//! in its database.
//!
//! A new setting is a line in `keys.rs`, a line in [`Settings::understand`] and
//! a paragraph in `deploy/bellbrace.example.toml`.

mod given;
mod keys;

use std::ffi::OsString;
use std::fmt;
use std::fs;
use std::io::ErrorKind;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::time::Duration;

use given::Given;
pub use given::{SettingFault, Source};
pub use keys::{KEYS, Key};

/// A text that must not be printed. Its `Debug` shows that it is there.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// The text itself, for the one who needs it.
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(…)")
    }
}

/// Everything an installation can decide for itself, judged and complete.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Where the server listens; loopback unless it is told otherwise.
    pub listen: SocketAddr,
    /// What stands before every link in a letter, without a slash at the end.
    pub public_url: String,
    /// Absolute: the private database, the token key, and photos unless they lie elsewhere.
    pub data: PathBuf,
    /// Absolute: the pictures of photos.
    pub photos: PathBuf,
    /// Threads that answer requests.
    pub workers: usize,
    /// How many web servers stand in front, each adding to `X-Forwarded-For`.
    pub proxies: usize,
    /// Whether the shop is a made-up one to look at.
    pub demo: bool,
    pub database: Database,
    pub log: Log,
    /// `None`: letters go to the mailbox folder.
    pub mail: Option<Mail>,
    pub sessions: Sessions,
    /// Whether tests may move the clock. No file can set this.
    pub test_clock: bool,
    /// What is allowed but probably not meant, to be said at the start.
    pub warnings: Vec<String>,
}

#[derive(Clone, Debug)]
pub struct Database {
    /// The role that serves; `None` for a private PostgreSQL.
    pub url: Option<Secret>,
    /// The role that owns and migrates; only with `url`, and not needed by a
    /// server that is to leave migrating to another one.
    pub owner_url: Option<Secret>,
    /// Connections kept for requests.
    pub pool: u32,
    /// Where `initdb` and `postgres` are, when not in the usual places.
    pub binaries: Option<PathBuf>,
}

#[derive(Clone, Debug)]
pub struct Log {
    pub format: LogFormat,
    pub level: tracing::Level,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogFormat {
    Readable,
    Json,
}

#[derive(Clone, Debug)]
pub struct Mail {
    pub host: String,
    pub port: u16,
    pub security: MailSecurity,
    /// Name and password.
    pub sign_in: Option<(String, Secret)>,
    /// `bench@shop.example` or `Brass Repairs <bench@shop.example>`.
    pub from: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MailSecurity {
    /// In the clear: for a mail server on the same machine.
    None,
    /// In the clear first, then encrypted, and nothing is sent if that fails.
    StartTls,
    /// Encrypted from the first byte.
    Tls,
}

impl MailSecurity {
    /// RFC 6409 (587), RFC 8314 (465), RFC 5321 (25).
    fn usual_port(self) -> u16 {
        match self {
            Self::None => 25,
            Self::StartTls => 587,
            Self::Tls => 465,
        }
    }
}

#[derive(Clone, Debug)]
pub struct Sessions {
    /// How long an access token is good for.
    pub access: Duration,
    /// How long somebody stays signed in without coming back.
    pub renewal: Duration,
    /// The private key that signs access tokens; made when it is not there.
    pub key_file: PathBuf,
}

/// What the command line may say about the settings.
#[derive(Clone, Debug, Default)]
pub struct Options {
    pub data: Option<PathBuf>,
    pub port: Option<String>,
    pub config: Option<PathBuf>,
    pub demo: bool,
}

impl Settings {
    /// Reads the settings of this process.
    ///
    /// # Errors
    /// Every fault that was found, not only the first.
    pub fn read(options: &Options) -> Result<Self, Vec<SettingFault>> {
        Self::from(options, std::env::vars_os().collect(), nix::unistd::geteuid().is_root())
    }

    /// The same from a given environment.
    ///
    /// # Errors
    /// Every fault that was found, not only the first.
    pub fn from(
        options: &Options,
        environment: Vec<(OsString, OsString)>,
        is_root: bool,
    ) -> Result<Self, Vec<SettingFault>> {
        let usual_data = usual_data(&environment, is_root, options.demo);
        let test_clock = environment.iter().find(|(name, _)| name == keys::TEST_CLOCK).cloned();
        let mut given = Given::default();
        // The weaker first: a file may name the data folder only when it does
        // not lie there itself.
        if let Some(path) = &options.config {
            match fs::read_to_string(path) {
                Ok(text) => given.file(path, &text),
                Err(cause) => given.faults.push(unreadable(path, &cause)),
            }
        } else {
            let data = stated_data(options, &environment).or_else(|| usual_data.clone());
            let file = data.map(|data| data.join("bellbrace.toml"));
            match file.as_deref().map(|path| (path, fs::read_to_string(path))) {
                Some((path, Ok(text))) => {
                    given.file(path, &text);
                    if given.has(keys::DATA) {
                        given.refuse(keys::DATA, "stands in a file inside the data folder");
                    }
                }
                Some((path, Err(cause))) if cause.kind() != ErrorKind::NotFound => {
                    given.faults.push(unreadable(path, &cause));
                }
                _ => {}
            }
        }
        given.environment(environment.into_iter());
        if let Some(port) = &options.port {
            given.option("--port", keys::PORT, port.clone());
        }
        if let Some(data) = &options.data {
            let data = std::path::absolute(data).unwrap_or_else(|_| data.clone());
            given.option("--data", keys::DATA, data.to_string_lossy().into_owned());
        }
        Self::understand(given, usual_data, options.demo, test_clock.map(|(_, value)| value))
    }

    fn understand(
        mut given: Given,
        usual_data: Option<PathBuf>,
        demo: bool,
        test_clock: Option<OsString>,
    ) -> Result<Self, Vec<SettingFault>> {
        let mut warnings = Vec::new();

        let address = given
            .read(keys::ADDRESS, |text| {
                text.parse().map_err(|_| format!("\"{text}\" is not an IP address"))
            })
            .unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
        let port = given.whole(keys::PORT, 1..=u16::MAX).unwrap_or(8470);
        let listen = SocketAddr::new(address, port);
        let public_url = given
            .read(keys::PUBLIC_URL, bare_web_address)
            .unwrap_or_else(|| format!("http://localhost:{port}"));
        if is_unprotected(&public_url) {
            warnings.push(format!(
                "public_url is {public_url}: over http, browsers keep the sign-in cookie for \
                 localhost only. Put a web server with a certificate in front, and give its https \
                 address."
            ));
        }
        if !address.is_loopback() && !given.has(keys::PUBLIC_URL) {
            warnings.push(format!(
                "address is {address}, but public_url is not set: the links in letters lead to \
                 {public_url}, which works on this machine only."
            ));
        }
        let data = match (given.path(keys::DATA), usual_data) {
            (Some(data), _) => data,
            (None, Some(usual)) => usual,
            (None, None) => {
                if !given.has(keys::DATA) {
                    given.refuse(keys::DATA, "is missing, and there is no HOME to choose it by");
                }
                PathBuf::new()
            }
        };
        let photos = given.path(keys::PHOTOS).unwrap_or_else(|| data.join("photos"));
        let processors = std::thread::available_parallelism().map_or(1, usize::from);
        let workers = given.whole(keys::WORKERS, 1..=256).map_or(processors, usize::from);

        let proxies = given.whole(keys::PROXIES, 0..=5).map_or(0, usize::from);

        let database = database(&mut given, &mut warnings);
        let log = Log {
            format: given
                .one_of(
                    keys::LOG_FORMAT,
                    &[("readable", LogFormat::Readable), ("json", LogFormat::Json)],
                )
                .unwrap_or(LogFormat::Readable),
            level: given
                .one_of(
                    keys::LOG_LEVEL,
                    &[
                        ("error", tracing::Level::ERROR),
                        ("warn", tracing::Level::WARN),
                        ("info", tracing::Level::INFO),
                        ("debug", tracing::Level::DEBUG),
                        ("trace", tracing::Level::TRACE),
                    ],
                )
                .unwrap_or(tracing::Level::INFO),
        };
        let mail = mail(&mut given);
        let minutes = given.whole(keys::SESSION_ACCESS_MINUTES, 1..=10).unwrap_or(10);
        let days = given.whole(keys::SESSION_RENEWAL_DAYS, 1..=90).unwrap_or(14);
        let sessions = Sessions {
            access: Duration::from_secs(60 * u64::from(minutes)),
            renewal: Duration::from_secs(24 * 60 * 60 * u64::from(days)),
            key_file: given
                .path(keys::SESSION_KEY_FILE)
                .unwrap_or_else(|| data.join("token-key.pem")),
        };
        let test_clock = match test_clock {
            None => false,
            Some(value) if value == "1" => true,
            Some(_) => {
                given.faults.push(SettingFault {
                    key: keys::TEST_CLOCK.to_owned(),
                    source: Some(Source::Environment(keys::TEST_CLOCK.to_owned())),
                    wrong: "turns a clock for tests on when it is 1".to_owned(),
                    remedy: "Take it out".to_owned(),
                });
                false
            }
        };

        if !given.faults.is_empty() {
            return Err(given.faults);
        }
        Ok(Self {
            listen,
            public_url,
            data,
            photos,
            workers,
            proxies,
            demo,
            database,
            log,
            mail,
            sessions,
            test_clock,
            warnings,
        })
    }
}

fn database(given: &mut Given, warnings: &mut Vec<String>) -> Database {
    let url = given.read(keys::DATABASE_URL, postgresql_url);
    let owner_url = given.read(keys::DATABASE_OWNER_URL, postgresql_url);
    if given.has(keys::DATABASE_OWNER_URL) && !given.has(keys::DATABASE_URL) {
        given.refuse(keys::DATABASE_URL, "is missing, while database.owner_url is given");
    }
    if url.is_some() && url == owner_url {
        warnings.push(
            "database.url and database.owner_url name the same role: an owner can switch off what \
             keeps shops apart. Serve with a role that owns nothing."
                .to_owned(),
        );
    }
    Database {
        url: url.map(Secret::new),
        owner_url: owner_url.map(Secret::new),
        pool: given.whole(keys::DATABASE_POOL, 2..=90).map_or(8, u32::from),
        binaries: given.path(keys::DATABASE_BINARIES),
    }
}

fn mail(given: &mut Given) -> Option<Mail> {
    let host = given.read(keys::MAIL_HOST, |text| match text.find([' ', '/', '@']) {
        None => Ok(text.to_owned()),
        Some(_) => Err(format!("\"{text}\" is not the name of a server")),
    });
    let port = given.whole(keys::MAIL_PORT, 1..=u16::MAX);
    let security = given
        .one_of(
            keys::MAIL_SECURITY,
            &[
                ("none", MailSecurity::None),
                ("starttls", MailSecurity::StartTls),
                ("tls", MailSecurity::Tls),
            ],
        )
        .unwrap_or(MailSecurity::StartTls);
    let user = given.text(keys::MAIL_USER);
    let password = given.text(keys::MAIL_PASSWORD);
    let from = given.read(keys::MAIL_FROM, sender);

    let others = [
        keys::MAIL_PORT,
        keys::MAIL_SECURITY,
        keys::MAIL_USER,
        keys::MAIL_PASSWORD,
        keys::MAIL_FROM,
    ];
    match others.into_iter().find(|key| given.has(key)) {
        Some(key) if !given.has(keys::MAIL_HOST) => {
            given.refuse(keys::MAIL_HOST, format!("is missing, while {} is given", key.name));
        }
        _ => {}
    }
    if given.has(keys::MAIL_HOST) && !given.has(keys::MAIL_FROM) {
        given.refuse(keys::MAIL_FROM, "is missing, while mail.host is given");
    }
    for (one, other) in
        [(keys::MAIL_USER, keys::MAIL_PASSWORD), (keys::MAIL_PASSWORD, keys::MAIL_USER)]
    {
        if given.has(one) && !given.has(other) {
            given.refuse(other, format!("is missing, while {} is given", one.name));
        }
    }
    let is_here = host.as_deref().is_some_and(is_this_machine);
    if security == MailSecurity::None && given.has(keys::MAIL_PASSWORD) && !is_here {
        given.refuse(
            keys::MAIL_SECURITY,
            "is none, and would send mail.password over the network for all to read",
        );
    }
    Some(Mail {
        host: host?,
        port: port.unwrap_or(security.usual_port()),
        security,
        sign_in: user.zip(password.map(Secret::new)),
        from: from?,
    })
}

fn unreadable(path: &Path, cause: &std::io::Error) -> SettingFault {
    SettingFault {
        key: "settings file".to_owned(),
        source: Some(Source::File(path.to_path_buf())),
        wrong: format!("cannot be read: {cause}"),
        remedy: "Give the path of a readable file with --config".to_owned(),
    }
}

/// What the command line or the environment says, before it is judged: the
/// settings file may lie there.
fn stated_data(options: &Options, environment: &[(OsString, OsString)]) -> Option<PathBuf> {
    options.data.clone().or_else(|| {
        let (_, value) = environment.iter().find(|(name, _)| name == keys::DATA.variable)?;
        Some(PathBuf::from(value)).filter(|path| path.is_absolute())
    })
}

/// `/var/lib/bellbrace` for root, else below the home, as the XDG base
/// directory specification has it. The demonstration never mixes with a shop.
fn usual_data(environment: &[(OsString, OsString)], is_root: bool, demo: bool) -> Option<PathBuf> {
    let folder = |wanted: &str| {
        let (_, value) = environment.iter().find(|(name, _)| name == wanted)?;
        Some(PathBuf::from(value)).filter(|path| path.is_absolute())
    };
    let name = if demo { "bellbrace-demo" } else { "bellbrace" };
    if is_root {
        return Some(Path::new("/var/lib").join(name));
    }
    let parent =
        folder("XDG_DATA_HOME").or_else(|| folder("HOME").map(|home| home.join(".local/share")))?;
    Some(parent.join(name))
}

fn bare_web_address(text: &str) -> Result<String, String> {
    let bare = text.trim_end_matches('/');
    let Some(rest) = bare.strip_prefix("https://").or_else(|| bare.strip_prefix("http://")) else {
        return Err(format!("\"{text}\" does not begin with https:// or http://"));
    };
    let host = rest.rsplit_once(':').map_or(rest, |(host, _)| host);
    let has_port = !rest.ends_with(']') && rest.contains(':');
    let port = rest.rsplit_once(':').map(|(_, port)| port).filter(|_| has_port);
    if host.is_empty() || rest.contains(['/', '?', '#', '@', ' ', '\\', '"', '<', '>']) {
        return Err(format!("\"{text}\" is more or less than scheme, host and port"));
    }
    match port.map(str::parse::<u16>) {
        Some(Err(_)) => Err(format!("the port in \"{text}\" is not a number up to 65535")),
        _ => Ok(bare.to_owned()),
    }
}

/// Whether a browser refuses a `Secure` cookie from there.
fn is_unprotected(public_url: &str) -> bool {
    public_url.strip_prefix("http://").is_some_and(|rest| {
        let host = rest.split(':').next().unwrap_or_default();
        !is_this_machine(host) && !host.ends_with(".localhost") && !rest.starts_with("[::1]")
    })
}

fn is_this_machine(host: &str) -> bool {
    host == "localhost" || host.parse().is_ok_and(|address: IpAddr| address.is_loopback())
}

fn postgresql_url(text: &str) -> Result<String, String> {
    // The text itself may hold a password, so no fault repeats it.
    let rest = text.strip_prefix("postgresql://").or_else(|| text.strip_prefix("postgres://"));
    match rest {
        None => Err("does not begin with postgresql://".to_owned()),
        Some(rest) if !rest.split('?').next().unwrap_or_default().contains('/') => {
            Err("names no database after the host".to_owned())
        }
        Some(_) => Ok(text.to_owned()),
    }
}

fn sender(text: &str) -> Result<String, String> {
    let address = match text.split_once('<') {
        Some((_, rest)) => rest.strip_suffix('>').unwrap_or_default(),
        None => text,
    };
    let parts = address.split_once('@');
    let is_one = parts.is_some_and(|(local, domain)| {
        !local.is_empty() && !domain.is_empty() && !domain.contains('@')
    });
    if is_one && !address.contains([' ', '<', '>', ',', ';']) {
        Ok(text.to_owned())
    } else {
        Err(format!("\"{text}\" is not a mail address"))
    }
}
