//! What was done to a coat, as events that can be added and corrected; a correction says what it changed.

use super::page::length;
use crate::access::SignedIn;
use crate::conflict::{Sent, both_or};
use crate::fault::Fault;
use crate::fields::{Fields, id_of};
use crate::frame::Place;
use crate::state::State;
use crate::table::label;
use crate::ui::{self, Field, choice, field, tick};
use crate::words::{in_units, mm_of, unit};
use app::shop::{Correction, DogCard, EventBody, Held, RecordBody, RecordId, Said, ShopFailure, Units};
use axum::Router;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use coat::Zone;
use maud::{Markup, html};

pub(super) fn routes() -> Router<State> {
    Router::new()
        .route("/dogs/{id}/history/new", get(new).post(add))
        .route("/dogs/{id}/history/{event}", get(show).post(save))
        .route("/dogs/{id}/history/{event}/drop", post(take_out))
}

/// What can happen to a coat: its word, and how one says it.
const KINDS: [(&str, &str); 6] = [
    ("visit", "a visit: pulled layer by layer"),
    ("flat", "stripped flat"),
    ("clipped", "clipped"),
    ("rolled", "rolled elsewhere from this day on"),
    ("left alone", "left alone from this day on"),
    ("missed", "a visit was missed"),
];

/// What happened to the coat, the newest first.
pub(super) fn list(signed: &SignedIn, card: &DogCard) -> Markup {
    let at = format!("/dogs/{}/history", card.dog.id);
    html! {
        section aria-labelledby="done" {
            h2 #done { "What was done" }
            @if card.events.is_empty() { p.quiet { "Nothing is written down: the coat counts as left alone." } }
            ol.list reversed {
                @for e in card.events.iter().rev() {
                    li.line {
                        p { strong { (signed.dates().long_text(&e.body.day)) } " " (in_words(&e.body, signed.house.units)) }
                        a href=(format!("{at}/{}", e.id)) { "Correct" span.unseen { " what stands for " (signed.dates().long_text(&e.body.day)) } }
                    }
                }
            }
            p { a.button href=(format!("{at}/new")) { "Write something down" } }
        }
    }
}

fn in_words(e: &EventBody, units: Units) -> String {
    let mut text = e.event.clone();
    if let Some(mm) = e.length_mm {
        text.push_str(&format!(" to {}", length(mm, units)));
    }
    if let Some(weeks) = e.every_weeks {
        text.push_str(&format!(", every {weeks} weeks"));
    }
    if let Some(minutes) = e.work_min {
        text.push_str(&format!(", {minutes:.0} minutes"));
    }
    match e.zones.len() {
        0 => {}
        1 => text.push_str(", 1 entry by zone"),
        n => text.push_str(&format!(", {n} entries by zone")),
    }
    text
}

/// What a form of an event holds, and what is wrong with it.
struct Form<'a> {
    card: &'a DogCard,
    /// The event corrected; none for a new one.
    of: Option<&'a Held<EventBody>>,
    seen: i64,
    /// The id that a new one is kept under, however often its form is sent; empty for a correction.
    fresh: &'a str,
    event: &'a EventBody,
    /// As typed, where it was.
    typed: Option<&'a Fields>,
    faults: &'a [Said],
}

impl Form<'_> {
    /// A field as typed, else as kept.
    fn value(&self, name: &str, kept: impl FnOnce() -> String) -> String {
        self.typed.map_or_else(kept, |t| t.text(name).to_owned())
    }
}

fn number(x: Option<f64>) -> String {
    x.map_or_else(String::new, |x| format!("{}", (x * 100.0).round() / 100.0))
}

/// Where the form of an event goes; of a new one where there is none.
fn address(dog: &RecordId, of: Option<&Held<EventBody>>) -> String {
    format!("/dogs/{dog}/history/{}", of.map_or("new", |e| e.id.as_str()))
}

