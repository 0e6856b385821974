package main

import (
	"context"
	"io/fs"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/console"
	"tubhand/internal/flow"
	"tubhand/testdata/rehearsals"
)

func TestRehearsalsInTheProgram(t *testing.T) {
	all, err := flow.Load(flows.FS)
	require.NoError(t, err)
	l := newLibrary(all)
	files, err := fs.Glob(rehearsals.FS, "*.yaml")
	require.NoError(t, err)
	list := l.Rehearsals()
	require.Greater(t, len(list), 100)
	require.GreaterOrEqual(t, len(list), len(files)-5, "nearly all are the demo shop's")
	require.Equal(t, "en", list[0].Lang)
	require.Equal(t, "es", list[len(list)-1].Lang)

	played, err := l.Play(t.Context(), "20-emergency")
	require.NoError(t, err)
	require.Empty(t, played.Trouble)
	kinds := map[string]int{}
	for _, s := range played.Scenes {
		kinds[s.Kind]++
		require.False(t, s.At.IsZero())
		require.NotEmpty(t, s.Texts)
		require.Empty(t, s.Found)
	}
	for _, kind := range []string{console.SceneOwner, console.SceneAssistant, console.ScenePage, console.SceneCase, console.SceneExpect} {
		require.Positive(t, kinds[kind], kind)
	}
	_, err = l.Play(t.Context(), "../secrets")
	require.ErrorIs(t, err, console.ErrNoRehearsal)
}

func TestOneRehearsalAtATime(t *testing.T) {
	l := newLibrary(nil)
	l.turn <- struct{}{}
	ctx, done := context.WithTimeout(t.Context(), time.Millisecond)
	defer done()
	_, err := l.Play(ctx, "20-emergency")
	require.ErrorIs(t, err, context.DeadlineExceeded)
}
