//! Minutes by the clocks of finished visits.

use super::*;
use app::shop::{Minutes, PersonId, Store, Times};

/// Minutes reckoned at an even pace for [`a_visit`] to [`a_dog`].
fn reckoned_min() -> f64 {
    let b = bench();
    let timed = EventBody { work_min: Some(60.0), ..a_visit("2026-08-12") };
    let id = b.add(a_dog("Any"), vec![an_event("2026-08-12", "left alone"), timed]);
    let (file, _) = ready(b.desk.dog_file(&b.who, &id)).unwrap();
    app::learning::clocks(&file, today())[0].reckoned_min
}

/// A colleague with a pace typed in.
fn colleague(b: &Bench, name: &str, pace: f64) -> PersonId {
    let person = Person { pace, ..a_person(name, name) };
    let saved = ready(b.desk.add_person(&b.who, person, "$argon2id$invented".into())).unwrap();
    PersonId::new(saved.id.as_str()).unwrap()
}

/// A dog of a colleague's with visits that took so many times what is reckoned.
fn timed(b: &Bench, name: &str, by: &PersonId, days: &[&str], times: f64) -> RecordId {
    let took = Some((10.0 * times * reckoned_min()).round() / 10.0);
    let mut history = vec![an_event("2026-08-12", "left alone")];
    history.extend(days.iter().map(|day| EventBody { work_min: took, ..a_visit(day) }));
    b.add(DogBody { groomer: Some(by.clone()), ..a_dog(name) }, history)
}

const DAYS: [&str; 5] = ["2026-08-12", "2026-09-02", "2026-09-23", "2026-10-14", "2026-11-04"];

fn minutes(b: &Bench, id: &RecordId, day: Day) -> Option<Minutes> {
    ready(b.desk.taught(&b.who, day, id)).unwrap().minutes
}

fn next_min(b: &Bench, id: &RecordId, day: Day) -> f64 {
    ready(b.desk.plan(&b.who, day, id, &Changes::default())).unwrap().report.visits[0].min
}

fn holds(t: &Times, times: f64) -> bool {
    t.low < times && times < t.high && t.low < t.mean && t.mean < t.high
}

#[test]
fn plans_go_by_the_clocks_of_who_works_the_dog() {
    let b = bench();
    let (wren, other) = (colleague(&b, "Wren", 1.4), colleague(&b, "Alder", 1.0));
    let new = |by: &PersonId| {
        let dog = DogBody { groomer: Some(by.clone()), ..a_dog("New") };
        b.add(dog, vec![an_event("2026-08-12", "left alone")])
    };
    let (hers, his) = (new(&wren), new(&other));
    assert_eq!(minutes(&b, &hers, today()), None, "no clock: the pace typed in holds");
    let typed = next_min(&b, &hers, today());
    assert!((typed / next_min(&b, &his, today()) - 1.4).abs() < 0.01);
    // Said to be slow, and is as quick as reckoned, but for one dog that fidgets.
    for i in 0..6 {
        timed(&b, &format!("Even {i}"), &wren, &DAYS, 1.0);
    }
    let fidgets = timed(&b, "Fidgets", &wren, &DAYS, 1.3);
    let tomorrow = today() + 1;
    let m = minutes(&b, &hers, tomorrow).expect("clocks");
    assert_eq!((m.groomer.as_deref(), m.typed, m.groomer_clocks, m.dog_clocks), (Some("Wren"), 1.4, 35, 0));
    assert!(m.of_groomer.mean < 1.25 && m.of_groomer.mean > 1.0, "{m:?}");
    assert!(holds(&m.together, m.of_groomer.mean), "{m:?}");
    let of_dog = minutes(&b, &fidgets, tomorrow).expect("clocks");
    assert_eq!((of_dog.of_groomer, of_dog.dog_clocks), (m.of_groomer, 5));
    assert!(of_dog.of_dog.mean > 1.1 && holds(&of_dog.together, 1.3), "{of_dog:?}");
    // Its own clocks make it surer.
    let width = |t: &Times| (t.high / t.low).ln();
    assert!(width(&of_dog.together) < width(&m.together));
    // The plan reckons with both together, in steps of 0.02.
    let (now, even) = (next_min(&b, &hers, tomorrow), next_min(&b, &his, tomorrow));
    assert!((now / even - m.together.mean).abs() < 0.011, "{now} {even} {m:?}");
    // Nobody timed the other, and the dog is new: the pace typed in.
    assert_eq!(minutes(&b, &his, tomorrow), None);
}

#[test]
fn clocks_count_from_the_next_day_and_never_before_they_were_read() {
    let b = bench();
    let wren = colleague(&b, "Wren", 1.0);
    let id = timed(&b, "Early", &wren, &DAYS[..2], 1.5);
    let first = Day::parse(DAYS[1]).unwrap();
    assert_eq!(minutes(&b, &id, Day::parse(DAYS[0]).unwrap()), None);
    assert_eq!(minutes(&b, &id, first).expect("one clock").dog_clocks, 1);
    assert_eq!(minutes(&b, &id, first + 1).expect("two clocks").dog_clocks, 2);
    // What is finished later on a day sets no plan of that day anew.
    let plan = |day: Day| ready(b.desk.plan(&b.who, day, &id, &Changes::default())).unwrap();
    let later = timed(&b, "Later", &wren, &DAYS, 1.5);
    let morning = plan(today());
    assert!(!morning.kept);
    let event = EventBody { work_min: Some(2.0 * reckoned_min()), ..a_visit("2026-11-25") };
    ready(b.desk.set_event(&b.who, today(), &later, None, 0, event)).unwrap();
    let evening = plan(today());
    assert!(evening.kept);
    assert_eq!(morning.from, evening.from);
    let next = minutes(&b, &id, today() + 1).expect("clocks");
    assert_eq!(next.groomer_clocks, 8);
    assert!(next.of_groomer.mean > minutes(&b, &id, today()).expect("clocks").of_groomer.mean);
}

#[test]
fn clocks_are_kept_without_names() {
    let memory = Arc::new(Memory::default());
    let desk = Desk::new(memory.clone(), Arc::new(Counted::default()), Arc::new(plan::Highs));
    let (b, theirs) = (found(&desk, "ida"), found(&desk, "bo"));
    let wren = colleague(&b, "Wren", 1.0);
    let id = timed(&b, "Barley", &wren, &DAYS, 1.2);
    minutes(&b, &id, today()).expect("clocks");
    for name in ["clocks", "paces"] {
        let kept = ready(memory.all_made(&b.who.shop, name, ("", "~"), 100)).unwrap();
        assert_eq!(kept.len(), 1, "{name}");
        let text = String::from_utf8(kept[0].1.clone()).unwrap();
        for word in ["Wren", "Ida", "Barley", "Dock Lane"] {
            assert!(!text.contains(word), "{name}: {text}");
        }
        assert!(ready(memory.all_made(&theirs.who.shop, name, ("", "~"), 100)).unwrap().is_empty());
    }
    // Another shop's clocks say nothing here.
    let fresh = colleague(&theirs, "Heron", 1.0);
    let dog = DogBody { groomer: Some(fresh), ..a_dog("New") };
    let new = theirs.add(dog, vec![an_event("2026-08-12", "left alone")]);
    assert_eq!(minutes(&theirs, &new, today() + 1), None);
}
