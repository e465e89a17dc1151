//! The demonstration shop.

use super::*;
use app::shop::{Asked, Filter, Found, demo};
use std::collections::BTreeSet;

fn founded() -> (Desk, Who, Vec<Found>) {
    let desk = desk();
    let founded = ready(demo::found(&desk, 1_000, today(), "$argon2id$invented".into())).unwrap();
    let who = Who { shop: founded.shop, person: founded.person, at_ms: 2_000 };
    let found = list(&desk, &who, Filter::All);
    (desk, who, found)
}

fn list(desk: &Desk, who: &Who, filter: Filter) -> Vec<Found> {
    let asked = Asked { words: String::new(), filter, after: None, most: 200 };
    ready(desk.search(who, today(), &asked)).unwrap().found
}

#[test]
fn sixty_invented_dogs_of_every_kind() {
    let (desk, who, dogs) = founded();
    assert_eq!(dogs.len(), 60);
    assert_eq!(dogs.iter().map(|d| &d.name).collect::<BTreeSet<_>>().len(), 60);
    assert!(ready(desk.house(&who)).unwrap().body.demo);
    for filter in [Filter::ReadyThisWeek, Filter::PastItsDay, Filter::Rolling, Filter::Hard, Filter::Resting] {
        let n = list(&desk, &who, filter).len();
        assert!((1..60).contains(&n), "{filter:?}: {n}");
    }
    let lines = ready(desk.day(&who, today(), today())).unwrap();
    assert!((4..=9).contains(&lines.len()), "{} dogs today", lines.len());
    for l in &lines {
        // A dog that comes too early has no minutes: nothing is taken of it.
        let minutes = l.work_min.map_or(l.line.starts_with("Nothing to take"), |m| (25.0..200.0).contains(&m));
        assert!(minutes && !l.line.is_empty(), "{}: {:?} minutes, {}", l.name, l.work_min, l.line);
    }
    for f in list(&desk, &who, Filter::All) {
        let nothing = ["Nothing to take", "Hands off", "No longer"].iter().any(|w| f.line.starts_with(w));
        assert_eq!(f.work_min.is_none(), nothing, "{}: {:?} minutes, {}", f.name, f.work_min, f.line);
    }
    let mut events = BTreeSet::new();
    let mut visits = 0;
    for d in &dogs {
        let card = ready(desk.dog(&who, &d.dog)).unwrap();
        assert!(card.warnings.is_empty(), "{:?}", card.warnings);
        assert!(card.owner.is_some());
        events.extend(card.events.iter().map(|e| e.body.event.clone()));
        visits += card.visits.len();
        assert!(card.events.iter().all(|e| e.body.day <= today().to_string()), "{}", d.name);
    }
    let words = ["clipped", "flat", "left alone", "missed", "rolled", "visit"];
    assert_eq!(events.into_iter().collect::<Vec<_>>(), words);
    assert!(visits > 1000, "{visits} visits in two years");
    // All phones are of the ranges kept for drama.
    for o in ready(desk.owners(&who, "", 100)).unwrap() {
        for p in o.body.phones {
            assert!(p.starts_with("+447700900") || p.starts_with("+441632960"), "{p}");
        }
    }
}

#[test]
fn the_same_day_gives_the_same_shop() {
    let (_, _, a) = founded();
    let (_, _, b) = founded();
    assert_eq!(a, b);
}

#[test]
fn a_dog_of_the_demonstration_is_planned_learned_and_reckoned() {
    let (desk, who, dogs) = founded();
    let line = &ready(desk.day(&who, today(), today())).unwrap()[0];
    let found = ready(desk.reckon(&who, today(), &line.dog)).unwrap();
    assert_eq!(found.reckoned, today().to_string());
    let plan = ready(desk.plan(&who, today(), &line.dog, &Default::default())).unwrap();
    assert!(plan.rests_on.readings > 0 && plan.report.visits.len() > 5);
    assert_eq!(plan.report.visits[0].date, today().to_string());
    // Twice in one store: somebody of that name is there already.
    assert_eq!(fields(ready(demo::found(&desk, 1, today(), "x".into()))), ["sign_in"]);
    drop(dogs);
}
