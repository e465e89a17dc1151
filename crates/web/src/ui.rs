//! Pieces that many pages are made of: fields with their faults, amounts of text, addresses.

use crate::fields::Fields;
use app::shop::Said;
use maud::{Markup, html};

/// A text as part of an address (RFC 3986, unreserved characters stay).
pub(crate) fn coded(text: &str) -> String {
    text.bytes()
        .map(|b| match b {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => char::from(b).to_string(),
            _ => format!("%{b:02X}"),
        })
        .collect()
}

/// The path if it stays on this site, the front page otherwise: where to go on after signing in.
pub(crate) fn inside(path: &str) -> &str {
    let second = path.as_bytes().get(1).copied().unwrap_or(b'x');
    let plain = path.bytes().all(|b| b.is_ascii_graphic());
    if path.starts_with('/') && !matches!(second, b'/' | b'\\') && plain { path } else { "/" }
}

/// One field of a form.
#[derive(Clone, Copy, Default)]
pub(crate) struct Field<'a> {
    /// Its name in the form; its id as well. Faults are found by it.
    pub(crate) name: &'a str,
    /// What people read.
    pub(crate) label: &'a str,
    /// What it holds.
    pub(crate) value: &'a str,
    /// Kind of input; `text` when empty, `area` for several lines.
    pub(crate) kind: &'a str,
    /// What helps to fill it in.
    pub(crate) help: &'a str,
    /// What a password keeper or the browser may fill in.
    pub(crate) fill: &'a str,
    /// Which keyboard a phone shows.
    pub(crate) keys: &'a str,
    /// May stay empty.
    pub(crate) optional: bool,
    /// Needed only where the choice above it is made: the server asks for it then.
    pub(crate) by_choice: bool,
    /// Most characters; 200 when 0.
    pub(crate) most: usize,
    /// Unit behind it.
    pub(crate) unit: &'a str,
}

/// What is wrong with a field, if anything.
pub(crate) fn said<'a>(all: &'a [Said], name: &str) -> Option<&'a Said> {
    all.iter().find(|s| s.field == name)
}

/// The field with its label, its help, and what is wrong with it.
pub(crate) fn field(f: &Field<'_>, faults: &[Said]) -> Markup {
    let fault = said(faults, f.name);
    let (help_id, fault_id) = (format!("{}-help", f.name), format!("{}-fault", f.name));
    let mut by = Vec::new();
    if fault.is_some() {
        by.push(fault_id.as_str());
    }
    if !f.help.is_empty() {
        by.push(help_id.as_str());
    }
    let by = (!by.is_empty()).then(|| by.join(" "));
    let kind = if f.kind.is_empty() { "text" } else { f.kind };
    let needed = !f.optional && !f.by_choice;
    let most = if f.most == 0 { 200 } else { f.most };
    let (fill, keys) = (Some(f.fill).filter(|t| !t.is_empty()), Some(f.keys).filter(|t| !t.is_empty()));
    html! {
        div.field.wrong[fault.is_some()] {
            label for=(f.name) { (f.label) @if f.optional { span.quiet { " (may stay empty)" } } }
            @if !f.help.is_empty() { p.help id=(help_id) { (f.help) } }
            @if let Some(s) = fault { p.fault id=(fault_id) { (sentence(s)) } }
            @if kind == "area" {
                textarea id=(f.name) name=(f.name) rows="4" maxlength=(most) autocomplete=[fill]
                    required[needed] aria-describedby=[by.as_deref()] aria-invalid=[fault.map(|_| "true")] { (f.value) }
            } @else {
                span.with-unit {
                    input id=(f.name) name=(f.name) type=(kind) value=(f.value) maxlength=(most) autocomplete=[fill]
                        inputmode=[keys] required[needed] aria-describedby=[by.as_deref()]
                        aria-invalid=[fault.map(|_| "true")];
                    @if !f.unit.is_empty() { span.unit { (f.unit) } }
                }
            }
        }
    }
}

