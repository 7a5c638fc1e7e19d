//! Checks of what was typed, gathered with JSON pointers so that the person sees all at once.

use crate::Halt;
use rust_decimal::Decimal;
use trade::calculation::Fault;
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
