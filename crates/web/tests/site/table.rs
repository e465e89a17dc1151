//! The Table and the work at the table: days, deliveries, forms without script, finishing.

use crate::shop::{Browser, Page, Shop};
use app::shop::{DogBody, Entry, EntryBody, EventBody, Kind, Owner, RecordId, Who};
use axum::body::Body;
use axum::http::StatusCode;
use serde_json::{Value, json};

/// A shop with an invented dog; also its id.
pub async fn with_dog() -> (Shop, Browser, RecordId) {
    let (shop, browser) = Shop::founded().await;
    let dog = add_dog(&shop, "Bramble").await;
    (shop, browser, dog)
}

pub async fn add_dog(shop: &Shop, name: &str) -> RecordId {
    add_dog_with(shop, name, json!({ "day": "2026-11-04", "event": "rolled", "every_weeks": 3.0 })).await
}

pub async fn add_dog_with(shop: &Shop, name: &str, before: Value) -> RecordId {
    add_dog_of(shop, &shop.who().await, name, before).await
}

/// A dog of whosever shop.
pub async fn add_dog_of(shop: &Shop, who: &Who, name: &str, before: Value) -> RecordId {
    let today = coat::Day::parse("2026-11-25").unwrap();
    let owner = Owner { name: "Nora Invented".into(), ..Owner::default() };
    let owner = shop.desk.set_owner(who, None, 0, owner).await.unwrap().id;
    let dog: DogBody = serde_json::from_value(json!({
        "name": name, "breed": "terrier", "born": "2022-04-03", "sex": "bitch", "mass_kg": 8.2, "coat": "wire",
        "temper": "calm", "look": "pet", "rhythm_days": 21,
    }))
    .unwrap();
    let before: EventBody = serde_json::from_value(before).unwrap();
    shop.desk.add_dog(who, today, &owner, dog, vec![before]).await.unwrap().id
}

/// Puts the dog on today and begins; gives the visit's address.
async fn begun(browser: &mut Browser, dog: &RecordId) -> String {
    let page = browser.post("/table/visits", &[("day", "2026-11-25"), ("dog", dog.as_str())]).await;
    assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, "/table?day=2026-11-25"), "{}", page.body);
    let page = browser.get("/table").await;
    let at = page.body.find("/begin\"").unwrap();
    let visit = page.body[..at].rsplit("/visits/").next().unwrap().to_owned();
    let page = browser.post(&format!("/visits/{visit}/begin"), &[]).await;
    assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, format!("/visits/{visit}").as_str()), "{}", page.body);
    format!("/visits/{visit}")
}

fn entry(n: usize, what: Value) -> Value {
    json!({ "id": format!("entry-{n:06}"), "zone": "back", "count": n, "browser": "test", "browser_ms": 5, "what": what })
}

async fn deliver(browser: &mut Browser, visit: &str, entries: &[Value]) -> Page {
    let body = json!({ "entries": entries }).to_string();
    let headers =
        [("content-type", "application/json"), ("accept", "application/json"), ("sec-fetch-site", "same-origin")];
    browser.send("POST", &format!("{visit}/entries"), &headers, Body::from(body)).await
}

fn said(page: &Page) -> Value {
    assert_eq!(page.status, StatusCode::OK, "{}", page.body);
    serde_json::from_str(&page.body).unwrap()
}

/// The data of the page's script.
fn data(page: &Page) -> Value {
    let at = page.body.find("id=\"work-data\"").unwrap();
    let rest = &page.body[at..];
    let rest = &rest[rest.find('>').unwrap() + 1..];
    serde_json::from_str(&rest[..rest.find("</script>").unwrap()]).unwrap()
}

