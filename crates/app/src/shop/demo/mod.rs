//! A shop to try things on: sixty invented dogs with two years of history. Everything in it is made up.
//!
//! The same day gives the same shop. Histories are played by simple rules (a rhythm with its slips, one in so many of
//! the visible hair, readings that follow a coat of the dog's own speed), not by the engine: it has something to learn.
//!
//! Phone numbers are from the ranges that the regulator of the United Kingdom, Ofcom, keeps free for drama: 01632
//! 960000 to 960999 and 07700 900000 to 900999. Chips begin with 998, which no maker has (from memory).

mod names;
mod past;

use super::desk::{Desk, revision};
use super::failure::ShopFailure;
use super::house::{Founded, Founding};
use super::ids::RecordId;
use super::port::{Found, Who};
use super::reckon::reckoned;
use super::records::{House, Owner, Person, Units, VisitBody};
use coat::Day;
use past::Kind;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// The name to sign in with.
pub const SIGN_IN: &str = "demo";

/// Numbers drawn from a seed; the same seed, the same numbers (SplitMix64, Steele, Lea & Flood 2014).
pub(super) struct Draw(u64);

impl Draw {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to below 1.
    pub(super) fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `low` to `high`.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// A whole number from `low` to `high`, both possible.
    pub(super) fn whole(&mut self, low: i32, high: i32) -> i32 {
        low + (self.share() * f64::from(high - low + 1)) as i32
    }

    /// True with a chance.
    pub(super) fn chance(&mut self, p: f64) -> bool {
        self.share() < p
    }
}

/// The house.
fn house() -> House {
    House {
        name: "Burdock Lane, an invented shop".into(),
        place: "Nowhere-by-the-Beck".into(),
        country: "GB".into(),
        latitude_deg: Some(53.0),
        units: Units::Mm,
        currency: "GBP".into(),
        dates: "en-GB".into(),
        time_zone: "Europe/London".into(),
        hour_minor: Some(4200),
        short_passwords: false,
        pooled: false,
        caps: None,
        weights: Vec::new(),
        targets: Vec::new(),
        demo: true,
    }
}

/// Founds the demonstration shop; `hash` is the password of [`SIGN_IN`], hashed.
///
/// # Errors
/// [`ShopFailure::Refused`] (field `sign_in`) when the store has somebody of that name already.
pub async fn found(desk: &Desk, at_ms: i64, today: Day, hash: String) -> Result<Founded, ShopFailure> {
    let person = Person { name: "Robin Demo".into(), sign_in: SIGN_IN.into(), pace: 1.0, left: false };
    let founded = desk.found_shop(at_ms, Founding { house: house(), person, hash: hash.clone() }).await?;
    let who = Who { shop: founded.shop.clone(), person: founded.person.clone(), at_ms };
    let trainee = Person { name: "Wren Demo".into(), sign_in: "demo-trainee".into(), pace: 1.4, left: false };
    desk.add_person(&who, trainee, hash).await?;

    let mut draw = Draw(20_261_125);
    let owners = owners(&mut draw, today);
    let mut ids: Vec<RecordId> = Vec::new();
    let mut writes = Vec::new();
    for owner in &owners {
        let id = desk.new_id()?;
        writes.push(revision(&id, None, None, 0, owner)?);
        ids.push(id);
    }
    let house = house();
    // How many visits each day has, for their order.
    let mut places: BTreeMap<String, i32> = BTreeMap::new();
    let mut files = Vec::new();
    for (i, name) in names::DOGS.iter().enumerate() {
        let kind = Kind::of(i);
        let mut dog = past::dog(name, i, kind, today, &mut draw);
        dog.groomer = Some(founded.person.clone());
        let left = dog.left;
        let mut past = past::play(&dog, kind, i, today, &mut draw);
        let mut visits = past::to_come(&dog, kind, i, today, past.last().map(|p| p.0.day.as_str()));
        let mut order = |v: &mut VisitBody| {
            let n = places.entry(v.day.clone()).or_default();
            *n += 1;
            v.place = *n;
            v.groomer = Some(founded.person.clone());
        };
        past.iter_mut().filter_map(|p| p.1.as_mut()).for_each(&mut order);
        visits.iter_mut().for_each(&mut order);
        // Some households have two dogs.
        let at = if i >= owners.len() { (i * 7) % owners.len() } else { i };
        let new = desk.new_dog(desk.new_id()?, &house, (&ids[at], &owners[at]), dog, past, visits)?;
        writes.extend(new.writes);
        files.push((new.found, new.file, left));
    }
    // A first reckoning by the coat types' values; what was learned comes in by and by.
    let found = desk.heavy(move || {
        let one = |(mut f, file, left): (Found, crate::dog_file::DogFile, bool)| {
            if left {
                f.line = super::reckon::GONE.into();
            } else if let Ok(r) = reckoned(&file, today) {
                f.ready = r.ready.map(|d| d.to_string());
                f.due = r.due.map(|d| d.to_string());
                (f.rolling, f.hard, f.resting) = (r.rolling, r.hard, r.resting);
                (f.work_min, f.line) = (r.work_min, r.line);
            }
            f
        };
        files.into_par_iter().map(one).collect::<Vec<Found>>()
    });
    let found = found.await?;
    desk.write(&who, &writes, &found).await?;
    Ok(founded)
}

fn owners(draw: &mut Draw, today: Day) -> Vec<Owner> {
    (0..48_usize)
        .map(|i| {
            let name =
                format!("{} {}", names::FIRST[i % names::FIRST.len()], names::LAST[(i * 5 + 3) % names::LAST.len()]);
            let number = 100 + 17 * i;
            let phones = match i % 3 {
                0 => vec![format!("+447700900{:03}", number % 1000)],
                1 => vec![format!("+441632960{:03}", number % 1000)],
                _ => vec![format!("+447700900{:03}", number % 1000), format!("+441632960{:03}", number % 1000)],
            };
            let plain = super::fold::fold(&name).replace(' ', ".");
            let consents = if draw.chance(0.7) {
                vec![super::records::Consent {
                    what: "photos".into(),
                    words: "Photos of my dog may be taken and kept with its card.".into(),
                    day: (today - draw.whole(30, 700)).to_string(),
                    agreed: true,
                }]
            } else {
                Vec::new()
            };
            Owner {
                name,
                phones,
                mail: if i % 4 == 0 { String::new() } else { format!("{plain}@mail.example") },
                address: format!("{} Burdock Lane, Nowhere-by-the-Beck", 1 + i),
                note: if i % 11 == 5 { "Rings after six.".into() } else { String::new() },
                consents,
            }
        })
        .collect()
}
