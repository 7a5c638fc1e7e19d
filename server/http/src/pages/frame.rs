//! What stands around every page, and how its parts are named.

use super::facts::{CustomersMap, Money, Order, Photo, Shop};
use chrono::{DateTime, NaiveDate, Utc};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use trade::words::said::{capital, long_date, moment, one_line, short_date};
use trade::words::zone::Zone;

/// A whole page: head, the shop's strip (its name, the claim number), and the content.
pub(super) fn page(title: &str, strip: Option<(&str, Option<&str>)>, content: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="robots" content="noindex, nofollow";
                meta name="referrer" content="no-referrer";
                meta name="color-scheme" content="light dark";
                meta name="format-detection" content="telephone=no";
                title { (title) }
                link rel="stylesheet" href=(super::customer_css_address());
            }
            body {
                @if let Some((shop, number)) = strip {
                    header {
                        b { bdi { (one_line(shop)) } }
                        @if let Some(number) = number { span.no { (number) } }
                    }
                }
                main { (content) }
            }
        }
    }
}

/// A page of one order.
pub(super) fn order_page(order: &Order, title: &str, content: Markup) -> Markup {
    page(
        &format!("{title} · {}", order.claim_number),
        Some((&order.shop.name, Some(&order.claim_number))),
        content,
    )
}

impl Order {
    /// `your baritone`, `your horn (your number 7)`; `the …` to a contact who is not its owner.
    pub(super) fn it(&self) -> String {
        let whose = if self.reader_is_owner { "your" } else { "the" };
        let family = one_line(&self.family);
        match self.owners_number.as_deref().map(one_line) {
            Some(number) if !number.is_empty() => {
                format!("{whose} {family} (your number {number})")
            }
            _ => format!("{whose} {family}"),
        }
    }

    /// The same as a heading or at the head of a sentence.
    pub(super) fn heading(&self) -> String {
        capital(&self.it())
    }

    /// `you` or `the owner`.
    pub(super) fn decider(&self) -> &'static str {
        if self.reader_is_owner { "you" } else { "the owner" }
    }

    /// `Thursday 18 June`.
    pub(super) fn day(&self, date: NaiveDate) -> String {
        long_date(date, self.today)
    }

    /// `18 June`.
    pub(super) fn short_day(&self, date: NaiveDate) -> String {
        short_date(date, self.today)
    }

    /// `Thursday 4 June, 10:44`.
    pub(super) fn moment(&self, at: DateTime<Utc>) -> String {
        moment(at, &Zone::named(&self.shop.time_zone).unwrap_or_else(Zone::utc), self.today)
    }
}

/// Where and when the shop is reached, and what the link is.
pub(super) fn foot(shop: &Shop, closing: Markup) -> Markup {
    let lines: Vec<String> = [
        shop.hours.as_deref().map(|hours| format!("Open {hours}")),
        shop.address.clone(),
        shop.phone.clone(),
    ]
    .into_iter()
    .flatten()
    .map(|line| one_line(&line))
    .collect();
    html! {
        p.quiet.foot {
            @if !lines.is_empty() { (lines.join(" · ")) ". " }
            (closing)
        }
    }
}

/// Where to ring, as a sentence of its own; nothing without a number.
pub(super) fn ring(phone: Option<&str>, before: &str) -> Markup {
    html! {
        @if let Some(phone) = phone.map(one_line).filter(|phone| !phone.is_empty()) {
            p { (before) " " (telephone(&phone)) "." }
        }
    }
}

/// A number that a phone can ring. Told as typed; rung without what a person puts between
/// the digits.
pub(super) fn telephone(phone: &str) -> Markup {
    let digits: String =
        phone.chars().filter(|c| c.is_ascii_digit() || matches!(c, '+' | '*' | '#')).collect();
    html! { a href={ "tel:" (digits) } { (phone) } }
}

/// The instrument with the numbers of the findings on it. What it shows stands beside it in words.
pub(super) fn map(map: &CustomersMap) -> Markup {
    let mut drawing = map.drawing.clone();
    // Inside a page of HTML the namespace is known.
    drawing.attributes.remove("xmlns");
    html! {
        figure.map {
            (PreEscaped(drawing.svg_text()))
            figcaption { "The numbers are those of the list. Not to scale." }
        }
    }
}

/// Photos, each leading to itself in large. Their place is kept while they are fetched.
pub(super) fn photos(photos: &[Photo]) -> Markup {
    html! {
        @for photo in photos {
            figure.photo {
                a href=(photo.large_url) {
                    img src=(photo.url) alt=(photo.alt) width=(photo.width) height=(photo.height) loading="lazy" decoding="async";
                }
                @if let Some(caption) = &photo.caption { figcaption { bdi { (one_line(caption)) } } }
            }
        }
    }
}

/// One row of a bill.
pub(super) struct Row {
    pub(super) label: String,
    pub(super) amount: Money,
    /// What is said where it costs nothing; none: the amount, also of zero.
    pub(super) if_free: Option<&'static str>,
    pub(super) is_sum: bool,
    pub(super) remark: Option<&'static str>,
}

/// A bill. Its caption is for those who hear it.
pub(super) fn bill(caption: &str, rows: &[Row]) -> Markup {
    html! {
        table.bill {
            caption.vh { (caption) }
            tbody {
                @for row in rows {
                    tr.sum[row.is_sum] {
                        th scope="row" {
                            bdi { (row.label) }
                            @if let Some(remark) = row.remark { small { (remark) } }
                        }
                        td {
                            @match row.if_free.filter(|_| row.amount.amount.is_zero()) {
                                Some(words) => (words),
                                None => (row.amount.said()),
                            }
                        }
                    }
                }
            }
        }
    }
}
