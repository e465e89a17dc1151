//! What a shop keeps of a dog for the next ones of its coat type.
//!
//! Takes dogs as arguments and keeps nothing. Of a learned dog only the mean and spread of its own part are
//! used: no name, no owner, no date.

use super::learned;
use crate::dog_file::DogFile;
use crate::planning::Failure;
use coat::{CoatType, Day};
use learn::{DogSummary, Effort, Learned};

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dog_file::read;
    use learn::Prior;
    use std::fmt::Write as _;

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a date")
    }

    /// A dog with five visits; new hair comes when told.
    fn dog(new_hair: [bool; 5], layer_mm: Option<u32>) -> DogFile {
        let mut text = String::from(
            "schema = \"coatwright.dog/1\"\nname = \"Invented\"\nborn = 2021-03-01\nsex = \"dog\"\nmass_kg = 8\n\
             coat = \"wire\"\n[[history]]\ndate = 2026-01-05\nevent = \"left alone\"\n",
        );
        for (i, seen) in new_hair.iter().enumerate() {
            let _ = write!(
                text,
                "[[history]]\ndate = {}\nevent = \"visit\"\n[[history.zones]]\n\
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
        let late = dog([false, false, false, true, true], Some(3));
        let today = day("2026-04-05");
        let kept: Vec<_> =
            (0..8).filter_map(|seed| kept_of(&late, today, seed, Effort::QUICK).expect("learned")).collect();
        assert_eq!(kept.len(), 8);
        assert!(kept.iter().all(|k| k.0 == CoatType::Wire));
        let kept: Vec<DogSummary> = kept.into_iter().map(|k| k.1).collect();
        let prior = learn::shop_prior(&Prior::STANDARD, &kept);
        assert!(prior.centre[0] > 0.02, "{:?}", prior.centre);
        assert!(prior.dog_sd[0] < Prior::STANDARD.dog_sd[0]);
        // A dog of which nothing was read says nothing.
        let blank = dog([true; 5], None);
        assert!(kept_of(&blank, day("2026-01-04"), 1, Effort::QUICK).expect("learned").is_none());
    }
}
