//! The status page, its calendar file, and the reader's wish about e-mails.

use super::form::{self, Form};
use super::instead::Instead;
use super::link::{Opened, open};
use super::{lead_on, order_facts, page, promised, status_facts};
use crate::pages::facts::AskedAgain;
use crate::pages::{ReadyDay, ready_ics, status_page};
use crate::state::Parts;
use actix_web::http::StatusCode;
use actix_web::http::header::{CONTENT_DISPOSITION, HeaderValue, RETRY_AFTER};
use actix_web::web::{Data, Payload};
use actix_web::{HttpRequest, HttpResponse};
use acts::{Actor, Halt};
use store::Once;
use store::order_view::claim_number;
use trade::words::ids::{CustomerId, WorkOrderId};
use trade::words::paperwork::{LinkPurpose, MailWanted};
use trade::words::spelling::Spelt;

/// What the address says after the wish was changed.
const CHANGED: &str = "changed";
/// What the address says after the quote was sent once more.
const SENT: &str = "sent";

/// The page, also where a mail program opens the address of the wish.
pub(super) async fn show(
    parts: Data<Parts>,
    request: HttpRequest,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Status).await?;
    let mut facts = status_facts::status_page(&opened, request.query_string() == CHANGED)?;
    facts.asked_again = (request.query_string() == SENT).then_some(AskedAgain::Sent);
    Ok(page(StatusCode::OK, status_page(&facts)))
}

/// The quote once more, to the owner's address that is known. What opens links and presses their
/// buttons by itself brings the owner one letter and no decision.
pub(super) async fn again(
    parts: Data<Parts>,
    request: HttpRequest,
    payload: Payload,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Status).await?;
    let back = Some(opened.page("status"));
    let form = Form::read(&request, payload).await?;
    if !form.holds_only(&["again"], &[]) || form.one("again") != "quote" || !opened.reader_is_owner() {
        return Err(Instead::Unreadable { back });
    }
    let actor = Actor::owner(opened.shop(), &opened.rows.owner.name);
    let order = WorkOrderId(opened.rows.order.id);
    let once = Once { actor: opened.link.id.to_string(), key: None, body_hash: Vec::new() };
    match parts.acts.ask_again(&actor, order, once).await {
        Ok(()) => Ok(lead_on(&format!("{}?{SENT}", opened.page("status")))),
        Err(Halt::Refused(refusal)) if refusal.slug == "too-soon" => {
            let mut facts = status_facts::status_page(&opened, false)?;
            facts.asked_again = Some(AskedAgain::TooSoon);
            let mut answer = page(StatusCode::TOO_MANY_REQUESTS, status_page(&facts));
            answer.headers_mut().insert(RETRY_AFTER, HeaderValue::from_static("600"));
            Ok(answer)
        }
        // Answered or taken back since the page was opened: the page says how it stands now.
        Err(Halt::Refused(_)) => Ok(lead_on(&opened.page("status"))),
        Err(other) => Err(other.into()),
    }
}

/// The day for a calendar.
pub(super) async fn ready_day(
    parts: Data<Parts>,
    request: HttpRequest,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Status).await?;
    let rows = &opened.rows;
    let Some((day, is_ready)) = status_facts::ready_day(rows, opened.today)? else {
        return Err(Instead::NoDate { status_url: opened.page("status") });
    };
    let shop = order_facts::shop(&rows.shop);
    let number = claim_number(rows.order.claim_count)?;
    let file = ready_ics(&ReadyDay {
        uid: format!("{}@{}", rows.order.id, host_of(&parts.acts.public_url)),
        stamp: rows.order.changed_at,
        sequence: u32::try_from(rows.order.version).unwrap_or(0),
        day,
        is_ready,
        claim_number: number.clone(),
        family: rows.instrument.family.0.words().to_owned(),
        shop_name: shop.name,
        shop_address: shop.address,
        shop_phone: shop.phone,
        shop_hours: shop.hours,
        // A calendar is often shared with others, and the link is the reader's alone.
        status_url: None,
    });
    let mut answer = HttpResponse::Ok();
    promised(&mut answer);
    Ok(answer
        .content_type("text/calendar; charset=utf-8")
        .insert_header((CONTENT_DISPOSITION, format!("inline; filename=\"ready-{number}.ics\"")))
        .body(file))
}

/// The name of the machine in an address such as `https://shop.example:8443`.
fn host_of(address: &str) -> &str {
    let rest = address.split_once("://").map_or(address, |(_, rest)| rest);
    rest.split(['/', ':']).next().filter(|host| !host.is_empty()).unwrap_or("bellbrace.example")
}

/// The wish about e-mails: from the page's own form, or a mail program's one click (RFC 8058),
/// which means "only when asked". A mail program is answered with the page itself: it follows
/// no redirect.
pub(super) async fn wish(
    parts: Data<Parts>,
    request: HttpRequest,
    payload: Payload,
) -> Result<HttpResponse, Instead> {
    let opened = open(&parts, &request, LinkPurpose::Status).await?;
    let back = Some(opened.page("status"));
    let bytes = form::body(payload).await?;
    if form::is_one_click(&request, &bytes) {
        choose(&parts, &opened, MailWanted::OnlyWhenAsked).await?;
        let opened = open(&parts, &request, LinkPurpose::Status).await?;
        return Ok(page(StatusCode::OK, status_page(&status_facts::status_page(&opened, true)?)));
    }
    if form::kind_of(&request) != "application/x-www-form-urlencoded" {
        return Err(Instead::WrongType);
    }
    let wanted = Form::from_bytes(&bytes)
        .filter(|form| form.holds_only(&["mail_wanted"], &[]))
        .and_then(|form| MailWanted::from_spelling(form.one("mail_wanted")))
        .ok_or(Instead::Unreadable { back })?;
    choose(&parts, &opened, wanted).await?;
    Ok(lead_on(&format!("{}?{CHANGED}", opened.page("status"))))
}

async fn choose(parts: &Parts, opened: &Opened, wanted: MailWanted) -> Result<(), Instead> {
    // A reader who no longer stands on the order has nothing to choose; that is no fault of theirs.
    let Some(reader) = status_facts::reader(opened) else { return Ok(()) };
    let actor = Actor::owner(opened.shop(), &reader.name);
    Ok(parts.acts.choose_mail(&actor, CustomerId(reader.id), wanted).await?)
}

#[cfg(test)]
mod tests {
    use super::host_of;

    #[test]
    fn the_machine_of_an_address_is_named() {
        assert_eq!(host_of("https://shop.example:8443"), "shop.example");
        assert_eq!(host_of("http://127.0.0.1:8080"), "127.0.0.1");
        assert_eq!(host_of("https://shop.example/bell"), "shop.example");
        assert_eq!(host_of(""), "bellbrace.example");
    }
}
