//! Dogs: faults with their fields, two people at once, other shops, search, plans.

use super::*;
use app::shop::{Asked, ConditionBody, Filter, Kind, ZoneBody};

#[test]
fn each_fault_of_a_dog_names_its_field() {
    let b = bench();
    let check = |change: &dyn Fn(&mut DogBody), field: &str| {
        let mut dog = a_dog("Burr");
        change(&mut dog);
        let got = fields(ready(b.desk.add_dog(&b.who, today(), &b.owner, dog, vec![])));
        assert!(got.iter().all(|f| f == field) && !got.is_empty(), "wanted {field}, got {got:?}");
    };
    let zone = |z: ZoneBody| vec![ZoneBody { zone: "back".into(), ..z }];
    let day = |d: &str| d.to_owned();
    check(&|d| d.name = "  ".into(), "name");
    check(&|d| d.name = "a\nb".into(), "name");
    check(&|d| d.breed = "x".repeat(201), "breed");
    check(&|d| d.born = "yesterday".into(), "born");
    check(&|d| d.born = "2022-02-30".into(), "born");
    check(&|d| d.sex = "cat".into(), "sex");
    check(&|d| d.mass_kg = 0.0, "mass_kg");
    check(&|d| d.mass_kg = f64::INFINITY, "mass_kg");
    check(&|d| d.coat = "wool".into(), "coat");
    check(&|d| d.density = 3.0, "density");
    check(&|d| d.temper = "cross".into(), "temper");
    check(&|d| d.look = "best".into(), "look");
    check(&|d| d.table_max_min = Some(1.0), "table_max_min");
    check(&|d| d.rhythm_days = Some(0), "rhythm_days");
    check(&|d| d.outdoors = true, "outdoors");
    check(&|d| d.health = "x".repeat(4001), "health");
    check(&|d| d.neutered_since = Some(day("2020-01-01")), "neutered_since");
    check(&|d| d.steroids = vec![(day("2024-02-01"), Some(day("2024-01-01")))], "steroids.0.until");
    let condition = |kind: &str, zones: &[&str]| {
        let zones = zones.iter().map(|z| (*z).to_owned()).collect();
        vec![ConditionBody { kind: kind.into(), from: "2026-01-01".into(), until: None, zones, note: String::new() }]
    };
    check(&|d| d.conditions = condition("tired", &[]), "conditions.0.kind");
    check(&|d| d.conditions = condition("skin", &["wing"]), "conditions.0.zones");
    check(&|d| d.zones = zone(ZoneBody { cap: Some(2.0), ..ZoneBody::default() }), "zones.back.cap");
    check(
        &|d| d.zones = zone(ZoneBody { hands_off_reason: "sore".into(), ..ZoneBody::default() }),
        "zones.back.hands_off_reason",
    );
    check(&|d| d.days_that_matter = vec![(day("2020-01-01"), "show".into())], "days_that_matter.0.day");
    check(&|d| d.not_on = vec![(day("2026-12-09"), day("2026-12-01"))], "not_on.0.until");
}

#[test]
fn each_fault_of_a_history_names_its_event_and_field() {
    let b = bench();
    let check = |history: Vec<EventBody>, field: &str| {
        let got = fields(ready(b.desk.add_dog(&b.who, today(), &b.owner, a_dog("Burr"), history)));
        assert_eq!(got, [field]);
    };
    check(vec![an_event("2026-13-01", "flat")], "history.0.day");
    check(vec![an_event("2026-01-01", "bathed")], "history.0.event");
    check(vec![an_event("2026-01-01", "flat"), an_event("2026-03-01", "clipped")], "history.1.length_mm");
    // Handed in out of order, and named as handed in.
    let clipped = EventBody { length_mm: Some(900.0), ..an_event("2026-03-01", "clipped") };
    check(vec![clipped, an_event("2026-01-01", "flat")], "history.0.length_mm");
    let mut visit = a_visit("2026-03-01");
    visit.zones[0].share = Some(1.5);
    check(vec![an_event("2026-01-01", "left alone"), visit], "history.1.zones.0.share");
}

