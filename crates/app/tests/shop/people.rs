//! Owners.

use super::*;
use app::shop::Consent;

#[test]
fn phones_are_kept_as_e164_and_odd_ones_are_said() {
    let b = bench();
    let held = ready(b.desk.owner(&b.who, &b.owner)).unwrap().owner;
    assert_eq!(held.body.phones, ["+353850123456"]);
    let owner = Owner {
        phones: vec!["".into(), "ring the bell".into(), "+44 7700 900123".into()],
        mail: "nobody".into(),
        ..held.body
    };
    let saved = ready(b.desk.set_owner(&b.who, Some(&b.owner), 1, owner)).unwrap();
    let warned: Vec<&str> = saved.warnings.iter().map(|w| w.field.as_str()).collect();
    assert!(warned.contains(&"phones.0") && warned.contains(&"mail"), "{warned:?}");
    let kept = ready(b.desk.owner(&b.who, &b.owner)).unwrap().owner.body.phones;
    assert_eq!(kept, ["ring the bell", "+447700900123"]);
}

#[test]
fn each_fault_of_an_owner_names_its_field() {
    let b = bench();
    let check = |owner: Owner, field: &str| {
        assert_eq!(fields(ready(b.desk.set_owner(&b.who, None, 0, owner))), [field]);
    };
    let named = || Owner { name: "Ada Dock".into(), ..Owner::default() };
    let consent = |what: &str, words: &str, day: &str| {
        vec![Consent { what: what.into(), words: words.into(), day: day.into(), agreed: true }]
    };
    check(Owner::default(), "name");
    check(Owner { name: "a\u{202e}b".into(), ..named() }, "name");
    check(Owner { note: "x".repeat(4001), ..named() }, "note");
    check(Owner { consents: consent("everything", "w", "2026-01-01"), ..named() }, "consents.0.what");
    check(Owner { consents: consent("photos", " ", "2026-01-01"), ..named() }, "consents.0.words");
    check(Owner { consents: consent("photos", "w", "2026-02-30"), ..named() }, "consents.0.day");
}

#[test]
fn owners_are_found_by_name_phone_and_mail() {
    let b = bench();
    let add = |name: &str, mail: &str| {
        let owner = Owner { name: name.into(), mail: mail.into(), ..Owner::default() };
        ready(b.desk.set_owner(&b.who, None, 0, owner)).unwrap()
    };
    add("Ægir Thorn", "thorn@mail.example");
    add("Bo Thorn", "");
    let find = |text: &str| -> Vec<String> {
        ready(b.desk.owners(&b.who, text, 10)).unwrap().into_iter().map(|o| o.body.name).collect()
    };
    assert_eq!(find("thorn"), ["Ægir Thorn", "Bo Thorn"]);
    assert_eq!(find("THORN aegir"), ["Ægir Thorn"]);
    assert_eq!(find("briain zoe"), ["Zoë Ó Briain"]);
    assert_eq!(find("085 012"), ["Zoë Ó Briain"]);
    assert_eq!(find("0850123456"), ["Zoë Ó Briain"]);
    assert_eq!(find("thorn@mail"), ["Ægir Thorn"]);
    assert_eq!(find("nobody").len(), 0);
    assert_eq!(find("").len(), 3);
}

#[test]
fn an_owner_renamed_is_how_the_dogs_are_found() {
    let b = bench();
    let id = b.rolling("Quill");
    let names = |words: &str| {
        let asked = app::shop::Asked { words: words.into(), filter: app::shop::Filter::All, after: None, most: 10 };
        let found = ready(b.desk.search(&b.who, today(), &asked)).unwrap().found;
        found.into_iter().map(|f| (f.dog, f.owner)).collect::<Vec<_>>()
    };
    assert_eq!(names("briain"), [(id.clone(), "Zoë Ó Briain".to_owned())]);
    let owner = Owner { name: "Zoë Ash".into(), ..Owner::default() };
    ready(b.desk.set_owner(&b.who, Some(&b.owner), 1, owner)).unwrap();
    assert_eq!(names("briain"), []);
    assert_eq!(names("quill ash"), [(id, "Zoë Ash".to_owned())]);
    assert_eq!(fields(ready(b.desk.drop_owner(&b.who, &b.owner, 2))), [""], "has a dog");
}
