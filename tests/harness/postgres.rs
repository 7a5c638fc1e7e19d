//! One PostgreSQL for each test binary, run as the server runs its own, with a migrated template
//! database that holds one open shop.
//!
//! Databases rather than schemas: NOTIFY and advisory locks reach across schemas.

use std::io::Write;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use acts::shop::{NewPerson, NewShop};
use acts::{Acts, Clock};
use bellbrace::cluster::{Cluster, DATABASE, OWNER, Plan, SERVING, SUPERUSER};
use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};
use store::Store;
use store::people::PersonRow;
use store::photo_files::PhotoFolder;
use trade::words::ids::{PersonId, ShopId};
use trade::words::stage::Role;
use uuid::Uuid;

use crate::people::PASSWORD;
use crate::{runtime, until};

/// A member of the staff as the template knows them.
#[derive(Clone, Debug)]
pub struct Member {
    pub id: PersonId,
    pub name: &'static str,
    pub initials: &'static str,
    pub email: &'static str,
    pub roles: &'static [Role],
}

/// Name, initials, address, roles. Nobody of these exists.
type Known = (&'static str, &'static str, &'static str, &'static [Role]);

const PROPRIETOR: Known = ("Ines Falk", "IF", "ines@shop.example", &[Role::Proprietor]);
const OTHERS: [Known; 4] = [
    ("Greta Lind", "GL", "greta@shop.example", &[Role::FrontDesk]),
    ("Mara Voss", "MV", "mara@shop.example", &[Role::Technician]),
    ("Jonas Keller", "JK", "jonas@shop.example", &[Role::Technician]),
    ("Pia Brand", "PB", "pia@shop.example", &[Role::FrontDesk, Role::Technician]),
];

/// The running PostgreSQL of this test binary.
pub struct Postgres {
    cluster: Cluster,
    /// The shop in the template.
    pub shop: ShopId,
    /// The proprietor first.
    pub staff: Vec<Member>,
    copying: Mutex<()>,
    copies: AtomicUsize,
    // Waits for the end of this process, whatever ends it, and removes the folder.
    _broom: Child,
}

/// One database of this cluster, removed when dropped.
pub struct Database {
    name: String,
}

impl Postgres {
    /// The one of this test binary; the first to ask waits until it is there.
    pub fn of_this_binary() -> &'static Self {
        static ONE: OnceLock<Postgres> = OnceLock::new();
        ONE.get_or_init(Self::start)
    }

    fn start() -> Self {
        let folder = std::env::temp_dir().join(format!("bellbrace-tests-{}", std::process::id()));
        let broom = sweep_at_the_end(&folder);
        let cluster = Cluster::start(&Plan::new(&folder).thrown_away_afterwards()).unwrap();
        store::migrate::migrate(&cluster.owner_url(), SERVING).unwrap();
        let (shop, staff) = runtime().block_on(open_template(&cluster.serving_url()));
        let postgres =
            Self { cluster, shop, staff, copying: Mutex::default(), copies: AtomicUsize::new(0), _broom: broom };
        // A template is copied only while nobody is connected to it.
        until("nobody is connected to the template", || {
            let mut admin = postgres.superuser("postgres");
            (count(&mut admin, &format!("SELECT count(*) AS n FROM pg_stat_activity WHERE datname = '{DATABASE}'")) == 0).then_some(())
        });
        postgres
    }

    /// A new database, a copy of the template.
    pub fn copy(&'static self) -> Database {
        let name = format!("shop_{}", self.copies.fetch_add(1, Ordering::Relaxed));
        let _one_at_a_time = self.copying.lock().unwrap_or_else(PoisonError::into_inner);
        let mut admin = self.superuser("postgres");
        admin.batch_execute(&format!("CREATE DATABASE {name} TEMPLATE {DATABASE} OWNER {OWNER}")).unwrap();
        Database { name }
    }

    /// A new database without anything in it.
    pub fn empty(&'static self) -> Database {
        let name = format!("empty_{}", self.copies.fetch_add(1, Ordering::Relaxed));
        let mut admin = self.superuser("postgres");
        admin.batch_execute(&format!("CREATE DATABASE {name} OWNER {OWNER}")).unwrap();
        Database { name }
    }

    /// The folder of PostgreSQL's programs.
    pub fn binaries(&self) -> &std::path::Path {
        self.cluster.binaries()
    }

    /// A connection that may do anything.
    pub fn superuser(&self, database: &str) -> PgConnection {
        PgConnection::establish(&self.cluster.url(SUPERUSER, database)).unwrap()
    }

    /// The folder where everything of this run lies.
    pub fn folder(&self) -> PathBuf {
        std::env::temp_dir().join(format!("bellbrace-tests-{}", std::process::id()))
    }
}

