//! Finishing a visit: before and after, what is left for next time, the next visit.

use maud::{Markup, html};

/// One measure before and after.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ChangeView {
    /// Its name.
    pub(crate) name: &'static str,
    /// Before, as text.
    pub(crate) before: String,
    /// After, as text.
    pub(crate) after: String,
}

/// A finished visit, or one about to be.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct FinishView {
    /// The visit.
    pub(crate) visit: String,
    /// The dog.
    pub(crate) dog: String,
    /// Its name.
    pub(crate) name: String,
    /// It is done.
    pub(crate) done: bool,
    /// Measures of the dog.
    pub(crate) changes: Vec<ChangeView>,
    /// What was done, zone by zone: name, words.
    pub(crate) zones: Vec<(String, String)>,
    /// Zones that the plan had and nobody wrote down.
    pub(crate) open: Vec<String>,
    /// What is left for next time, in sentences.
    pub(crate) left: Vec<String>,
    /// The next visit: day, why, minutes, whether it is booked.
    pub(crate) next: Option<(String, String, Option<f64>, bool)>,
    /// Minutes that the clocks counted.
    pub(crate) clocked_min: Option<f64>,
    /// Today.
    pub(crate) today: String,
    /// Pictures of this visit: address, pose.
    pub(crate) pictures: Vec<(String, String)>,
    /// What keeps it from being done, in sentences.
    pub(crate) said: Vec<String>,
}

/// The page's own part.
pub(crate) fn page(f: &FinishView) -> Markup {
    html! {
        p { a href=(format!("/visits/{}", f.visit)) { "‹ Back to the work" } }
        h1 { (f.name) @if f.done { ": done" } @else { ": finish the visit" } }
        @if !f.said.is_empty() { div.notice.bad role="alert" { @for line in &f.said { p { (line) } } } }
        @if !f.changes.is_empty() {
            table.changes {
                caption { "The coat before and after" }
                thead { tr { th scope="col" { "Measure" } th scope="col" { "Before" } th scope="col" { "After" } } }
                tbody {
                    @for c in &f.changes { tr { th scope="row" { (c.name) } td { (c.before) } td { (c.after) } } }
                }
            }
        }
        @if !f.pictures.is_empty() {
            ul.pictures { @for (at, pose) in &f.pictures { li { img src=(at) alt=(pose) loading="lazy"; } } }
        }
        p { a href=(format!("/dogs/{}/photos/new?visit={}", f.dog, f.visit)) { "Take a picture" } }
        @if !f.zones.is_empty() {
            h2 { "What was done" }
            dl.done { @for (zone, words) in &f.zones { dt { (zone) } dd { (words) } } }
        }
        @if !f.open.is_empty() && !f.done {
            p.caution { "Nothing is written down for " (f.open.join(", ")) ". They count as left." }
        }
        @if !f.left.is_empty() {
            h2 { "Left for next time" }
            ul { @for line in &f.left { li { (line) } } }
        }
        @if f.done {
            h2 { "The next visit" }
            @match &f.next {
                Some((day, why, min, booked)) => {
                    p { (why) @if let Some(min) = min { " About " (format!("{min:.0}")) " minutes." } }
                    @if *booked { p { a.button href=(format!("/table?day={day}")) { "See that day" } } }
                    @else { (next(f, day)) }
                }
                None => { p { "Nothing is ready in the time that can be foreseen. Choose a day." } (next(f, "")) }
            }
            p.help { "Something missing or wrong? Go back to the work, put it right there, and finish again." }
        } @else {
            form method="post" action=(format!("/visits/{}/finish", f.visit)) {
                label for="work-min" { "Minutes at the table (may stay empty)" }
                input id="work-min" type="number" inputmode="decimal" name="work_min" min="0" max="600" step="any"
                    value=(f.clocked_min.map(|m| format!("{m:.0}")).unwrap_or_default());
                button.main { "The visit is done" }
            }
            form method="post" action=(format!("/visits/{}/back", f.visit)) { button.plain { "It was begun by mistake" } }
        }
    }
}

fn next(f: &FinishView, day: &str) -> Markup {
    html! {
        form method="post" action=(format!("/visits/{}/next", f.visit)) {
            label for="next-day" { "Day" }
            div.with-button {
                input id="next-day" type="date" name="day" value=(day) min=(f.today) required;
                button.main { "Put it down" }
            }
        }
    }
}
