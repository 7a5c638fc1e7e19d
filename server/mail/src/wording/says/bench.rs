//! What the contact is told while it is worked on and tested.

use super::{About, Said, plain};
use trade::words::said::one_line;

impl About<'_> {
    pub(super) fn bench_done(&self) -> Said {
        (
            format!("{}: the work is done, now the tests", self.head()),
            vec![
                plain(format!(
                    "The work on the bench is done. {} is tested next; when it has passed, we \
                     send you an e-mail.",
                    self.head()
                )),
                self.planned_for(),
                self.status_button(),
            ],
        )
    }

    pub(super) fn test_failed(&self) -> Said {
        let found = match self.facts.tests.fails.as_deref().map(one_line) {
            Some(what) if !what.is_empty() => format!("Our test found {what}."),
            _ => "It did not pass our test.".to_owned(),
        };
        (
            format!("{} goes back to the bench", self.head()),
            vec![
                plain(format!(
                    "{found} {} goes back to the bench, and is tested again afterwards.",
                    self.head()
                )),
                plain("What you allowed does not change by this."),
                self.planned_for(),
                self.status_button(),
            ],
        )
    }

    pub(super) fn sent_back(&self) -> Said {
        (
            format!("{} is back on the bench", self.head()),
            vec![
                plain(format!(
                    "{} has gone from the counter back to the bench. It is tested again before \
                     you collect it.",
                    self.head()
                )),
                self.reason(),
                self.planned_for(),
                self.status_button(),
            ],
        )
    }

    pub(super) fn reopened(&self) -> Said {
        (
            format!("{} is being looked at again", self.head()),
            vec![
                plain(format!(
                    "We look at {} again, as asked. You hear from us when we know what it needs \
                     and what it costs; nothing you have not allowed is done before that.",
                    self.it()
                )),
                self.reason(),
                self.status_button(),
            ],
        )
    }
}
