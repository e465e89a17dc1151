//! The form as the use cases take it, and their faults under the names that the form has.

use crate::fields::Fields;
use crate::ui::{self, fault, short};
use crate::words::{in_units, mm_of, unit};
use app::shop::{ConditionBody, DogBody, EventBody, Newcomer, Owner, PersonId, RecordId, Said, Units, Whose, ZoneBody};
use coat::{Day, Zone};

/// A coat that nobody worked has settled by this age; a younger dog's is followed from its birth. Days, `derived`: two
/// turns of the cycle.
const SETTLED_D: i32 = 730;

/// What there may be to mind: word in the record, whether only bitches have it, whether it can be in one place.
pub(super) const MINDED: [(&str, bool, bool); 10] = [
    ("skin", false, true),
    ("parasites", false, true),
    ("ears", false, false),
    ("spot_on", false, true),
    ("surgery", false, true),
    ("season", true, false),
    ("whelping", true, false),
    ("frightened", false, true),
    ("ill", false, false),
    ("sore_back", false, false),
];

/// Zones whose length is asked for together: name in the form, as spoken, zones.
pub(super) const TARGETS: [(&str, &str, &[Zone]); 4] = [
    (
        "jacket",
        "The jacket",
        &[
            Zone::Crest,
            Zone::NeckSides,
            Zone::Shoulders,
            Zone::Back,
            Zone::Sides,
            Zone::Loin,
            Zone::Rump,
            Zone::Forechest,
            Zone::Thighs,
        ],
    ),
    ("legs", "The legs", &[Zone::Forelegs, Zone::HindLegs]),
    ("underline", "The underline", &[Zone::Underline]),
    ("beard", "The beard", &[Zone::Beard]),
];

/// Whose the dog is, as far as the form says.
pub(super) fn whose(fields: &Fields) -> Whose {
    if let Ok(id) = RecordId::new(fields.text("owner")) {
        return Whose::Known(id);
    }
    let phones = fields.some("owner.phone").map(str::to_owned).into_iter().collect();
    Whose::New(Owner { name: fields.text("owner.name").to_owned(), phones, ..Owner::default() })
}

/// The newcomer, and what the form alone gets wrong. What is missing stands as something harmless beside its fault.
pub(super) fn newcomer(fields: &Fields, units: Units, today: Day) -> (Newcomer, Vec<Said>) {
    let mut faults = Vec::new();
    let born = needed_day(fields, "born", "the day of birth", &mut faults).unwrap_or_else(|| "2020-01-01".into());
    let mass_kg = ui::number(fields, "mass_kg", "Write kilograms, for instance 8.2.", &mut faults);
    if mass_kg.is_none() && !faults.iter().any(|f| f.field == "mass_kg") {
        faults.push(fault("mass_kg", "the mass is missing", "Weigh the dog, or give kilograms as near as you can."));
    }
    let history = past(fields, units, today, Day::parse(&born), &mut faults);
    let text = |name: &str| fields.text(name).to_owned();
    let dog = DogBody {
        name: text("name"),
        breed: text("breed"),
        chip: text("chip"),
        born,
        sex: chosen(fields, "sex", "bitch", &mut faults),
        neutered_since: fields.some("neutered_since").map(str::to_owned),
        mass_kg: mass_kg.unwrap_or(8.0),
        coat: chosen(fields, "coat", "wire", &mut faults),
        density: match fields.text("density") {
            "sparse" => 0.75,
            "heavy" => 1.25,
            _ => 1.0,
        },
        temper: chosen(fields, "temper", "calm", &mut faults),
        look: chosen(fields, "look", "pet", &mut faults),
        table_max_min: ui::number(fields, "table_max_min", "Write minutes, for instance 60.", &mut faults),
        rhythm_days: rhythm(fields, &mut faults),
        before_ripe: false,
        outdoors: fields.ticked("outdoors"),
        health: text("health"),
        steroids: steroids(fields, &mut faults),
        conditions: conditions(fields, today),
        zones: targets(fields, units, &mut faults),
        days_that_matter: matters(fields, &mut faults),
        not_on: Vec::new(),
        groomer: fields.some("groomer").and_then(|id| PersonId::new(id).ok()),
        left: false,
    };
    (Newcomer { whose: whose(fields), dog, history }, faults)
}

