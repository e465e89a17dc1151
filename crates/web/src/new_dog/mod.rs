//! A new dog in five short steps, ending in its plan.
//!
//! Nothing is kept until the last step is sent: each page carries what was entered on the others in its own form, so
//! going back loses nothing, and leaving midway leaves nothing behind.

mod care;
mod form;
mod parts;
mod past;
mod read;
mod who;
mod wishes;

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{self, Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use crate::ui;
use app::shop::{Held, Owner, Person, RecordId, Said, ShopFailure, Whose};
use axum::Router;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use form::{STEPS, Step};
use maud::{Markup, html};

pub(crate) fn routes() -> Router<State> {
    Router::new().route("/dogs/new", get(begin).post(go_on))
}

/// Owners shown to choose from.
const MOST_OWNERS: usize = 8;

/// What a step's page is made from.
struct View<'a> {
    signed: &'a SignedIn,
    fields: &'a Fields,
    faults: &'a [Said],
    /// The owner that was chosen, where that is one who is here.
    owner: Option<Held<Owner>>,
    /// Owners found by what was typed; none when nothing was looked for.
    found: Option<Vec<Held<Owner>>>,
    /// Who may work the dog.
    people: Vec<Held<Person>>,
}

/// The first step; an owner's page leads here with the owner chosen.
async fn begin(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields::Asked(asked): fields::Asked,
) -> Result<Response, Fault> {
    let id = state.fresh().text();
    let fields = Fields::of(&[("id", &id), ("owner", asked.text("owner"))]);
    show(&state, &signed, &fields, Step::Who, &[], &[]).await
}

/// One step on, one or more back, or the end.
async fn go_on(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields: Fields,
) -> Result<Response, Fault> {
    let at = Step::of(fields.text("step")).unwrap_or(Step::Who);
    match fields.text("to") {
        "find" => return show(&state, &signed, &fields, Step::Who, &[], &[]).await,
        to => {
            if let Some(back) = Step::of(to).filter(|s| *s < at) {
                return show(&state, &signed, &fields, back, &[], &[]).await;
            }
        }
    }
    // Enter in the field that finds owners is sent as the step's button is.
    if at == Step::Who && fields.some("find").is_some() && fields.text("find") != fields.text("looked-for") {
        return show(&state, &signed, &fields, Step::Who, &[], &[]).await;
    }
    let (new, mut faults) = read::newcomer(&fields, signed.house.units, signed.today);
    let looked = state.desk().look_over(&signed.who, signed.today, &new).await?;
    for said in looked.faults {
        let said = read::in_the_form(said, &new);
        if !faults.iter().any(|f| f.field == said.field) {
            faults.push(said);
        }
    }
    // What is asked later is not missing yet; what was asked before may have become wrong.
    let first = faults.iter().filter_map(|f| form::step_of(&f.field)).min().filter(|s| *s <= at);
    if let Some(first) = first {
        faults.retain(|f| form::step_of(&f.field) == Some(first));
        return wrong(&state, &signed, &fields, first, &faults).await;
    }
    if let Some(next) = at.next() {
        let here = |s: &Said| form::step_of(&s.field) == Some(at);
        let warnings = looked.warnings.into_iter().map(|s| read::in_the_form(s, &new)).filter(here);
        let warnings: Vec<Said> = warnings.collect();
        return show(&state, &signed, &fields, next, &[], &warnings).await;
    }
    if !faults.is_empty() {
        return wrong(&state, &signed, &fields, at, &faults).await;
    }
    let id = id_of(fields.text("id")).map_err(|_| Fault::Bad("This form is damaged. Begin the new dog anew."))?;
    match state.desk().take_in(&signed.who, signed.today, &id, new).await {
        Ok(saved) => Ok(Redirect::to(&format!("/dogs/{}", saved.id)).into_response()),
        Err(ShopFailure::Refused(said)) => wrong(&state, &signed, &fields, at, &said).await,
        Err(ShopFailure::Conflict { stands, .. }) if stands.id == id => again(&state, &signed, &fields, &id).await,
        Err(other) => Err(other.into()),
    }
}

