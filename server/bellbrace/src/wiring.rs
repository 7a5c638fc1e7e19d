//! How the parts are put together: the only file that knows all of them.

use std::error::Error;
use std::fs::{self, DirBuilder, OpenOptions};
use std::io::{ErrorKind, Write};
use std::net::TcpListener;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::Path;
use std::sync::Arc;

use actix_web::web::Data;
use acts::{Acts, Clock};
use bellbrace_http::{Keys, Live, Parts};
use chrono::{DateTime, Duration, Utc};
use mail::sender::{Security, Server, SignIn, Timeouts};
use mail::{Folder, Person, Post, Sender};
use rand::Rng;
use store::Store;
use store::photo_files::PhotoFolder;
use tokio::sync::watch;
use trade::words::spelling::Spelt;
use trade::words::stage::Role;

use crate::database::DatabaseUrls;
use crate::settings::{Mail, MailSecurity, Settings};
use crate::{demo, signals};

/// A person to be added from the command line.
#[derive(Clone, Debug)]
pub struct NewPerson {
    pub name: String,
    pub email: String,
    /// `front_desk`, `technician`, `proprietor`.
    pub roles: Vec<String>,
}

type Outcome = Result<(), Box<dyn Error + Send + Sync>>;

/// The role that serves when the server runs a PostgreSQL of its own.
const SERVING_ROLE: &str = "bellbrace_serving";

/// Serves until told to stop, then stops in the order of who needs whom:
/// requests first, then the rounds. PostgreSQL is stopped by the caller.
///
/// # Errors
/// What keeps the server from serving.
pub fn serve(settings: &Settings, urls: &DatabaseUrls) -> Outcome {
    if urls.owner.is_some() {
        migrate(settings, urls)?;
    }
    let socket = TcpListener::bind(settings.listen).map_err(|cause| match cause.kind() {
        ErrorKind::AddrInUse => format!(
            "port {} is taken by another program; stop that one, or choose another port with --port",
            settings.listen.port()
        ),
        _ => format!("cannot listen on {}: {cause}", settings.listen),
    })?;
    socket.set_nonblocking(true)?;
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(settings.workers.max(2))
        .enable_all()
        .build()?
        .block_on(run(settings, urls, socket))
}

async fn run(settings: &Settings, urls: &DatabaseUrls, socket: TcpListener) -> Outcome {
    let store = Store::new(urls.serving.reveal(), settings.database.pool);
    let clock = clock(settings);
    let acts = Acts {
        store: store.clone(),
        clock: clock.clone(),
        public_url: settings.public_url.as_str().into(),
        mute: None,
        photo_files: Arc::new(photo_folder(settings)?),
    };
    let keys = Keys::new(&secret(&settings.sessions.key_file)?, settings.sessions.access);
    let (news, hears) = watch::channel(0);
    let news = Arc::new(news);
    let (stop, stopped) = watch::channel(false);
    let live = Live::new(store.clone(), hears.clone(), stopped.clone());

    demo::refuse_half_made(&settings.data)?;
    if settings.demo {
        demo::open(&acts, &settings.data, &settings.public_url).await?;
    } else if let Some(link) = acts.first_proprietor_link().await.map_err(in_words)? {
        println!("Nobody works here yet. Open this once to make the first proprietor:\n  {link}");
    }

    let (post, from) = post(settings)?;
    let post = Arc::new(post);
    let mut rounds = tokio::task::JoinSet::new();
    rounds.spawn(rounds::relay::run(store.clone(), Arc::clone(&news), stopped.clone()));
    rounds.spawn(rounds::outbox::run(store.clone(), Arc::clone(&post), from, clock, stopped.clone()));
    rounds.spawn(rounds::hours::run(acts.clone(), stopped.clone()));
    rounds.spawn(rounds::forecasts::run(acts.clone(), hears, stopped.clone()));
    rounds.spawn(live.clone().run());
    let mut parts = Parts::new(acts, keys, live);
    parts.mailbox_folder = match post.as_ref() {
        Post::Folder(folder) => Some(folder.path().join("new").display().to_string()),
        Post::Smtp(_) => None,
    };
    parts.proxies = settings.proxies;
    parts.renewal_days = i32::try_from(settings.sessions.renewal.as_secs() / (24 * 60 * 60)).unwrap_or(i32::MAX);
    let parts = Data::new(parts);
    rounds.spawn(bellbrace_http::state::follow_endings(parts.clone(), stopped.clone()));
    rounds.spawn(forget_tries(parts.clone(), stopped.clone()));
    let ear = rounds::relay::listen(store, news, stopped)?;

    let address = socket.local_addr()?;
    let server = bellbrace_http::server::serve(parts, socket, settings.workers)?;
    let handle = server.handle();
    let serving = tokio::spawn(server);
    tracing::info!(%address, "serving");
    println!("Bellbrace is open at {}", settings.public_url);

    signals::wish_to_stop().await?;
    tracing::info!("stopping");
    // Streams end first: a graceful stop would wait for them.
    stop.send_replace(true);
    handle.stop(true).await;
    serving.await??;
    // A letter in hand is given the time its mail server may take, but not more than a person
    // waits for; its lease hands it to the next start.
    let _ = tokio::time::timeout(std::time::Duration::from_secs(5), async { while rounds.join_next().await.is_some() {} }).await;
    let _ = tokio::task::spawn_blocking(move || ear.join()).await;
    Ok(())
}

