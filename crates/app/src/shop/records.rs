//! What the records of a shop say: the outside form that the store keeps as JSON.
//!
//! Words (zones, coats, tempers) are those of the dog's file, and the dog's file reader checks them: a dog of the
//! shop is planned as its file. A field that an older build did not write takes its default.

use super::ids::{PersonId, RecordId};
use super::port::Kind;
use serde::{Deserialize, Serialize, de::DeserializeOwned};

/// A body of one kind of record.
pub trait Body: Serialize + DeserializeOwned + Clone + Send + Sync {
    /// The kind it is the body of.
    const KIND: Kind;
}

macro_rules! body {
    ($($name:ident => $kind:ident),+ $(,)?) => {$(
        impl Body for $name { const KIND: Kind = Kind::$kind; }
    )+};
}

body! {
    House => House,
    Person => Person,
    Owner => Owner,
    DogBody => Dog,
    EventBody => Event,
    VisitBody => Visit,
    EntryBody => Entry,
    PhotoBody => Photo,
}

/// Millimetres or inches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Units {
    /// Millimetres.
    Mm,
    /// Inches.
    Inches,
}

/// The shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct House {
    /// Its name.
    pub name: String,
    /// Where it is, as written.
    pub place: String,
    /// ISO 3166 two-letter country, for phone numbers.
    pub country: String,
    /// Degrees north; for dogs that live outdoors.
    #[serde(default)]
    pub latitude_deg: Option<f64>,
    /// Units of length.
    pub units: Units,
    /// ISO 4217 code.
    pub currency: String,
    /// BCP 47 tag of the form of dates, for instance `en-IE`.
    pub dates: String,
    /// IANA name of the time zone, for instance `Europe/Dublin`.
    pub time_zone: String,
    /// Price of an hour in minor units of the currency.
    #[serde(default)]
    pub hour_minor: Option<i64>,
    /// Passwords of 8 characters are allowed where common ones are refused; 15 otherwise.
    #[serde(default)]
    pub short_passwords: bool,
    /// The most that one visit takes, share of the visible hair, by mode.
    #[serde(default)]
    pub caps: Option<CapsBody>,
    /// Weights of the plan's cost, by name as in the dog's file; those absent are the defaults.
    #[serde(default)]
    pub weights: Vec<(String, f64)>,
    /// Lengths aimed at by coat type.
    #[serde(default)]
    pub targets: Vec<TargetBody>,
    /// What dogs of a coat type taught is given to the other shops of this store that have it on, and theirs is used
    /// here: of each dog five means and spreads, and nothing else. The store finds it by this name in the body.
    #[serde(default)]
    pub pooled: bool,
    /// Invented data, to be thrown away.
    #[serde(default)]
    pub demo: bool,
}

/// Caps by mode.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct CapsBody {
    /// Layered zones.
    pub layered: f64,
    /// Short zones.
    pub short: f64,
    /// Shaped zones.
    pub shaped: f64,
}

/// A length aimed at in a zone for a coat type.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TargetBody {
    /// Coat type, its word.
    pub coat: String,
    /// Zone, its word.
    pub zone: String,
    /// Length, mm.
    pub target_mm: f64,
}

/// A person who works in the shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Person {
    /// Name.
    pub name: String,
    /// Name to sign in with.
    pub sign_in: String,
    /// Minutes used over minutes reckoned, 0.3 to 3.
    #[serde(default = "one")]
    pub pace: f64,
    /// Left the shop.
    #[serde(default)]
    pub left: bool,
}

fn one() -> f64 {
    1.0
}

/// An owner.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct Owner {
    /// Name.
    pub name: String,
    /// Phone numbers, E.164 where they could be read, as written otherwise.
    #[serde(default)]
    pub phones: Vec<String>,
    /// Mail address.
    #[serde(default)]
    pub mail: String,
    /// Postal address.
    #[serde(default)]
    pub address: String,
    /// Note.
    #[serde(default)]
    pub note: String,
    /// What the owner agreed to, each with its date and words.
    #[serde(default)]
    pub consents: Vec<Consent>,
}

