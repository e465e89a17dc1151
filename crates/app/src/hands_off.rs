//! Where hands stay off, and until when: what the file says of a zone, and what its conditions mean for it.
//!
//! `common practice` throughout; the vet decides. Nothing here names an illness.

use crate::dog_file::{Condition, ConditionKind, DogFile};
use coat::{Day, Dog, Zone};

/// Days for which a condition without a last day is taken to last: it is looked at anew by then.
const OPEN_D: i32 = 28;

/// A zone that no hand may work for some time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HandsOff {
    /// The first day on which the zone may be worked again.
    pub until: Day,
    /// Why, in words; empty when nothing was noted.
    pub why: String,
}

/// The zones that a condition closes; none when it asks for short and gentle work only.
fn closes(c: &Condition, zone: Zone) -> bool {
    let here = c.zones.contains(&zone);
    match c.kind {
        // Not today: the whole dog, wherever it was noted.
        ConditionKind::Ill | ConditionKind::Whelping | ConditionKind::SoreBack => true,
        // Where it was noted; the whole dog when nothing was said.
        ConditionKind::Skin | ConditionKind::Parasites | ConditionKind::Surgery | ConditionKind::SpotOn => {
            here || c.zones.is_empty()
        }
        ConditionKind::Ears => here || zone == Zone::Ears,
        // Where it was noted, else short and gentle.
        ConditionKind::Season | ConditionKind::Frightened => here,
    }
}

/// Until when and why hands stay off a zone, as known on a day; the longest of what was noted.
pub fn of(file: &DogFile, zone: Zone, today: Day) -> Option<HandsOff> {
    let own = file.zone(zone).and_then(|z| z.hands_off.as_ref()).filter(|h| today < h.until);
    let own = own.map(|h| HandsOff { until: h.until, why: h.reason.clone().unwrap_or_default() });
    let noted = file.conditions.iter().filter(|c| c.from <= today && closes(c, zone)).filter_map(|c| {
        let until = c.until.map_or(today + OPEN_D, |last| last + 1);
        let why = c.kind.word().replace('_', " ");
        (today < until).then_some(HandsOff { until, why })
    });
    own.into_iter().chain(noted).max_by_key(|h| h.until)
}

/// Closes the zones of a dog that hands stay off.
pub(crate) fn close(dog: &mut Dog, file: &DogFile, today: Day) {
    for setup in &mut dog.zones {
        if let Some(h) = of(file, setup.zone, today) {
            setup.hands_off_until = Some(h.until);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dog_file;

    const HEAD: &str = "schema = \"coatwright.dog/1\"\nname = \"Sorrel\"\nborn = 2022-03-01\nsex = \"bitch\"\nmass_kg = 8.0\ncoat = \"wire\"\n";

    fn closed(extra: &str, today: &str) -> Vec<Zone> {
        let text = format!("{HEAD}{extra}\n[[history]]\ndate = 2026-01-01\nevent = \"left alone\"\n");
        let file = dog_file::read("sorrel.toml", text.as_bytes()).unwrap_or_else(|f| panic!("{f:?}"));
        let today = Day::parse(today).unwrap();
        Zone::ALL.into_iter().filter(|z| of(&file, *z, today).is_some()).collect()
    }

    fn condition(kind: &str, rest: &str) -> String {
        format!("[[condition]]\nkind = \"{kind}\"\nfrom = 2026-11-20\n{rest}")
    }

    #[test]
    fn a_condition_closes_what_it_must_and_no_more() {
        let today = "2026-11-25";
        let zones = "zones = [\"back\", \"ears\"]";
        assert_eq!(closed(&condition("skin", zones), today), [Zone::Ears, Zone::Back]);
        assert_eq!(closed(&condition("ears", ""), today), [Zone::Ears]);
        for kind in ["ill", "whelping", "sore_back", "skin", "parasites", "surgery", "spot_on"] {
            assert_eq!(closed(&condition(kind, ""), today), Zone::ALL, "{kind}");
        }
        for kind in ["season", "frightened"] {
            assert_eq!(closed(&condition(kind, ""), today), [], "{kind}");
        }
    }

    #[test]
    fn a_condition_closes_from_its_first_day_to_its_last() {
        let noted = condition("ill", "until = 2026-12-01");
        assert_eq!(closed(&noted, "2026-11-19"), []);
        assert_eq!(closed(&noted, "2026-11-20"), Zone::ALL);
        assert_eq!(closed(&noted, "2026-12-01"), Zone::ALL);
        assert_eq!(closed(&noted, "2026-12-02"), []);
    }
}
