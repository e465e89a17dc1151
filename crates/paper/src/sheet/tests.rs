use super::*;
use crate::fixture::plan;
use crate::options::{Paper, Units};
use crate::theme::Theme;
use std::process::Command;

/// The words of a PDF as an independent reader finds them, and its number of pages.
fn read(pdf: &[u8], name: &str, order: &[&str]) -> (String, usize) {
    read_tagged(pdf, name, order, None)
}

/// The same, and the tags as the reader prints them.
fn read_tagged(pdf: &[u8], name: &str, order: &[&str], tags: Option<&mut String>) -> (String, usize) {
    let path = std::env::temp_dir().join(format!("coatwright-{}-{name}.pdf", std::process::id()));
    std::fs::write(&path, pdf).unwrap();
    let run = |tool: &str, rest: &[&str]| {
        let out = Command::new(tool)
            .arg(rest.first().copied().unwrap_or("-q"))
            .arg(&path)
            .args(rest.get(1..).unwrap_or(&[]))
            .output();
        let out = out.unwrap_or_else(|e| panic!("`{tool}` cannot be run ({e}): install the package `poppler-utils`"));
        assert!(out.status.success(), "{tool}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8_lossy(&out.stdout).into_owned()
    };
    let words = run("pdftotext", order);
    if let Some(tags) = tags {
        *tags = run("pdfinfo", &["-struct-text"]);
    }
    let info = run("pdfinfo", &["-isodates"]);
    let marks = |c: char| ('\u{202a}'..='\u{202e}').contains(&c);
    let words = words.replace(marks, "");
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!info.contains("CreationDate") && !info.contains("ModDate"), "{info}");
    let said = |key: &str| info.lines().find_map(|l| l.strip_prefix(key)).map(str::trim);
    assert_eq!(said("Tagged:"), Some("yes"), "{info}");
    assert!(said("Title:").is_some_and(|t| t.ends_with("table sheet · 25 Nov 2026")), "{info}");
    let standard = run("pdfinfo", &["-meta"]);
    assert!(standard.contains("<pdfuaid:part>1</pdfuaid:part>"), "{standard}");
    std::fs::remove_file(&path).unwrap();
    let pages = info.lines().find_map(|l| l.strip_prefix("Pages:")).and_then(|n| n.trim().parse().ok()).unwrap_or(0);
    (words, pages)
}

const LONG: &str = "Champion Schnürrbart von der Großen Wärmflasche zu Ober-Änderdingen, called Žofka Łucja Ødegård";

#[test]
fn the_sheet_is_one_page_that_says_everything() {
    for (name, dog, cautions) in [("plain", "Bracken", 0), ("long", LONG, 1), ("much", LONG, 2)] {
        for paper in Paper::ALL {
            for units in Units::ALL {
                let report = plan(dog, cautions);
                let o = Options { theme: Theme::Print, paper, units, ..Options::default() };
                let pdf = sheet_pdf(&report, 0, &o).unwrap().unwrap();
                assert_eq!(pdf, sheet_pdf(&report, 0, &o).unwrap().unwrap());
                assert!(pdf.len() < 300_000, "{}", pdf.len());
                let (words, pages) = read(&pdf, &format!("{name}-{paper:?}-{units:?}"), &["-raw", "-"]);
                assert_eq!(pages, 1);
                for zone in Zone::ALL {
                    assert!(words.contains(zone.label()), "{name}: {zone} in\n{words}");
                }
                for must in ["25 Nov 2026", "Next visit: 16 Dec 2026", "1 in 5", "really taken", "Before you begin"] {
                    assert!(words.contains(must), "{name}: {must} in\n{words}");
                }
                for zone in Zone::ALL.into_iter().filter(|_| cautions > 0) {
                    let must =
                        format!("Noted on the {} ({cautions}): the vet decides when it may be touched.", zone.label());
                    assert!(words.contains(&must), "{name} {paper:?}: {must} in\n{words}");
                }
                assert!(words.contains(if units == Units::Inch { "0.9 in" } else { "24 mm" }), "{words}");
                if name == "plain" {
                    assert!(words.contains("Bracken") && words.contains("at the first flinch"), "{words}");
                }
                if name == "long" {
                    assert!(words.contains("Schnürrbart") && words.contains("Noted on the skull"), "{words}");
                }
            }
        }
    }
}

