//! What can go wrong with the records.

use diesel::result::{DatabaseErrorKind, Error as Diesel};

/// Why the records could not be read or written.
#[derive(Debug)]
pub enum Error {
    /// The database or the folder of the photos cannot be reached; try again.
    Away(String),
    /// The same request is still running under this idempotency key.
    TwinRunning,
    /// The idempotency key was used with another body.
    KeyReused,
    /// A constraint was met; its name says which promise.
    Constraint {
        /// The constraint's name in the schema.
        name: String,
        /// The cause, for the log.
        cause: Diesel,
    },
    /// There is no room for a file; nothing of it was kept.
    Full(String),
    /// Two transactions were in each other's way; trying again helps.
    Busy(Diesel),
    /// Anything else is our fault.
    Fault(Diesel),
    /// A stored value does not read back as what it should be.
    Unreadable(String),
}

impl std::fmt::Display for Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Away(why) => write!(f, "the records are out of reach: {why}"),
            Self::Full(why) => write!(f, "there is no room: {why}"),
            Self::TwinRunning => f.write_str("the same request is still running"),
            Self::KeyReused => f.write_str("the idempotency key was used with another body"),
            Self::Constraint { name, .. } => write!(f, "the constraint {name} was met"),
            Self::Busy(_) => f.write_str("two transactions were in each other's way"),
            Self::Fault(_) => f.write_str("the database refused a statement"),
            Self::Unreadable(what) => write!(f, "a stored value cannot be read: {what}"),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Constraint { cause, .. } | Self::Busy(cause) | Self::Fault(cause) => Some(cause),
            Self::Away(_) | Self::Full(_) | Self::TwinRunning | Self::KeyReused | Self::Unreadable(_) => None,
        }
    }
}

impl Error {
    /// Whether the connection it happened on is of no more use.
    #[must_use]
    pub fn is_away(&self) -> bool {
        matches!(self, Self::Away(_))
    }
}

impl From<Diesel> for Error {
    fn from(error: Diesel) -> Self {
        match &error {
            Diesel::DatabaseError(kind, details) => match kind {
                DatabaseErrorKind::ClosedConnection | DatabaseErrorKind::UnableToSendCommand => {
                    Self::Away(details.message().to_owned())
                }
                DatabaseErrorKind::SerializationFailure => Self::Busy(error),
                _ => {
                    let message = details.message();
                    // libpq reports these as unknown errors; PostgreSQL's words for shutting down,
                    // starting up and recovering, and libpq's own for a lost connection.
                    // And a standby after a failover, and a server that has no room for more.
                    const AWAY: [&str; 12] = [
                        "terminating connection",
                        "the database system is",
                        "server closed the connection",
                        "connection to server",
                        "no connection to the server",
                        "could not receive data",
                        "SSL connection has been closed",
                        "read-only transaction",
                        "too many clients",
                        "remaining connection slots",
                        "No space left on device",
                        "out of shared memory",
                    ];
                    if AWAY.iter().any(|sign| message.contains(sign)) {
                        return Self::Away(message.to_owned());
                    }
                    if message.contains("deadlock detected") || message.contains("lock timeout") || message.contains("statement timeout") {
                        return Self::Busy(error);
                    }
                    match details.constraint_name() {
                        Some(name) => Self::Constraint { name: name.to_owned(), cause: error },
                        None => Self::Fault(error),
                    }
                }
            },
            Diesel::BrokenTransactionManager => Self::Away("the transaction broke off".to_owned()),
            _ => Self::Fault(error),
        }
    }
}
