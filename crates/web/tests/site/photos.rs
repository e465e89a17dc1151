//! Photos: what is taken, what is refused, and who sees them.

use crate::shop::{Browser, Page};
use crate::table::with_dog;
use axum::body::Body;
use axum::http::StatusCode;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use std::io::Cursor;

fn picture(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
    let scene = RgbImage::from_fn(width, height, |x, y| Rgb([(x * 255 / width) as u8, (y * 255 / height) as u8, 90]));
    let mut out = Vec::new();
    DynamicImage::ImageRgb8(scene).write_to(&mut Cursor::new(&mut out), format).unwrap();
    out
}

async fn send(browser: &mut Browser, dog: &str, fields: &[(&str, &str)], name: &str, bytes: &[u8]) -> Page {
    let mut body = Vec::new();
    for (field, value) in fields {
        body.extend(format!("--edge\r\ncontent-disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n").bytes());
    }
    let head = format!(
        "--edge\r\ncontent-disposition: form-data; name=\"picture\"; filename=\"{name}\"\r\ncontent-type: image/jpeg\r\n\r\n"
    );
    body.extend(head.bytes());
    body.extend(bytes);
    body.extend(b"\r\n--edge--\r\n");
    let headers = [("content-type", "multipart/form-data; boundary=edge"), ("sec-fetch-site", "same-origin")];
    browser.send("POST", &format!("/dogs/{dog}/photos"), &headers, Body::from(body)).await
}

/// The first photo on the dog's page of pictures.
async fn first(browser: &mut Browser, dog: &str) -> String {
    let page = browser.get(&format!("/dogs/{dog}/photos")).await;
    let at = page.body.find("/photos/").and_then(|_| page.body.find("src=\"/photos/")).unwrap();
    let rest = &page.body[at + 5..];
    rest[..rest.find("/small").unwrap()].to_owned()
}

#[tokio::test]
async fn pictures_are_kept_shown_compared_and_taken_away() {
    let (_shop, mut browser, dog) = with_dog().await;
    let dog = dog.as_str();
    assert!(browser.get(&format!("/dogs/{dog}/photos")).await.body.contains("There is none yet."));
    assert_eq!(browser.get(&format!("/dogs/{dog}/photos/new")).await.status, StatusCode::OK);
    let kinds = [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP];
    for (k, format) in kinds.into_iter().enumerate() {
        let fields = [("pose", "left side"), ("note", "after the bath")];
        let page = send(&mut browser, dog, &fields, "a.jpg", &picture(600 + k as u32, 400, format)).await;
        assert_eq!(
            (page.status, page.to()),
            (StatusCode::SEE_OTHER, format!("/dogs/{dog}/photos").as_str()),
            "{}",
            page.body
        );
    }
    let page = browser.get(&format!("/dogs/{dog}/photos")).await;
    assert_eq!(page.body.matches("/small\"").count(), 3);
    let photo = first(&mut browser, dog).await;
    for at in [photo.clone(), format!("{photo}/small")] {
        let page = browser.get(&at).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(["image/jpeg", "image/png"].contains(&page.header("content-type")));
        assert_eq!(page.header("x-content-type-options"), "nosniff");
        assert!(page.header("content-security-policy").contains("sandbox"));
    }
    // The ghost of the same pose is offered.
    assert!(browser.get(&format!("/dogs/{dog}/photos/new")).await.body.contains("data-ghost=\"left side\""));
    let ids: Vec<String> =
        page.body.split("name=\"id\" value=\"").skip(1).map(|t| t[..t.find('"').unwrap()].to_owned()).collect();
    let two = browser.get(&format!("/dogs/{dog}/photos/two?id={}&id={}", ids[0], ids[1])).await;
    assert_eq!(two.status, StatusCode::OK);
    assert!(two.body.contains("data-two"));
    assert_eq!(browser.get(&format!("/dogs/{dog}/photos/two?id={}", ids[0])).await.status, StatusCode::SEE_OTHER);
    assert_eq!(browser.post(&format!("{photo}/drop"), &[]).await.status, StatusCode::SEE_OTHER);
    assert_eq!(browser.get(&photo).await.status, StatusCode::NOT_FOUND);
    // Nobody else sees any.
    let mut stranger = browser.clone();
    stranger.cookies.clear();
    assert_eq!(stranger.get(&format!("/photos/{}", ids[1])).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn the_same_picture_sent_twice_is_stored_once() {
    let (shop, mut browser, dog) = with_dog().await;
    let bytes = picture(300, 200, ImageFormat::Jpeg);
    for _ in 0..2 {
        send(&mut browser, dog.as_str(), &[("pose", "front")], "a.jpg", &bytes).await;
    }
    let card = shop.desk.dog(&shop.who().await, &dog).await.unwrap();
    assert_eq!(card.photos.len(), 2);
    assert_eq!(card.photos[0].body.picture, card.photos[1].body.picture);
    let who = shop.who().await;
    let kept = shop.store.bytes(&who.shop, &card.photos[0].body.picture).await.unwrap().unwrap();
    assert!(!kept.windows(4).any(|w| w == b"Exif"));
}

#[tokio::test]
async fn what_is_no_picture_is_said_on_the_page() {
    let (shop, mut browser, dog) = with_dog().await;
    let whole = picture(300, 200, ImageFormat::Jpeg);
    let svg = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>";
    let tries: [(&[u8], &str); 6] = [
        (b"", "Choose one"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (svg, "JPEG, PNG and WebP"),
        (b"<html><script>alert(1)</script>", "JPEG, PNG and WebP"),
        (&whole[..whole.len() / 2], "cut off"),
        (&[0xff; 64], "JPEG, PNG and WebP"),
    ];
    for (bytes, want) in tries {
        let page = send(&mut browser, dog.as_str(), &[("pose", "front")], "../../x.jpg", bytes).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{want}");
        assert!(page.body.contains(want), "{want}: {}", page.body);
    }
    let page = send(&mut browser, dog.as_str(), &[("pose", "upside down")], "a.jpg", &whole).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page =
        send(&mut browser, dog.as_str(), &[("visit", "visit-none-0001"), ("pose", "front")], "a.jpg", &whole).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = send(&mut browser, dog.as_str(), &[("visit", "../x")], "a.jpg", &whole).await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    let page = send(&mut browser, "dog-none-0001", &[("pose", "front")], "a.jpg", &whole).await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    let heavy = vec![0xff; (20 << 20) + 1];
    let page = send(&mut browser, dog.as_str(), &[("pose", "front")], "a.jpg", &heavy).await;
    assert!(page.status.is_client_error() && page.body.contains("20 MiB"), "{}", page.status);
    let heavier = vec![0xff; 30 << 20];
    let page = send(&mut browser, dog.as_str(), &[("pose", "front")], "a.jpg", &heavier).await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(shop.desk.dog(&shop.who().await, &dog).await.unwrap().photos.is_empty());
}
