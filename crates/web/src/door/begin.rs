//! First start: the shop's name, place, units, currency, and the first person. The rest has defaults that House shows.

use crate::access::{self, Address, hash_of, random_token};
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::frame::outside;
use crate::state::State;
use crate::ui::{self, Field, field};
use crate::{password, words};
use app::shop::{Founding, House, Person, Said, ShopFailure, Units};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

/// Lets somebody who is not at this machine found the shop. Only its hash is kept.
pub struct FoundingCode {
    hash: String,
}

impl FoundingCode {
    /// A new code, and the text to be shown to whoever started the program; none without randomness.
    pub fn new() -> Option<(Self, String)> {
        let text: String = random_token().ok()?.chars().take(20).collect();
        Some((FoundingCode { hash: hash_of(&text) }, text))
    }

    fn fits(&self, text: &str) -> bool {
        hash_of(text.trim()) == self.hash
    }
}

/// Currencies that are offered while one types; any other of ISO 4217 may be written.
const CURRENCIES: [&str; 20] = [
    "AUD", "BRL", "CAD", "CHF", "CZK", "DKK", "EUR", "GBP", "HUF", "INR", "ISK", "JPY", "MXN", "NOK", "NZD", "PLN",
    "RON", "SEK", "USD", "ZAR",
];

/// What a region's shops use: currency and units. By ISO 3166 and ISO 4217, from memory; a first guess to be changed.
fn usual(region: &str) -> (&'static str, Units) {
    let currency = match region {
        "US" => "USD",
        "GB" => "GBP",
        "CA" => "CAD",
        "AU" => "AUD",
        "NZ" => "NZD",
        "CH" | "LI" => "CHF",
        "SE" => "SEK",
        "NO" => "NOK",
        "DK" => "DKK",
        "IS" => "ISK",
        "PL" => "PLN",
        "CZ" => "CZK",
        "HU" => "HUF",
        "RO" => "RON",
        "JP" => "JPY",
        "IN" => "INR",
        "BR" => "BRL",
        "MX" => "MXN",
        "ZA" => "ZAR",
        _ => "EUR",
    };
    (currency, if region == "US" { Units::Inches } else { Units::Mm })
}

/// The first language tag with a region that the browser asks for.
fn tag(headers: &HeaderMap) -> String {
    let asked = headers.get(header::ACCEPT_LANGUAGE).and_then(|v| v.to_str().ok()).unwrap_or("");
    let mut tags = asked.split(',').filter_map(|t| t.split(';').next()).map(str::trim);
    tags.find(|t| {
        t.len() <= 20 && t.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-') && words::region(t).is_some()
    })
    .unwrap_or("en-IE")
    .to_owned()
}

/// Who may found the shop: whoever sits at this machine, or has the code that the program printed.
fn may(state: &State, address: Address, code: &str) -> Result<(), Fault> {
    const CLOSED: Fault = Fault::Forbidden(
        "This shop is not founded yet. Found it from the machine on which the program runs, or open the address with \
         the code that the program printed when it started.",
    );
    let at_machine = !state.entrance().secure() && address.is_here();
    if at_machine {
        return Ok(());
    }
    let now_ms = state.clock().now_ms();
    let counted = state.0.tries.lock().map(|mut t| t.begin("the founding code", address, now_ms));
    match (&state.0.parts.founding, counted) {
        (Some(founding), Ok(Ok(()))) if founding.fits(code) => {
            if let Ok(mut tries) = state.0.tries.lock() {
                tries.right("the founding code", address);
            }
            Ok(())
        }
        _ => Err(CLOSED),
    }
}

/// The form.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    address: Address,
    headers: HeaderMap,
    Asked(asked): Asked,
) -> Result<Response, Fault> {
    if state.founded().await? {
        return Ok(Redirect::to("/").into_response());
    }
    may(&state, address, asked.text("code"))?;
    Ok(form(&headers, &asked, &[]).into_response())
}