/// A choice of one from a list.
pub(crate) fn choice(
    name: &str,
    label: &str,
    help: &str,
    options: &[(&str, &str)],
    chosen: &str,
    faults: &[Said],
) -> Markup {
    let fault = said(faults, name);
    let help_id = format!("{name}-help");
    html! {
        div.field.wrong[fault.is_some()] {
            label for=(name) { (label) }
            @if !help.is_empty() { p.help id=(help_id) { (help) } }
            @if let Some(s) = fault { p.fault { (sentence(s)) } }
            select id=(name) name=(name) aria-describedby=[(!help.is_empty()).then_some(&help_id)]
                aria-invalid=[fault.map(|_| "true")] {
                @for (value, text) in options {
                    option value=(value) selected[*value == chosen] { (text) }
                }
            }
        }
    }
}

/// A box to tick.
pub(crate) fn tick(name: &str, label: &str, help: &str, ticked: bool) -> Markup {
    let help_id = format!("{name}-help");
    html! {
        div.field.tick {
            input id=(name) name=(name) type="checkbox" checked[ticked] aria-describedby=[(!help.is_empty()).then_some(&help_id)];
            label for=(name) { (label) }
            @if !help.is_empty() { p.help id=(help_id) { (help) } }
        }
    }
}

/// What is wrong with a form as a whole, above it, with ways to the fields.
pub(crate) fn faults(all: &[Said]) -> Markup {
    html! {
        @if !all.is_empty() {
            div.notice.bad role="alert" tabindex="-1" {
                p { strong { @if all.len() == 1 { "One thing keeps this from being saved." } @else { "Some things keep this from being saved." } } }
                ul {
                    @for s in all {
                        li { @if s.field.is_empty() { (sentence(s)) } @else { a href=(format!("#{}", s.field)) { (sentence(s)) } } }
                    }
                }
            }
        }
    }
}

/// A text with a capital letter first.
pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().into_iter().flat_map(char::to_uppercase).collect();
    first + chars.as_str()
}

/// A fault as whole sentences.
pub(crate) fn sentence(said: &Said) -> String {
    let stop = if said.message.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{}{stop} {}", capital(&said.message), said.hint).trim_end().to_owned()
}

/// A fault of a field.
pub(crate) fn fault(field: &str, message: impl Into<String>, hint: impl Into<String>) -> Said {
    Said::new(field, message, hint)
}

/// A number that may be left out, point or comma; what is no number is a fault with this hint.
pub(crate) fn number(fields: &Fields, name: &str, hint: &str, faults: &mut Vec<Said>) -> Option<f64> {
    let text = fields.some(name)?;
    let x = text.replace(',', ".").parse::<f64>().ok().filter(|x| x.is_finite());
    if x.is_none() {
        faults.push(fault(name, format!("`{}` is no number", short(text)), hint));
    }
    x
}

/// The beginning of what somebody typed, to be said back to them.
pub(crate) fn short(text: &str) -> String {
    text.chars().take(40).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_coded() {
        assert_eq!(coded("/coats?q=a b&é"), "%2Fcoats%3Fq%3Da%20b%26%C3%A9");
    }

    #[test]
    fn the_way_on_stays_on_this_site() {
        for own in ["/", "/coats?q=a", "/people/1#x"] {
            assert_eq!(inside(own), own);
        }
        for other in ["", "//evil.example", "/\\evil.example", "https://evil.example", "/a\r\nb", "javascript:1"] {
            assert_eq!(inside(other), "/", "{other}");
        }
    }

    #[test]
    fn a_field_says_what_is_wrong_and_escapes() {
        let all = [fault("name", "the name is empty", "Write one.")];
        let text =
            field(&Field { name: "name", label: "Name", value: "<script>\"", ..Field::default() }, &all).into_string();
        assert!(text.contains("aria-invalid=\"true\"") && text.contains("aria-describedby=\"name-fault\""));
        assert!(text.contains("value=\"&lt;script&gt;&quot;\"") && !text.contains("<script>"));
    }
}
