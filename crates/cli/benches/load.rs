//! The shop's pages under load: Table, a search in Coats, a dog's page, a hundred requests a second.
//!
//! The store holds invented dogs: those of the demonstration with their two years of history, copied under other
//! names until there are `DOGS` (in the environment, 5000 where it is not set). Everything is reckoned for today. The
//! built program serves them from a file; requests go out at their times, whether or not earlier ones were answered,
//! so that waiting counts; those that get no page are told by their number. Dogs' pages are those of 100 dogs that were
//! looked at today; what the first look costs, when the plan is made, is told by itself.
#![expect(clippy::print_stdout, reason = "a benchmark's output is its result")]

use app::shop::{Desk, Founded, Fresh, Kind, Record, RecordId, Store, Who, Write, demo};
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use hyper_util::client::legacy::Client;
use hyper_util::client::legacy::connect::HttpConnector;
use hyper_util::rt::TokioExecutor;
use std::net::TcpListener;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

const PASSWORD: &str = "a password of the benchmark";
const EVERY: Duration = Duration::from_millis(10);
const SECONDS: u32 = 20;
const LOOKED_AT: usize = 100;

struct Uuids;

impl Fresh for Uuids {
    fn text(&self) -> String {
        uuid::Uuid::now_v7().to_string()
    }
}

fn new_id() -> RecordId {
    RecordId::new(Uuids.text()).expect("an id")
}

/// Founds the demonstration shop and copies its dogs; gives some of the dogs.
async fn fill(file: &Path, dogs: usize) -> Vec<RecordId> {
    let db: Arc<dyn Store> = Arc::new(store::open(&file.to_string_lossy()).await.expect("a new store"));
    let desk = Desk::new(db.clone(), Arc::new(Uuids), Arc::new(plan::Highs));
    let now = jiff::Timestamp::now();
    let date = jiff::tz::TimeZone::UTC.to_datetime(now).date();
    let today = coat::Day::from_ymd(date.year(), date.month(), date.day()).expect("a day");
    let hash = web::password_hash(PASSWORD).expect("a hash");
    let Founded { shop, person, .. } = demo::found(&desk, now.as_millisecond(), today, hash).await.expect("a shop");
    let who = Who { shop, person, at_ms: now.as_millisecond() };
    let own = db.all(&who.shop, Kind::Dog, None, 1000).await.expect("dogs");
    let ids: Vec<RecordId> = own.iter().map(|d| d.id.clone()).collect();
    let found = db.found(&who.shop, &ids).await.expect("their places");
    let mut all = ids.clone();
    for copy in 1..dogs.div_ceil(own.len()) {
        let (mut writes, mut places) = (Vec::new(), Vec::new());
        for dog in &own {
            let id = new_id();
            let put = |r: &Record, id: &RecordId, of: Option<&RecordId>| Write {
                kind: r.kind,
                id: id.clone(),
                of: of.cloned(),
                day: r.day.clone(),
                seen: 0,
                body: r.body.clone(),
                gone: false,
            };
            let mut itself = put(dog, &id, dog.of.as_ref());
            let name = format!("{} {copy}", dog.body["name"].as_str().unwrap_or_default());
            itself.body["name"] = name.clone().into();
            itself.body["chip"] = "".into();
            writes.push(itself);
            for e in db.of(&who.shop, Kind::Event, &dog.id).await.expect("events") {
                writes.push(put(&e, &new_id(), Some(&id)));
            }
            // One day in four of the dogs': some 120 dogs a day.
            if copy % 4 == 0 {
                for v in db.of(&who.shop, Kind::Visit, &dog.id).await.expect("visits") {
                    if v.day.as_deref() == Some(&today.to_string()) {
                        writes.push(put(&v, &new_id(), Some(&id)));
                    }
                }
            }
            if let Some(f) = found.iter().find(|f| f.dog == dog.id) {
                let mut f = f.clone();
                (f.dog, f.name) = (id.clone(), name.clone());
                f.text = format!("{} {copy}", f.text);
                places.push(f);
            }
            all.push(id);
        }
        db.write(&who, &writes, &places).await.expect("copies");
    }
    let step = (all.len() / LOOKED_AT).max(1);
    all.into_iter().step_by(step).take(LOOKED_AT).collect()
}

/// The program, ended with the benchmark.
struct Serving(Child, String);

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Serving {
    fn start(file: &Path) -> Serving {
        let port = TcpListener::bind("127.0.0.1:0").and_then(|l| l.local_addr()).expect("a port").port();
        let at = format!("127.0.0.1:{port}");
        let child = Command::new(env!("CARGO_BIN_EXE_coatwright"))
            .args(["serve", "--store"])
            .arg(file)
            .args(["--listen", &at])
            .stdout(Stdio::null())
            .spawn()
            .expect("the program starts");
        Serving(child, at)
    }

    /// Memory held now and at most, MB.
    fn memory_mb(&self) -> (f64, f64) {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.0.id())).expect("Linux counts memory");
        let of = |name: &str| {
            let line = status.lines().find_map(|l| l.strip_prefix(name)).expect("a mark");
            line.trim().trim_end_matches("kB").trim().parse::<f64>().expect("a number") / 1e3
        };
        (of("VmRSS:"), of("VmHWM:"))
    }
}

