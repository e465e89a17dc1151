//! A dog's history replayed: the coat that it made.

use crate::day::Day;
use crate::dog::{Dog, DogCoat, Event, HistoryError, Pulled, WOOL_LIMIT, ZoneCoat, ZoneRecord, ZoneSetup, card};
use crate::law::{Cycle, Law};
use crate::population::{LagCalendar, Population, Take};
use crate::quantity::QuantityError;
use crate::zone::{Mode, PUPPY_START_HARD, UNDERCOAT, Zone};
use std::sync::Arc;

/// A puppy's follicles are taken as emptied this long before birth, days.
const PUPPY_BEFORE_BIRTH_D: i32 = 28;

impl Dog {
    /// The coat as it stands on `day`, after everything recorded for that day.
    ///
    /// # Errors
    /// [`HistoryError`] when the history contradicts itself.
    pub fn coat_on(&self, day: Day) -> Result<DogCoat, HistoryError> {
        let mut laws: Vec<(Cycle, Arc<Law>)> = Vec::new();
        let mut law_of = |cycle: Cycle| -> Result<Arc<Law>, QuantityError> {
            if let Some((_, l)) = laws.iter().find(|(c, _)| *c == cycle) {
                return Ok(l.clone());
            }
            let law = Arc::new(Law::new(cycle)?);
            laws.push((cycle, law.clone()));
            Ok(law)
        };
        let (lag, grow, set, hold_d, growth_mm_d) = UNDERCOAT;
        let under_law = law_of(Cycle { lag, grow, set, hold_d, growth_mm_d })?;
        let first = self.history.first().map_or(self.born, |h| h.0);
        if day < first {
            return Err(HistoryError::BeforeHistory { day, first });
        }
        let start = match self.history.first() {
            Some((d, Event::Clipped { for_d, .. })) => *d - (*for_d).min(500),
            _ => first,
        };
        let calendar = self.lag_calendar(start - 10, day + 1200);
        let events = || self.history.iter().enumerate().take_while(|(_, h)| h.0 <= day);
        let mut zones: Vec<ZoneCoat> = Vec::with_capacity(self.zones.len());
        for setup in &self.zones {
            // Zones that fared alike have one coat.
            let top = match zones.iter().find(|z| self.tops_alike(&z.setup, setup)) {
                Some(z) => z.top.clone(),
                None => {
                    let mut top = self.first_top(setup, law_of(setup.cycle)?);
                    top.set_calendar(calendar.clone());
                    for (i, (d, event)) in events() {
                        replay_top(&mut top, setup, *d, event, i == 0)?;
                    }
                    top.step_to(day.days());
                    top
                }
            };
            let under = match zones.iter().find(|z| self.unders_alike(&z.setup, setup)) {
                Some(z) => z.under.clone(),
                None => {
                    let mut under = self.first_under(setup, under_law.clone());
                    under.set_calendar(calendar.clone());
                    for (i, (d, event)) in events() {
                        replay_under(&mut under, setup, *d, event, i == 0);
                    }
                    under.step_to(day.days());
                    under
                }
            };
            zones.push(ZoneCoat { setup: setup.clone(), top, under });
        }
        Ok(DogCoat { day, zones })
    }

    /// Replays the topcoat of one zone and shows it on each of `days`, just before that day's work.
    ///
    /// The setup may differ from the dog's own: this is how other values of a cycle are tried on the
    /// same history. `days` ascend; those before the history are passed over. The undercoat is not
    /// followed.
    ///
    /// # Errors
    /// [`HistoryError`] when a value is out of range or the history contradicts itself.
    pub fn watch_zone(
        &self,
        setup: &ZoneSetup,
        law: &Arc<Law>,
        calendar: Option<&LagCalendar>,
        days: &[Day],
        show: &mut dyn FnMut(usize, &Population),
    ) -> Result<(), HistoryError> {
        let mut top = self.first_top(setup, law.clone());
        top.set_calendar(calendar.cloned());
        let begin = self.history.first().map_or(self.born, |h| h.0);
        let mut next = days.iter().take_while(|d| **d < begin).count();
        let mut show_until = |top: &mut Population, until: Option<Day>| {
            while let Some(d) = days.get(next).filter(|d| until.is_none_or(|u| **d <= u)) {
                top.step_to(d.days());
                show(next, top);
                next += 1;
            }
            next < days.len()
        };
        for (i, (d, event)) in self.history.iter().enumerate() {
            let work = !matches!(event, Event::LeftAlone | Event::Rolled { .. });
            let more = show_until(&mut top, Some(if work { *d } else { *d - 1 }));
            if !more {
                return Ok(());
            }
            replay_top(&mut top, setup, *d, event, i == 0)?;
        }
        show_until(&mut top, None);
        Ok(())
    }

    /// Whether two zones have the same topcoat by all that it depends on.
    fn tops_alike(&self, a: &ZoneSetup, b: &ZoneSetup) -> bool {
        a.cycle == b.cycle
            && a.mode == b.mode
            && a.cut_share() == b.cut_share()
            && self.records_alike(a.zone, b.zone, |x, y| x.pulled == y.pulled)
    }

    /// Whether two zones have the same undercoat by all that it depends on.
    fn unders_alike(&self, a: &ZoneSetup, b: &ZoneSetup) -> bool {
        a.is_carded() == b.is_carded()
            && a.is_worked() == b.is_worked()
            && self.records_alike(a.zone, b.zone, |x, y| x.carded == y.carded)
    }

