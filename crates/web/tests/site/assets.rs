//! Files inside the program.

use crate::shop::Shop;
use axum::body::Body;
use axum::http::StatusCode;
use std::io::Read;

#[tokio::test]
async fn pages_name_files_by_their_content_and_browsers_keep_them() {
    let (_shop, mut browser) = Shop::founded().await;
    let page = browser.get("/people").await;
    let named: Vec<&str> = page.body.split('"').filter(|t| t.starts_with("/assets/")).collect();
    assert!(named.len() >= 4, "{named:?}");
    for at in named {
        let file = browser.get(at).await;
        assert_eq!(file.status, StatusCode::OK, "{at}");
        assert!(file.header("cache-control").contains("immutable"), "{at}");
        let packed = browser.send("GET", at, &[("accept-encoding", "gzip, br")], Body::empty()).await;
        assert_eq!((packed.header("content-encoding"), packed.header("vary")), ("gzip", "accept-encoding"), "{at}");
        let other = at.replacen("/assets/", "/assets/0", 1);
        assert_eq!(browser.get(&other).await.status, StatusCode::NOT_FOUND);
    }
    assert_eq!(page.header("cache-control"), "no-store");
}

#[tokio::test]
async fn paths_that_climb_lead_nowhere() {
    let (_shop, mut browser) = Shop::founded().await;
    for path in [
        "/assets/..%2f..%2fCargo.toml/shop.css",
        "/assets/x/..%2f..%2f..%2fetc%2fpasswd",
        "/assets/../Cargo.toml",
        "/assets/%2e%2e/%2e%2e/etc/passwd",
        "/people/owners/..%2f..%2fhouse",
        "/people/owners/%00%00%00%00%00%00%00%00",
        "/people/colleagues/%FF%FE",
        "/house/targets/..%2fwire",
    ] {
        let page = browser.get(path).await;
        assert!(matches!(page.status.as_u16(), 400 | 404), "{path}: {}", page.status);
        assert!(page.body.starts_with("<!DOCTYPE html>") || path.starts_with("/assets"), "{path}: {}", page.body);
    }
}

#[tokio::test]
async fn drawings_are_packed_for_browsers_that_take_them_so() {
    let (_shop, mut browser, dog) = crate::table::with_dog().await;
    let at = format!("/dogs/{dog}/drawing.svg");
    let plain = browser.send("GET", &at, &[("accept-encoding", "br")], Body::empty()).await;
    assert_eq!((plain.header("content-encoding"), plain.header("vary")), ("", "accept-encoding"));
    let packed = browser.bytes(&at, &[("accept-encoding", "gzip, br")]).await;
    let mut text = String::new();
    flate2::read::GzDecoder::new(packed.as_slice()).read_to_string(&mut text).unwrap();
    assert_eq!(text, plain.body);
    assert!(packed.len() * 2 < text.len(), "{} of {}", packed.len(), text.len());
    let page = browser.send("GET", &format!("/dogs/{dog}"), &[("accept-encoding", "gzip")], Body::empty()).await;
    assert_eq!(page.header("content-encoding"), "", "pages hold what nobody may guess at by its length");
    // The first view: the page, one drawing, what every page has. The other pictures come when they come near.
    assert_eq!((page.body.matches("loading=\"eager\"").count(), page.body.matches("loading=\"lazy\"").count()), (1, 2));
    let mut first = page.body.len() + packed.len();
    for file in page.body.split(['"', '\'']).filter(|p| p.starts_with("/assets/")) {
        first += browser.bytes(file, &[("accept-encoding", "gzip, br")]).await.len();
    }
    assert!(first < 200_000, "{first} bytes");
}
