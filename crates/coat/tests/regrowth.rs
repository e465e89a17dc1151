//! Growth and regrowth: outside checks 3 to 6 and 11 of `docs/checks.md`.
use coat::{CoatType, Cycle, Law, Population, Wait, Zone, ZoneSetup};
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
