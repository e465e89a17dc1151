//! Finishing a visit and the one after it.

use super::finish_page::{self, ChangeView, FinishView};
use super::view::{Lengths, in_words, standing};
use super::work::is_begun;
use super::{files, label};
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use app::report::CoatReport;
use app::shop::{Entry, EntryBody, Finished, RecordId, ShopFailure, Units, VisitState, Work, ZoneState};
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use coat::Day;
use maud::{Markup, html};

/// The page: before finishing what is written down, afterwards what it came to.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let work = state.desk().work(&signed.who, &id).await?;
    if !is_begun(work.visit.body.state) && work.entries.is_empty() {
        return Ok(Redirect::to(&format!("/visits/{id}")).into_response());
    }
    let finished = match work.visit.body.state {
        VisitState::Done => Some(state.desk().finished(&signed.who, signed.today, &id).await?),
        _ => None,
    };
    Ok(show(&state, &signed, &work, finished.as_ref(), &[]).await?.into_response())
}

async fn show(
    state: &State,
    signed: &SignedIn,
    work: &Work,
    finished: Option<&Finished>,
    said: &[String],
) -> Result<Markup, Fault> {
    let lengths = Lengths { inches: signed.house.units == Units::Inches };
    let entries: Vec<_> =
        work.entries.iter().map(|s| super::view::KeptEntry { id: s.id.to_string(), body: s.entry.clone() }).collect();
    let zones = work.zones.iter().filter(|z| z.touched() || z.state != ZoneState::Open).map(|z| {
        let words: Vec<String> = standing(&entries, Some(z.zone.word()))
            .into_iter()
            .filter(|(p, _)| *p != "clock")
            .map(|(_, e)| in_words(&e.body.what, lengths))
            .collect();
        (z.zone.label().to_owned(), words.join(", "))
    });
    let open = work
        .zones
        .iter()
        .filter(|z| z.state == ZoneState::Open && z.planned.as_ref().is_some_and(|p| p.amount != "leave"));
    let photos = state.desk().dog(&signed.who, &work.dog.id).await?.photos;
    let view = FinishView {
        visit: work.visit.id.to_string(),
        dog: work.dog.id.to_string(),
        name: work.dog.body.name.clone(),
        done: finished.is_some(),
        changes: finished.map(|f| changes(&f.before, &f.after)).unwrap_or_default(),
        zones: zones.collect(),
        open: open.map(|z| z.zone.label().to_owned()).collect(),
        left: finished
            .map(|f| f.left.iter().map(|l| format!("{}: {}", capital(l.zone.label()), l.why)).collect())
            .unwrap_or_default(),
        next: finished.and_then(|f| {
            let n = f.next.as_ref()?;
            Some((n.day.to_string(), n.why.clone(), n.min, f.booked))
        }),
        clocked_min: clocked(work),
        today: signed.today.to_string(),
        pictures: photos
            .iter()
            .filter(|p| p.body.visit.as_ref() == Some(&work.visit.id))
            .map(|p| (format!("/photos/{}/small", p.id), p.body.pose.clone()))
            .collect(),
        said: said.to_vec(),
    };
    let main = html! {
        link rel="stylesheet" href=(files::at("table.css"));
        (finish_page::page(&view))
    };
    Ok(signed.page(Some(Place::Table), &format!("{}: the visit", work.dog.body.name), &main))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

/// Minutes that the clocks counted: the visit's own, or those of the zones together.
fn clocked(work: &Work) -> Option<f64> {
    let zones: i64 = work.zones.iter().map(|z| z.seconds).sum();
    let seconds = if work.seconds > 0 { work.seconds } else { zones };
    (seconds > 0).then_some(seconds as f64 / 60.0)
}

fn changes(before: &CoatReport, after: &CoatReport) -> Vec<ChangeView> {
    let percent = |x: Option<f64>| x.map_or_else(|| "-".to_owned(), |x| format!("{:.0} %", 100.0 * x));
    let (b, a) = (&before.dog, &after.dog);
    [("Cover", b.cover, a.cover), ("Ripe", b.ripe, a.ripe), ("Even", b.evenness, a.evenness), ("Hard", b.hard, a.hard)]
        .map(|(name, b, a)| ChangeView { name, before: percent(b), after: percent(a) })
        .into()
}

/// Finishes the visit.
pub(super) async fn done(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    if let Some(text) = fields.some("work_min") {
        let minutes = text.replace(',', ".").parse::<f64>().ok().filter(|m| (0.0..=600.0).contains(m));
        let minutes = minutes
            .ok_or(Fault::Bad("The minutes at the table are not a number from 0 to 600. Go back and correct them."))?;
        keep_minutes(&state, &signed, &id, minutes).await?;
    }
    match state.desk().finish_visit(&signed.who, signed.today, &id).await {
        Ok(_) => Ok(Redirect::to(&format!("/visits/{id}/finish")).into_response()),
        Err(ShopFailure::Refused(said)) => {
            let work = state.desk().work(&signed.who, &id).await?;
            let said: Vec<String> = said
                .iter()
                .map(|s| {
                    let zone = s.field.split('.').next().map(label).filter(|_| s.field.contains('.'));
                    let text = crate::ui::sentence(s);
                    zone.map_or_else(|| text.clone(), |z| format!("{}: {text}", capital(&z)))
                })
                .collect();
            Ok((StatusCode::UNPROCESSABLE_ENTITY, show(&state, &signed, &work, None, &said).await?).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

/// The minutes are an entry like any other, so that they are seen, undone and kept once.
async fn keep_minutes(state: &State, signed: &SignedIn, visit: &RecordId, minutes: f64) -> Result<(), Fault> {
    let work = state.desk().work(&signed.who, visit).await?;
    let seconds = (minutes * 60.0).round() as i64;
    if clocked(&work).is_some_and(|m| (m.round() - minutes).abs() < 1e-9) && work.seconds > 0 || work.seconds == seconds
    {
        return Ok(());
    }
    let body = EntryBody {
        zone: None,
        count: signed.who.at_ms.max(1),
        browser: "finish".into(),
        browser_ms: signed.who.at_ms,
        what: Entry::Clock { seconds, running: false },
    };
    let id = RecordId::new(state.fresh().text()).map_err(|e| Fault::Broken(e.to_string()))?;
    state.desk().deliver(&signed.who, visit, vec![(id, body)]).await?;
    Ok(())
}

/// Puts the next visit down.
pub(super) async fn next(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let id = id_of(&id)?;
    let work = state.desk().work(&signed.who, &id).await?;
    let finished = state.desk().finished(&signed.who, signed.today, &id).await?;
    let refused = |text: &str| vec![text.to_owned()];
    let said = match Day::parse(fields.text("day")) {
        None => refused("That is not a day. Give it as year, month and day in digits, with hyphens between."),
        Some(day) if day <= signed.today => refused("The next visit is after today. Choose a later day."),
        Some(day) => match state.desk().plan_visit(&signed.who, &work.dog.id, day, None, String::new()).await {
            Ok(_) => return Ok(Redirect::to(&format!("/table?day={day}")).into_response()),
            Err(ShopFailure::Refused(said)) => said.iter().map(crate::ui::sentence).collect(),
            Err(other) => return Err(other.into()),
        },
    };
    let page = show(&state, &signed, &work, Some(&finished), &said).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
