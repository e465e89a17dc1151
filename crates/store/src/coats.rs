//! The list of coats, and what is kept beside the records: things made anew, pictures.

use crate::db::{Db, Tx, reading, within, writing};
use crate::fault::{Fault, broken};
use crate::sql;
use app::shop::{Filter, Found, RecordId, Search, ShopId};
use sqlx::{FromRow, QueryBuilder};
use std::collections::{BTreeMap, HashMap};

/// Ids asked for in one statement.
pub(crate) const IDS_AT_ONCE: usize = 500;
/// What of a dog's place is read.
const COLUMNS: &str = "dog, name, breed, owner, words, reckoned, ready, due, rolling, hard, resting, work_min, line FROM coats WHERE shop = ";

/// A dog's place as the databases give it.
#[derive(FromRow)]
struct Row {
    dog: String,
    name: String,
    breed: String,
    owner: String,
    words: String,
    reckoned: String,
    ready: Option<String>,
    due: Option<String>,
    rolling: bool,
    hard: bool,
    resting: bool,
    work_min: Option<f64>,
    line: String,
}

impl Row {
    fn found(self) -> Result<Found, Fault> {
        Ok(Found {
            dog: id(self.dog)?,
            name: self.name,
            breed: self.breed,
            owner: self.owner,
            text: self.words,
            reckoned: self.reckoned,
            ready: self.ready,
            due: self.due,
            rolling: self.rolling,
            hard: self.hard,
            resting: self.resting,
            work_min: self.work_min,
            line: self.line,
        })
    }
}

fn id(text: String) -> Result<RecordId, Fault> {
    RecordId::new(text).map_err(|e| broken(format!("a dog in the list of coats cannot be read: {e}")))
}

/// By what names are ordered: a capital makes no difference.
fn sorted(name: &str) -> String {
    name.to_lowercase()
}

/// PostgreSQL has no text with the sign NUL in it; what is shown and searched can do without.
fn plain(text: &str) -> String {
    text.replace('\0', "\u{fffd}")
}

/// Puts a dog into the list, if the dog is there and not gone.
pub(crate) async fn place(tx: &mut Tx, shop: &ShopId, found: &Found) -> Result<(), Fault> {
    within!(tx, |e| sqlx::query(sql::PLACE)
        .bind(shop.as_str())
        .bind(found.dog.as_str())
        .bind(plain(&found.name))
        .bind(plain(&sorted(&found.name)))
        .bind(plain(&found.breed))
        .bind(plain(&found.owner))
        .bind(plain(&found.text))
        .bind(found.reckoned.as_str())
        .bind(found.ready.as_deref())
        .bind(found.due.as_deref())
        .bind(found.rolling)
        .bind(found.hard)
        .bind(found.resting)
        .bind(found.work_min)
        .bind(plain(&found.line))
        .execute(e)
        .await
        .map(|_| ()))?;
    Ok(())
}

pub(crate) async fn place_all(db: &Db, shop: &ShopId, found: &[Found]) -> Result<(), Fault> {
    let mut tx = db.begin_in(shop).await?;
    for one in found {
        place(&mut tx, shop, one).await?;
    }
    tx.commit().await
}

/// What follows `WHERE shop =`: the words and the filter of a search.
macro_rules! asked {
    ($query:expr, $shop:expr, $search:expr) => {
        $query.push_bind($shop.as_str().to_owned());
        for word in &$search.words {
            $query.push(" AND words LIKE ").push_bind(anywhere(word)).push(r" ESCAPE '\'");
        }
        match $search.filter {
            Filter::All => {}
            Filter::ReadyThisWeek => {
                $query.push(" AND ready <= ").push_bind($search.in_a_week.clone());
                $query.push(" AND (due IS NULL OR due >= ").push_bind($search.today.clone()).push(")");
            }
            Filter::PastItsDay => {
                $query.push(" AND due < ").push_bind($search.today.clone());
            }
            Filter::Rolling => {
                $query.push(" AND rolling");
            }
            Filter::Hard => {
                $query.push(" AND hard");
            }
            Filter::Resting => {
                $query.push(" AND resting");
            }
        }
    };
}

