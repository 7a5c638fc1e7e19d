//! Parts that several letters have.

use crate::facts::{AnsweredBy, Became, Decision, Finding, Line, Money, Noted, Quote};
use crate::wording::blocks::{Block, Item, Piece, Row, Words, said, strong, typed};
use super::{About, own, para, plain, sentence};
use trade::words::quote::Asks;
use trade::words::said::{capital, list, moment, one_line};
use trade::words::zone::Zone;

impl About<'_> {
    pub(super) fn or_ring_us(&self) -> Option<Block> {
        self.ring().and_then(|phone| plain(format!("Or ring us: {phone}.")))
    }

    pub(super) fn reason(&self) -> Option<Block> {
        let reason = self.facts.reason.as_deref().filter(|reason| !reason.trim().is_empty())?;
        para(vec![strong("Why: "), Piece::Typed(sentence(reason))])
    }

    /// While it is being worked on.
    pub(super) fn status_button(&self) -> Option<Block> {
        self.to_the_page("See how it is going")
    }

    /// When the work has ended.
    pub(super) fn page_button(&self) -> Option<Block> {
        self.to_the_page("See it on your page")
    }

    pub(super) fn to_the_page(&self, words: &'static str) -> Option<Block> {
        let url = self.facts.links.status.clone()?;
        Some(Block::Button { words: words.to_owned(), before: format!("{words}:"), url })
    }

    pub(super) fn answer_button(&self) -> Option<Block> {
        let url = self.facts.links.answer.clone()?;
        let quote = self.facts.quote.as_ref();
        let words = if quote.is_some_and(|quote| quote.has_photo) {
            "See the photo and answer"
        } else {
            "See the quote and answer"
        };
        let (words, before) = match quote.and_then(|quote| quote.expires_on) {
            Some(until) => {
                let until = self.short_day(until);
                (format!("{words}, until {until}"), format!("{words} here, until {until}:"))
            }
            None => (words.to_owned(), format!("{words} here:")),
        };
        Some(Block::Button { words, before, url })
    }

    pub(super) fn planned_for(&self) -> Option<Block> {
        let planned = self.facts.planned_for;
        match (self.facts.expected_on, planned) {
            (Some(expected), Some(planned)) if expected != planned => para(vec![
                said("We expect it ready by "),
                strong(self.day(expected)),
                said(format!(" (planned for: {}).", self.short_day(planned))),
            ]),
            (Some(expected), _) => {
                para(vec![said("We expect it ready by "), strong(self.day(expected)), said(".")])
            }
            (None, Some(planned)) => {
                para(vec![said("Planned for "), strong(self.day(planned)), said(".")])
            }
            (None, None) => None,
        }
    }

    pub(super) fn noted(&self, heading: &'static str, things: &[Noted]) -> Vec<Option<Block>> {
        if things.is_empty() {
            return vec![];
        }
        let items = things
            .iter()
            .map(|noted| Item {
                number: None,
                head: capital(&one_line(&noted.what)),
                tail: noted.why.as_deref().map(sentence),
            })
            .collect();
        vec![Some(Block::Heading(heading)), Some(Block::List(items))]
    }

    pub(super) fn things(&self, heading: &'static str, things: &[String]) -> Vec<Option<Block>> {
        let items: Vec<Item> = things
            .iter()
            .map(|thing| Item { number: None, head: capital(&one_line(thing)), tail: None })
            .filter(|item| !item.head.is_empty())
            .collect();
        if items.is_empty() {
            return vec![];
        }
        vec![Some(Block::Heading(heading)), Some(Block::List(items))]
    }

    /// What the examination turned up, and what is proposed for each.
    pub(super) fn findings(&self, findings: &[&Finding]) -> Option<Block> {
        if findings.is_empty() {
            return None;
        }
        let items = findings
            .iter()
            .map(|finding| {
                let what = match finding.became {
                    Became::Undecided => None,
                    Became::ToRepair => Some("To be repaired"),
                    Became::Repaired => Some("Repaired"),
                    Became::LeftAndWatched => Some("We would leave it and watch it"),
                    Became::AnotherVisit => Some("Can wait for another visit"),
                    Became::Declined => Some("Not wanted"),
                };
                let reason = finding.reason.as_deref().map(sentence);
                let tail = match (what, reason) {
                    (Some(what), Some(reason)) => Some(format!("{what}. {reason}")),
                    (Some(what), None) => Some(format!("{what}.")),
                    (None, reason) => reason,
                };
                Item {
                    number: Some(finding.number),
                    head: capital(&one_line(&finding.words)),
                    tail,
                }
            })
            .collect();
        Some(Block::List(items))
    }

    pub(super) fn all_findings(&self) -> Option<Block> {
        self.findings(&self.facts.findings.iter().collect::<Vec<_>>())
    }

    pub(super) fn new_findings(&self) -> Option<Block> {
        let new: Vec<&Finding> = self.facts.findings.iter().filter(|found| found.is_new).collect();
        self.findings(&new)
    }

    pub(super) fn bill(&self, quote: &Quote) -> Option<Block> {
        let mut rows = Vec::new();
        if let Some(before) = &quote.accepted_before {
            rows.push(row(
                format!("Accepted on {}", self.short_day(before.on)),
                before.amount.clone(),
            ));
        }
        for line in quote.lines.iter().filter(|line| !line.optional) {
            let text = one_line(&line.text);
            let label = if line.is_new && quote.accepted_before.is_some() {
                format!("New: {text}")
            } else {
                capital(&text)
            };
            rows.push(Row {
                label,
                amount: line.amount.clone(),
                if_free: Some(if quote.total.amount.is_zero() { "no charge" } else { "included" }),
                is_sum: false,
                remark: line.irreversible.then_some("cannot be undone; only if you tick it"),
            });
        }
        if let Some(discount) = &quote.discount {
            rows.push(row("Discount".into(), minus(discount)));
        }
        if let Some(tax) = quote.tax.as_ref().filter(|tax| !tax.amount.is_zero()) {
            rows.push(row("Tax".into(), tax.clone()));
        }
        let label = "Together, tax included".into();
        rows.push(Row { label, amount: quote.total.clone(), if_free: Some("no charge"), is_sum: true, remark: None });
        Some(Block::Bill(rows))
    }

    pub(super) fn if_you_like(&self, quote: &Quote) -> Vec<Option<Block>> {
        let optional: Vec<&Line> = quote.lines.iter().filter(|line| line.optional).collect();
        if optional.is_empty() {
            return vec![];
        }
        let rows = optional
            .into_iter()
            .map(|line| Row {
                label: capital(&one_line(&line.text)),
                amount: line.amount.clone(),
                if_free: Some("no charge"),
                is_sum: false,
                remark: line.irreversible.then_some("cannot be undone"),
            })
            .collect();
        vec![
            Some(Block::Heading("If you like, as well")),
            plain("Not in the sum; done only if you tick it on the page."),
            Some(Block::Bill(rows)),
        ]
    }

    /// The bill, the most it may be, and when it would be ready.
    pub(super) fn what_it_costs(&self) -> Vec<Option<Block>> {
        let Some(quote) = &self.facts.quote else { return vec![] };
        let mut blocks = vec![self.bill(quote), quote.further.as_deref().and_then(plain)];
        let with_optional = quote.total_with_optional.as_ref().map_or(quote.total.amount, |all| all.amount);
        let asks = Asks::of(quote.limit.amount, quote.total.amount, with_optional);
        blocks.push(match (asks, &quote.accepted_before) {
            (Asks::Nothing, None) => {
                plain("There is nothing to pay. Please tell us all the same whether we may go ahead.")
            }
            (_, before) => {
                let so_far = before.as_ref().map(|before| format!("So far you allow up to {}. ", before.allowed.said()));
                let in_all = if before.is_some() { " in all" } else { "" };
                let (asks, most, rest) = match asks {
                    Asks::Nothing | Asks::Lines | Asks::Room => ("We ask you to allow up to ", quote.limit.said(), in_all.to_owned()),
                    Asks::Ticks => ("You allow only what you tick on the page, up to ", quote.limit.said(), String::new()),
                    Asks::LinesAndTicks => (
                        "We ask you to allow up to ",
                        quote.total.said(),
                        format!("{in_all}; what you tick on the page comes on top, up to {}", quote.limit.said()),
                    ),
                };
                para(vec![
                    said(so_far.unwrap_or_default() + asks),
                    strong(most),
                    said(format!("{rest}. You pay for what is done, never more than you allow.")),
                ])
            }
        });
        blocks.extend(self.if_you_like(quote));
        let ready = quote.ready_if_answered_today.map(|day| {
            let planned = match self.facts.planned_for {
                Some(planned) if planned != day => {
                    format!(" (planned for: {})", self.short_day(planned))
                }
                _ => String::new(),
            };
            Block::Para(vec![
                said("Likely ready by "),
                strong(self.day(day)),
                said(format!(" if you answer today{planned}.")),
            ])
        });
        blocks.push(ready);
        blocks
    }

    pub(super) fn please_answer(&self) -> Vec<Option<Block>> {
        vec![self.answer_button(), self.or_ring_us()]
    }

    /// Where and when, what to bring, what to pay.
    pub(super) fn come_and_collect(&self) -> Vec<Option<Block>> {
        let mut facts: Vec<(&'static str, Words)> = Vec::new();
        if let Some(due) = &self.facts.amount_due {
            let words = match (&self.facts.due_words, due.amount.is_zero()) {
                (_, true) => vec![said("Nothing.")],
                (Some(words), false) => {
                    vec![
                        strong(due.said()),
                        said(", "),
                        typed(words.trim_end_matches('.')),
                        said("."),
                    ]
                }
                (None, false) => vec![strong(due.said())],
            };
            facts.push(("To pay", words));
        }
        if let Some(hours) = &self.facts.shop.hours {
            facts.push(("We are open", vec![typed(hours)]));
        }
        if let Some(address) = &self.facts.shop.address {
            facts.push(("Where", vec![typed(address)]));
        }
        facts.push((
            "Please bring",
            vec![said("The receipt, the half of the tag, or identification.")],
        ));
        vec![Some(Block::Facts(facts))]
    }

    /// The examination fee, where it is charged by itself.
    pub(super) fn fee(&self) -> Option<Block> {
        let (charged, told) = (self.facts.fee_charged.as_ref()?, self.facts.examination_fee.as_ref()?);
        let counted = if charged.amount < told.amount { "; the work done counts toward it" } else { "" };
        plain(format!("The examination costs {}, as told when it was brought in{counted}.", told.said()))
    }

    /// What was done, what was not, what was left, what comes next year, how to look after it.
    pub(super) fn record(&self) -> Vec<Option<Block>> {
        let mut blocks = self.things("What was done", &self.facts.done);
        blocks.extend(self.noted("Found, and not repaired", &self.facts.not_repaired));
        blocks.extend(self.noted("Left on purpose", &self.facts.left_on_purpose));
        blocks.extend(self.noted("To look at next time", &self.facts.to_look_at));
        if let Some(note) = own(self.facts.care_note.as_ref()) {
            blocks.push(Some(Block::Heading("Looking after it")));
            blocks.push(Some(note));
        }
        blocks
    }

    /// How to collect it, the record, and the page last: what stands under a button is not read.
    pub(super) fn collect_with_record(&self) -> Vec<Option<Block>> {
        let mut blocks = self.come_and_collect();
        blocks.extend(self.record());
        blocks.push(self.page_button());
        blocks
    }

    pub(super) fn tested(&self) -> Option<Block> {
        let tests = &self.facts.tests;
        if tests.passed.is_empty() {
            return None;
        }
        let passed: Vec<String> = tests.passed.iter().map(|test| one_line(test)).collect();
        let mut words = format!("It passed its tests: {}", list(&passed));
        if !tests.apart_from.is_empty() {
            let apart: Vec<String> = tests.apart_from.iter().map(|what| one_line(what)).collect();
            words.push_str(&format!(". Left as it is, and not counted: {}", list(&apart)));
        }
        plain(words + ".")
    }

    pub(super) fn not_tested(&self) -> Option<Block> {
        let words = self.facts.tests.not_tested.as_deref()?;
        let words = one_line(words);
        let because = words.trim_end_matches('.');
        let because = because
            .strip_prefix("not tested, because ")
            .or_else(|| because.strip_prefix("because "))
            .unwrap_or(because);
        plain(format!("Not tested, because {because}."))
    }

    /// ` (by telephone, Thursday 4 June, 10:44, under the name “Jonas Lund”)`.
    pub(super) fn recorded(&self) -> Words {
        let Some(decision) = &self.facts.decision else { return vec![] };
        let zone = Zone::named(&self.facts.shop.time_zone).unwrap_or_else(Zone::utc);
        let when = moment(decision.at, &zone, self.facts.today);
        let how = match decision.how {
            AnsweredBy::Link => "on your page",
            AnsweredBy::Phone => "by telephone",
            AnsweredBy::InPerson => "at the counter",
            AnsweredBy::Beforehand => "when it was checked in",
        };
        let mut words = vec![said(format!(" ({how}, {when}"))];
        if !decision.name.trim().is_empty() {
            words.extend([said(", under the name “"), typed(&decision.name), said("”")]);
        }
        words.push(said(")"));
        words
    }

    pub(super) fn we_wrote_it_down(&self, decision: &Decision) -> Option<Block> {
        match decision.how {
            AnsweredBy::Link => None,
            AnsweredBy::Phone | AnsweredBy::InPerson | AnsweredBy::Beforehand => plain(
                "We wrote your answer down for you. If it is not what you said, please tell us at once.",
            ),
        }
    }
}

fn row(label: String, amount: Money) -> Row {
    Row { label, amount, if_free: None, is_sum: false, remark: None }
}

fn minus(sum: &Money) -> Money {
    Money { amount: -sum.amount.abs(), currency: sum.currency.clone() }
}
