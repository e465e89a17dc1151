//! A plan played through the coat: visits, forecast, milestones.

use super::{Case, is_jacket};
use crate::model::puppy;
use crate::report::{CoatReport, Delays, HARD, MatterReport, Milestones, ROLLING, VisitReport, ZoneReport, r9};
use crate::{cautions, hands_off, words};
use coat::{Day, DogCoat, Event, Mode, Take, Zone, ZoneCoat, ZoneRecord, ZoneWork};
use plan::{Amount, Bar, Closed, DogPlan, Why};
use rayon::prelude::*;

/// A plan played through the coat.
pub(super) struct Walk {
    pub(super) visits: Vec<VisitReport>,
    pub(super) forecast: Vec<CoatReport>,
    pub(super) jacket: Vec<JacketOn>,
    /// Whether the legs are at length and covered, by day.
    pub(super) legs: Vec<(Day, bool)>,
    /// Length aimed at on each leg, mm: the zone's own where the file gives one.
    leg_targets: [(Zone, Option<f64>); 2],
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

/// A day at which the coat is looked at.
struct Stop {
    day: Day,
    visit: Option<usize>,
    /// Whether it is reported as a day, beside before and after a visit.
    reported: bool,
}

/// A zone on such a day.
struct Seen {
    before: coat::ZoneMeasures,
    worked: Worked,
    after: coat::ZoneMeasures,
}

/// What a visit took from a zone.
#[derive(Clone, Copy, Default)]
struct Worked {
    taken: f64,
    layer_mm: Option<f64>,
}

/// Follows one zone through the plan.
fn follow(zone: &ZoneCoat, plan: &DogPlan, stops: &[Stop]) -> Vec<Seen> {
    let mut z = zone.clone();
    stops
        .iter()
        .map(|stop| {
            z.step_to(stop.day);
            let before = z.measures();
            let Some(i) = stop.visit else { return Seen { before, worked: Worked::default(), after: before } };
            let planned = plan.visits[i].zones.iter().find(|p| p.zone == z.setup.zone);
            let worked = planned.map_or(Worked::default(), |p| work(&mut z, p));
            Seen { before, worked, after: z.measures() }
        })
        .collect()
}

/// Works a zone as planned.
fn work(z: &mut ZoneCoat, p: &plan::PlannedZone) -> Worked {
    let amount = (p.share * z.top.visible()).min(z.top.ripe());
    let moments = |c: &ZoneCoat| {
        let hair = c.top.hair_by_length();
        hair.iter().filter(|h| h.2).fold((0.0, 0.0), |a, h| (a.0 + h.1, a.1 + h.1 * h.0))
    };
    let before = (amount > 0.0).then(|| moments(z));
    let taken = z.work(&ZoneWork { take: Take::LongestFirst(amount), unripe: None, card: p.carded });
    let layer_mm = before.and_then(|b| {
        let a = moments(z);
        (b.0 - a.0 > 1e-9).then(|| r9((b.1 - a.1) / (b.0 - a.0)))
    });
    Worked { taken, layer_mm }
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
            let target = self.leg_targets.iter().find(|t| t.0 == zone).and_then(|t| t.1).unwrap_or(0.0);
            zones
                .iter()
                .find(|z| z.zone == zone)
                .is_some_and(|z| z.top_mm.is_some_and(|t| t >= 0.9 * target) && z.cover.is_some_and(|c| c >= 0.7))
        };
        self.legs.push((day, leg(Zone::Forelegs) && leg(Zone::HindLegs)));
        self.forecast.push(CoatReport::new(day, at, coat::dog_measures(zones), zones));
    }
}

