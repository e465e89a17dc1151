//! The work at the table: one page that fills the screen.

use super::readings::{EASE, readings};
use super::view::{KeptEntry, WorkView, in_words, standing};
use super::zone::{action, amount, row};
use app::shop::Entry;
use coat::Zone;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use paper::drawing::{DrawingOptions, Theme, ZoneLook, dog_svg};

/// Agents by kind, with their contact time. Ten minutes is what published labels ask for (from memory); the label of
/// the agent at hand decides, and the page says so.
const AGENTS: [(&str, i64); 3] = [("disinfectant bath", 10), ("disinfectant spray", 10), ("disinfectant wipes", 10)];

/// What of the page is the same on every page, given by the frame.
pub(crate) struct Dress {
    /// Light, dark, or as the system has it.
    pub(crate) look: crate::frame::Look,
    /// Style sheets.
    pub(crate) styles: Vec<String>,
    /// The script.
    pub(crate) script: String,
    /// The modules that it needs, to be fetched at once.
    pub(crate) modules: Vec<String>,
    /// The icon.
    pub(crate) icon: String,
}

/// The whole page.
pub(crate) fn page(work: &WorkView, dress: &Dress) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" data-look=(dress.look.word()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="color-scheme" content=(dress.look.scheme());
                title { (work.name) " at the table" }
                link rel="icon" href=(dress.icon);
                @for style in &dress.styles { link rel="stylesheet" href=(style); }
                @for module in &dress.modules { link rel="modulepreload" href=(module); }
                script type="module" src=(dress.script) {}
            }
            body.work data-visit=(work.visit) data-shop=(work.shop) data-inches=[work.lengths.inches.then_some("yes")] {
                (head(work))
                main #work { (top(work)) (zones(work)) (whole_dog(work)) (finish(work)) }
                (bar())
                (data(work))
                template #readings { (readings("", "", work.lengths)) }
            }
        }
    }
}

fn head(work: &WorkView) -> Markup {
    let planned: f64 = work.zones.iter().map(|z| z.work_min).sum();
    html! {
        header.work-head {
            a.back href=(format!("/table?day={}", work.day)) aria-label="Back to the table" { "‹ Table" }
            div.who {
                h1 { (work.name) }
                p.about { (work.about) }
            }
            p #progress { (format!("{planned:.0} min planned")) }
            p #net role="status" data-state="kept" {
                noscript { "Each button is kept in the shop at once. Without the network it cannot be." }
            }
        }
        div.notices {
            p.caution #store-full hidden {
                "This browser keeps nothing on its own: its store is full, or this is a private window. What you write is sent at \
                 once and held in this page while the network is gone. Keep the page open until all is kept in the shop."
            }
            p.caution #signed-out hidden {
                "You were signed out. What you wrote is kept and goes on being kept here. "
                a href=(format!("/sign-in?then=%2Fvisits%2F{}", work.visit)) { "Sign in" } ", and it will be sent."
            }
            div.caution #refused hidden {
                p { "The shop did not take these entries:" }
                ul {}
                button type="button" #refused-seen { "I have seen it" }
            }
        }
    }
}

fn top(work: &WorkView) -> Markup {
    let skin: Vec<&KeptEntry> = work.entries.iter().filter(|e| matches!(e.body.what, Entry::Skin { .. })).collect();
    html! {
        @if work.done {
            section.reopen {
                p { "This visit is finished. What you write or take back here counts once you finish it again." }
            }
        }
        section.cautions aria-label="Cautions" {
            @let note = work.bearings.iter().find(|b| b.0 == work.bearing).map_or("", |b| b.1.as_str());
            p.caution #bearing-note hidden[note.is_empty()] { (note) }
            ul.caution { @for caution in &work.cautions { li { (caution) } } }
        }
        section aria-label="The drawing" {
            div #drawing { (drawing(work)) }
            p.help { "Tap a zone to open it. Numbers say how much of the hair one sees is pulled; a zone that is done is drawn pale." }
            p.help #drawing-stale hidden { "The numbers on the drawing are those from before the dog's bearing was changed; the list is right." }
            ol #skin-list {
                @for (i, e) in skin.iter().enumerate() {
                    li { (i + 1) ". " (e.body.zone.as_deref().unwrap_or("the dog")) ": " (in_words(&e.body.what, work.lengths)) }
                }
            }
        }
    }
}

