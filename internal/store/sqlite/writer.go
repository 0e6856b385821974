package sqlite

import (
	"database/sql/driver"
	"errors"
	"fmt"

	codes "modernc.org/sqlite/lib"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/feed"
)

// writer owns the one connection that writes. Everything below runs on its goroutine.
type writer struct {
	c       *conn
	hub     *feed.Hub
	jobs    chan *job
	done    chan struct{}
	max     int
	group   []*job
	changes []store.Change

	// What is in the file, kept in mind. It is read again when a transaction is undone.
	shops   map[string]*tally
	counted []*tally          // those that this transaction adds to
	waiting map[int64][]waits // what is in the outbox, oldest first, by conversation
	made    made
	lost    bool // it could not be read again

	leases leases
	rows   recent[rowKey, row]
	shared *shared

	// What this transaction has left so far.
	gathered
	fresh  map[rowKey]row
	states []keptState
	after  func(jobs int) // told after each group; for the keeper
}

// shared is what the writer shares with the readers.
type shared struct {
	states *states
	hints  hints
	shops  shopNumbers
}

// made is the last number given to each kind of record.
type made struct{ conversations, touches, lines, entries int64 }

// tally is a shop's number and what this transaction adds to its counts.
type tally struct {
	key     string
	num     int64
	add     store.Counts
	counted bool
}

func newWriter(c *conn, hub *feed.Hub, sh *shared, o Options) *writer {
	if o.MaxGroup <= 0 {
		o.MaxGroup = 256
	}
	return &writer{
		c:      c,
		hub:    hub,
		shared: sh,
		jobs:   make(chan *job, o.MaxGroup),
		done:   make(chan struct{}),
		max:    o.MaxGroup,
		after:  func(int) {},
		leases: make(leases),
		rows:   recent[rowKey, row]{n: remembered},
		fresh:  make(map[rowKey]row),

		gathered: newGathered(),
	}
}

// remembered is how many conversations are kept in memory at least; some 15 MB.
const remembered = 4096

// begin reads what the writer keeps in mind.
func (w *writer) begin() error {
	w.shops = make(map[string]*tally)
	w.waiting = make(map[int64][]waits)
	for query, to := range map[string]*int64{
		"SELECT max(num) FROM conversation": &w.made.conversations,
		"SELECT max(num) FROM line":         &w.made.lines,
		"SELECT max(num) FROM log":          &w.made.entries,
		"SELECT max(m) FROM (SELECT (SELECT max(num) FROM touch WHERE shop = s.num) AS m FROM shop s)": &w.made.touches,
	} {
		n, _, err := w.c.number(query)
		if err != nil {
			return err
		}
		*to = n
	}
	err := w.c.rows(func(v []driver.Value) error {
		w.shops[text(v[0])] = &tally{key: text(v[0]), num: integer(v[1])}
		w.shared.shops.Store(text(v[0]), integer(v[1]))
		return nil
	}, "SELECT key, num FROM shop")
	if err != nil {
		return err
	}
	return w.c.rows(func(v []driver.Value) error {
		w.waiting[integer(v[0])] = append(w.waiting[integer(v[0])], waits{integer(v[1]), text(v[2])})
		return nil
	}, "SELECT conversation, num, recipient FROM outbox ORDER BY num")
}

func (w *writer) close() error { return w.c.close() }

// run writes groups until the channel is closed and empty.
func (w *writer) run() {
	defer close(w.done)
	for j := range w.jobs {
		w.group = append(w.group[:0], j)
		w.gather()
		w.write()
	}
}

// gather takes what waits already, without waiting for more: a lone turn is written at
// once, and under load the next group forms while this one is being synced.
func (w *writer) gather() {
	for len(w.group) < w.max {
		select {
		case j, ok := <-w.jobs:
			if !ok {
				return
			}
			w.group = append(w.group, j)
		default:
			return
		}
	}
}

// write runs the group in one transaction, or each job in its own when something went
// wrong that one job must not cost the others.
func (w *writer) write() {
	live := w.group[:0]
	for _, j := range w.group {
		switch {
		case !j.taken.CompareAndSwap(false, true):
		case j.outside != nil:
			j.err = j.outside(w)
			close(j.done)
		default:
			live = append(live, j)
		}
	}
	if len(live) == 0 {
		return
	}
	err := w.transaction(live)
	if err != nil && len(live) > 1 && !hopeless(err) {
		for i := range live {
			if err := w.transaction(live[i : i+1]); err != nil {
				live[i].err = err
			}
		}
		err = nil
	}
	for _, j := range live {
		if err != nil {
			j.err = err
		}
		close(j.done)
	}
	w.after(len(live))
}

