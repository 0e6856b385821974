package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// EraseConversation implements store.Rights. What is erased is overwritten in the file and not only
// unlinked; in the write-ahead log it stays until that is written anew.
func (s *Store) EraseConversation(ctx context.Context, shop, id string, version int64) (gone store.Erased, err error) {
	err = s.doFlushed(ctx, func(w *writer) error {
		if _, _, err = w.c.number("PRAGMA secure_delete = ON"); err != nil {
			return err
		}
		gone, err = w.erase(shop, id, version)
		_, _, off := w.c.number("PRAGMA secure_delete = FAST")
		return errors.Join(err, off)
	})
	return gone, err
}

func (w *writer) erase(shop, id string, version int64) (gone store.Erased, err error) {
	sh, ok := w.known(shop)
	if !ok {
		return gone, store.ErrNotFound
	}
	r, err := w.find(sh.num, id)
	switch {
	case err != nil:
		return gone, err
	case r.num == 0:
		return gone, store.ErrNotFound
	case r.version != version:
		return gone, store.ErrConflict
	}
	if err := w.eraseWork(sh, &r); err != nil {
		return gone, err
	}
	gone.Reminders = len(r.pending)
	if gone.Handovers, err = w.eraseHandovers(sh, id); err != nil {
		return gone, err
	}
	if gone.Lines, err = w.eraseChain("line", r.line); err != nil {
		return gone, err
	}
	if gone.Entries, err = w.eraseChain("log", r.entry); err != nil {
		return gone, err
	}
	if err := w.eraseSought(r.num); err != nil {
		return gone, err
	}
	for _, statement := range []string{
		"DELETE FROM mark WHERE conversation = ?",
		"DELETE FROM address WHERE conversation = ?",
		"UPDATE shop SET erased = erased + (SELECT version FROM conversation WHERE num = ?1) WHERE num = (SELECT shop FROM conversation WHERE num = ?1)",
		"DELETE FROM conversation WHERE num = ?",
	} {
		if _, err := w.c.exec(statement, r.num); err != nil {
			return gone, err
		}
	}
	sh.add.Conversations--
	w.fresh[rowKey{sh.num, id}] = row{}                                                     // none there
	w.states = append(w.states, keptState{stateKey{shop, id}, conversation.Conversation{}}) // not to be read from memory
	w.changed(shop, id)
	return gone, nil
}

// eraseWork takes what is pending of a conversation out of the outbox and the reminders.
func (w *writer) eraseWork(sh *tally, r *row) error {
	for _, l := range w.waiting[r.num] {
		delete(w.leases, messageKey(l.num))
		sh.add.Outbox--
		if _, err := w.c.exec("DELETE FROM outbox WHERE num = ?", l.num); err != nil {
			return err
		}
	}
	w.wait(r.num, nil)
	for _, p := range r.pending {
		delete(w.leases, dueKey{p.due, r.num, p.id})
		sh.add.Reminders--
		if _, err := w.c.exec("DELETE FROM reminder WHERE due = ? AND conversation = ? AND id = ?", p.due, r.num, p.id); err != nil {
			return err
		}
	}
	return nil
}

// eraseHandovers removes the handovers whose ids a conversation's turns have made: what
// lies between "id." and "id/", the sign after the dot.
func (w *writer) eraseHandovers(sh *tally, id string) (int, error) {
	const ofIt = " FROM handover WHERE shop = ?1 AND id > ?2 || '.' AND id < ?2 || '/' AND instr(substr(id, length(?2) + 2), '.') = 0"
	open, _, err := w.c.number("SELECT count(*)"+ofIt+" AND closed IS NULL", sh.num, id)
	if err != nil {
		return 0, err
	}
	n, err := w.c.exec("DELETE"+ofIt, sh.num, id)
	sh.add.Handovers -= open
	return int(n), err
}

// eraseChain removes the records of a conversation from its last one back.
func (w *writer) eraseChain(table string, last int64) (int, error) {
	var nums []int64
	err := w.c.rows(func(v []driver.Value) error {
		nums = append(nums, integer(v[0]))
		return nil
	}, `WITH RECURSIVE chain (num, prev) AS (
			SELECT num, prev FROM `+table+` WHERE num = ?
		UNION ALL
			SELECT t.num, t.prev FROM chain JOIN `+table+` t ON t.num = chain.prev)
		SELECT num FROM chain`, last)
	if err != nil {
		return 0, err
	}
	for _, num := range nums {
		if _, err := w.c.exec("DELETE FROM "+table+" WHERE num = ?", num); err != nil {
			return 0, err
		}
	}
	return len(nums), nil
}
