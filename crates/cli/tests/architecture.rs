//! Holds the workspace to what `ARCHITECTURE.md` says of it, and committed files to the house rules.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Which of our crates each may use. An arrow that is not here is not allowed.
const MAY_USE: [(&str, &[&str]); 9] = [
    ("coat", &[]),
    ("plan", &["coat"]),
    ("learn", &["coat"]),
    ("app", &["coat", "plan", "learn"]),
    ("paper", &["coat", "plan", "app"]),
    ("testkit", &["coat", "plan", "learn", "app"]),
    ("store", &["app"]),
    ("web", &["coat", "app", "paper"]),
    ("coatwright", &["coat", "plan", "learn", "app", "paper", "store", "web"]),
];

/// Other people's crates that a crate of ours must not know (tests and benchmarks may).
const MUST_NOT_KNOW: [(&str, &[&str]); 7] = [
    ("coat", &["serde", "serde_json", "toml", "clap", "highs", "rayon", "rand"]),
    ("plan", &["serde", "serde_json", "toml", "clap", "rand", "jiff"]),
    ("learn", &["serde", "serde_json", "toml", "clap", "highs", "jiff"]),
    ("app", &["clap", "highs", "krilla", "resvg", "jiff", "rand", "sqlx", "axum", "maud", "tokio"]),
    ("paper", &["clap", "highs", "toml", "jiff", "rand"]),
    ("store", &["axum", "maud", "clap", "highs"]),
    ("web", &["sqlx", "clap", "highs", "toml"]),
];

/// What the crates that only compute must not reach for.
const PURE: [&str; 4] = ["coat", "plan", "learn", "paper"];
const IMPURE: [&str; 6] = ["SystemTime", "Instant::now", "std::env::", "std::fs", "std::net", "Zoned::now"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().expect("the workspace is two folders up")
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("cannot read `{}`: {e}", path.display()))
}

fn output(program: &str, args: &[&str]) -> String {
    let out = Command::new(program).args(args).current_dir(root()).output();
    let out = out.unwrap_or_else(|e| panic!("cannot run `{program}`: {e}"));
    assert!(out.status.success(), "`{program} {}` said:\n{}", args.join(" "), String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).expect("text")
}

/// Crates of the workspace: name, then (dependency, kind).
fn crates() -> BTreeMap<String, Vec<(String, String)>> {
    let text = output(env!("CARGO"), &["metadata", "--no-deps", "--format-version", "1", "--offline"]);
    let meta: serde_json::Value = serde_json::from_str(&text).expect("cargo writes JSON");
    let word = |v: &serde_json::Value| v.as_str().unwrap_or("normal").to_owned();
    meta["packages"]
        .as_array()
        .expect("packages")
        .iter()
        .map(|p| {
            let deps = p["dependencies"].as_array().expect("dependencies");
            (word(&p["name"]), deps.iter().map(|d| (word(&d["name"]), word(&d["kind"]))).collect())
        })
        .collect()
}

fn ours() -> BTreeMap<&'static str, BTreeSet<&'static str>> {
    MAY_USE.iter().map(|(name, uses)| (*name, uses.iter().copied().collect())).collect()
}

#[test]
fn arrows_point_one_way() {
    let rule = ours();
    let found = crates();
    let names: BTreeSet<&str> = found.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        rule.keys().copied().collect(),
        "the workspace has other crates than this test and the table know"
    );
    for (name, deps) in &found {
        // The test kit is for tests, benchmarks and examples only; the pages are tested over the real store and solver.
        let whole = |d: &(String, String)| name == "web" && matches!(d.0.as_str(), "store" | "plan");
        let of_tests = |d: &&(String, String)| d.1 == "dev" && (d.0 == "testkit" || whole(d));
        for (dep, _) in deps.iter().filter(|d| names.contains(d.0.as_str()) && !of_tests(d)) {
            assert!(rule[name.as_str()].contains(dep.as_str()), "`{name}` must not use `{dep}`");
        }
    }
}

