-- A search looks at every dog. In a file it reads all that it asks of one from this index, in the order of the list, and
-- fetches only the dogs that are shown. PostgreSQL refuses long rows in an index, and is quick without.
DROP INDEX coats_sorted;
CREATE INDEX coats_sorted ON coats (shop, sorted, dog, words, ready, due, rolling, hard, resting);
