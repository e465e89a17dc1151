//! From the parsed tables to a checked dog.

use super::dog::*;
use super::fault::{Fault, Source, shown};
use super::history;
use super::sheet::{Sheet, Table, looks_like_date, no_such_date};
use coat::{CoatType, Day, Mode, Zone};
use plan::Weights;
use toml::de::DeTable;

/// Reads a text that is known to be UTF-8.
pub(super) fn read_text(label: &str, text: &str) -> Result<DogFile, Vec<Fault>> {
    let (tree, errors) = DeTable::parse_recoverable(text);
    let mut sheet = Sheet { source: Source::new(label, text), faults: Vec::new() };
    let mut readable = true;
    let mut told = None;
    for e in &errors {
        // One broken value may break in many places; the first tells.
        let line = sheet.line(e.span().map_or(0, |s| s.start));
        if told.is_some_and(|(l, m): (_, &str)| l == line && (m == e.message() || m.starts_with("cannot recurse"))) {
            readable = false;
            continue;
        }
        told = Some((line, e.message()));
        readable &= syntax(&mut sheet, text, e.message(), e.span().unwrap_or(0..0));
    }
    let syntax_faults = std::mem::take(&mut sheet.faults);
    let mut dog = None;
    if readable {
        dog = read_root(&mut sheet, tree.get_ref());
        // What the line itself gets wrong is told once.
        sheet.faults.retain(|f| syntax_faults.iter().all(|s| s.line != f.line));
    }
    sheet.faults.extend(syntax_faults);
    match dog {
        Some(dog) if sheet.faults.is_empty() => Ok(dog),
        _ => {
            if sheet.faults.is_empty() {
                sheet.fault(0, "this is not a dog's file", "Start from one of the files in examples/.");
            }
            sheet.faults.sort_by_key(|f| (f.line, f.column));
            Err(sheet.faults)
        }
    }
}

/// Reports a fault of the TOML itself; true when the rest of the file can still be trusted.
fn syntax(sheet: &mut Sheet, text: &str, message: &str, span: std::ops::Range<usize>) -> bool {
    let piece = text.get(span.clone()).unwrap_or("");
    let at = span.start;
    if message.starts_with("invalid date") && looks_like_date(piece) {
        sheet.fault(at, no_such_date(piece), "Correct the day, the month or the year.");
        return true;
    }
    if message == "duplicate key" {
        let rest = text.get(at..).unwrap_or("");
        let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '-')).unwrap_or(rest.len());
        let name = rest.get(..end).unwrap_or("");
        let before = text.get(..at).unwrap_or("");
        let table = before.rsplit('\n').next().is_some_and(|l| l.trim_start().starts_with('['));
        if table {
            let message = format!("table `{}` is given twice, or its name is a key already", shown(name));
            sheet.fault(at, message, "Keep one of the two; a list of entries needs double brackets, `[[...]]`.");
        } else {
            sheet.fault(at, format!("key `{}` is given twice", shown(name)), "Keep one of the two lines.");
        }
        return true;
    }
    if message.starts_with("string values must be quoted") {
        if piece.is_empty() {
            sheet.fault(at, "a value is missing after `=`", "Write a value, or remove the line.");
        } else {
            sheet.fault(
                at,
                format!("`{}` is neither a number, a date, `true` nor `false`", shown(piece)),
                format!("Put text in quotes: `\"{}\"`.", shown(piece)),
            );
        }
        return true;
    }
    if message.starts_with("unexpected key or value") && text.get(at..).is_some_and(|t| t.starts_with(',')) {
        sheet.fault(
            at,
            "a value is followed by a comma",
            "Write decimals with a point, `8.2`, and end the line after the value.",
        );
        return false;
    }
    sheet.fault(
        at,
        format!("not valid TOML: {}", shown(message)),
        "Compare the line with one of the files in examples/.",
    );
    ["invalid fraction", "invalid boolean", "invalid date", "unexpected leading zero", "invalid exponent"]
        .iter()
        .any(|m| message.starts_with(m))
}

