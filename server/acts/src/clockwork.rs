//! What the clock does in each shop: quotes that ran out, clocks left running at closing time.

use crate::desk::{Actor, Acts, Desk, Halt};
use crate::letter_facts::write_letters;
use chrono::Duration;
use mail::LetterKind;
use store::operations;
use store::quotes;
use store::{Tx, Word, shops, work_orders};
use trade::rules::facts::Reminders;
use trade::rules::stages::Act;
use trade::rules::turns::waits_for;
use trade::words::business_time::Calendar;
use trade::words::ids::{QuoteId, ShopId, WorkOrderId};
use trade::words::paperwork::QuoteState;
use trade::words::stage::{Because, Stage, WaitsFor};

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

    /// Writes the reminders of one shop that are due: of a quote to its owner, of an instrument in
    /// pickup to its customer. Only whom the order waits for is reminded, and never twice on one
    /// day, so that a server that was away does not catch up all at once. Gives how many.
    ///
    /// # Errors
    /// When the database refuses; what was written before that is kept.
    pub async fn remind(&self, shop: ShopId) -> Result<usize, Halt> {
        let desk = self.desk(&Actor::clock(shop));
        let now = desk.now;
        let waiting: Vec<WorkOrderId> = self
            .store
            // The first reminder goes a day later at the earliest.
            .read(shop, move |conn| Ok::<_, Halt>(work_orders::waiting_since_before(conn, &[Stage::Approval, Stage::Pickup], now - Duration::hours(23))?))
            .await?;
        let (mut count, mut trouble) = (0, None);
        for order in waiting {
            match self.remind_of(shop, order).await {
                Ok(true) => count += 1,
                Ok(false) => {}
                Err(halt) => trouble = Some(halt),
            }
        }
        trouble.map_or(Ok(count), Err)
    }

    /// Writes the reminder of one order if one is due; harmless otherwise. Gives whether it did.
    ///
    /// # Errors
    /// [`Halt::Absent`]; when the database refuses.
    pub async fn remind_of(&self, shop: ShopId, order: WorkOrderId) -> Result<bool, Halt> {
        let desk = self.desk(&Actor::clock(shop));
        self.store.write(shop, move |tx| desk.remind(tx, order)).await
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

impl Desk {
    /// Writes the reminder of one order if it is due. The letters written before are what counts
    /// how many have gone, under the order's lock: once each, whoever's round it is.
    fn remind(&self, tx: &mut Tx<'_>, order: WorkOrderId) -> Result<bool, Halt> {
        let mut rows = self.open(tx, order, None)?;
        let today = self.today(&rows)?;
        if waits_for(&rows.facts(today)?) != WaitsFor::Customer {
            return Ok(false);
        }
        let (kind, due_on, words) = match rows.order.stage.0 {
            Stage::Approval => match rows.reminders(today)? {
                Reminders::NextOn(day) => (LetterKind::AnswerReminder, day, "the owner was reminded of the quote"),
                Reminders::AllSent | Reminders::NothingAsked => return Ok(false),
            },
            Stage::Pickup => match rows.next_pickup_reminder()? {
                Some(day) => (LetterKind::PickupReminder, day, "the customer was reminded to collect it"),
                None => return Ok(false),
            },
            Stage::Intake | Stage::Diagnosis | Stage::Bench | Stage::LeakTest | Stage::Closed => return Ok(false),
        };
        let since = rows.order.stage_since;
        let last = rows.letters_since(kind.spelling(), since).last().map(|letter| rows.shop.date_at(letter.queued_at)).transpose()?;
        if due_on > today || last.is_some_and(|last| last >= today) {
            return Ok(false);
        }
        write_letters(self, tx, &rows, kind, None)?;
        self.recorded(tx, &mut rows, "reminded", words)?;
        Ok(true)
    }
}

/// The end of the last opening on the day of `close`: a lunch break stops no clock.
fn last_close_of_day(calendar: &Calendar, close: chrono::DateTime<chrono::Utc>) -> chrono::DateTime<chrono::Utc> {
    let day = calendar.local_date(close - Duration::seconds(1));
    calendar.open_intervals(day).last().map_or(close, |span| span.to.max(close))
}