#[test]
fn crates_do_not_know_what_they_must_not() {
    let found = crates();
    for (name, banned) in MUST_NOT_KNOW {
        for (dep, kind) in &found[name] {
            assert!(kind == "dev" || !banned.contains(&dep.as_str()), "`{name}` must not know `{dep}`");
        }
    }
}

fn sources(folder: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap_or_else(|e| panic!("`{}`: {e}", folder.display())) {
        let path = entry.expect("entry").path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// Computing crates read neither clock nor files nor environment (their tests may).
#[test]
fn computing_crates_are_pure() {
    for name in PURE {
        let mut files = Vec::new();
        sources(&root().join("crates").join(name).join("src"), &mut files);
        assert!(!files.is_empty());
        for path in files.iter().filter(|p| !p.ends_with("tests.rs")) {
            let text = read(path);
            let product = text.split("#[cfg(test)]").next().unwrap_or("");
            for word in IMPURE {
                assert!(!product.contains(word), "`{}` must not use `{word}`", path.display());
            }
        }
    }
}

/// The crate table: `| crate | what it is | may use | must not |`, the first and third in backticks.
#[test]
fn the_crate_table_says_the_same() {
    let text = read(&root().join("ARCHITECTURE.md"));
    let ticked = |cell: &str| -> BTreeSet<String> { cell.split('`').skip(1).step_by(2).map(str::to_owned).collect() };
    let mut table = BTreeMap::new();
    for line in text.lines().skip_while(|l| !l.starts_with("| crate |")).skip(2).take_while(|l| l.starts_with('|')) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').collect();
        assert_eq!(cells.len(), 4, "a row of the crate table has four cells: {line}");
        let name = ticked(cells[0]).into_iter().next().expect("a crate's name in backticks");
        table.insert(name, ticked(cells[2]));
    }
    let rule: BTreeMap<String, BTreeSet<String>> =
        ours().into_iter().map(|(n, uses)| (n.to_owned(), uses.into_iter().map(str::to_owned).collect())).collect();
    assert_eq!(table, rule);
}

/// Committed files and their text; pictures and fonts are left out.
fn committed() -> Vec<(String, String)> {
    let list = output("git", &["ls-files", "-z"]);
    let files: Vec<(String, String)> = list
        .split('\0')
        .filter(|f| !f.is_empty())
        .filter_map(|f| Some((f.to_owned(), String::from_utf8(std::fs::read(root().join(f)).ok()?).ok()?)))
        .collect();
    assert!(files.len() > 20, "git lists only {} files", files.len());
    files
}

#[test]
fn committed_files_name_no_machine() {
    let mut banned = vec![
        concat!("seed ", "document").to_owned(),
        concat!("/wo", "rk/").to_owned(),
        concat!("../sha", "red/").to_owned(),
        concat!("/ro", "ot/").to_owned(),
        root().to_string_lossy().to_lowercase() + "/",
    ];
    if let Some(home) = std::env::var("HOME").ok().filter(|h| h.len() > 1) {
        banned.push(home.to_lowercase() + "/");
    }
    for (name, text) in committed() {
        let text = text.to_lowercase();
        for word in &banned {
            assert!(!text.contains(word.as_str()), "`{name}` names `{word}`");
        }
    }
}

/// Our pages link to files that are there, and only inside the repository.
#[test]
fn links_stay_inside_and_arrive() {
    for (name, text) in committed().into_iter().filter(|f| f.0.ends_with(".md")) {
        let folder = root().join(&name).parent().expect("a folder").to_owned();
        for link in text.split("](").skip(1).filter_map(|t| t.split(')').next()) {
            assert!(!link.contains("://"), "`{name}` links out to `{link}`");
            let file = link.split('#').next().unwrap_or("");
            assert!(file.is_empty() || folder.join(file).exists(), "`{name}` links to `{link}`, which is not there");
        }
    }
}
