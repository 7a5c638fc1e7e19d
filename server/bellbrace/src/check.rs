//! `bellbrace check`: what can be known to be wrong before the server starts.
//! Nothing is written, and no letter is sent.

use std::fmt;
use std::net::{TcpListener, TcpStream, ToSocketAddrs};
use std::time::Duration;

use crate::cluster;
use crate::database;
use crate::settings::Settings;

/// Long enough for a server across the world, short enough to wait for.
const PATIENCE: Duration = Duration::from_secs(3);

/// One thing that was looked at.
#[derive(Debug)]
pub struct Looked {
    /// The key of the setting it is about.
    pub key: &'static str,
    pub found: Found,
}

#[derive(Debug)]
pub enum Found {
    Good(String),
    /// May be meant, may be not.
    Doubtful(String),
    /// The server cannot work like this.
    Wrong(String),
}

impl Looked {
    /// Whether the server cannot work like this.
    pub fn is_wrong(&self) -> bool {
        matches!(self.found, Found::Wrong(_))
    }
}

impl fmt::Display for Looked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (verdict, text) = match &self.found {
            Found::Good(text) => ("good", text),
            Found::Doubtful(text) => ("doubtful", text),
            Found::Wrong(text) => ("wrong", text),
        };
        write!(f, "{verdict:8} {}: {text}", self.key)
    }
}

/// Looks at everything these settings name: the port, the private PostgreSQL or
/// the named one, the mail server.
pub fn look(settings: &Settings) -> Vec<Looked> {
    vec![port(settings), the_database(settings), mail(settings)]
}

fn port(settings: &Settings) -> Looked {
    let (key, found) = match TcpListener::bind(settings.listen) {
        Ok(_) => ("port", Found::Good(format!("{} is free", settings.listen))),
        Err(cause) if cause.kind() == std::io::ErrorKind::AddrInUse => {
            let listen = settings.listen;
            let text =
                format!("{listen} is in use. If that is not this Bellbrace, give another number");
            ("port", Found::Doubtful(text))
        }
        Err(cause) if cause.kind() == std::io::ErrorKind::PermissionDenied => {
            ("port", Found::Wrong(format!("{cause}. Give a number from 1024 on, such as 8470")))
        }
        Err(cause) => {
            let text = format!("{}: {cause}. Give an address of this machine", settings.listen);
            ("address", Found::Wrong(text))
        }
    };
    Looked { key, found }
}

fn the_database(settings: &Settings) -> Looked {
    match &settings.database.url {
        None => Looked {
            key: "data",
            found: match cluster::look(&database::plan(settings)) {
                Ok(text) => Found::Good(text),
                Err(fault) => Found::Wrong(fault.to_string()),
            },
        },
        Some(url) => Looked {
            key: "database.url",
            found: match host_of(url.reveal()) {
                Some((host, port)) => reach(&host, port, "the host in the URL"),
                None => Found::Good("names a socket or several hosts; not tried".to_owned()),
            },
        },
    }
}

fn mail(settings: &Settings) -> Looked {
    let found = match &settings.mail {
        None => Found::Doubtful(
            "is not set: letters only go to the folder mailbox in the data folder; nobody gets them".to_owned(),
        ),
        Some(mail) => reach(&mail.host, mail.port, "mail.host and mail.port"),
    };
    Looked { key: "mail.host", found }
}

fn reach(host: &str, port: u16, what: &str) -> Found {
    let addresses = match (host, port).to_socket_addrs() {
        Ok(addresses) => addresses,
        Err(cause) => {
            return Found::Wrong(format!("{host} is not found ({cause}). Look at {what}"));
        }
    };
    let mut last = None;
    for address in addresses {
        match TcpStream::connect_timeout(&address, PATIENCE) {
            Ok(_) => return Found::Good(format!("{host}:{port} answers")),
            Err(cause) => last = Some(cause),
        }
    }
    let cause = last.map_or_else(|| "no address".to_owned(), |cause| cause.to_string());
    Found::Wrong(format!("{host}:{port} does not answer ({cause}). Look at {what}"))
}

/// Host and port of a PostgreSQL URL that names exactly one over the network.
fn host_of(url: &str) -> Option<(String, u16)> {
    let (_, rest) = url.split_once("://")?;
    let authority = rest.split(['/', '?']).next()?;
    let place = authority.rsplit_once('@').map_or(authority, |(_, place)| place);
    if place.is_empty() || place.contains([',', '%']) || rest.contains("host=") {
        return None;
    }
    match place.rsplit_once(':').filter(|_| !place.ends_with(']')) {
        Some((host, port)) => Some((bare(host), port.parse().ok()?)),
        None => Some((bare(place), 5432)),
    }
}

fn bare(host: &str) -> String {
    host.trim_start_matches('[').trim_end_matches(']').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_host_is_found_in_a_url_that_names_one() {
        let found = |url: &str| host_of(url);
        assert_eq!(found("postgresql://a:b@db.example/x"), Some(("db.example".to_owned(), 5432)));
        assert_eq!(
            found("postgres://db.example:6432/x?sslmode=require"),
            Some(("db.example".to_owned(), 6432))
        );
        assert_eq!(found("postgresql://a@[::1]:5433/x"), Some(("::1".to_owned(), 5433)));
        assert_eq!(found("postgresql://a@/x?host=/run"), None);
        assert_eq!(found("postgresql://a@one,two/x"), None);
        assert_eq!(found("postgresql://a@%2Frun/x"), None);
    }
}
