package sqlite

import (
	"database/sql/driver"
	"strings"
)

// batch gathers rows for one table, to insert many with one statement: half of the time
// that a small row takes is the statement's. A batch is written before anything reads
// what it may hold; see writer.flush.
type batch struct {
	columns int
	texts   []string // statements for as many rows as sizes says
	args    []driver.Value
}

// sizes are the numbers of rows that statements are prepared for, largest first.
func sizes() []int { return []int{64, 16, 4, 1} }

func newBatch(table string, columns ...string) *batch {
	b := &batch{columns: len(columns)}
	values := "(?" + strings.Repeat(", ?", len(columns)-1) + ")"
	for _, n := range sizes() {
		b.texts = append(b.texts, "INSERT INTO "+table+" ("+strings.Join(columns, ", ")+") VALUES "+
			values+strings.Repeat(", "+values, n-1))
	}
	return b
}

// add gathers one row.
func (b *batch) add(values ...driver.Value) { b.args = append(b.args, values...) }

// drop forgets what was gathered.
func (b *batch) drop() {
	clear(b.args)
	b.args = b.args[:0]
}

// write inserts what was gathered.
func (b *batch) write(c *conn) error {
	args := b.args
	for i, n := range sizes() {
		for rows := n * b.columns; len(args) >= rows; args = args[rows:] {
			if _, err := c.exec(b.texts[i], args[:rows]...); err != nil {
				return err
			}
		}
	}
	b.drop()
	return nil
}

// gathered are the rows of this transaction that are not in their tables yet.
type gathered struct{ lines, entries, touches, outbox, reminders *batch }

func newGathered() gathered {
	return gathered{
		lines:     newBatch("line", "num", "conversation", "prev", "id", "loose", "delivery", "body"),
		entries:   newBatch("log", "num", "prev", "body"),
		touches:   newBatch("touch", "shop", "num", "conversation"),
		outbox:    newBatch("outbox", "num", "conversation", "shop", "recipient", "fresh", "place", "attempt"),
		reminders: newBatch("reminder", "due", "conversation", "id", "shop", "body"),
	}
}

func (g *gathered) all() [5]*batch {
	return [...]*batch{g.lines, g.entries, g.touches, g.outbox, g.reminders}
}

// flush writes what was gathered. Everything that reads lines, the outbox, reminders or
// the log in the middle of a transaction calls it first.
func (w *writer) flush() error {
	for _, b := range w.all() {
		if err := b.write(w.c); err != nil {
			return err
		}
	}
	return nil
}
