//! What a PostgreSQL leaves when it, or the server above it, was killed.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use nix::sys::signal::{Signal, kill};
use nix::unistd::Pid;

use super::fault::ClusterFault;
use super::postmaster::Pause;
use super::{Site, folder};

const LOOK_EVERY: Duration = Duration::from_millis(10);
/// What a living orphan is told, and how long it may take to obey. It is on
/// its way already on Linux; its checkpoint may be a large one.
const ORPHAN: [(Signal, Duration); 2] =
    [(Signal::SIGINT, Duration::from_secs(60)), (Signal::SIGQUIT, Duration::from_secs(10))];
/// The same for its former children. Without their parent they write nothing
/// more and notice its absence themselves, except in the middle of a statement.
const CHILDREN: [(Signal, Duration); 2] =
    [(Signal::SIGTERM, Duration::from_secs(5)), (Signal::SIGKILL, Duration::from_secs(5))];

/// Waits until no process of an earlier PostgreSQL works on this cluster, and
/// removes the notes of the dead.
///
/// Their numbers may belong to other processes by now (in a container they
/// nearly always do), and PostgreSQL would then refuse to start. The notes go
/// only where we can see that nobody works on the cluster; elsewhere they are
/// left for PostgreSQL to judge.
pub(super) fn clear(site: &Site, pause: &dyn Fn(Duration) -> Pause) -> Result<(), ClusterFault> {
    let pid_file = site.data.join("postmaster.pid");
    let Some(pid) = noted(&pid_file) else { return Ok(()) };
    let workers = || working_on(&site.data, pid);

    if workers().contains(&pid) {
        tracing::warn!(postgres.pid = pid, "PostgreSQL of an earlier server still runs; ending it");
        end(&[pid], &ORPHAN, pause, || workers().contains(&pid))?;
    }
    let left = workers();
    if !left.is_empty() {
        end(&left, &CHILDREN, pause, || !workers().is_empty())?;
    }
    if cfg!(target_os = "linux") {
        let socket_lock = site.socket_folder.join(format!(".s.PGSQL.{}.lock", folder::PORT));
        for note in [pid_file, socket_lock] {
            match fs::remove_file(&note) {
                Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
                    return Err(ClusterFault::io("remove", Some(&note), cause));
                }
                _ => {}
            }
        }
    }
    Ok(())
}

/// The number in `postmaster.pid`. A negative one is somebody's single-user
/// session, which PostgreSQL itself will respect.
fn noted(pid_file: &Path) -> Option<i32> {
    let text = fs::read_to_string(pid_file).ok()?;
    text.lines().next()?.trim().parse().ok().filter(|pid| *pid > 1)
}

fn end(
    pids: &[i32],
    means: &[(Signal, Duration)],
    pause: &dyn Fn(Duration) -> Pause,
    is_there: impl Fn() -> bool,
) -> Result<(), ClusterFault> {
    for (signal, patience) in means {
        for pid in pids {
            // Gone meanwhile is what we want.
            let _ = kill(Pid::from_raw(*pid), *signal);
        }
        let began = Instant::now();
        while began.elapsed() < *patience {
            if !is_there() {
                return Ok(());
            }
            if pause(LOOK_EVERY) == Pause::CutShort {
                return Err(ClusterFault::ToldToStop);
            }
        }
    }
    Err(ClusterFault::OrphanStays { pid: pids.first().copied().unwrap_or_default() })
}

/// Every process of PostgreSQL whose current folder is this cluster, which is
/// where PostgreSQL goes first of all. A shell that stands there is not one.
#[cfg(target_os = "linux")]
fn working_on(cluster: &Path, _noted: i32) -> Vec<i32> {
    let Ok(processes) = fs::read_dir("/proc") else { return Vec::new() };
    processes
        .flatten()
        .filter_map(|process| {
            let pid = process.file_name().to_str()?.parse().ok()?;
            let folder: PathBuf = process.path();
            let is_postgres = fs::read_to_string(folder.join("comm")).ok()?.trim() == "postgres";
            let works_here = fs::read_link(folder.join("cwd")).ok()? == cluster;
            (is_postgres && works_here).then_some(pid)
        })
        .collect()
}

/// Without `/proc`: only the noted process, if it still is a PostgreSQL.
#[cfg(not(target_os = "linux"))]
fn working_on(_cluster: &Path, noted: i32) -> Vec<i32> {
    let asked =
        std::process::Command::new("ps").args(["-p", &noted.to_string(), "-o", "comm="]).output();
    let name = asked.map(|answer| PathBuf::from(String::from_utf8_lossy(&answer.stdout).trim()));
    let is_postgres = name.is_ok_and(|name| name.file_name().is_some_and(|n| n == "postgres"));
    if is_postgres { vec![noted] } else { Vec::new() }
}