/// One that has to be chosen.
fn chosen(fields: &Fields, name: &str, harmless: &str, faults: &mut Vec<Said>) -> String {
    fields.some(name).map_or_else(
        || {
            faults.push(fault(name, "nothing is chosen here", "Choose one."));
            harmless.to_owned()
        },
        str::to_owned,
    )
}

fn needed_day(fields: &Fields, name: &str, what: &str, faults: &mut Vec<Said>) -> Option<String> {
    let day = fields.some(name).map(str::to_owned);
    if day.is_none() {
        faults.push(fault(name, format!("{what} is missing"), "Give a day; one that is about right will do."));
    }
    day
}

fn rhythm(fields: &Fields, faults: &mut Vec<Said>) -> Option<i32> {
    let text = fields.some("rhythm_days")?;
    let days = text.parse::<i32>().ok();
    if days.is_none() {
        let said = format!("`{}` is no whole number", short(text));
        faults.push(fault("rhythm_days", said, "Write days, for instance 21, or leave it empty."));
    }
    days
}

/// What was done to the coat before.
fn past(fields: &Fields, units: Units, today: Day, born: Option<Day>, faults: &mut Vec<Said>) -> Vec<EventBody> {
    let what = fields.text("before");
    let weeks = |name: &str, faults: &mut Vec<Said>| ui::number(fields, name, "Write weeks, for instance 8.", faults);
    match what {
        "" => faults.push(fault("before", "nothing is chosen here", "Choose what comes nearest.")),
        "never" if born.is_some_and(|b| today - b >= SETTLED_D) => {
            return vec![EventBody::of(today.to_string(), "left alone")];
        }
        // A young dog's coat is followed from its birth; of one that nobody knows the first visit tells.
        "never" | "unknown" => {}
        "flat" => {
            if let Some(day) = needed_day(fields, "flat.day", "the day", faults) {
                return vec![EventBody::of(day, "flat")];
            }
        }
        "clipped" => {
            let day = needed_day(fields, "clipped.day", "the day", faults);
            let mut event = EventBody::of(day.clone().unwrap_or_default(), "clipped");
            event.length_mm = length(fields, "clipped.length", "the length clipped to", units, faults);
            if event.length_mm.is_none() && !faults.iter().any(|f| f.field == "clipped.length") {
                let hint = format!("Give it in {}; about right will do.", unit(units));
                faults.push(fault("clipped.length", "the length clipped to is missing", hint));
            }
            event.every_weeks = weeks("clipped.weeks", faults);
            event.months = ui::number(fields, "clipped.months", "Write months, for instance 24.", faults);
            if event.months.is_some() && event.every_weeks.is_none() {
                let said = "it was clipped for months, and how often is missing";
                faults.push(fault("clipped.weeks", said, "Give the weeks between clips, for instance 8."));
            }
            if day.is_some() && !faults.iter().any(|f| f.field.starts_with("clipped.")) {
                return vec![event];
            }
        }
        "rolled" => {
            let day = needed_day(fields, "rolled.day", "the day", faults);
            let every = weeks("rolled.weeks", faults);
            if every.is_none() && !faults.iter().any(|f| f.field == "rolled.weeks") {
                let said = "the weeks between visits are missing";
                faults.push(fault("rolled.weeks", said, "Give weeks, for instance 3; about right will do."));
            }
            if let (Some(day), Some(_)) = (day, every) {
                return vec![EventBody { every_weeks: every, ..EventBody::of(day, "rolled") }];
            }
        }
        other => faults.push(fault("before", format!("`{}` is none of these", short(other)), "Choose one of them.")),
    }
    Vec::new()
}

