use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What stands between the server and its PostgreSQL. The text says what is
/// wrong and what to do about it, and is meant for whoever installs the server.
#[derive(Debug)]
pub enum ClusterFault {
    /// No usable PostgreSQL on this machine. `unfit` lists versions that were
    /// found and cannot be used.
    NotInstalled { unfit: Vec<u32> },
    /// The folder named in the settings has no PostgreSQL that can be used.
    NoBinariesIn { folder: PathBuf, why: String },
    /// The cluster was made by a major version that is not installed.
    OtherVersion { data: PathBuf, made_by: String, installed: Vec<u32> },
    /// Root started the server, and no account is there to run PostgreSQL.
    NoAccount,
    /// The cluster belongs to another account, and we are not root.
    NotOurs { data: PathBuf, owner: String },
    /// PostgreSQL's account cannot pass through this folder.
    Unreachable { folder: PathBuf, data: PathBuf, account: String },
    /// Another server holds the folder.
    InUse { data: PathBuf, by: Option<u32> },
    /// There is something in `DATA/postgres`, but it is no cluster.
    NotACluster { data: PathBuf },
    /// No folder for the socket is short enough and safe.
    NoSocketFolder { tried: Vec<(PathBuf, String)> },
    /// PostgreSQL of an earlier server does not stop.
    OrphanStays { pid: i32 },
    /// One of PostgreSQL's programs failed; `said` are its last words.
    Failed { program: &'static str, how: String, said: String },
    /// The server was stopped while PostgreSQL was starting.
    ToldToStop,
    /// The thread that watches PostgreSQL ended before PostgreSQL was there.
    SupervisorGone,
    /// The system refused something.
    Io { doing: &'static str, path: Option<PathBuf>, cause: io::Error },
}

impl ClusterFault {
    pub(super) fn io(doing: &'static str, path: Option<&Path>, cause: io::Error) -> Self {
        Self::Io { doing, path: path.map(Path::to_path_buf), cause }
    }
}

impl fmt::Display for ClusterFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotInstalled { unfit } => {
                write!(f, "PostgreSQL is not installed")?;
                if !unfit.is_empty() {
                    write!(f, " in a version from 15 to 18 (found: {})", list(unfit))?;
                }
                write!(f, ". {}, or set DATABASE_URL to a server of your own.", how_to_install())
            }
            Self::NoBinariesIn { folder, why } => write!(
                f,
                "database.binaries names {}, but {why}. Leave the setting out to use the \
                 system's PostgreSQL.",
                folder.display()
            ),
            Self::OtherVersion { data, made_by, installed } => write!(
                f,
                "{} was made by PostgreSQL {made_by}, which is not installed (here: {}). \
                 Install it (Debian: apt install postgresql-{made_by}; macOS: brew install \
                 postgresql@{made_by}); a cluster cannot be read by another major version.",
                data.display(),
                if installed.is_empty() { "none".to_owned() } else { list(installed) },
            ),
            Self::NoAccount => f.write_str(
                "PostgreSQL refuses to run as root, and there is neither an account bellbrace \
                 nor postgres. Make one: adduser --system --group --no-create-home bellbrace.",
            ),
            Self::NotOurs { data, owner } => write!(
                f,
                "{} belongs to the account {owner}. Start the server as that account or as root, \
                 or choose another folder with --data.",
                data.display()
            ),
            Self::Unreachable { folder, data, account } => write!(
                f,
                "the account {account}, which runs PostgreSQL, cannot pass through {} to {}. \
                 Choose another folder with --data, or allow it: chmod o+x '{}'.",
                folder.display(),
                data.display(),
                folder.display()
            ),
            Self::InUse { data, by } => {
                write!(f, "{} is in use by another Bellbrace", data.display())?;
                if let Some(pid) = by {
                    write!(f, " (process {pid})")?;
                }
                f.write_str(". Stop that one first, or choose another folder with --data.")
            }
            Self::NotACluster { data } => write!(
                f,
                "{} is not empty and holds no PostgreSQL cluster (no file PG_VERSION). Restore it \
                 from a backup, or move it away to begin with an empty one.",
                data.display()
            ),
            Self::NoSocketFolder { tried } => {
                f.write_str("no folder is fit for PostgreSQL's socket:")?;
                for (folder, why) in tried {
                    write!(f, " {} ({why});", folder.display())?;
                }
                f.write_str(" choose a data folder with a shorter path with --data.")
            }
            Self::OrphanStays { pid } => write!(
                f,
                "PostgreSQL of an earlier server (process {pid}) does not stop. Look at what it is \
                 doing, end it, and start again."
            ),
            Self::Failed { program, how, said } => {
                write!(f, "{program} failed ({how})")?;
                if said.is_empty() { f.write_str(".") } else { write!(f, ": {said}") }
            }
            Self::ToldToStop => f.write_str("stopped while PostgreSQL was starting."),
            Self::SupervisorGone => f.write_str("the thread that watches PostgreSQL is gone."),
            Self::Io { doing, path, cause } => {
                write!(f, "could not {doing}")?;
                if let Some(path) = path {
                    write!(f, " {}", path.display())?;
                }
                write!(f, ": {cause}.")
            }
        }
    }
}

impl std::error::Error for ClusterFault {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { cause, .. } => Some(cause),
            _ => None,
        }
    }
}

fn list(versions: &[u32]) -> String {
    versions.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")
}

fn how_to_install() -> &'static str {
    if cfg!(target_os = "macos") {
        "Install it: brew install postgresql@17"
    } else {
        "Install it: apt install postgresql"
    }
}
