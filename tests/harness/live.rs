//! Reading `/events` as a browser does: one long answer, line by line.

use std::io::{BufRead, BufReader};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

use serde_json::Value;

use crate::PATIENCE;

/// One change as it came over the wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Its number in the shop.
    pub number: i64,
    /// What the screen is told.
    pub data: Value,
}

/// A stream of changes. Dropping it hangs up with the next line that comes.
pub struct Changes {
    incoming: Receiver<Change>,
}

impl Changes {
    pub(crate) fn read(body: ureq::Body) -> Self {
        let (tell, incoming) = channel();
        std::thread::spawn(move || {
            let mut number = None;
            for line in BufReader::new(body.into_reader()).lines() {
                // The server went away, or was told to stop.
                let Ok(line) = line else { return };
                if let Some(id) = line.strip_prefix("id: ") {
                    number = id.parse().ok();
                } else if let Some(data) = line.strip_prefix("data: ") {
                    let data = serde_json::from_str(data).unwrap();
                    let number = number.take().expect("an event has its number before its data");
                    if tell.send(Change { number, data }).is_err() {
                        return;
                    }
                }
            }
        });
        Self { incoming }
    }

    /// The next change.
    ///
    /// # Panics
    /// When none comes in time.
    #[track_caller]
    pub fn next(&self) -> Change {
        self.within(PATIENCE).expect("a change comes")
    }

    /// The next change, if one comes in this time; none when the stream ended as well.
    pub fn within(&self, time: Duration) -> Option<Change> {
        self.incoming.recv_timeout(time).ok()
    }

    /// Whether the stream has ended and everything that came was read.
    pub fn has_ended(&self) -> bool {
        matches!(self.incoming.recv_timeout(Duration::ZERO), Err(RecvTimeoutError::Disconnected))
    }

    /// The first change that tells of `kind` on this order, skipping others.
    ///
    /// # Panics
    /// When none comes in time.
    #[track_caller]
    pub fn of(&self, order: &str, kind: &str) -> Change {
        loop {
            let change = self.next();
            if change.data["work_order_id"] == order && change.data["kind"] == kind {
                return change;
            }
        }
    }
}
