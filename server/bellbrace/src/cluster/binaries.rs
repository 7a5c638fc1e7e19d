use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::fault::ClusterFault;

/// The major versions the server is written for.
const SUPPORTED: std::ops::RangeInclusive<u32> = 15..=18;

/// One installed PostgreSQL.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Binaries {
    pub(super) folder: PathBuf,
    pub(super) major: u32,
}

impl Binaries {
    /// The PostgreSQL for this cluster: exactly the major version that made it,
    /// or, for a cluster still to be made, the highest one supported. After an
    /// upgrade of the system both are installed, and the highest is the wrong
    /// one for the old cluster.
    pub(super) fn find(named: Option<&Path>, cluster: &Path) -> Result<Self, ClusterFault> {
        let made_by = made_by(cluster)?;
        let found = match named {
            Some(folder) => BTreeMap::from([(in_named_folder(folder)?, folder.to_path_buf())]),
            None => installed(),
        };
        choose(found, made_by, cluster)
    }

    pub(super) fn program(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }
}

fn choose(
    found: BTreeMap<u32, PathBuf>,
    made_by: Option<String>,
    cluster: &Path,
) -> Result<Binaries, ClusterFault> {
    let (fit, unfit): (BTreeMap<u32, PathBuf>, BTreeMap<u32, PathBuf>) =
        found.into_iter().partition(|(major, _)| SUPPORTED.contains(major));
    let chosen = match &made_by {
        None => fit.last_key_value(),
        Some(version) => version.parse().ok().and_then(|major: u32| fit.get_key_value(&major)),
    };
    match (chosen, made_by) {
        (Some((major, folder)), _) => Ok(Binaries { folder: folder.clone(), major: *major }),
        (None, Some(made_by)) => Err(ClusterFault::OtherVersion {
            data: cluster.to_path_buf(),
            made_by,
            installed: fit.into_keys().collect(),
        }),
        (None, None) => Err(ClusterFault::NotInstalled { unfit: unfit.into_keys().collect() }),
    }
}

/// The contents of `PG_VERSION`, when there is a cluster.
fn made_by(cluster: &Path) -> Result<Option<String>, ClusterFault> {
    let file = cluster.join("PG_VERSION");
    match fs::read_to_string(&file) {
        Ok(text) => Ok(Some(text.trim().to_owned())),
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(cause) => Err(ClusterFault::io("read", Some(&file), cause)),
    }
}

fn in_named_folder(folder: &Path) -> Result<u32, ClusterFault> {
    let fault = |why: &str| ClusterFault::NoBinariesIn {
        folder: folder.to_path_buf(),
        why: why.to_owned(),
    };
    if !is_complete(folder) {
        return Err(fault("initdb and postgres are not in it"));
    }
    let major = asked(folder).ok_or_else(|| fault("its postgres does not tell its version"))?;
    if SUPPORTED.contains(&major) {
        Ok(major)
    } else {
        Err(fault(&format!("it holds PostgreSQL {major}, and 15 to 18 are supported")))
    }
}

/// Every PostgreSQL in the usual places, by major version. A place named first
/// wins over a later one of the same version.
fn installed() -> BTreeMap<u32, PathBuf> {
    let mut found = BTreeMap::new();
    let places = [
        // Debian, Ubuntu and the PostgreSQL project's packages for them.
        ("/usr/lib/postgresql", "", "bin"),
        // The PostgreSQL project's packages for Fedora and Red Hat.
        ("/usr", "pgsql-", "bin"),
        // Homebrew on Apple silicon, on Intel, and on Linux.
        ("/opt/homebrew/opt", "postgresql@", "bin"),
        ("/usr/local/opt", "postgresql@", "bin"),
        ("/home/linuxbrew/.linuxbrew/opt", "postgresql@", "bin"),
    ];
    for (parent, before_the_version, below) in places {
        let Ok(entries) = fs::read_dir(parent) else { continue };
        for entry in entries.flatten() {
            let name = entry.file_name();
            let major = name
                .to_str()
                .and_then(|name| name.strip_prefix(before_the_version))
                .and_then(|version| version.parse().ok());
            let folder = entry.path().join(below);
            if let Some(major) = major
                && is_complete(&folder)
            {
                found.entry(major).or_insert(folder);
            }
        }
    }
    for folder in std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()) {
        if is_complete(&folder)
            && let Some(major) = asked(&folder)
        {
            found.entry(major).or_insert(folder);
        }
    }
    found
}

fn is_complete(folder: &Path) -> bool {
    ["initdb", "postgres"].iter().all(|program| {
        fs::metadata(folder.join(program))
            .is_ok_and(|file| file.is_file() && file.permissions().mode() & 0o111 != 0)
    })
}

/// The major version as `postgres --version` tells it.
fn asked(folder: &Path) -> Option<u32> {
    let answer = Command::new(folder.join("postgres")).arg("--version").output().ok()?;
    major_of(&String::from_utf8_lossy(&answer.stdout))
}

/// `postgres (PostgreSQL) 15.20 (Debian …)`, `… 18beta1`.
fn major_of(answer: &str) -> Option<u32> {
    let version = answer.split_once("(PostgreSQL) ")?.1;
    let digits = version.split(|c: char| !c.is_ascii_digit()).next()?;
    digits.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn both() -> BTreeMap<u32, PathBuf> {
        BTreeMap::from([(15, PathBuf::from("/fifteen")), (17, PathBuf::from("/seventeen"))])
    }

    #[test]
    fn a_new_cluster_gets_the_highest_version_and_an_old_one_its_own() {
        let new = choose(both(), None, Path::new("/data")).unwrap();
        assert_eq!(new, Binaries { folder: PathBuf::from("/seventeen"), major: 17 });
        let old = choose(both(), Some("15".to_owned()), Path::new("/data")).unwrap();
        assert_eq!(old, Binaries { folder: PathBuf::from("/fifteen"), major: 15 });
    }

    #[test]
    fn a_cluster_of_a_version_that_is_gone_is_refused_by_name() {
        let fault = choose(both(), Some("16".to_owned()), Path::new("/data")).unwrap_err();
        let said = fault.to_string();
        assert!(said.contains("made by PostgreSQL 16"), "{said}");
        assert!(said.contains("apt install postgresql-16"), "{said}");
        assert!(said.contains("here: 15, 17"), "{said}");
    }

    #[test]
    fn versions_too_old_or_too_new_are_named_and_not_used() {
        let found = BTreeMap::from([(13, PathBuf::from("/a")), (19, PathBuf::from("/b"))]);
        let said = choose(found, None, Path::new("/data")).unwrap_err().to_string();
        assert!(said.contains("found: 13, 19"), "{said}");
        let none = choose(BTreeMap::new(), None, Path::new("/data")).unwrap_err().to_string();
        assert!(none.contains("PostgreSQL is not installed. Install it:"), "{none}");
    }

    #[test]
    fn the_version_is_read_from_what_postgres_says() {
        assert_eq!(major_of("postgres (PostgreSQL) 15.20 (Debian 15.20-0+deb12u1)\n"), Some(15));
        assert_eq!(major_of("postgres (PostgreSQL) 18beta1\n"), Some(18));
        assert_eq!(major_of("postgres: not found"), None);
    }
}
