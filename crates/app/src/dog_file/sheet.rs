//! Reading one table at a time: every accessor reports its own faults, with
//! names and ranges from the list of keys.

use super::fault::{Fault, Source, shown, unprintable};
use super::keys::{self, Kind};
use coat::{Day, Mode, Zone};
use toml::de::{DeTable, DeValue};

/// Faults kept from one file; the rest would help nobody.
const MOST_FAULTS: usize = 1000;
/// Longest text, characters.
const LONGEST_TEXT: usize = 200;

/// The faults found so far and the text they are in.
pub(super) struct Sheet {
    pub(super) source: Source,
    pub(super) faults: Vec<Fault>,
}

impl Sheet {
    pub(super) fn fault(&mut self, at: usize, message: impl Into<String>, hint: impl Into<String>) {
        if self.faults.len() < MOST_FAULTS {
            let (line, column) = self.source.place(at);
            self.faults.push(Fault { column, ..self.source.fault_at(line, message, hint) });
        }
    }

    pub(super) fn line(&self, at: usize) -> usize {
        self.source.line_of(at)
    }
}

/// One table of the file.
pub(super) struct Table<'a, 'i> {
    /// Byte offset of its header.
    pub(super) at: usize,
    path: &'static str,
    map: &'a DeTable<'i>,
}

impl<'a, 'i> Table<'a, 'i> {
    /// Takes a table as `path`, reporting unknown and missing keys.
    pub(super) fn new(sheet: &mut Sheet, path: &'static str, at: usize, map: &'a DeTable<'i>) -> Self {
        for name in map.keys().filter(|n| keys::find(path, n.get_ref()).is_none()) {
            let known = keys::keys_of(path).map(|k| k.name);
            let hint = match keys::nearest(name.get_ref(), known) {
                Some(near) => format!("Did you mean `{near}`?"),
                None if path.is_empty() => "Remove it; docs/dog-file.md lists the keys of a dog's file.".to_owned(),
                None => {
                    let known: Vec<_> = keys::keys_of(path).map(|k| format!("`{}`", k.name)).collect();
                    format!("Remove it, or use one of {}.", known.join(", "))
                }
            };
            let place = if path.is_empty() { String::new() } else { format!(" in `{path}`") };
            sheet.fault(name.span().start, format!("unknown key `{}`{place}", shown(name.get_ref())), hint);
        }
        let table = Table { at, path, map };
        for key in keys::keys_of(path).filter(|k| k.needed && !map.contains_key(k.name)) {
            table.missing(sheet, key.name);
        }
        table
    }

    /// Reports a key that must be there.
    pub(super) fn missing(&self, sheet: &mut Sheet, name: &str) {
        let place = if self.path.is_empty() { String::new() } else { format!(" in this `{}`", self.path) };
        let range = keys::find(self.path, name).map(|k| (k.kind, k.range()));
        let hint = match range {
            Some((Kind::Date, _)) => format!("Add a line `{name} = YYYY-MM-DD` with the date."),
            Some((Kind::Word(words), _)) => format!("Add a line `{name} = \"...\"` with one of {}.", listed(words)),
            Some((Kind::Number { .. }, range)) => format!("Add a line `{name} = ...` with a number in `{range}`."),
            _ if name == "schema" => format!("Start the file with `schema = \"{}\"`.", super::SCHEMA),
            _ => format!("Add a line `{name} = \"...\"`."),
        };
        sheet.fault(self.at, format!("`{name}` is missing{place}"), hint);
    }

    /// Reports every known key that is there and not among `allowed`.
    pub(super) fn only(&self, sheet: &mut Sheet, what: &str, allowed: &[&str]) {
        for name in self.map.keys().filter(|n| !allowed.contains(&n.get_ref().as_ref())) {
            if keys::find(self.path, name.get_ref()).is_some() {
                let fits = allowed.iter().map(|a| format!("`{a}`")).collect::<Vec<_>>().join(", ");
                sheet.fault(
                    name.span().start,
                    format!("`{}` does not go with {what}", name.get_ref()),
                    format!("Remove it; {what} takes {fits}."),
                );
            }
        }
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.map.contains_key(name)
    }

    /// Byte offset of a key's value, or of the table where the key is not there.
    pub(super) fn at(&self, name: &str) -> usize {
        self.map.get(name).map_or(self.at, |v| v.span().start)
    }

    fn get(&self, name: &str) -> Option<(&'a DeValue<'i>, std::ops::Range<usize>)> {
        debug_assert!(keys::find(self.path, name).is_some(), "{}.{name} is not in the list of keys", self.path);
        self.map.get(name).map(|v| (v.get_ref(), v.span()))
    }

