//! The fourth step: temper, health, what to beware of, how long it can stand.

use super::View;
use super::parts::{Way, one_of, tick_with};
use super::read::MINDED;
use crate::ui::{self, Field, capital, field};
use app::cautions::{self, Minded, RINGWORM, STEROIDS};
use app::dog_file::{ConditionKind, Temper};
use coat::Zone;
use maud::{Markup, html};

/// What is ticked, as one asks for it; what follows from it is the caution that plans will carry.
const fn asked(kind: ConditionKind) -> &'static str {
    match kind {
        ConditionKind::Skin => "Skin that is broken, crusted, hot or sore",
        ConditionKind::Parasites => "Fleas, ticks or mites",
        ConditionKind::Ears => "Ears that run, smell or are hot",
        ConditionKind::SpotOn => "A fresh spot-on treatment",
        ConditionKind::Surgery => "A recent operation",
        ConditionKind::Season => "In season",
        ConditionKind::Whelping => "Whelping or nursing",
        ConditionKind::Frightened => "Frightened",
        ConditionKind::Ill => "Ill",
        ConditionKind::SoreBack => "A sore back, fever or dullness within a week of a bath or a strip",
    }
}

/// What follows, as a sentence of its own.
fn follows(minded: Minded) -> String {
    format!("{}.", capital(minded.follows))
}

/// Temper, health and limits.
pub(super) fn care(view: &View<'_>) -> Markup {
    let f = view.fields;
    let tempers = [Temper::Calm, Temper::Fidgets, Temper::Objects].map(|t| (t.word(), cautions::of_temper(t)));
    let tempers = tempers.map(|(word, minded)| (word, minded.what, follows(minded)));
    let tempers = tempers.each_ref().map(|(word, label, help)| Way::plain(word, label, help));
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
                @if let Some(what) = ConditionKind::parse(kind).filter(|_| bitch || !only_bitches) { (minded(view, what, placed)) }
            }
            (tick_with(view, "steroids", STEROIDS.what, &follows(STEROIDS), &course))
        }
        p.caution { "Symmetric baldness, dark thick skin or great thirst: vet first." }
        (field(&Field { name: "health", label: "Note on health", value: f.text("health"), kind: "area", optional: true, most: 4000, ..Field::default() }, view.faults))
    }
}

fn minded(view: &View<'_>, what: ConditionKind, placed: bool) -> Markup {
    let (f, kind) = (view.fields, what.word());
    let mut help = follows(cautions::of_condition(what));
    if what == ConditionKind::Skin {
        help = format!("{help} {RINGWORM}");
    }
    let name = |part: &str| format!("minded.{kind}.{part}");
    let (from, until, place) = (name("from"), name("until"), name("where"));
    let since = if what == ConditionKind::SpotOn { "Given on" } else { "Since" };
    let mut zones = vec![("", "the whole dog")];
    zones.extend(Zone::ALL.iter().map(|z| (z.word(), z.label())));
    let more = html! {
        div.row {
            (field(&Field { name: &from, label: since, help: "Empty: today.", value: f.text(&from), kind: "date", optional: true, ..Field::default() }, view.faults))
            (field(&Field { name: &until, label: "Until", help: "Empty: looked at anew each time.", value: f.text(&until), kind: "date", optional: true, ..Field::default() }, view.faults))
        }
        @if placed { (ui::choice(&place, "Where", "", &zones, f.text(&place), view.faults)) }
    };
    tick_with(view, &format!("minded.{kind}"), asked(what), &help, &more)
}
