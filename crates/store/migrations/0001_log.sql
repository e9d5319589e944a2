-- What every table hangs on: the log of transactions, the rows they made, and what merging left to say.

-- One line: which shelf this is.
CREATE TABLE shelf (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    id BLOB NOT NULL,
    demo INTEGER NOT NULL,
    -- The lowest schema version whose program may still write here.
    writer_version INTEGER NOT NULL,
    -- The latest clock of any stamp seen.
    clock INTEGER NOT NULL,
    -- Which entities, fields and codes the last program knew; another list means that parked changes are tried again.
    known TEXT NOT NULL
) STRICT;

CREATE TABLE device (
    id INTEGER PRIMARY KEY,
    uuid BLOB NOT NULL UNIQUE,
    -- How many of its transactions are held: all from 1 to this.
    number INTEGER NOT NULL
) STRICT;

CREATE TABLE txn (
    id INTEGER PRIMARY KEY,
    device INTEGER NOT NULL,
    number INTEGER NOT NULL,
    clock INTEGER NOT NULL,
    changes INTEGER NOT NULL,
    -- First bytes of a hash over this and every earlier transaction of the device; differs where a device was cloned.
    chain BLOB NOT NULL,
    head BLOB NOT NULL,
    body BLOB NOT NULL,
    UNIQUE (device, number)
) STRICT;

-- Every row's local integer and its one stamp: the transaction of its earliest creation, none while only others name it.
CREATE TABLE row (
    id INTEGER PRIMARY KEY,
    uuid BLOB NOT NULL,
    entity INTEGER NOT NULL,
    born INTEGER
) STRICT;

-- The row of each UUID. No index of `row`, so that a big import can lay its UUIDs down in their own order.
CREATE TABLE row_of (
    uuid BLOB PRIMARY KEY,
    row INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Further transactions that changed a row: edits, second creations, deletes.
CREATE TABLE touch (
    row INTEGER NOT NULL,
    txn INTEGER NOT NULL,
    PRIMARY KEY (row, txn)
) STRICT, WITHOUT ROWID;

-- Values that no held change replaces beside the one that shows; those that differ are conflicts.
CREATE TABLE rival (
    row INTEGER NOT NULL,
    field INTEGER NOT NULL,
    txn INTEGER NOT NULL,
    value BLOB NOT NULL,
    PRIMARY KEY (row, field, txn)
) STRICT, WITHOUT ROWID;

-- Deletes; one that a concurrent change revived says which.
CREATE TABLE tombstone (
    row INTEGER NOT NULL,
    txn INTEGER NOT NULL,
    revived_by INTEGER,
    PRIMARY KEY (row, txn)
) STRICT, WITHOUT ROWID;

-- What this program does not know, to be tried again by a newer one; the bytes are in the log. Field 0: the whole change.
CREATE TABLE parked (
    row INTEGER NOT NULL,
    txn INTEGER NOT NULL,
    field INTEGER NOT NULL,
    why TEXT NOT NULL,
    PRIMARY KEY (row, txn, field)
) STRICT, WITHOUT ROWID;

-- The layers of every assembly, from the item up.
CREATE TABLE layer (
    assembly INTEGER NOT NULL,
    position INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    orientation TEXT,
    gap_m REAL,
    PRIMARY KEY (assembly, position)
) STRICT, WITHOUT ROWID;
CREATE INDEX layer_revision ON layer (revision);

-- Blobs that a row or a peer named; a blob whose file is missing is elsewhere if a peer has it, else lost.
CREATE TABLE blob (
    sha256 BLOB PRIMARY KEY,
    size_bytes INTEGER NOT NULL,
    -- 1 once another device confirmed that it holds the blob.
    elsewhere INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;

-- Other stores that this one has exchanged with, and how far they held everything when they last said so.
CREATE TABLE peer (
    device BLOB PRIMARY KEY,
    name TEXT,
    -- The version vector, JSON.
    held TEXT NOT NULL,
    -- The wall clock of the last exchange, as this device shows it.
    met TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE VIRTUAL TABLE search USING fts5 (
    tag, words, content = '', contentless_delete = 1, tokenize = "unicode61 remove_diacritics 2", prefix = '2 3'
);
