use crate::cases::*;
use coat::{Event, Zone};
use learn::*;

fn means(l: &Learned, zone: Zone) -> Logs {
    l.zone_mean(zone)
}

fn learned(c: &Case<'_>) -> Learned {
    learn::learn(c).expect("learned")
}

#[test]
fn nothing_read_is_the_default_to_the_digit() {
    let d = dog(4, 21);
    let l = learned(&case(&d, &[], Effort::VISIT));
    let z = l.zone(Zone::Back).expect("a zone");
    assert!(z.params.iter().all(|p| p.only_default && (p.mean - p.default).abs() < 1e-9), "{z:?}");
    assert_eq!(l.dog_at_mean(&d), d);
    assert_eq!(l.diagnostics.ess, Available::Not("there is no reading"));
}

#[test]
fn the_same_seed_gives_the_same_draws_and_another_nearly_the_same_answer() {
    let d = dog(6, 21);
    let pattern = patterns(6, 21, &[Zone::Back]);
    let c = case(&d, &pattern, Effort::VISIT);
    let s = simulate(&c, 11).expect("simulated");
    let c = Case { readings: &s.readings, ..c };
    let (a, b) = (learned(&c), learned(&c));
    assert_eq!(a.zone_draws(Zone::Back), b.zone_draws(Zone::Back));
    assert_eq!(a.zone_draws(Zone::Ears), b.zone_draws(Zone::Ears));
    let other = learned(&Case { seed: 8, ..c });
    assert_ne!(a.zone_draws(Zone::Back), other.zone_draws(Zone::Back));
    let sd = Prior::STANDARD.total_sd();
    for k in 0..DIM {
        assert!((means(&a, Zone::Back)[k] - means(&other, Zone::Back)[k]).abs() < 0.2 * sd[k]);
    }
}

/// What comes after the day asked for changes nothing, neither visits nor readings.
#[test]
fn the_future_is_not_used() {
    let d = dog(8, 21);
    let pattern = patterns(8, 21, &[Zone::Back]);
    let c = case(&d, &pattern, Effort::VISIT);
    let s = simulate(&c, 5).expect("simulated");
    for visits in [3, 5] {
        let today = first_day() + (visits - 1) * 21 + 20;
        let all = learned(&Case { readings: &s.readings, today, ..c });
        let mut short = d.clone();
        short.history.retain(|h| h.0 <= today);
        let known: Vec<Reading> = s.readings.iter().filter(|r| r.day <= today).cloned().collect();
        let cut = learned(&Case { dog: &short, readings: &known, today, ..c });
        assert_eq!(all.zone_draws(Zone::Back), cut.zone_draws(Zone::Back));
        assert_eq!(all.windows(), cut.windows());
        assert!(all.unused.iter().all(|u| u.why == UnusedWhy::Later) && !all.unused.is_empty());
    }
}

/// One absurd value, whichever it is, moves no mean by as much as half a posterior sd of the prior.
#[test]
fn a_single_absurd_value_moves_nothing_much() {
    let d = dog(8, 21);
    let pattern = patterns(8, 21, &[Zone::Back]);
    let c = case(&d, &pattern, Effort::VISIT);
    let s = simulate(&c, 21).expect("simulated");
    let before = learned(&Case { readings: &s.readings, ..c });
    let sd = Prior::STANDARD.total_sd();
    let odd = [What::LongestMm(395.0), What::LongestMm(1.0), What::NewLayerMm(90.0), What::Cover(0.02)];
    for what in odd {
        let mut readings = s.readings.clone();
        let i = readings
            .iter()
            .rposition(|r| std::mem::discriminant(&r.what) == std::mem::discriminant(&what))
            .expect("one of this kind");
        // Against the record without it: what an absurd value does beyond taking the true one away.
        readings.remove(i);
        let without = learned(&Case { readings: &readings, ..c });
        readings.insert(i, Reading { what, ..s.readings[i].clone() });
        let with = learned(&Case { readings: &readings, ..c });
        for k in 0..DIM {
            let moved = (means(&with, Zone::Back)[k] - means(&without, Zone::Back)[k]).abs() / sd[k];
            assert!(moved < 0.25, "{what:?} moved {} by {moved:.2} prior sd", Param::ALL[k].word());
        }
        assert!(means(&before, Zone::Back).iter().all(|m| m.is_finite()));
    }
}

#[test]
fn an_impossible_value_is_refused() {
    let d = dog(2, 21);
    for what in [What::LongestMm(900.0), What::NewLayerMm(f64::NAN), What::Ease(7, None), What::LongestDepth(6)] {
        let r = [Reading { day: first_day(), zones: vec![Zone::Back], what }];
        assert!(matches!(learn::learn(&case(&d, &r, Effort::VISIT)), Err(LearnError::Reading(_))), "{what:?}");
    }
}

/// A far reading is noticed, a usual one is not.
#[test]
fn a_surprise_is_noticed() {
    let d = dog(8, 21);
    let pattern = patterns(8, 21, &[Zone::Back]);
    let c = case(&d, &pattern, Effort::VISIT);
    let s = simulate(&c, 33).expect("simulated");
    let mut readings = s.readings.clone();
    let last = readings.iter().rposition(|r| matches!(r.what, What::LongestMm(_))).expect("a length");
    readings[last].what = What::LongestMm(6.0);
    let l = learned(&Case { readings: &readings, ..c });
    let found = l.last_visit().expect("foretold");
    let it = found.iter().find(|f| f.index == last).expect("it counts");
    // A wrong entry is always possible: one in 33.
    assert!(it.below < 0.01 && it.is_far(), "{it:?}");
}

/// Clipped coats tie growth to the rest, steroids and winter bend the clock; all of it is still learned.
#[test]
fn clips_and_calendars() {
    let first = first_day();
    let mut clipped = dog(6, 21);
    clipped.history[0] = (first - 120, Event::Clipped { length_mm: 6.0, every_d: Some(56), for_d: 400 });
    let mut ill = dog(6, 21);
    ill.steroids.push((first + 10, Some(first + 40)));
    let mut out = dog(6, 21);
    out.outdoors_latitude_deg = Some(59.0);
    for d in [clipped, ill, out] {
        let pattern = patterns(6, 21, &[Zone::Back]);
        let c = case(&d, &pattern, Effort::VISIT);
        let s = simulate(&c, 2).expect("simulated");
        let l = learned(&Case { readings: &s.readings, ..c });
        let truth = s.truth[0].1;
        let sd = Prior::STANDARD.total_sd();
        for k in 0..2 {
            let off = (means(&l, Zone::Back)[k] - truth[k]).abs() / sd[k];
            assert!(off < 1.2, "{}: {off:.2} prior sd off", Param::ALL[k].word());
        }
        assert!(!l.windows().is_empty());
    }
}
