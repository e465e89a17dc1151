//! Every fault with its words and its line; the examples; the manual page; any bytes at all.

use super::*;
use coat::{Day, Mode, Zone};
use proptest::prelude::*;
use std::path::{Path, PathBuf};

const HEAD: &str = r#"schema = "coatwright.dog/1"
name = "Bramble"
born = 2022-04-03
sex = "bitch"
mass_kg = 8.2
coat = "wire"
"#;

/// A dog with every key.
const FULL: &str = include_str!("full.toml");

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn faults(text: &str) -> Vec<String> {
    match read("t", text.as_bytes()) {
        Ok(_) => Vec::new(),
        Err(faults) => {
            for f in &faults {
                assert!(!f.message.ends_with('.') && !f.message.starts_with(char::is_uppercase), "{f:?}");
                assert!(f.hint.ends_with(['.', '?', '`']) && f.hint.starts_with(char::is_uppercase), "{f:?}");
                assert_eq!(
                    f.text,
                    text.trim_start_matches('\u{feff}').lines().nth(f.line - 1).unwrap_or("").trim_end(),
                    "{f:?}"
                );
            }
            faults.iter().map(|f| format!("{}:{} {}", f.line, f.column, f.message)).collect()
        }
    }
}

/// Lines after the six of the head, and the faults they give.
fn check(more: &str, expected: &[&str]) {
    assert_eq!(faults(&format!("{HEAD}{more}")), expected, "{more}");
}

/// The head with one line replaced.
fn check_head(line: usize, with: &str, expected: &[&str]) {
    let lines: Vec<_> = HEAD.lines().enumerate().map(|(i, l)| if i + 1 == line { with } else { l }).collect();
    assert_eq!(faults(&lines.join("\n")), expected, "{with}");
}

#[test]
fn a_short_file_has_the_documented_defaults() {
    let dog = read("t", HEAD.as_bytes()).expect("the head is a dog");
    assert_eq!((dog.density, dog.temper, dog.look), (1.0, Temper::Calm, Look::Pet));
    assert_eq!((dog.table_max_min, dog.rhythm_days, dog.before_ripe, dog.outdoors), (None, None, false, false));
    assert_eq!(dog.groomer.caps.of(Mode::Short), 0.6);
    assert_eq!(dog.weights, plan::Weights::default());
    assert!(dog.history.is_empty() && dog.zones.is_empty());
}

#[test]
fn the_full_file_says_what_it_says() {
    let dog = read("full.toml", FULL.as_bytes()).map_err(|f| check_fault_display(&f)).expect("no faults");
    assert_eq!(dog.born, Day::from_ymd(2022, 4, 3).expect("a day"));
    assert_eq!(dog.groomer.caps, Caps { layered: 0.2, short: 0.5, shaped: 0.05 });
    assert_eq!(
        (dog.weights.cover, dog.weights.ripe, dog.weights.ripe_short, dog.weights.evenness),
        (21.0, 1.1, 2.1, 2.2)
    );
    assert_eq!(
        (dog.weights.wool, dog.weights.unripe, dog.weights.outline, dog.weights.day_that_matters),
        (0.6, 3.1, 2.3, 30.0)
    );
    assert_eq!(dog.conditions[0].zones, [Zone::Underline, Zone::Seat]);
    assert_eq!(dog.history.iter().map(|e| e.kind.word()).collect::<Vec<_>>(), ["rolled", "clipped", "visit", "missed"]);
    let EventKind::Visit(visit) = &dog.history[2].kind else { panic!("a visit") };
    assert_eq!(visit.zones[0].pulled, Some(Pulled::Share(0.2)));
    assert_eq!(visit.zones[0].zones.len(), 9);
    assert_eq!(visit.zones[1].pulled, Some(Pulled::AllRipe));
    assert_eq!((visit.ease, visit.zones[0].ease, visit.zones[0].feel), (Some(2), Some(3), Some(Feel::Between)));
    let ears = dog.zone(Zone::Ears).expect("ears are set");
    assert_eq!(ears.hands_off.as_ref().and_then(|h| h.reason.as_deref()), Some("sore"));
    assert_eq!(
        (ears.lag_d, ears.grow_d, ears.set_d, ears.hold_d, ears.growth_mm_d),
        (Some(20.0), Some(40.0), Some(11.0), Some(200.0), Some(0.26))
    );
    assert_eq!(FULL.lines().nth(dog.history[2].line - 1), Some("[[history]]"));
    let fault = dog.source.fault_at(dog.history[2].line, "more than the visible coat was pulled", "Correct it.");
    assert_eq!(fault.to_string(), format!("full.toml:{}:1: more than the visible coat was pulled", fault.line));
    assert_eq!(fault.text, "[[history]]");
}

