package sqlite

import (
	"database/sql/driver"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store/internal/record"
)

// putLines appends to the transcript and queues what is to be sent.
func (w *writer) putLines(sh *tally, r *row, p *written) error {
	for i := range p.turn.Effects.Lines {
		l := &p.turn.Effects.Lines[i]
		w.made.lines++
		num := w.made.lines
		id, loose := short(l, sh.num)
		_, err := w.c.exec("INSERT INTO line (num, conversation, prev, id, loose, delivery, body) VALUES (?, ?, ?, ?, ?, ?, ?)",
			num, r.num, r.line, id, loose, l.Delivery, p.lines[i])
		if constraint(err) {
			return refusedLine(l.ID)
		}
		if err != nil {
			return err
		}
		r.line = num
		if l.Direction != conversation.Note {
			r.said = num
		}
		if l.Send && l.Delivery == record.Queued {
			if err := w.queue(sh, r.num, num, record.Fresh(p.now)); err != nil {
				return err
			}
		}
	}
	return nil
}

// short gives a line's id without its conversation's, from which it is found again; an
// id of another make goes whole into an index of its shop.
func short(l *conversation.Line, shop int64) (id string, loose driver.Value) {
	head, tail, ok := cutLast(l.ID)
	if ok && head == l.Conversation {
		return tail, nil
	}
	if !l.Send {
		return l.ID, nil // nobody looks for it
	}
	return l.ID, shop
}

func cutLast(id string) (head, tail string, ok bool) {
	i := strings.LastIndexByte(id, '.')
	if i < 0 {
		return "", id, false
	}
	return id[:i], id[i+1:], true
}

// queue puts a line into the outbox; it has a place when nothing of its conversation
// waits before it.
func (w *writer) queue(sh *tally, conversation, num, fresh int64) error {
	var place driver.Value
	if w.waiting[conversation] == 0 {
		place = fresh
	}
	w.waiting[conversation]++
	sh.add.Outbox++
	_, err := w.c.exec("INSERT INTO outbox (conversation, num, shop, fresh, place, attempt) VALUES (?, ?, ?, ?, ?, 0)",
		conversation, num, sh.num, fresh, place)
	return err
}

// putLog appends to the tub's log.
func (w *writer) putLog(_ *tally, r *row, p *written) error {
	for _, body := range p.log {
		w.made.entries++
		_, err := w.c.exec("INSERT INTO log (num, prev, body) VALUES (?, ?, ?)", w.made.entries, r.entry, body)
		if err != nil {
			return err
		}
		r.entry = w.made.entries
	}
	return nil
}

// spot is where a line that was to be sent is.
type spot struct {
	num, conversation int64
	delivery          string
}

// lineOf finds a line that was to be sent by its id; num is 0 when there is none.
func (w *writer) lineOf(shop int64, id string) (at spot, err error) {
	each := func(v []driver.Value) error {
		at = spot{integer(v[0]), integer(v[1]), text(v[2])}
		return nil
	}
	if head, tail, ok := cutLast(id); ok {
		err = w.c.rows(each, `WITH RECURSIVE chain (num, prev, id, delivery, conversation) AS (
				SELECT l.num, l.prev, l.id, l.delivery, l.conversation FROM conversation c JOIN line l ON l.num = c.line
				WHERE c.shop = ? AND c.id = ?
			UNION ALL
				SELECT l.num, l.prev, l.id, l.delivery, l.conversation FROM chain JOIN line l ON l.num = chain.prev)
			SELECT num, conversation, delivery FROM chain WHERE id = ? AND delivery <> '' LIMIT 1`, shop, head, tail)
	}
	if err == nil && at.num == 0 {
		err = w.c.rows(each, "SELECT num, conversation, delivery FROM line WHERE loose = ? AND id = ?", shop, id)
	}
	return at, err
}
