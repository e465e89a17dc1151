//! Photos of dogs: taken or sent, kept without what the camera wrote beside them, looked at, compared.

mod look;
mod pages;
pub(crate) mod picture;
mod take;

use crate::state::State;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

/// An upload with the form's other fields around it.
const UPLOAD_BYTES: usize = picture::MOST_BYTES + (64 << 10);

pub(crate) fn routes() -> Router<State> {
    Router::new()
        .route("/dogs/{id}/photos", get(look::list))
        .route("/dogs/{id}/photos", post(take::keep).layer(DefaultBodyLimit::max(UPLOAD_BYTES)))
        .route("/dogs/{id}/photos/new", get(take::page))
        .route("/dogs/{id}/photos/two", get(look::two))
        .route("/photos/{id}", get(look::whole))
        .route("/photos/{id}/small", get(look::small))
        .route("/photos/{id}/drop", post(look::drop))
}
