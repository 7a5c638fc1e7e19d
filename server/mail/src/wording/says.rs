//! What each kind of letter says.
//!
//! Rules of the house: short, active, no exclamation marks, nothing guessed about the
//! reader, every promise as it was made, and what did not go well is told first.

use super::blocks::{Block, Item, Piece, Row, Words, said, strong, typed};
use crate::facts::{
    AnsweredBy, Became, Decision, Finding, LetterFacts, Line, Money, Noted, Quote, Reader,
};
use crate::kinds::LetterKind;
use chrono::NaiveDate;
use trade::words::said::{capital, count, list, long_date, moment, one_line, short_date};
use trade::words::zone::Zone;

/// Subject (without the claim number) and blocks of a letter.
pub(super) struct Saying {
    pub(super) subject: String,
    pub(super) blocks: Vec<Block>,
}

/// What a letter of this kind says.
pub(super) fn saying(kind: LetterKind, facts: &LetterFacts) -> Saying {
    let about = About { facts };
    let (subject, blocks) = match kind {
        LetterKind::CheckedIn => about.checked_in(),
        LetterKind::ExaminationBegins => about.examination_begins(),
        LetterKind::QuoteSent => about.quote_sent(),
        LetterKind::CoveredBeforehand => about.covered_beforehand(),
        LetterKind::NothingToDo => about.nothing_to_do(),
        LetterKind::Accepted => about.accepted(),
        LetterKind::ExtraDeclined => about.extra_declined(),
        LetterKind::ExtraRecalled => about.extra_recalled(),
        LetterKind::QuoteRecalled => about.quote_recalled(),
        LetterKind::Questions => about.questions(),
        LetterKind::Expired => about.expired(),
        LetterKind::Declined => about.declined(),
        LetterKind::ExtraWork => about.extra_work(),
        LetterKind::AcceptanceDisputed => about.acceptance_disputed(),
        LetterKind::BenchDone => about.bench_done(),
        LetterKind::TestFailed => about.test_failed(),
        LetterKind::TestsPassed => about.tests_passed(),
        LetterKind::Overridden => about.overridden(),
        LetterKind::Withdrawn => about.withdrawn(),
        LetterKind::Unanswered => about.unanswered(),
        LetterKind::NotRepairable => about.not_repairable(),
        LetterKind::SentBack => about.sent_back(),
        LetterKind::Reopened => about.reopened(),
        LetterKind::Collected => about.collected(),
        LetterKind::Shipped => about.shipped(),
        LetterKind::OtherwiseSettled => about.otherwise_settled(),
        LetterKind::EnteredByMistake => about.entered_by_mistake(),
        LetterKind::DoneAtCounter => about.done_at_counter(),
        LetterKind::NewerQuote => about.newer_quote(),
        LetterKind::AnswerReminder => about.answer_reminder(),
        LetterKind::PickupReminder => about.pickup_reminder(),
    };
    Saying { subject, blocks: blocks.into_iter().flatten().collect() }
}

/// A subject and blocks, some of them left out.
type Said = (String, Vec<Option<Block>>);

fn para(words: Words) -> Option<Block> {
    Some(Block::Para(words))
}

fn plain(words: impl Into<String>) -> Option<Block> {
    para(vec![said(words)])
}

/// Own words of shop or customer; nothing when there are none.
fn own(words: Option<&String>) -> Option<Block> {
    words.filter(|words| !words.trim().is_empty()).map(|words| Block::Own(words.clone()))
}

/// Kept on one line: a number to ring, a day and its month.
fn unbroken(words: &str) -> String {
    words.replace(' ', "\u{a0}")
}

/// A sentence somebody typed, with its full stop.
fn sentence(words: &str) -> String {
    let words = capital(&one_line(words));
    if words.ends_with(['.', '!', '?', '…']) { words } else { format!("{words}.") }
}

struct About<'a> {
    facts: &'a LetterFacts,
}

