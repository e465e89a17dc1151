//! Fields of a form or of an address, read strictly: what is not UTF-8 is refused, never guessed at.

use crate::fault::Fault;
use crate::limits::FORM_FIELDS;
use app::shop::RecordId;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::{header, request::Parts};

/// The fields, in the order in which they came.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fields(Vec<(String, String)>);

impl Fields {
    /// Reads `application/x-www-form-urlencoded` (WHATWG URL, section 5.1), but refuses what is not UTF-8 and
    /// characters that no text field sends.
    pub(crate) fn parse(bytes: &[u8]) -> Result<Fields, Fault> {
        let pieces = bytes.split(|&b| b == b'&').filter(|p| !p.is_empty());
        let mut fields = Vec::new();
        for piece in pieces {
            if fields.len() == FORM_FIELDS {
                return Err(Fault::Bad("The form has more fields than any form of this program."));
            }
            let mut halves = piece.splitn(2, |&b| b == b'=');
            let name = text(halves.next().unwrap_or_default())?;
            let value = text(halves.next().unwrap_or_default())?;
            fields.push((name, value));
        }
        Ok(Fields(fields))
    }

    /// Fields with these values.
    pub(crate) fn of(fields: &[(&str, &str)]) -> Fields {
        Fields(fields.iter().map(|f| (f.0.to_owned(), f.1.to_owned())).collect())
    }

    /// The same with one field set anew.
    pub(crate) fn with(&self, name: &str, value: &str) -> Fields {
        let mut out = self.clone();
        out.0.retain(|f| f.0 != name);
        out.0.push((name.to_owned(), value.to_owned()));
        out
    }

    /// A field without blanks around it; empty when it is absent.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.raw(name).trim()
    }

    /// A field as it came; empty when it is absent. For passwords.
    pub(crate) fn raw(&self, name: &str) -> &str {
        self.0.iter().find(|f| f.0 == name).map_or("", |f| f.1.as_str())
    }

    /// A field; none when it is absent or blank.
    pub(crate) fn some(&self, name: &str) -> Option<&str> {
        Some(self.text(name)).filter(|t| !t.is_empty())
    }

    /// A whole number; 0 when it is none: revisions that a form saw.
    pub(crate) fn seen(&self) -> i64 {
        self.text("seen").parse().unwrap_or(0)
    }

    /// Every value of a field that may come more than once, without blanks around, in order.
    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> + 'a {
        self.0.iter().filter(move |f| f.0 == name).map(|f| f.1.trim())
    }

    /// A box that was ticked.
    pub(crate) fn ticked(&self, name: &str) -> bool {
        self.0.iter().any(|f| f.0 == name)
    }

    /// The fields, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|f| (f.0.as_str(), f.1.as_str()))
    }
}

/// One name or value: `+` is a blank, `%41` a byte.
fn text(coded: &[u8]) -> Result<String, Fault> {
    const NOT_TEXT: Fault = Fault::Bad(
        "A field of the form holds bytes that are not UTF-8 text. Go back, type it again and send it once more.",
    );
    let mut bytes = Vec::with_capacity(coded.len());
    let mut at = 0;
    while at < coded.len() {
        let hex = |i: usize| coded.get(i).and_then(|&b| char::from(b).to_digit(16));
        match (coded[at], hex(at + 1), hex(at + 2)) {
            (b'%', Some(a), Some(b)) => {
                bytes.push((a * 16 + b) as u8);
                at += 3;
                continue;
            }
            (b'+', ..) => bytes.push(b' '),
            (b, ..) => bytes.push(b),
        }
        at += 1;
    }
    let text = String::from_utf8(bytes).map_err(|_| NOT_TEXT)?;
    if text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
        return Err(Fault::Bad("A field of the form holds control characters. Go back and type it again."));
    }
    Ok(text.replace("\r\n", "\n"))
}

impl<S: Send + Sync> FromRequest<S> for Fields {
    type Rejection = Fault;

    async fn from_request(request: Request, state: &S) -> Result<Self, Fault> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
        let kind = kind.split(';').next().unwrap_or("").trim();
        if !kind.eq_ignore_ascii_case("application/x-www-form-urlencoded") {
            return Err(Fault::Media);
        }
        let bytes = Bytes::from_request(request, state).await.map_err(|e| match e.status() {
            axum::http::StatusCode::PAYLOAD_TOO_LARGE => Fault::TooLarge,
            _ => Fault::Bad("The form did not arrive whole. Go back and send it once more."),
        })?;
        Fields::parse(&bytes)
    }
}

/// An id of the address; what is none is nowhere.
pub(crate) fn id_of(text: &str) -> Result<RecordId, Fault> {
    RecordId::new(text).map_err(|_| Fault::NotFound)
}

/// The fields of the address.
#[derive(Clone, Debug, Default)]
pub(crate) struct Asked(pub(crate) Fields);

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Fault> {
        Fields::parse(parts.uri.query().unwrap_or("").as_bytes()).map(Asked)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_browsers_send() {
        let f = Fields::parse(b"name=Caf%C3%A9+au+lait&tick&note=a%0D%0Ab&zone=back&zone=loin&x=1=2").unwrap();
        assert_eq!(f.text("name"), "Café au lait");
        assert_eq!(f.text("note"), "a\nb");
        assert!(f.ticked("tick") && !f.ticked("tock"));
        assert_eq!(f.text("zone"), "back", "the first counts");
        assert_eq!((f.text("x"), f.some("none")), ("1=2", None));
        assert_eq!(Fields::parse(b"a=%zz%4").unwrap().text("a"), "%zz%4");
    }

    #[test]
    fn refuses_what_is_no_text() {
        for bad in [&b"a=%FF"[..], b"a=%C3%28", b"%E2%82=1", b"a=\xff", b"a=%00", b"a=x%1By"] {
            assert!(Fields::parse(bad).is_err(), "{bad:?}");
        }
        let many = "a=1&".repeat(FORM_FIELDS + 1);
        assert!(Fields::parse(many.as_bytes()).is_err());
    }
}
