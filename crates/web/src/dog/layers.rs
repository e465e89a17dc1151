//! The layers of the coat in a section, on any day from the first record to the plan's last visit.

use super::plan::{Kind, picture};
use super::{no_picture, options, svg};
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, Fields, id_of};
use crate::state::State;
use crate::ui::coded;
use app::report::PlanReport;
use app::shop::DogCard;
use axum::extract::Path;
use axum::response::IntoResponse;
use coat::{Day, DogCoat, Zone, ZoneCoat};
use maud::{Markup, html};
use paper::section::{self, Panel, Section};

/// The past shown on the slider.
const PAST_D: i32 = 400;

/// What is cut through.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Jacket,
    Zone(Zone),
}

impl Part {
    /// Its word in an address.
    fn word(self) -> &'static str {
        match self {
            Part::Jacket => "jacket",
            Part::Zone(z) => z.word(),
        }
    }

    fn parse(word: &str) -> Option<Part> {
        if word == Part::Jacket.word() { Some(Part::Jacket) } else { Zone::parse(word).map(Part::Zone) }
    }

    fn label(self) -> &'static str {
        match self {
            Part::Jacket => "jacket",
            Part::Zone(z) => z.label(),
        }
    }

    /// Its zones, each with its part of the area; the zones that a coat has.
    fn zones(self, coat: &DogCoat) -> Vec<(f64, Zone)> {
        let zones: Vec<Zone> = match self {
            Part::Zone(z) => vec![z],
            Part::Jacket => Zone::ALL.into_iter().filter(|z| z.defaults().jacket).collect(),
        };
        let mut zones: Vec<(f64, Zone)> =
            zones.into_iter().filter(|z| coat.zone(*z).is_some()).map(|z| (z.defaults().area, z)).collect();
        let area: f64 = zones.iter().map(|z| z.0).sum();
        zones.iter_mut().for_each(|z| z.0 /= area);
        zones
    }
}

/// What is asked for: a zone or the jacket, and a day.
pub(super) struct Wanted {
    part: Part,
    day: Option<String>,
}

impl Wanted {
    pub(super) fn of(asked: &Fields) -> Wanted {
        Wanted {
            part: Part::parse(asked.text("of")).unwrap_or(Part::Zone(Zone::Back)),
            day: asked.some("on").filter(|d| Day::parse(d).is_some()).map(str::to_owned),
        }
    }
}

/// Days on which something was done or is to be done, and today; ascending.
fn days(signed: &SignedIn, card: &DogCard, report: &PlanReport) -> Vec<String> {
    let today = signed.today;
    let first = card.events.iter().map(|e| e.body.day.as_str()).min().unwrap_or("").to_owned();
    let done = card.events.iter().filter(|e| e.body.event != "missed").map(|e| &e.body.day);
    let mut days: Vec<String> = done
        .filter(|d| Day::parse(d).is_some_and(|day| day >= today - PAST_D && day <= today) && **d > first)
        .cloned()
        .chain([today.to_string()])
        .chain(report.visits.iter().map(|v| v.date.clone()))
        .collect();
    days.sort();
    days.dedup();
    days
}

