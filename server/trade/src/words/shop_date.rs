//! Reading a calendar date of the shop out of JSON: four, two and two digits, nothing around them.
//!
//! chrono's own reader also takes `2026-5-1` and space in front, which no document says.

use chrono::NaiveDate;
use serde::{Deserialize, Deserializer, de::Error};

const SUCH: &str = "must be a date such as 2026-05-20";

fn read(text: &str) -> Option<NaiveDate> {
    let is_plain = text.len() == 10 && text.bytes().enumerate().all(|(at, byte)| if matches!(at, 4 | 7) { byte == b'-' } else { byte.is_ascii_digit() });
    is_plain.then(|| text.parse().ok()).flatten()
}

/// A date that must be there.
///
/// # Errors
/// When it is no date so written.
pub fn date<'de, D: Deserializer<'de>>(from: D) -> Result<NaiveDate, D::Error> {
    read(&String::deserialize(from)?).ok_or_else(|| D::Error::custom(SUCH))
}

/// A date that may be left out or null.
///
/// # Errors
/// When it is no date so written.
pub fn optional<'de, D: Deserializer<'de>>(from: D) -> Result<Option<NaiveDate>, D::Error> {
    Option::<String>::deserialize(from)?.map(|text| read(&text).ok_or_else(|| D::Error::custom(SUCH))).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_is_ten_letters_and_nothing_else() {
        assert_eq!(read("2026-05-20"), NaiveDate::from_ymd_opt(2026, 5, 20));
        assert_eq!(read("2024-02-29"), NaiveDate::from_ymd_opt(2024, 2, 29));
        for bad in ["2026-5-20", " 2026-05-20", "2026-05-20 ", "2026-02-29", "+2026-05-2", "2026-05-20T", "20260520", "２026-05-20", ""] {
            assert_eq!(read(bad), None, "{bad:?}");
        }
    }
}
