//! Sessions on the server's side. The browser has a random token, the store only its SHA-256.

use crate::fault::Fault;
use crate::frame::Look;
use crate::limits::{ABSOLUTE_MS, IDLE_MS, TOUCH_MS};
use crate::state::State;
use crate::words::Dates;
use app::shop::{House, Person, PersonId, Session, ShopFailure, ShopId, Who};
use axum::extract::FromRequestParts;
use axum::http::{HeaderMap, HeaderValue, Method, header, request::Parts};
use coat::Day;
use sha2::{Digest, Sha256};

/// 256 random bits, hex.
///
/// # Errors
/// A fault when the machine has no randomness to give.
pub(crate) fn random_token() -> Result<String, Fault> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|e| Fault::Broken(format!("no randomness: {e}")))?;
    Ok(hex(&bytes))
}

/// SHA-256, hex: what the store keeps of a token.
pub(crate) fn hash_of(token: &str) -> String {
    hex(&Sha256::digest(token.as_bytes()))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// The cookie's name; browsers take `__Host-` over HTTPS only and for this host only.
fn cookie_name(secure: bool) -> &'static str {
    if secure { "__Host-coatwright" } else { "coatwright" }
}

fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|c| c.trim().split_once('='))
        .find(|c| c.0 == name)
        .map(|c| c.1)
}

fn value(text: &str) -> Result<HeaderValue, Fault> {
    HeaderValue::from_str(text).map_err(|e| Fault::Broken(format!("a cookie: {e}")))
}

fn set(name: &str, token: &str, age_s: i64, secure: bool, script: bool) -> Result<HeaderValue, Fault> {
    let hidden = if script { "" } else { "; HttpOnly" };
    let secure = if secure { "; Secure" } else { "" };
    value(&format!("{name}={token}; Path=/; Max-Age={age_s}; SameSite=Lax{hidden}{secure}"))
}

/// Begins a session and gives the cookie for it.
pub(crate) async fn begin(state: &State, shop: ShopId, person: PersonId) -> Result<HeaderValue, Fault> {
    let token = random_token()?;
    let now_ms = state.clock().now_ms();
    let session = Session { token_hash: hash_of(&token), shop, person, began_ms: now_ms, used_ms: now_ms };
    state.store().end_sessions(None, None, now_ms - ABSOLUTE_MS, now_ms - IDLE_MS).await?;
    state.store().begin_session(&session).await?;
    let secure = state.entrance().secure();
    set(cookie_name(secure), &token, ABSOLUTE_MS / 1000, secure, false)
}

/// Takes the cookie away.
pub(crate) fn drop_cookie(state: &State) -> Result<HeaderValue, Fault> {
    let secure = state.entrance().secure();
    set(cookie_name(secure), "", 0, secure, false)
}

/// The cookie that keeps the choice of light or dark, for a year.
pub(crate) fn set_look(state: &State, look: Look) -> Result<HeaderValue, Fault> {
    set("look", look.word(), 365 * 24 * 3600, state.entrance().secure(), true)
}

/// The choice of light or dark.
pub(crate) fn look(headers: &HeaderMap) -> Look {
    cookie(headers, "look").map_or(Look::System, Look::parse)
}

/// Somebody who is signed in, and what every page says of the shop.
#[derive(Clone, Debug)]
pub(crate) struct SignedIn {
    /// In whose name things are changed.
    pub(crate) who: Who,
    /// The person.
    pub(crate) person: Person,
    /// The shop.
    pub(crate) house: House,
    /// Today, where the shop is.
    pub(crate) today: Day,
    /// Light or dark.
    pub(crate) look: Look,
    /// Names the session in the store.
    pub(crate) token_hash: String,
}

impl SignedIn {
    /// How this shop writes dates.
    pub(crate) fn dates(&self) -> Dates {
        Dates::of(&self.house.dates)
    }
}

/// The session of a token, if it has not ended; notes that it was used.
async fn live(state: &State, token: &str) -> Result<Option<Session>, Fault> {
    let Some(session) = state.store().session(&hash_of(token)).await? else { return Ok(None) };
    let now_ms = state.clock().now_ms();
    if now_ms - session.began_ms >= ABSOLUTE_MS || now_ms - session.used_ms >= IDLE_MS {
        state.store().end_session(&session.token_hash).await?;
        return Ok(None);
    }
    if now_ms - session.used_ms >= TOUCH_MS {
        state.store().touch_session(&session.token_hash, now_ms).await?;
    }
    Ok(Some(session))
}

async fn signed_in(headers: &HeaderMap, state: &State) -> Result<Option<SignedIn>, Fault> {
    let Some(token) = cookie(headers, cookie_name(state.entrance().secure())) else { return Ok(None) };
    let Some(session) = live(state, token).await? else { return Ok(None) };
    let who = Who { shop: session.shop, person: session.person, at_ms: state.clock().now_ms() };
    let person = match state.desk().person(&who, &who.person).await {
        Ok(held) if !held.body.left => held.body,
        Ok(_) | Err(ShopFailure::NotFound { .. }) => {
            state.store().end_session(&session.token_hash).await?;
            return Ok(None);
        }
        Err(other) => return Err(other.into()),
    };
    let house = state.desk().house(&who).await?.body;
    let today = state.clock().today(&house.time_zone);
    Ok(Some(SignedIn { who, person, house, today, look: look(headers), token_hash: session.token_hash }))
}

impl FromRequestParts<State> for SignedIn {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, state: &State) -> Result<Self, Fault> {
        match signed_in(&parts.headers, state).await? {
            Some(signed) => Ok(signed),
            None if !state.founded().await? => Err(Fault::SignIn("/begin".to_owned())),
            // After signing in the person goes on where they wanted to go; a form is not sent again.
            None if parts.method == Method::GET => {
                let to = parts.uri.path_and_query().map_or("/", |p| p.as_str());
                Err(Fault::SignIn(format!("/sign-in?then={}", crate::ui::coded(to))))
            }
            None => Err(Fault::SignIn("/sign-in?ended=1".to_owned())),
        }
    }
}