/// Every key of the list is really read: a value of a wrong type is a fault on its line.
#[test]
fn every_key_is_read() {
    let mut at = String::new();
    let mut seen = std::collections::BTreeSet::new();
    for (i, line) in FULL.lines().enumerate() {
        if line.starts_with('[') {
            at = line.trim_matches(['[', ']']).to_owned();
            let (table, name) = at.rsplit_once('.').unwrap_or(("", &at));
            assert!(keys::find(table, name).is_some(), "{line}");
            seen.insert((table.to_owned(), name.to_owned()));
        } else if let Some((name, _)) = line.split_once(" = ").filter(|_| !line.starts_with('#')) {
            assert!(keys::find(&at, name).is_some(), "{at}.{name}");
            seen.insert((at.clone(), name.to_owned()));
            for wrong in
                ["[[]]", "{ x = 1 }", "1979-05-27T07:32:00Z", "nan", "-inf", "\"\"", "99999999999999999999", "[\"x\"]"]
            {
                let text: String = FULL
                    .lines()
                    .enumerate()
                    .map(|(j, l)| if i == j { format!("{name} = {wrong}\n") } else { format!("{l}\n") })
                    .collect();
                let faults = read("t", text.as_bytes()).expect_err(&format!("{at}.{name} = {wrong}"));
                assert!(faults.iter().any(|f| f.line == i + 1), "{at}.{name} = {wrong}: {faults:?}");
            }
        }
    }
    for key in KEYS {
        assert!(seen.contains(&(key.table.to_owned(), key.name.to_owned())), "{}.{}", key.table, key.name);
    }
}

/// Every bound of every number: its ends are read, a step beyond is a fault that names the range.
#[test]
fn every_range_is_kept() {
    for key in KEYS {
        let (low, high, above, step) = match key.kind {
            Kind::Number { low, high, above, .. } => (low, high, above, 0.001),
            Kind::Whole { low, high, .. } => (low as f64, high as f64, false, 1.0),
            _ => continue,
        };
        let with = |x: f64| {
            let mut at = String::new();
            let lines = FULL.lines().map(|l| {
                if l.starts_with('[') {
                    at = l.trim_matches(['[', ']']).to_owned();
                }
                let hit = at == key.table && l.split_once(" = ").is_some_and(|(n, _)| n == key.name);
                if hit { format!("{} = {x}\n", key.name) } else { format!("{l}\n") }
            });
            faults_of_ranges(&lines.collect::<String>())
        };
        for outside in [low - step, high + step] {
            let got = with(outside);
            assert!(
                got.iter().any(|m| m.contains(&format!("is outside `{}`", key.range()))),
                "{key:?} {outside} {got:?}"
            );
        }
        for inside in [if above { low + step } else { low }, high] {
            assert_eq!(with(inside), Vec::<String>::new(), "{key:?} {inside}");
        }
        if above {
            assert!(with(low).iter().all(|m| m.ends_with("zero excluded")) && !with(low).is_empty(), "{key:?}");
        }
    }
}

fn faults_of_ranges(text: &str) -> Vec<String> {
    read("t", text.as_bytes())
        .err()
        .unwrap_or_default()
        .into_iter()
        .map(|f| f.message)
        .filter(|m| m.contains("outside"))
        .collect()
}

