//! What is written when it stands repaired and ready to collect.

use crate::wording::blocks::{Block, said, strong};
use super::{About, Said, own, para, plain};
use trade::words::said::{list, one_line};

impl About<'_> {
    pub(super) fn tests_passed(&self) -> Said {
        let mut blocks =
            vec![plain(format!("{} is ready to collect.", self.head())), self.tested()];
        blocks.extend(self.collect_with_record());
        (format!("{} is ready to collect", self.head()), blocks)
    }

    pub(super) fn overridden(&self) -> Said {
        let fails = match self.facts.tests.fails.as_deref().map(one_line) {
            Some(what) if !what.is_empty() => {
                format!("It did not pass every test: our last one found {what}.")
            }
            _ => "It did not pass every test that we ask for.".to_owned(),
        };
        let mut blocks = vec![
            plain(format!(
                "{} is ready to collect, and there is something you should know first.",
                self.head()
            )),
            para(vec![strong(fails), said(" The proprietor decided to let it go all the same:")]),
            own(self.facts.reason.as_ref()),
            self.not_tested(),
            self.tested_in_part(),
            plain(
                "The same stands in its record. If you would rather have us go on, tell us before \
                 you collect it.",
            ),
            self.or_ring_us(),
        ];
        blocks.extend(self.collect_with_record());
        (format!("{} is ready, but did not pass every test", self.head()), blocks)
    }

    pub(super) fn pickup_reminder(&self) -> Said {
        let since = match self.facts.ready_since {
            Some(day) => format!(
                "{} has been ready since {}. Please come and collect it.",
                self.head(),
                self.day(day)
            ),
            None => format!("{} is ready. Please come and collect it.", self.head()),
        };
        let mut blocks = vec![plain(since)];
        blocks.extend(self.come_and_collect());
        blocks.push(own(self.facts.uncollected_note.as_ref()));
        blocks.push(
            self.ring()
                .and_then(|phone| plain(format!("If you cannot come soon, ring us: {phone}."))),
        );
        blocks.push(self.page_button());
        (format!("{} still waits for you", self.head()), blocks)
    }

    fn tested_in_part(&self) -> Option<Block> {
        let passed: Vec<String> =
            self.facts.tests.passed.iter().map(|test| one_line(test)).collect();
        if passed.is_empty() {
            return None;
        }
        plain(format!("What it did pass: {}.", list(&passed)))
    }
}
