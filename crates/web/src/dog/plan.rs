//! The plan on a dog's page: the coat today, the next visit with its reasons, how it goes on.

use super::learned;
use super::page::length;
use super::{slug, units_of};
use crate::access::SignedIn;
use crate::frame::Look;
use crate::table::label;
use app::report::{Milestones, PlanReport, Rung, VisitReport, WayReport};
use app::shop::Planned;
use maud::{Markup, html};
use paper::drawing::shade::Shade;

/// How the coat stands, with what lowers or has learned into the plan.
pub(super) fn today(signed: &SignedIn, id: &str, planned: &Planned, by: Shade) -> Markup {
    let r = &planned.report;
    html! {
        @for caution in &r.cautions { p.caution { (caution) } }
        (learned::in_short(id, &r.dog, &planned.rests_on))
        @if let Some(note) = &planned.note { p.notice { (note) } }
        section aria-labelledby="today" {
            h2 #today { "The coat today" }
            nav aria-label="What the drawing shows" {
                ul.filters {
                    @for s in Shade::ALL {
                        li { a href=(format!("/dogs/{id}?by={}", slug(s))) aria-current=[(s == by).then_some("page")] { (s.word()) } }
                    }
                }
            }
            (picture(signed, &format!("/dogs/{id}/drawing.svg?by={}", slug(by)), &format!("{}, every zone shaded by its {}", r.dog, by.word()), Kind::Drawing))
        }
    }
}

/// What is to come: the next visit, the visits after it, milestones, the ladder of rhythms.
pub(super) fn ahead(signed: &SignedIn, id: &str, planned: &Planned) -> Markup {
    let r = &planned.report;
    html! {
        @if let Some(visit) = r.visits.first() { (next(signed, id, planned, visit)) }
        @if !r.ways.is_empty() { (ways(signed, &r.ways)) }
        (after(signed, r))
        (milestones(signed, &r.milestones))
        (ladder(&r.ladder, &r.ladder_reason))
    }
}

/// The measures over time, as a picture and as numbers.
pub(super) fn measures(signed: &SignedIn, id: &str, r: &PlanReport) -> Markup {
    html! {
        section aria-labelledby="time" {
            h2 #time { "The coat over the coming months" }
            (picture(signed, &format!("/dogs/{id}/measures.svg?"), &format!("The measures of {}'s coat over time; the table below has the numbers", r.dog), Kind::OnePartUnderTheOther))
            p.quiet { "Shaded: 8 in 10 of the coats that fit what is known of this dog today, worked as planned; the more is read, the narrower. Lines are what the plan counts on: it goes by readings only as far as they are sure, so a line can lie off its shade." }
            details {
                summary { "The numbers behind it" }
                (numbers(signed, r))
            }
        }
    }
}

/// What a picture is like.
#[derive(Clone, Copy)]
pub(super) enum Kind {
    /// One drawing, at the top: fetched with the page.
    Drawing,
    /// Parts side by side, on a phone one under the other; fetched when it comes near to being seen, so that a slow
    /// line brings what stands at the top first.
    OnePartUnderTheOther,
}

/// A picture for light and for dark, as the person has chosen or as the system has it.
pub(super) fn picture(signed: &SignedIn, at: &str, alt: &str, kind: Kind) -> Markup {
    let (loading, narrows) = match kind {
        Kind::Drawing => ("eager", false),
        Kind::OnePartUnderTheOther => ("lazy", true),
    };
    let in_theme = |theme: &str| format!("{at}&theme={theme}");
    let narrow = |theme: &str| format!("{}&width=narrow", in_theme(theme));
    let chosen = if signed.look == Look::Dark { "dark" } else { "light" };
    let by_system = signed.look == Look::System;
    // The same width as in the style sheet.
    let phone = "(max-width: 40rem)";
    html! {
        picture {
            @if narrows && by_system {
                source srcset=(narrow("dark")) media=(format!("{phone} and (prefers-color-scheme: dark)")) width="500" height="1100";
            }
            @if narrows { source srcset=(narrow(chosen)) media=(phone) width="500" height="1100"; }
            @if by_system { source srcset=(in_theme("dark")) media="(prefers-color-scheme: dark)"; }
            img.wide src=(in_theme(chosen)) alt=(alt) width="960" height="690" loading=(loading);
        }
    }
}

