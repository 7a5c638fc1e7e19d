//! The papers of the counter: label, tag, receipt. Asked for by `POST`, because printing the
//! customer's half issues a link; looking (`GET`) never does.

use crate::extract::{Body, OnceKey, OrderPath, SignedIn};
use crate::problem::{Kind, Problem};
use crate::state::Parts;
use actix_web::http::StatusCode;
use actix_web::http::header;
use actix_web::web::{self, Data, ServiceConfig};
use actix_web::{HttpRequest, HttpResponse, post};
use acts::Halt;
use acts::drawn_map::{counter_map, lettered_mark, mark_words};
use acts::papers::{NewReceipt, NewTag, ReceiptPaper, TagPaper};
use chrono::{DateTime, Utc};
use paper::facts::{Hears, OwnPage, Shop, Visit};
use paper::sheets::{SHEETS, Sheet};
use paper::square::TooLong;
use rust_decimal::Decimal;
use serde::Serialize;
use store::order_rows::{self, Named, OrderRows};
use store::order_view::claim_number;
use store::views::Link;
use trade::words::ids::{ShopId, WorkOrderId};
use trade::words::paperwork::{MailWanted, PaymentKind};
use trade::words::said::{Money, long_date};
use utoipa::ToSchema;

/// A paper, ready to be printed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Paper {
    /// The whole page as HTML, without script. Its sheet, which names the size of the paper, lies
    /// on this server; the page is complete once that is fetched.
    pub html: String,
    /// The links that were issued for it, one for each order that it lists. A label issues none.
    pub links: Vec<Link>,
}

/// Print a label or a tag. A tag issues a new link to the customer's status page, for its stub.
#[utoipa::path(tag = "papers", params(("id" = String, Path)), request_body = NewTag, responses((status = 201, body = Paper)))]
#[post("/work-orders/{id}/tag")]
pub async fn tag(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewTag>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let told = match body.value.paper {
        TagPaper::Label62 => None,
        TagPaper::TagA6 => Some("a tag was printed"),
    };
    let links = issued(&parts, &who, vec![order.0], told, once).await?;
    let (shop, mut visits) = visits(&parts, who.actor.shop, vec![order.0], false).await?;
    let visit = visits.pop().ok_or_else(|| Problem::new(Kind::Absent))?;
    let staff = parts.acts.staff_address(&visit.claim_number);
    let html = match links.first().and_then(|link| link.url.clone()) {
        None => paper::label_page(&visit, &staff),
        Some(address) => paper::tag_page(&shop, &OwnPage { visit, address }, &staff),
    };
    printed(html, links)
}

/// Print a receipt, for one instrument or for several that the same customer left. Issues a new
/// link to the customer's status page of each.
#[utoipa::path(tag = "papers", params(("id" = String, Path)), request_body = NewReceipt, responses((status = 201, body = Paper)))]
#[post("/work-orders/{id}/receipt")]
pub async fn receipt(parts: Data<Parts>, who: SignedIn, order: OrderPath, once: OnceKey, body: Body<NewReceipt>) -> Result<HttpResponse, Problem> {
    let once = once.of(&who, &body);
    let sheet = match body.value.paper {
        ReceiptPaper::A4 => Sheet::ReceiptA4,
        ReceiptPaper::A5 => Sheet::ReceiptA5,
    };
    let mut orders = vec![order.0];
    orders.extend(body.value.together_with);
    let links = issued(&parts, &who, orders.clone(), Some("a receipt was printed"), once).await?;
    let is_one = orders.len() == 1;
    let (shop, visits) = visits(&parts, who.actor.shop, orders, is_one).await?;
    let address = |link: &Link| link.url.clone().ok_or_else(|| store::Error::Unreadable(format!("link {} without its address", link.id)));
    let own = visits.into_iter().zip(&links).map(|(visit, link)| Ok(OwnPage { visit, address: address(link)? })).collect::<Result<Vec<_>, store::Error>>()?;
    printed(paper::receipt_page(sheet, &shop, &own), links)
}

async fn issued(
    parts: &Data<Parts>,
    who: &SignedIn,
    orders: Vec<WorkOrderId>,
    told: Option<&'static str>,
    once: store::Once,
) -> Result<Vec<Link>, Problem> {
    let keys = parts.clone();
    Ok(parts.acts.links_to_print(&who.actor, orders, told, once, move |id| keys.keys.link_secret(id)).await?)
}

fn printed(html: Result<String, TooLong>, links: Vec<Link>) -> Result<HttpResponse, Problem> {
    let html = html.map_err(|_| {
        Halt::refused("address-too-long", "The address of this server is too long for a square that a phone can read. Set a shorter public address.")
    })?;
    Ok(HttpResponse::build(StatusCode::CREATED).insert_header((header::CACHE_CONTROL, "no-store")).json(Paper { html, links }))
}

