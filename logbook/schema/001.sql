-- Schema 1. Released: never edited, its digest stands in each log (table
-- migrations). A change is a new script with the next number.

CREATE TABLE migrations (
  version INTEGER PRIMARY KEY,
  digest  TEXT NOT NULL            -- SHA-256 of the script's bytes, hex
) STRICT;

-- The log. bytes are the entry exactly as hashed; hashes are the tree hashes
-- that this entry completes, leaf first, 32 bytes each. They come first so that
-- reading one does not walk through long bytes. No second UNIQUE column: INSERT
-- OR REPLACE would delete by it without firing a delete trigger.
CREATE TABLE entries (
  n      INTEGER PRIMARY KEY,      -- from 1, without a gap
  hashes BLOB NOT NULL,
  bytes  BLOB NOT NULL
) STRICT;

CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries BEGIN
  SELECT RAISE(ABORT, 'entries are never edited: write a correction');
END;
CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries BEGIN
  SELECT RAISE(ABORT, 'entries are never deleted: write a retraction');
END;
CREATE TRIGGER entries_in_turn BEFORE INSERT ON entries
WHEN NEW.n IS NOT (SELECT coalesce(max(n), 0) + 1 FROM entries) BEGIN
  SELECT RAISE(ABORT, 'an entry takes the number after the last');
END;

-- Views: derived from the entries, rebuilt by pouchward log rebuild, compared
-- by pouchward log verify. A key is the number of a tag over all kinds.

CREATE TABLE tag_entries (
  key INTEGER NOT NULL,
  n   INTEGER NOT NULL,
  PRIMARY KEY (key, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE tags (
  key       INTEGER PRIMARY KEY,
  tag       TEXT NOT NULL,
  first     INTEGER NOT NULL,      -- the first entry that names the tag
  last      INTEGER NOT NULL,      -- the last
  entries   INTEGER NOT NULL,      -- how many
  assessed  INTEGER NOT NULL,      -- the last assessment, 0 for none
  handling  TEXT NOT NULL,         -- its answers, blank for none
  condition TEXT NOT NULL
) STRICT;

-- The number that the next tag of a kind is issued from.
CREATE TABLE issued (
  kind TEXT PRIMARY KEY,
  next INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
