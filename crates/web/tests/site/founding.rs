//! First start: what is asked, who may answer.

use crate::shop::{FOUNDING, PASSWORD, Shop};
use axum::http::StatusCode;
use web::Entrance;

#[tokio::test]
async fn at_this_machine_six_answers_found_a_shop() {
    let shop = Shop::empty(Entrance::Loopback).await;
    let mut browser = shop.browser();
    assert_eq!(browser.get("/").await.to(), "/begin");
    assert_eq!(browser.get("/sign-in").await.to(), "/begin");
    let form = browser.get("/begin").await;
    assert_eq!(form.status, StatusCode::OK);
    let asked = form.body.matches("<label").count();
    assert_eq!(asked, FOUNDING.len(), "nothing else is asked");
    assert!(form.body.contains("autocomplete=\"new-password\""));
    let page = browser.post("/begin", &FOUNDING).await;
    assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, "/"));
    assert!(browser.is_in().await);
    let who = shop.who().await;
    let house = shop.desk.house(&who).await.unwrap().body;
    assert_eq!((house.name.as_str(), house.currency.as_str()), ("The Wiry End", "EUR"));
    assert!(!house.demo && !house.short_passwords);
}

#[tokio::test]
async fn a_second_shop_is_not_founded_by_whoever_comes() {
    let (shop, _) = Shop::founded().await;
    let mut other = shop.browser();
    assert_eq!(other.get("/begin").await.to(), "/");
    assert_eq!(other.post("/begin", &FOUNDING).await.to(), "/");
    assert!(!other.is_in().await);
    assert_eq!(shop.store.shops().await.unwrap().len(), 1);
}

#[tokio::test]
async fn from_elsewhere_the_printed_code_is_needed() {
    for entrance in [Entrance::Tls, Entrance::BehindProxy] {
        let shop = Shop::empty(entrance).await;
        let mut stranger = shop.browser_at("192.0.2.7");
        stranger.host = "shop.example".into();
        assert_eq!(stranger.get("/begin").await.status, StatusCode::FORBIDDEN);
        assert_eq!(stranger.get("/begin?code=guess").await.status, StatusCode::FORBIDDEN);
        assert_eq!(stranger.post("/begin", &FOUNDING).await.status, StatusCode::FORBIDDEN);
        let form = stranger.get(&format!("/begin?code={}", shop.code)).await;
        assert_eq!(form.status, StatusCode::OK);
        let mut answers = FOUNDING.to_vec();
        answers.push(("code", form.value("code")));
        let page = stranger.post("/begin", &answers).await;
        assert_eq!(page.to(), "/", "{}", page.body);
        let cookie = page.header("set-cookie");
        assert!(cookie.starts_with("__Host-coatwright=") && cookie.contains("; Secure"), "{cookie}");
    }
}

#[tokio::test]
async fn behind_a_proxy_this_machine_is_nobody_special() {
    let shop = Shop::empty(Entrance::BehindProxy).await;
    let mut proxied = shop.browser();
    proxied.host = "shop.example".into();
    assert_eq!(proxied.get("/begin").await.status, StatusCode::FORBIDDEN);
    let claimed = [("x-forwarded-for", "127.0.0.1")];
    let page = proxied.send("GET", "/begin", &claimed, axum::body::Body::empty()).await;
    assert_eq!(page.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn codes_cannot_be_guessed_for_long() {
    let shop = Shop::empty(Entrance::Tls).await;
    let mut stranger = shop.browser_at("192.0.2.7");
    for k in 0..6 {
        assert_eq!(stranger.get(&format!("/begin?code={k}")).await.status, StatusCode::FORBIDDEN);
    }
    let right = format!("/begin?code={}", shop.code);
    assert_eq!(stranger.get(&right).await.status, StatusCode::FORBIDDEN, "even the right one waits now");
    shop.clock.forward(15 * 60_000);
    assert_eq!(stranger.get(&right).await.status, StatusCode::OK);
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_its_field() {
    let shop = Shop::empty(Entrance::Loopback).await;
    let mut browser = shop.browser();
    let with = |name: &'static str, value: &'static str| FOUNDING.map(|f| if f.0 == name { (name, value) } else { f });
    for (name, value, words) in [
        ("shop", " ", "The shop&#39;s name is empty"),
        ("name", "", "Your name is empty"),
        ("currency", "E1", "is not a currency"),
        ("password", "short", "needs 15 or more"),
        ("password", "passwordpassword", "others try"),
        ("password", "The Wiry End 2026", "others try"),
    ] {
        let page = browser.post("/begin", &with(name, value)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}={value}");
        let body = page.body.replace('\'', "&#39;");
        assert!(body.contains(words), "{name}={value}: {body}");
        assert!(body.contains(&format!("href=\"#{name}\"")), "{name}={value}");
        assert!(!body.contains(PASSWORD), "a password is never sent back");
    }
    assert!(shop.store.shops().await.unwrap().is_empty());
}
