//! The quote or extra-work page, and what comes after an answer.
//!
//! In the order in which a careful person would ask: what was found, what would be done and
//! why, what it costs, the most it may be, when it is ready, what may be added, who answers,
//! and the three answers. Nothing is preselected, and no answer looks more wanted than
//! another.

use super::facts::{
    AnswerError, AnswerNotice, AnswerPage, Answered, AnsweredBy, AnsweredPage, Decision, Found,
    IfDeclined, Line, MistakeError, MistakeForm, Money, NotAnswerable, NotAnswerablePage, Order,
    Proposal, Quote, Typed,
};
use super::frame::{Row, bill, foot, map, order_page, photos, ring, telephone};
use maud::{Markup, html};
use trade::words::quote::Asks;
use trade::words::said::{capital, count, one_line};

/// `/answer/{token}`: what was found, what it costs, and the three answers.
#[must_use]
pub fn answer_page(facts: &AnswerPage) -> Markup {
    let (order, quote) = (&facts.order, &facts.quote);
    let title = title(order, quote);
    let content = html! {
        @if let Some(earlier) = &facts.superseded {
            div.notice role="alert" {
                p { b { "A newer quote has gone out." } }
                p {
                    "The one you had before you, of " (order.short_day(earlier.sent_on))
                    ", can no longer be answered, and nothing was recorded. This is the newer \
                     one, of " (order.short_day(quote.sent_on)) "; the earlier stands below it."
                }
            }
        }
        @if let Some(notice) = &facts.notice { (noticed(order, notice)) }
        @if !facts.errors.is_empty() { (errors_on_top(&facts.errors)) }
        h1 { (title) }
        (found(order, quote))
        (what_and_why(quote))
        (costs(order, quote))
        (most_and_when(order, quote))
        (form(facts))
        (closing(facts))
        @if let Some(earlier) = &facts.superseded {
            h2 { "The earlier quote, of " (order.short_day(earlier.sent_on)) }
            p.quiet { "For comparing; it can no longer be answered." }
            (read_only(order, earlier))
        }
    };
    order_page(order, &title, content)
}

fn noticed(order: &Order, notice: &AnswerNotice) -> Markup {
    html! {
        @match notice {
            AnswerNotice::QuestionWithUs { at, question } => {
                div.notice role="status" {
                    p { b { "We have your question" } ", since " (order.moment(*at)) "." }
                    @if let Some(question) = question { p.own dir="auto" { (question.trim()) } }
                    p {
                        "We answer it as soon as we can; the work you accepted before goes on \
                         meanwhile. You need not wait: a yes or a no to the quote below still \
                         counts."
                    }
                }
            }
            AnswerNotice::MistakeTakenBack => {
                div.notice role="status" {
                    p { b { "We have taken your earlier answer back." } }
                    p {
                        "Nothing was begun on it. You may answer anew below, or wait until we \
                         have spoken."
                    }
                }
            }
            AnswerNotice::NotRecorded(why) => {
                div.wrong role="alert" {
                    p { b { "Your answer is not recorded." } " " (why) }
                    (ring(order.shop.phone.as_deref(), "If it cannot wait, ring us:"))
                }
            }
        }
    }
}

/// The one new finding, or what it is about.
fn title(order: &Order, quote: &Quote) -> String {
    let new: Vec<&Found> = quote.findings.iter().filter(|found| found.is_new).collect();
    match (quote.accepted_before.is_some(), new.as_slice()) {
        (true, [one]) => capital(&one_line(&one.words)),
        (true, _) => "A question before we go on".to_owned(),
        (false, _) => format!("What {} needs", order.it()),
    }
}

/// The findings this version is about: what is new, or all of them in a first quote.
fn findings_of(quote: &Quote) -> Vec<&Found> {
    let is_extra = quote.accepted_before.is_some();
    quote.findings.iter().filter(|found| found.is_new || !is_extra).collect()
}

