//! The coat on days to come, when every visit takes a fixed share.
//!
//! No planning: what is taken follows from the zone's setup alone. Each zone is followed through
//! all its days before the next, and zones that fare alike are followed once.

use crate::day::Day;
use crate::dog::{DogCoat, WOOL_LIMIT, ZoneSetup, card};
use crate::measures::{DogMeasures, TopMeasures, ZoneMeasures, dog_measures};
use crate::population::{Population, Take};
use crate::zone::Mode;

/// When on its day a coat is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// Nothing is done on this day.
    Day,
    /// Before the visit.
    Before,
    /// After it.
    After,
}

/// A dog's coat on a day to come.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// The day.
    pub day: Day,
    /// When on the day.
    pub at: At,
    /// Means over the zones.
    pub dog: DogMeasures,
    /// The zones, in the order of the dog's setup.
    pub zones: Vec<ZoneMeasures>,
}

/// A day on which the coat is looked at.
#[derive(Clone, Copy)]
struct Stop {
    day: i32,
    visit: bool,
}

/// What is read off before and after a visit; on other days twice the same.
type Pair<T> = [T; 2];

/// Zones whose coat goes one way: the setup that says how, and what was seen.
struct Followed<T> {
    zones: Vec<usize>,
    seen: Vec<Pair<T>>,
}

impl DogCoat {
    /// Follows the coat through visits, from its own day on; every visit takes of each zone the share of
    /// the visible hair that `share` says, as far as it is ripe, and cards by the rule.
    ///
    /// Looks on `days` and before and after each of `visits`, in order of the days; days before the
    /// coat's own are passed over.
    ///
    /// # Example
    /// ```
    /// use coat::{At, CoatType, Day, Dog, Event};
    /// let today = Day::from_days(20_000);
    /// let mut dog = Dog::new(today - 1500, 8000.0, CoatType::Wire);
    /// dog.history.push((today, Event::LeftAlone));
    /// let looks = dog.coat_on(today)?.forecast(&[today + 21], &[today], |_| 0.2);
    /// assert_eq!(looks.iter().map(|l| l.at).collect::<Vec<_>>(), [At::Before, At::After, At::Day]);
    /// // One in five of the hair is gone.
    /// let cover = |i: usize| looks[i].dog.cover.unwrap_or(0.0);
    /// assert!((cover(1) / cover(0) - 0.8).abs() < 0.01);
    /// # Ok::<(), coat::HistoryError>(())
    /// ```
    pub fn forecast(self, days: &[Day], visits: &[Day], share: impl Fn(&ZoneSetup) -> f64) -> Vec<Look> {
        let mut all: Vec<Day> = days.iter().chain(visits).copied().filter(|d| *d >= self.day).collect();
        all.sort_unstable();
        all.dedup();
        let stops: Vec<Stop> = all.iter().map(|d| Stop { day: d.days(), visit: visits.contains(d) }).collect();
        let setups: Vec<ZoneSetup> = self.zones.iter().map(|z| z.setup.clone()).collect();
        let (mut tops, mut unders) = (Vec::new(), Vec::new());
        for z in self.zones {
            tops.push(z.top);
            unders.push(z.under);
        }
        let worked = |i: usize| setups[i].is_worked();
        // Only worked zones have measures.
        let of_tops = by_fate(tops, |i| worked(i).then(|| (setups[i].mode, setups[i].cut_share(), share(&setups[i]))));
        let of_unders = by_fate(unders, |i| worked(i).then(|| setups[i].is_carded()));
        let tops: Vec<Followed<TopMeasures>> = of_tops
            .into_iter()
            .map(|(zones, top, (mode, cut, share))| Followed { zones, seen: follow_top(top, &stops, mode, cut, share) })
            .collect();
        let unders: Vec<Followed<f64>> = of_unders
            .into_iter()
            .map(|(zones, under, carded)| Followed { zones, seen: follow_under(under, &stops, carded) })
            .collect();
        looks(&stops, &setups, &tops, &unders)
    }
}

