//! A plan played through the coat: visits, forecast, milestones.

use super::{Case, is_jacket};
use crate::cautions;
use crate::report::{CoatReport, Delays, MatterReport, Milestones, VisitReport, ZoneReport, r9};
use crate::words;
use coat::{Day, DogCoat, Mode, Take, Zone, ZoneCoat, ZoneWork};
use plan::{Amount, DogPlan};
use rayon::prelude::*;

/// A plan played through the coat.
pub(super) struct Walk {
    pub(super) visits: Vec<VisitReport>,
    pub(super) forecast: Vec<CoatReport>,
    pub(super) jacket: Vec<JacketOn>,
    /// Whether the legs are at length and covered, by day.
    pub(super) legs: Vec<(Day, bool)>,
}

/// The jacket on a day, area-weighted.
pub(super) struct JacketOn {
    pub(super) day: Day,
    pub(super) at: &'static str,
    pub(super) cover: Option<f64>,
    pub(super) evenness: Option<f64>,
    pub(super) hard: Option<f64>,
    pub(super) top_mm: Option<f64>,
}

impl Walk {
    pub(super) fn push(&mut self, day: Day, at: &'static str, zones: &[coat::ZoneMeasures]) {
        let jacket: Vec<coat::ZoneMeasures> = zones.iter().filter(|z| is_jacket(z.zone)).copied().collect();
        let d = coat::dog_measures(&jacket);
        let area: f64 = jacket.iter().filter(|z| z.top_mm.is_some()).map(|z| z.zone.defaults().area).sum();
        let top: f64 = jacket.iter().filter_map(|z| Some(z.top_mm? * z.zone.defaults().area)).sum();
        self.jacket.push(JacketOn {
            day,
            at,
            cover: d.cover,
            evenness: d.evenness,
            hard: d.hard,
            top_mm: (area > 0.0).then(|| top / area),
        });
        let leg = |zone: Zone| {
            zones.iter().find(|z| z.zone == zone).is_some_and(|z| {
                let target = zone.defaults().target_mm.unwrap_or(0.0);
                z.top_mm.is_some_and(|t| t >= 0.9 * target) && z.cover.is_some_and(|c| c >= 0.7)
            })
        };
        self.legs.push((day, leg(Zone::Forelegs) && leg(Zone::HindLegs)));
        self.forecast.push(CoatReport::new(day, at, coat::dog_measures(zones), zones));
    }
}

