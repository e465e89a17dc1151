//! Trying out: the plan with another day, rhythm, table time, day that matters or cap, beside the one that stands.

use super::plan::{milestone, min, table};
use crate::access::SignedIn;
use crate::conflict::{Sent, both_or};
use crate::fault::Fault;
use crate::fields::{Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use crate::ui::{self, Field, choice, field};
use app::report::PlanReport;
use app::shop::{Changes, DogCard, Planned, Said, ShopFailure, Tried, ZoneBody};
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use coat::{Day, Zone};
use maud::{Markup, html};

/// What is tried out, as typed, and what came of it.
pub(super) struct Trial<'a> {
    pub(super) typed: &'a Fields,
    pub(super) tried: Option<&'a Tried>,
    pub(super) faults: &'a [Said],
}

/// Names of the form's fields.
const NAMES: [&str; 10] =
    ["first", "rhythm", "until", "max", "matter", "matter_name", "off_from", "off_to", "zone", "cap"];

/// Reads the changes of a form; what cannot be read is a fault.
pub(super) fn read(fields: &Fields) -> (Changes, Vec<Said>) {
    let mut faults = Vec::new();
    let mut changes = Changes::default();
    let mut day = |name: &str| {
        let text = fields.some(name)?;
        let day = Day::parse(text);
        if day.is_none() {
            faults.push(ui::fault(
                name,
                format!("`{}` is no day", ui::short(text)),
                "Write year, month and day in digits, with hyphens between.",
            ));
        }
        day
    };
    changes.first = day("first");
    changes.until = day("until");
    let name = fields.some("matter_name").map(str::to_owned);
    changes.matter = day("matter").map(|d| (d, name)).into_iter().collect();
    let (from, to) = (day("off_from"), day("off_to"));
    changes.not_on = match (from, to) {
        (Some(a), b) => vec![(a, b.unwrap_or(a))],
        (None, Some(b)) => vec![(b, b)],
        (None, None) => Vec::new(),
    };
    let mut number = |name: &str, range: std::ops::RangeInclusive<f64>, hint: &str| {
        let text = fields.some(name)?;
        let x = text.replace(',', ".").parse::<f64>().ok().filter(|x| range.contains(x));
        if x.is_none() {
            faults.push(ui::fault(name, format!("`{}` cannot be", ui::short(text)), hint));
        }
        x
    };
    let days = number("rhythm", 1.0..=365.0, "Write the days between visits, 7 to 28 as a rule.");
    changes.rhythm_days = days.map(|d| d.round() as i32);
    changes.max_min = number("max", 1.0..=600.0, "Write minutes, 20 to 600.");
    let cap = number("cap", 0.0..=100.0, "Write a share of the hair one sees, 0 to 100 %.");
    match (fields.some("zone").and_then(Zone::parse), cap) {
        (Some(zone), Some(cap)) => {
            let zone = ZoneBody { zone: zone.word().into(), cap: Some(cap / 100.0), ..ZoneBody::default() };
            changes.zones = vec![zone];
        }
        (None, Some(_)) => faults.push(ui::fault("zone", "a cap needs its zone", "Choose one.")),
        (_, None) => {}
    }
    (changes, faults)
}

/// The form, and beside each other the plan as it stands and as it would be.
pub(super) fn section(signed: &SignedIn, card: &DogCard, stands: &Planned, trial: &Trial<'_>) -> Markup {
    let id = card.dog.id.as_str();
    let at = format!("/dogs/{id}");
    let typed = |name: &'static str| trial.typed.text(name);
    let f = |name: &'static str, label: &'static str, kind: &'static str, unit: &'static str| {
        let keys = if unit.is_empty() { "" } else { "decimal" };
        let value = typed(name);
        field(&Field { name, label, value, kind, unit, keys, optional: true, ..Field::default() }, trial.faults)
    };
    let zones: Vec<(&str, &str)> = stands.report.visits.first().map_or_else(Vec::new, |v| {
        let zone = |z: &app::report::ZoneReport| Zone::parse(z.zone).map(|z| (z.word(), z.label()));
        [("", "none")].into_iter().chain(v.zones.iter().filter_map(zone)).collect()
    });
    let open = trial.tried.is_some() || !trial.faults.is_empty();
    html! {
        section aria-labelledby="try" {
            h2 #try { "Try something out" }
            @if !trial.faults.is_empty() {
                div.notice.bad role="alert" tabindex="-1" {
                    p { strong { "This cannot be planned." } }
                    ul { @for s in trial.faults { li { (ui::sentence(s)) } } }
                }
            }
            details open[open] {
                summary { "Another day, rhythm, table time, a day that matters, a cap" }
                form.small method="get" action=(format!("{at}#try")) hx-get=(at) hx-target="#ahead" hx-select="#ahead" hx-swap="outerHTML" {
                    div.row {
                        (f("first", "Next visit on", "date", ""))
                        (f("rhythm", "Days between visits", "", "days"))
                        (f("max", "Longest visit", "", "min"))
                        (f("until", "Plan until", "date", ""))
                        (f("matter", "A day that matters", "date", ""))
                        (f("matter_name", "What for", "", ""))
                        (f("off_from", "Cannot come from", "date", ""))
                        (f("off_to", "until", "date", ""))
                        (choice("zone", "Cap for one zone", "", &zones, typed("zone"), trial.faults))
                        (f("cap", "At most, of the hair one sees", "", "%"))
                    }
                    div.actions { button type="submit" { "Try it out" } }
                }
            }
            @if let Some(t) = trial.tried { (beside(signed, card, stands, t, trial.typed)) }
        }
    }
}

