//! What stands around every paper, and how its parts are named.

use crate::facts::{Shop, Visit};
use crate::sheets::Sheet;
use chrono::NaiveDate;
use maud::{DOCTYPE, Markup, html};
use trade::words::said::{capital, one_line, short_date, weekday};

/// A whole page of this sheet.
pub(crate) fn page(sheet: Sheet, title: &str, content: Markup) -> String {
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="robots" content="noindex, nofollow";
                meta name="referrer" content="no-referrer";
                meta name="format-detection" content="telephone=no";
                title { (title) }
                link rel="stylesheet" href=(sheet.address());
            }
            body.(sheet.name()) { (content) }
        }
    };
    whole.into_string()
}

/// A box with its tick: what came in and is ticked off again when it goes.
pub(crate) fn tick() -> Markup {
    html! {
        svg.tick viewBox="0 0 12 12" aria-hidden="true" { path d="M1 1H11V11H1ZM3 6l2.2 2.6L9.4 3" {} }
    }
}

/// `Tue 16 June`, with the year when it is not that of `today`.
pub(crate) fn day(date: NaiveDate, today: NaiveDate) -> String {
    format!("{} {}", weekday(date).chars().take(3).collect::<String>(), short_date(date, today))
}

/// `Tue 16 Jun`, with the year when it is not that of `today`: where the room is a label's.
pub(crate) fn brief_day(date: NaiveDate, today: NaiveDate) -> String {
    let with_year = date.format("%Y").to_string() != today.format("%Y").to_string();
    date.format(if with_year { "%a %-d %b %Y" } else { "%a %-d %b" }).to_string()
}

/// At most so many letters of what was typed, cut between words, with dots where it was cut. The
/// whole of it stands on the receipt.
pub(crate) fn cut(typed: &str, most: usize) -> String {
    let line = one_line(typed);
    if line.chars().count() <= most {
        return line;
    }
    let room: String = line.chars().take(most.saturating_sub(1)).collect();
    let ends_a_word = line.chars().nth(most.saturating_sub(1)).is_none_or(|next| !next.is_alphanumeric());
    // A long word without a gap is cut where it is.
    let gap = room.rfind(' ').filter(|gap| !ends_a_word && *gap > room.len() / 2);
    let kept = gap.map_or(room.as_str(), |gap| &room[..gap]);
    format!("{}…", kept.trim_end_matches([' ', ',', ';', '.', ':']))
}

impl Visit {
    /// `Baritone, Halvane`.
    pub(crate) fn heading(&self) -> String {
        let family = capital(self.family.words());
        match self.make.as_deref().map(one_line) {
            Some(make) if !make.is_empty() => format!("{family}, {make}"),
            _ => family,
        }
    }

    /// `no. 4417`, `owner’s no. 7`.
    pub(crate) fn numbers(&self) -> Vec<String> {
        [
            self.serial_number.as_deref().map(|number| format!("no. {}", one_line(number))),
            self.owners_number.as_deref().map(|number| format!("owner’s no. {}", one_line(number))),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    /// The numbers, the age and the finish in one line.
    pub(crate) fn details(&self) -> String {
        let mut all = self.numbers();
        all.extend([&self.age, &self.finish].into_iter().flatten().map(|said| one_line(said)));
        all.join(" · ")
    }

    /// `€340.00` or `ask first`.
    pub(crate) fn may_cost_words(&self) -> String {
        self.may_cost.as_ref().map_or_else(|| "ask first".to_owned(), trade::words::said::Money::said)
    }

    /// The day it is planned for, short.
    pub(crate) fn planned_day(&self) -> String {
        day(self.promised_on, self.today)
    }
}

impl Shop {
    /// Where it is and how it is reached, in one line.
    pub(crate) fn reached(&self) -> String {
        [&self.address, &self.phone, &self.email].into_iter().flatten().map(|line| one_line(line)).collect::<Vec<_>>().join(" · ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_too_long_is_cut_between_words() {
        assert_eq!(cut("Hard to blow.\nHisses.", 40), "Hard to blow. Hisses.");
        assert_eq!(cut("Hard to blow since the spring, hisses", 30), "Hard to blow since the spring…");
        assert_eq!(cut("Donaudampfschifffahrtsgesellschaft", 10), "Donaudamp…");
        assert_eq!(cut("ääääääääää ö", 8), "äääääää…");
    }
}
