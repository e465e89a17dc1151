//! The zones of a dog and the coat types: data with provenance, in one place.
//!
//! Every number here is a default that a dog's own file or its own history may
//! replace. Where no source is named the value is a modelling assumption.

use crate::quantity::Wait;
use std::fmt;

/// How a zone is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mode {
    /// Several layers of staggered age; only the longest comes out.
    Layered,
    /// Kept short: all that is ripe comes out.
    Short,
    /// Outline by eye; only dead or soft hair comes out.
    Shaped,
    /// Not worked.
    Never,
}

impl Mode {
    /// All modes.
    pub const ALL: [Mode; 4] = [Mode::Layered, Mode::Short, Mode::Shaped, Mode::Never];

    /// Lower-case word used in files and on screens.
    pub const fn word(self) -> &'static str {
        match self {
            Mode::Layered => "layered",
            Mode::Short => "short",
            Mode::Shaped => "shaped",
            Mode::Never => "never",
        }
    }

    /// The most that one visit takes, share of the visible hair.
    pub const fn cap(self) -> f64 {
        match self {
            Mode::Layered => 0.25,
            Mode::Short => 0.6,
            Mode::Shaped => 0.1,
            Mode::Never => 0.0,
        }
    }

    /// The cover below which the zone looks thin, share.
    pub const fn floor(self) -> f64 {
        match self {
            Mode::Layered => 0.55,
            Mode::Short => 0.4,
            Mode::Shaped => 0.85,
            Mode::Never => 0.0,
        }
    }
}

macro_rules! zones {
    ($($id:ident $word:literal $label:literal),+ $(,)?) => {
        /// A zone of the dog's coat.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "the names are the trade's own words")]
        pub enum Zone { $($id),+ }

        impl Zone {
            /// Every zone, head first, in the order of the defaults table.
            pub const ALL: [Zone; 24] = [$(Zone::$id),+];

            /// The name in files and JSON, for instance `hind_legs`.
            pub const fn word(self) -> &'static str {
                match self { $(Zone::$id => $word),+ }
            }

            /// The name as spoken, for instance `hind legs`.
            pub const fn label(self) -> &'static str {
                match self { $(Zone::$id => $label),+ }
            }
        }
    };
}

zones! {
    Skull "skull" "skull", Foreface "foreface" "foreface", Brows "brows" "brows",
    Cheeks "cheeks" "cheeks", Ears "ears" "ears", Beard "beard" "beard",
    Throat "throat" "throat", Crest "crest" "crest", NeckSides "neck_sides" "neck sides",
    Shoulders "shoulders" "shoulders", Back "back" "back", Sides "sides" "sides",
    Loin "loin" "loin", Rump "rump" "rump", Forechest "forechest" "forechest",
    Underline "underline" "underline", InnerThighs "inner_thighs" "inner thighs",
    Seat "seat" "seat", Tail "tail" "tail", TailBack "tail_back" "back of the tail",
    Thighs "thighs" "thighs", Forelegs "forelegs" "forelegs",
    HindLegs "hind_legs" "hind legs", Feet "feet" "feet",
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A work on a zone, with the kind of tool and what it does to the hair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// What is done, for instance `pull`.
    pub verb: &'static str,
    /// With what kind of tool, or an empty string.
    pub tool: &'static str,
    /// Share of the visible hair that the work cuts (soft from then on). Assumed.
    pub cuts: f64,
}

const fn work(verb: &'static str, tool: &'static str, cuts: f64) -> Work {
    Work { verb, tool, cuts }
}

const CARD: Work = work("card", "carding knife, lightly", 0.0);
const KNIFE: Work = work("pull", "stripping knife or fingers", 0.0);
const FINE: Work = work("pull", "fingers, fine knife", 0.0);
const FINGERS: Work = work("pull", "fingers", 0.0);
const BLEND: Work = work("blend", "blending shears", 0.05);