/// The shop and the visits, as paper shows them, in the order asked for; `draws`: with the drawing
/// of the marks, whose letters they have then. One statement for each: an order is read with
/// everything on it.
async fn visits(parts: &Data<Parts>, shop: ShopId, orders: Vec<WorkOrderId>, draws: bool) -> Result<(Shop, Vec<Visit>), Problem> {
    let now = parts.acts.clock.now();
    parts
        .acts
        .store
        .read(shop, move |conn| {
            let mut shop = None;
            let mut visits = Vec::new();
            for order in orders {
                let rows = order_rows::find(conn, Named::Id(order))?.ok_or_else(|| Problem::new(Kind::Absent))?;
                visits.push(visit(&rows, now, draws)?);
                shop.get_or_insert_with(|| shop_of(&rows));
            }
            Ok::<_, Problem>((shop.ok_or_else(|| Problem::new(Kind::Absent))?, visits))
        })
        .await
}

fn shop_of(rows: &OrderRows) -> Shop {
    let shop = &rows.shop;
    Shop { name: shop.name.clone(), address: some(&shop.address), phone: some(&shop.phone), email: some(&shop.email) }
}

fn visit(rows: &OrderRows, now: DateTime<Utc>, draws: bool) -> Result<Visit, store::Error> {
    let (order, instrument) = (&rows.order, &rows.instrument);
    let money = |amount: Decimal| Money::new(amount, &rows.shop.currency);
    let came_on = rows.shop.date_at(order.checked_in_at)?;
    let make: Vec<&str> = [&instrument.maker, &instrument.model].into_iter().filter_map(|said| said.as_deref()).collect();
    let deposit: Decimal = rows.standing_payments().filter(|payment| payment.kind.0 == PaymentKind::Deposit).map(|payment| payment.amount).sum();
    Ok(Visit {
        claim_number: claim_number(order.claim_count)?,
        came_on,
        came_at: format!("{} {}", long_date(came_on, came_on), rows.shop.zone()?.local(order.checked_in_at).format("%Y, %H:%M")),
        today: rows.shop.date_at(now)?,
        family: instrument.family.0,
        make: some(&make.join(" ")),
        serial_number: instrument.serial_number.clone(),
        owners_number: instrument.owners_number.clone(),
        age: instrument.age_text.clone(),
        finish: instrument.finish.clone(),
        customer: rows.customer.name.clone(),
        owner: (rows.owner.id != rows.customer.id).then(|| rows.owner.name.clone()),
        complaint: order.complaint.clone(),
        came_with: rows.accessories()?.into_iter().map(|accessory| accessory.name).collect(),
        marks: rows.counter_marks.iter().map(if draws { lettered_mark } else { mark_words }).collect(),
        drawing: if draws { counter_map(rows, "map") } else { None },
        condition: order.condition_note.clone(),
        keep_as_is: order.keep_as_is.clone(),
        promised_on: order.promised_on,
        may_cost: order.may_cost.map(money),
        examination_fee: order.examination_fee.map(money),
        deposit: (deposit > Decimal::ZERO).then(|| money(deposit)),
        old_parts_back: rows.desk_fields.old_parts_back,
        loaner_number: rows.desk_fields.loaner_number.clone().filter(|_| rows.desk_fields.loaner_back_at.is_none()),
        place: order.place.clone(),
        hears: match (&rows.customer.email, &rows.customer.phone) {
            (Some(_), _) if rows.customer.mail_wanted.0 == MailWanted::EveryChange => Hears::EveryChange,
            (Some(_), _) => Hears::WhenAsked,
            (None, Some(phone)) => Hears::ByPhone(phone.clone()),
            (None, None) => Hears::Asks,
        },
        terms: order.terms.clone(),
    })
}

fn some(text: &str) -> Option<String> {
    (!text.trim().is_empty()).then(|| text.trim().to_owned())
}

/// Registers the sheets of the papers. Stands before the staff client, whose files lie under
/// `/assets` too.
pub fn sheets(config: &mut ServiceConfig) {
    for sheet in SHEETS {
        config.route(&format!("/assets/paper-{}.css", sheet.name()), web::get().to(move |request: HttpRequest| async move { css(sheet, &request) }));
    }
}

/// Kept for good under the address that names its content, for five minutes under any other.
fn css(sheet: Sheet, request: &HttpRequest) -> HttpResponse {
    let is_current = sheet.address().split_once('?').is_some_and(|(_, hash)| hash == request.query_string());
    HttpResponse::Ok()
        .content_type("text/css; charset=utf-8")
        .insert_header((header::CACHE_CONTROL, if is_current { "public, max-age=31536000, immutable" } else { "public, max-age=300" }))
        .insert_header(("X-Content-Type-Options", "nosniff"))
        .insert_header(("Cross-Origin-Resource-Policy", "same-origin"))
        .body(sheet.css())
}
