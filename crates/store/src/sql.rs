//! Every fixed statement, each with one text for both databases. The few that are put together (a search, a list of
//! ids) are in `coats`.

/// The newest revisions, with what follows `WHERE`.
macro_rules! standing {
    ($rest:literal) => {
        concat!(
            "SELECT s.kind, s.id, r.of_id, r.day, s.number, r.body, r.gone, r.by_person, r.at_ms \
             FROM stands s JOIN revision r \
             ON r.shop = s.shop AND r.kind = s.kind AND r.id = s.id AND r.number = s.number WHERE ",
            $rest
        )
    };
}

/// The newest revision of a record, gone or not.
pub(crate) const STANDS: &str = standing!("s.shop = $1 AND s.kind = $2 AND s.id = $3");
/// Those of a kind that belong to something. NULL sorts first here and last there, hence COALESCE.
pub(crate) const OF: &str = standing!(
    "s.shop = $1 AND s.kind = $2 AND s.of_id = $3 AND NOT s.gone \
    ORDER BY COALESCE(s.day, ''), s.first_ms, s.place, s.id"
);
/// The same of some that are listed after it.
pub(crate) const SOME: &str = standing!("NOT s.gone AND s.shop = ");
/// Those of a kind with a day between two.
pub(crate) const BETWEEN: &str = standing!(
    "s.shop = $1 AND s.kind = $2 AND s.day >= $3 AND s.day <= $4 AND NOT s.gone \
    ORDER BY s.day, s.first_ms, s.place, s.id"
);
/// Those of a kind after an id.
pub(crate) const AFTER: &str =
    standing!("s.shop = $1 AND s.kind = $2 AND s.id > $3 AND NOT s.gone ORDER BY s.id LIMIT $4");
/// All revisions of a record.
pub(crate) const REVISIONS: &str = "SELECT kind, id, of_id, day, number, body, gone, by_person, at_ms FROM revision \
    WHERE shop = $1 AND kind = $2 AND id = $3 ORDER BY number";

/// One writer at a time in a shop, on PostgreSQL: two that wanted the same rows in another order would undo each other.
pub(crate) const QUEUE: &str = "SELECT pg_advisory_xact_lock(hashtextextended($1, 7203418190447))";
/// A new record stands, unless one is there.
pub(crate) const BEGIN_RECORD: &str = "INSERT INTO stands (shop, kind, id, number, of_id, day, gone, first_ms, place) \
    SELECT $1, $2, $3, 1, $4, $5, $6, $7, \
    1 + COALESCE((SELECT MAX(place) FROM stands WHERE shop = $1 AND kind = $2 AND of_id = $4), 0) \
    WHERE TRUE ON CONFLICT (shop, kind, id) DO NOTHING";
/// The next revision stands, if the one that was seen still does.
pub(crate) const GO_ON: &str = "UPDATE stands SET number = $5, of_id = $6, day = $7, gone = $8 \
    WHERE shop = $1 AND kind = $2 AND id = $3 AND number = $4";
/// A revision is written down.
pub(crate) const WRITE_DOWN: &str = "INSERT INTO revision (shop, kind, id, number, of_id, day, body, gone, by_person, at_ms) \
    VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)";

/// A dog's place in the list of coats, if the dog is there.
pub(crate) const PLACE: &str = "INSERT INTO coats (shop, dog, name, sorted, breed, owner, words, reckoned, ready, due, rolling, hard, \
    resting, work_min, line) \
    SELECT $1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15 \
    WHERE EXISTS (SELECT 1 FROM stands WHERE shop = $1 AND kind = 'dog' AND id = $2 AND NOT gone) \
    ON CONFLICT (shop, dog) DO UPDATE SET name = excluded.name, sorted = excluded.sorted, \
    breed = excluded.breed, owner = excluded.owner, words = excluded.words, reckoned = excluded.reckoned, \
    ready = excluded.ready, due = excluded.due, rolling = excluded.rolling, hard = excluded.hard, \
    resting = excluded.resting, work_min = excluded.work_min, line = excluded.line";
/// A dog that is gone leaves the list.
pub(crate) const LEAVE: &str = "DELETE FROM coats WHERE shop = $1 AND dog = $2";
/// Dogs not reckoned for a day.
pub(crate) const STALE: &str =
    "SELECT dog FROM coats WHERE shop = $1 AND reckoned <> $2 ORDER BY reckoned, dog LIMIT $3";

