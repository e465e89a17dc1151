//! Signing in and out.

use crate::access::{self, Address, SignedIn, Wait};
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::frame::{Look, outside};
use crate::password;
use crate::state::State;
use crate::ui::{self, Field, field, inside};
use app::shop::{Said, fold};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

/// The form.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    headers: HeaderMap,
    Asked(asked): Asked,
) -> Result<Response, Fault> {
    if !state.founded().await? {
        return Ok(Redirect::to("/begin").into_response());
    }
    Ok(form(access::look(&headers), "", asked.text("then"), asked.ticked("ended"), &[]).into_response())
}

fn form(look: Look, name: &str, then: &str, ended: bool, faults: &[Said]) -> Markup {
    let main = html! {
        h1 { "Sign in" }
        @if ended {
            p.notice role="status" { "You were signed out, so what you sent was not saved. Sign in and send it once more." }
        }
        (ui::faults(faults))
        form method="post" action="/sign-in" {
            @if !then.is_empty() { input type="hidden" name="then" value=(inside(then)); }
            (field(&Field { name: "name", label: "Your name", value: name, fill: "username", ..Field::default() }, &[]))
            (field(&Field { name: "password", label: "Password", kind: "password", fill: "current-password", most: 256, ..Field::default() }, &[]))
            p { button.main type="submit" { "Sign in" } }
        }
    };
    outside(look, "Sign in", &main)
}

/// Checks name and password; what is wrong of the two is not told.
pub(super) async fn sign_in(
    axum::extract::State(state): axum::extract::State<State>,
    address: Address,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, Fault> {
    let look = access::look(&headers);
    let (name, then) = (fields.text("name"), fields.text("then"));
    let key: String = fold(name).chars().take(200).collect();
    let now_ms = state.clock().now_ms();
    let counted = state.0.tries.lock().map_err(|e| Fault::Broken(e.to_string()))?.begin(&key, address, now_ms);
    if let Err(Wait { minutes }) = counted {
        let again = if minutes == 1 { "a minute".to_owned() } else { format!("{minutes} minutes") };
        let text = format!("Too many sign-ins failed. Try again in {again}.");
        let page = form(look, name, then, false, &[ui::fault("", text, "")]);
        let retry = [(header::RETRY_AFTER, (60 * minutes).to_string())];
        return Ok((StatusCode::TOO_MANY_REQUESTS, retry, page).into_response());
    }
    let credential = state.store().credential(&key).await?;
    let hash = credential.as_ref().filter(|c| c.open).map(|c| c.hash.as_str());
    if !password::fits(&state, fields.raw("password"), hash).await? {
        let text = "The name and the password do not go together, or you have no way in any more.";
        let page = form(look, name, then, false, &[ui::fault("", text, "")]);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let Some(credential) = credential else { return Err(Fault::Broken("a password without a name".into())) };
    state.0.tries.lock().map_err(|e| Fault::Broken(e.to_string()))?.right(&key, address);
    let cookie = access::begin(&state, credential.shop, credential.person).await?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(inside(then))).into_response())
}

/// Ends the session, here and in the store.
pub(super) async fn sign_out(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
) -> Result<Response, Fault> {
    state.store().end_session(&signed.token_hash).await?;
    let cookie = access::drop_cookie(&state)?;
    // Copies of pages that the browser kept go too; what waits to be delivered from the table stays.
    let clear = header::HeaderName::from_static("clear-site-data");
    Ok(([(header::SET_COOKIE, cookie)], [(clear, "\"cache\"")], Redirect::to("/sign-in")).into_response())
}
