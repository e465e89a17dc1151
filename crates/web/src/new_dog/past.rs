//! The third step: what was done to the coat that walks in.

use super::View;
use super::parts::{Way, one_of};
use crate::ui::{Field, field};
use crate::words::unit;
use maud::{Markup, html};

/// What was done to the coat before.
pub(super) fn coat(view: &View<'_>) -> Markup {
    let f = view.fields;
    let day = |name: &str, label: &str| {
        field(
            &Field {
                name,
                label,
                help: "About right will do.",
                value: f.text(name),
                kind: "date",
                by_choice: true,
                ..Field::default()
            },
            view.faults,
        )
    };
    let weeks = |name: &str, label: &str, optional: bool| {
        field(
            &Field {
                name,
                label,
                value: f.text(name),
                keys: "decimal",
                unit: "weeks",
                optional,
                by_choice: true,
                ..Field::default()
            },
            view.faults,
        )
    };
    let units = unit(view.signed.house.units);
    let flat = html! {
        (day("flat.day", "Stripped on"))
        p.caution { (app::cautions::AFTER_FLAT.join(" ")) }
    };
    let clipped = html! {
        (day("clipped.day", "Last clipped on"))
        (field(&Field { name: "clipped.length", label: "Clipped to", help: "The hair left standing.", value: f.text("clipped.length"), keys: "decimal", unit: units, by_choice: true, ..Field::default() }, view.faults))
        (weeks("clipped.weeks", "Before that, clipped every", true))
        (field(&Field { name: "clipped.months", label: "For", help: "Empty: for as long as anybody knows.", value: f.text("clipped.months"), keys: "decimal", unit: "months", optional: true, ..Field::default() }, view.faults))
        p.caution { (app::cautions::NO_NEW_HAIR) }
    };
    let rolled = html! {
        (day("rolled.day", "Last worked on"))
        (weeks("rolled.weeks", "Worked every", false))
    };
    let ways = [
        Way::plain("never", "Nobody has worked it", "An overgrown coat, or a puppy's."),
        Way { value: "clipped", label: "It was clipped", help: "Once, or for years.", more: Some(clipped) },
        Way {
            value: "flat",
            label: "It was stripped flat",
            help: "All the hair one could see came off.",
            more: Some(flat),
        },
        Way {
            value: "rolled",
            label: "It was rolled elsewhere",
            help: "Some hair every few weeks.",
            more: Some(rolled),
        },
        Way::plain("unknown", "Nobody knows", "It counts as left alone until the first visit tells more."),
    ];
    html! {
        p { "What comes nearest. The coat is worked out from it, and from what is read at each visit." }
        (one_of(view, "before", "Before it came here", &ways, f.text("before")))
    }
}
