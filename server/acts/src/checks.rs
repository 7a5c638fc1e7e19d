//! Checks of what was typed, gathered with JSON pointers so that the person sees all at once.

use crate::Halt;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use trade::calculation::Fault;
use trade::maps::{Basis, PartMap, Pinned};
use trade::words::money::{Currency, Money};

/// Names, titles and other one-line texts: letters at most.
pub const LINE: usize = 200;
/// Complaints, notes and messages: letters at most.
pub const TEXT: usize = 4000;

/// Faults found so far.
#[derive(Debug, Default)]
pub struct Checks {
    faults: Vec<Fault>,
}

impl Checks {
    pub fn fault(&mut self, pointer: impl Into<String>, message: impl Into<String>) {
        self.faults.push(Fault { pointer: pointer.into(), message: message.into() });
    }

    /// A text that must say something, at most `most` letters.
    pub fn said(&mut self, pointer: &str, text: &str, most: usize) {
        if text.trim().is_empty() {
            self.fault(pointer, "must say something");
        }
        self.short(pointer, Some(text), most);
    }

    /// A text of at most `most` letters, if there is one.
    pub fn short(&mut self, pointer: &str, text: Option<&str>, most: usize) {
        if let Some(text) = text
            && text.chars().count() > most
        {
            self.fault(pointer, format!("is longer than {most} letters; shorten it"));
        }
    }

    /// An e-mail address: one `@` with something on both sides, no spaces or control letters.
    /// Whether it exists only a letter shows.
    pub fn email(&mut self, pointer: &str, email: Option<&str>) {
        let Some(email) = email else { return };
        let well = email.split_once('@').is_some_and(|(name, host)| {
            !name.is_empty() && host.len() > 2 && host.contains('.') && !host.contains('@') && !host.starts_with('.') && !host.ends_with('.')
        });
        if !well || email.len() > 254 || email.chars().any(|c| c.is_whitespace() || c.is_control() || "<>,;\"()[]\\".contains(c)) {
            self.fault(pointer, "is no e-mail address; it looks like name@place.example");
        }
    }

    /// A telephone number as people write one, with at least three digits; an empty text
    /// clears the field. Kept as typed: whether it rings only a call shows.
    pub fn phone(&mut self, pointer: &str, phone: Option<&str>) {
        let Some(phone) = phone.map(str::trim).filter(|phone| !phone.is_empty()) else { return };
        self.short(pointer, Some(phone), 50);
        let lower = phone.to_lowercase();
        let (number, extension) = lower.split_once("ext").map_or((lower.as_str(), None), |(number, extension)| (number, Some(extension)));
        let is_number = number.chars().all(|c| c.is_ascii_digit() || " +()-./".contains(c)) && number.chars().filter(char::is_ascii_digit).count() >= 3;
        let is_extension = extension.is_none_or(|text| {
            let digits = text.strip_prefix('.').unwrap_or(text).trim();
            (1..=6).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit())
        });
        if !is_number || !is_extension {
            self.fault(pointer, "is no telephone number: digits, spaces and + ( ) - . / alone, with an extension as \"ext 12\"; anything else belongs in the note");
        }
    }

    /// A place along what a word names on an instrument's map: not beyond the part's own length.
    /// A joint has none, and neither has a part that the map does not know.
    pub fn on_part(&mut self, pointer: &str, position_mm: Option<Decimal>, map: &PartMap, part: &str) {
        let (Some(mm), Some(Pinned::Part(on))) = (position_mm.and_then(|mm| mm.to_f64()), map.resolve(part)) else { return };
        if mm > on.length.mm {
            let basis = match on.length.basis {
                Basis::Measured => "as it was measured",
                Basis::Typical => "as is typical; measure it on the map if this one is longer",
            };
            self.fault(pointer, format!("lies beyond the {}, which is {} mm long, {basis}", on.name, on.length.mm));
        }
    }

    /// An amount in the shop's currency, not below zero.
    pub fn amount(&mut self, pointer: &str, money: Option<Money>, currency: Currency) -> Option<Decimal> {
        let money = money?;
        if money.currency() != currency {
            self.fault(format!("{pointer}/currency"), format!("must be {currency}, the shop's currency"));
        }
        if money.is_negative() {
            self.fault(format!("{pointer}/amount"), "must not be below zero");
        }
        if money.amount() > Decimal::from(1_000_000_000_000_i64) {
            self.fault(format!("{pointer}/amount"), "is too large");
        }
        Some(money.amount())
    }

    /// A length in mm, above zero and at most ten metres.
    pub fn millimetres(&mut self, pointer: &str, mm: Option<Decimal>) {
        if let Some(mm) = mm
            && (mm < Decimal::ZERO || mm > Decimal::from(10_000) || mm.scale() > 3)
        {
            self.fault(pointer, "must lie between 0 and 10000 mm, with at most three places");
        }
    }

    /// Ends the checks.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with all faults.
    pub fn done(self) -> Result<(), Halt> {
        if self.faults.is_empty() { Ok(()) } else { Err(Halt::Invalid(self.faults)) }
    }
}

/// A text without outer space; none when nothing is left.
pub fn tidy(text: Option<&str>) -> Option<String> {
    text.map(str::trim).filter(|text| !text.is_empty()).map(ToOwned::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_telephone_number_holds_no_words() {
        let is_good = |phone: &str| {
            let mut checks = Checks::default();
            checks.phone("/phone", Some(phone));
            checks.done().is_ok()
        };
        for good in ["", "  ", "0151 2345678", "+49 (351) 555-0199", "030/555.0100", "555 0142 ext 12", "555-0142 Ext. 7", "5550142ext123456", "112"] {
            assert!(is_good(good), "{good:?}");
        }
        for bad in ["ask for Otto", "555 0142 mornings", "12", "ext 12", "555 0142 ext", "555 0142 ext 1234567", "555 0142 ext 1a", "555\u{660}142", "5550142 x12", "#31#5550142"] {
            assert!(!is_good(bad), "{bad:?}");
        }
        assert!(!is_good(&"1".repeat(51)), "too long");
    }
}
