//! The words of the trade as types.

pub mod business_time;
pub mod care_notes;
pub mod claim_number;
pub mod ids;
pub mod instrument;
pub mod money;
pub mod own_or_typical;
pub mod paperwork;
pub mod photo;
pub mod quote;
pub mod quote_totals;
pub mod said;
pub mod shop_date;
pub mod spelling;
pub mod stage;
pub mod zone;
