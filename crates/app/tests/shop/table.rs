//! The day and the work at the table.

use super::*;
use app::dog_file::Temper;
use app::shop::{Delivered, Entry, EntryBody, Kind, VisitState, Work, ZoneState};
use coat::Zone;

struct Table {
    b: Bench,
    dog: RecordId,
    visit: RecordId,
}

/// A rolling dog at the table.
fn at_table() -> Table {
    let b = bench();
    let dog = b.rolling("Barley");
    let visit = ready(b.desk.plan_visit(&b.who, &dog, today(), None, String::new())).unwrap().id;
    let begun = ready(b.desk.begin_visit(&b.who, today(), &visit)).unwrap();
    assert_eq!(begun.body.state, VisitState::AtTable);
    assert!(begun.body.planned.is_some());
    Table { b, dog, visit }
}

fn tap(n: i64, zone: Option<&str>, what: Entry) -> (RecordId, EntryBody) {
    let id = RecordId::new(format!("tap-{n:06}")).unwrap();
    // A browser whose clock is a day wrong.
    let entry =
        EntryBody { zone: zone.map(str::to_owned), count: n, browser: "apron".into(), browser_ms: -86_400_000, what };
    (id, entry)
}

impl Table {
    fn deliver(&self, entries: Vec<(RecordId, EntryBody)>) -> Delivered {
        ready(self.b.desk.deliver(&self.b.who, &self.visit, entries)).unwrap()
    }

    fn work(&self) -> Work {
        ready(self.b.desk.work(&self.b.who, &self.visit)).unwrap()
    }
}

fn zone(w: &Work, zone: Zone) -> &app::shop::WorkZone {
    w.zones.iter().find(|z| z.zone == zone).unwrap()
}

fn state(w: &Work) -> Vec<String> {
    let zones = w.zones.iter().map(|z| {
        format!(
            "{} {:?} {:?} {} {:?} {:?} {:?} {}",
            z.zone, z.state, z.pulled, z.all_ripe, z.carded, z.ease, z.longest_mm, z.seconds
        )
    });
    zones.chain([format!("{:?} {:?} {}", w.bearing, w.ease, w.seconds)]).collect()
}

#[test]
fn zones_come_in_working_order_with_their_plan() {
    let t = at_table();
    let w = t.work();
    let order: Vec<Zone> = w.zones.iter().map(|z| z.zone).collect();
    let want: Vec<Zone> = Zone::WORKING_ORDER.into_iter().filter(|z| *z != Zone::InnerThighs).collect();
    assert_eq!(order, want);
    assert!(w.zones.iter().all(|z| z.state == ZoneState::Open && z.planned.is_some()));
    assert!(w.zones.iter().any(|z| z.advised.amount.starts_with("1 in")));
    assert!(w.planned_min > Some(20.0));
    // A second tap on *begin* changes nothing.
    let again = ready(t.b.desk.begin_visit(&t.b.who, today() + 1, &t.visit)).unwrap();
    assert_eq!((again.revision, again.body.day.as_str()), (w.visit.revision, "2026-11-25"));
}

#[test]
fn delivered_in_any_order_and_twice_comes_to_the_same() {
    let back = Some("back");
    let taps = vec![
        tap(1, back, Entry::Clock { seconds: 0, running: true }),
        tap(2, back, Entry::AsPlanned),
        tap(3, back, Entry::Ease { ease: 2 }),
        tap(4, back, Entry::Clock { seconds: 305, running: false }),
        tap(5, Some("sides"), Entry::Pulled { share: 0.125 }),
        tap(6, Some("sides"), Entry::Undo { entry: tap(5, None, Entry::Left).0 }),
        tap(7, Some("sides"), Entry::AllRipe),
        tap(8, Some("sides"), Entry::LongestMm { mm: 27.0 }),
        tap(9, None, Entry::Bearing { bearing: "fidgets".into() }),
        tap(10, Some("crest"), Entry::AsPlanned),
        tap(11, None, Entry::Ease { ease: 3 }),
    ];
    let t = at_table();
    let all = t.deliver(taps.clone());
    assert_eq!((all.accepted.len(), all.refused.len(), all.finished), (11, 0, false));
    let want = state(&t.work());
    assert!(want.iter().any(|s| s.starts_with("sides Done None true")), "{want:?}");
    // Twice: acknowledged again, kept once.
    assert_eq!(t.deliver(taps.clone()).accepted.len(), 11);
    assert_eq!(t.work().entries.len(), 9);
    assert_eq!(state(&t.work()), want);
    // Backwards, one by one, the first three twice, some in the same delivery twice.
    let t = at_table();
    for one in taps.iter().rev().chain(&taps[..3]) {
        t.deliver(vec![one.clone(), one.clone()]);
    }
    assert_eq!(state(&t.work()), want);
    // In other orders.
    for k in 1..taps.len() {
        let t = at_table();
        let mut turned = taps.clone();
        turned.rotate_left(k);
        for chunk in turned.chunks(3) {
            t.deliver(chunk.to_vec());
        }
        assert_eq!(state(&t.work()), want, "rotated by {k}");
    }
}

