//! What every page of one order begins with, and the shop as its customers see it.

use super::link::Opened;
use crate::pages::facts::{Money, Order, Shop};
use rust_decimal::Decimal;
use store::order_rows::OrderRows;
use store::order_view::claim_number;
use store::shops::ShopRow;

/// The head of a page.
pub(super) fn order(opened: &Opened) -> Result<Order, store::Error> {
    let rows = &opened.rows;
    Ok(Order {
        shop: shop(&rows.shop),
        today: opened.today,
        claim_number: claim_number(rows.order.claim_count)?,
        family: rows.instrument.family.0.words().to_owned(),
        instrument_words: acts::instrument_in_full(rows),
        owners_number: rows.instrument.owners_number.clone(),
        reader_is_owner: opened.reader_is_owner(),
    })
}

/// The shop.
pub(super) fn shop(row: &ShopRow) -> Shop {
    Shop {
        name: row.name.clone(),
        phone: some(&row.phone),
        address: some(&row.address),
        hours: acts::hours_in_words(&row.calendar),
        time_zone: row.time_zone.clone(),
    }
}

pub(super) fn some(text: &str) -> Option<String> {
    (!text.trim().is_empty()).then(|| text.trim().to_owned())
}

/// A sum in the shop's currency.
pub(super) fn money(rows: &OrderRows, amount: Decimal) -> Money {
    Money::new(amount, &rows.shop.currency)
}
