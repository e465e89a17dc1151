//! What strangers and slips send to the forms of a dog's page: nothing is half done, nothing done twice.

use crate::shop::{Browser, Shop};
use crate::table::{add_dog, add_dog_of, with_dog};
use app::shop::{DogCard, RecordId};
use axum::body::Body;
use axum::http::StatusCode;
use serde_json::json;

const SCRIPT: &str = "<script>alert(1)</script>";
const QUOTES: &str = "\"><img src=x onerror=alert(1)>'";

/// Where a dog's forms post to; the event is one of its own.
fn posts(dog: &RecordId, event: &RecordId) -> [String; 4] {
    [
        format!("/dogs/{dog}/keep"),
        format!("/dogs/{dog}/history/new"),
        format!("/dogs/{dog}/history/{event}"),
        format!("/dogs/{dog}/history/{event}/drop"),
    ]
}

/// What each of them would do.
const FIELDS: [(&str, &str); 7] = [
    ("seen", "1"),
    ("id", "form-0000001"),
    ("day", "2026-11-20"),
    ("event", "clipped"),
    ("length_mm", "9"),
    ("rhythm", "14"),
    ("off_from", "2027-02-01"),
];

async fn card(shop: &Shop, dog: &RecordId) -> DogCard {
    shop.desk.dog(&shop.who().await, dog).await.unwrap()
}

/// That the dog and its history are as they were.
async fn untouched(shop: &Shop, before: &DogCard, what: &str) {
    let now = card(shop, &before.dog.id).await;
    assert_eq!((&now.dog, &now.events), (&before.dog, &before.events), "{what}");
}

async fn send(browser: &mut Browser, at: &str, kind: &str, body: Vec<u8>) -> (StatusCode, String) {
    let headers = [("content-type", kind), ("sec-fetch-site", "same-origin")];
    let page = browser.send("POST", at, &headers, Body::from(body)).await;
    (page.status, page.body)
}

const FORM: &str = "application/x-www-form-urlencoded";

#[tokio::test]
async fn strangers_other_sites_and_other_shops_change_nothing() {
    let (shop, mut browser, dog) = with_dog().await;
    let second = add_dog(&shop, "Second").await;
    let before = card(&shop, &dog).await;
    let event = before.events[0].id.clone();
    for at in posts(&dog, &event) {
        for forged in [
            &[("sec-fetch-site", "cross-site"), ("origin", "http://evil.example")][..],
            &[("sec-fetch-site", "same-site"), ("origin", "http://localhost:1")],
            &[("origin", "http://evil.example")],
            &[("origin", "null")],
        ] {
            let page = browser.post_with(&at, &FIELDS, forged).await;
            assert_eq!(page.status, StatusCode::FORBIDDEN, "{at} {forged:?}");
        }
        let page = shop.browser().post(&at, &FIELDS).await;
        assert_eq!(page.to(), "/sign-in?ended=1", "{at}");
    }
    // An event of another dog is not this dog's.
    for at in &posts(&second, &event)[2..] {
        assert_eq!(browser.post(at, &FIELDS).await.status, StatusCode::NOT_FOUND, "{at}");
    }
    untouched(&shop, &before, "forged").await;
    let who = shop.elsewhere().await;
    let theirs = add_dog_of(&shop, &who, "Theirs", json!({ "day": "2026-11-04", "event": "left alone" })).await;
    let their_card = shop.desk.dog(&who, &theirs).await.unwrap();
    for at in posts(&theirs, &their_card.events[0].id) {
        let page = browser.post(&at, &FIELDS).await;
        assert_eq!(page.status, StatusCode::NOT_FOUND, "{at}: {}", page.body);
        assert!(!page.body.contains("Theirs"), "{at}");
    }
    for at in [format!("/dogs/{theirs}/history/new"), format!("/dogs/{theirs}/history/{}", their_card.events[0].id)] {
        assert_eq!(browser.get(&at).await.status, StatusCode::NOT_FOUND, "{at}");
    }
    let now = shop.desk.dog(&who, &theirs).await.unwrap();
    assert_eq!((now.dog, now.events), (their_card.dog, their_card.events));
}

