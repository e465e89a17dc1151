//! Signing in and out, and how long it lasts.

use crate::shop::{PASSWORD, Shop};
use axum::http::StatusCode;
use web::{ABSOLUTE_MS, IDLE_MS};

const RIGHT: [(&str, &str); 2] = [("name", " ÁDA "), ("password", PASSWORD)];
const WRONG: [(&str, &str); 2] = [("name", "Ada"), ("password", "soft hair lies flat")];

#[tokio::test]
async fn name_and_password_open_and_sign_out_closes() {
    let (shop, _) = Shop::founded().await;
    let mut browser = shop.browser();
    let asked = browser.get("/people?q=a%20b").await;
    assert_eq!((asked.status, asked.to()), (StatusCode::SEE_OTHER, "/sign-in?then=%2Fpeople%3Fq%3Da%2520b"));
    let form = browser.get(asked.to()).await;
    assert_eq!(form.value("then"), "/people?q=a%20b");
    let mut right = RIGHT.to_vec();
    right.push(("then", "/people?q=a%20b"));
    let page = browser.post("/sign-in", &right).await;
    assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, "/people?q=a%20b"));
    let cookie = page.header("set-cookie");
    for part in ["coatwright=", "; HttpOnly", "; SameSite=Lax", "; Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    assert!(!cookie.contains("Secure"), "plain HTTP on this machine");
    let token = browser.cookies[0].1.clone();
    assert_eq!(token.len(), 64, "256 bits");
    assert!(shop.store.session(&token).await.unwrap().is_none(), "the store has only a hash of it");
    assert!(browser.is_in().await);

    let mut kept = browser.clone();
    assert_eq!(browser.post("/sign-out", &[]).await.to(), "/sign-in");
    assert!(browser.cookies.is_empty() && !browser.is_in().await);
    assert!(!kept.is_in().await, "a copied cookie is dead as well");
}

#[tokio::test]
async fn the_way_on_never_leaves_the_site() {
    let (shop, _) = Shop::founded().await;
    for then in ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)"] {
        let mut browser = shop.browser();
        let mut right = RIGHT.to_vec();
        right.push(("then", then));
        assert_eq!(browser.post("/sign-in", &right).await.to(), "/", "{then}");
    }
}

#[tokio::test]
async fn what_was_wrong_of_the_two_is_not_told() {
    let (shop, _) = Shop::founded().await;
    let mut browser = shop.browser();
    let strip = |body: String| body.replace("value=\"Ada\"", "").replace("value=\"Nobody\"", "");
    let known = browser.post("/sign-in", &WRONG).await;
    let unknown = browser.post("/sign-in", &[("name", "Nobody"), ("password", "soft hair lies flat")]).await;
    assert_eq!((known.status, unknown.status), (StatusCode::UNPROCESSABLE_ENTITY, StatusCode::UNPROCESSABLE_ENTITY));
    assert_eq!(strip(known.body), strip(unknown.body));
}

#[tokio::test]
async fn five_wrong_ones_and_a_wait() {
    let (shop, _) = Shop::founded().await;
    let mut browser = shop.browser_at("127.0.0.9");
    for _ in 0..5 {
        assert_eq!(browser.post("/sign-in", &WRONG).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    let waits = browser.post("/sign-in", &RIGHT).await;
    assert_eq!(waits.status, StatusCode::TOO_MANY_REQUESTS);
    assert_eq!(waits.header("retry-after"), "900");
    assert_eq!(shop.browser().post("/sign-in", &RIGHT).await.status, StatusCode::SEE_OTHER, "not from elsewhere");
    shop.clock.forward(15 * 60_000);
    assert_eq!(browser.post("/sign-in", &RIGHT).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_session_ends_when_nobody_uses_it() {
    let (shop, mut browser) = Shop::founded().await;
    shop.clock.forward(IDLE_MS - 1);
    assert!(browser.is_in().await);
    shop.clock.forward(IDLE_MS - 1);
    assert!(browser.is_in().await, "use keeps it");
    shop.clock.forward(IDLE_MS);
    assert!(!browser.is_in().await);
    shop.clock.forward(-IDLE_MS);
    assert!(!browser.is_in().await, "ended is ended, whatever the clock says");
}

#[tokio::test]
async fn a_session_ends_after_two_weeks_however_it_is_used() {
    let (shop, mut browser) = Shop::founded().await;
    let steps = ABSOLUTE_MS / (IDLE_MS / 2);
    for _ in 0..steps - 1 {
        shop.clock.forward(IDLE_MS / 2);
        assert!(browser.is_in().await);
    }
    shop.clock.forward(IDLE_MS / 2);
    assert!(!browser.is_in().await);
}

#[tokio::test]
async fn a_form_sent_after_the_end_is_said_to_be_lost() {
    let (shop, mut browser) = Shop::founded().await;
    shop.clock.forward(IDLE_MS);
    let page = browser.post("/people/owners/new", &[("name", "Somebody")]).await;
    assert_eq!(page.to(), "/sign-in?ended=1");
    assert!(browser.get(page.to()).await.body.contains("was not saved"));
    let json = browser.send("GET", "/people", &[("accept", "application/json")], axum::body::Body::empty()).await;
    assert_eq!(json.status, StatusCode::UNAUTHORIZED);
    let part = browser.send("GET", "/coats?q=a", &[("hx-request", "true")], axum::body::Body::empty()).await;
    assert_eq!((part.status, part.header("hx-redirect")), (StatusCode::OK, "/sign-in?then=%2Fcoats%3Fq%3Da"));
}

#[tokio::test]
async fn a_new_password_ends_all_other_sessions() {
    let (shop, mut here) = Shop::founded().await;
    let mut there = shop.browser();
    there.post("/sign-in", &RIGHT).await;
    let old_token = here.cookies[0].1.clone();
    let change = |old: &'static str, new: &'static str| [("old", old), ("new", new)];
    let wrong = here.post("/you/password", &change("soft hair lies flat", "a quite long sentence")).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    let short = here.post("/you/password", &change(PASSWORD, "short")).await;
    assert!(short.body.contains("needs 15 or more"));
    assert!(there.is_in().await);
    let done = here.post("/you/password", &change(PASSWORD, "a quite long sentence")).await;
    assert_eq!(done.to(), "/you?done=password", "{}", done.body);
    assert_ne!(here.cookies[0].1, old_token, "this browser has a new session as well");
    assert!(here.is_in().await && !there.is_in().await);
    assert_eq!(shop.browser().post("/sign-in", &RIGHT).await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn other_browsers_can_be_signed_out() {
    let (shop, mut here) = Shop::founded().await;
    let mut there = shop.browser();
    there.post("/sign-in", &RIGHT).await;
    assert_eq!(here.post("/you/elsewhere", &[]).await.to(), "/you?done=elsewhere");
    assert!(here.is_in().await && !there.is_in().await);
}

#[tokio::test]
async fn a_link_signs_in_once() {
    let (shop, _) = Shop::founded().await;
    let who = shop.who().await;
    let link = shop.state.link_for(who.shop, who.person).unwrap();
    let mut first = shop.browser();
    assert_eq!(first.get("/enter/0000").await.to(), "/");
    assert!(!first.is_in().await);
    first.get(&link).await;
    assert!(first.is_in().await);
    let mut second = shop.browser();
    second.get(&link).await;
    assert!(!second.is_in().await);
}
