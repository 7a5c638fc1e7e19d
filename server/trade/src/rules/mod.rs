//! The rules that always hold: the table of moves, what may be started, whose turn it is,
//! what may be promised.

pub mod authority;
pub mod bill;
pub mod dispositions;
pub mod facts;
pub mod further;
pub mod promises;
pub mod required_tests;
pub mod stages;
pub mod turns;

/// Why a rule says no: a stable slug and a sentence that the person asking can act on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Which rule, as a slug that is never renamed.
    pub slug: &'static str,
    /// What is in the way and what to do about it.
    pub words: String,
}

impl Refusal {
    /// A refusal in words.
    #[must_use]
    pub fn new(slug: &'static str, words: impl Into<String>) -> Self {
        Self { slug, words: words.into() }
    }
}
