use std::collections::hash_map::DefaultHasher;
use std::fs::{self, DirBuilder, File, OpenOptions, TryLockError};
use std::hash::{Hash, Hasher};
use std::io::{Read, Seek, Write};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use nix::unistd::geteuid;

use super::account::Account;
use super::fault::ClusterFault;

/// The number in the socket's name; nothing listens on a port.
pub(super) const PORT: u16 = 5432;

/// Longest path of a socket that every supported system takes, in bytes: 108
/// with the closing zero on Linux, 104 on macOS (`sun_path` in `sys/un.h`).
const LONGEST_SOCKET: usize = if cfg!(target_os = "linux") { 107 } else { 103 };

/// Whether PostgreSQL's account can reach the data folder or, while that is not
/// made, the folder it would be made in.
pub(super) fn could_reach(data: &Path, account: Option<&Account>) -> Result<(), ClusterFault> {
    let there = data.ancestors().find_map(|folder| folder.canonicalize().ok());
    match (account, there) {
        (Some(account), Some(folder)) => account.can_reach(&folder),
        _ => Ok(()),
    }
}

/// Makes the data folder if needed and gives its canonical path.
///
/// # Errors
/// It cannot be made, or PostgreSQL's account cannot reach it.
pub(super) fn prepare(data: &Path, account: Option<&Account>) -> Result<PathBuf, ClusterFault> {
    // Another account must be able to pass through, but not to look around.
    let mode = if account.is_some() { 0o711 } else { 0o700 };
    could_reach(data, account)?;
    if !data.exists() {
        DirBuilder::new()
            .recursive(true)
            .mode(mode)
            .create(data)
            // Once more, because the process's mask may have taken bits away.
            .and_then(|()| fs::set_permissions(data, fs::Permissions::from_mode(mode)))
            .map_err(|cause| ClusterFault::io("make the data folder", Some(data), cause))?;
    }
    let data = fs::canonicalize(data)
        .map_err(|cause| ClusterFault::io("find the data folder", Some(data), cause))?;
    if let Some(account) = account {
        account.can_reach(&data)?;
    }
    Ok(data)
}

/// Makes one folder that only PostgreSQL's account may enter.
pub(super) fn make_private(folder: &Path, account: Option<&Account>) -> Result<(), ClusterFault> {
    DirBuilder::new()
        .mode(0o700)
        .create(folder)
        .map_err(|cause| ClusterFault::io("make", Some(folder), cause))?;
    account.map_or(Ok(()), |account| account.give(folder))
}

/// The folder for the socket: `DATA/run`, or a short one in the system's places
/// for such things when the data folder lies too deep.
pub(super) fn for_the_socket(
    data: &Path,
    account: Option<&Account>,
) -> Result<PathBuf, ClusterFault> {
    let mut hasher = DefaultHasher::new();
    data.hash(&mut hasher);
    let short = format!("bellbrace-{:016x}", hasher.finish());
    let mut places = vec![data.join("run")];
    if account.is_some() {
        places.push(Path::new("/run").join(&short));
    } else if let Some(runtime) = std::env::var_os("XDG_RUNTIME_DIR") {
        places.push(Path::new(&runtime).join(&short));
    }
    places.push(std::env::temp_dir().join(&short));
    places.push(Path::new("/tmp").join(&short));

    let mut tried = Vec::new();
    for place in places {
        match fit_for_the_socket(&place, account) {
            Ok(()) => return Ok(place),
            Err(why) => tried.push((place, why)),
        }
    }
    Err(ClusterFault::NoSocketFolder { tried })
}

/// Whoever can enter this folder may connect as any role, so a folder that
/// somebody else made or opened is never taken.
fn fit_for_the_socket(folder: &Path, account: Option<&Account>) -> Result<(), String> {
    let socket = folder.join(format!(".s.PGSQL.{PORT}"));
    let length = socket.as_os_str().len();
    if length > LONGEST_SOCKET {
        return Err(format!("the socket's path is {length} bytes, {LONGEST_SOCKET} are allowed"));
    }
    let found = match fs::symlink_metadata(folder) {
        Ok(found) => found,
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {
            make_private(folder, account).map_err(|fault| fault.to_string())?;
            fs::symlink_metadata(folder).map_err(|cause| cause.to_string())?
        }
        Err(cause) => return Err(cause.to_string()),
    };
    let owned = match account {
        Some(account) => account.owns(&found),
        None => found.uid() == geteuid().as_raw(),
    };
    if !found.is_dir() || !owned || found.permissions().mode() & 0o077 != 0 {
        return Err("it is not a folder of PostgreSQL's account with mode 0700".to_owned());
    }
    match account {
        Some(account) => account.can_reach(folder).map_err(|fault| fault.to_string()),
        None => Ok(()),
    }
}

/// Held while one server uses a data folder; let go by dropping it, and by the
/// kernel when the process dies.
#[derive(Debug)]
pub struct FolderLock {
    _file: File,
}

impl FolderLock {
    /// Locks `data/lock`. The folder must exist.
    ///
    /// # Errors
    /// [`ClusterFault::InUse`] when another process holds it.
    pub fn take(data: &Path) -> Result<Self, ClusterFault> {
        let path = data.join("lock");
        let io = |cause| ClusterFault::io("lock", Some(&path), cause);
        // Not truncated on opening: the holder's number is in it.
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .mode(0o600)
            .open(&path)
            .map_err(io)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut holder = String::new();
                // Without its number the refusal is still true.
                let _ = file.read_to_string(&mut holder);
                return Err(ClusterFault::InUse {
                    data: data.to_path_buf(),
                    by: holder.trim().parse().ok(),
                });
            }
            Err(TryLockError::Error(cause)) => return Err(io(cause)),
        }
        file.set_len(0).map_err(io)?;
        file.rewind().map_err(io)?;
        writeln!(file, "{}", std::process::id()).map_err(io)?;
        // The file is never removed: a server that has it open and waits would
        // then lock a file that nobody else can see.
        Ok(Self { _file: file })
    }
}
