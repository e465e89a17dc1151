//! An owner: who, how to reach them, their dogs, what they agreed to.

use super::consent;
use crate::access::SignedIn;
use crate::conflict::{Sent, both_or};
use crate::fault::Fault;
use crate::fields::{Asked, Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use crate::ui::{self, Field, field};
use app::shop::{Held, Owner, OwnerCard, RecordId, Said, ShopFailure};
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

/// Telephone fields shown at least.
const PHONES: usize = 2;
/// Telephone fields read at most.
const MOST_PHONES: usize = 12;

fn fields_of(owner: &Owner, faults: &[Said]) -> Markup {
    let phones = (owner.phones.len() + 1).max(PHONES);
    html! {
        (field(&Field { name: "name", label: "Name", value: &owner.name, fill: "off", ..Field::default() }, faults))
        @for i in 0..phones {
            @let name = format!("phones.{i}");
            @let label = if i == 0 { "Telephone".to_owned() } else { format!("Another telephone ({})", i + 1) };
            @let value = owner.phones.get(i).map_or("", String::as_str);
            (field(&Field { name: &name, label: &label, value, kind: "tel", fill: "off", optional: true, ..Field::default() }, faults))
        }
        (field(&Field { name: "mail", label: "Mail", value: &owner.mail, kind: "text", keys: "email", fill: "off", optional: true, ..Field::default() }, faults))
        (field(&Field { name: "address", label: "Address", value: &owner.address, kind: "area", fill: "off", optional: true, most: 4000, ..Field::default() }, faults))
        (field(&Field { name: "note", label: "Note", value: &owner.note, kind: "area", optional: true, most: 4000, ..Field::default() }, faults))
    }
}

/// The owner as the form has it; consents are kept as they are.
fn read(fields: &Fields, before: &Owner) -> Owner {
    let text = |name: &str| fields.text(name).to_owned();
    Owner {
        name: text("name"),
        phones: (0..MOST_PHONES).map(|i| text(&format!("phones.{i}"))).filter(|p| !p.is_empty()).collect(),
        mail: text("mail"),
        address: text("address"),
        note: text("note"),
        consents: before.consents.clone(),
    }
}

/// The form for a new owner.
pub(super) async fn new(signed: SignedIn) -> Markup {
    show_new(&signed, &Owner::default(), &[])
}

fn show_new(signed: &SignedIn, owner: &Owner, faults: &[Said]) -> Markup {
    let main = html! {
        h1 { "A new owner" }
        (ui::faults(faults))
        form method="post" action="/people/owners/new" {
            (fields_of(owner, faults))
            div.actions { button.main type="submit" { "Take in" } a href="/people" { "Back to People" } }
        }
    };
    signed.page(Some(Place::People), "A new owner", &main)
}

/// Takes an owner in.
pub(super) async fn add(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields: Fields,
) -> Result<Response, Fault> {
    let owner = read(&fields, &Owner::default());
    match state.desk().set_owner(&signed.who, None, 0, owner.clone()).await {
        Ok(saved) => Ok(Redirect::to(&format!("/people/owners/{}?saved=1", saved.id)).into_response()),
        Err(ShopFailure::Refused(faults)) => {
            Ok((StatusCode::UNPROCESSABLE_ENTITY, show_new(&signed, &owner, &faults)).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

/// The owner's page.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let card = state.desk().owner(&signed.who, &id_of(&id)?).await?;
    Ok(show(&signed, &card, &card.owner, asked.ticked("saved"), &[]))
}

/// The page; `form` is what its form holds, as it stands or as it was typed.
pub(super) fn show(signed: &SignedIn, card: &OwnerCard, form: &Held<Owner>, told: bool, faults: &[Said]) -> Markup {
    let id = &card.owner.id;
    let o = &card.owner.body;
    let main = html! {
        h1 { (o.name) }
        @if told { p.notice role="status" { "Saved." } }
        @if !card.warnings.is_empty() {
            div.notice role="status" {
                p { strong { "Kept, but look at it once more:" } }
                ul { @for w in &card.warnings { li { (ui::sentence(w)) } } }
            }
        }
        section aria-labelledby="dogs" {
            h2 #dogs { "Dogs" }
            @if card.dogs.is_empty() { p.quiet { "No dog yet." } } @else {
                ul.list {
                    @for d in &card.dogs {
                        li { a href=(format!("/dogs/{}", d.dog)) { span.name { (d.name) } span.when { (d.breed) } span.more.quiet { (d.line) } } }
                    }
                }
            }
            p { a.button href=(format!("/dogs/new?owner={id}")) { "New dog" } }
        }
        section aria-labelledby="reach" {
            h2 #reach { "To reach them" }
            (ui::faults(faults))
            form method="post" action=(format!("/people/owners/{id}")) {
                input type="hidden" name="seen" value=(form.revision);
                (fields_of(&form.body, faults))
                div.actions { button.main type="submit" { "Save" } }
            }
        }
        (consent::section(signed, &card.owner, faults))
        @if card.dogs.is_empty() {
            form method="post" action=(format!("/people/owners/{id}/drop")) {
                input type="hidden" name="seen" value=(card.owner.revision);
                button.plain type="submit" { "Take this owner off the list" }
            }
        }
    };
    signed.page(Some(Place::People), &o.name, &main)
}

/// What a change of an owner came to.
pub(super) async fn answer(
    state: &State,
    signed: &SignedIn,
    id: &RecordId,
    fields: &Fields,
    action: &str,
    tried: Owner,
) -> Result<Response, Fault> {
    let back = format!("/people/owners/{id}");
    match state.desk().set_owner(&signed.who, Some(id), fields.seen(), tried.clone()).await {
        Ok(_) => Ok(Redirect::to(&format!("{back}?saved=1")).into_response()),
        Err(ShopFailure::Refused(faults)) => {
            let card = state.desk().owner(&signed.who, id).await?;
            let form = Held { body: tried, revision: fields.seen(), ..card.owner.clone() };
            Ok((StatusCode::UNPROCESSABLE_ENTITY, show(signed, &card, &form, false, &faults)).into_response())
        }
        Err(other) => {
            let sent = Sent { fields, action, back: &back, place: Place::People };
            both_or(state, signed, &sent, other).await
        }
    }
}

/// Saves who the owner is and how to reach them.
pub(super) async fn save(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let card = state.desk().owner(&signed.who, &id).await?;
    let tried = read(&fields, &card.owner.body);
    answer(&state, &signed, &id, &fields, &format!("/people/owners/{id}"), tried).await
}

/// Takes an owner without dogs off the list.
pub(super) async fn drop_owner(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let action = format!("/people/owners/{id}/drop");
    match state.desk().drop_owner(&signed.who, &id, fields.seen()).await {
        Ok(()) => Ok(Redirect::to("/people").into_response()),
        Err(ShopFailure::Refused(faults)) => {
            let card = state.desk().owner(&signed.who, &id).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, show(&signed, &card, &card.owner, false, &faults)).into_response())
        }
        Err(other) => {
            let back = format!("/people/owners/{id}");
            let sent = Sent { fields: &fields, action: &action, back: &back, place: Place::People };
            both_or(&state, &signed, &sent, other).await
        }
    }
}