#[test]
fn one_bad_entry_does_not_hold_up_the_others() {
    let t = at_table();
    let got = t.deliver(vec![
        tap(1, Some("back"), Entry::AsPlanned),
        tap(2, Some("wing"), Entry::AsPlanned),
        tap(3, Some("back"), Entry::Pulled { share: -0.1 }),
        tap(4, Some("back"), Entry::Ease { ease: 2 }),
    ]);
    assert_eq!(got.accepted, [tap(1, None, Entry::Left).0, tap(4, None, Entry::Left).0]);
    let refused: Vec<(&str, &str)> = got.refused.iter().map(|r| (r.0.as_str(), r.1.field.as_str())).collect();
    assert_eq!(refused, [("tap-000002", "zone"), ("tap-000003", "share")]);
    // An id that belongs to another visit is refused alone.
    let dog = t.b.rolling("Other");
    let other = ready(t.b.desk.plan_visit(&t.b.who, &dog, today(), None, String::new())).unwrap().id;
    let entries = vec![tap(1, Some("back"), Entry::Left), tap(9, Some("back"), Entry::Left)];
    let got = ready(t.b.desk.deliver(&t.b.who, &other, entries)).unwrap();
    assert_eq!(got.accepted, [tap(9, None, Entry::Left).0]);
    assert_eq!(got.refused[0].1.field, "id");
}

#[test]
fn a_zone_that_is_set_is_left_and_what_came_counts() {
    let t = at_table();
    t.deliver(vec![
        tap(1, Some("back"), Entry::Ease { ease: 4 }),
        tap(2, Some("sides"), Entry::Pulled { share: 0.05 }),
        tap(3, Some("sides"), Entry::Ease { ease: 5 }),
        tap(4, Some("loin"), Entry::AsPlanned),
        tap(5, Some("loin"), Entry::Ease { ease: 3 }),
    ]);
    let w = t.work();
    assert_eq!((zone(&w, Zone::Back).state, zone(&w, Zone::Back).pulled), (ZoneState::Done, None));
    assert!(zone(&w, Zone::Back).stop.is_some_and(|s| s.starts_with("Stop here")));
    assert_eq!(zone(&w, Zone::Sides).pulled, Some(0.05));
    assert!(zone(&w, Zone::Sides).stop.is_some() && zone(&w, Zone::Loin).stop.is_none());
    let f = ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    let of = |z: &str| f.event.body.zones.iter().find(|r| r.zones == [z]).unwrap();
    assert_eq!((of("back").share, of("back").ease), (None, Some(4)));
    assert_eq!((of("sides").share, of("sides").ease), (Some(0.05), Some(5)));
    let why = |z: Zone| f.left.iter().find(|l| l.zone == z).map(|l| l.why.as_str());
    assert_eq!(why(Zone::Back), Some("Set, not ripe: it would not come."));
    assert_eq!(why(Zone::Loin), None);
    assert!(why(Zone::Rump).is_some_and(|w| w.starts_with("Not worked")), "{:?}", why(Zone::Rump));
}

#[test]
fn how_it_bears_the_work_lowers_what_is_still_to_come() {
    let t = at_table();
    let calm = t.work();
    let share = |w: &Work, z: Zone| zone(w, z).advised.share;
    assert!(share(&calm, Zone::Back) > 0.125, "{}", share(&calm, Zone::Back));
    t.deliver(vec![
        tap(1, Some("back"), Entry::AsPlanned),
        tap(2, None, Entry::Bearing { bearing: "objects".into() }),
        tap(3, Some("sides"), Entry::AsPlanned),
    ]);
    let w = t.work();
    assert_eq!(w.bearing, Temper::Objects);
    // What is done stays done; what is open is at most half of the cap, 0.25: one in eight.
    assert_eq!(zone(&w, Zone::Back).pulled, Some(share(&calm, Zone::Back)));
    assert_eq!(zone(&w, Zone::Sides).pulled, Some(0.125));
    assert_eq!(zone(&w, Zone::Loin).advised.amount, "1 in 8");
    assert!(zone(&w, Zone::Loin).advised.lowered.is_some());
    for z in w.zones.iter().filter(|z| z.tender) {
        assert_eq!(z.advised.amount, "leave", "{}: tender zones are left", z.zone);
    }
    // The next plan has half the caps too, and says why; a calm visit lifts them.
    ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    let plan = ready(t.b.desk.plan(&t.b.who, today(), &t.dog, &Default::default())).unwrap();
    assert!(plan.note.is_some_and(|n| n.contains("objected")));
    for v in &plan.report.visits {
        for z in v.zones.iter().filter(|z| z.zone == "back") {
            assert!(z.share <= 0.125 + 1e-9, "{} {}", v.date, z.share);
        }
    }
    // Taken back, it is as if nobody had said it.
    t.deliver(vec![tap(4, None, Entry::Undo { entry: tap(2, None, Entry::Left).0 })]);
    assert_eq!(zone(&t.work(), Zone::Loin).advised.amount, zone(&calm, Zone::Loin).advised.amount);
    let again = ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    assert_eq!(again.visit.body.bearing.as_deref(), Some("calm"));
    assert!(ready(t.b.desk.plan(&t.b.who, today(), &t.dog, &Default::default())).unwrap().note.is_none());
}