#[test]
fn the_head() {
    check("", &[]);
    check_head(1, "schema = \"coatwright.dog/2\"", &["1:10 schema `coatwright.dog/2` is not `coatwright.dog/1`"]);
    check_head(1, "schema = 1", &["1:10 `schema` is a whole number, not text"]);
    check_head(1, "", &["1:1 `schema` is missing"]);
    check_head(2, "nmae = \"Bramble\"", &["1:1 `name` is missing", "2:1 unknown key `nmae`"]);
    check_head(2, "name = \" \"", &["2:8 `name` is empty"]);
    check_head(2, &format!("name = \"{}\"", "x".repeat(60)), &[]);
    check_head(2, "name = \"a\\tb\"", &["2:8 `name` has the control character `\\u{9}`"]);
    check_head(2, "name = \"a\\u202Eb\"", &["2:8 `name` has the control character `\\u{202e}`"]);
    check_head(3, "born = 2022-02-30", &["3:8 date `2022-02-30` does not exist"]);
    check_head(3, "born = \"2022-02-30\"", &["3:8 date `2022-02-30` does not exist"]);
    check_head(3, "born = \"2022-04-03\"", &[]);
    check_head(3, "born = \"3.4.2022\"", &["3:8 `born` is `3.4.2022`, not a date"]);
    check_head(3, "born = 2022", &["3:8 `born` is a whole number, not a date"]);
    check_head(3, "born = 2022-04-03T10:00:00", &["3:8 `born` is `2022-04-03T10:00:00`, not a plain date"]);
    check_head(3, "born = 1922-04-03", &["3:8 date `1922-04-03` is outside `1980-01-01..=2100-12-31`"]);
    check_head(4, "sex = \"female\"", &["4:7 `sex` cannot be `female`"]);
    check_head(5, "mass_kg = 0", &["5:11 mass `0 kg` is outside `0..=120 kg`, zero excluded"]);
    check_head(5, "mass_kg = -8.2", &["5:11 mass `-8.2 kg` is outside `0..=120 kg`"]);
    check_head(5, "mass_kg = nan", &["5:11 mass `nan kg` is outside `0..=120 kg`"]);
    check_head(5, "mass_kg = 1e999", &["5:11 mass `1e999 kg` is outside `0..=120 kg`"]);
    check_head(5, "mass_kg = \"8.2 kg\"", &["5:11 `mass_kg` is text, not a number"]);
    check_head(6, "coat = \"long_wire\"", &["6:8 `coat` cannot be `long_wire`"]);
    check("density = 1.6", &["7:11 density `1.6` is outside `0.5..=1.5`"]);
    check("neutered_since = 2021-01-01", &["7:18 neutered `2021-01-01` lies before the birth on `2022-04-03`"]);
    check("rhythm_days = 7.5", &["7:15 `rhythm_days` is a number, not a whole number"]);
    check("outdoors = \"yes\"", &["7:12 `outdoors` is text, not `true` or `false`"]);
    check("outdoors = true", &["7:12 `outdoors` stands without `latitude_deg`"]);
    check("outdoors = true\nlatitude_deg = 93", &["8:16 latitude `93 deg` is outside `-90..=90 deg`"]);
}

#[test]
fn a_name_of_more_than_200_characters() {
    let text = HEAD.replace("Bramble", &"x".repeat(201));
    let got = read("t", text.as_bytes()).expect_err("too long");
    assert_eq!(got[0].message, "`name` has `201 characters`, more than `200 characters`");
    assert!(got[0].text.len() < 130);
    assert!(read("t", HEAD.replace("Bramble", &"\u{e4}".repeat(200)).as_bytes()).is_ok());
}

#[test]
fn toml_faults() {
    check("density = 1,2", &["7:12 a value is followed by a comma"]);
    check("density = 1.0\ndensity = 1.1", &["8:1 key `density` is given twice"]);
    check(
        "look = show\ndensity = 9",
        &["7:8 `show` is neither a number, a date, `true` nor `false`", "8:11 density `9` is outside `0.5..=1.5`"],
    );
    check("density = 1.0 look", &["7:11 `1.0 look` is neither a number, a date, `true` nor `false`"]);
    check("density =", &["7:10 a value is missing after `=`"]);
    check(
        &format!("density = {}", "[".repeat(100)),
        &["7:91 not valid TOML: cannot recurse further; max recursion depth met"],
    );
    check("[health", &["7:8 not valid TOML: unclosed table, expected `]`"]);
    check("[health]\n[health]", &["8:2 table `health` is given twice, or its name is a key already"]);
    check("density = 1.0\r\nlook = \"smart\"\r\n", &[]);
    assert_eq!(faults(&format!("\u{feff}{HEAD}")), Vec::<String>::new());
    assert_eq!(faults(&format!("\u{feff}x = 1\n{HEAD}"))[0], "1:1 unknown key `x`");
}

