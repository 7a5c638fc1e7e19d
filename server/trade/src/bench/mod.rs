//! The sums of the bench, each a pure function of explicit input.

pub mod filler_amount;
pub mod fit;
pub mod fit_check;
pub mod further_findings;
pub mod heat_reach;
pub mod leak_rate;
pub mod metals;
pub mod order_of_work;
pub mod own_minutes;
pub mod plan;
pub mod plating_charge;
pub mod pressure_log;
pub mod pressure_test;
pub mod promise_date;
pub mod shop_limits;
mod steady_fall;
pub mod three_point;
pub mod straight_line;