#[test]
fn a_finished_visit_is_an_event_and_the_engine_agrees() {
    let t = at_table();
    let mut taps = vec![
        tap(1, Some("back"), Entry::Pulled { share: 0.2 }),
        tap(2, Some("back"), Entry::Carded { yes: true }),
        tap(3, Some("skull"), Entry::AllRipe),
        tap(4, Some("sides"), Entry::Left),
        tap(5, Some("back"), Entry::Clock { seconds: 372, running: false }),
        tap(6, None, Entry::Clock { seconds: 3600, running: false }),
        tap(7, Some("loin"), Entry::Clock { seconds: 2, running: false }),
    ];
    t.deliver(taps.clone());
    let f = ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    assert_eq!(f.visit.body.state, VisitState::Done);
    assert_eq!(f.event.body.event, "visit");
    assert_eq!(f.event.body.work_min, Some(60.0));
    let zones: Vec<&str> = f.event.body.zones.iter().map(|z| z.zones[0].as_str()).collect();
    assert_eq!(zones, ["back", "skull"], "in working order, those left not at all");
    assert_eq!(f.event.body.zones[0].work_min, Some(6.2));
    // The engine, asked by itself with the same history, sees the same coat before and after.
    let (file, _) = ready(t.b.desk.dog_file(&t.b.who, &t.dog)).unwrap();
    let file = app::learning::as_learned(&file, today()).unwrap();
    let mut dog = app::model::dog(&file, 21);
    let after = dog.coat_on(today()).unwrap().measures();
    dog.history.retain(|h| h.0 < today());
    let mut then = dog.coat_on(Day::parse("2026-11-04").unwrap()).unwrap();
    then.step_to(today());
    let before = then.measures();
    let close = |a: Option<f64>, b: Option<f64>| (a.unwrap() - b.unwrap()).abs() < 1e-6;
    let back = |c: &app::report::CoatReport| c.zones.iter().find(|z| z.zone == "back").copied().unwrap();
    let theirs = |m: &[coat::ZoneMeasures]| *m.iter().find(|z| z.zone == Zone::Back).unwrap();
    assert!(close(back(&f.after).cover, theirs(&after.1).cover));
    assert!(close(back(&f.after).ripe, theirs(&after.1).ripe));
    assert!(close(back(&f.before).cover, theirs(&before.1).cover));
    // One in five of the visible hair is gone.
    let lost = back(&f.before).cover.unwrap() - back(&f.after).cover.unwrap();
    assert!((lost - 0.2 * back(&f.before).cover.unwrap()).abs() < 1e-6, "{lost}");
    // A rhythm on, and bookable.
    let next = f.next.clone().unwrap();
    assert!(next.day >= today() + 21 && next.min > Some(20.0), "{next:?}");
    assert!(!f.booked);
    ready(t.b.desk.plan_visit(&t.b.who, &t.dog, next.day, None, String::new())).unwrap();

    // Finished again: nothing new. Late taps: the same event, its next revision.
    let again = ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    assert_eq!((again.event.revision, again.visit.revision, again.booked), (1, f.visit.revision, true));
    taps = vec![tap(8, Some("rump"), Entry::Pulled { share: 0.1 })];
    assert!(t.deliver(taps).finished);
    let late = ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    assert_eq!((&late.event.id, late.event.revision), (&f.event.id, 2));
    assert_eq!(late.event.body.zones.len(), 3);
    let card = ready(t.b.desk.dog(&t.b.who, &t.dog)).unwrap();
    assert_eq!(card.events.len(), 4);
    assert_eq!(ready(t.b.desk.changes(&t.b.who, Kind::Event, &late.event.id)).unwrap().len(), 2);
}

