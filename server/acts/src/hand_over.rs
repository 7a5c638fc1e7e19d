//! Handing over at the counter: the amount due, the accessories, who collected.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::small_things::NewPayment;
use mail::LetterKind;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::desk_fields;
use store::order_rows::OrderRows;
use store::small_things::{self, HandoverRow};
use store::views::{Accessory, WorkOrder};
use store::{Once, Tx, work_orders};
use trade::rules::facts::By;
use trade::rules::stages::Act;
use trade::words::ids::WorkOrderId;
use trade::words::money::Money;
use trade::words::paperwork::{PaymentHow, PaymentKind};
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;

/// Collected or shipped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HandoverHow {
    /// Collected at the counter.
    Collected,
    /// Sent to the customer.
    Shipped,
}

/// A payment at the handover.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandoverPayment {
    /// How much.
    pub amount: Money,
    /// How.
    pub how: PaymentHow,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
    /// Whether more than is due is meant.
    #[serde(default)]
    pub more_than_due: bool,
}

/// The proprietor waives what is still due.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Waiver {
    /// Why.
    pub reason: String,
}

/// An accessory that cannot be handed back.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LostAccessory {
    /// Which, by its name.
    pub name: String,
    /// What became of it, as the record and the letter say it.
    pub reason: String,
}

/// A handover.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewHandover {
    /// Collected or shipped.
    pub how: HandoverHow,
    /// Who collected it; when shipped, the carrier and number.
    pub collected_by: String,
    /// Accessories that were handed back, by name.
    #[serde(default)]
    pub accessories_returned: Vec<String>,
    /// Accessories that cannot be handed back, with what became of each.
    #[serde(default)]
    pub accessories_lost: Vec<LostAccessory>,
    /// Whether the loaner came back, where the customer had one.
    #[serde(default)]
    pub loaner_returned: bool,
    /// What was paid now.
    #[serde(default)]
    pub payment: Option<HandoverPayment>,
    /// Whether the rest is charged to the customer's account.
    #[serde(default)]
    pub charge_to_account: bool,
    /// Whether the proprietor waives the rest.
    #[serde(default)]
    pub waive: Option<Waiver>,
    /// In words.
    #[serde(default)]
    pub note: Option<String>,
}

impl Desk {
    /// Hands a locked order over and closes it, with the letter that `kind` names or the move's own.
    pub fn hand_over(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewHandover, kind: Option<LetterKind>) -> Result<(), Halt> {
        self.actor.must_be(&[By::FrontDesk])?;
        let mut checks = Checks::default();
        checks.said("/collected_by", &new.collected_by, LINE);
        checks.short("/note", new.note.as_deref(), TEXT);
        let because = match new.how {
            HandoverHow::Collected => Because::Collected,
            HandoverHow::Shipped => Because::Shipped,
        };
        // Where nothing stands ready, that is said first, not what is wrong with the rest.
        if rows.order.stage.0 != Stage::Pickup {
            self.may_move(rows, Stage::Closed, because, None, Some(Act::HandOver))?;
        }
        let mut accessories = rows.accessories()?;
        for (index, name) in new.accessories_returned.iter().enumerate() {
            // Two mutes are two accessories of one name.
            let same = |a: &&mut Accessory| a.name == name.trim() && a.lost.is_none();
            match accessories.iter_mut().filter(same).min_by_key(|a| a.returned) {
                Some(accessory) => accessory.returned = true,
                None => checks.fault(format!("/accessories_returned/{index}"), "did not come with the instrument"),
            }
        }
        for (index, lost) in new.accessories_lost.iter().enumerate() {
            checks.said(&format!("/accessories_lost/{index}/reason"), &lost.reason, LINE);
            match accessories.iter_mut().find(|a| a.name == lost.name.trim() && !a.returned && a.lost.is_none()) {
                Some(accessory) => accessory.lost = tidy(Some(&lost.reason)),
                None => checks.fault(format!("/accessories_lost/{index}/name"), "did not come with the instrument, or was handed back"),
            }
        }
        if let Some(waive) = &new.waive {
            checks.said("/waive/reason", &waive.reason, TEXT);
        }
        if new.loaner_returned && rows.desk_fields.loaner_number.is_none() {
            checks.fault("/loaner_returned", "cannot be: the customer has no loaner");
        }
        if new.waive.is_some() && new.charge_to_account {
            checks.fault("/charge_to_account", "and waive exclude each other");
        }
        checks.done()?;
        if let Some(payment) = &new.payment {
            let payment = NewPayment {
                amount: payment.amount,
                kind: if payment.how == PaymentHow::Account { PaymentKind::Account } else { PaymentKind::Balance },
                how: payment.how,
                note: payment.note.clone(),
                more_than_due: payment.more_than_due,
            };
            self.take_payment(tx, rows, &payment, "/payment")?;
        }
        let rest = rows.due()?;
        if new.charge_to_account && rest > Decimal::ZERO {
            let amount = store::order_view::money(rest, rows.shop.currency()?)?;
            let payment = NewPayment { amount, kind: PaymentKind::Account, how: PaymentHow::Account, note: None, more_than_due: false };
            self.take_payment(tx, rows, &payment, "/payment")?;
        }
        let waived = match &new.waive {
            Some(_) if rest > Decimal::ZERO => {
                self.actor.must_be(&[By::Proprietor])?;
                rest
            }
            _ => Decimal::ZERO,
        };
        let handover = HandoverRow {
            shop_id: self.actor.shop.0,
            work_order_id: rows.order.id,
            collected_by: new.collected_by.trim().to_owned(),
            waived,
            waived_reason: new.waive.as_ref().and_then(|w| tidy(Some(&w.reason))),
            note: tidy(new.note.as_deref()),
            handed_by: self.actor.person()?.0,
            handed_at: self.now,
        };
        rows.handover = Some(handover.clone());
        rows.order.accessories = json!(accessories);
        if new.loaner_returned && rows.desk_fields.loaner_number.is_some() && rows.desk_fields.loaner_back_at.is_none() {
            rows.desk_fields.loaner_back_at = Some(self.now);
            desk_fields::save(tx, &rows.desk_fields)?;
        }
        let step = self.may_move(rows, Stage::Closed, because, None, Some(Act::HandOver))?;
        small_things::add_handover(tx, &handover)?;
        work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        match kind {
            Some(kind) => self.make_telling(tx, rows, step, None, kind)?,
            None => self.make(tx, rows, step, None)?,
        };
        Ok(())
    }
}

impl Acts {
    /// Hands an order over and closes it.
    ///
    /// # Errors
    /// [`Halt::Stale`], [`Halt::Invalid`]; `amount-due`; `accessories`; `not-yours`.
    pub async fn hand_over(&self, actor: &Actor, order: WorkOrderId, seen: i32, new: NewHandover, once: Once) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.hand_over(tx, &mut rows, &new, None)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }
}
