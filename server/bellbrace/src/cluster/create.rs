use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use nix::sys::signal::Signal;

use super::fault::ClusterFault;
use super::postmaster::{dies_with_this_thread, forget_our_environment};
use super::{DATABASE, OWNER, SERVING, SUPERUSER, Site, folder};

/// Letters are told from other characters by Unicode (trigram search needs
/// that), and order is by code point: an order by language would change with
/// the system's tables and leave the indexes wrong after an upgrade.
const CHARACTERS: &str = if cfg!(target_os = "macos") { "en_US.UTF-8" } else { "C.UTF-8" };

/// Makes a new cluster with its two roles and its database.
///
/// It grows beside its final place and is moved there when it is complete and
/// on the disk, so that a cluster is either whole or absent, whatever is killed
/// or unplugged meanwhile. Until then nothing is synchronised file by file,
/// which would take several times as long: there is nothing to lose yet, and
/// one pass over everything comes before the move.
pub(super) fn cluster(site: &Site) -> Result<(), ClusterFault> {
    refuse_what_is_no_cluster(&site.data)?;
    let growing = site.data.with_extension("new");
    match fs::remove_dir_all(&growing) {
        Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
            return Err(ClusterFault::io("remove the half-made cluster", Some(&growing), cause));
        }
        _ => folder::make_private(&growing, site.account.as_ref())?,
    }
    initdb(site, &growing)?;
    roles_and_database(site, &growing)?;
    if site.durable {
        synchronise(site, &growing)?;
    }
    let moved = fs::rename(&growing, &site.data);
    moved.map_err(|cause| ClusterFault::io("put the new cluster at", Some(&site.data), cause))?;
    site.data.parent().map_or(Ok(()), |data| {
        fs::File::open(data)
            .and_then(|folder| folder.sync_all())
            .map_err(|cause| ClusterFault::io("synchronise", Some(data), cause))
    })
}

fn refuse_what_is_no_cluster(place: &Path) -> Result<(), ClusterFault> {
    match fs::read_dir(place) {
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(cause) => Err(ClusterFault::io("look into", Some(place), cause)),
        Ok(entries) => match entries.count() {
            0 => Ok(()),
            _ => Err(ClusterFault::NotACluster { data: place.to_path_buf() }),
        },
    }
}

fn initdb(site: &Site, growing: &Path) -> Result<(), ClusterFault> {
    let mut initdb = command(site, "initdb");
    initdb
        .arg("--pgdata")
        .arg(growing)
        .args(["--username", SUPERUSER, "--auth-local=trust", "--auth-host=reject"])
        .args(["--encoding=UTF8", "--locale-provider=libc", "--locale=C"])
        .arg(format!("--lc-ctype={CHARACTERS}"))
        .args(["--text-search-config=simple", "--data-checksums"])
        .args(["--no-sync", "--no-instructions"])
        .stdin(Stdio::null());
    finished("initdb", initdb.output())
}

/// In PostgreSQL's single-user mode: no server is up yet that anyone could
/// connect to, and no client program is needed.
fn roles_and_database(site: &Site, growing: &Path) -> Result<(), ClusterFault> {
    let no_powers = "NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION NOBYPASSRLS";
    let statements = [
        format!("CREATE ROLE {OWNER} LOGIN {no_powers}"),
        format!("CREATE ROLE {SERVING} LOGIN {no_powers}"),
        format!("CREATE DATABASE {DATABASE} OWNER {OWNER}"),
        format!("REVOKE ALL ON DATABASE {DATABASE} FROM PUBLIC"),
        format!("GRANT CONNECT ON DATABASE {DATABASE} TO {SERVING}"),
    ];
    let mut postgres = command(site, "postgres");
    postgres
        .args(["--single", "-j", "-F", "-c", "exit_on_error=on", "-c", "log_checkpoints=off", "-D"])
        .arg(growing)
        .arg("postgres")
        .stdin(Stdio::piped());
    let made = postgres.spawn().and_then(|mut child| {
        if let Some(mut input) = child.stdin.take() {
            for statement in statements {
                // With -j a statement ends at a semicolon and an empty line.
                write!(input, "{statement};\n\n")?;
            }
        }
        child.wait_with_output()
    });
    finished("postgres --single", made)
}

fn synchronise(site: &Site, growing: &Path) -> Result<(), ClusterFault> {
    let mut initdb = command(site, "initdb");
    initdb.arg("--pgdata").arg(growing).arg("--sync-only").stdin(Stdio::null());
    finished("initdb --sync-only", initdb.output())
}

fn command(site: &Site, program: &str) -> Command {
    let mut command = Command::new(site.binaries.program(program));
    // PostgreSQL's account may not be able to enter the folder we are in.
    command.current_dir("/").stdout(Stdio::piped()).stderr(Stdio::piped());
    forget_our_environment(&mut command);
    if let Some(account) = &site.account {
        account.run(&mut command);
    }
    dies_with_this_thread(&mut command, Signal::SIGTERM);
    command
}

fn finished(program: &'static str, output: std::io::Result<Output>) -> Result<(), ClusterFault> {
    let output = output.map_err(|cause| ClusterFault::Failed {
        program,
        how: cause.to_string(),
        said: String::new(),
    })?;
    if output.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&output.stderr);
    Err(ClusterFault::Failed {
        program,
        how: output.status.to_string(),
        said: said.lines().filter(|line| !line.trim().is_empty()).collect::<Vec<_>>().join(" / "),
    })
}
