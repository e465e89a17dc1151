//! The page itself: who, how the coat stands, what is to come, what was done.

use super::tried::Trial;
use super::{history, layers, plan, tried};
use crate::access::SignedIn;
use crate::ui;
use crate::words::{in_units, unit};
use app::shop::{DogCard, Planned, Said, Units};
use maud::{Markup, html};
use paper::drawing::shade::Shade;

/// What the page shows.
pub(super) struct Shown<'a> {
    pub(super) card: &'a DogCard,
    /// The plan as it stands, or why there is none.
    pub(super) stands: Result<&'a Planned, &'a [Said]>,
    pub(super) by: Shade,
    /// Changes tried out, if any.
    pub(super) trial: Trial<'a>,
    /// The layers shown: zone and day.
    pub(super) layers: layers::Wanted,
    /// Changes were kept just now.
    pub(super) kept: bool,
}

pub(super) fn page(signed: &SignedIn, shown: &Shown<'_>) -> Markup {
    let card = shown.card;
    let (id, dog) = (card.dog.id.as_str(), &card.dog.body);
    html! {
        h1 { (dog.name) }
        p {
            (dog.breed)
            @if let Some(owner) = &card.owner {
                @if !dog.breed.is_empty() { ", " }
                a href=(format!("/people/owners/{}", owner.id)) { (owner.body.name) }
            }
            ". Born " (signed.dates().long_text(&dog.born)) ", " (dog.mass_kg) " kg, " (dog.coat) " coat, " (dog.temper) "."
        }
        @if shown.kept { p.notice role="status" { "Kept. The plan takes it in from now on." } }
        @if !card.warnings.is_empty() {
            div.notice role="status" { ul { @for w in &card.warnings { li { (ui::sentence(w)) } } } }
        }
        @match shown.stands {
            Err(said) => div.notice.bad role="alert" {
                p { strong { "There is no plan for this dog." } }
                ul { @for s in said { li { (ui::sentence(s)) } } }
            },
            Ok(stands) => {
                (plan::today(signed, id, stands, shown.by))
                (layers::section(signed, card, &stands.report, &shown.layers))
                div #ahead {
                    (tried::section(signed, card, stands, &shown.trial))
                    (plan::ahead(signed, id, shown.trial.tried.map_or(stands, |t| &t.plan)))
                }
                (plan::measures(signed, id, &stands.report))
            },
        }
        (history::list(signed, card))
        p { a href=(format!("/dogs/{id}/photos")) { "Pictures (" (card.photos.len()) ")" } }
    }
}

pub(super) fn length(mm: f64, units: Units) -> String {
    let mm = if units == Units::Mm { mm.round() } else { mm };
    format!("{} {}", in_units(mm, units), unit(units))
}