#[test]
fn tables_of_the_wrong_shape() {
    check("health = 1", &["7:10 `health` is a whole number, not a table"]);
    check("history = { x = 1 }", &["7:11 `history` is a table, not a list of tables"]);
    check("[history]\ndate = 2026-01-01", &["7:1 `history` is a table, not a list of tables"]);
    check("history = [1]", &["7:12 `an entry of history` is a whole number, not a table"]);
    check("[groomer]\nspeed = 2", &["8:1 unknown key `speed` in `groomer`"]);
    check("[groomer]\ncaps = { layerd = 0.2 }", &["8:10 unknown key `layerd` in `groomer.caps`"]);
    check("[groomer]\ncaps = { layered = 1.2 }", &["8:20 cap `1.2` is outside `0..=1`"]);
    check("history = [{ date = 2026-01-01, event = \"flat\" }]", &[]);
}

#[test]
fn health_and_money() {
    check("[[steroids]]\nuntil = 2026-01-01", &["7:1 `from` is missing in this `steroids`"]);
    check(
        "[[steroids]]\nfrom = 2026-02-01\nuntil = 2026-01-01",
        &["9:9 until `2026-01-01` lies before from `2026-02-01`"],
    );
    check("[[steroids]]\nfrom = 2020-02-01", &["8:8 steroids from `2020-02-01` lies before the birth on `2022-04-03`"]);
    check("[[condition]]\nkind = \"eyes\"\nfrom = 2026-01-01", &["8:8 `kind` cannot be `eyes`"]);
    check(
        "[[condition]]\nkind = \"skin\"\nfrom = 2026-01-01\nzones = [\"bak\", 3]",
        &["10:10 unknown zone `bak`", "10:17 `an entry of zones` is a whole number, not a zone"],
    );
    let male = HEAD.replace("bitch", "dog");
    assert_eq!(
        faults(&format!("{male}[[condition]]\nkind = \"season\"\nfrom = 2026-01-01")),
        ["8:8 condition `season` does not go with sex `dog`"]
    );
    assert_eq!(
        faults(&format!("{HEAD}neutered_since = 2024-01-10\n[[condition]]\nkind = \"season\"\nfrom = 2026-01-01")),
        ["10:8 condition `season` from `2026-01-01` comes after she was neutered on `2024-01-10`"]
    );
    check(
        "[[steroids]]\nfrom = 2026-01-01\nuntil = 2026-02-01\n[[steroids]]\nfrom = 2026-02-01",
        &["11:8 this course of steroids overlaps the one of line 7"],
    );
    check("[groomer]\nprice_per_hour = 45.0", &["8:18 `price_per_hour` stands without `currency`"]);
    check("[groomer]\ncurrency = \"EUR\"", &["8:12 `currency` stands without `price_per_hour`"]);
    check(
        "[groomer]\nprice_per_hour = 45.0\ncurrency = \"euro\"",
        &["9:12 currency `euro` is not a code of three capital letters"],
    );
}

