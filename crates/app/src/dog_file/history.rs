//! The history and what must hold between its events.

use super::dog::{Event, EventKind, Feel, Pulled, Visit, ZoneRecord};
use super::sheet::{Sheet, Table};
use coat::{Day, Zone};

/// A coat needs about half a year without work to settle.
const SETTLE_D: i32 = 182;

/// Reads the history, in file order, and checks it as a whole.
pub(super) fn read(sheet: &mut Sheet, root: &Table<'_, '_>, born: Option<Day>) -> Vec<Event> {
    let mut events = Vec::new();
    for table in root.tables(sheet, "history", "history") {
        let date = table.date(sheet, "date");
        let kind = table.word(sheet, "event").and_then(|word| event(sheet, &table, word));
        if let (Some(date), Some(kind)) = (date, kind) {
            let at = table.at("date");
            if let Some(born) = born {
                after_birth(sheet, at, date, &kind, born);
            }
            let line = sheet.line(table.at);
            let next = Event { date, kind, line };
            if let Some(last) = events.last() {
                after_last(sheet, at, last, &next);
            }
            settled(sheet, at, &events, &next);
            events.push(next);
        }
    }
    events
}

fn event(sheet: &mut Sheet, table: &Table<'_, '_>, word: &str) -> Option<EventKind> {
    let what = format!("the event `{word}`");
    Some(match word {
        "clipped" => {
            table.only(sheet, &what, &["date", "event", "length_mm", "every_weeks", "months"]);
            let length_mm = table.number(sheet, "length_mm");
            let every_weeks = table.number(sheet, "every_weeks");
            let months = table.number(sheet, "months");
            if !table.has("length_mm") {
                table.missing(sheet, "length_mm");
            }
            if table.has("months") && !table.has("every_weeks") {
                sheet.fault(
                    table.at("months"),
                    "`months` stands without `every_weeks`",
                    "Say how often it was clipped, or remove `months` for a single clip.",
                );
            }
            EventKind::Clipped { length_mm: length_mm?, every_weeks, months }
        }
        "rolled" => {
            table.only(sheet, &what, &["date", "event", "every_weeks"]);
            let every_weeks = table.number(sheet, "every_weeks");
            if !table.has("every_weeks") {
                table.missing(sheet, "every_weeks");
            }
            EventKind::Rolled { every_weeks: every_weeks? }
        }
        "visit" => {
            table.only(sheet, &what, &["date", "event", "work_min", "ease", "zones"]);
            EventKind::Visit(Visit {
                work_min: table.number(sheet, "work_min"),
                ease: table.ease(sheet),
                zones: records(sheet, table),
            })
        }
        other => {
            table.only(sheet, &what, &["date", "event"]);
            match other {
                "left alone" => EventKind::LeftAlone,
                "flat" => EventKind::Flat,
                _ => EventKind::Missed,
            }
        }
    })
}

const READINGS: [&str; 9] = [
    "longest_mm",
    "new_layer_mm",
    "longest_depth",
    "new_layer_depth",
    "work_min",
    "ease",
    "feel",
    "cover_by_eye",
    "new_hair",
];

