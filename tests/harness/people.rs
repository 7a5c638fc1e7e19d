//! The people of a test shop and what they do, through HTTP, in the trade's words.

use std::collections::BTreeMap;
use std::fmt;
use std::ops::Deref;

use serde_json::{Value, json};

use crate::postgres::Member;
use crate::{Answer, Changes, Step, Visit};

/// The password of everyone in a test shop.
pub const PASSWORD: &str = "a long word for the bench";

/// Somebody with a browser.
#[derive(Clone)]
pub struct Person {
    base: String,
    token: Option<String>,
    member: Option<Member>,
    agent: ureq::Agent,
}

/// One request before it is sent.
#[must_use]
pub struct Request<'p> {
    person: &'p Person,
    method: String,
    path: String,
    body: Option<Vec<u8>>,
    headers: BTreeMap<String, String>,
}

impl Request<'_> {
    /// With a JSON body.
    pub fn body(mut self, body: &Value) -> Self {
        self.body = Some(body.to_string().into_bytes());
        self.header("Content-Type", "application/json")
    }

    /// With a body as it is.
    pub fn raw_body(mut self, kind: &str, body: impl Into<Vec<u8>>) -> Self {
        self.body = Some(body.into());
        self.header("Content-Type", kind)
    }

    /// As somebody who saw this version.
    pub fn seen(self, version: i64) -> Self {
        self.header("If-Match", &format!("\"{version}\""))
    }

    /// Under this idempotency key.
    pub fn once(self, key: &str) -> Self {
        self.header("Idempotency-Key", &format!("\"{key}\""))
    }

    /// With any header.
    pub fn header(mut self, name: &str, value: &str) -> Self {
        self.headers.insert(name.to_owned(), value.to_owned());
        self
    }

    fn call(self) -> Result<(String, ureq::http::Response<ureq::Body>), ureq::Error> {
        let url = if self.path.starts_with("http") { self.path } else { format!("{}{}", self.person.base, self.path) };
        let asked = format!("{} {url}", self.method);
        let mut request = ureq::http::Request::builder().method(self.method.as_str()).uri(&url);
        if let Some(token) = &self.person.token {
            request = request.header("Authorization", format!("Bearer {token}"));
        }
        for (name, value) in self.headers {
            request = request.header(name, value);
        }
        let answer = match self.body {
            Some(body) => self.person.agent.run(request.body(body)?)?,
            None => self.person.agent.run(request.body(())?)?,
        };
        Ok((asked, answer))
    }

    /// Sends it and reads the answer.
    ///
    /// # Errors
    /// When the connection breaks.
    pub fn try_send(self) -> Result<Answer, ureq::Error> {
        let (asked, mut answer) = self.call()?;
        let headers = answer
            .headers()
            .iter()
            .map(|(name, value)| (name.as_str().to_owned(), String::from_utf8_lossy(value.as_bytes()).into_owned()))
            .collect();
        let status = answer.status().as_u16();
        let bytes = answer.body_mut().with_config().limit(64 * 1024 * 1024).read_to_vec()?;
        Ok(Answer { asked, status, headers, bytes })
    }

    /// Sends it and reads the answer.
    ///
    /// # Panics
    /// When the connection breaks.
    #[track_caller]
    pub fn send(self) -> Answer {
        let asked = format!("{} {}", self.method, self.path);
        self.try_send().unwrap_or_else(|error| panic!("{asked}: {error}"))
    }
}

/// A work order as it was when it was looked at. Wherever an order is asked for, its id will do.
#[derive(Clone, Debug)]
pub struct Order(pub Value);

impl Deref for Order {
    type Target = Value;

    fn deref(&self) -> &Value {
        &self.0
    }
}

impl AsRef<str> for Order {
    fn as_ref(&self) -> &str {
        self.id()
    }
}

impl fmt::Display for Order {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

impl Order {
    /// Its id.
    pub fn id(&self) -> &str {
        self.0["id"].as_str().unwrap()
    }

    /// Its claim number.
    pub fn claim_number(&self) -> &str {
        self.0["claim_number"].as_str().unwrap()
    }

