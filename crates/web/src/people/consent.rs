//! What an owner agreed to or took back, with the day and the words that were shown. Nothing is ever crossed out.

use super::owner::answer;
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Fields, id_of};
use crate::state::State;
use crate::ui::{self, Field, field};
use app::shop::{Consent, Held, Owner, Said};
use axum::extract::Path;
use axum::response::Response;
use maud::{Markup, html};

/// To what an owner may agree: the word kept, how it is spoken, words to begin with.
const KINDS: [(&str, &str, &str); 4] = [
    (
        "photos",
        "Photos of the dog are taken and kept",
        "Photos of my dog may be taken and kept here to follow its coat.",
    ),
    ("photos shown", "Photos may be shown to others", "Photos of my dog may be shown to others, without my name."),
    ("reminders", "Reminders of the next visit", "I may be reminded of the next visit by telephone or message."),
    (
        "work on this coat",
        "Work on a coat that needs longer",
        "The work on this coat, its risks and its price were explained to me and I agree.",
    ),
];

/// The consents and a form for another.
pub(super) fn section(signed: &SignedIn, owner: &Held<Owner>, faults: &[Said]) -> Markup {
    let dates = signed.dates();
    let kinds: Vec<(&str, &str)> = KINDS.iter().map(|k| (k.0, k.1)).collect();
    let prefix = format!("consents.{}.", owner.body.consents.len());
    let own: Vec<Said> = faults
        .iter()
        .filter_map(|s| Some(Said { field: format!("consent-{}", s.field.strip_prefix(&prefix)?), ..s.clone() }))
        .collect();
    html! {
        section aria-labelledby="consents" {
            h2 #consents { "Agreed to" }
            @if owner.body.consents.is_empty() { p.quiet { "Nothing yet." } } @else {
                div.scroll tabindex="0" role="group" aria-labelledby="consents" {
                    table {
                        thead { tr { th scope="col" { "Day" } th scope="col" { "To what" } th scope="col" { "Words" } } }
                        tbody {
                            @for c in owner.body.consents.iter().rev() {
                                tr {
                                    td { (dates.long_text(&c.day)) }
                                    td { (spoken(&c.what)) @if !c.agreed { br; strong { "taken back" } } }
                                    td { (c.words) }
                                }
                            }
                        }
                    }
                }
            }
            details open[!own.is_empty()] {
                summary { "Note something agreed to, or taken back" }
                form method="post" action=(format!("/people/owners/{}/consent", owner.id)) {
                    input type="hidden" name="seen" value=(owner.revision);
                    (ui::choice("consent-what", "To what", "", &kinds, "photos", &own))
                    (ui::choice("consent-agreed", "Agreed or taken back", "", &[("yes", "agreed"), ("no", "taken back")], "yes", &own))
                    (field(&Field { name: "consent-day", label: "Day", kind: "date", value: &signed.today.to_string(), ..Field::default() }, &own))
                    (field(&Field { name: "consent-words", label: "The words that were shown", help: "Empty keeps our own words for it.", kind: "area", optional: true, most: 4000, ..Field::default() }, &own))
                    div.actions { button type="submit" { "Note it" } }
                }
            }
        }
    }
}

fn spoken(what: &str) -> &str {
    KINDS.iter().find(|k| k.0 == what).map_or(what, |k| k.1)
}

/// Notes something agreed to or taken back.
pub(super) async fn add(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let mut owner = state.desk().owner(&signed.who, &id).await?.owner.body;
    let what = fields.text("consent-what").to_owned();
    let usual = KINDS.iter().find(|k| k.0 == what).map_or("", |k| k.2);
    owner.consents.push(Consent {
        words: fields.some("consent-words").unwrap_or(usual).to_owned(),
        what,
        day: fields.text("consent-day").to_owned(),
        agreed: fields.text("consent-agreed") != "no",
    });
    answer(&state, &signed, &id, &fields, &format!("/people/owners/{id}/consent"), owner).await
}
