//! The history and what must hold between its events.

use super::dog::{Event, EventKind, Feel, Pulled, Visit, ZoneRecord};
use super::sheet::{Sheet, Table};
use coat::{Day, Zone};

/// A coat needs about half a year without work to settle.
const SETTLE_D: i32 = 182;

/// A coat that was taken down needs so long until it can be called rolled: the first layer ripens
/// in about sixteen weeks.
const ROLLED_AFTER_D: i32 = 112;

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
            rolled_since(sheet, at, &events, &next);
            clipped_since(sheet, &table, &events, &next);
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
    let mut all_ripe = [false; Zone::ALL.len()];
    let mut carded = [None; Zone::ALL.len()];
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
        if record.new_hair == Some(false) && table.has("new_layer_mm") && record.new_layer_mm != Some(0.0) {
            sheet.fault(
                table.at("new_hair"),
                "`new_hair = false` stands beside a new layer",
                "Write `new_hair = true`, or remove the length of the new layer.",
            );
        }
        if table.has("carded") {
            let other = record.zones.iter().find(|z| carded[**z as usize].is_some_and(|c| c != record.carded));
            if let Some(zone) = other {
                sheet.fault(
                    table.at("carded"),
                    format!("zone `{zone}` is both carded and not carded in one visit"),
                    "Keep one of the two.",
                );
            }
            for zone in &record.zones {
                carded[*zone as usize] = Some(record.carded);
            }
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
            let all = &mut all_ripe[*zone as usize];
            let (again, pulled) = (*all, pulled_sum[*zone as usize] > 0.0);
            *all |= record.pulled == Some(Pulled::AllRipe);
            if record.pulled.is_some_and(|p| p != Pulled::Share(0.0)) && (again || *all && pulled) {
                sheet.fault(
                    table.at("pulled"),
                    format!("zone `{zone}` is pulled again beside all that was ripe in it"),
                    "Keep one of the two; a share says how much came out in all.",
                );
                break;
            }
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

/// A coat is rolled only when layers were begun since it was taken down, or since the last work on it.
fn rolled_since(sheet: &mut Sheet, at: usize, before: &[Event], next: &Event) {
    let EventKind::Rolled { every_weeks } = &next.kind else { return };
    let Some(last) = before.iter().rev().find(|e| e.kind != EventKind::Missed) else { return };
    let since = next.date - last.date;
    let taken_down = matches!(last.kind, EventKind::Flat | EventKind::Clipped { .. });
    let least = if taken_down { ROLLED_AFTER_D } else { (every_weeks * 7.0).round() as i32 };
    if (0..least).contains(&since) {
        sheet.fault(
            at,
            format!(
                "`rolled` comes `{since} d` after `{}` of line {}, before a coat can be, `{least} d`",
                last.kind.word(),
                last.line
            ),
            "Remove this entry, or write down the visits since then one by one.",
        );
    }
}

/// Clips that are said to reach back must not pass other work on the coat.
fn clipped_since(sheet: &mut Sheet, table: &Table<'_, '_>, before: &[Event], next: &Event) {
    let EventKind::Clipped { every_weeks: Some(every), months: Some(months), .. } = &next.kind else { return };
    // Only whole turns of the clipper count.
    let turns = (months * 30.4375 / (every * 7.0)).floor();
    let first = next.date - (turns * every * 7.0).round() as i32;
    let other = before.iter().rev().find(|e| e.kind != EventKind::Missed && e.kind != EventKind::LeftAlone);
    if let Some(e) = other.filter(|e| first < e.date && e.date < next.date) {
        sheet.fault(
            table.at("months"),
            format!(
                "clipped for `{months} months` until `{}` reaches back before `{}` of line {} on `{}`",
                next.date,
                e.kind.word(),
                e.line,
                e.date
            ),
            "Give fewer months, or remove what did not happen.",
        );
    }
}
