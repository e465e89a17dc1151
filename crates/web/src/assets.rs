//! Files that pages need, inside the program. Their address holds their content's hash, so that browsers keep them
//! for a year and ask at once for a new one.

use axum::Router;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::io::Write;
use std::sync::LazyLock;

/// A file.
pub(crate) struct Asset {
    name: &'static str,
    media: &'static str,
    bytes: &'static [u8],
}

macro_rules! assets {
    ($($name:ident = $file:literal, $media:literal;)+) => {
        $(pub(crate) static $name: Asset =
            Asset { name: $file, media: $media, bytes: include_bytes!(concat!("../assets/", $file)) };)+
        static ALL: &[&Asset] = &[$(&$name),+];
    };
}

assets! {
    STYLE = "shop.css", "text/css; charset=utf-8";
    SCRIPT = "shop.js", "text/javascript; charset=utf-8";
    HTMX = "htmx.min.js", "text/javascript; charset=utf-8";
    ICON = "icon.svg", "image/svg+xml";
}

struct Made {
    asset: &'static Asset,
    hash: String,
    gzip: Vec<u8>,
}

/// Hashed and compressed once, at the first use.
static MADE: LazyLock<HashMap<&'static str, Made>> = LazyLock::new(|| {
    ALL.iter()
        .map(|asset| {
            let hash: String = Sha256::digest(asset.bytes).iter().take(8).map(|b| format!("{b:02x}")).collect();
            let mut to = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
            let gzip = to.write_all(asset.bytes).and_then(|()| to.finish()).unwrap_or_default();
            (asset.name, Made { asset, hash, gzip })
        })
        .collect()
});

impl Asset {
    /// Where the page finds it.
    pub(crate) fn at(&self) -> String {
        let hash = MADE.get(self.name).map_or("", |m| m.hash.as_str());
        format!("/assets/{hash}/{}", self.name)
    }
}

pub(crate) fn routes() -> Router {
    Router::new().route("/assets/{hash}/{name}", get(file))
}

async fn file(Path((hash, name)): Path<(String, String)>, headers: HeaderMap) -> Response {
    let Some(made) = MADE.get(name.as_str()).filter(|m| m.hash == hash) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let gzip = !made.gzip.is_empty() && crate::packed::takes_gzip(&headers);
    let common = [
        (header::CONTENT_TYPE, made.asset.media),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
        (header::VARY, "accept-encoding"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // A picture opened by itself runs nothing.
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; style-src 'unsafe-inline'; sandbox"),
    ];
    if gzip {
        (common, [(header::CONTENT_ENCODING, "gzip")], made.gzip.as_slice()).into_response()
    } else {
        (common, made.asset.bytes).into_response()
    }
}
