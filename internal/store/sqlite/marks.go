package sqlite

import (
	"database/sql/driver"
	"encoding/binary"
	"hash/fnv"
	"time"

	"tubhand/internal/store/internal/record"
)

// marks are the dedupe marks of a conversation, oldest first: for each event 8 bytes of
// hash and 4 of time in minutes. They lie in the conversation's row, which a turn writes
// anyway; in a table of their own each would cost a page. Two events of one conversation
// would have to share a hash within days to be taken for one: less than one in 10^16.
type marks string

const (
	markSize  = 12
	mostMarks = 192 // in the row; the older half of more goes to the table
)

func markHash(event string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(event))
	return h.Sum64()
}

func (m marks) has(hash uint64) bool {
	for ; m != ""; m = m[markSize:] {
		if m.hash() == hash {
			return true
		}
	}
	return false
}

func (m marks) hash() uint64 { return binary.BigEndian.Uint64([]byte(m[:8])) }

func (m marks) minute() uint32 { return binary.BigEndian.Uint32([]byte(m[8:markSize])) }

// with adds a mark, and forgets the oldest when they are past their time.
func (m marks) with(hash uint64, now int64) marks {
	limit := minutes(now - record.MarksKept.Milliseconds())
	for m != "" && m.minute() < limit {
		m = m[markSize:]
	}
	b := make([]byte, 0, len(m)+markSize)
	b = append(b, m...)
	b = binary.BigEndian.AppendUint64(b, hash)
	return marks(binary.BigEndian.AppendUint32(b, minutes(now)))
}

func minutes(ms int64) uint32 { return uint32(max(ms, 0) / time.Minute.Milliseconds()) }

// marked tells whether an event has been committed before.
func (w *writer) marked(r *row, event string) (bool, error) {
	if event == "" || r.num == 0 {
		return false, nil
	}
	hash := markHash(event)
	if r.spilled == 0 || r.marks.has(hash) {
		return r.marks.has(hash), nil
	}
	_, ok, err := w.c.number("SELECT 1 FROM mark WHERE conversation = ? AND hash = ?", r.num, int64(hash))
	return ok, err
}

// mark notes the event.
func (w *writer) mark(_ *tally, r *row, p *written) error {
	if p.turn.Event == "" {
		return nil
	}
	r.marks = r.marks.with(markHash(p.turn.Event), p.now)
	if len(r.marks) <= mostMarks*markSize {
		return nil
	}
	return w.spill(r, p.now)
}

// spill moves the older half of a row's marks to the table, and drops from there what is
// past its time. Only who writes hundreds of texts within days comes here.
func (w *writer) spill(r *row, now int64) error {
	n, err := w.c.exec("DELETE FROM mark WHERE conversation = ? AND at < ?", r.num, int64(minutes(now-record.MarksKept.Milliseconds())))
	if err != nil {
		return err
	}
	r.spilled -= n
	for range mostMarks / 2 {
		if err := w.putMark(r, r.marks.hash(), int64(r.marks.minute())); err != nil {
			return err
		}
		r.marks = r.marks[markSize:]
	}
	return nil
}

func (w *writer) putMark(r *row, hash uint64, minute int64) error {
	n, err := w.c.exec("INSERT INTO mark (conversation, hash, at) VALUES (?, ?, ?) ON CONFLICT DO NOTHING", r.num, int64(hash), minute)
	r.spilled += n
	return err
}

// inherit takes over the marks of a conversation that an address is taken from, so that
// an event that came from that address before is still known.
func (w *writer) inherit(r *row, from row) error {
	for m := from.marks; m != ""; m = m[markSize:] {
		if err := w.putMark(r, m.hash(), int64(m.minute())); err != nil {
			return err
		}
	}
	if from.spilled == 0 {
		return nil
	}
	n, err := w.c.exec(`INSERT INTO mark (conversation, hash, at)
		SELECT ?, hash, at FROM mark WHERE conversation = ? ON CONFLICT DO NOTHING`, r.num, from.num)
	r.spilled += n
	return err
}

// blob is marks as the driver wants them.
func (m marks) blob() driver.Value { return []byte(m) }
