//! The honest range of a quote: what may still turn up on an order, as far as anybody can say now.

use crate::desk::{Desk, Halt};
use chrono::Datelike;
use rust_decimal::Decimal;
use store::order_rows::OrderRows;
use store::{Tx, further, lists};
use trade::rules::further::{SeenOrder, cost_per_finding, hides, honest_range};
use trade::words::ids::InstrumentId;
use trade::words::instrument::{FoundWhen, Heat};
use trade::words::quote::FurtherRange;

impl Desk {
    /// What may still turn up on a locked order; none when nothing of the shop's has a price for it.
    pub(crate) fn honest_range(&self, tx: &mut Tx<'_>, rows: &OrderRows) -> Result<Option<FurtherRange>, Halt> {
        let currency = rows.shop.currency()?;
        let classes = rows.shop.tax_classes()?;
        let percent = classes.first().filter(|_| !rows.shop.prices_include_tax).map_or(Decimal::ZERO, |class| class.percent);
        let with_tax = |price: Decimal| price * (Decimal::ONE + percent / Decimal::from(100));
        let own: Vec<Decimal> = further::prices(tx.conn())?.into_iter().map(with_tax).collect();
        let methods: Vec<Decimal> = lists::methods(tx.conn())?
            .into_iter()
            .filter(|method| method.is_offered && method.heat.0 != Heat::None)
            .map(|method| with_tax(method.price))
            .collect();
        let Some(cost) = cost_per_finding(&own, &methods, currency) else { return Ok(None) };
        let history = further::history(tx.conn())?;
        let (construction, has_earlier_repair) = further::seen_of(tx.conn(), InstrumentId(rows.instrument.id))?;
        let counted: Vec<_> = rows.findings.iter().filter(|finding| finding.struck_reason.is_none()).collect();
        let order = SeenOrder {
            family: rows.instrument.family.0,
            age_text: rows.instrument.age_text.clone(),
            year: self.today(rows)?.year(),
            construction,
            has_earlier_repair,
            // Whatever was found beyond the first look was found on something opened.
            was_taken_apart: counted.iter().any(|finding| finding.found_when.0 != FoundWhen::FirstExamination),
            found_first: u32::try_from(counted.iter().filter(|finding| hides(finding.kind.0)).count()).unwrap_or(u32::MAX),
            found_later: 0,
        };
        Ok(honest_range(&order, &history, cost))
    }
}
