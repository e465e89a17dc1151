//! The one reading at the next visit that would teach most. It takes seconds the first time, so the page asks for it
//! after it is there; without script a link leads to it.

use super::listed;
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::id_of;
use crate::frame::Place;
use crate::state::State;
use crate::ui;
use app::learning::NextReading;
use app::shop::Said;
use axum::extract::Path;
use maud::{Markup, html};

/// How a reading is made.
fn how(reading: &str) -> &str {
    match reading {
        "longest hair" => "the length of the longest hair",
        "new layer" => "the length of the new layer",
        "ease" => "how easily it comes, 1 to 5, with the share that was pulled",
        "new hair" => "whether new hair has come through",
        "cover by eye" => "how much of the skin is covered, by eye",
        "feel" => "how it feels: soft, between or harsh",
        other => other,
    }
}

/// The place for it, while it is not worked out.
pub(super) fn to_come(id: &str) -> Markup {
    let at = format!("/dogs/{id}/learned/next");
    html! {
        section aria-labelledby="teach" {
            h2 #teach { "What to read next" }
            div #next-reading aria-live="polite" hx-get=(at) hx-trigger="load" hx-select="#next-reading > *" {
                p { "Which one reading at the next visit would teach most takes a few seconds to work out." }
                p { a href=(at) { "Work it out" } }
            }
        }
    }
}

pub(in crate::dog) async fn next(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Markup, Fault> {
    let id = id_of(&id)?;
    let desk = state.desk();
    let name = desk.dog(&signed.who, &id).await?.dog.body.name;
    let next = crate::dog::refusal(desk.next_reading(&signed.who, signed.today, &id).await)?;
    let title = format!("What to read next of {name}");
    let main = html! {
        p { a href=(format!("/dogs/{id}/learned")) { "‹ Back to what was learned of " (name) } }
        h1 { (title) }
        div #next-reading { (words(&signed, next.as_ref().map(Option::as_ref).map_err(Vec::as_slice))) }
    };
    Ok(signed.page(Some(Place::Coats), &title, &main))
}

fn words(signed: &SignedIn, next: Result<Option<&NextReading>, &[Said]>) -> Markup {
    // Of the same cost as the first.
    let share = |n: &NextReading, fall: f64| 100.0 * n.of_cost * fall / n.fall.max(1e-12);
    html! {
        @match next {
            Err(said) => @for s in said { p { (ui::sentence(s)) } },
            Ok(None) => p { "No single reading at the next visit would change the plan: read what comes by itself." },
            Ok(Some(n)) => {
                p {
                    "At the visit of " (signed.dates().long_text(&n.date)) ": " strong { (how(&n.reading)) " of " (listed(&n.zones, "or")) }
                    ". The plan is expected to gain " (format!("{:.1} %", 100.0 * n.of_cost)) " of its measure by it, at least."
                }
                @let others: Vec<_> = n.others.iter().filter(|o| share(n, o.fall) >= 0.05).take(3).collect();
                @if !others.is_empty() {
                    p { "Or, in its stead:" }
                    ul { @for o in others { li { (how(&o.reading)) " of " (listed(&o.zones, "or")) ": " (format!("{:.1} %", share(n, o.fall))) } } }
                }
            }
        }
    }
}
