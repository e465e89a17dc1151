//! What is made once and kept: by one of those who ask at the same time, and without being in anybody's way.

use super::*;
use std::sync::Barrier;

#[test]
fn who_asks_while_a_plan_is_made_waits_for_it() {
    let b = bench();
    let dog = b.rolling("Moss");
    let together = Barrier::new(4);
    let ask = || {
        together.wait();
        ready(b.desk.plan(&b.who, today(), &dog, &Changes::default())).unwrap()
    };
    let plans: Vec<_> = std::thread::scope(|s| {
        let asked: Vec<_> = (0..4).map(|_| s.spawn(ask)).collect();
        asked.into_iter().map(|a| a.join().unwrap()).collect()
    });
    assert_eq!(plans.iter().filter(|p| !p.kept).count(), 1, "one made it");
    assert!(plans.iter().all(|p| p.from == plans[0].from && p.report.visits.len() == plans[0].report.visits.len()));
}

#[test]
fn one_who_goes_away_lets_the_next_make_it() {
    let b = bench();
    let dog = b.rolling("Moss");
    let gone = b.desk.clone();
    let (who, id) = (b.who.clone(), dog.clone());
    {
        // Polled once, so that it has begun, then dropped.
        let mut asked = Box::pin(async move { gone.plan(&who, today(), &id, &Changes::default()).await });
        let mut cx = std::task::Context::from_waker(std::task::Waker::noop());
        assert!(asked.as_mut().poll(&mut cx).is_pending());
    }
    assert!(!ready(b.desk.plan(&b.who, today(), &dog, &Changes::default())).unwrap().kept);
}

#[test]
fn todays_plans_are_there_before_anybody_asks() {
    let b = bench();
    let (today_s, other) = (b.rolling("Moss"), b.rolling("Fern"));
    ready(b.desk.plan_visit(&b.who, &today_s, today(), None, String::new())).unwrap();
    ready(b.desk.meanwhile().prepare(&b.who, today(), today())).unwrap();
    let kept = |dog| ready(b.desk.plan(&b.who, today(), dog, &Changes::default())).unwrap().kept;
    assert!(kept(&today_s), "it was prepared");
    assert!(!kept(&other), "nobody has it down for today");
}

/// A dog whose record contradicts itself does not keep the others from their plans.
#[test]
fn a_dog_that_cannot_be_planned_is_passed_over() {
    let b = bench();
    let odd = b.rolling("Moss");
    let good = b.rolling("Fern");
    for dog in [&odd, &good] {
        ready(b.desk.plan_visit(&b.who, dog, today(), None, String::new())).unwrap();
    }
    // Five minutes are gone before any hair is pulled.
    let dog = ready(b.desk.dog(&b.who, &odd)).unwrap().dog;
    let short = DogBody { table_max_min: Some(5.0), ..dog.body };
    ready(b.desk.set_dog(&b.who, today(), Some(&odd), &b.owner, dog.revision, short)).unwrap();
    ready(b.desk.prepare(&b.who, today(), today())).unwrap();
    assert!(ready(b.desk.plan(&b.who, today(), &odd, &Changes::default())).is_err());
    assert!(ready(b.desk.plan(&b.who, today(), &good, &Changes::default())).unwrap().kept);
}

#[cfg(target_os = "linux")]
#[test]
fn what_nobody_waits_for_gives_way() {
    let b = bench();
    let dog = b.rolling("Moss");
    ready(b.desk.meanwhile().plan(&b.who, today(), &dog, &Changes::default())).unwrap();
    let mut threads = 0;
    for task in std::fs::read_dir("/proc/self/task").unwrap() {
        let stat = std::fs::read_to_string(task.unwrap().path().join("stat")).unwrap();
        let (name, rest) = stat.rsplit_once(')').unwrap();
        // The 19th value of proc(5)'s list is the niceness; the first two end with the name.
        let nice: i32 = rest.split_whitespace().nth(16).unwrap().parse().unwrap();
        if name.contains("(meanwhile-") {
            threads += 1;
            assert!(nice >= 10, "{name}: {nice}");
        } else {
            assert!(nice < 10, "{name}: {nice}");
        }
    }
    assert!(threads > 0, "the plan was made by threads of their own");
}

/// Two programs on one store: neither holds on to what the other has changed.
#[test]
fn what_another_program_writes_is_seen() {
    let store: Arc<Memory> = Arc::default();
    let a = Desk::new(store.clone(), Arc::new(Counted::default()), Arc::new(plan::Highs));
    let b = found(&a, "ida");
    let other = Desk::new(store, Arc::new(Counted::default()), Arc::new(plan::Highs));
    let dog = b.rolling("Moss");
    let visit = ready(a.plan_visit(&b.who, &dog, today(), None, String::new())).unwrap();
    let (card, first) =
        (ready(a.dog(&b.who, &dog)).unwrap(), ready(a.plan(&b.who, today(), &dog, &Changes::default())).unwrap());
    let day = || ready(a.day(&b.who, today(), today())).unwrap();
    assert_eq!(day().iter().map(|l| l.name.as_str()).collect::<Vec<_>>(), ["Moss"]);

    let renamed = DogBody { name: "Fern".into(), rhythm_days: Some(14), ..card.dog.body };
    ready(other.set_dog(&b.who, today(), Some(&dog), &b.owner, card.dog.revision, renamed)).unwrap();
    assert_eq!(ready(a.dog(&b.who, &dog)).unwrap().dog.body.name, "Fern");
    let again = ready(a.plan(&b.who, today(), &dog, &Changes::default())).unwrap();
    assert!(again.from != first.from && again.report.rhythm_days == 14 && again.report.dog == "Fern");
    assert_eq!(day().iter().map(|l| l.name.as_str()).collect::<Vec<_>>(), ["Fern"]);
    ready(other.call_off(&b.who, &visit.id, visit.revision)).unwrap();
    assert!(day().is_empty());
}

/// What is reckoned of a coat comes and goes beside the records.
#[test]
fn a_line_of_the_table_is_as_it_was_reckoned_last() {
    let b = bench();
    let dog = b.rolling("Moss");
    ready(b.desk.plan_visit(&b.who, &dog, today(), None, String::new())).unwrap();
    let line = || ready(b.desk.day(&b.who, today(), today())).unwrap().remove(0).line;
    let before = line();
    let mut found = ready(b.desk.dog(&b.who, &dog)).unwrap().found.unwrap();
    found.line = "Something else.".into();
    ready(b.desk.store().place(&b.who.shop, &[found])).unwrap();
    assert_ne!(before, "Something else.");
    assert_eq!(line(), "Something else.");
}