fn beside(signed: &SignedIn, card: &DogCard, stands: &Planned, t: &Tried, typed: &Fields) -> Markup {
    let (a, b) = (&stands.report, &t.plan.report);
    let each = |f: &dyn Fn(&PlanReport) -> String| [f(a), f(b)];
    let visits = |r: &PlanReport| r.visits.len().to_string();
    let first = |r: &PlanReport| r.visits.first().map_or_else(String::new, |v| signed.dates().long_text(&v.date));
    let minutes = |r: &PlanReport| r.visits.first().map_or_else(String::new, |v| min(v.min));
    let all = |r: &PlanReport| min(r.visits.iter().map(|v| v.min).sum());
    let cost = |r: &PlanReport| format!("{:.3}", r.objective.rounded_value);
    let mark = |f: fn(&PlanReport) -> &Option<String>| move |r: &PlanReport| milestone(signed, f(r).as_deref());
    let last = |r: &PlanReport| signed.dates().long_text(&r.until);
    let rows: Vec<(&str, [String; 2])> = vec![
        ("Next visit", each(&first)),
        ("Its minutes", each(&minutes)),
        ("Days between visits", each(&|r| r.rhythm_days.to_string())),
        ("Planned until", each(&last)),
        ("Visits until then", each(&visits)),
        ("Minutes until then", each(&all)),
        ("Rolling", each(&mark(|r| &r.milestones.rolling))),
        ("Furnishings", each(&mark(|r| &r.milestones.furnishings))),
        ("Hard", each(&mark(|r| &r.milestones.hard))),
        ("Measure of the plan (less is better)", each(&cost)),
    ];
    let rows: Vec<Vec<String>> = rows.into_iter().map(|(what, [a, b])| vec![what.to_owned(), a, b]).collect();
    let cost = t.cost;
    html! {
        div.notice role="status" {
            p { strong { "Tried out, not kept." } " What follows shows the plan with the change." }
            @if t.changed.is_empty() { p { "Nothing that one would see changes." } } @else {
                ul { @for line in &t.changed { li { (line) } } }
            }
            p {
                @if cost.abs() < 5e-4 { "It costs the coat nothing." }
                @else if cost > 0.0 { "It costs the coat " (format!("{cost:.3}")) " of the plan's measure." }
                @else { "The coat gains " (format!("{:.3}", -cost)) " of the plan's measure." }
            }
        }
        (table("The plan as it stands and with the change", &["What", "As it stands", "With the change"], &rows))
        div.actions {
            form method="post" action=(format!("/dogs/{}/keep", card.dog.id)) {
                input type="hidden" name="seen" value=(card.dog.revision);
                @for name in NAMES { @if let Some(value) = typed.some(name) { input type="hidden" name=(name) value=(value); } }
                button.main type="submit" { "Keep the change" }
            }
            a href=(format!("/dogs/{}", card.dog.id)) { "Leave it as it was" }
        }
        @if typed.some("first").is_some() || typed.some("until").is_some() {
            p.quiet { "The day of the next visit is kept by putting it on a day of the Table; the plan's last day is not kept." }
        }
    }
}

/// Keeps what was tried out.
pub(super) async fn keep(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let back = format!("/dogs/{id}");
    let (changes, mut faults) = read(&fields);
    let of_the_plan = Changes { first: changes.first, until: changes.until, ..Changes::default() };
    if faults.is_empty() && changes == of_the_plan {
        faults.push(ui::fault("", "there is nothing to keep", "Change something first, and try it out."));
    }
    let kept = if faults.is_empty() {
        state.desk().keep_changes(&signed.who, signed.today, &id, fields.seen(), &changes).await
    } else {
        Err(ShopFailure::Refused(faults))
    };
    match kept {
        Ok(_) => Ok(Redirect::to(&format!("{back}?kept=1")).into_response()),
        Err(ShopFailure::Refused(faults)) => super::show_with(&state, &signed, &id, &fields, &faults).await,
        Err(other) => {
            let action = format!("{back}/keep");
            let sent = Sent { fields: &fields, action: &action, back: &back, place: Place::Coats };
            both_or(&state, &signed, &sent, other).await
        }
    }
}
