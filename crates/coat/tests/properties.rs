//! What holds for any coat.
use coat::{Cycle, Law, Population, Take, Wait};
use proptest::prelude::*;
use std::sync::Arc;

fn law(cycle: Cycle) -> Arc<Law> {
    Arc::new(Law::new(cycle).expect("in range"))
}

fn wait(mean: f64, spread: f64) -> Wait {
    Wait::from_days(mean, mean * spread).expect("in range")
}

prop_compose! {
    // A lag of ten days or more: no new hair is through on the day of the pull itself.
    fn cycles()(
        lag in 10.0..60.0_f64, grow in 20.0..220.0_f64, set in 2.0..40.0_f64, hold_d in 15.0..500.0_f64,
        growth_mm_d in 0.1..0.7_f64, spread in 0.05..0.3_f64,
    ) -> Cycle {
        Cycle { lag: wait(lag, spread), grow: wait(grow, spread), set: wait(set, spread), hold_d, growth_mm_d }
    }
}

fn visits() -> impl Strategy<Value = Vec<(i32, f64)>> {
    prop::collection::vec((1..45, 0.0..0.7_f64), 1..8)
}

/// No share below zero, classes sum to the whole.
fn check(p: &Population) -> Result<(), TestCaseError> {
    prop_assert!((p.total() - 1.0).abs() < 1e-9, "day {}: total {}", p.today(), p.total());
    let ph = p.phases();
    for share in [ph.empty, ph.growing, ph.set, ph.ripe] {
        prop_assert!(share > -1e-10, "day {}: {ph:?}", p.today());
    }
    prop_assert!((ph.empty + ph.growing + ph.set + ph.ripe - 1.0).abs() < 1e-9);
    Ok(())
}

