//! The use cases' answers as what the pages show.

use super::view::{KeptEntry, Lengths, WorkView, ZoneView};
use app::dog_file::Temper;
use app::shop::{Units, VisitState, Work, WorkZone, bearing_note};
use coat::Zone;

/// What a hand feels where hair is pulled. Common practice.
const FEEL: &str = "Ripe hair comes at a light pull. What holds is not ripe: leave it.";

/// A zone's name as spoken; the word itself where there is no such zone.
pub(crate) fn label(word: &str) -> String {
    Zone::parse(word).map_or_else(|| word.replace('_', " "), |z| z.label().to_owned())
}

fn zone(z: &WorkZone) -> ZoneView {
    let planned = z.planned.as_ref();
    let works: Vec<String> = planned.map(|p| p.works.clone()).unwrap_or_default();
    let pulls = works.iter().any(|w| w.starts_with("pull"));
    let mut cautions: Vec<String> = planned.map(|p| p.cautions.clone()).unwrap_or_default();
    if z.tender && planned.is_none() {
        cautions.push(app::cautions::TENDER.into());
    }
    ZoneView {
        zone: z.zone.word().into(),
        label: z.zone.label().into(),
        works,
        amount: z.advised.amount.clone(),
        share: z.advised.share,
        layer_mm: planned.and_then(|p| p.layer_mm),
        leave: planned.map(|p| p.leave.to_string()).unwrap_or_default(),
        work_min: planned.map_or(0.0, |p| p.min),
        lowered: z.advised.lowered.clone(),
        reason: planned.map_or_else(|| "Nothing was planned here.".into(), |p| p.reason.clone()),
        advice: [Temper::Calm, Temper::Fidgets, Temper::Objects]
            .into_iter()
            .map(|t| {
                let a = z.advice(t);
                (t.word(), a.amount, a.lowered.unwrap_or_default())
            })
            .collect(),
        feel: pulls.then(|| FEEL.to_owned()),
        cautions,
    }
}

/// What the page needs beside the work itself.
pub(crate) struct Beside {
    /// The shop.
    pub(crate) shop: String,
    /// Units of length.
    pub(crate) units: Units,
    /// A line under the name.
    pub(crate) about: String,
    /// All entries' ids.
    pub(crate) known: Vec<String>,
    /// The open zone.
    pub(crate) open: Option<String>,
    /// Makes the entries of this page's forms ones of their own.
    pub(crate) once: String,
    /// Today.
    pub(crate) today: String,
}

/// The work as the page shows it.
pub(crate) fn work(w: &Work, beside: Beside) -> WorkView {
    WorkView {
        shop: beside.shop,
        visit: w.visit.id.to_string(),
        dog: w.dog.id.to_string(),
        name: w.dog.body.name.clone(),
        about: beside.about,
        day: w.visit.body.day.clone(),
        cautions: w.cautions.clone(),
        zones: w.zones.iter().map(zone).collect(),
        entries: w.entries.iter().map(|s| KeptEntry { id: s.id.to_string(), body: s.entry.clone() }).collect(),
        known: beside.known,
        bearing: w.bearing.word(),
        bearings: [Temper::Calm, Temper::Fidgets, Temper::Objects]
            .into_iter()
            .map(|t| (t.word(), bearing_note(t).unwrap_or_default().to_owned()))
            .collect(),
        lengths: Lengths { inches: beside.units == Units::Inches },
        open: beside.open,
        once: beside.once,
        today: beside.today,
        done: w.visit.body.state == VisitState::Done,
    }
}
