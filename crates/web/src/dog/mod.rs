//! A dog's page: how its coat stands, what the next visit takes and why, how it goes on, what was done; changes tried
//! out beside the plan, corrections of what was written down, and what was learned of it.

mod history;
mod layers;
mod learned;
mod page;
mod plan;
mod tried;

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use app::shop::{Changes, Planned, RecordId, Said, ShopFailure, Tried, Units};
use axum::Router;
use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use paper::drawing::shade::{self, Shade};
use paper::theme::Theme;

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/dogs/{id}", get(show))
        .route("/dogs/{id}/keep", post(tried::keep))
        .route("/dogs/{id}/learned", get(learned::show))
        .route("/dogs/{id}/learned/next", get(learned::next))
        .route("/dogs/{id}/drawing.svg", get(drawing))
        .route("/dogs/{id}/section.svg", get(layers::draw))
        .route("/dogs/{id}/measures.svg", get(measures))
        .merge(history::routes())
}

/// The measure that the drawing shows, as in the address.
fn shade_of(word: &str) -> Shade {
    Shade::ALL.into_iter().find(|s| slug(*s) == word).unwrap_or(Shade::Ripe)
}

fn slug(shade: Shade) -> String {
    shade.word().replace(' ', "-")
}

fn units_of(signed: &SignedIn) -> paper::Units {
    if signed.house.units == Units::Inches { paper::Units::Inch } else { paper::Units::Mm }
}

async fn show(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<Response, Fault> {
    show_with(&state, &signed, &id_of(&id)?, &asked, &[]).await
}

/// A refusal as what it says; other failures stay.
fn refusal<T>(answer: Result<T, ShopFailure>) -> Result<Result<T, Vec<Said>>, Fault> {
    match answer {
        Ok(x) => Ok(Ok(x)),
        Err(ShopFailure::Refused(said)) => Ok(Err(said)),
        Err(other) => Err(other.into()),
    }
}

/// The page with what its address or a form asks to try out; `faults` where keeping it was refused.
async fn show_with(
    state: &State,
    signed: &SignedIn,
    id: &RecordId,
    asked: &Fields,
    faults: &[Said],
) -> Result<Response, Fault> {
    let desk = state.desk();
    let card = desk.dog(&signed.who, id).await?;
    // A history that contradicts itself, or limits that leave no plan: said on the page.
    let stands: Result<Planned, Vec<Said>> =
        refusal(desk.plan(&signed.who, signed.today, id, &Changes::default()).await)?;
    let (changes, mut said) = tried::read(asked);
    if said.is_empty() {
        said.extend_from_slice(faults);
    }
    let mut tried: Option<Tried> = None;
    if let (true, true, Ok(stands)) = (said.is_empty(), changes != Changes::default(), &stands) {
        match refusal(desk.try_changes(&signed.who, signed.today, id, stands, &changes).await)? {
            Ok(t) => tried = Some(t),
            Err(why) => said = why,
        }
    }
    let shown = page::Shown {
        card: &card,
        stands: stands.as_ref().map_err(Vec::as_slice),
        by: shade_of(asked.text("by")),
        trial: tried::Trial { typed: asked, tried: tried.as_ref(), faults: &said },
        layers: layers::Wanted::of(asked),
        kept: asked.ticked("kept"),
    };
    let page = signed.page(Some(Place::Coats), &card.dog.body.name, &page::page(signed, &shown));
    let status = if said.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    Ok((status, page).into_response())
}

/// How a picture is to look.
fn options(signed: &SignedIn, asked: &Fields) -> paper::Options {
    paper::Options {
        theme: if asked.text("theme") == "dark" { Theme::Dark } else { Theme::Light },
        units: units_of(signed),
        width: if asked.text("width") == "narrow" { paper::Width::Narrow } else { paper::Width::Wide },
        ..paper::Options::default()
    }
}

/// The plan that a picture is made from.
async fn standing(state: &State, signed: &SignedIn, id: &str) -> Result<Planned, Fault> {
    state.desk().plan(&signed.who, signed.today, &id_of(id)?, &Changes::default()).await.map_err(no_picture)
}

/// Where there is no coat or no plan there is nothing to draw; the page says why.
fn no_picture(failure: ShopFailure) -> Fault {
    if matches!(failure, ShopFailure::Refused(_)) { Fault::NotFound } else { failure.into() }
}

fn svg(text: String) -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "image/svg+xml"), (header::CACHE_CONTROL, "private, no-cache")], text)
}

async fn drawing(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<impl IntoResponse, Fault> {
    let planned = standing(&state, &signed, &id).await?;
    let coat = planned.report.forecast.first().ok_or(Fault::NotFound)?;
    let options = options(&signed, &asked);
    let by = shade_of(asked.text("by"));
    Ok(svg(shade::shaded_svg(&planned.report.dog, coat, by, options.theme, options.units)))
}

async fn measures(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Result<impl IntoResponse, Fault> {
    let found = state.desk().plan_with_bands(&signed.who, signed.today, &id_of(&id)?).await;
    let (planned, bands) = found.map_err(no_picture)?;
    Ok(svg(paper::measures::measures_svg(&planned.report, bands.as_ref(), &options(&signed, &asked))))
}