fn read_root(sheet: &mut Sheet, map: &DeTable<'_>) -> Option<DogFile> {
    if let Some(schema) = map.get("schema")
        && let Some(written) = schema.get_ref().as_str()
        && written != SCHEMA
    {
        sheet.fault(
            schema.span().start,
            format!("schema `{}` is not `{SCHEMA}`", shown(written)),
            format!("Write `schema = \"{SCHEMA}\"`; a file of a later schema needs a newer build."),
        );
        return None;
    }
    let root = Table::new(sheet, "", 0, map);
    root.text(sheet, "schema");
    let name = root.text(sheet, "name");
    let born = root.date(sheet, "born");
    let sex = root.word(sheet, "sex").and_then(Sex::parse);
    let neutered_since = root.date(sheet, "neutered_since");
    not_before_birth(sheet, &root, "neutered_since", "neutered", neutered_since, born);
    let mass_kg = root.number(sheet, "mass_kg");
    let coat = root.word(sheet, "coat").and_then(CoatType::parse);
    let outdoors = root.flag(sheet, "outdoors").unwrap_or(false);
    if outdoors && !root.has("latitude_deg") {
        sheet.fault(
            root.at("outdoors"),
            "`outdoors` stands without `latitude_deg`",
            "Add `latitude_deg`, for instance `latitude_deg = 53.0`: the season of the coat follows the length of the day.",
        );
    }
    let density = root.number(sheet, "density").unwrap_or(1.0);
    let temper = root.word(sheet, "temper").and_then(Temper::parse).unwrap_or(Temper::Calm);
    let look = root.word(sheet, "look").and_then(Look::parse).unwrap_or(Look::Pet);
    let table_max_min = root.number(sheet, "table_max_min");
    let rhythm_days = root.whole(sheet, "rhythm_days").and_then(|d| i32::try_from(d).ok());
    let before_ripe = root.flag(sheet, "before_ripe").unwrap_or(false);
    let latitude_deg = root.number(sheet, "latitude_deg");
    let health_notes = root.table(sheet, "health", "health").and_then(|t| t.text(sheet, "notes"));
    let steroids = read_steroids(sheet, &root, born);
    let conditions = read_conditions(sheet, &root, born, sex, neutered_since);
    let groomer = read_groomer(sheet, &root);
    let weights = read_weights(sheet, &root);
    let history = history::read(sheet, &root, born);
    let zones = read_zones(sheet, &root, born);
    let days_that_matter = read_days(sheet, &root, born);
    Some(DogFile {
        source: sheet.source.clone(),
        name: name?,
        born: born?,
        sex: sex?,
        neutered_since,
        mass_kg: mass_kg?,
        coat: coat?,
        density,
        temper,
        look,
        table_max_min,
        rhythm_days,
        before_ripe,
        outdoors,
        latitude_deg,
        health_notes,
        steroids,
        conditions,
        groomer,
        weights,
        history,
        zones,
        days_that_matter,
    })
}

fn not_before_birth(
    sheet: &mut Sheet,
    table: &Table<'_, '_>,
    key: &str,
    what: &str,
    day: Option<Day>,
    born: Option<Day>,
) {
    if let (Some(day), Some(born)) = (day, born)
        && day < born
    {
        sheet.fault(
            table.at(key),
            format!("{what} `{day}` lies before the birth on `{born}`"),
            "Correct this date, or `born`.",
        );
    }
}

/// Reads `from` and `until`.
fn span(sheet: &mut Sheet, table: &Table<'_, '_>, what: &str, born: Option<Day>) -> (Option<Day>, Option<Day>) {
    let from = table.date(sheet, "from");
    let until = table.date(sheet, "until");
    not_before_birth(sheet, table, "from", &format!("{what} from"), from, born);
    if let (Some(from), Some(until)) = (from, until)
        && until < from
    {
        sheet.fault(
            table.at("until"),
            format!("until `{until}` lies before from `{from}`"),
            "Exchange the two dates, or correct one of them.",
        );
    }
    (from, until)
}

