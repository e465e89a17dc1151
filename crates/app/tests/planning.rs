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

fn alone(rest: &str) -> String {
    format!("{rest}[[history]]\ndate = 2026-11-01\nevent = \"left alone\"\n")
}

fn with(rest: &str, edit: impl Fn(&mut Options)) -> PlanReport {
    let (file, mut options) = (file(rest), Options::on(today()));
    edit(&mut options);
    Case::new(&file, &options).expect("a case").report(&Highs, None).expect("a plan")
}

fn date(text: &str) -> Day {
    Day::parse(text).expect("a date")
}

/// The list of coats says the same, before anybody opens the plan; of the dog a year later it says what is to be taken.
#[test]
fn a_puppy_is_spared_in_the_list_of_coats() {
    let born = |day: &str| {
        let head = HEAD.replace("2021-03-01", day);
        let file = read("dog.toml", format!("{head}table_max_min = 90\n").as_bytes()).expect("a good file");
        let listed = app::shop::reckoned(&file, today()).expect("a coat");
        let plan = Case::new(&file, &Options::on(today())).expect("a case").report(&Highs, None).expect("a plan");
        (listed, plan)
    };
    let (puppy, plan) = born("2026-02-20");
    assert_eq!(puppy.line, "A puppy: fingers only, ten minutes, a few hairs.");
    assert!(
        puppy.work_min.is_some_and(|min| min <= 30.0 + 1e-6 && (min - plan.visits[0].min).abs() < 5.0),
        "{puppy:?}"
    );
    let (grown, _) = born("2025-02-20");
    assert!(grown.line.contains("jacket about 1 in") && !grown.line.contains("puppy"), "{grown:?}");
    assert!(grown.work_min.is_some_and(|min| min > 45.0), "{grown:?}");
}

/// Fingers only, ten minutes, a few hairs, and no way but to wait and roll (product's cautions: common practice).
#[test]
fn a_puppy_is_spared() {
    let head = HEAD.replace("born = 2021-03-01", "born = 2026-05-20");
    let puppy = read("dog.toml", format!("{head}table_max_min = 90\n").as_bytes()).expect("a good file");
    let options = Options::on(today());
    let r = Case::new(&puppy, &options).expect("a case").report(&Highs, None).expect("a plan");
    assert!(r.ways.is_empty());
    for v in &r.visits {
        assert!(v.min <= 30.0 + 1e-6, "{}: {} min", v.date, v.min);
        for z in &v.zones {
            assert!(z.share <= 0.1 + 1e-9, "{} {}", z.zone, z.share);
            assert!(v.date.as_str() > "2027-05-19" || z.works.iter().all(|w| !w.contains("knife")), "{:?}", z.works);
        }
    }
}

/// Taking it down keeps the table time and leaves zones that hands stay off.
#[test]
fn taking_down_keeps_to_the_limits() {
    let free = report(&alone(""));
    assert_eq!(free.ways.iter().map(|w| w.way).collect::<Vec<_>>(), ["roll from today", "take it down, then roll"]);
    assert!(free.ways[1].first_min > 60.0 && !free.ways[1].note.contains("sittings"));
    let sore = "[[zones]]\nzone = \"back\"\nhands_off_until = 2026-12-20\nreason = \"sore\"\n";
    let short = report(&alone(&format!("table_max_min = 60\n{sore}")));
    let down = &short.ways[1];
    assert!(down.first_min <= 60.0 + 1e-6 && down.note.contains("sittings"), "{down:?}");
    assert!(down.note.contains("Hands stay off the back today"), "{down:?}");
    // The first way rolls within the plan, the second later, and says when.
    let weeks = |w: &app::report::WayReport| w.weeks_to_rolling.expect("both roll within a year");
    assert!(weeks(&free.ways[0]) < weeks(&free.ways[1]), "{:?}", free.ways);
}

/// A late visit is priced only on days on which it can be, with the lateness that it has.
#[test]
fn late_visits_keep_off_days_that_are_not_possible() {
    let shut = (date("2026-12-20"), date("2026-12-31"));
    let r = with("rhythm_days = 21\n", |o| o.not_on = vec![shut]);
    let next = r.visits.iter().map(|v| date(&v.date)).find(|d| *d > today()).expect("a next visit");
    assert!(!r.late.is_empty());
    for l in &r.late {
        let day = next + l.days_late;
        assert!(day < shut.0 || day > shut.1, "{} days late is {day}", l.days_late);
    }
    assert!(r.late.windows(2).all(|w| w[0].days_late < w[1].days_late));
}

/// The cost of lateness is that of the whole plan, however far was looked.
#[test]
fn the_cost_of_a_late_visit_does_not_depend_on_how_far_was_looked() {
    // Ten visits are looked ahead: with fourteen days between them that is less than the plan.
    let flat = "rhythm_days = 14\n[[history]]\ndate = 2026-11-20\nevent = \"rolled\"\nevery_weeks = 2\n";
    let whole = with(flat, |_| {});
    let short = with(flat, |o| o.until = Some(today() + 139));
    let at = |r: &PlanReport| r.late.iter().find(|l| l.days_late == 14).expect("priced").cost;
    let (a, b) = (at(&whole) * 183.0, at(&short) * 140.0);
    assert!((a - b).abs() < 0.02 * b.abs(), "{a} {b}");
}

/// A day that matters keeps its name when given twice, and is told when it lies after the plan.
#[test]
fn days_that_matter_are_not_lost() {
    let day = "[[days_that_matter]]\ndate = 2027-03-03\nname = \"show\"\n";
    let r = with(day, |o| o.matter = vec![(date("2027-03-03"), None), (date("2027-09-01"), Some("autumn".to_owned()))]);
    let names: Vec<_> = r.days_that_matter.iter().map(|d| d.name.as_deref()).collect();
    assert_eq!(names, [Some("show"), Some("autumn")]);
    assert!(r.days_that_matter[1].coat.contains("--until"), "{:?}", r.days_that_matter);
}

/// Whatever the table time, there is a plan within it or a message that names what collides.
#[test]
fn little_table_time_gives_a_plan_or_says_why_not() {
    for max in [22.0, 28.0] {
        let r = with(&alone("density = 1.5\n"), |o| o.max_min = Some(max));
        assert!(r.visits.iter().all(|v| v.min <= max + 1e-6), "{max}");
    }
    let file = file(&alone(""));
    let options = Options { max_min: Some(19.6), ..Options::on(today()) };
    let said = Case::new(&file, &options).expect("a case").report(&Highs, None).expect_err("too short").to_string();
    assert!(said.contains("needs `20.0 min` and offers `19.6 min`"), "{said}");
}
