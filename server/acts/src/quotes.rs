//! Quotes: writing a version, and sending it to the owner.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::letter_facts::write_letters;
use chrono::{Days, NaiveDate};
use mail::LetterKind;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::order_rows::OrderRows;
use store::quotes::{self, QuoteRow};
use store::views::Quote;
use store::{Once, Tx, Word, operations};
use trade::rules::facts::By;
use trade::rules::stages::{Act, may_supersede};
use trade::words::ids::{OperationId, QuoteId, WorkOrderId};
use trade::words::instrument::OperationState;
use trade::words::money::{Money, plain};
use trade::words::paperwork::{LineKind, QuoteState};
use trade::words::quote::{ContentDiscount, ContentLine, QuoteContent};
use trade::words::shop_date;
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;
use uuid::Uuid;

/// One line as written. A line for an operation takes what is left out from it.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewQuoteLine {
    /// Its id, when it stands in this order's quotes already.
    #[serde(default)]
    pub id: Option<Uuid>,
    /// What it is for.
    pub kind: LineKind,
    /// What the owner reads.
    #[serde(default)]
    pub text: Option<String>,
    /// Hours or pieces, up to three places; 1 if left out.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,12}(\.\d{1,3})?$")]
    pub quantity: Option<Decimal>,
    /// In the shop's currency, up to six places.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,12}(\.\d{1,6})?$")]
    pub unit_price: Option<Decimal>,
    /// One of the shop's tax classes; the first if left out.
    #[serde(default)]
    pub tax_class: Option<String>,
    /// Taken off this line, 0…100.
    #[serde(default, deserialize_with = "plain::optional")]
    #[schema(value_type = Option<String>, pattern = r"^\d{1,3}(\.\d{1,3})?$", example = "10")]
    pub discount_percent: Option<Decimal>,
    /// Unticked until the owner ticks it. A new line that cannot be undone always is.
    #[serde(default)]
    pub optional: bool,
    /// The operation it pays for.
    #[serde(default)]
    pub operation_id: Option<OperationId>,
}

/// A quote as written. When work was accepted before, its lines stand in every later version;
/// those left out are put in.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewQuote {
    /// What was found and what the shop would do, and why.
    #[serde(default)]
    pub message: Option<String>,
    /// The lines.
    pub lines: Vec<NewQuoteLine>,
    /// On the whole.
    #[serde(default)]
    pub discount: Option<ContentDiscount>,
    /// The most that the owner is asked to authorise; the total with all optional lines if left out.
    #[serde(default)]
    pub limit: Option<Money>,
    /// The last day it can be accepted. Left out, or left as the draft had it by itself: the shop's days
    /// count from the day it goes out.
    #[serde(default, deserialize_with = "shop_date::optional")]
    pub expires_on: Option<NaiveDate>,
}

/// A draft as it is kept.
struct Written {
    content: QuoteContent,
    /// Without optional lines.
    total: Decimal,
    is_extra: bool,
    /// None: the last day was chosen.
    days_count: Option<i32>,
}

/// The day on which a quote that goes out on `day` can be accepted last.
fn last_day(day: NaiveDate, days_count: i32) -> NaiveDate {
    day + Days::new(u64::try_from(days_count).unwrap_or(0))
}

