package pocket_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/pocket"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func TestEveryMessageArrives(t *testing.T) {
	line := conversation.Line{ID: "a.1", Gateway: pocket.Gateway, Text: "Filters out first."}
	got := pocket.Phone{}.Send(t.Context(), "fern", line)
	require.Equal(t, store.Result{Kind: store.Sent}, got)
}
