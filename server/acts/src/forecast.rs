//! The forecast of ready dates: made by a round, and asked for a new order at the check-in.

use crate::checks::Checks;
use crate::desk::{Actor, Acts, Halt};
use chrono::{DateTime, Duration, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::num::NonZeroUsize;
use store::order_rows::OrderRows;
use store::shops::ShopRow;
use store::forecasts::{self, Cause, Chance, NewForecast, OrderSaid, Said};
use store::views::{DateShare, NewOrderReady, NewOrdersForecast, SimilarCost};
use store::{Conn, Tx, events, lists, order_view, shops};
use trade::bench::promise_date::{CannotForecast, Kept, ReadyDates};
use trade::rules::promises::{
    CostRange, OpenStep, OrderAtWork, OrderForecast, Recomputed, ShopAtWork, ShopForecast, draws_for, forecast,
    if_answered_now, recomputed,
};
use trade::words::business_time::Calendar;
use trade::words::ids::{ShopId, WorkOrderId};
use trade::words::instrument::{Family, OperationKind};
use trade::words::money::{Currency, Money};
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// While the shop is open a forecast is made anew after so long, whatever happened: the round that
/// looks is a few seconds late at most, so none is older than a minute.
const GOOD_FOR: Duration = Duration::seconds(50);

/// The closed orders are looked at anew after so long; they change slowly.
const HISTORY_GOOD_FOR: Duration = Duration::minutes(15);

/// Draws for a new order: its shares are within 2.2 of 100 at 95 %.
const DRAWS_FOR_NEW: u32 = 2_000;

/// The most new orders that are forecast at once.
const MOST_NEW: usize = 60;

/// An order that may come.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AskedOrder {
    /// What it is.
    pub family: Family,
    /// Methods that it will surely need, by id; none: such jobs as they usually are.
    #[serde(default)]
    pub methods: Vec<Uuid>,
    /// What may be spent without asking.
    #[serde(default)]
    pub may_cost: Option<Money>,
    /// Not in the shop before this date of the shop.
    #[serde(default, deserialize_with = "trade::words::shop_date::optional")]
    pub available_on: Option<NaiveDate>,
    /// A date that is considered, to be told its chance.
    #[serde(default, deserialize_with = "trade::words::shop_date::optional")]
    pub promised_on: Option<NaiveDate>,
}

/// One or several orders that may come together.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AskedForecast {
    /// 1 to 60 of them.
    pub orders: Vec<AskedOrder>,
}

/// A share of draws as it is told.
fn chance(kept: Kept) -> Chance {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 100")]
    let whole = |figure: f64| figure as u32;
    Chance {
        of_twenty: whole((kept.probability * 20.0).round()),
        of_hundred: whole((kept.probability * 100.0).round()),
        low_of_hundred: whole((kept.interval.0 * 100.0).floor()),
        high_of_hundred: whole((kept.interval.1 * 100.0).ceil()),
    }
}

fn causes(ready: &ReadyDates) -> Vec<Cause> {
    #[expect(clippy::cast_possible_truncation, reason = "some thousand hours")]
    let hours = |days: f64| (days * 24.0).round() as i64;
    ready.causes.largest_first().iter().map(|(cause, mean)| Cause { cause: (*cause).to_owned(), mean_hours: hours(*mean) }).collect()
}

fn said(order: &OrderForecast, ready_if_answered: Option<NaiveDate>, helps: &[(WorkOrderId, Recomputed)]) -> OrderSaid {
    OrderSaid {
        work_order_id: order.id.0,
        ready_p50: order.ready.ready_by(50),
        ready_p85: order.ready.ready_by(85),
        ready_p95: order.ready.ready_by(95),
        likely_days_late: i32::try_from(order.likely_days_late).unwrap_or(i32::MAX),
        said: Said {
            twenty: order.ready.twenty().to_vec(),
            kept: order.kept.map(chance),
            largest_causes: causes(&order.ready),
            ready_if_answered,
            helps: helps.iter().find(|(id, _)| *id == order.id).map(|(_, helps)| *helps),
        },
    }
}

/// Open time after which what was forecast of an answer is not told any more: while the shop is
/// open a forecast is made every minute, so an older one says that none is made.
const ANSWER_GOOD_FOR: Duration = Duration::minutes(15);

/// When the order would be ready in 17 of 20 cases if its owner said yes to what is out now; none
/// when the latest forecast is older than the quote or too old to say. Two statements.
///
/// # Errors
/// When the database refuses; [`store::Error::Unreadable`].
pub fn ready_if_answered(conn: &mut Conn, rows: &OrderRows, now: DateTime<Utc>) -> Result<Option<NaiveDate>, store::Error> {
    let Some(sent_at) = rows.sent().and_then(|sent| sent.sent_at) else { return Ok(None) };
    let Some((as_of, ready)) = forecasts::if_answered(conn, WorkOrderId(rows.order.id))? else { return Ok(None) };
    let calendar = calendar(&rows.shop)?;
    let gone_by = calendar.open_seconds(as_of, now, &[]);
    let is_good = as_of >= sent_at && gone_by <= ANSWER_GOOD_FOR.num_seconds() && ready >= calendar.local_date(now);
    Ok(is_good.then_some(ready))
}

