//! A private PostgreSQL for a shop that has none: the system's own binaries,
//! our own data folder, a Unix socket that nobody else can open.
//!
//! ```text
//! DATA/lock        held (flock) while a server uses this folder
//! DATA/postgres    the cluster, owned by the account that runs PostgreSQL
//! DATA/run         the socket, mode 0700 (elsewhere when DATA is too deep)
//! ```
//!
//! What is not here on purpose: no TCP, no passwords (whoever can open the
//! folder of the socket may connect, and that is one account and root), no
//! upgrade from one major version to the next, no switch to turn durability off
//! in a shop. Backups are `pg_dump`'s work.
//!
//! Started by root, PostgreSQL runs as another account, because it refuses
//! root: the owner of `DATA/postgres` if there is one, else `bellbrace` if that
//! account exists, else `postgres`, which Debian's package brings. Never
//! `nobody`: other programs run under that name and could read the data.

mod account;
mod binaries;
mod create;
mod fault;
mod folder;
mod postmaster;
mod remains;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

pub use fault::ClusterFault;
pub use folder::FolderLock;

use account::Account;
use binaries::Binaries;
use postmaster::{Pause, Postmaster};

/// The role that owns the database and migrates it.
pub const OWNER: &str = "bellbrace_owner";
/// The role that serves requests. It owns nothing and cannot step round
/// row-level security.
pub const SERVING: &str = "bellbrace_serving";
/// The database both roles work in.
pub const DATABASE: &str = "bellbrace";
/// PostgreSQL's superuser in a private cluster: for backups, and for the tests.
pub const SUPERUSER: &str = "postgres";

/// How often the supervisor looks whether PostgreSQL is still there.
const LOOK_EVERY: Duration = Duration::from_millis(100);
/// The longest pause between two attempts to bring PostgreSQL back.
const LONGEST_PAUSE: Duration = Duration::from_secs(5);

/// Where a private cluster is to run, and on which binaries.
#[derive(Clone, Debug)]
pub struct Plan {
    data: PathBuf,
    binaries: Option<PathBuf>,
    durable: bool,
}

impl Plan {
    /// A cluster in `data/postgres`. The folder is made if it is not there.
    pub fn new(data: impl Into<PathBuf>) -> Self {
        Self { data: data.into(), binaries: None, durable: true }
    }

    /// Takes `initdb` and `postgres` from this folder and looks nowhere else.
    #[must_use]
    pub fn on_binaries(mut self, folder: Option<PathBuf>) -> Self {
        self.binaries = folder;
        self
    }

    /// Gives durability up for speed: a power cut may destroy the cluster.
    /// For test runs that throw their cluster away; the server never does this.
    #[must_use]
    pub fn thrown_away_afterwards(mut self) -> Self {
        self.durable = false;
        self
    }
}

/// Looks, without touching anything, whether [`Cluster::start`] would find what
/// it needs, and says in one line what it found.
///
/// # Errors
/// The first thing that would stand in the way.
pub fn look(plan: &Plan) -> Result<String, ClusterFault> {
    let cluster = plan.data.join("postgres");
    let account = Account::to_run_as(&cluster)?;
    let binaries = Binaries::find(plan.binaries.as_deref(), &cluster)?;
    folder::could_reach(&plan.data, account.as_ref())?;
    let who =
        account.map_or_else(String::new, |account| format!(" as the account {}", account.name));
    let state = if cluster.join("PG_VERSION").exists() { "runs in" } else { "will be made in" };
    Ok(format!("PostgreSQL {} {state} {}{who}", binaries.major, cluster.display()))
}

/// Everything that stays the same while one cluster runs.
struct Site {
    binaries: Binaries,
    account: Option<Account>,
    /// Canonical, because `/proc` shows canonical paths.
    data: PathBuf,
    socket_folder: PathBuf,
    durable: bool,
}

/// A running private PostgreSQL. Dropping it stops PostgreSQL.
///
/// A thread of its own starts PostgreSQL, watches it, and starts it again when
/// it dies; meanwhile connecting fails, which the server answers with 503. On
/// Linux the kernel tells PostgreSQL to stop when that thread ends, so nothing
/// outlives a server that was killed.
pub struct Cluster {
    site: Arc<Site>,
    up: Arc<AtomicBool>,
    stop: Option<Sender<()>>,
    supervisor: Option<JoinHandle<()>>,
    // Declared last: the folder is let go only after PostgreSQL has stopped.
    _lock: FolderLock,
}

impl Cluster {
    /// Makes the cluster if there is none, starts it, and comes back when it
    /// accepts connections. Blocks: about one second from nothing, a tenth of a
    /// second otherwise, longer after a crash with much to recover.
    ///
    /// # Errors
    /// What stands in the way, in words that name the remedy: PostgreSQL is not
    /// installed, the folder is in use or cannot be reached, and so on.
    pub fn start(plan: &Plan) -> Result<Self, ClusterFault> {
        let account = Account::to_run_as(&plan.data.join("postgres"))?;
        let data = folder::prepare(&plan.data, account.as_ref())?;
        let lock = FolderLock::take(&data)?;
        let cluster = data.join("postgres");
        let binaries = Binaries::find(plan.binaries.as_deref(), &cluster)?;
        let socket_folder = folder::for_the_socket(&data, account.as_ref())?;
        let mut site =
            Site { binaries, account, data: cluster, socket_folder, durable: plan.durable };
        if !site.data.join("PG_VERSION").exists() {
            let began = Instant::now();
            create::cluster(&site)?;
            tracing::info!(
                postgres.version = site.binaries.major,
                duration_ms = millis(began.elapsed()),
                "made a new PostgreSQL cluster"
            );
        }
        // The cluster itself may be a link to another disk.
        site.data = site
            .data
            .canonicalize()
            .map_err(|cause| ClusterFault::io("find", Some(&site.data), cause))?;
        Self::supervise(site, lock)
    }

