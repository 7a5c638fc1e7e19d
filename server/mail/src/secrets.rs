//! The secrets of links in a letter's words: taken out once it has gone, put in anew to send it again.
//!
//! A link is kept as a hash, and a letter that has gone needs its secret no more: whoever reads
//! the database later opens nothing with it.

/// What stands where a secret was.
pub const WITHHELD: &str = "withheld";

/// The pages that a secret opens, as they begin in an address.
const PAGES: [&str; 3] = ["/status/", "/answer/", "/password/"];

/// The words without the secrets of their links.
#[must_use]
pub fn withhold(words: &str) -> String {
    replace(words, |_, _| Some(WITHHELD.to_owned()))
}

/// Whether the words hold a link to this page whose secret was taken out.
#[must_use]
pub fn is_withheld(words: &str, page: &str) -> bool {
    words.contains(&format!("/{page}/{WITHHELD}"))
}

/// The words with new secrets where they were taken out: `status` and `answer` are complete
/// addresses, whose last part is put in.
#[must_use]
pub fn put_in(words: &str, status: Option<&str>, answer: Option<&str>) -> String {
    replace(words, |page, secret| {
        let address = match page {
            "/status/" => status,
            "/answer/" => answer,
            // Such a link is issued anew, never put into an old letter.
            _ => None,
        };
        let new = address.and_then(|address| address.rsplit('/').next());
        new.filter(|_| secret == WITHHELD).map(ToOwned::to_owned)
    })
}

/// Asks for every secret behind a page what is to stand there; none: what stands there stays.
fn replace(words: &str, by: impl Fn(&str, &str) -> Option<String>) -> String {
    let mut out = String::with_capacity(words.len());
    let mut rest = words;
    while let Some((at, page)) = PAGES.iter().filter_map(|page| rest.find(page).map(|at| (at, *page))).min() {
        let (before, after) = rest.split_at(at + page.len());
        out.push_str(before);
        let end = after.find(|c: char| !(c.is_ascii_alphanumeric() || c == '-' || c == '_')).unwrap_or(after.len());
        let (secret, behind) = after.split_at(end);
        match by(page, secret) {
            // A path that only looks like one is shorter than any secret.
            Some(new) if secret.len() >= 16 || secret == WITHHELD => out.push_str(&new),
            _ => out.push_str(secret),
        }
        rest = behind;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECRET: &str = "aQ2nF_0123456789abcdefghijklmnopqr";

    #[test]
    fn nothing_but_the_secret_is_taken_out_and_a_new_one_put_in() {
        let words = format!("See https://shop.example/status/{SECRET}.\n<a href=\"https://shop.example/answer/{SECRET}\">/status/x</a>");
        let gone = withhold(&words);
        assert!(!gone.contains(SECRET));
        assert_eq!(gone, "See https://shop.example/status/withheld.\n<a href=\"https://shop.example/answer/withheld\">/status/x</a>");
        assert!(is_withheld(&gone, "answer") && !is_withheld(&words, "answer"));
        assert_eq!(withhold(&gone), gone);
        let again = put_in(&gone, Some("https://shop.example/status/anew"), Some("https://shop.example/answer/anewer"));
        assert_eq!(again, "See https://shop.example/status/anew.\n<a href=\"https://shop.example/answer/anewer\">/status/x</a>");
        assert_eq!(put_in(&words, Some("https://shop.example/status/anew"), None), words, "a secret that stands there stays");
    }
}
