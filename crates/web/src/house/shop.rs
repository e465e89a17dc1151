//! The shop itself: name, place, units, dates, money, passwords.

use super::{money, number, short};
use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::limits::{ABSOLUTE_MS, IDLE_MS, PASSWORD_CHARS, SHORT_PASSWORD_CHARS};
use crate::state::State;
use crate::ui::{self, Field, field};
use crate::words::{A_DAY, DATE_FORMS, Dates};
use app::shop::{Held, House, Said, Units};
use axum::response::Response;
use maud::{Markup, html};

const AT: &str = "/house";

/// The page.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let house = state.desk().house(&signed.who).await?;
    Ok(show(&signed, &house, None, asked.ticked("saved"), &[]))
}

fn show(signed: &SignedIn, held: &Held<House>, typed: Option<&Fields>, told: bool, faults: &[Said]) -> Markup {
    let h = &held.body;
    let north = h.latitude_deg.map_or_else(String::new, |x| x.to_string());
    let hour = h.hour_minor.map_or_else(String::new, |m| money::written(m, &h.currency));
    // What was typed stays in the fields that hold numbers, however wrong it is.
    let north = typed.map_or(north.as_str(), |f| f.text("latitude_deg"));
    let hour = typed.map_or(hour.as_str(), |f| f.text("hour_minor"));
    let units = if h.units == Units::Inches { "inches" } else { "mm" };
    let mut forms = DATE_FORMS.to_vec();
    // A form that was set otherwise than here shows itself by a day.
    let own = format!("{} ({})", Dates::of(&h.dates).long(A_DAY), h.dates);
    if !forms.iter().any(|f| f.0 == h.dates) {
        forms.insert(0, (&h.dates, &own));
    }
    let content = html! {
        (ui::faults(faults))
        form method="post" action=(AT) {
            input type="hidden" name="seen" value=(held.revision);
            h2 { "The shop" }
            div.row {
                (field(&Field { name: "name", label: "Name", value: &h.name, ..Field::default() }, faults))
                (field(&Field { name: "place", label: "Place", value: &h.place, optional: true, ..Field::default() }, faults))
                (field(&Field { name: "country", label: "Country", help: "Two letters (ISO 3166), for instance IE. Telephone numbers without a country are read as its own.", value: &h.country, most: 2, ..Field::default() }, faults))
                (field(&Field { name: "latitude_deg", label: "Degrees north", help: "For dogs that live outdoors: their coats follow the daylight.", value: north, keys: "decimal", optional: true, unit: "°", ..Field::default() }, faults))
            }
            h2 { "Units, money, dates" }
            div.row {
                (ui::choice("units", "Lengths in", "", &[("mm", "millimetres"), ("inches", "inches")], units, faults))
                (ui::choice("dates", "Dates", "", &forms, &h.dates, faults))
                (field(&Field { name: "currency", label: "Currency", help: "Three letters (ISO 4217), for instance EUR.", value: &h.currency, most: 3, ..Field::default() }, faults))
                (field(&Field { name: "hour_minor", label: "Price of an hour", help: "Ladders of rhythms then show what a year costs.", value: hour, keys: "decimal", optional: true, unit: &h.currency, ..Field::default() }, faults))
                (field(&Field { name: "time_zone", label: "Time zone", help: "By which a day begins, for instance Europe/Dublin.", value: &h.time_zone, ..Field::default() }, faults))
            }
            h2 { "Passwords and sessions" }
            (ui::tick("short_passwords", &format!("Passwords from {SHORT_PASSWORD_CHARS} characters on"),
                &format!("Otherwise {PASSWORD_CHARS} or more. Common ones are refused either way."), h.short_passwords))
            h2 { "What coats teach" }
            (ui::tick("pooled", "Learn together with the other shops of this store",
                "Each shop with this on gives the others, and uses of theirs, what its dogs of a coat type taught: of each dog how long hair \
                 stays away, grows, sits and lingers and how fast it grows, and how sure that is. No names, no people, no days, nothing \
                 else. Off, nothing is given and nothing used.", h.pooled))
            p.quiet {
                "A browser that nobody used for " (IDLE_MS / 3_600_000) " hours is signed out, and any browser "
                (ABSOLUTE_MS / 86_400_000) " days after signing in."
            }
            div.actions { button.main type="submit" { "Save" } }
        }
    };
    super::page(signed, AT, "House", told, &content)
}

/// Saves this part of the house.
pub(super) async fn save(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields: Fields,
) -> Result<Response, Fault> {
    let held = state.desk().house(&signed.who).await?;
    let mut faults = Vec::new();
    let currency = fields.text("currency").to_ascii_uppercase();
    let latitude_deg = number(&fields, "latitude_deg", "Write digits, for instance 53.3.", &mut faults);
    let hour_minor = fields.some("hour_minor").and_then(|text| {
        let minor = money::minor(text, &currency);
        if minor.is_none() {
            let message = format!("`{}` is no amount of {}", short(text), short(&currency));
            faults.push(ui::fault("hour_minor", message, "Write digits, for instance 45.50."));
        }
        minor
    });
    let time_zone = fields.text("time_zone").to_owned();
    if !state.clock().knows(&time_zone) {
        let message = format!("`{}` is no time zone", short(&time_zone));
        faults.push(ui::fault("time_zone", message, "Write continent and town, for instance Europe/Dublin."));
    }
    let text = |name: &str| fields.text(name).to_owned();
    let house = House {
        name: text("name"),
        place: text("place"),
        country: text("country"),
        latitude_deg,
        units: if fields.text("units") == "inches" { Units::Inches } else { Units::Mm },
        currency,
        dates: text("dates"),
        time_zone,
        hour_minor,
        short_passwords: fields.ticked("short_passwords"),
        pooled: fields.ticked("pooled"),
        ..held.body.clone()
    };
    super::save(&state, &signed, &fields, AT, (held, house), faults, |tried, faults| {
        show(&signed, tried, Some(&fields), false, faults)
    })
    .await
}
