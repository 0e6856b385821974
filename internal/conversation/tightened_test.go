package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// strict is the demo's world with a shop that lets nobody soak over 102 F.
func strict(t *testing.T) *conversation.World {
	t.Helper()
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	s := shop.Demo().Shop
	hot, most := 102.0, 105.0
	s.Limits = map[string]safety.Narrower{safety.WaterTemp: {SoakHigh: &hot, FixHigh: &most}}
	w, err := conversation.NewWorld(s, set, words)
	require.NoError(t, err)
	return w
}

// TestAShopsOwnLimitHolds: what the published limit allows and the shop does not.
func TestAShopsOwnLimitHolds(t *testing.T) {
	k := atLastLook(t)
	k.decide, k.w = strict(t).Decide, strict(t)
	k.text("yes")
	require.Contains(t, k.said(), "You can soak, 102 F at most")

	k = atLastLook(t)
	k.decide = strict(t).Decide
	k.text("water temp 103 F")
	k.text("yes")
	require.NotContains(t, k.said(), "You can soak")

	k = atLastLook(t)
	k.decide = strict(t).Decide
	k.text("water temp 105.5 F")
	require.Equal(t, "overheating", k.c.Open[0].Cause, "the shop's own bound, not 106")
}
