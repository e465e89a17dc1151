//! House: what is set there stays, and two who set it at once are told.

use crate::shop::{Browser, Shop};
use axum::http::StatusCode;

/// The fields of the first page as it stands.
async fn fields(browser: &mut Browser) -> Vec<(String, String)> {
    let page = browser.get("/house").await;
    assert_eq!(page.status, StatusCode::OK);
    let of = |name: &str| (name.to_owned(), page.value(name).to_owned());
    let mut all: Vec<_> =
        ["seen", "name", "place", "country", "latitude_deg", "currency", "hour_minor", "time_zone"].map(of).to_vec();
    all.extend([("units".to_owned(), "mm".to_owned()), ("dates".to_owned(), "en-IE".to_owned())]);
    all
}

async fn post(browser: &mut Browser, fields: &[(String, String)], changes: &[(&str, &str)]) -> crate::shop::Page {
    let change = |name: &str| changes.iter().find(|c| c.0 == name).map(|c| c.1);
    let mut all: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), change(n).unwrap_or(v))).collect();
    all.extend(changes.iter().filter(|c| !fields.iter().any(|f| f.0 == c.0)));
    browser.post("/house", &all).await
}

#[tokio::test]
async fn settings_are_kept() {
    let (shop, mut browser) = Shop::founded().await;
    let f = fields(&mut browser).await;
    let changes = [
        ("name", "The Rougher End"),
        ("currency", "gbp"),
        ("country", "gb"),
        ("hour_minor", "42,50"),
        ("latitude_deg", "53.3"),
        ("dates", "en-US"),
        ("units", "inches"),
        ("time_zone", "Europe/Dublin"),
        ("short_passwords", "on"),
    ];
    let page = post(&mut browser, &f, &changes).await;
    assert_eq!(page.to(), "/house?saved=1", "{}", page.body);
    let house = shop.desk.house(&shop.who().await).await.unwrap().body;
    assert_eq!(
        (house.name.as_str(), house.currency.as_str(), house.country.as_str()),
        ("The Rougher End", "GBP", "GB")
    );
    assert_eq!((house.hour_minor, house.latitude_deg), (Some(4250), Some(53.3)));
    assert!(house.short_passwords);
    let again = browser.get("/house?saved=1").await;
    assert_eq!((again.value("hour_minor"), again.value("seen")), ("42.50", "2"));
}

#[tokio::test]
async fn what_cannot_be_is_said_and_nothing_is_kept() {
    let (shop, mut browser) = Shop::founded().await;
    let f = fields(&mut browser).await;
    for (name, value) in [
        ("name", ""),
        ("country", "Ireland"),
        ("currency", "EURO"),
        ("hour_minor", "cheap"),
        ("latitude_deg", "91"),
        ("latitude_deg", "NaN"),
        ("time_zone", "Mars/Base"),
        ("dates", "<b>"),
    ] {
        let page = post(&mut browser, &f, &[(name, value)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}={value}");
        assert!(page.body.contains(&format!("href=\"#{name}\"")), "{name}={value}: {}", page.body);
    }
    assert_eq!(shop.desk.house(&shop.who().await).await.unwrap().revision, 1);
}

#[tokio::test]
async fn of_two_who_change_it_the_second_sees_both() {
    let (shop, mut first) = Shop::founded().await;
    let mut second = first.clone();
    let seen = fields(&mut second).await;
    let f = fields(&mut first).await;
    post(&mut first, &f, &[("place", "Up the hill")]).await;
    let page = post(&mut second, &seen, &[("place", "Down by the water")]).await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    assert!(page.body.contains("Up the hill") && page.body.contains("Down by the water") && page.body.contains("Ada"));
    let who = shop.who().await;
    assert_eq!(shop.desk.house(&who).await.unwrap().body.place, "Up the hill", "nothing of the second was kept");
    // The page's own form saves the second over it.
    let over: Vec<(String, String)> = seen.iter().map(|(n, _)| (n.clone(), page.value(n).to_owned())).collect();
    let saved = post(&mut second, &over, &[]).await;
    assert_eq!(saved.to(), "/house?saved=1", "{}", saved.body);
    let house = shop.desk.house(&who).await.unwrap();
    assert_eq!((house.body.place.as_str(), house.revision), ("Down by the water", 3));
}

#[tokio::test]
async fn plans_weigh_what_the_house_says() {
    let (shop, mut browser) = Shop::founded().await;
    let page = browser.get("/house/plan").await;
    let seen = page.value("seen");
    let right = [("seen", seen), ("caps.layered", "20"), ("weights.cover", "30"), ("weights.wool", "0,25")];
    let saved = browser.post("/house/plan", &right).await;
    assert_eq!(saved.to(), "/house/plan?saved=1", "{}", saved.body);
    let house = shop.desk.house(&shop.who().await).await.unwrap().body;
    let caps = house.caps.unwrap();
    assert_eq!((caps.layered, caps.short, caps.shaped), (0.2, 0.6, 0.1));
    assert_eq!(house.weights, [("cover".to_owned(), 30.0), ("wool".to_owned(), 0.25)]);
    assert_eq!(browser.get("/house/plan").await.value("caps.layered"), "20");
    for (name, value) in [("caps.layered", "140"), ("weights.cover", "-1"), ("weights.cover", "many")] {
        let page = browser.post("/house/plan", &[("seen", "2"), (name, value)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}={value}: {}", page.body);
        assert!(page.body.contains("role=\"alert\"") && page.value(name) == value, "{name}={value}: {}", page.body);
    }
}

#[tokio::test]
async fn lengths_are_set_by_coat_type() {
    let (shop, mut browser) = Shop::founded().await;
    let page = browser.get("/house/targets/long-wire").await;
    assert_eq!(page.status, StatusCode::OK);
    let saved = browser.post("/house/targets/long-wire", &[("seen", page.value("seen")), ("beard", "90")]).await;
    assert_eq!(saved.to(), "/house/targets/long-wire?saved=1", "{}", saved.body);
    let house = shop.desk.house(&shop.who().await).await.unwrap().body;
    assert_eq!(house.targets.len(), 1);
    assert_eq!((house.targets[0].coat.as_str(), house.targets[0].target_mm), ("long wire", 90.0));
    let bad = browser.post("/house/targets/long-wire", &[("seen", "2"), ("beard", "900")]).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(browser.get("/house/targets/curly").await.status, StatusCode::NOT_FOUND);
}