fn page(signed: &SignedIn, form: &Form<'_>) -> Markup {
    let (units, e) = (signed.house.units, form.event);
    let back = format!("/dogs/{}", form.card.dog.id);
    let action = address(&form.card.dog.id, form.of);
    let title = if form.of.is_some() { "Correct what was done" } else { "Write down what was done" };
    let put = |name: &str, label: &str, value: String, unit: &str, help: &str| {
        field(
            &Field { name, label, value: &value, unit, help, keys: "decimal", optional: true, ..Field::default() },
            form.faults,
        )
    };
    let day = form.value("day", || e.day.clone());
    let kind = form.value("event", || e.event.clone());
    let mm = e.length_mm.map_or_else(String::new, |mm| in_units(mm, units));
    let main = html! {
        h1 { (title) ": " (form.card.dog.body.name) }
        (ui::faults(form.faults))
        form.small method="post" action=(action) {
            input type="hidden" name="seen" value=(form.seen);
            @if form.of.is_none() { input type="hidden" name="id" value=(form.fresh); }
            (field(&Field { name: "day", label: "Day", value: &day, kind: "date", ..Field::default() }, form.faults))
            (choice("event", "What", "", &KINDS, &kind, form.faults))
            div.row {
                (put("length_mm", "Clipped to", form.value("length_mm", || mm), unit(units), "For a clip."))
                (put("every_weeks", "Every", form.value("every_weeks", || number(e.every_weeks)), "weeks", "For clips that were repeated, and for a coat rolled elsewhere."))
                (put("months", "For so long", form.value("months", || number(e.months)), "months", "For clips that were repeated."))
                (put("work_min", "At the table", form.value("work_min", || number(e.work_min)), "min", "For a visit."))
                (put("ease", "How easily it came", form.value("ease", || number(e.ease.map(f64::from))), "1 to 5", "For a visit: 1 falls out, 5 will not come."))
            }
            @for (i, z) in e.zones.iter().enumerate() { (zone_entry(signed, form, i, z)) }
            (zone_entry(signed, form, e.zones.len(), &RecordBody::default()))
            div.actions { button.main type="submit" { "Save" } a href=(format!("{back}#done")) { "Back to " (form.card.dog.body.name) } }
        }
        @if form.of.is_some() {
            form method="post" action=(format!("{action}/drop")) {
                input type="hidden" name="seen" value=(form.seen);
                button.plain type="submit" { "It never happened: take it out" }
            }
        }
    };
    signed.page(Some(Place::Coats), title, &main)
}

/// What a visit did to one zone or several; the last one is for another.
fn zone_entry(signed: &SignedIn, form: &Form<'_>, i: usize, z: &RecordBody) -> Markup {
    let units = signed.house.units;
    let name = |field: &str| format!("zones.{i}.{field}");
    let at = |field: &str, kept: String| form.value(&name(field), || kept);
    let put = |what: &str, label: &str, kept: String, unit: &str| {
        let (name, value) = (name(what), at(what, kept));
        field(
            &Field { name: &name, label, value: &value, unit, keys: "decimal", optional: true, ..Field::default() },
            form.faults,
        )
    };
    let ticked = |what: &str, kept: bool| form.typed.map_or(kept, |t| t.ticked(&name(what)));
    let labels: Vec<String> = z.zones.iter().map(|z| label(z)).collect();
    let mm = |x: Option<f64>| x.map_or_else(String::new, |x| in_units(x, units));
    let choices: Vec<(&str, &str)> =
        [("", "none")].into_iter().chain(Zone::ALL.iter().map(|z| (z.word(), z.label()))).collect();
    html! {
        fieldset {
            legend { @if labels.is_empty() { "Another zone of the visit" } @else { (labels.join(", ")) } }
            @if labels.is_empty() { (choice(&name("zone"), "Zone", "", &choices, &at("zone", String::new()), form.faults)) }
            @else { (tick(&name("gone"), "Take this entry out", "", ticked("gone", false))) }
            div.row {
                (put("share", "Pulled, of the hair one saw", number(z.share.map(|s| 100.0 * s)), "%"))
                (put("longest_mm", "Longest hair", mm(z.longest_mm), unit(units)))
                (put("new_layer_mm", "New layer", mm(z.new_layer_mm), unit(units)))
                (put("ease", "Ease", number(z.ease.map(f64::from)), "1 to 5"))
            }
            (tick(&name("all_ripe"), "All that was ripe came out", "", ticked("all_ripe", z.all_ripe)))
            (tick(&name("carded"), "Carded", "", ticked("carded", z.carded)))
        }
    }
}