/// The defaults of one zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneDefaults {
    /// Which zone.
    pub zone: Zone,
    /// How it is worked.
    pub mode: Mode,
    /// Fingers or fine knife only, twice the time, stop at the first flinch.
    pub tender: bool,
    /// Mean lag in days where it differs from the coat type's.
    pub lag_d: Option<f64>,
    /// Mean growing time in days where it differs.
    pub grow_d: Option<f64>,
    /// Mean set time in days where it differs.
    pub set_d: Option<f64>,
    /// Growth in mm a day where it differs.
    pub growth_mm_d: Option<f64>,
    /// Length aimed at, mm; none where the zone is not worked.
    pub target_mm: Option<f64>,
    /// Share of the dog's skin, all zones summing to 1.
    pub area: f64,
    /// Floor of cover where it differs from the mode's.
    pub floor: Option<f64>,
    /// The works in order.
    pub works: &'static [Work],
    /// What to leave.
    pub leave: &'static str,
    /// Counts among the jacket (the body coat).
    pub jacket: bool,
    /// Where these values come from.
    pub source: &'static str,
}

const ASSUMED: &str = "assumed";
const SHORT: &str = "short zones turn over in weeks: assumed";

const BASE: ZoneDefaults = ZoneDefaults {
    zone: Zone::Back,
    mode: Mode::Layered,
    tender: false,
    lag_d: None,
    grow_d: None,
    set_d: None,
    growth_mm_d: None,
    target_mm: None,
    area: 0.0,
    floor: None,
    works: &[],
    leave: "",
    jacket: false,
    source: ASSUMED,
};

const fn short(zone: Zone, target_mm: f64, area: f64, works: &'static [Work]) -> ZoneDefaults {
    ZoneDefaults {
        zone,
        mode: Mode::Short,
        lag_d: Some(21.0),
        grow_d: Some(42.0),
        set_d: Some(10.0),
        growth_mm_d: Some(0.28),
        target_mm: Some(target_mm),
        area,
        works,
        source: SHORT,
        ..BASE
    }
}

const fn jacket(zone: Zone, target_mm: f64, area: f64, works: &'static [Work]) -> ZoneDefaults {
    ZoneDefaults { zone, target_mm: Some(target_mm), area, works, leave: "the jacket", jacket: true, ..BASE }
}

const LEG_WORKS: &[Work] = &[work("pull", "fingers: the old soft hair", 0.0)];

const fn leg(zone: Zone, leave: &'static str) -> ZoneDefaults {
    ZoneDefaults {
        zone,
        grow_d: Some(119.0),
        set_d: Some(21.0),
        growth_mm_d: Some(0.35),
        target_mm: Some(35.0),
        area: 0.06,
        floor: Some(0.7),
        works: LEG_WORKS,
        leave,
        source: "leg furnishings take about two months longer than the jacket: assumed",
        ..BASE
    }
}

