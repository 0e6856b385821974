package sqlite

import (
	"database/sql/driver"
	"fmt"
	"strconv"
	"strings"
)

// row is what the conversation table says of a conversation beside its state.
type row struct {
	num, version, line, said, entry int64
	addresses                       string
	pending                         []pending
	marks                           marks
	spilled                         int64
	sought                          int64 // a sum of what it is found by
}

// pending is a reminder as its conversation's row lists it.
type pending struct {
	due int64
	id  string
}

// rowKey finds a row.
type rowKey struct {
	shop int64
	id   string
}

// rowColumns are the columns that readRow reads.
const rowColumns = "c.num, c.version, c.line, c.said, c.entry, c.addresses, c.reminders, c.marks, c.spilled, c.sought"

func readRow(v []driver.Value) (r row, err error) {
	marked, _ := v[7].([]byte)
	r = row{
		num: integer(v[0]), version: integer(v[1]), line: integer(v[2]), said: integer(v[3]), entry: integer(v[4]),
		addresses: text(v[5]), marks: marks(marked), spilled: integer(v[8]), sought: integer(v[9]),
	}
	r.pending, err = readPending(text(v[6]))
	return r, err
}

// find gives a conversation's row as this transaction sees it; num is 0 when there is
// none yet. What this transaction has written of the conversation so far is in the
// tables then, not only gathered.
func (w *writer) find(shop int64, id string) (r row, err error) {
	key := rowKey{shop, id}
	if r, ok := w.fresh[key]; ok {
		return r, w.flush()
	}
	hinted, ok := w.shared.hints.take(key)
	if r, ok := w.rows.get(key); ok {
		return r, nil
	}
	if ok {
		return hinted, nil
	}
	err = w.c.rows(func(v []driver.Value) error {
		r, err = readRow(v)
		return err
	}, "SELECT "+rowColumns+" FROM conversation c WHERE c.shop = ? AND c.id = ?", shop, id)
	return r, err
}

// kept remembers what a turn has left, for this transaction and, once it is durable,
// for those that follow and for readers.
func (w *writer) kept(sh *tally, r row, p *written) {
	t := &p.turn
	w.fresh[rowKey{sh.num, t.State.ID}] = r
	k := keptState{stateKey{t.Shop, t.State.ID}, p.kept}
	k.state.Version = r.version
	w.states = append(w.states, k)
	w.changed(t.Shop, t.State.ID)
}

// putState writes the conversation's row, and its place on the board.
func (w *writer) putState(sh *tally, r *row, p *written) (err error) {
	r.version++
	pending := writePending(r.pending)
	if r.version == 1 {
		_, err = w.c.exec(`INSERT INTO conversation (num, shop, id, version, changed, line, said, entry,
			addresses, reminders, spilled, marks, sought, state) VALUES (?, ?, ?, 1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			r.num, sh.num, p.turn.State.ID, p.now, r.line, r.said, r.entry, p.addresses, pending, r.spilled, r.marks.blob(), r.sought, p.state)
	} else {
		_, err = w.c.exec(`UPDATE conversation SET version = ?, changed = ?, line = ?, said = ?, entry = ?,
			addresses = ?, reminders = ?, spilled = ?, marks = ?, sought = ?, state = ? WHERE num = ?`,
			r.version, p.now, r.line, r.said, r.entry, p.addresses, pending, r.spilled, r.marks.blob(), r.sought, p.state, r.num)
	}
	w.made.touches++
	w.touches.add(sh.num, w.made.touches, r.num)
	return err
}

// putAddresses leads the owner's addresses to the conversation, where they have changed.
func (w *writer) putAddresses(sh *tally, r *row, p *written) error {
	if r.addresses == p.addresses {
		return nil
	}
	r.addresses = p.addresses
	for _, a := range p.turn.State.Owner.Addresses {
		if err := w.rob(sh.num, r, a); err != nil {
			return err
		}
		_, err := w.c.exec(`INSERT INTO address (shop, address, conversation) VALUES (?, ?, ?)
			ON CONFLICT DO UPDATE SET conversation = excluded.conversation`, sh.num, a, r.num)
		if err != nil {
			return err
		}
	}
	return nil
}

// rob takes an address from the conversation that it led to, if that was another. That
// one is noted to have written none, so that its next turn claims its own again.
func (w *writer) rob(shop int64, r *row, address string) error {
	other := ""
	err := w.c.rows(func(v []driver.Value) error {
		other = text(v[0])
		return nil
	}, `SELECT c.id FROM address a JOIN conversation c ON c.num = a.conversation
		WHERE a.shop = ? AND a.address = ? AND c.num <> ?`, shop, address, r.num)
	if err != nil || other == "" {
		return err
	}
	from, err := w.find(shop, other)
	if err != nil {
		return err
	}
	if err := w.inherit(r, from); err != nil {
		return err
	}
	from.addresses = ""
	w.fresh[rowKey{shop, other}] = from
	_, err = w.c.exec("UPDATE conversation SET addresses = '' WHERE num = ?", from.num)
	return err
}

func writePending(list []pending) string {
	var b strings.Builder
	for _, p := range list {
		b.WriteString(strconv.FormatInt(p.due, 10))
		b.WriteByte(' ')
		b.WriteString(p.id)
		b.WriteByte('\n')
	}
	return b.String()
}

func readPending(written string) (list []pending, err error) {
	for line := range strings.Lines(written) {
		due, id, ok := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		at, err := strconv.ParseInt(due, 10, 64)
		if err != nil || !ok {
			return nil, fmt.Errorf("a conversation's list of reminders has the line %q; run an integrity check", line)
		}
		list = append(list, pending{at, id})
	}
	return list, nil
}