/// Something an owner agreed to, or took back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Consent {
    /// To what: `photos`, `photos shown`, `reminders`, `work on this coat`.
    pub what: String,
    /// The words that were shown.
    pub words: String,
    /// Day, `YYYY-MM-DD`.
    pub day: String,
    /// Agreed, or taken back.
    pub agreed: bool,
}

/// A dog.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DogBody {
    /// Name.
    pub name: String,
    /// Breed, as written.
    #[serde(default)]
    pub breed: String,
    /// Microchip, digits as far as they could be read.
    #[serde(default)]
    pub chip: String,
    /// Day of birth, `YYYY-MM-DD`.
    pub born: String,
    /// `bitch` or `dog`.
    pub sex: String,
    /// Day of neutering.
    #[serde(default)]
    pub neutered_since: Option<String>,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Coat type, its word.
    pub coat: String,
    /// 0.5 to 1.5.
    #[serde(default = "one")]
    pub density: f64,
    /// `calm`, `fidgets` or `objects`.
    pub temper: String,
    /// `pet`, `smart` or `show`.
    pub look: String,
    /// The longest one visit may take, minutes.
    #[serde(default)]
    pub table_max_min: Option<f64>,
    /// Days between visits.
    #[serde(default)]
    pub rhythm_days: Option<i32>,
    /// Set and long growing hair may be pulled.
    #[serde(default)]
    pub before_ripe: bool,
    /// Lives outdoors.
    #[serde(default)]
    pub outdoors: bool,
    /// Notes on health.
    #[serde(default)]
    pub health: String,
    /// Steroid courses: first day, last day.
    #[serde(default)]
    pub steroids: Vec<(String, Option<String>)>,
    /// Conditions to mind.
    #[serde(default)]
    pub conditions: Vec<ConditionBody>,
    /// Own values of zones.
    #[serde(default)]
    pub zones: Vec<ZoneBody>,
    /// Days that matter: day, name.
    #[serde(default)]
    pub days_that_matter: Vec<(String, String)>,
    /// Days on which it cannot come: first, last.
    #[serde(default)]
    pub not_on: Vec<(String, String)>,
    /// Who works it.
    #[serde(default)]
    pub groomer: Option<PersonId>,
    /// No longer comes.
    #[serde(default)]
    pub left: bool,
}

/// A condition to mind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConditionBody {
    /// Its word in the dog's file.
    pub kind: String,
    /// First day.
    pub from: String,
    /// Last day.
    #[serde(default)]
    pub until: Option<String>,
    /// Zones; empty for the whole dog.
    #[serde(default)]
    pub zones: Vec<String>,
    /// Note.
    #[serde(default)]
    pub note: String,
}

/// Own values of a zone.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct ZoneBody {
    /// Zone, its word.
    pub zone: String,
    /// Length aimed at, mm.
    #[serde(default)]
    pub target_mm: Option<f64>,
    /// Fingers or fine knife only.
    #[serde(default)]
    pub tender: Option<bool>,
    /// How it is worked, its word.
    #[serde(default)]
    pub mode: Option<String>,
    /// Hands off until a day.
    #[serde(default)]
    pub hands_off_until: Option<String>,
    /// Why.
    #[serde(default)]
    pub hands_off_reason: String,
    /// The most that one visit takes, share of the visible hair.
    #[serde(default)]
    pub cap: Option<f64>,
    /// Cover below which it looks thin.
    #[serde(default)]
    pub floor: Option<f64>,
}

