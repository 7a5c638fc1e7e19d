//! What the owner is asked: the quote, extra work, a newer version, and again.

use crate::wording::blocks::said;
use super::{About, Said, own, para, plain};
use trade::words::said::count;

impl About<'_> {
    pub(super) fn quote_sent(&self) -> Said {
        let found = match self.facts.findings.len() {
            0 => format!("We have examined {}.", self.it()),
            1 => format!("We have examined {} and found one thing.", self.it()),
            several => {
                format!("We have examined {} and found {} things.", self.it(), count(several))
            }
        };
        let mut blocks = vec![
            plain(format!("{found} Please tell us what to do; nothing is done until you answer.")),
            own(self.facts.quote.as_ref().and_then(|quote| quote.message.as_ref())),
            self.all_findings(),
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: what we found, and our quote", self.head()), blocks)
    }

    pub(super) fn extra_work(&self) -> Said {
        let quote = self.facts.quote.as_ref();
        let message = own(quote.and_then(|quote| quote.message.as_ref()));
        let found = self.new_findings();
        let mut blocks = vec![
            plain(format!(
                "{} is on the bench. We found more than we could see before, have stopped \
                 there, and need your answer.",
                self.head()
            )),
            message,
            found,
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: a question before we go on", self.head()), blocks)
    }

    pub(super) fn newer_quote(&self) -> Said {
        let mut blocks = vec![
            plain(format!(
                "This is a newer quote for {}. It takes the place of the one before, which can \
                 no longer be answered.",
                self.it()
            )),
            own(self.facts.quote.as_ref().and_then(|quote| quote.message.as_ref())),
            if self.accepted_before() { self.new_findings() } else { self.all_findings() },
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: a newer quote", self.head()), blocks)
    }

    /// For an owner who cannot find it: the same version, with a link of its own.
    pub(super) fn answer_again(&self) -> Said {
        let mut blocks = vec![
            plain(format!(
                "As you asked on your page, here is our quote for {} once more. It is the one we \
                 sent before, and the links sent before still lead to it.",
                self.it()
            )),
            own(self.facts.quote.as_ref().and_then(|quote| quote.message.as_ref())),
            if self.accepted_before() { self.new_findings() } else { self.all_findings() },
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: our quote once more, to answer", self.head()), blocks)
    }

    pub(super) fn answer_reminder(&self) -> Said {
        let until = match self.facts.quote.as_ref().and_then(|quote| quote.expires_on) {
            Some(day) => format!(" It can be answered until {}.", self.day(day)),
            None => String::new(),
        };
        let waits = if self.accepted_before() {
            "Until you answer, the work you accepted before goes on; the rest waits."
        } else {
            "Until you answer it waits, and nothing is repaired."
        };
        let mut blocks = vec![
            plain(format!("Our quote for {} still waits for your answer.{until}", self.it())),
            plain(waits),
            own(self.facts.quote.as_ref().and_then(|quote| quote.message.as_ref())),
            if self.accepted_before() { self.new_findings() } else { self.all_findings() },
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: we still wait for your answer", self.head()), blocks)
    }

    pub(super) fn acceptance_disputed(&self) -> Said {
        let mut words = vec![said(format!("Your answer about {}", self.it()))];
        words.extend(self.recorded());
        words.push(said(
            " was called a mistake. We have taken it back: none of the work it allowed was \
             begun, and none is.",
        ));
        let mut blocks = vec![
            para(words),
            plain(if self.accepted_before() {
                "The work you accepted before that still stands. The question is open again:"
            } else {
                "The question is open again:"
            }),
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: we have taken your answer back", self.head()), blocks)
    }
}
