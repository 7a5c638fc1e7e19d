//! The words of the trade as types.

pub mod business_time;
pub mod claim_number;
pub mod quote_totals;
