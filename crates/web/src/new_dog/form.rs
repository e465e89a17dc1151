//! The five steps, which fields each asks for, and how the others travel along.

use crate::fields::Fields;

/// A step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    /// Who comes, and whose it is.
    Who,
    /// The dog itself.
    Dog,
    /// The coat that walks in.
    Coat,
    /// Temper, health, what to beware of.
    Care,
    /// What is wanted.
    Wishes,
}

/// All of them in order.
pub(super) const STEPS: [Step; 5] = [Step::Who, Step::Dog, Step::Coat, Step::Care, Step::Wishes];

impl Step {
    /// Its word in the form.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Step::Who => "who",
            Step::Dog => "dog",
            Step::Coat => "coat",
            Step::Care => "care",
            Step::Wishes => "wishes",
        }
    }

    /// Its name in the row of steps.
    pub(super) const fn label(self) -> &'static str {
        match self {
            Step::Who => "Who",
            Step::Dog => "The dog",
            Step::Coat => "Its coat",
            Step::Care => "Its care",
            Step::Wishes => "What is wanted",
        }
    }

    /// What it asks.
    pub(super) const fn title(self) -> &'static str {
        match self {
            Step::Who => "Who comes, and whose is it?",
            Step::Dog => "What dog is it?",
            Step::Coat => "What was done to the coat before?",
            Step::Care => "How does it stand, and what is to be minded?",
            Step::Wishes => "What does the owner want?",
        }
    }

    /// 1 to 5.
    pub(super) const fn number(self) -> usize {
        self as usize + 1
    }

    /// Reads the word.
    pub(super) fn of(word: &str) -> Option<Step> {
        STEPS.into_iter().find(|s| s.word() == word)
    }

    /// The step after it.
    pub(super) fn next(self) -> Option<Step> {
        STEPS.into_iter().find(|s| *s > self)
    }

    /// The step before it.
    pub(super) fn back(self) -> Option<Step> {
        STEPS.into_iter().rev().find(|s| *s < self)
    }
}

/// The step that asks for a field; none for what no step asks for.
pub(super) fn step_of(field: &str) -> Option<Step> {
    let group = field.split_once('.').map_or(field, |f| f.0);
    Some(match group {
        "name" | "breed" | "chip" | "owner" | "find" => Step::Who,
        "born" | "sex" | "neutered_since" | "mass_kg" | "coat" | "density" | "outdoors" => Step::Dog,
        "before" | "flat" | "clipped" | "rolled" => Step::Coat,
        "temper" | "minded" | "steroids" | "health" | "table_max_min" => Step::Care,
        "look" | "rhythm_days" | "target" | "matters" | "groomer" => Step::Wishes,
        _ => return None,
    })
}

/// What was entered on the other steps, each field once.
pub(super) fn carried(fields: &Fields, shown: Step) -> Vec<(&str, &str)> {
    let mut out: Vec<(&str, &str)> = Vec::new();
    for (name, value) in fields.iter() {
        let elsewhere = step_of(name).is_some_and(|s| s != shown);
        if elsewhere && !value.is_empty() && !out.iter().any(|o| o.0 == name) {
            out.push((name, value));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_has_its_way_on_and_back() {
        assert_eq!(STEPS.map(Step::number), [1, 2, 3, 4, 5]);
        for step in STEPS {
            assert_eq!(Step::of(step.word()), Some(step));
            assert_eq!(step.next().and_then(Step::back), step.next().map(|_| step));
        }
    }

    #[test]
    fn the_other_steps_travel_along_once() {
        let f = Fields::of(&[("name", "A"), ("born", "x"), ("born", "y"), ("to", "next"), ("odd", "1"), ("look", "")]);
        assert_eq!(carried(&f, Step::Who), [("born", "x")]);
        assert_eq!(carried(&f, Step::Dog), [("name", "A")]);
    }
}
