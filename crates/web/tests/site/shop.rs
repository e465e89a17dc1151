//! A shop for a test, and browsers that visit it.

use app::shop::{Desk, Founding, Fresh, House, Person, Store, Units, Who};
use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Request, StatusCode};
use coat::Day;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use tower::ServiceExt;
use web::{Clock, Entrance, FoundingCode, Parts, State};

/// A password that will do.
pub const PASSWORD: &str = "hard hair rolls well";
/// 2026-11-25 08:00 UTC.
const BEGIN_MS: i64 = 1_795_593_600_000;

/// A clock that stands until it is moved.
pub struct TestClock(AtomicI64);

impl TestClock {
    pub fn forward(&self, ms: i64) {
        self.0.fetch_add(ms, Ordering::SeqCst);
    }
}

impl Clock for TestClock {
    fn now_ms(&self) -> i64 {
        self.0.load(Ordering::SeqCst)
    }

    fn today(&self, _: &str) -> Day {
        Day::from_days((self.now_ms() / 86_400_000) as i32)
    }

    fn knows(&self, time_zone: &str) -> bool {
        ["UTC", "Europe/Dublin"].contains(&time_zone)
    }

    fn own_zone(&self) -> String {
        "UTC".to_owned()
    }
}

/// Ids that count.
#[derive(Default)]
struct Counted(AtomicI64);

impl Fresh for Counted {
    fn text(&self) -> String {
        format!("id-{:08}", self.0.fetch_add(1, Ordering::SeqCst))
    }
}

/// A shop on a store in a temporary folder.
pub struct Shop {
    _folder: tempfile::TempDir,
    pub clock: Arc<TestClock>,
    pub store: Arc<dyn Store>,
    pub desk: Arc<Desk>,
    pub state: State,
    app: Router,
    /// The founding code that was printed.
    pub code: String,
}

impl Shop {
    /// A store without a shop.
    pub async fn empty(entrance: Entrance) -> Shop {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shop.db");
        let store: Arc<dyn Store> = Arc::new(store::open(path.to_str().unwrap()).await.unwrap());
        let fresh: Arc<dyn Fresh> = Arc::new(Counted::default());
        let desk = Arc::new(Desk::new(store.clone(), fresh.clone(), Arc::new(plan::Highs)));
        let clock = Arc::new(TestClock(AtomicI64::new(BEGIN_MS)));
        let (founding, code) = FoundingCode::new().unwrap();
        let parts = Parts {
            store: store.clone(),
            desk: desk.clone(),
            clock: clock.clone(),
            fresh,
            entrance,
            founding: Some(founding),
        };
        let state = State::new(parts);
        Shop { _folder: folder, clock, store, desk, app: web::app(state.clone()), state, code }
    }

    /// A founded shop and the browser that founded it.
    pub async fn founded() -> (Shop, Browser) {
        let shop = Shop::empty(Entrance::Loopback).await;
        let mut browser = shop.browser();
        let page = browser.post("/begin", &FOUNDING).await;
        assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, "/"), "{}", page.body);
        (shop, browser)
    }

    /// A browser at this machine.
    pub fn browser(&self) -> Browser {
        self.browser_at("127.0.0.1")
    }

    /// A browser somewhere.
    pub fn browser_at(&self, ip: &str) -> Browser {
        let at = SocketAddr::new(ip.parse().unwrap(), 40_000);
        Browser { app: self.app.clone(), at, cookies: Vec::new(), host: "localhost".to_owned(), year_first: false }
    }

    /// A person of another shop in the same store, who signs in as `zed`.
    pub async fn elsewhere(&self) -> Who {
        let house = House {
            name: "Elsewhere".into(),
            place: String::new(),
            country: "IE".into(),
            latitude_deg: None,
            units: Units::Mm,
            currency: "EUR".into(),
            dates: "en-IE".into(),
            time_zone: "UTC".into(),
            hour_minor: None,
            short_passwords: false,
            pooled: false,
            caps: None,
            weights: Vec::new(),
            targets: Vec::new(),
            demo: false,
        };
        let person = Person { name: "Zed".into(), sign_in: "zed".into(), pace: 1.0, left: false };
        let hash = web::password_hash(PASSWORD).unwrap();
        let other = self.desk.found_shop(0, Founding { house, person, hash }).await.unwrap();
        Who { shop: other.shop, person: other.person, at_ms: 0 }
    }

    /// A person of the first shop, for asking the use cases.
    pub async fn who(&self) -> Who {
        let shop = self.store.shops().await.unwrap().remove(0);
        let credential = self.store.credential("ada").await.unwrap().unwrap();
        Who { shop, person: credential.person, at_ms: self.clock.now_ms() }
    }
}

