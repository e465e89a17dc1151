//! What must hold, 6: for each limit and term there is a dog for which it binds; changing it
//! changes the plan and the reason.
use super::whole_dog::{day, dog, overgrown, request, rolled, solve};
use coat::{Dog, Event, Zone, ZoneSetup};
use plan::{Amount, Bar, Closed, PlannedZone, Request, Term, Why};

fn planned(d: &Dog, r: Request) -> Vec<PlannedZone> {
    solve(d, r).plan.visits.into_iter().flat_map(|v| v.zones).collect()
}

fn at(d: &Dog, r: Request, zone: Zone, visit: usize) -> PlannedZone {
    let c = solve(d, r);
    c.plan.visits[visit].zones.iter().find(|z| z.zone == zone).expect("planned").clone()
}

fn with(mut d: Dog, zone: Zone, edit: impl Fn(&mut ZoneSetup)) -> Dog {
    d.zones.iter_mut().filter(|z| z.zone == zone).for_each(edit);
    d
}

fn first(d: &Dog, zone: Zone) -> PlannedZone {
    at(d, request(d, None), zone, 0)
}

/// The same zone under the limit and without it: the reason goes, and the share with it.
fn check(bound: &PlannedZone, why: Why, free: &PlannedZone) {
    assert_eq!(bound.why, why, "{bound:?}");
    assert_ne!(free.why, why, "{free:?}");
    assert!((bound.share - free.share).abs() > 1e-6, "{bound:?} {free:?}");
}

#[test]
fn the_cap() {
    let d = overgrown();
    let bound = with(d.clone(), Zone::Back, |z| z.cap = 0.1);
    let b = first(&bound, Zone::Back);
    assert_eq!(b.amount, Amount::OneIn(10));
    check(&b, Why::Limit(Bar::Cap), &first(&with(d, Zone::Back, |z| z.cap = 0.5), Zone::Back));
}

/// A short zone whose cap is passed by what is ripe says so, and not that all of it comes out.
#[test]
fn the_cap_of_a_short_zone() {
    let d = overgrown();
    let b = first(&with(d.clone(), Zone::Skull, |z| z.cap = 0.3), Zone::Skull);
    let f = first(&with(d, Zone::Skull, |z| z.cap = 1.0), Zone::Skull);
    assert!(b.amount == Amount::AllRipe && b.ripe > b.share + 0.01, "{b:?}");
    check(&b, Why::Limit(Bar::Cap), &f);
}

#[test]
fn the_bare_limit() {
    let high = |floor: f64| with(overgrown(), Zone::Back, move |z| z.floor = floor);
    // Thin cover costs nothing here: only the limit counts.
    let at_no_cost = |d: &Dog| {
        let mut r = request(d, None);
        r.weights.cover = 0.0;
        at(d, r, Zone::Back, 0)
    };
    check(&at_no_cost(&high(0.97)), Why::Limit(Bar::Bare), &at_no_cost(&high(0.55)));
}

#[test]
fn cover_below_the_bare_limit() {
    let high = |floor: f64| with(rolled(), Zone::Back, move |z| z.floor = floor);
    let closed = Why::Limit(Bar::Closed(Closed::Bare));
    check(&first(&high(1.0), Zone::Back), closed, &first(&high(0.3), Zone::Back));
}

#[test]
fn the_floor() {
    let high = |floor: f64| with(rolled(), Zone::Back, move |z| z.floor = floor);
    let pays = Why::Pays(Term::Cover);
    let (b, f) = (high(0.85), high(0.3));
    let visits = |d: &Dog| (0..9).map(|i| at(d, request(d, None), Zone::Back, i)).collect::<Vec<_>>();
    let (b, f) = (visits(&b), visits(&f));
    let i = (0..9).find(|i| b[*i].why == pays).expect("thin cover decides somewhere");
    check(&b[i], pays, &f[i]);
}

