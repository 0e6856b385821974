package shop_test

import (
	"strings"
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

// TestTightenedLimitsReachTheWorld: what the file tightens holds in conversations, and a
// shop that says nothing has the published limits.
func TestTightenedLimitsReachTheWorld(t *testing.T) {
	src := strings.Replace(small, "flush: {", "limits:\n  water_temp_f: {soak_high: 102}\n  ph: {soak_low: 7.2}\nflush: {", 1)
	f, err := shop.Load("f.yaml", []byte(src))
	require.NoError(t, err)
	require.Equal(t, 102.0, *f.Shop.Limits[safety.WaterTemp].SoakHigh)
	require.Equal(t, 7.2, *f.Shop.Limits[safety.PH].SoakLow)
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	_, err = conversation.NewWorld(f.Shop, set, words)
	require.NoError(t, err)

	loose := 120.0
	f.Shop.Limits[safety.WaterTemp] = safety.Narrower{SoakHigh: &loose}
	_, err = conversation.NewWorld(f.Shop, set, words)
	require.ErrorContains(t, err, "water_temp_f: soak_high: 120 would loosen the limit of 104")

	require.Empty(t, shop.Demo().Shop.Limits)
}