/// What the first start asks for.
pub const FOUNDING: [(&str, &str); 6] = [
    ("shop", "The Wiry End"),
    ("place", "Nowhere, Ireland"),
    ("units", "mm"),
    ("currency", "EUR"),
    ("name", "Ada"),
    ("password", PASSWORD),
];

/// An answer.
pub struct Page {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: String,
}

impl Page {
    /// Where it leads.
    pub fn to(&self) -> &str {
        self.header("location")
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().unwrap())
    }

    /// What a hidden or other field of the page holds.
    pub fn value(&self, name: &str) -> &str {
        let at =
            self.body.find(&format!("name=\"{name}\"")).unwrap_or_else(|| panic!("no field {name}: {}", self.body));
        let rest = &self.body[at..];
        let value = &rest[rest.find("value=\"").unwrap() + 7..];
        &value[..value.find('"').unwrap()]
    }
}

/// Days in the text of a page as programs write them. What is typed into fields, scripts and drawings is no text.
fn raw_days(page: &str) -> Vec<String> {
    let mut text = page.to_owned();
    for kind in ["textarea", "script", "svg"] {
        while let Some(from) = text.find(&format!("<{kind}")) {
            let end = format!("</{kind}>");
            let to = text[from..].find(&end).map_or(text.len(), |at| from + at + end.len());
            text.replace_range(from..to, " ");
        }
    }
    let text: Vec<&str> = text.split('<').map(|part| part.split_once('>').map_or(part, |p| p.1)).collect();
    let words = text.iter().flat_map(|t| t.split(|c: char| !c.is_ascii_alphanumeric() && c != '-'));
    words.filter(|w| Day::parse(w).is_some()).map(str::to_owned).collect()
}

/// A browser with its cookies.
#[derive(Clone)]
pub struct Browser {
    app: Router,
    at: SocketAddr,
    pub cookies: Vec<(String, String)>,
    pub host: String,
    /// The house writes days as `2026-11-25`; elsewhere no page may show one like that.
    pub year_first: bool,
}

impl Browser {
    pub async fn get(&mut self, path: &str) -> Page {
        self.send("GET", path, &[], Body::empty()).await
    }

    pub async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        self.post_with(path, fields, &[("sec-fetch-site", "same-origin")]).await
    }

    pub async fn post_with(&mut self, path: &str, fields: &[(&str, &str)], headers: &[(&str, &str)]) -> Page {
        let coded = |t: &str| t.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
        let body: Vec<String> = fields.iter().map(|(n, v)| format!("{}={}", coded(n), coded(v))).collect();
        let mut all = vec![("content-type", "application/x-www-form-urlencoded")];
        all.extend_from_slice(headers);
        self.send("POST", path, &all, Body::from(body.join("&"))).await
    }

    pub async fn send(&mut self, method: &str, path: &str, headers: &[(&str, &str)], body: Body) -> Page {
        let (status, headers, body) = self.answer(method, path, headers, body).await;
        if headers.get("content-type").is_some_and(|t| t.to_str().unwrap().starts_with("text/html")) {
            let raw = raw_days(&String::from_utf8_lossy(&body));
            assert!(self.year_first || raw.is_empty(), "{method} {path} shows {raw:?}, not as the house writes days");
        }
        Page { status, headers, body: String::from_utf8_lossy(&body).into_owned() }
    }

    /// What comes as it comes.
    pub async fn bytes(&mut self, path: &str, headers: &[(&str, &str)]) -> Vec<u8> {
        self.answer("GET", path, headers, Body::empty()).await.2
    }

    async fn answer(
        &mut self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: Body,
    ) -> (StatusCode, HeaderMap, Vec<u8>) {
        let mut request = Request::builder().method(method).uri(path).header("host", &self.host);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        if !self.cookies.is_empty() {
            let all: Vec<String> = self.cookies.iter().map(|(n, v)| format!("{n}={v}")).collect();
            request = request.header("cookie", all.join("; "));
        }
        let mut request = request.body(body).unwrap();
        request.extensions_mut().insert(ConnectInfo(self.at));
        let (parts, body) = self.app.clone().oneshot(request).await.unwrap().into_parts();
        for set in parts.headers.get_all("set-cookie") {
            let (pair, rest) = set.to_str().unwrap().split_once(';').unwrap();
            let (name, value) = pair.split_once('=').unwrap();
            self.cookies.retain(|c| c.0 != name);
            if !rest.contains("Max-Age=0") {
                self.cookies.push((name.to_owned(), value.to_owned()));
            }
        }
        let body = axum::body::to_bytes(body, usize::MAX).await.unwrap();
        (parts.status, parts.headers, body.to_vec())
    }

    /// Whether the browser is signed in.
    pub async fn is_in(&mut self) -> bool {
        self.get("/you").await.status == StatusCode::OK
    }
}