pub(super) fn table(name: &str, heads: &[&str], rows: &[Vec<String>]) -> Markup {
    html! {
        div.scroll tabindex="0" role="group" aria-label=(name) {
            table {
                thead { tr { @for h in heads { th scope="col" { (h) } } } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn min(minutes: f64) -> String {
    format!("{minutes:.0}")
}

fn next(signed: &SignedIn, id: &str, planned: &Planned, visit: &VisitReport) -> Markup {
    let day = signed.dates().long_text(&visit.date);
    html! {
        section aria-labelledby="next" {
            h2 #next { "The next visit: " (day) }
            p {
                (min(visit.min)) " minutes"
                @if let Some(price) = planned.price { ", " (format!("{price:.2} {}", signed.house.currency)) }
                "."
            }
            @if let Some(more) = &visit.ten_more_min { p { (more) } }
            form.with-button method="post" action="/table/visits" {
                input type="hidden" name="dog" value=(id);
                label for="day" { "Put it on a day of the Table" }
                input #day type="date" name="day" value=(visit.date) min=(signed.today) required;
                button { "Put it down" }
            }
            ol.zones {
                @for z in &visit.zones {
                    li {
                        p.first {
                            strong { (label(z.zone)) } " " (z.amount_words)
                            @if let Some(mm) = z.layer_mm { ", " (length(mm, signed.house.units)) " long" }
                            span.when { (min(z.min)) " min" }
                        }
                        p { (z.works.join(", ")) @if !z.leave.is_empty() { "; leave: " (z.leave) } }
                        p.quiet { (z.reason) }
                        @for c in &z.cautions { p.caution { (c) } }
                    }
                }
            }
        }
    }
}

fn ways(signed: &SignedIn, ways: &[WayReport]) -> Markup {
    let dates = signed.dates();
    html! {
        section aria-labelledby="ways" {
            h2 #ways { "Ways to begin" }
            @for w in ways {
                h3 { (w.way) }
                p { (w.note) }
                p {
                    "Rolling " @if let Some(day) = &w.rolling { "from " (dates.long_text(day)) } @else { "not within a year" }
                    ", " (format!("{:.0}", w.weeks_bare)) " weeks bare, " (min(w.min)) " minutes until the plan's last day."
                }
                @for c in &w.cautions { p.caution { (c) } }
            }
        }
    }
}

fn after(signed: &SignedIn, r: &PlanReport) -> Markup {
    let rows: Vec<Vec<String>> = r
        .visits
        .iter()
        .map(|v| {
            let coat = r.forecast.iter().find(|c| c.date == v.date && c.at == "after");
            let share = |x: Option<f64>| x.map_or_else(String::new, |x| format!("{:.0} %", 100.0 * x));
            let of = |m: fn(&app::report::DogCoatReport) -> Option<f64>| share(coat.and_then(|c| m(&c.dog)));
            vec![signed.dates().long_text(&v.date), min(v.min), of(|d| d.cover), of(|d| d.evenness), of(|d| d.hard)]
        })
        .collect();
    html! {
        section aria-labelledby="visits" {
            h2 #visits { "The visits, every " (r.rhythm_days) " days" }
            (table("The visits of the plan", &["Day", "Minutes", "Cover after it", "Evenness", "Hard"], &rows))
            @if !r.late.is_empty() { (late(signed, r)) }
        }
    }
}

/// What a late next visit costs.
fn late(signed: &SignedIn, r: &PlanReport) -> Markup {
    let rows: Vec<Vec<String>> = r
        .late
        .iter()
        .map(|l| {
            let even = match l.visits_to_recover {
                Some(0) => "at once".to_owned(),
                Some(1) => "after 1 visit".to_owned(),
                Some(n) => format!("after {n} visits"),
                None => format!("not before {}", signed.dates().long_text(&l.until)),
            };
            vec![l.days_late.to_string(), format!("{:+.1} %", 100.0 * r.objective.share(l.cost)), even]
        })
        .collect();
    html! {
        h3 { "If the next visit is late" }
        (table("What a late next visit costs", &["Days late", "Cost of the plan", "Even again"], &rows))
        p.quiet { "A visit missed altogether counts as " (r.rhythm_days) " days late." }
    }
}

fn milestones(signed: &SignedIn, m: &Milestones) -> Markup {
    let day = |d: &Option<String>| milestone(signed, d.as_deref());
    html! {
        section aria-labelledby="marks" {
            h2 #marks { "Milestones" }
            dl.facts {
                dt { "Rolling" } dd { (day(&m.rolling)) }
                dt { "Furnishings" } dd { (day(&m.furnishings)) }
                dt { "Hard" } dd { (day(&m.hard)) }
            }
        }
    }
}

/// The day of a milestone in words.
pub(super) fn milestone(signed: &SignedIn, day: Option<&str>) -> String {
    day.map_or_else(|| "not before the plan's last day".to_owned(), |d| signed.dates().long_text(d))
}

fn ladder(rungs: &[Rung], reason: &str) -> Markup {
    let rows: Vec<Vec<String>> = rungs
        .iter()
        .map(|g| {
            let price = match (g.price_per_year, &g.currency) {
                (Some(price), Some(currency)) => format!("{price:.0} {currency}"),
                _ => String::new(),
            };
            vec![
                format!("{} days{}", g.rhythm_days, if g.recommended { ", recommended" } else { "" }),
                format!("{:.0} %", 100.0 * g.cover),
                format!("{:.0} %", 100.0 * g.evenness),
                format!("{:.0}", g.visits_per_year),
                min(g.min_per_year),
                price,
            ]
        })
        .collect();
    html! {
        section aria-labelledby="ladder" {
            h2 #ladder { "How often" }
            p { (reason) }
            (table("The ladder of rhythms", &["Rhythm", "Cover", "Evenness", "Visits a year", "Minutes a year", "Price a year"], &rows))
        }
    }
}

/// The numbers behind the picture of measures.
fn numbers(signed: &SignedIn, r: &PlanReport) -> Markup {
    let text = paper::measures::measures_table(r, units_of(signed));
    let mut lines = text.lines().map(|l| l.split('\t').map(str::to_owned).collect::<Vec<_>>());
    let heads = lines.next().unwrap_or_default();
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    table("Measures over time", &heads, &lines.collect::<Vec<_>>())
}
