//! What the list of coats says of a dog: when the next visit is worth while, and by when the dog should be back.
//!
//! Reckoned by a short rule from the coat alone, without a plan, so that thousands of dogs take minutes; the plan on
//! the dog's page decides. The rule:
//!
//! - *ready*: the first day after the last work on which a jacket's ripe hair comes to four fifths of what a visit at
//!   this rhythm takes from a rolling coat, zones with hands off left out;
//! - *due*: a rhythm after the last recorded work, or seven days after *ready* where that comes later than a rhythm; a
//!   coat that nobody here has worked yet has no such day;
//! - *rolling*: evenness of the jacket 0.85 or more; *hard*: nine tenths of the jacket hard, as in the milestones;
//! - *resting*: every worked zone has hands off, or nothing is to be taken for more than six weeks.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::ids::RecordId;
use super::learned::refused;
use super::owners::place;
use super::port::{Found, Who};
use super::records::Owner;
use crate::dog_file::{DogFile, EventKind};
use crate::hands_off;
use crate::model;
use crate::planning::{Failure, coat_on};
use coat::{Day, DogCoat, Mode, ZoneCoat, dog_measures, steady_share};

/// Share of a rolling coat's visit that must be ripe for a visit to be worth while.
const WORTH: f64 = 0.8;
/// Where a coat is ready later than its rhythm, the dog has so many days to come.
const GRACE_D: i32 = 7;
/// With nothing to take for longer than this a coat is resting, days.
const RESTING_D: i32 = 42;
/// What the list says of a dog that left.
pub(super) const GONE: &str = "No longer comes.";
/// How far ahead a coat is followed, days.
const AHEAD_D: i32 = 400;

/// What was reckoned of a coat.
#[derive(Clone, Debug, PartialEq)]
pub struct Reckoned {
    /// First day on which a visit is worth while.
    pub ready: Option<Day>,
    /// The day by which the dog should be back.
    pub due: Option<Day>,
    /// The coat rolls.
    pub rolling: bool,
    /// The jacket is hard.
    pub hard: bool,
    /// Hands off, or nothing to take for long.
    pub resting: bool,
    /// Minutes that the next visit takes; none where there is nothing to do.
    pub work_min: Option<f64>,
    /// What the next visit needs, in one line.
    pub line: String,
}

/// Reckons a coat on a day.
///
/// # Errors
/// [`Failure`] when the history contradicts itself or begins later.
pub fn reckoned(file: &DogFile, today: Day) -> Result<Reckoned, Failure> {
    let recommended = model::recommended_rhythm(file, &model::dog(file, 21));
    let rhythm = file.rhythm_days.unwrap_or(recommended);
    let mut dog = model::dog(file, rhythm);
    hands_off::close(&mut dog, file, today);
    let past = || file.history.iter().rev().filter(|e| e.date <= today);
    let began = past().find(|e| e.kind != EventKind::Missed).map_or(file.born, |e| e.date);
    // Work that is a beginning here; how a coat was kept elsewhere is not.
    let worked = past().find(|e| matches!(e.kind, EventKind::Visit(_) | EventKind::Flat | EventKind::Rolled { .. }));
    let worked = worked.map(|e| e.date);

    let mut coat = coat_on(file, &dog, began)?;
    let mut now = coat.clone();
    now.step_to(today);
    let jacket: Vec<_> = measured(&now).map(ZoneCoat::measures).collect();
    let means = dog_measures(&jacket);

    let open = |z: &ZoneCoat, day: Day| z.setup.hands_off_until.is_none_or(|until| day >= until);
    let worth = |c: &DogCoat, day: Day| -> bool {
        let (mut ripe, mut visible, mut usual) = (0.0, 0.0, 0.0);
        for z in measured(c).filter(|z| open(z, day)) {
            let area = z.setup.zone.defaults().area;
            ripe += area * z.top.ripe();
            visible += area * z.top.visible();
            usual += area * z.top.visible() * steady_share(z.top.law(), rhythm).min(z.setup.cap);
        }
        visible > 0.0 && ripe >= WORTH * usual
    };
    coat.zones.retain(counts);
    let ready = first_day(&coat, began, today + AHEAD_D, &worth);
    let due = match (worked, ready) {
        (Some(worked), Some(ready)) if ready > worked + rhythm => Some(ready + GRACE_D),
        (Some(worked), Some(_)) => Some(worked + rhythm),
        _ => None,
    };
    let opens = now.zones.iter().filter(|z| z.setup.is_worked()).map(|z| z.setup.hands_off_until).min().flatten();
    let closed = opens.filter(|until| today < *until);
    let resting = closed.is_some() || ready.is_none_or(|r| r > today + RESTING_D);

    let next = ready.map_or(today + AHEAD_D, |r| r.max(today));
    // Minutes go with the words: none where there is nothing to do.
    let (work_min, line) = if let Some(until) = closed.filter(|_| ready.is_some()) {
        (None, format!("Hands off until {until}."))
    } else if resting {
        (None, format!("Nothing to take before {next}."))
    } else {
        now.step_to(next);
        let (min, line) = work(file, &dog, &now, next);
        (Some(min), line)
    };
    Ok(Reckoned {
        ready,
        due,
        rolling: means.evenness.is_some_and(|e| e >= crate::report::ROLLING),
        hard: means.hard.is_some_and(|h| h >= crate::report::HARD),
        resting,
        work_min,
        line,
    })
}

/// The zones by which a coat is judged: the worked jacket.
fn measured(coat: &DogCoat) -> impl Iterator<Item = &ZoneCoat> {
    coat.zones.iter().filter(|z| counts(z))
}

