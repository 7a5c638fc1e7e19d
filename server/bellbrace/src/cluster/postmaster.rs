use std::collections::VecDeque;
use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Child, ChildStderr, Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use nix::sys::signal::{Signal, kill};
use nix::unistd::Pid;

use super::fault::ClusterFault;
use super::{Site, folder, remains};

/// How often to look while PostgreSQL starts or stops.
const LOOK_EVERY: Duration = Duration::from_millis(5);
/// Recovery after a crash may take minutes: this often it is mentioned.
const MENTION_EVERY: Duration = Duration::from_secs(10);
/// A fast shutdown writes a checkpoint; on a slow disk that takes a while.
const FAST_STOP: Duration = Duration::from_secs(60);
/// PostgreSQL itself kills what is left five seconds into an immediate stop.
const IMMEDIATE_STOP: Duration = Duration::from_secs(10);
/// So many lines of PostgreSQL's log are kept for the report of a failed start.
const LAST_WORDS: usize = 12;
const LAST_WORDS_COME_WITHIN: Duration = Duration::from_millis(500);

/// How a pause ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pause {
    Over,
    /// The cluster is to be stopped.
    CutShort,
}

/// PostgreSQL's first process, a child of the thread that holds this.
pub(super) struct Postmaster {
    child: Child,
    log: Option<JoinHandle<()>>,
    last_words: Arc<Mutex<VecDeque<String>>>,
}

impl Postmaster {
    /// Clears away what an earlier PostgreSQL left, starts a new one and waits
    /// until it accepts connections.
    pub(super) fn start(
        site: &Site,
        pause: &dyn Fn(Duration) -> Pause,
    ) -> Result<Self, ClusterFault> {
        remains::clear(site, pause)?;
        let mut postmaster = Self::spawn(site)?;
        let pid_file = site.data.join("postmaster.pid");
        let (began, mut mentioned) = (Instant::now(), Duration::ZERO);
        loop {
            if let Some(how) = postmaster.has_ended() {
                let said = postmaster.last_words();
                return Err(ClusterFault::Failed { program: "postgres", how, said });
            }
            if is_ready(&pid_file, postmaster.child.id()) {
                return Ok(postmaster);
            }
            if pause(LOOK_EVERY) == Pause::CutShort {
                postmaster.stop();
                return Err(ClusterFault::ToldToStop);
            }
            if began.elapsed() - mentioned > MENTION_EVERY {
                mentioned = began.elapsed();
                tracing::warn!(
                    waited_s = mentioned.as_secs(),
                    "PostgreSQL is still starting, probably recovering after a crash"
                );
            }
        }
    }

    fn spawn(site: &Site) -> Result<Self, ClusterFault> {
        let mut postgres = Command::new(site.binaries.program("postgres"));
        postgres.arg("-D").arg(&site.data);
        for (setting, value) in settings(site) {
            postgres.arg("-c").arg(format!("{setting}={value}"));
        }
        postgres
            .current_dir("/")
            // Control-C in a terminal goes to the whole process group, and
            // PostgreSQL must outlive the requests that are still being served.
            .process_group(0)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped());
        forget_our_environment(&mut postgres);
        if let Some(account) = &site.account {
            account.run(&mut postgres);
        }
        dies_with_this_thread(&mut postgres, Signal::SIGINT);
        let mut child = postgres.spawn().map_err(|cause| {
            ClusterFault::io("start", Some(&site.binaries.program("postgres")), cause)
        })?;
        let last_words = Arc::new(Mutex::new(VecDeque::new()));
        let log = child.stderr.take().map(|lines| {
            let last_words = Arc::clone(&last_words);
            std::thread::spawn(move || pass_on(lines, &last_words))
        });
        Ok(Self { child, log, last_words })
    }

    /// How it ended, if it has.
    pub(super) fn has_ended(&mut self) -> Option<String> {
        match self.child.try_wait() {
            Ok(status) => status.map(|status| status.to_string()),
            // Only possible when somebody else has waited for our child.
            Err(cause) => Some(cause.to_string()),
        }
    }

    /// Ends PostgreSQL: quickly but cleanly, then without ceremony, then by
    /// force. After the latter two the next start recovers from the log.
    pub(super) fn stop(&mut self) {
        for (signal, patience) in [(Signal::SIGINT, FAST_STOP), (Signal::SIGQUIT, IMMEDIATE_STOP)] {
            self.send(signal);
            if self.ends_within(patience) {
                return;
            }
            tracing::warn!(%signal, "PostgreSQL does not stop");
        }
        if let Err(cause) = self.child.kill().and_then(|()| self.child.wait().map(drop)) {
            tracing::error!(%cause, "PostgreSQL could not be killed");
        }
    }

    fn send(&self, signal: Signal) {
        // The number is still ours: the child is not waited for before it ends.
        let sent = i32::try_from(self.child.id()).map(|pid| kill(Pid::from_raw(pid), signal));
        if !matches!(sent, Ok(Ok(()))) {
            tracing::debug!(%signal, "PostgreSQL did not take the signal");
        }
    }

    fn ends_within(&mut self, patience: Duration) -> bool {
        let began = Instant::now();
        while self.has_ended().is_none() {
            if began.elapsed() > patience {
                return false;
            }
            std::thread::sleep(LOOK_EVERY);
        }
        true
    }

    /// Call after the end: the log is then complete, or nearly. A child that
    /// outlives a killed postmaster keeps it open, and is not waited for.
    fn last_words(&self) -> String {
        let began = Instant::now();
        while !self.log.as_ref().is_none_or(JoinHandle::is_finished)
            && began.elapsed() < LAST_WORDS_COME_WITHIN
        {
            std::thread::sleep(LOOK_EVERY);
        }
        let words = self.last_words.lock().unwrap_or_else(PoisonError::into_inner);
        words.iter().map(String::as_str).collect::<Vec<_>>().join(" / ")
    }
}