#[test]
fn hands_off() {
    let d = with(overgrown(), Zone::Back, |z| z.hands_off_until = Some(day(10)));
    check(&first(&d, Zone::Back), Why::Limit(Bar::Closed(Closed::HandsOff)), &first(&overgrown(), Zone::Back));
}

#[test]
fn nothing_ripe() {
    let visit = |ago: i32| {
        let d = dog(Event::Flat, ago);
        first(&d, Zone::Back)
    };
    check(&visit(30), Why::NothingRipe, &visit(200));
}

#[test]
fn no_more_ripe() {
    let pool = Why::Limit(Bar::Pool);
    let d = rolled();
    let all: Vec<PlannedZone> = planned(&d, request(&d, None));
    let b = all.iter().find(|z| z.why == pool && z.zone == Zone::Back).expect("the layer decides somewhere");
    assert!((b.share - b.ripe).abs() < 1e-9 && b.share > 0.0, "{b:?}");
}

#[test]
fn the_table_time() {
    let d = overgrown();
    let short = solve(&d, request(&d, Some(45.0))).plan;
    let long = solve(&d, request(&d, None)).plan;
    let bound = |i: usize| short.visits[i].zones.iter().filter(|z| z.why == Why::Minutes);
    let i = (0..9).find(|i| bound(*i).count() > 0).expect("time decides somewhere");
    let with_time = |zone: Zone| long.visits[i].zones.iter().find(|z| z.zone == zone).expect("planned");
    assert!(long.visits.iter().flat_map(|v| &v.zones).all(|z| z.why != Why::Minutes));
    assert!(bound(i).any(|z| with_time(z.zone).share > z.share + 1e-6));
}

#[test]
fn the_day_that_matters_and_the_length_aimed_at() {
    let d = overgrown();
    let show = |target: f64, weight: f64| {
        let d = with(d.clone(), Zone::Back, move |z| z.target_mm = Some(target));
        let mut r = request(&d, None);
        r.matter = vec![day(120)];
        r.weights.outline = weight;
        let all = planned(&d, r);
        all.into_iter().filter(|z| z.zone == Zone::Back).collect::<Vec<_>>()
    };
    let pays = Why::Pays(Term::Outline);
    let (b, f) = (show(20.0, 40.0), show(20.0, 0.0));
    assert!(f.iter().all(|z| z.why != pays));
    let i = (0..9).find(|i| b[*i].why == pays).expect("the outline decides somewhere");
    assert!(b.iter().zip(&f).any(|(b, f)| (b.share - f.share).abs() > 1e-6), "{:?}", b[i]);
    let other = show(12.0, 40.0);
    assert!(b.iter().zip(&other).any(|(b, o)| (b.share - o.share).abs() > 1e-6), "another target, another plan");
}

#[test]
fn evenness_and_ripe_hair() {
    let d = overgrown();
    let weighted = |evenness: f64, ripe: f64| {
        let mut r = request(&d, None);
        (r.weights.evenness, r.weights.ripe) = (evenness, ripe);
        planned(&d, r).into_iter().filter(|z| z.zone == Zone::Back).collect::<Vec<_>>()
    };
    let even = Why::Pays(Term::Evenness);
    let (b, f) = (weighted(2.0, 1.0), weighted(0.0, 1.0));
    assert!(b.iter().any(|z| z.why == even) && f.iter().all(|z| z.why != even));
    assert!(b.iter().zip(&f).any(|(b, f)| (b.share - f.share).abs() > 1e-6));
}

/// A reason is that of its own visit: a later one that must give way takes less, not nothing.
#[test]
fn later_visits_give_way_without_being_wiped_out() {
    let d = rolled();
    let all = planned(&d, request(&d, None));
    let back: Vec<&PlannedZone> = all.iter().filter(|z| z.zone == Zone::Back).collect();
    // Wiping out all later visits made ripe hair or cover the reason wherever a step more would
    // have stopped one of them.
    assert!(
        back.iter().any(|z| matches!(z.why, Why::Limit(Bar::Pool | Bar::Cap) | Why::Pays(Term::Evenness))),
        "{back:?}"
    );
}
