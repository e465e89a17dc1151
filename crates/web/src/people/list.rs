//! The first page of People: owners by name, found as one types, and colleagues.

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::Asked;
use crate::frame::Place;
use crate::state::State;
use app::shop::{Held, Owner};
use maud::{Markup, html};

/// Owners shown at once; a word more finds the others.
const MOST: usize = 100;

/// The page.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let q = asked.text("q");
    let mut owners = state.desk().owners(&signed.who, q, MOST + 1).await?;
    let more = owners.len() > MOST;
    owners.truncate(MOST);
    let people = state.desk().people(&signed.who).await?;
    let main = html! {
        h1 { "People" }
        section aria-labelledby="owners" {
            h2 #owners { "Owners" }
            form.search method="get" action="/people" role="search" {
                label.unseen for="q" { "Find owners by name, telephone, mail or address" }
                input #q type="search" name="q" value=(q) placeholder="Name, telephone, address" autocomplete="off" maxlength="200"
                    hx-get="/people" hx-trigger="input changed delay:150ms, search" hx-target="#found" hx-select="#found"
                    hx-swap="outerHTML" hx-replace-url="true" hx-sync="this:replace";
                button type="submit" { "Find" }
            }
            p { a.button href="/people/owners/new" { "Take an owner in" } }
            div #found { (found(&owners, more, q)) }
        }
        section aria-labelledby="colleagues" {
            h2 #colleagues { "Colleagues" }
            ul.list {
                @for p in &people {
                    li {
                        a href=(format!("/people/colleagues/{}", p.id)) {
                            span.name { (p.body.name) }
                            span.when { @if p.body.left { "left" } @else { (pace(p.body.pace)) } }
                        }
                    }
                }
            }
            p { a.button href="/people/colleagues/new" { "Take a colleague in" } }
        }
    };
    Ok(signed.page(Some(Place::People), "People", &main))
}

fn found(owners: &[Held<Owner>], more: bool, q: &str) -> Markup {
    html! {
        p.quiet role="status" {
            @match (owners.len(), q.is_empty()) {
                (0, true) => { "No owners yet." }
                (0, false) => { "Nobody is found by that. Try fewer letters." }
                (1, _) => { "One owner." }
                (n, _) if more => { "The first " (n) " owners; type more to find the others." }
                (n, _) => { (n) " owners." }
            }
        }
        @if !owners.is_empty() {
            ul.list {
                @for o in owners {
                    li {
                        a href=(format!("/people/owners/{}", o.id)) {
                            span.name { (o.body.name) }
                            span.when.number { (o.body.phones.first().map_or("", String::as_str)) }
                        }
                    }
                }
            }
        }
    }
}

/// `as reckoned`, or how much quicker or slower.
fn pace(pace: f64) -> String {
    let percent = ((pace - 1.0) * 100.0).round();
    match percent as i64 {
        0 => "as quick as reckoned".to_owned(),
        p if p < 0 => format!("{} % quicker", -p),
        p => format!("{p} % slower"),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn paces_in_words() {
        assert_eq!(super::pace(1.0), "as quick as reckoned");
        assert_eq!(super::pace(0.8), "20 % quicker");
        assert_eq!(super::pace(1.25), "25 % slower");
    }
}