/// Populations that stand on one state and are treated alike, with their zones; the others' are dropped.
fn by_fate<K: PartialEq>(
    populations: Vec<Population>,
    fate: impl Fn(usize) -> Option<K>,
) -> Vec<(Vec<usize>, Population, K)> {
    let mut groups: Vec<(Vec<usize>, Population, K)> = Vec::new();
    for (i, p) in populations.into_iter().enumerate() {
        let Some(key) = fate(i) else { continue };
        match groups.iter_mut().find(|g| g.1.is_same(&p) && g.2 == key) {
            Some(group) => group.0.push(i),
            None => groups.push((vec![i], p, key)),
        }
    }
    groups
}

fn follow_top(mut top: Population, stops: &[Stop], mode: Mode, cut: f64, share: f64) -> Vec<Pair<TopMeasures>> {
    let layered = mode == Mode::Layered;
    let see = |stop: &Stop| {
        top.step_to(stop.day);
        let before = TopMeasures::of(&top, layered);
        if !stop.visit {
            return [before; 2];
        }
        let amount = (share * top.visible()).min(top.ripe());
        top.work(&Take::LongestFirst(amount), None, cut);
        [before, TopMeasures::of(&top, layered)]
    };
    stops.iter().map(see).collect()
}

fn follow_under(mut under: Population, stops: &[Stop], carded: bool) -> Vec<Pair<f64>> {
    let see = |stop: &Stop| {
        under.step_to(stop.day);
        let before = under.ripe();
        if stop.visit && carded && before > WOOL_LIMIT {
            card(&mut under);
        }
        [before, under.ripe()]
    };
    stops.iter().map(see).collect()
}

fn looks(stops: &[Stop], setups: &[ZoneSetup], tops: &[Followed<TopMeasures>], unders: &[Followed<f64>]) -> Vec<Look> {
    let mut out = Vec::with_capacity(2 * stops.len());
    for (k, stop) in stops.iter().enumerate() {
        let ats: &[At] = if stop.visit { &[At::Before, At::After] } else { &[At::Day] };
        for (pick, &at) in ats.iter().enumerate() {
            let mut zones: Vec<ZoneMeasures> = setups.iter().map(|s| ZoneMeasures::none(s.zone)).collect();
            for f in tops {
                for &z in &f.zones {
                    zones[z].set_top(&f.seen[k][pick]);
                }
            }
            for f in unders {
                for &z in &f.zones {
                    zones[z].wool = Some(f.seen[k][pick]);
                }
            }
            out.push(Look { day: Day::from_days(stop.day), at, dog: dog_measures(&zones), zones });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{CoatType, Dog, Event, ZoneWork};

    /// The forecast is what the coat shows when it is stepped and worked day by day.
    #[test]
    fn a_forecast_is_the_coat_stepped_and_worked() {
        let today = Day::from_days(20_000);
        let mut dog = Dog::new(today - 1500, 8000.0, CoatType::Wire);
        dog.history.push((today - 40, Event::LeftAlone));
        let share = |s: &ZoneSetup| s.cap.min(0.3);
        let days: Vec<Day> = (0..12).map(|w| today + 7 * w).collect();
        let visits = [today + 5, today + 28, today + 56];
        let mut coat = dog.coat_on(today).unwrap();
        let looks = coat.clone().forecast(&days, &visits, share);
        let mut seen = looks.iter();
        let mut next = |coat: &DogCoat| {
            let look = seen.next().unwrap();
            assert_eq!((look.day, (look.dog, look.zones.clone())), (coat.day, coat.measures()));
            look.at
        };
        for d in 0..=77 {
            let day = today + d;
            if !visits.contains(&day) && !days.contains(&day) {
                continue;
            }
            coat.step_to(day);
            if visits.contains(&day) {
                assert_eq!(next(&coat), At::Before);
                for z in coat.zones.iter_mut().filter(|z| z.setup.is_worked()) {
                    let amount = (share(&z.setup) * z.top.visible()).min(z.top.ripe());
                    let card = z.wants_carding();
                    z.work(&ZoneWork { take: Take::LongestFirst(amount), unripe: None, card });
                }
                assert_eq!(next(&coat), At::After);
            } else {
                assert_eq!(next(&coat), At::Day);
            }
        }
        assert!(seen.next().is_none() && looks.len() == 16);
    }
}
