//! One's own page: the password, and browsers elsewhere.

use crate::access::{self, Address, SignedIn};
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::limits::{ABSOLUTE_MS, IDLE_MS};
use crate::password;
use crate::state::State;
use crate::ui::{self, Field, field};
use app::shop::{Said, fold};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

/// What is one's own.
pub(super) async fn page(signed: SignedIn, Asked(asked): Asked) -> Markup {
    let told = match asked.text("done") {
        "password" => "The password is changed. Browsers elsewhere are signed out.",
        "elsewhere" => "Browsers elsewhere are signed out.",
        _ => "",
    };
    show(&signed, told, &[])
}

fn show(signed: &SignedIn, told: &str, faults: &[Said]) -> Markup {
    let main = html! {
        h1 { (signed.person.name) }
        @if !told.is_empty() { p.notice role="status" { (told) } }
        section {
            h2 { "Password" }
            (ui::faults(faults))
            form method="post" action="/you/password" {
                // Tells a password keeper whose password it is.
                input type="hidden" name="username" value=(signed.person.sign_in) autocomplete="username";
                (field(&Field { name: "old", label: "The password now", kind: "password", fill: "current-password", most: 256, ..Field::default() }, faults))
                (field(&Field { name: "new", label: "The new password", kind: "password", fill: "new-password", help: &password::rule(signed.house.short_passwords), most: 256, ..Field::default() }, faults))
                p { button.main type="submit" { "Change the password" } }
            }
        }
        section {
            h2 { "Elsewhere" }
            p {
                "A browser that nobody used for " (IDLE_MS / 3_600_000) " hours is signed out, and any browser "
                (ABSOLUTE_MS / 86_400_000) " days after signing in."
            }
            form method="post" action="/you/elsewhere" {
                button type="submit" { "Sign me out of all other browsers" }
            }
        }
    };
    signed.page(None, &signed.person.name, &main)
}

/// Changes the password when the old one is right. The session is begun anew, all others end.
pub(super) async fn password(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    address: Address,
    fields: Fields,
) -> Result<Response, Fault> {
    let again = |field: &str, text: String| {
        (StatusCode::UNPROCESSABLE_ENTITY, show(&signed, "", &[ui::fault(field, text, "")])).into_response()
    };
    let key = fold(&signed.person.sign_in);
    let now_ms = signed.who.at_ms;
    let counted = state.0.tries.lock().map_err(|e| Fault::Broken(e.to_string()))?.begin(&key, address, now_ms);
    if let Err(wait) = counted {
        return Ok(again("old", format!("Too many tries failed. Try again in {} min.", wait.minutes)));
    }
    let Some(credential) = state.store().credential(&key).await?.filter(|c| c.person == signed.who.person) else {
        return Err(Fault::Broken("a signed-in person has no way to sign in".into()));
    };
    if !password::fits(&state, fields.raw("old"), Some(&credential.hash)).await? {
        return Ok(again("old", "The password now is another one.".to_owned()));
    }
    state.0.tries.lock().map_err(|e| Fault::Broken(e.to_string()))?.right(&key, address);
    let names = [signed.house.name.as_str(), &signed.house.place, &signed.person.name];
    if let Some(text) = password::refused(fields.raw("new"), signed.house.short_passwords, &names) {
        return Ok(again("new", text));
    }
    let hash = password::hash(&state, fields.raw("new")).await?;
    state.desk().set_password(&signed.who, &signed.who.person, hash).await?;
    state.store().end_sessions(Some(&signed.who.person), None, 0, 0).await?;
    let cookie = access::begin(&state, signed.who.shop.clone(), signed.who.person.clone()).await?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/you?done=password")).into_response())
}

/// Ends all other sessions of the person.
pub(super) async fn elsewhere(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
) -> Result<Redirect, Fault> {
    state.store().end_sessions(Some(&signed.who.person), Some(&signed.token_hash), 0, 0).await?;
    Ok(Redirect::to("/you?done=elsewhere"))
}
