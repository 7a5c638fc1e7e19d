//! What a form on a customer's page sends: read strictly, answered kindly.

use super::instead::Instead;
use actix_web::HttpRequest;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Payload;
use futures_util::StreamExt;
use percent_encoding::percent_decode_str;

/// The most a form may hold, in bytes.
pub(super) const MOST: usize = 64 * 1024;

/// The fields of a form in their order, as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Form(Vec<(String, String)>);

/// A field as typed, without NUL letters, and whether it held any.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct TypedField {
    /// What can be kept of it; line ends are single.
    pub text: String,
    /// It held a NUL letter, which no database keeps.
    pub held_nul: bool,
}

impl TypedField {
    /// Whether it says nothing.
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }

    /// Whether it is longer than so many letters.
    pub fn is_longer_than(&self, most: usize) -> bool {
        self.text.trim().chars().count() > most
    }
}

/// The body of a request, up to [`MOST`] bytes.
pub(super) async fn body(mut payload: Payload) -> Result<Vec<u8>, Instead> {
    let mut bytes = Vec::new();
    while let Some(chunk) = payload.next().await {
        let chunk = chunk.map_err(|_| Instead::Unreadable { back: None })?;
        if bytes.len() + chunk.len() > MOST {
            return Err(Instead::TooLarge);
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(bytes)
}

/// The type a body says it has, without its parameters, in lower case.
pub(super) fn kind_of(request: &HttpRequest) -> String {
    let value = request
        .headers()
        .get(CONTENT_TYPE)
        .and_then(|value| value.to_str().ok())
        .unwrap_or_default();
    value.split(';').next().unwrap_or_default().trim().to_ascii_lowercase()
}

impl Form {
    /// Reads a form.
    ///
    /// # Errors
    /// The page to show instead: another type, too large, or no form.
    pub async fn read(request: &HttpRequest, payload: Payload) -> Result<Self, Instead> {
        if kind_of(request) != "application/x-www-form-urlencoded" {
            return Err(Instead::WrongType);
        }
        Self::from_bytes(&body(payload).await?).ok_or(Instead::Unreadable { back: None })
    }

    /// The fields of a body by the WHATWG URL Standard, "application/x-www-form-urlencoded
    /// parsing"; stricter in that what is not UTF-8 is none, instead of holding replaced letters
    /// that nobody typed.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(bytes).ok()?;
        let plain = |part: &str| {
            percent_decode_str(&part.replace('+', " "))
                .decode_utf8()
                .ok()
                .map(|text| text.into_owned())
        };
        text.split('&')
            .filter(|pair| !pair.is_empty())
            .map(|pair| {
                let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
                Some((plain(name)?, plain(value)?))
            })
            .collect::<Option<Vec<_>>>()
            .map(Self)
    }

    /// Whether it holds no other fields than these: each of `once` at most once, `many` as often
    /// as it likes. A field sent twice could be read as either; it is read as neither.
    pub fn holds_only(&self, once: &[&str], many: &[&str]) -> bool {
        self.0.iter().all(|(name, _)| {
            many.contains(&name.as_str())
                || (once.contains(&name.as_str())
                    && self.0.iter().filter(|(other, _)| other == name).count() == 1)
        })
    }

    /// The value of a field; empty when it was not sent.
    pub fn one(&self, name: &str) -> &str {
        self.0.iter().find(|(own, _)| own == name).map_or("", |(_, value)| value)
    }

    /// Every value of a field that may come several times.
    pub fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        self.0.iter().filter(move |(own, _)| own == name).map(|(_, value)| value.as_str())
    }

    /// A field for typing in.
    pub fn typed(&self, name: &str) -> TypedField {
        // A browser sends CR LF for a line end (HTML, "constructing the entry list"); everyone
        // else here means one letter by it.
        let value = self.one(name).replace("\r\n", "\n");
        let held_nul = value.contains('\0');
        TypedField { text: if held_nul { value.replace('\0', "") } else { value }, held_nul }
    }
}

