//! Renewal limits and the trade's rule.
use coat::{Cycle, Law, Population, Take, Wait, steady_share};
use std::sync::Arc;

fn cycle(lag: (f64, f64), grow: (f64, f64), set: (f64, f64), hold_d: f64, growth: f64) -> Cycle {
    let w = |(m, s)| Wait::from_days(m, s).expect("in range");
    Cycle { lag: w(lag), grow: w(grow), set: w(set), hold_d, growth_mm_d: growth }
}

fn wire() -> Arc<Law> {
    Arc::new(Law::new(cycle((28.0, 4.0), (72.0, 14.0), (14.0, 4.0), 250.0, 0.33)).expect("in range"))
}

/// Elementary renewal theorem (Cox 1962): phase shares = mean time / cycle.
#[test]
fn stationary_shares() {
    for shape in [0.05, 0.3, 1.0] {
        let c = cycle((28.0, 28.0 * shape), (60.0, 60.0 * shape), (17.0, 17.0 * shape), 400.0, 0.33);
        let mut p = Population::left_alone(Arc::new(Law::new(c).expect("ok")), 0, 0.5, 21);
        let first = p.phases();
        for (got, want) in [(first.empty, 28.0), (first.growing + first.set, 77.0), (first.ripe, 400.0)] {
            let tolerance = if shape > 0.9 { 1e-4 } else { 2e-5 };
            assert!((got - want / 505.0).abs() < tolerance, "{got} {want} {shape}");
        }
        p.step_to(400);
        let then = p.phases();
        assert!((first.ripe - then.ripe).abs() < 1e-6 && (first.empty - then.empty).abs() < 1e-6);
        assert!((p.total() - 1.0).abs() < 1e-9);
    }
}

/// Follicular automaton, Halloy et al. 2000 PNAS 97:8328-8333 (encoding BioModels MODEL1006230014).
#[test]
fn three_phase_automaton() {
    let m = 30.4375;
    let (a, t, l) = (3.6 * m, 2.4 * m, 2.0 * m);
    let law = Law::new(cycle((l, l), (a, a), (0.0, 0.0), t, 0.33)).expect("ok");
    let mut p = Population::by_phases(Arc::new(law), 0, 0.5, [0.33, 0.34, 0.33], 21);
    assert!((p.total() - 1.0).abs() < 1e-6, "{}", p.total());
    for (months, want) in [(0.5, 0.3713), (1.0, 0.3953), (2.0, 0.4263), (6.0, 0.4515)] {
        p.step_to((months * m).round() as i32);
        let got = p.phases().growing;
        assert!((got - want).abs() < 0.002, "{months}: {got} {want}");
    }
}

/// A coat nobody worked, one in five of the visible every 21 days.
#[test]
fn one_in_five_rolls_a_coat() {
    let mut p = Population::left_alone(wire(), 0, 0.0, 21);
    let mut seen = Vec::new();
    let mut hard = Vec::new();
    for i in 0..8 {
        p.step_to(i * 21);
        let before = p.visible();
        p.visit(&Take::LongestFirst(0.2 * before));
        assert!((p.total() - 1.0).abs() < 1e-9);
        seen.push(p.evenness().0);
        hard.push(p.hard().expect("visible"));
    }
    for (got, want) in seen.iter().zip([0.49, 0.61, 0.72, 0.83, 0.87, 0.90, 0.93]) {
        assert!((got - want).abs() < 0.006, "{seen:?}");
    }
    assert!((hard[4] - 0.75).abs() < 0.03 && (hard[7] - 0.91).abs() < 0.03, "{hard:?}");
}

/// The rule of one in five of the visible hair every three weeks is the steady state of the
/// default wire coat (114 days from pull to ripe); common practice, explained.
#[test]
fn one_in_five_is_the_steady_state() {
    let share = steady_share(&wire(), 21);
    assert!((share - 0.20).abs() < 0.01, "{share}");
}
