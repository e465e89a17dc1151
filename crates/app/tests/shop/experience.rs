//! What a shop's dogs teach of the next one of their coat type.

use super::*;
use app::planning::Options;
use serde_json::{Value, to_value};

/// A dog of slow growth, read at five visits before `today`.
pub(super) fn slow(b: &Bench, name: &str) -> RecordId {
    let mut history = vec![an_event("2026-08-12", "left alone")];
    for (i, day) in ["2026-08-12", "2026-09-02", "2026-09-23", "2026-10-14", "2026-11-04"].into_iter().enumerate() {
        let mut visit = a_visit(day);
        visit.zones[0].longest_mm = Some(17.0);
        visit.zones[0].new_layer_mm = [None, None, Some(3.0), Some(4.0), Some(4.0)][i];
        visit.zones[0].ease = Some(2);
        history.push(visit);
    }
    b.add(a_dog(name), history)
}

pub(super) fn planned(b: &Bench, id: &RecordId, day: Day) -> (Value, bool) {
    let p = ready(b.desk.plan(&b.who, day, id, &Changes::default())).unwrap();
    (to_value(&*p.report).unwrap(), p.rests_on.readings > 0)
}

/// The plan of the dog's file and of nothing else.
pub(super) fn alone(b: &Bench, id: &RecordId, day: Day) -> Value {
    let (file, _) = ready(b.desk.dog_file(&b.who, id)).unwrap();
    let options = Options::on(day);
    let case = app::planning::Case::new(&file, &options).unwrap();
    to_value(case.report(&plan::Highs, None).unwrap()).unwrap()
}

#[test]
fn the_next_dog_of_a_type_starts_from_what_the_shop_learned() {
    let b = bench();
    for i in 0..6 {
        slow(&b, &format!("Slow {i}"));
    }
    let new = |coat: &str| {
        let dog = DogBody { coat: coat.into(), ..a_dog(&format!("New {coat}")) };
        b.add(dog, vec![an_event("2026-07-01", "left alone")])
    };
    let (wire, pin) = (new("wire"), new("pin wire"));
    let (ours, learned) = planned(&b, &wire, today());
    assert!(!learned, "nothing was read of this dog itself");
    let bare = alone(&b, &wire, today());
    assert_ne!(ours, bare);
    // Slower coats: the new dog's hair is expected to be shorter.
    let top = |v: &Value| {
        let zones = v["forecast"][0]["zones"].as_array().unwrap();
        zones.iter().find(|z| z["zone"] == "back").unwrap()["top_mm"].as_f64().unwrap()
    };
    assert!(top(&ours) < top(&bare) - 0.5, "{} {}", top(&ours), top(&bare));
    // Dogs of another type say nothing.
    assert_eq!(planned(&b, &pin, today()).0, alone(&b, &pin, today()));
    // Nor does what is only read later.
    let before = Day::from_ymd(2026, 8, 1).unwrap();
    assert_eq!(planned(&b, &wire, before).0, alone(&b, &wire, before));
}

#[test]
fn a_dog_does_not_teach_itself_twice() {
    let b = bench();
    let id = slow(&b, "Only");
    let first = planned(&b, &id, today());
    assert!(first.1);
    assert_eq!(planned(&b, &id, today()), first);
    let (file, _) = ready(b.desk.dog_file(&b.who, &id)).unwrap();
    let file = app::learning::as_learned(&file, today()).unwrap();
    let options = Options::on(today());
    let case = app::planning::Case::new(&file, &options).unwrap();
    assert_eq!(first.0, to_value(case.report(&plan::Highs, None).unwrap()).unwrap());
}

#[test]
fn what_was_learned_is_told_with_what_it_rests_on() {
    let b = bench();
    let id = slow(&b, "Told");
    let taught = ready(b.desk.taught(&b.who, today(), &id)).unwrap();
    // What the file of the dog alone says, but for the next reading, which is asked for by itself.
    let (file, _) = ready(b.desk.dog_file(&b.who, &id)).unwrap();
    let effort = learn::Effort::VISIT;
    let alone = app::learning::report(&file, today(), None, app::learning::SEED, effort, None).unwrap();
    assert_eq!(taught.report, alone);
    assert_eq!((taught.rests_on.readings, taught.rests_on.dogs), (alone.readings.len(), 0));
    assert!(alone.readings.len() >= 13 && !alone.sentences.is_empty());
    let plan = ready(b.desk.plan(&b.who, today(), &id, &Changes::default())).unwrap();
    assert_eq!(plan.rests_on.readings, alone.readings.len());
    assert!(!plan.rests_on.said.is_empty() && alone.sentences.starts_with(&plan.rests_on.said));
    // Once more, as it was kept.
    assert_eq!(ready(b.desk.taught(&b.who, today(), &id)).unwrap(), taught);
    assert_eq!(ready(b.desk.plan(&b.who, today(), &id, &Changes::default())).unwrap().rests_on, plan.rests_on);
    // A dog of which nothing was read rests on the others; a dog of another type on its defaults.
    let new = b.add(a_dog("New"), vec![an_event("2026-07-01", "left alone")]);
    let rests = ready(b.desk.taught(&b.who, today(), &new)).unwrap().rests_on;
    assert_eq!((rests.readings, rests.dogs, rests.said.len()), (0, 1, 0));
    assert_eq!(ready(b.desk.plan(&b.who, today(), &new, &Changes::default())).unwrap().rests_on, rests);
    let pin = DogBody { coat: "pin wire".into(), ..a_dog("Pin") };
    let pin = b.add(pin, vec![an_event("2026-07-01", "left alone")]);
    assert_eq!(ready(b.desk.taught(&b.who, today(), &pin)).unwrap().rests_on, app::shop::RestsOn::default());
}

#[test]
fn the_next_reading_is_for_the_next_visit() {
    let b = bench();
    let id = slow(&b, "Next");
    let next = ready(b.desk.next_reading(&b.who, today(), &id)).unwrap().expect("something to read");
    assert_eq!(next.date, "2026-11-25", "a rhythm after 2026-11-04");
    assert!(next.fall > 0.0 && !next.zones.is_empty());
    assert_eq!(ready(b.desk.next_reading(&b.who, today(), &id)).unwrap(), Some(next));
    let booked = Day::from_ymd(2026, 12, 3).unwrap();
    ready(b.desk.plan_visit(&b.who, &id, booked, None, String::new())).unwrap();
    let next = ready(b.desk.next_reading(&b.who, today(), &id)).unwrap().expect("something to read");
    assert_eq!(next.date, "2026-12-03", "as it was booked");
}

#[test]
fn one_dog_more_among_many_sets_no_other_anew() {
    let b = bench();
    for i in 0..9 {
        slow(&b, &format!("Slow {i}"));
    }
    let new = b.add(a_dog("New"), vec![an_event("2026-07-01", "left alone")]);
    let plan = |day: Day| ready(b.desk.plan(&b.who, day, &new, &Changes::default())).unwrap();
    let first = plan(today());
    assert_eq!(first.rests_on.dogs, 9);
    slow(&b, "One more");
    let again = plan(today());
    assert!(again.kept, "the plan of this morning holds");
    assert_eq!((again.from, again.rests_on), (first.from, first.rests_on));
    assert_eq!(plan(today() + 1).rests_on.dogs, 10, "the next day it counts");
}
