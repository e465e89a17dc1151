//! What was learned of a dog: what the page says before and after something was read, and to whom.

use crate::shop::{Browser, Shop};
use crate::table::{add_dog_of, add_dog_with};
use app::shop::{EventBody, RecordId, Units};
use axum::http::StatusCode;
use coat::Day;
use serde_json::json;

const DAYS: [&str; 5] = ["2026-08-12", "2026-09-02", "2026-09-23", "2026-10-14", "2026-11-04"];

/// A dog whose coat was left alone until August.
async fn overgrown(shop: &Shop, name: &str) -> RecordId {
    add_dog_with(shop, name, json!({ "day": "2026-08-12", "event": "left alone" })).await
}

/// A visit with the back read.
async fn read(shop: &Shop, dog: &RecordId, day: &str, longest_mm: f64) {
    let event: EventBody = serde_json::from_value(json!({
        "day": day, "event": "visit", "work_min": 50.0,
        "zones": [{ "zones": ["back"], "share": 0.2, "ease": 2, "longest_mm": longest_mm, "all_ripe": false, "carded": false }],
    }))
    .unwrap();
    let today = Day::parse("2026-11-25").unwrap();
    shop.desk.set_event(&shop.who().await, today, dog, None, 0, event).await.unwrap();
}

async fn page(browser: &mut Browser, dog: &RecordId) -> String {
    let page = browser.get(&format!("/dogs/{dog}/learned")).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.body);
    assert!(page.body.len() < 200_000, "{}", page.body.len());
    page.body
}

#[tokio::test]
async fn a_recorded_reading_changes_the_page() {
    let (shop, mut browser) = Shop::founded().await;
    let dog = overgrown(&shop, "Thistle").await;
    let at = format!("/dogs/{dog}");
    let first = page(&mut browser, &dog).await;
    let bare = "Nothing was learned of this dog yet: its plan rests on the defaults of its coat type.";
    assert!(first.contains(bare) && first.contains("No clock was read"), "{first}");
    assert!(!first.contains("Zone by zone") && !first.contains("The readings"), "nothing is shown as learned: {first}");
    assert!(browser.get(&at).await.body.contains(bare));
    for day in DAYS {
        read(&shop, &dog, day, 34.0).await;
    }
    let body = page(&mut browser, &dog).await;
    for part in [
        "Planned with what 10 readings of this dog taught",
        "The back of this dog takes",
        "8 in 10; the default says 16 weeks.",
        "Ready between",
        "longest hair 5, ease 5",
        "still only the default",
        "The 10 readings",
        "<td>34 mm</td>",
        "times the minutes reckoned, 8 in 10: ",
        // As the first of them was written down: the rest of this day count from tomorrow.
        "by 1 clock on all dogs; typed in is 1.00.",
        "Reminders, not a diagnosis",
    ] {
        assert!(body.contains(part), "{part}: {body}");
    }
    // Days as the shop writes them, not as the records have them.
    assert!(body.contains("4 November 2026") && !body.contains(">2026-"), "{body}");
    let dogs_page = browser.get(&at).await.body;
    assert!(dogs_page.contains("The back of this dog takes") && dogs_page.contains(&format!("{at}/learned")));
    // What the page asks for when it is there; the answer stands in a page of its own as well.
    assert!(body.contains(&format!("hx-get=\"{at}/learned/next\" hx-trigger=\"load\"")), "{body}");
    let next = browser.get(&format!("{at}/learned/next")).await;
    assert_eq!(next.status, StatusCode::OK);
    assert!(next.body.contains("At the visit of 25 November 2026: "), "{}", next.body);
    assert!(next.body.contains("of its measure by it, at least"), "{}", next.body);
}

#[tokio::test]
async fn lengths_follow_the_shop() {
    let (shop, mut browser) = Shop::founded().await;
    let dog = overgrown(&shop, "Thistle").await;
    read(&shop, &dog, DAYS[0], 50.8).await;
    let who = shop.who().await;
    let mut house = shop.desk.house(&who).await.unwrap();
    house.body.units = Units::Inches;
    shop.desk.set_house(&who, house.revision, house.body).await.unwrap();
    let body = page(&mut browser, &dog).await;
    assert!(body.contains("<td>2 in</td>") && !body.contains(" mm<"), "{body}");
}

#[tokio::test]
async fn a_surprise_is_told_with_reasons_and_the_caution_and_never_a_diagnosis() {
    let (shop, mut browser) = Shop::founded().await;
    let dog = overgrown(&shop, "Thistle").await;
    for day in &DAYS[..4] {
        read(&shop, &dog, day, 60.0).await;
    }
    let calm = page(&mut browser, &dog).await;
    assert!(!calm.contains("Not as foretold"), "{calm}");
    read(&shop, &dog, DAYS[4], 6.0).await;
    let body = page(&mut browser, &dog).await;
    for part in [
        "Not as foretold",
        "Longest hair of the back, 4 November 2026: 6 mm",
        "as low as this was",
        "a wrong or a missed entry: look at the record first",
        "class=\"caution\"",
        "see a vet before more is pulled there",
    ] {
        assert!(body.contains(part), "{part}: {body}");
    }
}

#[tokio::test]
async fn a_dog_that_rests_on_the_shops_others_says_so() {
    let (shop, mut browser) = Shop::founded().await;
    let known = overgrown(&shop, "Thistle").await;
    for day in DAYS {
        read(&shop, &known, day, 20.0).await;
    }
    let new = overgrown(&shop, "New").await;
    let words = "its plan rests on what was learned of 1 other dog of its coat type in this shop.";
    assert!(page(&mut browser, &new).await.contains(words));
    assert!(browser.get(&format!("/dogs/{new}")).await.body.contains(words));
}

#[tokio::test]
async fn only_the_dogs_own_shop_sees_it() {
    let (shop, mut browser) = Shop::founded().await;
    let ours = overgrown(&shop, "<script>alert(1)</script>").await;
    let who = shop.elsewhere().await;
    let theirs = add_dog_of(&shop, &who, "Theirs", json!({ "day": "2026-08-12", "event": "left alone" })).await;
    for more in ["learned", "learned/next"] {
        for id in [theirs.as_str(), "no-such-dog-here", "%00", "a"] {
            let page = browser.get(&format!("/dogs/{id}/{more}")).await;
            assert_eq!(page.status, StatusCode::NOT_FOUND, "{id} {more}");
            assert!(!page.body.contains("Theirs"));
        }
        let at = format!("/dogs/{ours}/{more}");
        let page = shop.browser().get(&at).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{more}");
        assert!(page.to().starts_with("/sign-in?then="), "{}", page.to());
        let page = browser.get(&at).await;
        assert_eq!(page.status, StatusCode::OK, "{more}");
        assert!(!page.body.contains("<script>alert") && page.body.contains("&lt;script&gt;alert(1)"), "{more}");
        assert_eq!(browser.post(&at, &[("name", "x")]).await.status, StatusCode::METHOD_NOT_ALLOWED);
    }
}