/// The section with its slider; without script, with ways to the day before and after.
pub(super) fn section(signed: &SignedIn, card: &DogCard, report: &PlanReport, wanted: &Wanted) -> Markup {
    let id = card.dog.id.as_str();
    let days = days(signed, card, report);
    let today = signed.today.to_string();
    let asked = wanted.day.clone().unwrap_or_else(|| today.clone());
    let at = days.iter().position(|d| *d >= asked).unwrap_or(days.len().saturating_sub(1));
    let Some(day) = days.get(at) else { return html! {} };
    let zones: Vec<Zone> =
        report.visits.first().map_or_else(Vec::new, |v| v.zones.iter().filter_map(|z| Zone::parse(z.zone)).collect());
    let jacket = zones.iter().any(|z| z.defaults().jacket).then_some(Part::Jacket);
    let parts = jacket.into_iter().chain(zones.into_iter().map(Part::Zone));
    let to = |day: &str| format!("/dogs/{id}?of={}&on={day}#layers", coded(wanted.part.word()));
    let named: Vec<String> = days.iter().map(|d| spoken(signed, d)).collect();
    html! {
        section aria-labelledby="layers" {
            h2 #layers { "The layers of the coat" }
            form.through method="get" action=(format!("/dogs/{id}")) {
                div.field {
                    label for="of" { "Part of the coat" }
                    select #of name="of" { @for p in parts { option value=(p.word()) selected[p == wanted.part] { (p.label()) } } }
                }
                button { "Show" }
            }
            div.through data-through="" {
                @if at > 0 { a.button rel="prev" href=(to(&days[at - 1])) { "Earlier" } }
                @if at + 1 < days.len() { a.button rel="next" href=(to(&days[at + 1])) { "Later" } }
                input type="range" min="0" max=(days.len() - 1) value=(at) aria-label="Day" aria-valuetext=(named[at])
                    data-days=(days.join(" ")) data-named=(named.join("|")) hidden;
                output { (named[at]) }
            }
            (picture(signed, &format!("/dogs/{id}/section.svg?of={}&on={day}", coded(wanted.part.word())),
                &format!("A cut through the coat of the {}, {}", wanted.part.label(), named[at]), Kind::OnePartUnderTheOther))
        }
    }
}

fn spoken(signed: &SignedIn, day: &str) -> String {
    let text = signed.dates().long_text(day);
    if *day == signed.today.to_string() { format!("today, {text}") } else { text }
}

/// The picture of one day: before and after its work where there is any, else as the coat stands.
pub(super) async fn draw(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    asked: Asked,
) -> Result<impl IntoResponse, Fault> {
    let id = id_of(&id)?;
    let Wanted { part, day } = Wanted::of(&asked.0);
    let day = day.as_deref().and_then(Day::parse).unwrap_or(signed.today);
    let today = signed.today;
    let at = state.desk().coat_at(&signed.who, today, &id, day).await.map_err(no_picture)?;
    let report = &at.planned.report;
    let zones = part.zones(&at.before);
    if zones.is_empty() {
        return Err(Fault::NotFound);
    }
    let (date, name) = (signed.dates().long(day), part.label());
    let of = |coat: &DogCoat, words: &str| {
        let panel =
            |(area, z): &(f64, Zone)| coat.zone(*z).map(|z| (*area, section::panel_of(date.clone(), String::new(), z)));
        section::together_panel(&zones.iter().filter_map(panel).collect::<Vec<_>>(), words)
    };
    let after = at.after.as_ref().filter(|then| {
        zones.iter().any(|(_, z)| at.before.zone(*z).zip(then.zone(*z)).is_some_and(|(b, t)| changed(b, t)))
    });
    let panels: Vec<Panel> = match (report.visits.iter().find(|v| v.date == day.to_string()), after) {
        (Some(visit), after) => {
            let now = after.unwrap_or(&at.before);
            let pair = |(area, z): &(f64, Zone)| {
                let z = now.zone(*z)?;
                let work = visit.work_on(z);
                Some((*area, section::before_and_after(&date, z, &work.take, work.card)))
            };
            section::together_before_and_after(&zones.iter().filter_map(pair).collect::<Vec<_>>()).to_vec()
        }
        (None, Some(after)) => vec![of(&at.before, "before: "), of(after, "after: ")],
        (None, None) => vec![of(&at.before, "")],
    };
    let title =
        if day > today { format!("The {name} as the plan has it on {date}") } else { format!("The {name} on {date}") };
    let section = Section { title, zone: report.dog.clone(), panels, strip: String::new() };
    Ok(svg(section::section_svg(&section, &options(&signed, &asked.0))))
}

/// Whether work changed what is seen of a zone.
fn changed(before: &ZoneCoat, then: &ZoneCoat) -> bool {
    (before.top.visible() - then.top.visible()).abs() >= 1e-6 || (before.top.ripe() - then.top.ripe()).abs() >= 1e-6
}
