//! What strangers send.

use crate::shop::{Browser, FOUNDING, PASSWORD, Shop};
use app::shop::Owner;
use axum::body::Body;
use axum::http::StatusCode;
use web::Entrance;

const SCRIPT: &str = "<script>alert(1)</script>";
const QUOTES: &str = "\"><img src=x onerror=alert(1)>'";

/// The addresses that forms post to, with ids of the shop.
async fn posts(shop: &Shop, browser: &mut Browser) -> Vec<String> {
    let owner = browser.post("/people/owners/new", &[("name", "Bríd Example")]).await.to().replace("?saved=1", "");
    let person = shop.who().await.person;
    let mut all: Vec<String> = [
        "/begin",
        "/sign-in",
        "/sign-out",
        "/look",
        "/you/password",
        "/you/elsewhere",
        "/people/owners/new",
        "/people/colleagues/new",
        "/house",
        "/house/plan",
        "/house/targets/wire",
        "/dogs/new",
    ]
    .map(str::to_owned)
    .to_vec();
    all.extend([owner.clone(), format!("{owner}/consent"), format!("{owner}/drop")]);
    all.extend([format!("/people/colleagues/{person}"), format!("/people/colleagues/{person}/password")]);
    all
}

#[tokio::test]
async fn script_is_text_wherever_it_is_typed() {
    let shop = Shop::empty(Entrance::Loopback).await;
    let mut browser = shop.browser();
    for text in [SCRIPT, QUOTES] {
        let fields = FOUNDING.map(|f| if f.0 == "currency" || f.0 == "password" { f } else { (f.0, text) });
        let page = browser.post("/begin", &[&fields[..], &[("code", text)]].concat()).await;
        assert!(!page.body.contains(text));
    }
    let page = browser.post("/sign-in", &[("name", SCRIPT), ("password", SCRIPT), ("then", SCRIPT)]).await;
    assert!(!page.body.contains(SCRIPT) && !page.body.contains("value=\"<"), "{}", page.body);

    let (_shop, mut browser) = Shop::founded().await;
    let mut seen_pages = Vec::new();
    for (k, text) in [SCRIPT, QUOTES].into_iter().enumerate() {
        let fields = ["name", "phones.0", "phones.1", "mail", "address", "note"].map(|n| (n, text));
        let at = browser.post("/people/owners/new", &fields).await.to().replace("?saved=1", "");
        assert!(at.starts_with("/people/owners/"));
        let consent =
            [("seen", "1"), ("consent-what", "photos"), ("consent-day", "2026-11-25"), ("consent-words", text)];
        browser.post(&format!("{at}/consent"), &consent).await;
        seen_pages.push(browser.get(&at).await);
        seen_pages.push(browser.post(&at, &[("seen", "1"), ("name", text), ("note", text)]).await);
        let sign_in = format!("{k}{text}");
        let person = [("name", text), ("sign_in", &sign_in), ("pace", text), ("password", "a quite long sentence")];
        seen_pages.push(browser.post("/people/colleagues/new", &person).await);
        let person = [("name", text), ("sign_in", &sign_in), ("pace", "1"), ("password", "a quite long sentence")];
        let at = browser.post("/people/colleagues/new", &person).await.to().to_owned();
        seen_pages.push(browser.get(&at).await);
        let house = ["name", "place", "country", "currency", "hour_minor", "latitude_deg", "time_zone", "dates"]
            .map(|n| (n, text));
        seen_pages.push(browser.post("/house", &house).await);
        seen_pages.push(browser.post("/house/plan", &[("weights.cover", text), ("caps.short", text)]).await);
        seen_pages.push(browser.post("/house/targets/wire", &[("beard", text)]).await);
        let coded: String = text.bytes().map(|b| format!("%{b:02X}")).collect();
        for path in ["/people?q=", "/coats?q=", "/sign-in?then=", "/coats?filter="] {
            seen_pages.push(browser.get(&format!("{path}{coded}")).await);
        }
    }
    seen_pages.push(browser.get("/people").await);
    for page in seen_pages {
        assert!(!page.body.contains("<script>alert") && !page.body.contains("<img src=x"), "{}", page.body);
        assert!(page.header("content-security-policy").contains("script-src 'self'"));
    }
}

#[tokio::test]
async fn a_shop_with_a_script_for_a_name_is_still_a_shop() {
    let shop = Shop::empty(Entrance::Loopback).await;
    let mut browser = shop.browser();
    let fields = FOUNDING.map(|f| if f.0 == "shop" || f.0 == "name" { (f.0, SCRIPT) } else { f });
    assert_eq!(browser.post("/begin", &fields).await.to(), "/");
    for path in ["/you", "/people", "/house", "/coats"] {
        let page = browser.get(path).await;
        assert!(page.body.contains("&lt;script&gt;alert(1)") && !page.body.contains(SCRIPT), "{path}");
    }
}

#[tokio::test]
async fn other_sites_post_nothing() {
    let (shop, mut browser) = Shop::founded().await;
    let all = posts(&shop, &mut browser).await;
    assert_eq!(all.len(), 17);
    for at in all {
        for forged in [
            &[("sec-fetch-site", "cross-site"), ("origin", "http://evil.example")][..],
            &[("sec-fetch-site", "same-site"), ("origin", "http://localhost:1")],
            &[("origin", "http://evil.example")],
            &[("origin", "null")],
        ] {
            let page = browser.post_with(&at, &[("name", "Forged"), ("seen", "1")], forged).await;
            assert_eq!(page.status, StatusCode::FORBIDDEN, "{at} {forged:?}");
            assert!(page.body.contains("came from another site"), "{at}");
        }
    }
    assert!(browser.is_in().await, "a forged sign-out does nothing");
    assert!(!browser.get("/people").await.body.contains("Forged"));
}

