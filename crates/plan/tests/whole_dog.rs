use coat::{CoatType, Day, Dog, Event, Take, ZoneWork};
use plan::{Highs, Planner, Request, Table, Weights};
use std::time::Instant;

fn day(n: i32) -> Day {
    Day::from_days(20_000 + n)
}

fn request(dog: &Dog, max: Option<f64>) -> Request {
    Request {
        today: day(0),
        until: day(182),
        visits: (0..9).map(|i| day(21 * i)).collect(),
        matter: vec![],
        table: Table { dense_dm2: dog.skin_dm2() * dog.density, pace: 1.0, max_min: max },
        weights: Weights::default(),
    }
}

fn overgrown() -> Dog {
    let mut dog = Dog::new(day(-1500), 8000.0, CoatType::Wire);
    dog.history.push((day(-100), Event::LeftAlone));
    dog
}

#[test]
fn timing() {
    let dog = overgrown();
    let t = Instant::now();
    let coat = dog.coat_on(day(0)).expect("history");
    println!("history {:?}", t.elapsed());
    for max in [None, Some(60.0)] {
        let r = request(&dog, max);
        let t = Instant::now();
        let p = Planner::new(&dog, &coat, &r).expect("ok");
        println!("build {:?}", t.elapsed());
        let t = Instant::now();
        let (v, e) = p.exact_value(&Highs).expect("ok");
        println!("exact {v} {e:?} {:?}", t.elapsed());
        let t = Instant::now();
        let plan = p.plan(&Highs).expect("ok");
        println!("plan {:?} {:?} terms {:?}", t.elapsed(), plan.objective, plan.terms);
        println!("rule {}  recost {}", p.rule_cost(), p.cost_of_exact(&plan));
        for v in &plan.visits {
            let s: Vec<String> = v.zones.iter().map(|z| format!("{}:{}", z.zone, z.amount)).collect();
            println!("{} {:.0} {:?} {}", v.day, v.min, v.ten_more, s.join(" "));
        }
        // Replay through the engine.
        let mut c = coat.clone();
        for (i, v) in r.visits.iter().enumerate() {
            c.step_to(*v);
            for z in &mut c.zones {
                let takes = &plan.exact.iter().find(|e| e.0 == z.setup.zone).expect("zone").1[i];
                z.work(&ZoneWork { take: Take::FromClasses(takes.clone()), unripe: None, card: false });
            }
        }
        println!("{:?}", c.measures().0);
    }
}
