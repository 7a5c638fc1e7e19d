//! The status page.

use super::facts::{
    Asked, AskedAgain, AskedBy, Done, Event, Happened, HeldFor, Noted, Now, Order, Ready, StatusPage, Tests, WishForm,
};
use super::frame::{foot, map, order_page, photos, ring};
use maud::{Markup, html};
use trade::words::said::{capital, count, list, one_line};

/// `/status/{token}`: dated sentences along the tube, and what is now.
#[must_use]
pub fn status_page(facts: &StatusPage) -> Markup {
    let order = &facts.order;
    let content = html! {
        h1 { (order.heading()) }
        (ready(order, facts.ready))
        @if facts.wish_just_changed {
            @if let Some(wish) = &facts.wish {
                p.notice role="status" { b { "Changed. " } (in_force(wish)) }
            }
        }
        ol.line {
            @for event in &facts.past {
                li { "On " b { (order.day(event.on)) } " " (happened(order, event)) }
            }
            @if facts.now != Now::Closed {
                li aria-current="step" {
                    "Since " b { (order.day(facts.now_since)) } " " (now(order, &facts.now))
                }
            }
        }
        @if let Some(asked) = &facts.asked { (where_to_answer(order, asked, facts.asked_again)) }
        (money(facts))
        (noted("Not handed back", "bar", &facts.not_handed_back))
        @if let Some(drawn) = &facts.map {
            h2 { "What we found, and where" }
            ul {
                @for (number, words) in &drawn.places {
                    li { b { (number) " · " } bdi { (capital(&one_line(words))) } }
                }
            }
            (map(drawn))
        }
        @if !facts.photos.is_empty() {
            h2 { "Photos" }
            (photos(&facts.photos))
        }
        (done(&facts.done))
        (noted("Found, and not repaired", "bar", &facts.not_repaired))
        (noted("Left on purpose", "bar", &facts.left_on_purpose))
        (noted("To look at next time", "bar again", &facts.to_look_at))
        (tests(&facts.tests))
        @if let Some(url) = &facts.calendar_url {
            p.no-print { a.btn.main href=(url) { "Put the date in my calendar" } }
        }
        @if let Some(wish) = &facts.wish { (wish_form(wish)) }
        (foot(&order.shop, html! { "This link is yours; do not pass it on." }))
    };
    order_page(order, &order.heading(), content)
}

/// How the owner was asked, how that letter is found, and how to have it once more.
fn where_to_answer(order: &Order, asked: &Asked, again: Option<AskedAgain>) -> Markup {
    let phone = order.shop.phone.as_deref();
    html! {
        @if !order.reader_is_owner {
            p {
                @match asked.letter {
                    AskedBy::Letter { on, .. } => {
                        "The quote went to the owner by e-mail on " (order.day(on))
                        ". The owner answers on the page that it leads to."
                    }
                    AskedBy::DidNotArrive { on } => {
                        "Our e-mail to the owner of " (order.day(on)) " did not arrive. Please ask the owner to ring us."
                    }
                    AskedBy::NoAddress | AskedBy::NoLetter => "We ask the owner by telephone.",
                }
            }
        } @else {
            section {
                h2 { "Where you answer" }
                @match again {
                    Some(AskedAgain::Sent) => {
                        p.notice role="status" {
                            b { "It is on its way." } " It can take a few minutes; please look among unwanted mail as well."
                        }
                    }
                    Some(AskedAgain::TooSoon) => {
                        p.wrong role="alert" {
                            b { "Not sent once more." } " One went a short while ago, and it may still be on its way. Please wait some minutes, or ring us."
                        }
                    }
                    None => {}
                }
                @match &asked.letter {
                    AskedBy::Letter { on, to } => {
                        p {
                            "We wrote to you on " b { (order.day(*on)) }
                            @if let Some(to) = to { ", to " bdi { (to) } }
                            ". The subject of that e-mail begins with " b { (order.claim_number) }
                            "; the button in it leads to the page on which you say yes or no, or ask us something."
                        }
                    }
                    AskedBy::DidNotArrive { on } => {
                        p { "Our e-mail of " b { (order.day(*on)) } " did not reach you." }
                    }
                    AskedBy::NoAddress => {
                        p { "We have no e-mail address of yours, so we ring you." }
                    }
                    AskedBy::NoLetter => { p { "No e-mail about it has gone to you yet." } }
                }
                @if let Some(action) = &asked.again {
                    form.no-print method="post" action=(action) accept-charset="utf-8" {
                        button.btn name="again" value="quote" { "Send it to me once more" }
                    }
                }
                (ring(phone, "Or answer by telephone:"))
            }
        }
    }
}

fn ready(order: &Order, ready: Ready) -> Markup {
    html! {
        @match ready {
            Ready::NotSaid | Ready::Gone => {}
            Ready::PlannedFor(day) => {
                p.lead { "Planned for " b { (order.day(day)) } "." }
            }
            Ready::ExpectedBy { expected, planned } => {
                p.lead {
                    "We expect it ready by " b { (order.day(expected)) }
                    @if let Some(planned) = planned.filter(|planned| *planned != expected) {
                        " (planned for: " (order.short_day(planned)) ")"
                    }
                    "."
                }
            }
            Ready::ReadyNow => {
                p.lead {
                    b { "It is ready to collect." }
                    " Please bring the receipt, the half of the tag, or identification."
                }
            }
        }
    }
}