    fn supervise(site: Site, lock: FolderLock) -> Result<Self, ClusterFault> {
        let site = Arc::new(site);
        let up = Arc::new(AtomicBool::new(false));
        let (stop, orders) = channel();
        let (tell, started) = channel();
        let supervisor = {
            let (site, up) = (Arc::clone(&site), Arc::clone(&up));
            std::thread::Builder::new()
                .name("postgresql".to_owned())
                .spawn(move || supervise(&site, &up, &orders, &tell))
                .map_err(|cause| ClusterFault::io("start a thread for PostgreSQL", None, cause))?
        };
        let mut cluster =
            Self { site, up, stop: Some(stop), supervisor: Some(supervisor), _lock: lock };
        match started.recv() {
            Ok(Ok(())) => Ok(cluster),
            Ok(Err(fault)) => Err(fault),
            Err(_) => {
                cluster.end();
                Err(ClusterFault::SupervisorGone)
            }
        }
    }

    /// The connection URL, for libpq, of the role that migrates.
    pub fn owner_url(&self) -> String {
        self.url(OWNER, DATABASE)
    }

    /// The connection URL, for libpq, of the role that serves requests.
    pub fn serving_url(&self) -> String {
        self.url(SERVING, DATABASE)
    }

    /// The connection URL, for libpq, of any role in any database of this
    /// cluster. The server needs only the two above; tests make databases.
    pub fn url(&self, role: &str, database: &str) -> String {
        url(&self.site.socket_folder, role, database)
    }

    /// Whether PostgreSQL was there when last looked at, at most a tenth of a
    /// second ago.
    pub fn is_up(&self) -> bool {
        self.up.load(Ordering::Acquire)
    }

    /// The folder of `initdb`, `postgres` and, on most systems, `pg_dump`.
    pub fn binaries(&self) -> &Path {
        &self.site.binaries.folder
    }

    /// The folder of the socket: the `host` of the connection URLs.
    pub fn socket_folder(&self) -> &Path {
        &self.site.socket_folder
    }

    /// Stops PostgreSQL and waits for it: connections are cut, what was
    /// committed is on the disk. Dropping does the same.
    pub fn stop(mut self) {
        self.end();
    }

    fn end(&mut self) {
        drop(self.stop.take());
        if let Some(supervisor) = self.supervisor.take()
            && supervisor.join().is_err()
        {
            tracing::error!("the thread that watches PostgreSQL panicked");
        }
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        self.end();
    }
}

/// The life of one cluster, on the thread that is PostgreSQL's parent.
///
/// The thread must not end before PostgreSQL does: Linux sends the parent's
/// death signal when the *thread* that forked ends.
fn supervise(
    site: &Site,
    up: &AtomicBool,
    orders: &Receiver<()>,
    tell: &Sender<Result<(), ClusterFault>>,
) {
    let pause = |time: Duration| match orders.recv_timeout(time) {
        Err(RecvTimeoutError::Timeout) => Pause::Over,
        Ok(()) | Err(RecvTimeoutError::Disconnected) => Pause::CutShort,
    };
    let mut postmaster = match Postmaster::start(site, &pause) {
        Ok(postmaster) => postmaster,
        Err(fault) => {
            // Nobody listens any more only when the caller is gone as well.
            let _ = tell.send(Err(fault));
            return;
        }
    };
    up.store(true, Ordering::Release);
    let _ = tell.send(Ok(()));

    while pause(LOOK_EVERY) == Pause::Over {
        let Some(how) = postmaster.has_ended() else { continue };
        up.store(false, Ordering::Release);
        tracing::error!(postgres.ended = %how, "PostgreSQL ended by itself; starting it again");
        match bring_back(site, &pause) {
            Some(again) => postmaster = again,
            None => return,
        }
        up.store(true, Ordering::Release);
        tracing::info!("PostgreSQL is back");
    }
    up.store(false, Ordering::Release);
    postmaster.stop();
}

/// Tries until PostgreSQL is back; `None` when told to stop meanwhile.
fn bring_back(site: &Site, pause: &dyn Fn(Duration) -> Pause) -> Option<Postmaster> {
    let mut wait = LOOK_EVERY;
    loop {
        match Postmaster::start(site, pause) {
            Ok(postmaster) => return Some(postmaster),
            Err(ClusterFault::ToldToStop) => return None,
            Err(fault) => tracing::error!(cause = %fault, "PostgreSQL does not come back yet"),
        }
        if pause(wait) == Pause::CutShort {
            return None;
        }
        wait = (wait * 2).min(LONGEST_PAUSE);
    }
}

/// A URL with the socket's folder in the query: a path in the place of a host
/// would have to be encoded, which not every reader of such URLs undoes.
fn url(socket_folder: &Path, role: &str, database: &str) -> String {
    let mut host = String::new();
    for byte in socket_folder.as_os_str().as_encoded_bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'/' | b'-' | b'.' | b'_' | b'~' => {
                host.push(char::from(*byte));
            }
            other => host.push_str(&format!("%{other:02X}")),
        }
    }
    format!("postgresql://{role}@/{database}?host={host}&port={}", folder::PORT)
}

fn millis(time: Duration) -> u64 {
    u64::try_from(time.as_millis()).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_with_odd_characters_survives_the_url() {
        assert_eq!(
            url(Path::new("/srv/Müller & Söhne/run"), "bellbrace_owner", "bellbrace"),
            "postgresql://bellbrace_owner@/bellbrace\
             ?host=/srv/M%C3%BCller%20%26%20S%C3%B6hne/run&port=5432"
        );
    }
}
