-- Schema 2. Released: never edited. Views of what the shop holds now, derived
-- from the entries like those of schema 1.

-- What holds of each tag that is in the shop: the last state that an entry said
-- of it. A tag that left, or is another name of a cell, has no row, so that
-- counting the stock reads the stock and no more.
CREATE TABLE here (
  key              INTEGER PRIMARY KEY,
  n                INTEGER NOT NULL,   -- the entry that said it
  handling         TEXT NOT NULL,
  condition        TEXT NOT NULL,
  size             TEXT NOT NULL,
  waste            TEXT NOT NULL,
  count            INTEGER NOT NULL,   -- cells of a lot, else 0
  uwh              INTEGER NOT NULL,   -- microwatt-hours, 0 not known
  mg               INTEGER NOT NULL,   -- milligrams on a scale, 0 not weighed
  ml               INTEGER NOT NULL,   -- volume of a container, 0 not known
  start            TEXT NOT NULL,      -- accumulation start, local date
  start_by         TEXT NOT NULL,
  since            TEXT NOT NULL,      -- times as in an entry, blank for none
  looked           TEXT NOT NULL,
  look_in          INTEGER NOT NULL,   -- minutes
  place            TEXT NOT NULL,
  held_in          INTEGER NOT NULL,   -- key of the container that holds it, -1 none
  what             TEXT NOT NULL,
  made_safe        INTEGER NOT NULL,
  lapses           TEXT NOT NULL,
  lapsed_handling  TEXT NOT NULL,
  lapsed_condition TEXT NOT NULL
) STRICT;

-- The last entry about a subject: the last round of a place, a person's last
-- training, the last answer to a question of local rules.
CREATE TABLE latest (
  topic TEXT NOT NULL,
  about TEXT NOT NULL,
  n     INTEGER NOT NULL,
  PRIMARY KEY (topic, about)
) STRICT, WITHOUT ROWID;

-- The assessments that name a part number.
CREATE TABLE part_entries (
  part TEXT NOT NULL,
  n    INTEGER NOT NULL,
  PRIMARY KEY (part, n)
) STRICT, WITHOUT ROWID;
