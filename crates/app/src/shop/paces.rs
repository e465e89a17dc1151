//! How fast hands are, from the clocks of finished visits: learned for the whole shop once a day.
//!
//! Each dog's clocks are kept beside it whenever it is reckoned, with whose hands it was (an id of this shop, no name).
//! What they say together by the day before is kept beside the house, so that a visit that is finished sets no plan
//! anew before tomorrow; on one day it is put together again only while few dogs have clocks.

use super::desk::Desk;
use super::dogs::Facts;
use super::failure::{Held, ShopFailure};
use super::house::house_id;
use super::ids::{PersonId, RecordId};
use super::learned::{moves_others, worth_anew};
use super::made::digest;
use super::port::Who;
use super::records::{Person, VisitBody};
use crate::dog_file::DogFile;
use crate::learning;
use coat::{Day, Zone};
use learn::{Pace, PaceRow, pace};
use serde::{Deserialize, Serialize};

/// Under this name a dog's clocks are kept, from this build.
const CLOCKS: &str = "clocks";
const BUILD: &str = env!("CARGO_PKG_VERSION");
/// Under this name it is kept what they say together.
const PACES: &str = "paces";
/// So many dogs count together at most,
const MOST_DOGS: u32 = 400;
/// each with so many of its latest clocks.
const MOST_CLOCKS: usize = 60;
/// A plan's pace counts in steps of this, so that it does not change from day to day.
const STEP: f64 = 0.02;
/// What a pace may be, as in the dog's file.
const PACE: (f64, f64) = (0.3, 3.0);

/// A clock as it is kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Kept {
    day_d: i32,
    /// Whose hands; none where nobody was named.
    by: Option<PersonId>,
    zone: Option<String>,
    took_min: f64,
    reckoned_min: f64,
}

/// Minutes taken for each that is reckoned at an even pace.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Times {
    /// Mean (of the logarithm).
    pub mean: f64,
    /// Lower end of the 80 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl From<Pace> for Times {
    fn from(p: Pace) -> Self {
        Times { mean: p.mean, low: p.low, high: p.high }
    }
}

/// What the clocks say of the minutes of a dog's visits.
#[derive(Clone, Debug, PartialEq)]
pub struct Minutes {
    /// The name of who works it; none where nobody is set.
    pub groomer: Option<String>,
    /// The pace typed in for them, 1 where there is none: what is expected before any clock.
    pub typed: f64,
    /// Their clocks, on all dogs.
    pub groomer_clocks: usize,
    /// Visits with them.
    pub of_groomer: Times,
    /// The dog's clocks, with all hands.
    pub dog_clocks: usize,
    /// Visits of this dog, whoever works it, against other dogs.
    pub of_dog: Times,
    /// Both together: what its plan reckons with.
    pub together: Times,
}

impl Minutes {
    /// The pace that a plan reckons with.
    pub(super) fn pace(&self) -> f64 {
        ((self.together.mean / STEP).round() * STEP).clamp(PACE.0, PACE.1)
    }
}

/// What all clocks say together.
#[derive(Debug, Serialize, Deserialize)]
struct Paces {
    /// People in the order of their ids, then nobody in particular.
    people: Vec<(usize, Times)>,
    /// A dog that no clock is of, with each of the people.
    new_dog: (Times, Vec<Times>),
    /// Dogs by id: their clocks, their own part, and visits with each of the people.
    dogs: Vec<(RecordId, usize, Times, Vec<Times>)>,
}

/// Learns from all clocks; `people` with their typed paces, nobody in particular last.
fn together(clocks: &[(RecordId, Vec<Kept>)], people: &[(Option<PersonId>, f64)]) -> Paces {
    let number = |by: &Option<PersonId>| people.iter().position(|p| p.0 == *by).unwrap_or(people.len() - 1);
    let place = |word: &String| Zone::parse(word).map(|z| z as usize);
    let rows: Vec<PaceRow> = clocks
        .iter()
        .enumerate()
        .flat_map(|(dog, (_, clocks))| clocks.iter().map(move |c| (dog, c)))
        .map(|(dog, c)| PaceRow {
            groomer: number(&c.by),
            dog,
            zone: c.zone.as_ref().and_then(place),
            took_min: c.took_min,
            reckoned_min: c.reckoned_min,
        })
        .collect();
    let typed: Vec<f64> = people.iter().map(|p| p.1).collect();
    let paces = pace(&rows, &typed);
    let with = |dog: usize| -> Vec<Times> { (0..people.len()).map(|g| paces.visits(g, dog).into()).collect() };
    let of_person = |g: usize| (rows.iter().filter(|r| r.groomer == g).count(), paces.groomers[g].into());
    let of_dog =
        |(i, (id, own)): (usize, &(RecordId, Vec<Kept>))| (id.clone(), own.len(), paces.dogs[i].into(), with(i));
    let beyond = paces.dogs.len();
    Paces {
        people: (0..people.len()).map(of_person).collect(),
        new_dog: (Pace::of_new_dog().into(), with(beyond)),
        dogs: clocks.iter().enumerate().map(of_dog).collect(),
    }
}

