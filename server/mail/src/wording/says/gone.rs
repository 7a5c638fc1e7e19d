//! What is written when it has left the shop, or the order is closed.

use crate::wording::blocks::{Block, Words, said, strong, typed};
use super::{About, Said, own, para, plain};
use trade::words::said::{capital, list, one_line};

impl About<'_> {
    pub(super) fn collected(&self) -> Said {
        let mut words = vec![said(format!("{} was collected", self.head()))];
        let mut facts = Vec::new();
        if let Some(handover) = &self.facts.handover {
            words.push(said(format!(" on {}", self.day(handover.on))));
            if let Some(by) = handover.by.as_deref().filter(|by| !by.trim().is_empty()) {
                words.extend([said(" by "), typed(by)]);
            }
            facts = self.handed_over();
        }
        words.push(said(". Thank you."));
        let mut blocks = vec![para(words)];
        if !facts.is_empty() {
            blocks.push(Some(Block::Facts(facts)));
        }
        blocks.extend(self.record());
        blocks.push(match self.ring() {
            Some(phone) => plain(format!(
                "If you know nothing of this, or something is not right, ring us: {phone}."
            )),
            None => {
                plain("If you know nothing of this, or something is not right, please tell us.")
            }
        });
        blocks.push(self.page_button());
        (format!("{} was collected", self.head()), blocks)
    }

    pub(super) fn shipped(&self) -> Said {
        let mut words = vec![said(format!("{} is on its way", self.head()))];
        if let Some(handover) = &self.facts.handover {
            words.push(said(format!(", sent on {}", self.day(handover.on))));
            if let Some(carrier) = handover.carrier.as_deref().filter(|c| !c.trim().is_empty()) {
                words.extend([said(" with "), typed(carrier)]);
            }
        }
        words.push(said(
            ". Please look at it when it arrives, and tell us within a few days if something is \
             not right.",
        ));
        let mut blocks = vec![para(words)];
        let facts = self.handed_over();
        if !facts.is_empty() {
            blocks.push(Some(Block::Facts(facts)));
        }
        blocks.extend(self.record());
        blocks.push(self.page_button());
        (format!("{} is on its way", self.head()), blocks)
    }

    pub(super) fn otherwise_settled(&self) -> Said {
        (
            format!("{}: the order is closed", self.head()),
            vec![
                plain(format!("The order for {} is closed without being collected.", self.it())),
                own(self.facts.reason.as_ref()),
                match self.ring() {
                    Some(phone) => {
                        plain(format!("If this is not as you know it, ring us: {phone}."))
                    }
                    None => plain("If this is not as you know it, please tell us."),
                },
                self.page_button(),
            ],
        )
    }

    pub(super) fn entered_by_mistake(&self) -> Said {
        (
            "Please set our receipt aside".to_owned(),
            vec![
                para(vec![
                    said("We sent you a receipt with the number "),
                    strong(one_line(&self.facts.claim_number)),
                    said(
                        ". That was our mistake: nothing is kept under this number, and you \
                          need not do anything.",
                    ),
                ]),
                self.reason(),
                match self.ring() {
                    Some(phone) => {
                        plain(format!("If you did leave an instrument with us, ring us: {phone}."))
                    }
                    None => plain("If you did leave an instrument with us, please tell us."),
                },
            ],
        )
    }

    pub(super) fn done_at_counter(&self) -> Said {
        let mut blocks = vec![
            plain(format!("{} was put right at the counter while you waited.", self.head())),
            self.tested(),
        ];
        let facts = self.handed_over();
        if !facts.is_empty() {
            blocks.push(Some(Block::Facts(facts)));
        }
        blocks.extend(self.record());
        blocks.push(self.page_button());
        (format!("{}: done at the counter", self.head()), blocks)
    }

    fn handed_over(&self) -> Vec<(&'static str, Words)> {
        let Some(handover) = &self.facts.handover else { return vec![] };
        let mut facts = Vec::new();
        if !handover.accessories.is_empty() {
            let things: Vec<String> =
                handover.accessories.iter().map(|thing| one_line(thing)).collect();
            facts.push(("With it", vec![typed(&capital(&list(&things)))]));
        }
        for (name, became) in &handover.lost {
            facts.push(("Not handed back", vec![typed(&capital(&one_line(name))), said(": "), typed(&one_line(became))]));
        }
        if let Some(paid) = handover.paid.as_ref().filter(|paid| !paid.amount.is_zero()) {
            facts.push(("Paid", vec![strong(paid.said())]));
        }
        facts
    }
}
