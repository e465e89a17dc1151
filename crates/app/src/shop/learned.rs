//! What was learned of a dog, kept beside the dog until its record changes.

use super::desk::Desk;
use super::failure::{Said, ShopFailure};
use super::heavy::heavy;
use super::ids::RecordId;
use super::port::Who;
use super::sheet::Sheet;
use crate::dog_file::{DogFile, ZoneSettings};
use crate::learning;
use crate::model;
use crate::planning::Failure;
use coat::{Day, Zone};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Under this name it is kept.
const NAME: &str = "learned";

/// Learned values of a zone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Values {
    lag_d: Option<f64>,
    grow_d: Option<f64>,
    set_d: Option<f64>,
    hold_d: Option<f64>,
    growth_mm_d: Option<f64>,
}

/// SHA-256 of some parts, hex.
pub(super) fn digest(parts: &[&str]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

/// A model's failure as faults of fields.
pub(super) fn refused(failure: &Failure, sheet: &Sheet) -> ShopFailure {
    match failure {
        Failure::Fault(fault) => ShopFailure::Refused(vec![sheet.said(fault)]),
        other => {
            let hint = match other {
                Failure::Plan(plan::PlanError::NoVisit { .. }) => {
                    "Leave a day free on which the dog can come, or plan further ahead.".to_owned()
                }
                Failure::Plan(plan::PlanError::TooShort { .. }) => {
                    "Allow more table time: look over, brush, pads and feet come before any hair is pulled.".to_owned()
                }
                Failure::Plan(_) => "Correct the dog's values; if they are right, this is our fault.".to_owned(),
                failure => failure.hint().replace("`--on` ", "").replace("`--until` ", "the last day, "),
            };
            ShopFailure::Refused(vec![Said::new("", other.to_string(), hint)])
        }
    }
}

impl Desk {
    /// The file with what was learned of the dog by `today`, and whether anything was: made once for each state of
    /// its record. Where the readings give no numbers the values of the coat type hold.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the history contradicts itself.
    pub(super) async fn with_learned(
        &self,
        who: &Who,
        dog: &RecordId,
        file: DogFile,
        sheet: &Sheet,
        today: Day,
    ) -> Result<(DogFile, bool), ShopFailure> {
        let recorded = learning::recorded(&file, today);
        if recorded.is_empty() {
            return Ok((file, false));
        }
        // All that the posterior depends on.
        let prior = learning::prior(&file, today, None);
        let case = model::dog(&file, file.rhythm_days.unwrap_or(21));
        let readings: Vec<_> = recorded.iter().map(|r| &r.reading).collect();
        let from =
            digest(&[env!("CARGO_PKG_VERSION"), &format!("{case:?}"), &format!("{readings:?}"), &format!("{prior:?}")]);
        let kept = self.store().made(&who.shop, dog, NAME, &from).await.map_err(ShopFailure::Store)?;
        let kept = kept.and_then(|b| serde_json::from_slice::<Vec<(String, Values)>>(&b).ok());
        if let Some(values) = kept {
            return Ok((with_values(file, &values), true));
        }
        let plain = file.clone();
        let learned = match heavy(move || learning::as_learned(&file, today)).await? {
            Ok(learned) => learned,
            Err(e @ Failure::Fault(_)) => return Err(refused(&e, sheet)),
            Err(_) => return Ok((plain, false)),
        };
        let values: Vec<(String, Values)> = learned
            .zones
            .iter()
            .map(|z| {
                let v = Values {
                    lag_d: z.lag_d,
                    grow_d: z.grow_d,
                    set_d: z.set_d,
                    hold_d: z.hold_d,
                    growth_mm_d: z.growth_mm_d,
                };
                (z.zone.word().to_owned(), v)
            })
            .collect();
        if let Ok(bytes) = serde_json::to_vec(&values) {
            self.store().keep_made(&who.shop, dog, NAME, &from, &bytes).await.map_err(ShopFailure::Store)?;
        }
        Ok((learned, true))
    }
}

fn with_values(mut file: DogFile, values: &[(String, Values)]) -> DogFile {
    for (word, v) in values {
        let Some(zone) = Zone::parse(word) else { continue };
        let at = match file.zones.iter().position(|z| z.zone == zone) {
            Some(at) => at,
            None => {
                file.zones.push(ZoneSettings::bare(zone));
                file.zones.len() - 1
            }
        };
        let z = &mut file.zones[at];
        (z.lag_d, z.grow_d, z.set_d) = (v.lag_d, v.grow_d, v.set_d);
        (z.hold_d, z.growth_mm_d) = (v.hold_d, v.growth_mm_d);
    }
    file
}
