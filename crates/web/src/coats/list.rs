//! The list of coats: what is found, one line a dog, and the way to the next page.

use super::{FILTERS, Wanted};
use crate::access::SignedIn;
use crate::ui::coded;
use app::shop::{Found, Listed};
use coat::Day;
use maud::{Markup, html};

pub(super) fn list(signed: &SignedIn, wanted: &Wanted<'_>, listed: &Listed) -> Markup {
    html! {
        div #list {
            nav aria-label="Which coats" {
                ul.filters {
                    @for f in FILTERS {
                        li { a href=(wanted.at(f.0)) aria-current=[(f.0 == wanted.filter.0).then_some("page")] { (f.2) } }
                    }
                }
            }
            p.quiet role="status" { (counted(wanted, listed.count)) }
            @if !listed.found.is_empty() {
                ul.list { @for f in &listed.found { li { (line(signed, f)) } } }
            }
            @if let Some((name, dog)) = &listed.next {
                p {
                    a.button href=(format!("{}&name={}&after={dog}", wanted.at(wanted.filter.0), coded(name))) { "The next ones" }
                }
            }
        }
    }
}

fn counted(wanted: &Wanted<'_>, count: u64) -> String {
    let all = wanted.words.is_empty() && wanted.filter.0 == "all";
    match (count, all) {
        (0, true) => "No dog yet.".to_owned(),
        (0, false) => "No dog is found by that. Try fewer letters, or all coats.".to_owned(),
        (1, _) => "One dog.".to_owned(),
        (n, _) => format!("{n} dogs."),
    }
}

fn line(signed: &SignedIn, f: &Found) -> Markup {
    html! {
        a href=(format!("/dogs/{}", f.dog)) {
            span.name { (f.name) }
            span.when { (when(signed, f)) }
            span.quiet { (f.breed) @if !f.breed.is_empty() && !f.owner.is_empty() { ", " } (f.owner) }
            span.marks {
                @if f.resting { span.mark { "resting" } }
                @if f.rolling { span.mark { "rolling" } }
                @if f.hard { span.mark { "hard" } }
                @if let Some(min) = f.work_min { span.mark { (format!("{min:.0} min")) } }
            }
            @if !f.line.is_empty() { span.more { (f.line) } }
        }
    }
}

/// When the dog should come, as one says it.
fn when(signed: &SignedIn, f: &Found) -> Markup {
    let dates = signed.dates();
    let day = |text: &Option<String>| text.as_deref().and_then(Day::parse);
    html! {
        @match (day(&f.ready), day(&f.due)) {
            (None, None) if f.reckoned.is_empty() => { span.quiet { "being reckoned" } }
            (_, Some(due)) if due < signed.today => { strong.mark.strong { "past its day" } " since " (dates.short(due)) }
            (Some(ready), _) if ready <= signed.today + 7 => { strong { "ready this week" } }
            (Some(ready), _) => { "ready " (dates.short(ready)) }
            (None, Some(due)) => { "by " (dates.short(due)) }
            (None, None) => {}
        }
    }
}
