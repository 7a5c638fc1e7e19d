//! The server as a process: how it ends, and what it leaves.

#![cfg(target_os = "linux")]
#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::fs;
use std::net::TcpListener;
use std::os::unix::process::{CommandExt, ExitStatusExt};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use nix::sys::signal::{Signal, kill, killpg};
use nix::unistd::Pid;

const PATIENCE: Duration = Duration::from_secs(60);

struct Server {
    process: Child,
    data: PathBuf,
}

impl Server {
    fn started(name: &str) -> Self {
        let data = std::env::temp_dir().join(format!("bellbrace-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&data);
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let process = Command::new(env!("CARGO_BIN_EXE_bellbrace"))
            .arg("serve")
            .arg("--data")
            .arg(&data)
            .args(["--port", &port.to_string()])
            // As a shell does it: Control-C then reaches the whole group.
            .process_group(0)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut server = Self { process, data };
        server.until("the server listens to signals", Self::listens_to_signals);
        server
    }

    fn pid(&self) -> Pid {
        Pid::from_raw(i32::try_from(self.process.id()).unwrap())
    }

    /// Whether it has a handler of its own for Control-C: one bit for each
    /// signal, the first for signal 1 (proc(5)).
    fn listens_to_signals(&mut self) -> bool {
        assert!(self.process.try_wait().unwrap().is_none(), "the server ended");
        let status = fs::read_to_string(format!("/proc/{}/status", self.pid())).unwrap();
        let caught = status.lines().find_map(|line| line.strip_prefix("SigCgt:\t")).unwrap();
        u64::from_str_radix(caught, 16).unwrap() & (1 << (Signal::SIGINT as u32 - 1)) != 0
    }

    fn until(&mut self, what: &str, mut holds: impl FnMut(&mut Self) -> bool) {
        let began = Instant::now();
        while !holds(self) {
            assert!(began.elapsed() < PATIENCE, "never: {what}");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn ends(&mut self) -> std::process::ExitStatus {
        self.until("the server ends", |server| server.process.try_wait().unwrap().is_some());
        self.process.wait().unwrap()
    }

    fn has_postgresql(&self) -> bool {
        self.data.join("postgres/postmaster.pid").exists()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
        let began = Instant::now();
        while self.has_postgresql() && began.elapsed() < PATIENCE {
            std::thread::sleep(Duration::from_millis(5));
        }
        let _ = fs::remove_dir_all(&self.data);
    }
}

#[test]
fn control_c_stops_the_server_and_its_postgresql() {
    let mut server = Server::started("control-c");
    assert!(server.has_postgresql());
    killpg(server.pid(), Signal::SIGINT).unwrap();
    assert_eq!(server.ends().code(), Some(0));
    assert!(!server.has_postgresql(), "PostgreSQL stopped first");
}

#[test]
fn a_polite_kill_does_the_same() {
    let mut server = Server::started("terminate");
    kill(server.pid(), Signal::SIGTERM).unwrap();
    assert_eq!(server.ends().code(), Some(0));
    assert!(!server.has_postgresql());
}

#[test]
fn an_impolite_one_leaves_no_postgresql_behind() {
    let mut server = Server::started("kill");
    kill(server.pid(), Signal::SIGKILL).unwrap();
    assert_eq!(server.ends().signal(), Some(Signal::SIGKILL as i32));
    server.until("PostgreSQL ends by itself", |server| !server.has_postgresql());
}

#[test]
fn a_second_server_on_the_same_folder_says_who_holds_it() {
    let server = Server::started("second");
    let second = Command::new(env!("CARGO_BIN_EXE_bellbrace"))
        .arg("serve")
        .arg("--data")
        .arg(&server.data)
        .output()
        .unwrap();
    let said = String::from_utf8(second.stderr).unwrap();
    assert_eq!(second.status.code(), Some(1), "{said}");
    assert!(said.contains(&format!("(process {})", server.pid())), "{said}");
}
