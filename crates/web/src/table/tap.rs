//! Entries as they come in: from a plain form, one at a time, and from the script, many at once.

use crate::fault::Fault;
use crate::fields::Fields;
use crate::photo::picture::sha256;
use app::shop::{Entry, EntryBody, RecordId};
use serde_json::{Map, Value};

/// Millimetres in an inch.
const INCH_MM: f64 = 25.4;
/// Who made an entry that came from a form without script.
const FORM: &str = "form-without-script";
/// Most entries in one delivery; the script sends fifty.
pub(crate) const MOST_ENTRIES: usize = 200;

/// A number as typed, with a point or a comma.
fn number(text: &str) -> Option<f64> {
    text.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite())
}

/// The entry of a form: the base in `entry`, and fields whose letter says how they are read (`n` number, `i` inches,
/// `m` minutes, `t` text).
pub(crate) fn from_form(fields: &Fields, once: &str, at_ms: i64) -> Result<(RecordId, EntryBody), Fault> {
    const UNREAD: Fault =
        Fault::Bad("That button says nothing that this build knows. Open the page again and try once more.");
    const NO_NUMBER: Fault =
        Fault::Bad("A number is missing, or it is not one. Go back, correct it and send it once more.");
    let base = fields.text("entry");
    let Ok(Value::Object(mut what)) = serde_json::from_str::<Value>(base) else { return Err(UNREAD) };
    for (name, value) in fields.iter() {
        let Some((letter, key)) = name.split_once('.') else { continue };
        let value = value.trim();
        let read = match letter {
            "t" => Value::from(value),
            _ if value.is_empty() => continue,
            "n" => number(value).map(Value::from).ok_or(NO_NUMBER)?,
            "i" => number(value).map(|n| Value::from(n * INCH_MM)).ok_or(NO_NUMBER)?,
            "m" => number(value).map(|n| Value::from((n * 60.0).round() as i64)).ok_or(NO_NUMBER)?,
            _ => continue,
        };
        what.insert(key.to_owned(), read);
    }
    let what: Entry = serde_json::from_value(Value::Object(what)).map_err(|_| NO_NUMBER)?;
    let zone = fields.some("zone").map(str::to_owned);
    // The same button of the same page pressed twice is one entry: its id is made of both.
    let said = serde_json::to_string(&what).map_err(|e| Fault::Broken(e.to_string()))?;
    let id = sha256(format!("{}\n{}\n{said}", once, zone.as_deref().unwrap_or("")).as_bytes());
    let id = RecordId::new(format!("form-{}", &id[..32])).map_err(|e| Fault::Broken(e.to_string()))?;
    Ok((id, EntryBody { zone, count: at_ms, browser: FORM.to_owned(), browser_ms: at_ms, what }))
}

/// What became of reading a delivery.
#[derive(Debug, Default)]
pub(crate) struct Delivery {
    /// Entries that can be read, in order.
    pub(crate) read: Vec<(RecordId, EntryBody)>,
    /// Those that cannot: the id as it came, and why.
    pub(crate) unread: Vec<(String, String)>,
}

/// Reads a delivery; one entry that is none does not hold up the others.
pub(crate) fn from_json(bytes: &[u8]) -> Result<Delivery, Fault> {
    const UNREAD: Fault = Fault::Bad("The delivery is not the JSON that the page of the table sends.");
    let whole: Map<String, Value> = serde_json::from_slice(bytes).map_err(|_| UNREAD)?;
    let Some(Value::Array(entries)) = whole.get("entries") else { return Err(UNREAD) };
    if entries.len() > MOST_ENTRIES {
        return Err(Fault::TooLarge);
    }
    let mut out = Delivery::default();
    for entry in entries {
        let id = entry.get("id").and_then(Value::as_str).unwrap_or_default();
        match (RecordId::new(id), serde_json::from_value::<EntryBody>(entry.clone())) {
            (Ok(id), Ok(body)) => out.read.push((id, body)),
            (Err(_), _) => return Err(UNREAD),
            (Ok(id), Err(_)) => {
                out.unread
                    .push((id.into(), "this build cannot read it; note it by hand, then put it away here".into()));
            }
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(text: &str) -> Result<(RecordId, EntryBody), Fault> {
        let fields = Fields::parse(text.as_bytes()).unwrap();
        from_form(&fields, fields.text("once"), 7)
    }

    #[test]
    fn forms_are_entries() {
        let (_, e) = form("zone=back&entry=%7B%22do%22%3A%22as_planned%22%7D&once=1").unwrap();
        assert_eq!((e.zone.as_deref(), e.what), (Some("back"), Entry::AsPlanned));
        let (_, e) = form("zone=back&entry={\"do\":\"longest_mm\"}&i.mm=1,5").unwrap();
        assert_eq!(e.what, Entry::LongestMm { mm: 38.099999999999994 });
        let (_, e) = form("zone=back&entry={\"do\":\"clock\",\"running\":false}&m.seconds=2.5").unwrap();
        assert_eq!(e.what, Entry::Clock { seconds: 150, running: false });
        let (_, e) = form("zone=back&entry={\"do\":\"skin\"}&t.note=a+red+spot&n.x=0.5&n.y=.25").unwrap();
        assert_eq!(e.what, Entry::Skin { note: "a red spot".into(), x: 0.5, y: 0.25, photo: None });
    }

    #[test]
    fn pressed_twice_is_one_entry() {
        let id = |t: &str| form(t).unwrap().0;
        let a = "zone=back&entry={\"do\":\"left\"}&once=1";
        assert_eq!(id(a), id(a));
        for other in [
            "zone=loin&entry={\"do\":\"left\"}&once=1",
            "zone=back&entry={\"do\":\"all_ripe\"}&once=1",
            "zone=back&entry={\"do\":\"left\"}&once=2",
        ] {
            assert_ne!(id(a), id(other));
        }
    }

    #[test]
    fn forms_that_say_nothing_are_refused() {
        for bad in [
            "",
            "entry=x",
            "entry={\"do\":\"bake\"}",
            "entry={\"do\":\"longest_mm\"}",
            "entry={\"do\":\"longest_mm\"}&n.mm=NaN",
            "entry={\"do\":\"longest_mm\"}&n.mm=1e999",
        ] {
            assert!(form(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn one_odd_entry_holds_nothing_up() {
        let good =
            r#"{"id":"0199f0c2-0001","zone":"back","count":1,"browser":"b","browser_ms":1,"what":{"do":"left"}}"#;
        let odd = r#"{"id":"0199f0c2-0002","zone":"back","count":2,"browser":"b","browser_ms":1,"what":{"do":"bake"}}"#;
        let d = from_json(format!("{{\"entries\":[{odd},{good}]}}").as_bytes()).unwrap();
        assert_eq!((d.read.len(), d.unread.len()), (1, 1));
        assert_eq!(d.unread[0].0, "0199f0c2-0002");
        for bad in ["", "[]", "{}", "{\"entries\":1}", "{\"entries\":[{\"id\":\"../../x\"}]}", "{\"entries\":[3]}"] {
            assert!(from_json(bad.as_bytes()).is_err(), "{bad}");
        }
        let many = format!("{{\"entries\":[{}]}}", vec![good; MOST_ENTRIES + 1].join(","));
        assert!(matches!(from_json(many.as_bytes()), Err(Fault::TooLarge)));
    }
}
