//! What was learned, in sentences.

use super::readings::Recorded;
use crate::cautions::NO_NEW_HAIR;
use coat::{Day, Zone};
use learn::{Feel, LayerWindow, Surprise, What, ZoneSummary};

/// `back`, `forelegs and hind legs`, `skull, cheeks and ears`.
pub(super) fn list(zones: &[Zone]) -> String {
    let names: Vec<&str> = zones.iter().map(|z| z.label()).collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

fn takes(zones: &[Zone]) -> &'static str {
    let plural =
        ["forelegs", "hind legs", "brows", "cheeks", "ears", "sides", "shoulders", "thighs", "feet", "neck sides"];
    if zones.len() > 1 || zones.first().is_some_and(|z| plural.contains(&z.label())) { "take" } else { "takes" }
}

/// `24 weeks`, or days for short waits.
fn span(low_d: f64, high_d: f64) -> String {
    let unit = if high_d < 70.0 { 1.0 } else { 7.0 };
    let name = if unit > 1.0 { "weeks" } else { "days" };
    let (a, b) = ((low_d / unit).round(), (high_d / unit).round());
    if a == b { format!("about {a} {name}") } else { format!("{a} to {b} {name}") }
}

/// Whether the prior of a zone was moved off the default: by the shop's other dogs.
fn from_others(z: &ZoneSummary) -> bool {
    z.params.iter().any(|p| ((p.prior_low * p.prior_high).sqrt() / p.default).ln().abs() > 1e-6)
}

/// How long from pull to ripe, zones with one answer together: what holds on any day.
pub fn sentences(zones: &[ZoneSummary]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut groups: Vec<(Vec<Zone>, &ZoneSummary)> = Vec::new();
    let mut default: Vec<Zone> = Vec::new();
    for z in zones {
        if z.readings.is_empty() || z.params[..2].iter().all(|p| p.only_default) {
            if !z.readings.is_empty() {
                default.push(z.zone);
            }
            continue;
        }
        let same = |g: &&mut (Vec<Zone>, &ZoneSummary)| g.1.pull_to_ripe_d == z.pull_to_ripe_d;
        match groups.iter_mut().find(same) {
            Some(g) => g.0.push(z.zone),
            None => groups.push((vec![z.zone], z)),
        }
    }
    for (zones, z) in groups {
        let (_, low, high) = z.pull_to_ripe_d;
        let by_default = z.default_pull_to_ripe_d;
        out.push(format!(
            "The {} of this dog {} {} from pull to ripe, 8 in 10; the default says {}.",
            list(&zones),
            takes(&zones),
            span(low, high),
            span(by_default, by_default).trim_start_matches("about ")
        ));
    }
    if !default.is_empty() {
        let still = if zones.iter().any(from_others) {
            "still only what other dogs let expect"
        } else {
            "still only the default"
        };
        out.push(format!("The {}: what was read moved nothing much; {still}.", list(&default)));
    }
    out
}

/// The windows of the next layers of zones that were read, those with one window together.
pub(super) fn window_sentences(zones: &[ZoneSummary], windows: &[LayerWindow]) -> Vec<String> {
    let mut known: Vec<(Vec<Zone>, &LayerWindow)> = Vec::new();
    for w in windows {
        match known.iter_mut().find(|k| (k.1.from, k.1.until, k.1.begun) == (w.from, w.until, w.begun)) {
            Some(k) => k.0.push(w.zone),
            None => known.push((vec![w.zone], w)),
        }
    }
    let read = |z: &Zone| zones.iter().any(|s| s.zone == *z && !s.readings.is_empty());
    let said = known.into_iter().filter(|k| k.0.iter().any(read)).map(|(zones, w)| {
        format!(
            "The next layer of the {} is ready between {} and {}, 8 in 10; by the defaults on {}.",
            list(&zones),
            w.from,
            w.until,
            w.default
        )
    });
    said.collect()
}

/// That the coat may have changed.
pub(super) fn changed(since: Day) -> String {
    format!(
        "The readings since {since} go better with another coat than with this dog's until then: it may have changed \
         (the season, medicine, neutering), or the record has a gap. Plans still use all readings alike. Where new \
         hair stays away or hair falls in patches, see a vet before more is pulled there."
    )
}

/// A reading's answer as it was written.
pub(super) fn answer(what: &What) -> String {
    let percent = |s: f64| format!("{:.0} % of the visible hair", 100.0 * s);
    match what {
        What::LongestMm(mm) | What::NewLayerMm(mm) => format!("{mm} mm"),
        What::LongestDepth(k) | What::NewLayerDepth(k) => format!("comb depth {k}"),
        What::Ease(e, Some(s)) => format!("{e} at {}", percent(*s)),
        What::Ease(e, None) => format!("{e}, only tried"),
        What::Came(s) => percent(*s),
        What::NewHair(seen) => if *seen { "yes" } else { "no" }.to_owned(),
        What::Cover(c) => format!("{:.0} %", 100.0 * c),
        What::Feel(f) => match f {
            Feel::Soft => "soft",
            Feel::Between => "between",
            Feel::Harsh => "harsh",
        }
        .to_owned(),
    }
}

/// Plain reasons that a reading may surprise, and a caution where health may be one.
pub(super) fn reasons(
    r: &Recorded,
    s: &Surprise,
    hairless_d: Option<i32>,
) -> (Vec<&'static str>, Option<&'static str>) {
    let low = s.below < s.above;
    const ENTRY: &str = "a wrong or a missed entry: look at the record first";
    const CLIPPED: &str = "clipped or worked elsewhere since";
    const SEASON: &str = "the season, in a dog that lives outdoors";
    const MEDICINE: &str = "medicine, steroids above all";
    const NEUTERED: &str = "neutering within the year";
    const SHED: &str = "hair that came out by itself since";
    const VET: &str = "New hair that stays away, hair that falls in patches, or a zone that will not come back \
                       can also have a reason in the dog's health: see a vet before more is pulled there.";
    let slow = [ENTRY, SEASON, MEDICINE, NEUTERED];
    match (&r.reading.what, low) {
        (What::LongestMm(_) | What::LongestDepth(_), true) => (vec![ENTRY, CLIPPED, SHED], Some(VET)),
        (What::LongestMm(_) | What::LongestDepth(_), false) => (vec![ENTRY, "a spot that was left last time"], None),
        (What::NewLayerMm(_) | What::NewLayerDepth(_), true) => (slow.to_vec(), Some(VET)),
        (What::NewHair(_), true) => {
            (slow.to_vec(), Some(if hairless_d.is_some_and(|d| d >= 120) { NO_NEW_HAIR } else { VET }))
        }
        (What::Cover(_), true) => (vec![ENTRY, CLIPPED, SHED, SEASON, MEDICINE], Some(VET)),
        (What::Ease(..) | What::Came(_), false) => (vec![ENTRY, "another pair of hands", MEDICINE, NEUTERED], None),
        (What::Feel(_), true) => (vec![ENTRY, CLIPPED, NEUTERED], None),
        _ => (vec![ENTRY, "another pair of hands or eyes"], None),
    }
}

/// Days from the last work that emptied the zone until a day.
pub(super) fn since(work: Option<Day>, day: Day) -> Option<i32> {
    work.map(|w| day - w)
}
