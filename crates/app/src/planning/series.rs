//! The coat over days.

use super::{Failure, coat_on};
use crate::dog_file::DogFile;
use crate::model;
use crate::report::{CoatReport, CoatSeries};
use coat::{Day, DogCoat};

/// The coat over days, with the history's visits as they were.
///
/// # Errors
/// [`Failure`] when the history contradicts itself or the days are out of order.
pub fn coat_series(file: &DogFile, from: Day, to: Day, step_d: i32) -> Result<CoatSeries, Failure> {
    if to < from || step_d < 1 || to - from > 4000 {
        return Err(Failure::Option {
            message: format!("the days from `{from}` to `{to}` in steps of `{step_d} d` are no series"),
            hint: "Give `--from` a day not after `--to`, at most 4000 days apart, and `--step` at least 1.".to_owned(),
        });
    }
    let rhythm = model::rhythm(file);
    let dog = model::dog(file, rhythm);
    let mut series = Vec::new();
    // Recorded events change the coat, so each stretch between them starts from a replay.
    let mut day = from;
    let mut coat: Option<DogCoat> = None;
    while day <= to {
        let event = file.history.iter().any(|e| e.date == day);
        let since = coat.as_ref().is_none_or(|c| file.history.iter().any(|e| e.date > c.day && e.date <= day));
        if event {
            let mut before = dog.clone();
            before.history.retain(|h| h.0 < day);
            if !before.history.is_empty() || dog.history.first().is_some_and(|h| day < h.0) {
                let (d, z) = coat_on(file, &before, day)?.measures();
                series.push(CoatReport::new(day, "before", d, &z));
            }
        }
        let mut now = match coat.take() {
            Some(c) if !since => c,
            _ => coat_on(file, &dog, day)?,
        };
        now.step_to(day);
        let (d, z) = now.measures();
        series.push(CoatReport::new(day, if event { "after" } else { "day" }, d, &z));
        coat = Some(now);
        day = day + step_d;
    }
    Ok(CoatSeries { schema: "coatwright.coat/1", dog: file.name.clone(), series })
}
