//! A link that signs somebody in once: for the demonstration, which prints it.

use crate::access::{self, hash_of, random_token};
use crate::fault::Fault;
use crate::state::State;
use app::shop::{PersonId, ShopId};
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};

/// Whom the link signs in, and the hash of its code.
pub(crate) struct Link {
    hash: String,
    shop: ShopId,
    person: PersonId,
}

impl State {
    /// Makes a link that signs a person in once, in place of any made before; none without randomness.
    pub fn link_for(&self, shop: ShopId, person: PersonId) -> Option<String> {
        let code = random_token().ok()?;
        let mut link = self.0.link.lock().ok()?;
        *link = Some(Link { hash: hash_of(&code), shop, person });
        Some(format!("/enter/{code}"))
    }
}

/// Signs in and forgets the link; with a link that was used it asks for the password.
pub(super) async fn enter(
    axum::extract::State(state): axum::extract::State<State>,
    Path(code): Path<String>,
) -> Result<Response, Fault> {
    let used = {
        let mut link = state.0.link.lock().map_err(|e| Fault::Broken(e.to_string()))?;
        link.take_if(|l| l.hash == hash_of(&code))
    };
    let Some(link) = used else { return Ok(Redirect::to("/").into_response()) };
    let cookie = access::begin(&state, link.shop, link.person).await?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
}
