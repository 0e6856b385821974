-- Times are milliseconds since 1970. Bodies are JSON, as the Go types of package
-- conversation write it; columns repeat only what is searched for.

CREATE TABLE shop (
  num           INTEGER PRIMARY KEY,
  key           TEXT NOT NULL UNIQUE,
  conversations INTEGER NOT NULL DEFAULT 0,
  turns         INTEGER NOT NULL DEFAULT 0,
  outbox        INTEGER NOT NULL DEFAULT 0,
  reminders     INTEGER NOT NULL DEFAULT 0,
  handovers     INTEGER NOT NULL DEFAULT 0  -- open ones
) STRICT;

CREATE TABLE conversation (
  num       INTEGER PRIMARY KEY,
  shop      INTEGER NOT NULL,
  id        TEXT NOT NULL,
  version   INTEGER NOT NULL,
  touched   INTEGER NOT NULL,  -- counts commits: the order of the board
  changed   INTEGER NOT NULL,
  seq       INTEGER NOT NULL,  -- numbers given to lines and log entries so far
  addresses TEXT NOT NULL,     -- as last written to the address table
  state     TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX conversation_id ON conversation (shop, id);
CREATE INDEX conversation_touched ON conversation (shop, touched);

CREATE TABLE address (
  shop         INTEGER NOT NULL,
  address      TEXT NOT NULL,
  conversation INTEGER NOT NULL,
  PRIMARY KEY (shop, address)
) STRICT, WITHOUT ROWID;

-- The numbers of lines and log entries are conversation * 2^24 + seq: what belongs
-- together lies together, in order, without an index.
CREATE TABLE line (
  num      INTEGER PRIMARY KEY,
  shop     INTEGER NOT NULL,
  id       TEXT,              -- of lines that are sent
  note     INTEGER NOT NULL,  -- 1: not said, for staff eyes only
  delivery TEXT NOT NULL,
  body     TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX line_id ON line (shop, id) WHERE id IS NOT NULL;

CREATE TABLE log (
  num  INTEGER PRIMARY KEY,
  body TEXT NOT NULL
) STRICT;

-- What is to be sent, by the number of its line. Only the oldest of a conversation has
-- a place, so that claiming never looks at what must wait.
CREATE TABLE outbox (
  num     INTEGER PRIMARY KEY,
  fresh   INTEGER NOT NULL,  -- the place before the first attempt
  place   INTEGER,
  attempt INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX outbox_place ON outbox (place) WHERE place IS NOT NULL;

CREATE TABLE reminder (
  conversation INTEGER NOT NULL,
  id           TEXT NOT NULL,
  shop         INTEGER NOT NULL,
  due          INTEGER NOT NULL,
  place        INTEGER NOT NULL,  -- due, or the end of its lease
  body         TEXT NOT NULL,
  PRIMARY KEY (conversation, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX reminder_place ON reminder (place);

CREATE TABLE handover (
  shop   INTEGER NOT NULL,
  id     TEXT NOT NULL,
  rank   INTEGER NOT NULL,
  opened INTEGER NOT NULL,
  closed INTEGER,
  body   TEXT NOT NULL,
  PRIMARY KEY (shop, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX handover_open ON handover (shop, rank, opened) WHERE closed IS NULL;
CREATE INDEX handover_closed ON handover (shop, closed) WHERE closed IS NOT NULL;

-- Dedupe marks in the order they were set, so that the oldest are found without an index.
CREATE TABLE seen (
  num  INTEGER PRIMARY KEY,
  shop INTEGER NOT NULL,
  id   TEXT NOT NULL,
  at   INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX seen_id ON seen (shop, id);
