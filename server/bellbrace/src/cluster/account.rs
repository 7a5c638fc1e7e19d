use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};

use nix::unistd::{Gid, Uid, User, chown, geteuid};

use super::fault::ClusterFault;

/// Accounts that may run PostgreSQL for a server started by root, best first.
/// `_postgres` is what macOS calls it.
const KNOWN: [&str; 3] = ["bellbrace", "postgres", "_postgres"];

/// The unprivileged account that PostgreSQL runs as when root starts the server.
#[derive(Clone, Debug)]
pub(super) struct Account {
    pub(super) name: String,
    uid: Uid,
    gid: Gid,
}

impl Account {
    /// `None` when we are not root: PostgreSQL then runs as ourselves.
    ///
    /// # Errors
    /// The cluster belongs to another account that we cannot become, or there
    /// is no account fit for it.
    pub(super) fn to_run_as(cluster: &Path) -> Result<Option<Self>, ClusterFault> {
        let we = geteuid();
        let owner = fs::metadata(cluster).ok().map(|folder| Uid::from_raw(folder.uid()));
        match owner {
            Some(owner) if !we.is_root() && owner != we => Err(ClusterFault::NotOurs {
                data: cluster.to_path_buf(),
                owner: named(owner).map_or_else(|| owner.to_string(), |user| user.name),
            }),
            _ if !we.is_root() => Ok(None),
            Some(owner) if !owner.is_root() => match named(owner) {
                Some(user) => Ok(Some(Self::from(user))),
                None => Err(ClusterFault::NoAccount),
            },
            _ => KNOWN
                .iter()
                .find_map(|name| User::from_name(name).ok().flatten())
                .map(|user| Some(Self::from(user)))
                .ok_or(ClusterFault::NoAccount),
        }
    }

    /// Lets the command run as this account, without root's other groups.
    pub(super) fn run(&self, command: &mut Command) {
        // The standard library drops the supplementary groups with the user.
        command.uid(self.uid.as_raw()).gid(self.gid.as_raw());
    }

    /// Makes this account the owner of a folder that root has just made.
    pub(super) fn give(&self, folder: &Path) -> Result<(), ClusterFault> {
        chown(folder, Some(self.uid), Some(self.gid)).map_err(|cause| {
            ClusterFault::io("give to PostgreSQL's account", Some(folder), cause.into())
        })
    }

    pub(super) fn owns(&self, folder: &fs::Metadata) -> bool {
        folder.uid() == self.uid.as_raw()
    }

    /// Refuses a data folder that this account cannot reach, naming the folder
    /// that is in the way. `data` is canonical and exists.
    pub(super) fn can_reach(&self, data: &Path) -> Result<(), ClusterFault> {
        let mut chain: Vec<&Path> = data.ancestors().collect();
        chain.reverse();
        let closed = chain.into_iter().find(|folder| !self.may_search(folder));
        match closed {
            // The mode is not the whole truth: an access list may open what it
            // closes. So the account itself tries before we refuse.
            Some(folder) if !self.gets_to(data) => Err(ClusterFault::Unreachable {
                folder: folder.to_path_buf(),
                data: data.to_path_buf(),
                account: self.name.clone(),
            }),
            _ => Ok(()),
        }
    }

    fn may_search(&self, folder: &Path) -> bool {
        let Ok(found) = fs::metadata(folder) else { return false };
        let mode = found.permissions().mode();
        if found.uid() == self.uid.as_raw() {
            mode & 0o100 != 0
        } else if found.gid() == self.gid.as_raw() {
            mode & 0o010 != 0
        } else {
            mode & 0o001 != 0
        }
    }

    fn gets_to(&self, folder: &Path) -> bool {
        let mut command = Command::new("/bin/sh");
        command.args(["-c", "cd \"$1\"", "sh"]).arg(folder).current_dir("/");
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        self.run(&mut command);
        command.status().is_ok_and(|status| status.success())
    }
}

impl From<User> for Account {
    fn from(user: User) -> Self {
        Self { name: user.name, uid: user.uid, gid: user.gid }
    }
}

fn named(uid: Uid) -> Option<User> {
    User::from_uid(uid).ok().flatten()
}
