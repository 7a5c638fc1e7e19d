//! What goes wrong, as RFC 9457 problem details that a person can act on.

use acts::{ChangeSince, Halt};
use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, ResponseError};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::fmt;
use trade::calculation::{Fault, Refused};
use utoipa::ToSchema;

/// Each kind of problem with its slug, status and title. A slug is a promise to other programs
/// and is never renamed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Not signed in, or the token ran out.
    NotSignedIn,
    /// E-mail or password is wrong.
    DoesNotFit,
    /// Signed in, but not theirs to do.
    NotYours,
    /// There is no such thing, or it is not theirs to see.
    Absent,
    /// The path knows no such method.
    WrongMethod,
    /// A rule is in the way.
    Refused,
    /// Somebody else was first.
    AlreadyClaimed,
    /// The same request is still running.
    TwinRunning,
    /// It was changed since it was looked at.
    Stale,
    /// The body is too large.
    TooLarge,
    /// The body is no JSON by its own word.
    WrongType,
    /// Understood but invalid.
    InvalidInput,
    /// The idempotency key was used with another body.
    KeyReused,
    /// `If-Match` is missing.
    PreconditionMissing,
    /// Too many requests.
    TooMany,
    /// The records are out of reach.
    RecordsAway,
    /// There is no room for it.
    Full,
    /// Our fault.
    Fault,
}

impl Kind {
    fn parts(self) -> (&'static str, StatusCode, &'static str) {
        match self {
            Self::NotSignedIn => ("not-signed-in", StatusCode::UNAUTHORIZED, "Sign in to go on."),
            Self::DoesNotFit => ("does-not-fit", StatusCode::UNAUTHORIZED, "That did not fit: e-mail or password is wrong."),
            Self::NotYours => ("not-yours", StatusCode::FORBIDDEN, "This is not yours to do."),
            Self::Absent => ("absent", StatusCode::NOT_FOUND, "There is nothing here by this name."),
            Self::WrongMethod => ("wrong-method", StatusCode::METHOD_NOT_ALLOWED, "This address does not know that method."),
            Self::Refused => ("refused", StatusCode::CONFLICT, "Not now."),
            Self::AlreadyClaimed => ("already-claimed", StatusCode::CONFLICT, "Somebody else was first."),
            Self::TwinRunning => ("twin-running", StatusCode::CONFLICT, "The same request is still running; try again in a moment."),
            Self::Stale => ("stale", StatusCode::PRECONDITION_FAILED, "It was changed while you looked."),
            Self::TooLarge => ("too-large", StatusCode::PAYLOAD_TOO_LARGE, "That is too large; a request holds at most 1 MiB, one with a pressure log 8 MiB, a photo 20 MiB."),
            Self::WrongType => ("wrong-type", StatusCode::UNSUPPORTED_MEDIA_TYPE, "Send JSON: Content-Type application/json."),
            Self::InvalidInput => ("invalid-input", StatusCode::UNPROCESSABLE_ENTITY, "Something in it is not right."),
            Self::KeyReused => ("key-reused", StatusCode::UNPROCESSABLE_ENTITY, "This Idempotency-Key was used with another request; take a new one."),
            Self::PreconditionMissing => ("precondition-missing", StatusCode::PRECONDITION_REQUIRED, "Say which version you saw: If-Match with its ETag."),
            Self::TooMany => ("too-many", StatusCode::TOO_MANY_REQUESTS, "Too many tries; wait a little."),
            Self::RecordsAway => ("records-away", StatusCode::SERVICE_UNAVAILABLE, "The shop's records are out of reach; try again in a moment."),
            Self::Full => ("no-room", StatusCode::INSUFFICIENT_STORAGE, "The shop's disk is full; nothing of it was kept. Make room, then send it again."),
            Self::Fault => ("fault", StatusCode::INTERNAL_SERVER_ERROR, "Something broke on our side; it was written down."),
        }
    }
}

/// One thing wrong with a body or a parameter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FieldError {
    /// RFC 6901 pointer into the body, or the parameter's name.
    pub pointer: String,
    /// What is wrong and what to do.
    pub message: String,
}

/// RFC 9457 problem details as they are sent.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct ProblemBody {
    /// A stable slug.
    #[serde(rename = "type")]
    pub kind: String,
    /// What it is about.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What to do next.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// For invalid input.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<FieldError>,
    /// The current version, for a stale one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_version: Option<i32>,
    /// Who changed it, or who was first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub changed_by: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub changed_at: Option<chrono::DateTime<chrono::Utc>>,
    /// Which fields of the request differ from what stands now; of an act on a work order, which fields
    /// of the order were touched since it was seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub differences: Vec<Difference>,
    /// What was done on a work order since it was seen, oldest first; the last fifty of more.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<ChangeSinceSeen>,
    /// The thing as it is now.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Object>)]
    pub current: Option<Value>,
}