    fn records_alike(&self, a: Zone, b: Zone, alike: impl Fn(&ZoneRecord, &ZoneRecord) -> bool) -> bool {
        self.history.iter().all(|(_, event)| {
            let Event::Visit(records) = event else { return true };
            let of = |zone: Zone| records.iter().filter(move |r| r.zone == zone);
            of(a).count() == of(b).count() && of(a).zip(of(b)).all(|(x, y)| alike(x, y))
        })
    }

    fn first_top(&self, setup: &ZoneSetup, law: Arc<Law>) -> Population {
        let hard = self.coat.defaults().start_hard;
        match self.history.first() {
            Some((d, Event::Rolled { every_d })) if setup.is_worked() => {
                Population::rolled(law, d.days(), hard, (*every_d).max(1), setup.mode == Mode::Shaped)
            }
            _ => self.first_of(law),
        }
    }

    fn first_under(&self, setup: &ZoneSetup, law: Arc<Law>) -> Population {
        let hard = self.coat.defaults().start_hard;
        match self.history.first() {
            Some((d, Event::Rolled { every_d })) if setup.is_carded() => {
                Population::rolled(law, d.days(), hard, (*every_d).max(1), false)
            }
            _ => self.first_of(law),
        }
    }

    /// What a population begins as where nobody worked it before.
    fn first_of(&self, law: Arc<Law>) -> Population {
        let hard = self.coat.defaults().start_hard;
        let alone = |d: Day| Population::left_alone(law.clone(), d.days(), hard, self.rhythm_d);
        let puppy = || {
            let d = self.born.days() - PUPPY_BEFORE_BIRTH_D;
            Population::emptied(law.clone(), d, hard, PUPPY_START_HARD, self.rhythm_d)
        };
        match self.history.first() {
            None => puppy(),
            Some((d, Event::Visit(_))) if *d - self.born < 300 => puppy(),
            Some((d, Event::Clipped { every_d, for_d, .. })) => {
                let back = match every_d {
                    Some(n) if *n > 0 => (*for_d).min(500) / n * n,
                    _ => 0,
                };
                alone(*d - back)
            }
            Some((d, _)) => alone(*d),
        }
    }
}

fn replay_top(
    top: &mut Population,
    setup: &ZoneSetup,
    day: Day,
    event: &Event,
    first: bool,
) -> Result<(), HistoryError> {
    match event {
        Event::LeftAlone => top.step_to(day.days()),
        Event::Rolled { every_d } => {
            top.step_to(day.days());
            if !first && setup.is_worked() {
                roll_on(top, day, *every_d, setup.mode == Mode::Shaped);
            }
        }
        Event::Flat => {
            top.step_to(day.days());
            if setup.is_worked() {
                top.strip_flat();
            }
        }
        Event::Clipped { length_mm, .. } => {
            for d in clip_days(day, event) {
                if d.days() >= top.today() {
                    top.step_to(d.days());
                    if setup.is_worked() {
                        top.clip(*length_mm);
                    }
                }
            }
        }
        Event::Visit(records) => {
            top.step_to(day.days());
            top.mark_visit();
            for r in records.iter().filter(|r| r.zone == setup.zone) {
                let amount = match r.pulled {
                    None => 0.0,
                    Some(Pulled::AllRipe) => top.ripe(),
                    Some(Pulled::Share(share)) if !(0.0..=1.0).contains(&share) => {
                        return Err(HistoryError::MoreThanVisible { day, zone: r.zone, share });
                    }
                    Some(Pulled::Share(share)) => share * top.visible(),
                };
                let ripe = amount.min(top.ripe());
                let rest = (amount - ripe).max(0.0);
                let unripe = (rest > 1e-12).then_some((rest, 0.0));
                top.work(&Take::LongestFirst(ripe), unripe, setup.cut_share());
            }
        }
    }
    Ok(())
}

/// Rolled elsewhere since the last event: its visits are not known one by one, so the coat is the one that the
/// rhythm comes to. Its clock stays the dog's.
fn roll_on(coat: &mut Population, day: Day, every_d: i32, sparingly: bool) {
    let calendar = coat.calendar();
    *coat = Population::rolled(coat.law().clone(), day.days(), coat.start_hard(), every_d.max(1), sparingly);
    coat.set_calendar(calendar);
}

fn replay_under(under: &mut Population, setup: &ZoneSetup, day: Day, event: &Event, first: bool) {
    match event {
        Event::LeftAlone => under.step_to(day.days()),
        Event::Rolled { every_d } => {
            under.step_to(day.days());
            if !first && setup.is_carded() {
                roll_on(under, day, *every_d, false);
            }
        }
        Event::Flat => {
            under.step_to(day.days());
            if setup.is_worked() {
                card(under);
            }
        }
        Event::Clipped { .. } => {
            for d in clip_days(day, event) {
                under.step_to(d.days());
            }
        }
        Event::Visit(records) => {
            under.step_to(day.days());
            for r in records.iter().filter(|r| r.zone == setup.zone) {
                if r.carded.unwrap_or_else(|| setup.is_carded() && under.ripe() > WOOL_LIMIT) {
                    card(under);
                }
            }
        }
    }
}

/// The days of an event's clips, the last on its own day.
fn clip_days(day: Day, event: &Event) -> impl Iterator<Item = Day> {
    let (every, times) = match event {
        Event::Clipped { every_d: Some(n), for_d, .. } if *n > 0 => (*n, (*for_d).min(500) / n),
        _ => (0, 0),
    };
    (0..=times).rev().map(move |k| day - k * every)
}
