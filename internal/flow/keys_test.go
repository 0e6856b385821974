package flow_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

func TestWordingKeys(t *testing.T) {
	set := goodSet(t)
	f, _ := set.Flow("small_flush")
	require.Equal(t, []string{
		"add_product", "ask_filters", "ask_volume", "blow_out", "cautions.product", "correct", "drain", "how_to_find_volume",
		"more_readings", "none_needed_now", "patience", "ready", "refill", "restart_now", "retest", "soak",
	}, f.WordingKeys())
	require.Equal(t, "soak", (&flow.State{Name: "soak"}).WordingKey())
	require.Equal(t, "other", (&flow.State{Name: "soak", Say: "other"}).WordingKey())
	require.Empty(t, (&flow.State{Name: "soak", Say: "none"}).WordingKey())
}

func TestTubOver(t *testing.T) {
	caller := flow.Tub{Power: "off", Water: "empty", Filters: "out", Product: "out"}
	require.Equal(t, caller, flow.Tub{Power: "same", Water: "same", Filters: "same", Product: "same"}.Over(caller))
	own := flow.Tub{Power: "on", Water: "full", Filters: "in", Product: "in"}
	require.Equal(t, own, own.Over(caller))
	require.Equal(t, flow.Tub{Power: "off", Water: "full", Filters: "out", Product: "in"},
		flow.Tub{Power: "same", Water: "full", Filters: "same", Product: "in"}.Over(caller))
	require.Equal(t, "power off, water below jets, filters in water, product out",
		flow.Tub{Power: "off", Water: "below_jets", Filters: "in_water", Product: "out"}.String())
}

func TestProblemIsOneLine(t *testing.T) {
	p := &flow.Problem{File: "flows/a.yaml", Line: 3, Column: 7, Where: `state "b"`, What: "broken", Do: "mend it"}
	require.Equal(t, `flows/a.yaml:3:7: state "b": broken; mend it`, p.Error())
	p = &flow.Problem{File: "flows/a.yaml", What: "empty", Do: "write it"}
	require.Equal(t, "flows/a.yaml: empty; write it", p.Error())
	require.Nil(t, flow.Problems(nil))
}