/// The event as the form has it; what the form does not show stays as `before` has it.
fn read(fields: &Fields, before: &EventBody, units: Units) -> (EventBody, Vec<Said>) {
    let mut faults = Vec::new();
    let mut e = before.clone();
    e.day = fields.text("day").to_owned();
    e.event = fields.text("event").to_owned();
    let mut value = |name: &str, what: fn(&str, Units) -> Option<f64>, hint: &str| {
        let text = fields.some(name)?;
        let x = what(text, units);
        if x.is_none() {
            faults.push(ui::fault(name, format!("`{}` is no number", ui::short(text)), hint));
        }
        x
    };
    let plain: fn(&str, Units) -> Option<f64> = |t, _| mm_of(t, Units::Mm);
    e.length_mm = value("length_mm", mm_of, "Write the length that stayed.");
    e.every_weeks = value("every_weeks", plain, "Write weeks, 1 to 52.");
    e.months = value("months", plain, "Write months.");
    e.work_min = value("work_min", plain, "Write minutes.");
    e.ease = value("ease", plain, "Write 1, 2, 3, 4 or 5.").map(whole);
    let mut zones = Vec::new();
    for i in 0..=before.zones.len() {
        let name = |field: &str| format!("zones.{i}.{field}");
        if fields.ticked(&name("gone")) {
            continue;
        }
        let mut z = before.zones.get(i).cloned().unwrap_or_default();
        if z.zones.is_empty() {
            match fields.some(&name("zone")) {
                Some(word) => z.zones = vec![word.to_owned()],
                None => continue,
            }
        }
        z.all_ripe = fields.ticked(&name("all_ripe"));
        z.carded = fields.ticked(&name("carded"));
        let share = value(&name("share"), plain, "Write a share, 0 to 100 %.").map(|s| s / 100.0);
        z.share = share.filter(|_| !z.all_ripe);
        z.longest_mm = value(&name("longest_mm"), mm_of, "Write a length.");
        z.new_layer_mm = value(&name("new_layer_mm"), mm_of, "Write a length.");
        z.ease = value(&name("ease"), plain, "Write 1, 2, 3, 4 or 5.").map(whole);
        zones.push(z);
    }
    e.zones = zones;
    (e, faults)
}

/// A mark of 1 to 5; what is none becomes 0, which is refused with its reason.
fn whole(x: f64) -> u8 {
    if x.fract() == 0.0 && (1.0..=5.0).contains(&x) { x as u8 } else { 0 }
}

async fn new(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Markup, Fault> {
    let card = state.desk().dog(&signed.who, &id_of(&id)?).await?;
    let event = EventBody::of(signed.today.to_string(), "visit");
    let fresh = state.fresh().text();
    Ok(page(&signed, &Form { card: &card, of: None, seen: 0, fresh: &fresh, event: &event, typed: None, faults: &[] }))
}

/// The dog, and the event of the address.
async fn found(state: &State, signed: &SignedIn, id: &str, event: &str) -> Result<(DogCard, Held<EventBody>), Fault> {
    let card = state.desk().dog(&signed.who, &id_of(id)?).await?;
    let of = card.events.iter().find(|e| e.id.as_str() == event).cloned().ok_or(Fault::NotFound)?;
    Ok((card, of))
}

async fn show(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path((id, event)): Path<(String, String)>,
) -> Result<Markup, Fault> {
    let (card, of) = found(&state, &signed, &id, &event).await?;
    Ok(page(
        &signed,
        &Form { card: &card, of: Some(&of), seen: of.revision, fresh: "", event: &of.body, typed: None, faults: &[] },
    ))
}

async fn add(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
    fields: Fields,
) -> Result<Response, Fault> {
    let card = state.desk().dog(&signed.who, &id_of(&id)?).await?;
    let id =
        id_of(fields.text("id")).map_err(|_| Fault::Bad("This form is damaged. Open it anew from the dog's page."))?;
    let blank = EventBody::of(String::new(), String::new());
    let (event, faults) = read(&fields, &blank, signed.house.units);
    let again = |fresh: &str, faults: &[Said]| {
        let form = Form { card: &card, of: None, seen: 0, fresh, event: &blank, typed: Some(&fields), faults };
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&signed, &form)).into_response())
    };
    if !faults.is_empty() {
        return again(id.as_str(), &faults);
    }
    match state.desk().add_event(&signed.who, signed.today, &card.dog.id, &id, event).await {
        Ok(done) if done.again => Ok(told(&signed, &card, &done, "Written down once already.").into_response()),
        Ok(done) => Ok(told(&signed, &card, &done, "Written down.").into_response()),
        Err(ShopFailure::Refused(said)) => again(id.as_str(), &said),
        Err(ShopFailure::Conflict { stands, .. }) if stands.id == id => {
            let why = "something else was written down with this form already";
            let hint = "Look at what was done. If this is to be written down as well, save it once more.";
            again(&state.fresh().text(), &[ui::fault("", why, hint)])
        }
        Err(other) => Err(other.into()),
    }
}

async fn save(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path((id, event)): Path<(String, String)>,
    fields: Fields,
) -> Result<Response, Fault> {
    let (card, of) = found(&state, &signed, &id, &event).await?;
    put(&state, &signed, &card, &of, &fields).await
}