/// Something that happened to a dog's coat.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EventBody {
    /// Day.
    pub day: String,
    /// What: the word of the dog's file (`left alone`, `flat`, `clipped`, `rolled`, `visit`, `missed`).
    pub event: String,
    /// Length clipped to, mm.
    #[serde(default)]
    pub length_mm: Option<f64>,
    /// Weeks between clips or visits.
    #[serde(default)]
    pub every_weeks: Option<f64>,
    /// For so many months.
    #[serde(default)]
    pub months: Option<f64>,
    /// Minutes at the table.
    #[serde(default)]
    pub work_min: Option<f64>,
    /// Ease over the whole dog, 1 to 5.
    #[serde(default)]
    pub ease: Option<u8>,
    /// What was done and read, by zone.
    #[serde(default)]
    pub zones: Vec<RecordBody>,
    /// The visit it was recorded at.
    #[serde(default)]
    pub visit: Option<RecordId>,
}

impl EventBody {
    /// Something that happened on a day, with nothing more said of it.
    pub fn of(day: impl Into<String>, event: impl Into<String>) -> Self {
        EventBody {
            day: day.into(),
            event: event.into(),
            length_mm: None,
            every_weeks: None,
            months: None,
            work_min: None,
            ease: None,
            zones: Vec::new(),
            visit: None,
        }
    }
}

/// What a visit did to a zone and read off it.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct RecordBody {
    /// Zones, their words.
    pub zones: Vec<String>,
    /// Share of the visible hair pulled; none when nothing was, or all that was ripe.
    #[serde(default)]
    pub share: Option<f64>,
    /// All that was ripe was pulled.
    #[serde(default)]
    pub all_ripe: bool,
    /// Carded.
    #[serde(default)]
    pub carded: bool,
    /// Longest hair, mm.
    #[serde(default)]
    pub longest_mm: Option<f64>,
    /// New layer, mm.
    #[serde(default)]
    pub new_layer_mm: Option<f64>,
    /// Longest hair as a comb depth, 1 to 5.
    #[serde(default)]
    pub longest_depth: Option<u8>,
    /// New layer as a comb depth, 1 to 5.
    #[serde(default)]
    pub new_layer_depth: Option<u8>,
    /// Minutes.
    #[serde(default)]
    pub work_min: Option<f64>,
    /// Ease, 1 to 5.
    #[serde(default)]
    pub ease: Option<u8>,
    /// `soft`, `between` or `harsh`.
    #[serde(default)]
    pub feel: Option<String>,
    /// Cover by eye, share.
    #[serde(default)]
    pub cover_by_eye: Option<f64>,
    /// New hair was through the skin.
    #[serde(default)]
    pub new_hair: Option<bool>,
}

/// Where a visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VisitState {
    /// Planned.
    Planned,
    /// The dog is at the table.
    AtTable,
    /// Done.
    Done,
    /// Missed.
    Missed,
    /// Called off.
    CalledOff,
}

impl VisitBody {
    /// A visit planned for a day.
    pub fn planned_for(day: impl Into<String>, place: i32) -> Self {
        VisitBody {
            day: day.into(),
            place,
            state: VisitState::Planned,
            groomer: None,
            planned: None,
            began_ms: None,
            done_ms: None,
            event: None,
            bearing: None,
            note: String::new(),
        }
    }
}

/// A visit of a dog.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VisitBody {
    /// Day.
    pub day: String,
    /// Place in the day's order.
    pub place: i32,
    /// Where it stands.
    pub state: VisitState,
    /// Who works.
    #[serde(default)]
    pub groomer: Option<PersonId>,
    /// What was planned for the day when work began, as the plan's JSON for this visit.
    #[serde(default)]
    pub planned: Option<serde_json::Value>,
    /// When work began, server ms.
    #[serde(default)]
    pub began_ms: Option<i64>,
    /// When it was finished, server ms.
    #[serde(default)]
    pub done_ms: Option<i64>,
    /// The event that the finished visit became, or the missed one.
    #[serde(default)]
    pub event: Option<RecordId>,
    /// How the dog bore it in the end: `calm`, `fidgets` or `objects`; lowers the caps of the next visit.
    #[serde(default)]
    pub bearing: Option<String>,
    /// Note.
    #[serde(default)]
    pub note: String,
}

