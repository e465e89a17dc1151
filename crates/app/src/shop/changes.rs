//! Who changed what, and when.

use super::desk::{Desk, record_of};
use super::failure::ShopFailure;
use super::ids::{PersonId, RecordId};
use super::port::{Kind, Record, Who};
use super::records::Person;
use serde_json::Value;
use std::collections::BTreeMap;

/// One revision of a record, beside the one before.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// 1 for the first.
    pub revision: i64,
    /// Who wrote it.
    pub by: PersonId,
    /// Their name; none when they are not in this shop's records.
    pub by_name: Option<String>,
    /// When, ms since 1970-01-01 00:00 UTC.
    pub at_ms: i64,
    /// It was taken away.
    pub gone: bool,
    /// What it said.
    pub body: Value,
    /// The fields that differ from the revision before, by name; all that are not empty for the first.
    pub fields: Vec<String>,
}

impl Desk {
    /// Every revision of a record, the newest first.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`] when there never was such a record in this shop.
    pub async fn changes(&self, who: &Who, kind: Kind, id: &RecordId) -> Result<Vec<Change>, ShopFailure> {
        let revisions = self.store().revisions(&who.shop, kind, id).await.map_err(ShopFailure::Store)?;
        if revisions.is_empty() {
            return Err(ShopFailure::NotFound { kind, id: id.clone() });
        }
        let mut names: BTreeMap<PersonId, Option<String>> = BTreeMap::new();
        let mut out: Vec<Change> = Vec::new();
        let mut before: Option<&Record> = None;
        for r in &revisions {
            if !names.contains_key(&r.by) {
                let person = self.held_if_any::<Person>(who, &record_of(&r.by)?).await?;
                names.insert(r.by.clone(), person.map(|p| p.body.name));
            }
            out.push(Change {
                revision: r.revision,
                by: r.by.clone(),
                by_name: names.get(&r.by).cloned().flatten(),
                at_ms: r.at_ms,
                gone: r.gone,
                body: r.body.clone(),
                fields: fields(before.map(|b| &b.body), &r.body),
            });
            before = Some(r);
        }
        out.reverse();
        Ok(out)
    }
}

/// The top fields in which two bodies differ.
fn fields(before: Option<&Value>, after: &Value) -> Vec<String> {
    let map = |v: Option<&Value>| v.and_then(Value::as_object).cloned().unwrap_or_default();
    let (a, b) = (map(before), map(Some(after)));
    let empty = |v: Option<&Value>| match v {
        None | Some(Value::Null | Value::Bool(false)) => true,
        Some(Value::String(s)) => s.is_empty(),
        Some(Value::Array(l)) => l.is_empty(),
        Some(_) => false,
    };
    let mut names: Vec<&String> = a.keys().chain(b.keys()).collect();
    names.sort();
    names.dedup();
    let differs = |k: &&&String| a.get(**k) != b.get(**k) && !(empty(a.get(**k)) && empty(b.get(**k)));
    names.iter().filter(differs).map(|k| (*k).clone()).collect()
}