#[test]
fn the_history() {
    let entry = |date: &str, rest: &str| format!("[[history]]\ndate = {date}\nevent = {rest}\n");
    let two = |a: (&str, &str), b: (&str, &str)| entry(a.0, a.1) + &entry(b.0, b.1);
    check(&entry("2026-01-01", "\"stripped\""), &["9:9 `event` cannot be `stripped`"]);
    check("[[history]]\nevent = \"flat\"", &["7:1 `date` is missing in this `history`"]);
    check(
        &entry("2022-04-02", "\"flat\""),
        &["8:8 event `flat` on `2022-04-02` lies before the birth on `2022-04-03`"],
    );
    check(&entry("2026-01-01", "\"flat\"\nlength_mm = 6"), &["10:1 `length_mm` does not go with the event `flat`"]);
    check(&entry("2026-01-01", "\"clipped\""), &["7:1 `length_mm` is missing in this `history`"]);
    check(&entry("2026-01-01", "\"rolled\""), &["7:1 `every_weeks` is missing in this `history`"]);
    check(
        &entry("2026-01-01", "\"clipped\"\nlength_mm = 0"),
        &["10:13 clip length `0 mm` is outside `0..=400 mm`, zero excluded"],
    );
    check(
        &entry("2026-01-01", "\"clipped\"\nlength_mm = 6\nmonths = 6"),
        &["11:10 `months` stands without `every_weeks`"],
    );
    check(
        &entry("2023-04-03", "\"clipped\"\nlength_mm = 6\nevery_weeks = 8\nmonths = 24"),
        &["8:8 clipped for `24 months` until `2023-04-03` reaches back before the birth on `2022-04-03`"],
    );
    check(
        &two(("2026-02-01", "\"flat\""), ("2026-01-01", "\"missed\"")),
        &["11:8 `2026-01-01` stands after `2026-02-01` of line 7"],
    );
    check(
        &two(("2026-01-01", "\"flat\""), ("2026-01-01", "\"clipped\"\nlength_mm = 6")),
        &["11:8 `clipped` on `2026-01-01` contradicts `flat` of line 7 on the same day"],
    );
    check(
        &two(("2026-01-01", "\"visit\""), ("2026-01-01", "\"missed\"")),
        &["11:8 `missed` on `2026-01-01` contradicts `visit` of line 7 on the same day"],
    );
    check(
        &two(("2026-01-01", "\"visit\""), ("2026-01-01", "\"visit\"")),
        &["11:8 `visit` stands twice on `2026-01-01`, also in line 7"],
    );
    check(
        &two(("2026-01-01", "\"flat\""), ("2026-01-01", "\"left alone\"")),
        &["11:8 `left alone` on `2026-01-01` stands after `flat` of line 7 on the same day"],
    );
    check(&two(("2026-01-01", "\"left alone\""), ("2026-01-01", "\"flat\"")), &[]);
    check(
        &two(("2026-01-01", "\"visit\""), ("2026-02-01", "\"left alone\"")),
        &["11:8 `left alone` comes `31 d` after `visit` of line 7, before a coat has settled, `182 d`"],
    );
    check(&two(("2026-01-01", "\"visit\""), ("2026-07-02", "\"left alone\"")), &[]);
    let rolled = "\"rolled\"\nevery_weeks = 3";
    check(
        &two(("2026-01-01", "\"flat\""), ("2026-02-01", rolled)),
        &["11:8 `rolled` comes `31 d` after `flat` of line 7, before a coat can be, `112 d`"],
    );
    check(
        &two(("2026-01-01", "\"visit\""), ("2026-01-15", rolled)),
        &["11:8 `rolled` comes `14 d` after `visit` of line 7, before a coat can be, `21 d`"],
    );
    check(&two(("2026-01-01", "\"flat\""), ("2026-04-23", rolled)), &[]);
    let clipped = |months: u32| format!("\"clipped\"\nlength_mm = 6\nevery_weeks = 8\nmonths = {months}");
    check(
        &two(("2026-01-01", "\"flat\""), ("2026-06-01", &clipped(24))),
        &["15:10 clipped for `24 months` until `2026-06-01` reaches back before `flat` of line 7 on `2026-01-01`"],
    );
    check(&two(("2026-01-01", "\"flat\""), ("2026-06-01", &clipped(3))), &[]);
}