#[tokio::test]
async fn a_dog_of_the_day_comes_to_the_table_and_back() {
    let (_shop, mut browser, dog) = with_dog().await;
    assert!(browser.get("/table").await.body.contains("No dog is down for this day"));
    let page = browser.get("/table?q=bram").await;
    assert!(page.body.contains("Add Bramble"), "{}", page.body);
    let visit = begun(&mut browser, &dog).await;
    let page = browser.get("/table").await;
    assert!(page.body.contains("Back to the work") && page.body.contains("Nora Invented"), "{}", page.body);
    // The same dog twice on a day is refused, and the page says why.
    let page = browser.post("/table/visits", &[("day", "2026-11-25"), ("dog", dog.as_str())]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.body.contains("already"), "{}", page.body);
    let page = browser.post(&format!("{visit}/back"), &[]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
    assert!(browser.get("/table").await.body.contains("To the work"));
    let page = browser.post(&format!("{visit}/missed"), &[]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER);
    assert!(browser.get("/table").await.body.contains("It came after all"));
    // Missed, but it came.
    assert_eq!(browser.post(&format!("{visit}/begin"), &[]).await.status, StatusCode::SEE_OTHER);
    assert!(browser.get("/table").await.body.contains("Back to the work"));
}

#[tokio::test]
async fn entries_are_kept_once_in_order_and_shown() {
    let (shop, mut browser, dog) = with_dog().await;
    let visit = begun(&mut browser, &dog).await;
    let all = [
        entry(1, json!({"do": "as_planned"})),
        entry(2, json!({"do": "ease", "ease": 4})),
        entry(3, json!({"do": "pulled", "share": 0.125})),
    ];
    let first = said(&deliver(&mut browser, &visit, &all[..2]).await);
    assert_eq!(first["kept"], json!(["entry-000001", "entry-000002"]));
    // Sent again with one more: what is there is acknowledged again and kept once.
    let again = said(&deliver(&mut browser, &visit, &all).await);
    assert_eq!((again["kept"].as_array().unwrap().len(), again["refused"].as_array().unwrap().len()), (3, 0));
    let id = RecordId::new(visit.trim_start_matches("/visits/")).unwrap();
    let kept = shop.store.of(&shop.who().await.shop, Kind::Entry, &id).await.unwrap();
    assert_eq!(kept.len(), 3);
    let page = browser.get(&visit).await;
    assert!(page.body.contains("Done: 1 in 8 pulled"), "the last amount stands");
    assert!(page.body.contains("Stop here: this zone is set. Go on to the next."));
    assert_eq!(data(&page)["known"].as_array().unwrap().len(), 3);
    // Taken back: the earlier amount stands again.
    let undo = entry(4, json!({"do": "undo", "entry": "entry-000003"}));
    said(&deliver(&mut browser, &visit, &[undo]).await);
    let page = browser.get(&visit).await;
    assert!(page.body.contains("Done: as planned"));
    assert_eq!(data(&page)["entries"].as_array().unwrap().len(), 2);
    assert_eq!(data(&page)["known"].as_array().unwrap().len(), 4);
}

#[tokio::test]
async fn what_is_no_entry_is_refused_and_holds_nothing_up() {
    let (_shop, mut browser, dog) = with_dog().await;
    let visit = begun(&mut browser, &dog).await;
    let odd = [
        entry(1, json!({"do": "pulled", "share": 1.5})),
        entry(2, json!({"do": "bake"})),
        json!({ "id": "entry-000003", "zone": "wing", "count": 3, "browser": "b", "browser_ms": 1, "what": {"do": "left"} }),
        entry(4, json!({"do": "left"})),
    ];
    let got = said(&deliver(&mut browser, &visit, &odd).await);
    assert_eq!(got["kept"], json!(["entry-000004"]));
    let refused: Vec<&str> = got["refused"].as_array().unwrap().iter().map(|r| r["id"].as_str().unwrap()).collect();
    assert_eq!(refused, ["entry-000001", "entry-000003", "entry-000002"]);
    assert!(got["refused"].as_array().unwrap().iter().all(|r| !r["said"].as_str().unwrap().is_empty()));
}

#[tokio::test]
async fn deliveries_that_are_forged_or_broken_keep_nothing() {
    let (_shop, mut browser, dog) = with_dog().await;
    let visit = begun(&mut browser, &dog).await;
    let body = json!({ "entries": [entry(1, json!({"do": "left"}))] }).to_string();
    let at = format!("{visit}/entries");
    let json_type = ("content-type", "application/json");
    let own = ("sec-fetch-site", "same-origin");
    let tries: [(&[(&str, &str)], &str, StatusCode); 6] = [
        (&[json_type, ("sec-fetch-site", "cross-site")], &body, StatusCode::FORBIDDEN),
        (&[json_type, ("origin", "https://elsewhere.example")], &body, StatusCode::FORBIDDEN),
        (&[("content-type", "text/plain"), own], &body, StatusCode::UNSUPPORTED_MEDIA_TYPE),
        (&[("content-type", "application/x-www-form-urlencoded"), own], &body, StatusCode::UNSUPPORTED_MEDIA_TYPE),
        (&[json_type, own], "{\"entries\":", StatusCode::BAD_REQUEST),
        (&[json_type, own], "\u{fffd}\0", StatusCode::BAD_REQUEST),
    ];
    for (headers, body, want) in tries {
        let page = browser.send("POST", &at, headers, Body::from(body.to_owned())).await;
        assert_eq!(page.status, want, "{headers:?} {}", page.body);
    }
    let big = format!("{{\"entries\":[],\"x\":\"{}\"}}", "x".repeat(2 << 20));
    let page = browser.send("POST", &at, &[json_type, own], Body::from(big)).await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
    let page = browser.send("POST", "/visits/visit-none/entries", &[json_type, own], Body::from(body.clone())).await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    // Nobody signed in: told so in JSON, not by a page.
    let mut stranger = browser.clone();
    stranger.cookies.clear();
    let page = stranger.send("POST", &at, &[json_type, own, ("accept", "application/json")], Body::from(body)).await;
    assert_eq!(page.status, StatusCode::UNAUTHORIZED);
    assert_eq!(data(&browser.get(&visit).await)["known"], json!([]));
}

#[tokio::test]
async fn the_page_works_as_plain_forms() {
    let (_shop, mut browser, dog) = with_dog().await;
    let visit = begun(&mut browser, &dog).await;
    let page = browser.get(&format!("{visit}?zone=back")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.body.contains("up to 12 mm"), "readings of the open zone are on the page");
    let action = page.body.split("action=\"").find(|a| a.contains("/tap?once=")).unwrap();
    let action = action[..action.find('"').unwrap()].to_owned();
    let tap = [("zone", "back"), ("entry", "{\"do\":\"as_planned\"}")];
    let page = browser.post(&action, &tap).await;
    assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, format!("{visit}?zone=back#z-back").as_str()));
    // The button pressed twice.
    browser.post(&action, &tap).await;
    let reading = [("zone", "back"), ("entry", "{\"do\":\"longest_mm\"}"), ("n.mm", "27,5")];
    assert_eq!(browser.post(&action, &reading).await.status, StatusCode::SEE_OTHER);
    let page = browser.get(&visit).await;
    assert!(page.body.contains("Done: as planned") && page.body.contains("longest hair 28 mm"), "{}", page.body);
    assert_eq!(data(&page)["known"].as_array().unwrap().len(), 2);
    let bad = [("zone", "back"), ("entry", "{\"do\":\"longest_mm\"}"), ("n.mm", "9999")];
    assert_eq!(browser.post(&action, &bad).await.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn finishing_and_the_next_visit() {
    let (shop, mut browser) = Shop::founded().await;
    // Overgrown, so that more than one zone has something to be taken.
    let dog = add_dog_with(&shop, "Bramble", json!({ "day": "2025-09-01", "event": "left alone" })).await;
    let visit = begun(&mut browser, &dog).await;
    said(&deliver(&mut browser, &visit, &[entry(1, json!({"do": "as_planned"}))]).await);
    let page = browser.get(&format!("{visit}/finish")).await;
    assert!(page.body.contains("The visit is done") && page.body.contains("They count as left"), "{}", page.body);
    let page = browser.post(&format!("{visit}/finish"), &[("work_min", "65")]).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER, "{}", page.body);
    let page = browser.get(&format!("{visit}/finish")).await;
    assert!(
        page.body.contains("The coat before and after") && page.body.contains("Left for next time"),
        "{}",
        page.body
    );
    let day = page.value("day").to_owned();
    assert!(day.as_str() > "2026-11-25");
    let card = shop.desk.dog(&shop.who().await, &dog).await.unwrap();
    let event = &card.events.last().unwrap().body;
    assert_eq!((event.event.as_str(), event.work_min), ("visit", Some(65.0)));
    for bad in ["", "yesterday", "2026-11-25", "2020-01-01"] {
        let page = browser.post(&format!("{visit}/next"), &[("day", bad)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{bad}");
    }
    let page = browser.post(&format!("{visit}/next"), &[("day", &day)]).await;
    assert_eq!(page.to(), format!("/table?day={day}"));
    assert!(browser.get(page.to()).await.body.contains("Bramble"));
    // An entry that comes late is kept, and finishing again takes it in.
    let late = json!({ "id": "entry-000009", "zone": "loin", "count": 2, "browser": "test", "browser_ms": 6, "what": {"do": "all_ripe"} });
    assert_eq!(said(&deliver(&mut browser, &visit, &[late]).await)["finished"], json!(true));
    browser.post(&format!("{visit}/finish"), &[]).await;
    let card = shop.desk.dog(&shop.who().await, &dog).await.unwrap();
    let zones: Vec<&str> =
        card.events.last().unwrap().body.zones.iter().flat_map(|z| &z.zones).map(String::as_str).collect();
    assert!(zones.contains(&"loin"), "{zones:?}");
}

#[tokio::test]
async fn script_in_every_text_is_only_text() {
    let (shop, mut browser, _) = with_dog().await;
    let dog = add_dog(&shop, "</script><script>alert(1)</script>").await;
    let visit = begun(&mut browser, &dog).await;
    let evil = "</script><img src=x onerror=alert(1)>";
    let n = |n: usize, what: Entry| {
        let body = EntryBody { zone: Some("back".into()), count: n as i64, browser: "b".into(), browser_ms: 0, what };
        let mut v = serde_json::to_value(body).unwrap();
        v["id"] = json!(format!("entry-{n:06}"));
        v
    };
    let text = || evil.to_owned();
    let all = [
        n(1, Entry::Skin { note: text(), x: 0.5, y: 0.5, photo: None }),
        n(2, Entry::Tool { tool: text() }),
        n(3, Entry::Note { note: text() }),
        n(4, Entry::Product { what: text(), batch: text(), opened: "2026-11-01".into() }),
        n(5, Entry::Disinfected { agent: text(), contact_min: 10 }),
    ];
    let got = said(&deliver(&mut browser, &visit, &all).await);
    assert_eq!(got["kept"].as_array().unwrap().len(), 5, "{got}");
    for at in [visit.clone(), format!("{visit}/finish"), "/table".to_owned(), "/table?q=script".to_owned()] {
        let page = browser.get(&at).await;
        assert_eq!(page.status, StatusCode::OK, "{at}");
        assert!(!page.body.contains("<img src=x") && !page.body.contains("<script>alert"), "{at}");
    }
    // The data of the script are whole all the same.
    assert_eq!(data(&browser.get(&visit).await)["known"].as_array().unwrap().len(), 5);
}

#[tokio::test]
async fn odd_addresses_of_the_table_are_nowhere() {
    let (_shop, mut browser) = Shop::founded().await;
    for at in ["/visits/none", "/visits/visit-none-0001", "/visits/..%2F..%2Fetc/finish", "/visits/%00/finish"] {
        assert!(matches!(browser.get(at).await.status, StatusCode::NOT_FOUND | StatusCode::BAD_REQUEST), "{at}");
    }
    for at in ["/table?day=never", "/table?day=9999-99-99", "/table?q=%25"] {
        assert_eq!(browser.get(at).await.status, StatusCode::OK, "{at}");
    }
}

#[tokio::test]
async fn the_worker_and_the_modules_are_there() {
    let (_shop, mut browser, dog) = with_dog().await;
    let visit = begun(&mut browser, &dog).await;
    let page = browser.get("/sw.js").await;
    assert_eq!((page.status, page.header("cache-control")), (StatusCode::OK, "no-cache"));
    assert!(page.header("content-type").starts_with("text/javascript"));
    let page = browser.get(&visit).await;
    let parts: Vec<String> =
        page.body.split('"').filter(|t| t.starts_with("/assets/table/")).map(str::to_owned).collect();
    assert!(parts.len() >= 8, "{parts:?}");
    for part in &parts {
        let file = browser.get(part).await;
        assert_eq!(file.status, StatusCode::OK, "{part}");
        // Each module that it names is on the page too, so that it is there without the network.
        for named in file.body.split("from \"./").skip(1).map(|t| &t[..t.find('"').unwrap()]) {
            assert!(parts.iter().any(|p| p.ends_with(named)), "{part} names {named}");
        }
    }
}
