//! How unsure a dog's forecast is, kept beside its plan.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::ids::RecordId;
use super::made::digest;
use super::plan::Planned;
use super::port::Who;
use crate::learning::{self, Bands, SEED};
use coat::Day;
use learn::Effort;

/// Under this name they are kept.
const NAME: &str = "bands";

impl Desk {
    /// The plan of a dog as it stands, with the bands of its forecast: what its readings, or the shop's other dogs and
    /// the coat type where there are none, leave open. The bands take part of a second the first time, so a page asks
    /// for [`Desk::plan`] and leaves this to its picture. None where the readings give no numbers.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the records cannot be planned.
    pub async fn plan_with_bands(
        &self,
        who: &Who,
        today: Day,
        id: &RecordId,
    ) -> Result<(Planned, Option<Bands>), ShopFailure> {
        let facts = self.facts(who, id).await?;
        let (file, sheet) = facts.file()?;
        let (stands, _) = self.stands(who, today, id).await?;
        let planned = stands.planned.clone();
        let prior = self.shop_prior(who, id, file.coat, today).await?.0.map(|o| o.prior);
        let from = digest(&[&planned.from, &format!("{file:?}"), &format!("{prior:?}")]);
        let report = planned.report.clone();
        let work = move || {
            let (l, _) = learning::learned(&file, today, prior, SEED, Effort::VISIT)?;
            learning::bands(&file, &l, &stands.file, &report)
        };
        let bands = match self.told(who, id, NAME, &from, &sheet, work).await {
            Ok(bands) => Some(bands),
            Err(ShopFailure::Refused(_)) => None,
            Err(other) => return Err(other),
        };
        Ok((planned, bands))
    }
}
