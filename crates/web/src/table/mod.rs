//! Table: the dogs of a day, and the work at the table.

mod day;
mod day_page;
pub(crate) mod files;
mod finish;
mod finish_page;
mod from_desk;
mod readings;
mod tap;
mod view;
mod work;
mod work_page;
mod zone;

pub(crate) use from_desk::label;

use crate::state::State;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

/// A delivery's body, bytes: fifty entries with the longest notes, in four bytes a letter.
const DELIVERY_BYTES: usize = 1 << 20;

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/table", get(day::page))
        .route("/table/visits", post(day::add))
        .route("/visits/{id}", get(work::page))
        .route("/visits/{id}/begin", post(work::begin))
        .route("/visits/{id}/tap", post(work::tapped))
        .route("/visits/{id}/entries", post(work::deliver).layer(DefaultBodyLimit::max(DELIVERY_BYTES)))
        .route("/visits/{id}/missed", post(day::missed))
        .route("/visits/{id}/off", post(day::called_off))
        .route("/visits/{id}/back", post(day::back))
        .route("/visits/{id}/finish", get(finish::page).post(finish::done))
        .route("/visits/{id}/next", post(finish::next))
}
