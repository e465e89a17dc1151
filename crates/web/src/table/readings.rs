//! What was read off a zone, each one tap: the buttons, and the drawn comb depths.

use super::view::Lengths;
use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

/// Upper ends of the first four comb depths, mm; the fifth is all above. As in `learn` (the dog's file, `longest_depth`).
pub(crate) const DEPTHS_MM: [f64; 4] = [5.0, 12.0, 20.0, 32.0];

/// Amounts that a hand can count, as shares: the hand steps of the plan, and the few above them.
const AMOUNTS: [(&str, &str); 11] = [
    ("1 in 20", "0.05"),
    ("1 in 15", "0.0667"),
    ("1 in 12", "0.0833"),
    ("1 in 10", "0.1"),
    ("1 in 8", "0.125"),
    ("1 in 6", "0.1667"),
    ("1 in 5", "0.2"),
    ("1 in 4", "0.25"),
    ("1 in 3", "0.3333"),
    ("half", "0.5"),
    ("3 in 4", "0.75"),
];

/// Ease from 1 to 5.
pub(crate) const EASE: [&str; 5] = ["falls out", "easily", "with a pull", "hardly", "will not come"];

/// Kinds of tool.
const TOOLS: [&str; 8] = [
    "fingers",
    "rubber finger cots",
    "fine knife",
    "stripping knife",
    "carding knife",
    "blending shears",
    "scissors",
    "clipper",
];

/// A button that is one entry.
fn tap(entry: &str, words: &str) -> Markup {
    html! { button.chip name="entry" value=(entry) { (words) } }
}

/// A row of buttons with its name.
fn row(name: &str, buttons: &Markup) -> Markup {
    html! {
        fieldset.chips { legend { (name) } (buttons) }
    }
}

/// Other amounts than the planned one.
fn amounts() -> Markup {
    row(
        "Another amount was pulled",
        &html! {
            @for (words, share) in AMOUNTS { (tap(&format!("{{\"do\":\"pulled\",\"share\":{share}}}"), words)) }
            (tap("{\"do\":\"all_ripe\"}", "all that was ripe"))
            (tap("{\"do\":\"left\"}", "left it"))
        },
    )
}

/// A comb of five teeth with hair that reaches so deep into it.
fn comb(depth: usize) -> PreEscaped<String> {
    const TEETH: [f64; 4] = [10.0, 18.0, 26.0, 34.0];
    let top = 4.0 + [24.0, 19.0, 14.0, 9.0, 1.0][depth - 1];
    let mut d = String::new();
    for x in [6.0, 14.0, 22.0, 30.0, 38.0] {
        let _ = write!(d, "M{x} 4V34");
    }
    let mut hair = String::new();
    for x in TEETH {
        let _ = write!(hair, "M{x} 40Q{} {} {} {top}", x + 1.5, (40.0 + top) / 2.0, x + 0.5);
    }
    PreEscaped(format!(
        "<svg viewBox=\"0 0 44 42\" width=\"44\" height=\"42\" aria-hidden=\"true\" focusable=\"false\">\
         <path class=\"comb\" d=\"M3 4H41{d}\"/><path class=\"hair\" d=\"{hair}\"/></svg>"
    ))
}

fn depth_words(depth: usize, lengths: Lengths) -> String {
    match depth {
        5 => format!("more than {}", lengths.say(DEPTHS_MM[3])),
        k => format!("up to {}", lengths.say(DEPTHS_MM[k - 1])),
    }
}

fn depths(name: &str, entry: &str, lengths: Lengths) -> Markup {
    row(
        name,
        &html! {
            @for k in 1..=5 {
                button.chip.depth name="entry" value=(format!("{{\"do\":\"{entry}\",\"depth\":{k}}}")) {
                    (comb(k)) span { (depth_words(k, lengths)) }
                }
            }
        },
    )
}

