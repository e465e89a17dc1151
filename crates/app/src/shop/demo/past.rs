//! What happened to each invented dog.

use super::super::records::{ConditionBody, DogBody, EventBody, RecordBody, VisitBody, VisitState, ZoneBody};
use super::Draw;
use super::names::BREEDS;
use coat::{CoatType, Day, Mode, Zone};

/// How a dog came to the shop and what it does there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Rolled here for two years.
    Rolled,
    /// The same, and its owner has not come back.
    Late,
    /// Clipped before it came.
    Clipped,
    /// Nobody has worked it.
    Overgrown,
    /// Stripped flat some weeks ago.
    Flat,
    /// Under a year.
    Puppy,
    /// Rolled, and on steroids.
    Steroids,
    /// Rolled elsewhere, new here.
    Elsewhere,
    /// No longer comes.
    Gone,
}

impl Kind {
    pub(super) fn of(i: usize) -> Kind {
        match i {
            7 | 23 | 39 | 52 => Kind::Overgrown,
            11 | 26 | 33 | 47 | 58 => Kind::Clipped,
            16 | 44 => Kind::Flat,
            5 | 29 | 55 => Kind::Puppy,
            13 => Kind::Steroids,
            19 | 41 => Kind::Elsewhere,
            9 | 21 | 36 | 49 => Kind::Late,
            31 => Kind::Gone,
            _ => Kind::Rolled,
        }
    }
}

/// Whether a dog is one of those that come on the shop's first day.
fn comes_today(i: usize) -> bool {
    i % 9 == 1 && matches!(Kind::of(i), Kind::Rolled | Kind::Clipped)
}

/// Its rhythm, days.
fn rhythm(dog: &DogBody) -> i32 {
    dog.rhythm_days.unwrap_or(21)
}

/// Who it is.
pub(super) fn dog(name: &str, i: usize, kind: Kind, today: Day, draw: &mut Draw) -> DogBody {
    let (breed, coat, mass) = BREEDS[(i * 5) % BREEDS.len()];
    let age_d = match kind {
        Kind::Puppy => draw.whole(150, 300),
        Kind::Clipped | Kind::Overgrown => draw.whole(900, 2500),
        _ if i % 13 == 6 => draw.whole(3700, 4500),
        _ => draw.whole(1000, 3000),
    };
    let born = today - age_d;
    let bitch = i.is_multiple_of(2);
    let neutered = age_d > 500 && draw.chance(0.4);
    let look = if i % 15 == 2 {
        "show"
    } else if i % 4 == 1 {
        "smart"
    } else {
        "pet"
    };
    let rhythm_days = match look {
        "show" => 10,
        "smart" => 14,
        _ => 21,
    };
    let temper = if i % 17 == 8 {
        "objects"
    } else if i % 6 == 3 {
        "fidgets"
    } else {
        "calm"
    };
    let steroids = if kind == Kind::Steroids {
        vec![((today - 100).to_string(), Some((today - 20).to_string()))]
    } else {
        Vec::new()
    };
    let conditions = if i % 20 == 4 {
        vec![ConditionBody {
            kind: "ears".into(),
            from: (today - 6).to_string(),
            until: Some((today + 15).to_string()),
            zones: vec!["ears".into()],
            note: "seen at the last visit".into(),
        }]
    } else {
        Vec::new()
    };
    let zones = if i % 18 == 10 {
        vec![ZoneBody {
            zone: "rump".into(),
            hands_off_until: Some((today + 24).to_string()),
            hands_off_reason: "a graze".into(),
            ..ZoneBody::default()
        }]
    } else {
        Vec::new()
    };
    let days_that_matter =
        if look == "show" { vec![((today + 55).to_string(), "an invented show".to_owned())] } else { Vec::new() };
    let not_on = if i % 12 == 7 { vec![((today + 10).to_string(), (today + 24).to_string())] } else { Vec::new() };
    DogBody {
        name: name.to_owned(),
        breed: breed.to_owned(),
        chip: if i % 5 == 4 { String::new() } else { format!("998{:012}", 100_000_007 * (i as u64 + 1)) },
        born: born.to_string(),
        sex: if bitch { "bitch" } else { "dog" }.into(),
        neutered_since: neutered.then(|| (born + 400).to_string()),
        mass_kg: (10.0 * mass * draw.between(0.88, 1.14)).round() / 10.0,
        coat: coat.to_owned(),
        density: (20.0 * draw.between(0.8, 1.2)).round() / 20.0,
        temper: temper.into(),
        look: look.into(),
        table_max_min: i.is_multiple_of(3).then_some(120.0),
        rhythm_days: Some(rhythm_days),
        before_ripe: false,
        outdoors: i % 25 == 14,
        health: if i % 14 == 3 { "Invented: a stiff hip, does not stand long.".into() } else { String::new() },
        steroids,
        conditions,
        zones,
        days_that_matter,
        not_on,
        groomer: None,
        left: kind == Kind::Gone,
    }
}

