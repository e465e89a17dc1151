//! Owners and colleagues.

use crate::shop::{PASSWORD, Shop};
use axum::http::StatusCode;

#[tokio::test]
async fn an_owner_is_taken_in_found_and_changed() {
    let (shop, mut browser) = Shop::founded().await;
    let new = [
        ("name", "Bríd Example"),
        ("phones.0", "085 012 3456"),
        ("phones.1", "ring the bell"),
        ("mail", "b@example.org"),
    ];
    let page = browser.post("/people/owners/new", &new).await;
    let at = page.to().replace("?saved=1", "");
    let card = browser.get(page.to()).await;
    assert_eq!(card.value("phones.0"), "+353850123456");
    assert!(card.body.contains("Kept, but look at it once more"), "the second number cannot be read");
    for q in ["brid", "BRÍD ex", "0850123456", "example.org"] {
        let found = browser.get(&format!("/people?q={}", q.replace(' ', "+").replace('Í', "%C3%8D"))).await;
        assert!(found.body.contains(&at), "{q}");
    }
    assert!(browser.get("/people?q=nobody").await.body.contains("Nobody is found by that"));
    let changed = browser.post(&at, &[("seen", card.value("seen")), ("name", "Bríd Other"), ("phones.0", "")]).await;
    assert_eq!(changed.to(), format!("{at}?saved=1"));
    let again = browser.post(&at, &[("seen", card.value("seen")), ("name", "Replayed")]).await;
    assert_eq!(again.status, StatusCode::CONFLICT, "the same form once more is no second change");
    assert!(again.body.contains("Bríd Other") && again.body.contains("Replayed"));
    assert_eq!(shop.desk.owners(&shop.who().await, "", 10).await.unwrap().len(), 1);
    let seen = browser.get(&at).await.value("seen").to_owned();
    assert_eq!(browser.post(&format!("{at}/drop"), &[("seen", &seen)]).await.to(), "/people");
    assert_eq!(browser.get(&at).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn consents_keep_their_day_and_words() {
    let (shop, mut browser) = Shop::founded().await;
    let page = browser.post("/people/owners/new", &[("name", "Bríd Example")]).await;
    let at = page.to().replace("?saved=1", "");
    let agree = [("seen", "1"), ("consent-what", "photos"), ("consent-agreed", "yes"), ("consent-day", "2026-11-25")];
    assert_eq!(browser.post(&format!("{at}/consent"), &agree).await.to(), format!("{at}?saved=1"));
    let back = [
        ("seen", "2"),
        ("consent-what", "photos"),
        ("consent-agreed", "no"),
        ("consent-day", "2026-11-26"),
        ("consent-words", "No more photos, please."),
    ];
    browser.post(&format!("{at}/consent"), &back).await;
    let who = shop.who().await;
    let id = app::shop::RecordId::new(at.rsplit('/').next().unwrap()).unwrap();
    let owner = shop.desk.owner(&who, &id).await.unwrap().owner.body;
    let kept: Vec<_> = owner.consents.iter().map(|c| (c.day.as_str(), c.agreed, c.words.as_str())).collect();
    assert_eq!(kept.len(), 2);
    assert!(kept[0].0 == "2026-11-25" && kept[0].1 && kept[0].2.starts_with("Photos of my dog"));
    assert_eq!(kept[1], ("2026-11-26", false, "No more photos, please."));
    let wrong = [("seen", "3"), ("consent-what", "everything"), ("consent-day", "soon")];
    let page = browser.post(&format!("{at}/consent"), &wrong).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_colleague_comes_works_and_leaves() {
    let (shop, mut ada) = Shop::founded().await;
    let new = [("name", "Bo"), ("sign_in", "bo"), ("pace", "1,2"), ("password", "a quite long sentence")];
    let page = ada.post("/people/colleagues/new", &new).await;
    let at = page.to().replace("?saved=1", "");
    assert!(at.starts_with("/people/colleagues/"), "{}", page.body);
    let taken = ada.post("/people/colleagues/new", &new).await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(taken.body.contains("is taken"));
    let mut bo = shop.browser();
    let sign_in = [("name", "Bo"), ("password", "a quite long sentence")];
    assert_eq!(bo.post("/sign-in", &sign_in).await.status, StatusCode::SEE_OTHER);
    assert!(ada.get("/people").await.body.contains("20 % slower"));

    let set = ada.post(&format!("{at}/password"), &[("password", "another long sentence")]).await;
    assert_eq!(set.to(), format!("{at}?saved=1"), "{}", set.body);
    assert!(!bo.is_in().await);
    let sign_in = [("name", "Bo"), ("password", "another long sentence")];
    assert_eq!(bo.post("/sign-in", &sign_in).await.status, StatusCode::SEE_OTHER);

    let seen = ada.get(&at).await.value("seen").to_owned();
    let left = [("seen", seen.as_str()), ("name", "Bo"), ("sign_in", "bo"), ("pace", "1.2"), ("left", "on")];
    assert_eq!(ada.post(&at, &left).await.to(), format!("{at}?saved=1"));
    assert!(!bo.is_in().await);
    assert_eq!(bo.post("/sign-in", &sign_in).await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn the_last_one_cannot_leave_and_ones_own_password_needs_the_old() {
    let (shop, mut ada) = Shop::founded().await;
    let at = format!("/people/colleagues/{}", shop.who().await.person);
    let left = [("seen", "1"), ("name", "Ada"), ("sign_in", "Ada"), ("pace", "1"), ("left", "on")];
    let page = ada.post(&at, &left).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let own = ada.post(&format!("{at}/password"), &[("password", "another long sentence")]).await;
    assert_eq!(own.to(), "/you");
    let sign_in = [("name", "Ada"), ("password", PASSWORD)];
    assert_eq!(shop.browser().post("/sign-in", &sign_in).await.status, StatusCode::SEE_OTHER);
}
