//! A dog's page: how its coat stands, what the next visit takes and why, how it goes on, what was done.

mod page;

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, id_of};
use crate::frame::Place;
use crate::state::State;
use app::shop::{Changes, Planned, ShopFailure, Units};
use axum::Router;
use axum::extract::Path;
use axum::http::header;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::Markup;
use paper::drawing::shade::{self, Shade};
use paper::theme::Theme;

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/dogs/{id}", get(show))
        .route("/dogs/{id}/drawing.svg", get(drawing))
        .route("/dogs/{id}/measures.svg", get(measures))
}

/// The measure that the drawing shows, as in the address.
fn shade_of(word: &str) -> Shade {
    Shade::ALL.into_iter().find(|s| slug(*s) == word).unwrap_or(Shade::Ripe)
}

fn slug(shade: Shade) -> String {
    shade.word().replace(' ', "-")
}

async fn show(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let id = id_of(&id)?;
    let card = state.desk().dog(&signed.who, &id).await?;
    let planned = match state.desk().plan(&signed.who, signed.today, &id, &Changes::default()).await {
        Ok(planned) => Ok(planned),
        // A history that contradicts itself, or limits that leave no plan: said on the page.
        Err(ShopFailure::Refused(said)) => Err(said),
        Err(other) => return Err(other.into()),
    };
    let main = page::page(&signed, &card, planned.as_ref().map_err(Vec::as_slice), shade_of(asked.text("by")));
    Ok(signed.page(Some(Place::Coats), &card.dog.body.name, &main))
}

/// The plan that a picture is made from, and how the picture is to look.
async fn pictured(
    state: &State,
    signed: &SignedIn,
    id: &str,
    asked: &Asked,
) -> Result<(Planned, paper::Options), Fault> {
    let planned = state.desk().plan(&signed.who, signed.today, &id_of(id)?, &Changes::default()).await?;
    let options = paper::Options {
        theme: if asked.0.text("theme") == "dark" { Theme::Dark } else { Theme::Light },
        units: if signed.house.units == Units::Inches { paper::Units::Inch } else { paper::Units::Mm },
        ..paper::Options::default()
    };
    Ok((planned, options))
}

fn svg(text: String) -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "image/svg+xml"), (header::CACHE_CONTROL, "private, no-cache")], text)
}

async fn drawing(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    asked: Asked,
) -> Result<impl IntoResponse, Fault> {
    let (planned, options) = pictured(&state, &signed, &id, &asked).await?;
    let coat = planned.report.forecast.first().ok_or(Fault::NotFound)?;
    let by = shade_of(asked.0.text("by"));
    Ok(svg(shade::shaded_svg(&planned.report.dog, coat, by, options.theme, options.units)))
}

async fn measures(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    asked: Asked,
) -> Result<impl IntoResponse, Fault> {
    let (planned, options) = pictured(&state, &signed, &id, &asked).await?;
    Ok(svg(paper::measures::measures_svg(&planned.report, &options)))
}
