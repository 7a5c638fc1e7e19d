//! The quote or extra-work page: showing it, taking the answer, and taking a mistake back.

use super::answer_facts::{
    Standing, answer_page, answered_page, decision, not_answerable_page, standing,
};
use super::form::Form;
use super::instead::Instead;
use super::link::{Opened, open};
use super::{lead_on, page};
use crate::pages;
use crate::pages::facts::{AnswerError, AnswerNotice, MistakeError, NotAnswerable, Typed};
use crate::state::Parts;
use actix_web::http::StatusCode;
use actix_web::web::{Data, Payload};
use actix_web::{HttpRequest, HttpResponse};
use acts::decide::{NewDecision, NewDispute};
use acts::{Actor, Halt};
use store::Once;
use store::quotes::QuoteRow;
use trade::words::ids::{DecisionId, OperationId, QuoteId};
use trade::words::paperwork::{Answer, AnswerHow, LinkPurpose};
use trade::words::quote::QuoteContent;
use trade::words::spelling::Spelt;
use uuid::Uuid;

/// Letters in a name, as the form says.
const NAME_MOST: usize = 200;
/// Letters in a question, as the form says.
const QUESTION_MOST: usize = 4000;
/// Letters in what is said about a mistake, as the form says.
const REASON_MOST: usize = 1000;
/// What the address says after an answer was taken.
const RECORDED: &str = "recorded";

/// The page. Decides nothing, and marks no quote as seen: what opens a link may be a scanner.
pub(super) async fn show(
    parts: Data<Parts>,
    request: HttpRequest,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Answer).await?;
    let just_now = request.query_string() == RECORDED;
    let own = opened.rows.quotes.iter().find(|quote| Some(quote.id) == opened.link.quote_id);
    let is_news =
        |current: &QuoteRow| !opened.rows.decisions.iter().any(|d| d.quote_id == current.id);
    Ok(match standing(&opened)? {
        Standing::Open(current) => page(
            StatusCode::OK,
            pages::answer_page(&answer_page(&opened, &current, own.filter(|_| is_news(&current)))?),
        ),
        Standing::Answered(row, answer) => page(
            StatusCode::OK,
            pages::answered_page(&answered_page(&opened, &row, &answer, just_now)?),
        ),
        Standing::Not(row, because) => page(
            StatusCode::GONE,
            pages::not_answerable_page(&not_answerable_page(&opened, &row, because)?),
        ),
    })
}

/// A link makes one decision at a time and has no key; deciding twice the same way is harmless.
fn without_key(opened: &Opened) -> Once {
    Once { actor: opened.link.id.to_string(), key: None, body_hash: Vec::new() }
}

/// What the form says, once nothing is wrong with it.
struct Sent {
    answer: Option<Answer>,
    typed: Typed,
    errors: Vec<AnswerError>,
}

fn read(form: &Form) -> Option<Sent> {
    if !form.holds_only(&["quote_version", "content_hash", "name", "question", "answer"], &["line"])
    {
        return None;
    }
    let answer = match form.one("answer") {
        "" => None,
        word => Some(Answer::from_spelling(word)?),
    };
    let (name, question) = (form.typed("name"), form.typed("question"));
    let mut errors = Vec::new();
    if name.held_nul {
        errors.push(AnswerError::NameUnkeepable);
    } else if name.is_blank() {
        errors.push(AnswerError::NameMissing);
    } else if name.is_longer_than(NAME_MOST) {
        errors.push(AnswerError::NameTooLong);
    }
    if question.held_nul {
        errors.push(AnswerError::QuestionUnkeepable);
    } else if answer == Some(Answer::Questions) && question.is_blank() {
        errors.push(AnswerError::QuestionMissing);
    } else if question.is_longer_than(QUESTION_MOST) {
        errors.push(AnswerError::QuestionTooLong);
    }
    if answer.is_none() {
        errors.push(AnswerError::ChoiceMissing);
    }
    let lines = form.all("line").map(ToOwned::to_owned).collect();
    Some(Sent { answer, typed: Typed { name: name.text, question: question.text, lines }, errors })
}

/// The lines ticked, as a decision names them: optional ones by themselves, those that cannot be
/// undone also by their operation. None when a line is not of this version.
fn ticked(content: &QuoteContent, lines: &[String]) -> Option<(Vec<Uuid>, Vec<OperationId>)> {
    let mut chosen = Vec::new();
    let mut by_name = Vec::new();
    for id in lines {
        let id = Uuid::parse_str(id).ok()?;
        let line = content
            .lines
            .iter()
            .find(|line| line.id == id && (line.optional || line.irreversible))?;
        if line.optional {
            chosen.push(id);
        }
        by_name.extend(line.operation_id.filter(|_| line.irreversible));
    }
    Some((chosen, by_name))
}

