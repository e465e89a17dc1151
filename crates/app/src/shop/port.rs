//! What the shop needs of a store. The store keeps and finds; it decides nothing.
//!
//! Every change of a record is a new revision with who and when; nothing is overwritten. A write says
//! which revision it saw, so that of two people who change the same thing the second is told.

use super::ids::{PersonId, RecordId, ShopId};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// What a record is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The shop's settings; one a shop.
    House,
    /// A person who works there.
    Person,
    /// An owner.
    Owner,
    /// A dog.
    Dog,
    /// Something that happened to a dog's coat (`of` its dog).
    Event,
    /// A visit (`of` its dog).
    Visit,
    /// One tap at the table (`of` its visit); never changed, undone by a later entry.
    Entry,
    /// A photo (`of` its dog).
    Photo,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 8] =
        [Kind::House, Kind::Person, Kind::Owner, Kind::Dog, Kind::Event, Kind::Visit, Kind::Entry, Kind::Photo];

    /// The word in the store.
    pub const fn word(self) -> &'static str {
        match self {
            Kind::House => "house",
            Kind::Person => "person",
            Kind::Owner => "owner",
            Kind::Dog => "dog",
            Kind::Event => "event",
            Kind::Visit => "visit",
            Kind::Entry => "entry",
            Kind::Photo => "photo",
        }
    }

    /// Reads the word; none for any other.
    pub fn parse(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|k| k.word() == word)
    }
}

/// Who changes something, and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Who {
    /// In which shop.
    pub shop: ShopId,
    /// The person.
    pub person: PersonId,
    /// Milliseconds since 1970-01-01 00:00 UTC, by the server's clock.
    pub at_ms: i64,
}

/// One revision of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// What it is.
    pub kind: Kind,
    /// Its id.
    pub id: RecordId,
    /// What it belongs to: an event, a visit or a photo to a dog, an entry to a visit, a dog to its owner.
    pub of: Option<RecordId>,
    /// A civil day to order and find by, `YYYY-MM-DD`; none where there is none.
    pub day: Option<String>,
    /// 1 for the first.
    pub revision: i64,
    /// The contents, as the use cases wrote them.
    pub body: Value,
    /// Taken away with this revision; earlier revisions stay.
    pub gone: bool,
    /// Who wrote this revision.
    pub by: PersonId,
    /// When, milliseconds since 1970-01-01 00:00 UTC.
    pub at_ms: i64,
}

/// A revision to be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Write {
    /// What it is.
    pub kind: Kind,
    /// Its id.
    pub id: RecordId,
    /// What it belongs to.
    pub of: Option<RecordId>,
    /// The day to order and find by.
    pub day: Option<String>,
    /// The revision that the writer saw; 0 for a new record.
    pub seen: i64,
    /// The contents.
    pub body: Value,
    /// Take it away.
    pub gone: bool,
}

/// How the list of coats finds and shows a dog: made by the use cases with each change, and each morning.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// The dog.
    pub dog: RecordId,
    /// Its name.
    pub name: String,
    /// Breed, as written.
    pub breed: String,
    /// Its owner's name.
    pub owner: String,
    /// All that a search looks through: names, breed, chip, phone; lower case, accents folded, single spaces.
    pub text: String,
    /// The day for which the rest was reckoned, `YYYY-MM-DD`; empty while it was not.
    pub reckoned: String,
    /// First day on which the next visit is worth while.
    pub ready: Option<String>,
    /// The day by which the dog should be back.
    pub due: Option<String>,
    /// The coat rolls.
    pub rolling: bool,
    /// The jacket is hard.
    pub hard: bool,
    /// Hands off the whole dog, or nothing to take for more than six weeks.
    pub resting: bool,
    /// Minutes that the next visit takes.
    pub work_min: Option<f64>,
    /// What it needs next, in one line.
    pub line: String,
}

/// Which coats to list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Filter {
    /// All dogs.
    All,
    /// Ready within seven days from today and not past their day.
    ReadyThisWeek,
    /// Past their day.
    PastItsDay,
    /// Rolling.
    Rolling,
    /// Hard.
    Hard,
    /// Resting.
    Resting,
}

