use super::*;
use crate::fixture::plan;
use crate::options::{Paper, Units};
use crate::theme::Theme;
use std::process::Command;

/// The words of a PDF as an independent reader finds them, and its number of pages.
fn read(pdf: &[u8], name: &str, order: &[&str]) -> (String, usize) {
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
    let info = run("pdfinfo", &["-isodates"]);
    std::fs::remove_file(&path).unwrap();
    let marks = |c: char| ('\u{202a}'..='\u{202e}').contains(&c);
    let words = words.replace(marks, "");
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!info.contains("CreationDate"), "{info}");
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
                let o = Options { theme: Theme::Print, paper, units };
                let pdf = sheet_pdf(&report, 0, &o).unwrap().unwrap();
                assert_eq!(pdf, sheet_pdf(&report, 0, &o).unwrap().unwrap());
                assert!(pdf.len() < 300_000, "{}", pdf.len());
                let (words, pages) = read(&pdf, &format!("{name}-{paper:?}-{units:?}"), &["-raw", "-"]);
                assert_eq!(pages, 1);
                for zone in Zone::ALL {
                    assert!(words.contains(zone.label()), "{name}: {zone} in\n{words}");
                }
                for must in
                    ["25 November 2026", "Next visit: 16 December 2026", "1 in 5", "really taken", "Before you begin"]
                {
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

#[test]
fn nothing_runs_over_the_edge_or_into_its_neighbour() {
    for paper in Paper::ALL {
        for units in Units::ALL {
            for cautions in [0, 1, 2] {
                let o = Options { theme: Theme::Light, paper, units };
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
                    let words = t.text().unwrap_or("").to_owned();
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
    assert!(svg.contains("Leave today: "));
    assert!(sheet_svg(&report, 99, &Options::default()).is_none());
    assert!(sheet_svg(&report, 8, &Options::default()).unwrap().contains("to be agreed"));
}