/// The drawing, in colours that follow the page's theme.
fn drawing(work: &WorkView) -> PreEscaped<String> {
    let looks: Vec<ZoneLook> = work
        .zones
        .iter()
        .filter_map(|z| {
            let zone = Zone::parse(&z.zone)?;
            let worked = z.amount != "leave";
            Some(ZoneLook {
                zone,
                // A quarter is the most that a layered zone gives: the scale ends where the hand's steps do.
                value: worked.then(|| (z.share / 0.5).clamp(0.0, 1.0)),
                label: match z.amount.as_str() {
                    "leave" => String::new(),
                    "all ripe" => "ripe".into(),
                    other => other.replace("1 in ", "1/"),
                },
                caution: false,
                emphasised: false,
            })
        })
        .collect();
    let options = DrawingOptions {
        theme: Theme::Light,
        title: format!("{} in zones", work.name),
        description: "How much of the hair is to be pulled in each zone today. The list below says the same.".into(),
        scale_caption: "little|share of the visible hair|half".into(),
        legend: false,
        labels: true,
    };
    PreEscaped(follow_theme(&dog_svg(&looks, &options)))
}

/// Colours of the light palette become the page's own, so that one drawing serves both themes.
pub(crate) fn follow_theme(svg: &str) -> String {
    let p = Theme::Light.palette();
    let mut out = svg.to_owned();
    for (colour, name) in
        [(p.paper, "--paper"), (p.text, "--text"), (p.quiet, "--quiet"), (p.ink, "--ink"), (p.accent, "--accent")]
    {
        out = out.replace(&format!("\"{colour}\""), &format!("\"var({name})\""));
    }
    out
}

fn zones(work: &WorkView) -> Markup {
    let (worked, left): (Vec<_>, Vec<_>) = work.zones.iter().partition(|z| z.is_worked());
    html! {
        section aria-label="Zones in working order" {
            h2 { "In this order" }
            p.help { "First look over and feel the skin, ears, nails; brush out." }
            @if worked.is_empty() { p { "Nothing is to be taken today; why, stands with each zone below." } }
            ol.zones { @for zone in worked { (row(work, zone)) } }
            @if !left.is_empty() {
                h2 { "Leave today" }
                ol.zones.leave { @for zone in left { (row(work, zone)) } }
            }
        }
    }
}

fn whole_dog(work: &WorkView) -> Markup {
    let action = action(work);
    html! {
        section.whole aria-label="The whole dog" {
            h2 { "How the dog bears it" }
            form data-tap="stay" method="post" action=(action) {
                fieldset.chips { legend.unseen { "Bearing" }
                    @for (word, says) in [("calm", "calm"), ("fidgets", "fidgets"), ("objects", "objects")] {
                        button.chip name="entry" value=(format!("{{\"do\":\"bearing\",\"bearing\":\"{word}\"}}")) { (says) }
                    }
                }
            }
            p.help { "A dog that fidgets or objects gets less next time. Stop before it turns into a fight." }
            form data-tap="stay" method="post" action=(action) {
                fieldset.chips { legend { "How it came out, the whole dog" }
                    @for (k, words) in EASE.iter().enumerate() {
                        button.chip name="entry" value=(format!("{{\"do\":\"ease\",\"ease\":{}}}", k + 1)) { (k + 1) " " (words) }
                    }
                }
            }
            (skin(work, &action))
            (tools(&action))
            (product(work, &action))
            h2 { "Note" }
            form data-tap="reset" method="post" action=(action) {
                input type="hidden" name="entry" value="{\"do\":\"note\"}";
                label { "Note for the next visit" textarea name="t.note" rows="2" maxlength="2000" required {} }
                button { "Keep the note" }
            }
            (log(work, &action))
        }
    }
}

