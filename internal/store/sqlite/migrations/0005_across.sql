-- What conversations are found by: the text of each and an index of its pieces of three letters.
-- A conversation keeps a sum of its text, so that a turn that leaves the text as it was does
-- not look here. What is taken out of the index is overwritten.
ALTER TABLE conversation ADD COLUMN sought INTEGER NOT NULL DEFAULT 0;
CREATE TABLE sought (
  num  INTEGER PRIMARY KEY,  -- the conversation's
  shop INTEGER NOT NULL,
  text TEXT NOT NULL
) STRICT;
CREATE INDEX sought_shop ON sought (shop);
CREATE VIRTUAL TABLE found USING fts5 (text, content = 'sought', content_rowid = 'num', tokenize = 'trigram');
INSERT INTO found (found, rank) VALUES ('secure-delete', 1);

-- Counts for reports. Days are the shop's, as 2026-06-13.
CREATE TABLE tally (
  shop INTEGER NOT NULL,
  day  TEXT NOT NULL,
  kind TEXT NOT NULL,
  key  TEXT NOT NULL,
  n    INTEGER NOT NULL,
  sum  INTEGER NOT NULL,
  PRIMARY KEY (shop, day, kind, key)
) STRICT, WITHOUT ROWID;
