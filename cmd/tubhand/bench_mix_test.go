package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
)

func TestTheMixIsWhatItSays(t *testing.T) {
	kinds := map[string]int{}
	for _, line := range mixScript() {
		kinds[line.kind]++
		require.Len(t, line.said, len(mixScript()[0].said))
	}
	require.Equal(t, map[string]int{stepAnswer: 16, reading: 3, troubled: 1}, kinds)
}

// TestEachWordingOfTheMixIsUnderstood walks owners through the script, each in words of
// their own: a measurement of texts that are asked about would be of something else.
func TestEachWordingOfTheMixIsUnderstood(t *testing.T) {
	m := &measurement{benchOptions: benchOptions{store: "sqlite", data: t.TempDir()}, clock: clock.System()}
	r, err := m.rig(t.Context(), m.clock)
	require.NoError(t, err)
	defer func() { require.NoError(t, r.close()) }()
	for variant := range mixScript()[0].said {
		who := filed(variant)
		for i, line := range mixScript() {
			require.NoError(t, r.turns.Handle(t.Context(), r.shop.Shop.Key, conversation.Event{ID: fmt.Sprint(who, i),
				Kind: conversation.TextIn, From: who, To: r.shop.Shop.Line, Gateway: r.shop.Gateways[0].Name, Text: line.said[variant]}))
			c, err := r.store.View(t.Context(), r.shop.Shop.Key).Conversation(who)
			require.NoError(t, err)
			require.Zero(t, c.Misses+c.Unclear, "%q", line.said[variant])
			require.Empty(t, c.Open, "%q calls nobody", line.said[variant])
			if i == 16 {
				require.Equal(t, "trouble_foam", c.Service.Flow, line.said[variant])
			}
			if i == len(mixScript())-1 {
				require.Equal(t, "flush_plumbing soak", c.Service.Flow+" "+c.Service.State)
			}
		}
	}
}

// small runs a profile for a moment.
func small(t *testing.T, o benchOptions) figures {
	t.Helper()
	o.store, o.data, o.seconds, o.connections = "sqlite", t.TempDir(), 1, 4
	m := &measurement{benchOptions: o, clock: clock.System(), out: io.Discard, again: inProcess}
	f, err := m.profiles()[o.profile](t.Context())
	require.NoError(t, err)
	var table bytes.Buffer
	f.table(&table)
	require.NotEmpty(t, table.String())
	return f
}

// inProcess runs bench in this process.
func inProcess(ctx context.Context, args []string) (*restarted, error) {
	out, in := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		defer in.Close()
		if code := runBench(ctx, args, streams{out: in, err: io.Discard}); code != 0 {
			ended <- fmt.Errorf("exit %d", code)
			return
		}
		ended <- nil
	}()
	return &restarted{out, func() error { return <-ended }}, nil
}

func TestSteady(t *testing.T) {
	r := small(t, benchOptions{profile: "steady", rate: 200}).(*mixReport)
	require.Equal(t, 200, r.All.Requests)
	require.Zero(t, r.All.Refused+r.Most.Refused)
	require.InDelta(t, 160, r.Parts[stepAnswer].Requests, 30)
	require.Positive(t, r.Parts[reading].Requests)
	require.Positive(t, r.Parts[troubled].Requests)
	require.Len(t, r.Parts, 3)
}

func TestSaturday(t *testing.T) {
	r := small(t, benchOptions{profile: "saturday", rate: 300}).(*mixReport)
	require.InDelta(t, (30+300)/2, r.All.Requests, 2)
	require.Zero(t, r.All.Refused)
	require.Greater(t, r.Parts["2_peak"].Requests, r.Parts["1_rising"].Requests)
	require.InDelta(t, r.Parts["1_rising"].Requests, r.Parts["3_falling"].Requests, 3)
	require.Equal(t, r.All.Requests, r.Parts["1_rising"].Requests+r.Parts["2_peak"].Requests+r.Parts["3_falling"].Requests)
}

func TestDueAlone(t *testing.T) {
	r := small(t, benchOptions{profile: "due", due: 300}).(*dueRun)
	require.Equal(t, 300, r.Reminders)
	require.Positive(t, r.Seconds)
	require.Zero(t, r.Texts.Refused)
}

func TestTubsOnFile(t *testing.T) {
	r := small(t, benchOptions{profile: "tubs", tubs: 2000}).(*tubsReport)
	for tubs, run := range map[int]tubsRun{2000: r.Many, 1000: r.Few} {
		require.Equal(t, tubs, run.Tubs)
		require.Positive(t, run.Ready)
		require.Greater(t, run.FileMB, float64(tubs)/1000)
		require.Positive(t, run.Texts.Requests)
		require.Zero(t, run.Texts.Refused)
	}
	written, err := json.Marshal(r)
	require.NoError(t, err)
	require.Contains(t, string(written), `"ready_seconds"`)
}

func TestTubsHaveNumbersOfTheirOwn(t *testing.T) {
	from := texters()
	require.Greater(t, len(from), 10_000)
	for _, tubs := range []int{1, 1000, len(from), len(from) + 1, 200_000} {
		met := map[string]bool{}
		for i := range tubs {
			met[tubNumber(from, tubs, i)] = true
		}
		require.Len(t, met, tubs)
		every := spread(from, tubs)
		for k := range min(len(from), (tubs+every-1)/every) {
			require.True(t, met[from[k]], "a text may come from %s", from[k])
		}
	}
}
