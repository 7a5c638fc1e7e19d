//! What the contact is written when it has come in: the receipt, and that it is being examined.

use crate::wording::blocks::{Block, Words, said, strong, typed};
use super::{About, Said, plain};
use trade::words::said::{capital, list, one_line};

impl About<'_> {
    pub(super) fn checked_in(&self) -> Said {
        let facts = self.facts;
        let mut rows: Vec<(&'static str, Words)> = Vec::new();
        let mut left = capital(&one_line(&facts.instrument.words));
        if let Some(number) = &facts.instrument.owners_number {
            left.push_str(&format!(", your number {}", one_line(number)));
        }
        let mut with_it = vec![typed(&left)];
        if !facts.accessories.is_empty() {
            let accessories: Vec<String> =
                facts.accessories.iter().map(|thing| one_line(thing)).collect();
            with_it.extend([said("; with it: "), typed(&list(&accessories))]);
        }
        rows.push(("Left with us", with_it));
        if !facts.not_with_it.is_empty() {
            let missing: Vec<String> =
                facts.not_with_it.iter().map(|thing| one_line(thing)).collect();
            rows.push(("Not with it", vec![typed(&capital(&list(&missing)))]));
        }
        if let Some(complaint) = facts.complaint.as_deref().filter(|words| !words.trim().is_empty())
        {
            rows.push(("You said", vec![said("“"), typed(complaint), said("”")]));
        }
        let seen = if facts.counter_marks.is_empty() {
            "No marks".to_owned()
        } else {
            let marks: Vec<String> =
                facts.counter_marks.iter().map(|mark| one_line(mark)).collect();
            capital(&marks.join("; "))
        };
        rows.push(("At the counter we saw", vec![typed(&seen)]));
        if let Some(keep) = facts.keep_as_is.as_deref().filter(|words| !words.trim().is_empty()) {
            rows.push(("To be left as it is", vec![typed(&capital(keep))]));
        }
        if let Some(planned) = facts.planned_for {
            rows.push(("Planned for", vec![strong(self.day(planned))]));
        }
        rows.push((
            "May cost, without asking",
            match &facts.may_cost {
                Some(sum) => vec![
                    said("Up to "),
                    strong(sum.said()),
                    said(". Anything beyond that, we ask first."),
                ],
                None => vec![said("Nothing. We ask you before any work that costs money.")],
            },
        ));
        if let Some(fee) = &facts.examination_fee {
            rows.push((
                "Examination",
                vec![said(format!(
                    "{}. It counts toward the repair; it is charged by itself only if you then \
                     decide against the repair.",
                    fee.said()
                ))],
            ));
        }
        (
            format!("We have {}", self.it()),
            vec![
                plain(format!(
                    "We have {}. This is your receipt. If something in it is not right, please \
                     tell us now.",
                    self.it()
                )),
                Some(Block::Facts(rows)),
                plain("To collect it, bring this receipt, the half of the tag, or identification."),
                facts.links.status.as_ref().and_then(|_| {
                    plain(
                        "Anyone who has the link below can read your page, so keep it to yourself.",
                    )
                }),
                self.status_button(),
            ],
        )
    }

    pub(super) fn examination_begins(&self) -> Said {
        let then = match &self.facts.may_cost {
            Some(sum) => format!(
                "When we know what it needs, we write to you before anything is done that goes \
                 beyond {}.",
                sum.said()
            ),
            None => "When we know what it needs and what it costs, we write to you. Nothing is \
                     done before you have answered."
                .to_owned(),
        };
        (
            format!("{} is being examined", self.head()),
            vec![
                plain(format!("We have begun to examine {}.", self.it())),
                plain(then),
                self.planned_for(),
                self.status_button(),
            ],
        )
    }
}
