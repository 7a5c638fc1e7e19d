//! A mail server that is not ours: aiosmtpd in a Python process of its own.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use mail::sender::{Security, Server, Timeouts};
use mail::{Post, Sender};

use crate::Mailbox;

/// A running mail server on loopback. Dropping it ends it.
pub struct SmtpServer {
    process: Child,
    folder: PathBuf,
    port: u16,
}

impl SmtpServer {
    /// Starts one that keeps its letters in this folder.
    ///
    /// # Panics
    /// When Python or aiosmtpd is not there: `tests/run` installs it.
    pub fn start(folder: &Path) -> Self {
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("harness/smtp_server.py");
        let python = python();
        let mut process = Command::new(&python)
            .arg(script)
            .arg(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("{}: {error}; tests/run installs it", python.display()));
        let mut line = String::new();
        BufReader::new(process.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let port = line.trim().parse().expect("aiosmtpd starts and prints its port; tests/run installs it");
        Self { process, folder: folder.to_owned(), port }
    }

    /// The port it listens on.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// What it does with the next message: `take`, `later`, `never`, `lost`, `silent` or `busy`.
    pub fn will(&self, mode: &str) {
        let waiting = self.folder.join("mode.new");
        std::fs::write(&waiting, mode).unwrap();
        std::fs::rename(waiting, self.folder.join("mode")).unwrap();
    }

    /// What it has taken.
    pub fn mailbox(&self) -> Mailbox {
        Mailbox::at(&self.folder)
    }

    /// The way to it, as the server in this process takes it.
    pub fn post(&self) -> Post {
        let server = Server {
            host: "127.0.0.1".to_owned(),
            port: self.port,
            security: Security::Nothing,
            sign_in: None,
            hello_name: "shop.example".to_owned(),
            extra_roots_pem: None,
            timeouts: Timeouts::default(),
        };
        Post::Smtp(Box::new(Sender::new(server).unwrap()))
    }

    /// The settings of a child server that lead to it.
    pub fn settings(&self) -> Vec<(&'static str, String)> {
        vec![
            ("BELLBRACE_MAIL_HOST", "127.0.0.1".to_owned()),
            ("BELLBRACE_MAIL_PORT", self.port.to_string()),
            ("BELLBRACE_MAIL_SECURITY", "none".to_owned()),
            ("BELLBRACE_MAIL_FROM", "The Brass Bench <bench@shop.example>".to_owned()),
        ]
    }
}

impl Drop for SmtpServer {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The interpreter with the packages of `tests/requirements.txt`.
pub fn python() -> PathBuf {
    if let Some(named) = std::env::var_os("BELLBRACE_TEST_PYTHON") {
        return named.into();
    }
    let cache = std::env::var_os("XDG_CACHE_HOME")
        .map(PathBuf::from)
        .or_else(|| std::env::var_os("HOME").map(|home| Path::new(&home).join(".cache")))
        .expect("HOME is set");
    let usual = ["python", "venv"].map(|name| cache.join("bellbrace").join(name).join("bin/python"));
    usual.iter().find(|path| path.exists()).unwrap_or(&usual[0]).clone()
}
