//! How a computation of the trade reads its JSON input, and how it refuses it.
//!
//! A computation is `fn(&Value) -> Result<Value, Refused>`. It reads through
//! [`Reading`], which gathers every fault with its JSON pointer instead of
//! stopping at the first, refuses unknown fields, and notes each input that was
//! left out and took a typical value.

use serde_json::{Map, Value};
use std::ops::{Bound, RangeBounds};

/// One thing wrong with an input: where (RFC 6901 pointer) and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// JSON pointer into the input.
    pub pointer: String,
    /// What is wrong, in words for a person.
    pub message: String,
}

/// Why a computation gives no answer: a slug and every fault found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// `invalid-input`, or one of the slugs that the computation's section names.
    pub slug: &'static str,
    /// The faults, in the order found.
    pub faults: Vec<Fault>,
}

impl Refused {
    /// A refusal without faults yet.
    #[must_use]
    pub fn new(slug: &'static str) -> Self {
        Self { slug, faults: Vec::new() }
    }

    /// The same refusal with one more fault.
    #[must_use]
    pub fn at(mut self, pointer: impl Into<String>, message: impl Into<String>) -> Self {
        self.faults.push(Fault { pointer: pointer.into(), message: message.into() });
        self
    }
}

/// One computation by its public name; `None` when there is no such computation.
pub fn by_name(name: &str) -> Option<Compute> {
    ALL.iter().find(|(known, _)| *known == name).map(|(_, compute)| *compute)
}

/// A computation: JSON in, JSON out.
pub type Compute = fn(&Value) -> Result<Value, Refused>;

/// Every computation by its public name, in the order of the design's table.
pub const ALL: [(&str, Compute); 11] = [
    ("heat-reach", crate::bench::heat_reach::compute),
    ("order-of-work", crate::bench::order_of_work::compute),
    ("further-findings", crate::bench::further_findings::compute),
    ("promise-date", crate::bench::promise_date::compute),
    ("leak-rate", crate::bench::leak_rate::compute),
    ("fit", crate::bench::fit::compute),
    ("plating-charge", crate::bench::plating_charge::compute),
    ("filler-amount", crate::bench::filler_amount::compute),
    ("quote-totals", crate::words::quote_totals::compute),
    ("claim-number", crate::words::claim_number::compute),
    ("business-time", crate::words::business_time::compute),
];

/// A value inside the input together with its JSON pointer.
#[derive(Debug, Clone)]
pub struct Node<'v> {
    /// The value itself.
    pub value: &'v Value,
    /// Its JSON pointer from the root of the input.
    pub pointer: String,
}

impl<'v> Node<'v> {
    /// The whole input.
    #[must_use]
    pub fn root(value: &'v Value) -> Self {
        Self { value, pointer: String::new() }
    }

    /// The pointer of one field or element below this value.
    #[must_use]
    pub fn below(&self, key: &str) -> String {
        format!("{}/{}", self.pointer, key.replace('~', "~0").replace('/', "~1"))
    }

    /// One field of this object; `None` when absent or `null`.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<Node<'v>> {
        let value = self.value.get(key)?;
        (!value.is_null()).then(|| Node { value, pointer: self.below(key) })
    }

    /// The elements of this array; empty when it is none.
    #[must_use]
    pub fn elements(&self) -> Vec<Node<'v>> {
        let list = self.value.as_array().map(Vec::as_slice).unwrap_or_default();
        list.iter()
            .enumerate()
            .map(|(index, value)| Node { value, pointer: format!("{}/{index}", self.pointer) })
            .collect()
    }
}

/// Reads an input, gathering all faults and all defaulted inputs on the way.
///
/// Every reader gives `None` after noting a fault, so that reading goes on and
/// the person sees all faults at once; [`Reading::done`] then refuses.
#[derive(Debug, Default)]
pub struct Reading {
    /// What is wrong so far.
    pub faults: Vec<Fault>,
    /// Pointers of inputs that were left out and took a typical value.
    pub defaulted: Vec<String>,
}

impl Reading {
    /// Notes a fault.
    pub fn fault(&mut self, pointer: impl Into<String>, message: impl Into<String>) {
        self.faults.push(Fault { pointer: pointer.into(), message: message.into() });
    }