fn event(day: Day, what: &str) -> EventBody {
    EventBody::of(day.to_string(), what)
}

/// The shop is closed on Sundays.
fn open(day: Day) -> Day {
    if day.weekday() == 7 { day + 1 } else { day }
}

/// Its history, each visit with its record.
pub(super) fn play(
    dog: &DogBody,
    kind: Kind,
    i: usize,
    today: Day,
    draw: &mut Draw,
) -> Vec<(EventBody, Option<VisitBody>)> {
    let born = Day::parse(&dog.born).unwrap_or(today);
    let every = rhythm(dog);
    let mut out: Vec<(EventBody, Option<VisitBody>)> = Vec::new();
    let first = match kind {
        Kind::Puppy => {
            if today - born < 170 {
                return out;
            }
            (today - draw.whole(5, 20)).max(born + 140)
        }
        Kind::Overgrown => {
            out.push((event(today - draw.whole(1, 12), "left alone"), None));
            return out;
        }
        Kind::Flat => {
            let flat = today - if i == 16 { 33 } else { 66 };
            out.push((event(flat, "left alone"), None));
            let visit = VisitBody { state: VisitState::Done, ..VisitBody::planned_for(flat.to_string(), 0) };
            out.push((EventBody { work_min: None, ..event(flat, "flat") }, Some(visit)));
            return out;
        }
        Kind::Elsewhere => {
            let until = today - draw.whole(6, 16);
            out.push((EventBody { every_weeks: Some(4.0), ..event(until, "rolled") }, None));
            return out;
        }
        Kind::Clipped => {
            let clip = (today - draw.whole(250, 420)).max(born + 300);
            let months = (f64::from(clip - born) / 30.4375 - 2.0).floor().clamp(1.0, 18.0);
            let clipped = EventBody {
                length_mm: Some(if i.is_multiple_of(2) { 6.0 } else { 9.0 }),
                every_weeks: Some(8.0),
                months: Some(months),
                ..event(clip, "clipped")
            };
            out.push((clipped, None));
            clip + 80
        }
        _ => {
            let first = (today - draw.whole(700, 730)).max(born + 200);
            if first - born > 300 {
                out.push((event(first, "left alone"), None));
            }
            first
        }
    };
    let last = match kind {
        Kind::Late => today - every - draw.whole(15, 40),
        Kind::Gone => today - 150,
        _ if comes_today(i) => today - every,
        _ => today - draw.whole(1, every - 1),
    };
    visits(dog, &mut out, (open(first), last), draw);
    out
}

/// Visits a rhythm apart, with their slips, the last on its day.
fn visits(dog: &DogBody, out: &mut Vec<(EventBody, Option<VisitBody>)>, (first, last): (Day, Day), draw: &mut Draw) {
    let every = rhythm(dog);
    let own = Own::new(dog, draw);
    // Counted back from the last, so that it falls where it should.
    let mut days = vec![last];
    let mut day = last;
    loop {
        day = open(day - every - if draw.chance(0.15) { draw.whole(1, 6) } else { 0 });
        if day < first {
            break;
        }
        days.push(day);
    }
    days.reverse();
    let mut worked: Vec<Day> = Vec::new();
    for (n, day) in days.iter().enumerate() {
        let again = n + 1 == days.len();
        let visit = VisitBody { state: VisitState::Done, ..VisitBody::planned_for(day.to_string(), 0) };
        // One in thirty does not come.
        if !again && n > 0 && draw.chance(0.033) {
            let missed = VisitBody { state: VisitState::Missed, ..visit };
            out.push((event(*day, "missed"), Some(missed)));
            continue;
        }
        let e = own.visit(*day, &worked, draw);
        worked.push(*day);
        out.push((e, Some(visit)));
    }
}

/// A coat's own speed, known to nobody.
struct Own {
    rhythm_d: i32,
    lag_d: f64,
    growth_mm_d: f64,
    ripe_mm: f64,
    minutes: f64,
    restless: bool,
}

