//! The promised date is another one now.

use super::super::blocks::{said, strong};
use super::{About, Said, para, plain};

impl About<'_> {
    pub(super) fn date_moved(&self) -> Said {
        let (before, planned) = (self.facts.planned_before, self.facts.planned_for);
        let is_later = before.zip(planned).is_some_and(|(before, planned)| planned > before);
        let mut words = vec![said(format!(
            "{} {}",
            if is_later { "We need longer for" } else { "We plan to be ready sooner with" },
            self.it()
        ))];
        if let Some(planned) = planned {
            words.extend([said(": it is planned for "), strong(self.day(planned)), said(" now")]);
        }
        if let Some(before) = before {
            words.push(said(format!(", instead of {}", self.day(before))));
        }
        words.push(said("."));
        let subject = match planned {
            Some(planned) => format!("{}: now planned for {}", self.head(), self.short_day(planned)),
            None => format!("{}: planned for another day", self.head()),
        };
        let ring = self.ring().and_then(|phone| plain(format!("If that day does not suit you, ring us: {phone}.")));
        (subject, vec![para(words), self.reason(), ring, self.status_button()])
    }
}