/// The form was sent before, for a dog that reads otherwise by now: perhaps a sister from the same litter.
async fn again(state: &State, signed: &SignedIn, fields: &Fields, id: &RecordId) -> Result<Response, Fault> {
    let name = state.desk().dog(&signed.who, id).await.map_or_else(|_| "A dog".to_owned(), |d| d.dog.body.name);
    let said = ui::fault(
        "name",
        format!("{name} was taken in with this form already"),
        "If this is another dog, take it in once more; otherwise change the first one on its own page, under Coats.",
    );
    let fresh = state.fresh().text();
    wrong(state, signed, &fields.with("id", &fresh), Step::Who, &[said]).await
}

async fn wrong(
    state: &State,
    signed: &SignedIn,
    fields: &Fields,
    step: Step,
    faults: &[Said],
) -> Result<Response, Fault> {
    let mut page = show(state, signed, fields, step, faults, &[]).await?;
    *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    Ok(page)
}

async fn show(
    state: &State,
    signed: &SignedIn,
    fields: &Fields,
    step: Step,
    faults: &[Said],
    warnings: &[Said],
) -> Result<Response, Fault> {
    let mut view = View { signed, fields, faults, owner: None, found: None, people: Vec::new() };
    if let Whose::Known(id) = read::whose(fields) {
        view.owner = match state.desk().owner(&signed.who, &id).await {
            Ok(card) => Some(card.owner),
            Err(ShopFailure::NotFound { .. }) => None,
            Err(other) => return Err(other.into()),
        };
    }
    if step == Step::Who
        && let Some(words) = fields.some("find")
    {
        view.found = Some(state.desk().owners(&signed.who, words, MOST_OWNERS).await?);
    }
    if step == Step::Wishes {
        view.people = state.desk().people(&signed.who).await?;
        view.people.retain(|p| !p.body.left);
    }
    let content = match step {
        Step::Who => who::who(&view),
        Step::Dog => who::dog(&view),
        Step::Coat => past::coat(&view),
        Step::Care => care::care(&view),
        Step::Wishes => wishes::wishes(&view),
    };
    let name = fields.some("name").filter(|_| step != Step::Who);
    let main = html! {
        h1 { @if let Some(name) = name { "New dog: " (name) } @else { "New dog" } }
        (ui::faults(faults))
        form.new-dog method="post" action="/dogs/new" {
            // Enter in a field presses the first button.
            button.unseen type="submit" name="to" value="next" tabindex="-1" aria-hidden="true" {}
            (steps(step))
            input type="hidden" name="id" value=(fields.text("id"));
            input type="hidden" name="step" value=(step.word());
            @for (name, value) in form::carried(fields, step) { input type="hidden" name=(name) value=(value); }
            @if !warnings.is_empty() {
                div.notice role="status" {
                    p { strong { "Look at it once more; it is kept as it is:" } }
                    ul { @for w in warnings { li { (ui::sentence(w)) } } }
                }
            }
            h2 { (step.title()) }
            (content)
            div.actions {
                button.main type="submit" name="to" value="next" { @if step.next().is_some() { "Next" } @else { "Take it in and plan" } }
                @if let Some(back) = step.back() {
                    button type="submit" name="to" value=(back.word()) formnovalidate { "Back" }
                }
                a href="/coats" { "Leave it; nothing is kept" }
            }
        }
    };
    let title = format!("New dog, step {} of {}: {}", step.number(), STEPS.len(), step.label());
    let page = signed.page(Some(Place::Coats), &title, &main);
    // Kept in this browser, unlike other pages: its own way back shows an answered step only if it may keep it.
    Ok(([(header::CACHE_CONTROL, "private, no-cache")], page).into_response())
}

/// Where one is, and the way back.
fn steps(now: Step) -> Markup {
    html! {
        ol.steps aria-label="Steps" {
            @for step in STEPS {
                li {
                    @if step == now { span aria-current="step" { (step.number()) " " (step.label()) } }
                    @else if step < now {
                        button.plain type="submit" name="to" value=(step.word()) formnovalidate { (step.number()) " " (step.label()) }
                    } @else { span.quiet { (step.number()) " " (step.label()) } }
                }
            }
        }
    }
}