/// A field that differs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Difference {
    /// Its name.
    pub field: String,
    /// As the request wants it; of a work order as it was seen. Any JSON; null where that is not known.
    #[schema(value_type = Value)]
    pub yours: Value,
    /// As it stands; any JSON.
    #[schema(value_type = Value)]
    pub theirs: Value,
}

/// Something that was done on a work order since it was seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChangeSinceSeen {
    /// The version of the order after it.
    pub version: i32,
    /// What, in words.
    pub words: String,
    /// Who did it; older records do not say.
    pub by: Option<String>,
    /// When.
    pub at: chrono::DateTime<chrono::Utc>,
    /// Which fields of the order it touched.
    pub fields: Vec<String>,
}

impl From<&ChangeSince> for ChangeSinceSeen {
    fn from(change: &ChangeSince) -> Self {
        Self {
            version: change.version,
            words: change.words.clone(),
            by: change.by.clone(),
            at: change.at,
            fields: change.fields.iter().map(|field| (*field).to_owned()).collect(),
        }
    }
}

/// A problem on its way out.
#[derive(Debug)]
pub struct Problem {
    kind: Kind,
    slug: Option<&'static str>,
    detail: Option<String>,
    errors: Vec<Fault>,
    stale: Option<Box<StaleParts>>,
    retry_after: Option<u32>,
    cause: Option<Box<dyn std::error::Error + Send + Sync>>,
}

#[derive(Debug)]
struct StaleParts {
    version: Option<i32>,
    changed_by: String,
    changed_at: chrono::DateTime<chrono::Utc>,
    current: Option<Value>,
    wanted: Option<Value>,
    changes: Vec<ChangeSince>,
}

impl Problem {
    /// A problem of this kind.
    #[must_use]
    pub fn new(kind: Kind) -> Self {
        Self { kind, slug: None, detail: None, errors: Vec::new(), stale: None, retry_after: None, cause: None }
    }

    /// What to do next.
    #[must_use]
    pub fn saying(mut self, detail: impl Into<String>) -> Self {
        self.detail = Some(detail.into());
        self
    }

    /// One thing wrong with the input.
    #[must_use]
    pub fn at(mut self, pointer: impl Into<String>, message: impl Into<String>) -> Self {
        self.errors.push(Fault { pointer: pointer.into(), message: message.into() });
        self
    }

    /// When to try again, in seconds.
    #[must_use]
    pub fn again_in(mut self, seconds: u32) -> Self {
        self.retry_after = Some(seconds);
        self
    }

    /// What the request wanted, to show what differs when it is stale.
    #[must_use]
    pub fn wanted(mut self, wanted: Option<Value>) -> Self {
        if let Some(stale) = &mut self.stale {
            stale.wanted = wanted;
        }
        self
    }

    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// The slug of a refusal.
    #[must_use]
    pub fn slug(&self) -> &'static str {
        self.slug.unwrap_or(self.kind.parts().0)
    }

    /// What the person is told.
    #[must_use]
    pub fn words(&self) -> String {
        self.detail.clone().unwrap_or_else(|| self.kind.parts().2.to_owned())
    }

    /// Writes the cause down, with the whole chain of what lay behind it.
    pub fn write_down(&self) {
        let Some(cause) = &self.cause else { return };
        let mut chain = cause.to_string();
        let mut next = cause.source();
        while let Some(deeper) = next {
            chain.push_str(": ");
            chain.push_str(&deeper.to_string());
            next = deeper.source();
        }
        if self.kind == Kind::Fault {
            tracing::error!(cause = chain, "a request failed");
        } else {
            tracing::warn!(cause = chain, "a request could not be served");
        }
    }

    fn body(&self) -> ProblemBody {
        let (_, status, title) = self.kind.parts();
        let stale = self.stale.as_deref();
        ProblemBody {
            kind: self.slug().to_owned(),
            title: title.to_owned(),
            status: status.as_u16(),
            detail: self.detail.clone(),
            errors: self.errors.iter().map(|f| FieldError { pointer: f.pointer.clone(), message: f.message.clone() }).collect(),
            current_version: stale.and_then(|s| s.version),
            changed_by: stale.map(|s| s.changed_by.clone()),
            changed_at: stale.map(|s| s.changed_at),
            differences: stale.map(differences).unwrap_or_default(),
            changes: stale.map(|s| s.changes.iter().map(ChangeSinceSeen::from).collect()).unwrap_or_default(),
            current: stale.and_then(|s| s.current.clone()),
        }
    }
}