/// What happened, after "On Monday 1 June".
fn happened(order: &Order, event: &Event) -> Markup {
    let who = order.decider();
    let because = |reason: &Option<String>| match reason.as_deref().map(one_line) {
        Some(reason) if !reason.is_empty() => {
            html! { ": " bdi { (reason.trim_end_matches('.')) } "." }
        }
        _ => html! { "." },
    };
    html! {
        @match &event.what {
            Happened::BroughtIn { accessories } => {
                @if order.reader_is_owner { "you brought it in" } @else { "it was brought in" }
                @if accessories.is_empty() { "." } @else {
                    @let things: Vec<String> = accessories.iter().map(|a| one_line(a)).collect();
                    ", with " bdi { (list(&things)) } "."
                }
            }
            Happened::ExaminationBegan { by: Some(by) } => {
                bdi { (one_line(by)) } " began to examine it."
            }
            Happened::ExaminationBegan { by: None } => "we began to examine it.",
            Happened::QuoteSent { findings_count } => {
                @match findings_count {
                    0 => "we sent a quote.",
                    1 => "we had found one thing, and sent a quote.",
                    several => { "we had found " (count(*several)) " things, and sent a quote." }
                }
            }
            Happened::NewerQuoteSent => "we sent a newer quote.",
            Happened::CoveredBeforehand => {
                "we went on to repair it, within what was allowed at the counter."
            }
            Happened::SaidYes => { (who) " said yes." }
            Happened::SaidYesToExtra => { (who) " said yes to the extra work." }
            Happened::SaidNoToExtra => {
                (who) " said no to the extra work; the rest went on."
            }
            Happened::QuoteTakenBack { is_extra: true } => {
                "we took our question about extra work back; the rest went on."
            }
            Happened::QuoteTakenBack { is_extra: false } => {
                "we took our quote back, to look at it again."
            }
            Happened::Asked => { (who) " asked us something." }
            Happened::QuoteRanOut => "our quote ran out without an answer.",
            Happened::SaidNo => { (who) " said no, and nothing was repaired." }
            Happened::ExtraFound => "we found more on the bench, and asked about it.",
            Happened::CalledMistake => {
                (who) " told us that the answer was a mistake. We took it back and asked again."
            }
            Happened::BenchDone => "the work on the bench was finished.",
            Happened::TestFailed { found } => {
                @match found.as_deref().map(one_line) {
                    Some(found) if !found.is_empty() => {
                        "our test found " bdi { (found) } "; it went back to the bench."
                    }
                    _ => "it did not pass our test, and went back to the bench.",
                }
            }
            Happened::TestsPassed => "it passed its tests.",
            Happened::Overridden { reason } => {
                "the proprietor let it go without passing every test" (because(reason))
            }
            Happened::NothingToDo { reason } => {
                "we had examined it and repaired nothing" (because(reason))
            }
            Happened::Withdrawn => {
                @if order.reader_is_owner { "you withdrew the order" }
                @else { "the order was withdrawn" }
                ", and we stopped work."
            }
            Happened::Unanswered => "we closed our quote, since no answer had come.",
            Happened::NotRepairable { reason } => {
                "it turned out that we cannot repair it" (because(reason))
            }
            Happened::SentBack => "it went from the counter back to the bench.",
            Happened::Reopened => "it was taken up again.",
            Happened::Collected => "it was collected.",
            Happened::Shipped { carrier } => {
                @match carrier.as_deref().map(one_line) {
                    Some(carrier) if !carrier.is_empty() => {
                        "it was sent with " bdi { (carrier) } "."
                    }
                    _ => "it was sent.",
                }
            }
            Happened::OtherwiseSettled { reason } => { "the order was closed" (because(reason)) }
            Happened::EnteredByMistake => {
                "this was entered by our mistake; nothing is kept under this number."
            }
        }
    }
}

