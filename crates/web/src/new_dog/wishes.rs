//! The last step: the look that is wanted, the rhythm, lengths, a day that matters, who works it.

use super::View;
use super::parts::{Way, one_of};
use super::read::TARGETS;
use crate::ui::{self, Field, field};
use crate::words::{in_units, unit};
use coat::Zone;
use maud::{Markup, html};

/// What the owner wants.
pub(super) fn wishes(view: &View<'_>) -> Markup {
    let f = view.fields;
    let house = &view.signed.house;
    let looks = [
        Way::plain("pet", "A tidy pet", "The outline may grow a little between visits: about every three weeks."),
        Way::plain("smart", "Smart", "A crisper outline: about every two weeks."),
        Way::plain("show", "Show condition", "Little may stand out: every week or so."),
    ];
    let mut people = vec![("", "whoever is free")];
    people.extend(view.people.iter().map(|p| (p.id.as_str(), p.body.name.as_str())));
    html! {
        (one_of(view, "look", "The look", &looks, f.text("look")))
        (field(&Field { name: "rhythm_days", label: "Days between visits", help: "Empty: chosen by look and coat. Three weeks is the longest gap that keeps a coat rolling.", value: f.text("rhythm_days"), keys: "numeric", unit: "days", optional: true, ..Field::default() }, view.faults))
        fieldset.ways {
            legend { "A day that matters" }
            p.help { "A show, a wedding: the visits before it are laid so that the outline is right on that day." }
            div.row {
                (field(&Field { name: "matters.day", label: "Day", value: f.text("matters.day"), kind: "date", optional: true, ..Field::default() }, view.faults))
                (field(&Field { name: "matters.name", label: "What it is", value: f.text("matters.name"), optional: true, ..Field::default() }, view.faults))
            }
        }
        fieldset.ways {
            legend { "Lengths aimed at" }
            p.help { "Only where this dog is to differ from the usual." }
            div.row {
                @for (name, label, zones) in TARGETS {
                    @let name = format!("target.{name}");
                    @let help = usual(view, zones);
                    (field(&Field { name: &name, label, help: &help, value: f.text(&name), keys: "decimal", unit: unit(house.units), optional: true, ..Field::default() }, view.faults))
                }
            }
        }
        @if view.people.len() > 1 || f.some("groomer").is_some() {
            (ui::choice("groomer", "Who works it", "The minutes follow that person's pace.", &people, f.text("groomer"), view.faults))
        }
    }
}

/// The usual lengths of these zones for this coat: the house's, or else the coat model's.
fn usual(view: &View<'_>, zones: &[Zone]) -> String {
    let (house, coat) = (&view.signed.house, view.fields.text("coat"));
    let of = |z: &Zone| {
        let own = house.targets.iter().find(|t| t.coat == coat && t.zone == z.word());
        own.map(|t| t.target_mm).or(z.defaults().target_mm)
    };
    let all: Vec<f64> = zones.iter().filter_map(of).collect();
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(0.0, f64::max);
    match all.len() {
        0 => String::new(),
        _ if low < high => format!("Usually {} to {}.", in_units(low, house.units), in_units(high, house.units)),
        _ => format!("Usually {}.", in_units(low, house.units)),
    }
}