/// Whether this is the body of a mail program's one-click POST (RFC 8058; from memory that it
/// comes as `multipart/form-data` or as a form): `List-Unsubscribe=One-Click`.
pub(super) fn is_one_click(request: &HttpRequest, bytes: &[u8]) -> bool {
    match kind_of(request).as_str() {
        "application/x-www-form-urlencoded" => Form::from_bytes(bytes).is_some_and(|form| {
            form.holds_only(&["List-Unsubscribe"], &[])
                && form.one("List-Unsubscribe") == "One-Click"
        }),
        "multipart/form-data" => {
            // One part with one short value: its head and its content are told apart by the
            // empty line, and nothing of it is kept.
            let text = String::from_utf8_lossy(bytes);
            let mut parts = text.split("\r\n\r\n");
            let head = parts.next().unwrap_or_default();
            let content =
                parts.next().and_then(|rest| rest.split("\r\n").next()).unwrap_or_default();
            head.to_ascii_lowercase().contains("name=\"list-unsubscribe\"")
                && content.trim() == "One-Click"
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::test::TestRequest;

    fn form(body: &str) -> Form {
        Form::from_bytes(body.as_bytes()).unwrap()
    }

    #[test]
    fn a_form_is_read_as_a_browser_sends_it() {
        let form =
            form("name=Jonas+Lund&question=Is+it+100%25%3F%0D%0AReally%3F&line=a&line=b&answer=");
        assert_eq!(form.one("name"), "Jonas Lund");
        assert_eq!(
            form.typed("question"),
            TypedField { text: "Is it 100%?\nReally?".into(), held_nul: false }
        );
        assert_eq!(form.all("line").collect::<Vec<_>>(), ["a", "b"]);
        assert_eq!(form.one("answer"), "");
        assert_eq!(form.one("missing"), "");
        assert_eq!(Form::from_bytes(b"").unwrap(), Form(vec![]));
    }

    #[test]
    fn letters_of_every_script_are_kept() {
        assert_eq!(form("name=%D9%86%D9%88%D8%B1+%E2%80%99%F0%9F%8E%BA").one("name"), "نور ’🎺");
        assert_eq!(form("name=Zoë").one("name"), "Zoë");
    }

    #[test]
    fn what_is_not_utf_8_is_no_form() {
        assert_eq!(Form::from_bytes(b"name=%FF%FE"), None);
        assert_eq!(Form::from_bytes(b"name=\xff"), None);
    }

    #[test]
    fn a_nul_letter_is_taken_out_and_told() {
        assert_eq!(
            form("name=Jo%00nas").typed("name"),
            TypedField { text: "Jonas".into(), held_nul: true }
        );
    }

    #[test]
    fn a_field_sent_twice_or_not_asked_for_is_refused() {
        assert!(form("answer=accepted&line=1&line=2").holds_only(&["answer"], &["line"]));
        assert!(!form("answer=accepted&answer=declined").holds_only(&["answer"], &["line"]));
        assert!(!form("answer=accepted&shop_id=1").holds_only(&["answer"], &["line"]));
    }

    #[test]
    fn one_click_is_known_in_both_its_forms_and_in_no_other() {
        let of = |kind: &str, body: &str| {
            is_one_click(
                &TestRequest::post().insert_header((CONTENT_TYPE, kind)).to_http_request(),
                body.as_bytes(),
            )
        };
        assert!(of("application/x-www-form-urlencoded", "List-Unsubscribe=One-Click"));
        let parts = "--b\r\nContent-Disposition: form-data; name=\"List-Unsubscribe\"\r\n\r\nOne-Click\r\n--b--\r\n";
        assert!(of("multipart/form-data; boundary=b", parts));
        assert!(!of("application/x-www-form-urlencoded", "List-Unsubscribe=Two-Clicks"));
        assert!(!of("application/x-www-form-urlencoded", ""));
        assert!(!of("text/plain", "List-Unsubscribe=One-Click"));
        assert!(!of(
            "multipart/form-data; boundary=b",
            "--b\r\nContent-Disposition: form-data; name=\"x\"\r\n\r\nOne-Click\r\n--b--\r\n"
        ));
    }
}