fn calendar(shop: &ShopRow) -> Result<Calendar, store::Error> {
    serde_json::from_value(shop.calendar.clone()).map_err(|e| store::Error::Unreadable(format!("calendar: {e}")))
}

/// What cannot be forecast is left without dates, and said so in the log: hours that never open
/// are a setting to be amended, not a fault.
fn or_nothing(shop: &ShopAtWork, done: Result<ShopForecast, CannotForecast>) -> Result<ShopForecast, Halt> {
    match done {
        Ok(done) => Ok(done),
        Err(why @ (CannotForecast::NeverOpen | CannotForecast::TooLarge)) => {
            tracing::debug!(?why, "no forecast of these hours, or of so many people and orders");
            let nobody = ShopAtWork { orders: Vec::new(), ..shop.clone() };
            forecast(&nobody, 1, NonZeroUsize::MIN).map_err(|why| fault(&why))
        }
        Err(why) => Err(fault(&why)),
    }
}

fn fault(why: &CannotForecast) -> Halt {
    Halt::Store(store::Error::Unreadable(format!("no forecast: {why:?}")))
}

impl Acts {
    /// Makes the forecast of a shop if it is due: something happened, a setting changed, or the
    /// last one is nearly a minute old while the shop is open. Gives whether one was made.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn forecast_if_due(&self, shop: ShopId) -> Result<bool, Halt> {
        let now = self.clock.now();
        if !self.store.read(shop, move |conn| is_due(conn, now)).await? {
            return Ok(false);
        }
        self.store.write(shop, move |tx| make(tx, now)).await
    }

    /// When orders that may come would be ready, beside all that are open, from what the latest
    /// forecast rests on; before the first, from the records. Nothing is kept.
    ///
    /// # Errors
    /// [`Halt::Invalid`].
    pub async fn forecast_new(&self, actor: &Actor, asked: AskedForecast) -> Result<NewOrdersForecast, Halt> {
        let now = self.clock.now();
        self.store
            .read(actor.shop, move |conn| {
                let known = forecasts::stored(conn)?.map(|stored| stored.at_work);
                let mut shop = match known {
                    Some(shop) => shop,
                    None => forecasts::at_work(conn, now, None)?,
                };
                let currency = shops::current(conn)?.currency()?;
                let methods = lists::methods(conn)?;
                check(&asked, &shop, &methods, currency)?;
                let open = shop.orders.len();
                for (index, order) in asked.orders.iter().enumerate() {
                    shop.orders.push(new_order(&shop, index, order, &methods));
                }
                let done = forecast(&shop, DRAWS_FOR_NEW, NonZeroUsize::MIN);
                let done = or_nothing(&shop, done)?;
                let orders = asked
                    .orders
                    .iter()
                    .enumerate()
                    .map(|(index, order)| {
                        let id = new_id(index);
                        let ready = done.orders.iter().find(|found| found.id == id).map(|found| &found.ready);
                        told(order, ready, shop.history.cost(order.family), currency)
                    })
                    .collect::<Result<_, Halt>>()?;
                Ok(NewOrdersForecast {
                    as_of: shop.now,
                    orders,
                    orders_before_count: i64::try_from(open).unwrap_or(i64::MAX),
                    basis: trade::rules::promises::ForecastBasis { open_orders_count: open, ..done.basis },
                })
            })
            .await
    }
}

/// Makes and keeps the forecast, unless another process is at it, and tells of it when something
/// that is shown came out otherwise: one event at most.
/// Whether the latest forecast is too old for what has happened since, or for the hour.
fn is_due(conn: &mut Conn, now: DateTime<Utc>) -> Result<bool, Halt> {
    let Some(latest) = forecasts::latest(conn)? else { return Ok(true) };
    if latest.settings != forecasts::settings(conn)? || forecasts::has_news(conn, latest.last_event)? {
        return Ok(true);
    }
    if (latest.as_of..latest.as_of + GOOD_FOR).contains(&now) {
        return Ok(false);
    }
    let calendar = calendar(&shops::current(conn)?)?;
    let today = calendar.local_date(now);
    Ok(calendar.open_intervals(today).iter().any(|span| (span.from..span.to).contains(&now)))
}

