//! What a shop's dogs say together: the prior of the next dog of a coat type, and paces by groomer, dog and zone.
//!
//! Takes dogs as arguments and keeps nothing. Of a learned dog only the mean and spread of its own part are
//! used: no name, no owner, no date.

use super::{clocks_of, learned};
use crate::dog_file::DogFile;
use crate::planning::Failure;
use coat::{CoatType, Day};
use learn::{DogSummary, Effort, Learned, Paces, Prior, pace};

/// What a shop may keep of a dog: its coat type and its own part; none when nothing was read of it.
///
/// It is learned from the coat type's own prior, so that summaries of many dogs can be put together.
///
/// # Errors
/// [`Failure`] when the history contradicts itself.
pub fn kept_of(
    file: &DogFile,
    today: Day,
    seed: u64,
    effort: Effort,
) -> Result<Option<(CoatType, DogSummary)>, Failure> {
    let (l, recorded) = learned(file, today, None, seed, effort)?;
    Ok(own_part(&l, recorded.len()).map(|part| (file.coat, part)))
}

/// A learned dog's own part; none when none of its so many readings could be used.
pub fn own_part(l: &Learned, readings: usize) -> Option<DogSummary> {
    (l.unused.len() < readings).then(|| {
        let (mean, sd) = l.dog_part();
        DogSummary { mean, sd, prior: *l.prior() }
    })
}

/// The prior of the next dog of a coat type, from what was kept of the shop's dogs; those of other types are
/// passed over. Hand it to [`super::report`] and [`super::learned`] as the shop's.
pub fn shop_prior(coat: CoatType, kept: &[(CoatType, DogSummary)]) -> Prior {
    let same: Vec<DogSummary> = kept.iter().filter(|k| k.0 == coat).map(|k| k.1).collect();
    learn::shop_prior(&Prior::STANDARD, &same)
}

/// Paces learned from the clocks of many dogs up to a day. Dogs are numbered as given, zones by their place in
/// [`coat::Zone::ALL`]; `groomer` tells, for a dog's number and a day, whose hands worked.
pub fn shop_paces(files: &[&DogFile], until: Day, groomer: &dyn Fn(usize, Day) -> usize) -> Paces {
    let rows: Vec<learn::PaceRow> =
        files.iter().enumerate().flat_map(|(i, file)| clocks_of(file, until, &|day| groomer(i, day), i)).collect();
    pace(&rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dog_file::read;
    use std::fmt::Write as _;

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a date")
    }

    /// A dog with five visits; new hair comes when told, and each visit takes so many minutes.
    fn dog(new_hair: [bool; 5], layer_mm: Option<u32>, work_min: u32) -> DogFile {
        let mut text = String::from(
            "schema = \"coatwright.dog/1\"\nname = \"Invented\"\nborn = 2021-03-01\nsex = \"dog\"\nmass_kg = 8\n\
             coat = \"wire\"\n[[history]]\ndate = 2026-01-05\nevent = \"left alone\"\n",
        );
        for (i, seen) in new_hair.iter().enumerate() {
            let _ = write!(
                text,
                "[[history]]\ndate = {}\nevent = \"visit\"\nwork_min = {work_min}\n[[history.zones]]\n\
                 zone = \"back\"\npulled = 0.2\nease = 2\nnew_hair = {seen}\n",
                day("2026-01-05") + 21 * i as i32
            );
            if let Some(mm) = layer_mm.filter(|_| i > 2) {
                let _ = writeln!(text, "new_layer_mm = {mm}");
            }
        }
        read("dog.toml", text.as_bytes()).expect("a good file")
    }

    #[test]
    fn a_shop_of_late_dogs_expects_the_next_to_be_late() {
        let late = dog([false, false, false, true, true], Some(3), 70);
        let today = day("2026-04-05");
        let kept: Vec<_> =
            (0..8).filter_map(|seed| kept_of(&late, today, seed, Effort::QUICK).expect("learned")).collect();
        assert_eq!(kept.len(), 8);
        let prior = shop_prior(CoatType::Wire, &kept);
        assert!(prior.centre[0] > 0.02, "{:?}", prior.centre);
        assert!(prior.dog_sd[0] < Prior::STANDARD.dog_sd[0]);
        // Dogs of another type say nothing.
        assert_eq!(shop_prior(CoatType::PinWire, &kept), learn::shop_prior(&Prior::STANDARD, &[]));
        // A dog of which nothing was read says nothing.
        let blank = dog([true; 5], None, 60);
        assert!(kept_of(&blank, day("2026-01-04"), 1, Effort::QUICK).expect("learned").is_none());
    }

    #[test]
    fn paces_are_told_apart_by_groomer_and_no_clock_of_the_future_counts() {
        let slow = dog([true; 5], None, 120);
        let quick = dog([true; 5], None, 50);
        let until = day("2026-04-05");
        let files = [&slow, &quick];
        let p = shop_paces(&files, until, &|dog, _| dog);
        assert_eq!(p.used, 10);
        assert!(p.groomers[0].mean > p.groomers[1].mean);
        let early = shop_paces(&files, day("2026-01-26"), &|dog, _| dog);
        assert_eq!(early.used, 4);
    }
}