fn check_classes(p: &Population) -> Result<(), TestCaseError> {
    let c = p.classes(p.class_count());
    prop_assert!((c.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{:?}", c.shares);
    prop_assert!((c.pools.iter().sum::<f64>() - p.ripe()).abs() < 1e-9, "{:?} {}", c.pools, p.ripe());
    prop_assert!(c.shares.iter().chain(&c.pools).all(|x| *x > -1e-10), "{c:?}");
    let even = p.evenness().0;
    prop_assert!((-1e-9..=1.0 + 1e-9).contains(&even), "{even}");
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(32) })]

    /// Model page, what must hold, 1: conservation to 1e-9 a day, no negative share, whatever is taken.
    #[test]
    fn nothing_is_lost(cycle in cycles(), visits in visits()) {
        let mut p = Population::left_alone(law(cycle), 0, 0.6, 21);
        check(&p)?;
        for (gap, share) in visits {
            for _ in 0..gap {
                p.step_to(p.today() + 1);
                check(&p)?;
            }
            let (before, amount) = (p.visible(), share * p.visible());
            let ripe = p.ripe();
            let taken = p.visit(&Take::LongestFirst(amount)).share;
            prop_assert!((taken - amount.min(ripe)).abs() < 1e-9, "{taken} of {amount}, ripe {ripe}");
            prop_assert!((before - taken - p.visible()).abs() < 1e-9);
            check(&p)?;
            check_classes(&p)?;
            let hard = p.hard();
            prop_assert!(hard.is_none_or(|h| (0.0..=1.0).contains(&h)));
        }
    }

    /// Ripe hair sheds at one rate whatever its age (model page, 2), so only the sum taken counts for cover.
    #[test]
    fn classes_and_longest_first_come_to_the_same(cycle in cycles(), gap in 5..40, share in 0.05..0.6_f64) {
        let mut a = Population::left_alone(law(cycle), 0, 0.6, gap);
        for _ in 0..3 {
            a.step_to(a.today() + gap);
            let amount = 0.15 * a.visible();
            a.visit(&Take::LongestFirst(amount));
        }
        a.step_to(a.today() + gap);
        let mut b = a.clone();
        let amount = share * a.ripe();
        a.visit(&Take::LongestFirst(amount));
        // The same amount as whole classes from the oldest on.
        b.mark_visit();
        let pools = b.classes(b.class_count()).pools;
        let mut left = amount;
        let mut wants: Vec<f64> = pools.iter().rev().map(|r| { let x = left.min(*r); left -= x; x }).collect();
        wants.reverse();
        let taken = b.visit(&Take::FromClasses(wants)).share;
        prop_assert!((taken - amount).abs() < 1e-9, "{taken} {amount}");
        let shares = |p: &Population| p.classes(p.class_count()).shares;
        for (x, y) in shares(&a).iter().zip(shares(&b)) {
            prop_assert!((x - y).abs() < 1e-9);
        }
        for _ in 0..60 {
            a.step_to(a.today() + 1);
            b.step_to(b.today() + 1);
            prop_assert!((a.visible() - b.visible()).abs() < 1e-9 && (a.ripe() - b.ripe()).abs() < 1e-9);
            check(&b)?;
        }
    }

    /// Unripe hair pulled (model page, 2) empties follicles and loses none.
    #[test]
    fn unripe_hair_pulled_is_not_lost(cycle in cycles(), visits in visits(), min_mm in 0.0..10.0_f64) {
        let mut p = Population::left_alone(law(cycle), 0, 0.6, 21);
        for (gap, share) in visits {
            for _ in 0..gap {
                p.step_to(p.today() + 1);
                check(&p)?;
            }
            let (visible, ripe) = (p.visible(), p.ripe());
            let amount = share * (visible - ripe);
            p.mark_visit();
            let taken = p.pull_unripe(amount, min_mm);
            prop_assert!(taken <= amount + 1e-12 && taken >= 0.0);
            prop_assert!((visible - taken - p.visible()).abs() < 1e-9, "{visible} {taken} {}", p.visible());
            prop_assert!((ripe - p.ripe()).abs() < 1e-9);
            check(&p)?;
            check_classes(&p)?;
        }
    }

    /// A record that exceeds the ripe hair takes the rest from unripe hair (model page, 2): classes hold the whole.
    #[test]
    fn a_record_beyond_the_ripe_keeps_the_classes_whole(cycle in cycles(), visits in visits()) {
        let mut p = Population::left_alone(law(cycle), 0, 0.6, 21);
        for (gap, share) in visits {
            p.step_to(p.today() + gap);
            let (visible, ripe) = (p.visible(), p.ripe());
            p.visit(&Take::LongestFirst(ripe));
            let rest = share * (visible - ripe);
            let taken = p.pull_unripe(rest, 0.0);
            prop_assert!((taken - rest).abs() < 1e-9, "{taken} {rest}");
            check(&p)?;
            check_classes(&p)?;
        }
    }

    /// A flat strip (model page, 2) pulls all visible hair and keeps what has still to come through.
    #[test]
    fn a_flat_strip_leaves_nothing_to_see(cycle in cycles(), visits in visits()) {
        let mut p = Population::left_alone(law(cycle), 0, 0.6, 21);
        for (gap, share) in visits {
            p.step_to(p.today() + gap);
            let amount = share * p.visible();
            p.visit(&Take::LongestFirst(amount));
        }
        let visible = p.visible();
        prop_assert!((p.strip_flat() - visible).abs() < 1e-10);
        prop_assert!(p.visible().abs() < 1e-9 && p.ripe().abs() < 1e-10, "{}", p.visible());
        check(&p)?;
        check_classes(&p)?;
        for _ in 0..200 {
            p.step_to(p.today() + 1);
            check(&p)?;
        }
        check_classes(&p)?;
    }

    /// A clip cuts hair and empties no follicle: phases go on as they were.
    #[test]
    fn a_clip_changes_no_phase(cycle in cycles(), len in 2.0..20.0_f64, days in 0..90) {
        let mut p = Population::left_alone(law(cycle), 0, 0.6, 21);
        let mut q = p.clone();
        p.clip(len);
        prop_assert!(p.top_mm().is_none_or(|t| t <= len + cycle.growth_mm_d));
        p.step_to(days);
        q.step_to(days);
        prop_assert!((p.visible() - q.visible()).abs() < 1e-12 && (p.ripe() - q.ripe()).abs() < 1e-12);
        // Cut hair is gathered by length to within the 0.4 mm of the fixtures and a day's growth.
        prop_assert!(p.top_mm() <= q.top_mm().map(|x| x + 0.4 + cycle.growth_mm_d));
    }
}