fn records(sheet: &mut Sheet, visit: &Table<'_, '_>) -> Vec<ZoneRecord> {
    let mut pulled_sum = [0.0_f64; Zone::ALL.len()];
    let mut read = [[false; READINGS.len()]; Zone::ALL.len()];
    let mut out = Vec::new();
    for table in visit.tables(sheet, "zones", "history.zones") {
        let record = ZoneRecord {
            zones: table.zones_needed(sheet),
            pulled: table.pulled(sheet),
            carded: table.flag(sheet, "carded").unwrap_or(false),
            longest_mm: table.number(sheet, "longest_mm"),
            new_layer_mm: table.number(sheet, "new_layer_mm"),
            longest_depth: table.depth(sheet, "longest_depth"),
            new_layer_depth: table.depth(sheet, "new_layer_depth"),
            work_min: table.number(sheet, "work_min"),
            ease: table.ease(sheet),
            feel: table.word(sheet, "feel").and_then(Feel::parse),
            cover_by_eye: table.number(sheet, "cover_by_eye"),
            new_hair: table.flag(sheet, "new_hair"),
            line: sheet.line(table.at),
        };
        if let (Some(new), Some(longest)) = (record.new_layer_mm, record.longest_mm)
            && new > longest
        {
            sheet.fault(
                table.at("new_layer_mm"),
                format!("new layer `{new} mm` is longer than the longest hair `{longest} mm`"),
                "Exchange the two lengths, or correct one of them.",
            );
        }
        for (mm, depth) in [("longest_mm", "longest_depth"), ("new_layer_mm", "new_layer_depth")] {
            if table.has(mm) && table.has(depth) {
                sheet.fault(
                    table.at(depth),
                    format!("`{depth}` stands beside `{mm}`"),
                    "Keep the millimetres; the comb depth is for when they were not read.",
                );
            }
        }
        for zone in &record.zones {
            if let Some(Pulled::Share(share)) = record.pulled {
                let sum = &mut pulled_sum[*zone as usize];
                *sum += share;
                if *sum > 1.0 + 1e-9 {
                    let all = (*sum * 1000.0).round() / 1000.0;
                    let message =
                        format!("the pulls from zone `{zone}` sum to `{all}`, more than all visible hair, `1`");
                    sheet.fault(table.at("pulled"), message, "Correct the shares that this visit pulled.");
                    break;
                }
            }
        }
        for (i, name) in READINGS.iter().enumerate().filter(|(_, name)| table.has(name)) {
            let twice = record.zones.iter().find(|z| read[**z as usize][i]);
            if let Some(zone) = twice {
                sheet.fault(
                    table.at(name),
                    format!("`{name}` of zone `{zone}` is given twice in one visit"),
                    "Keep one of the two.",
                );
            }
            for zone in &record.zones {
                read[*zone as usize][i] = true;
            }
        }
        out.push(record);
    }
    out
}

fn after_birth(sheet: &mut Sheet, at: usize, date: Day, kind: &EventKind, born: Day) {
    if date < born {
        sheet.fault(
            at,
            format!("event `{}` on `{date}` lies before the birth on `{born}`", kind.word()),
            "Correct this date, or `born`.",
        );
    } else if let EventKind::Clipped { months: Some(months), .. } = kind {
        let age = f64::from(date - born) / 30.4375;
        if *months > age + 1.0 {
            sheet.fault(
                at,
                format!("clipped for `{months} months` until `{date}` reaches back before the birth on `{born}`"),
                format!("Give at most `{} months`, or leave `months` out for all its life.", age.floor()),
            );
        }
    }
}

fn after_last(sheet: &mut Sheet, at: usize, last: &Event, next: &Event) {
    if next.date < last.date {
        sheet.fault(
            at,
            format!("`{}` stands after `{}` of line {}", next.date, last.date, last.line),
            "Put the history in date order, the oldest first.",
        );
        return;
    }
    let state = |k: &EventKind| matches!(k, EventKind::LeftAlone | EventKind::Rolled { .. });
    if next.date == last.date && (!state(&last.kind) || state(&next.kind)) {
        let (a, b) = (last.kind.word(), next.kind.word());
        let (message, hint) = if a == b {
            (format!("`{a}` stands twice on `{}`, also in line {}", next.date, last.line), "Make one entry of the two.")
        } else if state(&next.kind) {
            (
                format!("`{b}` on `{}` stands after `{a}` of line {} on the same day", next.date, last.line),
                "Put how the coat was kept until that day first, then what was done on it.",
            )
        } else {
            (
                format!("`{b}` on `{}` contradicts `{a}` of line {} on the same day", next.date, last.line),
                "Keep the one that happened, or correct a date.",
            )
        };
        sheet.fault(at, message, hint);
    }
}

fn settled(sheet: &mut Sheet, at: usize, before: &[Event], next: &Event) {
    if next.kind != EventKind::LeftAlone {
        return;
    }
    let worked = before.iter().rev().find(|e| !matches!(e.kind, EventKind::LeftAlone | EventKind::Missed));
    if let Some(e) = worked.filter(|e| (0..SETTLE_D).contains(&(next.date - e.date)) && e.date != next.date) {
        sheet.fault(
            at,
            format!(
                "`left alone` comes `{} d` after `{}` of line {}, before a coat has settled, `{SETTLE_D} d`",
                next.date - e.date,
                e.kind.word(),
                e.line
            ),
            "Remove this entry; the coat is followed from the last work on.",
        );
    }
}
