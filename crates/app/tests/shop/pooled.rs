//! Shops of one store that learn together, if both want it.

use super::experience::{alone, planned, slow};
use super::*;
use app::shop::Store;
use serde_json::Value;

fn pool(b: &Bench, pooled: bool) {
    let held = ready(b.desk.house(&b.who)).unwrap();
    ready(b.desk.set_house(&b.who, held.revision, House { pooled, ..held.body })).unwrap();
}

#[test]
fn shops_learn_together_only_where_both_want_it() {
    let memory = Arc::new(Memory::default());
    let desk = Desk::new(memory.clone(), Arc::new(Counted::default()), Arc::new(plan::Highs));
    let (theirs, ours) = (found(&desk, "ida"), found(&desk, "bo"));
    for i in 0..6 {
        slow(&theirs, &format!("Slow {i}"));
    }
    let new = ours.add(a_dog("New"), vec![an_event("2026-07-01", "left alone")]);
    let bare = alone(&ours, &new, today());
    let rests = |b: &Bench, id: &RecordId, day: Day| {
        let r = ready(b.desk.plan(&b.who, day, id, &Changes::default())).unwrap().rests_on;
        (r.readings, r.dogs, r.elsewhere)
    };
    let given = |b: &Bench| ready(memory.pooled_made(&b.who.shop, "own part", ("", "~"), 1000)).unwrap();
    // Off as a house is founded, and one side alone does nothing for either.
    assert!(!ready(desk.house(&ours.who)).unwrap().body.pooled);
    let apart = |why: &str| {
        assert_eq!(planned(&ours, &new, today()).0, bare, "{why}");
        assert_eq!(rests(&ours, &new, today()), (0, 0, 0), "{why}");
        assert!(given(&ours).is_empty() && given(&theirs).is_empty(), "{why}");
    };
    apart("both off");
    pool(&theirs, true);
    apart("only theirs on");
    pool(&theirs, false);
    pool(&ours, true);
    apart("only ours on");
    // Both: a shop without a learned dog of its own starts from theirs.
    pool(&theirs, true);
    assert_eq!(rests(&ours, &new, today()), (0, 0, 6));
    let together = planned(&ours, &new, today()).0;
    let top = |v: &Value| {
        let zones = v["forecast"][0]["zones"].as_array().unwrap();
        zones.iter().find(|z| z["zone"] == "back").unwrap()["top_mm"].as_f64().unwrap()
    };
    assert!(top(&together) < top(&bare) - 0.3, "slower coats: {} {}", top(&together), top(&bare));
    // Less sure than a shop that learned as much from its own.
    let own = theirs.add(a_dog("Own"), vec![an_event("2026-07-01", "left alone")]);
    assert_eq!(rests(&theirs, &own, today()), (0, 6, 0));
    assert!(top(&planned(&theirs, &own, today()).0) < top(&together));
    // Dogs of another type say nothing, nor does what is only read later.
    let pin = ours.add(DogBody { coat: "pin wire".into(), ..a_dog("Pin") }, vec![an_event("2026-07-01", "left alone")]);
    assert_eq!(planned(&ours, &pin, today()).0, alone(&ours, &pin, today()));
    let before = Day::from_ymd(2026, 8, 1).unwrap();
    assert_eq!(planned(&ours, &new, before).0, alone(&ours, &new, before));
    // What is given: numbers of the coat, and nothing of who, where or when.
    let [of_theirs] = &given(&ours)[..] else { panic!("one shop gives") };
    assert_eq!(of_theirs.len(), 6);
    for bytes in of_theirs {
        let v: Value = serde_json::from_slice(bytes).unwrap();
        let keys: Vec<&str> = v.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(keys, ["mean", "prior", "sd"]);
        let numbers = |v: &Value| v.as_array().is_some_and(|a| a.len() == 5 && a.iter().all(Value::is_f64));
        assert!(numbers(&v["mean"]) && numbers(&v["sd"]));
        assert!(v["prior"].as_array().unwrap().len() == 3 && v["prior"].as_array().unwrap().iter().all(numbers));
    }
    // The ids of the others are in nothing that is kept or told here.
    let told = format!("{:?}", ready(desk.taught(&ours.who, today(), &new)).unwrap());
    let kept = ready(memory.all_made(&ours.who.shop, "experience", ("", "~"), 100)).unwrap();
    for text in kept.iter().map(|k| String::from_utf8_lossy(&k.1).into_owned()).chain([told]) {
        assert!(!text.contains(theirs.who.shop.as_str()) && !text.contains("Slow"), "{text}");
    }
    // Switched off again it is as it was.
    pool(&theirs, false);
    apart("theirs off again");
}
