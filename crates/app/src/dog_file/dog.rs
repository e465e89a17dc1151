//! What a dog's file says, checked and with its defaults filled in.

use super::fault::Source;
use coat::{CoatType, Day, Mode, Zone};
use plan::Weights;

/// The schema that this reader knows.
pub const SCHEMA: &str = "coatwright.dog/1";

/// A dog, as its file tells it.
#[derive(Clone, Debug, PartialEq)]
pub struct DogFile {
    /// The text it was read from, for faults that only the model can find.
    pub source: Source,
    /// The dog's name.
    pub name: String,
    /// Day of birth.
    pub born: Day,
    /// Bitch or dog.
    pub sex: Sex,
    /// Neutered on this day; none when entire.
    pub neutered_since: Option<Day>,
    /// Body mass, kg, above 0 to 120.
    pub mass_kg: f64,
    /// Kind of coat.
    pub coat: CoatType,
    /// Density of the coat, 0.5 sparse to 1.5 heavy; 1 unless given.
    pub density: f64,
    /// How the dog takes the work; calm unless given.
    pub temper: Temper,
    /// What the owner wants; a pet's look unless given.
    pub look: Look,
    /// The longest one visit may take, minutes; none for no limit.
    pub table_max_min: Option<f64>,
    /// Days between visits; none leaves the choice to the rule.
    pub rhythm_days: Option<i32>,
    /// Set and long growing hair may be pulled.
    pub before_ripe: bool,
    /// The dog lives outdoors.
    pub outdoors: bool,
    /// Latitude in degrees, always there when `outdoors`.
    pub latitude_deg: Option<f64>,
    /// Notes about the dog's health.
    pub health_notes: Option<String>,
    /// Steroid courses.
    pub steroids: Vec<Steroids>,
    /// Conditions to mind.
    pub conditions: Vec<Condition>,
    /// The hands that work.
    pub groomer: Groomer,
    /// Weights of the plan's cost.
    pub weights: Weights,
    /// What was done to the coat, in date order; empty for a coat left alone since birth.
    pub history: Vec<Event>,
    /// What the file says of single zones, one entry a zone.
    pub zones: Vec<ZoneSettings>,
    /// Days on which the look matters more.
    pub days_that_matter: Vec<DayThatMatters>,
}

impl DogFile {
    /// The settings of a zone, where the file has any.
    pub fn zone(&self, zone: Zone) -> Option<&ZoneSettings> {
        self.zones.iter().find(|z| z.zone == zone)
    }
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $id:ident $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name { $($(#[$vdoc])* $id),+ }

        impl $name {
            /// The word in files.
            pub const fn word(self) -> &'static str {
                match self { $($name::$id => $word),+ }
            }

            /// Reads the word; none for any other.
            pub fn parse(word: &str) -> Option<Self> {
                match word { $($word => Some($name::$id),)+ _ => None }
            }
        }
    };
}

words! {
    /// Bitch or dog.
    Sex {
        /// A bitch.
        Bitch "bitch",
        /// A dog.
        Dog "dog",
    }
}

words! {
    /// How a dog takes the work.
    Temper {
        /// Stands still.
        Calm "calm",
        /// Will not keep still.
        Fidgets "fidgets",
        /// Does not want it.
        Objects "objects",
    }
}

words! {
    /// What the owner wants to see.
    Look {
        /// A tidy pet.
        Pet "pet",
        /// A smart outline.
        Smart "smart",
        /// Show condition.
        Show "show",
    }
}

impl Look {
    /// How far the outline may grow between visits, mm.
    pub const fn tolerance_mm(self) -> f64 {
        match self {
            Look::Pet => 7.0,
            Look::Smart => 4.5,
            Look::Show => 2.5,
        }
    }
}

words! {
    /// What there is to mind.
    ConditionKind {
        /// Broken, crusted, hot or sore skin.
        Skin "skin",
        /// Fleas, ticks or mites.
        Parasites "parasites",
        /// Ear trouble.
        Ears "ears",
        /// A recent operation.
        Surgery "surgery",
        /// In season.
        Season "season",
        /// Whelping or nursing.
        Whelping "whelping",
        /// A fresh spot-on treatment.
        SpotOn "spot_on",
        /// Frightened.
        Frightened "frightened",
        /// Ill.
        Ill "ill",
        /// A sore back.
        SoreBack "sore_back",
    }
}

words! {
    /// How the hair felt in the hand.
    Feel {
        /// Soft.
        Soft "soft",
        /// Between soft and harsh.
        Between "between",
        /// Harsh.
        Harsh "harsh",
    }
}

/// A course of steroids.
#[derive(Clone, Debug, PartialEq)]
pub struct Steroids {
    /// First day.
    pub from: Day,
    /// Last day; none while it goes on.
    pub until: Option<Day>,
    /// Line of the file.
    pub line: usize,
}

/// A condition to mind.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// What it is.
    pub kind: ConditionKind,
    /// First day.
    pub from: Day,
    /// Last day; none while it goes on.
    pub until: Option<Day>,
    /// Where; empty for the whole dog.
    pub zones: Vec<Zone>,
    /// A note.
    pub note: Option<String>,
    /// Line of the file.
    pub line: usize,
}

/// The hands that work on the dog.
#[derive(Clone, Debug, PartialEq)]
pub struct Groomer {
    /// Minutes used over minutes reckoned, 0.3 to 3; 1 unless given.
    pub pace: f64,
    /// The most that one visit takes by mode, share of the visible hair.
    pub caps: Caps,
    /// Price of an hour, in `currency`.
    pub price_per_hour: Option<f64>,
    /// Three-letter currency code, there when a price is.
    pub currency: Option<String>,
}

