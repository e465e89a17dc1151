//! Looking at photos: all of a dog's, two together, and the pictures themselves.

use super::pages::{self, PhotoView};
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, id_of};
use crate::frame::Place;
use crate::state::State;
use crate::table::{files, label};
use app::shop::{Held, PhotoBody, RecordId};
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

pub(super) fn view(signed: &SignedIn, p: &Held<PhotoBody>) -> PhotoView {
    PhotoView {
        id: p.id.to_string(),
        day: signed.dates().long_text(&p.body.day),
        pose: p.body.pose.clone(),
        zone: p.body.zone.as_deref().map(label),
        note: p.body.note.clone(),
        size: (p.body.width_px, p.body.height_px),
    }
}

pub(super) fn framed(signed: &SignedIn, title: &str, main: &Markup) -> Markup {
    let main = html! {
        link rel="stylesheet" href=(files::at("table.css"));
        (main)
        script type="module" src=(files::at("camera.js")) {}
    };
    signed.page(Some(Place::Coats), title, &main)
}

/// All pictures of a dog, the newest first.
pub(super) async fn list(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Markup, Fault> {
    let card = state.desk().dog(&signed.who, &id_of(&id)?).await?;
    let name = &card.dog.body.name;
    let photos: Vec<PhotoView> = card.photos.iter().rev().map(|p| view(&signed, p)).collect();
    Ok(framed(&signed, &format!("Pictures of {name}"), &pages::list(card.dog.id.as_str(), name, &photos)))
}

/// Two pictures together, the older one before.
pub(super) async fn two(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<Response, Fault> {
    let card = state.desk().dog(&signed.who, &id_of(&id)?).await?;
    let wanted: Vec<&str> = asked.all("id").collect();
    let mut chosen = card.photos.iter().filter(|p| wanted.contains(&p.id.as_str()));
    let (Some(before), Some(after), None) = (chosen.next(), chosen.next(), chosen.next()) else {
        // One, none or three: the list says to choose two.
        return Ok(Redirect::to(&format!("/dogs/{}/photos", card.dog.id)).into_response());
    };
    let name = &card.dog.body.name;
    let main = pages::two(card.dog.id.as_str(), name, &view(&signed, before), &view(&signed, after));
    Ok(framed(&signed, &format!("{name}: two pictures"), &main).into_response())
}

/// Bytes of a picture. A photo never gets other bytes, so the browser may keep them.
async fn bytes(state: &State, signed: &SignedIn, id: &str, small: bool) -> Result<Response, Fault> {
    let photo = state.desk().photo(&signed.who, &id_of(id)?).await?;
    let (hash, media) =
        if small { (&photo.body.small, "image/jpeg") } else { (&photo.body.picture, known(&photo.body.media)) };
    let bytes = state.store().bytes(&signed.who.shop, hash).await?.ok_or(Fault::NotFound)?;
    let common = [
        (header::CONTENT_TYPE, media),
        (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"),
        (header::CONTENT_DISPOSITION, "inline"),
    ];
    Ok((common, bytes).into_response())
}

/// The media types that are served; nothing else is ever said to a browser.
fn known(media: &str) -> &'static str {
    match media {
        "image/png" => "image/png",
        "image/webp" => "image/webp",
        _ => "image/jpeg",
    }
}

/// The whole picture.
pub(super) async fn whole(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    bytes(&state, &signed, &id, false).await
}

/// The small picture.
pub(super) async fn small(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    bytes(&state, &signed, &id, true).await
}

/// Takes a photo away.
pub(super) async fn drop(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    let photo = state.desk().photo(&signed.who, &id_of(&id)?).await?;
    state.desk().drop_photo(&signed.who, &photo.id, photo.revision).await?;
    let dog: RecordId = photo.of.ok_or(Fault::NotFound)?;
    Ok(Redirect::to(&format!("/dogs/{dog}/photos")).into_response())
}
