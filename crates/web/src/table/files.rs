//! The scripts and style sheets of the table: modules that name each other, so all stand under one address that
//! holds the hash of them all.

use axum::Router;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use sha2::{Digest, Sha256};
use std::io::Write;
use std::sync::LazyLock;

macro_rules! files {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_bytes!(concat!("../../assets/table/", $name)))),+]
    };
}

static FILES: &[(&str, &[u8])] = files![
    "work.js",
    "store.js",
    "deliver.js",
    "replay.js",
    "clocks.js",
    "marks.js",
    "away.js",
    "day.js",
    "camera.js",
    "work.css",
    "table.css",
];

/// The worker that keeps pages; it must stand at the root to see them all.
static WORKER: &[u8] = include_bytes!("../../assets/sw.js");

struct Made {
    hash: String,
    gzip: Vec<Vec<u8>>,
}

static MADE: LazyLock<Made> = LazyLock::new(|| {
    let mut all = Sha256::new();
    for (name, bytes) in FILES {
        all.update(name);
        all.update(bytes);
    }
    let hash = all.finalize().iter().take(8).map(|b| format!("{b:02x}")).collect();
    Made { hash, gzip: FILES.iter().map(|(_, bytes)| squeeze(bytes)).collect() }
});

/// Gzip; empty where that fails.
pub(crate) fn squeeze(bytes: &[u8]) -> Vec<u8> {
    let mut to = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::new(6));
    to.write_all(bytes).and_then(|()| to.finish()).unwrap_or_default()
}

/// Where a page finds a file.
pub(crate) fn at(name: &str) -> String {
    format!("/assets/table/{}/{name}", MADE.hash)
}

pub(crate) fn routes() -> Router {
    Router::new().route("/assets/table/{hash}/{name}", get(file)).route("/sw.js", get(worker))
}

/// The browser takes gzip.
pub(crate) fn takes_gzip(headers: &HeaderMap) -> bool {
    let accepts = headers.get(header::ACCEPT_ENCODING).and_then(|v| v.to_str().ok()).unwrap_or("");
    accepts.split(',').any(|e| e.trim() == "gzip" || e.trim().starts_with("gzip;"))
}

async fn file(Path((hash, name)): Path<(String, String)>, headers: HeaderMap) -> Response {
    let found = FILES.iter().position(|f| f.0 == name).filter(|_| hash == MADE.hash);
    let Some(i) = found else { return StatusCode::NOT_FOUND.into_response() };
    let media = if name.ends_with(".css") { "text/css; charset=utf-8" } else { "text/javascript; charset=utf-8" };
    let common = [
        (header::CONTENT_TYPE, media),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
        (header::VARY, "accept-encoding"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    ];
    match MADE.gzip.get(i).filter(|g| !g.is_empty() && takes_gzip(&headers)) {
        Some(gzip) => (common, [(header::CONTENT_ENCODING, "gzip")], gzip.as_slice()).into_response(),
        None => (common, FILES[i].1).into_response(),
    }
}

async fn worker() -> Response {
    let common = [
        (header::CONTENT_TYPE, "text/javascript; charset=utf-8"),
        (header::CACHE_CONTROL, "no-cache"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; script-src 'self'; connect-src 'self'"),
    ];
    (common, WORKER).into_response()
}
