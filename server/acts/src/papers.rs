//! Printing at the counter. What is printed with a customer's link issues that link: the links
//! that were given out before go on opening what they open, until somebody withdraws them.

use crate::desk::{Actor, Acts, Halt};
use crate::links::{Opens, address, shown};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeSet, HashSet};
use store::Once;
use store::views::Link;
use trade::rules::facts::By;
use trade::words::ids::{LinkId, WorkOrderId};
use utoipa::ToSchema;

/// As many instruments one receipt may list.
const MOST_TOGETHER: usize = 30;

/// What the tag is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum TagPaper {
    /// A label of 62 × 100 mm: the shop's half only, without the customer's link.
    #[serde(rename = "label_62")]
    Label62,
    /// A tag of A6 with the customer's half on its stub.
    TagA6,
}

/// Which tag is wanted.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewTag {
    /// On which paper.
    pub paper: TagPaper,
}

/// What a receipt is printed on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ReceiptPaper {
    /// A4.
    #[default]
    A4,
    /// A5.
    A5,
}

/// Which receipt is wanted.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewReceipt {
    /// On which paper; A4 if left out.
    #[serde(default)]
    pub paper: ReceiptPaper,
    /// Other orders of the same customer that the receipt lists too, at most 29.
    #[serde(default)]
    pub together_with: Vec<WorkOrderId>,
}

impl Acts {
    /// Issues a status link for each of these orders, all of one customer, and tells of it with
    /// the words `told`; the addresses are in this answer only, in the order given. Without
    /// `told` no link is issued and nothing changes: the paper carries none.
    ///
    /// `secret_of` makes the same secret for the same link every time, so that an answer kept for
    /// a repeated request holds none and still is the same answer.
    ///
    /// # Errors
    /// [`Halt::Absent`] where the first is no order of the shop; [`Halt::Invalid`] where another
    /// is none, is named twice, or is not the same customer's; `not-yours`.
    pub async fn links_to_print(
        &self,
        actor: &Actor,
        orders: Vec<WorkOrderId>,
        told: Option<&'static str>,
        once: Once,
        secret_of: impl Fn(LinkId) -> String + Clone + Send + 'static,
    ) -> Result<Vec<Link>, Halt> {
        let desk = self.desk(actor);
        let secret_in_act = secret_of.clone();
        let kept: Vec<Link> = self
            .store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                if orders.len() > MOST_TOGETHER {
                    return Err(Halt::invalid("/together_with", format!("are more than {}; print two receipts", MOST_TOGETHER - 1)));
                }
                let pointer = |index: usize| format!("/together_with/{}", index.saturating_sub(1));
                let mut named = HashSet::new();
                if let Some(twice) = orders.iter().position(|order| !named.insert(*order)) {
                    return Err(Halt::invalid(pointer(twice), "is named twice"));
                }
                // Each order is locked and raised by itself: what is printed of it is an act on it.
                // In the order of their ids, so that two desks do not wait for each other.
                let mut opened = Vec::new();
                for order in named.into_iter().collect::<BTreeSet<_>>() {
                    let index = orders.iter().position(|one| *one == order).unwrap_or_default();
                    match desk.open(tx, order, None) {
                        Err(Halt::Absent) if index > 0 => return Err(Halt::invalid(pointer(index), "is no work order of this shop")),
                        rows => opened.push((index, order, rows?)),
                    }
                }
                opened.sort_by_key(|(index, ..)| *index);
                let mut customer = None;
                let mut links = Vec::new();
                for (index, order, mut rows) in opened {
                    if *customer.get_or_insert(rows.customer.id) != rows.customer.id {
                        return Err(Halt::invalid(pointer(index), "was brought by somebody else; it gets a receipt of its own"));
                    }
                    let Some(told) = told else { continue };
                    // At the counter stands the contact.
                    let reader = rows.customer.id;
                    let (row, _) = desk.issue_link_with(tx, order, Opens::Status, reader, secret_in_act.clone())?;
                    desk.recorded(tx, &mut rows, "link_issued", told)?;
                    links.push(shown(&row, rows.order.version));
                }
                Ok::<_, Halt>(links)
            })
            .await?;
        Ok(kept
            .into_iter()
            .map(|link| Link { url: Some(address(&self.public_url, "status", &secret_of(link.id))), ..link })
            .collect())
    }

    /// The address of an order for staff, as the shop's half of a tag carries it: it opens nothing
    /// without signing in.
    #[must_use]
    pub fn staff_address(&self, claim_number: &str) -> String {
        format!("{}/work-orders/{claim_number}", self.public_url)
    }
}
