//! Taking a picture, or sending one.

use super::look::framed;
use super::pages::{self, TakeView};
use super::picture::{self, MOST_BYTES, NoPicture};
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, id_of};
use crate::state::State;
use app::shop::{DogCard, POSES, PhotoBody, RecordId, ShopFailure};
use axum::extract::multipart::MultipartRejection;
use axum::extract::{Multipart, Path};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use coat::Zone;
use maud::Markup;
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// Pictures unpacked at the same time: each may take a few hundred megabytes for a moment.
static UNPACKING: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(1));

/// The form's fields beside the picture.
#[derive(Clone, Debug, Default)]
struct Beside {
    visit: Option<RecordId>,
    pose: String,
    zone: Option<String>,
    note: String,
}

/// The form.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let card = state.desk().dog(&signed.who, &id_of(&id)?).await?;
    let zone = asked.some("zone").and_then(Zone::parse).map(|z| z.word().to_owned());
    let pose = if zone.is_some() { "close" } else { asked.some("pose").unwrap_or("left side") };
    let beside =
        Beside { visit: asked.some("visit").map(id_of).transpose()?, pose: pose.to_owned(), zone, note: String::new() };
    Ok(show(&signed, &card, &beside, None))
}

fn show(signed: &SignedIn, card: &DogCard, beside: &Beside, fault: Option<String>) -> Markup {
    let ghosts = POSES.into_iter().filter_map(|pose| {
        let last = card.photos.iter().rev().find(|p| p.body.pose == pose)?;
        Some((pose.to_owned(), format!("/photos/{}", last.id)))
    });
    let agreed = card
        .owner
        .as_ref()
        .is_none_or(|o| o.body.consents.iter().rev().find(|c| c.what == "photos").is_some_and(|c| c.agreed));
    let name = &card.dog.body.name;
    let view = TakeView {
        dog: card.dog.id.to_string(),
        name: name.clone(),
        visit: beside.visit.as_ref().map(ToString::to_string),
        zone: beside.zone.clone(),
        pose: beside.pose.clone(),
        zones: Zone::ALL.map(|z| (z.word().to_owned(), z.label().to_owned())).into(),
        ghosts: ghosts.collect(),
        fault,
        unasked: !agreed,
    };
    framed(signed, &format!("A picture of {name}"), &pages::take(&view))
}

/// Reads the form; a picture that is too heavy is told by its size, whatever else is wrong.
async fn read(form: Result<Multipart, MultipartRejection>) -> Result<(Beside, Result<Vec<u8>, NoPicture>), Fault> {
    const NOT_WHOLE: Fault = Fault::Bad("The form did not arrive whole. Go back and send it once more.");
    let mut form = form.map_err(|_| Fault::Media)?;
    let mut beside = Beside { pose: POSES[0].to_owned(), ..Beside::default() };
    let mut upload = Err(NoPicture::Empty);
    while let Some(field) = form.next_field().await.map_err(|e| too_large(&e).unwrap_or(NOT_WHOLE))? {
        let name = field.name().unwrap_or_default().to_owned();
        let bytes = field.bytes().await.map_err(|e| too_large(&e).unwrap_or(NOT_WHOLE))?;
        if name == "picture" {
            upload = match bytes.len() {
                0 => Err(NoPicture::Empty),
                found if found > MOST_BYTES => Err(NoPicture::Heavy { found }),
                _ => Ok(bytes.to_vec()),
            };
            continue;
        }
        let text = std::str::from_utf8(&bytes).map_err(|_| NOT_WHOLE)?.trim().to_owned();
        if text.len() > 2000 {
            return Err(NOT_WHOLE);
        }
        match name.as_str() {
            "visit" if !text.is_empty() => beside.visit = Some(id_of(&text)?),
            "pose" => beside.pose = text,
            "zone" if !text.is_empty() => beside.zone = Some(text),
            "note" => beside.note = text,
            _ => {}
        }
    }
    Ok((beside, upload))
}

fn too_large(e: &axum::extract::multipart::MultipartError) -> Option<Fault> {
    (e.status() == StatusCode::PAYLOAD_TOO_LARGE).then_some(Fault::TooLarge)
}

/// Keeps a picture.
pub(super) async fn keep(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    form: Result<Multipart, MultipartRejection>,
) -> Result<Response, Fault> {
    let card = state.desk().dog(&signed.who, &id_of(&id)?).await?;
    let (beside, upload) = read(form).await?;
    let again = |text: String| {
        let page = show(&signed, &card, &beside, Some(text));
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    let upload = match upload {
        Ok(upload) => upload,
        Err(e) => return again(whole_sentence(&e)),
    };
    let made = {
        let _one = UNPACKING.acquire().await.map_err(|e| Fault::Broken(e.to_string()))?;
        let made = tokio::task::spawn_blocking(move || picture::make(&upload)).await;
        made.map_err(|e| Fault::Broken(format!("a picture: {e}")))?
    };
    let made = match made {
        Ok(made) => made,
        Err(e) => return again(whole_sentence(&e)),
    };
    let shop = &signed.who.shop;
    state.store().keep_bytes(shop, &made.sha256, &made.bytes).await?;
    state.store().keep_bytes(shop, &made.small_sha256, &made.small).await?;
    let photo = PhotoBody {
        day: signed.today.to_string(),
        pose: beside.pose.clone(),
        visit: beside.visit.clone(),
        zone: beside.zone.clone(),
        picture: made.sha256,
        small: made.small_sha256,
        media: made.media.to_owned(),
        width_px: made.width_px,
        height_px: made.height_px,
        note: beside.note.clone(),
    };
    match state.desk().add_photo(&signed.who, &card.dog.id, photo).await {
        Ok(_) => {
            let to = match &beside.visit {
                Some(visit) => format!("/visits/{visit}"),
                None => format!("/dogs/{}/photos", card.dog.id),
            };
            Ok(Redirect::to(&to).into_response())
        }
        Err(ShopFailure::Refused(said)) => again(said.iter().map(crate::ui::sentence).collect::<Vec<_>>().join(" ")),
        Err(other) => Err(other.into()),
    }
}

/// An error as a sentence on the page.
fn whole_sentence(e: &NoPicture) -> String {
    let text = e.to_string().replace('`', "");
    let mut chars = text.chars();
    let first: String = chars.next().into_iter().flat_map(char::to_uppercase).collect();
    let stop = if text.ends_with('.') { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}
