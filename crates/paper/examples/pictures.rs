//! Draws every picture of the dogs in `examples/`, into the folder named (default `/tmp/pictures`).

use coat::{Day, Zone};
use paper::theme::Theme;
use paper::{Options, Paper, Units, convert, measures, section, sheet};
use std::path::Path;

type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let dir = std::env::args().nth(1).unwrap_or_else(|| "/tmp/pictures".to_owned());
    let only = std::env::args().nth(2);
    let dir = Path::new(&dir);
    std::fs::create_dir_all(dir)?;
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let today = Day::parse("2026-11-25").ok_or("no day")?;
    let mut files: Vec<_> = std::fs::read_dir(examples)?.filter_map(Result::ok).map(|e| e.path()).collect();
    files.sort();
    for file in files.iter().filter(|f| f.extension().is_some_and(|e| e == "toml")) {
        let name = file.file_stem().and_then(|s| s.to_str()).unwrap_or("dog").to_owned();
        if only.as_ref().is_some_and(|o| !o.split(',').any(|o| o == name)) {
            continue;
        }
        let dog = app::dog_file::load(file)?;
        let options = app::planning::Options {
            today,
            rhythm_days: None,
            until: None,
            matter: vec![],
            not_on: vec![],
            max_min: None,
        };
        let case = app::planning::Case::new(&dog, &options)?;
        let report = case.report(&plan::Highs, None)?;
        let coat = app::planning::coat_on(&dog, &app::model::dog(&dog, report.rhythm_days), today)?;
        if name == "overgrown" {
            full(dir, &report)?;
        }
        for theme in Theme::ALL {
            let o = Options { theme, ..Options::default() };
            let suffix = format!("{theme:?}").to_lowercase();
            let clock = std::time::Instant::now();
            let mut times = Vec::new();
            for zone in [Zone::Back, Zone::Beard, Zone::Skull, Zone::HindLegs] {
                if let Some(s) = section::of_plan(&report, &coat, zone) {
                    let clock = std::time::Instant::now();
                    let svg = section::section_svg(&s, &o);
                    times.push(format!(
                        "section {:.1} ms {} kB",
                        clock.elapsed().as_secs_f64() * 1e3,
                        svg.len() / 1000
                    ));
                    save(dir, &format!("{name}-section-{}-{suffix}", zone.word()), &svg)?;
                }
            }
            let drawn = std::time::Instant::now();
            let svg = measures::measures_svg(&report, None, &o);
            times.push(format!("measures {:.1} ms {} kB", drawn.elapsed().as_secs_f64() * 1e3, svg.len() / 1000));
            save(dir, &format!("{name}-measures-{suffix}"), &svg)?;
            let o = Options {
                paper: if theme == Theme::Light { Paper::Letter } else { Paper::A4 },
                units: if theme == Theme::Light { Units::Inch } else { Units::Mm },
                ..o
            };
            if let Some(svg) = sheet::sheet_svg(&report, 0, &o) {
                save(dir, &format!("{name}-sheet-{suffix}"), &svg)?;
            }
            let made = std::time::Instant::now();
            if let Some(bytes) = sheet::sheet_pdf(&report, 0, &o)? {
                times.push(format!("sheet {:.1} ms {} kB", made.elapsed().as_secs_f64() * 1e3, bytes.len() / 1000));
                std::fs::write(dir.join(format!("{name}-sheet-{suffix}.pdf")), bytes)?;
            }
            say(&format!("{name} {suffix}: {} in all {:.0} ms", times.join(", "), clock.elapsed().as_secs_f64() * 1e3));
        }
    }
    Ok(())
}

/// The sheet at its fullest: every zone worked, a caution for each, a long name or one from right to left.
fn full(dir: &Path, report: &app::report::PlanReport) -> Result<(), Failure> {
    for (name, dog, paper, units) in [
        (
            "long",
            "Schnürrbart von der Großen Wärmflasche zu Ober-Änderdingen, called Žofka Łucja",
            Paper::Letter,
            Units::Inch,
        ),
        ("hebrew", "מוטקה השני", Paper::A4, Units::Mm),
        ("arabic", "عنبر", Paper::Letter, Units::Mm),
    ] {
        let mut r = report.clone();
        r.dog = dog.to_owned();
        for v in &mut r.visits {
            for z in &mut v.zones {
                if z.amount == "leave" {
                    z.amount = "1 in 10".into();
                    z.works = vec!["pull (fingers)".into()];
                }
                z.cautions.push(format!(
                    "Noted on the {}: the vet decides when it may be touched.",
                    z.zone.replace('_', " ")
                ));
            }
        }
        let o = Options { theme: Theme::Print, paper, units, ..Options::default() };
        if let Some(svg) = sheet::sheet_svg(&r, 0, &o) {
            save(dir, &format!("full-sheet-{name}"), &svg)?;
        }
    }
    Ok(())
}

fn save(dir: &Path, name: &str, svg: &str) -> Result<(), Failure> {
    std::fs::write(dir.join(format!("{name}.svg")), svg)?;
    std::fs::write(dir.join(format!("{name}.png")), convert::png(svg, 1400)?)?;
    Ok(())
}

#[expect(clippy::print_stderr, reason = "an example that a person runs")]
fn say(line: &str) {
    eprintln!("{line}");
}