#[test]
fn zones_of_a_visit() {
    // Each block below starts in line 10.
    let visit = |zones: &str| format!("[[history]]\ndate = 2026-01-01\nevent = \"visit\"\n{zones}");
    let zone = |rest: &str| visit(&format!("[[history.zones]]\n{rest}"));
    check(&zone("pulled = 0.2"), &["10:1 `zone` is missing in this `history.zones`"]);
    check(&zone("zone = \"wing\""), &["11:8 unknown zone `wing`"]);
    check(&zone("zone = \"back\"\nzones = [\"sides\"]"), &["12:9 `zone` and `zones` stand side by side"]);
    check(&zone("zones = []"), &["11:9 `zones` is an empty list"]);
    check(&zone("zone = [\"back\"]"), &["11:8 `zone` is a list, not a zone"]);
    check(&zone("zones = 3"), &["11:9 `zones` is a whole number, not a list of zones"]);
    check(&zone("zones = [\"back\", \"back\"]"), &["11:18 zone `back` stands twice in `zones`"]);
    check(&zone("zones = [\"jacket\", \"back\"]"), &["11:20 zone `back` stands twice in `zones`"]);
    check(&zone("zone = \"back\"\npulled = 1.2"), &["12:10 share pulled `1.2` is outside `0..=1`"]);
    check(&zone("zone = \"back\"\npulled = -1"), &["12:10 share pulled `-1` is outside `0..=1`"]);
    check(&zone("zone = \"back\"\npulled = nan"), &["12:10 share pulled `nan` is outside `0..=1`"]);
    check(&zone("zone = \"back\"\npulled = \"1 in 0\""), &["12:10 share pulled `1 in 0` is outside `1 in 1..=100`"]);
    check(&zone("zone = \"back\"\npulled = \"most\""), &["12:10 `pulled` cannot be `most`"]);
    check(&zone("zone = \"back\"\npulled = true"), &["12:10 `pulled` is `true` or `false`, not a share"]);
    check(&zone("zone = \"back\"\nlongest_mm = -3.5"), &["12:14 top length `-3.5 mm` is outside `0..=400 mm`"]);
    check(&zone("zone = \"back\"\nlongest_mm = 401"), &["12:14 top length `401 mm` is outside `0..=400 mm`"]);
    check(
        &zone("zone = \"back\"\nlongest_mm = 20\nnew_layer_mm = 25"),
        &["13:16 new layer `25 mm` is longer than the longest hair `20 mm`"],
    );
    check(&zone("zone = \"back\"\nease = 6"), &["12:8 ease `6` is outside `1..=5`"]);
    let (a, b) = ("[[history.zones]]\nzone = \"jacket\"\n", "[[history.zones]]\nzone = \"back\"\n");
    check(
        &visit(&format!("{a}pulled = 0.6\n{b}pulled = \"1 in 2\"")),
        &["15:10 the pulls from zone `back` sum to `1.1`, more than all visible hair, `1`"],
    );
    check(&visit(&format!("{a}pulled = 0.6\n{b}pulled = 0.4")), &[]);
    check(&visit(&format!("{a}ease = 2\n{b}ease = 3")), &["15:8 `ease` of zone `back` is given twice in one visit"]);
    check(&visit(&format!("{a}ease = 2\n{b}feel = \"soft\"")), &[]);
    let twice = ["15:10 zone `back` is pulled again beside all that was ripe in it"];
    check(&visit(&format!("{a}pulled = \"all ripe\"\n{b}pulled = 0.1")), &twice);
    check(&visit(&format!("{a}pulled = 0.1\n{b}pulled = \"all ripe\"")), &twice);
    check(&visit(&format!("{a}pulled = \"all ripe\"\n{b}pulled = \"all ripe\"")), &twice);
    check(
        &visit(&format!("{a}carded = true\n{b}carded = false")),
        &["15:10 zone `back` is both carded and not carded in one visit"],
    );
    check(
        &zone("zone = \"back\"\nnew_hair = false\nnew_layer_mm = 6"),
        &["12:12 `new_hair = false` stands beside a new layer"],
    );
    check(
        "[[history]]\ndate = 2026-01-01\nevent = \"flat\"\n[[history.zones]]\nzone = \"back\"",
        &["10:11 `zones` does not go with the event `flat`"],
    );
}

#[test]
fn settings_and_days() {
    check("[[zones]]\nzone = \"back\"\narea = 0.2", &["9:1 unknown key `area` in `zones`"]);
    check(
        "[[zones]]\nzone = \"back\"\n[[zones]]\nzones = \"jacket\"",
        &["9:1 zone `back` is set twice, also in line 7"],
    );
    check("[[zones]]\nzone = \"ears\"\nreason = \"sore\"", &["9:10 `reason` stands without `hands_off_until`"]);
    check("[[zones]]\nzone = \"ears\"\nmode = \"shot\"", &["9:8 `mode` cannot be `shot`"]);
    check("[[zones]]\nzone = \"ears\"\nlag_d = 0", &["9:9 lag `0 d` is outside `1..=1000 d`"]);
    check("[[zones]]\nzone = \"ears\"\ngrowth_mm_d = 3", &["9:15 growth `3 mm/d` is outside `0.01..=2 mm/d`"]);
    check("[weights]\ncover = -1", &["8:9 weight `-1` is outside `0..=1000`"]);
    let days = |a: &str, b: &str| format!("[[days_that_matter]]\ndate = {a}\n[[days_that_matter]]\ndate = {b}");
    check(&days("2026-12-01", "2026-12-01"), &["10:8 day that matters `2026-12-01` stands twice, also in line 7"]);
    check(&days("2026-12-02", "2026-12-01"), &["10:8 `2026-12-01` stands after `2026-12-02` of line 7"]);
    check(
        &days("2021-12-02", "2026-12-01"),
        &["8:8 day that matters `2021-12-02` lies before the birth on `2022-04-03`"],
    );
}

