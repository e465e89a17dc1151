//! Reading records.

use crate::coats::IDS_AT_ONCE;
use crate::db::{Db, Tx, reading, within};
use crate::fault::{Fault, broken};
use crate::sql;
use app::shop::{Kind, PersonId, Record, RecordId, ShopId};
use sqlx::{FromRow, QueryBuilder};

/// A revision as the databases give it.
#[derive(FromRow)]
pub(crate) struct Row {
    kind: String,
    id: String,
    of_id: Option<String>,
    day: Option<String>,
    number: i64,
    body: String,
    gone: bool,
    by_person: String,
    at_ms: i64,
}

impl Row {
    fn record(self) -> Result<Record, Fault> {
        let wrong = |what: &str| broken(format!("the {} `{}` holds {what}", self.kind, self.id));
        Ok(Record {
            kind: Kind::parse(&self.kind).ok_or_else(|| wrong("a kind that this build does not know"))?,
            id: RecordId::new(self.id.as_str()).map_err(|e| wrong(&e.to_string()))?,
            of: self.of_id.as_deref().map(RecordId::new).transpose().map_err(|e| wrong(&e.to_string()))?,
            body: serde_json::from_str(&self.body).map_err(|_| wrong("contents that are not JSON"))?,
            by: PersonId::new(self.by_person.as_str()).map_err(|e| wrong(&e.to_string()))?,
            day: self.day,
            revision: self.number,
            gone: self.gone,
            at_ms: self.at_ms,
        })
    }
}

fn records(rows: Vec<Row>) -> Result<Vec<Record>, Fault> {
    rows.into_iter().map(Row::record).collect()
}

/// The newest revision as a transaction sees it, gone or not.
pub(crate) async fn stands(tx: &mut Tx, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Option<Record>, Fault> {
    let row: Option<Row> = within!(tx, |e| sqlx::query_as(sql::STANDS)
        .bind(shop.as_str())
        .bind(kind.word())
        .bind(id.as_str())
        .fetch_optional(e)
        .await)?;
    row.map(Row::record).transpose()
}

pub(crate) async fn read(db: &Db, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Option<Record>, Fault> {
    let row: Option<Row> = reading!(db, |e| sqlx::query_as(sql::STANDS)
        .bind(shop.as_str())
        .bind(kind.word())
        .bind(id.as_str())
        .fetch_optional(e)
        .await)?;
    Ok(row.map(Row::record).transpose()?.filter(|record| !record.gone))
}

pub(crate) async fn of(db: &Db, shop: &ShopId, kind: Kind, of: &RecordId) -> Result<Vec<Record>, Fault> {
    records(reading!(db, |e| sqlx::query_as(sql::OF)
        .bind(shop.as_str())
        .bind(kind.word())
        .bind(of.as_str())
        .fetch_all(e)
        .await)?)
}

/// The newest revisions of those of a kind whose `column` is one of some ids, by that and then as in [`of`].
async fn listed(
    db: &Db,
    shop: &ShopId,
    kind: Kind,
    column: &'static str,
    ids: &[RecordId],
) -> Result<Vec<Record>, Fault> {
    let mut rows: Vec<Row> = Vec::new();
    for some in ids.chunks(IDS_AT_ONCE) {
        let more: Vec<Row> = reading!(db, |e| {
            let mut query = QueryBuilder::new(sql::SOME);
            query.push_bind(shop.as_str().to_owned()).push(" AND s.kind = ").push_bind(kind.word());
            query.push(" AND ").push(column).push(" IN (");
            let mut list = query.separated(", ");
            for id in some {
                list.push_bind(id.as_str().to_owned());
            }
            query.push(") ORDER BY ").push(column).push(", COALESCE(s.day, ''), s.first_ms, s.place, s.id");
            query.build_query_as().fetch_all(e).await
        })?;
        rows.extend(more);
    }
    records(rows)
}

pub(crate) async fn some(db: &Db, shop: &ShopId, kind: Kind, ids: &[RecordId]) -> Result<Vec<Record>, Fault> {
    listed(db, shop, kind, "s.id", ids).await
}

pub(crate) async fn of_some(db: &Db, shop: &ShopId, kind: Kind, of: &[RecordId]) -> Result<Vec<Record>, Fault> {
    listed(db, shop, kind, "s.of_id", of).await
}

pub(crate) async fn between(db: &Db, shop: &ShopId, kind: Kind, from: &str, until: &str) -> Result<Vec<Record>, Fault> {
    records(reading!(db, |e| sqlx::query_as(sql::BETWEEN)
        .bind(shop.as_str())
        .bind(kind.word())
        .bind(from)
        .bind(until)
        .fetch_all(e)
        .await)?)
}

pub(crate) async fn all(
    db: &Db,
    shop: &ShopId,
    kind: Kind,
    after: Option<&RecordId>,
    most: u32,
) -> Result<Vec<Record>, Fault> {
    // No id is empty, so that all come after the empty text.
    let after = after.map_or("", |id| id.as_str());
    records(reading!(db, |e| sqlx::query_as(sql::AFTER)
        .bind(shop.as_str())
        .bind(kind.word())
        .bind(after)
        .bind(i64::from(most))
        .fetch_all(e)
        .await)?)
}

pub(crate) async fn revisions(db: &Db, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Vec<Record>, Fault> {
    records(reading!(db, |e| sqlx::query_as(sql::REVISIONS)
        .bind(shop.as_str())
        .bind(kind.word())
        .bind(id.as_str())
        .fetch_all(e)
        .await)?)
}
