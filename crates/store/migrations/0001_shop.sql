-- The first schema. One text for SQLite and PostgreSQL; on PostgreSQL the types plain_text (text that is
-- ordered by its bytes, as SQLite orders it) and blob (bytea) are made beforehand.
-- A file of this folder that has landed is never changed; what is missing comes with the next number.

-- A shop. Every other row names one, so that two shops can live in one store and never see each other.
CREATE TABLE shop (
    id plain_text PRIMARY KEY,
    -- Shops are listed oldest first, and the first is the one that a store with one shop means.
    founded_ms BIGINT NOT NULL
);

-- Every revision of every record. Rows are added and never changed: this is what was said, by whom and when.
CREATE TABLE revision (
    shop plain_text NOT NULL REFERENCES shop (id),
    -- What it is: house, person, owner, dog, event, visit, entry or photo.
    kind plain_text NOT NULL,
    id plain_text NOT NULL,
    -- 1 for the first. Part of the key, so that two writers can never both write the same one.
    number BIGINT NOT NULL,
    -- What it belonged to with this revision.
    of_id plain_text,
    -- Its civil day with this revision, YYYY-MM-DD.
    day plain_text,
    -- The contents as JSON text. Not jsonb: the text comes back as it was written, on both databases.
    body plain_text NOT NULL,
    -- Taken away with this revision. The revisions before it stay.
    gone BOOLEAN NOT NULL,
    by_person plain_text NOT NULL,
    at_ms BIGINT NOT NULL,
    PRIMARY KEY (shop, kind, id, number)
);

-- Which revision of a record stands, and what the newest ones are found by.
CREATE TABLE stands (
    shop plain_text NOT NULL REFERENCES shop (id),
    kind plain_text NOT NULL,
    id plain_text NOT NULL,
    -- The newest revision. A writer changes this row only from the revision that it saw.
    number BIGINT NOT NULL,
    of_id plain_text,
    day plain_text,
    gone BOOLEAN NOT NULL,
    -- When the first revision was written: the order of what happened on one day.
    first_ms BIGINT NOT NULL,
    -- Counts up within what it belongs to, for those written in the same millisecond.
    place BIGINT NOT NULL,
    PRIMARY KEY (shop, kind, id)
);

-- A dog's events, a visit's entries; the last place taken.
CREATE INDEX stands_of ON stands (shop, kind, of_id, place);
-- The visits of a day.
CREATE INDEX stands_day ON stands (shop, kind, day);

-- The list of coats: how a dog is found and shown. Made from the records, and can be made anew.
CREATE TABLE coats (
    shop plain_text NOT NULL REFERENCES shop (id),
    dog plain_text NOT NULL,
    name plain_text NOT NULL,
    -- The name as the list is ordered by it, without capitals.
    sorted plain_text NOT NULL,
    breed plain_text NOT NULL,
    owner plain_text NOT NULL,
    -- What a search looks through, folded.
    words plain_text NOT NULL,
    -- The day for which what follows was reckoned; empty while it was not.
    reckoned plain_text NOT NULL,
    ready plain_text,
    due plain_text,
    rolling BOOLEAN NOT NULL,
    hard BOOLEAN NOT NULL,
    resting BOOLEAN NOT NULL,
    work_min DOUBLE PRECISION,
    line plain_text NOT NULL,
    PRIMARY KEY (shop, dog)
);

-- A page of the list.
CREATE INDEX coats_sorted ON coats (shop, sorted, dog);
-- Dogs to be reckoned this morning.
CREATE INDEX coats_reckoned ON coats (shop, reckoned, dog);

-- What can be made anew and is dear to make: a plan, a small picture. One row a name.
CREATE TABLE made (
    shop plain_text NOT NULL REFERENCES shop (id),
    of_id plain_text NOT NULL,
    name plain_text NOT NULL,
    -- A digest of what it was made from; when that has changed, the row is of no use.
    made_from plain_text NOT NULL,
    content blob NOT NULL,
    PRIMARY KEY (shop, of_id, name)
);

-- Pictures as they are kept, each once a shop.
CREATE TABLE kept (
    shop plain_text NOT NULL REFERENCES shop (id),
    sha256 plain_text NOT NULL,
    content blob NOT NULL,
    PRIMARY KEY (shop, sha256)
);

-- How a person signs in. No revisions: an old password hash is nothing to keep.
CREATE TABLE credential (
    shop plain_text NOT NULL REFERENCES shop (id),
    person plain_text NOT NULL,
    -- One in the whole store: whoever signs in says no shop.
    sign_in plain_text NOT NULL UNIQUE,
    hash plain_text NOT NULL,
    -- May sign in.
    is_open BOOLEAN NOT NULL,
    by_person plain_text NOT NULL,
    at_ms BIGINT NOT NULL,
    PRIMARY KEY (shop, person)
);

-- Browsers that are signed in.
CREATE TABLE session (
    -- Of the token, so that whoever reads the store cannot sign in with what is in it.
    token_hash plain_text PRIMARY KEY,
    shop plain_text NOT NULL REFERENCES shop (id),
    person plain_text NOT NULL,
    -- A session ends a while after it began, and a shorter while after it was last used.
    began_ms BIGINT NOT NULL,
    used_ms BIGINT NOT NULL
);

-- A person's sessions, to end them.
CREATE INDEX session_person ON session (shop, person);