/// Keeps something that can be made anew.
pub(crate) const KEEP_MADE: &str = "INSERT INTO made (shop, of_id, name, made_from, content) VALUES ($1, $2, $3, $4, $5) \
    ON CONFLICT (shop, of_id, name) DO UPDATE SET made_from = excluded.made_from, content = excluded.content";
/// Something made from the same.
pub(crate) const MADE: &str =
    "SELECT content FROM made WHERE shop = $1 AND of_id = $2 AND name = $3 AND made_from = $4";
/// All made of one name from between two.
pub(crate) const ALL_MADE: &str = "SELECT of_id, content FROM made WHERE shop = $1 AND name = $2 \
    AND made_from >= $3 AND made_from <= $4 ORDER BY of_id LIMIT $5";
/// How many of them.
pub(crate) const COUNT_MADE: &str = "SELECT COUNT(*) FROM made WHERE shop = $1 AND name = $2 \
    AND made_from >= $3 AND made_from <= $4";
/// The same of all other shops whose house is pooled, if the asking shop's is. The body is JSON as we wrote it: a quote
/// within a name is written with a stroke before it, so that only the key itself reads like this.
pub(crate) const POOLED_MADE: &str = "WITH pooled AS ( \
    SELECT s.shop FROM stands s JOIN revision r \
    ON r.shop = s.shop AND r.kind = s.kind AND r.id = s.id AND r.number = s.number \
    WHERE s.kind = 'house' AND s.id = s.shop AND NOT s.gone AND r.body LIKE '%\"pooled\":true%'), \
    given AS (SELECT m.shop, m.content, ROW_NUMBER() OVER (PARTITION BY m.shop ORDER BY m.of_id) AS place \
    FROM made m JOIN pooled p ON p.shop = m.shop \
    WHERE m.shop <> $1 AND m.name = $2 AND m.made_from >= $3 AND m.made_from <= $4 \
    AND EXISTS (SELECT 1 FROM pooled WHERE shop = $1)) \
    SELECT shop, content FROM given ORDER BY place, shop LIMIT $5";
/// Keeps bytes once.
pub(crate) const KEEP_BYTES: &str =
    "INSERT INTO kept (shop, sha256, content) VALUES ($1, $2, $3) ON CONFLICT (shop, sha256) DO NOTHING";
/// Bytes.
pub(crate) const BYTES: &str = "SELECT content FROM kept WHERE shop = $1 AND sha256 = $2";

/// The shops.
pub(crate) const SHOPS: &str = "SELECT id FROM shop ORDER BY founded_ms, id";
/// A new shop.
pub(crate) const FOUND_SHOP: &str = "INSERT INTO shop (id, founded_ms) VALUES ($1, $2)";
/// Records of a shop were written once more; how often so far.
pub(crate) const COUNT_WRITE: &str = "UPDATE shop SET writes = writes + 1 WHERE id = $1";
pub(crate) const WRITES: &str = "SELECT writes FROM shop WHERE id = $1";
/// How a person signs in.
pub(crate) const SET_CREDENTIAL: &str = "INSERT INTO credential (shop, person, sign_in, hash, is_open, by_person, at_ms) \
    VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (shop, person) DO UPDATE SET sign_in = excluded.sign_in, \
    hash = excluded.hash, is_open = excluded.is_open, by_person = excluded.by_person, at_ms = excluded.at_ms";
/// How somebody with a name signs in.
pub(crate) const CREDENTIAL: &str = "SELECT shop, person, sign_in, hash, is_open FROM credential WHERE sign_in = $1";
/// A new session.
pub(crate) const BEGIN_SESSION: &str =
    "INSERT INTO session (token_hash, shop, person, began_ms, used_ms) VALUES ($1, $2, $3, $4, $5)";
/// A session.
pub(crate) const SESSION: &str =
    "SELECT token_hash, shop, person, began_ms, used_ms FROM session WHERE token_hash = $1";
/// A session was used. Two requests at once may come in either order.
pub(crate) const TOUCH_SESSION: &str = "UPDATE session SET used_ms = $2 WHERE token_hash = $1 AND used_ms < $2";
/// A session ends.
pub(crate) const END_SESSION: &str = "DELETE FROM session WHERE token_hash = $1";
/// A person's sessions end but one, and everybody's that are too old.
pub(crate) const END_SESSIONS: &str = "DELETE FROM session WHERE (person = $1 AND token_hash <> COALESCE($2, '')) \
    OR began_ms < $3 OR used_ms < $4";
