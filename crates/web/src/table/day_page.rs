//! The Table: the dogs of a day in order.

use maud::{Markup, html};

/// One dog of the day.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LineView {
    /// The visit.
    pub(crate) visit: String,
    /// The dog.
    pub(crate) dog: String,
    /// Its name.
    pub(crate) name: String,
    /// Breed and owner.
    pub(crate) about: String,
    /// Small picture, where there is one.
    pub(crate) picture: Option<String>,
    /// Minutes.
    pub(crate) work_min: Option<f64>,
    /// What it needs, in one line.
    pub(crate) needs: String,
    /// Cautions beyond those that always hold.
    pub(crate) cautions: Vec<String>,
    /// Where it stands.
    pub(crate) state: LineState,
}

/// Where a visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LineState {
    /// Planned.
    Planned,
    /// At the table.
    AtTable,
    /// Done.
    Done,
    /// Missed.
    Missed,
    /// Called off.
    CalledOff,
}

impl LineState {
    const fn word(self) -> &'static str {
        match self {
            LineState::Planned => "planned",
            LineState::AtTable => "at the table",
            LineState::Done => "done",
            LineState::Missed => "missed",
            LineState::CalledOff => "called off",
        }
    }
}

/// A day at the table.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DayView {
    /// The day, `YYYY-MM-DD`.
    pub(crate) day: String,
    /// The day in words.
    pub(crate) spoken: String,
    /// The day before and the day after.
    pub(crate) around: (String, String),
    /// Today, `YYYY-MM-DD`.
    pub(crate) today: String,
    /// The dogs in order.
    pub(crate) lines: Vec<LineView>,
    /// What was looked for to be added.
    pub(crate) asked: String,
    /// Dogs found for it: id, name, about.
    pub(crate) found: Vec<(String, String, String)>,
    /// Something to be said above the list.
    pub(crate) said: Option<String>,
}

/// The page's own part.
pub(crate) fn page(day: &DayView) -> Markup {
    let open = day.lines.iter().filter(|l| matches!(l.state, LineState::Planned | LineState::AtTable));
    let (dogs, minutes) = open.fold((0, 0.0), |(n, m), l| (n + 1, m + l.work_min.unwrap_or(0.0)));
    html! {
        h1 { "Table" }
        nav.days aria-label="Days" {
            a href=(format!("/table?day={}", day.around.0)) { "Day before" }
            strong { (day.spoken) }
            a href=(format!("/table?day={}", day.around.1)) { "Day after" }
            @if day.day != day.today { a href="/table" { "Today" } }
        }
        @if let Some(said) = &day.said { p.notice role="status" { (said) } }
        p #net role="status" data-state="kept" {}
        @if day.lines.is_empty() { p { "No dog is down for this day. Add one below, or look under Coats for those that are ready." } }
        @else if dogs > 0 {
            p { (dogs) @if dogs == 1 { " dog" } @else { " dogs" } " to come, " (format!("{minutes:.0}")) " minutes of work." }
        }
        p.caution { (app::cautions::NEVER_ALONE) }
        ol.table-day { @for line in &day.lines { (dog(line)) } }
        (add(day))
    }
}

fn dog(line: &LineView) -> Markup {
    let to = |what: &str| format!("/visits/{}/{what}", line.visit);
    html! {
        li.table-dog data-state=(line.state.word()) {
            div.picture {
                @if let Some(picture) = &line.picture { img src=(picture) alt="" loading="lazy" width="120" height="90"; }
                @else { (mark()) }
            }
            div.what {
                h2 { a href=(format!("/dogs/{}", line.dog)) { (line.name) } }
                p.about { (line.about) }
                p.needs {
                    @if let Some(min) = line.work_min { strong { (format!("{min:.0} min")) } ", " }
                    (line.needs)
                }
                @for caution in &line.cautions { p.caution { (caution) } }
                p.state { (line.state.word()) }
            }
            div.act {
                @match line.state {
                    LineState::Planned => {
                        form method="post" action=(to("begin")) { button.main { "To the work" } }
                        details {
                            summary { "It does not come" }
                            form method="post" action=(to("missed")) { button { "Missed" } }
                            form method="post" action=(to("off")) { button { "Called off" } }
                        }
                    }
                    LineState::AtTable => { a.button.main href=(format!("/visits/{}", line.visit)) { "Back to the work" } }
                    LineState::Done => { a.button href=(to("finish")) { "What was done" } }
                    LineState::Missed | LineState::CalledOff => {
                        form method="post" action=(to("begin")) { button { "It came after all: to the work" } }
                    }
                }
            }
        }
    }
}

/// Where no picture is yet: a terrier's head in one line, ours.
fn mark() -> Markup {
    html! {
        svg viewBox="0 0 120 90" width="120" height="90" aria-hidden="true" focusable="false" {
            path d="M22 62c4-8 6-16 7-24 1-10 8-17 18-18 4-7 11-9 17-7l-3 10c5 2 8 5 11 9 8 2 17 3 22 8 2 3 1 7-2 9-2 8-8 15-17 17-7 2-13 1-18-2-3 6-9 11-17 13z" {}
            path d="M61 23c-2 5-5 8-9 9M66 34l4 1M92 41l4 1M75 66c-1 4-3 8-6 11M82 66c0 5-2 9-5 12M68 63c-2 5-5 9-9 11" {}
        }
    }
}

fn add(day: &DayView) -> Markup {
    html! {
        section.table-add {
            h2 { "Add a dog to this day" }
            form method="get" action="/table" role="search" {
                input type="hidden" name="day" value=(day.day);
                label for="add-q" { "Dog or owner, any part of the name" }
                div.with-button {
                    input id="add-q" name="q" type="search" value=(day.asked) maxlength="100";
                    button { "Look" }
                }
            }
            @if !day.asked.is_empty() && day.found.is_empty() {
                p { "No dog is found by that. Try a shorter part of the name, or " a href="/dogs/new" { "take a new dog in" } "." }
            }
            @if !day.found.is_empty() {
                ul.found {
                    @for (id, name, about) in &day.found {
                        li {
                            form method="post" action="/table/visits" {
                                input type="hidden" name="day" value=(day.day);
                                input type="hidden" name="dog" value=(id);
                                button { "Add " (name) }
                                span.about { (about) }
                            }
                        }
                    }
                }
            }
        }
    }
}