#[test]
fn a_wrong_chip_warns_and_is_kept() {
    let b = bench();
    let dog = DogBody { chip: " 276 274 877 906 944 ".into(), ..a_dog("Pip") };
    let saved = ready(b.desk.add_dog(&b.who, today(), &b.owner, dog, vec![])).unwrap();
    assert_eq!(saved.warnings.iter().map(|w| w.field.as_str()).collect::<Vec<_>>(), ["chip"]);
    let card = ready(b.desk.dog(&b.who, &saved.id)).unwrap();
    assert_eq!(card.dog.body.chip, "276274877906944");
    assert_eq!(card.warnings.len(), 1);
    let good = DogBody { chip: "276000312312345".into(), ..card.dog.body };
    let saved = ready(b.desk.set_dog(&b.who, today(), Some(&saved.id), &b.owner, 1, good)).unwrap();
    assert_eq!((saved.revision, saved.warnings.len()), (2, 0));
}

#[test]
fn of_two_who_change_a_dog_the_second_is_told_and_shown_both() {
    let b = bench();
    let id = b.rolling("Tansy");
    let seen = ready(b.desk.dog(&b.who, &id)).unwrap().dog;
    let first = DogBody { mass_kg: 8.5, ..seen.body.clone() };
    let second = DogBody { mass_kg: 9.0, ..seen.body };
    ready(b.desk.set_dog(&b.who, today(), Some(&id), &b.owner, seen.revision, first)).unwrap();
    match ready(b.desk.set_dog(&b.who, today(), Some(&id), &b.owner, seen.revision, second)) {
        Err(ShopFailure::Conflict { stands, yours }) => {
            assert_eq!((stands.kind, stands.revision), (Kind::Dog, 2));
            assert_eq!((stands.body["mass_kg"].as_f64(), yours["mass_kg"].as_f64()), (Some(8.5), Some(9.0)));
        }
        other => panic!("{other:?}"),
    }
    let changes = ready(b.desk.changes(&b.who, Kind::Dog, &id)).unwrap();
    assert_eq!(changes.iter().map(|c| c.revision).collect::<Vec<_>>(), [2, 1]);
    assert_eq!(changes[0].fields, ["mass_kg"]);
    assert_eq!(changes[0].by_name.as_deref(), Some("Ida Fern"));
}

#[test]
fn a_change_that_contradicts_the_history_is_refused() {
    let b = bench();
    let id = b.rolling("Tansy");
    let dog = DogBody { born: "2026-11-01".into(), ..a_dog("Tansy") };
    let got = fields(ready(b.desk.set_dog(&b.who, today(), Some(&id), &b.owner, 1, dog)));
    assert_eq!(got, ["history.0.day", "history.1.day"]);
}

#[test]
fn another_shops_records_are_not_there() {
    let desk = desk();
    let (a, b) = (found(&desk, "ida"), found(&desk, "ivo"));
    let id = a.rolling("Moss");
    let none = |answer: Result<(), ShopFailure>| assert!(matches!(answer, Err(ShopFailure::NotFound { .. })));
    none(ready(desk.dog(&b.who, &id)).map(|_| ()));
    none(ready(desk.plan(&b.who, today(), &id, &Changes::default())).map(|_| ()));
    none(ready(desk.set_dog(&b.who, today(), Some(&id), &b.owner, 1, a_dog("Mine"))).map(|_| ()));
    none(ready(desk.add_dog(&b.who, today(), &a.owner, a_dog("Mine"), vec![])).map(|_| ()));
    none(
        ready(desk.set_owner(&b.who, Some(&a.owner), 1, Owner { name: "Mine".into(), ..Owner::default() })).map(|_| ()),
    );
    none(ready(desk.plan_visit(&b.who, &id, today(), None, String::new())).map(|_| ()));
    none(ready(desk.set_event(&b.who, today(), &id, None, 0, an_event("2026-11-20", "flat"))).map(|_| ()));
    none(ready(desk.changes(&b.who, Kind::Dog, &id)).map(|_| ()));
    none(ready(desk.set_password(&b.who, &a.who.person, "x".into())));
    let asked = Asked { words: "moss".into(), filter: Filter::All, after: None, most: 10 };
    assert_eq!(ready(desk.search(&b.who, today(), &asked)).unwrap().count, 0);
    // An event of another dog of the same shop is not this dog's.
    let other = a.rolling("Sedge");
    let event = ready(desk.dog(&a.who, &other)).unwrap().events[0].id.clone();
    none(ready(desk.drop_event(&a.who, today(), &id, &event, 1)).map(|_| ()));
}

