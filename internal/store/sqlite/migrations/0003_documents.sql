-- Small values of a shop, by kind and key: accounts, sessions, settings. Values are what
-- the caller made of them.
CREATE TABLE document (
  num     INTEGER PRIMARY KEY,
  shop    INTEGER NOT NULL,
  kind    TEXT NOT NULL,
  key     TEXT NOT NULL,
  version INTEGER NOT NULL,
  expires INTEGER NOT NULL,  -- milliseconds since 1970; 0: never
  value   BLOB NOT NULL
) STRICT;
CREATE UNIQUE INDEX document_place ON document (shop, kind, key);
CREATE INDEX document_expires ON document (expires) WHERE expires > 0;

-- What was done at a shop, in the order told; numbers are never given twice.
CREATE TABLE audit (
  num  INTEGER PRIMARY KEY AUTOINCREMENT,
  shop INTEGER NOT NULL,
  at   INTEGER NOT NULL,
  body TEXT NOT NULL
) STRICT;
CREATE INDEX audit_shop ON audit (shop, num);
