//! The program as a stranger runs it: options, files, errors, and the manual beside `--help`.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coatwright")).args(args).current_dir(root()).output().expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

fn examples() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(root().join("examples"))
        .expect("examples")
        .map(|e| format!("examples/{}", e.expect("entry").file_name().to_string_lossy()))
        .filter(|n| n.ends_with(".toml"))
        .collect();
    names.sort();
    names
}

fn plan(args: &[&str]) -> serde_json::Value {
    let mut all = vec!["plan"];
    all.extend_from_slice(args);
    all.extend_from_slice(&["--on", "2026-11-25", "--json", "--no-timing"]);
    let out = run(&all);
    assert!(out.status.success(), "{}", text(&out.stderr));
    serde_json::from_slice(&out.stdout).expect("JSON")
}

/// Every example gives a plan within 80 columns, and hand steps within 10 % of the exact plan.
#[test]
fn every_example_is_planned() {
    for e in examples() {
        let report = plan(&[&e]);
        let o = &report["objective"];
        let value = |k: &str| o[k].as_f64().expect("a number");
        assert!(value("bound") <= value("lp_value"), "{e}");
        assert!(value("rounded_value") <= 1.1 * value("lp_value") + 1e-9, "{e}: {o}");
        assert!(value("gap") < 1e-5, "{e}: {o}");
    }
    for e in ["examples/rolling.toml", "examples/flat.toml"] {
        let out = run(&["plan", e, "--on", "2026-11-25"]);
        for line in text(&out.stdout).lines() {
            assert!(line.chars().count() <= 80, "{e}: {line}");
        }
    }
}

/// The same input gives the same bytes.
#[test]
fn output_is_the_same_each_time() {
    let args = ["plan", "examples/rolling.toml", "--on", "2026-11-25", "--json", "--no-timing", "--max-min", "55"];
    assert_eq!(run(&args).stdout, run(&args).stdout);
}

/// Options change what they name.
#[test]
fn options_reach_the_plan() {
    let dates = |v: &serde_json::Value| -> Vec<String> {
        v["visits"].as_array().expect("visits").iter().map(|x| x["date"].as_str().expect("date").to_owned()).collect()
    };
    let e = "examples/rolling.toml";
    let usual = plan(&[e]);
    assert_eq!(usual["rhythm_days"], 21);
    assert_eq!(plan(&[e, "--rhythm", "14"])["rhythm_days"], 14);
    let holiday = plan(&[e, "--not-on", "2026-12-10..2026-12-24"]);
    assert!(dates(&holiday).iter().all(|d| !("2026-12-10"..="2026-12-24").contains(&d.as_str())));
    assert!(dates(&plan(&[e, "--until", "2027-02-01"])).last().expect("a visit").as_str() <= "2027-02-01");
    let short = plan(&[e, "--max-min", "45"]);
    for v in short["visits"].as_array().expect("visits") {
        assert!(v["min"].as_f64().expect("min") <= 45.0 + 1e-6);
    }
    let timed = |z: &serde_json::Value| z["reason"].as_str().expect("reason").contains("table time");
    let any = |r: &serde_json::Value| {
        r["visits"].as_array().expect("visits").iter().any(|v| v["zones"].as_array().expect("zones").iter().any(timed))
    };
    assert!(any(&short) && !any(&usual), "the reason names the minutes when they bind, and only then");
    assert_eq!(plan(&[e, "--day-that-matters", "2027-03-06:show"])["days_that_matter"][0]["name"], "show");
}

/// Every visit has its minutes by the stated formula, and shares within the caps.
#[test]
fn minutes_follow_from_shares() {
    let report = plan(&["examples/rolling.toml"]);
    for v in report["visits"].as_array().expect("visits") {
        let zones = v["zones"].as_array().expect("zones");
        let sum: f64 = zones.iter().map(|z| z["min"].as_f64().expect("min")).sum();
        assert!((sum + 20.0 - v["min"].as_f64().expect("min")).abs() < 1e-6);
        for z in zones {
            // Meeh's formula for 8.2 kg; back has a tenth of the skin.
            if z["zone"] == "back" && z["amount"] != "leave" {
                let dm2 = 10.1 * 8200f64.powf(2.0 / 3.0) / 100.0;
                let want = 0.10 * dm2 * (0.35 + 3.0 * z["share"].as_f64().expect("share"));
                assert!((want - z["min"].as_f64().expect("min")).abs() < 1e-6);
            }
        }
    }
}