impl Database {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The URL of the role that serves.
    pub fn serving_url(&self) -> String {
        Postgres::of_this_binary().cluster.url(SERVING, &self.name)
    }

    /// The URL of the role that owns and migrates.
    pub fn owner_url(&self) -> String {
        Postgres::of_this_binary().cluster.url(OWNER, &self.name)
    }

    /// The URL of the role that may do anything.
    pub fn superuser_url(&self) -> String {
        Postgres::of_this_binary().cluster.url(SUPERUSER, &self.name)
    }

    /// A connection that may do anything, row-level security or not.
    pub fn superuser(&self) -> PgConnection {
        Postgres::of_this_binary().superuser(&self.name)
    }

    /// How many; `query` names its one column `n`.
    pub fn count(&self, query: &str) -> i64 {
        count(&mut self.superuser(), query)
    }

    /// Takes the database away: nobody gets in, and who is in is thrown out.
    pub fn take_away(&self) {
        let mut admin = Postgres::of_this_binary().superuser("postgres");
        admin.batch_execute(&format!("ALTER DATABASE {} ALLOW_CONNECTIONS false", self.name)).unwrap();
        throw_out(&mut admin, &self.name);
    }

    /// Gives it back.
    pub fn give_back(&self) {
        let mut admin = Postgres::of_this_binary().superuser("postgres");
        admin.batch_execute(&format!("ALTER DATABASE {} ALLOW_CONNECTIONS true", self.name)).unwrap();
    }
}

impl Drop for Database {
    fn drop(&mut self) {
        let mut admin = Postgres::of_this_binary().superuser("postgres");
        let dropped = admin.batch_execute(&format!("DROP DATABASE IF EXISTS {} WITH (FORCE)", self.name));
        if !std::thread::panicking() {
            dropped.unwrap();
        }
    }
}

fn throw_out(admin: &mut PgConnection, database: &str) {
    diesel::sql_query("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = $1")
        .bind::<Text, _>(database)
        .execute(admin)
        .unwrap();
}

/// How many; the query names its one column `n`.
pub fn count(conn: &mut PgConnection, query: &str) -> i64 {
    #[derive(QueryableByName)]
    struct Counted {
        #[diesel(sql_type = BigInt)]
        n: i64,
    }
    diesel::sql_query(query).get_result::<Counted>(conn).unwrap().n
}

/// A shell that ends when this process does and then removes the folder: a static is never
/// dropped, and a killed test run cleans nothing up.
fn sweep_at_the_end(folder: &std::path::Path) -> Child {
    let mut broom = Command::new("sh")
        .arg("-c")
        .arg(
            "cat >/dev/null; n=0; while [ -e \"$1/postgres/postmaster.pid\" ] && [ $n -lt 100 ]; \
             do sleep 0.1; n=$((n + 1)); done; rm -rf \"$1\"",
        )
        .arg("sweep")
        .arg(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    // The pipe stays open as long as this process lives.
    broom.stdin.as_mut().unwrap().flush().unwrap();
    broom
}

async fn open_template(url: &str) -> (ShopId, Vec<Member>) {
    let acts = Acts {
        store: Store::new(url, 1),
        clock: Clock::new(|| std::time::SystemTime::now().into()),
        public_url: "http://localhost".into(),
        mute: None,
        photo_files: Arc::new(PhotoFolder::at("/nowhere")),
    };
    let (name, initials, email, roles) = PROPRIETOR;
    let new = NewShop {
        name: "The Brass Bench".to_owned(),
        time_zone: "Europe/Berlin".to_owned(),
        currency: "EUR".to_owned(),
        proprietor: NewPerson {
            name: name.to_owned(),
            initials: initials.to_owned(),
            email: email.to_owned(),
            roles: roles.to_vec(),
            password: Some(PASSWORD.to_owned()),
            ..NewPerson::default()
        },
    };
    let (shop, proprietor) = acts.open_shop(new).await.unwrap();
    let mut staff = vec![Member { id: PersonId(proprietor.id), name, initials, email, roles }];
    let (hash, _) =
        acts.store.directory(move |conn| store::people::sign_in(conn, email)).await.unwrap().remove(0);
    for (name, initials, email, roles) in OTHERS {
        let row = PersonRow {
            id: Uuid::now_v7(),
            name: name.to_owned(),
            initials: initials.to_owned(),
            email: email.to_owned(),
            roles: serde_json::json!(roles),
            ..proprietor.clone()
        };
        staff.push(Member { id: PersonId(row.id), name, initials, email, roles });
        // One hash for all: making it is slow on purpose.
        let hash = hash.clone();
        acts.store.write(shop, move |tx| store::people::add(tx, &row, &hash)).await.unwrap();
    }
    (shop, staff)
}
