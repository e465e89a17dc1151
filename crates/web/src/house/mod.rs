//! House: the shop, its units and dates, what its plans pay for, the lengths it aims at, its rule for passwords.

mod money;
mod plan;
mod shop;
mod targets;

use crate::access::SignedIn;
use crate::conflict::{Sent, both_or};
use crate::fault::Fault;
use crate::fields::Fields;
use crate::frame::Place;
use crate::state::State;
use crate::ui::{number, short};
use app::shop::{Held, House, Said, ShopFailure};
use axum::Router;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::{Markup, html};

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/house", get(shop::page).post(shop::save))
        .route("/house/plan", get(plan::page).post(plan::save))
        .route("/house/targets/{coat}", get(targets::page).post(targets::save))
}

/// The pages of the place.
const PAGES: [(&str, &str); 3] =
    [("/house", "The shop"), ("/house/plan", "What plans weigh"), ("/house/targets/wire", "Lengths aimed at")];

/// A page of the place, with ways to the others.
fn page(signed: &SignedIn, at: &str, title: &str, told: bool, content: &Markup) -> Markup {
    let main = html! {
        h1 { "House" }
        nav aria-label="House" {
            ul.tabs {
                @for (to, text) in PAGES { li { a href=(to) aria-current=[(to == at).then_some("page")] { (text) } } }
            }
        }
        @if told { p.notice role="status" { "Saved. Plans take it in from now on." } }
        (content)
    };
    signed.page(Some(Place::House), title, &main)
}

/// Saves a changed house and goes back to the page, shows what is wrong with it, or both versions. `held` is the house
/// as it was read, `faults` what its form got wrong already.
async fn save(
    state: &State,
    signed: &SignedIn,
    fields: &Fields,
    at: &str,
    (held, house): (Held<House>, House),
    faults: Vec<Said>,
    again: impl FnOnce(&Held<House>, &[Said]) -> Markup,
) -> Result<Response, Fault> {
    let wrong = |faults: &[Said], house: House| {
        let tried = Held { body: house, revision: fields.seen(), ..held };
        Ok((StatusCode::UNPROCESSABLE_ENTITY, again(&tried, faults)).into_response())
    };
    if !faults.is_empty() {
        return wrong(&faults, house);
    }
    match state.desk().set_house(&signed.who, fields.seen(), house.clone()).await {
        Ok(_) => Ok(Redirect::to(&format!("{at}?saved=1")).into_response()),
        Err(ShopFailure::Refused(faults)) => wrong(&faults, house),
        Err(other) => {
            let sent = Sent { fields, action: at, back: at, place: Place::House };
            both_or(state, signed, &sent, other).await
        }
    }
}