#[test]
fn dogs_are_found_by_any_part_and_by_page() {
    let b = bench();
    for name in ["Ægir", "Bramble", "Brämble Two", "Clover"] {
        b.add(DogBody { chip: "276000312312345".into(), ..a_dog(name) }, vec![]);
    }
    let ask = |words: &str, after, most| {
        let asked = Asked { words: words.into(), filter: Filter::All, after, most };
        ready(b.desk.search(&b.who, today(), &asked)).unwrap()
    };
    let names = |words: &str| ask(words, None, 10).found.into_iter().map(|f| f.name).collect::<Vec<_>>();
    assert_eq!(names("bramble"), ["Bramble", "Brämble Two"]);
    assert_eq!(names("TWO bram"), ["Brämble Two"]);
    assert_eq!(names("aegir"), ["Ægir"]);
    assert_eq!(names("312312").len(), 4);
    assert_eq!(names("terrier 0850123456").len(), 4);
    let first = ask("", None, 3);
    assert_eq!((first.count, first.found.len()), (4, 3));
    let rest = ask("", first.next, 3);
    assert_eq!((rest.found.len(), rest.next), (1, None));
}

#[test]
fn a_plan_is_kept_until_something_changes() {
    let b = bench();
    let id = b.rolling("Rye");
    let plan = |changes: &Changes| ready(b.desk.plan(&b.who, today(), &id, changes)).unwrap();
    let first = plan(&Changes::default());
    assert!(!first.kept);
    // Three weeks after the last visit.
    assert_eq!(first.report.visits[0].date, "2026-11-25");
    let again = plan(&Changes::default());
    assert!(again.kept && again.from == first.from);
    let json = |p: &app::shop::Planned| serde_json::to_value(&*p.report).unwrap();
    assert_eq!(json(&again), json(&first), "read back as it was written");
    // Tried, not saved.
    let tried = plan(&Changes { rhythm_days: Some(14), ..Changes::default() });
    assert!(!tried.kept && tried.report.rhythm_days == 14);
    let cap = ZoneBody { zone: "back".into(), cap: Some(0.1), ..ZoneBody::default() };
    let capped = plan(&Changes { zones: vec![cap.clone()], ..Changes::default() });
    let back = |p: &app::shop::Planned| p.report.visits[0].zones.iter().find(|z| z.zone == "back").map(|z| z.share);
    assert!(back(&capped) <= Some(0.1) && back(&first) > Some(0.1), "{:?} {:?}", back(&capped), back(&first));
    assert!(plan(&Changes::default()).kept);
    let wrong = Changes { zones: vec![ZoneBody { cap: Some(7.0), ..cap }], ..Changes::default() };
    assert_eq!(fields(ready(b.desk.plan(&b.who, today(), &id, &wrong))), ["zones.back.cap"]);
    // Money by the house's hour.
    let min = first.report.visits[0].min;
    assert!(first.price.is_some_and(|p| (p - 45.0 * min / 60.0).abs() < 1e-9));

    // What is booked is where the plan begins.
    ready(b.desk.plan_visit(&b.who, &id, today() + 5, None, String::new())).unwrap();
    assert_eq!(plan(&Changes::default()).report.visits[0].date, "2026-11-30");
}