/// What must hold whatever `postgresql.conf` says; the shop may tune the rest.
fn settings(site: &Site) -> Vec<(&'static str, String)> {
    let on = |yes: bool| if yes { "on" } else { "off" }.to_owned();
    // A list to PostgreSQL: without the quotes a comma would split the path.
    let socket_folder =
        format!("\"{}\"", site.socket_folder.to_string_lossy().replace('"', "\"\""));
    vec![
        ("listen_addresses", String::new()),
        ("port", folder::PORT.to_string()),
        ("unix_socket_directories", socket_folder),
        ("unix_socket_group", String::new()),
        ("unix_socket_permissions", "0700".to_owned()),
        ("fsync", on(site.durable)),
        ("full_page_writes", on(site.durable)),
        ("synchronous_commit", on(site.durable)),
        ("timezone", "UTC".to_owned()),
        ("log_timezone", "UTC".to_owned()),
        // The log comes to us and is passed on. Errors of single statements
        // quote what was typed, so they stay out: the server, which gets them
        // too, logs its own failures without the shop's data.
        ("logging_collector", on(false)),
        ("log_destination", "stderr".to_owned()),
        ("log_min_messages", "log".to_owned()),
        ("log_min_error_statement", "panic".to_owned()),
        ("log_error_verbosity", "terse".to_owned()),
        ("log_statement", "none".to_owned()),
        ("log_min_duration_statement", "-1".to_owned()),
        ("log_line_prefix", String::new()),
    ]
}

/// Line 1 is the number of the process, line 8 its state (`pidfile.h`).
fn is_ready(pid_file: &Path, pid: u32) -> bool {
    let Ok(text) = fs::read_to_string(pid_file) else { return false };
    let mut lines = text.lines();
    lines.next().is_some_and(|line| line.trim() == pid.to_string())
        && lines.nth(6).is_some_and(|state| state.trim() == "ready")
}

/// Our own `PGDATA`, `PGPORT`, `PGOPTIONS` and so on belong to another server.
pub(super) fn forget_our_environment(command: &mut Command) {
    for (name, _) in std::env::vars_os() {
        if name.as_encoded_bytes().starts_with(b"PG") {
            command.env_remove(name);
        }
    }
    // macOS: with another locale its libraries start a thread, and PostgreSQL
    // refuses to run with more than one.
    command.env("LC_ALL", "C");
}

/// Has the child stopped by the kernel when the thread that starts it ends,
/// even by `kill -9` of the whole process. Nothing of the kind exists on
/// macOS: there the next start deals with what is left (`remains`).
pub(super) fn dies_with_this_thread(command: &mut Command, signal: Signal) {
    #[cfg(target_os = "linux")]
    {
        let parent = nix::unistd::getpid();
        let before_exec = move || {
            nix::sys::prctl::set_pdeathsig(signal)?;
            // We may have died before the call, and nobody would tell the child.
            if nix::unistd::getppid() == parent {
                Ok(())
            } else {
                Err(std::io::Error::from_raw_os_error(nix::libc::ESRCH))
            }
        };
        #[expect(
            unsafe_code,
            reason = "the closure runs between fork and exec: it makes two system calls and \
                      allocates nothing"
        )]
        // SAFETY: prctl and getppid may be called there (signal-safety(7) lists
        // getppid; prctl is a bare system call), and no lock or memory is taken.
        unsafe {
            command.pre_exec(before_exec);
        }
    }
    #[cfg(not(target_os = "linux"))]
    let _ = (command, signal);
}

fn pass_on(lines: ChildStderr, last_words: &Mutex<VecDeque<String>>) {
    for line in BufReader::new(lines).lines() {
        let Ok(line) = line else { return };
        let (level, text) = line.split_once(":  ").unwrap_or(("LOG", &line));
        match level {
            "PANIC" => tracing::error!(target: "postgresql", "{text}"),
            "FATAL" => tracing::warn!(target: "postgresql", "{text}"),
            _ => tracing::debug!(target: "postgresql", "{text}"),
        }
        let mut words = last_words.lock().unwrap_or_else(PoisonError::into_inner);
        if words.len() == LAST_WORDS {
            words.pop_front();
        }
        words.push_back(line);
    }
}