/// Takes the answer.
pub(super) async fn decide(
    parts: Data<Parts>,
    request: HttpRequest,
    payload: Payload,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Answer).await?;
    let unreadable = || Instead::Unreadable { back: Some(opened.page("answer")) };
    let form = Form::read(&request, payload).await?;
    let sent = read(&form).ok_or_else(unreadable)?;
    // The version the reader had before them, by number and exact content; it need not be the
    // one the link was issued for.
    let before_them = form.one("quote_version").parse::<i32>().ok().and_then(|number| {
        let hash = Some(form.one("content_hash"));
        opened.rows.quotes.iter().find(|q| {
            q.number == number && q.sent_at.is_some() && q.content_hash.as_deref() == hash
        })
    });
    let before_them = before_them.ok_or_else(unreadable)?.clone();
    let (chosen_lines, accepted_by_name) =
        ticked(&before_them.content()?, &sent.typed.lines).ok_or_else(unreadable)?;

    let Some(answer) = sent.answer.filter(|_| sent.errors.is_empty()) else {
        return to_put_right(&opened, &before_them, sent);
    };
    let actor = Actor::owner(opened.shop(), sent.typed.name.trim());
    let quote = QuoteId(before_them.id);
    // A typed name is the first sign that a person, and no scanner, has the page before them.
    parts.acts.quote_seen(&actor, quote).await?;
    let accepts = answer == Answer::Accepted;
    let new = NewDecision {
        quote_version: before_them.number,
        content_hash: before_them.content_hash.clone().unwrap_or_default(),
        answer,
        chosen_lines: if accepts { chosen_lines } else { Vec::new() },
        accepted_by_name: if accepts { accepted_by_name } else { Vec::new() },
        how: AnswerHow::Link,
        typed_name: sent.typed.name.clone(),
        question: Some(sent.typed.question.clone()).filter(|_| answer == Answer::Questions),
    };
    match parts.acts.decide(&actor, quote, new, without_key(&opened)).await {
        Ok(_) => Ok(lead_on(&format!("{}?{RECORDED}", opened.page("answer")))),
        Err(Halt::Refused(refusal)) => {
            let now = open(&parts, &request, LinkPurpose::Answer).await?;
            not_taken(&now, &before_them, sent.typed, &refusal.words)
        }
        Err(Halt::Invalid(_)) => Err(unreadable()),
        Err(other) => Err(other.into()),
    }
}

/// The page with what was typed, and what has to be put right; or why nothing can be answered.
fn to_put_right(
    opened: &Opened,
    before_them: &QuoteRow,
    sent: Sent,
) -> Result<HttpResponse, Instead> {
    match standing(opened)? {
        Standing::Open(current) => {
            let mut facts = answer_page(opened, &current, Some(before_them))?;
            facts.typed = kept(sent.typed, &current, before_them);
            facts.errors = sent.errors;
            Ok(page(StatusCode::UNPROCESSABLE_ENTITY, pages::answer_page(&facts)))
        }
        Standing::Answered(..) | Standing::Not(..) => {
            not_taken(opened, before_them, sent.typed, "")
        }
    }
}

/// Why the answer was not taken: the order as it stands now, with the current version to answer
/// where there is one.
fn not_taken(
    opened: &Opened,
    before_them: &QuoteRow,
    typed: Typed,
    why: &str,
) -> Result<HttpResponse, Instead> {
    let content = match standing(opened)? {
        Standing::Open(current) => {
            let mut facts = answer_page(opened, &current, Some(before_them))?;
            if facts.superseded.is_none() {
                facts.notice = Some(AnswerNotice::NotRecorded(why.to_owned()));
            }
            facts.typed = kept(typed, &current, before_them);
            pages::answer_page(&facts)
        }
        Standing::Answered(row, answer) => {
            let because =
                NotAnswerable::AlreadyDecided(Box::new(decision(&opened.rows, &row, &answer)?));
            pages::not_answerable_page(&not_answerable_page(opened, &row, because)?)
        }
        Standing::Not(row, because) => {
            pages::not_answerable_page(&not_answerable_page(opened, &row, because)?)
        }
    };
    Ok(page(StatusCode::CONFLICT, content))
}