    fn wrong(&self, sheet: &mut Sheet, at: usize, name: &str, value: &DeValue<'_>, wanted: &str, hint: String) {
        sheet.fault(at, format!("`{name}` is {}, not {wanted}", kind_of(value)), hint);
    }

    pub(super) fn number(&self, sheet: &mut Sheet, name: &'static str) -> Option<f64> {
        let (value, span) = self.get(name)?;
        let key = keys::find(self.path, name)?;
        let Kind::Number { label, unit, low, high, above } = key.kind else { return None };
        let range = key.range();
        let x = match value {
            DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix()).map_or(f64::INFINITY, |i| i as f64),
            DeValue::Float(f) => f.as_str().parse().unwrap_or(f64::NAN),
            other => {
                let hint = format!("Write a bare number in `{range}`, with a point and without quotes or unit.");
                self.wrong(sheet, span.start, name, other, "a number", hint);
                return None;
            }
        };
        if x.is_finite() && (low..=high).contains(&x) && !(above && x <= low) {
            return Some(x);
        }
        let written = keys::with_unit(&shown(sheet.source.slice(span.clone())), unit);
        let (zero, hint) = if above && (x - low).abs() == 0.0 {
            (", zero excluded", format!("Give the {label} above zero, or remove the line if it is not known."))
        } else {
            ("", format!("Correct the {label}, or remove the line if it is not known."))
        };
        let hint = if key.needed { format!("Correct the {label}.") } else { hint };
        sheet.fault(span.start, format!("{label} `{written}` is outside `{range}`{zero}"), hint);
        None
    }

    pub(super) fn whole(&self, sheet: &mut Sheet, name: &'static str) -> Option<i64> {
        let (value, span) = self.get(name)?;
        let key = keys::find(self.path, name)?;
        let Kind::Whole { label, unit, low, high } = key.kind else { return None };
        let range = key.range();
        let DeValue::Integer(i) = value else {
            let hint = format!("Write a whole number in `{range}`, without quotes or unit.");
            self.wrong(sheet, span.start, name, value, "a whole number", hint);
            return None;
        };
        let x = i64::from_str_radix(i.as_str(), i.radix()).ok().filter(|x| (low..=high).contains(x));
        if x.is_none() {
            let written = keys::with_unit(&shown(sheet.source.slice(span.clone())), unit);
            sheet.fault(
                span.start,
                format!("{label} `{written}` is outside `{range}`"),
                format!("Correct the {label}, or remove the line if it is not known."),
            );
        }
        x
    }

    pub(super) fn ease(&self, sheet: &mut Sheet) -> Option<u8> {
        self.whole(sheet, "ease").and_then(|e| u8::try_from(e).ok())
    }

    pub(super) fn depth(&self, sheet: &mut Sheet, name: &'static str) -> Option<u8> {
        self.whole(sheet, name).and_then(|e| u8::try_from(e).ok())
    }

    pub(super) fn date(&self, sheet: &mut Sheet, name: &'static str) -> Option<Day> {
        let (value, span) = self.get(name)?;
        let hint = || format!("Write `{name} = YYYY-MM-DD`, for instance `{name} = 2026-11-25`.");
        let day = match value {
            DeValue::Datetime(d) => {
                if d.time.is_some() || d.offset.is_some() || d.date.is_none() {
                    let written = shown(sheet.source.slice(span.clone()));
                    sheet.fault(span.start, format!("`{name}` is `{written}`, not a plain date"), hint());
                    return None;
                }
                let date = d.date?;
                let (Ok(y), Ok(m), Ok(d)) =
                    (i16::try_from(date.year), i8::try_from(date.month), i8::try_from(date.day))
                else {
                    return None;
                };
                Day::from_ymd(y, m, d)
            }
            DeValue::String(s) => {
                if !looks_like_date(s) {
                    sheet.fault(span.start, format!("`{name}` is `{}`, not a date", shown(s)), hint());
                    return None;
                }
                Day::parse(s)
            }
            other => {
                self.wrong(sheet, span.start, name, other, "a date", hint());
                return None;
            }
        };
        let written = shown(sheet.source.slice(span.clone()).trim_matches(['"', '\'']));
        let (Some(day), Some(first), Some(last)) = (day, Day::from_ymd(1980, 1, 1), Day::from_ymd(2100, 12, 31)) else {
            sheet.fault(span.start, no_such_date(&written), "Correct the day, the month or the year.");
            return None;
        };
        if day < first || day > last {
            sheet.fault(span.start, format!("date `{written}` is outside `{first}..={last}`"), "Correct the year.");
            return None;
        }
        Some(day)
    }

    pub(super) fn flag(&self, sheet: &mut Sheet, name: &'static str) -> Option<bool> {
        let (value, span) = self.get(name)?;
        if let DeValue::Boolean(b) = value {
            return Some(*b);
        }
        let hint = format!("Write `{name} = true` or `{name} = false`, without quotes.");
        self.wrong(sheet, span.start, name, value, "`true` or `false`", hint);
        None
    }

    pub(super) fn text(&self, sheet: &mut Sheet, name: &'static str) -> Option<String> {
        let (value, span) = self.get(name)?;
        let DeValue::String(s) = value else {
            self.wrong(sheet, span.start, name, value, "text", format!("Write `{name} = \"...\"`, in quotes."));
            return None;
        };
        let length = s.chars().count();
        if s.trim().is_empty() {
            sheet.fault(
                span.start,
                format!("`{name}` is empty"),
                "Write something between the quotes, or remove the line.",
            );
        } else if length > LONGEST_TEXT {
            sheet.fault(
                span.start,
                format!("`{name}` has `{length} characters`, more than `{LONGEST_TEXT} characters`"),
                "Shorten it.",
            );
        } else if let Some(c) = s.chars().find(|c| unprintable(*c)) {
            sheet.fault(
                span.start,
                format!("`{name}` has the control character `{}`", c.escape_unicode()),
                "Remove it; a text stands on one line and has no tabs.",
            );
        } else {
            return Some(s.to_string());
        }
        None
    }

    pub(super) fn word(&self, sheet: &mut Sheet, name: &'static str) -> Option<&'static str> {
        let (value, span) = self.get(name)?;
        let Kind::Word(words) = keys::find(self.path, name)?.kind else { return None };
        let DeValue::String(s) = value else {
            let hint = format!("Write one of {}, in quotes.", listed(words));
            self.wrong(sheet, span.start, name, value, "a word", hint);
            return None;
        };
        let found = words.iter().find(|w| *w == s);
        if found.is_none() {
            let hint = match keys::nearest(s, words.iter().copied()) {
                Some(near) => format!("Did you mean `\"{near}\"`? The words are {}.", listed(words)),
                None => format!("Write one of {}.", listed(words)),
            };
            sheet.fault(span.start, format!("`{name}` cannot be `{}`", shown(s)), hint);
        }
        found.copied()
    }

    /// The zones that `zone` or `zones` names, groups expanded, each once; empty with a fault.
    pub(super) fn zones_needed(&self, sheet: &mut Sheet) -> Vec<Zone> {
        match (self.has("zone"), self.has("zones")) {
            (false, false) => {
                sheet.fault(
                    self.at,
                    format!("`zone` is missing in this `{}`", self.path),
                    "Add a line `zone = \"back\"`, or `zones = [\"back\", \"sides\"]`.",
                );
                Vec::new()
            }
            (true, true) => {
                sheet.fault(self.at("zones"), "`zone` and `zones` stand side by side", "Keep one of them.");
                let _ = (self.zones(sheet, "zone"), self.zones(sheet, "zones"));
                Vec::new()
            }
            (true, false) => self.zones(sheet, "zone"),
            (false, true) => self.zones(sheet, "zones"),
        }
    }

    /// The zones of a key, groups expanded, each once.
    pub(super) fn zones(&self, sheet: &mut Sheet, name: &'static str) -> Vec<Zone> {
        let Some((value, span)) = self.get(name) else { return Vec::new() };
        let mut out: Vec<Zone> = Vec::new();
        let mut add = |sheet: &mut Sheet, at: usize, word: &str| {
            let group = group(word);
            if group.is_empty() {
                let words = Zone::ALL.map(Zone::word).into_iter().chain(["jacket", "all"]);
                let hint = match keys::nearest(word, words) {
                    Some(near) => format!("Did you mean `{near}`?"),
                    None => "Use a zone such as `back`, or a group: `jacket` or `all`.".to_owned(),
                };
                sheet.fault(at, format!("unknown zone `{}`", shown(word)), hint);
            }
            let (doubled, fresh): (Vec<Zone>, Vec<Zone>) = group.into_iter().partition(|z| out.contains(z));
            out.extend(fresh);
            if let Some(zone) = doubled.first() {
                sheet.fault(
                    at,
                    format!("zone `{zone}` stands twice in `{name}`"),
                    "Name each zone once; a group names all of its zones.",
                );
            }
        };
        match value {
            DeValue::String(s) => add(sheet, span.start, s),
            DeValue::Array(list) if name == "zones" => {
                if list.is_empty() {
                    sheet.fault(span.start, "`zones` is an empty list", "Name at least one zone, or remove the line.");
                }
                for item in list.iter() {
                    match item.get_ref() {
                        DeValue::String(s) => add(sheet, item.span().start, s),
                        other => {
                            let hint = "Write zone names in quotes, for instance `zones = [\"back\", \"sides\"]`.";
                            self.wrong(sheet, item.span().start, "an entry of zones", other, "a zone", hint.to_owned());
                        }
                    }
                }
            }
            other => {
                let (wanted, hint) = if name == "zones" {
                    ("a list of zones", "Write `zones = [\"back\", \"sides\"]`.")
                } else {
                    ("a zone", "Write one zone in quotes, for instance `zone = \"back\"`; use `zones` for several.")
                };
                self.wrong(sheet, span.start, name, other, wanted, hint.to_owned());
            }
        }
        out
    }

    /// How much was pulled.
    pub(super) fn pulled(&self, sheet: &mut Sheet) -> Option<super::Pulled> {
        let (value, span) = self.get("pulled")?;
        let hint = "Write a share such as `0.2`, `\"1 in 5\"` or `\"all ripe\"`.";
        let share = match value {
            DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
            DeValue::Integer(i) => i.as_str().parse::<f64>().ok(),
            DeValue::String(s) if s == "all ripe" => return Some(super::Pulled::AllRipe),
            DeValue::String(s) => {
                let n =
                    s.strip_prefix("1 in ").filter(|n| n.bytes().all(|b| b.is_ascii_digit())).map(str::parse::<u16>);
                match n {
                    Some(Ok(n @ 1..=100)) => Some(1.0 / f64::from(n)),
                    Some(_) => {
                        sheet.fault(span.start, format!("share pulled `{}` is outside `1 in 1..=100`", shown(s)), hint);
                        return None;
                    }
                    None => {
                        sheet.fault(span.start, format!("`pulled` cannot be `{}`", shown(s)), hint);
                        return None;
                    }
                }
            }
            other => {
                self.wrong(sheet, span.start, "pulled", other, "a share", hint.to_owned());
                return None;
            }
        };
        let inside = share.filter(|x| (0.0..=1.0).contains(x));
        if inside.is_none() {
            let written = shown(sheet.source.slice(span.clone()));
            sheet.fault(
                span.start,
                format!("share pulled `{written}` is outside `0..=1`"),
                "Give the share of the hair one sees: `0.2` is one in five.",
            );
        }
        inside.map(super::Pulled::Share)
    }

    /// The table of a key.
    pub(super) fn table(&self, sheet: &mut Sheet, name: &'static str, path: &'static str) -> Option<Table<'a, 'i>> {
        let (value, span) = self.get(name)?;
        if let DeValue::Table(map) = value {
            return Some(Table::new(sheet, path, span.start, map));
        }
        self.wrong(sheet, span.start, name, value, "a table", format!("Write `[{path}]` on a line of its own."));
        None
    }

    /// The tables of a key, in file order.
    pub(super) fn tables(&self, sheet: &mut Sheet, name: &'static str, path: &'static str) -> Vec<Table<'a, 'i>> {
        let Some((value, span)) = self.get(name) else { return Vec::new() };
        let hint = format!("Write `[[{path}]]` on a line of its own above each entry.");
        let DeValue::Array(list) = value else {
            self.wrong(sheet, span.start, name, value, "a list of tables", hint);
            return Vec::new();
        };
        let mut out = Vec::new();
        for item in list.iter() {
            match item.get_ref() {
                DeValue::Table(map) => out.push(Table::new(sheet, path, item.span().start, map)),
                other => {
                    self.wrong(sheet, item.span().start, &format!("an entry of {name}"), other, "a table", hint.clone())
                }
            }
        }
        out
    }
}

pub(super) fn no_such_date(written: &str) -> String {
    format!("date `{written}` does not exist")
}

/// Whether a text has the form `YYYY-MM-DD`.
pub(super) fn looks_like_date(text: &str) -> bool {
    text.len() == 10
        && text.bytes().enumerate().all(|(i, b)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() })
}

/// The zones that a name stands for; none for an unknown name.
fn group(word: &str) -> Vec<Zone> {
    match word {
        "jacket" => Zone::ALL.into_iter().filter(|z| z.defaults().jacket).collect(),
        "all" => Zone::ALL.into_iter().filter(|z| z.defaults().mode != Mode::Never).collect(),
        _ => Zone::parse(word).into_iter().collect(),
    }
}

fn listed(words: &[&str]) -> String {
    words.iter().map(|w| format!("`\"{w}\"`")).collect::<Vec<_>>().join(", ")
}

fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "`true` or `false`",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
