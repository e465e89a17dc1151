//! Writing: revisions, all or nothing, and what goes with them.

use crate::coats;
use crate::db::{Db, Tx, within};
use crate::fault::{Fault, broken};
use crate::people;
use crate::read;
use crate::sql;
use app::shop::{Credential, Found, Kind, ShopId, StoreError, Who, Write};

/// How often a transaction that PostgreSQL undid for another's sake is begun anew.
const MOST_TRIES: u32 = 8;

/// What is written together.
pub(crate) struct Batch<'a> {
    pub(crate) who: &'a Who,
    pub(crate) writes: &'a [Write],
    pub(crate) found: &'a [Found],
    /// A new shop with the first person's way to sign in.
    pub(crate) founding: Option<&'a Credential>,
}

/// Writes a batch, all or nothing.
pub(crate) async fn keep(db: &Db, batch: &Batch<'_>) -> Result<(), StoreError> {
    let mut tries = 1;
    loop {
        match once(db, batch).await {
            Err(fault) if fault.can_be_tried_again() && tries < MOST_TRIES => tries += 1,
            done => return Ok(done?),
        }
    }
}

/// Puts dogs into the list of coats.
pub(crate) async fn place(db: &Db, shop: &ShopId, found: &[Found]) -> Result<(), StoreError> {
    let mut tries = 1;
    loop {
        match coats::place_all(db, shop, found).await {
            Err(fault) if fault.can_be_tried_again() && tries < MOST_TRIES => tries += 1,
            done => return Ok(done?),
        }
    }
}

/// A transaction that is dropped before its end is undone.
async fn once(db: &Db, batch: &Batch<'_>) -> Result<(), Fault> {
    let mut tx = db.begin_in(&batch.who.shop).await?;
    if let Some(credential) = batch.founding {
        found_shop(&mut tx, batch.who, credential).await?;
    }
    for write in batch.writes {
        put(&mut tx, batch.who, write).await?;
    }
    if !batch.writes.is_empty() {
        let shop = batch.who.shop.as_str();
        within!(&mut tx, |e| sqlx::query(sql::COUNT_WRITE).bind(shop).execute(e).await.map(|_| ()))?;
    }
    for found in batch.found {
        coats::place(&mut tx, &batch.who.shop, found).await?;
    }
    tx.commit().await
}

async fn found_shop(tx: &mut Tx, who: &Who, credential: &Credential) -> Result<(), Fault> {
    let new = within!(tx, |e| sqlx::query(sql::FOUND_SHOP)
        .bind(who.shop.as_str())
        .bind(who.at_ms)
        .execute(e)
        .await
        .map(|_| ()))
    .map_err(Fault::from);
    match new {
        Err(fault) if fault.is_taken() => return Err(broken(format!("the shop `{}` was founded before", who.shop))),
        other => other?,
    }
    people::put_credential(tx, who, credential).await
}

async fn put(tx: &mut Tx, who: &Who, write: &Write) -> Result<(), Fault> {
    let stands = if write.seen == 0 { begin(tx, who, write).await? } else { go_on(tx, who, write).await? };
    if !stands {
        let there = read::stands(tx, &who.shop, write.kind, &write.id).await?;
        return match there {
            // Delivered twice, kept once.
            Some(entry) if write.kind == Kind::Entry && entry.of == write.of => Ok(()),
            Some(stands) => Err(StoreError::Conflict { stands: Box::new(stands), seen: write.seen }.into()),
            None => Err(broken(format!(
                "the {} `{}` is not there, and revision `{}` of it was seen",
                write.kind.word(),
                write.id,
                write.seen
            ))),
        };
    }
    let of = write.of.as_ref().map(|of| of.as_str());
    let body = write.body.to_string();
    within!(tx, |e| sqlx::query(sql::WRITE_DOWN)
        .bind(who.shop.as_str())
        .bind(write.kind.word())
        .bind(write.id.as_str())
        .bind(write.seen.saturating_add(1))
        .bind(of)
        .bind(write.day.as_deref())
        .bind(body.as_str())
        .bind(write.gone)
        .bind(who.person.as_str())
        .bind(who.at_ms)
        .execute(e)
        .await
        .map(|_| ()))?;
    if write.kind == Kind::Dog && write.gone {
        within!(tx, |e| sqlx::query(sql::LEAVE)
            .bind(who.shop.as_str())
            .bind(write.id.as_str())
            .execute(e)
            .await
            .map(|_| ()))?;
    }
    Ok(())
}

/// A new record; `false` when one is there already.
async fn begin(tx: &mut Tx, who: &Who, write: &Write) -> Result<bool, Fault> {
    let of = write.of.as_ref().map(|of| of.as_str());
    let rows = within!(tx, |e| sqlx::query(sql::BEGIN_RECORD)
        .bind(who.shop.as_str())
        .bind(write.kind.word())
        .bind(write.id.as_str())
        .bind(of)
        .bind(write.day.as_deref())
        .bind(write.gone)
        .bind(who.at_ms)
        .execute(e)
        .await
        .map(|done| done.rows_affected()))?;
    Ok(rows == 1)
}

/// The next revision; `false` when another stands than the one seen. An entry has one revision for ever.
async fn go_on(tx: &mut Tx, who: &Who, write: &Write) -> Result<bool, Fault> {
    if write.kind == Kind::Entry {
        return Ok(false);
    }
    let of = write.of.as_ref().map(|of| of.as_str());
    let rows = within!(tx, |e| sqlx::query(sql::GO_ON)
        .bind(who.shop.as_str())
        .bind(write.kind.word())
        .bind(write.id.as_str())
        .bind(write.seen)
        .bind(write.seen.saturating_add(1))
        .bind(of)
        .bind(write.day.as_deref())
        .bind(write.gone)
        .execute(e)
        .await
        .map(|done| done.rows_affected()))?;
    Ok(rows == 1)
}
