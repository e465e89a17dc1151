//! Corrections of the history say what they changed.

use super::*;
use app::shop::Kind;

#[test]
fn a_correction_says_what_changed() {
    let b = bench();
    let id = b.rolling("Teasel");
    let event = ready(b.desk.dog(&b.who, &id)).unwrap().events.pop().unwrap();
    // The last visit took one in ten, not one in five.
    let mut right = event.body.clone();
    right.zones[0].share = Some(0.1);
    let c = ready(b.desk.set_event(&b.who, today(), &id, Some(&event.id), event.revision, right)).unwrap();
    assert_eq!(c.saved.revision, 2);
    let (before, after) = (c.before.unwrap(), c.after.unwrap());
    assert!(after.coat.dog.ripe > before.coat.dog.ripe, "less was pulled, more is ripe");
    assert!(c.changed.iter().any(|s| s.starts_with("Ripe hair today is")), "{:?}", c.changed);
    // What the correction says is what the dog's plan says from now on.
    let plan = ready(b.desk.plan(&b.who, today(), &id, &Default::default())).unwrap().report;
    let next: Vec<(String, f64)> = plan.visits.iter().map(|v| (v.date.clone(), v.min)).collect();
    assert_eq!(next, after.next);
    let changes = ready(b.desk.changes(&b.who, Kind::Event, &event.id)).unwrap();
    assert_eq!(changes[0].fields, ["zones"]);

    // The same again changes nothing.
    let same = ready(b.desk.dog(&b.who, &id)).unwrap().events.pop().unwrap();
    let c = ready(b.desk.set_event(&b.who, today(), &id, Some(&same.id), 2, same.body)).unwrap();
    assert_eq!(c.changed, Vec::<String>::new());
}

#[test]
fn an_event_may_be_added_and_taken_out() {
    let b = bench();
    let id = b.rolling("Larch");
    let clipped = EventBody { length_mm: Some(6.0), ..an_event("2026-11-10", "clipped") };
    let c = ready(b.desk.set_event(&b.who, today(), &id, None, 0, clipped)).unwrap();
    let (before, after) = (c.before.unwrap(), c.after.unwrap());
    let hard = |s: &app::shop::Standing| s.coat.dog.hard.unwrap();
    assert!(hard(&after) < 0.5 * hard(&before), "what was cut is soft");
    assert!(c.changed.iter().any(|s| s.starts_with("Hard hair today is")), "{:?}", c.changed);
    let dropped = ready(b.desk.drop_event(&b.who, today(), &id, &c.saved.id, 1)).unwrap();
    let now = dropped.after.unwrap();
    assert!((hard(&now) - hard(&before)).abs() < 1e-9);
    assert_eq!(ready(b.desk.dog(&b.who, &id)).unwrap().events.len(), 3);
    // It is still known that it was there.
    let changes = ready(b.desk.changes(&b.who, Kind::Event, &c.saved.id)).unwrap();
    assert!(changes[0].gone && !changes[1].gone);
}

#[test]
fn faults_of_an_event_stand_bare_and_those_of_others_say_which() {
    let b = bench();
    let id = b.rolling("Alder");
    let check = |event: EventBody, want: &[&str]| {
        assert_eq!(fields(ready(b.desk.set_event(&b.who, today(), &id, None, 0, event))), want);
    };
    check(an_event("2026-11-40", "flat"), &["day"]);
    check(EventBody { length_mm: Some(0.0), ..an_event("2026-11-10", "clipped") }, &["length_mm"]);
    check(an_event("2021-01-01", "flat"), &["day"]);
    // Named after `visit` on the same day by the order of the file; the later entry is at fault.
    check(an_event("2026-11-04", "flat"), &["day"]);
    let mut visit = a_visit("2026-11-20");
    visit.zones[0].zones = vec!["wing".into()];
    check(visit, &["zones.0.zones"]);
    // A history that begins later than the day of the plan has no coat today.
    let only = b.add(a_dog("Late"), vec![]);
    let later = ready(b.desk.set_event(&b.who, today(), &only, None, 0, an_event("2027-03-01", "flat")));
    assert!(matches!(later, Err(ShopFailure::Refused(_))), "{later:?}");
}

#[test]
fn two_who_correct_the_same_event() {
    let b = bench();
    let id = b.rolling("Rowan");
    let event = ready(b.desk.dog(&b.who, &id)).unwrap().events.pop().unwrap();
    let body = |min: f64| EventBody { work_min: Some(min), ..event.body.clone() };
    ready(b.desk.set_event(&b.who, today(), &id, Some(&event.id), 1, body(80.0))).unwrap();
    let second = ready(b.desk.set_event(&b.who, today(), &id, Some(&event.id), 1, body(90.0)));
    assert!(matches!(second, Err(ShopFailure::Conflict { .. })), "{second:?}");
}
