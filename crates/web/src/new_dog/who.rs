//! The first two steps: who comes and whose it is, and the dog itself.

use super::View;
use super::parts::{Way, one_of};
use crate::ui::{self, Field, field};
use app::shop::{Held, Owner};
use maud::{Markup, html};

/// Who comes, and whose it is.
pub(super) fn who(view: &View<'_>) -> Markup {
    let f = view.fields;
    html! {
        (field(&Field { name: "name", label: "The dog's name", value: f.text("name"), fill: "off", ..Field::default() }, view.faults))
        div.row {
            (field(&Field { name: "breed", label: "Breed", help: "As you say it.", value: f.text("breed"), fill: "off", optional: true, ..Field::default() }, view.faults))
            (field(&Field { name: "chip", label: "Microchip", help: "Fifteen digits, as the reader shows them.", value: f.text("chip"), keys: "numeric", fill: "off", optional: true, ..Field::default() }, view.faults))
        }
        (owners(view))
    }
}

fn owners(view: &View<'_>) -> Markup {
    let f = view.fields;
    let chosen = view.owner.as_ref().map(|o| o.id.as_str());
    let mut shown: Vec<&Held<Owner>> = view.owner.iter().collect();
    shown.extend(view.found.iter().flatten().filter(|o| Some(o.id.as_str()) != chosen));
    let new = html! {
        (field(&Field { name: "owner.name", label: "The owner's name", value: f.text("owner.name"), fill: "off", by_choice: true, ..Field::default() }, view.faults))
        (field(&Field { name: "owner.phone", label: "Telephone", value: f.text("owner.phone"), kind: "tel", fill: "off", optional: true, ..Field::default() }, view.faults))
    };
    let mut ways: Vec<Way<'_>> = shown
        .iter()
        .map(|o| Way::plain(o.id.as_str(), &o.body.name, o.body.phones.first().map_or("", String::as_str)))
        .collect();
    let help = "Address, consents and the rest can be added on the owner's page.";
    ways.push(Way { value: "new", label: "A new owner", help, more: Some(new) });
    // With one found and nobody chosen yet it is most likely that one.
    let only = view.found.as_ref().filter(|l| l.len() == 1).and_then(|l| l.first()).map(|o| o.id.as_str());
    let wished = f.some("owner.name").is_some();
    let chosen = chosen.or(only.filter(|_| !wished)).unwrap_or("new");
    html! {
        section aria-labelledby="whose" {
            h3 #whose { "Whose is it?" }
            div.field {
                label for="find" { "Find an owner who is here already" }
                div.search {
                    input #find name="find" type="search" value=(f.text("find")) maxlength="200" autocomplete="off"
                        placeholder="Name, telephone, address";
                    button type="submit" name="to" value="find" formnovalidate { "Find" }
                }
                input type="hidden" name="looked-for" value=(f.text("find"));
                @match view.found.as_ref().map(Vec::len) {
                    None => {}
                    Some(0) => p role="status" { "Nobody is found by that. Try fewer letters, or take a new owner in." },
                    Some(super::MOST_OWNERS) => p role="status" { "The first " (super::MOST_OWNERS) "; type more to find others." },
                    Some(1) => p role="status" { "One owner is found." },
                    Some(n) => p role="status" { (n) " owners are found." },
                }
            }
            (one_of(view, "owner", "The owner", &ways, chosen))
        }
    }
}

/// The dog itself.
pub(super) fn dog(view: &View<'_>) -> Markup {
    let f = view.fields;
    let sexes = [Way::plain("bitch", "A bitch", ""), Way::plain("dog", "A dog", "")];
    let coats = [
        Way::plain("pin wire", "Pin wire", "Short, flat and hard all over; little on legs and face."),
        Way::plain("wire", "Wire", "A hard jacket with some furnishings: most terriers and wire-coated dachshunds."),
        Way::plain("long wire", "Long wire", "Hard, and grows on: schnauzer and airedale kind."),
        Way::plain("soft wire", "Soft wire", "Clipped or neutered coats that have gone soft, and mixed coats."),
    ];
    html! {
        div.row {
            (field(&Field { name: "born", label: "Born", help: "About right will do.", value: f.text("born"), kind: "date", ..Field::default() }, view.faults))
            (field(&Field { name: "mass_kg", label: "Mass", help: "For the minutes: a bigger dog has more coat.", value: f.text("mass_kg"), keys: "decimal", unit: "kg", ..Field::default() }, view.faults))
        }
        (one_of(view, "sex", "Bitch or dog", &sexes, f.text("sex")))
        (field(&Field { name: "neutered_since", label: "Neutered on", help: "The coat may change within the year after it.", value: f.text("neutered_since"), kind: "date", optional: true, ..Field::default() }, view.faults))
        (one_of(view, "coat", "Kind of coat", &coats, f.text("coat")))
        (ui::choice("density", "How dense", "", &[("sparse", "sparse"), ("usual", "as usual"), ("heavy", "heavy")], f.some("density").unwrap_or("usual"), view.faults))
        @let outdoors = ui::said(view.faults, "outdoors");
        @if let Some(s) = outdoors { p.fault { (ui::sentence(s)) } }
        (ui::tick("outdoors", "It lives outdoors", "Then winter holds back new hair.", f.ticked("outdoors")))
    }
}
