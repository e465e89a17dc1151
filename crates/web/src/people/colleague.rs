//! A colleague: name, pace, password. Rights come later: who is signed in may do all.

use crate::access::SignedIn;
use crate::conflict::{Sent, both_or};
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::frame::Place;
use crate::password;
use crate::state::State;
use crate::ui::{self, Field, field};
use app::shop::{Held, Person, PersonId, Said, ShopFailure};
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

fn id_of(text: &str) -> Result<PersonId, Fault> {
    PersonId::new(text).map_err(|_| Fault::NotFound)
}

fn fields_of(p: &Person, pace: &str, faults: &[Said]) -> Markup {
    html! {
        (field(&Field { name: "name", label: "Name", value: &p.name, fill: "off", ..Field::default() }, faults))
        (field(&Field { name: "sign_in", label: "Name to sign in with", help: "Capitals and accents make no difference.", value: &p.sign_in, fill: "off", ..Field::default() }, faults))
        (field(&Field { name: "pace", label: "Pace", help: "Minutes taken for each that is reckoned: 1 is as reckoned, 0.8 is quicker, 1.5 is half as long again. 0.3 to 3.", value: pace, keys: "decimal", ..Field::default() }, faults))
    }
}

/// The person as the form has it; a pace that is no number is a fault.
fn read(fields: &Fields, left: bool) -> (Person, Vec<Said>) {
    let name = fields.text("name").to_owned();
    let sign_in = fields.some("sign_in").map_or_else(|| name.clone(), str::to_owned);
    let pace = fields.text("pace").replace(',', ".").parse::<f64>().ok().filter(|p| p.is_finite());
    let fault = pace.is_none().then(|| ui::fault("pace", "the pace is no number", "Write digits, for instance 1.2."));
    (Person { name, sign_in, pace: pace.unwrap_or(1.0), left }, fault.into_iter().collect())
}

/// The form for a new colleague.
pub(super) async fn new(signed: SignedIn) -> Markup {
    let nobody = Person { name: String::new(), sign_in: String::new(), pace: 1.0, left: false };
    show_new(&signed, &nobody, "1", &[])
}

fn show_new(signed: &SignedIn, p: &Person, pace: &str, faults: &[Said]) -> Markup {
    let main = html! {
        h1 { "A new colleague" }
        (ui::faults(faults))
        form method="post" action="/people/colleagues/new" {
            (fields_of(p, pace, faults))
            (field(&Field { name: "password", label: "First password", kind: "password", fill: "new-password", help: &format!("{} Your colleague changes it after signing in.", password::rule(signed.house.short_passwords)), most: 256, ..Field::default() }, faults))
            div.actions { button.main type="submit" { "Take in" } a href="/people" { "Back to People" } }
        }
    };
    signed.page(Some(Place::People), "A new colleague", &main)
}

/// Whether a password will do for somebody.
fn refused(signed: &SignedIn, fields: &Fields, name: &str) -> Option<Said> {
    let names = [signed.house.name.as_str(), &signed.house.place, name];
    password::refused(fields.raw("password"), signed.house.short_passwords, &names)
        .map(|text| ui::fault("password", text, ""))
}

/// Takes a colleague in.
pub(super) async fn add(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields: Fields,
) -> Result<Response, Fault> {
    let (person, mut faults) = read(&fields, false);
    faults.extend(refused(&signed, &fields, &person.name));
    let again = |faults: &[Said]| {
        let page = show_new(&signed, &person, fields.text("pace"), faults);
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    if !faults.is_empty() {
        return again(&faults);
    }
    let hash = password::hash(&state, fields.raw("password")).await?;
    match state.desk().add_person(&signed.who, person.clone(), hash).await {
        Ok(saved) => Ok(Redirect::to(&format!("/people/colleagues/{}?saved=1", saved.id)).into_response()),
        Err(ShopFailure::Refused(faults)) => again(&faults),
        Err(other) => Err(other.into()),
    }
}

/// The colleague's page.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let held = state.desk().person(&signed.who, &id_of(&id)?).await?;
    let pace = held.body.pace.to_string();
    Ok(show(&signed, &held, &pace, asked.ticked("saved"), &[]))
}

fn show(signed: &SignedIn, held: &Held<Person>, pace: &str, told: bool, faults: &[Said]) -> Markup {
    let at = format!("/people/colleagues/{}", held.id);
    let main = html! {
        h1 { (held.body.name) }
        @if told { p.notice role="status" { "Saved." } }
        (ui::faults(faults))
        form method="post" action=(at) {
            input type="hidden" name="seen" value=(held.revision);
            (fields_of(&held.body, pace, faults))
            (ui::tick("left", "Left the shop", "Cannot sign in any more, and is signed out everywhere. What they did stays theirs.", held.body.left))
            div.actions { button.main type="submit" { "Save" } }
        }
        @if !held.body.left {
            section {
                h2 { "Another password" }
                p { "For somebody who has forgotten theirs. Their browsers are signed out." }
                form method="post" action=(format!("{at}/password")) {
                    (field(&Field { name: "password", label: "New password", kind: "password", fill: "new-password", help: &password::rule(signed.house.short_passwords), most: 256, ..Field::default() }, faults))
                    div.actions { button type="submit" { "Set the password" } }
                }
            }
        }
    };
    signed.page(Some(Place::People), &held.body.name, &main)
}

/// Saves a colleague.
pub(super) async fn save(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let held = state.desk().person(&signed.who, &id).await?;
    let (person, faults) = read(&fields, fields.ticked("left"));
    let back = format!("/people/colleagues/{id}");
    let again = |faults: &[Said]| {
        let tried = Held { body: person.clone(), revision: fields.seen(), ..held.clone() };
        let page = show(&signed, &tried, fields.text("pace"), false, faults);
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    if !faults.is_empty() {
        return again(&faults);
    }
    match state.desk().set_person(&signed.who, &id, fields.seen(), person.clone()).await {
        Ok(_) => Ok(Redirect::to(&format!("{back}?saved=1")).into_response()),
        Err(ShopFailure::Refused(faults)) => again(&faults),
        Err(other) => {
            let sent = Sent { fields: &fields, action: &back, back: &back, place: Place::People };
            both_or(&state, &signed, &sent, other).await
        }
    }
}

/// Gives a colleague another password; one's own is changed on one's own page, with the old one.
pub(super) async fn password(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    if id == signed.who.person {
        return Ok(Redirect::to("/you").into_response());
    }
    let held = state.desk().person(&signed.who, &id).await?;
    if let Some(fault) = refused(&signed, &fields, &held.body.name) {
        let page = show(&signed, &held, &held.body.pace.to_string(), false, &[fault]);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let hash = password::hash(&state, fields.raw("password")).await?;
    state.desk().set_password(&signed.who, &id, hash).await?;
    state.store().end_sessions(Some(&id), None, 0, 0).await?;
    Ok(Redirect::to(&format!("/people/colleagues/{id}?saved=1")).into_response())
}
