package dispatch_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/dispatch"
	"tubhand/internal/store"
)

func TestDeliveryReportsReachTheTranscript(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		reports := dispatch.Reports{Ledger: b.store, Turns: b.turns}
		b.Start(t.Context())
		b.text(t, "ann", "say 1,say 2,say 3")
		pass(time.Second)
		require.NoError(t, reports.Delivered(t.Context(), "fern", "ann.1", "delivered"))
		require.NoError(t, reports.Delivered(t.Context(), "fern", "ann.2", "failed"))
		require.NoError(t, reports.Delivered(t.Context(), "fern", "ann.2", "failed"), "repeated")
		require.NoError(t, reports.Delivered(t.Context(), "fern", "ann.1", "failed"), "out of order")
		require.Equal(t, []string{"delivered", "failed", "sent"}, b.delivery(t, "ann"))
		require.Equal(t, []string{"dead 2"}, b.notes(t, "ann"), "one case, for the one that failed")

		require.ErrorIs(t, reports.Delivered(t.Context(), "fern", "ann.9", "failed"), store.ErrNotFound)
		require.ErrorIs(t, reports.Delivered(t.Context(), "fern", "nonsense", "failed"), store.ErrNotFound)
		require.ErrorIs(t, reports.Delivered(t.Context(), "moss", "ann.1", "failed"), store.ErrNotFound)
	})
}
