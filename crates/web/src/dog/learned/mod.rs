//! What was learned of a dog: from which readings, how sure it is, what is still only expected, and which reading at
//! the next visit would teach most. Decides nothing: the sentences and numbers are the use case's.

mod next;
mod readings;
mod zones;

pub(super) use next::next;

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::id_of;
use crate::frame::Place;
use crate::state::State;
use crate::table::label;
use crate::ui;
use app::learning::{LearnReport, PaceReport, SurpriseReport};
use app::shop::{Minutes, RestsOn, Taught, Times};
use axum::extract::Path;
use coat::Day;
use maud::{Markup, html};

/// Days from today within which a date needs no year.
const NEAR_D: i32 = 180;

/// `the crest`, `the crest and neck sides`, `the crest, neck sides or back`.
fn listed(zones: &[String], last: &str) -> String {
    let names: Vec<String> = zones.iter().map(|z| label(z)).collect();
    match names.split_last() {
        Some((end, rest)) if !rest.is_empty() => format!("the {} {last} {end}", rest.join(", ")),
        Some((end, _)) => format!("the {end}"),
        None => String::new(),
    }
}

fn some(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// What a dog's plan rests on, in a sentence.
pub(super) fn rests_on(r: &RestsOn) -> String {
    let here = some(r.dogs, "other dog", "other dogs");
    let others = match (r.dogs, r.elsewhere) {
        (0, 0) => None,
        (0, n) => Some(format!("{} of its coat type in other shops", some(n, "dog", "dogs"))),
        (_, 0) => Some(format!("{here} of its coat type in this shop")),
        (_, n) => Some(format!("{here} of its coat type in this shop and {n} in other shops")),
    };
    match (r.readings, others) {
        (0, None) => "Nothing was learned of this dog yet: its plan rests on the defaults of its coat type.".into(),
        (0, Some(others)) => {
            format!("Nothing was learned of this dog itself yet: its plan rests on what was learned of {others}.")
        }
        (n, others) => format!(
            "Planned with what {} of this dog taught; where they say nothing, {} holds.",
            some(n, "reading", "readings"),
            others.map_or_else(
                || "the default of its coat type".to_owned(),
                |others| format!("what was learned of {others}")
            )
        ),
    }
}

/// What the dog's page says of it: what its plan rests on, the first of what was learned, and the way to the rest.
pub(super) fn in_short(id: &str, name: &str, r: &RestsOn) -> Markup {
    html! {
        div.learned {
            p.quiet { (rests_on(r)) }
            @for said in r.said.iter().take(2) { p { (said) } }
            p { a href=(format!("/dogs/{id}/learned")) { "What was learned of " (name) } }
        }
    }
}

pub(super) async fn show(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    Path(id): Path<String>,
) -> Result<Markup, Fault> {
    let id = id_of(&id)?;
    let desk = state.desk();
    let name = desk.dog(&signed.who, &id).await?.dog.body.name;
    let taught = super::refusal(desk.taught(&signed.who, signed.today, &id).await)?;
    let title = format!("What was learned of {name}");
    let main = html! {
        p { a href=(format!("/dogs/{id}")) { "‹ Back to " (name) } }
        h1 { (title) }
        @match &taught {
            Err(said) => div.notice.bad role="alert" {
                p { strong { "Nothing could be learned from what is written down." } }
                ul { @for s in said { li { (ui::sentence(s)) } } }
            },
            Ok(taught) => (told(&signed, id.as_str(), taught)),
        }
    };
    Ok(signed.page(Some(Place::Coats), &title, &main))
}

fn told(signed: &SignedIn, id: &str, taught: &Taught) -> Markup {
    let (r, rests) = (&taught.report, &taught.rests_on);
    html! {
        p { (rests_on(rests)) }
        @if rests.readings == 0 {
            p {
                "At its next visit write down what you read: the longest hair, the new layer, how easily it comes, or whether \
                 new hair is through. Each takes a moment at the table."
            }
        }
        @if !r.surprises.is_empty() { (surprises(signed, r)) }
        @if !rests.said.is_empty() {
            section aria-labelledby="short" {
                h2 #short { "In short" }
                ul { @for s in &rests.said { li { (s) } } }
            }
        }
        (next::to_come(id))
        (windows(signed, r))
        @if rests.readings > 0 { (zones::section(signed, r, rests)) }
        (pace(&r.pace, taught.minutes.as_ref()))
        (readings::list(signed, r))
        (readings::trust(r, rests))
        p.quiet { "Reminders, not a diagnosis: the law, licensed practice and the vet decide." }
    }
}

/// Readings that were not as foretold, with plain reasons, and with the caution where health may be one.
fn surprises(signed: &SignedIn, r: &LearnReport) -> Markup {
    let chance = |s: &SurpriseReport| match 100.0 * s.below.min(s.above) {
        p if p < 0.1 => "less than 0.1 %".to_owned(),
        p => format!("{p:.1} %"),
    };
    html! {
        section aria-labelledby="surprises" {
            h2 #surprises { "Not as foretold" }
            @for s in &r.surprises {
                @if let Some(x) = r.readings.get(s.reading) {
                    h3 { (ui::capital(&x.reading)) " of " (listed(&x.zones, "and")) ", " (signed.dates().long_text(&x.date)) ": " (readings::answer(signed, x)) }
                    p {
                        "By the visits before it, the chance of an answer as "
                        @if s.below < s.above { "low" } @else { "high" }
                        " as this was " (chance(s)) ". It may be:"
                    }
                    ul { @for reason in &s.reasons { li { (reason) } } }
                    @if let Some(caution) = &s.caution { p.caution { (caution) } }
                }
            }
        }
    }
}

/// A day near today with its weekday, one that is far with its year.
fn day(signed: &SignedIn, text: &str) -> String {
    match Day::parse(text) {
        Some(day) if (day - signed.today).abs() < NEAR_D => signed.dates().short(day),
        _ => signed.dates().long_text(text),
    }
}

/// When the next layers are ready; zones with one answer together.
fn windows(signed: &SignedIn, r: &LearnReport) -> Markup {
    let read = |zone: &str| r.zones.iter().any(|z| z.zone == zone && !z.from_readings.is_empty());
    let mut groups: Vec<(Vec<String>, bool, [&String; 4])> = Vec::new();
    for w in &r.windows {
        let (of, days) = (read(&w.zone), [&w.begun, &w.from, &w.until, &w.default]);
        match groups.iter_mut().find(|g| g.1 == of && g.2 == days) {
            Some(g) => g.0.push(w.zone.clone()),
            None => groups.push((vec![w.zone.clone()], of, days)),
        }
    }
    // What was read of this dog first.
    groups.sort_by_key(|g| !g.1);
    html! {
        @if !groups.is_empty() {
            section aria-labelledby="layers" {
                h2 #layers { "When the next layers are ready" }
                p { "Ready is a layer when half of what was taken then is ripe again. It is expected between the two days 8 times in 10." }
                @for (zones, read, [begun, from, until, default]) in &groups {
                    h3 {
                        (ui::capital(listed(zones, "and").trim_start_matches("the ")))
                        @if !read { " (not read)" }
                    }
                    dl.facts {
                        dt { "Begun" } dd { (day(signed, begun)) }
                        dt { "Ready between" } dd { (day(signed, from)) " and " (day(signed, until)) ", 8 in 10" }
                        dt { "By the default" } dd { (day(signed, default)) }
                    }
                }
            }
        }
    }
}

/// Minutes at the table against minutes reckoned: what the shop's clocks say, else those of this dog alone.
fn pace(p: &PaceReport, minutes: Option<&Minutes>) -> Markup {
    let range = |low: f64, high: f64| format!("{low:.2} to {high:.2}");
    let times = |t: &Times| {
        html! { strong { (format!("{:.2}", t.mean)) } " times the minutes reckoned, 8 in 10: " (range(t.low, t.high)) }
    };
    html! {
        section aria-labelledby="pace" {
            h2 #pace { "Minutes at the table" }
            @match (minutes, p.mean) {
                (Some(m), _) => {
                    p {
                        @match &m.groomer {
                            Some(name) => { "Visits with " (name) " take " }
                            None => { "Nobody is set to work this dog; visits of such dogs take " }
                        }
                        (times(&m.of_groomer))
                        ", by " (some(m.groomer_clocks, "clock", "clocks")) " on all dogs; typed in is " (format!("{:.2}", m.typed)) "."
                    }
                    p {
                        "This dog takes " strong { (format!("{:.2}", m.of_dog.mean)) } " times what others take, 8 in 10: "
                        (range(m.of_dog.low, m.of_dog.high)) ", by " (some(m.dog_clocks, "clock", "clocks")) "."
                    }
                    p { "Its plan goes by both together: " (times(&m.together)) "." }
                    p.quiet { "From the clocks of visits before today. A clock that was left running moves little." }
                }
                (None, None) => p { "No clock was read of this dog: the minutes go by the pace typed in for who works it." },
                (None, Some(mean)) => {
                    p {
                        "Visits of this dog take " strong { (format!("{mean:.2}")) } " times the minutes that are reckoned for an \
                         even pace, by " (some(p.clocks, "clock", "clocks")) "."
                    }
                    dl.facts {
                        dt { "The dog's part" } dd { (range(p.dog_low, p.dog_high)) ", 8 in 10" }
                        dt { "The groomer's part" } dd { (range(p.groomer_low, p.groomer_high)) ", 8 in 10" }
                    }
                    p.quiet { "From the clocks of one dog alone the two can hardly be told apart; only together they are sure. Plans go by them from tomorrow." }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_plan_rests_on_is_said_truly() {
        let both = |readings, dogs, elsewhere| rests_on(&RestsOn { readings, dogs, elsewhere, said: Vec::new() });
        let of = |readings, dogs| both(readings, dogs, 0);
        assert!(of(0, 0).contains("defaults of its coat type"));
        assert!(of(0, 3).contains("3 other dogs of its coat type in this shop"), "{}", of(0, 3));
        assert!(of(1, 0).contains("what 1 reading of this dog"), "{}", of(1, 0));
        assert!(both(0, 0, 1).ends_with("learned of 1 dog of its coat type in other shops."), "{}", both(0, 0, 1));
        assert!(both(2, 3, 7).contains("3 other dogs of its coat type in this shop and 7 in other shops holds"));
        assert!(of(9, 1).contains("9 readings") && of(9, 1).contains("1 other dog of"), "{}", of(9, 1));
    }

    #[test]
    fn zones_are_listed_in_words() {
        let of = |zones: &[&str]| listed(&zones.iter().map(|z| (*z).to_owned()).collect::<Vec<_>>(), "or");
        assert_eq!(of(&["back"]), "the back");
        assert_eq!(of(&["back", "hind_legs", "loin"]), "the back, hind legs or loin");
    }
}
