//! Pieces of the steps: one of several with what belongs to each, a box with what belongs to it.

use super::View;
use crate::ui::{said, sentence};
use maud::{Markup, html};

/// One way to answer.
pub(super) struct Way<'a> {
    pub(super) value: &'a str,
    pub(super) label: &'a str,
    pub(super) help: &'a str,
    /// What is asked where this is chosen.
    pub(super) more: Option<Markup>,
}

impl<'a> Way<'a> {
    /// A way with nothing more to ask.
    pub(super) const fn plain(value: &'a str, label: &'a str, help: &'a str) -> Self {
        Way { value, label, help, more: None }
    }
}

/// One of several.
pub(super) fn one_of(view: &View<'_>, name: &str, legend: &str, ways: &[Way<'_>], chosen: &str) -> Markup {
    let fault = said(view.faults, name);
    let fault_id = format!("{name}-fault");
    html! {
        fieldset.ways id=(name) tabindex="-1" aria-describedby=[fault.map(|_| &fault_id)] {
            legend { (legend) }
            @if let Some(s) = fault { p.fault id=(fault_id) { (sentence(s)) } }
            @for way in ways {
                @let id = format!("{name}-{}", way.value);
                @let help_id = format!("{id}-help");
                div.way {
                    div.tick {
                        input id=(id) type="radio" name=(name) value=(way.value) checked[way.value == chosen] required
                            aria-describedby=[(!way.help.is_empty()).then_some(&help_id)];
                        label for=(id) { (way.label) }
                        @if !way.help.is_empty() { p.help id=(help_id) { (way.help) } }
                    }
                    @if let Some(more) = &way.more { div.more { (more) } }
                }
            }
        }
    }
}

/// A box, and what is asked where it is ticked.
pub(super) fn tick_with(view: &View<'_>, name: &str, label: &str, help: &str, more: &Markup) -> Markup {
    let fault = said(view.faults, name);
    let (help_id, fault_id) = (format!("{name}-help"), format!("{name}-fault"));
    let by: Vec<&str> = [fault.map(|_| fault_id.as_str()), Some(help_id.as_str()).filter(|_| !help.is_empty())]
        .into_iter()
        .flatten()
        .collect();
    let by = (!by.is_empty()).then(|| by.join(" "));
    html! {
        div.way {
            @if let Some(s) = fault { p.fault id=(fault_id) { (sentence(s)) } }
            div.tick {
                input id=(name) type="checkbox" name=(name) value="on" checked[view.fields.ticked(name)] aria-describedby=[by];
                label for=(name) { (label) }
                @if !help.is_empty() { p.help id=(help_id) { (help) } }
            }
            div.more { (more) }
        }
    }
}