fn read_steroids(sheet: &mut Sheet, root: &Table<'_, '_>, born: Option<Day>) -> Vec<Steroids> {
    let mut out = Vec::new();
    for table in root.tables(sheet, "steroids", "steroids") {
        let (from, until) = span(sheet, &table, "steroids", born);
        let line = sheet.line(table.at);
        if let Some(from) = from
            && let Some(other) =
                out.iter().find(|s: &&Steroids| s.until.is_none_or(|u| from <= u) && until.is_none_or(|u| s.from <= u))
        {
            sheet.fault(
                table.at("from"),
                format!("this course of steroids overlaps the one of line {}", other.line),
                "Make one entry of the two, or correct a date.",
            );
        }
        out.extend(from.map(|from| Steroids { from, until, line }));
    }
    out
}

fn read_conditions(
    sheet: &mut Sheet,
    root: &Table<'_, '_>,
    born: Option<Day>,
    sex: Option<Sex>,
    neutered_since: Option<Day>,
) -> Vec<Condition> {
    let mut out = Vec::new();
    for table in root.tables(sheet, "condition", "condition") {
        let kind = table.word(sheet, "kind").and_then(ConditionKind::parse);
        let (from, until) = span(sheet, &table, "condition", born);
        let zones = table.zones(sheet, "zones");
        let note = table.text(sheet, "note");
        let line = sheet.line(table.at);
        if let (Some(kind @ (ConditionKind::Season | ConditionKind::Whelping)), Some(Sex::Dog)) = (kind, sex) {
            sheet.fault(
                table.at("kind"),
                format!("condition `{}` does not go with sex `dog`", kind.word()),
                "Correct the kind, or write `sex = \"bitch\"`.",
            );
        }
        if let (Some(kind @ (ConditionKind::Season | ConditionKind::Whelping)), Some(from), Some(neutered)) =
            (kind, from, neutered_since)
            && neutered <= from
        {
            sheet.fault(
                table.at("from"),
                format!("condition `{}` from `{from}` comes after she was neutered on `{neutered}`", kind.word()),
                "Correct one of the two dates, or the kind.",
            );
        }
        if let (Some(kind), Some(from)) = (kind, from) {
            out.push(Condition { kind, from, until, zones, note, line });
        }
    }
    out
}

fn read_groomer(sheet: &mut Sheet, root: &Table<'_, '_>) -> Groomer {
    let caps = Caps { layered: Mode::Layered.cap(), short: Mode::Short.cap(), shaped: Mode::Shaped.cap() };
    let mut groomer = Groomer { pace: 1.0, caps, price_per_hour: None, currency: None };
    let Some(table) = root.table(sheet, "groomer", "groomer") else { return groomer };
    groomer.pace = table.number(sheet, "pace").unwrap_or(1.0);
    groomer.price_per_hour = table.number(sheet, "price_per_hour");
    groomer.currency = table.text(sheet, "currency").filter(|code| {
        let good = code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase());
        if !good {
            sheet.fault(
                table.at("currency"),
                format!("currency `{}` is not a code of three capital letters", shown(code)),
                "Write the ISO 4217 code, for instance `\"EUR\"`.",
            );
        }
        good
    });
    for (one, other) in [("price_per_hour", "currency"), ("currency", "price_per_hour")] {
        if table.has(one) && !table.has(other) {
            sheet.fault(
                table.at(one),
                format!("`{one}` stands without `{other}`"),
                format!("Add `{other}`, or remove `{one}`."),
            );
        }
    }
    if let Some(t) = table.table(sheet, "caps", "groomer.caps") {
        groomer.caps = Caps {
            layered: t.number(sheet, "layered").unwrap_or(caps.layered),
            short: t.number(sheet, "short").unwrap_or(caps.short),
            shaped: t.number(sheet, "shaped").unwrap_or(caps.shaped),
        };
    }
    groomer
}