    /// Its version when looked at.
    pub fn version(&self) -> i64 {
        self.0["version"].as_i64().unwrap()
    }

    /// Its stage.
    pub fn stage(&self) -> &str {
        self.0["stage"].as_str().unwrap()
    }

    /// Whom it waits for.
    pub fn waits_for(&self) -> &str {
        self.0["waits_for"].as_str().unwrap_or_default()
    }

    fn all(&self, what: &str) -> &[Value] {
        self.0[what].as_array().map_or(&[], Vec::as_slice)
    }

    /// Its findings, oldest first.
    pub fn findings(&self) -> &[Value] {
        self.all("findings")
    }

    /// Its operations, oldest first.
    pub fn operations(&self) -> &[Value] {
        self.all("operations")
    }

    /// The operation with this title.
    ///
    /// # Panics
    /// When there is none.
    #[track_caller]
    pub fn operation(&self, title: &str) -> &Value {
        self.operations().iter().find(|operation| operation["title"] == title).expect("an operation of this title")
    }

    /// Its quotes, oldest first.
    pub fn quotes(&self) -> &[Value] {
        self.all("quotes")
    }

    /// The quote in this state, the newest of several.
    ///
    /// # Panics
    /// When there is none.
    #[track_caller]
    pub fn quote(&self, state: &str) -> &Value {
        self.quotes().iter().rfind(|quote| quote["state"] == state).expect("a quote in this state")
    }

    /// Its letters, oldest first.
    pub fn letters(&self) -> &[Value] {
        self.all("letters")
    }

    /// Its moves so far, as (from, to, because).
    pub fn way(&self) -> Vec<(String, String, String)> {
        let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        self.all("stage_changes").iter().map(|c| (word(&c["from"]), word(&c["to"]), word(&c["because"]))).collect()
    }

    /// The reason of the last move.
    pub fn last_because(&self) -> String {
        self.way().pop().map(|(_, _, because)| because).unwrap_or_default()
    }

    /// Whether the move (to, because) is said to be possible now, and if not, why.
    ///
    /// # Panics
    /// When it is not on the order's list of moves at all.
    #[track_caller]
    pub fn may(&self, to: &str, because: &str) -> Result<(), String> {
        let found = self.all("moves").iter().find(|m| m["to"] == to && m["because"] == because);
        let found = found.unwrap_or_else(|| panic!("no move to {to} because of {because} in {:#}", self.0["moves"]));
        if found["may"] == true { Ok(()) } else { Err(found["why_not"].as_str().unwrap_or_default().to_owned()) }
    }
}

impl Person {
    pub(crate) fn new(base: &str, token: Option<String>, member: Option<Member>) -> Self {
        let agent = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .allow_non_standard_methods(true)
            .build()
            .new_agent();
        Self { base: base.to_owned(), token, member, agent }
    }

    /// The same person, talking to another server of the shop.
    #[must_use]
    pub fn at(&self, address: &str) -> Self {
        Self { base: address.to_owned(), ..self.clone() }
    }

    /// The same browser with another token.
    #[must_use]
    pub fn with_token(&self, token: &str) -> Self {
        Self { token: Some(token.to_owned()), ..self.clone() }
    }

    /// Their id as staff.
    ///
    /// # Panics
    /// When they are none.
    pub fn id(&self) -> String {
        self.member.as_ref().expect("a member of the staff").id.to_string()
    }

    /// Their name as the record shows it.
    ///
    /// # Panics
    /// When they are no staff.
    pub fn name(&self) -> &'static str {
        self.member.as_ref().expect("a member of the staff").name
    }

    /// Their access token.
    ///
    /// # Panics
    /// When they are not signed in.
    pub fn token(&self) -> &str {
        self.token.as_deref().expect("somebody signed in")
    }

