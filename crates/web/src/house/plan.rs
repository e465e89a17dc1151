//! What the plans of this shop pay for, and the most that one visit takes.

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::state::State;
use crate::ui::{self, Field, field};
use app::shop::{CapsBody, Held, House, Said};
use axum::response::Response;
use coat::Mode;
use maud::{Markup, html};

const AT: &str = "/house/plan";

/// A weight: its name in the dog's file, its default, what it is for, what more of it does.
pub(crate) const WEIGHTS: [(&str, f64, &str, &str); 8] = [
    (
        "cover",
        20.0,
        "Cover",
        "Each share of cover missing below the floor. More keeps coats fuller and takes less at a visit.",
    ),
    ("ripe", 1.0, "Ripe hair in layered zones", "Each share of ripe hair left standing. More pulls it sooner."),
    (
        "ripe_short",
        2.0,
        "Ripe hair in short and shaped zones",
        "The same for head, throat and seat. More keeps them cleaner between visits.",
    ),
    ("evenness", 2.0, "Evenness", "Each share of evenness missing. More works harder towards layers of one size."),
    ("wool", 0.5, "Wool", "Each share of wool above 15 %. More has the undercoat out earlier."),
    ("unripe", 3.0, "Unripe hair", "Each share of unripe hair pulled, where that is allowed at all. More avoids it."),
    ("outline", 2.0, "Outline on a day that matters", "Each unit by which the outline is off on that day."),
    ("day_that_matters", 35.0, "Days that such a day weighs", "How many ordinary days a show or a wedding counts for."),
];

/// The modes that are capped.
const CAPS: [(&str, Mode, &str); 3] = [
    ("caps.layered", Mode::Layered, "Layered zones: the jacket, legs, underline"),
    ("caps.short", Mode::Short, "Short zones: foreface, ears"),
    ("caps.shaped", Mode::Shaped, "Shaped zones: brows, beard, feet"),
];

/// The page.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let house = state.desk().house(&signed.who).await?;
    Ok(show(&signed, &house, None, asked.ticked("saved"), &[]))
}

fn cap_of(caps: &CapsBody, mode: Mode) -> f64 {
    match mode {
        Mode::Layered => caps.layered,
        Mode::Short => caps.short,
        _ => caps.shaped,
    }
}

/// `25` for a quarter; no more digits than it has.
fn percent(share: f64) -> String {
    ((share * 1e6).round() / 1e4).to_string()
}

fn show(signed: &SignedIn, held: &Held<House>, typed: Option<&Fields>, told: bool, faults: &[Said]) -> Markup {
    let h = &held.body;
    let value = |name: &str, kept: String| typed.map_or(kept, |f| f.text(name).to_owned());
    let content = html! {
        (ui::faults(faults))
        form.small method="post" action=(AT) {
            input type="hidden" name="seen" value=(held.revision);
            h2 { "The most that one visit takes" }
            p { "Shares of the hair one sees. A dog's own zones can be stricter. Empty means the usual value." }
            @for (name, mode, label) in CAPS {
                @let kept = h.caps.as_ref().map_or_else(String::new, |c| percent(cap_of(c, mode)));
                (field(&Field { name, label, help: &format!("Usually {} %.", percent(mode.cap())), value: &value(name, kept), keys: "decimal", optional: true, unit: "%", ..Field::default() }, faults))
            }
            h2 { "What plans weigh" }
            p { "A plan is the one that costs least over all its days. These say what costs how much against the rest. Empty means the usual value." }
            @for (name, usual, label, help) in WEIGHTS {
                @let kept = h.weights.iter().find(|w| w.0 == name).map_or_else(String::new, |w| w.1.to_string());
                @let name = format!("weights.{name}");
                (field(&Field { name: &name, label, help: &format!("{help} Usually {usual}."), value: &value(&name, kept), keys: "decimal", optional: true, ..Field::default() }, faults))
            }
            div.actions { button.main type="submit" { "Save" } }
        }
    };
    super::page(signed, AT, "What plans weigh", told, &content)
}

/// Saves this part of the house.
pub(super) async fn save(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields: Fields,
) -> Result<Response, Fault> {
    let held = state.desk().house(&signed.who).await?;
    let mut faults = Vec::new();
    let mut number =
        |name: &str| super::number(&fields, name, "Write digits, or leave it empty for the usual value.", &mut faults);
    let [layered, short, shaped] = CAPS.map(|(name, mode, _)| (number(name).map(|p| p / 100.0), mode.cap()));
    let any = [layered, short, shaped].iter().any(|c| c.0.is_some());
    let of = |cap: (Option<f64>, f64)| cap.0.unwrap_or(cap.1);
    let caps = any.then(|| CapsBody { layered: of(layered), short: of(short), shaped: of(shaped) });
    let weights = WEIGHTS
        .iter()
        .filter_map(|(name, ..)| number(&format!("weights.{name}")).map(|x| ((*name).to_owned(), x)))
        .collect();
    let house = House { caps, weights, ..held.body.clone() };
    super::save(&state, &signed, &fields, AT, (held, house), faults, |tried, faults| {
        show(&signed, tried, Some(&fields), false, faults)
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_shown_as_percent() {
        assert_eq!(percent(0.25), "25");
        assert_eq!(percent(0.125), "12.5");
        assert_eq!(percent(0.07), "7");
    }

    /// The usual values are those that a dog's file without weights gets.
    #[test]
    fn usual_weights_are_the_readers() {
        let text = "schema = \"coatwright.dog/1\"\nname = \"Any\"\nborn = 2020-01-01\nsex = \"dog\"\nmass_kg = 8.0\n\
                    coat = \"wire\"\ntemper = \"calm\"\nlook = \"pet\"\n";
        let file = app::dog_file::read("any", text.as_bytes()).unwrap_or_else(|f| panic!("{f:?}"));
        let w = file.weights;
        let read = [w.cover, w.ripe, w.ripe_short, w.evenness, w.wool, w.unripe, w.outline, w.day_that_matters];
        assert_eq!(WEIGHTS.map(|x| x.1), read);
    }
}