// answers are the errors that are results: the job wrote nothing and the others go on.
func answer(err error) bool {
	return errors.Is(err, store.ErrDuplicate) || errors.Is(err, store.ErrConflict) || errors.Is(err, store.ErrNotFound)
}

// transaction writes jobs all or nothing and sets their answers.
func (w *writer) transaction(jobs []*job) (err error) {
	if w.lost {
		if err := w.undo(); err != nil {
			return onDisk(err)
		}
	}
	if err := w.statement("BEGIN IMMEDIATE"); err != nil {
		return onDisk(err)
	}
	defer func() {
		if err != nil {
			err = onDisk(errors.Join(err, w.undo()))
		}
	}()
	for _, j := range jobs {
		j.err = j.run(w)
		if j.err != nil && !answer(j.err) {
			return j.err
		}
	}
	if err := w.flush(); err != nil {
		return err
	}
	if err := w.settleCounts(); err != nil {
		return err
	}
	if err := w.statement("COMMIT"); err != nil {
		return err
	}
	w.acknowledge()
	return nil
}

// acknowledge makes what is now durable known to readers and watchers.
func (w *writer) acknowledge() {
	for _, t := range w.counted {
		w.shared.shops.Store(t.key, t.num)
	}
	w.shared.states.keep(w.states)
	w.shared.hints.puts.Add(int64(len(w.fresh)))
	for key, r := range w.fresh {
		w.rows.put(key, r)
	}
	w.hub.Tell(w.changes...)
	w.clear()
}

func (w *writer) clear() {
	clear(w.fresh)
	for _, t := range w.counted {
		t.add, t.counted = store.Counts{}, false
	}
	w.counted = w.counted[:0]
	for _, b := range w.all() {
		b.drop()
	}
	w.states = w.states[:0]
	w.changes = w.changes[:0]
}

func (w *writer) statement(text string) error {
	_, err := w.c.exec(text)
	return err
}

// undo rolls back and reads again what was noted on the way. SQLite rolls back by itself
// after some errors; then there is nothing left to roll back. Where not even that can be
// done, nothing is written until it can.
func (w *writer) undo() error {
	w.clear()
	w.lost = true
	if err := w.statement("ROLLBACK"); err != nil && code(err) != codes.SQLITE_ERROR {
		return err
	}
	if err := w.begin(); err != nil {
		return err
	}
	w.lost = false
	return nil
}

// shop finds a shop's number, giving it one at its first turn.
func (w *writer) shop(key string) (*tally, error) {
	t := w.shops[key]
	if t == nil {
		num, _, err := w.c.number("INSERT INTO shop (key) VALUES (?) RETURNING num", key)
		if err != nil {
			return nil, err
		}
		t = &tally{key: key, num: num}
		w.shops[key] = t
	}
	w.count(t)
	return t, nil
}

// known finds a shop that has been there before.
func (w *writer) known(key string) (*tally, bool) {
	t, ok := w.shops[key]
	if ok {
		w.count(t)
	}
	return t, ok
}

func (w *writer) count(t *tally) {
	if !t.counted {
		t.counted = true
		w.counted = append(w.counted, t)
	}
}

func (w *writer) settleCounts() error {
	for _, t := range w.counted {
		if t.add == (store.Counts{}) {
			continue
		}
		a := t.add
		_, err := w.c.exec(`UPDATE shop SET conversations = conversations + ?, turns = turns + ?, outbox = outbox + ?,
			reminders = reminders + ?, handovers = handovers + ? WHERE num = ?`,
			a.Conversations, a.Turns, a.Outbox, a.Reminders, a.Handovers, t.num)
		if err != nil {
			return fmt.Errorf("count: %w", err)
		}
	}
	return nil
}

func (w *writer) changed(shop, conversation string) {
	if w.hub.Watched() {
		w.changes = append(w.changes, store.Change{Shop: shop, Conversation: conversation})
	}
}

func text(v driver.Value) string {
	s, _ := v.(string)
	return s
}

func integer(v driver.Value) int64 {
	n, _ := v.(int64)
	return n
}
