//! Photos: what is known of them. The pictures themselves are bytes of the store, by their SHA-256.

use super::checks;
use super::desk::{Desk, revision, saved};
use super::failure::{Held, Said, Saved, ShopFailure, clean};
use super::ids::RecordId;
use super::port::{Who, Write};
use super::records::{DogBody, PhotoBody, VisitBody};
use coat::Zone;

/// How a dog stands on a photo.
pub const POSES: [&str; 6] = ["left side", "right side", "front", "back", "head", "close"];
/// Media types that are kept.
pub const MEDIA: [&str; 3] = ["image/jpeg", "image/png", "image/webp"];

impl Desk {
    /// Adds a photo to a dog. Its bytes must be in the store already.
    ///
    /// # Errors
    /// [`ShopFailure`].
    pub async fn add_photo(&self, who: &Who, dog: &RecordId, mut photo: PhotoBody) -> Result<Saved, ShopFailure> {
        self.held::<DogBody>(who, dog).await?;
        self.check_photo(who, dog, &mut photo).await?;
        let write = revision(&self.new_id()?, Some(dog), Some(photo.day.clone()), 0, &photo)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        Ok(saved(&write, Vec::new()))
    }

    /// Changes what is known of a photo.
    ///
    /// # Errors
    /// [`ShopFailure`].
    pub async fn set_photo(
        &self,
        who: &Who,
        id: &RecordId,
        seen: i64,
        mut photo: PhotoBody,
    ) -> Result<Saved, ShopFailure> {
        let before: Held<PhotoBody> = self.held(who, id).await?;
        let dog = before.of.clone().unwrap_or_else(|| id.clone());
        self.check_photo(who, &dog, &mut photo).await?;
        let write = revision(id, before.of.as_ref(), Some(photo.day.clone()), seen, &photo)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        Ok(saved(&write, Vec::new()))
    }

    /// Takes a photo away. Its bytes stay in the store: another revision, or another photo, may have them.
    ///
    /// # Errors
    /// [`ShopFailure`].
    pub async fn drop_photo(&self, who: &Who, id: &RecordId, seen: i64) -> Result<(), ShopFailure> {
        let before: Held<PhotoBody> = self.held(who, id).await?;
        let write = revision(id, before.of.as_ref(), Some(before.body.day.clone()), seen, &before.body)?;
        self.write(who, &[Write { gone: true, ..write }], &[]).await
    }

    /// A photo.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`].
    pub async fn photo(&self, who: &Who, id: &RecordId) -> Result<Held<PhotoBody>, ShopFailure> {
        self.held(who, id).await
    }

    /// The latest photo of a dog in a pose: the ghost over the camera, and the picture to compare with.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn last_of_pose(
        &self,
        who: &Who,
        dog: &RecordId,
        pose: &str,
    ) -> Result<Option<Held<PhotoBody>>, ShopFailure> {
        let photos: Vec<Held<PhotoBody>> = self.held_of(who, dog).await?;
        Ok(photos.into_iter().rev().find(|p| p.body.pose == pose))
    }

    async fn check_photo(&self, who: &Who, dog: &RecordId, photo: &mut PhotoBody) -> Result<(), ShopFailure> {
        let mut faults = Vec::new();
        let f = &mut faults;
        checks::day("day", &photo.day, f);
        checks::word("pose", "the pose", &photo.pose, &POSES, f);
        checks::word("media", "the kind of picture", &photo.media, &MEDIA, f);
        checks::some(&mut photo.zone);
        if let Some(zone) = &photo.zone {
            checks::word("zone", "the zone", zone, &Zone::ALL.map(Zone::word), f);
        }
        checks::note("note", "the note", &mut photo.note, f);
        for (field, hash) in [("picture", &photo.picture), ("small", &photo.small)] {
            if hash.len() != 64 || !hash.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b)) {
                f.push(Said::new(field, "that is no SHA-256", "Upload the picture again."));
            }
        }
        if let Some(visit) = &photo.visit {
            let visit: Option<Held<VisitBody>> = self.held_if_any(who, visit).await?;
            if visit.is_none_or(|v| v.of.as_ref() != Some(dog)) {
                f.push(Said::new("visit", "that is no visit of this dog", "Choose one of its visits, or none."));
            }
        }
        clean(faults)
    }
}