impl Desk {
    /// * `before`: the draft that is replaced.
    fn written(&self, rows: &OrderRows, new: &NewQuote, before: Option<&QuoteRow>) -> Result<Written, Halt> {
        let currency = rows.shop.currency()?;
        let mut classes = rows.shop.tax_classes()?;
        let today = self.today(rows)?;
        let accepted = rows.acceptances()?.pop();
        // What was accepted keeps the tax of its day.
        for old in accepted.iter().flat_map(|a| &a.content.tax_classes) {
            match classes.iter_mut().find(|class| class.id == old.id) {
                Some(class) => class.percent = old.percent,
                None => classes.push(old.clone()),
            }
        }
        let mut checks = Checks::default();
        checks.short("/message", new.message.as_deref(), TEXT);
        if new.lines.len() > 500 {
            checks.fault("/lines", "are more than 500");
        }
        let mut lines: Vec<ContentLine> = Vec::new();
        if let Some(accepted) = &accepted {
            let is_struck = |id: OperationId| rows.operations.iter().any(|o| o.id == id.0 && o.state.0 == OperationState::Struck);
            lines.extend(
                accepted
                    .content
                    .lines
                    .iter()
                    .filter(|l| accepted.counted.contains(&l.id) && !l.operation_id.is_some_and(is_struck))
                    .map(|l| ContentLine { optional: false, is_new: false, ..l.clone() }),
            );
        }
        for (index, line) in new.lines.iter().enumerate() {
            let at = format!("/lines/{index}");
            // An accepted line stands as it was accepted.
            let is_accepted = lines.iter().any(|l| !l.is_new && (Some(l.id) == line.id || (l.operation_id.is_some() && l.operation_id == line.operation_id)));
            if is_accepted {
                continue;
            }
            let operation = line.operation_id.and_then(|id| rows.operations.iter().find(|o| o.id == id.0));
            if line.operation_id.is_some() && operation.is_none() {
                checks.fault(format!("{at}/operation_id"), "is no operation of this order");
            }
            if operation.is_some_and(|o| o.state.0 == OperationState::Struck) {
                checks.fault(format!("{at}/operation_id"), "was struck; take this line off");
            }
            let text = tidy(line.text.as_deref()).or_else(|| operation.map(|o| o.title.clone())).unwrap_or_default();
            checks.said(&format!("{at}/text"), &text, LINE);
            let unit_price = line.unit_price.or_else(|| operation.map(|o| o.price));
            if unit_price.is_none() {
                checks.fault(format!("{at}/unit_price"), "is missing");
            }
            let tax_class = line
                .tax_class
                .clone()
                .or_else(|| operation.map(|o| o.tax_class.clone()))
                .or_else(|| classes.first().map(|c| c.id.clone()))
                .unwrap_or_default();
            let irreversible = operation.is_some_and(|o| o.irreversible);
            lines.push(ContentLine {
                id: line.id.filter(|id| !lines.iter().any(|l| l.id == *id)).unwrap_or_else(Uuid::now_v7),
                kind: line.kind,
                text,
                quantity: line.quantity.unwrap_or(Decimal::ONE),
                unit_price: unit_price.unwrap_or_default(),
                tax_class,
                discount_percent: line.discount_percent,
                optional: line.optional || irreversible,
                operation_id: line.operation_id,
                irreversible,
                is_new: accepted.is_some(),
            });
        }
        let (expires_on, days_count) = match (new.expires_on, before) {
            (None, _) => (last_day(today, rows.shop.quote_days), Some(rows.shop.quote_days)),
            // Sent back as it was shown.
            (Some(day), Some(before)) if before.days_count.is_some() && before.expires_on == day => (day, before.days_count),
            (Some(day), _) => {
                if day < today || day > today + Days::new(366) {
                    checks.fault("/expires_on", "must be today or later, and at most a year ahead");
                }
                (day, None)
            }
        };
        let limit = checks.amount("/limit", new.limit, currency);
        checks.done()?;
        let mut content = QuoteContent {
            message: tidy(new.message.as_deref()),
            lines,
            discount: new.discount.clone(),
            tax_classes: classes,
            prices_include_tax: accepted.as_ref().map_or(rows.shop.prices_include_tax, |a| a.content.prices_include_tax),
            currency,
            limit: Decimal::ZERO,
            expires_on,
            range: None,
        };
        let total = content.total_without_optional()?;
        let most = if content.lines.is_empty() { Decimal::ZERO } else { content.totals(|_| true)?.total.amount() };
        content.limit = limit.unwrap_or(most.max(total));
        if content.limit < most.max(total) {
            return Err(Halt::invalid("/limit", format!("is less than the total with every optional line, {}; an accepted amount is a cap", most.max(total))));
        }
        Ok(Written { content, total, is_extra: accepted.is_some(), days_count })
    }