#[derive(Clone)]
struct Visitor {
    client: Client<HttpConnector, Body>,
    at: String,
    cookie: String,
}

impl Visitor {
    async fn sign_in(at: &str) -> Visitor {
        let client = Client::builder(TokioExecutor::new()).build_http::<Body>();
        let mut me = Visitor { client, at: at.to_owned(), cookie: String::new() };
        let begin = Instant::now();
        while me.get("/sign-in").await.is_none() {
            assert!(begin.elapsed() < Duration::from_secs(30), "the program does not answer");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        let form = format!("name={}&password={}", demo::SIGN_IN, PASSWORD.replace(' ', "+"));
        let post = Request::post(format!("http://{at}/sign-in"))
            .header(header::ORIGIN, format!("http://{at}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(form))
            .expect("a request");
        let answer = me.client.request(post).await.expect("an answer");
        let set = answer.headers().get_all(header::SET_COOKIE).iter().filter_map(|c| c.to_str().ok());
        me.cookie = set.filter_map(|c| c.split(';').next()).collect::<Vec<_>>().join("; ");
        assert!(!me.cookie.is_empty(), "signed in: {}", answer.status());
        me
    }

    /// Status and bytes of a page; none where nobody answers.
    async fn get(&self, path: &str) -> Option<(StatusCode, usize)> {
        let get = Request::get(format!("http://{}{path}", self.at)).header(header::COOKIE, &self.cookie);
        let answer = self.client.request(get.body(Body::empty()).expect("a request")).await.ok()?;
        let status = answer.status();
        Some((status, answer.into_body().collect().await.ok()?.to_bytes().len()))
    }

    /// How long a page takes, ms; endless where none came.
    async fn time(&self, path: &str, due: Instant) -> f64 {
        match self.get(path).await {
            Some((StatusCode::OK, bytes)) if bytes > 500 => due.elapsed().as_secs_f64() * 1e3,
            _ => f64::INFINITY,
        }
    }

    /// Times of pages asked for a hundred times a second.
    async fn load(&self, path: impl Fn(usize) -> String) -> Vec<f64> {
        let mut ticks = tokio::time::interval(EVERY);
        let mut asked = Vec::new();
        for n in 0..(SECONDS as usize * 100) {
            let due = ticks.tick().await.into_std();
            let (me, path) = (self.clone(), path(n));
            asked.push(tokio::spawn(async move { me.time(&path, due).await }));
        }
        let mut times = Vec::with_capacity(asked.len());
        for one in asked {
            times.push(one.await.expect("an answer"));
        }
        times
    }
}

fn told(what: &str, mut times: Vec<f64>) {
    let asked = times.len();
    times.retain(|t| t.is_finite());
    if times.len() < asked {
        println!("{what:28} {} of {asked} got no page", asked - times.len());
    }
    if times.is_empty() {
        return;
    }
    times.sort_by(f64::total_cmp);
    let at = |p: f64| times[((times.len() as f64 * p).ceil() as usize).clamp(1, times.len()) - 1];
    println!("{what:28} {:8.1} {:8.1} {:8.1} {:8.1}", at(0.5), at(0.9), at(0.99), at(1.0));
}

fn main() {
    let dogs = std::env::var("DOGS").map_or(5000, |n| n.parse().expect("`DOGS` is a whole number"));
    tokio::runtime::Runtime::new().expect("a runtime").block_on(run(dogs));
}

async fn run(dogs: usize) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let looked_at = fill(&file, dogs).await;
    let size = std::fs::metadata(&file).map_or(0, |m| m.len());
    let serving = Serving::start(&file);
    let me = Visitor::sign_in(&serving.1).await;
    println!(
        "{dogs} dogs, {:.0} MB on the disk; {:.0} MB held after the first answers",
        size as f64 / 1e6,
        serving.memory_mb().0
    );
    println!("{:28} {:>8} {:>8} {:>8} {:>8}", "ms", "median", "p90", "p99", "most");
    let dog = |n: usize| format!("/dogs/{}", looked_at[n % looked_at.len()].as_str());
    let mut first = Vec::new();
    for n in 0..looked_at.len() {
        first.push(me.time(&dog(n), Instant::now()).await);
    }
    told("a dog's page, first look", first);
    // The first dogs looked at were planned before the others had taught what they teach.
    let mut second = Vec::new();
    for n in 0..looked_at.len() {
        second.push(me.time(&dog(n), Instant::now()).await);
    }
    told("a dog's page, second look", second);
    const WORDS: [&str; 6] = ["a", "ne", "tt", "wi", "1", "nobody+has+this"];
    let search = |n: usize| format!("/coats?q={}", WORDS[n % WORDS.len()]);
    told("Table, 100 a second", me.load(|_| "/table".to_owned()).await);
    told("Coats, search, 100 a second", me.load(search).await);
    told("a dog's page, 100 a second", me.load(dog).await);
    let mixed = |n: usize| match n % 3 {
        0 => "/table".to_owned(),
        1 => search(n / 3),
        _ => dog(n / 3),
    };
    told("all three, 100 a second", me.load(mixed).await);
    let (now, most) = serving.memory_mb();
    println!("memory: {now:.0} MB, at most {most:.0} MB");
}
