//! Every key of a dog's file: the reader takes names, ranges and words from
//! here, and the manual page is compared with it.

/// What a key holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A number.
    Number {
        /// Its name in messages.
        label: &'static str,
        /// Its unit, or an empty string.
        unit: &'static str,
        /// Lowest value.
        low: f64,
        /// Highest value.
        high: f64,
        /// Whether the lowest value itself is refused.
        above: bool,
    },
    /// A whole number.
    Whole {
        /// Its name in messages.
        label: &'static str,
        /// Its unit, or an empty string.
        unit: &'static str,
        /// Lowest value.
        low: i64,
        /// Highest value.
        high: i64,
    },
    /// A date, bare or as `"YYYY-MM-DD"`.
    Date,
    /// `true` or `false`.
    Flag,
    /// Text of at most 200 characters on one line.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A zone, `"jacket"` or `"all"`.
    Zone,
    /// A list of zones, or a group.
    Zones,
    /// A share of the visible hair, `"1 in n"` or `"all ripe"`.
    Pulled,
    /// A table.
    Table,
    /// An array of tables.
    Tables,
}

/// A key of a dog's file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Key {
    /// The table it stands in; empty at the top of the file.
    pub table: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Whether it must be there.
    pub needed: bool,
}

impl Key {
    /// The range as messages and the manual show it, for instance `0..=400 mm`; empty where there is none.
    pub fn range(&self) -> String {
        match self.kind {
            Kind::Number { unit, low, high, .. } => with_unit(&format!("{low}..={high}"), unit),
            Kind::Whole { unit, low, high, .. } => with_unit(&format!("{low}..={high}"), unit),
            _ => String::new(),
        }
    }
}

pub(super) fn with_unit(value: &str, unit: &str) -> String {
    if unit.is_empty() { value.to_owned() } else { format!("{value} {unit}") }
}

const fn key(table: &'static str, name: &'static str, kind: Kind) -> Key {
    Key { table, name, kind, needed: false }
}

const fn need(table: &'static str, name: &'static str, kind: Kind) -> Key {
    Key { table, name, kind, needed: true }
}

const fn number(label: &'static str, unit: &'static str, low: f64, high: f64) -> Kind {
    Kind::Number { label, unit, low, high, above: false }
}

const fn above(label: &'static str, unit: &'static str, high: f64) -> Kind {
    Kind::Number { label, unit, low: 0.0, high, above: true }
}

const fn whole(label: &'static str, unit: &'static str, low: i64, high: i64) -> Kind {
    Kind::Whole { label, unit, low, high }
}

const fn weight(name: &'static str) -> Key {
    key("weights", name, number("weight", "", 0.0, 1000.0))
}

use Kind::{Date, Flag, Pulled, Table, Tables, Text, Word, Zone, Zones};

/// The shortest and the longest rhythm that is planned, days: assumed. Under five days a coat is
/// looked at, not worked.
pub const RHYTHM_D: (i64, i64) = (5, 120);