/// What is now, after "Since Tuesday 16 June".
fn now(order: &Order, now: &Now) -> Markup {
    html! {
        @match now {
            Now::WaitsToBeExamined => "it waits to be examined.",
            Now::BeingExamined => {
                "it is being examined. When we know what it needs, we write to "
                (order.decider()) "."
            }
            Now::QuestionWithUs => {
                @if order.reader_is_owner { "we have your question, and answer it as soon as we can." }
                @else { "we have a question of the owner, and answer it as soon as we can." }
            }
            Now::WaitsForAnswer { until, other_work_goes_on } => {
                @if order.reader_is_owner { "it waits for your answer" }
                @else { "it waits for the owner’s answer" }
                @if let Some(until) = until { ", until " (order.day(*until)) }
                "."
                @if *other_work_goes_on { " The work accepted before goes on meanwhile." }
            }
            Now::AnswerOverdue => {
                "the time for an answer is over. We look at it again, and write to "
                (order.decider()) "."
            }
            Now::WorkedOn => "it is being worked on.",
            Now::Tested { put_right } => {
                "it is being tested for leaks."
                @if let Some(found) = put_right.as_deref().map(one_line).filter(|f| !f.is_empty()) {
                    " The test before found " bdi { (found) } "; that is put right."
                }
                " When it has passed, we send an e-mail."
            }
            Now::PutBackTogether => "it is being put back together, to be collected.",
            Now::ReadyToCollect => "it is ready to collect.",
            Now::Held { held_for, until } => {
                @let until = until.map(|day| order.day(day));
                @match (held_for, until) {
                    (HeldFor::Parts, Some(day)) => { "it waits for parts, expected " (day) "." }
                    (HeldFor::Parts, None) => "it waits for parts.",
                    (HeldFor::OutsideWork, Some(day)) => {
                        "it is away for outside work, expected back " (day) "."
                    }
                    (HeldFor::OutsideWork, None) => "it is away for outside work.",
                    (HeldFor::Customer, Some(day)) => { "it waits, as agreed, until " (day) "." }
                    (HeldFor::Customer, None) => "it waits, as agreed.",
                    (HeldFor::SchoolCalendar, Some(day)) => {
                        "it waits for the school’s calendar, until " (day) "."
                    }
                    (HeldFor::SchoolCalendar, None) => "it waits for the school’s calendar.",
                    (HeldFor::Other, Some(day)) => {
                        "it waits; we look at it again on " (day) "."
                    }
                    (HeldFor::Other, None) => "it waits.",
                }
            }
            Now::Closed => {}
        }
    }
}

fn money(facts: &StatusPage) -> Markup {
    html! {
        @match &facts.amount_due {
            Some(due) if due.amount.is_zero() => { p { "There is nothing to pay." } }
            Some(due) => {
                p {
                    "To pay when you collect it: " b { (due.said()) } "."
                    @if let Some(fee) = &facts.examination_fee {
                        " For the examination, as told when it was brought in: " (fee.said()) "."
                    }
                }
            }
            None => {
                @if let Some(allowed) = &facts.allowed {
                    p {
                        @if facts.order.reader_is_owner { "You allow up to " }
                        @else { "Allowed: up to " }
                        b { (allowed.said()) } "."
                    }
                }
            }
        }
    }
}

fn done(done: &[Done]) -> Markup {
    html! {
        @if !done.is_empty() {
            h2 { "What was done" }
            ul {
                @for thing in done {
                    li {
                        bdi { (capital(&one_line(&thing.words))) }
                        @if !thing.finding_numbers.is_empty() {
                            @let numbers: Vec<String> =
                                thing.finding_numbers.iter().map(ToString::to_string).collect();
                            " (" (numbers.join(", ")) ")"
                        }
                    }
                }
            }
        }
    }
}

/// The tests it passed, with what leaked and what the shop lets pass.
fn tests(tests: &Tests) -> Markup {
    html! {
        @if !tests.passed.is_empty() {
            h2 { "How it was tested" }
            ul {
                @for test in &tests.passed {
                    li {
                        b { bdi { (capital(&one_line(&test.what))) } }
                        @if let Some(how) = test.how { ", " (how) }
                        ": passed"
                        @if let Some(rate) = &test.rate { " with " (rate) }
                        "."
                    }
                }
            }
            @if tests.passed.iter().any(|test| test.rate.is_some()) {
                p.quiet {
                    "The ± is the range that holds the true figure in 19 of 20 cases; our limit is \
                     the most that we let pass."
                }
            }
            @if !tests.apart_from.is_empty() {
                @let apart: Vec<String> = tests.apart_from.iter().map(|what| one_line(what)).collect();
                p { "Left as it is, and not counted: " bdi { (list(&apart)) } "." }
            }
        }
    }
}

fn noted(heading: &str, class: &str, things: &[Noted]) -> Markup {
    html! {
        @if !things.is_empty() {
            h2 { (heading) }
            ul {
                @for thing in things {
                    li class=(class) {
                        b {
                            @if let Some(number) = thing.finding_number { (number) " · " }
                            bdi { (capital(&one_line(&thing.what))) }
                        }
                        @if let Some(why) = thing.why.as_deref().map(one_line) {
                            br; bdi { (capital(&why)) }
                        }
                    }
                }
            }
        }
    }
}

fn in_force(wish: &WishForm) -> &'static str {
    if wish.every_change {
        "You get an e-mail at every change."
    } else {
        "You get an e-mail only when we ask you something, and when it is ready."
    }
}

fn wish_form(wish: &WishForm) -> Markup {
    html! {
        form.no-print method="post" action=(wish.action) accept-charset="utf-8" {
            h2 { "E-mails" }
            p { (in_force(wish)) }
            @if wish.every_change {
                button.btn name="mail_wanted" value="only_when_asked" {
                    "Only when asked, not at every change"
                }
            } @else {
                button.btn name="mail_wanted" value="every_change" { "At every change" }
            }
        }
    }
}
