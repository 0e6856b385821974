package sqlite

import (
	"slices"

	"tubhand/internal/store/internal/record"
)

// putReminders drops the reminder that the event was and those that are cancelled, then
// sets the new ones.
func (w *writer) putReminders(sh *tally, r *row, p *written) error {
	t := &p.turn
	r.pending = slices.Clone(r.pending) // the old row is kept in case this is undone
	if err := w.forget(sh, r, t.Event); err != nil {
		return err
	}
	for _, id := range t.Effects.Cancel {
		if err := w.forget(sh, r, id); err != nil {
			return err
		}
	}
	for i, remind := range t.Effects.Remind {
		if err := w.forget(sh, r, remind.ID); err != nil {
			return err
		}
		due := record.Milli(remind.Due)
		w.reminders.add(due, r.num, remind.ID, sh.num, p.reminders[i])
		r.pending = append(r.pending, pending{due, remind.ID})
		sh.add.Reminders++
	}
	return nil
}

func (w *writer) forget(sh *tally, r *row, id string) error {
	i := slices.IndexFunc(r.pending, func(p pending) bool { return p.id == id })
	if i < 0 {
		return nil
	}
	due := r.pending[i].due
	r.pending = slices.Delete(r.pending, i, i+1)
	sh.add.Reminders--
	delete(w.leases, dueKey{due, r.num, id})
	_, err := w.c.exec("DELETE FROM reminder WHERE due = ? AND conversation = ? AND id = ?", due, r.num, id)
	return err
}
