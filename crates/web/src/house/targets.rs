//! The lengths that the shop aims at, by coat type and zone.

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::{Asked, Fields};
use crate::state::State;
use crate::ui::{self, Field, field};
use crate::words::{in_units, mm_of, unit};
use app::shop::{Held, House, Said, TargetBody};
use axum::extract::Path;
use axum::response::Response;
use coat::{CoatType, Zone};
use maud::{Markup, html};

fn coat_of(word: &str) -> Result<CoatType, Fault> {
    CoatType::ALL.into_iter().find(|c| slug(*c) == word).ok_or(Fault::NotFound)
}

/// The coat type in an address.
fn slug(coat: CoatType) -> String {
    coat.word().replace(' ', "-")
}

fn at(coat: CoatType) -> String {
    format!("/house/targets/{}", slug(coat))
}

/// The zones that have a length to aim at.
fn zones() -> impl Iterator<Item = (Zone, f64)> {
    Zone::ALL.into_iter().filter_map(|z| z.defaults().target_mm.map(|mm| (z, mm)))
}

/// The page of a coat type.
pub(super) async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(coat): Path<String>,
    Asked(asked): Asked,
) -> Result<Markup, Fault> {
    let coat = coat_of(&coat)?;
    let house = state.desk().house(&signed.who).await?;
    Ok(show(&signed, coat, &house, None, asked.ticked("saved"), &[]))
}

fn show(
    signed: &SignedIn,
    coat: CoatType,
    held: &Held<House>,
    typed: Option<&Fields>,
    told: bool,
    faults: &[Said],
) -> Markup {
    let units = signed.house.units;
    let kept = |zone: Zone| {
        let own = held.body.targets.iter().find(|t| t.coat == coat.word() && t.zone == zone.word());
        own.map_or_else(String::new, |t| in_units(t.target_mm, units))
    };
    let content = html! {
        nav aria-label="Coat types" {
            ul.filters {
                @for c in CoatType::ALL {
                    li { a href=(at(c)) aria-current=[(c == coat).then_some("page")] { (c.word()) } }
                }
            }
        }
        (ui::faults(faults))
        form.small method="post" action=(at(coat)) {
            input type="hidden" name="seen" value=(held.revision);
            h2 { "Lengths aimed at: " (coat.word()) }
            p { "For every dog of this coat type that has none of its own. Empty means the usual length." }
            div.row {
                @for (zone, usual) in zones() {
                    @let value = typed.map_or_else(|| kept(zone), |f| f.text(zone.word()).to_owned());
                    (field(&Field { name: zone.word(), label: zone.label(), help: &format!("Usually {} {}.", in_units(usual, units), unit(units)), value: &value, keys: "decimal", optional: true, unit: unit(units), ..Field::default() }, faults))
                }
            }
            div.actions { button.main type="submit" { "Save" } }
        }
    };
    super::page(signed, "/house/targets/wire", "Lengths aimed at", told, &content)
}

/// Saves the lengths of one coat type; those of the others stay.
pub(super) async fn save(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(coat): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let coat = coat_of(&coat)?;
    let held = state.desk().house(&signed.who).await?;
    let units = signed.house.units;
    let mut faults = Vec::new();
    let mut targets: Vec<TargetBody> = held.body.targets.iter().filter(|t| t.coat != coat.word()).cloned().collect();
    for (zone, _) in zones() {
        let Some(text) = fields.some(zone.word()) else { continue };
        match mm_of(text, units) {
            Some(target_mm) if (1.0..=400.0).contains(&target_mm) => {
                targets.push(TargetBody { coat: coat.word().into(), zone: zone.word().into(), target_mm });
            }
            _ => {
                let message = format!("`{}` is no length for {}", super::short(text), zone.label());
                let hint = format!("Write {} to {} {}.", in_units(1.0, units), in_units(400.0, units), unit(units));
                faults.push(ui::fault(zone.word(), message, hint));
            }
        }
    }
    let house = House { targets, ..held.body.clone() };
    let again = |tried: &Held<House>, faults: &[Said]| show(&signed, coat, tried, Some(&fields), false, faults);
    super::save(&state, &signed, &fields, &at(coat), (held, house), faults, again).await
}