#[test]
fn a_plan_of_the_shop_is_the_plan_of_its_file() {
    let b = bench();
    let mut visit = a_visit("2026-11-04");
    visit.zones[0].longest_mm = Some(30.0);
    visit.zones[0].new_layer_mm = Some(6.0);
    let id = b.add(a_dog("Oat"), vec![an_event("2026-10-14", "left alone"), a_visit("2026-10-14"), visit]);
    let ours = ready(b.desk.plan(&b.who, today(), &id, &Changes::default())).unwrap();
    assert!(ours.rests_on.readings > 0, "the readings were used");
    let (_, text) = ready(b.desk.dog_file(&b.who, &id)).unwrap();
    let file = app::dog_file::read("oat.toml", text.as_bytes()).unwrap();
    let file = app::learning::as_learned(&file, today()).unwrap();
    let options = app::planning::Options::on(today());
    let case = app::planning::Case::new(&file, &options).unwrap();
    let theirs = case.report(&plan::Highs, None).unwrap();
    assert_eq!(serde_json::to_value(&*ours.report).unwrap(), serde_json::to_value(&theirs).unwrap());
}

#[test]
fn the_list_says_when_a_coat_is_ready_and_due() {
    let b = bench();
    let found = |id: &RecordId| ready(b.desk.dog(&b.who, id)).unwrap().found.unwrap();
    let alone = found(&b.add(a_dog("Overgrown"), vec![an_event("2026-11-20", "left alone")]));
    assert_eq!((alone.ready.as_deref(), alone.due, alone.resting), (Some("2026-11-20"), None, false));
    // Nothing ripe for about twelve weeks after a flat strip (common practice).
    let flat = found(&b.add(a_dog("Bare"), vec![an_event("2026-11-20", "left alone"), an_event("2026-11-20", "flat")]));
    let wait = Day::parse(flat.ready.as_deref().unwrap()).unwrap() - Day::parse("2026-11-20").unwrap();
    assert!((70..=115).contains(&wait), "{wait} days");
    assert!(flat.resting && flat.line.starts_with("Nothing to take before"), "{}", flat.line);
    // Later than a rhythm: seven days to come.
    let due = Day::parse(flat.due.as_deref().unwrap()).unwrap();
    assert_eq!(due - Day::parse("2026-11-20").unwrap(), wait + 7);
    // Rolled elsewhere every three weeks: rolling, and due three weeks after the day it was last told of.
    let rolled = EventBody { every_weeks: Some(3.0), ..an_event("2026-11-01", "rolled") };
    let rolled = found(&b.add(a_dog("Even"), vec![rolled]));
    assert!(rolled.rolling && !rolled.resting);
    assert_eq!(rolled.due.as_deref(), Some("2026-11-22"));
    assert!(rolled.ready.as_deref() < Some("2026-11-22"), "{:?}", rolled.ready);
    assert!(rolled.work_min > Some(20.0));
    let closed = ConditionBody {
        kind: "ill".into(),
        from: "2026-11-20".into(),
        until: Some("2026-12-10".into()),
        zones: vec![],
        note: String::new(),
    };
    let dog = DogBody { conditions: vec![closed], ..a_dog("Ill") };
    let ill = found(&b.add(dog, vec![an_event("2026-11-20", "left alone")]));
    assert!(ill.resting);
    assert_eq!(ill.line, "Hands off until 2026-12-11.");

    let names = |filter: Filter| {
        let asked = Asked { words: String::new(), filter, after: None, most: 10 };
        let found = ready(b.desk.search(&b.who, today(), &asked)).unwrap().found;
        found.into_iter().map(|f| f.name).collect::<Vec<_>>()
    };
    assert_eq!(names(Filter::PastItsDay), ["Even"]);
    assert_eq!(names(Filter::Resting), ["Bare", "Ill"]);
    assert_eq!(names(Filter::Rolling), ["Even"]);
    // A day later all are reckoned anew, once.
    let next = today() + 1;
    assert_eq!(ready(b.desk.reckon_stale(&b.who, next, 3)).unwrap(), 3);
    assert_eq!(ready(b.desk.reckon_stale(&b.who, next, 100)).unwrap(), 1);
    assert_eq!(ready(b.desk.reckon_stale(&b.who, next, 100)).unwrap(), 0);
}
