//! How long each picture takes: under 100 ms a picture, under 300 ms the sheet.

use app::report::PlanReport;
use coat::{Day, DogCoat, Zone};
use paper::drawing::shade::{self, Shade};
use paper::{Options, convert, measures, section, sheet};
use std::sync::LazyLock;

/// The coat and plan of an example, on a fixed day.
fn case(example: &str) -> Option<(PlanReport, DogCoat)> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../examples/{example}.toml"));
    let dog = app::dog_file::load(&path).ok()?;
    let today = Day::parse("2026-11-25")?;
    let options =
        app::planning::Options { today, rhythm_days: None, until: None, matter: vec![], not_on: vec![], max_min: None };
    let report = app::planning::Case::new(&dog, &options).ok()?.report(&plan::Highs, None).ok()?;
    let coat = app::planning::coat_on(&dog, &app::model::dog(&dog, report.rhythm_days), today).ok()?;
    Some((report, coat))
}

static CASE: LazyLock<Option<(PlanReport, DogCoat)>> = LazyLock::new(|| case("overgrown"));

fn main() {
    divan::main();
}

#[divan::bench]
fn section_from_plan() -> Option<String> {
    let (report, coat) = CASE.as_ref()?;
    let s = section::of_plan(report, coat, Zone::Back)?;
    Some(section::section_svg(&s, &Options::default()))
}

#[divan::bench]
fn section_png(bencher: divan::Bencher) {
    let svg = section_from_plan().unwrap_or_default();
    bencher.bench(|| convert::png(&svg, convert::PNG_PX));
}

fn jacket(case: &(PlanReport, DogCoat)) -> Option<String> {
    section::jacket_of_plan(&case.0, &case.1).map(|s| section::section_svg(&s, &Options::default()))
}

#[divan::bench]
fn jacket_from_plan() -> Option<String> {
    CASE.as_ref().and_then(jacket)
}

/// The dearest picture: long hair, a visit a week, a day that matters.
#[divan::bench]
fn jacket_of_a_show_dog(bencher: divan::Bencher) {
    let case = case("show");
    bencher.bench(|| case.as_ref().and_then(jacket));
}

#[divan::bench]
fn drawing_svg() -> Option<String> {
    let (report, _) = CASE.as_ref()?;
    let o = Options::default();
    report.forecast.first().map(|c| shade::shaded_svg(&report.dog, c, Shade::Ripe, o.theme, o.units))
}

#[divan::bench]
fn drawing_png(bencher: divan::Bencher) {
    let svg = drawing_svg().unwrap_or_default();
    bencher.bench(|| convert::png(&svg, convert::PNG_PX));
}

#[divan::bench]
fn measures_svg() -> Option<String> {
    CASE.as_ref().map(|c| measures::measures_svg(&c.0, None, &Options::default()))
}

#[divan::bench]
fn measures_png(bencher: divan::Bencher) {
    let svg = measures_svg().unwrap_or_default();
    bencher.bench(|| convert::png(&svg, convert::PNG_PX));
}

#[divan::bench]
fn sheet_png(bencher: divan::Bencher) {
    let svg = CASE.as_ref().and_then(|c| sheet::sheet_svg(&c.0, 0, &Options::default())).unwrap_or_default();
    bencher.bench(|| convert::png(&svg, convert::SHEET_PX));
}

#[divan::bench]
fn sheet_pdf() -> Option<Vec<u8>> {
    CASE.as_ref().and_then(|c| sheet::sheet_pdf(&c.0, 0, &Options::default()).ok().flatten())
}
