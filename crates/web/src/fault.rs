//! What a visitor is told when something cannot be done. Internal text stays in the log, under a reference.

use app::shop::{ShopFailure, StoreError};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};

/// Why there is no page.
#[derive(Debug)]
pub(crate) enum Fault {
    /// There is no such thing, or it belongs to somebody else.
    NotFound,
    /// What was sent cannot be read; says why in whole sentences.
    Bad(&'static str),
    /// A form of another kind than ours.
    Media,
    /// More bytes than allowed.
    TooLarge,
    /// Nobody is signed in; where to go on afterwards.
    SignIn(String),
    /// Not from here; says why in whole sentences.
    Forbidden(&'static str),
    /// Too much at once; come back in a moment.
    Busy,
    /// Something broke; the cause, for the log only.
    Broken(String),
}

/// What the page of a fault says.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    pub(crate) status: StatusCode,
    pub(crate) text: &'static str,
    pub(crate) reference: Option<String>,
}

impl Told {
    /// What a bare status means.
    pub(crate) fn of(status: StatusCode) -> Told {
        let text = match status {
            StatusCode::BAD_REQUEST => "What was sent cannot be read. Go back and try once more.",
            StatusCode::FORBIDDEN => {
                "The request came from another site, or through a proxy that changes the name of this one. \
                 Open the page here and send it again."
            }
            StatusCode::NOT_FOUND => {
                "There is nothing at this address. It may have been taken away, or the link is not whole."
            }
            StatusCode::METHOD_NOT_ALLOWED => "This address is there, but not for what was asked of it.",
            StatusCode::PAYLOAD_TOO_LARGE => "That is more than this page takes. Send less at once.",
            StatusCode::UNSUPPORTED_MEDIA_TYPE => "That is not the kind of thing this page takes.",
            StatusCode::MISDIRECTED_REQUEST => {
                "This program answers on this machine only, under the address that it printed. Use that address."
            }
            StatusCode::SERVICE_UNAVAILABLE => "Too much is being done at once. Wait a moment, then try again.",
            _ => "Something broke here. Nothing that was acknowledged is lost. Go back and try once more.",
        };
        Told { status, text, reference: None }
    }
}

/// A random reference that can be read out over the telephone: no letter that looks like a number.
fn reference() -> String {
    const LETTERS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz234567890";
    let mut bytes = [0; 8];
    // Without randomness a reference is still told, only not its own.
    let _ = getrandom::fill(&mut bytes);
    bytes.iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect()
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let told = match self {
            Fault::NotFound => Told::of(StatusCode::NOT_FOUND),
            Fault::Bad(text) => Told { text, ..Told::of(StatusCode::BAD_REQUEST) },
            Fault::Media => Told::of(StatusCode::UNSUPPORTED_MEDIA_TYPE),
            Fault::TooLarge => Told::of(StatusCode::PAYLOAD_TOO_LARGE),
            Fault::Forbidden(text) => Told { text, ..Told::of(StatusCode::FORBIDDEN) },
            Fault::Busy => Told::of(StatusCode::SERVICE_UNAVAILABLE),
            Fault::SignIn(to) => {
                let mut response = StatusCode::SEE_OTHER.into_response();
                if let Ok(to) = HeaderValue::from_str(&to) {
                    response.headers_mut().insert(header::LOCATION, to);
                }
                response.extensions_mut().insert(SignedOut);
                return response;
            }
            Fault::Broken(cause) => {
                let reference = reference();
                tracing::error!(%reference, "{cause}");
                Told { reference: Some(reference), ..Told::of(StatusCode::INTERNAL_SERVER_ERROR) }
            }
        };
        let mut response = told.status.into_response();
        response.extensions_mut().insert(told);
        response
    }
}

/// Marks an answer to somebody who is not signed in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SignedOut;

impl From<StoreError> for Fault {
    fn from(e: StoreError) -> Self {
        Fault::Broken(e.to_string())
    }
}

impl From<ShopFailure> for Fault {
    fn from(e: ShopFailure) -> Self {
        match e {
            ShopFailure::NotFound { .. } => Fault::NotFound,
            other => Fault::Broken(other.to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_differ_and_can_be_read_out() {
        let (a, b) = (reference(), reference());
        assert_ne!(a, b);
        assert!(
            a.len() == 8 && a.bytes().all(|c| c.is_ascii_lowercase() && !b"ilo".contains(&c) || c.is_ascii_digit())
        );
    }
}