#[test]
fn all_faults_at_once_as_a_compiler_shows_them() {
    let text = "schema = \"coatwright.dog/1\"\nname = \"Bramble\"\nborn = 2022-04-03\nsex = \"bitch\"\nmass_kg = 0\n\
                coat = \"wyre\"\ndensitty = 1.0\n";
    let faults = read("dogs/bramble.toml", text.as_bytes()).expect_err("three faults");
    assert_eq!(
        check_fault_display(&faults),
        "dogs/bramble.toml:5:11: mass `0 kg` is outside `0..=120 kg`, zero excluded\n    5 | mass_kg = 0\n      \
         = Correct the mass.\n\n\
         dogs/bramble.toml:6:8: `coat` cannot be `wyre`\n    6 | coat = \"wyre\"\n      \
         = Did you mean `\"wire\"`? The words are `\"pin wire\"`, `\"wire\"`, `\"long wire\"`, `\"soft wire\"`.\n\n\
         dogs/bramble.toml:7:1: unknown key `densitty`\n    7 | densitty = 1.0\n      = Did you mean `density`?\n"
    );
}

#[test]
fn nothing_in_a_file_reaches_the_terminal_raw() {
    let text = format!("{HEAD}look = \"\u{1b}[31m\"\n\"\u{1b}]0;x\" = 1\n");
    let shown = check_fault_display(&read("\u{1b}[2Jt", text.as_bytes()).expect_err("faults"));
    assert!(!shown.chars().any(|c| c.is_control() && c != '\n'), "{shown:?}");
}

#[test]
fn loading() {
    let dir = tempfile::tempdir().expect("a directory");
    let at = |name: &str, bytes: &[u8]| {
        let path = dir.path().join(name);
        std::fs::write(&path, bytes).expect("written");
        path
    };
    assert!(load(&at("good.toml", HEAD.as_bytes())).is_ok());
    assert!(matches!(load(&dir.path().join("none.toml")), Err(LoadError::Missing { .. })));
    assert!(matches!(load(dir.path()), Err(LoadError::NotAFile { .. })));
    assert!(matches!(load(&at("e.toml", b"")), Err(LoadError::Faults(f)) if f.len() == 6));
    let big = at("big.toml", &vec![b'#'; MOST_BYTES as usize + 1]);
    assert_eq!(load(&big), Err(LoadError::TooLarge { path: big.clone(), size_bytes: 1_048_577 }));
    assert!(load(&at("big.toml", &[HEAD.as_bytes(), &vec![b'#'; MOST_BYTES as usize - HEAD.len()]].concat())).is_ok());
    let latin = at("latin.toml", b"a = 1\nb = \"\xe4\"\n");
    let got = load(&latin).expect_err("not UTF-8");
    assert_eq!(got, LoadError::NotUtf8 { path: latin.clone(), offset: 11, line: 2 });
    assert_eq!(got.to_string(), format!("cannot read `{}`: it is not UTF-8 at byte `11`, line 2", latin.display()));
    let f = read("t", b"a = 1\nb = \"\xe4\"\n").expect_err("not UTF-8");
    assert_eq!((f[0].to_string().as_str(), f[0].text.as_str()), ("t:2:6: not UTF-8 at byte `11`", "b = \"\u{fffd}\""));
    let f = read("t", &vec![b' '; MOST_BYTES as usize + 1]).expect_err("too large");
    assert_eq!(f[0].message, "the file has `1048577 bytes`, more than `1048576 bytes`");
}

fn examples() -> Vec<(String, String)> {
    let mut out: Vec<_> = std::fs::read_dir(root().join("examples"))
        .expect("examples/ is there")
        .filter_map(|e| e.ok().map(|e| e.path()))
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .map(|p| (p.display().to_string(), std::fs::read_to_string(&p).expect("an example is UTF-8")))
        .collect();
    out.sort();
    out
}

#[test]
fn the_examples_read_and_say_that_they_are_invented() {
    let today = Day::from_ymd(2026, 11, 25).expect("a day");
    let examples = examples();
    assert!(examples.len() >= 10);
    for (path, text) in examples {
        let dog = read(&path, text.as_bytes()).map_err(|f| check_fault_display(&f)).expect("an example reads");
        assert_eq!(text.lines().next(), Some(format!("# {} is an invented dog.", dog.name).as_str()));
        assert!(dog.history.iter().all(|e| e.date <= today), "{path}");
        assert!(dog.days_that_matter.iter().all(|d| d.date > today), "{path}");
    }
}