fn found(order: &Order, quote: &Quote) -> Markup {
    let findings = findings_of(quote);
    html! {
        p {
            @if quote.accepted_before.is_some() {
                (order.heading()) " is on our bench. We found more than we could see before, and \
                 have stopped there, to ask you."
            } @else {
                "We have examined " (order.it())
                @match findings.len() {
                    0 => ".",
                    1 => " and found one thing.",
                    several => { " and found " (count(several)) " things." }
                }
                " Nothing is repaired until you answer."
            }
        }
        @if !findings.is_empty() {
            h2 { "What we found" }
            ul {
                @for found in &findings {
                    li {
                        b { (found.number) " · " bdi { (capital(&one_line(&found.words))) } }
                        @match found.leaks {
                            Some(true) => ". It leaks.",
                            Some(false) => ". It does not leak.",
                            None => "",
                        }
                        (photos(&found.photos))
                    }
                }
            }
        }
        @if let Some(drawn) = &quote.map { (map(drawn)) }
        (photos(&quote.photos))
    }
}

fn what_and_why(quote: &Quote) -> Markup {
    let findings = findings_of(quote);
    let message = quote.message.as_deref().map(str::trim).filter(|words| !words.is_empty());
    let is_extra = quote.accepted_before.is_some();
    html! {
        @if message.is_some() || !findings.is_empty() {
            h2 { "What we would do, and why" }
            @if let Some(message) = message { p.own dir="auto" { (message) } }
            @if !findings.is_empty() {
                ul {
                    @for found in findings {
                        li {
                            (found.number) " · "
                            // Said again where it is the reason why more is asked.
                            @if is_extra {
                                bdi { (capital(&one_line(&found.words))) }
                                @if found.leaks == Some(true) { ", which leaks" }
                                ": "
                            }
                            @match found.proposal {
                                Proposal::Repair => "Repair it.",
                                Proposal::LeaveAndWatch => "Leave it, and watch it.",
                                Proposal::AnotherVisit => "Leave it for another visit.",
                                Proposal::Declined => "Leave it, as you asked.",
                            }
                            @if let Some(reason) = found.reason.as_deref().map(sentence) {
                                " " bdi { (reason) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A sentence somebody typed, with its full stop.
fn sentence(words: &str) -> String {
    let words = capital(&one_line(words));
    if words.is_empty() || words.ends_with(['.', '!', '?', '…']) { words } else { words + "." }
}

fn costs(order: &Order, quote: &Quote) -> Markup {
    html! {
        @if let Some(before) = &quote.accepted_before {
            h2 { "What you allowed before" }
            p {
                "On " (order.day(before.on)) ", up to " b { (before.allowed.said()) }
                @if before.lines.is_empty() { "." } @else { ", for:" }
            }
            @if !before.lines.is_empty() {
                ul { @for line in &before.lines { li { bdi { (capital(&one_line(line))) } } } }
            }
        }
        h2 { @if quote.accepted_before.is_some() { "What it costs now" } @else { "What it costs" } }
        (bill("What it costs", &rows(order, quote, "cannot be undone; tick it below")))
    }
}

fn rows(order: &Order, quote: &Quote, irreversible: &'static str) -> Vec<Row> {
    let plain = |label: String, amount: Money| Row { label, amount, if_free: None, is_sum: false, remark: None };
    let if_free = Some(if quote.total.amount.is_zero() { "no charge" } else { "included" });
    let mut rows = Vec::new();
    if let Some(before) = &quote.accepted_before {
        rows.push(plain(
            format!("Accepted on {}", order.short_day(before.on)),
            before.amount.clone(),
        ));
    }
    for line in quote.lines.iter().filter(|line| !line.optional) {
        let text = one_line(&line.text);
        let is_new = line.is_new && quote.accepted_before.is_some();
        rows.push(Row {
            label: if is_new { format!("New: {text}") } else { capital(&text) },
            amount: line.amount.clone(),
            if_free,
            is_sum: false,
            remark: line.irreversible.then_some(irreversible),
        });
    }
    if let Some(discount) = &quote.discount {
        let off = Money { amount: -discount.amount.abs(), currency: discount.currency.clone() };
        rows.push(plain("Discount".to_owned(), off));
    }
    if let Some(tax) = quote.tax.as_ref().filter(|tax| !tax.amount.is_zero()) {
        rows.push(plain("Tax".to_owned(), tax.clone()));
    }
    rows.push(Row {
        label: "Together, tax included".to_owned(),
        amount: quote.total.clone(),
        if_free: Some("no charge"),
        is_sum: true,
        remark: None,
    });
    rows
}

fn most_and_when(order: &Order, quote: &Quote) -> Markup {
    html! {
        @if let Some(further) = &quote.further {
            p { (further) }
        }
        p {
            @if quote.further.is_none() && quote.asks() == Asks::Room { "An instrument can hide more. " }
            @let in_all = if quote.accepted_before.is_some() { " in all" } else { "" };
            @if let Some(before) = &quote.accepted_before { "So far you allow up to " (before.allowed.said()) ". " }
            @match quote.asks() {
                Asks::Nothing if quote.accepted_before.is_none() => {
                    "There is nothing to pay. Please tell us all the same whether we may go ahead."
                }
                Asks::Nothing | Asks::Lines | Asks::Room => {
                    "We ask you to allow up to " b { (quote.limit.said()) } (in_all) "."
                }
                Asks::LinesAndTicks => {
                    "We ask you to allow up to " b { (quote.total.said()) } (in_all)
                    "; what you tick below comes on top, up to " (quote.limit.said()) "."
                }
                Asks::Ticks => {
                    "You allow only what you tick below, up to " b { (quote.limit.said()) } "."
                }
            }
            @if !quote.limit.amount.is_zero() { " You pay for what is done, never more than you allow." }
        }
        @if let Some(day) = quote.ready_if_answered_today {
            p {
                "Likely ready by " b { (order.day(day)) } " if you answer today"
                @if let Some(planned) = quote.planned_for.filter(|planned| *planned != day) {
                    " (planned for: " (order.short_day(planned)) ")"
                }
                "."
            }
        }
    }
}

fn form(facts: &AnswerPage) -> Markup {
    let (quote, typed) = (&facts.quote, &facts.typed);
    let must_be_ticked: Vec<&Line> =
        quote.lines.iter().filter(|line| line.irreversible && !line.optional).collect();
    let optional: Vec<&Line> = quote.lines.iter().filter(|line| line.optional).collect();
    let name_error = facts.errors.iter().find_map(|error| match error {
        AnswerError::NameMissing => Some("Please type your name first."),
        AnswerError::NameTooLong => Some("That is too long for a name: at most 200 letters."),
        AnswerError::NameUnkeepable => Some(UNKEEPABLE),
        _ => None,
    });
    let question_error = facts.errors.iter().find_map(|error| match error {
        AnswerError::QuestionMissing => Some("Please type your question first."),
        AnswerError::QuestionTooLong => Some("That is too long: at most 4,000 letters."),
        AnswerError::QuestionUnkeepable => Some(UNKEEPABLE),
        _ => None,
    });
    html! {
        form #answer method="post" action=(facts.action) accept-charset="utf-8" {
            // The first button is what Enter in the name would press (HTML, implicit
            // submission); since it is disabled, Enter decides nothing.
            button type="submit" disabled hidden {}
            input type="hidden" name="quote_version" value=(quote.number);
            input type="hidden" name="content_hash" value=(quote.content_hash);

            @if !must_be_ticked.is_empty() {
                h2 { "Cannot be undone" }
                p { "In the sum above, but done only if you tick it." }
                @for line in must_be_ticked { (pick(line, typed, false)) }
            }
            @if !optional.is_empty() {
                h2 { "If you like, as well" }
                @for line in &optional { (pick(line, typed, true)) }
                @if let Some(sum) = &quote.total_with_optional {
                    p.quiet {
                        @match optional.len() {
                            1 => "With it: ",
                            2 => "With both: ",
                            _ => "With all of them: ",
                        }
                        (sum.said()) "."
                    }
                }
            }

            h2.no-print { "Your answer" }
            @if facts.errors.contains(&AnswerError::ChoiceMissing) {
                p.err { "Please choose one of the three answers." }
            }
            label.field {
                span { "Your name" }
                @if let Some(error) = name_error { span.err #name-error { (error) } }
                input.in name="name" value=(typed.name) autocomplete="name" dir="auto"
                    maxlength="200" required
                    aria-invalid=[name_error.map(|_| "true")]
                    aria-describedby=[name_error.map(|_| "name-error")];
            }
            button.ans name="answer" value="accepted" {
                b { "Yes, go ahead" }
                @match quote.asks() {
                    Asks::Nothing => "At no charge.",
                    Asks::Lines | Asks::Room => { "Up to " (quote.limit.said()) " in all." }
                    Asks::LinesAndTicks => { "Up to " (quote.total.said()) ", and what you tick above." }
                    Asks::Ticks => "Only what you tick above.",
                }
            }
            button.ans name="answer" value="declined" {
                @match &facts.if_declined {
                    IfDeclined::RestGoesOn { amount } => {
                        b { "No, leave this" }
                        "We finish the rest for " (amount.said())
                        ". What we found stays as it is; your record will say so."
                    }
                    IfDeclined::Collect { fee } => {
                        b { "No, do not repair it" }
                        "We make it ready for you to collect. "
                        @match fee {
                            Some(fee) => { "The examination costs " (fee.said()) "." }
                            None => "There is nothing to pay.",
                        }
                    }
                }
            }
            label.field {
                span { "Or ask us something first" }
                @if let Some(error) = question_error { span.err #question-error { (error) } }
                textarea.in name="question" rows="3" maxlength="4000" dir="auto"
                    aria-invalid=[question_error.map(|_| "true")]
                    aria-describedby=[question_error.map(|_| "question-error")] {
                    (typed.question)
                }
            }
            button.btn name="answer" value="questions" { "Send the question" }
        }
    }
}

/// The price of a line that is ticked by itself.
fn price(line: &Line) -> String {
    if line.amount.amount.is_zero() { "no charge".to_owned() } else { line.amount.said() }
}

fn pick(line: &Line, typed: &Typed, optional: bool) -> Markup {
    html! {
        label.pick {
            input type="checkbox" name="line" value=(line.id)
                checked[typed.lines.contains(&line.id)];
            span { bdi { (capital(&one_line(&line.text))) } }
            span.sum { (price(line)) }
            @if line.irreversible {
                small {
                    b { "Cannot be undone" }
                    @if let Some(why) = line.irreversible_why.as_deref().map(sentence) {
                        ": " bdi { (why) }
                    } @else { "." }
                    @if optional { " Done only if you tick it." }
                }
            }
        }
    }
}

fn errors_on_top(errors: &[AnswerError]) -> Markup {
    html! {
        div.wrong role="alert" {
            p {
                b { "Your answer is not recorded yet." } " "
                @for error in errors {
                    @match error {
                        AnswerError::NameMissing => "Your name is missing. ",
                        AnswerError::NameTooLong => "The name is too long. ",
                        AnswerError::NameUnkeepable => "The name held a letter that cannot be kept. ",
                        AnswerError::QuestionMissing => "The question is empty. ",
                        AnswerError::QuestionTooLong => "The question is too long. ",
                        AnswerError::QuestionUnkeepable => {
                            "The question held a letter that cannot be kept. "
                        }
                        AnswerError::ChoiceMissing => "None of the three answers was chosen. ",
                    }
                }
                "What you typed and ticked is kept. " a href="#answer" { "To your answer" }
            }
        }
    }
}

fn closing(facts: &AnswerPage) -> Markup {
    let order = &facts.order;
    html! {
        p.quiet.foot {
            "Only for " bdi { (one_line(&facts.owner_name)) }
            " and this order; it never asks for bank details. "
            @if let Some(until) = facts.quote.expires_on {
                "Open until " (order.short_day(until)) ". "
            }
            @if let Some(phone) = order.shop.phone.as_deref().map(one_line) {
                "You may also ring " (telephone(&phone)) ". "
            }
            @if let Some(url) = &facts.status_url { a href=(url) { "See how it is going" } }
        }
    }
}

/// A quote for reading only.
fn read_only(order: &Order, quote: &Quote) -> Markup {
    html! {
        @if let Some(message) = quote.message.as_deref().map(str::trim).filter(|m| !m.is_empty()) {
            p.own dir="auto" { (message) }
        }
        (bill("What it would cost", &rows(order, quote, "cannot be undone")))
        @let optional: Vec<&Line> = quote.lines.iter().filter(|line| line.optional).collect();
        @if !optional.is_empty() {
            p { "If you liked, as well:" }
            ul {
                @for line in optional {
                    li { bdi { (capital(&one_line(&line.text))) } ", " (price(line)) }
                }
            }
        }
        p {
            "At most " (quote.limit.said())
            @if matches!(quote.asks(), Asks::LinesAndTicks | Asks::Ticks) { ", with everything ticked" }
            "."
        }
    }
}

/// What was recorded, and "This was a mistake".
#[must_use]
pub fn answered_page(facts: &AnsweredPage) -> Markup {
    let (order, decision) = (&facts.order, &facts.decision);
    let title = match (decision.answer, facts.just_now) {
        (Answered::Questions, _) => "We have your question",
        (_, true) => "Thank you, we have your answer",
        (_, false) => "This is answered",
    };
    let content = html! {
        @if facts.too_late {
            div.wrong role="alert" {
                p {
                    b { "It is too late to take it back here." }
                    " Work that your answer allowed has been begun, or a newer answer has followed it."
                }
                (ring(order.shop.phone.as_deref(), "Please ring us now:"))
            }
        }
        h1 { (title) }
        p.lead role=[facts.just_now.then_some("status")] { (what_follows(decision)) }
        @if decision.answer == Answered::Questions {
            p {
                "We look at it again with your question, then send you a new quote. You say yes or \
                 no to that one; the quote of before cannot be answered any more."
            }
            (ring(order.shop.phone.as_deref(), "If you would rather decide at once, ring us:"))
        }
        (recorded(order, decision))
        @if let Some(form) = &facts.mistake { (mistake_form(form)) }
        @if let Some(url) = &facts.status_url {
            p.no-print { a.btn href=(url) { "See how it is going" } }
        }
        (foot(&order.shop, html! {}))
    };
    order_page(order, title, content)
}

fn what_follows(decision: &Decision) -> &'static str {
    match (decision.answer, decision.is_extra) {
        (Answered::Accepted, _) if decision.how == AnsweredBy::Beforehand => {
            "What it needs is within what you allowed when it was checked in. We go ahead."
        }
        (Answered::Accepted, _) => "You said yes. We go ahead.",
        (Answered::Declined, true) => "You said no to the extra work. We finish the rest.",
        (Answered::Declined, false) => {
            "You said no. We repair nothing and make it ready for you to collect."
        }
        (Answered::Questions, true) => {
            "We answer as soon as we can. The work you accepted before goes on."
        }
        (Answered::Questions, false) => {
            "We answer as soon as we can. Nothing is repaired before you have answered."
        }
    }
}

/// Who, how and when, with what was said.
fn recorded(order: &Order, decision: &Decision) -> Markup {
    html! {
        h2 { "What we recorded" }
        dl {
            dt { "Answer" }
            dd {
                b {
                    @match decision.answer {
                        Answered::Accepted => "Yes",
                        Answered::Declined => "No",
                        Answered::Questions => "A question",
                    }
                }
                ", about quote " (decision.quote_number)
            }
            @if let Some(allowed) = &decision.allowed {
                dt { "Allowed" }
                dd { "Up to " b { (allowed.said()) } " in all" }
            }
            @if decision.answer == Answered::Accepted && !decision.ticked.is_empty() {
                dt { "Ticked" }
                @for line in &decision.ticked { dd { bdi { (capital(&one_line(line))) } } }
            }
            @if let Some(question) = &decision.question {
                dt { "Question" }
                dd.own dir="auto" { (question.trim()) }
            }
            dt { "Name" }
            dd { bdi { (one_line(&decision.name)) } }
            dt { "When and how" }
            dd {
                (order.moment(decision.at)) ", "
                @match decision.how {
                    AnsweredBy::Link => "on this page",
                    AnsweredBy::Phone => "by telephone, written down by the shop",
                    AnsweredBy::InPerson => "at the counter, written down by the shop",
                    AnsweredBy::Beforehand => "when it was checked in",
                }
            }
        }
    }
}

/// For a NUL letter, which no database keeps and no keyboard types.
const UNKEEPABLE: &str = "It held a letter that cannot be kept, which we took out. Please look at it once more.";

fn mistake_form(form: &MistakeForm) -> Markup {
    let name_error = form.errors.iter().find_map(|error| match error {
        MistakeError::NameMissing => Some("Please type your name first."),
        MistakeError::NameTooLong => Some("That is too long for a name: at most 200 letters."),
        MistakeError::NameUnkeepable => Some(UNKEEPABLE),
        MistakeError::ReasonTooLong | MistakeError::ReasonUnkeepable => None,
    });
    let reason_error = form.errors.iter().find_map(|error| match error {
        MistakeError::ReasonTooLong => Some("That is too long: at most 1,000 letters."),
        MistakeError::ReasonUnkeepable => Some(UNKEEPABLE),
        MistakeError::NameMissing | MistakeError::NameTooLong | MistakeError::NameUnkeepable => None,
    });
    html! {
        form.no-print method="post" action=(form.action) accept-charset="utf-8" {
            button type="submit" disabled hidden {}
            h2 { "If this was a mistake" }
            p {
                "Tell us here. It works until the first step that your answer allows is started; \
                 we then take the answer back and ask you again."
            }
            input type="hidden" name="decision_id" value=(form.decision_id);
            label.field {
                span { "Your name" }
                @if let Some(error) = name_error { span.err #mistake-name-error { (error) } }
                input.in name="name" value=(form.name) autocomplete="name" dir="auto"
                    maxlength="200" required
                    aria-invalid=[name_error.map(|_| "true")]
                    aria-describedby=[name_error.map(|_| "mistake-name-error")];
            }
            label.field {
                span { "What should we know?" }
                small { "May be left empty." }
                @if let Some(error) = reason_error { span.err #mistake-reason-error { (error) } }
                textarea.in name="reason" rows="2" maxlength="1000" dir="auto"
                    aria-invalid=[reason_error.map(|_| "true")]
                    aria-describedby=[reason_error.map(|_| "mistake-reason-error")] {
                    (form.reason)
                }
            }
            button.btn { "This was a mistake" }
        }
    }
}

/// A quote that cannot be answered any more: expired, already decided, taken back.
#[must_use]
pub fn not_answerable_page(facts: &NotAnswerablePage) -> Markup {
    let order = &facts.order;
    let phone = order.shop.phone.as_deref();
    let title = match &facts.because {
        NotAnswerable::Expired(_) => "This quote has run out",
        NotAnswerable::AlreadyDecided(_) => "This was answered before",
        NotAnswerable::TakenBack => "We have taken this quote back",
        NotAnswerable::Ended => "This order has ended",
    };
    let content = html! {
        h1 { (title) }
        @match &facts.because {
            NotAnswerable::Expired(day) => {
                p.lead {
                    "It could be answered until " (order.day(*day)) ". Nothing was recorded now."
                }
                (ring(phone, "If you still want it done, ring us:"))
            }
            NotAnswerable::AlreadyDecided(decision) => {
                p.lead {
                    bdi { (one_line(&decision.name)) }
                    @match decision.answer {
                        Answered::Accepted => " said yes",
                        Answered::Declined => " said no",
                        Answered::Questions => " asked a question",
                    }
                    " on " (order.moment(decision.at)) ". Nothing was recorded now."
                }
                (recorded(order, decision))
                (ring(phone, "If that is not right, ring us:"))
            }
            NotAnswerable::TakenBack => {
                p.lead { "You need not answer it. Nothing was recorded now." }
                (ring(phone, "If you have a question, ring us:"))
            }
            NotAnswerable::Ended => {
                p.lead { "There is nothing left to answer. Nothing was recorded now." }
                (ring(phone, "If you have a question, ring us:"))
            }
        }
        @if let Some(quote) = &facts.quote {
            h2 { "The quote, of " (order.short_day(quote.sent_on)) }
            (read_only(order, quote))
        }
        @if let Some(url) = &facts.status_url {
            p.no-print { a.btn href=(url) { "See how it is going" } }
        }
        (foot(&order.shop, html! {}))
    };
    order_page(order, title, content)
}