#[test]
fn names_from_right_to_left_copy_out_right() {
    for (dog, tag) in [("מוטקה השני", "hebrew"), ("عنبر", "arabic")] {
        let pdf = sheet_pdf(&plan(dog, 1), 0, &Options::default()).unwrap().unwrap();
        let (words, pages) = read(&pdf, tag, &["-layout", "-"]);
        assert_eq!(pages, 1);
        assert!(words.contains(dog), "{dog} in\n{words}");
    }
}

/// Letters that no shipped face has are boxes to the eye, and themselves to who copies them out.
#[test]
fn letters_that_no_face_has_are_seen_and_copy_out() {
    let boxed = sheet_pdf(&plan("Mo 小黑 ok", 0), 0, &Options::default()).unwrap().unwrap();
    let path = std::env::temp_dir().join(format!("coatwright-{}-boxed.pdf", std::process::id()));
    std::fs::write(&path, &boxed).unwrap();
    let run =
        |tool: &str, rest: &[&str]| Command::new(tool).arg(rest[0]).arg(&path).args(rest.get(1)).output().unwrap();
    let words = String::from_utf8_lossy(&run("pdftotext", &["-raw", "-"]).stdout).into_owned();
    let info = String::from_utf8_lossy(&run("pdfinfo", &["-meta"]).stdout).into_owned();
    std::fs::remove_file(&path).unwrap();
    assert!(words.contains("Mo 小黑 ok"), "{words}");
    assert!(info.contains("<pdfuaid:part>1</pdfuaid:part>"), "{info}");
    // The boxes leave ink, and are as wide as they are reckoned.
    let ink = |dog: &str| {
        let svg = sheet_svg(&plan(dog, 0), 0, &Options { theme: Theme::Print, ..Options::default() }).unwrap();
        assert_eq!(crate::fonts::missing(&svg), if dog.is_ascii() { "" } else { "小" });
        let pixels = resvg::tiny_skia::Pixmap::decode_png(&crate::convert::png(&svg, 595).unwrap()).unwrap();
        // The stretch after the first letter of the name.
        let at = (MARGIN + fonts::width("M", 27.0, Weight::Bold)).ceil() as u32;
        let dark = |x: u32, y: u32| pixels.pixel(x, y).is_some_and(|p| p.red() < 128);
        (at..at + 20).flat_map(|x| (34..54).map(move |y| (x, y))).filter(|(x, y)| dark(*x, *y)).count()
    };
    assert_eq!(ink("M"), 0);
    assert!(ink("M小") > 20, "{}", ink("M小"));
}

/// No letter of an ordinary sheet is smaller than 8.5 points, the scale's than 7.5; with a caution on every zone, than 7.
#[test]
fn letters_are_large_enough_at_the_table() {
    for (cautions, least) in [(0, 8.5_f64), (1, 7.0)] {
        for paper in Paper::ALL {
            let o = Options { theme: Theme::Print, paper, ..Options::default() };
            let svg = sheet_svg(&plan("Bracken", cautions), 0, &o).unwrap();
            let doc = roxmltree::Document::parse(&svg).unwrap();
            for t in doc.descendants().filter(|n| n.has_tag_name("text")) {
                let dog = t.ancestors().find(|a| a.attribute("class") == Some("dog"));
                let scale = dog.and_then(|d| d.parent()?.attribute("transform")).map_or(1.0, |t| {
                    t.rsplit("scale(").next().and_then(|s| s.trim_end_matches(')').parse().ok()).unwrap_or(0.0)
                });
                let size: f64 = t.ancestors().find_map(|a| a.attribute("font-size")).unwrap().parse().unwrap();
                let words = t.text().unwrap_or_default();
                let legend = t.ancestors().any(|a| a.attribute("class") == Some("legend"));
                let least = if legend { least.min(7.5) } else { least };
                assert!(size * scale >= least, "{paper:?} {cautions}: {words} at {:.2}", size * scale);
            }
        }
    }
}