/// A length that may be left out, in the shop's units.
fn length(fields: &Fields, name: &str, what: &str, units: Units, faults: &mut Vec<Said>) -> Option<f64> {
    let text = fields.some(name)?;
    let mm = mm_of(text, units).filter(|mm| (1.0..=400.0).contains(mm));
    if mm.is_none() {
        let hint = format!("Write {} to {} {}.", in_units(1.0, units), in_units(400.0, units), unit(units));
        faults.push(fault(name, format!("`{}` cannot be {what}", short(text)), hint));
    }
    mm
}

fn steroids(fields: &Fields, faults: &mut Vec<Said>) -> Vec<(String, Option<String>)> {
    if !fields.ticked("steroids") {
        return Vec::new();
    }
    let from = needed_day(fields, "steroids.from", "the first day of the course", faults);
    from.map(|from| (from, fields.some("steroids.until").map(str::to_owned))).into_iter().collect()
}

fn conditions(fields: &Fields, today: Day) -> Vec<ConditionBody> {
    let bitch = fields.text("sex") == "bitch";
    let noted = MINDED.iter().filter(|m| fields.ticked(&format!("minded.{}", m.0)) && (bitch || !m.1));
    noted
        .map(|(kind, _, placed)| {
            let of = |name: &str| fields.some(&format!("minded.{kind}.{name}")).map(str::to_owned);
            ConditionBody {
                kind: (*kind).to_owned(),
                from: of("from").unwrap_or_else(|| today.to_string()),
                until: of("until"),
                zones: of("where").filter(|_| *placed).into_iter().collect(),
                note: String::new(),
            }
        })
        .collect()
}

fn targets(fields: &Fields, units: Units, faults: &mut Vec<Said>) -> Vec<ZoneBody> {
    let mut out = Vec::new();
    for (name, spoken, zones) in TARGETS {
        let what = format!("a length for {}", spoken.to_lowercase());
        let target_mm = length(fields, &format!("target.{name}"), &what, units, faults);
        if target_mm.is_some() {
            out.extend(zones.iter().map(|z| ZoneBody { zone: z.word().into(), target_mm, ..ZoneBody::default() }));
        }
    }
    out
}

fn matters(fields: &Fields, faults: &mut Vec<Said>) -> Vec<(String, String)> {
    let (day, name) = (fields.some("matters.day"), fields.text("matters.name"));
    if day.is_none() && !name.is_empty() {
        faults.push(fault("matters.day", "the day that matters has a name and no date", "Give its date as well."));
    }
    day.map(|day| (day.to_owned(), name.to_owned())).into_iter().collect()
}

/// A fault of the use cases under the form's name for its field.
pub(super) fn in_the_form(said: Said, new: &Newcomer) -> Said {
    let parts: Vec<&str> = said.field.split('.').collect();
    let event = new.history.first().map_or("", |e| e.event.as_str());
    let field = match parts.as_slice() {
        ["owner", "phones", ..] => "owner.phone".to_owned(),
        ["history", _, rest @ ..] if matches!(event, "flat" | "clipped" | "rolled") => match rest {
            ["length_mm"] => format!("{event}.length"),
            ["every_weeks"] => format!("{event}.weeks"),
            ["months"] => format!("{event}.months"),
            _ => format!("{event}.day"),
        },
        ["history", ..] => "before".to_owned(),
        ["conditions", i, rest @ ..] => {
            let noted = i.parse().ok().and_then(|i: usize| new.dog.conditions.get(i));
            let kind = noted.map_or("", |c| c.kind.as_str());
            match rest {
                ["from" | "until"] => format!("minded.{kind}.{}", rest.concat()),
                ["zones"] => format!("minded.{kind}.where"),
                _ => format!("minded.{kind}"),
            }
        }
        ["steroids", _, rest @ ..] => ["steroids"].iter().chain(rest).copied().collect::<Vec<_>>().join("."),
        ["days_that_matter", _, rest @ ..] => format!("matters.{}", rest.first().unwrap_or(&"day")),
        ["zones", zone, ..] => {
            let group = TARGETS.iter().find(|t| t.2.iter().any(|z| z.word() == *zone));
            format!("target.{}", group.map_or("jacket", |g| g.0))
        }
        _ => said.field.clone(),
    };
    Said { field, ..said }
}