#[tokio::test]
async fn the_same_form_twice_writes_down_one_event() {
    let (shop, mut browser, dog) = with_dog().await;
    let at = format!("/dogs/{dog}/history/new");
    let id = browser.get(&at).await.value("id").to_owned();
    let mut fields = [("id", id.as_str()), ("day", "2026-11-20"), ("event", "clipped"), ("length_mm", "9")];
    let page = browser.post(&at, &fields).await;
    assert!(page.status == StatusCode::OK && page.body.contains("Written down."), "{}", page.body);
    let once = card(&shop, &dog).await;
    assert_eq!(once.events.len(), 2);
    let page = browser.post(&at, &fields).await;
    assert!(page.status == StatusCode::OK && page.body.contains("Written down once already."), "{}", page.body);
    untouched(&shop, &once, "sent again").await;
    // Back, something else, and sent again: it is kept only when the form is sent once more, under an id of its own.
    fields[1].1 = "2026-11-21";
    let page = browser.post(&at, &fields).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", page.body);
    assert!(page.body.contains("Something else was written down with this form already."), "{}", page.body);
    untouched(&shop, &once, "changed and sent again").await;
    let fresh = page.value("id").to_owned();
    assert_ne!(fresh, id);
    fields[0].1 = &fresh;
    assert_eq!(browser.post(&at, &fields).await.status, StatusCode::OK);
    let twice = card(&shop, &dog).await;
    assert_eq!(twice.events.len(), 3);
    // What was taken out does not come back with an old form.
    let first = twice.events.iter().find(|e| e.id.as_str() == id).unwrap();
    let drop = format!("/dogs/{dog}/history/{}/drop", first.id);
    assert_eq!(browser.post(&drop, &[("seen", "1")]).await.status, StatusCode::OK);
    assert_eq!(browser.post(&drop, &[("seen", "1")]).await.status, StatusCode::NOT_FOUND);
    (fields[0].1, fields[1].1) = (&id, "2026-11-20");
    assert_eq!(browser.post(&at, &fields).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(card(&shop, &dog).await.events.len(), 2);
    // An old correction meets what stands now; nothing of it is kept.
    let second = twice.events.iter().find(|e| e.id.as_str() == fresh).unwrap();
    let correct = format!("/dogs/{dog}/history/{}", second.id);
    let form = [("seen", "1"), ("day", "2026-11-22"), ("event", "clipped"), ("length_mm", "12")];
    assert_eq!(browser.post(&correct, &form).await.status, StatusCode::OK);
    let now = card(&shop, &dog).await;
    let page = browser.post(&correct, &form).await;
    assert_eq!(page.status, StatusCode::CONFLICT, "{}", page.body);
    untouched(&shop, &now, "corrected twice").await;
    // A form without an id, or with one that is none, is not this program's.
    for id in ["", "a", "<script>", "../../../../etc"] {
        fields[0].1 = id;
        let page = browser.post(&at, &fields).await;
        assert_eq!(page.status, StatusCode::BAD_REQUEST, "{id}");
        assert!(page.body.contains("This form is damaged"), "{}", page.body);
    }
    untouched(&shop, &now, "damaged").await;
}

#[tokio::test]
async fn a_change_kept_over_another_stands_once() {
    let (shop, mut browser, dog) = with_dog().await;
    let keep = format!("/dogs/{dog}/keep");
    let form = [("seen", "1"), ("off_from", "2027-02-01"), ("off_to", "2027-02-03"), ("matter", "2027-01-09")];
    assert_eq!(browser.post(&keep, &form).await.status, StatusCode::SEE_OTHER);
    let page = browser.post(&keep, &form).await;
    assert_eq!(page.status, StatusCode::CONFLICT, "{}", page.body);
    let seen = page.value("seen").to_owned();
    let over = [&[("seen", seen.as_str())], &form[1..]].concat();
    assert_eq!(browser.post(&keep, &over).await.status, StatusCode::SEE_OTHER);
    let kept = card(&shop, &dog).await;
    assert_eq!((kept.dog.body.not_on.len(), kept.dog.body.days_that_matter.len()), (1, 1));
    let page = browser.post(&keep, &[("seen", "3")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.body.contains("There is nothing to keep."), "{}", page.body);
    untouched(&shop, &kept, "an empty form").await;
}

#[tokio::test]
async fn what_is_no_form_is_refused_and_nothing_is_kept() {
    let (shop, mut browser, dog) = with_dog().await;
    let before = card(&shop, &dog).await;
    let many = "a=1&".repeat(3000).into_bytes();
    let huge = [b"seen=1&id=form-0000001&day=2026-11-20&event=".to_vec(), vec![b'a'; 300_000]].concat();
    for at in posts(&dog, &before.events[0].id) {
        for (kind, body, status) in [
            (FORM, &b"seen=1&id=form-0000001&day=2026-11-20&event=clipped&length_mm=%FF%FE&rhythm=14"[..], 400),
            (FORM, b"seen=1&id=form-0000001&event=\xC3\x28&rhythm=14", 400),
            (FORM, b"seen=1&id=form-0000001&event=a%00b&rhythm=14", 400),
            (FORM, &many, 400),
            (FORM, &huge, 413),
            ("application/json", b"{\"seen\":1,\"rhythm\":14}", 415),
            ("multipart/form-data; boundary=x", b"--x--", 415),
        ] {
            let (now, page) = send(&mut browser, &at, kind, body.to_vec()).await;
            assert_eq!(now.as_u16(), status, "{at} {kind}: {page}");
            assert!(!page.contains("class=\"reference\""), "no fault of ours: {page}");
        }
    }
    untouched(&shop, &before, "no forms").await;
}

#[tokio::test]
async fn script_in_any_field_is_only_text_and_is_not_kept() {
    let (shop, mut browser, dog) = with_dog().await;
    let before = card(&shop, &dog).await;
    let [keep, new, correct, _] = posts(&dog, &before.events[0].id);
    let names = ["day", "event", "length_mm", "every_weeks", "months", "work_min", "ease", "zones.0.zone"];
    let zone = ["share", "longest_mm", "new_layer_mm", "ease"];
    let changes = ["first", "rhythm", "until", "max", "matter", "off_from", "off_to", "zone", "cap"];
    for text in [SCRIPT, QUOTES] {
        let of_zone: Vec<String> = zone.iter().map(|n| format!("zones.0.{n}")).collect();
        for name in names.iter().copied().chain(of_zone.iter().map(String::as_str)) {
            for at in [&new, &correct] {
                let all = [
                    ("seen", "1"),
                    ("id", "form-0000001"),
                    ("day", "2026-11-20"),
                    ("event", "visit"),
                    ("zones.0.zone", "back"),
                    ("zones.0.share", "20"),
                ];
                let mut fields: Vec<(&str, &str)> = all.into_iter().filter(|f| f.0 != name).collect();
                fields.push((name, text));
                let page = browser.post(at, &fields).await;
                assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{at} {name}: {}", page.body);
                assert!(!page.body.contains("<script>alert") && !page.body.contains("<img src=x"), "{}", page.body);
            }
        }
        for name in changes {
            let page = browser.post(&keep, &[("seen", "1"), (name, text)]).await;
            assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}: {}", page.body);
            assert!(!page.body.contains("<script>alert") && !page.body.contains("<img src=x"), "{}", page.body);
        }
        untouched(&shop, &before, text).await;
    }
    // What a day that matters is for may be any text, and stays text.
    let form = [("seen", "1"), ("matter", "2027-01-09"), ("matter_name", SCRIPT)];
    assert_eq!(browser.post(&keep, &form).await.status, StatusCode::SEE_OTHER);
    assert_eq!(card(&shop, &dog).await.dog.body.days_that_matter[0].1, SCRIPT);
    let page = browser.get(&format!("/dogs/{dog}?matter=2027-01-16&matter_name=%3Cscript%3Ealert(1)")).await;
    assert!(page.status == StatusCode::OK && !page.body.contains("<script>alert"), "{}", page.body);
}

#[tokio::test]
async fn numbers_and_days_that_cannot_be_are_refused_beside_their_field() {
    let (shop, mut browser, dog) = with_dog().await;
    let before = card(&shop, &dog).await;
    let [keep, new, correct, _] = posts(&dog, &before.events[0].id);
    let bad = ["NaN", "inf", "-inf", "1e308", "1e999", "-5", "0x10", "١٢", "12 34"];
    let numbers = [
        ("clipped", "length_mm"),
        ("clipped", "every_weeks"),
        ("clipped", "months"),
        ("visit", "work_min"),
        ("visit", "ease"),
        ("visit", "zones.0.share"),
        ("visit", "zones.0.longest_mm"),
        ("visit", "zones.0.new_layer_mm"),
        ("visit", "zones.0.ease"),
    ];
    let days =
        ["2026-02-30", "2026-13-01", "0000-00-00", "-2026-01-01", "99999-01-01", "25/11/2026", "", "2026-11-20T10"];
    for at in [&new, &correct] {
        let mut try_out = async |event: &str, name: &str, value: &str| {
            let all = [
                ("seen", "1"),
                ("id", "form-0000001"),
                ("day", "2026-11-20"),
                ("event", event),
                ("length_mm", if event == "clipped" { "9" } else { "" }),
                ("zones.0.zone", if event == "visit" { "back" } else { "" }),
            ];
            let mut fields: Vec<(&str, &str)> = all.into_iter().filter(|f| f.0 != name).collect();
            fields.push((name, value));
            let page = browser.post(at, &fields).await;
            assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{at} {name} {value}: {}", page.body);
            assert!(page.body.contains("role=\"alert\""), "{at} {name} {value}: {}", page.body);
        };
        for (event, name) in numbers {
            for value in bad {
                try_out(event, name, value).await;
            }
        }
        for day in days {
            try_out("flat", "day", day).await;
        }
    }
    for name in ["rhythm", "max", "cap"] {
        for value in bad {
            let fields = [("seen", "1"), ("zone", "back"), ("cap", "20"), (name, value)];
            let fields: Vec<(&str, &str)> =
                fields.into_iter().enumerate().filter(|(i, f)| *i == 3 || f.0 != name).map(|(_, f)| f).collect();
            let page = browser.post(&keep, &fields).await;
            assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} {value}: {}", page.body);
        }
    }
    for name in ["first", "until", "matter", "off_from", "off_to"] {
        for day in days.into_iter().filter(|d| !d.is_empty()) {
            let page = browser.post(&keep, &[("seen", "1"), ("rhythm", "14"), (name, day)]).await;
            assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} {day}: {}", page.body);
        }
    }
    // Days in the wrong order, and a plan for ever.
    let form = [("seen", "1"), ("off_from", "2027-02-03"), ("off_to", "2027-02-01")];
    assert_eq!(browser.post(&keep, &form).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = browser.get(&format!("/dogs/{dog}?until=9999-12-31&rhythm=7")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", page.body);
    untouched(&shop, &before, "refused").await;
}
