package sqlite

import (
	"database/sql/driver"
	"slices"

	"tubhand/internal/store/internal/record"
)

// waits is a line in the outbox: its number and whom it is for. The lines of a
// conversation to one recipient make a queue; its first one has a place.
type waits struct {
	num       int64
	recipient string
}

// sameQueue finds the first line to a recipient.
func sameQueue(recipient string) func(waits) bool {
	return func(o waits) bool { return o.recipient == recipient }
}

// queue puts a line into the outbox; it has a place when nothing waits before it.
func (w *writer) queue(sh *tally, conversation int64, l waits, fresh int64) {
	var place driver.Value
	if !slices.ContainsFunc(w.waiting[conversation], sameQueue(l.recipient)) {
		place = fresh
	}
	w.waiting[conversation] = append(w.waiting[conversation], l)
	sh.add.Outbox++
	w.outbox.add(l.num, conversation, sh.num, l.recipient, fresh, place, int64(0))
}

// leave takes a line out of the outbox and lets the next one to its recipient go. It
// tells whether the line was there.
func (w *writer) leave(sh *tally, at spot) (bool, error) {
	all := w.waiting[at.conversation]
	i := slices.IndexFunc(all, func(l waits) bool { return l.num == at.num })
	if i < 0 {
		return false, nil
	}
	l := all[i]
	delete(w.leases, messageKey(l.num))
	sh.add.Outbox--
	if _, err := w.c.exec("DELETE FROM outbox WHERE num = ?", l.num); err != nil {
		return true, err
	}
	w.wait(at.conversation, slices.Delete(all, i, i+1))
	return true, w.release(at.conversation, l.recipient)
}

// wait notes what is left of a conversation's lines in the outbox.
func (w *writer) wait(conversation int64, left []waits) {
	if len(left) == 0 {
		delete(w.waiting, conversation)
		return
	}
	w.waiting[conversation] = left
}

// release gives the first line to a recipient its place, where it has none yet.
func (w *writer) release(conversation int64, recipient string) error {
	i := slices.IndexFunc(w.waiting[conversation], sameQueue(recipient))
	if i < 0 {
		return nil
	}
	_, err := w.c.exec("UPDATE outbox SET place = fresh WHERE num = ? AND place IS NULL", w.waiting[conversation][i].num)
	return err
}

// dropUnsent empties a conversation's queues but for pages, when the turn says so.
func (w *writer) dropUnsent(sh *tally, r *row, p *written) error {
	if !p.turn.Effects.DropUnsent {
		return nil
	}
	var kept []waits
	for _, l := range w.waiting[r.num] {
		n, err := w.c.exec(`DELETE FROM outbox WHERE num = ?1 AND
			(SELECT json_extract(body, '$.direction') FROM line WHERE num = ?1) <> 'page'`, l.num)
		if err != nil {
			return err
		}
		if n == 0 {
			kept = append(kept, l)
			continue
		}
		delete(w.leases, messageKey(l.num))
		sh.add.Outbox--
		_, err = w.c.exec("UPDATE line SET delivery = ? WHERE num = ? AND delivery = ?", record.Dropped, l.num, record.Queued)
		if err != nil {
			return err
		}
	}
	w.wait(r.num, kept)
	for _, l := range kept {
		if err := w.release(r.num, l.recipient); err != nil {
			return err
		}
	}
	return nil
}