/// What to find.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Search {
    /// Words that must all occur in [`Found::text`], folded the same way.
    pub words: Vec<String>,
    /// Which coats.
    pub filter: Filter,
    /// Today, `YYYY-MM-DD`.
    pub today: String,
    /// Seven days on, `YYYY-MM-DD`.
    pub in_a_week: String,
    /// Names after this (name, dog) only, for the next page.
    pub after: Option<(String, RecordId)>,
    /// At most so many.
    pub most: u32,
}

/// How a person signs in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Credential {
    /// In which shop.
    pub shop: ShopId,
    /// Who.
    pub person: PersonId,
    /// The name to sign in with, folded; unique in the store.
    pub sign_in: String,
    /// Password hash in PHC form.
    pub hash: String,
    /// Whether the person may sign in.
    pub open: bool,
}

/// A signed-in browser.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// SHA-256 of the token, hex; the token itself is in the browser only.
    pub token_hash: String,
    /// Shop.
    pub shop: ShopId,
    /// Person.
    pub person: PersonId,
    /// When it began, ms.
    pub began_ms: i64,
    /// When it was last used, ms.
    pub used_ms: i64,
}

/// Why a store did not do it.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Somebody else wrote first; here is what stands now. Nothing of this write was kept.
    #[error("the {} `{}` was changed meanwhile: revision `{}` stands, `{seen}` was seen", .stands.kind.word(), .stands.id, .stands.revision)]
    Conflict {
        /// What stands now.
        stands: Box<Record>,
        /// What the writer saw.
        seen: i64,
    },
    /// A name to sign in with is taken.
    #[error("the name `{0}` is taken")]
    Taken(String),
    /// The store is from a newer build.
    #[error("cannot open `{store}`: its schema is `{found}`, this build reads up to `{known}`")]
    Newer {
        /// Which store, without a password.
        store: String,
        /// Its schema.
        found: i64,
        /// The last that this build knows.
        known: i64,
    },
    /// The store is not opened as its address, or what answers there, stands.
    #[error("{message}")]
    Unusable {
        /// What is wrong, without a password.
        message: String,
        /// What would be right, in whole sentences.
        hint: String,
    },
    /// The store cannot be reached or answers wrongly.
    #[error("the store does not answer: {0}")]
    Broken(String),
}

/// The store behind the shop.
///
/// Every method but those that name a person by sign-in or token takes the shop and never shows another's rows.
#[async_trait::async_trait]
pub trait Store: Send + Sync {
    /// Writes all or nothing, in one transaction, with the dogs' new places in the list of coats.
    ///
    /// An entry ([`Kind::Entry`]) that is there already with the same id and `of` is skipped: delivered twice, kept once.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when a record was changed since `seen`.
    async fn write(&self, who: &Who, writes: &[Write], found: &[Found]) -> Result<(), StoreError>;

    /// How often records of the shop were written so far: while it is the same, so are they.
    async fn writes(&self, shop: &ShopId) -> Result<i64, StoreError>;