    /// Writes a new draft on a locked order.
    pub fn draft_quote(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewQuote) -> Result<QuoteRow, Halt> {
        self.actor.must_be(&[By::Technician, By::FrontDesk])?;
        if let Some(draft) = rows.draft() {
            return Err(Halt::refused("draft-exists", format!("Quote {} is being written already. Go on with that one.", draft.number)));
        }
        if !matches!(rows.order.stage.0, Stage::Diagnosis | Stage::Approval | Stage::Bench) {
            return Err(Halt::refused("no-quote-now", "A quote is written while the instrument is examined or worked on."));
        }
        let Written { mut content, total, is_extra, days_count } = self.written(rows, new, None)?;
        content.range = self.honest_range(tx, rows)?;
        let row = QuoteRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            number: rows.quotes.iter().map(|q| q.number).max().unwrap_or(0) + 1,
            state: Word(QuoteState::Draft),
            is_extra,
            total,
            limit_amount: content.limit,
            expires_on: content.expires_on,
            content: json!(content),
            content_hash: None,
            sent_by: None,
            sent_at: None,
            seen_at: None,
            struck_reason: None,
            version: 1,
            changed_by: self.actor.words.clone(),
            changed_at: self.now,
            days_count,
        };
        quotes::add(tx, &row)?;
        rows.quotes.push(row.clone());
        Ok(row)
    }

    /// Seals the draft and sends it: from the examination as the quote, from the bench as an
    /// extra-work request, and while the owner is asked already as a newer version.
    pub fn send_quote(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, id: QuoteId) -> Result<QuoteRow, Halt> {
        self.actor.must_be(&[By::Technician, By::FrontDesk])?;
        let at = rows.quotes.iter().position(|q| q.id == id.0).ok_or(Halt::Absent)?;
        if rows.quotes[at].state.0 != QuoteState::Draft {
            return Err(Halt::refused("not-a-draft", "This version has gone out already."));
        }
        let step = match rows.order.stage.0 {
            Stage::Diagnosis => Some(self.may_move(rows, Stage::Approval, Because::QuoteSent, None, Some(Act::SendQuote))?),
            Stage::Bench => Some(self.may_move(rows, Stage::Approval, Because::ExtraWork, None, Some(Act::SendQuote))?),
            Stage::Approval => {
                may_supersede(&rows.facts(self.today(rows)?)?, &self.actor.who)?;
                None
            }
            Stage::Intake | Stage::LeakTest | Stage::Pickup | Stage::Closed => {
                return Err(Halt::refused("no-quote-now", "A quote is sent while the instrument is examined or worked on."));
            }
        };
        if let Some(old) = rows.quotes.iter_mut().find(|q| q.state.0 == QuoteState::Sent) {
            old.state = Word(QuoteState::Superseded);
            old.version += 1;
            quotes::save(tx, old)?;
        }
        let mut row = rows.quotes[at].clone();
        let mut content = row.content()?;
        // As it is known now, if anything was found or struck since the draft was written.
        if rows.findings.iter().any(|finding| finding.changed_at > row.changed_at) {
            content.range = self.honest_range(tx, rows)?;
            row.content = json!(content);
        }
        if let Some(days) = row.days_count {
            content.expires_on = last_day(self.today(rows)?, days);
            row.expires_on = content.expires_on;
            row.content = json!(content);
        }
        row.content_hash = Some(content.hash());
        row.state = Word(QuoteState::Sent);
        row.sent_by = self.actor.who.person().map(|p| p.0);
        row.sent_at = Some(self.now);
        row.version += 1;
        row.changed_by.clone_from(&self.actor.words);
        row.changed_at = self.now;
        quotes::save(tx, &row)?;
        rows.quotes[at] = row.clone();
        if row.is_extra {
            self.lock_new_steps(tx, rows, &content)?;
        }
        // A newer quote is the answer to what was asked.
        if rows.order.question.is_some() {
            rows.order.question = None;
            rows.order.question_by = None;
            rows.order.question_at = None;
            store::work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        }
        match step {
            Some(step) => {
                self.make(tx, rows, step, None)?;
            }
            None => {
                write_letters(self, tx, rows, LetterKind::NewerQuote, None)?;
                self.recorded(tx, rows, "quote_sent", "a newer quote has gone out")?;
            }
        }
        Ok(row)
    }

    /// Steps that only this version would allow wait for its answer; the others go on.
    pub(crate) fn lock_new_steps(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, content: &QuoteContent) -> Result<(), Halt> {
        let new: Vec<Uuid> = content.lines.iter().filter(|l| l.is_new).filter_map(|l| l.operation_id.map(|o| o.0)).collect();
        for row in rows.operations.iter_mut().filter(|o| new.contains(&o.id) && !o.waits_for_answer && o.begun_at.is_none()) {
            row.waits_for_answer = true;
            row.version += 1;
            operations::save(tx, row)?;
        }
        Ok(())
    }

    fn stale_quote(&self, rows: &OrderRows, row: &QuoteRow) -> Halt {
        Halt::stale(row.version, &row.changed_by, row.changed_at, &rows.quote(row).ok())
    }
}

