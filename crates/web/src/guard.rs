//! What stands around every page: headers, forged posts, sizes, faults dressed as pages, panics caught.

use crate::access::look;
use crate::fault::{Fault, SignedOut, Told};
use crate::frame;
use crate::limits::FORM_BYTES;
use crate::state::Entrance;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use std::any::Any;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::csrf::CsrfLayer;

/// Only what we send ourselves runs or shows; nothing in the page itself does.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    font-src 'self'; connect-src 'self'; media-src 'self' blob:; manifest-src 'self'; worker-src 'self'; \
    form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// The camera is for photos at the table; the rest a shop's page never needs.
const PERMISSIONS: &str = "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()";

pub(crate) fn around<S: Clone + Send + Sync + 'static>(places: Router<S>, entrance: Entrance) -> Router<S> {
    // The last layer is the outermost.
    places
        .fallback(|| async { Fault::NotFound })
        .layer(CsrfLayer::new())
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .layer(CatchPanicLayer::custom(panicked))
        .layer(from_fn_with_state(entrance, own_name))
        .layer(from_fn(crate::packed::drawings))
        .layer(from_fn(dressed))
        .layer(from_fn_with_state(entrance, headers))
}

fn panicked(cause: Box<dyn Any + Send>) -> Response {
    let text = cause.downcast_ref::<String>().map(String::as_str).or_else(|| cause.downcast_ref::<&str>().copied());
    Fault::Broken(format!("panic: {}", text.unwrap_or("without words"))).into_response()
}

/// On this machine only, the site answers to this machine's names only: a stranger's page that points its own name
/// here reads and writes nothing.
async fn own_name(State(entrance): State<Entrance>, request: Request, next: Next) -> Response {
    if entrance == Entrance::Loopback {
        let named = request.uri().host().map(str::to_owned);
        let host = request.headers().get(header::HOST).and_then(|h| h.to_str().ok()).map(str::to_owned);
        if !named.or(host).is_some_and(|h| is_loopback_name(&h)) {
            return StatusCode::MISDIRECTED_REQUEST.into_response();
        }
    }
    next.run(request).await
}