/// One tap at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EntryBody {
    /// Zone, its word; none for the whole dog.
    #[serde(default)]
    pub zone: Option<String>,
    /// Order in the browser that made it: counts up from 1 within a visit and a browser.
    pub count: i64,
    /// Which browser made it, a random text.
    pub browser: String,
    /// The browser's own clock when it was made, ms; shown, never trusted for order.
    pub browser_ms: i64,
    /// What.
    pub what: Entry,
}

/// What a tap says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Entry {
    /// The zone was done as planned.
    AsPlanned,
    /// Another share of the visible hair was pulled.
    Pulled {
        /// Share, 0 to 1.
        share: f64,
    },
    /// All that was ripe was pulled.
    AllRipe,
    /// The zone was left.
    Left,
    /// Carded, or not.
    Carded {
        /// Was it.
        yes: bool,
    },
    /// Ease, 1 to 5.
    Ease {
        /// 1 falls out, 5 will not come.
        ease: u8,
    },
    /// Longest hair, comb depth.
    LongestDepth {
        /// 1 to 5.
        depth: u8,
    },
    /// Longest hair.
    LongestMm {
        /// mm.
        mm: f64,
    },
    /// New layer, comb depth.
    NewLayerDepth {
        /// 1 to 5.
        depth: u8,
    },
    /// New layer.
    NewLayerMm {
        /// mm.
        mm: f64,
    },
    /// New hair through the skin.
    NewHair {
        /// Seen or not.
        yes: bool,
    },
    /// Feel of the hair.
    Feel {
        /// `soft`, `between` or `harsh`.
        feel: String,
    },
    /// Cover by eye.
    Cover {
        /// Share.
        share: f64,
    },
    /// How the dog bears it.
    Bearing {
        /// `calm`, `fidgets` or `objects`.
        bearing: String,
    },
    /// Kind of tool used.
    Tool {
        /// Its name by kind.
        tool: String,
    },
    /// Something on the skin.
    Skin {
        /// What was seen, in the groomer's words.
        note: String,
        /// Where on the drawing, 0 to 1 across.
        x: f64,
        /// 0 to 1 down.
        y: f64,
        /// Photo.
        #[serde(default)]
        photo: Option<RecordId>,
    },
    /// The zone's clock, with the seconds that ran.
    Clock {
        /// Seconds that the zone took in all so far.
        seconds: i64,
        /// It runs.
        running: bool,
    },
    /// A product was opened or used.
    Product {
        /// What.
        what: String,
        /// Batch.
        batch: String,
        /// Day opened, `YYYY-MM-DD`.
        opened: String,
    },
    /// Tools put into the disinfectant.
    Disinfected {
        /// Agent, by kind.
        agent: String,
        /// Contact time, minutes.
        contact_min: i64,
    },
    /// A note.
    Note {
        /// Text.
        note: String,
    },
    /// Takes an earlier entry back.
    Undo {
        /// Which.
        entry: RecordId,
    },
}

/// A photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhotoBody {
    /// Day it was taken, `YYYY-MM-DD`.
    pub day: String,
    /// `left side`, `right side`, `front`, `back`, `head` or `close`.
    pub pose: String,
    /// Visit it belongs to.
    #[serde(default)]
    pub visit: Option<RecordId>,
    /// Zone of a close view.
    #[serde(default)]
    pub zone: Option<String>,
    /// SHA-256 of the picture as kept (upright, no location), hex.
    pub picture: String,
    /// SHA-256 of the small picture, hex.
    pub small: String,
    /// `image/jpeg`, `image/png` or `image/webp`.
    pub media: String,
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
    /// Note.
    #[serde(default)]
    pub note: String,
}
