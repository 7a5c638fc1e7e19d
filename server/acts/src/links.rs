//! Customers' links: one order, one purpose, a secret that is shown once.

use crate::desk::{Actor, Acts, Desk, Halt};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use rand::Rng;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use store::links::{self, LinkRow};
use store::views::Link;
use store::{Once, Tx, Word};
use trade::rules::facts::By;
use trade::words::ids::{LinkId, QuoteId, WorkOrderId};
use trade::words::paperwork::LinkPurpose;
use utoipa::ToSchema;
use uuid::Uuid;

/// The first character of every secret: later kinds can then carry a hint of where the shop lives.
const KIND: char = 'a';

/// A new secret: 192 random bits behind its kind.
#[must_use]
pub fn new_secret() -> String {
    let mut bytes = [0_u8; 24];
    rand::rng().fill_bytes(&mut bytes);
    format!("{KIND}{}", URL_SAFE_NO_PAD.encode(bytes))
}

/// What is stored of a secret.
#[must_use]
pub fn hash_of(secret: &str) -> Vec<u8> {
    Sha256::digest(secret.as_bytes()).to_vec()
}

/// What a link opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opens {
    /// The status page.
    Status,
    /// The answer page of this quote.
    Answer(QuoteId),
}

/// A secret from 192 bits that only this installation knows, behind its kind.
#[must_use]
pub fn secret_from(bytes: &[u8; 24]) -> String {
    format!("{KIND}{}", URL_SAFE_NO_PAD.encode(bytes))
}

impl Desk {
    /// Issues a link to `reader` and gives its complete address; the secret is stored nowhere.
    pub fn issue_link(&self, tx: &mut Tx<'_>, order: WorkOrderId, opens: Opens, reader: Uuid) -> Result<(LinkRow, String), Halt> {
        self.issue_link_with(tx, order, opens, reader, |_| new_secret())
    }

    /// The same with a secret that `secret_of` makes for the link.
    pub(crate) fn issue_link_with(
        &self,
        tx: &mut Tx<'_>,
        order: WorkOrderId,
        opens: Opens,
        reader: Uuid,
        secret_of: impl FnOnce(LinkId) -> String,
    ) -> Result<(LinkRow, String), Halt> {
        let (purpose, quote_id, page) = match opens {
            Opens::Status => (LinkPurpose::Status, None, "status"),
            Opens::Answer(quote) => (LinkPurpose::Answer, Some(quote.0), "answer"),
        };
        let row = LinkRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: order.0,
            purpose: Word(purpose),
            quote_id,
            issued_at: self.now,
            expires_at: None,
            withdrawn_at: None,
            customer_id: reader,
        };
        let secret = secret_of(LinkId(row.id));
        links::add(tx, &row, &hash_of(&secret))?;
        Ok((row, address(&self.public_url, page, &secret)))
    }
}

pub(crate) fn address(public_url: &str, page: &str, secret: &str) -> String {
    format!("{public_url}/{page}/{secret}")
}

/// What kind of link is wanted.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewLink {
    /// `status`, or `answer` for the quote that is out.
    pub purpose: LinkPurpose,
}

pub(crate) fn shown(row: &LinkRow, order_version: i32) -> Link {
    Link {
        id: LinkId(row.id),
        purpose: row.purpose.0,
        issued_at: row.issued_at,
        expires_at: row.expires_at,
        withdrawn_at: row.withdrawn_at,
        url: None,
        order_version,
    }
}

impl Acts {
    /// Issues a link for staff to hand over; its address is in this answer only.
    ///
    /// `secret_of` makes the same secret for the same link every time, so that an answer kept for
    /// a repeated request holds none and still is the same answer.
    ///
    /// # Errors
    /// `no-open-quote` for an answer link while no quote is out.
    pub async fn issue_link(
        &self,
        actor: &Actor,
        order: WorkOrderId,
        wanted: NewLink,
        once: Once,
        secret_of: impl Fn(LinkId) -> String + Clone + Send + 'static,
    ) -> Result<Link, Halt> {
        let desk = self.desk(actor);
        let secret_in_act = secret_of.clone();
        let kept = self
            .store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let mut rows = desk.open(tx, order, None)?;
                // At the counter stands the contact; the answer is the owner's.
                let (opens, reader) = match wanted.purpose {
                    LinkPurpose::Status => (Opens::Status, rows.customer.id),
                    LinkPurpose::Answer => {
                        let sent = rows.sent().ok_or_else(|| Halt::refused("no-open-quote", "No quote is waiting for an answer."))?;
                        (Opens::Answer(QuoteId(sent.id)), rows.owner.id)
                    }
                };
                let (row, _) = desk.issue_link_with(tx, order, opens, reader, secret_in_act)?;
                desk.recorded(tx, &mut rows, "link_issued", "a link was issued")?;
                Ok::<_, Halt>(shown(&row, rows.order.version))
            })
            .await?;
        let page = match kept.purpose {
            LinkPurpose::Status => "status",
            LinkPurpose::Answer => "answer",
        };
        let url = address(&self.public_url, page, &secret_of(kept.id));
        Ok(Link { url: Some(url), ..kept })
    }

    /// Withdraws a link of an order that was seen in this version; withdrawing it twice is harmless.
    ///
    /// # Errors
    /// [`Halt::Absent`]; [`Halt::Stale`].
    pub async fn withdraw_link(&self, actor: &Actor, id: LinkId, seen: i32) -> Result<Link, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let link = links::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let order = WorkOrderId(link.work_order_id);
                if link.withdrawn_at.is_some() {
                    return Ok(shown(&link, desk.open(tx, order, None)?.order.version));
                }
                let mut rows = desk.open(tx, order, Some(seen))?;
                links::withdraw(tx, id, desk.now)?;
                desk.recorded(tx, &mut rows, "link_withdrawn", "a link was withdrawn")?;
                Ok(shown(&LinkRow { withdrawn_at: Some(desk.now), ..link }, rows.order.version))
            })
            .await
    }
}
