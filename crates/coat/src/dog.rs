//! A dog: its zones, its health and its history, and the coat that they make.

use crate::day::{Day, day_length_h};
use crate::law::{Cycle, Law};
use crate::population::{LagCalendar, LagClock, Population, Take, steady_share};
use crate::quantity::{QuantityError, Wait};
use crate::zone::{CoatType, Mode, Zone};
use std::sync::Arc;

/// Wool above this share is carded out.
pub const WOOL_LIMIT: f64 = 0.15;

/// One zone of one dog, with this dog's own values.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneSetup {
    /// Which zone.
    pub zone: Zone,
    /// How it is worked.
    pub mode: Mode,
    /// Fingers or fine knife, twice the time.
    pub tender: bool,
    /// Length aimed at, mm.
    pub target_mm: Option<f64>,
    /// Cover below which the zone looks thin, share.
    pub floor: f64,
    /// The most that one visit takes, share of the visible.
    pub cap: f64,
    /// The follicle cycle.
    pub cycle: Cycle,
    /// Not to be touched before this day.
    pub hands_off_until: Option<Day>,
}

impl ZoneSetup {
    /// The defaults of a zone for a coat type.
    pub fn defaults(zone: Zone, coat: CoatType) -> Self {
        let z = zone.defaults();
        let c = coat.defaults();
        // The sd scales with the mean where a zone differs from the jacket.
        let wait = |own: Option<f64>, base: Wait| match own {
            Some(mean) if base.mean_d() > 0.0 => base.scaled(mean / base.mean_d()),
            _ => base,
        };
        ZoneSetup {
            zone,
            mode: z.mode,
            tender: z.tender,
            target_mm: z.target_mm,
            floor: z.floor.unwrap_or(z.mode.floor()),
            cap: z.mode.cap(),
            cycle: Cycle {
                lag: wait(z.lag_d, c.lag),
                grow: wait(z.grow_d, c.grow),
                set: wait(z.set_d, c.set),
                hold_d: c.hold_d,
                growth_mm_d: z.growth_mm_d.unwrap_or(c.growth_mm_d),
            },
            hands_off_until: None,
        }
    }

    /// Whether carding is one of the zone's works.
    pub fn is_carded(&self) -> bool {
        self.zone.defaults().works.iter().any(|w| w.verb == "card")
    }

    /// Whether the zone is worked at all.
    pub fn is_worked(&self) -> bool {
        self.mode != Mode::Never
    }

    /// Share of the visible hair that the zone's works cut.
    pub fn cut_share(&self) -> f64 {
        self.zone.defaults().works.iter().map(|w| w.cuts).sum()
    }
}

/// How much was pulled in a zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pulled {
    /// This share of the visible hair.
    Share(f64),
    /// All that was ripe.
    AllRipe,
}

/// What was done to a zone at a recorded visit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneRecord {
    /// Which zone.
    pub zone: Zone,
    /// What was pulled; none when nothing was.
    pub pulled: Option<Pulled>,
    /// Whether it was carded; none when not recorded (then by the rule).
    pub carded: Option<bool>,
}

/// An event in a dog's history.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// Nobody has worked the coat for a long time.
    LeftAlone,
    /// All visible hair pulled.
    Flat,
    /// Clipped on this day, and before it every `every_d` days for `for_d` days.
    Clipped {
        /// Length left, mm.
        length_mm: f64,
        /// Days between earlier clips.
        every_d: Option<i32>,
        /// For how long, days.
        for_d: i32,
    },
    /// Rolled by someone else every `every_d` days until this day.
    Rolled {
        /// Days between visits.
        every_d: i32,
    },
    /// A recorded visit.
    Visit(Vec<ZoneRecord>),
}

/// A dog as the model sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Dog {
    /// Birth day.
    pub born: Day,
    /// Mass, g.
    pub mass_g: f64,
    /// Coat type.
    pub coat: CoatType,
    /// Density of the coat, 0.5 sparse to 1.5 heavy.
    pub density: f64,
    /// Days one rhythm takes where the history has no visits.
    pub rhythm_d: i32,
    /// Latitude when the dog lives outdoors.
    pub outdoors_latitude_deg: Option<f64>,
    /// Steroid courses: first and last day (none: still running).
    pub steroids: Vec<(Day, Option<Day>)>,
    /// The zones.
    pub zones: Vec<ZoneSetup>,
    /// What happened, in date order.
    pub history: Vec<(Day, Event)>,
}

/// Why a history cannot be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HistoryError {
    /// A value out of range.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// More was pulled than there was.
    #[error("`{zone}` on `{day}`: pulled `{share:.2}` of the visible hair, allowed is `0..=1`")]
    MoreThanVisible {
        /// When.
        day: Day,
        /// Where.
        zone: Zone,
        /// Share of the visible hair.
        share: f64,
    },
    /// The day asked for lies before the history.
    #[error("the coat on `{day}` is asked for, the history begins on `{first}`")]
    BeforeHistory {
        /// Asked.
        day: Day,
        /// First known.
        first: Day,
    },
}