fn differences(stale: &StaleParts) -> Vec<Difference> {
    let Some(current) = &stale.current else { return Vec::new() };
    let mut found: Vec<Difference> = stale
        .wanted
        .iter()
        .filter_map(Value::as_object)
        .flatten()
        .filter_map(|(field, yours)| {
            let theirs = current.get(field)?;
            (!is_alike(yours, theirs)).then(|| Difference { field: field.clone(), yours: yours.clone(), theirs: theirs.clone() })
        })
        .collect();
    // Who says which fields should stand is told of those; the rest stands among the changes.
    if stale.wanted.is_some() {
        return found;
    }
    for change in &stale.changes {
        for field in change.fields {
            // The first one that touched it knows best how it was seen.
            let Some(theirs) = current.get(field).filter(|_| found.iter().all(|one| one.field != *field)) else { continue };
            let yours = change.stage_before.filter(|_| *field == "stage").map_or(Value::Null, |stage| json!(stage));
            found.push(Difference { field: (*field).to_owned(), yours, theirs: theirs.clone() });
        }
    }
    found
}

/// Whether both say the same; a request names things that the answer shows with more about each.
fn is_alike(yours: &Value, theirs: &Value) -> bool {
    match (yours, theirs) {
        (Value::Array(names), Value::Array(things)) => {
            names.len() == things.len() && names.iter().zip(things).all(|(name, thing)| name == thing || Some(name) == thing.get("name"))
        }
        _ => yours == theirs,
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.slug())
    }
}

impl From<Halt> for Problem {
    fn from(halt: Halt) -> Self {
        // No `_ =>`: a new way to halt must be given its answer here.
        match halt {
            Halt::Absent => Self::new(Kind::Absent),
            Halt::Stale { version, changed_by, changed_at, current, since } => {
                let detail = format!("{changed_by} changed it while you looked. Look at it again, then say what should stand.");
                let mut problem = Self::new(Kind::Stale).saying(detail);
                problem.stale = Some(Box::new(StaleParts { version: Some(version), changed_by, changed_at, current, wanted: None, changes: since.changes }));
                problem
            }
            Halt::Refused(refusal) if refusal.slug == "not-yours" => Self::new(Kind::NotYours).saying(refusal.words),
            Halt::Refused(refusal) => {
                let mut problem = Self::new(Kind::Refused).saying(refusal.words);
                problem.slug = Some(refusal.slug);
                problem
            }
            Halt::Invalid(faults) => {
                let mut problem = Self::new(Kind::InvalidInput);
                problem.errors = faults;
                problem
            }
            Halt::NotComputed(refused) => Self::from(refused),
            Halt::Claimed { by, at } => {
                let mut problem = Self::new(Kind::AlreadyClaimed).saying(format!("{by} has it since {}.", at.format("%Y-%m-%d %H:%M UTC")));
                problem.stale = Some(Box::new(StaleParts { version: None, changed_by: by, changed_at: at, current: None, wanted: None, changes: Vec::new() }));
                problem
            }
            Halt::Store(cause) => Self::from(cause),
        }
    }
}

impl From<store::Error> for Problem {
    fn from(error: store::Error) -> Self {
        match error {
            store::Error::TwinRunning => Self::new(Kind::TwinRunning).again_in(1),
            store::Error::KeyReused => Self::new(Kind::KeyReused),
            store::Error::Away(_) => {
                let mut problem = Self::new(Kind::RecordsAway).again_in(2);
                problem.cause = Some(Box::new(error));
                problem
            }
            store::Error::Full(_) => {
                let mut problem = Self::new(Kind::Full);
                problem.cause = Some(Box::new(error));
                problem
            }
            store::Error::Busy(_) => {
                let mut problem = Self::new(Kind::RecordsAway).again_in(1);
                problem.cause = Some(Box::new(error));
                problem
            }
            // The unique index behind "one running clock per person" and its like: somebody
            // was faster between the question and the write.
            store::Error::Constraint { ref name, .. }
                if name.starts_with("time_entries_one_clock") || name.starts_with("quotes_one_") || name == "disputes_once" =>
            {
                let mut problem = Self::new(Kind::Refused).saying("Somebody did this at the same moment. Look again.");
                problem.slug = Some("same-moment");
                problem
            }
            store::Error::Constraint { .. } | store::Error::Fault(_) | store::Error::Unreadable(_) => {
                let mut problem = Self::new(Kind::Fault);
                problem.cause = Some(Box::new(error));
                problem
            }
        }
    }
}

impl From<Refused> for Problem {
    fn from(refused: Refused) -> Self {
        let mut problem = Self::new(Kind::InvalidInput);
        problem.slug = Some(refused.slug);
        problem.errors = refused.faults;
        problem
    }
}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        self.kind.parts().1
    }

    fn error_response(&self) -> HttpResponse {
        self.write_down();
        let mut answer = HttpResponse::build(self.status_code());
        answer.insert_header((header::CACHE_CONTROL, "no-store"));
        if let Some(seconds) = self.retry_after {
            answer.insert_header((header::RETRY_AFTER, seconds.to_string()));
        }
        if self.status_code() == StatusCode::UNAUTHORIZED {
            answer.insert_header((header::WWW_AUTHENTICATE, "Bearer"));
        }
        let body = serde_json::to_string(&self.body()).unwrap_or_else(|_| json!({"type": "fault", "status": 500}).to_string());
        answer.content_type("application/problem+json").body(body)
    }
}
