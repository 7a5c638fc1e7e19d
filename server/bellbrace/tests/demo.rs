//! The demo as somebody meets it who starts it: made whole or not served, and shown again.

#![cfg(target_os = "linux")]
#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

struct Demo {
    process: Child,
    says: BufReader<ChildStdout>,
    data: PathBuf,
    port: u16,
}

fn command(data: &Path, port: u16) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bellbrace"));
    command.arg("serve").arg("--data").arg(data).args(["--port", &port.to_string()]);
    command
}

fn folder(name: &str) -> PathBuf {
    let data = std::env::temp_dir().join(format!("bellbrace-demo-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&data);
    data
}

impl Demo {
    fn started(data: &Path) -> Self {
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let mut process =
            command(data, port).arg("--demo").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let says = BufReader::new(process.stdout.take().unwrap());
        Self { process, says, data: data.to_owned(), port }
    }

    /// Reads what it prints up to the line with these words.
    fn says_until(&mut self, words: &str) -> String {
        let mut all = String::new();
        while !all.contains(words) {
            assert!(self.says.read_line(&mut all).unwrap() > 0, "it never said {words:?}:\n{all}");
        }
        all
    }

    /// Ends it at once, as a power cut would, and waits until its PostgreSQL is gone too.
    fn is_cut_off(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
        let began = Instant::now();
        while self.data.join("postgres/postmaster.pid").exists() && began.elapsed() < Duration::from_secs(30) {
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// Asks in HTTP/1.0, so that the answer ends with the connection.
    fn asked(&self, method: &str, path: &str, token: Option<&str>, body: Option<&Value>) -> Value {
        let mut line = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        let body = body.map(Value::to_string).unwrap_or_default();
        let authorization = token.map(|token| format!("Authorization: Bearer {token}\r\n")).unwrap_or_default();
        write!(
            line,
            "{method} /api/v1{path} HTTP/1.0\r\nHost: localhost\r\n{authorization}Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        )
        .unwrap();
        let mut answer = String::new();
        line.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        assert!(head.contains(" 200 ") || head.contains(" 201 "), "{path}: {answer}");
        serde_json::from_str(body).unwrap()
    }

    fn board_of(&self, person: &Value) -> Value {
        let session =
            self.asked("POST", "/sessions", None, Some(&json!({ "email": person["email"], "password": person["password"] })));
        self.asked("GET", "/board", session["access_token"].as_str(), None)
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        self.is_cut_off();
        let _ = fs::remove_dir_all(&self.data);
    }
}

fn words(orders: &Value, field: &str) -> BTreeSet<String> {
    orders.as_array().unwrap().iter().map(|order| order[field].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_demo_opens_with_work_everywhere_and_is_only_shown_again_at_the_next_start() {
    let data = folder("whole");
    let mut demo = Demo::started(&data);
    demo.says_until("Bellbrace is open at");
    let list = data.join("demo-sign-in.json");
    assert_eq!(fs::metadata(&list).unwrap().permissions().mode() & 0o777, 0o600);
    let people: Vec<Value> = serde_json::from_slice(&fs::read(&list).unwrap()).unwrap();
    let roles: BTreeSet<&str> = people.iter().flat_map(|p| p["roles"].as_array().unwrap()).map(|r| r.as_str().unwrap()).collect();
    assert_eq!(roles, BTreeSet::from(["front_desk", "proprietor", "technician"]));

    let board = demo.board_of(&people[0]);
    let orders = &board["orders"];
    assert!((55..=70).contains(&orders.as_array().unwrap().len()));
    assert_eq!(words(orders, "stage").len(), 6, "work in every open stage");
    assert_eq!(words(orders, "waits_for"), ["customer", "shop", "supplier"].map(str::to_owned).into());
    assert_eq!(words(orders, "family").len(), 13);
    let days_left = |order: &Value| order["working_days_left"].as_i64().unwrap();
    assert!(orders.as_array().unwrap().iter().any(|order| days_left(order) < 0));

    // The forecast is made at once: some promises are in danger, and by far not all.
    let began = Instant::now();
    let late = loop {
        let board = demo.board_of(&people[0]);
        if board["forecast_number"].is_i64() {
            let orders = board["orders"].as_array().unwrap();
            assert!(orders.iter().all(|order| (order["stage"] == "pickup") == order["ready_p85"].is_null()));
            break orders.iter().filter(|order| order["likely_days_late"].as_i64() > Some(0)).count();
        }
        assert!(began.elapsed() < Duration::from_secs(60), "no forecast");
        // Ten sign-ins a minute are let in.
        std::thread::sleep(Duration::from_secs(3));
    };
    assert!((5..=20).contains(&late), "{late} tags are turned over");

    // Whoever did not answer, or collect, was written to again; those letters are kept back as well.
    let session = demo.asked("POST", "/sessions", None, Some(&json!({ "email": people[0]["email"], "password": people[0]["password"] })));
    let order = |id: &Value| demo.asked("GET", &format!("/work-orders/{}", id.as_str().unwrap()), session["access_token"].as_str(), None);
    let in_pickup = orders.as_array().unwrap().iter().filter(|order| order["stage"] == "pickup");
    let seen: Vec<Value> = in_pickup.map(|one| order(&one["id"])).collect();
    let reminders = |order: &Value, kind: &str| order["letters"].as_array().unwrap().iter().filter(|letter| letter["kind"] == kind).count();
    let unanswered = seen.iter().find(|order| order["stage_changes"].as_array().unwrap().iter().any(|change| change["because"] == "unanswered")).unwrap();
    assert_eq!(reminders(unanswered, "answer_reminder"), 2, "{}", unanswered["letters"]);
    assert!(seen.iter().any(|order| reminders(order, "pickup_reminder") >= 2));
    let letters = seen.iter().flat_map(|order| order["letters"].as_array().unwrap());
    let again: Vec<&Value> = letters.filter(|letter| letter["kind"].as_str().unwrap().ends_with("_reminder")).collect();
    assert!(again.iter().all(|letter| letter["state"] == "not_wanted"), "{again:#?}");
    assert!(again.iter().any(|letter| letter["state_reason"] == "demo"), "{again:#?}");

    let others = demo.board_of(people.last().unwrap());
    assert!(words(&others["orders"], "id").is_disjoint(&words(orders, "id")), "nothing crosses from one shop to the other");
    assert!(!others["orders"].as_array().unwrap().is_empty());

    demo.is_cut_off();
    let began = Instant::now();
    let mut again = Demo::started(&data);
    let said = again.says_until("Bellbrace is open at");
    // The first start took many times as long; this is the promise made to whoever starts it again.
    assert!(began.elapsed() < Duration::from_secs(5));
    assert!(said.contains(people[0]["password"].as_str().unwrap()) && !said.contains("making"), "{said}");
    assert_eq!(again.board_of(&people[0])["orders"].as_array().unwrap().len(), orders.as_array().unwrap().len());
}

#[test]
fn a_demo_that_was_interrupted_is_not_served_but_says_what_to_do() {
    let data = folder("interrupted");
    let mut demo = Demo::started(&data);
    demo.says_until("making the demo shop: 20 of");
    demo.is_cut_off();
    for options in [&["--demo"][..], &[]] {
        let ended = command(&data, demo.port).args(options).output().unwrap();
        let said = String::from_utf8(ended.stderr).unwrap();
        assert_eq!(ended.status.code(), Some(1), "{said}");
        assert!(said.contains("the demo was interrupted") && said.contains(data.to_str().unwrap()), "{said}");
    }
}
