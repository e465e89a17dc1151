//! Shops, how people sign in, and their sessions.

use crate::db::{Db, Tx, reading, within, writing};
use crate::fault::{Fault, broken};
use crate::sql;
use app::shop::{Credential, PersonId, Session, ShopId, StoreError, Who};

fn wrong(e: &app::shop::BadId) -> Fault {
    broken(format!("a name in it cannot be read: {e}"))
}

pub(crate) async fn shops(db: &Db) -> Result<Vec<ShopId>, Fault> {
    let ids: Vec<String> = reading!(db, |e| sqlx::query_scalar(sql::SHOPS).fetch_all(e).await)?;
    ids.into_iter().map(|id| ShopId::new(id).map_err(|e| wrong(&e))).collect()
}

/// How often records of a shop were written; 0 where there is no such shop.
pub(crate) async fn writes(db: &Db, shop: &ShopId) -> Result<i64, Fault> {
    let shop = shop.as_str();
    let found: Option<i64> = reading!(db, |e| sqlx::query_scalar(sql::WRITES).bind(shop).fetch_optional(e).await)?;
    Ok(found.unwrap_or(0))
}

/// Adds or changes how a person signs in, in a transaction.
pub(crate) async fn put_credential(tx: &mut Tx, who: &Who, credential: &Credential) -> Result<(), Fault> {
    if credential.shop != who.shop {
        return Err(broken("how a person signs in is changed in the person's own shop only"));
    }
    let put = within!(tx, |e| sqlx::query(sql::SET_CREDENTIAL)
        .bind(credential.shop.as_str())
        .bind(credential.person.as_str())
        .bind(credential.sign_in.as_str())
        .bind(credential.hash.as_str())
        .bind(credential.open)
        .bind(who.person.as_str())
        .bind(who.at_ms)
        .execute(e)
        .await
        .map(|_| ()))
    .map_err(Fault::from);
    match put {
        Err(fault) if fault.is_taken() => Err(StoreError::Taken(credential.sign_in.clone()).into()),
        other => other,
    }
}

pub(crate) async fn set_credential(db: &Db, who: &Who, credential: &Credential) -> Result<(), Fault> {
    let mut tx = db.begin().await?;
    put_credential(&mut tx, who, credential).await?;
    tx.commit().await
}

pub(crate) async fn credential(db: &Db, sign_in: &str) -> Result<Option<Credential>, Fault> {
    // PostgreSQL has no text with this sign in it, and nobody is called so.
    if sign_in.contains('\0') {
        return Ok(None);
    }
    let row: Option<(String, String, String, String, bool)> =
        reading!(db, |e| sqlx::query_as(sql::CREDENTIAL).bind(sign_in).fetch_optional(e).await)?;
    let Some((shop, person, sign_in, hash, open)) = row else { return Ok(None) };
    Ok(Some(Credential {
        shop: ShopId::new(shop).map_err(|e| wrong(&e))?,
        person: PersonId::new(person).map_err(|e| wrong(&e))?,
        sign_in,
        hash,
        open,
    }))
}

pub(crate) async fn begin_session(db: &Db, session: &Session) -> Result<(), Fault> {
    writing!(db, |e| sqlx::query(sql::BEGIN_SESSION)
        .bind(session.token_hash.as_str())
        .bind(session.shop.as_str())
        .bind(session.person.as_str())
        .bind(session.began_ms)
        .bind(session.used_ms)
        .execute(e)
        .await
        .map(|_| ()))?;
    Ok(())
}

pub(crate) async fn session(db: &Db, token_hash: &str) -> Result<Option<Session>, Fault> {
    let row: Option<(String, String, String, i64, i64)> =
        reading!(db, |e| sqlx::query_as(sql::SESSION).bind(token_hash).fetch_optional(e).await)?;
    let Some((token_hash, shop, person, began_ms, used_ms)) = row else { return Ok(None) };
    Ok(Some(Session {
        token_hash,
        shop: ShopId::new(shop).map_err(|e| wrong(&e))?,
        person: PersonId::new(person).map_err(|e| wrong(&e))?,
        began_ms,
        used_ms,
    }))
}

pub(crate) async fn touch_session(db: &Db, token_hash: &str, used_ms: i64) -> Result<(), Fault> {
    writing!(db, |e| sqlx::query(sql::TOUCH_SESSION).bind(token_hash).bind(used_ms).execute(e).await.map(|_| ()))?;
    Ok(())
}

pub(crate) async fn end_session(db: &Db, token_hash: &str) -> Result<(), Fault> {
    writing!(db, |e| sqlx::query(sql::END_SESSION).bind(token_hash).execute(e).await.map(|_| ()))?;
    Ok(())
}

pub(crate) async fn end_sessions(
    db: &Db,
    person: Option<&PersonId>,
    but: Option<&str>,
    began_before_ms: i64,
    used_before_ms: i64,
) -> Result<(), Fault> {
    let person = person.map(|p| p.as_str());
    writing!(db, |e| sqlx::query(sql::END_SESSIONS)
        .bind(person)
        .bind(but)
        .bind(began_before_ms)
        .bind(used_before_ms)
        .execute(e)
        .await
        .map(|_| ()))?;
    Ok(())
}
