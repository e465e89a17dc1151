//! The dogs that the benchmarks forecast, and the forecast itself.

use coat::{CoatType, Day, Dog, DogCoat, Event, Look, Mode, Wait, Zone, ZoneSetup};
use std::ops::Range;

/// What is forecast.
#[derive(Clone, Copy)]
pub struct Case {
    /// How many of the dog's zones, from the first on.
    pub zones: usize,
    /// Whether zones share a law where the model's table gives them one.
    pub alike: bool,
    /// Days between visits; none when nobody works the coat.
    pub rhythm_d: Option<i32>,
    /// Days ahead.
    pub days: i32,
}

/// A whole dog of 24 zones, 26 weeks, a visit every 21 days.
pub const WHOLE: Case = Case { zones: Zone::ALL.len(), alike: true, rhythm_d: Some(21), days: 182 };

fn today() -> Day {
    Day::from_days(20_000)
}

/// An overgrown dog whose times differ from the coat type's by factors of its own, or of each zone.
pub fn dog(number: usize, case: &Case) -> Dog {
    let mut dog = Dog::new(today() - 1500, 8000.0, CoatType::Wire);
    dog.history.push((today() - 100, Event::LeftAlone));
    dog.zones.truncate(case.zones);
    // Spread over 0.8 to 1.2 by the golden section: different for every dog and time.
    for (i, z) in dog.zones.iter_mut().enumerate() {
        let n = if case.alike { number } else { number * Zone::ALL.len() + i };
        let factor = |k: usize| 0.8 + 0.4 * ((n * 5 + k + 1) as f64 * 0.618_033_988_75).fract();
        let scaled = |w: Wait, k: usize| w.scaled(factor(k));
        z.cycle.lag = scaled(z.cycle.lag, 0);
        z.cycle.grow = scaled(z.cycle.grow, 1);
        z.cycle.set = scaled(z.cycle.set, 2);
        z.cycle.hold_d *= factor(3);
        z.cycle.growth_mm_d *= factor(4);
    }
    dog
}

/// The coat of a dog today.
pub fn coat(number: usize, case: &Case) -> DogCoat {
    dog(number, case).coat_on(today()).expect("the history is in order")
}

/// One in five of the visible hair in layered zones, all that is ripe (up to the cap) in the others.
fn share(setup: &ZoneSetup) -> f64 {
    if setup.mode == Mode::Layered { 0.2 } else { setup.cap }
}

/// All measures weekly and before and after every visit; the sum keeps the compiler from dropping any of it.
#[inline(never)]
pub fn forecast(coat: DogCoat, case: &Case) -> f64 {
    let every = |step: i32| (0..=case.days).step_by(step as usize).map(|d| today() + d).collect::<Vec<Day>>();
    let visits = case.rhythm_d.map_or_else(Vec::new, every);
    let looks = coat.forecast(&every(7), &visits, share);
    let of = |look: &Look| look.dog.cover.unwrap_or(0.0) + look.zones.iter().filter_map(|z| z.top_mm).sum::<f64>();
    looks.iter().map(of).sum()
}

/// The coats of these dogs, made anew.
pub fn coats(numbers: Range<usize>, case: &Case) -> Vec<DogCoat> {
    numbers.map(|n| coat(n, case)).collect()
}