impl Acts {
    /// Writes a draft.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; `draft-exists`; `no-quote-now`.
    pub async fn draft_quote(&self, actor: &Actor, order: WorkOrderId, new: NewQuote, once: Once) -> Result<Quote, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                let row = desk.draft_quote(tx, &mut rows, &new)?;
                desk.recorded(tx, &mut rows, "quote_drafted", "a quote is being written")?;
                Ok(rows.quote(&row)?)
            })
            .await
    }

    /// Replaces a draft.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `not-a-draft`.
    pub async fn replace_draft(&self, actor: &Actor, id: QuoteId, seen: i32, new: NewQuote) -> Result<Quote, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician, By::FrontDesk])?;
                let found = quotes::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let at = rows.quotes.iter().position(|q| q.id == id.0).ok_or(Halt::Absent)?;
                let mut row = rows.quotes[at].clone();
                if row.version != seen {
                    return Err(desk.stale_quote(&rows, &row));
                }
                if row.state.0 != QuoteState::Draft {
                    return Err(Halt::refused("not-a-draft", "This version has gone out; write a newer one."));
                }
                let Written { mut content, total, is_extra, days_count } = desk.written(&rows, &new, Some(&row))?;
                content.range = desk.honest_range(tx, &rows)?;
                row.is_extra = is_extra;
                row.total = total;
                row.limit_amount = content.limit;
                row.expires_on = content.expires_on;
                row.days_count = days_count;
                row.content = json!(content);
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                quotes::save(tx, &row)?;
                rows.quotes[at] = row.clone();
                desk.recorded(tx, &mut rows, "quote_drafted", "a quote was rewritten")?;
                Ok(rows.quote(&row)?)
            })
            .await
    }

    /// Strikes a draft that is not wanted.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`]; `not-a-draft`.
    pub async fn strike_draft(&self, actor: &Actor, id: QuoteId, seen: i32) -> Result<Quote, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician, By::FrontDesk])?;
                let found = quotes::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let at = rows.quotes.iter().position(|q| q.id == id.0).ok_or(Halt::Absent)?;
                let mut row = rows.quotes[at].clone();
                if row.version != seen {
                    return Err(desk.stale_quote(&rows, &row));
                }
                if row.state.0 != QuoteState::Draft {
                    return Err(Halt::refused("not-a-draft", "This version has gone out; take it back instead."));
                }
                row.state = Word(QuoteState::Struck);
                row.struck_reason = Some("draft set aside".to_owned());
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                quotes::save(tx, &row)?;
                rows.quotes[at] = row.clone();
                desk.recorded(tx, &mut rows, "quote_struck", "a draft was set aside")?;
                Ok(rows.quote(&row)?)
            })
            .await
    }

    /// Sends a draft to the owner. `seen` is the version of the work order.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], what the table of moves says.
    pub async fn send_quote(&self, actor: &Actor, id: QuoteId, seen: i32, once: Once) -> Result<Quote, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let found = quotes::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), Some(seen))?;
                let row = desk.send_quote(tx, &mut rows, id)?;
                Ok(rows.quote(&row)?)
            })
            .await
    }

    /// Notes that the owner opened the page of a version.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn quote_seen(&self, actor: &Actor, id: QuoteId) -> Result<(), Halt> {
        let desk = self.desk(actor);
        self.store.write(actor.shop, move |tx| Ok(quotes::mark_seen(tx, id, desk.now)?)).await
    }
}
