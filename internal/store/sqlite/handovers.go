package sqlite

import (
	"database/sql/driver"

	"tubhand/internal/store/internal/record"
)

func (w *writer) putHandovers(sh *tally, _ *row, p *written) error {
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