#[tokio::test]
async fn without_a_session_there_is_only_the_way_in() {
    let (shop, mut browser) = Shop::founded().await;
    let posts = posts(&shop, &mut browser).await;
    let mut nobody = shop.browser();
    nobody.cookies = vec![("coatwright".into(), "0".repeat(64))];
    for at in &posts {
        if ["/begin", "/sign-in", "/look"].contains(&at.as_str()) {
            continue;
        }
        let page = nobody.post(at, &[("name", "Nobody"), ("seen", "1")]).await;
        assert_eq!(page.to(), "/sign-in?ended=1", "{at}");
        let page = nobody.get(at).await;
        assert!(page.to().starts_with("/sign-in?then=") || page.status == StatusCode::METHOD_NOT_ALLOWED, "{at}");
    }
}

#[tokio::test]
async fn another_shops_ids_are_nowhere() {
    let (shop, mut browser) = Shop::founded().await;
    let who = shop.elsewhere().await;
    let owner = Owner { name: "Their owner".into(), ..Owner::default() };
    let owner = shop.desk.set_owner(&who, None, 0, owner).await.unwrap().id;
    for at in [format!("/people/owners/{owner}"), format!("/people/colleagues/{}", who.person)] {
        assert_eq!(browser.get(&at).await.status, StatusCode::NOT_FOUND, "{at}");
        let fields = [
            ("seen", "1"),
            ("name", "Mine now"),
            ("sign_in", "mine"),
            ("pace", "1"),
            ("password", "a quite long sentence"),
        ];
        for more in ["", "/consent", "/drop", "/password"] {
            let page = browser.post(&format!("{at}{more}"), &fields).await;
            assert!(matches!(page.status.as_u16(), 404 | 405), "{at}{more}: {}", page.status);
        }
    }
    assert!(!browser.get("/people").await.body.contains("Their owner"));
    assert_eq!(shop.desk.owner(&who, &owner).await.unwrap().owner.revision, 1);
    let sign_in = [("name", "zed"), ("password", PASSWORD)];
    let mut zed = shop.browser();
    assert_eq!(zed.post("/sign-in", &sign_in).await.to(), "/");
    assert!(zed.get("/people").await.body.contains("Their owner"));
}

#[tokio::test]
async fn what_is_no_form_is_refused_in_whole_sentences() {
    let (_shop, mut browser) = Shop::founded().await;
    let form = ("content-type", "application/x-www-form-urlencoded");
    let own = ("sec-fetch-site", "same-origin");
    for (kind, body, status, words) in [
        (form, &b"name=%FF%FE"[..], 400, "not UTF-8"),
        (form, b"name=\xC3\x28", 400, "not UTF-8"),
        (form, b"name=a%00b", 400, "control characters"),
        (("content-type", "application/json"), b"{\"name\":1}", 415, "not the kind of thing"),
        (("content-type", "multipart/form-data; boundary=x"), b"--x--", 415, "not the kind of thing"),
        (("x-nothing", "x"), b"name=a", 415, "not the kind of thing"),
    ] {
        let page = browser.send("POST", "/people/owners/new", &[kind, own], Body::from(body.to_vec())).await;
        assert_eq!(page.status.as_u16(), status, "{words}");
        assert!(page.body.contains(words), "{}", page.body);
        assert!(!page.body.contains("reference"), "no fault of ours");
    }
    let many = Body::from("a=1&".repeat(3000));
    assert_eq!(browser.send("POST", "/people/owners/new", &[form, own], many).await.status, StatusCode::BAD_REQUEST);
    let huge = Body::from(vec![b'a'; 300_000]);
    let page = browser.send("POST", "/people/owners/new", &[form, own], huge).await;
    assert_eq!(page.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(page.body.contains("more than this page takes"));
    let long = "a".repeat(5000);
    let page = browser.post("/people/owners/new", &[("name", &long)]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let turned = browser.post("/people/owners/new", &[("name", "gnp.\u{202e}evil")]).await;
    assert_eq!(turned.status, StatusCode::UNPROCESSABLE_ENTITY, "marks that turn the direction of writing");
}

#[tokio::test]
async fn another_name_for_this_machine_gets_nothing() {
    let (_shop, mut browser) = Shop::founded().await;
    for host in ["evil.example", "localhost.evil.example", "192.0.2.1:8410", ""] {
        browser.host = host.into();
        let page = browser.get("/people").await;
        assert_eq!(page.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
        assert!(!page.body.contains("Wiry End"), "{host}");
    }
}

#[tokio::test]
async fn passwords_of_any_length_cost_the_same_or_nothing() {
    let (_shop, mut browser) = Shop::founded().await;
    let long = "a".repeat(60_000);
    let page = browser.post("/sign-in", &[("name", "Ada"), ("password", &long)]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let long_name = "a".repeat(60_000);
    let page = browser.post("/sign-in", &[("name", &long_name), ("password", PASSWORD)]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
}