async fn put(
    state: &State,
    signed: &SignedIn,
    card: &DogCard,
    of: &Held<EventBody>,
    fields: &Fields,
) -> Result<Response, Fault> {
    let (event, faults) = read(fields, &of.body, signed.house.units);
    let again = |faults: &[Said]| {
        let (seen, typed) = (fields.seen(), Some(fields));
        let form = Form { card, of: Some(of), seen, fresh: "", event: &of.body, typed, faults };
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page(signed, &form)).into_response())
    };
    if !faults.is_empty() {
        return again(&faults);
    }
    let (desk, dog) = (state.desk(), &card.dog.id);
    match desk.set_event(&signed.who, signed.today, dog, Some(&of.id), fields.seen(), event).await {
        Ok(done) => Ok(told(signed, card, &done, "Written down.").into_response()),
        Err(ShopFailure::Refused(said)) => again(&said),
        Err(other) => {
            let action = address(dog, Some(of));
            let sent = Sent { fields, action: &action, back: &format!("/dogs/{dog}#done"), place: Place::Coats };
            both_or(state, signed, &sent, other).await
        }
    }
}

async fn take_out(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path((id, event)): Path<(String, String)>,
    fields: Fields,
) -> Result<Response, Fault> {
    let (card, of) = found(&state, &signed, &id, &event).await?;
    match state.desk().drop_event(&signed.who, signed.today, &card.dog.id, &of.id, fields.seen()).await {
        Ok(done) => Ok(told(&signed, &card, &done, "Taken out.").into_response()),
        Err(ShopFailure::Refused(said)) => {
            let form = Form {
                card: &card,
                of: Some(&of),
                seen: fields.seen(),
                fresh: "",
                event: &of.body,
                typed: None,
                faults: &said,
            };
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&signed, &form)).into_response())
        }
        Err(other) => {
            let dog = &card.dog.id;
            let action = format!("{}/drop", address(dog, Some(&of)));
            let sent =
                Sent { fields: &fields, action: &action, back: &format!("/dogs/{dog}#done"), place: Place::Coats };
            both_or(&state, &signed, &sent, other).await
        }
    }
}

/// What a correction came to.
fn told(signed: &SignedIn, card: &DogCard, done: &Correction, what: &str) -> Markup {
    let main = html! {
        h1 { (card.dog.body.name) }
        div.notice role="status" {
            p { strong { (what) } @if !done.again { " The coat was worked out anew from there on." } }
            @if done.again { p { "This form was sent before; nothing was added now." } }
            @else if done.changed.is_empty() { p { "Nothing that one would see changed." } } @else {
                ul { @for line in &done.changed { li { (line) } } }
            }
        }
        @if !done.saved.warnings.is_empty() {
            ul { @for w in &done.saved.warnings { li { (ui::sentence(w)) } } }
        }
        p { a.button.main href=(format!("/dogs/{}", card.dog.id)) { "Back to " (card.dog.body.name) } }
    };
    signed.page(Some(Place::Coats), &card.dog.body.name, &main)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn events_are_said_in_words() {
        let mut e = EventBody::of("2026-11-25", "clipped");
        (e.length_mm, e.every_weeks) = (Some(9.0), Some(8.0));
        assert_eq!(in_words(&e, Units::Mm), "clipped to 9 mm, every 8 weeks");
        assert_eq!(in_words(&e, Units::Inches), "clipped to 0.35 in, every 8 weeks");
    }

    #[test]
    fn a_form_keeps_what_it_does_not_show() {
        let mut before = EventBody::of("2026-11-04", "visit");
        let zone = RecordBody {
            zones: vec!["back".into()],
            feel: Some("harsh".into()),
            share: Some(0.2),
            ..RecordBody::default()
        };
        before.zones = vec![zone, RecordBody { zones: vec!["neck".into()], ..RecordBody::default() }];
        let fields = Fields::parse(b"day=2026-11-05&event=visit&zones.0.share=25&zones.0.longest_mm=31,5&zones.1.gone=on&zones.2.zone=loin&zones.2.ease=9").unwrap();
        let (e, faults) = read(&fields, &before, Units::Mm);
        assert!(faults.is_empty(), "{faults:?}");
        assert_eq!((e.day.as_str(), e.zones.len()), ("2026-11-05", 2));
        assert_eq!(
            (e.zones[0].share, e.zones[0].longest_mm, e.zones[0].feel.as_deref()),
            (Some(0.25), Some(31.5), Some("harsh"))
        );
        assert_eq!(
            (e.zones[1].zones[0].as_str(), e.zones[1].ease),
            ("loin", Some(0)),
            "9 is refused by the file's rules"
        );
    }
}