    /// The newest revision of a record; none when there is none or it is gone.
    async fn read(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Option<Record>, StoreError>;

    /// The newest revisions of all records of a kind that belong to `of`, by day and then by time of the first revision; without those gone.
    async fn of(&self, shop: &ShopId, kind: Kind, of: &RecordId) -> Result<Vec<Record>, StoreError>;

    /// The newest revisions of some records of a kind, in no order that counts; those not there or gone are left out.
    async fn some(&self, shop: &ShopId, kind: Kind, ids: &[RecordId]) -> Result<Vec<Record>, StoreError>;

    /// [`Store::of`] for several that they belong to; those of each in the same order.
    async fn of_some(&self, shop: &ShopId, kind: Kind, of: &[RecordId]) -> Result<Vec<Record>, StoreError>;

    /// The newest revisions of all records of a kind with a day in `from..=until`, by day; without those gone.
    async fn between(&self, shop: &ShopId, kind: Kind, from: &str, until: &str) -> Result<Vec<Record>, StoreError>;

    /// The newest revisions of all records of a kind, at most `most`, after an id; without those gone.
    async fn all(
        &self,
        shop: &ShopId,
        kind: Kind,
        after: Option<&RecordId>,
        most: u32,
    ) -> Result<Vec<Record>, StoreError>;

    /// Every revision of a record, the oldest first.
    async fn revisions(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Vec<Record>, StoreError>;

    /// Finds dogs, by name.
    async fn find(&self, shop: &ShopId, search: &Search) -> Result<Vec<Found>, StoreError>;

    /// How many dogs a search finds.
    async fn count(&self, shop: &ShopId, search: &Search) -> Result<u64, StoreError>;

    /// Dogs in the list of coats, in the order asked for; those not there are left out.
    async fn found(&self, shop: &ShopId, dogs: &[RecordId]) -> Result<Vec<Found>, StoreError>;

    /// Dogs whose place in the list was not reckoned for `today`, at most `most`.
    async fn stale(&self, shop: &ShopId, today: &str, most: u32) -> Result<Vec<RecordId>, StoreError>;

    /// Puts dogs into the list of coats.
    async fn place(&self, shop: &ShopId, found: &[Found]) -> Result<(), StoreError>;

    /// Keeps something that can be made anew, by name (a plan as JSON, a small picture), beside what it was made from.
    async fn keep_made(
        &self,
        shop: &ShopId,
        of: &RecordId,
        name: &str,
        from: &str,
        bytes: &[u8],
    ) -> Result<(), StoreError>;

    /// Something kept by [`Store::keep_made`], if it was made from the same.
    async fn made(&self, shop: &ShopId, of: &RecordId, name: &str, from: &str) -> Result<Option<Vec<u8>>, StoreError>;

    /// All that [`Store::keep_made`] keeps under a name and that was made from something between two (by their bytes,
    /// both counted), by what it is of; at most `most`, in the order of their ids.
    async fn all_made(
        &self,
        shop: &ShopId,
        name: &str,
        from: (&str, &str),
        most: u32,
    ) -> Result<Vec<(RecordId, Vec<u8>)>, StoreError>;

    /// How many [`Store::all_made`] would give if it gave all.
    async fn count_made(&self, shop: &ShopId, name: &str, from: (&str, &str)) -> Result<u64, StoreError>;

    /// The contents of what [`Store::all_made`] would give of every other shop, one list a shop, where that shop's house
    /// and the asking shop's both have [`House::pooled`](super::House::pooled); else none. No id of theirs is given, nor
    /// what it was made from. At most `most` in all, as evenly from each shop as there are.
    async fn pooled_made(
        &self,
        shop: &ShopId,
        name: &str,
        from: (&str, &str),
        most: u32,
    ) -> Result<Vec<Vec<Vec<u8>>>, StoreError>;

    /// Keeps bytes under their SHA-256 (hex) once.
    async fn keep_bytes(&self, shop: &ShopId, sha256: &str, bytes: &[u8]) -> Result<(), StoreError>;

    /// Bytes by their SHA-256.
    async fn bytes(&self, shop: &ShopId, sha256: &str) -> Result<Option<Vec<u8>>, StoreError>;

    /// The shops in the store, oldest first.
    async fn shops(&self) -> Result<Vec<ShopId>, StoreError>;

    /// Founds a shop with its first records and the first person's way to sign in; all or nothing.
    async fn found_shop(&self, who: &Who, writes: &[Write], credential: &Credential) -> Result<(), StoreError>;

    /// Adds or changes how a person signs in.
    async fn set_credential(&self, who: &Who, credential: &Credential) -> Result<(), StoreError>;

    /// How somebody with this name signs in.
    async fn credential(&self, sign_in: &str) -> Result<Option<Credential>, StoreError>;

    /// Begins a session.
    async fn begin_session(&self, session: &Session) -> Result<(), StoreError>;

    /// A session by the hash of its token.
    async fn session(&self, token_hash: &str) -> Result<Option<Session>, StoreError>;

    /// Notes that a session was used.
    async fn touch_session(&self, token_hash: &str, used_ms: i64) -> Result<(), StoreError>;

    /// Ends a session.
    async fn end_session(&self, token_hash: &str) -> Result<(), StoreError>;

    /// Ends all sessions of a person but one; those that began or were used before the given times too, for everybody.
    async fn end_sessions(
        &self,
        person: Option<&PersonId>,
        but: Option<&str>,
        began_before_ms: i64,
        used_before_ms: i64,
    ) -> Result<(), StoreError>;
}
