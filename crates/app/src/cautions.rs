//! The cautions: reminders, never a diagnosis. Law, licensed practice and the vet decide.
//!
//! Whatever else says one of them, a form or a page, takes its words from here.

use crate::dog_file::{ConditionKind, DogFile, Sex, Temper};
use coat::{Day, STEROID_AFTER_D, Zone};

/// Of patches on the skin.
pub const RINGWORM: &str = "A circular bald or scaly patch may be ringworm, which people catch: stop, disinfect, vet.";
/// Of every dog at the table.
pub const NEVER_ALONE: &str = "Never leave a dog alone on the table.";
/// Of a zone where it hurts soonest.
pub const TENDER: &str = "Tender: fingers or fine knife, stop at the first flinch.";
/// Of a coat that was taken down or clipped.
pub const NO_NEW_HAIR: &str = "No new hair four months after the coat was taken: vet first.";

/// Shown with every plan.
pub const ALWAYS: [&str; 3] = [
    "Look over and feel the skin first: nothing is stripped that is broken, crusted, hot, sore or infected.",
    RINGWORM,
    NEVER_ALONE,
];

/// What is known of a dog, and what follows for the hand: no final stop, the second part in lower case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Minded {
    /// What is known.
    pub what: &'static str,
    /// What follows.
    pub follows: &'static str,
}

impl std::fmt::Display for Minded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}.", self.what, self.follows)
    }
}

const fn minded(what: &'static str, follows: &'static str) -> Minded {
    Minded { what, follows }
}

/// Of steroids.
pub const STEROIDS: Minded =
    minded("On steroids, or not long off them", "the coat regrows slowly. Ask the vet before more is taken");

/// How a dog is on the table.
pub const fn of_temper(temper: Temper) -> Minded {
    match temper {
        Temper::Calm => minded("Calm", "stands still"),
        Temper::Fidgets => minded("Fidgets", "rests, and tender zones last"),
        Temper::Objects => {
            minded("Objects", "stop before it turns into a fight; a short visit that ends well is worth more")
        }
    }
}

/// Something that is noted for some time.
pub const fn of_condition(kind: ConditionKind) -> Minded {
    match kind {
        ConditionKind::Skin => minded("Skin noted", "hands off that skin until a vet has seen it"),
        ConditionKind::Parasites => minded("Fleas or ticks noted", "the owner or the vet first"),
        ConditionKind::Ears => minded("Ear discharge noted", "the vet first, leave the ears"),
        ConditionKind::Surgery => minded("Recent surgery noted", "ask the vet before anything is pulled near it"),
        ConditionKind::Season => minded("In season", "short and gentle, or not today"),
        ConditionKind::Whelping => minded("Whelping", "not today unless it must be"),
        ConditionKind::SpotOn => minded("Fresh spot-on treatment", "hands off until it is dry, and follow its label"),
        ConditionKind::Frightened => minded("Frightened", "short, gentle, or not today"),
        ConditionKind::Ill => minded("Ill", "not today; the vet decides"),
        ConditionKind::SoreBack => {
            minded("Fever, dullness or a sore back within a week of a bath or a strip", "vet at once")
        }
    }
}

/// Cautions for the whole dog on a day.
pub fn for_dog(file: &DogFile, today: Day) -> Vec<String> {
    let mut out: Vec<String> = ALWAYS.iter().map(|s| (*s).to_owned()).collect();
    let mut say = |s: &str| out.push(s.to_owned());
    let age_d = today - file.born;
    if crate::model::puppy(file, today) {
        say("A puppy: fingers only, ten minutes, a few hairs, and praise.");
    }
    if age_d > 365 * 10 {
        say("An old dog: short and gentle, with rests, or not today.");
    }
    if file.steroids.iter().any(|s| s.from <= today && s.until.is_none_or(|u| today <= u + STEROID_AFTER_D)) {
        say(&STEROIDS.to_string());
    }
    if let Some(n) = file.neutered_since
        && today >= n
        && today - n < 365
    {
        say("Neutered within the year: the coat may change; measure more often and trust these dates less.");
    }
    if file.temper != Temper::Calm {
        say(&of_temper(file.temper).to_string());
    }
    if file.sex == Sex::Bitch && file.neutered_since.is_none() {
        say("A bitch in season or whelping: short and gentle, or not today.");
    }
    for c in file.conditions.iter().filter(|c| c.from <= today && c.until.is_none_or(|u| today <= u)) {
        say(&of_condition(c.kind).to_string());
    }
    out
}

/// Cautions for one zone.
pub fn for_zone(file: &DogFile, zone: Zone, tender: bool, today: Day) -> Vec<String> {
    let mut out = Vec::new();
    if tender {
        out.push(TENDER.to_owned());
    }
    match zone {
        Zone::Seat | Zone::InnerThighs => out.push("No knife on bare skin.".to_owned()),
        Zone::Ears => out.push("Discharge, smell or heat: leave it, vet.".to_owned()),
        Zone::Brows | Zone::Foreface => out.push("Scissors point away from the eye.".to_owned()),
        _ => {}
    }
    if let Some(h) = file.zone(zone).and_then(|z| z.hands_off.as_ref())
        && today < h.until
    {
        let why = h.reason.as_deref().unwrap_or("as noted");
        out.push(format!("Hands off until {} ({why}).", h.until));
    }
    for c in &file.conditions {
        if c.from <= today && c.until.is_none_or(|u| today <= u) && c.zones.contains(&zone) {
            out.push(format!(
                "Noted here: {}. The vet decides when it may be touched.",
                c.kind.word().replace('_', " ")
            ));
        }
    }
    out
}

/// After a coat was taken down.
pub const AFTER_FLAT: [&str; 2] =
    ["Bare skin burns and chills: shade, a coat in the cold, no hard brushing.", NO_NEW_HAIR];
