//! The work at the table: its page, and the entries that come back from it.

use super::from_desk::{Beside, work as view_of};
use super::work_page::{self, Dress};
use super::{files, tap};
use crate::access::SignedIn;
use crate::assets;
use crate::fault::Fault;
use crate::fields::{Asked, Fields, id_of};
use crate::state::State;
use crate::ui::sentence;
use app::shop::{EntryBody, Kind, Owner, RecordId, ShopFailure, VisitState, Work};
use axum::Json;
use axum::body::Bytes;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::json;

/// The modules of the work's script.
const MODULES: [&str; 6] = ["store.js", "deliver.js", "replay.js", "clocks.js", "marks.js", "away.js"];

/// The page.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let work = state.desk().work(&signed.who, &id).await?;
    let entries = state.store().of(&signed.who.shop, Kind::Entry, &id).await?;
    let beside = Beside {
        shop: signed.who.shop.to_string(),
        units: signed.house.units,
        about: about(&state, &signed, &work).await?,
        known: entries.into_iter().map(|e| e.id.to_string()).collect(),
        open: asked.some("zone").map(str::to_owned),
        once: state.fresh().text(),
        today: signed.today.to_string(),
    };
    let dress = Dress {
        look: signed.look,
        styles: vec![assets::STYLE.at(), files::at("work.css")],
        script: files::at("work.js"),
        modules: MODULES.iter().map(|m| files::at(m)).collect(),
        icon: assets::ICON.at(),
    };
    let html = signed.dates().in_page(work_page::page(&view_of(&work, beside), &dress)).into_string();
    let common = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::VARY, "accept-encoding")];
    // The drawing makes the page long; packed it is a tenth.
    let gzip = if files::takes_gzip(&headers) { files::squeeze(html.as_bytes()) } else { Vec::new() };
    if gzip.is_empty() {
        return Ok((common, html).into_response());
    }
    Ok((common, [(header::CONTENT_ENCODING, "gzip")], gzip).into_response())
}

/// Breed and owner.
async fn about(state: &State, signed: &SignedIn, work: &Work) -> Result<String, Fault> {
    let mut parts = vec![work.dog.body.breed.clone()];
    if let Some(owner) = &work.dog.of
        && let Some(record) = state.store().read(&signed.who.shop, Kind::Owner, owner).await?
        && let Ok(owner) = serde_json::from_value::<Owner>(record.body)
    {
        parts.push(owner.name);
    }
    parts.retain(|p| !p.is_empty());
    Ok(parts.join(", "))
}

/// The dog is at the table: makes the plan for today and goes to the work.
pub(super) async fn begin(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    match state.desk().begin_visit(&signed.who, signed.today, &id).await {
        // A finished visit is looked at, not begun.
        Ok(_) | Err(ShopFailure::Refused(_)) => Ok(Redirect::to(&format!("/visits/{id}")).into_response()),
        Err(other) => Err(other.into()),
    }
}

/// One entry from a plain form.
pub(super) async fn tapped(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
    fields: Fields,
) -> Result<Response, Fault> {
    let visit = id_of(&id)?;
    let entry = tap::from_form(&fields, asked.text("once"), signed.who.at_ms)?;
    let to = match &entry.1.zone {
        Some(zone) => format!("/visits/{visit}?zone={}#z-{}", crate::ui::coded(zone), crate::ui::coded(zone)),
        None => format!("/visits/{visit}"),
    };
    let delivered = state.desk().deliver(&signed.who, &visit, vec![entry]).await?;
    match delivered.refused.first() {
        None => Ok(Redirect::to(&to).into_response()),
        Some(_) => Err(Fault::Bad(
            "The shop does not take that: a value is missing or out of its range. Go back and correct it.",
        )),
    }
}

/// Entries from the script, in order. Says which are kept, and which are refused and why.
pub(super) async fn deliver(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    headers: HeaderMap,
    body: Result<Bytes, axum::extract::rejection::BytesRejection>,
) -> Result<Response, Fault> {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
    // A form of another site cannot send this kind without asking first.
    if !kind.split(';').next().unwrap_or("").trim().eq_ignore_ascii_case("application/json") {
        return Err(Fault::Media);
    }
    let body = body.map_err(|e| match e.status() {
        StatusCode::PAYLOAD_TOO_LARGE => Fault::TooLarge,
        _ => Fault::Bad("The delivery did not arrive whole."),
    })?;
    let visit = id_of(&id)?;
    let tap::Delivery { read, unread } = tap::from_json(&body)?;
    let entries: Vec<(RecordId, EntryBody)> = read;
    let delivered = state.desk().deliver(&signed.who, &visit, entries).await?;
    let refused = delivered
        .refused
        .iter()
        .map(|(id, s)| json!({ "id": id.as_str(), "said": signed.dates().in_text(&sentence(s)) }))
        .chain(unread.iter().map(|(id, said)| json!({ "id": id, "said": said })));
    let kept: Vec<&str> = delivered.accepted.iter().map(RecordId::as_str).collect();
    let said = json!({ "kept": kept, "refused": refused.collect::<Vec<_>>(), "finished": delivered.finished });
    Ok(Json(said).into_response())
}

/// A visit's state lets it be worked on.
pub(super) const fn is_begun(state: VisitState) -> bool {
    matches!(state, VisitState::AtTable | VisitState::Done)
}
