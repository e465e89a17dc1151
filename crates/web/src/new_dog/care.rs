//! The fourth step: temper, health, what to beware of, how long it can stand.

use super::View;
use super::parts::{Way, one_of, tick_with};
use super::read::MINDED;
use crate::ui::{self, Field, field};
use coat::Zone;
use maud::{Markup, html};

/// What is ticked, and what it means for the hand: reminders, never a diagnosis.
const fn words(kind: &str) -> (&'static str, &'static str) {
    match kind.as_bytes() {
        b"skin" => (
            "Skin that is broken, crusted, hot or sore",
            "Hands stay off it. A circular bald or scaly patch may be ringworm, which people catch: stop, disinfect, vet.",
        ),
        b"parasites" => ("Fleas, ticks or mites", "The owner or the vet first."),
        b"ears" => ("Ears that run, smell or are hot", "The ears are left; the vet first."),
        b"spot_on" => ("A fresh spot-on treatment", "Hands off until it is dry; follow its label."),
        b"surgery" => ("A recent operation", "Ask the vet before anything is pulled near it."),
        b"season" => ("In season", "Short and gentle, or not today."),
        b"whelping" => ("Whelping or nursing", "Not today unless it must be."),
        b"frightened" => ("Frightened", "Short and gentle, or not today."),
        b"ill" => ("Ill", "Not today; the vet decides."),
        _ => ("A sore back, fever or dullness", "Within a week of a bath or a strip: vet at once."),
    }
}

/// Temper, health and limits.
pub(super) fn care(view: &View<'_>) -> Markup {
    let f = view.fields;
    let tempers = [
        Way::plain("calm", "Calm", "Stands still."),
        Way::plain("fidgets", "Fidgets", "Rests, and tender zones last."),
        Way::plain("objects", "Objects", "Short visits that end well; stop before it turns into a fight."),
    ];
    let bitch = f.text("sex") == "bitch";
    let date = |name: &str, label: &str, help: &str, optional: bool| {
        field(
            &Field {
                name,
                label,
                help,
                value: f.text(name),
                kind: "date",
                optional,
                by_choice: true,
                ..Field::default()
            },
            view.faults,
        )
    };
    let course = html! {
        (date("steroids.from", "First day", "", false))
        (date("steroids.until", "Last day", "Empty while it goes on.", true))
    };
    html! {
        (one_of(view, "temper", "On the table", &tempers, f.text("temper")))
        (field(&Field { name: "table_max_min", label: "The longest it can stand", help: "Old, ill or frightened dogs: short. Empty for no limit.", value: f.text("table_max_min"), keys: "decimal", unit: "minutes", optional: true, ..Field::default() }, view.faults))
        fieldset.ways {
            legend { "To be minded" }
            p.help { "Reminders, not a diagnosis: the vet decides." }
            @for (kind, only_bitches, placed) in MINDED {
                @if bitch || !only_bitches { (minded(view, kind, placed)) }
            }
            (tick_with(view, "steroids", "On steroids, or not long off them", "The coat regrows slowly: ask the vet before more is taken.", &course))
        }
        p.caution { "Symmetric baldness, dark thick skin or great thirst: vet first." }
        (field(&Field { name: "health", label: "Note on health", value: f.text("health"), kind: "area", optional: true, most: 4000, ..Field::default() }, view.faults))
    }
}

fn minded(view: &View<'_>, kind: &str, placed: bool) -> Markup {
    let f = view.fields;
    let (label, help) = words(kind);
    let name = |part: &str| format!("minded.{kind}.{part}");
    let (from, until, place) = (name("from"), name("until"), name("where"));
    let since = if kind == "spot_on" { "Given on" } else { "Since" };
    let mut zones = vec![("", "the whole dog")];
    zones.extend(Zone::ALL.iter().map(|z| (z.word(), z.label())));
    let more = html! {
        div.row {
            (field(&Field { name: &from, label: since, help: "Empty: today.", value: f.text(&from), kind: "date", optional: true, ..Field::default() }, view.faults))
            (field(&Field { name: &until, label: "Until", help: "Empty: looked at anew each time.", value: f.text(&until), kind: "date", optional: true, ..Field::default() }, view.faults))
        }
        @if placed { (ui::choice(&place, "Where", "", &zones, f.text(&place), view.faults)) }
    };
    tick_with(view, &format!("minded.{kind}"), label, help, &more)
}