/// The defaults of the 24 zones, in the order of [`Zone::ALL`].
pub static ZONES: [ZoneDefaults; 24] = [
    short(Zone::Skull, 10.0, 0.025, &[FINE]),
    ZoneDefaults {
        leave: "the lashes",
        ..short(Zone::Foreface, 5.0, 0.015, &[work("pull a few", "fingers: between the eyes, stop, bridge", 0.0)])
    },
    ZoneDefaults {
        zone: Zone::Brows,
        mode: Mode::Shaped,
        grow_d: Some(180.0),
        growth_mm_d: Some(0.35),
        target_mm: Some(45.0),
        area: 0.01,
        works: &[work("pull single hairs", "fingers", 0.0), work("scissor the line", "scissors", 0.02)],
        leave: "the eyes must show",
        ..BASE
    },
    short(Zone::Cheeks, 8.0, 0.03, &[FINE]),
    ZoneDefaults {
        tender: true,
        lag_d: Some(18.0),
        grow_d: Some(35.0),
        growth_mm_d: Some(0.25),
        ..short(
            Zone::Ears,
            6.0,
            0.03,
            &[work("pull", "fingers, rubber finger cots", 0.0), work("scissor the edge", "scissors", 0.02)],
        )
    },
    ZoneDefaults {
        zone: Zone::Beard,
        mode: Mode::Shaped,
        grow_d: Some(210.0),
        growth_mm_d: Some(0.38),
        target_mm: Some(60.0),
        area: 0.025,
        works: &[work("comb", "comb", 0.0), work("pull stray hair", "fingers", 0.0)],
        ..BASE
    },
    ZoneDefaults { tender: true, ..short(Zone::Throat, 8.0, 0.03, &[FINE, BLEND]) },
    jacket(Zone::Crest, 18.0, 0.04, &[CARD, KNIFE]),
    jacket(Zone::NeckSides, 15.0, 0.03, &[CARD, KNIFE]),
    jacket(Zone::Shoulders, 18.0, 0.08, &[CARD, KNIFE]),
    jacket(Zone::Back, 20.0, 0.10, &[CARD, KNIFE]),
    jacket(Zone::Sides, 20.0, 0.12, &[CARD, KNIFE]),
    jacket(Zone::Loin, 20.0, 0.05, &[CARD, KNIFE]),
    ZoneDefaults {
        growth_mm_d: Some(0.28),
        source: "croup slower than thigh: Diaz et al. 2006, Vet Dermatol 17:45-50 (direction); value assumed",
        ..jacket(Zone::Rump, 18.0, 0.05, &[CARD, KNIFE])
    },
    jacket(Zone::Forechest, 18.0, 0.04, &[KNIFE, BLEND]),
    ZoneDefaults {
        zone: Zone::Underline,
        tender: true,
        grow_d: Some(84.0),
        growth_mm_d: Some(0.30),
        target_mm: Some(25.0),
        area: 0.06,
        works: &[work("pull the long thin hair", "fingers", 0.0), work("scissor the line", "scissors", 0.02)],
        ..BASE
    },
    ZoneDefaults {
        zone: Zone::InnerThighs,
        mode: Mode::Never,
        area: 0.02,
        works: &[work("look only", "bare skin", 0.0)],
        leave: "all",
        ..BASE
    },
    ZoneDefaults {
        tender: true,
        ..short(Zone::Seat, 8.0, 0.015, &[work("pull", "fingers; no knife on bare skin", 0.0), BLEND])
    },
    ZoneDefaults {
        zone: Zone::Tail,
        target_mm: Some(18.0),
        area: 0.02,
        works: &[FINGERS],
        leave: "the wedge where tail meets back",
        ..BASE
    },
    short(Zone::TailBack, 8.0, 0.01, &[FINGERS, BLEND]),
    jacket(Zone::Thighs, 20.0, 0.06, &[CARD, KNIFE]),
    leg(Zone::Forelegs, "the young coat"),
    leg(Zone::HindLegs, "the angulation"),
    ZoneDefaults {
        zone: Zone::Feet,
        mode: Mode::Shaped,
        grow_d: Some(60.0),
        growth_mm_d: Some(0.30),
        target_mm: Some(15.0),
        area: 0.02,
        works: &[
            work("clip the pads", "small clipper", 0.0),
            work("scissor round", "scissors, the foot on a smooth surface", 0.05),
        ],
        ..BASE
    },
];

impl Zone {
    /// Reads a zone's file name; none when there is no such zone.
    pub fn parse(word: &str) -> Option<Zone> {
        Zone::ALL.into_iter().find(|z| z.word() == word)
    }

    /// The defaults of the zone.
    pub fn defaults(self) -> &'static ZoneDefaults {
        &ZONES[self as usize]
    }

    /// The zones in the order in which a whole dog is worked.
    ///
    /// Jacket from the neck back; head, ears and throat by hand; legs and
    /// underline; tail and seat; pads and feet. Common practice.
    pub const WORKING_ORDER: [Zone; 24] = [
        Zone::Crest,
        Zone::NeckSides,
        Zone::Shoulders,
        Zone::Forechest,
        Zone::Back,
        Zone::Sides,
        Zone::Loin,
        Zone::Rump,
        Zone::Thighs,
        Zone::Skull,
        Zone::Brows,
        Zone::Foreface,
        Zone::Cheeks,
        Zone::Beard,
        Zone::Ears,
        Zone::Throat,
        Zone::Forelegs,
        Zone::HindLegs,
        Zone::Underline,
        Zone::InnerThighs,
        Zone::Tail,
        Zone::TailBack,
        Zone::Seat,
        Zone::Feet,
    ];
}

