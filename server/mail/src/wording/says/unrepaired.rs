//! What both are written when the work ends without a repair, or before it is finished.

use crate::facts::{Became, Finding, Reader};
use crate::wording::blocks::{Piece, said};
use super::{About, Said, para, plain};
use trade::words::said::capital;

impl About<'_> {
    pub(super) fn nothing_to_do(&self) -> Said {
        let mut blocks = vec![
            plain(format!(
                "We have examined {} and repaired nothing. It is ready to collect.",
                self.it()
            )),
            self.reason(),
        ];
        // Nothing that was proposed comes to pass; what is watched stands in a list of its own.
        let found: Vec<Finding> = self
            .facts
            .findings
            .iter()
            .filter(|found| found.became != Became::LeftAndWatched || self.facts.to_look_at.is_empty())
            .cloned()
            .map(|found| {
                if found.became == Became::ToRepair {
                    Finding { became: Became::Undecided, reason: None, ..found }
                } else {
                    found
                }
            })
            .collect();
        blocks.push(self.findings(&found.iter().collect::<Vec<_>>()));
        blocks.extend(self.noted("To look at next time", &self.facts.to_look_at));
        blocks.extend(self.come_and_collect());
        blocks.push(self.page_button());
        (format!("{}: nothing repaired, ready to collect", self.head()), blocks)
    }

    pub(super) fn declined(&self) -> Said {
        let mut words = Vec::new();
        if self.reader_decides() {
            words.push(said("You said no to our quote"));
            words.extend(self.recorded());
        } else {
            words.push(self.capital_decider());
            words.push(said(" decided against the repair"));
        }
        words.push(said(format!(". We have repaired nothing; {} is ready to collect.", self.it())));
        let mut blocks = vec![para(words)];
        if let Some(decision) = self.facts.decision.as_ref().filter(|_| self.reader_decides()) {
            blocks.push(self.we_wrote_it_down(decision));
        }
        blocks.push(self.fee());
        blocks.extend(self.noted("Left as it is", &self.facts.left_on_purpose));
        blocks.extend(self.noted("To look at next time", &self.facts.to_look_at));
        blocks.extend(self.come_and_collect());
        blocks.push(self.page_button());
        (format!("{}: not repaired, ready to collect", self.head()), blocks)
    }

    pub(super) fn withdrawn(&self) -> Said {
        let mut blocks = vec![
            plain(format!(
                "As you asked, we have stopped work on {}. It is ready to collect.",
                self.it()
            )),
            self.reason(),
            self.not_tested(),
            self.fee(),
        ];
        if !self.reader_decides() || self.facts.reader == Reader::Owner {
            blocks[0] = plain(format!(
                "The order for {} was withdrawn. We have stopped work, and it is ready to collect.",
                self.it()
            ));
        }
        blocks.extend(self.collect_with_record());
        (format!("{}: stopped as asked, ready to collect", self.head()), blocks)
    }

    pub(super) fn unanswered(&self) -> Said {
        let words = if self.reader_decides() {
            format!(
                "We asked you about {} and had no answer. We have not gone on with it; it is \
                 ready to collect.",
                self.it()
            )
        } else {
            format!(
                "We had no answer to our quote for {}, so we have not gone on with it. It is \
                 ready to collect.",
                self.it()
            )
        };
        let mut blocks = vec![plain(words), self.not_tested()];
        blocks.push(
            self.ring()
                .and_then(|phone| plain(format!("If you still want it done, ring us: {phone}."))),
        );
        blocks.extend(self.collect_with_record());
        (format!("{}: no answer, ready to collect", self.head()), blocks)
    }

    pub(super) fn not_repairable(&self) -> Said {
        let mut blocks = vec![
            plain(format!(
                "We are sorry: we cannot repair {} after all. It is ready to collect.",
                self.it()
            )),
            self.reason(),
            self.not_tested(),
        ];
        blocks.extend(self.collect_with_record());
        (format!("{}: we cannot repair it", self.head()), blocks)
    }

    fn capital_decider(&self) -> Piece {
        match self.decider() {
            Piece::Said(words) => said(capital(&words)),
            other => other,
        }
    }
}