impl Case<'_> {
    /// Plays a plan through the coat, from the coat's own day: visits as they will be, and the coat along the way.
    pub(super) fn walk(&self, coat: &DogCoat, plan: &DogPlan) -> Walk {
        let mut coat = coat.clone();
        let today = coat.day;
        let mut walk = Walk { visits: Vec::new(), forecast: Vec::new(), jacket: Vec::new(), legs: Vec::new() };
        let mut matter: Vec<Day> = self.matter.iter().map(|d| d.0).collect();
        matter.dedup();
        for d in 0..=(self.until - today) {
            let day = today + d;
            let visit = plan.visits.iter().position(|v| v.day == day);
            let weekly = d % 7 == 0;
            if visit.is_none() && !weekly && !matter.contains(&day) {
                continue;
            }
            coat.day = day;
            if let Some(i) = visit {
                let mut reports: Vec<(Option<ZoneReport>, coat::ZoneMeasures, coat::ZoneMeasures)> = coat
                    .zones
                    .par_iter_mut()
                    .map(|z| {
                        z.step_to(day);
                        let before = z.measures();
                        let planned = plan.visits[i].zones.iter().find(|p| p.zone == z.setup.zone);
                        let report = planned.map(|p| self.work(z, p, day));
                        (report, before, z.measures())
                    })
                    .collect();
                let before: Vec<_> = reports.iter().map(|r| r.1).collect();
                let after: Vec<_> = reports.iter().map(|r| r.2).collect();
                walk.push(day, "before", &before);
                walk.push(day, "after", &after);
                let mut zones: Vec<ZoneReport> = reports.iter_mut().filter_map(|r| r.0.take()).collect();
                zones.sort_by_key(|z| Zone::WORKING_ORDER.iter().position(|w| w.word() == z.zone));
                let v = &plan.visits[i];
                walk.visits.push(VisitReport {
                    date: day.to_string(),
                    min: r9(v.min),
                    ten_more_min: v.ten_more.map(|(zone, _)| {
                        format!("Ten more minutes would let the {} be worked further today.", zone.label())
                    }),
                    zones,
                });
                if weekly {
                    walk.push(day, "day", &after);
                }
            } else {
                let measures: Vec<_> = coat
                    .zones
                    .par_iter_mut()
                    .map(|z| {
                        z.step_to(day);
                        z.measures()
                    })
                    .collect();
                walk.push(day, "day", &measures);
            }
        }
        walk
    }

    pub(super) fn work(&self, z: &mut ZoneCoat, p: &plan::PlannedZone, day: Day) -> ZoneReport {
        let visible = z.top.visible();
        let amount = (p.share * visible).min(z.top.ripe());
        let moments = |c: &ZoneCoat| {
            let hair = c.top.hair_by_length();
            hair.iter().filter(|h| h.2).fold((0.0, 0.0), |a, h| (a.0 + h.1, a.1 + h.1 * h.0))
        };
        let capped = p.amount == Amount::AllRipe && amount < z.top.ripe() - 1e-6;
        let before = (amount > 0.0).then(|| moments(z));
        let taken = z.work(&ZoneWork { take: Take::LongestFirst(amount), unripe: None, card: p.carded });
        let layer_mm = before.and_then(|b| {
            let a = moments(z);
            (b.0 - a.0 > 1e-9).then(|| r9((b.1 - a.1) / (b.0 - a.0)))
        });
        let d = z.setup.zone.defaults();
        let working = p.amount != Amount::Leave || p.carded;
        let works = d
            .works
            .iter()
            .filter(|w| if w.verb == "card" { p.carded } else { working && (p.amount != Amount::Leave) })
            .map(|w| if w.tool.is_empty() { w.verb.to_owned() } else { format!("{} ({})", w.verb, w.tool) })
            .collect::<Vec<_>>();
        let hands_off = self
            .file
            .zone(z.setup.zone)
            .and_then(|s| s.hands_off.as_ref())
            .map(|h| h.reason.as_ref().map_or_else(|| h.until.to_string(), |r| format!("{} ({r})", h.until)));
        let mut cautions = cautions::for_zone(self.file, z.setup.zone, z.setup.tender, day);
        if p.carded {
            cautions.push("Card lightly, all that comes, never twice over bare skin.".to_owned());
        }
        ZoneReport {
            zone: z.setup.zone.word(),
            works: if z.setup.mode == Mode::Never { vec!["look only".to_owned()] } else { works },
            amount: p.amount.to_string(),
            share: r9(p.share),
            of_follicles: r9(taken),
            layer_mm,
            leave: d.leave,
            min: r9(p.min),
            reason: if capped { words::capped(p.share) } else { words::reason(&z.setup, p.amount, p.why, hands_off) },
            cautions,
        }
    }

    pub(super) fn milestones(&self, walk: &Walk) -> Milestones {
        let stays = |ok: fn(f64) -> bool, values: &[(Day, Option<f64>)]| {
            let last_bad = values.iter().rposition(|v| !v.1.is_some_and(ok));
            values.get(last_bad.map_or(0, |i| i + 1)).map(|v| v.0.to_string())
        };
        let even: Vec<_> = walk.jacket.iter().filter(|j| j.at == "after").map(|j| (j.day, j.evenness)).collect();
        let hard = walk.jacket.iter().find(|j| j.hard.is_some_and(|h| h >= 0.9)).map(|j| j.day.to_string());
        let furnishings = walk.legs.iter().find(|l| l.1).map(|l| l.0.to_string());
        Milestones { rolling: stays(|e| e >= 0.85, &even), furnishings, hard }
    }

    pub(super) fn delays(&self, m: &Milestones) -> Delays {
        let say = |date: &Option<String>, what: &str, cause: &str| match date {
            Some(d) => format!("{what} from {d}. {cause}"),
            None => format!("Not before {}. {cause}", self.until),
        };
        Delays {
            rolling: say(
                &m.rolling,
                "Rolling",
                "A missed or late visit delays it, and so does taking more than one in five to hurry it.",
            ),
            furnishings: say(
                &m.furnishings,
                "Legs at length and covered",
                "Clipping or scissoring the legs, or taking the young coat, puts them back by months.",
            ),
            hard: say(
                &m.hard,
                "Jacket nine tenths hard",
                "Any clip starts it again; hair must be pulled to come back hard.",
            ),
        }
    }

    pub(super) fn matter_reports(&self, walk: &Walk) -> Vec<MatterReport> {
        self.matter
            .iter()
            .map(|(day, name)| {
                let jacket = walk.jacket.iter().rev().find(|j| j.day == *day);
                let coat = jacket.map_or_else(String::new, |j| {
                    let p = |x: Option<f64>| x.map_or("none".to_owned(), |v| format!("{:.0} %", 100.0 * v));
                    format!(
                        "Jacket: cover {}, evenness {}, hard {}, top length {} mm.",
                        p(j.cover),
                        p(j.evenness),
                        p(j.hard),
                        j.top_mm.map_or("none".to_owned(), |t| format!("{t:.0}"))
                    )
                });
                MatterReport { date: day.to_string(), name: name.clone(), coat }
            })
            .collect()
    }
}
