//! How unsure a forecast is.

use super::*;
use app::dog_file::{DogFile, EventKind};
use app::learning::{self, Bands, SEED, Within};
use app::measures::{Group, Measure, series};
use app::planning::{Case, Options};
use app::report::PlanReport;
use learn::{Effort, Learned};

/// A dog read at five visits before `today`.
fn read(b: &Bench) -> RecordId {
    let mut history = vec![an_event("2026-08-12", "left alone")];
    for (i, day) in ["2026-08-12", "2026-09-02", "2026-09-23", "2026-10-14", "2026-11-04"].into_iter().enumerate() {
        let mut visit = a_visit(day);
        visit.zones[0].longest_mm = Some([26.0, 27.0, 27.0, 28.0, 27.0][i]);
        visit.zones[0].new_layer_mm = [None, None, Some(4.0), Some(8.0), Some(12.0)][i];
        visit.zones[0].ease = Some([2, 2, 3, 2, 2][i]);
        history.push(visit);
    }
    b.add(a_dog("Banded"), history)
}

fn file_of(b: &Bench, id: &RecordId) -> DogFile {
    ready(b.desk.dog_file(&b.who, id)).unwrap().0
}

/// The plan of a file with learned values, and the bands of what was learned.
fn banded(file: &DogFile, l: &Learned, day: Day) -> (PlanReport, Bands) {
    let counted = learning::with_learned(file, l);
    let options = Options::on(day);
    let report = Case::new(&counted, &options).unwrap().report(&plan::Highs, None).unwrap();
    let bands = learning::bands(file, l, &counted, &report).unwrap();
    (report, bands)
}

fn learned(file: &DogFile, day: Day) -> Learned {
    learning::learned(file, day, None, SEED, Effort::VISIT).unwrap().0
}

fn width(within: &[Within]) -> f64 {
    within.iter().map(|w| w.high - w.low).sum::<f64>() / within.len() as f64
}

#[test]
fn the_line_lies_in_its_band_on_the_whole() {
    let b = bench();
    let file = file_of(&b, &read(&b));
    let read = learned(&file, today());
    let unread = learning::unread(&file, today(), None, SEED, Effort::VISIT).unwrap();
    for (l, least) in [(&read, 0.75), (&unread, 0.85)] {
        let (report, bands) = banded(&file, l, today());
        let (mut inside, mut all) = (0, 0);
        for group in Group::ALL {
            for measure in Measure::ALL {
                let (line, within) = (series(&report, group, measure), bands.of(&report, group, measure));
                assert_eq!(line.len(), within.len(), "{group:?} {measure:?}");
                for (p, w) in line.iter().zip(&within) {
                    assert_eq!(p.day, w.day);
                    assert!(w.low <= w.high && w.low.is_finite() && w.high.is_finite());
                    assert!(w.low >= 0.0 && (measure == Measure::Top || w.high <= 1.0 + 1e-9));
                    all += 1;
                    // An end stands rounded to five decimals.
                    inside += usize::from(w.low - 1e-5 <= p.value && p.value <= w.high + 1e-5);
                }
            }
        }
        assert!(f64::from(inside as u32) >= least * f64::from(all as u32), "{inside} of {all}");
    }
}

#[test]
fn the_more_is_read_the_narrower() {
    let b = bench();
    let file = file_of(&b, &read(&b));
    let unread = learning::unread(&file, today(), None, SEED, Effort::VISIT).unwrap();
    let (wide_report, wide) = banded(&file, &unread, today());
    let (report, narrow) = banded(&file, &learned(&file, today()), today());
    let ratio = |measure: Measure| {
        let of = |b: &Bands, r: &PlanReport| width(&b.of(r, Group::Jacket, measure));
        of(&narrow, &report) / of(&wide, &wide_report)
    };
    let all = [Measure::Cover, Measure::Ripe, Measure::Evenness, Measure::Top].map(ratio);
    // What lengths and ease tell least of is the bare time, and with it the cover.
    assert!(all.iter().all(|r| *r > 0.0 && *r < 1.0), "{all:?}");
    assert!(all.iter().sum::<f64>() < 0.85 * 4.0, "{all:?}");
}

#[test]
fn a_band_knows_nothing_of_the_future_and_is_the_same_to_the_byte() {
    let b = bench();
    let file = file_of(&b, &read(&b));
    let day = Day::from_ymd(2026, 9, 30).unwrap();
    let mut then = file.clone();
    then.history.retain(|e| e.date <= day);
    assert!(file.history.iter().any(|e| e.date > day && matches!(e.kind, EventKind::Visit(_))));
    let bytes = |file: &DogFile, day: Day| serde_json::to_vec(&banded(file, &learned(file, day), day).1).unwrap();
    assert_eq!(bytes(&file, day), bytes(&then, day));
    assert_eq!(bytes(&file, day), bytes(&file, day));
    assert_ne!(bytes(&file, day), bytes(&file, today()));
}

#[test]
fn a_dog_that_was_never_read_has_the_bands_of_the_dogs_before_it() {
    let b = bench();
    let new = b.add(a_dog("New"), vec![an_event("2026-07-01", "left alone")]);
    let of = |id: &RecordId| {
        let (planned, bands) = ready(b.desk.plan_with_bands(&b.who, today(), id)).unwrap();
        (planned.report, bands.expect("bands"))
    };
    let (report, by_type) = of(&new);
    // By the prior of its coat type, through the plan's visits.
    let file = file_of(&b, &new);
    let unread = learning::unread(&file, today(), None, SEED, Effort::VISIT).unwrap();
    assert_eq!(by_type, learning::bands(&file, &unread, &file, &report).unwrap());
    assert_eq!(of(&new).1, by_type, "as kept");
    // Once the shop knows dogs of its type, their spread.
    for _ in 0..5 {
        let id = read(&b);
        ready(b.desk.plan(&b.who, today(), &id, &Changes::default())).unwrap();
    }
    assert_ne!(of(&new).1, by_type);
}
