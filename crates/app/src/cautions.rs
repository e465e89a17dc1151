//! The cautions: reminders, never a diagnosis. Law, licensed practice and the vet decide.

use crate::dog_file::{ConditionKind, DogFile, Sex, Temper};
use coat::{Day, STEROID_AFTER_D, Zone};

/// Shown with every plan.
pub const ALWAYS: [&str; 3] = [
    "Look over and feel the skin first: nothing is stripped that is broken, crusted, hot, sore or infected.",
    "A circular bald or scaly patch may be ringworm, which people catch: stop, disinfect, vet.",
    "Never leave a dog alone on the table.",
];

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
        say("On steroids, or not long off them: the coat regrows slowly. Ask the vet before more is taken.");
    }
    if let Some(n) = file.neutered_since
        && today >= n
        && today - n < 365
    {
        say("Neutered within the year: the coat may change; measure more often and trust these dates less.");
    }
    match file.temper {
        Temper::Calm => {}
        Temper::Fidgets => say("Fidgets: rests, and tender zones last."),
        Temper::Objects => {
            say("Objects: stop before it turns into a fight; a short visit that ends well is worth more.")
        }
    }
    if file.sex == Sex::Bitch && file.neutered_since.is_none() {
        say("A bitch in season or whelping: short and gentle, or not today.");
    }
    for c in file.conditions.iter().filter(|c| c.from <= today && c.until.is_none_or(|u| today <= u)) {
        say(match c.kind {
            ConditionKind::Skin => "Skin noted: hands off that skin until a vet has seen it.",
            ConditionKind::Parasites => "Fleas or ticks noted: the owner or the vet first.",
            ConditionKind::Ears => "Ear discharge noted: the vet first, leave the ears.",
            ConditionKind::Surgery => "Recent surgery noted: ask the vet before anything is pulled near it.",
            ConditionKind::Season => "In season: short and gentle, or not today.",
            ConditionKind::Whelping => "Whelping: not today unless it must be.",
            ConditionKind::SpotOn => "Fresh spot-on treatment: hands off until it is dry, and follow its label.",
            ConditionKind::Frightened => "Frightened: short, gentle, or not today.",
            ConditionKind::Ill => "Ill: not today; the vet decides.",
            ConditionKind::SoreBack => {
                "Fever, dullness or a sore back within a week of a bath or a strip: vet at once."
            }
        });
    }
    out
}

/// Cautions for one zone.
pub fn for_zone(file: &DogFile, zone: Zone, tender: bool, today: Day) -> Vec<String> {
    let mut out = Vec::new();
    if tender {
        out.push("Tender: fingers or fine knife, stop at the first flinch.".to_owned());
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
pub const AFTER_FLAT: [&str; 2] = [
    "Bare skin burns and chills: shade, a coat in the cold, no hard brushing.",
    "No new hair four months on: vet first.",
];
