//! One zone on the work page: what is planned, and the forms that say what was done.

use super::readings::readings;
use super::view::{Lengths, WorkView, ZoneView, in_words, standing};
use maud::{Markup, html};

/// Where the forms of a visit go.
pub(crate) fn action(work: &WorkView) -> String {
    format!("/visits/{}/tap?once={}", work.visit, work.once)
}

/// An amount with the layer, in a few words.
pub(crate) fn amount(amount: &str, layer_mm: Option<f64>, lengths: Lengths) -> String {
    let spoken = if amount == "all ripe" { "all that is ripe" } else { amount };
    match layer_mm.filter(|_| amount != "leave") {
        Some(mm) => format!("{spoken}, the {} layer", lengths.say(mm)),
        None => spoken.to_owned(),
    }
}

/// Its row.
pub(crate) fn row(work: &WorkView, zone: &ZoneView) -> Markup {
    let now = standing(&work.entries, Some(&zone.zone));
    let done = now.iter().find(|(p, _)| *p == "amount").map(|(_, e)| in_words(&e.body.what, work.lengths));
    let stop = now.iter().any(|(_, e)| matches!(e.body.what, app::shop::Entry::Ease { ease } if ease >= 4));
    let skin = now.iter().any(|(_, e)| matches!(e.body.what, app::shop::Entry::Skin { .. }));
    let read: Vec<String> = now
        .iter()
        .filter(|(p, _)| !matches!(*p, "amount" | "clock" | "more"))
        .map(|(_, e)| in_words(&e.body.what, work.lengths))
        .collect();
    let open = work.open.as_deref() == Some(zone.zone.as_str());
    let form = format!("f-{}", zone.zone);
    let short = amount(&zone.amount, zone.layer_mm, work.lengths);
    html! {
        li.zone-row.done[done.is_some()] id=(format!("z-{}", zone.zone)) data-row=(zone.zone) data-label=(zone.label)
            data-min=(format!("{:.2}", zone.work_min)) data-work=(if zone.is_worked() { "yes" } else { "no" }) {
            details open[open] {
                summary {
                    span.zone-name { (zone.label) }
                    span.zone-amount { (short) }
                    span.taken { @if let Some(done) = &done { "Done: " (done) } }
                    span.read { (read.join(", ")) }
                }
                (body(work, zone, &form, &short, (open, stop, skin)))
            }
            button.quick form=(form) name="entry" value="{\"do\":\"as_planned\"}"
                aria-label=(format!("{} as planned: {short}", zone.label)) { "As planned" }
        }
    }
}

fn body(work: &WorkView, zone: &ZoneView, form: &str, short: &str, (open, stop, skin): (bool, bool, bool)) -> Markup {
    let action = action(work);
    html! {
        div.zone-body {
            div.stop role="alert" hidden[!stop] {
                strong { "Stop here: this zone is set. Go on to the next." }
                button type="button" data-go="next" { "Next zone" }
            }
            p.skin-here.caution hidden[!skin] {
                "Something was found on the skin here. Leave this skin alone; the vet decides when it may be touched."
            }
            @if !zone.works.is_empty() { p.works { (zone.works.join(", then ")) "." } }
            dl {
                dt { "How much" } dd.how-much { (short) }
                @if let Some(feel) = &zone.feel { dt { "Should feel" } dd { (feel) } }
                @if !zone.leave.is_empty() { dt { "Leave" } dd { (zone.leave) } }
                @if zone.work_min > 0.0 { dt { "Minutes" } dd { (format!("{:.0}", zone.work_min.ceil())) } }
            }
            p.lowered { (zone.lowered.as_deref().unwrap_or("")) }
            p.reason { (zone.reason) }
            @for caution in &zone.cautions { p.caution { (caution) } }
            div.clock {
                button type="button" data-clock=(zone.zone) {
                    span.clock-do { "Start the clock" } " " span.clock-at { "0:00" }
                }
                span.clock-note hidden {
                    "This clock ran for more than four hours: it is taken as forgotten. Write the minutes below."
                }
            }
            form #(form) data-tap="next" method="post" action=(action) {
                input type="hidden" name="zone" value=(zone.zone);
                button.main name="entry" value="{\"do\":\"as_planned\"}" { "As planned: " (short) }
            }
            div.readings {
                @if open { (readings(&action, &zone.zone, work.lengths)) }
                @else {
                    p.unscripted {
                        a href=(format!("/visits/{}?zone={}#z-{}", work.visit, zone.zone, zone.zone)) { "Another amount, and what was read" }
                    }
                }
            }
        }
    }
}
