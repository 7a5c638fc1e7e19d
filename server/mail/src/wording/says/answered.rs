//! What the owner is told of an answer, and of a quote that no longer needs one.

use crate::facts::{AnsweredBy, Became, Finding};
use crate::wording::blocks::{Block, said, strong};
use super::{About, Said, own, para, plain};

impl About<'_> {
    pub(super) fn covered_beforehand(&self) -> Said {
        let quote = self.facts.quote.as_ref();
        let costs = match quote {
            Some(quote) => {
                format!("What it needs costs {}, tax included. That is", quote.total.said())
            }
            None => "What it needs is".to_owned(),
        };
        let allowed = match &self.facts.may_cost {
            Some(sum) => format!("the {} allowed at the counter", sum.said()),
            None => "what was allowed at the counter".to_owned(),
        };
        let mut blocks = vec![
            plain(format!(
                "We have examined {}. {costs} within {allowed}, so we go ahead without asking \
                 again.",
                self.it()
            )),
            self.all_findings(),
            quote.and_then(|quote| self.bill(quote)),
            self.planned_for(),
        ];
        let stop = match (&self.facts.links.answer, self.ring()) {
            (Some(_), Some(phone)) => format!(
                "If you do not want this, say so before the work begins: on the page below, or ring us: {phone}."
            ),
            (Some(_), None) => {
                "If you do not want this, say so before the work begins: on the page below.".to_owned()
            }
            (None, Some(phone)) => format!("If you do not want this, ring us soon: {phone}."),
            (None, None) => "If you do not want this, please tell us soon.".to_owned(),
        };
        blocks.extend([plain(stop), self.recorded_answer_button()]);
        (format!("{}: the repair begins", self.head()), blocks)
    }

    pub(super) fn accepted(&self) -> Said {
        let asked = if self.accepted_before() { "the extra work on" } else { "our quote for" };
        let mut words = vec![said(format!("Thank you. You said yes to {asked} {}", self.it()))];
        words.extend(self.recorded());
        words.push(said(", and we go ahead."));
        let mut blocks = vec![para(words)];
        let mut by_link = true;
        if let Some(decision) = &self.facts.decision {
            by_link = decision.how == AnsweredBy::Link;
            if let Some(allowed) = &decision.allowed {
                blocks.push(para(vec![
                    said("You allow up to "),
                    strong(allowed.said()),
                    said(" in all. You pay for what is done, never more than that."),
                ]));
            }
            blocks.extend(self.things("You ticked", &decision.ticked));
        }
        blocks.push(self.planned_for());
        let mistake = if by_link {
            "If this was a mistake, tell us before the work begins"
        } else {
            "We wrote your answer down for you. If it is not what you said, tell us before the \
             work begins"
        };
        blocks.push(plain(format!("{mistake}{}", self.where_to_say_so())));
        blocks.push(self.recorded_answer_button());
        blocks.push(self.or_ring_us());
        (format!("{}: we have your yes, and go ahead", self.head()), blocks)
    }

    pub(super) fn extra_declined(&self) -> Said {
        let mut words = vec![said(format!("You said no to the extra work on {}", self.it()))];
        words.extend(self.recorded());
        words.push(said(". We leave that, and finish the rest as you accepted it"));
        let before = self.facts.quote.as_ref().and_then(|quote| quote.accepted_before.as_ref());
        if let Some(before) = before {
            words.extend([
                said(format!(" on {}, for ", self.short_day(before.on))),
                strong(before.amount.said()),
            ]);
        }
        words.push(said("."));
        let mut blocks = vec![para(words)];
        // What was proposed for these was declined just now; only the finding and its reason
        // still stand.
        let left: Vec<Finding> = self
            .facts
            .findings
            .iter()
            .filter(|found| found.is_new)
            .map(|found| Finding { became: Became::Undecided, ..found.clone() })
            .collect();
        if !left.is_empty() {
            blocks.push(plain("This stays as it is, and your record will say so:"));
            blocks.push(self.findings(&left.iter().collect::<Vec<_>>()));
        }
        if let Some(decision) = &self.facts.decision {
            blocks.push(self.we_wrote_it_down(decision));
        }
        blocks.push(self.planned_for());
        blocks.push(self.recorded_answer_button());
        (format!("{}: we leave that, and finish the rest", self.head()), blocks)
    }

    pub(super) fn extra_recalled(&self) -> Said {
        let blocks = vec![
            plain(format!(
                "We asked you about extra work on {}. We take that back; you need not answer.",
                self.it()
            )),
            self.reason(),
            plain(
                "The work you accepted before goes on as agreed, for no more than you allowed then.",
            ),
            self.planned_for(),
            self.status_button(),
        ];
        (format!("{}: you need not answer our last question", self.head()), blocks)
    }

    pub(super) fn quote_recalled(&self) -> Said {
        let blocks = vec![
            plain(format!(
                "We have taken our quote for {} back, to look at it again. You need not answer \
                 it; we write to you when we know more.",
                self.it()
            )),
            self.reason(),
            plain("Nothing has been repaired, and nothing is before you have answered."),
            self.status_button(),
        ];
        (format!("{}: our quote no longer stands", self.head()), blocks)
    }

    pub(super) fn questions(&self) -> Said {
        let waits = if self.accepted_before() {
            "The work you accepted before goes on; the rest waits. You need not wait for us: our \
             quote can still be answered."
        } else {
            "Nothing is repaired before you have answered. When you have heard from us, we send a \
             new quote to answer; the one you have cannot be answered meanwhile."
        };
        let question = self.facts.decision.as_ref().and_then(|decision| decision.question.as_ref());
        let blocks = vec![
            plain(format!(
                "We have your question about {}, and answer it as soon as we can.",
                self.it()
            )),
            own(question),
            plain(waits),
            self.answer_button().or_else(|| self.status_button()),
            self.or_ring_us(),
        ];
        (format!("{}: we have your question", self.head()), blocks)
    }

    pub(super) fn expired(&self) -> Said {
        let until = match self.facts.quote.as_ref().and_then(|quote| quote.expires_on) {
            Some(day) => format!(
                "Our quote for {} could be answered until {}. That day has passed without an \
                 answer, so the quote no longer stands.",
                self.it(),
                self.day(day)
            ),
            None => format!("The time to answer our quote for {} has run out.", self.it()),
        };
        let then = if self.accepted_before() {
            "The work you accepted before goes on. What we asked about is not done unless you \
             tell us."
        } else {
            "Nothing has been repaired. We look at it again, and write to you."
        };
        let ring = self
            .ring()
            .and_then(|phone| plain(format!("If you would rather decide now, ring us: {phone}.")));
        (
            format!("{}: our quote has run out", self.head()),
            vec![plain(until), plain(then), ring, self.status_button()],
        )
    }

    /// The page that takes an answer back, where the letter has a link to it.
    fn where_to_say_so(&self) -> &'static str {
        match (&self.facts.links.answer, self.ring()) {
            (Some(_), Some(_)) => ": on the page below, or by telephone.",
            (Some(_), None) => ": on the page below.",
            (None, Some(_)) => ", by telephone.",
            (None, None) => ".",
        }
    }

    fn recorded_answer_button(&self) -> Option<Block> {
        // The status page tells of the answer and takes none back, so it is no way to this.
        let Some(url) = self.facts.links.answer.clone() else { return self.status_button() };
        Some(Block::Button {
            words: "See what we recorded".to_owned(),
            before: "See what we recorded:".into(),
            url,
        })
    }
}