fn make(tx: &mut Tx<'_>, now: DateTime<Utc>) -> Result<bool, Halt> {
    // Another process may have made it between the look and the turn.
    if !forecasts::take_turn(tx)? || !is_due(tx.conn(), now)? {
        return Ok(false);
    }
    // The event number first: what commits while the rest is read is forecast once more.
    let last_event = events::last_number(tx.conn())?;
    let settings = forecasts::settings(tx.conn())?;
    let latest = forecasts::latest(tx.conn())?;
    let known = match &latest {
        Some(latest)
            if latest.settings == settings
                && (latest.history_as_of..latest.history_as_of + HISTORY_GOOD_FOR).contains(&now) =>
        {
            forecasts::stored(tx.conn())?.map(|stored| (latest.history_as_of, stored.at_work.history))
        }
        _ => None,
    };
    let (history_as_of, history) = known.map_or((now, None), |(as_of, history)| (as_of, Some(history)));
    let shop = forecasts::at_work(tx.conn(), now, history)?;
    let done = or_nothing(&shop, forecast(&shop, draws_for(shop.orders.len()), NonZeroUsize::MIN))?;
    let answered = if_answered_now(&shop, DRAWS_FOR_NEW, NonZeroUsize::MIN).unwrap_or_default();
    let ready_if_answered = |id| answered.iter().find(|(order, _)| *order == id).map(|(_, ready)| *ready);
    let helps = recomputed(&shop, &done);
    let orders: Vec<OrderSaid> = done.orders.iter().map(|order| said(order, ready_if_answered(order.id), &helps)).collect();
    let late = orders.iter().filter(|order| order.likely_days_late > 0).count();
    let new = NewForecast { at_work: &shop, basis: &done.basis, orders: &orders, last_event, settings, history_as_of };
    let changed = forecasts::save(tx, &new)?;
    if changed > 0 {
        let data = json!({
            "kind": forecasts::EVENT,
            "work_order_id": null,
            "claim_number": null,
            "version": null,
            "stage": null,
            "words": "ready dates were forecast anew",
            "likely_late_count": late,
            "at": now,
        });
        events::write_of_shop(tx, forecasts::EVENT, &data, now)?;
    }
    Ok(true)
}

fn check(asked: &AskedForecast, shop: &ShopAtWork, methods: &[lists::MethodRow], currency: Currency) -> Result<(), Halt> {
    let mut checks = Checks::default();
    if asked.orders.is_empty() || asked.orders.len() > MOST_NEW {
        checks.fault("/orders", format!("must be 1 to {MOST_NEW}"));
    }
    let today = shop.calendar.local_date(shop.now);
    for (index, order) in asked.orders.iter().enumerate() {
        let at = format!("/orders/{index}");
        checks.amount(&format!("{at}/may_cost"), order.may_cost, currency);
        for (place, method) in order.methods.iter().enumerate() {
            if !methods.iter().any(|known| known.id == *method) {
                checks.fault(format!("{at}/methods/{place}"), "is no method of this shop");
            }
        }
        if order.methods.len() > 50 {
            checks.fault(format!("{at}/methods"), "are more than 50");
        }
        for (field, date) in [("available_on", order.available_on), ("promised_on", order.promised_on)] {
            if date.is_some_and(|date| date < today || date > today + Duration::days(730)) {
                checks.fault(format!("{at}/{field}"), "must be today or later, and at most two years ahead");
            }
        }
    }
    checks.done()
}

/// Its luck hangs on its id, so the same question is answered alike.
fn new_id(index: usize) -> WorkOrderId {
    WorkOrderId(Uuid::from_u128(index as u128))
}

fn new_order(shop: &ShopAtWork, index: usize, order: &AskedOrder, methods: &[lists::MethodRow]) -> OrderAtWork {
    let steps = order
        .methods
        .iter()
        .filter_map(|id| methods.iter().find(|method| method.id == *id))
        .map(|method| OpenStep {
            title: method.name.clone(),
            kind: OperationKind::Work,
            method: Some(method.id),
            minutes: [method.low_minutes, method.typical_minutes, method.high_minutes],
            taken_minutes: 0,
            claimed_by: None,
        })
        .collect();
    OrderAtWork {
        id: new_id(index),
        arrived_at: shop.now,
        // Without a promise it comes after all that have one: nothing promised is put behind it.
        promised_on: None,
        stage: Stage::Intake,
        stage_since: shop.now,
        family: order.family,
        claimed_by: None,
        steps,
        asked_at: None,
        was_seen: false,
        has_run_out: false,
        may_cost: order.may_cost.map(|money| money.amount()),
        drafted: None,
        hold: None,
        has_question: false,
        is_ending: false,
        available_on: order.available_on,
        is_taken_up: false,
    }
}

fn told(order: &AskedOrder, ready: Option<&ReadyDates>, cost: Option<&CostRange>, currency: Currency) -> Result<NewOrderReady, Halt> {
    let cost = cost
        .map(|cost| {
            Ok::<_, Halt>(SimilarCost {
                count: i64::try_from(cost.count).unwrap_or(i64::MAX),
                low: order_view::money(cost.low, currency)?,
                middle: order_view::money(cost.middle, currency)?,
                high: order_view::money(cost.high, currency)?,
            })
        })
        .transpose()?;
    Ok(NewOrderReady {
        family: order.family,
        ready_p50: ready.map(|ready| ready.ready_by(50)),
        ready_p85: ready.map(|ready| ready.ready_by(85)),
        ready_p95: ready.map(|ready| ready.ready_by(95)),
        twenty: ready.map_or_else(Vec::new, |ready| ready.twenty().to_vec()),
        dates: ready.map_or_else(Vec::new, |ready| ready.counts().map(|(date, draws_count)| DateShare { date, draws_count }).collect()),
        promise: ready.zip(order.promised_on).map(|(ready, date)| chance(ready.kept(date))),
        largest_causes: ready.map_or_else(Vec::new, causes),
        similar_cost: cost,
    })
}
