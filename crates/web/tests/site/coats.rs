//! The list of coats: found, filtered, page by page.

use crate::shop::{Browser, Shop};
use app::shop::{Found, Kind, RecordId, Write, fold};
use axum::http::StatusCode;

fn found(k: usize) -> Found {
    let name = format!("Dog {k:03}");
    Found {
        dog: RecordId::new(format!("dog-{k:06}")).unwrap(),
        text: fold(&format!("{name} welsh terrier owner {} 37209810000{k:04}", k % 7)),
        name,
        breed: "welsh terrier".into(),
        owner: format!("Owner {}", k % 7),
        reckoned: "2026-11-25".into(),
        ready: Some(if k.is_multiple_of(2) { "2026-11-27" } else { "2027-01-10" }.into()),
        due: Some(if k.is_multiple_of(10) { "2026-11-20" } else { "2027-02-01" }.into()),
        rolling: k.is_multiple_of(3),
        hard: k.is_multiple_of(5),
        resting: k == 7,
        work_min: Some(61.0),
        line: "Card, jacket about 1 in 5.".into(),
    }
}

fn write(f: &Found) -> Write {
    Write { kind: Kind::Dog, id: f.dog.clone(), of: None, day: None, seen: 0, body: serde_json::json!({}), gone: false }
}

async fn names(browser: &mut Browser, at: &str) -> (Vec<String>, Option<String>, String) {
    let page = browser.get(at).await;
    assert_eq!(page.status, StatusCode::OK, "{at}");
    let names =
        page.body.split("<span class=\"name\">").skip(1).map(|t| t[..t.find('<').unwrap()].to_owned()).collect();
    let next = page.body.find("The next ones").map(|end| {
        let link = &page.body[..end];
        let link = &link[link.rfind("href=\"").unwrap() + 6..];
        link[..link.find('"').unwrap()].replace("&amp;", "&")
    });
    let status = page.body.split("role=\"status\">").nth(1).unwrap();
    (names, next, status[..status.find('<').unwrap()].to_owned())
}

#[tokio::test]
async fn dogs_are_found_filtered_and_paged() {
    let (shop, mut browser) = Shop::founded().await;
    assert!(browser.get("/coats").await.body.contains("No dog yet"));
    let dogs: Vec<Found> = (0..120).map(found).collect();
    let writes: Vec<Write> = dogs.iter().map(write).collect();
    shop.store.write(&shop.who().await, &writes, &dogs).await.unwrap();

    let (mut all, mut next, told) = names(&mut browser, "/coats").await;
    assert_eq!(told, "120 dogs.");
    while let Some(at) = next {
        let page = names(&mut browser, &at).await;
        all.extend(page.0);
        next = page.1;
    }
    assert_eq!(all, dogs.iter().map(|d| d.name.clone()).collect::<Vec<_>>(), "every dog once, by name");

    let count = async |browser: &mut Browser, at: &str| names(browser, at).await.2;
    assert_eq!(count(&mut browser, "/coats?q=DOG+37209810000003").await, "10 dogs.");
    assert_eq!(count(&mut browser, "/coats?q=WELSH+owner+3").await.split(' ').count(), 2);
    assert_eq!(count(&mut browser, "/coats?q=372098100000042").await, "One dog.");
    assert!(count(&mut browser, "/coats?q=poodle").await.contains("No dog is found"));
    assert_eq!(count(&mut browser, "/coats?filter=past").await, "12 dogs.");
    assert_eq!(count(&mut browser, "/coats?filter=ready").await, "48 dogs.");
    assert_eq!(count(&mut browser, "/coats?filter=rolling").await, "40 dogs.");
    assert_eq!(count(&mut browser, "/coats?filter=hard").await, "24 dogs.");
    assert_eq!(count(&mut browser, "/coats?filter=resting").await, "One dog.");
    assert_eq!(count(&mut browser, "/coats?filter=nonsense").await, "120 dogs.");
    // Filters keep the words.
    let page = browser.get("/coats?q=dog+01&filter=hard").await;
    assert!(page.body.contains("/coats?filter=past&amp;q=dog%2001"), "{}", page.body);
}

#[tokio::test]
async fn odd_addresses_of_the_list_are_harmless() {
    let (_shop, mut browser) = Shop::founded().await;
    for at in ["/coats?after=x&name=y", "/coats?after=dog-000001", "/coats?q=%25%5F'%22%3B--", "/coats?&&=&q"] {
        assert_eq!(browser.get(at).await.status, StatusCode::OK, "{at}");
    }
    assert_eq!(browser.get("/coats?q=%FF").await.status, StatusCode::BAD_REQUEST);
    let long = format!("/coats?q={}", "a+".repeat(3000));
    assert_eq!(browser.get(&long).await.status, StatusCode::OK);
}

#[tokio::test]
async fn the_front_page_leads_to_the_table_when_a_dog_comes_today() {
    let (_shop, mut browser, dog) = crate::table::with_dog().await;
    assert_eq!(browser.get("/").await.to(), "/coats");
    let plan = |day: &'static str| [("day", day), ("dog", dog.as_str())];
    browser.post("/table/visits", &plan("2026-11-26")).await;
    assert_eq!(browser.get("/").await.to(), "/coats");
    browser.post("/table/visits", &plan("2026-11-25")).await;
    assert_eq!(browser.get("/").await.to(), "/table");
    let page = browser.get("/table").await;
    let visit = page.body.split("/visits/").nth(1).unwrap().split('/').next().unwrap().to_owned();
    browser.post(&format!("/visits/{visit}/off"), &[]).await;
    assert_eq!(browser.get("/").await.to(), "/coats", "called off");
}

#[tokio::test]
async fn days_in_a_dogs_line_are_written_as_the_shop_does() {
    let (shop, mut browser) = Shop::founded().await;
    let dog = Found { line: "Nothing to take before 2027-02-11.".into(), ..found(7) };
    shop.store.write(&shop.who().await, &[write(&dog)], &[dog]).await.unwrap();
    let page = browser.get("/coats").await;
    assert!(page.body.contains("Nothing to take before 11 February 2027."), "{}", page.body);
}