fn read_weights(sheet: &mut Sheet, root: &Table<'_, '_>) -> Weights {
    let usual = Weights::default();
    let Some(t) = root.table(sheet, "weights", "weights") else { return usual };
    Weights {
        cover: t.number(sheet, "cover").unwrap_or(usual.cover),
        ripe: t.number(sheet, "ripe").unwrap_or(usual.ripe),
        ripe_short: t.number(sheet, "ripe_short").unwrap_or(usual.ripe_short),
        evenness: t.number(sheet, "evenness").unwrap_or(usual.evenness),
        wool: t.number(sheet, "wool").unwrap_or(usual.wool),
        unripe: t.number(sheet, "unripe").unwrap_or(usual.unripe),
        outline: t.number(sheet, "outline").unwrap_or(usual.outline),
        day_that_matters: t.number(sheet, "day_that_matters").unwrap_or(usual.day_that_matters),
        ..usual
    }
}

fn read_zones(sheet: &mut Sheet, root: &Table<'_, '_>, born: Option<Day>) -> Vec<ZoneSettings> {
    let mut out: Vec<ZoneSettings> = Vec::new();
    for table in root.tables(sheet, "zones", "zones") {
        let zones = table.zones_needed(sheet);
        let until = table.date(sheet, "hands_off_until");
        let reason = table.text(sheet, "reason");
        not_before_birth(sheet, &table, "hands_off_until", "hands off until", until, born);
        if table.has("reason") && !table.has("hands_off_until") {
            sheet.fault(
                table.at("reason"),
                "`reason` stands without `hands_off_until`",
                "Add `hands_off_until` with the first day on which the zone may be worked again.",
            );
        }
        let settings = ZoneSettings {
            zone: Zone::Back,
            target_mm: table.number(sheet, "target_mm"),
            tender: table.flag(sheet, "tender"),
            mode: table.word(sheet, "mode").and_then(|w| Mode::ALL.into_iter().find(|m| m.word() == w)),
            hands_off: until.map(|until| HandsOff { until, reason }),
            cap: table.number(sheet, "cap"),
            floor: table.number(sheet, "floor"),
            lag_d: table.number(sheet, "lag_d"),
            grow_d: table.number(sheet, "grow_d"),
            set_d: table.number(sheet, "set_d"),
            hold_d: table.number(sheet, "hold_d"),
            growth_mm_d: table.number(sheet, "growth_mm_d"),
            line: sheet.line(table.at),
        };
        for zone in zones {
            if let Some(first) = out.iter().find(|z| z.zone == zone) {
                let message = format!("zone `{zone}` is set twice, also in line {}", first.line);
                sheet.fault(table.at, message, "Make one entry of the two; a group sets all of its zones.");
                break;
            }
            out.push(ZoneSettings { zone, ..settings.clone() });
        }
    }
    out
}

fn read_days(sheet: &mut Sheet, root: &Table<'_, '_>, born: Option<Day>) -> Vec<DayThatMatters> {
    let mut out: Vec<DayThatMatters> = Vec::new();
    for table in root.tables(sheet, "days_that_matter", "days_that_matter") {
        let date = table.date(sheet, "date");
        let name = table.text(sheet, "name");
        let line = sheet.line(table.at);
        not_before_birth(sheet, &table, "date", "day that matters", date, born);
        let Some(date) = date else { continue };
        if let Some(last) = out.last().filter(|l| l.date >= date) {
            let (message, hint) = if last.date == date {
                (format!("day that matters `{date}` stands twice, also in line {}", last.line), "Keep one of the two.")
            } else {
                (
                    format!("`{date}` stands after `{}` of line {}", last.date, last.line),
                    "Put the days that matter in date order.",
                )
            };
            sheet.fault(table.at("date"), message, hint);
        }
        out.push(DayThatMatters { date, name, line });
    }
    out
}
