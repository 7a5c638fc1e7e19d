//! A shop of a test's own.

use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use acts::shop::{NewPerson, NewShop};
use acts::{Actor, Acts};
use chrono::TimeDelta;
use mail::{Folder, Post};
use trade::words::ids::{PersonId, ShopId};
use trade::words::stage::Role;

use crate::postgres::{Database, Member, Postgres};
use crate::server::{Plan, keys};
use crate::{ChildServer, HandClock, Mailbox, Person, Server, until};

/// How a test shop is to be opened.
pub struct Opening {
    post: Option<PostWanted>,
    pool: u32,
    hours: bool,
    serves: bool,
}

enum PostWanted {
    Folder,
    This(Arc<Post>),
}

impl Default for Opening {
    fn default() -> Self {
        Self { post: Some(PostWanted::Folder), pool: 4, hours: false, serves: true }
    }
}

impl Opening {
    /// Nobody takes letters out of the outbox; the test looks at it itself.
    #[must_use]
    pub fn without_sender(self) -> Self {
        Self { post: None, ..self }
    }

    /// Letters leave this way instead of into the mailbox.
    #[must_use]
    pub fn with_post(self, post: Post) -> Self {
        Self { post: Some(PostWanted::This(Arc::new(post))), ..self }
    }

    /// So many connections to the database; four otherwise.
    #[must_use]
    pub fn with_connections(self, pool: u32) -> Self {
        Self { pool, ..self }
    }

    /// The hourly rounds run by themselves; otherwise [`TestShop::an_hour_strikes`] runs them.
    #[must_use]
    pub fn with_hours(self) -> Self {
        Self { hours: true, ..self }
    }

    /// No server in this process: the test starts its own.
    #[must_use]
    pub fn without_server(self) -> Self {
        Self { serves: false, ..self }
    }

    /// Opens it.
    pub fn open(self) -> TestShop {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let postgres = Postgres::of_this_binary();
        let database = postgres.copy();
        let folder = postgres.folder().join(format!("shop-{}", COUNT.fetch_add(1, Ordering::Relaxed)));
        std::fs::create_dir_all(&folder).unwrap();
        let clock = HandClock::new(&folder);
        let mut shop = TestShop {
            id: postgres.shop,
            staff: &postgres.staff,
            database,
            folder,
            clock,
            server: None,
            outbox_was_looked_at: AtomicBool::new(self.post.is_none()),
            children: AtomicUsize::new(0),
        };
        if self.serves {
            shop.server = Some(shop.start(self));
        }
        shop
    }
}

/// A shop with a database, a server, a clock, a mailbox and staff of its own.
pub struct TestShop {
    id: ShopId,
    staff: &'static [Member],
    // Before the database, so that it stops first.
    server: Option<Server>,
    clock: HandClock,
    folder: PathBuf,
    outbox_was_looked_at: AtomicBool,
    children: AtomicUsize,
    database: Database,
}

impl TestShop {
    /// A shop as most tests want it.
    pub fn open() -> Self {
        Opening::default().open()
    }

    /// A shop that needs something else.
    pub fn opening() -> Opening {
        Opening::default()
    }

    fn start(&self, opening: Opening) -> Server {
        let socket = TcpListener::bind("127.0.0.1:0").unwrap();
        let public_url = self
            .server
            .as_ref()
            .map_or_else(|| format!("http://{}", socket.local_addr().unwrap()), |first| first.address().to_owned());
        let post = opening.post.map(|wanted| match wanted {
            PostWanted::Folder => Arc::new(Post::Folder(Folder::open(self.folder.join("mailbox")).unwrap())),
            PostWanted::This(post) => post,
        });
        Server::start(Plan {
            url: self.database.serving_url(),
            pool: opening.pool,
            clock: self.clock.clone(),
            public_url,
            socket,
            post,
            hours: opening.hours,
            photos: self.photo_files(),
        })
    }

    /// The folder in which the pictures of its photos lie.
    pub fn photo_files(&self) -> std::path::PathBuf {
        self.folder.join("photos")
    }

    /// Another server in this process, on the same database, with the same mailbox.
    pub fn another_server(&self) -> Server {
        self.start(Opening::default())
    }

    /// Another server in this process, opened otherwise.
    pub fn another_server_opened(&self, opening: Opening) -> Server {
        self.start(opening)
    }

    /// `bellbrace serve` as a process of its own, on the same database, with these settings as
    /// environment variables. Its letters go into a mailbox of its own.
    pub fn child_server(&self, settings: &[(&str, String)]) -> ChildServer {
        let data = self.folder.join(format!("child-{}", self.children.fetch_add(1, Ordering::Relaxed)));
        ChildServer::start(data, &self.database.serving_url(), &self.folder.join("test-clock"), settings)
    }

    /// Which shop it is.
    pub fn id(&self) -> ShopId {
        self.id
    }

    /// The server of this process.
    pub fn server(&self) -> &Server {
        self.server.as_ref().expect("this shop was opened with a server")
    }

    /// The beginning of its URLs.
    pub fn address(&self) -> &str {
        self.server().address()
    }

