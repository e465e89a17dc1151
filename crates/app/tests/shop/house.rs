//! The house and its people.

use super::*;
use app::shop::{CapsBody, TargetBody};

#[test]
fn a_house_is_read_back_and_changed_with_what_was_seen() {
    let b = bench();
    let held = ready(b.desk.house(&b.who)).unwrap();
    assert_eq!((held.revision, held.body.name.as_str()), (1, "Dock Lane"));
    let house = House { name: " Dock Lane 2 ".into(), country: "ie".into(), ..held.body };
    assert_eq!(ready(b.desk.set_house(&b.who, 1, house.clone())).unwrap().revision, 2);
    assert_eq!(ready(b.desk.house(&b.who)).unwrap().body.name, "Dock Lane 2");
    let late = House { name: "Mine".into(), ..house };
    match ready(b.desk.set_house(&b.who, 1, late)) {
        Err(ShopFailure::Conflict { stands, yours }) => {
            assert_eq!(stands.body["name"], "Dock Lane 2");
            assert_eq!(yours["name"], "Mine");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn each_fault_of_a_house_names_its_field() {
    let b = bench();
    let check = |change: &dyn Fn(&mut House), field: &str| {
        let mut house = a_house();
        change(&mut house);
        assert_eq!(fields(ready(b.desk.set_house(&b.who, 1, house))), [field], "{field}");
    };
    check(&|h| h.name = " ".into(), "name");
    check(&|h| h.country = "Ireland".into(), "country");
    check(&|h| h.currency = "€".into(), "currency");
    check(&|h| h.dates = String::new(), "dates");
    check(&|h| h.time_zone = "Europe/../etc".into(), "time_zone");
    check(&|h| h.latitude_deg = Some(f64::NAN), "latitude_deg");
    check(&|h| h.hour_minor = Some(-1), "hour_minor");
    check(&|h| h.caps = Some(CapsBody { layered: 1.5, short: 0.5, shaped: 0.1 }), "caps.layered");
    check(&|h| h.weights = vec![("cover".into(), -1.0)], "weights.cover");
    check(&|h| h.weights = vec![("shine".into(), 1.0)], "weights.shine");
    let target = |mm: f64| vec![TargetBody { coat: "wire".into(), zone: "back".into(), target_mm: mm }];
    check(&|h| h.targets = target(900.0), "targets");
}

#[test]
fn the_houses_values_reach_the_dogs_file() {
    let b = bench();
    let id = b.rolling("Moss");
    let targets = vec![
        TargetBody { coat: "wire".into(), zone: "back".into(), target_mm: 17.0 },
        TargetBody { coat: "long wire".into(), zone: "sides".into(), target_mm: 60.0 },
    ];
    let caps = Some(CapsBody { layered: 0.2, short: 0.5, shaped: 0.05 });
    let house = House { targets, caps, currency: "KWD".into(), hour_minor: Some(9_500), ..a_house() };
    ready(b.desk.set_house(&b.who, 1, house)).unwrap();
    let (file, text) = ready(b.desk.dog_file(&b.who, &id)).unwrap();
    assert_eq!(file.zone(coat::Zone::Back).and_then(|z| z.target_mm), Some(17.0));
    assert_eq!(file.zone(coat::Zone::Sides), None);
    assert_eq!(file.groomer.caps.layered, 0.2);
    // ISO 4217: the dinar of Kuwait has three decimals.
    assert_eq!(file.groomer.price_per_hour, Some(9.5));
    // The text is a dog's file of its own.
    let again = app::dog_file::read("moss.toml", text.as_bytes()).unwrap();
    assert_eq!(app::dog_file::DogFile { source: file.source.clone(), ..again }, file);
}

#[test]
fn people_and_their_way_to_sign_in() {
    let b = bench();
    let (desk, who) = (&b.desk, &b.who);
    let hash = || "$argon2id$other".to_owned();
    assert_eq!(fields(ready(desk.add_person(who, a_person("", ""), hash()))), ["name", "sign_in"]);
    assert_eq!(fields(ready(desk.add_person(who, a_person("Ivo", "IDA"), hash()))), ["sign_in"], "taken");
    let saved = ready(desk.add_person(who, a_person("Élan Birk", "Élan"), hash())).unwrap();
    let elan = app::shop::PersonId::new(saved.id.as_str()).unwrap();
    let way = |name: &str| ready(desk.store().credential(name)).unwrap();
    assert_eq!(way("elan").map(|c| (c.person == elan, c.open)), Some((true, true)));

    // Renamed: the old name does not sign in any more, the password stays.
    ready(desk.set_person(who, &elan, 1, a_person("Élan Birk", "birk"))).unwrap();
    assert!(way("elan").is_none());
    assert_eq!(way("birk").map(|c| c.hash), Some(hash()));
    ready(desk.set_password(who, &elan, "$argon2id$third".into())).unwrap();
    assert_eq!(way("birk").map(|c| c.hash), Some("$argon2id$third".into()));

    // Who left may not sign in, and is listed last.
    let left = Person { left: true, ..a_person("Élan Birk", "birk") };
    ready(desk.set_person(who, &elan, 2, left)).unwrap();
    assert_eq!(way("birk").map(|c| c.open), Some(false));
    let names: Vec<String> = ready(desk.people(who)).unwrap().into_iter().map(|p| p.body.name).collect();
    assert_eq!(names, ["Ida Fern", "Élan Birk"]);
    let last = Person { left: true, ..a_person("Ida Fern", "ida") };
    assert_eq!(fields(ready(desk.set_person(who, &who.person, 1, last))), ["left"]);
}