impl Own {
    fn new(dog: &DogBody, draw: &mut Draw) -> Self {
        let c = CoatType::parse(&dog.coat).unwrap_or(CoatType::Wire).defaults();
        let growth_mm_d = c.growth_mm_d * draw.between(0.88, 1.15);
        // Meeh's formula as in the coat model, and the minutes of a usual visit.
        let skin_dm2 = 0.101 * (dog.mass_kg * 1000.0).powf(2.0 / 3.0);
        Own {
            rhythm_d: rhythm(dog),
            lag_d: c.lag.mean_d() * draw.between(0.85, 1.2),
            growth_mm_d,
            ripe_mm: growth_mm_d * c.grow.mean_d() * draw.between(0.95, 1.1),
            minutes: 20.0 + skin_dm2 * dog.density * 0.95,
            restless: dog.temper != "calm",
        }
    }

    /// The share of the visible hair that keeps a coat rolling at this rhythm, as a hand does it.
    fn share(&self) -> f64 {
        match self.rhythm_d {
            ..=8 => 1.0 / 12.0,
            9..=11 => 0.1,
            12..=16 => 0.125,
            _ => 0.2,
        }
    }

    fn visit(&self, day: Day, worked: &[Day], draw: &mut Draw) -> EventBody {
        let n = worked.len();
        let round = |x: f64| (x * 2.0).round() / 2.0;
        let jacket: Vec<String> = of(|z| z.defaults().jacket && z != Zone::Back);
        let short: Vec<String> = of(|z| z.defaults().mode == Mode::Short);
        let legs: Vec<String> = [Zone::Forelegs, Zone::HindLegs, Zone::Underline].map(|z| z.word().to_owned()).into();
        let carded = n.is_multiple_of(2);
        let longest = round(self.ripe_mm * if n < 3 { 1.3 } else { 1.08 } + draw.between(-1.5, 1.5)).max(1.0);
        let through = |d: &&Day| f64::from(day - **d) > self.lag_d + 3.0;
        let new_layer = worked.iter().rev().find(through).map(|d| {
            round(self.growth_mm_d * (f64::from(day - *d) - self.lag_d) * draw.between(0.92, 1.08)).clamp(0.5, longest)
        });
        let ease = match draw.whole(0, 9) {
            0..=1 => 1,
            2..=6 => 2,
            7..=8 => 3,
            _ => 3 + u8::from(n > 2 && self.restless),
        };
        let feel = match n {
            0..=3 => "soft",
            4..=8 => "between",
            _ => "harsh",
        };
        let min = (self.minutes * if n == 0 { 1.3 } else { draw.between(0.85, 1.15) }).round();
        let read = n.is_multiple_of(2) || n < 6;
        let back = RecordBody {
            zones: vec!["back".into()],
            share: Some(self.share()),
            carded,
            longest_mm: read.then_some(longest),
            new_layer_mm: if read { new_layer } else { None },
            work_min: n.is_multiple_of(3).then(|| round(self.minutes * 0.08 * draw.between(0.8, 1.2))),
            ease: Some(ease),
            feel: read.then(|| feel.to_owned()),
            new_hair: (n > 0 && n < 4).then(|| new_layer.is_some()),
            ..RecordBody::default()
        };
        let plain = |zones: Vec<String>, share: f64| RecordBody {
            zones,
            share: Some(share),
            carded: false,
            ..RecordBody::default()
        };
        EventBody {
            work_min: Some(min),
            zones: vec![
                RecordBody { carded, ..plain(jacket, self.share()) },
                back,
                RecordBody { share: None, all_ripe: true, ..plain(short, 0.0) },
                plain(legs, if self.rhythm_d > 16 { 0.1 } else { 0.05 }),
            ],
            ..event(day, "visit")
        }
    }
}

fn of(which: impl Fn(Zone) -> bool) -> Vec<String> {
    Zone::ALL.into_iter().filter(|z| which(*z)).map(|z| z.word().to_owned()).collect()
}

/// The visits that are planned.
pub(super) fn to_come(dog: &DogBody, kind: Kind, i: usize, today: Day, last: Option<&str>) -> Vec<VisitBody> {
    let plan = |day: Day| vec![VisitBody::planned_for(day.to_string(), 0)];
    let last = last.and_then(Day::parse);
    match kind {
        _ if comes_today(i) => plan(today),
        Kind::Overgrown if i % 2 == 1 => plan(open(today + 1 + (i % 4) as i32)),
        Kind::Puppy => plan(open(today + 3 + (i % 5) as i32)),
        // Four in five go away with their next day.
        Kind::Rolled | Kind::Clipped | Kind::Steroids if !i.is_multiple_of(5) => {
            let next = last.map_or(today, |d| open(d + rhythm(dog)));
            let away = dog.not_on.iter().any(|(a, b)| *a <= next.to_string() && next.to_string() <= *b);
            if next > today && !away { plan(next) } else { Vec::new() }
        }
        _ => Vec::new(),
    }
}
