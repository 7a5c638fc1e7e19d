//! Servers on a test shop's database: in this process, or as the shipped program.

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;

use acts::Acts;
use actix_web::dev::ServerHandle;
use actix_web::web::Data;
use bellbrace_http::{Keys, Live, Parts};
use mail::Post;
use rounds::outbox::From;
use store::Store;
use store::photo_files::PhotoFolder;
use tokio::sync::watch;
use tokio::task::JoinHandle;

use crate::{HandClock, runtime, until};

/// The installation's secret of every test shop, so that a token is good on all its servers.
pub(crate) const SECRET: [u8; 32] = *b"the secret of one test install.!";

/// How long an access token is good for.
pub(crate) const GOOD_FOR: std::time::Duration = std::time::Duration::from_secs(600);

/// What a server in this process is made of.
pub(crate) struct Plan {
    pub url: String,
    pub pool: u32,
    pub clock: HandClock,
    pub public_url: String,
    pub socket: TcpListener,
    /// None: nothing takes letters out of the outbox.
    pub post: Option<Arc<Post>>,
    /// Whether the hourly rounds run.
    pub hours: bool,
    /// Where the pictures of photos lie.
    pub photos: PathBuf,
}

/// A server in this process. Dropping it stops it.
pub struct Server {
    address: String,
    acts: Acts,
    stop: watch::Sender<bool>,
    handle: ServerHandle,
    tasks: Vec<JoinHandle<()>>,
    ear: Option<std::thread::JoinHandle<()>>,
}

impl Server {
    pub(crate) fn start(plan: Plan) -> Self {
        let _in = runtime().enter();
        let store = Store::new(&plan.url, plan.pool);
        let clock = plan.clock.for_acts();
        let acts = Acts {
            store: store.clone(),
            clock: clock.clone(),
            public_url: plan.public_url.as_str().into(),
            mute: None,
            photo_files: Arc::new(PhotoFolder::at(&plan.photos)),
        };
        let (news, hears) = watch::channel(0);
        let news = Arc::new(news);
        let (stop, stopped) = watch::channel(false);
        let live = Live::new(store.clone(), hears, stopped.clone());
        let mut tasks = vec![
            tokio::spawn(rounds::relay::run(store.clone(), Arc::clone(&news), stopped.clone())),
            tokio::spawn(live.clone().run()),
        ];
        if let Some(post) = plan.post {
            let from = From { person: None };
            tasks.push(tokio::spawn(rounds::outbox::run(store.clone(), post, from, clock, stopped.clone())));
        }
        if plan.hours {
            tasks.push(tokio::spawn(rounds::hours::run(acts.clone(), stopped.clone())));
        }
        let ear = rounds::relay::listen(store, news, stopped).unwrap();
        let address = format!("http://{}", plan.socket.local_addr().unwrap());
        plan.socket.set_nonblocking(true).unwrap();
        let parts = Data::new(Parts::new(acts.clone(), keys(), live));
        tasks.push(tokio::spawn(bellbrace_http::state::follow_endings(parts.clone(), stop.subscribe())));
        let server = bellbrace_http::server::serve(parts, plan.socket, 2).unwrap();
        let handle = server.handle();
        tasks.push(tokio::spawn(async move {
            // An error here is met by the test's own requests.
            let _ = server.await;
        }));
        Self { address, acts, stop, handle, tasks, ear: Some(ear) }
    }

    /// Where it listens, as the beginning of a URL.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// The acts it does, for tests that call them without HTTP.
    pub fn acts(&self) -> &Acts {
        &self.acts
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stop.send_replace(true);
        let tasks = std::mem::take(&mut self.tasks);
        let handle = self.handle.clone();
        runtime().block_on(async move {
            // Whoever still waits for an answer is hung up on.
            handle.stop(false).await;
            for task in tasks {
                let _ = tokio::time::timeout(crate::PATIENCE, task).await;
            }
        });
        if let Some(ear) = self.ear.take() {
            let _ = ear.join();
        }
    }
}

pub(crate) fn keys() -> Keys {
    Keys::new(&SECRET, GOOD_FOR)
}

/// The shipped program as a process of its own. Dropping it kills it.
pub struct ChildServer {
    process: Child,
    address: String,
    data: PathBuf,
}

impl ChildServer {
    /// Starts `bellbrace serve` in `data` with these further settings, as environment variables.
    pub(crate) fn start(data: PathBuf, database: &str, clock: &Path, settings: &[(&str, String)]) -> Self {
        std::fs::create_dir_all(&data).unwrap();
        let key = data.join("key");
        std::fs::write(&key, SECRET).unwrap();
        // The test's clock is read from the data folder; there is one for all servers.
        std::os::unix::fs::symlink(clock, data.join("test-clock")).unwrap();
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let address = format!("http://127.0.0.1:{port}");
        let log = std::fs::File::create(data.join("log")).unwrap();
        let process = Command::new(program())
            .arg("serve")
            .arg("--data")
            .arg(&data)
            .args(["--port", &port.to_string()])
            .env("DATABASE_URL", database)
            .env("BELLBRACE_PUBLIC_URL", &address)
            .env("BELLBRACE_DATABASE_POOL", "4")
            .env("BELLBRACE_WORKERS", "2")
            .env("BELLBRACE_TEST_CLOCK", "1")
            .env("BELLBRACE_SESSIONS_KEY_FILE", &key)
            .envs(settings.iter().map(|(name, value)| (name, value)))
            .stdin(Stdio::null())
            .stdout(log.try_clone().unwrap())
            .stderr(log)
            .spawn()
            .unwrap();
        let mut server = Self { process, address, data };
        let ready = format!("{}/health/ready", server.address);
        until("the child server is ready", || {
            assert!(server.process.try_wait().unwrap().is_none(), "the child server ended:\n{}", server.log());
            ureq::get(&ready).call().is_ok().then_some(())
        });
        server
    }

    /// Where it listens, as the beginning of a URL.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Its mailbox folder, where letters go without a mail server.
    pub fn mailbox(&self) -> crate::Mailbox {
        crate::Mailbox::at(&self.data.join("mailbox"))
    }

    /// What it wrote into its log so far.
    pub fn log(&self) -> String {
        std::fs::read_to_string(self.data.join("log")).unwrap_or_default()
    }

    /// Its number among the processes of this machine.
    pub fn pid(&self) -> u32 {
        self.process.id()
    }

    /// Kills it without warning, as a power cut would, and waits for its end.
    pub fn kill(&mut self) {
        self.process.kill().unwrap();
        self.process.wait().unwrap();
    }
}

impl Drop for ChildServer {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
        if std::thread::panicking() {
            eprintln!("the log of the child server at {}:\n{}", self.address, self.log());
        }
    }
}

/// The shipped program, which Cargo has built beside the test binaries.
fn program() -> PathBuf {
    let tests = std::env::current_exe().unwrap();
    let program = tests.parent().unwrap().parent().unwrap().join("bellbrace-under-test");
    assert!(program.exists(), "{} is not there: build the whole package bellbrace-tests", program.display());
    program
}