/// Every key that the reader knows, in the order of the manual page.
pub const KEYS: &[Key] = &[
    need("", "schema", Text),
    need("", "name", Text),
    need("", "born", Date),
    need("", "sex", Word(&["bitch", "dog"])),
    key("", "neutered_since", Date),
    need("", "mass_kg", above("mass", "kg", 120.0)),
    need("", "coat", Word(&["pin wire", "wire", "long wire", "soft wire"])),
    key("", "density", number("density", "", 0.5, 1.5)),
    key("", "temper", Word(&["calm", "fidgets", "objects"])),
    key("", "look", Word(&["pet", "smart", "show"])),
    key("", "table_max_min", number("time on the table", "min", 5.0, 480.0)),
    key("", "rhythm_days", whole("rhythm", "d", RHYTHM_D.0, RHYTHM_D.1)),
    key("", "before_ripe", Flag),
    key("", "outdoors", Flag),
    key("", "latitude_deg", number("latitude", "deg", -90.0, 90.0)),
    key("", "health", Table),
    key("", "steroids", Tables),
    key("", "condition", Tables),
    key("", "groomer", Table),
    key("", "weights", Table),
    key("", "history", Tables),
    key("", "zones", Tables),
    key("", "days_that_matter", Tables),
    key("health", "notes", Text),
    need("steroids", "from", Date),
    key("steroids", "until", Date),
    need(
        "condition",
        "kind",
        Word(&[
            "skin",
            "parasites",
            "ears",
            "surgery",
            "season",
            "whelping",
            "spot_on",
            "frightened",
            "ill",
            "sore_back",
        ]),
    ),
    need("condition", "from", Date),
    key("condition", "until", Date),
    key("condition", "zones", Zones),
    key("condition", "note", Text),
    key("groomer", "pace", number("pace", "", 0.3, 3.0)),
    key("groomer", "caps", Table),
    key("groomer", "price_per_hour", number("price an hour", "", 0.0, 10_000.0)),
    key("groomer", "currency", Text),
    key("groomer.caps", "layered", number("cap", "", 0.0, 1.0)),
    key("groomer.caps", "short", number("cap", "", 0.0, 1.0)),
    key("groomer.caps", "shaped", number("cap", "", 0.0, 1.0)),
    weight("cover"),
    weight("ripe"),
    weight("ripe_short"),
    weight("evenness"),
    weight("wool"),
    weight("unripe"),
    weight("outline"),
    weight("day_that_matters"),
    need("history", "date", Date),
    need("history", "event", Word(&["left alone", "flat", "clipped", "rolled", "visit", "missed"])),
    key("history", "length_mm", above("clip length", "mm", 400.0)),
    key("history", "every_weeks", number("rhythm", "weeks", 1.0, 104.0)),
    key("history", "months", number("time clipped", "months", 1.0, 240.0)),
    key("history", "work_min", number("time on the table", "min", 0.0, 960.0)),
    key("history", "ease", whole("ease", "", 1, 5)),
    key("history", "zones", Tables),
    key("history.zones", "zone", Zone),
    key("history.zones", "zones", Zones),
    key("history.zones", "pulled", Pulled),
    key("history.zones", "carded", Flag),
    key("history.zones", "longest_mm", number("top length", "mm", 0.0, 400.0)),
    key("history.zones", "new_layer_mm", number("new layer", "mm", 0.0, 400.0)),
    key("history.zones", "longest_depth", whole("comb depth", "", 1, 5)),
    key("history.zones", "new_layer_depth", whole("comb depth", "", 1, 5)),
    key("history.zones", "work_min", number("time on the zone", "min", 0.0, 480.0)),
    key("history.zones", "ease", whole("ease", "", 1, 5)),
    key("history.zones", "feel", Word(&["soft", "between", "harsh"])),
    key("history.zones", "cover_by_eye", number("cover by eye", "", 0.0, 1.0)),
    key("history.zones", "new_hair", Flag),
    key("zones", "zone", Zone),
    key("zones", "zones", Zones),
    key("zones", "target_mm", number("target length", "mm", 0.0, 400.0)),
    key("zones", "tender", Flag),
    key("zones", "mode", Word(&["layered", "short", "shaped", "never"])),
    key("zones", "hands_off_until", Date),
    key("zones", "reason", Text),
    key("zones", "cap", number("cap", "", 0.0, 1.0)),
    key("zones", "floor", number("floor of cover", "", 0.0, 1.0)),
    key("zones", "lag_d", number("lag", "d", 1.0, 1000.0)),
    key("zones", "grow_d", number("growing time", "d", 1.0, 1000.0)),
    key("zones", "set_d", number("set time", "d", 1.0, 1000.0)),
    key("zones", "hold_d", number("hold", "d", 1.0, 1000.0)),
    key("zones", "growth_mm_d", number("growth", "mm/d", 0.01, 2.0)),
    need("days_that_matter", "date", Date),
    key("days_that_matter", "name", Text),
];

/// The keys of one table.
pub(super) fn keys_of(table: &str) -> impl Iterator<Item = &'static Key> {
    KEYS.iter().filter(move |k| k.table == table)
}

/// One key.
pub(super) fn find(table: &str, name: &str) -> Option<&'static Key> {
    keys_of(table).find(|k| k.name == name)
}

/// The known word nearest to what was written, when it is near at all.
pub(super) fn nearest<'w>(written: &str, words: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    if written.len() > 40 {
        return None;
    }
    let low = written.to_lowercase().replace([' ', '-'], "_");
    words
        .into_iter()
        .map(|w| (strsim::damerau_levenshtein(&low, &w.replace(' ', "_")), w))
        .filter(|(distance, w)| *distance <= 1 + w.len() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, w)| w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_twice_and_every_table_has_keys() {
        for (i, k) in KEYS.iter().enumerate() {
            assert!(!KEYS[..i].iter().any(|o| (o.table, o.name) == (k.table, k.name)), "{}.{}", k.table, k.name);
            if matches!(k.kind, Table | Tables) {
                let path = if k.table.is_empty() { k.name.to_owned() } else { format!("{}.{}", k.table, k.name) };
                assert!(keys_of(&path).count() > 0, "{path}");
            }
        }
    }

    #[test]
    fn the_nearest_word() {
        let zones = coat::Zone::ALL.map(coat::Zone::word);
        assert_eq!(nearest("hind legs", zones), Some("hind_legs"));
        assert_eq!(nearest("sid", zones), Some("sides"));
        assert_eq!(nearest("wheelbarrow", zones), None);
    }
}