impl Desk {
    /// Keeps a dog's clocks, where they are not kept already.
    pub(super) async fn keep_clocks(&self, who: &Who, facts: &Facts, file: &DogFile) -> Result<(), ShopFailure> {
        let id = &facts.dog.id;
        let Some(last) = file.history.iter().map(|e| e.date).max() else { return Ok(()) };
        let clocks = learning::clocks(file, last);
        let kept: Option<Vec<Kept>> = self.made(who, id, CLOCKS, BUILD).await?;
        if clocks.is_empty() && kept.as_ref().is_none_or(Vec::is_empty) {
            return Ok(());
        }
        let visits = self.held_of::<VisitBody>(who, id).await?;
        let hands = |day: Day| {
            let event = facts.events.iter().find(|e| e.body.event == "visit" && Day::parse(&e.body.day) == Some(day));
            let visit = event.and_then(|e| e.body.visit.as_ref()).and_then(|v| visits.iter().find(|h| h.id == *v));
            visit.and_then(|v| v.body.groomer.clone()).or_else(|| facts.dog.body.groomer.clone())
        };
        let latest = clocks.len().saturating_sub(MOST_CLOCKS);
        let now: Vec<Kept> = clocks[latest..]
            .iter()
            .map(|c| Kept {
                day_d: c.day.days(),
                by: hands(c.day),
                zone: c.zone.map(|z| z.word().to_owned()),
                took_min: c.took_min,
                reckoned_min: c.reckoned_min,
            })
            .collect();
        if kept.as_ref() == Some(&now) {
            return Ok(());
        }
        self.keep_made(who, id, CLOCKS, BUILD, &now).await?;
        let dogs = self.store().count_made(&who.shop, CLOCKS, (BUILD, BUILD)).await.map_err(ShopFailure::Store)?;
        if moves_others(usize::try_from(dogs).unwrap_or(usize::MAX)) {
            self.taught_others();
        }
        Ok(())
    }

    /// What the clocks of finished visits before `today` say of the minutes of a dog's visits; none where they say
    /// nothing of the dog nor of who works it.
    pub(super) async fn minutes(&self, who: &Who, today: Day, facts: &Facts) -> Result<Option<Minutes>, ShopFailure> {
        let mut colleagues: Vec<Held<Person>> = self.all_held(who).await?;
        colleagues.sort_by(|a, b| a.id.cmp(&b.id));
        let of = |p: &Held<Person>| PersonId::new(p.id.as_str()).ok().map(|id| (Some(id), p.body.pace));
        let mut people: Vec<(Option<PersonId>, f64)> = colleagues.iter().filter_map(of).collect();
        people.push((None, 1.0));
        let house = house_id(&who.shop)?;
        let all = (BUILD, BUILD);
        let dogs = self.store().count_made(&who.shop, CLOCKS, all).await.map_err(ShopFailure::Store)?;
        let count = worth_anew(usize::try_from(dogs).unwrap_or(usize::MAX)).to_string();
        let from = digest(&[BUILD, &today.to_string(), &format!("{people:?}"), &count]);
        let make = async {
            let kept = self.store().all_made(&who.shop, CLOCKS, all, MOST_DOGS).await;
            let read = |(id, bytes): (RecordId, Vec<u8>)| {
                let mut clocks: Vec<Kept> = serde_json::from_slice(&bytes).ok()?;
                clocks.retain(|c| c.day_d < today.days());
                (!clocks.is_empty()).then_some((id, clocks))
            };
            let clocks: Vec<_> = kept.map_err(ShopFailure::Store)?.into_iter().filter_map(read).collect();
            let known = people.clone();
            self.heavy(move || together(&clocks, &known)).await
        };
        let (paces, _): (Paces, bool) = self.once(who, &house, PACES, &from, make).await?;
        let groomer = &facts.dog.body.groomer;
        let at = people.iter().position(|p| p.0 == *groomer).unwrap_or(people.len() - 1);
        let own = paces.dogs.iter().find(|d| d.0 == facts.dog.id);
        let (dog_clocks, of_dog, with) = match own {
            Some((_, clocks, times, with)) => (*clocks, *times, with),
            None => (0, paces.new_dog.0, &paces.new_dog.1),
        };
        let (Some((groomer_clocks, of_groomer)), Some(together)) = (paces.people.get(at), with.get(at)) else {
            return Ok(None);
        };
        if *groomer_clocks == 0 && dog_clocks == 0 {
            return Ok(None);
        }
        let name = colleagues.iter().find(|p| groomer.as_ref().is_some_and(|g| g.as_str() == p.id.as_str()));
        Ok(Some(Minutes {
            groomer: name.map(|p| p.body.name.clone()),
            typed: facts.pace,
            groomer_clocks: *groomer_clocks,
            of_groomer: *of_groomer,
            dog_clocks,
            of_dog,
            together: *together,
        }))
    }
}