    /// A request to any path: below `/api/v1`, unless it begins with `/status`, `/answer` or the
    /// like, or with `http`.
    pub fn request(&self, method: &str, path: &str) -> Request<'_> {
        const OUTSIDE: [&str; 7] = ["http", "/api/", "/status/", "/answer/", "/start/", "/health/", "/static/"];
        let inside = path != "/" && !OUTSIDE.iter().any(|start| path.starts_with(start));
        let path = if inside { format!("/api/v1{path}") } else { path.to_owned() };
        Request { person: self, method: method.to_owned(), path, body: None, headers: BTreeMap::new() }
    }

    /// A plain GET.
    #[track_caller]
    pub fn get(&self, path: &str) -> Answer {
        self.request("GET", path).send()
    }

    /// A plain POST.
    #[track_caller]
    pub fn post(&self, path: &str, body: &Value) -> Answer {
        self.request("POST", path).body(body).send()
    }

    /// Posts a form as a browser does.
    #[track_caller]
    pub fn post_form(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body: Vec<String> = fields.iter().map(|(name, value)| format!("{}={}", encoded(name), encoded(value))).collect();
        self.request("POST", path).raw_body("application/x-www-form-urlencoded", body.join("&")).send()
    }

    /// Follows the shop's changes from after this number, or from now on.
    ///
    /// # Panics
    /// When the stream does not open.
    #[track_caller]
    pub fn follow(&self, after: Option<i64>) -> Changes {
        let mut request = self.request("GET", "/events");
        if let Some(after) = after {
            request = request.header("Last-Event-ID", &after.to_string());
        }
        let (asked, answer) = request.call().unwrap();
        assert_eq!(answer.status().as_u16(), 200, "{asked}");
        Changes::read(answer.into_body())
    }

    // What people do at the counter.

    /// Checks an instrument in.
    #[track_caller]
    pub fn check_in(&self, visit: &Visit) -> Answer {
        self.post("/work-orders", &visit.0)
    }

    /// Looks at an order.
    #[track_caller]
    pub fn look_at(&self, order: impl AsRef<str>) -> Order {
        Order(self.get(&format!("/work-orders/{}", order.as_ref())).done())
    }

    fn on(&self, method: &str, order: &str, what: &str) -> Request<'_> {
        let version = self.look_at(order).version();
        self.request(method, &format!("/work-orders/{order}{what}")).seen(version)
    }

    /// Asks for a move.
    #[track_caller]
    pub fn moves(&self, order: impl AsRef<str>, to: &str, because: &str, reason: Option<&str>) -> Answer {
        let mut body = json!({"to": to, "because": because});
        if let Some(reason) = reason {
            body["reason"] = json!(reason);
        }
        self.on("POST", order.as_ref(), "/stage-changes").body(&body).send()
    }

    /// Claims an order.
    #[track_caller]
    pub fn claim(&self, order: impl AsRef<str>) -> Answer {
        self.on("PUT", order.as_ref(), "/claim").body(&json!({})).send()
    }

    /// Hands an order to somebody else.
    #[track_caller]
    pub fn hand_claim_to(&self, order: impl AsRef<str>, other: &Person, reason: &str) -> Answer {
        self.on("PUT", order.as_ref(), "/claim").body(&json!({"for": other.id(), "reason": reason})).send()
    }

    /// Gives a claim back.
    #[track_caller]
    pub fn give_claim_back(&self, order: impl AsRef<str>) -> Answer {
        self.on("DELETE", order.as_ref(), "/claim").send()
    }

    /// Begins the examination.
    #[track_caller]
    pub fn begin_examination(&self, order: impl AsRef<str>) -> Answer {
        self.moves(order, "diagnosis", "examination_begins", None)
    }

    /// Records a finding.
    #[track_caller]
    pub fn finds(&self, order: impl AsRef<str>, finding: &Value) -> Answer {
        self.post(&format!("/work-orders/{}/findings", order.as_ref()), finding)
    }

    /// Amends a finding that was seen as it is given.
    #[track_caller]
    pub fn amends_finding(&self, finding: &Value, change: &Value) -> Answer {
        let (id, version) = (finding["id"].as_str().unwrap(), finding["version"].as_i64().unwrap());
        self.request("PATCH", &format!("/findings/{id}")).seen(version).body(change).send()
    }

    /// Adds a photo, with what is said beside it as parameters.
    #[track_caller]
    pub fn adds_photo(&self, order: impl AsRef<str>, beside: &str, jpeg: Vec<u8>) -> Answer {
        let path = format!("/work-orders/{}/photos?{beside}", order.as_ref());
        self.request("POST", &path).raw_body("image/jpeg", jpeg).send()
    }

    /// Amends a photo that was seen as it is given.
    #[track_caller]
    pub fn amends_photo(&self, photo: &Value, change: &Value) -> Answer {
        let (id, version) = (photo["id"].as_str().unwrap(), photo["version"].as_i64().unwrap());
        self.request("PATCH", &format!("/photos/{id}")).seen(version).body(change).send()
    }

    /// Plans a step.
    #[track_caller]
    pub fn plans(&self, order: impl AsRef<str>, step: &Step) -> Answer {
        self.post(&format!("/work-orders/{}/operations", order.as_ref()), &step.0)
    }

    /// Amends a step; looks at it first.
    #[track_caller]
    pub fn amends_step(&self, step: &Value, change: &Value) -> Answer {
        let path = format!("/operations/{}", step["id"].as_str().unwrap());
        let version = self.get(&path).done()["version"].as_i64().unwrap();
        self.request("PATCH", &path).seen(version).body(change).send()
    }

    fn clock(&self, step: &Value, ask: &Value) -> Answer {
        self.post(&format!("/operations/{}/time", step["id"].as_str().unwrap()), ask)
    }

    /// Starts the clock on a step.
    #[track_caller]
    pub fn starts(&self, step: &Value) -> Answer {
        self.clock(step, &json!({"action": "start"}))
    }

    /// Stops it for now.
    #[track_caller]
    pub fn pauses(&self, step: &Value) -> Answer {
        self.clock(step, &json!({"action": "stop"}))
    }

    /// Stops it, and the step is done.
    #[track_caller]
    pub fn finishes(&self, step: &Value) -> Answer {
        self.clock(step, &json!({"action": "done"}))
    }

    /// Starts a step and is done with it.
    #[track_caller]
    pub fn does(&self, step: &Value) {
        self.starts(step).done();
        self.finishes(step).done();
    }

    /// Writes a draft with these lines.
    #[track_caller]
    pub fn drafts(&self, order: impl AsRef<str>, lines: &[Value]) -> Answer {
        self.drafts_quote(order, &json!({"lines": lines}))
    }

    /// Writes a draft.
    #[track_caller]
    pub fn drafts_quote(&self, order: impl AsRef<str>, quote: &Value) -> Answer {
        self.post(&format!("/work-orders/{}/quotes", order.as_ref()), quote)
    }

    /// Sends a draft; looks at its order first.
    #[track_caller]
    pub fn sends(&self, order: impl AsRef<str>, quote: &Value) -> Answer {
        let version = self.look_at(order).version();
        self.request("POST", &format!("/quotes/{}/send", quote["id"].as_str().unwrap())).seen(version).send()
    }

    /// Records what the owner said of a quote, with more in `more`.
    #[track_caller]
    pub fn records_answer(&self, quote: &Value, answer: &str, more: &Value) -> Answer {
        let mut body = json!({
            "quote_version": quote["number"],
            "content_hash": quote["content_hash"],
            "answer": answer,
            "how": "phone",
            "typed_name": "Otto Brenner",
        });
        for (name, value) in more.as_object().into_iter().flatten() {
            body[name] = value.clone();
        }
        self.post(&format!("/quotes/{}/decisions", quote["id"].as_str().unwrap()), &body)
    }

    /// Records that the owner calls an acceptance a mistake.
    #[track_caller]
    pub fn records_dispute(&self, decision: &Value) -> Answer {
        let body = json!({"typed_name": "Otto Brenner", "reason": "I meant the other horn."});
        self.post(&format!("/decisions/{}/dispute", decision["id"].as_str().unwrap()), &body)
    }

    /// Records a test as given.
    #[track_caller]
    pub fn tests(&self, order: impl AsRef<str>, test: &Value) -> Answer {
        self.post(&format!("/work-orders/{}/tests", order.as_ref()), test)
    }

    /// Records a leak test that passed.
    #[track_caller]
    pub fn passes_leak_test(&self, order: impl AsRef<str>) -> Answer {
        self.tests(order, &json!({"kind": "leak_test", "method": "finger_and_blow", "verdict": "passed"}))
    }

    /// Records every test that must still pass.
    #[track_caller]
    pub fn passes_all_tests(&self, order: impl AsRef<str>) {
        let seen = self.look_at(&order);
        for required in seen["required_tests"].as_array().unwrap() {
            if required["passed"] == false {
                self.tests(&order, &json!({"kind": required["kind"], "verdict": "passed"})).done();
            }
        }
    }

    /// Records a failed leak test with a new finding where it fails.
    #[track_caller]
    pub fn fails_leak_test(&self, order: impl AsRef<str>, finding: &Value) -> Answer {
        let test = json!({
            "kind": "leak_test", "method": "bubbles", "verdict": "failed",
            "where_words": "at the ferrule", "finding": finding,
        });
        self.tests(order, &test)
    }

    /// Records the wish to end.
    #[track_caller]
    pub fn ends(&self, order: impl AsRef<str>, because: &str, reason: Option<&str>) -> Answer {
        let mut body = json!({"because": because});
        if let Some(reason) = reason {
            body["reason"] = json!(reason);
        }
        self.on("POST", order.as_ref(), "/ending").body(&body).send()
    }

    /// Takes the wish back.
    #[track_caller]
    pub fn takes_ending_back(&self, order: impl AsRef<str>) -> Answer {
        self.on("DELETE", order.as_ref(), "/ending").send()
    }

    /// Confirms the end.
    #[track_caller]
    pub fn confirms_ending(&self, order: impl AsRef<str>) -> Answer {
        self.on("POST", order.as_ref(), "/ending/confirmation").send()
    }

    /// Hands over as given.
    #[track_caller]
    pub fn hands_over(&self, order: impl AsRef<str>, handover: &Value) -> Answer {
        self.on("POST", order.as_ref(), "/handover").body(handover).send()
    }

    /// Hands everything back against cash for what is due.
    #[track_caller]
    pub fn hands_over_all(&self, order: impl AsRef<str>) -> Answer {
        let seen = self.look_at(&order);
        let names: Vec<&Value> = seen["accessories"].as_array().unwrap().iter().map(|a| &a["name"]).collect();
        let mut handover = json!({"how": "collected", "collected_by": "Otto Brenner", "accessories_returned": names});
        if seen["money"]["due"]["amount"].as_str().unwrap().parse::<f64>().unwrap() > 0.0 {
            handover["payment"] = json!({"amount": seen["money"]["due"], "how": "cash"});
        }
        self.hands_over(order, &handover)
    }

    /// Takes a payment in cash.
    #[track_caller]
    pub fn takes_payment(&self, order: impl AsRef<str>, euros: &str) -> Answer {
        let body = json!({"amount": eur(euros), "kind": "deposit", "how": "cash"});
        self.post(&format!("/work-orders/{}/payments", order.as_ref()), &body)
    }

    /// The whole visit in one act.
    #[track_caller]
    pub fn does_at_counter(&self, order: impl AsRef<str>, visit: &Value) -> Answer {
        self.on("POST", order.as_ref(), "/done-at-counter").body(visit).send()
    }

    /// Issues a link for this purpose and gives its address.
    #[track_caller]
    pub fn issues_link(&self, order: impl AsRef<str>, purpose: &str) -> Value {
        self.post(&format!("/work-orders/{}/links", order.as_ref()), &json!({"purpose": purpose})).done()
    }
}

/// An amount in the test shop's currency.
pub fn eur(amount: &str) -> Value {
    json!({"amount": amount, "currency": "EUR"})
}

/// Percent-encoding of a form's field (WHATWG URL, application/x-www-form-urlencoded).
fn encoded(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'*' | b'-' | b'.' | b'_' => out.push(char::from(byte)),
            b' ' => out.push('+'),
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    out
}