impl About<'_> {
    // How things are named.

    /// `baritone`, or `horn (your number 7)` for an owner who counts them.
    fn family(&self) -> String {
        let family = one_line(&self.facts.instrument.family);
        match self.facts.instrument.owners_number.as_deref().map(one_line) {
            Some(number) if !number.is_empty() => format!("{family} (your number {number})"),
            _ => family,
        }
    }

    /// `your baritone`; `the baritone` to a contact who is not its owner.
    fn it(&self) -> String {
        match self.facts.reader {
            Reader::Contact => format!("the {}", self.family()),
            Reader::Owner | Reader::ContactAndOwner => format!("your {}", self.family()),
        }
    }

    /// The same at the head of a sentence or subject.
    fn head(&self) -> String {
        capital(&self.it())
    }

    fn reader_decides(&self) -> bool {
        self.facts.reader != Reader::Contact
    }

    /// `you`, or the owner's name, or `the owner`.
    fn decider(&self) -> Piece {
        match (&self.facts.owner_name, self.reader_decides()) {
            (_, true) => said("you"),
            (Some(name), false) => typed(name),
            (None, false) => said("the owner"),
        }
    }

    fn day(&self, date: NaiveDate) -> String {
        long_date(date, self.facts.today)
    }

    fn short_day(&self, date: NaiveDate) -> String {
        unbroken(&short_date(date, self.facts.today))
    }

    fn ring(&self) -> Option<String> {
        let phone = self.facts.shop.phone.as_deref().map(one_line).filter(|phone| !phone.is_empty());
        phone.map(|phone| unbroken(&phone))
    }

    fn or_ring_us(&self) -> Option<Block> {
        self.ring().and_then(|phone| plain(format!("Or ring us: {phone}.")))
    }

    fn reason(&self) -> Option<Block> {
        let reason = self.facts.reason.as_deref().filter(|reason| !reason.trim().is_empty())?;
        para(vec![strong("Why: "), Piece::Typed(sentence(reason))])
    }

    fn accepted_before(&self) -> bool {
        self.facts.quote.as_ref().is_some_and(|quote| quote.accepted_before.is_some())
    }

    // Parts that several letters have.

    /// While it is being worked on.
    fn status_button(&self) -> Option<Block> {
        self.to_the_page("See how it is going")
    }

    /// When the work has ended.
    fn page_button(&self) -> Option<Block> {
        self.to_the_page("See it on your page")
    }

    fn to_the_page(&self, words: &'static str) -> Option<Block> {
        let url = self.facts.links.status.clone()?;
        Some(Block::Button { words: words.to_owned(), before: format!("{words}:"), url })
    }

    fn answer_button(&self) -> Option<Block> {
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

    fn planned_for(&self) -> Option<Block> {
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

    fn noted(&self, heading: &'static str, things: &[Noted]) -> Vec<Option<Block>> {
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

    fn things(&self, heading: &'static str, things: &[String]) -> Vec<Option<Block>> {
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
    fn findings(&self, findings: &[&Finding]) -> Option<Block> {
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

    fn all_findings(&self) -> Option<Block> {
        self.findings(&self.facts.findings.iter().collect::<Vec<_>>())
    }

    fn new_findings(&self) -> Option<Block> {
        let new: Vec<&Finding> = self.facts.findings.iter().filter(|found| found.is_new).collect();
        self.findings(&new)
    }

    fn bill(&self, quote: &Quote) -> Option<Block> {
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
        rows.push(Row { label, amount: quote.total.clone(), is_sum: true, remark: None });
        Some(Block::Bill(rows))
    }

    fn if_you_like(&self, quote: &Quote) -> Vec<Option<Block>> {
        let optional: Vec<&Line> = quote.lines.iter().filter(|line| line.optional).collect();
        if optional.is_empty() {
            return vec![];
        }
        let rows = optional
            .into_iter()
            .map(|line| Row {
                label: capital(&one_line(&line.text)),
                amount: line.amount.clone(),
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
    fn what_it_costs(&self) -> Vec<Option<Block>> {
        let Some(quote) = &self.facts.quote else { return vec![] };
        let mut blocks = vec![self.bill(quote), quote.further.as_deref().and_then(plain)];
        blocks.push(para(vec![
            said("We ask you to allow up to "),
            strong(quote.limit.said()),
            said(". You pay for what is done, never more than you allow."),
        ]));
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

    fn please_answer(&self) -> Vec<Option<Block>> {
        vec![self.answer_button(), self.or_ring_us()]
    }

    /// Where and when, what to bring, what to pay.
    fn come_and_collect(&self) -> Vec<Option<Block>> {
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

    /// What was done, what was left, what comes next year, how to look after it.
    fn record(&self) -> Vec<Option<Block>> {
        let mut blocks = self.things("What was done", &self.facts.done);
        blocks.extend(self.noted("Left on purpose", &self.facts.left_on_purpose));
        blocks.extend(self.noted("To look at next time", &self.facts.to_look_at));
        if let Some(note) = own(self.facts.care_note.as_ref()) {
            blocks.push(Some(Block::Heading("Looking after it")));
            blocks.push(Some(note));
        }
        blocks
    }

    /// How to collect it, the record, and the page last: what stands under a button is not read.
    fn collect_with_record(&self) -> Vec<Option<Block>> {
        let mut blocks = self.come_and_collect();
        blocks.extend(self.record());
        blocks.push(self.page_button());
        blocks
    }

    fn tested(&self) -> Option<Block> {
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

    fn not_tested(&self) -> Option<Block> {
        let words = self.facts.tests.not_tested.as_deref()?;
        let words = one_line(words);
        let because = words.trim_end_matches('.');
        let because = because
            .strip_prefix("not tested, because ")
            .or_else(|| because.strip_prefix("because "))
            .unwrap_or(because);
        plain(format!("Not tested, because {because}."))
    }

    // How an answer came in.

    /// ` (by telephone, Thursday 4 June, 10:44, under the name “Jonas Lund”)`.
    fn recorded(&self) -> Words {
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

    fn we_wrote_it_down(&self, decision: &Decision) -> Option<Block> {
        match decision.how {
            AnsweredBy::Link => None,
            AnsweredBy::Phone | AnsweredBy::InPerson | AnsweredBy::Beforehand => plain(
                "We wrote your answer down for you. If it is not what you said, please tell us at once.",
            ),
        }
    }

    // The letters, in the order of the design.

    fn checked_in(&self) -> Said {
        let facts = self.facts;
        let mut rows: Vec<(&'static str, Words)> = Vec::new();
        let mut left = capital(&one_line(&facts.instrument.words));
        if let Some(number) = &facts.instrument.owners_number {
            left.push_str(&format!(", your number {}", one_line(number)));
        }
        let mut with_it = vec![typed(&left)];
        if !facts.accessories.is_empty() {
            let accessories: Vec<String> =
                facts.accessories.iter().map(|thing| one_line(thing)).collect();
            with_it.extend([said("; with it: "), typed(&list(&accessories))]);
        }
        rows.push(("Left with us", with_it));
        if !facts.not_with_it.is_empty() {
            let missing: Vec<String> =
                facts.not_with_it.iter().map(|thing| one_line(thing)).collect();
            rows.push(("Not with it", vec![typed(&capital(&list(&missing)))]));
        }
        if let Some(complaint) = facts.complaint.as_deref().filter(|words| !words.trim().is_empty())
        {
            rows.push(("You said", vec![said("“"), typed(complaint), said("”")]));
        }
        let seen = if facts.counter_marks.is_empty() {
            "No marks".to_owned()
        } else {
            let marks: Vec<String> =
                facts.counter_marks.iter().map(|mark| one_line(mark)).collect();
            capital(&marks.join("; "))
        };
        rows.push(("At the counter we saw", vec![typed(&seen)]));
        if let Some(keep) = facts.keep_as_is.as_deref().filter(|words| !words.trim().is_empty()) {
            rows.push(("To be left as it is", vec![typed(&capital(keep))]));
        }
        if let Some(planned) = facts.planned_for {
            rows.push(("Planned for", vec![strong(self.day(planned))]));
        }
        rows.push((
            "May cost, without asking",
            match &facts.may_cost {
                Some(sum) => vec![
                    said("Up to "),
                    strong(sum.said()),
                    said(". Anything beyond that, we ask first."),
                ],
                None => vec![said("Nothing. We ask you before any work that costs money.")],
            },
        ));
        if let Some(fee) = &facts.examination_fee {
            rows.push((
                "Examination",
                vec![said(format!(
                    "{}. It counts toward the repair; it is charged by itself only if you then \
                     decide against the repair.",
                    fee.said()
                ))],
            ));
        }
        (
            format!("We have {}", self.it()),
            vec![
                plain(format!(
                    "We have {}. This is your receipt. If something in it is not right, please \
                     tell us now.",
                    self.it()
                )),
                Some(Block::Facts(rows)),
                plain("To collect it, bring this receipt, the half of the tag, or identification."),
                facts.links.status.as_ref().and_then(|_| {
                    plain(
                        "Anyone who has the link below can read your page, so keep it to yourself.",
                    )
                }),
                self.status_button(),
            ],
        )
    }

    fn examination_begins(&self) -> Said {
        let then = match &self.facts.may_cost {
            Some(sum) => format!(
                "When we know what it needs, we write to you before anything is done that goes \
                 beyond {}.",
                sum.said()
            ),
            None => "When we know what it needs and what it costs, we write to you. Nothing is \
                     done before you have answered."
                .to_owned(),
        };
        (
            format!("{} is being examined", self.head()),
            vec![
                plain(format!("We have begun to examine {}.", self.it())),
                plain(then),
                self.planned_for(),
                self.status_button(),
            ],
        )
    }

    fn quote_sent(&self) -> Said {
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

    fn covered_beforehand(&self) -> Said {
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
        let stop = match self.ring() {
            Some(phone) => format!("If you do not want this, ring us soon: {phone}."),
            None => "If you do not want this, please tell us soon.".to_owned(),
        };
        blocks.extend([plain(stop), self.status_button()]);
        (format!("{}: the repair begins", self.head()), blocks)
    }

    fn nothing_to_do(&self) -> Said {
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

    fn accepted(&self) -> Said {
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
        blocks.push(plain(if by_link {
            "If this was a mistake, tell us before the work begins: on the page below, or by \
             telephone."
        } else {
            "We wrote your answer down for you. If it is not what you said, tell us before the \
             work begins: on the page below, or by telephone."
        }));
        blocks.push(self.recorded_answer_button());
        blocks.push(self.or_ring_us());
        (format!("{}: we have your yes, and go ahead", self.head()), blocks)
    }

    fn recorded_answer_button(&self) -> Option<Block> {
        let url = self.facts.links.answer.clone().or_else(|| self.facts.links.status.clone())?;
        Some(Block::Button {
            words: "See what we recorded".to_owned(),
            before: "See what we recorded:".into(),
            url,
        })
    }

    fn extra_declined(&self) -> Said {
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

    fn extra_recalled(&self) -> Said {
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

    fn quote_recalled(&self) -> Said {
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

    fn questions(&self) -> Said {
        let waits = if self.accepted_before() {
            "The work you accepted before goes on; the rest waits for your answer."
        } else {
            "Nothing is repaired before you have answered."
        };
        let question = self.facts.decision.as_ref().and_then(|decision| decision.question.as_ref());
        let blocks = vec![
            plain(format!(
                "We have your question about {}, and answer it as soon as we can.",
                self.it()
            )),
            own(question),
            plain(waits),
            self.or_ring_us(),
            self.status_button(),
        ];
        (format!("{}: we have your question", self.head()), blocks)
    }

    fn expired(&self) -> Said {
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

    fn declined(&self) -> Said {
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
        if let Some(fee) = &self.facts.examination_fee {
            blocks.push(plain(format!(
                "The examination costs {}, as told when it was brought in.",
                fee.said()
            )));
        }
        blocks.extend(self.noted("To look at next time", &self.facts.to_look_at));
        blocks.extend(self.come_and_collect());
        blocks.push(self.page_button());
        (format!("{}: not repaired, ready to collect", self.head()), blocks)
    }

    fn capital_decider(&self) -> Piece {
        match self.decider() {
            Piece::Said(words) => said(capital(&words)),
            other => other,
        }
    }

    fn extra_work(&self) -> Said {
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

    fn acceptance_disputed(&self) -> Said {
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

    fn bench_done(&self) -> Said {
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

    fn test_failed(&self) -> Said {
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

    fn tests_passed(&self) -> Said {
        let mut blocks =
            vec![plain(format!("{} is ready to collect.", self.head())), self.tested()];
        blocks.extend(self.collect_with_record());
        (format!("{} is ready to collect", self.head()), blocks)
    }

    fn overridden(&self) -> Said {
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

    fn tested_in_part(&self) -> Option<Block> {
        let passed: Vec<String> =
            self.facts.tests.passed.iter().map(|test| one_line(test)).collect();
        if passed.is_empty() {
            return None;
        }
        plain(format!("What it did pass: {}.", list(&passed)))
    }

    fn withdrawn(&self) -> Said {
        let mut blocks = vec![
            plain(format!(
                "As you asked, we have stopped work on {}. It is ready to collect.",
                self.it()
            )),
            self.reason(),
            self.not_tested(),
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

    fn unanswered(&self) -> Said {
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

    fn not_repairable(&self) -> Said {
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

    fn sent_back(&self) -> Said {
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

    fn reopened(&self) -> Said {
        (
            format!("{} is being looked at again", self.head()),
            vec![
                plain(format!(
                    "We look at {} again, as asked. You hear from us when we know what it needs \
                     and what it costs; nothing is repaired before you have answered.",
                    self.it()
                )),
                self.reason(),
                self.status_button(),
            ],
        )
    }

    fn collected(&self) -> Said {
        let mut words = vec![said(format!("{} was collected", self.head()))];
        let mut facts = Vec::new();
        if let Some(handover) = &self.facts.handover {
            words.push(said(format!(" on {}", self.day(handover.on))));
            if let Some(by) = handover.by.as_deref().filter(|by| !by.trim().is_empty()) {
                words.extend([said(" by "), typed(by)]);
            }
            facts = self.handed_over();
        }
        words.push(said(". Thank you."));
        let mut blocks = vec![para(words)];
        if !facts.is_empty() {
            blocks.push(Some(Block::Facts(facts)));
        }
        blocks.extend(self.record());
        blocks.push(match self.ring() {
            Some(phone) => plain(format!(
                "If you know nothing of this, or something is not right, ring us: {phone}."
            )),
            None => {
                plain("If you know nothing of this, or something is not right, please tell us.")
            }
        });
        blocks.push(self.page_button());
        (format!("{} was collected", self.head()), blocks)
    }

    fn handed_over(&self) -> Vec<(&'static str, Words)> {
        let Some(handover) = &self.facts.handover else { return vec![] };
        let mut facts = Vec::new();
        if !handover.accessories.is_empty() {
            let things: Vec<String> =
                handover.accessories.iter().map(|thing| one_line(thing)).collect();
            facts.push(("With it", vec![typed(&capital(&list(&things)))]));
        }
        for (name, became) in &handover.lost {
            facts.push(("Not handed back", vec![typed(&capital(&one_line(name))), said(": "), typed(&one_line(became))]));
        }
        if let Some(paid) = handover.paid.as_ref().filter(|paid| !paid.amount.is_zero()) {
            facts.push(("Paid", vec![strong(paid.said())]));
        }
        facts
    }

    fn shipped(&self) -> Said {
        let mut words = vec![said(format!("{} is on its way", self.head()))];
        if let Some(handover) = &self.facts.handover {
            words.push(said(format!(", sent on {}", self.day(handover.on))));
            if let Some(carrier) = handover.carrier.as_deref().filter(|c| !c.trim().is_empty()) {
                words.extend([said(" with "), typed(carrier)]);
            }
        }
        words.push(said(
            ". Please look at it when it arrives, and tell us within a few days if something is \
             not right.",
        ));
        let mut blocks = vec![para(words)];
        let facts = self.handed_over();
        if !facts.is_empty() {
            blocks.push(Some(Block::Facts(facts)));
        }
        blocks.extend(self.record());
        blocks.push(self.page_button());
        (format!("{} is on its way", self.head()), blocks)
    }

    fn otherwise_settled(&self) -> Said {
        (
            format!("{}: the order is closed", self.head()),
            vec![
                plain(format!("The order for {} is closed without being collected.", self.it())),
                own(self.facts.reason.as_ref()),
                match self.ring() {
                    Some(phone) => {
                        plain(format!("If this is not as you know it, ring us: {phone}."))
                    }
                    None => plain("If this is not as you know it, please tell us."),
                },
                self.page_button(),
            ],
        )
    }

    fn entered_by_mistake(&self) -> Said {
        (
            "Please set our receipt aside".to_owned(),
            vec![
                para(vec![
                    said("We sent you a receipt with the number "),
                    strong(one_line(&self.facts.claim_number)),
                    said(
                        ". That was our mistake: nothing is kept under this number, and you \
                          need not do anything.",
                    ),
                ]),
                self.reason(),
                match self.ring() {
                    Some(phone) => {
                        plain(format!("If you did leave an instrument with us, ring us: {phone}."))
                    }
                    None => plain("If you did leave an instrument with us, please tell us."),
                },
            ],
        )
    }

    fn done_at_counter(&self) -> Said {
        let mut blocks = vec![
            plain(format!("{} was put right at the counter while you waited.", self.head())),
            self.tested(),
        ];
        let facts = self.handed_over();
        if !facts.is_empty() {
            blocks.push(Some(Block::Facts(facts)));
        }
        blocks.extend(self.record());
        blocks.push(self.page_button());
        (format!("{}: done at the counter", self.head()), blocks)
    }

    fn newer_quote(&self) -> Said {
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

    fn answer_reminder(&self) -> Said {
        let until = match self.facts.quote.as_ref().and_then(|quote| quote.expires_on) {
            Some(day) => format!(" It can be answered until {}.", self.day(day)),
            None => String::new(),
        };
        let waits = if self.accepted_before() {
            "Until then the work you accepted before goes on; the rest waits."
        } else {
            "Until then it waits, and nothing is repaired."
        };
        let mut blocks = vec![
            plain(format!("Our quote for {} still waits for your answer.{until}", self.it())),
            plain(waits),
        ];
        blocks.extend(self.what_it_costs());
        blocks.extend(self.please_answer());
        (format!("{}: we still wait for your answer", self.head()), blocks)
    }

    fn pickup_reminder(&self) -> Said {
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
}

fn row(label: String, amount: Money) -> Row {
    Row { label, amount, is_sum: false, remark: None }
}

fn minus(sum: &Money) -> Money {
    Money { amount: -sum.amount.abs(), currency: sum.currency.clone() }
}
