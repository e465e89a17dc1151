//! The way in: founding the shop, signing in and out, one's own password.

mod begin;
mod enter;
mod sign_in;
mod you;

pub use begin::FoundingCode;
pub(crate) use enter::Link;

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::state::State;
use axum::Router;
use axum::response::Redirect;
use axum::routing::{get, post};

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/", get(front))
        .route("/begin", get(begin::page).post(begin::found))
        .route("/enter/{code}", get(enter::enter))
        .route("/sign-in", get(sign_in::page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/you", get(you::page))
        .route("/you/password", post(you::password))
        .route("/you/elsewhere", post(you::elsewhere))
}

/// The place where a day begins: the Table when a dog is down for today, all coats otherwise.
async fn front(axum::extract::State(state): axum::extract::State<State>, signed: SignedIn) -> Result<Redirect, Fault> {
    let dogs = state.desk().dogs_on(&signed.who, signed.today).await?;
    Ok(Redirect::to(if dogs > 0 { "/table" } else { "/coats" }))
}