fn is_loopback_name(host: &str) -> bool {
    let name = match host.strip_prefix('[') {
        Some(v6) => v6.split(']').next().unwrap_or(""),
        None => host.split(':').next().unwrap_or(""),
    };
    name.eq_ignore_ascii_case("localhost") || name.parse::<std::net::IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

async fn headers(State(entrance): State<Entrance>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let h = response.headers_mut();
    fill(h, header::CONTENT_SECURITY_POLICY, POLICY);
    fill(h, header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    fill(h, header::X_FRAME_OPTIONS, "DENY");
    fill(h, header::REFERRER_POLICY, "same-origin");
    fill(h, HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
    fill(h, HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    fill(h, HeaderName::from_static("permissions-policy"), PERMISSIONS);
    // Pages hold people's data: no copy outlives the session, in this browser or on the way.
    fill(h, header::CACHE_CONTROL, "no-store");
    if entrance.secure() {
        fill(h, header::STRICT_TRANSPORT_SECURITY, "max-age=31536000");
    }
    response
}

/// Sets a header unless the page set it itself.
fn fill(headers: &mut HeaderMap, name: HeaderName, value: &'static str) {
    headers.entry(name).or_insert(HeaderValue::from_static(value));
}

/// Whether a header holds a word.
fn says(headers: &HeaderMap, name: HeaderName, word: &str) -> bool {
    headers.get(name).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains(word))
}

/// Makes a page, or JSON for a script, of every fault that has none.
async fn dressed(request: Request, next: Next) -> Response {
    let theme = look(request.headers());
    let json = says(request.headers(), header::ACCEPT, "application/json");
    let part = says(request.headers(), HeaderName::from_static("hx-request"), "true");
    let response = next.run(request).await;
    if response.extensions().get::<SignedOut>().is_some() && (json || part) {
        return signed_out(response, json);
    }
    let status = response.status();
    let kind = response.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
    let plain = kind.is_empty() || kind.starts_with("text/plain") || kind.starts_with("application/octet-stream");
    if !(status.is_client_error() || status.is_server_error()) || !plain {
        return response;
    }
    let told = response.extensions().get::<Told>().cloned().unwrap_or_else(|| Told::of(status));
    let mut page = if json {
        let body = serde_json::json!({ "error": told.text, "reference": told.reference });
        (status, axum::Json(body)).into_response()
    } else {
        (status, frame::fault(theme, &told)).into_response()
    };
    if let Some(allow) = response.headers().get(header::ALLOW) {
        page.headers_mut().insert(header::ALLOW, allow.clone());
    }
    page
}

/// A script cannot follow a redirect to a page that asks for a password: it is told, and leads the person there.
fn signed_out(response: Response, json: bool) -> Response {
    let to = response.headers().get(header::LOCATION).cloned();
    let error = "You are signed out. Sign in again; what was kept in this browser is still there.";
    let mut told = if json {
        (StatusCode::UNAUTHORIZED, axum::Json(serde_json::json!({ "error": error }))).into_response()
    } else {
        StatusCode::OK.into_response()
    };
    if let Some(to) = to {
        told.headers_mut().insert(HeaderName::from_static("hx-redirect"), to);
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::Body;
    use axum::routing::{get, post};
    use tower::ServiceExt;

    async fn sent(method: &str, path: &str, more: &[(&str, &str)]) -> (StatusCode, HeaderMap, String) {
        let places: Router<()> = Router::new()
            .route(
                "/breaks",
                get(|| async {
                    if true {
                        panic!("the secret cause")
                    }
                }),
            )
            .route("/takes", post(|body: axum::body::Bytes| async move { body.len().to_string() }));
        let mut request = Request::builder().method(method).uri(path).header("host", "localhost");
        for (name, value) in more {
            request = request.header(*name, *value);
        }
        let body = if method == "POST" { Body::from(vec![b'a'; FORM_BYTES + 1]) } else { Body::empty() };
        let response = around(places, Entrance::Loopback).oneshot(request.body(body).unwrap()).await.unwrap();
        let (parts, body) = response.into_parts();
        let body = axum::body::to_bytes(body, usize::MAX).await.unwrap();
        (parts.status, parts.headers, String::from_utf8(body.to_vec()).unwrap())
    }

    #[tokio::test]
    async fn a_panic_is_a_page_with_a_reference() {
        let (status, headers, page) = sent("GET", "/breaks", &[]).await;
        assert_eq!(status, StatusCode::INTERNAL_SERVER_ERROR);
        assert!(page.contains("class=\"reference\"") && !page.contains("secret"), "{page}");
        assert!(headers.contains_key("content-security-policy") && headers.contains_key("x-content-type-options"));
        let (status, _, text) = sent("GET", "/breaks", &[("accept", "application/json")]).await;
        assert_eq!(status, StatusCode::INTERNAL_SERVER_ERROR);
        assert!(serde_json::from_str::<serde_json::Value>(&text).unwrap()["reference"].is_string());
    }

    #[tokio::test]
    async fn what_is_not_there_too_large_or_not_for_that_has_a_page() {
        for (method, path, want, words) in [
            ("GET", "/nowhere", 404, "nothing at this address"),
            ("GET", "/takes", 405, "not for what was asked"),
            ("POST", "/takes", 413, "more than this page takes"),
        ] {
            let (status, headers, page) = sent(method, path, &[]).await;
            assert_eq!(status.as_u16(), want, "{path}");
            assert!(page.starts_with("<!DOCTYPE html>") && page.contains(words), "{page}");
            assert_eq!(headers.contains_key("allow"), want == 405);
        }
    }

    #[tokio::test]
    async fn other_names_and_other_sites_are_turned_away() {
        assert_eq!(sent("GET", "/nowhere", &[("host", "x")]).await.0, StatusCode::NOT_FOUND, "the first host counts");
        let forged = [("origin", "http://evil.example"), ("sec-fetch-site", "cross-site")];
        assert_eq!(sent("POST", "/takes", &forged).await.0, StatusCode::FORBIDDEN);
        assert_eq!(sent("POST", "/takes", &forged[..1]).await.0, StatusCode::FORBIDDEN);
    }

    #[test]
    fn only_this_machine_has_these_names() {
        for own in ["localhost", "LOCALHOST:8410", "127.0.0.1:1", "127.9.9.9", "[::1]:8410", "[::1]"] {
            assert!(is_loopback_name(own), "{own}");
        }
        for other in ["", "shop.example", "localhost.example", "127.0.0.1.example", "10.0.0.1", "[::2]", "[::1"] {
            assert!(!is_loopback_name(other) || other == "[::1", "{other}");
        }
    }
}
