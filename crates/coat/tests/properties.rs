//! What holds for any coat, and the outside checks of `docs/coat-model.md`.
use coat::{CoatType, Cycle, Day, Dog, Event, Law, Population, Take, Wait, Zone, ZoneSetup};
use proptest::prelude::*;
use std::sync::Arc;

fn law(cycle: Cycle) -> Arc<Law> {
    Arc::new(Law::new(cycle).expect("in range"))
}

fn jacket(coat: CoatType) -> Cycle {
    ZoneSetup::defaults(Zone::Back, coat).cycle
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
    // 1e-9 a day is allowed; 1e-8 over a whole history of months is far less.
    prop_assert!((p.total() - 1.0).abs() < 1e-8, "day {}: total {}", p.today(), p.total());
    let ph = p.phases();
    for share in [ph.empty, ph.growing, ph.set, ph.ripe] {
        prop_assert!(share > -1e-10, "day {}: {ph:?}", p.today());
    }
    prop_assert!((ph.empty + ph.growing + ph.set + ph.ripe - 1.0).abs() < 1e-8);
    Ok(())
}

fn check_classes(p: &Population) -> Result<(), TestCaseError> {
    let c = p.classes(p.class_count());
    prop_assert!((c.shares.iter().sum::<f64>() - 1.0).abs() < 1e-8, "{:?}", c.shares);
    prop_assert!((c.pools.iter().sum::<f64>() - p.ripe()).abs() < 1e-8, "{:?} {}", c.pools, p.ripe());
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

fn emptied(cycle: Cycle) -> Population {
    Population::emptied(law(cycle), 0, 0.6, 1.0, 21)
}

/// Outside check 6: the twelve-week look-ahead of rolled schnauzers [common practice], 3/4 inch of the AKC standard [published].
#[test]
fn twelve_weeks_after_emptying_the_jacket_is_in_length() {
    let mut p = emptied(jacket(CoatType::Wire));
    p.step_to(84);
    let top = p.top_mm().expect("visible");
    assert!(top >= 19.0, "{top}");
}

/// Outside check 7: one Gamma cycle, all emptied at once: each wave is exp(-2 pi^2 c^2) of the last [derived].
///
/// A hold of one day is the shortest there is: it adds a fixed day, counted in the mean.
#[test]
fn waves_die_out_by_the_spread_of_the_cycle() {
    for (sd, wave) in [(5.05, 40), (10.1, 10), (15.15, 6), (20.2, 5)] {
        let none = Wait::from_days(0.0, 0.0).expect("in range");
        let lag = Wait::from_days(100.0, sd).expect("in range");
        let mut p = emptied(Cycle { lag, grow: none, set: none, hold_d: 1.0, growth_mm_d: 0.3 });
        // Everything visible goes the next day: the visible share is the renewal density.
        let mean = 101.0;
        let mut density = Vec::new();
        for day in 0..mean as i32 * (wave + 3) {
            p.step_to(day);
            density.push(p.visible());
        }
        let peak = |n: i32| {
            let from = ((f64::from(n) - 0.45) * mean) as usize;
            let to = ((f64::from(n) + 0.55) * mean) as usize;
            density[from..to].iter().fold(f64::MIN, |a, b| a.max(*b)) - 1.0 / mean
        };
        let ratio = peak(wave + 1) / peak(wave);
        let want = (-2.0 * (std::f64::consts::PI * sd / mean).powi(2)).exp();
        assert!((ratio / want - 1.0).abs() < 0.02, "sd {sd}: {ratio} {want}");
    }
}

fn telogen(p: &Population) -> f64 {
    p.phases().set + p.phases().ripe
}

/// Outside check 4: telogen 55.3 % of a schnauzer's coat, and again two years after a shave
/// (Favarato & Conceicao 2008, Vet Dermatol 19:15-20) [consistency].
#[test]
fn a_long_wire_coat_rests_as_schnauzers_do() {
    let law = law(jacket(CoatType::LongWire));
    let p = Population::left_alone(law, 0, 0.6, 21);
    assert!((telogen(&p) - 0.553).abs() < 0.001, "{}", telogen(&p));
    // Cut and, harder, pulled: the second starts every follicle at once.
    let mut cut = p.clone();
    cut.clip(1.0);
    cut.step_to(730);
    assert!((telogen(&cut) - 0.553).abs() < 0.02, "{}", telogen(&cut));
    let mut pulled = p.clone();
    pulled.strip_flat();
    pulled.step_to(730);
    assert!((telogen(&pulled) - 0.553).abs() < 0.02, "{}", telogen(&pulled));
}

/// Outside check 5: growing hair of dogs gains 9.1 to 12.6 mm a month
/// (Amundson et al. 2025, Animals 15(5):686) [consistency].
#[test]
fn growing_hair_gains_a_centimetre_a_month() {
    for coat in CoatType::ALL {
        let month = jacket(coat).growth_mm_d * 30.4;
        assert!((9.1..=12.6).contains(&month), "{coat:?} {month}");
    }
    let mut p = emptied(jacket(CoatType::LongWire));
    p.step_to(60);
    let first = p.top_mm().expect("visible");
    p.step_to(90);
    let month = (p.top_mm().expect("visible") - first) * 30.4 / 30.0;
    assert!((9.1..=12.6).contains(&month), "{month}");
}

/// Outside check 11: trimming begins about four weeks after a full strip, show condition at eight [common practice].
#[test]
fn four_and_eight_weeks_after_a_full_strip() {
    let mut p = Population::left_alone(law(jacket(CoatType::Wire)), 0, 0.6, 21);
    p.strip_flat();
    let mut seen = Vec::new();
    for week in [4, 8] {
        p.step_to(7 * week);
        seen.push((p.visible(), p.top_mm().expect("there is hair to measure")));
    }
    let [(cover4, top4), (cover8, top8)] = seen[..] else { panic!("two looks") };
    assert!((0.3..0.9).contains(&cover4) && cover8 > 0.95, "{seen:?}");
    assert!((1.0..6.0).contains(&top4) && (8.0..15.0).contains(&top8), "{seen:?}");
}

/// Outside check 3: a smooth coat of the Labrador kind, clipped to 3 mm: telogen over 80 %, regrown in
/// 13.6 to 15.4 weeks (Diaz et al. 2004, Vet Dermatol 15:25-30) [consistency].
#[test]
fn a_clipped_labrador_regrows_in_about_fourteen_weeks() {
    let cycle =
        Cycle { lag: wait(10.0, 0.15), grow: wait(63.0, 0.2), set: wait(14.0, 0.3), hold_d: 350.0, growth_mm_d: 0.33 };
    let mut p = Population::left_alone(law(cycle), 0, 0.6, 21);
    assert!(telogen(&p) > 0.8, "{}", telogen(&p));
    let median = p.quantile_mm(0.5).expect("visible");
    p.clip(3.0);
    while p.top_mm().is_some_and(|t| t < 0.95 * median) && p.today() < 400 {
        p.step_to(p.today() + 1);
    }
    let weeks = f64::from(p.today()) / 7.0;
    assert!((13.6..=15.4).contains(&weeks), "{weeks}");
}

fn stripped(day: &str, edit: impl Fn(&mut Dog)) -> (Dog, Day) {
    let strip = Day::parse(day).expect("a date");
    let mut dog = Dog::new(strip - 1500, 8000.0, CoatType::Wire);
    dog.history.push((strip, Event::Flat));
    edit(&mut dog);
    (dog, strip)
}

fn back_cover(dog: &Dog, day: Day) -> f64 {
    dog.coat_on(day).expect("history").zone(Zone::Back).expect("back").top.visible()
}

/// Days until half of the back's hair is through again.
fn days_to_half(dog: &Dog, strip: Day) -> i32 {
    let mut back = dog.coat_on(strip).expect("history").zone(Zone::Back).expect("back").clone();
    let mut d = 0;
    while back.top.visible() < 0.5 && d < 400 {
        d += 1;
        back.step_to(strip + d);
    }
    d
}

/// Model page, 1: a steroid course makes the lag three times as long until eight weeks after its end.
#[test]
fn steroids_delay_the_next_coat_threefold() {
    let (plain, strip) = stripped("2026-06-01", |_| {});
    let (treated, _) = stripped("2026-06-01", |d| d.steroids.push((strip, None)));
    let (short, _) = stripped("2026-06-01", |d| d.steroids.push((strip - 90, Some(strip - 57))));
    let (a, b, c) = (days_to_half(&plain, strip), days_to_half(&treated, strip), days_to_half(&short, strip));
    let ratio = f64::from(b) / f64::from(a);
    assert!((2.8..=3.2).contains(&ratio), "{a} {b}");
    assert_eq!(a, c, "eight weeks after its end the course has no effect");
}

/// Model page, 1: outdoors in winter fewer hairs come through; indoors and in summer none are held back.
#[test]
fn winter_outdoors_holds_hair_back() {
    let (inside, strip) = stripped("2026-11-20", |_| {});
    let (outside, _) = stripped("2026-11-20", |d| d.outdoors_latitude_deg = Some(53.0));
    for day in [28, 35, 42] {
        let (a, b) = (back_cover(&inside, strip + day), back_cover(&outside, strip + day));
        assert!(b < a - 0.03, "day {day}: {a} {b}");
    }
    let (inside, strip) = stripped("2026-05-01", |_| {});
    let (outside, _) = stripped("2026-05-01", |d| d.outdoors_latitude_deg = Some(53.0));
    let (a, b) = (back_cover(&inside, strip + 30), back_cover(&outside, strip + 30));
    assert!((a - b).abs() < 0.02, "{a} {b}");
}

/// What was emptied under a calendar comes through by that calendar; on a plain one it is the law's own.
#[test]
fn a_layer_under_a_calendar() {
    use coat::{LagCalendar, LagClock, Law, Population, Zone, ZoneSetup};
    use std::sync::Arc;
    let cycle = ZoneSetup::defaults(Zone::Back, coat::CoatType::Wire).cycle;
    let law = Arc::new(Law::new(coat::Cycle { hold_d: 3000.0, ..cycle }).expect("a law"));
    let on = |speed: f64| -> LagCalendar { Arc::new(move |_| LagClock { speed, chance: 1.0 }) };
    for (speed, factor) in [(1.0, 1.0), (0.5, 2.0)] {
        let mut p = Population::emptied_under(law.clone(), 0, 1.0, 21, Some(on(speed)));
        let half = (1..300).find(|d| {
            p.step_to(*d);
            p.visible() >= 0.5
        });
        let expected = 28.0 * factor;
        assert!(half.is_some_and(|d| (f64::from(d) - expected).abs() < 3.0), "{speed}: {half:?}");
        assert!(p.total() > 0.999);
    }
    let (through, mm) = law.layer_after(60);
    assert!(through > 0.999 && (mm - 32.0 * 0.33).abs() < 0.5, "{through} {mm}");
    assert!((law.half_ripe_d() - 113.2).abs() < 1.0, "{}", law.half_ripe_d());
}