    /// The object at `node`; a fault if it is none, and one for each field not in `known`.
    pub fn object<'v>(&mut self, node: &Node<'v>, known: &[&str]) -> Option<&'v Map<String, Value>> {
        let Some(object) = node.value.as_object() else {
            self.fault(&node.pointer, "must be an object");
            return None;
        };
        for key in object.keys() {
            if !known.contains(&key.as_str()) {
                self.fault(node.below(key), "is not a field of this computation; leave it out");
            }
        }
        Some(object)
    }

    /// A required number within `range`.
    pub fn number(&mut self, node: &Node<'_>, key: &str, range: impl RangeBounds<f64> + std::fmt::Debug) -> Option<f64> {
        match node.get(key) {
            None => {
                self.fault(node.below(key), "is missing; give a number");
                None
            }
            Some(found) => self.number_at(&found, range),
        }
    }

    /// An optional number within `range`; `None` also after a fault.
    pub fn number_if(&mut self, node: &Node<'_>, key: &str, range: impl RangeBounds<f64> + std::fmt::Debug) -> Option<f64> {
        node.get(key).and_then(|found| self.number_at(&found, range))
    }

    /// A number within `range`, or `typical` (noted as defaulted) when left out.
    pub fn number_or(&mut self, node: &Node<'_>, key: &str, range: impl RangeBounds<f64> + std::fmt::Debug, typical: f64) -> f64 {
        match node.get(key) {
            None => {
                self.defaulted.push(node.below(key));
                typical
            }
            Some(found) => self.number_at(&found, range).unwrap_or(typical),
        }
    }

    /// The number at `node`, within `range`.
    pub fn number_at(&mut self, node: &Node<'_>, range: impl RangeBounds<f64> + std::fmt::Debug) -> Option<f64> {
        let Some(number) = node.value.as_f64() else {
            self.fault(&node.pointer, "must be a number");
            return None;
        };
        if !number.is_finite() || !range.contains(&number) {
            self.fault(&node.pointer, format!("{number} must be {}", in_words(&range)));
            return None;
        }
        Some(number)
    }

    /// A required whole number within `range`.
    pub fn whole(&mut self, node: &Node<'_>, key: &str, range: impl RangeBounds<i64> + std::fmt::Debug) -> Option<i64> {
        match node.get(key) {
            None => {
                self.fault(node.below(key), "is missing; give a whole number");
                None
            }
            Some(found) => self.whole_at(&found, range),
        }
    }

    /// The whole number at `node`, within `range` (`5.0` counts as 5).
    pub fn whole_at(&mut self, node: &Node<'_>, range: impl RangeBounds<i64> + std::fmt::Debug) -> Option<i64> {
        #[expect(clippy::cast_possible_truncation, reason = "bounded to 2^53 just before")]
        let number = node.value.as_i64().or_else(|| {
            node.value.as_f64().filter(|f| f.fract() == 0.0 && f.abs() < 9.0e15).map(|f| f as i64)
        });
        match number {
            Some(number) if range.contains(&number) => Some(number),
            Some(number) => {
                self.fault(&node.pointer, format!("{number} is outside {range:?}"));
                None
            }
            None => {
                self.fault(&node.pointer, "must be a whole number");
                None
            }
        }
    }

    /// A required text.
    pub fn text<'v>(&mut self, node: &Node<'v>, key: &str) -> Option<&'v str> {
        match node.get(key) {
            None => {
                self.fault(node.below(key), "is missing; give a text");
                None
            }
            Some(found) => self.text_at(&found),
        }
    }

    /// The text at `node`.
    pub fn text_at<'v>(&mut self, node: &Node<'v>) -> Option<&'v str> {
        let text = node.value.as_str();
        if text.is_none() {
            self.fault(&node.pointer, "must be a text");
        }
        text
    }

    /// The elements of a required array.
    pub fn list<'v>(&mut self, node: &Node<'v>, key: &str) -> Vec<Node<'v>> {
        match node.get(key) {
            None => {
                self.fault(node.below(key), "is missing; give a list");
                Vec::new()
            }
            Some(found) => self.list_at(&found),
        }
    }

    /// The elements of an optional array; empty when left out.
    pub fn list_if<'v>(&mut self, node: &Node<'v>, key: &str) -> Vec<Node<'v>> {
        node.get(key).map(|found| self.list_at(&found)).unwrap_or_default()
    }

    fn list_at<'v>(&mut self, found: &Node<'v>) -> Vec<Node<'v>> {
        if !found.value.is_array() {
            self.fault(&found.pointer, "must be a list");
        }
        found.elements()
    }

    /// Ends the reading.
    ///
    /// # Errors
    /// `invalid-input` with every fault, if there is one.
    pub fn done(&self) -> Result<(), Refused> {
        if self.faults.is_empty() {
            Ok(())
        } else {
            Err(Refused { slug: "invalid-input", faults: self.faults.clone() })
        }
    }
}

/// All numbers above `least`, for [`Reading::number`] and its kin.
#[must_use]
pub fn above(least: f64) -> (Bound<f64>, Bound<f64>) {
    (Bound::Excluded(least), Bound::Unbounded)
}

/// All numbers above `least` up to and with `most`.
#[must_use]
pub fn above_up_to(least: f64, most: f64) -> (Bound<f64>, Bound<f64>) {
    (Bound::Excluded(least), Bound::Included(most))
}

/// A range as a person reads it: "above 0 and at most 1".
#[must_use]
pub fn in_words(range: &impl RangeBounds<f64>) -> String {
    let least = match range.start_bound() {
        Bound::Included(least) => Some(format!("at least {least}")),
        Bound::Excluded(least) => Some(format!("above {least}")),
        Bound::Unbounded => None,
    };
    let most = match range.end_bound() {
        Bound::Included(most) => Some(format!("at most {most}")),
        Bound::Excluded(most) => Some(format!("below {most}")),
        Bound::Unbounded => None,
    };
    match (least, most) {
        (Some(least), Some(most)) => format!("{least} and {most}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => "a finite number".to_owned(),
    }
}
