//! Table time that hardly suffices: every visit stays within it, carding included, and there is always a plan.
use super::whole_dog::{day, dog, flat, overgrown, request, rolled, solve};
use coat::{Dog, Event, Zone};
use plan::{Amount, TOUCH_MIN_DM2};

fn dense(mut d: Dog) -> Dog {
    d.density = 1.5;
    d
}

/// Table minutes (model page, 5: a limit) hold with carding counted, from none to spare upward.
#[test]
fn no_visit_is_longer_than_the_table_time() {
    for max in [20.0, 20.5, 22.0, 24.0, 26.0, 28.0, 32.0] {
        for d in [overgrown(), dense(dog(Event::Rolled { every_d: 21 }, 21))] {
            let c = solve(&d, request(&d, Some(max)));
            for v in &c.plan.visits {
                assert!(v.min <= max + 1e-6, "{} takes {} min of {max}", v.day, v.min);
                let zones: f64 = v.zones.iter().map(|z| z.min).sum();
                assert!((v.min - 20.0 - zones).abs() < 1e-9);
            }
            let o = c.plan.objective;
            assert!(o.bound <= o.lp_value + 1e-9 && o.gap < 1e-4, "{max}: {o:?}");
        }
    }
}

/// Carding counts by the touch of the formula (model page, 7), and gives way where time is short.
/// Minutes that the exact plan just keeps and its hand steps do not.
#[test]
fn hand_steps_keep_to_minutes_that_the_exact_plan_needs() {
    for d in [overgrown(), flat(), rolled()] {
        let free = solve(&d, request(&d, None)).plan;
        let longest = free.visits.iter().map(|v| v.min).fold(0.0, f64::max);
        for less in [0.01, 0.1, 0.5, 1.0, 2.0] {
            let max = longest - less;
            let plan = solve(&d, request(&d, Some(max))).plan;
            for v in &plan.visits {
                assert!(v.min <= max + 1e-6, "{}: {} of {max} min", v.day, v.min);
            }
        }
    }
}

#[test]
fn carding_counts_and_gives_way() {
    let d = overgrown();
    let skin_dm2 = 10.1 * 8000f64.powf(2.0 / 3.0) / 100.0;
    let carded = |max: Option<f64>| {
        let c = solve(&d, request(&d, max));
        let all = c.plan.visits.iter().flat_map(|v| v.zones.iter().filter(|z| z.carded));
        for z in all.clone().filter(|z| z.amount == Amount::Leave) {
            let area = z.zone.defaults().area;
            assert!((z.min - area * skin_dm2 * TOUCH_MIN_DM2).abs() < 1e-9, "{}: {}", z.zone, z.min);
        }
        all.count()
    };
    let (free, scarce) = (carded(None), carded(Some(24.0)));
    assert!(free > 0 && scarce < free, "{free} {scarce}");
}

/// The weight of wool decides what is carded when time is short (model page, 8.6).
#[test]
fn the_weight_of_wool_decides_about_carding() {
    let d = overgrown();
    let carded = |weight: f64| {
        let mut r = request(&d, Some(32.0));
        r.weights.wool = weight;
        let c = solve(&d, r);
        c.plan.visits.iter().flat_map(|v| &v.zones).filter(|z| z.carded).count()
    };
    let (none, usual, much) = (carded(0.0), carded(0.5), carded(20.0));
    assert!(none < usual && usual < much, "{none} {usual} {much}");
}

/// A zone with hands off is neither pulled nor carded (model page, 5).
#[test]
fn a_sore_zone_is_not_carded() {
    let mut d = overgrown();
    for z in d.zones.iter_mut().filter(|z| z.zone == Zone::Back) {
        z.hands_off_until = Some(day(63));
    }
    let c = solve(&d, request(&d, None));
    let back = |i: usize| c.plan.visits[i].zones.iter().find(|z| z.zone == Zone::Back).expect("back");
    assert!((0..3).all(|i| !back(i).carded && back(i).min == 0.0));
    assert!((3..9).any(|i| back(i).carded), "it is again when it may be");
}

/// Feet have no pulling among their works and get no share.
#[test]
fn nothing_is_pulled_from_feet() {
    let d = overgrown();
    let c = solve(&d, request(&d, None));
    let feet = c.plan.visits.iter().flat_map(|v| &v.zones).filter(|z| z.zone == Zone::Feet);
    assert!(feet.clone().count() > 0 && feet.clone().all(|z| z.amount == Amount::Leave && z.min == 0.0));
}

/// Rounding to hand steps costs at most a tenth where table time binds, on a heavy rolling dog too.
#[test]
fn hand_steps_chosen_together_cost_little() {
    let d = dense(dog(Event::Rolled { every_d: 21 }, 21));
    for max in [60.0, 65.0, 70.0, 75.0] {
        let o = solve(&d, request(&d, Some(max))).plan.objective;
        assert!(o.rounded_value <= 1.1 * o.lp_value, "{max}: {o:?}");
    }
}
