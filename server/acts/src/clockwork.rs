//! What the clock does in each shop: quotes that ran out, clocks left running at closing time.

use crate::desk::{Actor, Acts, Halt};
use chrono::Duration;
use store::operations;
use store::quotes;
use store::{Word, shops};
use trade::rules::stages::Act;
use trade::words::business_time::Calendar;
use trade::words::ids::{QuoteId, ShopId, WorkOrderId};
use trade::words::paperwork::QuoteState;
use trade::words::stage::{Because, Stage};

impl Acts {
    /// Lets the quotes of one shop run out whose last day is over: an order with nothing accepted
    /// goes back to the examination, the others stay and wait for the shop. Gives how many.
    ///
    /// # Errors
    /// When the database refuses; what ran out before that is kept.
    pub async fn expire_quotes(&self, shop: ShopId) -> Result<usize, Halt> {
        let desk = self.desk(&Actor::clock(shop));
        let now = desk.now;
        let out: Vec<(WorkOrderId, uuid::Uuid)> = self
            .store
            .read(shop, move |conn| {
                let today = shops::current(conn)?.date_at(now)?;
                Ok::<_, Halt>(quotes::run_out(conn, today)?.into_iter().map(|q| (WorkOrderId(q.work_order_id), q.id)).collect())
            })
            .await?;
        let (mut count, mut trouble) = (0, None);
        for (order, quote) in out {
            // Trouble with one order does not keep the others waiting.
            match self.expire_quote(shop, order, QuoteId(quote)).await {
                Ok(_) => count += 1,
                Err(halt) => trouble = Some(halt),
            }
        }
        trouble.map_or(Ok(count), Err)
    }

    /// Lets one quote run out whose last day is over; harmless for any other. Gives whether it did.
    ///
    /// # Errors
    /// [`Halt::Absent`]; when the database refuses.
    pub async fn expire_quote(&self, shop: ShopId, order: WorkOrderId, quote: QuoteId) -> Result<bool, Halt> {
        let desk = self.desk(&Actor::clock(shop));
        self.store
            .write(shop, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                let today = desk.today(&rows)?;
                let Some(at) = rows
                    .quotes
                    .iter()
                    .position(|q| q.id == quote.0 && q.state.0 == QuoteState::Sent && q.expires_on < today)
                else {
                    return Ok::<_, Halt>(false);
                };
                let moves = rows.order.stage.0 == Stage::Approval && rows.acceptances()?.is_empty();
                let step = if moves {
                    Some(desk.may_move(&rows, Stage::Diagnosis, Because::Expired, None, Some(Act::Expire))?)
                } else {
                    None
                };
                let row = &mut rows.quotes[at];
                row.state = Word(QuoteState::Expired);
                row.version += 1;
                quotes::save(tx, row)?;
                match step {
                    Some(step) => {
                        desk.make(tx, &mut rows, step, None)?;
                    }
                    None => desk.recorded(tx, &mut rows, "quote_expired", "a quote's time ran out")?,
                }
                Ok(true)
            })
            .await
    }

    /// Stops the clocks of one shop that still run after closing time, at that closing time, and
    /// marks them to be checked. Gives how many.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn stop_clocks_after_closing(&self, shop: ShopId) -> Result<usize, Halt> {
        let desk = self.desk(&Actor::clock(shop));
        let now = desk.now;
        let (calendar, running) = self
            .store
            .read(shop, move |conn| {
                let row = shops::current(conn)?;
                let calendar: Calendar = serde_json::from_value(row.calendar)
                    .map_err(|e| store::Error::Unreadable(format!("calendar: {e}")))?;
                Ok::<_, Halt>((calendar, operations::running_clocks(conn)?))
            })
            .await?;
        let (mut count, mut trouble) = (0, None);
        for time in running {
            // The first closing after the clock was started; whoever starts after hours is let
            // be until the end of the shop's next opening.
            let Some(closed) = calendar.open_spans(time.started_at).take_while(|span| span.from < now).last().map(|span| span.to) else {
                continue;
            };
            let first_close = calendar.open_spans(time.started_at).next().map_or(closed, |span| last_close_of_day(&calendar, span.to));
            if first_close + Duration::minutes(1) > now {
                continue;
            }
            let desk = desk.clone();
            let done = self
                .store
                .write(shop, move |tx| {
                    let mut rows = desk.open(tx, WorkOrderId(time.work_order_id), None)?;
                    if rows.times.iter().any(|t| t.id == time.id && t.stopped_at.is_none()) {
                        desk.stop_to_check(tx, &mut rows, &time, first_close)?;
                        desk.recorded(tx, &mut rows, "clock", "a clock was stopped at closing time; please check")?;
                    }
                    Ok::<_, Halt>(())
                })
                .await;
            match done {
                Ok(()) => count += 1,
                Err(halt) => trouble = Some(halt),
            }
        }
        trouble.map_or(Ok(count), Err)
    }
}

/// The end of the last opening on the day of `close`: a lunch break stops no clock.
fn last_close_of_day(calendar: &Calendar, close: chrono::DateTime<chrono::Utc>) -> chrono::DateTime<chrono::Utc> {
    let day = calendar.local_date(close - Duration::seconds(1));
    calendar.open_intervals(day).last().map_or(close, |span| span.to.max(close))
}
