//! What the engine shows for the readings of a patch, in a form that is smooth to interpolate.

use crate::params::{Logs, scaled};
use crate::reading::{LAYERS, Sight, What, YOUNG_D};
use coat::{Day, Dog, HistoryError, LagCalendar, Law, Population, ZoneSetup};
use std::sync::Arc;

/// What is added, as the likelihood adds it, so that nothing bends sharply where a share is nothing.
pub(crate) const RIPE_EDGE: f64 = 0.02;
/// See [`RIPE_EDGE`].
pub(crate) const YOUNG_EDGE: f64 = 0.002;
/// Shares through are drawn this far in from 0 and 1.
const EDGE: f64 = 1e-3;

/// One number that the coat shows on a day, before its work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Slot {
    /// Logarithm of the 99th percentile of length.
    Top(Day),
    /// Logarithm of ripe over visible, [`RIPE_EDGE`] more.
    RipeShare(Day),
    /// Logarithm of the young share, [`YOUNG_EDGE`] more.
    Young(Day),
    /// The visible share.
    Visible(Day),
    /// The hard share.
    Hard(Day),
    /// Logit of the share through, of what was emptied on the first day, on the second.
    Through(Day, Day),
    /// Logarithm of its mean length, 1 mm more.
    LayerMm(Day, Day),
    /// As `Through`, after so many days of the plain clock.
    ThroughAfter(i32),
    /// As `LayerMm`, after so many days of the plain clock.
    LayerMmAfter(i32),
}

/// The logit of a share, and back; smooth up to 0 and 1.
fn logit(p: f64) -> f64 {
    let p = EDGE + (1.0 - 2.0 * EDGE) * p;
    (p / (1.0 - p)).ln()
}

fn expit(x: f64) -> f64 {
    let p = 1.0 / (1.0 + (-x).exp());
    ((p - EDGE) / (1.0 - 2.0 * EDGE)).clamp(0.0, 1.0)
}

impl Slot {
    fn day(self) -> Option<Day> {
        match self {
            Slot::Top(d) | Slot::RipeShare(d) | Slot::Young(d) | Slot::Visible(d) | Slot::Hard(d) => Some(d),
            Slot::Through(_, d) | Slot::LayerMm(_, d) => Some(d),
            Slot::ThroughAfter(_) | Slot::LayerMmAfter(_) => None,
        }
    }
}

/// The slots that a reading needs; `works` are the days of work before it, newest first. Where the
/// clock runs plainly a layer depends on its age only, and slots are shared.
pub(crate) fn slots_of(what: &What, day: Day, works: &[Day], plain: bool) -> Vec<Slot> {
    match what {
        What::LongestMm(_) | What::LongestDepth(_) => vec![Slot::Top(day)],
        What::NewLayerMm(_) | What::NewLayerDepth(_) => {
            let pair = |w: &Day| match plain {
                true => [Slot::ThroughAfter(day - *w), Slot::LayerMmAfter(day - *w)],
                false => [Slot::Through(*w, day), Slot::LayerMm(*w, day)],
            };
            works.iter().take(LAYERS).flat_map(pair).collect()
        }
        What::Ease(..) | What::Came(_) => vec![Slot::RipeShare(day)],
        What::NewHair(_) => vec![Slot::Young(day)],
        What::Cover(_) => vec![Slot::Visible(day)],
        What::Feel(_) => vec![Slot::Hard(day)],
    }
}

/// What a reading should show, from the values of its slots; lengths are multiplied by `growth`.
pub(crate) fn sight(what: &What, values: &[f64], slots: &[usize], growth: f64) -> Sight {
    let v = |i: usize| values[slots[i]];
    match what {
        What::LongestMm(_) | What::LongestDepth(_) => Sight::Top(v(0).exp() * growth),
        What::NewLayerMm(_) | What::NewLayerDepth(_) => {
            let mut layers = [(0.0, 0.0); LAYERS];
            for (l, pair) in layers.iter_mut().zip(slots.chunks(2)) {
                *l = (expit(values[pair[0]]), (values[pair[1]].exp() - 1.0).max(0.0) * growth);
            }
            Sight::Layers(layers)
        }
        What::Ease(..) | What::Came(_) => Sight::RipeShare((v(0).exp() - RIPE_EDGE).max(0.0)),
        What::NewHair(_) => Sight::Young((v(0).exp() - YOUNG_EDGE).max(0.0)),
        What::Cover(_) => Sight::Visible(v(0)),
        What::Feel(_) => Sight::Hard(v(0)),
    }
}

/// Replays a zone with its cycle multiplied and reads the slots.
///
/// `dims` 4 leaves growth as it is: its effect on lengths is exact and added when looking.
pub(crate) fn replay(
    dog: &Dog,
    setup: &ZoneSetup,
    calendar: Option<&LagCalendar>,
    slots: &[Slot],
    x: &Logs,
    dims: usize,
) -> Result<Vec<f64>, HistoryError> {
    let mut y = *x;
    if dims == 4 {
        y[4] = 0.0;
    }
    let setup = ZoneSetup { cycle: scaled(&setup.cycle, &y), ..setup.clone() };
    let law = Arc::new(Law::new(setup.cycle)?);
    let mut days: Vec<Day> = slots.iter().filter_map(|s| s.day()).collect();
    days.sort_unstable();
    days.dedup();
    let mut values = vec![0.0; slots.len()];
    for (slot, v) in slots.iter().zip(&mut values) {
        match *slot {
            Slot::ThroughAfter(k) => *v = logit(law.layer_after(k).0),
            Slot::LayerMmAfter(k) => *v = law.layer_after(k).1.ln_1p(),
            _ => {}
        }
    }
    dog.watch_zone(&setup, &law, calendar, &days, &mut |i, p| {
        for (slot, v) in slots.iter().zip(&mut values).filter(|(s, _)| s.day() == Some(days[i])) {
            *v = match *slot {
                Slot::Top(_) => p.quantile_mm(0.99).unwrap_or(0.0).max(0.05).ln(),
                Slot::RipeShare(_) => (p.ripe() / p.visible().max(1e-9) + RIPE_EDGE).ln(),
                Slot::Young(_) => (p.young(YOUNG_D) + YOUNG_EDGE).ln(),
                Slot::Visible(_) => p.visible(),
                Slot::Hard(_) => p.hard().unwrap_or(0.0),
                Slot::Through(work, day) => logit(layer(&law, calendar, work, day).0),
                Slot::LayerMm(work, day) => layer(&law, calendar, work, day).1.ln_1p(),
                Slot::ThroughAfter(_) | Slot::LayerMmAfter(_) => *v,
            };
        }
    })?;
    Ok(values)
}

fn layer(law: &Arc<Law>, calendar: Option<&LagCalendar>, work: Day, day: Day) -> (f64, f64) {
    if calendar.is_none() {
        return law.layer_after(day - work);
    }
    let mut p = Population::emptied_under(law.clone(), work.days(), 1.0, 21, calendar.cloned());
    p.step_to(day.days());
    let hair = p.hair_by_length();
    let share: f64 = hair.iter().map(|h| h.1).sum();
    let mm: f64 = hair.iter().map(|h| h.0 * h.1).sum();
    (p.visible(), if share > 1e-12 { mm / share } else { 0.0 })
}
