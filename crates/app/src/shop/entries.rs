//! What was tapped at the table: checked one by one, put in order, undone.
//!
//! Browsers go without a network and come back, so entries arrive late, twice and out of order. The order of a
//! browser's own entries is its count; between browsers it is when the server first had them. No browser's clock
//! counts.

use super::checks;
use super::failure::Said;
use super::ids::RecordId;
use super::port::Record;
use super::records::{Entry, EntryBody};
use crate::dog_file::{Feel, Temper};
use coat::{Day, Zone};
use std::collections::{BTreeMap, BTreeSet};

/// An entry that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Its id.
    pub id: RecordId,
    /// What it says.
    pub entry: EntryBody,
}

/// What is wrong with an entry; none when it can be kept.
pub(super) fn fault(body: &EntryBody) -> Option<Said> {
    let mut faults = Vec::new();
    if let Some(zone) = &body.zone {
        checks::word("zone", "the zone", zone, &Zone::ALL.map(Zone::word), &mut faults);
    }
    if body.count < 1 {
        faults.push(Said::new("count", format!("count `{}` is below 1", body.count), "Count from 1."));
    }
    let plain = (1..=64).contains(&body.browser.len()) && body.browser.bytes().all(|b| b.is_ascii_graphic());
    if !plain {
        faults.push(Said::new("browser", "the browser has no name", "Give it a random text of up to 64 characters."));
    }
    let f = &mut faults;
    let text = |name: &str, text: &str, needed: bool, f: &mut Vec<Said>| {
        checks::note(name, "the text", &mut text.to_owned(), f);
        if needed && text.trim().is_empty() {
            f.push(Said::new(name, "the text is empty", "Say what was seen or used."));
        }
    };
    let whole_dog = body.zone.is_none();
    let of_a_zone = match &body.what {
        Entry::Pulled { share } | Entry::Cover { share } => {
            checks::number("share", "the share", *share, 0.0, 1.0, f);
            true
        }
        Entry::Ease { ease } => {
            checks::number("ease", "ease", f64::from(*ease), 1.0, 5.0, f);
            false
        }
        Entry::LongestDepth { depth } | Entry::NewLayerDepth { depth } => {
            checks::number("depth", "the comb depth", f64::from(*depth), 1.0, 5.0, f);
            true
        }
        Entry::LongestMm { mm } | Entry::NewLayerMm { mm } => {
            checks::number("mm", "the length", *mm, 0.0, 400.0, f);
            true
        }
        Entry::Feel { feel } => {
            let words = [Feel::Soft, Feel::Between, Feel::Harsh].map(Feel::word);
            checks::word("feel", "the feel", feel, &words, f);
            true
        }
        Entry::Bearing { bearing } => {
            let words = [Temper::Calm, Temper::Fidgets, Temper::Objects].map(Temper::word);
            checks::word("bearing", "the bearing", bearing, &words, f);
            false
        }
        Entry::AsPlanned | Entry::AllRipe | Entry::Left | Entry::Carded { .. } | Entry::NewHair { .. } => true,
        Entry::Tool { tool } => {
            text("tool", tool, true, f);
            false
        }
        Entry::Skin { note, x, y, .. } => {
            text("note", note, true, f);
            checks::number("x", "the place across", *x, 0.0, 1.0, f);
            checks::number("y", "the place down", *y, 0.0, 1.0, f);
            false
        }
        Entry::Clock { seconds, .. } => {
            checks::number("seconds", "the seconds", *seconds as f64, 0.0, 86_400.0, f);
            false
        }
        Entry::Product { what, batch, opened } => {
            text("what", what, true, f);
            text("batch", batch, false, f);
            if !opened.is_empty() && Day::parse(opened).is_none() {
                f.push(Said::new("opened", "that is not a day", "Give the day as year, month and day."));
            }
            false
        }
        Entry::Disinfected { agent, contact_min } => {
            text("agent", agent, true, f);
            checks::number("contact_min", "the contact time", *contact_min as f64, 0.0, 240.0, f);
            false
        }
        Entry::Note { note } => {
            text("note", note, true, f);
            false
        }
        Entry::Undo { .. } => false,
    };
    if of_a_zone && whole_dog {
        faults.push(Said::new("zone", "the entry names no zone", "Say which zone it is about."));
    }
    faults.into_iter().next()
}