impl Case<'_> {
    /// Plays a plan through the coat, from the coat's own day: visits as they will be, and the coat along the way.
    pub(super) fn walk(&self, coat: &DogCoat, plan: &DogPlan, until: Day) -> Walk {
        let target = |zone: Zone| (zone, coat.zone(zone).and_then(|z| z.setup.target_mm));
        let mut walk = Walk {
            visits: Vec::new(),
            forecast: Vec::new(),
            jacket: Vec::new(),
            legs: Vec::new(),
            leg_targets: [target(Zone::Forelegs), target(Zone::HindLegs)],
        };
        let stops: Vec<Stop> = (0..=(until - coat.day))
            .map(|d| {
                let day = coat.day + d;
                let weekly = d % 7 == 0;
                let visit = plan.visits.iter().position(|v| v.day == day);
                Stop { day, visit, reported: weekly || (visit.is_none() && self.matter.iter().any(|m| m.0 == day)) }
            })
            .filter(|s| s.visit.is_some() || s.reported)
            .collect();
        // Zones alike in cycle, history and works are followed once.
        let twin = self.twins(coat, plan);
        let firsts: Vec<usize> = (0..twin.len()).filter(|z| twin[*z] == *z).collect();
        let followed: Vec<Vec<Seen>> = firsts.par_iter().map(|z| follow(&coat.zones[*z], plan, &stops)).collect();
        let of = |z: usize| &followed[firsts.iter().position(|f| *f == twin[z]).unwrap_or(0)];
        for (k, stop) in stops.iter().enumerate() {
            let measures = |pick: fn(&Seen) -> coat::ZoneMeasures| -> Vec<coat::ZoneMeasures> {
                let zones = coat.zones.iter().enumerate();
                zones.map(|(z, c)| coat::ZoneMeasures { zone: c.setup.zone, ..pick(&of(z)[k]) }).collect()
            };
            let after = measures(|s| s.after);
            if let Some(i) = stop.visit {
                walk.push(stop.day, "before", &measures(|s| s.before));
                walk.push(stop.day, "after", &after);
                let v = &plan.visits[i];
                let mut zones: Vec<ZoneReport> = coat
                    .zones
                    .iter()
                    .enumerate()
                    .filter_map(|(z, c)| {
                        let planned = v.zones.iter().find(|p| p.zone == c.setup.zone)?;
                        Some(self.zone_report(c, planned, of(z)[k].worked, stop.day))
                    })
                    .collect();
                zones.sort_by_key(|z| Zone::WORKING_ORDER.iter().position(|w| w.word() == z.zone));
                walk.visits.push(VisitReport {
                    date: stop.day.to_string(),
                    min: r9(v.min),
                    ten_more_min: v.ten_more.filter(|_| !puppy(self.file, self.options.today)).map(|(zone, _)| {
                        format!("Ten more minutes would let the {} be worked further today.", zone.label())
                    }),
                    zones,
                });
            }
            if stop.reported {
                walk.push(stop.day, "day", &after);
            }
        }
        walk
    }

    /// For each zone, the first that goes the same way under this plan: same cycle, mode and cuts,
    /// same records, same works. Only then are all measures the same.
    fn twins(&self, coat: &DogCoat, plan: &DogPlan) -> Vec<usize> {
        let records = |zone: Zone| -> Vec<ZoneRecord> {
            let all = self.dog.history.iter().filter_map(|(_, e)| match e {
                Event::Visit(r) => Some(r),
                _ => None,
            });
            // A place holder where a visit says nothing, so that visits do not run together.
            let nothing = ZoneRecord { zone: Zone::Back, pulled: None, carded: None };
            all.flat_map(|r| {
                let own = r.iter().filter(|r| r.zone == zone).map(|r| ZoneRecord { zone: Zone::Back, ..*r });
                std::iter::once(nothing).chain(own).collect::<Vec<_>>()
            })
            .collect()
        };
        let works = |zone: Zone| -> Vec<Option<(Amount, u64, bool)>> {
            let planned = |v: &plan::PlannedVisit| {
                v.zones.iter().find(|p| p.zone == zone).map(|p| (p.amount, p.share.to_bits(), p.carded))
            };
            plan.visits.iter().map(planned).collect()
        };
        let keys: Vec<_> = coat
            .zones
            .iter()
            .map(|z| {
                let s = &z.setup;
                let setup = (s.mode, s.cycle, s.cut_share().to_bits(), s.is_carded(), s.hands_off_until);
                (setup, is_jacket(s.zone), records(s.zone), works(s.zone))
            })
            .collect();
        keys.iter().map(|k| keys.iter().position(|other| other == k).unwrap_or(0)).collect()
    }

    fn zone_report(&self, z: &ZoneCoat, p: &plan::PlannedZone, worked: Worked, day: Day) -> ZoneReport {
        let d = z.setup.zone.defaults();
        let pulled = p.amount != Amount::Leave;
        // Done at every visit whatever is pulled elsewhere.
        let always = p.why == Why::Limit(Bar::Closed(Closed::NotPulled));
        let works = d
            .works
            .iter()
            .filter(|w| if w.verb == "card" { p.carded } else { pulled || always })
            .map(|w| words::work(*w, puppy(self.file, day)))
            .collect::<Vec<_>>();
        let hands_off = hands_off::of(self.file, z.setup.zone, self.options.today)
            .map(|h| if h.why.is_empty() { h.until.to_string() } else { format!("{} ({})", h.until, h.why) });
        let mut cautions = cautions::for_zone(self.file, z.setup.zone, z.setup.tender, day);
        if p.carded {
            cautions.push("Card lightly, all that comes, never twice over bare skin.".to_owned());
        }
        let matters = self.matter.iter().find(|m| m.0 >= day).map(|(d, name)| match name {
            Some(n) => format!("{d}, {n}"),
            None => d.to_string(),
        });
        ZoneReport {
            zone: z.setup.zone.word(),
            works: if z.setup.mode == Mode::Never { vec!["look only".to_owned()] } else { works },
            amount: p.amount.to_string(),
            amount_words: words::amount(p),
            share: r9(p.share),
            of_follicles: r9(worked.taken),
            layer_mm: worked.layer_mm,
            leave: words::leave(d.leave),
            min: r9(p.min),
            reason: words::reason(&z.setup, p, hands_off, matters.as_deref()),
            cautions,
        }
    }

    pub(super) fn milestones(&self, walk: &Walk) -> Milestones {
        let stays = |ok: fn(f64) -> bool, values: &[(Day, Option<f64>)]| {
            let last_bad = values.iter().rposition(|v| !v.1.is_some_and(ok));
            values.get(last_bad.map_or(0, |i| i + 1)).map(|v| v.0.to_string())
        };
        let even: Vec<_> = walk.jacket.iter().filter(|j| j.at == "after").map(|j| (j.day, j.evenness)).collect();
        let hard = walk.jacket.iter().find(|j| j.hard.is_some_and(|h| h >= HARD)).map(|j| j.day.to_string());
        let furnishings = walk.legs.iter().find(|l| l.1).map(|l| l.0.to_string());
        Milestones { rolling: stays(|e| e >= ROLLING, &even), furnishings, hard }
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
            .chain(self.beyond.iter().map(|(day, name)| MatterReport {
                date: day.to_string(),
                name: name.clone(),
                coat: format!(
                    "After the plan's last day, {}, and not minded yet; plan as far as that with `--until`.",
                    self.until
                ),
            }))
            .collect()
    }
}