#[test]
fn nothing_runs_over_the_edge_or_into_its_neighbour() {
    for paper in Paper::ALL {
        for units in Units::ALL {
            for cautions in [0, 1, 2] {
                let o = Options { theme: Theme::Light, paper, units, ..Options::default() };
                let svg = sheet_svg(&plan(LONG, cautions), 0, &o).unwrap();
                let (width, height) = paper.size_pt();
                let doc = roxmltree::Document::parse(&svg).unwrap();
                let mut last: Vec<(f64, f64, f64, String)> = Vec::new();
                for t in doc.descendants().filter(|n| n.has_tag_name("text")) {
                    if t.ancestors().any(|a| a.attribute("class") == Some("dog")) {
                        continue;
                    }
                    let get = |k: &str| t.attribute(k).unwrap().parse::<f64>().unwrap();
                    let (x, y, size) = (get("x"), get("y"), get("font-size"));
                    let weight = if t.attribute("font-weight").is_some() { Weight::Bold } else { Weight::Regular };
                    let words = t.text().unwrap_or("").trim_end().to_owned();
                    let wide = fonts::width(&words, size, weight);
                    let from = if t.attribute("text-anchor") == Some("end") { x - wide } else { x };
                    assert!(from >= MARGIN - 1.0 && from + wide <= width - MARGIN + 1.0, "{paper:?}: {words} at {x}");
                    assert!(y <= height - MARGIN + 1.0 && y > MARGIN, "{paper:?}: {words} at {y}");
                    for (a, b, line, other) in last.iter().filter(|l| (l.2 - y).abs() < 2.5) {
                        assert!(from >= b - 0.5 || from + wide <= a + 0.5, "`{words}` and `{other}` at {line}");
                    }
                    last.push((from, from + wide, y, words));
                }
                assert_eq!(doc.descendants().filter(|n| n.attribute("class") == Some("tick")).count(), 24);
            }
        }
    }
}

#[test]
fn what_is_left_is_said_and_a_visit_that_is_not_there_is_none() {
    let mut report = plan("Sorrel", 0);
    for z in report.visits[0].zones.iter_mut().skip(3) {
        z.amount = "leave".to_owned();
        z.works.clear();
    }
    let svg = sheet_svg(&report, 0, &Options::default()).unwrap();
    assert_eq!(svg.matches("class=\"tick\"").count(), 3);
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let seen: String = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    assert!(seen.contains("Leave forechest (a), back (a)"), "{seen}");
    assert!(sheet_svg(&report, 99, &Options::default()).is_none());
    assert!(sheet_svg(&report, 8, &Options::default()).unwrap().contains("to be agreed"));
}

/// A sheet on which nothing is taken says why, what to do instead, and when there is hair to take.
#[test]
fn a_sheet_with_nothing_to_take_says_why_and_what_instead() {
    let mut report = plan(LONG, 2);
    for (k, z) in report.visits[0].zones.iter_mut().enumerate() {
        z.amount = "leave".to_owned();
        z.works.clear();
        z.reason = if k % 2 == 0 {
            "Cover is below 55 % already: let it grow.".to_owned()
        } else {
            "Hands off until 2026-12-03 (a cut).".to_owned()
        };
    }
    for paper in Paper::ALL {
        let o = Options { theme: Theme::Print, paper, ..Options::default() };
        let pdf = sheet_pdf(&report, 0, &o).unwrap().unwrap();
        let (words, pages) = read(&pdf, &format!("nothing-{paper:?}"), &["-raw", "-"]);
        assert_eq!(pages, 1);
        for must in [
            "Nothing is taken today",
            "Cover is below 55 % already: let it grow.",
            "Hands off until 3 Dec 2026 (a cut).",
            "Instead",
            "Pads and feet",
            "There is hair to take on 16 Dec 2026: crest, neck sides, shoulders, forechest and 20 more.",
        ] {
            assert!(words.contains(must), "{must} in\n{words}");
        }
        for zone in Zone::ALL {
            assert!(words.contains(zone.label()), "{zone} in\n{words}");
        }
    }
    let none = report.visits[0].zones.clone();
    report.visits.iter_mut().for_each(|v| v.zones.clone_from(&none));
    let svg = sheet_svg(&report, 0, &Options::default()).unwrap();
    assert!(svg.contains("No visit before"), "{svg}");
}

