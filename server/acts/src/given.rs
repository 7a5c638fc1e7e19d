//! Fields that may be left out, which is another thing than null.

use serde::{Deserialize, Deserializer};

/// A field that was given, be it null.
///
/// # Errors
/// When it is not of its type.
pub fn given<'de, T: Deserialize<'de>, D: Deserializer<'de>>(from: D) -> Result<Option<Option<T>>, D::Error> {
    Option::deserialize(from).map(Some)
}
