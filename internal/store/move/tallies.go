package move

import (
	"context"
	"hash"
	"slices"

	"tubhand/internal/store"
)

// tallies moves a shop's counts, and then reads both sides and compares. Counts are set, not
// added, so that a move that is run again does no harm.
func (m *mover) tallies(ctx context.Context, sum hash.Hash) error {
	const always, everDay = "0000-01-01", "9999-12-31"
	list, err := m.from.Tallies(always, everDay)
	if err != nil {
		return err
	}
	for some := range slices.Chunk(list, store.MostTallies) {
		if err := m.to.PutTallies(ctx, m.shop, some); err != nil {
			return err
		}
	}
	there, err := m.to.View(ctx, m.shop).Tallies(always, everDay)
	if err != nil {
		return err
	}
	m.report.Tallies += len(list)
	return same(sum, "counts", list, there)
}