/// The manual page lists exactly the keys of the list, with their ranges, words and whether they are needed.
#[test]
fn the_manual_page_has_every_key_and_no_other() {
    let page = std::fs::read_to_string(root().join("docs/dog-file.md")).expect("the manual page");
    let mut table = String::new();
    let mut rows = Vec::new();
    for line in page.lines() {
        if let Some(heading) = line.strip_prefix("## ") {
            table = heading.strip_prefix('`').map_or("", |h| h.trim_matches(['`', '[', ']'])).to_owned();
        } else if let Some(row) = line.strip_prefix("| `") {
            let (name, row) = row.split_once('`').expect("a closed name");
            rows.push((table.clone(), name.to_owned(), row.to_owned()));
        }
    }
    let listed: Vec<_> = rows.iter().map(|(t, n, _)| (t.as_str(), n.as_str())).collect();
    assert_eq!(listed, KEYS.iter().map(|k| (k.table, k.name)).collect::<Vec<_>>());
    for (key, (_, _, row)) in KEYS.iter().zip(&rows) {
        assert!(row.contains(&key.range()), "{}.{}: {row}", key.table, key.name);
        assert_eq!(row.ends_with("| fault |"), key.needed, "{}.{}: {row}", key.table, key.name);
        if let Kind::Word(words) = key.kind {
            let quoted: Vec<_> = words.iter().map(|w| format!("`\"{w}\"`")).collect();
            assert!(row.contains(&quoted.join(", ")), "{}.{}: {row}", key.table, key.name);
        }
    }
    let zones = Zone::ALL.map(|z| format!("`{z}`")).join(", ");
    assert!(page.contains(&format!("Zones are named {zones}.")));
    let sample = page.split("```toml\n").nth(1).and_then(|s| s.split("```").next()).expect("a sample");
    assert!(read("docs/dog-file.md", sample.as_bytes()).is_ok());
}

fn twice(bytes: &[u8]) -> Result<(), TestCaseError> {
    let (a, b) = (read("t", bytes), read("t", bytes));
    if let Err(faults) = &a {
        prop_assert!(!faults.is_empty());
        prop_assert!(faults.iter().all(|f| f.line >= 1 && f.column >= 1));
        prop_assert!(!check_fault_display(faults).is_empty());
    }
    prop_assert_eq!(a, b);
    Ok(())
}

/// Pieces that a careless hand or a hostile one might put into a file.
const PIECES: [&str; 22] = [
    "\n",
    "=",
    "\"",
    "[[",
    "]]",
    "{",
    "}",
    "nan",
    "-inf",
    "1e999",
    "-1",
    "0",
    "2026-02-30",
    "9999-12-31",
    "\"all\"",
    "\u{0}",
    "\u{feff}",
    "\u{e4}",
    "[[history]]\n",
    "[[history.zones]]\n",
    "event = \"visit\"\n",
    "'''",
];

/// Cases of each kind: 400, or as many as `PROPTEST_CASES` asks for.
fn cases() -> u32 {
    ProptestConfig::default().cases.max(400)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(cases()) })]

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        twice(&bytes)?;
    }

    #[test]
    fn any_pieces_are_read_or_refused(at in proptest::collection::vec(0..PIECES.len(), 0..60)) {
        twice(at.iter().map(|i| PIECES[*i]).collect::<String>().as_bytes())?;
    }

    #[test]
    fn a_mangled_dog_is_read_or_refused(
        which in 0..12usize,
        cuts in proptest::collection::vec((any::<prop::sample::Index>(), 0..12usize, 0..PIECES.len()), 1..6),
    ) {
        let mut all: Vec<Vec<u8>> = examples().into_iter().map(|(_, t)| t.into_bytes()).collect();
        all.push(FULL.as_bytes().to_vec());
        let mut bytes = all.swap_remove(which % all.len());
        for (at, gone, piece) in cuts {
            let at = at.index(bytes.len().max(1)).min(bytes.len());
            let end = (at + gone).min(bytes.len());
            bytes.splice(at..end, PIECES[piece].bytes());
        }
        twice(&bytes)?;
    }

    #[test]
    fn lines_in_any_order(order in Just(FULL.lines().collect::<Vec<_>>()).prop_shuffle()) {
        twice(order.join("\n").as_bytes())?;
    }
}