/// Lets go of old tries to sign in, until the process stops.
async fn forget_tries(parts: Data<Parts>, mut stop: watch::Receiver<bool>) {
    loop {
        tokio::select! {
            () = tokio::time::sleep(std::time::Duration::from_secs(60)) => parts.forget_old_tries(),
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}

/// Brings the database to the schema this server knows.
///
/// # Errors
/// When the database is away, no owner is named, or a migration fails.
pub fn migrate(_settings: &Settings, urls: &DatabaseUrls) -> Outcome {
    let Some(owner) = &urls.owner else {
        return Err("database.owner_url is not set: only the owner of the database can migrate it".into());
    };
    let serving = store::migrate::role_of(urls.serving.reveal()).unwrap_or_else(|_| SERVING_ROLE.to_owned());
    let ran = store::migrate::migrate(owner.reveal(), &serving)?;
    if !ran.is_empty() {
        tracing::info!(steps = ran.len(), "the database was brought up");
    }
    Ok(())
}

/// Adds a member of the staff, with a password that is shown once.
///
/// # Errors
/// When no shop is open yet, or several are; what is wrong with the person.
pub fn add_person(settings: &Settings, urls: &DatabaseUrls, person: &NewPerson) -> Outcome {
    tokio::runtime::Builder::new_multi_thread().enable_all().build()?.block_on(async {
        let store = Store::new(urls.serving.reveal(), 2);
        let acts = Acts { store, clock: clock(settings), public_url: settings.public_url.as_str().into(), mute: None, photo_files: Arc::new(PhotoFolder::at(&settings.photos)) };
        let mut roles = Vec::new();
        for name in &person.roles {
            roles.push(Role::from_spelling(name).ok_or_else(|| format!("{name:?} is no role"))?);
        }
        let password = acts::links::new_secret();
        let added = acts.add_person_from_here(&person.name, &person.email, roles, &password).await.map_err(in_words)?;
        println!("{} signs in as {} with the password {password}\nIt is shown only this once.", added.name, added.email);
        Ok(())
    })
}

/// What stands in the way, in words for a terminal.
fn in_words(halt: acts::Halt) -> Box<dyn Error + Send + Sync> {
    match halt {
        acts::Halt::Refused(refusal) => refusal.words.into(),
        acts::Halt::Invalid(faults) => {
            let faults: Vec<String> = faults.iter().map(|f| format!("{} {}", f.pointer, f.message)).collect();
            faults.join("; ").into()
        }
        acts::Halt::Store(error) => Box::new(error),
        other => format!("{other:?}").into(),
    }
}

/// Where the pictures of photos lie: tried once at the start, not with the first photo.
fn photo_folder(settings: &Settings) -> Result<PhotoFolder, Box<dyn Error + Send + Sync>> {
    let folder = PhotoFolder::at(&settings.photos);
    folder.try_it().map_err(|cause| {
        let path = settings.photos.display();
        format!("photos (environment variable BELLBRACE_PHOTOS): {path} cannot be written to ({cause}). Make the folder and give it to the account that the server runs as")
    })?;
    Ok(folder)
}

/// The clock of business instants: the machine's, or in tests the machine's moved by the seconds
/// that stand in a file.
#[expect(clippy::disallowed_methods, reason = "the binary is where the one clock is made")]
fn clock(settings: &Settings) -> Clock {
    if !settings.test_clock {
        return Clock::new(Utc::now);
    }
    let file = settings.data.join("test-clock");
    Clock::new(move || moved(Utc::now(), &file))
}

fn moved(now: DateTime<Utc>, file: &Path) -> DateTime<Utc> {
    let seconds = fs::read_to_string(file).ok().and_then(|text| text.trim().parse::<i64>().ok()).unwrap_or(0);
    now + Duration::seconds(seconds)
}

/// The installation's secret, made at the first start, readable by this account alone.
fn secret(file: &Path) -> Result<[u8; 32], Box<dyn Error + Send + Sync>> {
    let read = |file: &Path| -> Result<[u8; 32], Box<dyn Error + Send + Sync>> {
        fs::read(file)?
            .try_into()
            .map_err(|_| format!("{} does not hold a key of 32 bytes; put the right file back, or remove it and everybody signs in again", file.display()).into())
    };
    match read(file) {
        Err(error) if error.downcast_ref::<std::io::Error>().is_some_and(|e| e.kind() == ErrorKind::NotFound) => {}
        other => return other,
    }
    // With a database of its own elsewhere, nothing has made the data folder yet.
    if let Some(folder) = file.parent() {
        DirBuilder::new()
            .recursive(true)
            .mode(0o700)
            .create(folder)
            .map_err(|error| format!("cannot make the folder {} for the key file: {error}", folder.display()))?;
    }
    let mut key = [0_u8; 32];
    rand::rng().fill_bytes(&mut key);
    match OpenOptions::new().write(true).create_new(true).mode(0o600).open(file) {
        Ok(mut opened) => {
            opened.write_all(&key)?;
            opened.sync_all()?;
            Ok(key)
        }
        // Another server was faster; its key counts.
        Err(error) if error.kind() == ErrorKind::AlreadyExists => read(file),
        Err(error) => Err(format!("cannot write the key file {}: {error}", file.display()).into()),
    }
}

/// The way letters leave: the mail server, or a mailbox folder on this machine.
fn post(settings: &Settings) -> Result<(Post, rounds::outbox::From), Box<dyn Error + Send + Sync>> {
    // Letters to invented people never leave this machine, whatever the settings say.
    match settings.mail.as_ref().filter(|_| !settings.demo) {
        None => {
            let folder = settings.data.join("mailbox");
            tracing::info!("letters go to the mailbox folder");
            Ok((Post::Folder(Folder::open(folder)?), rounds::outbox::From { person: None }))
        }
        Some(mail) => {
            let sender = Sender::new(server(mail)).map_err(|error| format!("mail: {}", error.0))?;
            let (name, email) = match mail.from.split_once('<') {
                Some((name, rest)) => (name.trim().to_owned(), rest.trim_end_matches('>').trim().to_owned()),
                None => (String::new(), mail.from.trim().to_owned()),
            };
            Ok((Post::Smtp(Box::new(sender)), rounds::outbox::From { person: Some(Person { name, email }) }))
        }
    }
}

fn server(mail: &Mail) -> Server {
    Server {
        host: mail.host.clone(),
        port: mail.port,
        security: match mail.security {
            MailSecurity::None => Security::Nothing,
            MailSecurity::StartTls => Security::StartTls,
            MailSecurity::Tls => Security::Tls,
        },
        sign_in: mail.sign_in.as_ref().map(|(name, password)| SignIn { name: name.clone(), password: password.reveal().to_owned() }),
        hello_name: hello_name(),
        extra_roots_pem: None,
        timeouts: Timeouts::default(),
    }
}

/// How the server introduces itself to a mail server.
fn hello_name() -> String {
    nix::unistd::gethostname().ok().and_then(|name| name.into_string().ok()).unwrap_or_else(|| "localhost".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    #[test]
    fn the_first_key_makes_its_folder_and_the_next_start_finds_it() {
        let place = std::env::temp_dir().join(format!("bellbrace-key-{}", std::process::id()));
        let file = place.join("data").join("token-key.pem");
        let first = secret(&file).unwrap();
        assert_eq!(secret(&file).unwrap(), first);
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(file.parent().unwrap()), 0o700);
        assert_eq!(mode(&file), 0o600);
        fs::remove_dir_all(place).unwrap();
    }
}
