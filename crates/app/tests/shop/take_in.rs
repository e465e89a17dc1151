//! Taking a new dog in: all or nothing, once, with every fault under its field.

use super::*;
use app::shop::{Kind, Newcomer, PersonId, Whose};

fn newcomer(name: &str, whose: Whose) -> Newcomer {
    Newcomer { whose, dog: a_dog(name), history: vec![an_event("2026-11-04", "left alone")] }
}

fn new_owner(name: &str) -> Whose {
    Whose::New(Owner { name: name.into(), phones: vec!["085 012 3456".into()], ..Owner::default() })
}

fn id(text: &str) -> RecordId {
    RecordId::new(text).unwrap()
}

#[test]
fn a_dog_comes_with_its_owner_or_not_at_all() {
    let b = bench();
    let new = newcomer("Nettle", new_owner("Una Invented"));
    let saved = ready(b.desk.take_in(&b.who, today(), &id("form-0001"), new.clone())).unwrap();
    assert_eq!(saved.id, id("form-0001"));
    let card = ready(b.desk.dog(&b.who, &saved.id)).unwrap();
    assert_eq!((card.owner.unwrap().body.phones[0].as_str(), card.events.len()), ("+353850123456", 1));
    assert_eq!(card.found.unwrap().reckoned, "2026-11-25", "it stands in the list at once");

    // What is wrong with the dog keeps the owner out as well.
    let bad = Newcomer { dog: DogBody { mass_kg: 0.0, ..a_dog("Burr") }, ..newcomer("Burr", new_owner("Nobody Else")) };
    assert_eq!(fields(ready(b.desk.take_in(&b.who, today(), &id("form-0002"), bad))), ["mass_kg"]);
    let owners = ready(b.desk.owners(&b.who, "", 10)).unwrap();
    assert_eq!(owners.iter().map(|o| o.body.name.as_str()).collect::<Vec<_>>(), ["Una Invented", "Zoë Ó Briain"]);
}

#[test]
fn the_same_form_twice_is_one_dog() {
    let b = bench();
    let new = newcomer("Nettle", new_owner("Una Invented"));
    for _ in 0..2 {
        ready(b.desk.take_in(&b.who, today(), &id("form-0001"), new.clone())).unwrap();
    }
    assert_eq!(ready(b.desk.owners(&b.who, "una", 10)).unwrap().len(), 1);
    let all = ready(b.desk.store().all(&b.who.shop, Kind::Dog, None, 10)).unwrap();
    assert_eq!(all.len(), 1);
    let other = newcomer("Thistle", new_owner("Una Invented"));
    let refused = ready(b.desk.take_in(&b.who, today(), &id("form-0001"), other)).unwrap_err();
    assert!(matches!(&refused, ShopFailure::Conflict { stands, .. } if stands.id == id("form-0001")), "{refused:?}");
    assert_eq!(ready(b.desk.owners(&b.who, "una", 10)).unwrap().len(), 1);
}

#[test]
fn each_fault_of_a_newcomer_names_its_field() {
    let b = bench();
    let check = |change: &dyn Fn(&mut Newcomer), field: &str| {
        let mut new = newcomer("Nettle", Whose::Known(b.owner.clone()));
        change(&mut new);
        let looked = ready(b.desk.look_over(&b.who, today(), &new)).unwrap();
        assert_eq!(looked.faults.iter().map(|s| s.field.as_str()).collect::<Vec<_>>(), [field]);
        assert_eq!(fields(ready(b.desk.take_in(&b.who, today(), &id("form-0001"), new))), [field]);
    };
    check(&|n| n.whose = Whose::Known(id("no-such-owner")), "owner");
    check(&|n| n.whose = new_owner(" "), "owner.name");
    check(&|n| n.dog.groomer = PersonId::new("no-such-person").ok(), "groomer");
    check(&|n| n.dog.name = String::new(), "name");
    check(&|n| (n.dog.born, n.history) = ("2026-11-26".into(), Vec::new()), "born");
    check(&|n| n.history[0].day = "2026-11-26".into(), "history.0.day");
    check(&|n| n.history = vec![an_event("2020-01-01", "flat")], "history.0.day");
    check(&|n| n.dog.days_that_matter = vec![("2026-11-24".into(), "a show".into())], "days_that_matter.0.day");

    // Another shop's owner is not here.
    let other = found(&b.desk, "other");
    check(&|n| n.whose = Whose::Known(other.owner.clone()), "owner");
    // Odd phones and chips are kept and warned of.
    let mut new = newcomer("Nettle", Whose::New(Owner { phones: vec!["ring".into()], ..named("Una") }));
    new.dog.chip = "12".into();
    let looked = ready(b.desk.look_over(&b.who, today(), &new)).unwrap();
    assert_eq!(looked.warnings.iter().map(|s| s.field.as_str()).collect::<Vec<_>>(), ["owner.phones.0", "chip"]);
    assert!(looked.faults.is_empty());
}

fn named(name: &str) -> Owner {
    Owner { name: name.into(), ..Owner::default() }
}