/// Bad input: exit code 2, one clear message with its line, nothing on standard output.
#[test]
fn bad_input_is_explained() {
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("dog.toml");
    let good = std::fs::read_to_string(root().join("examples/rolling.toml")).expect("example");
    let cases = [
        (good.replace("mass_kg = 8.2", "mass_kg = 0"), "mass"),
        (good.replace("born = 2022-04-03", "born = 2022-02-30"), "date"),
        (good.replace("coat = \"wire\"", "coat = \"wool\""), "wool"),
        (good.replace("zone = \"ears\"", "zone = \"wings\""), "wings"),
        (good.replace("longest_mm = 38", "longest_mm = 900"), "400 mm"),
    ];
    for (body, names) in cases {
        std::fs::write(&file, body).expect("written");
        let out = run(&["plan", file.to_str().expect("path")]);
        let err = text(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{err}");
        assert!(out.stdout.is_empty() && err.contains(names) && err.contains("dog.toml:"), "{err}");
    }
    for args in [
        vec!["plan", "no-such.toml"],
        vec!["plan", "examples"],
        vec!["plan", "examples/rolling.toml", "--on", "2026-02-30"],
        vec!["plan", "examples/rolling.toml", "--on", "2026-11-25", "--max-min", "15"],
        vec!["plan", "examples/rolling.toml", "--on", "2026-11-25", "--until", "2026-11-20"],
        vec!["plan", "examples/rolling.toml", "--on", "2026-11-25", "--not-on", "2026-11-01..2028-11-25"],
        vec!["plan", "examples/rolling.toml", "--on", "2020-11-25"],
    ] {
        let out = run(&args);
        assert_eq!(out.status.code(), Some(2), "{args:?} {}", text(&out.stderr));
        assert!(!out.stderr.is_empty() && out.stdout.is_empty(), "{args:?}");
    }
    let out = run(&["plan", "examples/rolling.toml", "--on", "2026-11-25", "--max-min", "15"]);
    assert!(text(&out.stderr).contains("needs `20 min` and offers `15 min`"), "{}", text(&out.stderr));
}

/// The set of files is written whole or not at all, and nothing is overwritten unasked.
#[test]
fn pictures_are_written_once() {
    let dir = tempfile::tempdir().expect("a folder");
    let out_dir = dir.path().join("set");
    let set = out_dir.to_str().expect("path");
    let args = ["plan", "examples/overgrown.toml", "--on", "2026-11-25", "--no-timing", "--out", set];
    assert!(run(&args).status.success());
    let mut names: Vec<_> = std::fs::read_dir(&out_dir)
        .expect("set")
        .map(|e| e.expect("entry").file_name().into_string().expect("name"))
        .collect();
    names.sort();
    assert_eq!(names, ["drawing.svg", "measures.svg", "plan.json", "section.svg", "sheet.pdf"]);
    let first = std::fs::read(out_dir.join("section.svg")).expect("section");
    let again = run(&args);
    assert_eq!(again.status.code(), Some(2), "kept unless --force");
    assert!(text(&again.stderr).contains("is there already and was kept"), "{}", text(&again.stderr));
    std::fs::write(out_dir.join("plan.json"), "as it was").expect("written");
    assert_eq!(run(&args).status.code(), Some(2));
    assert_eq!(std::fs::read(out_dir.join("plan.json")).expect("kept"), b"as it was");
    let mut forced = args.to_vec();
    forced.push("--force");
    assert!(run(&forced).status.success());
    assert_eq!(first, std::fs::read(out_dir.join("section.svg")).expect("section"), "the same to the byte");
    // A place that is not there, and on Linux one that nobody can write to.
    let nowhere = dir.path().join("no/such/sheet.pdf");
    let mut places = vec![nowhere.to_str().expect("path")];
    if cfg!(target_os = "linux") {
        places.push("/proc/sheet.pdf");
    }
    for place in places {
        let out = run(&["sheet", "examples/overgrown.toml", "--on", "2026-11-25", "--out", place]);
        assert_eq!(out.status.code(), Some(2), "{place}");
        assert!(text(&out.stderr).contains(&format!("cannot write `{place}`")), "{}", text(&out.stderr));
    }
    assert!(!dir.path().join("no").exists());
}

/// A sheet is the kind of file that its name says; a name and `--format` may not contradict each other.
#[test]
fn a_sheet_is_what_its_name_says() {
    let dir = tempfile::tempdir().expect("a folder");
    let sheet = |name: &str, more: &[&str]| {
        let path = dir.path().join(name);
        let all = ["sheet", "examples/rolling.toml", "--on", "2026-11-25", "--out", path.to_str().expect("path")];
        let out = run(&[&all[..], more].concat());
        (out.status.code(), text(&out.stderr), std::fs::read(&path).ok())
    };
    let begins = |bytes: &Option<Vec<u8>>, with: &[u8]| bytes.as_ref().is_some_and(|b| b.starts_with(with));
    let png: &[u8] = b"\x89PNG\r\n";
    for (name, more, with) in [
        ("a.pdf", &[][..], &b"%PDF"[..]),
        ("a.PNG", &[], png),
        ("a.svg", &[], b"<svg"),
        ("plain", &[], b"%PDF"),
        ("plain-png", &["--format", "png"], png),
        ("a.v2", &["--format", "svg"], b"<svg"),
        ("b.png", &["--format", "png"], png),
    ] {
        let (code, said, bytes) = sheet(name, more);
        assert_eq!(code, Some(0), "{name}: {said}");
        assert!(begins(&bytes, with), "{name}");
        assert!(said.starts_with("written: ") && said.contains(name), "{said}");
    }
    for (name, more, says) in [
        ("c.png", &["--format", "pdf"][..], "ends in `.png`, and `--format pdf` was given"),
        ("c.pdf", &["--format", "svg"], "ends in `.pdf`, and `--format svg` was given"),
        ("c.jpg", &[], "`.jpg` of `"),
    ] {
        let (code, said, bytes) = sheet(name, more);
        assert_eq!(code, Some(2), "{name}: {said}");
        assert!(said.contains(says) && bytes.is_none(), "{name}: {said}");
    }
}

/// Letters that no shipped face has are named once, and the picture is made all the same.
#[test]
fn letters_that_cannot_be_drawn_are_named() {
    let dir = tempfile::tempdir().expect("a folder");
    let dog = dir.path().join("dog.toml");
    let good = std::fs::read_to_string(root().join("examples/rolling.toml")).expect("example");
    std::fs::write(&dog, good.replacen("\"Bramble\"", "\"小黑 Žofka\"", 1)).expect("written");
    let dog = dog.to_str().expect("path");
    for (args, out) in [(vec!["sheet"], "a.pdf"), (vec!["sheet"], "a.png"), (vec!["plan", "--no-timing"], "set")] {
        let path = dir.path().join(out);
        let all = [&args[..], &[dog, "--on", "2026-11-25", "--out", path.to_str().expect("path")]].concat();
        let made = run(&all);
        assert!(made.status.success(), "{}", text(&made.stderr));
        let said = text(&made.stderr);
        assert_eq!(said.matches("`小黑` cannot be drawn").count(), 1, "{args:?}: {said}");
        assert!(path.exists());
    }
}

/// With `--inches` no length is left in millimetres, and the figures are the same lengths; JSON keeps its unit.
#[test]
fn inches_are_honoured_wherever_a_length_is_shown() {
    let on = ["--on", "2026-11-25"];
    let lengths = |out: &Output, sign: &str| -> Vec<f64> {
        let said = text(&out.stdout).replace('\n', " ");
        let words: Vec<&str> = said.split_whitespace().collect();
        let signs = [sign.to_owned(), format!("{sign}."), format!("{sign};"), format!("{sign},")];
        words.windows(2).filter(|w| signs.iter().any(|s| s == w[1])).filter_map(|w| w[0].parse().ok()).collect()
    };
    for args in [
        vec!["plan", "examples/rolling.toml", "--no-timing", "--day-that-matters", "2027-03-06:show"],
        vec!["coat", "examples/rolling.toml"],
        vec!["rhythms", "examples/rolling.toml"],
        vec!["learn", "examples/rolling.toml", "--quick"],
    ] {
        let metric = run(&[&args[..], &on].concat());
        let inches = run(&[&args[..], &on, &["--inches"]].concat());
        assert!(metric.status.success() && inches.status.success(), "{args:?}: {}", text(&inches.stderr));
        assert!(lengths(&inches, "mm").is_empty(), "{args:?}: {}", text(&inches.stdout));
        let left = text(&inches.stdout).split_whitespace().any(|w| w.starts_with("mm"));
        assert!(!left, "{args:?}: {}", text(&inches.stdout));
        for out in [&metric, &inches] {
            for line in text(&out.stdout).lines() {
                assert!(line.chars().count() <= 80, "{args:?}: {line}");
            }
        }
        if args[0] == "plan" {
            // Among amounts such as `1 in 4`, the layers and what the sentences say.
            let count = |out: &Output, what: &str| text(&out.stdout).matches(what).count();
            assert!(count(&metric, " mm layer") > 5);
            assert_eq!(count(&metric, " mm layer"), count(&inches, " in layer"));
            assert!(count(&inches, " inches a day") == 1 && count(&inches, " inches.") == 1);
            continue;
        }
        if args[0] == "learn" {
            continue;
        }
        let (mm, short) = (lengths(&metric, "mm"), lengths(&inches, "in"));
        assert_eq!(mm.len(), short.len() + lengths(&inches, "inches").len(), "{args:?}");
        if args[0] == "coat" {
            assert!(mm.len() > 20);
            for (a, b) in mm.iter().zip(&short) {
                assert!((a / 25.4 - b).abs() <= 0.05 + 0.5 / 25.4, "{a} mm and {b} in");
            }
        }
    }
    let json = ["coat", "examples/rolling.toml", "--on", "2026-11-25", "--json"];
    assert_eq!(run(&json).stdout, run(&[&json[..], &["--inches"]].concat()).stdout);
    let defaults = text(&run(&["coat", "--defaults", "--inches"]).stdout);
    let left = defaults.split_whitespace().any(|w| w.starts_with("mm"));
    assert!(defaults.contains(" in/d") && !left, "{defaults}");
}

/// A zone has one name wherever it is shown.
#[test]
fn the_back_of_the_tail_has_one_name() {
    let dir = tempfile::tempdir().expect("a folder");
    let set = dir.path().to_str().expect("path");
    let out = run(&["plan", "examples/rolling.toml", "--on", "2026-11-25", "--out", set]);
    let sheet = run(&["sheet", "examples/rolling.toml", "--on", "2026-11-25", "--out", &format!("{set}/sheet.svg")]);
    assert!(out.status.success() && sheet.status.success());
    let read = |name: &str| std::fs::read_to_string(dir.path().join(name)).expect("made");
    for shown in [text(&out.stdout), read("drawing.svg"), read("sheet.svg")] {
        assert!(shown.contains("back of the tail") && !shown.contains("tail back"), "{shown}");
    }
}

/// A set that cannot be written whole is not written at all, and the plan is printed beside a set that was.
#[test]
fn a_set_is_written_whole_beside_the_plan() {
    let dir = tempfile::tempdir().expect("a folder");
    let list = || {
        let mut names: Vec<String> = std::fs::read_dir(dir.path())
            .expect("the folder")
            .map(|e| e.expect("entry").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    };
    let args = ["plan", "examples/rolling.toml", "--on", "2026-11-25", "--no-timing"];
    let set = ["--out", dir.path().to_str().expect("path"), "--force"];
    std::fs::create_dir(dir.path().join("section.svg")).expect("made");
    let out = run(&[&args[..], &set].concat());
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("section.svg`: it is a folder"), "{}", text(&out.stderr));
    assert!(out.stdout.is_empty());
    assert_eq!(list(), ["section.svg"]);
    std::fs::remove_dir(dir.path().join("section.svg")).expect("removed");

    let alone = run(&args);
    assert!(alone.status.success() && alone.stderr.is_empty());
    let out = run(&[&args[..], &set].concat());
    assert!(out.status.success(), "{}", text(&out.stderr));
    assert_eq!(out.stdout, alone.stdout, "the plan is the same with and without files");
    let said = text(&out.stderr);
    assert_eq!(said.lines().count(), list().len());
    for name in list() {
        assert!(said.lines().any(|l| l.starts_with("written: ") && l.ends_with(&name)), "{name} in {said}");
    }
    let json = run(&[&args[..], &set, &["--json"]].concat());
    assert_eq!(json.stdout, std::fs::read(dir.path().join("plan.json")).expect("written"));

    // A folder made for a set that could not be written is taken away again.
    let deep = dir.path().join("new/folder");
    let script = format!(
        "trap '' XFSZ; ulimit -f 10; exec '{}' {} --out '{}'",
        env!("CARGO_BIN_EXE_coatwright"),
        args.join(" "),
        deep.display()
    );
    let out = Command::new("bash").args(["-c", &script]).current_dir(root()).output().expect("a shell");
    assert_eq!(out.status.code(), Some(2), "{}", text(&out.stderr));
    assert!(!dir.path().join("new").exists());
}

/// A disk without room, played by a limit on the size of files: all of the set or nothing, and what was there stays.
#[cfg(unix)]
#[test]
fn a_full_disk_keeps_nothing_half_written() {
    let dir = tempfile::tempdir().expect("a folder");
    std::fs::write(dir.path().join("measures.svg"), "as it was").expect("written");
    std::fs::write(dir.path().join("sheet.pdf"), "as it was").expect("written");
    let program = env!("CARGO_BIN_EXE_coatwright");
    let dog = "examples/rolling.toml --on 2026-11-25 --force";
    for command in ["plan", "sheet"] {
        let out = if command == "plan" { "." } else { "./sheet.pdf" };
        // The larger files do not fit, the smaller ones do.
        let script = format!(
            "trap '' XFSZ; ulimit -f 100; exec '{program}' {command} {dog} --out '{}/{out}'",
            dir.path().display()
        );
        let run = Command::new("bash").args(["-c", &script]).current_dir(root()).output().expect("a shell");
        assert_eq!(run.status.code(), Some(2), "{}", text(&run.stderr));
        let said = text(&run.stderr);
        assert!(said.contains("cannot write `") && said.contains("has room"), "{said}");
        let mut left: Vec<String> = std::fs::read_dir(dir.path())
            .expect("the folder")
            .map(|e| e.expect("entry").file_name().to_string_lossy().into_owned())
            .collect();
        left.sort();
        assert_eq!(left, ["measures.svg", "sheet.pdf"], "{command}");
        for name in &left {
            assert_eq!(std::fs::read_to_string(dir.path().join(name)).expect("kept"), "as it was", "{command}: {name}");
        }
    }
}

/// The jacket as one section, and the drawing by another measure.
#[test]
fn pictures_show_what_was_asked_for() {
    let dir = tempfile::tempdir().expect("a folder");
    let set = dir.path().to_str().expect("path");
    let dog = ["plan", "examples/rolling.toml", "--on", "2026-11-25", "--out", set];
    let made = run(&[&dog[..], &["--section-of", "jacket", "--shade", "cover"]].concat());
    assert!(made.status.success(), "{}", text(&made.stderr));
    let read = |name: &str| std::fs::read_to_string(dir.path().join(name)).expect("made");
    assert!(read("section.svg").contains("Bramble · jacket"));
    assert!(read("drawing.svg").contains("how much of the skin is covered"));
    let wrong = run(&[&dog[..], &["--section-of", "wings"]].concat());
    assert_eq!(wrong.status.code(), Some(2));
    assert!(text(&wrong.stderr).contains("`wings` is neither `jacket` nor a zone"), "{}", text(&wrong.stderr));
}

/// `docs/commands.md` is what `--help` says. Set `COATWRIGHT_BLESS` to write it anew.
#[test]
fn the_manual_is_the_help() {
    let mut page = String::from("# Commands\n\nWhat `--help` says, compared by a test.\n");
    for args in [
        vec!["--help"],
        vec!["plan", "--help"],
        vec!["sheet", "--help"],
        vec!["coat", "--help"],
        vec!["rhythms", "--help"],
        vec!["learn", "--help"],
        vec!["check", "--help"],
        vec!["serve", "--help"],
        vec!["demo", "--help"],
    ] {
        let out = run(&args);
        let title = if args.len() == 1 { "coatwright".to_owned() } else { format!("coatwright {}", args[0]) };
        page.push_str(&format!("\n## {title}\n\n```text\n{}```\n", text(&out.stdout)));
    }
    let path = root().join("docs/commands.md");
    if std::env::var_os("COATWRIGHT_BLESS").is_some() {
        std::fs::write(&path, &page).expect("written");
    }
    assert_eq!(std::fs::read_to_string(path).expect("docs/commands.md"), page);
}

/// `docs/json.md` has a row for every key that the plan and the coat print.
#[test]
fn every_json_key_is_documented() {
    fn keys(v: &serde_json::Value, into: &mut std::collections::BTreeSet<String>) {
        match v {
            serde_json::Value::Object(o) => o.iter().for_each(|(k, v)| {
                into.insert(k.clone());
                keys(v, into);
            }),
            serde_json::Value::Array(a) => a.iter().for_each(|v| keys(v, into)),
            _ => {}
        }
    }
    let mut all = std::collections::BTreeSet::new();
    keys(&plan(&["examples/overgrown.toml", "--day-that-matters", "2027-03-06:show"]), &mut all);
    let out = run(&["learn", "examples/rolling.toml", "--on", "2026-11-25", "--json"]);
    keys(&serde_json::from_slice(&out.stdout).expect("JSON"), &mut all);
    for args in [["rhythms", "examples/rolling.toml"], ["coat", "--defaults"]] {
        let out = run(&[&args[..], &["--json"]].concat());
        keys(&serde_json::from_slice(&out.stdout).expect("JSON"), &mut all);
    }
    let page = std::fs::read_to_string(root().join("docs/json.md")).expect("docs/json.md");
    for k in all {
        assert!(page.contains(&format!("`{k}`")), "docs/json.md says nothing of `{k}`");
    }
}

/// A closed pipe ends the program quietly.
#[test]
fn a_closed_pipe_is_no_fault() {
    let out = Command::new("sh")
        .args([
            "-c",
            &format!("{} plan examples/rolling.toml --on 2026-11-25 | head -n 1", env!("CARGO_BIN_EXE_coatwright")),
        ])
        .current_dir(root())
        .output()
        .expect("a shell");
    assert!(out.status.success() && out.stderr.is_empty(), "{}", text(&out.stderr));
}

/// The README's block and pictures are what the program makes. Set `COATWRIGHT_BLESS` to make them anew.
#[test]
fn the_readme_shows_what_the_program_makes() {
    let bless = std::env::var_os("COATWRIGHT_BLESS").is_some();
    let out = run(&["plan", "examples/rolling.toml", "--on", "2026-11-25", "--no-timing"]);
    let shown: Vec<String> = text(&out.stdout).lines().map(|l| l.trim_end().to_owned()).collect();
    let sheet = shown.iter().position(|l| l.starts_with("LEFT TODAY")).expect("a sheet");
    let rest = shown.iter().position(|l| l.starts_with("THE VISITS")).expect("visits");
    let block =
        format!("```text\n{}\n\n{}\n```\n", shown[..sheet].join("\n").trim_end(), shown[rest..].join("\n").trim_end());
    let path = root().join("README.md");
    let page = std::fs::read_to_string(&path).expect("README");
    let (begin, end) = ("<!-- plan:begin -->\n", "<!-- plan:end -->");
    let from = page.find(begin).expect("the marker") + begin.len();
    let to = page.find(end).expect("the marker");
    if bless {
        std::fs::write(&path, format!("{}{block}{}", &page[..from], &page[to..])).expect("written");
    } else {
        assert_eq!(&page[from..to], block);
    }
    let dir = tempfile::tempdir().expect("a folder");
    let set = dir.path().to_str().expect("path");
    let made = run(&["plan", "examples/overgrown.toml", "--on", "2026-11-25", "--no-timing", "--out", set]);
    assert!(made.status.success(), "{}", text(&made.stderr));
    let sheet = dir.path().join("sheet.png");
    let made = ["sheet", "examples/rolling.toml", "--on", "2026-11-25", "--theme", "print", "--out"];
    let made = run(&[&made[..], &[sheet.to_str().expect("path")]].concat());
    assert!(made.status.success(), "{}", text(&made.stderr));
    for name in ["section.svg", "drawing.svg", "measures.svg", "sheet.png"] {
        let new = std::fs::read(dir.path().join(name)).expect("made");
        let kept = root().join("docs/pictures").join(name);
        if bless {
            std::fs::create_dir_all(kept.parent().expect("a folder")).expect("made");
            std::fs::write(&kept, &new).expect("written");
        }
        assert!(new.len() < 300_000, "{name} has {} bytes", new.len());
        assert!(std::fs::read(&kept).expect("kept") == new, "docs/pictures/{name} is not what the program makes");
    }
}

/// Learning from a record up to a day is the same whether or not more was recorded later, in text and to the byte.
#[test]
fn learning_never_uses_the_future() {
    let text_of = |path: &Path| std::fs::read_to_string(path).expect("an example");
    let whole = text_of(&root().join("examples/rolling.toml"));
    let later = whole.find("# She was away.").expect("the middle of the record");
    let dir = tempfile::tempdir().expect("a folder");
    let cut = dir.path().join("cut.toml");
    std::fs::write(&cut, &whole[..later]).expect("written");
    let cut = cut.to_str().expect("path");
    let of = |file: &str, on: &str| {
        let out = run(&["learn", file, "--on", on, "--json"]);
        assert!(out.status.success(), "{}", text(&out.stderr));
        text(&out.stdout)
    };
    assert_eq!(of("examples/rolling.toml", "2026-08-25"), of(cut, "2026-08-25"));
    assert_ne!(of("examples/rolling.toml", "2026-11-25"), of(cut, "2026-11-25"));
    // What is not in the file cannot have been learned: a day later nothing differs but the day.
    let zones = |t: &str| serde_json::from_str::<serde_json::Value>(t).expect("JSON")["zones"].clone();
    assert_eq!(zones(&of(cut, "2026-08-25")), zones(&of(cut, "2026-08-26")));
}

/// Plans use what was learned, unless only the defaults are wanted.
#[test]
fn plans_use_what_was_learned() {
    let learned = plan(&["examples/rolling.toml"]);
    let plain = plan(&["examples/rolling.toml", "--defaults-only"]);
    assert_ne!(learned["forecast"], plain["forecast"]);
    // A dog of whom nothing was read is planned with the defaults, flag or not.
    assert_eq!(
        plan(&["examples/overgrown.toml"])["visits"],
        plan(&["examples/overgrown.toml", "--defaults-only"])["visits"]
    );
}
