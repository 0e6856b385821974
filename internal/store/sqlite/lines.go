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
		if err := w.putLine(sh, r, num, l, p.lines[i]); err != nil {
			return err
		}
		r.line = num
		if l.Direction != conversation.Note {
			r.said = num
		}
		if l.Send && l.Delivery == record.Queued {
			w.queue(sh, r.num, waits{num, l.To}, record.Fresh(p.now))
		}
	}
	return nil
}

func (w *writer) putLine(sh *tally, r *row, num int64, l *conversation.Line, body string) error {
	head, tail, ok := cutLast(l.ID)
	switch {
	case ok && head == l.Conversation: // found again from its conversation
		w.lines.add(num, r.num, r.line, tail, nil, l.Delivery, body)
		return nil
	case !l.Send: // nobody looks for it
		w.lines.add(num, r.num, r.line, l.ID, nil, l.Delivery, body)
		return nil
	}
	// An id of another make goes whole into an index of its shop.
	_, err := w.c.exec("INSERT INTO line (num, conversation, prev, id, loose, delivery, body) VALUES (?, ?, ?, ?, ?, ?, ?)",
		num, r.num, r.line, l.ID, sh.num, l.Delivery, body)
	if constraint(err) {
		return refusedLine(l.ID)
	}
	return err
}

func cutLast(id string) (head, tail string, ok bool) {
	i := strings.LastIndexByte(id, '.')
	if i < 0 {
		return "", id, false
	}
	return id[:i], id[i+1:], true
}

// putLog appends to the tub's log.
func (w *writer) putLog(_ *tally, r *row, p *written) error {
	for _, body := range p.log {
		w.made.entries++
		w.entries.add(w.made.entries, r.entry, body)
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
