//! The readings themselves, and how far what was learned from them can be trusted.

use super::some;
use crate::access::SignedIn;
use crate::dog::page::length;
use crate::dog::plan::table;
use crate::table::label;
use app::learning::{LearnReport, ReadingReport};
use app::shop::RestsOn;
use maud::{Markup, html};

/// Readings listed, the newest first: those of a year at a rhythm of three weeks and more.
const MOST: usize = 200;

/// The answer as it was written, lengths as the shop has them.
pub(super) fn answer(signed: &SignedIn, r: &ReadingReport) -> String {
    let mm = r.answer.strip_suffix(" mm").and_then(|n| n.parse::<f64>().ok());
    mm.map_or_else(|| r.answer.clone(), |mm| length(mm, signed.house.units))
}

/// `From 5 readings, 12 August to 4 November 2026: 3 of the longest hair, 2 of the ease.`
pub(super) fn sources(signed: &SignedIn, r: &LearnReport, places: &[usize]) -> String {
    let from: Vec<&ReadingReport> = places.iter().filter_map(|i| r.readings.get(*i)).collect();
    let mut kinds: Vec<(&str, usize)> = Vec::new();
    for x in &from {
        match kinds.iter_mut().find(|k| k.0 == x.reading) {
            Some(k) => k.1 += 1,
            None => kinds.push((&x.reading, 1)),
        }
    }
    let kinds: Vec<String> = kinds.iter().map(|(kind, n)| format!("{kind} {n}")).collect();
    let day = |d: Option<&String>| d.map_or_else(String::new, |d| signed.dates().long_text(d));
    let (first, last) = (from.iter().map(|x| &x.date).min(), from.iter().map(|x| &x.date).max());
    let when =
        if first == last { format!("on {}", day(first)) } else { format!("from {} to {}", day(first), day(last)) };
    format!("{} {when}: {}.", some(from.len(), "reading", "readings"), kinds.join(", "))
}

/// All readings, and those that say nothing with the reason.
pub(super) fn list(signed: &SignedIn, r: &LearnReport) -> Markup {
    let rows: Vec<Vec<String>> = r
        .readings
        .iter()
        .rev()
        .take(MOST)
        .map(|x| {
            let zones: Vec<String> = x.zones.iter().map(|z| label(z)).collect();
            let says = x.unused.as_ref().map_or_else(|| "counts".to_owned(), |why| format!("says nothing: {why}"));
            let day = signed.dates().long_text(&x.date);
            vec![day, x.reading.to_string(), zones.join(", "), answer(signed, x), says]
        })
        .collect();
    let silent = r.readings.iter().filter(|x| x.unused.is_some()).count();
    html! {
        @if !rows.is_empty() {
            details {
                summary {
                    "The " (some(r.readings.len(), "reading", "readings"))
                    @if silent > 0 { ", " (silent) " of them without a say" }
                }
                @if r.readings.len() > MOST { p.quiet { "The newest " (MOST) " of them; all stand in what was done." } }
                (table("The readings", &["Day", "What", "Where", "Answer", "Counts"], &rows))
            }
        }
    }
}

/// How the numbers came about.
pub(super) fn trust(r: &LearnReport, rests: &RestsOn) -> Markup {
    let d = &r.diagnostics;
    let figure =
        |x: Option<f64>, digits: usize| x.map_or_else(|| "not available".to_owned(), |x| format!("{x:.digits$}"));
    html! {
        @if rests.readings > 0 {
            details {
                summary { "How far these figures can be trusted" }
                p {
                    "The numbers are drawn from all coats that fit the readings, by how well they fit: " (d.draws) " draws in four chains, \
                     with the coat followed day by day " (d.replays) " times."
                }
                dl.facts {
                    dt { "Effective sample size" } dd { (figure(d.ess, 0)) ": so many independent draws would be as good" }
                    dt { "R-hat" } dd { (figure(d.r_hat, 2)) ": near 1 where the chains agree" }
                    dt { "k-hat" } dd { (figure(d.k_hat, 2)) ": up to 0.7 the draws fit the coat model itself" }
                }
                @for why in &d.not_available { p.quiet { "Not available, " (why) "." } }
                p {
                    "How well hands and combs read a coat is assumed, not measured. A single absurd entry moves little. The coat is taken to \
                     stay as it is: one that changes is noticed, not followed."
                }
            }
        }
    }
}