/// A length typed in. A form of its own.
fn typed(action: &str, zone: &str, entry: &str, name: &str, lengths: Lengths) -> Markup {
    let most = if lengths.inches { "16" } else { "400" };
    html! {
        form.typed data-tap="reset" method="post" action=(action) {
            input type="hidden" name="zone" value=(zone);
            input type="hidden" name="entry" value=(format!("{{\"do\":\"{entry}\"}}"));
            label { (name) ", " (lengths.word())
                input type="number" inputmode="decimal" step="any" min="0" max=(most) required
                    name=(format!("{}.mm", lengths.letter()));
            }
            button { "Keep" }
        }
    }
}

/// Other amounts and all readings of a zone. `action` is where the forms go, `zone` whose they are; empty in the template.
pub(crate) fn readings(action: &str, zone: &str, lengths: Lengths) -> Markup {
    html! {
        form data-tap="next" method="post" action=(action) {
            input type="hidden" name="zone" value=(zone);
            (amounts())
        }
        form data-tap="stay" method="post" action=(action) {
            input type="hidden" name="zone" value=(zone);
            (row("How it came out", &html! {
                @for (k, words) in EASE.iter().enumerate() {
                    (tap(&format!("{{\"do\":\"ease\",\"ease\":{}}}", k + 1), &format!("{} {words}", k + 1)))
                }
            }))
            (row("New hair through the skin", &html! {
                (tap("{\"do\":\"new_hair\",\"yes\":true}", "yes"))
                (tap("{\"do\":\"new_hair\",\"yes\":false}", "not yet"))
            }))
            (row("The hair feels", &html! {
                @for feel in ["soft", "between", "harsh"] {
                    (tap(&format!("{{\"do\":\"feel\",\"feel\":\"{feel}\"}}"), feel))
                }
            }))
            (depths("Longest hair, by the comb", "longest_depth", lengths))
            (depths("New layer, by the comb", "new_layer_depth", lengths))
            (row("Cover by eye", &html! {
                @for percent in [30, 40, 50, 60, 70, 80, 90, 100] {
                    (tap(&format!("{{\"do\":\"cover\",\"share\":{}}}", f64::from(percent) / 100.0), &format!("{percent} %")))
                }
            }))
            (row("Carded", &html! {
                (tap("{\"do\":\"carded\",\"yes\":true}", "yes"))
                (tap("{\"do\":\"carded\",\"yes\":false}", "no"))
            }))
            (row("Tool", &html! {
                @for tool in TOOLS { (tap(&format!("{{\"do\":\"tool\",\"tool\":\"{tool}\"}}"), tool)) }
            }))
        }
        (typed(action, zone, "longest_mm", "Longest hair", lengths))
        (typed(action, zone, "new_layer_mm", "New layer", lengths))
        form.typed data-tap="reset" method="post" action=(action) {
            input type="hidden" name="zone" value=(zone);
            input type="hidden" name="entry" value="{\"do\":\"clock\",\"running\":false}";
            label { "Minutes, by another clock"
                input type="number" inputmode="decimal" step="any" min="0" max="600" required name="m.seconds";
            }
            button { "Keep" }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use app::shop::Entry;

    #[test]
    fn every_button_is_an_entry() {
        let mm = Lengths { inches: false };
        let page = readings("/x", "back", mm).into_string();
        let mut n = 0;
        for tag in page.split("<button").skip(1).filter_map(|b| b.split_once('>')).map(|b| b.0) {
            let Some(value) = tag.split_once("value=\"").and_then(|b| b.1.split_once('"')) else { continue };
            let json = value.0.replace("&quot;", "\"");
            serde_json::from_str::<Entry>(&json).unwrap_or_else(|e| panic!("{json}: {e}"));
            n += 1;
        }
        assert_eq!(n, 5 + 2 + 3 + 5 + 5 + 8 + 2 + TOOLS.len() + AMOUNTS.len() + 2);
        assert!(page.contains("up to 20 mm") && page.contains("more than 32 mm"));
    }
}
