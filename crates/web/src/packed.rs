//! Drawings made for a page, packed on their way: a dog in zones is text that shrinks to less than half. Pages themselves
//! are not packed: they are small, and hold what nobody may guess at by its packed length.

use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::io::Write;

/// The largest drawing, bytes.
const MOST_BYTES: usize = 8 << 20;

/// Whether a browser takes gzip.
pub(crate) fn takes_gzip(headers: &HeaderMap) -> bool {
    let accepts = headers.get(header::ACCEPT_ENCODING).and_then(|v| v.to_str().ok()).unwrap_or("");
    accepts.split(',').any(|e| e.trim() == "gzip" || e.trim().starts_with("gzip;"))
}

/// Packs drawings for browsers that take them packed.
pub(crate) async fn drawings(request: Request, next: Next) -> Response {
    let takes = takes_gzip(request.headers());
    let response = next.run(request).await;
    let h = response.headers();
    let drawn = h.get(header::CONTENT_TYPE).is_some_and(|v| v.as_bytes().starts_with(b"image/svg+xml"));
    if !drawn || h.contains_key(header::CONTENT_ENCODING) {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    parts.headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    if !takes {
        return Response::from_parts(parts, body);
    }
    let bytes = match to_bytes(body, MOST_BYTES).await {
        Ok(bytes) => bytes,
        Err(e) => return crate::fault::Fault::Broken(format!("a drawing: {e}")).into_response(),
    };
    let mut to = flate2::write::GzEncoder::new(Vec::with_capacity(bytes.len() / 4), flate2::Compression::fast());
    match to.write_all(&bytes).and_then(|()| to.finish()) {
        Ok(packed) => {
            parts.headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
            parts.headers.remove(header::CONTENT_LENGTH);
            Response::from_parts(parts, Body::from(packed))
        }
        Err(_) => Response::from_parts(parts, Body::from(bytes)),
    }
}
