package rehearse_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
	"tubhand/internal/rehearse"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
)

const twoExpectations = `shop: demo
start: 2026-06-13T09:00:00-07:00
owner: {address: "+15415550142", language: en}
tub: {volume_gal: 410, sanitizer: chlorine}
turns:
  - owner: "need to flush my pipes"
  - expect: {flow: flush_plumbing, not_said: soak, messages: 1}
  - owner: "my son is coughing from the fumes"
  - expect: {said: [911, "no such words"], handover: breathing_or_gas}
`

func TestExpectationsAreToldAsTheyAreLookedAt(t *testing.T) {
	script, err := rehearse.Parse("two.yaml", []byte(twoExpectations))
	require.NoError(t, err)
	all, err := flow.Load(flows.FS)
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	var order []string
	player, err := rehearse.New(script, shop.Demo().Shop, all, words, func(e rehearse.Event) {
		if e.Kind == rehearse.KindIn {
			order = append(order, e.Text)
		}
	})
	require.NoError(t, err)
	var told []rehearse.Checked
	player.OnExpect(func(c rehearse.Checked) { told, order = append(told, c), append(order, "expect") })
	require.Error(t, player.Play(context.Background()))
	require.Equal(t, []string{"need to flush my pipes", "expect", "my son is coughing from the fumes", "expect"}, order)
	require.Len(t, told, 2)
	require.Equal(t, []string{`does not say "soak"`, "messages: 1", "flow: flush_plumbing"}, told[0].What)
	require.Empty(t, told[0].Found)
	require.Equal(t, 9, told[1].Line)
	require.Contains(t, told[1].Found, "no such words")
}
