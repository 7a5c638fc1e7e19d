//! The private PostgreSQL, with a real one: made, stopped, killed, contested.

#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use bellbrace::cluster::{Cluster, ClusterFault, DATABASE, OWNER, Plan, SERVING, SUPERUSER};
use diesel::connection::SimpleConnection;
use diesel::sql_types::{Bool, Text};
use diesel::{Connection, PgConnection, QueryableByName, RunQueryDsl, sql_query};
use nix::sys::signal::{Signal, kill};
use nix::unistd::{Pid, geteuid};

/// Everything awaited here takes well under a second on an idle machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// A data folder that goes with the test.
struct Data(PathBuf);

impl Data {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("bellbrace-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        Self(path)
    }

    fn path(&self) -> &Path {
        &self.0
    }

    fn postmaster(&self) -> i32 {
        let pid_file = self.0.join("postgres/postmaster.pid");
        let text = fs::read_to_string(pid_file).expect("PostgreSQL is running");
        text.lines().next().unwrap().parse().unwrap()
    }
}

impl Drop for Data {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn connected(url: &str) -> PgConnection {
    PgConnection::establish(url).unwrap()
}

fn asked(connection: &mut PgConnection, text: &str) -> String {
    #[derive(QueryableByName)]
    struct Answer {
        #[diesel(sql_type = Text)]
        answer: String,
    }
    let question = format!("SELECT ({text})::text AS answer");
    sql_query(question).get_result::<Answer>(connection).unwrap().answer
}

fn setting(connection: &mut PgConnection, name: &str) -> String {
    asked(connection, &format!("current_setting('{name}')"))
}

fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let began = Instant::now();
    while !holds() {
        assert!(began.elapsed() < PATIENCE, "never: {what}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

fn is_alive(pid: i32) -> bool {
    kill(Pid::from_raw(pid), None).is_ok()
}

/// A second process that runs a cluster, to be killed: this test program
/// itself, told to run only the ignored test below.
struct OtherServer(Child);

impl OtherServer {
    fn on(data: &Data) -> Self {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "a_server_until_it_is_killed", "--ignored", "--nocapture"])
            .env("BELLBRACE_CLUSTER_OF_TEST", data.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let started = lines.map_while(Result::ok).any(|line| line.contains("cluster is up"));
        assert!(started, "the other server did not start");
        Self(child)
    }

    fn killed(mut self) {
        self.0.kill().unwrap();
        self.0.wait().unwrap();
    }
}

#[test]
#[ignore = "not a test: the other tests start it as the server that gets killed"]
fn a_server_until_it_is_killed() {
    let Some(data) = std::env::var_os("BELLBRACE_CLUSTER_OF_TEST") else { return };
    // Started by a thread that ends at once: PostgreSQL must not end with it.
    let cluster = std::thread::spawn(move || Cluster::start(&Plan::new(data)).unwrap());
    let _cluster = cluster.join().unwrap();
    println!("cluster is up");
    loop {
        std::thread::park();
    }
}

#[test]
fn from_nothing_there_are_two_roles_and_a_database_and_it_is_durable() {
    let data = Data::new("nothing");
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    assert!(cluster.is_up());

    let mut serving = connected(&cluster.serving_url());
    assert_eq!(asked(&mut serving, "current_user"), SERVING);
    assert_eq!(asked(&mut serving, "current_database()"), DATABASE);
    for (name, value) in [
        ("fsync", "on"),
        ("full_page_writes", "on"),
        ("synchronous_commit", "on"),
        ("listen_addresses", ""),
        ("unix_socket_permissions", "0700"),
        ("data_checksums", "on"),
        ("server_encoding", "UTF8"),
        ("timezone", "UTC"),
    ] {
        assert_eq!(setting(&mut serving, name), value, "{name}");
    }

    #[derive(Debug, PartialEq, QueryableByName)]
    struct Role {
        #[diesel(sql_type = Text)]
        rolname: String,
        #[diesel(sql_type = Bool)]
        powers: bool,
        #[diesel(sql_type = Bool)]
        owns: bool,
    }
    let roles = sql_query(
        "SELECT rolname::text, \
                rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb OR rolreplication AS powers, \
                EXISTS (SELECT FROM pg_database WHERE datdba = pg_roles.oid) AS owns \
         FROM pg_roles WHERE rolname LIKE 'bellbrace%' ORDER BY rolname",
    )
    .load::<Role>(&mut serving)
    .unwrap();
    assert_eq!(
        roles,
        [
            Role { rolname: OWNER.to_owned(), powers: false, owns: true },
            Role { rolname: SERVING.to_owned(), powers: false, owns: false },
        ]
    );

    let refused = serving.batch_execute("CREATE TABLE public.t (a int)").unwrap_err();
    assert!(refused.to_string().contains("permission denied"), "{refused}");
}

#[test]
fn the_owner_makes_tables_and_the_trigram_extension_and_the_serving_role_uses_them() {
    let data = Data::new("owner");
    let cluster = Cluster::start(&Plan::new(data.path()).thrown_away_afterwards()).unwrap();
    let mut owner = connected(&cluster.owner_url());
    owner
        .batch_execute(
            "CREATE EXTENSION pg_trgm; CREATE TABLE t (a text);
             GRANT SELECT, INSERT ON t TO bellbrace_serving;",
        )
        .unwrap();
    let mut serving = connected(&cluster.serving_url());
    serving.batch_execute("INSERT INTO t VALUES ('Köhler')").unwrap();
    // Letters beyond ASCII count as letters, in any case.
    assert_eq!(asked(&mut serving, "SELECT similarity(a, 'KÖHLER') FROM t"), "1");
    assert_eq!(asked(&mut serving, "SELECT upper(a) FROM t"), "KÖHLER");
    let mut superuser = connected(&cluster.url(SUPERUSER, "postgres"));
    superuser.batch_execute("CREATE DATABASE another").unwrap();
}

#[test]
fn what_was_written_is_there_after_a_restart() {
    let data = Data::new("restart");
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    connected(&cluster.owner_url())
        .batch_execute("CREATE TABLE t AS SELECT 'kept'::text AS a")
        .unwrap();
    cluster.stop();
    assert!(!data.path().join("postgres/postmaster.pid").exists(), "PostgreSQL stopped cleanly");

    let again = Cluster::start(&Plan::new(data.path())).unwrap();
    assert_eq!(asked(&mut connected(&again.owner_url()), "SELECT a FROM t"), "kept");
}

#[test]
fn a_killed_postgresql_comes_back_while_the_server_lives() {
    let data = Data::new("postmaster");
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    let mut busy = connected(&cluster.owner_url());
    busy.batch_execute("CREATE TABLE t AS SELECT 'kept'::text AS a").unwrap();
    // A backend in the middle of a statement does not notice that its parent
    // is gone, and must not write beside the next one.
    let url = cluster.owner_url();
    let statement = std::thread::spawn(move || {
        let mut long = connected(&url);
        long.batch_execute("DO $$ BEGIN WHILE true LOOP PERFORM 1; END LOOP; END $$")
    });
    until("the long statement runs", || {
        asked(&mut busy, "SELECT count(*) FROM pg_stat_activity WHERE query LIKE 'DO%'") == "1"
    });

    let killed = data.postmaster();
    kill(Pid::from_raw(killed), Signal::SIGKILL).unwrap();
    until("the loss is noticed", || !cluster.is_up());
    until("PostgreSQL is back", || cluster.is_up());
    assert_ne!(data.postmaster(), killed);
    assert_eq!(asked(&mut connected(&cluster.serving_url()), "1 + 1"), "2");
    assert_eq!(asked(&mut connected(&cluster.owner_url()), "SELECT a FROM t"), "kept");
    assert!(statement.join().unwrap().is_err(), "the long statement was cut off");
}

#[test]
fn nothing_outlives_a_killed_server_and_the_next_one_takes_over() {
    let data = Data::new("parent");
    let server = OtherServer::on(&data);
    let orphan = data.postmaster();
    server.killed();
    // Not waiting for the orphan: the next server must cope with it.
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    until("the orphan is gone", || !is_alive(orphan));
    assert_eq!(asked(&mut connected(&cluster.serving_url()), "1 + 1"), "2");
}

#[test]
#[cfg(target_os = "linux")]
fn the_kernel_stops_postgresql_when_its_server_is_killed() {
    let data = Data::new("kernel");
    let server = OtherServer::on(&data);
    let orphan = data.postmaster();
    server.killed();
    until("PostgreSQL ended by itself", || !is_alive(orphan));
    let pid_file = data.path().join("postgres/postmaster.pid");
    assert!(!pid_file.exists(), "it was a clean shutdown");
}

#[test]
fn a_stale_pid_file_that_names_a_stranger_stops_nobody() {
    let data = Data::new("stale");
    Cluster::start(&Plan::new(data.path())).unwrap().stop();
    // As after a power cut in a container: the number is somebody else's now.
    let pid_file = data.path().join("postgres/postmaster.pid");
    let note = format!("{}\n{}\n0\n5432\n", std::process::id(), data.path().display());
    fs::write(&pid_file, note).unwrap();
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    assert_eq!(asked(&mut connected(&cluster.serving_url()), "1 + 1"), "2");
}

#[test]
fn of_two_servers_on_one_folder_the_second_is_told_who_holds_it() {
    let data = Data::new("two");
    let server = OtherServer::on(&data);
    let refused = Cluster::start(&Plan::new(data.path())).err().unwrap();
    let said = refused.to_string();
    assert!(said.contains(&format!("in use by another Bellbrace (process {})", server.0.id())));
    assert!(said.contains(&fs::canonicalize(data.path()).unwrap().display().to_string()), "{said}");
    server.killed();
    Cluster::start(&Plan::new(data.path())).unwrap();
}

#[test]
fn a_folder_too_deep_for_a_socket_gets_a_short_one_elsewhere() {
    let data = Data::new("deep");
    let deep = data.path().join("a-folder-with-a-long-name/".repeat(5));
    open_to_all(data.path());
    let cluster = Cluster::start(&Plan::new(&deep)).unwrap();
    let folder = cluster.socket_folder().to_path_buf();
    assert!(!folder.starts_with(data.path()), "{}", folder.display());
    assert_eq!(fs::metadata(&folder).unwrap().permissions().mode() & 0o777, 0o700);
    assert_eq!(asked(&mut connected(&cluster.serving_url()), "1 + 1"), "2");
    cluster.stop();
    fs::remove_dir(&folder).unwrap();
}

#[test]
fn a_half_made_cluster_is_begun_again() {
    let data = Data::new("half");
    open_to_all(data.path());
    fs::create_dir_all(data.path().join("postgres.new/base")).unwrap();
    fs::write(data.path().join("postgres.new/PG_VERSION"), "15\n").unwrap();
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    assert_eq!(asked(&mut connected(&cluster.serving_url()), "1 + 1"), "2");
    assert!(!data.path().join("postgres.new").exists());
}

#[test]
fn a_folder_that_holds_something_else_is_left_alone() {
    let data = Data::new("else");
    open_to_all(data.path());
    fs::create_dir(data.path().join("postgres")).unwrap();
    fs::write(data.path().join("postgres/letters.txt"), "mine").unwrap();
    let refused = Cluster::start(&Plan::new(data.path())).err().unwrap();
    assert!(matches!(refused, ClusterFault::NotACluster { .. }), "{refused}");
    assert_eq!(fs::read(data.path().join("postgres/letters.txt")).unwrap(), b"mine");
}

#[test]
fn a_postgresql_that_does_not_start_says_why() {
    let data = Data::new("broken");
    Cluster::start(&Plan::new(data.path())).unwrap().stop();
    let settings = data.path().join("postgres/postgresql.conf");
    let mut text = fs::read_to_string(&settings).unwrap();
    text.push_str("max_connections = many\n");
    fs::write(&settings, text).unwrap();
    let said = Cluster::start(&Plan::new(data.path())).err().unwrap().to_string();
    assert!(said.contains("postgres failed"), "{said}");
    assert!(said.contains("max_connections"), "{said}");
}

#[test]
fn started_by_root_it_runs_as_another_account() {
    if !geteuid().is_root() {
        return;
    }
    let data = Data::new("root");
    let cluster = Cluster::start(&Plan::new(data.path())).unwrap();
    let owner = fs::metadata(data.path().join("postgres")).unwrap();
    assert_ne!(owner.uid(), 0);
    assert_eq!(owner.permissions().mode() & 0o777, 0o700);
    let socket_folder = fs::metadata(cluster.socket_folder()).unwrap();
    assert_eq!(
        (socket_folder.uid(), socket_folder.permissions().mode() & 0o777),
        (owner.uid(), 0o700)
    );
    #[cfg(target_os = "linux")]
    {
        let process = format!("/proc/{}/status", data.postmaster());
        let status = fs::read_to_string(process).unwrap();
        let line =
            |name: &str| status.lines().find(|line| line.starts_with(name)).unwrap().to_owned();
        let uid = owner.uid();
        assert_eq!(line("Uid:"), format!("Uid:\t{uid}\t{uid}\t{uid}\t{uid}"));
        assert_eq!(line("Groups:").trim(), "Groups:", "root's other groups are dropped");
    }
}

#[test]
fn a_closed_folder_on_the_way_is_named_when_root_starts_it() {
    if !geteuid().is_root() {
        return;
    }
    let data = Data::new("closed");
    let home = data.path().join("home");
    fs::create_dir_all(&home).unwrap();
    fs::set_permissions(&home, fs::Permissions::from_mode(0o700)).unwrap();
    let said = Cluster::start(&Plan::new(home.join("shop"))).err().unwrap().to_string();
    assert!(said.contains(&format!("chmod o+x '{}'", home.display())), "{said}");
    assert!(said.contains("--data"), "{said}");
    assert!(!home.join("shop").exists(), "nothing is left behind");
}

/// A folder made by the test, which may run as root with a strict mask.
fn open_to_all(folder: &Path) {
    fs::create_dir_all(folder).unwrap();
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).unwrap();
}
