//! Holds `docs/checks.md` to the tests: what it names exists, and no test of the engine is missing there.
use std::collections::BTreeSet;
use std::path::Path;

fn read(path: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    std::fs::read_to_string(root.join(path)).unwrap_or_else(|e| panic!("cannot read `{path}`: {e}"))
}

/// Pairs of file and function in the last column of the page's tables: a file in backticks, then its functions.
fn named(page: &str) -> BTreeSet<(String, String)> {
    let mut out = BTreeSet::new();
    for line in page.lines().filter(|l| l.starts_with('|')) {
        let Some(cell) = line.trim_end_matches('|').rsplit('|').next() else { continue };
        let mut file = "";
        for word in cell.split('`').skip(1).step_by(2) {
            if word.contains('/') {
                file = word;
            } else {
                assert!(!file.is_empty(), "`{word}` stands without a file: {line}");
                out.insert((file.to_owned(), word.to_owned()));
            }
        }
    }
    out
}

#[test]
fn the_page_of_checks_names_tests_that_exist() {
    let page = read("docs/checks.md");
    let named = named(&page);
    assert!(named.len() > 40, "{} tests are named", named.len());
    for (file, test) in &named {
        let text = read(file);
        let found = if file.ends_with(".py") {
            text.contains(&format!("\ndef {test}("))
        } else {
            text.contains(&format!("    #[test]\n    fn {test}(")) || text.contains(&format!("#[test]\nfn {test}("))
        };
        assert!(found, "`{file}` has no test `{test}`");
    }
    for check in 1..=13 {
        assert!(page.contains(&format!("\n| {check} | ")), "outside check {check} is missing");
    }
}

#[test]
fn no_test_of_the_engine_is_missing_there() {
    let named = named(&read("docs/checks.md"));
    for name in ["fixtures", "history", "properties", "regrowth", "renewal", "slow"] {
        let file = format!("crates/coat/tests/{name}.rs");
        let text = read(&file);
        let tests: Vec<&str> = text
            .split("#[test]")
            .skip(1)
            .filter_map(|t| t.trim_start().strip_prefix("fn ")?.split('(').next())
            .collect();
        assert!(!tests.is_empty(), "`{file}` has tests");
        for test in tests {
            assert!(
                named.contains(&(file.clone(), test.to_owned())),
                "`{test}` of `{file}` is not in `docs/checks.md`"
            );
        }
    }
}