#[test]
fn what_cannot_be_recorded_is_said_by_zone() {
    let t = at_table();
    t.deliver(vec![
        tap(1, Some("back"), Entry::LongestMm { mm: 10.0 }),
        tap(2, Some("back"), Entry::NewLayerMm { mm: 12.0 }),
    ]);
    let got = fields(ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)));
    assert_eq!(got, ["back.new_layer_mm"]);
    assert_eq!(t.work().visit.body.state, VisitState::AtTable);
    // mm after a comb depth takes its place.
    t.deliver(vec![
        tap(3, Some("back"), Entry::NewLayerMm { mm: 8.0 }),
        tap(4, Some("sides"), Entry::LongestMm { mm: 20.0 }),
        tap(5, Some("sides"), Entry::LongestDepth { depth: 3 }),
    ]);
    let f = ready(t.b.desk.finish_visit(&t.b.who, today(), &t.visit)).unwrap();
    let sides = f.event.body.zones.iter().find(|z| z.zones == ["sides"]).unwrap();
    assert_eq!((sides.longest_mm, sides.longest_depth), (None, Some(3)));
}

#[test]
fn a_day_in_order() {
    let b = bench();
    let dogs: Vec<RecordId> = ["Ash", "Birk", "Dock"].iter().map(|n| b.rolling(n)).collect();
    let book = |dog: &RecordId, day: Day| ready(b.desk.plan_visit(&b.who, dog, day, None, " note ".into()));
    let visits: Vec<RecordId> = dogs.iter().map(|d| book(d, today()).unwrap().id).collect();
    let names = |day: Day| {
        let lines = ready(b.desk.day(&b.who, today(), day)).unwrap();
        lines.into_iter().map(|l| l.name).collect::<Vec<_>>()
    };
    assert_eq!(names(today()), ["Ash", "Birk", "Dock"]);
    assert_eq!(fields(book(&dogs[0], today())), ["day"], "twice on one day");
    let lines = ready(b.desk.day(&b.who, today(), today())).unwrap();
    assert_eq!(lines[0].owner, "Zoë Ó Briain");
    assert_eq!(lines[0].phones, ["+353850123456"]);
    assert!(lines[0].work_min > Some(20.0) && !lines[0].line.is_empty());
    assert_eq!(lines[0].visit.body.note, "note");
    assert!(lines[0].cautions.iter().all(|c| !app::cautions::ALWAYS.contains(&c.as_str())));
    // The last comes first.
    ready(b.desk.move_visit(&b.who, &visits[2], 1, today(), Some(1))).unwrap();
    assert_eq!(names(today()), ["Dock", "Ash", "Birk"]);
    ready(b.desk.move_visit(&b.who, &visits[0], 2, today() + 1, None)).unwrap();
    assert_eq!((names(today()), names(today() + 1)), (vec!["Dock".into(), "Birk".into()], vec!["Ash".to_owned()]));
    // Missed: it stands in the history. Called off: it is gone from the day.
    ready(b.desk.miss_visit(&b.who, today(), &visits[1], 2)).unwrap();
    let events = ready(b.desk.dog(&b.who, &dogs[1])).unwrap().events;
    assert_eq!(events.last().map(|e| e.body.event.as_str()), Some("missed"));
    ready(b.desk.call_off(&b.who, &visits[2], 2)).unwrap();
    assert_eq!(names(today()), ["Birk"]);
    let moved = ready(b.desk.move_visit(&b.who, &visits[1], 4, today(), None));
    assert_eq!(fields(moved), ["state"]);
    // It came after all: the missed event goes.
    let begun = ready(b.desk.begin_visit(&b.who, today(), &visits[1])).unwrap();
    assert_eq!(begun.body.state, VisitState::AtTable);
    assert_eq!(ready(b.desk.dog(&b.who, &dogs[1])).unwrap().events.len(), 3);
}

#[test]
fn a_day_on_which_it_cannot_come_is_not_proposed() {
    let b = bench();
    let not_on = vec![("2026-12-10".to_owned(), "2026-12-20".to_owned())];
    let history = vec![an_event("2026-10-14", "left alone"), a_visit("2026-10-14"), a_visit("2026-11-04")];
    let dog = b.add(DogBody { not_on, ..a_dog("Sage") }, history);
    let visit = ready(b.desk.plan_visit(&b.who, &dog, today(), None, String::new())).unwrap().id;
    ready(b.desk.begin_visit(&b.who, today(), &visit)).unwrap();
    let all = Zone::ALL.iter().enumerate().filter(|z| *z.1 != Zone::InnerThighs);
    let taps = all.map(|(i, z)| tap(1 + i as i64, Some(z.word()), Entry::AsPlanned)).collect();
    ready(b.desk.deliver(&b.who, &visit, taps)).unwrap();
    let f = ready(b.desk.finish_visit(&b.who, today(), &visit)).unwrap();
    assert_eq!(f.left, []);
    assert_eq!(f.next.map(|n| n.day.to_string()).as_deref(), Some("2026-12-21"));
}
