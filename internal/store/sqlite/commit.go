package sqlite

import (
	"context"
	"database/sql/driver"
	"fmt"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// written is a turn made ready by its caller, so that the writer's goroutine only
// hands values on.
type written struct {
	turn      store.Turn
	now       int64
	state     string
	addresses string
	lines     []string
	log       []string
	reminders []string
	handovers []string
}

// Commit implements store.Store.
func (s *Store) Commit(ctx context.Context, t store.Turn) error {
	p, err := prepare(t)
	if err != nil {
		return err
	}
	return s.do(ctx, func(w *writer) error { return w.commit(p) })
}

func prepare(t store.Turn) (*written, error) {
	t, err := record.Normal(t)
	if err != nil {
		return nil, err
	}
	p := &written{turn: t, now: record.Milli(t.Now), addresses: strings.Join(t.State.Owner.Addresses, "\n")}
	if p.state, err = record.Encode(t.State); err != nil {
		return nil, err
	}
	if p.lines, err = bodies(t.Effects.Lines); err != nil {
		return nil, err
	}
	if p.log, err = bodies(t.Effects.Log); err != nil {
		return nil, err
	}
	if p.reminders, err = bodies(t.Effects.Remind); err != nil {
		return nil, err
	}
	p.handovers, err = bodies(t.Effects.Handovers)
	return p, err
}

func bodies[T any](records []T) (out []string, err error) {
	for _, r := range records {
		body, err := record.Encode(r)
		if err != nil {
			return nil, err
		}
		out = append(out, body)
	}
	return out, nil
}

// row is what the conversation table says of a conversation.
type row struct {
	num, version, seq int64
	addresses         string
}

// commit writes one turn. The mark is set first, so that a repeated event is known as
// such whatever its version; it is taken back when the version does not fit.
func (w *writer) commit(p *written) error {
	t := &p.turn
	sh, err := w.shop(t.Shop)
	if err != nil {
		return err
	}
	if err := w.mark(sh.num, t.Event, p.now); err != nil {
		return err
	}
	c, err := w.find(sh.num, t.State.ID)
	if err != nil {
		return err
	}
	if c.version != t.State.Version {
		return w.unmark(sh.num, t.Event)
	}
	seq := c.seq
	if err := w.putState(sh, &c, p); err != nil {
		return err
	}
	if t.Effects.DropUnsent {
		if err := w.dropUnsent(sh, c.num); err != nil {
			return err
		}
	}
	if err := w.putLines(sh, c.num, seq, p); err != nil {
		return err
	}
	if err := w.putReminders(sh, c.num, p); err != nil {
		return err
	}
	if err := w.putHandovers(sh, p); err != nil {
		return err
	}
	sh.add.Turns++
	w.changed(t.Shop, t.State.ID)
	return nil
}

// mark sets the event's dedupe mark, or says that it was set before.
func (w *writer) mark(shop int64, event string, now int64) error {
	if event == "" {
		return nil
	}
	n, err := w.c.exec("INSERT INTO seen (shop, id, at) VALUES (?, ?, ?) ON CONFLICT DO NOTHING", shop, event, now)
	if err != nil {
		return err
	}
	if n == 0 {
		return store.ErrDuplicate
	}
	w.latest = now
	w.aged += 2
	return nil
}

func (w *writer) unmark(shop int64, event string) error {
	if event != "" {
		if _, err := w.c.exec("DELETE FROM seen WHERE shop = ? AND id = ?", shop, event); err != nil {
			return err
		}
	}
	return store.ErrConflict
}

// forgetOldMarks drops a few marks that are past their time, at most twice as many as
// the group has set, so that no turn waits for a great clearing-out.
func (w *writer) forgetOldMarks() error {
	n := w.aged
	w.aged = 0
	if n == 0 {
		return nil
	}
	_, err := w.c.exec(`DELETE FROM seen WHERE num IN (SELECT num FROM seen ORDER BY num LIMIT ?) AND at < ?`,
		n, w.latest-record.MarksKept.Milliseconds())
	return err
}

func (w *writer) find(shop int64, id string) (c row, err error) {
	err = w.c.rows(func(r []driver.Value) error {
		c = row{integer(r[0]), integer(r[1]), integer(r[2]), text(r[3])}
		return nil
	}, "SELECT num, version, seq, addresses FROM conversation WHERE shop = ? AND id = ?", shop, id)
	return c, err
}

func (w *writer) putState(sh *tally, c *row, p *written) (err error) {
	w.touched++
	seq := c.seq + int64(len(p.lines)+len(p.log))
	if c.num == 0 {
		c.num, _, err = w.c.number(`INSERT INTO conversation (shop, id, version, touched, changed, seq, addresses, state)
			VALUES (?, ?, 1, ?, ?, ?, ?, ?) RETURNING num`,
			sh.num, p.turn.State.ID, w.touched, p.now, seq, p.addresses, p.state)
		sh.add.Conversations++
	} else {
		_, err = w.c.exec("UPDATE conversation SET version = ?, touched = ?, changed = ?, seq = ?, addresses = ?, state = ? WHERE num = ?",
			c.version+1, w.touched, p.now, seq, p.addresses, p.state, c.num)
	}
	if err != nil || c.addresses == p.addresses {
		return err
	}
	return w.putAddresses(sh.num, c.num, p.turn.State.Owner.Addresses)
}

// putAddresses leads addresses to a conversation. One that loses an address is noted to
// have written none, so that its next turn claims its own again.
func (w *writer) putAddresses(shop, num int64, addresses []string) error {
	for _, a := range addresses {
		_, err := w.c.exec(`UPDATE conversation SET addresses = '' WHERE num <> ?1
			AND num = (SELECT conversation FROM address WHERE shop = ?2 AND address = ?3)`, num, shop, a)
		if err != nil {
			return err
		}
		_, err = w.c.exec(`INSERT INTO address (shop, address, conversation) VALUES (?, ?, ?)
			ON CONFLICT DO UPDATE SET conversation = excluded.conversation`, shop, a, num)
		if err != nil {
			return err
		}
	}
	return nil
}

// room is how many lines and log entries a conversation has numbers for, as a power of 2.
const room = 24

// putLines appends to the transcript, the outbox and the tub's log.
func (w *writer) putLines(sh *tally, num, seq int64, p *written) error {
	at := num<<room + seq
	next, known := int64(0), false // whether the next queued line is at the head
	for i := range p.turn.Effects.Lines {
		l := &p.turn.Effects.Lines[i]
		at++
		if err := w.putLine(sh.num, at, l, p.lines[i]); err != nil {
			return err
		}
		if !l.Send || l.Delivery != record.Queued {
			continue
		}
		if !known {
			_, waits, err := w.c.number("SELECT 1 FROM outbox WHERE num >= ? AND num < ? LIMIT 1", num<<room, (num+1)<<room)
			if err != nil {
				return err
			}
			known = true
			if waits {
				next++
			}
		}
		var place driver.Value
		if next == 0 {
			place = record.Fresh(p.now)
		}
		next++
		if _, err := w.c.exec("INSERT INTO outbox (num, fresh, place) VALUES (?, ?, ?)", at, record.Fresh(p.now), place); err != nil {
			return err
		}
		sh.add.Outbox++
	}
	for _, body := range p.log {
		at++
		if _, err := w.c.exec("INSERT INTO log (num, body) VALUES (?, ?)", at, body); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) putLine(shop, at int64, l *conversation.Line, body string) error {
	var id driver.Value
	if l.Send {
		id = l.ID
	}
	note := int64(0)
	if l.Direction == conversation.Note {
		note = 1
	}
	_, err := w.c.exec("INSERT INTO line (num, shop, id, note, delivery, body) VALUES (?, ?, ?, ?, ?, ?)",
		at, shop, id, note, l.Delivery, body)
	if err != nil && constraint(err) {
		return fmt.Errorf("%w: line %q is in the transcript already", record.ErrTurn, l.ID)
	}
	return err
}

// putReminders drops the reminder that the event was and those that are cancelled, then
// sets the new ones.
func (w *writer) putReminders(sh *tally, num int64, p *written) error {
	t := &p.turn
	for i := -1; i < len(t.Effects.Cancel); i++ {
		id := t.Event
		if i >= 0 {
			id = t.Effects.Cancel[i]
		}
		n, err := w.c.exec("DELETE FROM reminder WHERE conversation = ? AND id = ?", num, id)
		if err != nil {
			return err
		}
		sh.add.Reminders -= n
	}
	for i, r := range t.Effects.Remind {
		due := record.Milli(r.Due)
		n, err := w.c.exec("DELETE FROM reminder WHERE conversation = ? AND id = ?", num, r.ID)
		if err != nil {
			return err
		}
		_, err = w.c.exec("INSERT INTO reminder (conversation, id, shop, due, place, body) VALUES (?, ?, ?, ?, ?, ?)",
			num, r.ID, sh.num, due, due, p.reminders[i])
		if err != nil {
			return err
		}
		sh.add.Reminders += 1 - n
	}
	return nil
}

func (w *writer) putHandovers(sh *tally, p *written) error {
	for i, h := range p.turn.Effects.Handovers {
		was, known, err := w.c.number("SELECT closed IS NULL FROM handover WHERE shop = ? AND id = ?", sh.num, h.ID)
		if err != nil {
			return err
		}
		if known {
			sh.add.Handovers -= was
		}
		var closed driver.Value
		if h.Closed.IsZero() {
			sh.add.Handovers++
		} else {
			closed = record.Milli(h.Closed)
		}
		_, err = w.c.exec(`INSERT INTO handover (shop, id, rank, opened, closed, body) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT DO UPDATE SET rank = excluded.rank, opened = excluded.opened, closed = excluded.closed, body = excluded.body`,
			sh.num, h.ID, record.Rank(h.Severity), record.Milli(h.Opened), closed, p.handovers[i])
		if err != nil {
			return err
		}
	}
	return nil
}