/// What was typed stays; ticks stay only on the version they were made on, since nothing may be
/// preselected on another.
fn kept(typed: Typed, current: &QuoteRow, before_them: &QuoteRow) -> Typed {
    if current.id == before_them.id { typed } else { Typed { lines: Vec::new(), ..typed } }
}

/// Takes an acceptance back that was a mistake.
pub(super) async fn mistake(
    parts: Data<Parts>,
    request: HttpRequest,
    payload: Payload,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Answer).await?;
    let unreadable = || Instead::Unreadable { back: Some(opened.page("answer")) };
    let form = Form::read(&request, payload).await?;
    if !form.holds_only(&["decision_id", "name", "reason"], &[]) {
        return Err(unreadable());
    }
    // Only a decision of this link's own order: the act would find any of the shop.
    let id = Uuid::parse_str(form.one("decision_id")).ok();
    let answer =
        opened.rows.decisions.iter().find(|d| Some(d.id) == id).ok_or_else(unreadable)?.clone();
    let row =
        opened.rows.quotes.iter().find(|q| q.id == answer.quote_id).ok_or_else(unreadable)?.clone();
    let (name, reason) = (form.typed("name"), form.typed("reason"));
    let mut errors = Vec::new();
    if name.held_nul {
        errors.push(MistakeError::NameUnkeepable);
    } else if name.is_blank() {
        errors.push(MistakeError::NameMissing);
    } else if name.is_longer_than(NAME_MOST) {
        errors.push(MistakeError::NameTooLong);
    }
    if reason.held_nul {
        errors.push(MistakeError::ReasonUnkeepable);
    } else if reason.is_longer_than(REASON_MOST) {
        errors.push(MistakeError::ReasonTooLong);
    }
    if !errors.is_empty() {
        let mut facts = answered_page(&opened, &row, &answer, false)?;
        if let Some(form) = &mut facts.mistake {
            (form.name, form.reason, form.errors) = (name.text, reason.text, errors);
        }
        return Ok(page(StatusCode::UNPROCESSABLE_ENTITY, pages::answered_page(&facts)));
    }
    let actor = Actor::owner(opened.shop(), name.text.trim());
    let new = NewDispute { typed_name: name.text, reason: Some(reason.text) };
    match parts.acts.dispute(&actor, DecisionId(answer.id), new, without_key(&opened)).await {
        Ok(_) => Ok(lead_on(&opened.page("answer"))),
        Err(Halt::Refused(_)) => {
            let now = open(&parts, &request, LinkPurpose::Answer).await?;
            let mut facts = answered_page(&now, &row, &answer, false)?;
            facts.too_late = true;
            facts.mistake = None;
            Ok(page(StatusCode::CONFLICT, pages::answered_page(&facts)))
        }
        Err(Halt::Invalid(_)) => Err(unreadable()),
        Err(other) => Err(other.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn errors(body: &str) -> Vec<AnswerError> {
        read(&Form::from_bytes(body.as_bytes()).unwrap()).unwrap().errors
    }

    #[test]
    fn a_choice_and_a_name_are_needed_and_nothing_else() {
        assert_eq!(errors("answer=accepted&name=Jonas+Lund&question="), []);
        assert_eq!(errors("answer=declined&name=Jonas+Lund"), []);
        assert_eq!(errors("answer=accepted&name=++"), [AnswerError::NameMissing]);
        assert_eq!(errors("name=Jonas"), [AnswerError::ChoiceMissing]);
        assert_eq!(
            errors("answer=questions&name=Jonas&question=%0D%0A"),
            [AnswerError::QuestionMissing]
        );
        assert_eq!(errors("answer=accepted&name=Jo%00nas"), [AnswerError::NameUnkeepable]);
        assert_eq!(
            errors(&format!("answer=accepted&name={}", "a".repeat(201))),
            [AnswerError::NameTooLong]
        );
        assert_eq!(errors(&format!("answer=accepted&name={}", "a".repeat(200))), []);
        let long = format!("answer=questions&name=Jonas&question={}", "a".repeat(4001));
        assert_eq!(errors(&long), [AnswerError::QuestionTooLong]);
    }

    #[test]
    fn a_word_that_is_no_answer_is_no_form() {
        for body in [
            "answer=yes&name=Jonas",
            "answer=accepted&answer=declined&name=Jonas",
            "answer=accepted&name=Jonas&shop=1",
        ] {
            assert!(read(&Form::from_bytes(body.as_bytes()).unwrap()).is_none(), "{body}");
        }
    }
}
