//! A dog of the shop as its file: text that knows of each line which field it came from.
//!
//! The file's reader is the one judge of what a dog may be; its faults come back with their fields.

use super::failure::Said;
use super::money::major;
use super::records::{DogBody, EventBody, House, RecordBody, ZoneBody};
use crate::dog_file::{self, DogFile, Fault, SCHEMA};
use std::fmt::Write as _;

/// Longest health note that goes into the file; the record keeps all of it.
const NOTE_CHARS: usize = 200;

/// An event of the history, and what its fields are called in faults.
pub(super) struct Named<'a> {
    /// Put before its fields, for instance `history.2.`; empty where the event alone is handed in.
    pub(super) prefix: String,
    /// The event.
    pub(super) event: &'a EventBody,
}

/// Names events by their place: `history.0.`, `history.1.` and so on.
pub(super) fn by_place(events: &[EventBody]) -> Vec<Named<'_>> {
    events.iter().enumerate().map(|(i, event)| Named { prefix: format!("history.{i}."), event }).collect()
}

/// A dog's file as text, each line with the field that it came from.
#[derive(Clone, Debug, Default)]
pub(super) struct Sheet {
    text: String,
    /// Field of each line.
    fields: Vec<String>,
}

/// The dog as its file, read, and the sheet that it was read from; or every fault with its field.
pub(super) fn dog_file(
    dog: &DogBody,
    house: &House,
    pace: f64,
    history: &[Named<'_>],
) -> Result<(DogFile, Sheet), Vec<Said>> {
    let mut sheet = Sheet::default();
    sheet.dog(dog, house, pace);
    let mut order: Vec<&Named<'_>> = history.iter().collect();
    // How a coat was kept until a day comes before what was done on it.
    let state = |e: &EventBody| matches!(e.event.as_str(), "left alone" | "rolled");
    order.sort_by(|a, b| (&a.event.day, !state(a.event)).cmp(&(&b.event.day, !state(b.event))));
    for named in order {
        sheet.event(named);
    }
    match dog_file::read("the dog", sheet.text.as_bytes()) {
        Ok(file) => Ok((file, sheet)),
        Err(faults) => Err(faults.iter().map(|f| sheet.said(f)).collect()),
    }
}

/// A text in quotes, as TOML has it.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

impl Sheet {
    /// The text of the file.
    pub(super) fn as_text(&self) -> &str {
        &self.text
    }

    fn line(&mut self, field: &str, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
        self.fields.push(field.to_owned());
    }

    fn text(&mut self, field: &str, key: &str, value: &str) {
        self.line(field, &format!("{key} = {}", quoted(value)));
    }

    fn text_if(&mut self, field: &str, key: &str, value: Option<&str>) {
        if let Some(value) = value.filter(|v| !v.is_empty()) {
            self.text(field, key, value);
        }
    }

    fn value(&mut self, field: &str, key: &str, value: impl std::fmt::Display) {
        self.line(field, &format!("{key} = {value}"));
    }

    fn value_if(&mut self, field: &str, key: &str, value: Option<impl std::fmt::Display>) {
        if let Some(value) = value {
            self.value(field, key, value);
        }
    }

    fn zones(&mut self, field: &str, zones: &[String]) {
        let list: Vec<String> = zones.iter().map(|z| quoted(z)).collect();
        self.line(field, &format!("zones = [{}]", list.join(", ")));
    }

    fn dog(&mut self, dog: &DogBody, house: &House, pace: f64) {
        self.text("", "schema", SCHEMA);
        self.text("name", "name", &dog.name);
        self.text("born", "born", &dog.born);
        self.text("sex", "sex", &dog.sex);
        self.text_if("neutered_since", "neutered_since", dog.neutered_since.as_deref());
        self.value("mass_kg", "mass_kg", dog.mass_kg);
        self.text("coat", "coat", &dog.coat);
        self.value("density", "density", dog.density);
        self.text("temper", "temper", &dog.temper);
        self.text("look", "look", &dog.look);
        self.value_if("table_max_min", "table_max_min", dog.table_max_min);
        self.value_if("rhythm_days", "rhythm_days", dog.rhythm_days);
        self.value("before_ripe", "before_ripe", dog.before_ripe);
        self.value("outdoors", "outdoors", dog.outdoors);
        self.value_if("house.latitude_deg", "latitude_deg", house.latitude_deg.filter(|_| dog.outdoors));
        let note: String = dog.health.split_whitespace().collect::<Vec<_>>().join(" ");
        if !note.is_empty() {
            self.line("health", "[health]");
            let short: String = note.chars().take(NOTE_CHARS).collect();
            self.text("health", "notes", &short);
        }
        for (i, (from, until)) in dog.steroids.iter().enumerate() {
            self.line(&format!("steroids.{i}"), "[[steroids]]");
            self.text(&format!("steroids.{i}.from"), "from", from);
            self.text_if(&format!("steroids.{i}.until"), "until", until.as_deref());
        }
        for (i, c) in dog.conditions.iter().enumerate() {
            let field = |name: &str| format!("conditions.{i}.{name}");
            self.line(&format!("conditions.{i}"), "[[condition]]");
            self.text(&field("kind"), "kind", &c.kind);
            self.text(&field("from"), "from", &c.from);
            self.text_if(&field("until"), "until", c.until.as_deref());
            if !c.zones.is_empty() {
                self.zones(&field("zones"), &c.zones);
            }
            self.text_if(&field("note"), "note", Some(&c.note));
        }
        self.hands(house, pace);
        self.own_zones(dog, house);
        let mut days: Vec<(usize, &(String, String))> = dog.days_that_matter.iter().enumerate().collect();
        days.sort_by(|a, b| a.1.0.cmp(&b.1.0));
        for (i, (day, name)) in days {
            self.line(&format!("days_that_matter.{i}"), "[[days_that_matter]]");
            self.text(&format!("days_that_matter.{i}.day"), "date", day);
            self.text_if(&format!("days_that_matter.{i}.name"), "name", Some(name));
        }
    }

    /// The hands that work, and the house's weights.
    fn hands(&mut self, house: &House, pace: f64) {
        self.line("house", "[groomer]");
        self.value("pace", "pace", pace);
        if let Some(minor) = house.hour_minor {
            self.value("house.hour_minor", "price_per_hour", major(minor, &house.currency));
            self.text("house.currency", "currency", &house.currency);
        }
        if let Some(caps) = &house.caps {
            self.line("house.caps", "[groomer.caps]");
            self.value("house.caps.layered", "layered", caps.layered);
            self.value("house.caps.short", "short", caps.short);
            self.value("house.caps.shaped", "shaped", caps.shaped);
        }
        if !house.weights.is_empty() {
            self.line("house.weights", "[weights]");
            for (name, weight) in &house.weights {
                let plain = !name.is_empty() && name.bytes().all(|b| b.is_ascii_lowercase() || b == b'_');
                let key = if plain { name.clone() } else { quoted(name) };
                self.value(&format!("house.weights.{name}"), &key, weight);
            }
        }
    }

    fn own_zones(&mut self, dog: &DogBody, house: &House) {
        let of_house = |zone: &str| house.targets.iter().find(|t| t.coat == dog.coat && t.zone == zone);
        for z in &dog.zones {
            self.zone(z, of_house(&z.zone).map(|t| t.target_mm));
        }
        for t in house.targets.iter().filter(|t| t.coat == dog.coat) {
            if !dog.zones.iter().any(|z| z.zone == t.zone) {
                let z = ZoneBody { zone: t.zone.clone(), ..ZoneBody::default() };
                self.zone(&z, Some(t.target_mm));
            }
        }
    }

    fn zone(&mut self, z: &ZoneBody, of_house: Option<f64>) {
        let field = |name: &str| format!("zones.{}.{name}", z.zone);
        self.line(&format!("zones.{}", z.zone), "[[zones]]");
        self.text(&field("zone"), "zone", &z.zone);
        match z.target_mm {
            Some(mm) => self.value(&field("target_mm"), "target_mm", mm),
            None => self.value_if("house.targets", "target_mm", of_house),
        }
        self.value_if(&field("tender"), "tender", z.tender);
        self.text_if(&field("mode"), "mode", z.mode.as_deref());
        self.text_if(&field("hands_off_until"), "hands_off_until", z.hands_off_until.as_deref());
        self.text_if(&field("hands_off_reason"), "reason", Some(&z.hands_off_reason));
        self.value_if(&field("cap"), "cap", z.cap);
        self.value_if(&field("floor"), "floor", z.floor);
    }

    fn event(&mut self, named: &Named<'_>) {
        let (p, e) = (&named.prefix, named.event);
        let field = |name: &str| format!("{p}{name}");
        self.line(p.trim_end_matches('.'), "[[history]]");
        self.text(&field("day"), "date", &e.day);
        self.text(&field("event"), "event", &e.event);
        self.value_if(&field("length_mm"), "length_mm", e.length_mm);
        self.value_if(&field("every_weeks"), "every_weeks", e.every_weeks);
        self.value_if(&field("months"), "months", e.months);
        self.value_if(&field("work_min"), "work_min", e.work_min);
        self.value_if(&field("ease"), "ease", e.ease);
        for (i, r) in e.zones.iter().enumerate() {
            self.record(&format!("{p}zones.{i}"), r);
        }
    }

    fn record(&mut self, at: &str, r: &RecordBody) {
        let field = |name: &str| format!("{at}.{name}");
        self.line(at, "[[history.zones]]");
        self.zones(&field("zones"), &r.zones);
        if r.all_ripe {
            self.text(&field("all_ripe"), "pulled", "all ripe");
        } else {
            self.value_if(&field("share"), "pulled", r.share);
        }
        self.value(&field("carded"), "carded", r.carded);
        self.value_if(&field("longest_mm"), "longest_mm", r.longest_mm);
        self.value_if(&field("new_layer_mm"), "new_layer_mm", r.new_layer_mm);
        self.value_if(&field("longest_depth"), "longest_depth", r.longest_depth);
        self.value_if(&field("new_layer_depth"), "new_layer_depth", r.new_layer_depth);
        self.value_if(&field("work_min"), "work_min", r.work_min);
        self.value_if(&field("ease"), "ease", r.ease);
        self.text_if(&field("feel"), "feel", r.feel.as_deref());
        self.value_if(&field("cover_by_eye"), "cover_by_eye", r.cover_by_eye);
        self.value_if(&field("new_hair"), "new_hair", r.new_hair);
    }

    /// A fault with the field of its line, and words for a form instead of a file.
    pub(super) fn said(&self, fault: &Fault) -> Said {
        let field = fault.line.checked_sub(1).and_then(|i| self.fields.get(i)).cloned().unwrap_or_default();
        let missing = fault.message.strip_prefix('`').and_then(|m| m.split_once("` is missing"));
        if let Some((name, _)) = missing {
            let range = fault.hint.split_once(" with a number in ").map(|h| h.1);
            let hint = range.map_or("Fill it in.".to_owned(), |range| format!("Give a number in {range}"));
            let field = if field.is_empty() { name.to_owned() } else { format!("{field}.{name}") };
            return Said { field, message: format!("`{name}` is missing"), hint };
        }
        let hint = if fault.hint.contains("= YYYY-MM-DD") {
            super::checks::AS_A_DAY.to_owned()
        } else if field == "outdoors" {
            "Give the house's latitude under House first: the season of the coat follows the length of the day."
                .to_owned()
        } else {
            fault
                .hint
                .replace("remove the line", "leave it empty")
                .replace("Write something between the quotes, or leave it empty.", "Fill it in.")
                .replace(", in quotes", "")
                .replace(", with a point and without quotes or unit", "")
        };
        // What the file calls a line, a form does not have.
        let message = match fault.message.find(", also in line ") {
            Some(at) => fault.message[..at].to_owned(),
            None => without_line(&fault.message),
        };
        Said { field, message, hint }
    }
}

/// `… of line 12 …` without the line.
fn without_line(message: &str) -> String {
    let Some(at) = message.find(" of line ") else { return message.to_owned() };
    let rest = message[at + 9..].trim_start_matches(|c: char| c.is_ascii_digit());
    format!("{}{rest}", &message[..at])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_keep_a_text_on_its_line() {
        assert_eq!(quoted("a\"b\\c\nd\u{7f}"), "\"a\\\"b\\\\c\\u000Ad\\u007F\"");
    }

    #[test]
    fn a_form_has_no_lines() {
        assert_eq!(
            without_line("`a` on `b` contradicts `c` of line 12 on the same day"),
            "`a` on `b` contradicts `c` on the same day"
        );
        assert_eq!(without_line("plain"), "plain");
    }
}