    /// The acts of its server, for tests that need no HTTP.
    pub fn acts(&self) -> &Acts {
        self.server().acts()
    }

    /// Its clock.
    pub fn clock(&self) -> &HandClock {
        &self.clock
    }

    /// Its database.
    pub fn database(&self) -> &Database {
        &self.database
    }

    /// A folder that goes with the shop.
    pub fn folder(&self) -> &std::path::Path {
        &self.folder
    }

    fn member(&self, initials: &str) -> &'static Member {
        self.staff.iter().find(|member| member.initials == initials).expect("somebody has these initials")
    }

    fn person(&self, initials: &str) -> Person {
        let member = self.member(initials);
        let (token, _) = keys()
            .access(member.id, self.id, uuid::Uuid::now_v7(), member.name, member.roles.to_vec())
            .unwrap();
        // Without a server of its own, the test says where they go.
        let address = self.server.as_ref().map_or("", Server::address);
        Person::new(address, Some(token), Some(member.clone()))
    }

    /// Greta Lind, at the front desk and nowhere else.
    pub fn front_desk(&self) -> Person {
        self.person("GL")
    }

    /// Mara Voss, at the bench.
    pub fn technician(&self) -> Person {
        self.person("MV")
    }

    /// Jonas Keller, at the bench too.
    pub fn second_technician(&self) -> Person {
        self.person("JK")
    }

    /// Ines Falk, whose shop it is; neither at the desk nor at the bench by her roles alone.
    pub fn proprietor(&self) -> Person {
        self.person("IF")
    }

    /// Pia Brand, front desk and technician in one.
    pub fn desk_and_bench(&self) -> Person {
        self.person("PB")
    }

    /// Somebody who has not signed in: a customer, a stranger.
    pub fn stranger(&self) -> Person {
        Person::new(self.server.as_ref().map_or("", Server::address), None, None)
    }

    /// The proprietor of another shop of the same installation, which is opened for this.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub fn in_another_shop(&self) -> Person {
        let new = NewShop {
            name: "The Other Bench".to_owned(),
            time_zone: "Europe/Berlin".to_owned(),
            currency: "EUR".to_owned(),
            proprietor: NewPerson {
                name: "Nele Sander".to_owned(),
                initials: "NS".to_owned(),
                email: "nele@other.example".to_owned(),
                roles: vec![Role::Proprietor],
                password: Some(crate::people::PASSWORD.to_owned()),
                ..NewPerson::default()
            },
        };
        let (shop, proprietor) = crate::runtime().block_on(self.acts().open_shop(new)).unwrap();
        let (token, _) = keys()
            .access(PersonId(proprietor.id), shop, uuid::Uuid::now_v7(), "Nele Sander", vec![Role::Proprietor])
            .unwrap();
        Person::new(self.address(), Some(token), None)
    }

    /// The same staff member as the acts take them.
    pub fn actor(&self, initials: &str) -> Actor {
        let member = self.member(initials);
        Actor::staff(self.id, member.id, member.name, member.roles.to_vec())
    }

    /// Its mailbox. Looking into it looks at every letter.
    pub fn mailbox(&self) -> Mailbox {
        Mailbox::at(&self.folder.join("mailbox"))
    }

    /// The mailbox once nothing waits to be sent any more.
    ///
    /// # Panics
    /// When letters stay in the outbox.
    pub fn mail_has_gone(&self) -> Mailbox {
        until("the outbox is empty", || (self.letters_waiting() == 0).then_some(()));
        self.mailbox()
    }

    /// How many letters wait in the outbox. From here on they are the test's own concern.
    pub fn outbox(&self) -> i64 {
        self.outbox_was_looked_at.store(true, Ordering::Relaxed);
        self.letters_waiting()
    }

    fn letters_waiting(&self) -> i64 {
        self.database.count("SELECT count(*) AS n FROM outbox")
    }

    /// Runs what happens by the hour, once.
    pub fn an_hour_strikes(&self) {
        crate::runtime().block_on(rounds::hours::once(self.acts()));
    }

    /// Makes the forecasts that are due, once; gives how many.
    pub fn a_forecast_is_made(&self) -> usize {
        crate::runtime().block_on(rounds::forecasts::once(self.acts()))
    }

    /// Waits until the relay has numbered every event.
    pub fn events_have_numbers(&self) {
        until("every event has its number", || {
            (self.database().count("SELECT count(*) AS n FROM events WHERE number IS NULL") == 0).then_some(())
        });
    }

    /// Lets so many days pass in the shop, and the hour strike.
    pub fn days_pass(&self, days: i64) {
        self.clock.forward(TimeDelta::days(days));
        self.an_hour_strikes();
    }
}

impl Drop for TestShop {
    fn drop(&mut self) {
        if std::thread::panicking() {
            return;
        }
        crate::invariants::hold(&self.database);
        if self.outbox_was_looked_at.load(Ordering::Relaxed) {
            return;
        }
        if self.server.is_some() {
            self.mail_has_gone();
        } else {
            assert_eq!(self.letters_waiting(), 0, "letters wait in the outbox that nobody looked at");
        }
    }
}