fn skin(work: &WorkView, action: &str) -> Markup {
    html! {
        h2 { "Something on the skin" }
        p.caution {
            "Stop and leave that skin alone. Never strip broken, crusted, hot, sore or infected skin. "
            (app::cautions::RINGWORM) " Write down what you see; the vet says what it is."
        }
        form #skin-form data-tap="reset" method="post" action=(action) {
            input type="hidden" name="entry" value="{\"do\":\"skin\"}";
            input type="hidden" name="n.x" value="0.5";
            input type="hidden" name="n.y" value="0.5";
            p #skin-help role="status" {}
            button.scripted type="button" #skin-mark { "Mark it on the drawing" }
            label { "Zone"
                select name="zone" {
                    @for zone in &work.zones { option value=(zone.zone) { (zone.label) } }
                }
            }
            label { "What you see" textarea name="t.note" rows="2" maxlength="2000" required {} }
            button { "Keep the finding" }
        }
    }
}

fn tools(action: &str) -> Markup {
    html! {
        h2 { "Tools disinfected" }
        p #contact {}
        p #contact-over role="status" {}
        form data-tap="stay" method="post" action=(action) {
            fieldset.chips { legend.unseen { "Agent, by kind" }
                @for (agent, min) in AGENTS {
                    button.chip name="entry" value=(format!("{{\"do\":\"disinfected\",\"agent\":\"{agent}\",\"contact_min\":{min}}}")) {
                        (agent) ", " (min) " min"
                    }
                }
            }
        }
        p.help { "Ten minutes of contact, or what the agent's label says if that is longer." }
    }
}

fn product(work: &WorkView, action: &str) -> Markup {
    html! {
        h2 { "Bathed with" }
        form data-tap="reset" method="post" action=(action) {
            input type="hidden" name="entry" value="{\"do\":\"product\"}";
            label { "Product, by kind" input name="t.what" maxlength="120" required; }
            label { "Batch" input name="t.batch" maxlength="120"; }
            label { "Opened on" input type="date" name="t.opened" max=(work.today); }
            button { "Keep the product" }
        }
    }
}

fn log(work: &WorkView, action: &str) -> Markup {
    html! {
        details.log {
            summary { "What was written, newest first" }
            ol #log {
                @for e in work.entries.iter().rev() {
                    li {
                        span { (e.body.zone.as_deref().unwrap_or("the dog")) ": " (in_words(&e.body.what, work.lengths)) }
                        form.inline method="post" action=(action) {
                            button name="entry" value=(format!("{{\"do\":\"undo\",\"entry\":\"{}\"}}", e.id)) { "Take back" }
                        }
                    }
                }
            }
        }
    }
}

fn finish(work: &WorkView) -> Markup {
    let open: usize = work
        .zones
        .iter()
        .filter(|z| z.is_worked() && !standing(&work.entries, Some(&z.zone)).iter().any(|(p, _)| *p == "amount"))
        .count();
    html! {
        section.finish aria-label="Finish" {
            p { "Then pads and feet, comb up, look from three sides, take what stands out." }
            form #finish method="get" action=(format!("/visits/{}/finish", work.visit)) {
                button.main { "Finish the visit" }
            }
            p #finish-waits role="status" hidden {}
            p.help.unscripted { (open) " zones are not written down yet." }
        }
    }
}

fn bar() -> Markup {
    html! {
        nav.work-bar.scripted aria-label="At hand" {
            button type="button" #undo { "Undo" }
            span #bar-clock { "no clock" }
            button type="button" #next { "Next zone" }
        }
    }
}

/// Entries for the script. `<` is written so that no text in them can end the element.
fn data(work: &WorkView) -> Markup {
    let entries: Vec<serde_json::Value> =
        work.entries.iter().map(|e| serde_json::json!({ "id": e.id, "body": e.body })).collect();
    let advice: serde_json::Map<String, serde_json::Value> = work
        .zones
        .iter()
        .map(|z| {
            let of = |a: &(&'static str, String, String)| {
                (a.0.to_owned(), serde_json::json!([amount(&a.1, z.layer_mm, work.lengths), a.2]))
            };
            (z.zone.clone(), z.advice.iter().map(of).collect::<serde_json::Map<_, _>>().into())
        })
        .collect();
    let bearings: serde_json::Map<String, serde_json::Value> =
        work.bearings.iter().map(|(word, note)| ((*word).to_owned(), note.as_str().into())).collect();
    let json = serde_json::json!({
        "entries": entries, "known": work.known, "advice": advice, "bearing": work.bearing, "bearings": bearings,
    })
    .to_string()
    .replace('<', "\\u003c");
    html! { script type="application/json" #work-data { (PreEscaped(json)) } }
}