/// The kind of coat a dog was born with, or has come to have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CoatType {
    /// Short, hard wire.
    PinWire,
    /// The usual rough terrier coat.
    Wire,
    /// Schnauzer and airedale kind.
    LongWire,
    /// Clipped, neutered or mixed coats.
    SoftWire,
}

/// The defaults of a coat type's topcoat jacket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoatDefaults {
    /// Empty follicle until the new hair comes through.
    pub lag: Wait,
    /// Growing time.
    pub grow: Wait,
    /// Full length but still firm.
    pub set: Wait,
    /// Mean time that a ripe hair lingers, days.
    pub hold_d: f64,
    /// Growth, mm a day.
    pub growth_mm_d: f64,
    /// Hard share of a hair that grew after natural shedding.
    pub start_hard: f64,
    /// Where these values come from.
    pub source: &'static str,
}

const WIRE: CoatDefaults = CoatDefaults {
    lag: Wait::of(28.0, 4.0),
    grow: Wait::of(72.0, 14.0),
    set: Wait::of(14.0, 4.0),
    hold_d: 250.0,
    growth_mm_d: 0.33,
    start_hard: 0.6,
    source: "lag: common practice; grow: Diaz et al. 2004, Vet Dermatol 15:25-30; growth: Amundson et al. 2025, \
             Animals 15(5):686; set, hold, hardness: assumed",
};

impl CoatType {
    /// All coat types.
    pub const ALL: [CoatType; 4] = [CoatType::PinWire, CoatType::Wire, CoatType::LongWire, CoatType::SoftWire];

    /// The name in files.
    pub const fn word(self) -> &'static str {
        match self {
            CoatType::PinWire => "pin wire",
            CoatType::Wire => "wire",
            CoatType::LongWire => "long wire",
            CoatType::SoftWire => "soft wire",
        }
    }

    /// Reads the name; none when there is no such coat type.
    pub fn parse(word: &str) -> Option<CoatType> {
        CoatType::ALL.into_iter().find(|t| t.word() == word)
    }

    /// The defaults of the type.
    pub const fn defaults(self) -> CoatDefaults {
        match self {
            CoatType::PinWire => CoatDefaults {
                grow: Wait::of(63.0, 12.0),
                start_hard: 0.7,
                source: "as wire, shorter growth: assumed",
                ..WIRE
            },
            CoatType::Wire => WIRE,
            CoatType::LongWire => CoatDefaults {
                grow: Wait::of(185.0, 30.0),
                source: "grow chosen so that telogen is 55.3 %: Favarato & Conceicao 2008, Vet Dermatol 19:15-20; \
                         others as wire",
                ..WIRE
            },
            CoatType::SoftWire => CoatDefaults { start_hard: 0.3, source: "as wire, softer: assumed", ..WIRE },
        }
    }
}

/// Hard share with which a puppy's first coat starts. Assumed.
pub const PUPPY_START_HARD: f64 = 0.1;

/// The undercoat, the same in every zone: lag, grow, set, hold (d), growth (mm/d). Assumed.
pub const UNDERCOAT: (Wait, Wait, Wait, f64, f64) =
    (Wait::of(14.0, 2.8), Wait::of(75.0, 15.0), Wait::of(7.0, 1.4), 60.0, 0.20);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_order_and_covers_the_dog() {
        for (i, z) in ZONES.iter().enumerate() {
            assert_eq!(z.zone, Zone::ALL[i]);
            assert_eq!(Zone::parse(z.zone.word()), Some(z.zone));
        }
        let area: f64 = ZONES.iter().map(|z| z.area).sum();
        assert!((area - 1.0).abs() < 1e-12, "{area}");
        let mut order = Zone::WORKING_ORDER.to_vec();
        order.sort_unstable();
        order.dedup();
        assert_eq!(order.len(), 24);
    }
}
