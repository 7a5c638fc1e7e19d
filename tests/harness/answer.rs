//! What the server answered.

use serde_json::Value;

/// An answer, read to its end.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The request, for messages.
    pub asked: String,
    /// The HTTP status.
    pub status: u16,
    /// Name (in small letters) and value of each header.
    pub headers: Vec<(String, String)>,
    /// The body as it came.
    pub bytes: Vec<u8>,
}

impl Answer {
    /// The first header of this name.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, value)| value.as_str())
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).unwrap()
    }

    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).unwrap_or_else(|_| panic!("no JSON: {self}"))
    }

    /// What was done. For acts that must work.
    ///
    /// # Panics
    /// When it was not done.
    #[track_caller]
    pub fn done(self) -> Value {
        assert!((200..300).contains(&self.status), "not done: {self}");
        if self.bytes.is_empty() { Value::Null } else { self.json() }
    }

    /// The refusal. For acts that must not work.
    ///
    /// # Panics
    /// When it was done, or refused otherwise.
    #[track_caller]
    pub fn refused(self, status: u16, slug: &str) -> Refusal {
        assert_eq!(
            self.header("content-type"),
            Some("application/problem+json"),
            "a problem of its own media type: {self}"
        );
        let body = self.json();
        assert_eq!((self.status, body["type"].as_str()), (status, Some(slug)), "refused otherwise: {self}");
        assert_eq!(body["status"], status, "the body repeats the status: {self}");
        assert!(body["title"].as_str().is_some_and(|title| !title.is_empty()), "a title: {self}");
        Refusal { retry_after: self.header("retry-after").map(str::to_owned), body }
    }
}

impl std::fmt::Display for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // A whole order would bury what matters.
        let body: String = String::from_utf8_lossy(&self.bytes).chars().take(800).collect();
        write!(f, "{} was answered {} {body}", self.asked, self.status)
    }
}

/// Problem details (RFC 9457).
#[derive(Clone, Debug)]
pub struct Refusal {
    /// `Retry-After`, if it was given.
    pub retry_after: Option<String>,
    /// The problem as it came.
    pub body: Value,
}

impl Refusal {
    /// What the person is told to do.
    pub fn words(&self) -> &str {
        self.body["detail"].as_str().unwrap_or_default()
    }

    /// Checks that the person is told this.
    ///
    /// # Panics
    /// When they are told something else.
    #[track_caller]
    pub fn saying(self, words: &str) -> Self {
        assert!(self.words().contains(words), "{words:?} is not said in {:?}", self.words());
        self
    }

    /// The pointers of what is wrong with the input.
    pub fn pointers(&self) -> Vec<&str> {
        self.body["errors"].as_array().into_iter().flatten().filter_map(|error| error["pointer"].as_str()).collect()
    }
}