fn counts(z: &ZoneCoat) -> bool {
    z.setup.is_worked() && z.setup.zone.defaults().jacket
}

/// The first day from `from` on that holds, by weeks and then by days.
fn first_day(coat: &DogCoat, from: Day, until: Day, holds: &dyn Fn(&DogCoat, Day) -> bool) -> Option<Day> {
    let mut before = coat.clone();
    if holds(&before, from) {
        return Some(from);
    }
    loop {
        let mut week = before.clone();
        week.step_to(before.day + 7);
        if holds(&week, week.day) {
            while !holds(&before, before.day) && before.day < week.day {
                before.step_to(before.day + 1);
            }
            return Some(before.day);
        }
        if week.day > until {
            return None;
        }
        before = week;
    }
}

/// Minutes of a visit on the coat's day, and what it needs in words.
fn work(file: &DogFile, dog: &coat::Dog, coat: &DogCoat, day: Day) -> (f64, String) {
    let table = model::table_on(file, dog, None, day);
    let mut min = table.base_min();
    let (mut jacket, mut area, mut short, mut card) = (0.0, 0.0, 0, false);
    for z in coat.zones.iter().filter(|z| z.setup.is_worked()) {
        if z.setup.hands_off_until.is_some_and(|until| day < until) {
            continue;
        }
        let visible = z.top.visible();
        let share = if visible > 0.0 { (z.top.ripe() / visible).min(model::cap_on(file, &z.setup, day)) } else { 0.0 };
        let share = if share < 0.05 { 0.0 } else { share };
        let d = z.setup.zone.defaults();
        let carded = z.wants_carding();
        min += table.zone_min(d.area, z.setup.tender, share, carded);
        card |= carded;
        if d.jacket {
            jacket += d.area * share;
            area += d.area;
        } else if z.setup.mode == Mode::Short && share > 0.0 {
            short += 1;
        }
    }
    let min = table.max_min.map_or(min, |most| min.min(most));
    if model::puppy(file, day) {
        return (min, "A puppy: fingers only, ten minutes, a few hairs.".to_owned());
    }
    let mut parts = Vec::new();
    if card {
        parts.push("card".to_owned());
    }
    let jacket: f64 = if area > 0.0 { jacket / area } else { 0.0 };
    if jacket >= 0.04 {
        let n = [4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0_f64];
        let near = n.into_iter().min_by(|a, b| (jacket - 1.0 / a).abs().total_cmp(&(jacket - 1.0 / b).abs()));
        parts.push(format!("jacket about 1 in {:.0}", near.unwrap_or(5.0)));
    }
    if short > 0 {
        parts.push("all that is ripe where it is kept short".to_owned());
    }
    let mut line = parts.join(", ");
    if line.is_empty() {
        line = "look over, tidy".to_owned();
    }
    if let Some(first) = line.get(..1) {
        line = format!("{}{}.", first.to_uppercase(), &line[1..]);
    }
    (min, line)
}

impl Desk {
    /// Reckons a dog for today and puts it into the list of coats.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`], or of the store. Records that contradict themselves are said in the line.
    pub async fn reckon(&self, who: &Who, today: Day, id: &RecordId) -> Result<Found, ShopFailure> {
        let facts = self.facts(who, id).await?;
        let owner = match &facts.dog.of {
            Some(owner) => self.held_if_any::<Owner>(who, owner).await?.map(|o| o.body),
            None => None,
        };
        let mut found = place(id, &facts.dog.body, owner.as_ref(), &facts.house.country, None);
        found.reckoned = today.to_string();
        if facts.dog.body.left {
            found.line = GONE.into();
        } else {
            match self.reckon_facts(who, today, id, &facts).await {
                Ok(r) => {
                    found.ready = r.ready.map(|d| d.to_string());
                    found.due = r.due.map(|d| d.to_string());
                    (found.rolling, found.hard, found.resting) = (r.rolling, r.hard, r.resting);
                    (found.work_min, found.line) = (r.work_min, r.line);
                }
                Err(ShopFailure::Refused(said)) => {
                    let why = said.first().map_or("", |s| s.message.as_str());
                    found.line = format!("Look at its history: {why}.");
                }
                Err(other) => return Err(other),
            }
        }
        self.store().place(&who.shop, std::slice::from_ref(&found)).await.map_err(ShopFailure::Store)?;
        Ok(found)
    }

    async fn reckon_facts(
        &self,
        who: &Who,
        today: Day,
        id: &RecordId,
        facts: &super::dogs::Facts,
    ) -> Result<Reckoned, ShopFailure> {
        let (file, sheet) = facts.file()?;
        self.keep_clocks(who, facts, &file).await?;
        let (mut file, _) = self.with_learned(who, id, file, &sheet, today).await?;
        if let Some(minutes) = self.minutes(who, today, facts).await? {
            file.groomer.pace = minutes.pace();
        }
        self.heavy(move || reckoned(&file, today)).await?.map_err(|e| refused(&e, &sheet))
    }

    /// Reckons dogs that were not reckoned for today, at most `most`; gives how many it did. None left: 0.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn reckon_stale(&self, who: &Who, today: Day, most: u32) -> Result<usize, ShopFailure> {
        let stale = self.store().stale(&who.shop, &today.to_string(), most).await.map_err(ShopFailure::Store)?;
        for id in &stale {
            match self.reckon(who, today, id).await {
                // Taken away meanwhile.
                Ok(_) | Err(ShopFailure::NotFound { .. }) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(stale.len())
    }
}
