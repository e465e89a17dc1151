//! The Table: what is shown of a day, and what is done with its visits.

use super::day_page::{self, DayView, LineState, LineView};
use super::files;
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{self, Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use crate::words::weekday;
use app::shop::{Filter, Held, Kind, RecordId, ShopFailure, TableLine, VisitBody, VisitState};
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use coat::Day;
use maud::{Markup, html};

/// Dogs shown to be added.
const MOST_FOUND: u32 = 12;

/// The day of the address; today without one.
fn day_of(signed: &SignedIn, text: &str) -> Day {
    Day::parse(text).unwrap_or(signed.today)
}

/// The page of a day.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields::Asked(asked): fields::Asked,
) -> Result<Markup, Fault> {
    show(&state, &signed, day_of(&signed, asked.text("day")), asked.text("q"), None).await
}

async fn show(state: &State, signed: &SignedIn, day: Day, words: &str, said: Option<String>) -> Result<Markup, Fault> {
    let lines = state.desk().day(&signed.who, signed.today, day).await?;
    let found = if words.is_empty() {
        Vec::new()
    } else {
        let ask = app::shop::Asked {
            words: words.chars().take(200).collect(),
            filter: Filter::All,
            after: None,
            most: MOST_FOUND,
        };
        state.desk().search(&signed.who, signed.today, &ask).await?.found
    };
    let view = DayView {
        day: day.to_string(),
        spoken: format!("{}, {}", weekday(day), signed.dates().long(day)),
        around: ((day - 1).to_string(), (day + 1).to_string()),
        today: signed.today.to_string(),
        lines: lines.iter().map(line).collect(),
        asked: words.to_owned(),
        found: found
            .into_iter()
            .map(|f| {
                let about: Vec<String> = [f.breed, f.owner].into_iter().filter(|t| !t.is_empty()).collect();
                (f.dog.to_string(), f.name, about.join(", "))
            })
            .collect(),
        said,
    };
    let main = html! {
        link rel="stylesheet" href=(files::at("table.css"));
        // All at once: on a slow line one that names the next costs a round trip each.
        @for module in ["day.js", "away.js", "deliver.js", "store.js"] { link rel="modulepreload" href=(files::at(module)); }
        div data-shop=(signed.who.shop) { (day_page::page(&view)) }
        script type="module" src=(files::at("day.js")) {}
    };
    Ok(signed.page(Some(Place::Table), "Table", &main))
}

fn line(l: &TableLine) -> LineView {
    let about: Vec<&str> = [l.breed.as_str(), l.owner.as_str()].into_iter().filter(|t| !t.is_empty()).collect();
    LineView {
        visit: l.visit.id.to_string(),
        dog: l.dog.to_string(),
        name: l.name.clone(),
        about: about.join(", "),
        picture: l.photo.as_ref().map(|p| format!("/photos/{}/small", p.id)),
        work_min: l.work_min,
        needs: l.line.clone(),
        cautions: l.cautions.clone(),
        state: match l.visit.body.state {
            VisitState::Planned => LineState::Planned,
            VisitState::AtTable => LineState::AtTable,
            VisitState::Done => LineState::Done,
            VisitState::Missed => LineState::Missed,
            VisitState::CalledOff => LineState::CalledOff,
        },
    }
}

/// Puts a dog on a day.
pub(super) async fn add(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields: Fields,
) -> Result<Response, Fault> {
    let day = day_of(&signed, fields.text("day"));
    let dog = id_of(fields.text("dog"))?;
    let done = state.desk().plan_visit(&signed.who, &dog, day, None, String::new()).await;
    told(&state, &signed, day, done.map(|_| ())).await
}

/// Back to the day, with what was wrong where something was.
async fn told(state: &State, signed: &SignedIn, day: Day, done: Result<(), ShopFailure>) -> Result<Response, Fault> {
    match done {
        Ok(()) => Ok(Redirect::to(&format!("/table?day={day}")).into_response()),
        Err(ShopFailure::Refused(said)) => {
            let text: Vec<String> = said.iter().map(crate::ui::sentence).collect();
            let page = show(state, signed, day, "", Some(text.join(" "))).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Err(ShopFailure::Conflict { .. }) => {
            let text = "Somebody else changed this visit a moment ago. This is how it stands now.".to_owned();
            let page = show(state, signed, day, "", Some(text)).await?;
            Ok((StatusCode::CONFLICT, page).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

async fn held(state: &State, signed: &SignedIn, id: &str) -> Result<(RecordId, Held<VisitBody>), Fault> {
    let id = id_of(id)?;
    let record = state.store().read(&signed.who.shop, Kind::Visit, &id).await?.ok_or(Fault::NotFound)?;
    Ok((id, Held::of(record)?))
}

/// The dog did not come.
pub(super) async fn missed(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    let (id, visit) = held(&state, &signed, &id).await?;
    let done = state.desk().miss_visit(&signed.who, signed.today, &id, visit.revision).await;
    told(&state, &signed, day_of(&signed, &visit.body.day), done.map(|_| ())).await
}

/// The visit is called off.
pub(super) async fn called_off(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    let (id, visit) = held(&state, &signed, &id).await?;
    let done = state.desk().call_off(&signed.who, &id, visit.revision).await;
    told(&state, &signed, day_of(&signed, &visit.body.day), done.map(|_| ())).await
}

/// The visit was begun by mistake.
pub(super) async fn back(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    let (id, visit) = held(&state, &signed, &id).await?;
    let done = state.desk().back_to_planned(&signed.who, &id, visit.revision).await;
    told(&state, &signed, day_of(&signed, &visit.body.day), done.map(|_| ())).await
}
