//! People: owners with their dogs, how to reach them, what they agreed to; colleagues.

mod colleague;
mod consent;
mod list;
mod owner;

use crate::state::State;
use axum::Router;
use axum::routing::{get, post};

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/people", get(list::page))
        .route("/people/owners/new", get(owner::new).post(owner::add))
        .route("/people/owners/{id}", get(owner::page).post(owner::save))
        .route("/people/owners/{id}/consent", post(consent::add))
        .route("/people/owners/{id}/drop", post(owner::drop_owner))
        .route("/people/colleagues/new", get(colleague::new).post(colleague::add))
        .route("/people/colleagues/{id}", get(colleague::page).post(colleague::save))
        .route("/people/colleagues/{id}/password", post(colleague::password))
}
