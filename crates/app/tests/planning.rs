//! The whole plan of a dog's file: what is reported, and that the file's own values reach it.

use app::dog_file::{DogFile, read};
use app::planning::{Case, Options};
use app::report::PlanReport;
use coat::Day;
use plan::Highs;

const HEAD: &str = "schema = \"coatwright.dog/1\"\nname = \"Bramble\"\nborn = 2021-03-01\nsex = \"dog\"\n\
                    mass_kg = 8\ncoat = \"wire\"\n";

fn file(rest: &str) -> DogFile {
    read("dog.toml", format!("{HEAD}{rest}").as_bytes()).expect("a good file")
}

fn today() -> Day {
    Day::parse("2026-11-25").expect("a date")
}

fn report(rest: &str) -> PlanReport {
    let (file, options) = (file(rest), Options::on(today()));
    Case::new(&file, &options).expect("a case").report(&Highs, None).expect("a plan")
}

/// Furnishings are judged by the zone's own target: a longer one is reached later or not at all.
#[test]
fn furnishings_are_judged_by_the_zones_own_target() {
    let flat = "[[history]]\ndate = 2026-09-20\nevent = \"flat\"\n";
    let legs = |mm: u32| format!("{flat}[[zones]]\nzones = [\"forelegs\", \"hind_legs\"]\ntarget_mm = {mm}\n");
    let day = |text: &str| report(text).milestones.furnishings.and_then(|d| Day::parse(&d));
    let (short, usual, long) = (day(&legs(25)), day(flat), day(&legs(48)));
    let usual = usual.expect("default legs are at length within half a year of a flat strip");
    assert!(short.is_some_and(|s| s < usual), "{short:?} {usual}");
    assert!(long.is_none_or(|l| l > usual), "{long:?} {usual}");
}