/// No amount is cut short, however low the rows.
#[test]
fn amounts_are_never_cut() {
    for (cautions, paper, units) in [(0, Paper::A4, Units::Mm), (2, Paper::Letter, Units::Inch)] {
        let mut report = plan(LONG, cautions);
        let amounts = ["leave", "all ripe", "1 in 12", "1 in 2"];
        for (k, z) in report.visits[0].zones.iter_mut().enumerate() {
            z.amount = amounts[k % amounts.len()].to_owned();
            z.works = vec!["card (carding knife, lightly)".to_owned()];
            z.layer_mm = (z.amount != "leave").then_some(127.0);
        }
        let svg = sheet_svg(&report, 0, &Options { theme: Theme::Light, paper, units, ..Options::default() }).unwrap();
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let count = |word: &str| {
            let outside = |n: &roxmltree::Node| !n.ancestors().any(|a| a.attribute("class") == Some("dog"));
            let all = doc.descendants().filter(|n| n.has_tag_name("text") && n.text() == Some(word));
            all.filter(outside).count()
        };
        for said in ["card only", "all ripe", "1 in 12", "1 in 2"] {
            assert_eq!(count(said), 6, "{said} with {cautions} cautions");
        }
    }
}

/// The PDF says what each part is, in reading order, to a reader that is not ours.
#[test]
fn the_sheet_is_tagged_in_reading_order() {
    let mut tags = String::new();
    let pdf = sheet_pdf(&plan("Bracken", 1), 0, &Options::default()).unwrap().unwrap();
    read_tagged(&pdf, "tagged", &["-raw", "-"], Some(&mut tags));
    let lines: Vec<&str> = tags.lines().map(str::trim).collect();
    let of = |tag: &str| lines.iter().filter(|l| l.split([' ', ':']).next() == Some(tag)).count();
    // One row of heads and one a zone; a zone's name is the head of its row.
    assert_eq!((of("H1"), of("Figure"), of("H2"), of("L"), of("Table")), (1, 1, 1, 1, 1), "{tags}");
    assert_eq!((of("TR"), of("TH"), of("TD")), (25, 7 + 24, 24 * 6), "{tags}");
    assert_eq!((of("LI"), of("Lbl"), of("LBody")), (28, 28, 28), "{tags}");
    let at = |what: &str| lines.iter().position(|l| l.starts_with(what)).unwrap_or_else(|| panic!("{what} in {tags}"));
    let order = [
        at("H1 \"Bracken\""),
        at("\"Table sheet · about 95 min\""),
        at("\"Next visit: 16 Dec 2026\""),
        at("Figure"),
        at("H2 \"Before you begin\""),
        at("\"Never leave a dog alone on the table."),
        at("\"Noted on the feet (1)"),
        at("Table"),
        at("\"zone, works\""),
        at("\"really taken\""),
        at("\"crest"),
        at("\"feet"),
        at("\"Minutes taken\""),
    ];
    assert!(order.windows(2).all(|w| w[0] < w[1]), "{order:?} in {tags}");
    // Words that a line's end parts stay apart.
    let broken =
        "Look over and feel the skin first: nothing is stripped that is broken, crusted, hot, sore or infected.";
    assert!(tags.contains(broken), "{tags}");
}