/// Entries in their order, those taken back left out.
pub(super) fn in_order(records: &[(Record, EntryBody)]) -> Vec<Standing> {
    let mut browsers: BTreeMap<&str, Vec<&(Record, EntryBody)>> = BTreeMap::new();
    for r in records {
        browsers.entry(&r.1.browser).or_default().push(r);
    }
    let mut order: Vec<(i64, &str, i64, &(Record, EntryBody))> = Vec::new();
    for (browser, mut own) in browsers {
        own.sort_by(|a, b| (a.1.count, &a.0.id).cmp(&(b.1.count, &b.0.id)));
        // One that came late stands where its browser made it: no later than what that browser made after it.
        let mut arrived = i64::MAX;
        for r in own.into_iter().rev() {
            arrived = arrived.min(r.0.at_ms);
            order.push((arrived, browser, r.1.count, r));
        }
    }
    order.sort_by(|a, b| (a.0, a.1, a.2, &a.3.0.id).cmp(&(b.0, b.1, b.2, &b.3.0.id)));
    // From the last back: an undo that was itself undone takes nothing back.
    let mut void: BTreeSet<&RecordId> = BTreeSet::new();
    for (_, _, _, (record, body)) in order.iter().rev() {
        if let Entry::Undo { entry } = &body.what
            && !void.contains(&record.id)
        {
            void.insert(entry);
        }
    }
    order
        .iter()
        .filter(|o| !void.contains(&o.3.0.id) && !matches!(o.3.1.what, Entry::Undo { .. }))
        .map(|o| Standing { id: o.3.0.id.clone(), entry: o.3.1.clone() })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::ids::PersonId;
    use super::super::port::Kind;
    use super::*;

    fn id(n: i64) -> RecordId {
        RecordId::new(format!("entry-{n:04}")).unwrap()
    }

    fn entry(n: i64, browser: &str, count: i64, at_ms: i64, what: Entry) -> (Record, EntryBody) {
        let record = Record {
            kind: Kind::Entry,
            id: id(n),
            of: None,
            day: None,
            revision: 1,
            body: serde_json::Value::Null,
            gone: false,
            by: PersonId::new("person-1").unwrap(),
            at_ms,
        };
        // The browser's clock is a day wrong.
        let body =
            EntryBody { zone: Some("back".into()), count, browser: browser.into(), browser_ms: -86_400_000, what };
        (record, body)
    }

    fn ids(records: &[(Record, EntryBody)]) -> Vec<RecordId> {
        in_order(records).into_iter().map(|s| s.id).collect()
    }

    #[test]
    fn a_browsers_entries_keep_its_order_whenever_they_arrive() {
        let a = entry(1, "a", 1, 500, Entry::AsPlanned);
        let b = entry(2, "a", 2, 100, Entry::Left);
        let c = entry(3, "b", 1, 200, Entry::AllRipe);
        let want = vec![id(1), id(2), id(3)];
        assert_eq!(ids(&[a.clone(), b.clone(), c.clone()]), want);
        assert_eq!(ids(&[c, b, a]), want);
    }

    #[test]
    fn undo_and_undo_of_undo() {
        let undo = |n: i64, count: i64, of: i64| entry(n, "a", count, 100, Entry::Undo { entry: id(of) });
        let one = entry(1, "a", 1, 100, Entry::AsPlanned);
        assert_eq!(ids(&[one.clone(), undo(2, 2, 1)]), []);
        assert_eq!(ids(&[undo(2, 2, 1), one.clone()]), [], "arrived before what it takes back");
        assert_eq!(ids(&[one.clone(), undo(2, 2, 1), undo(3, 3, 2)]), [id(1)]);
        assert_eq!(ids(&[one, undo(2, 2, 9)]), [id(1)], "an undo of nothing");
    }

    #[test]
    fn faults_name_their_field() {
        let check = |zone: Option<&str>, what: Entry| {
            let body = EntryBody { zone: zone.map(str::to_owned), count: 1, browser: "b".into(), browser_ms: 0, what };
            fault(&body).map(|s| s.field)
        };
        assert_eq!(check(Some("back"), Entry::Pulled { share: 0.2 }), None);
        assert_eq!(check(Some("back"), Entry::Pulled { share: 1.2 }).as_deref(), Some("share"));
        assert_eq!(check(Some("back"), Entry::Pulled { share: f64::NAN }).as_deref(), Some("share"));
        assert_eq!(check(Some("wing"), Entry::AllRipe).as_deref(), Some("zone"));
        assert_eq!(check(None, Entry::AllRipe).as_deref(), Some("zone"));
        assert_eq!(check(None, Entry::Ease { ease: 6 }).as_deref(), Some("ease"));
        assert_eq!(check(None, Entry::Bearing { bearing: "cross".into() }).as_deref(), Some("bearing"));
        assert_eq!(check(None, Entry::Note { note: " ".into() }).as_deref(), Some("note"));
        assert_eq!(check(None, Entry::Clock { seconds: -1, running: true }).as_deref(), Some("seconds"));
    }
}
