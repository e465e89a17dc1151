//! Light, dark, or as the system has it: a choice kept in the browser.

use crate::access;
use crate::fault::Fault;
use crate::fields::Fields;
use crate::state::State;
use crate::ui;
use axum::Router;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::post;
use maud::{Markup, html};

/// Light or dark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Look {
    /// As the system has it.
    System,
    /// Light.
    Light,
    /// Dark.
    Dark,
}

impl Look {
    const ALL: [Look; 3] = [Look::System, Look::Light, Look::Dark];

    /// The word in the cookie and in the page.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Look::System => "system",
            Look::Light => "light",
            Look::Dark => "dark",
        }
    }

    /// What browsers colour their own parts by.
    pub(crate) const fn scheme(self) -> &'static str {
        match self {
            Look::System => "light dark",
            Look::Light => "light",
            Look::Dark => "dark",
        }
    }

    /// Reads the word; the system's for any other.
    pub(crate) fn parse(word: &str) -> Look {
        Look::ALL.into_iter().find(|l| l.word() == word).unwrap_or(Look::System)
    }
}

/// The buttons to choose with.
pub(super) fn choice(now: Look) -> Markup {
    html! {
        form method="post" action="/look" {
            fieldset.looks {
                legend.unseen { "Light or dark" }
                @for look in Look::ALL {
                    button.plain type="submit" name="look" value=(look.word()) aria-pressed=(if look == now { "true" } else { "false" }) {
                        (match look { Look::System => "As the system", Look::Light => "Light", Look::Dark => "Dark" })
                    }
                }
            }
        }
    }
}

pub(crate) fn routes() -> Router<State> {
    Router::new().route("/look", post(choose))
}

/// Keeps the choice and goes back to the page it was made on.
async fn choose(
    axum::extract::State(state): axum::extract::State<State>,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, Fault> {
    let cookie = access::set_look(&state, Look::parse(fields.text("look")))?;
    let from =
        headers.get(header::REFERER).and_then(|v| v.to_str().ok()).and_then(|v| v.parse::<axum::http::Uri>().ok());
    let back = from.as_ref().and_then(|u| u.path_and_query()).map_or("/", |p| p.as_str());
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(ui::inside(back))).into_response())
}