impl Dog {
    /// A dog with the default zones of its coat type and no history.
    pub fn new(born: Day, mass_g: f64, coat: CoatType) -> Self {
        Dog {
            born,
            mass_g,
            coat,
            density: 1.0,
            rhythm_d: 21,
            outdoors_latitude_deg: None,
            steroids: Vec::new(),
            zones: Zone::ALL.into_iter().map(|z| ZoneSetup::defaults(z, coat)).collect(),
            history: Vec::new(),
        }
    }

    /// Skin area, dm2.
    ///
    /// # Reference
    /// Meeh's formula with the dog's constant, 10.1 * (mass in g)^(2/3) cm2 (textbook).
    pub fn skin_dm2(&self) -> f64 {
        10.1 * self.mass_g.powf(2.0 / 3.0) / 100.0
    }

    /// The clock of empty follicles, by day; none when it always runs plainly.
    pub fn lag_calendar(&self, from: Day, to: Day) -> Option<LagCalendar> {
        if self.steroids.is_empty() && self.outdoors_latitude_deg.is_none() {
            return None;
        }
        let first = from.days();
        let table: Vec<LagClock> = (first..=to.days())
            .map(|d| {
                let day = Day::from_days(d);
                let slow = self.steroids.iter().any(|(a, b)| day >= *a && b.is_none_or(|b| day <= b + STEROID_AFTER_D));
                let chance = self.outdoors_latitude_deg.map_or(1.0, |lat| winter_factor(day_length_h(lat, day)));
                LagClock { speed: if slow { 1.0 / STEROID_LAG } else { 1.0 }, chance }
            })
            .collect();
        Some(Arc::new(move |d: i32| {
            let i = (d - first).clamp(0, table.len() as i32 - 1);
            table[i as usize]
        }))
    }
}

/// A steroid course multiplies the lag by this. Assumed; the direction is published.
pub const STEROID_LAG: f64 = 3.0;
/// For so many days after its end.
pub const STEROID_AFTER_D: i32 = 56;

/// The winter factor of a day length: 0.3 below 9 h, 1 above 12 h, linear between. Assumed.
pub fn winter_factor(day_length_h: f64) -> f64 {
    0.3 + 0.7 * ((day_length_h - 9.0) / 3.0).clamp(0.0, 1.0)
}

/// The coat of one zone.
#[derive(Clone)]
pub struct ZoneCoat {
    /// The zone as set up for this dog.
    pub setup: ZoneSetup,
    /// The topcoat.
    pub top: Population,
    /// The undercoat.
    pub under: Population,
}

/// What is to be done in a zone at a visit.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneWork {
    /// Ripe hair to take.
    pub take: Take,
    /// Unripe hair to take, share of follicles, and the shortest length to touch, mm.
    pub unripe: Option<(f64, f64)>,
    /// Card out the wool.
    pub card: bool,
}

impl ZoneWork {
    /// Nothing is pulled and nothing carded.
    pub const LEAVE: ZoneWork = ZoneWork { take: Take::LongestFirst(0.0), unripe: None, card: false };
}

impl ZoneCoat {
    /// Steps both coats on to `day`.
    pub fn step_to(&mut self, day: Day) {
        self.top.step_to(day.days());
        self.under.step_to(day.days());
    }

    /// Ripe share of the undercoat.
    pub fn wool(&self) -> f64 {
        self.under.ripe()
    }

    /// Whether the rule says to card today.
    pub fn wants_carding(&self) -> bool {
        self.setup.is_carded() && self.wool() > WOOL_LIMIT
    }

    /// Works the zone today; gives the share of follicles emptied.
    pub fn work(&mut self, work: &ZoneWork) -> f64 {
        let taken = self.top.work(&work.take, work.unripe, self.setup.cut_share());
        if work.card {
            card(&mut self.under);
        }
        taken
    }
}

/// Combs out all the wool.
pub(crate) fn card(under: &mut Population) {
    let wool = under.ripe();
    under.visit(&Take::LongestFirst(wool));
}

/// The coat of a whole dog on a day.
#[derive(Clone)]
pub struct DogCoat {
    /// The day.
    pub day: Day,
    /// The zones, in the order of the dog's setup.
    pub zones: Vec<ZoneCoat>,
}

impl DogCoat {
    /// Steps the whole coat on to `day`.
    pub fn step_to(&mut self, day: Day) {
        for z in &mut self.zones {
            z.step_to(day);
        }
        self.day = day;
    }

    /// One zone; none when the dog is not set up with it.
    pub fn zone(&self, zone: Zone) -> Option<&ZoneCoat> {
        self.zones.iter().find(|z| z.setup.zone == zone)
    }
}

/// The steady state of one zone at visits `every_d` apart, just before and just after a visit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steady {
    /// Share of the visible hair taken at each visit.
    pub share: f64,
    /// Mean of cover over the days between visits.
    pub cover: f64,
    /// Evenness just after a visit.
    pub evenness: f64,
}

/// Runs the rule of the steady share until it repeats itself.
pub fn steady_state(law: &Arc<Law>, every_d: i32, start_hard: f64) -> Steady {
    let mut p = Population::rolled(law.clone(), 0, start_hard, every_d, false);
    let evenness = p.evenness().0;
    let mut cover = p.visible();
    for d in 1..every_d {
        p.step_to(d);
        cover += p.visible();
    }
    Steady { share: steady_share(law, every_d), cover: cover / f64::from(every_d), evenness }
}