/// The most that one visit takes by mode, share of the visible hair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Caps {
    /// In layered zones.
    pub layered: f64,
    /// In short zones.
    pub short: f64,
    /// In shaped zones.
    pub shaped: f64,
}

impl Caps {
    /// The cap of a mode.
    pub const fn of(self, mode: Mode) -> f64 {
        match mode {
            Mode::Layered => self.layered,
            Mode::Short => self.short,
            Mode::Shaped => self.shaped,
            Mode::Never => 0.0,
        }
    }
}

/// Something that happened to the coat.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When.
    pub date: Day,
    /// What.
    pub kind: EventKind,
    /// Line of the file.
    pub line: usize,
}

/// What happened to the coat.
#[derive(Clone, Debug, PartialEq)]
pub enum EventKind {
    /// Nobody had worked it, and it has settled.
    LeftAlone,
    /// All visible hair was pulled.
    Flat,
    /// It was clipped.
    Clipped {
        /// To this length, mm.
        length_mm: f64,
        /// And before that every so many weeks; none for this once.
        every_weeks: Option<f64>,
        /// For so many months; none for as long as the coat remembers.
        months: Option<f64>,
    },
    /// It was rolled elsewhere until this day.
    Rolled {
        /// Weeks between those visits.
        every_weeks: f64,
    },
    /// A recorded visit.
    Visit(Visit),
    /// A visit that did not take place.
    Missed,
}

impl EventKind {
    /// The word in files.
    pub const fn word(&self) -> &'static str {
        match self {
            EventKind::LeftAlone => "left alone",
            EventKind::Flat => "flat",
            EventKind::Clipped { .. } => "clipped",
            EventKind::Rolled { .. } => "rolled",
            EventKind::Visit(_) => "visit",
            EventKind::Missed => "missed",
        }
    }
}

/// A recorded visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// Minutes at the table.
    pub work_min: Option<f64>,
    /// Ease over the whole dog, 1 (falls out) to 5 (will not come).
    pub ease: Option<u8>,
    /// What was done and read, zone by zone.
    pub zones: Vec<ZoneRecord>,
}

/// What a visit did to some zones and read off them.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneRecord {
    /// The zones, groups expanded, none twice.
    pub zones: Vec<Zone>,
    /// How much was pulled; none when nothing was.
    pub pulled: Option<Pulled>,
    /// The undercoat was carded.
    pub carded: bool,
    /// Longest hair on the comb, mm.
    pub longest_mm: Option<f64>,
    /// Length of the new layer, mm.
    pub new_layer_mm: Option<f64>,
    /// Longest hair as one of five drawn comb depths.
    pub longest_depth: Option<u8>,
    /// New layer as one of five drawn comb depths.
    pub new_layer_depth: Option<u8>,
    /// Minutes that these zones took together.
    pub work_min: Option<f64>,
    /// Ease, 1 (falls out) to 5 (will not come).
    pub ease: Option<u8>,
    /// How the hair felt.
    pub feel: Option<Feel>,
    /// Cover judged by eye, share.
    pub cover_by_eye: Option<f64>,
    /// New hair was through the skin.
    pub new_hair: Option<bool>,
    /// Line of the file.
    pub line: usize,
}

/// How much a visit pulled from a zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pulled {
    /// This share of the visible hair, 0 to 1.
    Share(f64),
    /// All that was ripe.
    AllRipe,
}

/// What the file says of one zone.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneSettings {
    /// The zone.
    pub zone: Zone,
    /// Length aimed at, mm.
    pub target_mm: Option<f64>,
    /// Fingers or fine knife only.
    pub tender: Option<bool>,
    /// How it is worked.
    pub mode: Option<Mode>,
    /// Not to be touched until a day.
    pub hands_off: Option<HandsOff>,
    /// The most that one visit takes, share of the visible hair.
    pub cap: Option<f64>,
    /// Cover below which it looks thin, share.
    pub floor: Option<f64>,
    /// Mean lag, d.
    pub lag_d: Option<f64>,
    /// Mean growing time, d.
    pub grow_d: Option<f64>,
    /// Mean set time, d.
    pub set_d: Option<f64>,
    /// Mean hold of ripe hair, d.
    pub hold_d: Option<f64>,
    /// Growth, mm a day.
    pub growth_mm_d: Option<f64>,
    /// Line of the file.
    pub line: usize,
}

impl ZoneSettings {
    /// A zone of which the file says nothing yet.
    pub const fn bare(zone: Zone) -> Self {
        ZoneSettings {
            zone,
            target_mm: None,
            tender: None,
            mode: None,
            hands_off: None,
            cap: None,
            floor: None,
            lag_d: None,
            grow_d: None,
            set_d: None,
            hold_d: None,
            growth_mm_d: None,
            line: 1,
        }
    }
}

/// A zone that is left in peace.
#[derive(Clone, Debug, PartialEq)]
pub struct HandsOff {
    /// The first day on which it may be worked again.
    pub until: Day,
    /// Why.
    pub reason: Option<String>,
}

/// A day on which the look matters more.
#[derive(Clone, Debug, PartialEq)]
pub struct DayThatMatters {
    /// When.
    pub date: Day,
    /// What it is.
    pub name: Option<String>,
    /// Line of the file.
    pub line: usize,
}
