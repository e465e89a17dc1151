//! From the history of a dog's file to readings.

use crate::dog_file::{DogFile, EventKind, Feel, Pulled, ZoneRecord};
use coat::{Day, Zone};
use learn::{Reading, What};

/// A reading and the line that it stands in.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// What was read.
    pub reading: Reading,
    /// Line of the file.
    pub line: usize,
}

/// All readings up to a day, in file order.
///
/// *All ripe* takes what comes whatever the coat's values are: neither it nor its ease is a reading.
/// The ease of a whole visit counts for the entry with the most skin among those with a share and no
/// ease of their own.
pub fn recorded(file: &DogFile, until: Day) -> Vec<Recorded> {
    let mut out = Vec::new();
    for event in file.history.iter().filter(|e| e.date <= until) {
        let EventKind::Visit(visit) = &event.kind else { continue };
        let share = |r: &ZoneRecord| match r.pulled {
            Some(Pulled::Share(s)) if s > 0.0 => Some(s),
            _ => None,
        };
        let skin = |r: &ZoneRecord| r.zones.iter().map(|z| z.defaults().area).sum::<f64>();
        let whole = visit.ease.and_then(|e| {
            let open = visit.zones.iter().enumerate().filter(|(_, r)| r.ease.is_none() && share(r).is_some());
            open.max_by(|a, b| skin(a.1).total_cmp(&skin(b.1))).map(|(i, _)| (i, e))
        });
        for (i, r) in visit.zones.iter().enumerate() {
            let mut add = |what: What| {
                let zones: Vec<Zone> = r.zones.clone();
                out.push(Recorded { reading: Reading { day: event.date, zones, what }, line: r.line });
            };
            if let Some(mm) = r.longest_mm {
                add(What::LongestMm(mm));
            }
            if let Some(k) = r.longest_depth {
                add(What::LongestDepth(k));
            }
            if let Some(mm) = r.new_layer_mm {
                add(What::NewLayerMm(mm));
            }
            if let Some(k) = r.new_layer_depth {
                add(What::NewLayerDepth(k));
            }
            let ease = r.ease.or(whole.filter(|w| w.0 == i).map(|w| w.1));
            match (ease, r.pulled) {
                (Some(_), Some(Pulled::AllRipe)) => {}
                (Some(e), _) => add(What::Ease(e, share(r))),
                (None, _) => {
                    if let Some(s) = share(r) {
                        add(What::Came(s));
                    }
                }
            }
            if let Some(seen) = r.new_hair {
                add(What::NewHair(seen));
            }
            if let Some(c) = r.cover_by_eye {
                add(What::Cover(c));
            }
            if let Some(f) = r.feel {
                add(What::Feel(match f {
                    Feel::Soft => learn::Feel::Soft,
                    Feel::Between => learn::Feel::Between,
                    Feel::Harsh => learn::Feel::Harsh,
                }));
            }
        }
    }
    out
}