/// A pattern for a word anywhere in a text, its own signs taken as they are.
fn anywhere(word: &str) -> String {
    let mut pattern = String::with_capacity(word.len() + 2);
    pattern.push('%');
    for c in word.chars() {
        if matches!(c, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(c);
    }
    pattern.push('%');
    pattern
}

/// No text in the list holds this sign, and PostgreSQL would refuse the question.
fn finds_nothing(search: &Search) -> bool {
    search.words.iter().any(|word| word.contains('\0'))
}

pub(crate) async fn find(db: &Db, shop: &ShopId, search: &Search) -> Result<Vec<Found>, Fault> {
    if finds_nothing(search) {
        return Ok(Vec::new());
    }
    let rows: Vec<Row> = reading!(db, |e| {
        let mut query = QueryBuilder::new("SELECT ");
        query.push(COLUMNS);
        asked!(query, shop, search);
        if let Some((name, dog)) = &search.after {
            query.push(" AND (sorted, dog) > (").push_bind(plain(&sorted(name)));
            query.push(", ").push_bind(dog.as_str().to_owned()).push(")");
        }
        query.push(" ORDER BY sorted, dog LIMIT ").push_bind(i64::from(search.most));
        query.build_query_as().fetch_all(e).await
    })?;
    rows.into_iter().map(Row::found).collect()
}

pub(crate) async fn count(db: &Db, shop: &ShopId, search: &Search) -> Result<u64, Fault> {
    if finds_nothing(search) {
        return Ok(0);
    }
    let number: i64 = reading!(db, |e| {
        let mut query = QueryBuilder::new("SELECT COUNT(*) FROM coats WHERE shop = ");
        asked!(query, shop, search);
        query.build_query_scalar().fetch_one(e).await
    })?;
    Ok(number.unsigned_abs())
}

pub(crate) async fn found(db: &Db, shop: &ShopId, dogs: &[RecordId]) -> Result<Vec<Found>, Fault> {
    let mut there: HashMap<RecordId, Found> = HashMap::new();
    for some in dogs.chunks(IDS_AT_ONCE) {
        let rows: Vec<Row> = reading!(db, |e| {
            let mut query = QueryBuilder::new("SELECT ");
            query.push(COLUMNS).push_bind(shop.as_str().to_owned()).push(" AND dog IN (");
            let mut list = query.separated(", ");
            for dog in some {
                list.push_bind(dog.as_str().to_owned());
            }
            query.push(")");
            query.build_query_as().fetch_all(e).await
        })?;
        for row in rows {
            let found = row.found()?;
            there.insert(found.dog.clone(), found);
        }
    }
    Ok(dogs.iter().filter_map(|dog| there.get(dog).cloned()).collect())
}

pub(crate) async fn stale(db: &Db, shop: &ShopId, today: &str, most: u32) -> Result<Vec<RecordId>, Fault> {
    let dogs: Vec<String> = reading!(db, |e| sqlx::query_scalar(sql::STALE)
        .bind(shop.as_str())
        .bind(today)
        .bind(i64::from(most))
        .fetch_all(e)
        .await)?;
    dogs.into_iter().map(id).collect()
}

pub(crate) async fn keep_made(
    db: &Db,
    shop: &ShopId,
    of: &RecordId,
    name: &str,
    from: &str,
    bytes: &[u8],
) -> Result<(), Fault> {
    writing!(db, |e| sqlx::query(sql::KEEP_MADE)
        .bind(shop.as_str())
        .bind(of.as_str())
        .bind(name)
        .bind(from)
        .bind(bytes)
        .execute(e)
        .await
        .map(|_| ()))?;
    Ok(())
}

pub(crate) async fn made(
    db: &Db,
    shop: &ShopId,
    of: &RecordId,
    name: &str,
    from: &str,
) -> Result<Option<Vec<u8>>, Fault> {
    Ok(reading!(db, |e| sqlx::query_scalar(sql::MADE)
        .bind(shop.as_str())
        .bind(of.as_str())
        .bind(name)
        .bind(from)
        .fetch_optional(e)
        .await)?)
}

/// What a statement gives of all that was kept under a name and made from something between two: whose, and contents.
async fn made_between(
    db: &Db,
    statement: &'static str,
    shop: &ShopId,
    name: &str,
    from: (&str, &str),
    most: u32,
) -> Result<Vec<(String, Vec<u8>)>, Fault> {
    Ok(reading!(db, |e| sqlx::query_as(statement)
        .bind(shop.as_str())
        .bind(name)
        .bind(from.0)
        .bind(from.1)
        .bind(i64::from(most))
        .fetch_all(e)
        .await)?)
}

pub(crate) async fn all_made(
    db: &Db,
    shop: &ShopId,
    name: &str,
    from: (&str, &str),
    most: u32,
) -> Result<Vec<(RecordId, Vec<u8>)>, Fault> {
    let rows = made_between(db, sql::ALL_MADE, shop, name, from, most).await?;
    rows.into_iter().map(|(of, bytes)| Ok((id(of)?, bytes))).collect()
}

pub(crate) async fn count_made(db: &Db, shop: &ShopId, name: &str, from: (&str, &str)) -> Result<u64, Fault> {
    let count: i64 = reading!(db, |e| sqlx::query_scalar(sql::COUNT_MADE)
        .bind(shop.as_str())
        .bind(name)
        .bind(from.0)
        .bind(from.1)
        .fetch_one(e)
        .await)?;
    Ok(count.unsigned_abs())
}

pub(crate) async fn pooled_made(
    db: &Db,
    shop: &ShopId,
    name: &str,
    from: (&str, &str),
    most: u32,
) -> Result<Vec<Vec<Vec<u8>>>, Fault> {
    let rows = made_between(db, sql::POOLED_MADE, shop, name, from, most).await?;
    // The ids of the others end here.
    let mut by_shop: BTreeMap<String, Vec<Vec<u8>>> = BTreeMap::new();
    for (shop, bytes) in rows {
        by_shop.entry(shop).or_default().push(bytes);
    }
    Ok(by_shop.into_values().collect())
}

pub(crate) async fn keep_bytes(db: &Db, shop: &ShopId, sha256: &str, bytes: &[u8]) -> Result<(), Fault> {
    writing!(db, |e| sqlx::query(sql::KEEP_BYTES)
        .bind(shop.as_str())
        .bind(sha256)
        .bind(bytes)
        .execute(e)
        .await
        .map(|_| ()))?;
    Ok(())
}

pub(crate) async fn bytes(db: &Db, shop: &ShopId, sha256: &str) -> Result<Option<Vec<u8>>, Fault> {
    Ok(reading!(db, |e| sqlx::query_scalar(sql::BYTES).bind(shop.as_str()).bind(sha256).fetch_optional(e).await)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_of_a_pattern_are_taken_as_they_are() {
        assert_eq!(anywhere("ruffo"), "%ruffo%");
        assert_eq!(anywhere(r"50%_\"), r"%50\%\_\\%");
    }
}