fn form(headers: &HeaderMap, fields: &Fields, faults: &[Said]) -> Markup {
    let (currency, units) = usual(&words::region(&tag(headers)).unwrap_or_default());
    let units = if units == Units::Inches { "inches" } else { "mm" };
    let main = html! {
        h1 { "A new shop" }
        p.lead { "Six things, then the first dog. Everything can be changed later under House." }
        (ui::faults(faults))
        form method="post" action="/begin" {
            @if let Some(code) = fields.some("code") { input type="hidden" name="code" value=(code); }
            (field(&Field { name: "shop", label: "Name of the shop", value: fields.text("shop"), fill: "organization", ..Field::default() }, faults))
            (field(&Field { name: "place", label: "Place", help: "Town and country, as you would write it on a letter.", value: fields.text("place"), fill: "address-level2", ..Field::default() }, faults))
            (ui::choice("units", "Lengths in", "", &[("mm", "millimetres"), ("inches", "inches")], fields.some("units").unwrap_or(units), faults))
            div.field {
                label for="currency" { "Currency" }
                p.help #currency-help { "Three letters, for instance EUR." }
                @if let Some(s) = faults.iter().find(|s| s.field == "currency") { p.fault { (ui::sentence(s)) } }
                input #currency name="currency" value=(fields.some("currency").unwrap_or(currency)) list="currencies" required
                    minlength="3" maxlength="3" autocapitalize="characters" aria-describedby="currency-help";
                datalist #currencies { @for c in CURRENCIES { option value=(c) {} } }
            }
            (field(&Field { name: "name", label: "Your name", help: "You sign in with it.", value: fields.text("name"), fill: "username", ..Field::default() }, faults))
            (field(&Field { name: "password", label: "A password", kind: "password", help: &password::rule(false), fill: "new-password", most: 256, ..Field::default() }, faults))
            p { button.main type="submit" { "Found the shop" } }
        }
    };
    outside(access::look(headers), "A new shop", &main)
}

/// Founds the shop and signs the first person in.
pub(super) async fn found(
    axum::extract::State(state): axum::extract::State<State>,
    address: Address,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, Fault> {
    if state.founded().await? {
        return Ok(Redirect::to("/").into_response());
    }
    may(&state, address, fields.text("code"))?;
    let names = [fields.text("shop"), fields.text("place"), fields.text("name")];
    let empty = |field: &str, what: &str| {
        fields.some(field).is_none().then(|| ui::fault(field, format!("{what} is empty"), "Fill it in."))
    };
    let mut faults: Vec<Said> =
        [empty("shop", "the shop's name"), empty("name", "your name")].into_iter().flatten().collect();
    faults.extend(password::refused(fields.raw("password"), false, &names).map(|t| ui::fault("password", t, "")));
    if !faults.is_empty() {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, form(&headers, &fields, &faults)).into_response());
    }
    let hash = password::hash(&state, fields.raw("password")).await?;
    let tag = tag(&headers);
    let house = House {
        name: fields.text("shop").to_owned(),
        place: fields.text("place").to_owned(),
        country: words::region(&tag).unwrap_or_else(|| "IE".to_owned()),
        latitude_deg: None,
        units: if fields.text("units") == "inches" { Units::Inches } else { Units::Mm },
        currency: fields.text("currency").to_ascii_uppercase(),
        dates: tag,
        time_zone: state.clock().own_zone(),
        hour_minor: None,
        short_passwords: false,
        pooled: false,
        caps: None,
        weights: Vec::new(),
        targets: Vec::new(),
        demo: false,
    };
    let name = fields.text("name").to_owned();
    let person = Person { sign_in: name.clone(), name, pace: 1.0, left: false };
    let founding = Founding { house, person, hash };
    match state.desk().found_shop(state.clock().now_ms(), founding).await {
        Ok(founded) => {
            let cookie = access::begin(&state, founded.shop, founded.person).await?;
            Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
        }
        Err(ShopFailure::Refused(faults)) => {
            let faults: Vec<Said> = faults.into_iter().map(in_this_form).collect();
            Ok((StatusCode::UNPROCESSABLE_ENTITY, form(&headers, &fields, &faults)).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

/// The use case's field under the name it has in this form.
fn in_this_form(said: Said) -> Said {
    let field = match said.field.as_str() {
        "name" if said.message.starts_with("the house") => "shop".to_owned(),
        "sign_in" => "name".to_owned(),
        other => other.to_owned(),
    };
    Said { field, ..said }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_fits_only_itself() {
        let (code, text) = FoundingCode::new().unwrap();
        assert!(code.fits(&text) && code.fits(&format!(" {text} ")));
        assert!(!code.fits("") && !code.fits(&text[1..]) && text.len() == 20);
    }

    #[test]
    fn a_browser_says_where_it_is() {
        let of = |asked: &'static str| {
            let mut h = HeaderMap::new();
            h.insert(header::ACCEPT_LANGUAGE, asked.parse().unwrap());
            tag(&h)
        };
        assert_eq!(of("en,en-US;q=0.8"), "en-US");
        assert_eq!(of("de-AT"), "de-AT");
        assert_eq!(of("de"), "en-IE", "without a region the default stands");
        assert_eq!(usual("US"), ("USD", Units::Inches));
    }
}
