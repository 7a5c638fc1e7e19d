//! From the secret in an address to what it opens.

use super::instead::Instead;
use crate::state::Parts;
use actix_web::HttpRequest;
use actix_web::web::Data;
use acts::forecast::ready_if_answered;
use acts::links::hash_of;
use chrono::NaiveDate;
use store::links::{self, LinkRow};
use store::order_rows::{self, Named, OrderRows};
use store::shops;
use trade::words::ids::{ShopId, WorkOrderId};
use trade::words::paperwork::LinkPurpose;

/// What a link opened: one order, as it stands now.
#[derive(Debug, Clone)]
pub(super) struct Opened {
    /// As it stands in the address.
    pub secret: String,
    /// The link.
    pub link: LinkRow,
    /// Everything on its order.
    pub rows: OrderRows,
    /// Today in the shop.
    pub today: NaiveDate,
    /// When it would be ready if the owner said yes now, on a page that asks; none when the
    /// forecast cannot say.
    pub ready_if_answered: Option<NaiveDate>,
}

/// The secret of an address, without what a mail program or a person drags along at its end;
/// none when it cannot be one.
pub(super) fn secret_of(request: &HttpRequest) -> Option<String> {
    let typed = request.match_info().get("token")?.trim();
    let secret = typed.trim_end_matches(['.', ',', ';', ':', '!', '?', ')', ']', '>', '"', '\'']);
    let well = (16..=128).contains(&secret.len())
        && secret.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    well.then(|| secret.to_owned())
}

/// Counts a link that opens nothing against the address it was tried from. Links that open
/// something are never counted: a school behind one address opens as many as it likes.
pub(super) fn unknown(parts: &Parts, request: &HttpRequest) -> Instead {
    let address = parts.address_of(request);
    if parts.tries_by_address.check_key(&address).is_err() {
        Instead::TooMany
    } else {
        Instead::Unknown
    }
}

enum Found {
    Order(LinkRow, Box<OrderRows>, Option<NaiveDate>),
    Withdrawn(String),
    RanOut(String),
    Nothing,
}

/// Opens the order of a link for this purpose.
///
/// # Errors
/// The page to show instead.
pub(super) async fn open(
    parts: &Data<Parts>,
    request: &HttpRequest,
    purpose: LinkPurpose,
) -> Result<Opened, Instead> {
    let forecasts = purpose == LinkPurpose::Answer;
    open_asking(parts, request, purpose, forecasts).await
}

/// [`open`], for what lies below a page and shows no date.
///
/// # Errors
/// The page to show instead.
pub(super) async fn open_below(
    parts: &Data<Parts>,
    request: &HttpRequest,
    purpose: LinkPurpose,
) -> Result<Opened, Instead> {
    open_asking(parts, request, purpose, false).await
}

async fn open_asking(
    parts: &Data<Parts>,
    request: &HttpRequest,
    purpose: LinkPurpose,
    forecasts: bool,
) -> Result<Opened, Instead> {
    let Some(secret) = secret_of(request) else { return Err(unknown(parts, request)) };
    let hash = hash_of(&secret);
    let store = &parts.acts.store;
    let Some((shop, id)) = store.directory(move |conn| links::lookup(conn, &hash)).await? else {
        return Err(unknown(parts, request));
    };
    let now = parts.acts.clock.now();
    let found = store
        .read(shop, move |conn| {
            let Some(link) = links::find(conn, id)?.filter(|link| link.purpose.0 == purpose) else {
                return Ok::<_, store::Error>(Found::Nothing);
            };
            if link.withdrawn_at.is_some() {
                return Ok(Found::Withdrawn(shops::current(conn)?.phone));
            }
            if link.expires_at.is_some_and(|at| at <= now) {
                return Ok(Found::RanOut(shops::current(conn)?.phone));
            }
            let Some(rows) = order_rows::find(conn, Named::Id(WorkOrderId(link.work_order_id)))? else {
                return Ok(Found::Nothing);
            };
            let ready = if forecasts { ready_if_answered(conn, &rows, now)? } else { None };
            Ok(Found::Order(link, Box::new(rows), ready))
        })
        .await?;
    let known = |phone: String| Some(phone).filter(|phone| !phone.trim().is_empty());
    match found {
        Found::Order(link, rows, ready_if_answered) => {
            let today = rows.shop.date_at(now)?;
            Ok(Opened { secret, link, rows: *rows, today, ready_if_answered })
        }
        Found::Withdrawn(phone) => Err(Instead::Withdrawn { phone: known(phone) }),
        Found::RanOut(phone) => Err(Instead::RanOut { phone: known(phone) }),
        Found::Nothing => Err(unknown(parts, request)),
    }
}

impl Opened {
    /// The shop of the link.
    pub fn shop(&self) -> ShopId {
        ShopId(self.link.shop_id)
    }

    /// Whether the link is the owner's own.
    pub fn reader_is_owner(&self) -> bool {
        self.link.customer_id == self.rows.owner.id
    }

    /// The address of the page of this link.
    pub fn page(&self, kind: &str) -> String {
        format!("/{kind}/{}", self.secret)
    }
}
