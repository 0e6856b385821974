package console_test

import (
	"context"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
)

// stage plays one rehearsal.
type stage struct{ err error }

func (stage) Rehearsals() []console.Rehearsal {
	return []console.Rehearsal{{Name: "01-first", About: "A soak, straight through", Lang: "en"}, {Name: "es-02", About: "Fumes", Lang: "es"}}
}

func (s stage) Play(_ context.Context, name string) (console.Played, error) {
	if name != "01-first" {
		return console.Played{}, console.ErrNoRehearsal
	}
	return console.Played{Rehearsal: s.Rehearsals()[0], Scenes: []console.Scene{
		{At: morning, Kind: console.SceneOwner, Texts: []string{"<i>done</i>"}},
		{At: morning, Kind: console.SceneAssistant, Texts: []string{"Jets on high."}},
		{At: morning, Kind: console.SceneExpect, Texts: []string{`says "jets"`}},
		{At: morning.Add(30 * time.Minute), Kind: console.SceneStaff, Who: "Dana", Texts: []string{"Hi"}},
		{At: morning.Add(30 * time.Minute), Kind: console.SceneExpect, Texts: []string{`says "no"`}, Found: "said was Hi"},
	}}, s.err
}

func TestRehearsalsAreListedAndPlayed(t *testing.T) {
	d := newDesk(t, func(o *console.Options) { o.Rehearser = stage{} })
	_, page, _ := d.get("/staff/rehearsals")
	require.Contains(t, words(page), "2 of 2")
	_, page, _ = d.get("/staff/rehearsals?find=spanish+FUMES")
	require.Contains(t, words(page), "1 of 2")
	require.NotContains(t, page, "straight through")

	_, page, _ = d.get("/staff/rehearsal?name=01-first")
	require.Contains(t, page, "&lt;i&gt;done")
	for _, want := range []string{"1 not as expected, 1 as expected", "30 min later", "Dana", `says &#34;jets&#34;`, "said was Hi", "Tub helper"} {
		require.Contains(t, words(page), want)
	}
	status, _, _ := d.get("/staff/rehearsal?name=nothing")
	require.Equal(t, http.StatusNotFound, status)
}

func TestRehearsalsThatCannotBePlayed(t *testing.T) {
	status, page, _ := newDesk(t).get("/staff/rehearsal?name=01-first")
	require.Equal(t, http.StatusNotFound, status)
	require.Contains(t, page, "has no rehearsals")
	busy := newDesk(t, func(o *console.Options) { o.Rehearser = stage{context.DeadlineExceeded} })
	status, _, _ = busy.get("/staff/rehearsal?name=01-first")
	require.Equal(t, http.StatusServiceUnavailable, status)
}
