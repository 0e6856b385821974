-- Times are milliseconds since 1970. Bodies are JSON, as the Go types of package
-- conversation write it; columns repeat only what is searched for.
--
-- What a turn writes is laid out so that it changes few pages, because each changed page
-- is written whole: what only grows is numbered by arrival and shared by all that commit
-- together, and what belongs to one conversation lies in its row or is chained to it.

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
  changed   INTEGER NOT NULL,
  line      INTEGER NOT NULL,  -- the last one; 0 when none
  said      INTEGER NOT NULL,  -- the last line that is not a note; 0 when none
  entry     INTEGER NOT NULL,  -- the last of the log; 0 when none
  addresses TEXT NOT NULL,     -- as last written to the address table, one a line
  reminders TEXT NOT NULL,     -- pending: time and id, one a line
  spilled   INTEGER NOT NULL,  -- marks that are in the table of marks
  marks     BLOB NOT NULL,     -- the latest dedupe marks; see marks.go
  state     TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX conversation_id ON conversation (shop, id);

CREATE TABLE address (
  shop         INTEGER NOT NULL,
  address      TEXT NOT NULL,
  conversation INTEGER NOT NULL,
  PRIMARY KEY (shop, address)
) STRICT, WITHOUT ROWID;

-- Each commit, in order. A conversation's last entry is its place on the board.
CREATE TABLE touch (
  shop         INTEGER NOT NULL,
  num          INTEGER NOT NULL,
  conversation INTEGER NOT NULL,
  PRIMARY KEY (shop, num)
) STRICT, WITHOUT ROWID;

CREATE TABLE line (
  num          INTEGER PRIMARY KEY,
  conversation INTEGER NOT NULL,
  prev         INTEGER NOT NULL,  -- the line before in this conversation; 0 at the first
  id           TEXT NOT NULL,     -- without the conversation's id, where it begins so
  loose        INTEGER,           -- the shop's number, where it does not
  delivery     TEXT NOT NULL,
  body         TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX line_loose ON line (loose, id) WHERE loose IS NOT NULL;

CREATE TABLE log (
  num  INTEGER PRIMARY KEY,
  prev INTEGER NOT NULL,
  body TEXT NOT NULL
) STRICT;

-- What is to be sent, by the number of its line. Only the oldest of a conversation has
-- a place, so that claiming never looks at what must wait.
CREATE TABLE outbox (
  num          INTEGER PRIMARY KEY,
  conversation INTEGER NOT NULL,
  shop         INTEGER NOT NULL,
  fresh        INTEGER NOT NULL,  -- the place before the first attempt
  place        INTEGER,
  attempt      INTEGER NOT NULL
) STRICT;
CREATE INDEX outbox_place ON outbox (place) WHERE place IS NOT NULL;

CREATE TABLE reminder (
  due          INTEGER NOT NULL,
  conversation INTEGER NOT NULL,
  id           TEXT NOT NULL,
  shop         INTEGER NOT NULL,
  body         TEXT NOT NULL,
  PRIMARY KEY (due, conversation, id)
) STRICT, WITHOUT ROWID;

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

-- Dedupe marks of conversations that have more than their row should hold.
CREATE TABLE mark (
  conversation INTEGER NOT NULL,
  hash         INTEGER NOT NULL,
  at           INTEGER NOT NULL,  -- minutes since 1970
  PRIMARY KEY (conversation, hash)
) STRICT, WITHOUT ROWID;
