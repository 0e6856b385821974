package console_test

import (
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// demoWorld is the demo shop's world, made once for all tests.
var demoWorld = sync.OnceValues(func() (*conversation.World, error) {
	all, err := allFlows()
	if err != nil {
		return nil, err
	}
	words, err := wording.Load(templates.FS)
	if err != nil {
		return nil, err
	}
	return conversation.NewWorld(shop.Demo().Shop, all, words)
})

func deciding(t *testing.T) func(*console.Options) {
	t.Helper()
	world, err := demoWorld()
	require.NoError(t, err)
	return func(o *console.Options) { o.Decider = world }
}

func TestEveryServiceIsListedAndTold(t *testing.T) {
	d := newDesk(t)
	all, err := allFlows()
	require.NoError(t, err)
	_, list, _ := d.get("/staff/flows")
	for _, name := range all.Names() {
		require.Contains(t, list, `/staff/flow?name=`+name)
		status, page, _ := d.get("/staff/flow?name=" + name)
		require.Equal(t, http.StatusOK, status, name)
		f, _ := all.Flow(name)
		for _, state := range f.States {
			require.Contains(t, page, `id="state-`+state.Name+`"`, name)
		}
		require.NotContains(t, words(page), "_", "names are put in words: %s", name)
	}
	require.Contains(t, words(list), "Plumbing flush 50 steps")
	status, _, _ := d.get("/staff/flow?name=nothing")
	require.Equal(t, http.StatusNotFound, status)
}

func TestAFlowInWords(t *testing.T) {
	d := newDesk(t)
	_, page, _ := d.get("/staff/flow?name=flush_plumbing")
	text := words(page)
	for _, want := range []string{"When the wait is over", "a person looks", "flush product in the water", "calls a person: cannot finish, person soon", "begins here", "says that the tub can be used"} {
		require.Contains(t, text, want)
	}
}

func TestADrawingIsAPictureThatRunsNothing(t *testing.T) {
	d := newDesk(t)
	status, drawing, header := d.get("/staff/flow/picture?name=flush_plumbing&here=soak")
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "image/svg+xml", header.Get("Content-Type"))
	require.Equal(t, "default-src 'none'; style-src 'unsafe-inline'; sandbox", header.Get("Content-Security-Policy"))
	require.Contains(t, drawing, "here")
	reader := xml.NewDecoder(strings.NewReader(drawing))
	for {
		if _, err := reader.Token(); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
	}
	status, _, header = d.get("/staff/flow/picture?name=nothing")
	require.Equal(t, http.StatusNotFound, status)
	require.NotContains(t, header.Get("Content-Security-Policy"), "unsafe")
}

func TestTheShopFileAsUnderstood(t *testing.T) {
	d := newDesk(t, func(o *console.Options) {
		o.Settings = func() shop.Summary { return shop.Demo().Summary(shop.Vault{}) }
	})
	_, page, _ := d.get("/staff/settings")
	for _, want := range []string{"Fernhollow Tub Supply", "paged in this order: Dana", "Fernhollow Line Rinse, 1 level teaspoons for each 100 US gal", "tubhand shop check"} {
		require.Contains(t, words(page), want)
	}
	_, page, _ = newDesk(t).get("/staff/settings")
	require.Contains(t, words(page), "does not tell what its shop file says")
}

func TestATextIsTriedAndChangesNothing(t *testing.T) {
	d := newDesk(t, deciding(t))
	for name, c := range map[string]struct {
		form url.Values
		want []string
	}{
		"a danger": {url.Values{"text": {"my son is coughing from the fumes"}, "at": {"flush_plumbing/soak"}},
			[]string{"Emergency", "Breathing or gas", "911", "A person would be called", "The owner is at: Soaking", "Weighs", "% "}},
		"readings": {url.Values{"text": {"chlorine 3 ph 7.4 alk 100"}, "asked": {"readings"}, "language": {"en"}},
			[]string{"No danger is heard", "Free chlorine 3 ppm", "pH 7.4", "Total alkalinity 100 ppm", "Asked before: Readings: Free chlorine, pH, Total alkalinity"}},
		"a service": {url.Values{"text": {"hi, need to flush my pipes"}},
			[]string{"Taken for Start service", "Service Flush plumbing", "What would be answered"}},
		"Spanish": {url.Values{"text": {"cuánto falta"}, "at": {"flush_plumbing/soak"}, "language": {"es"}},
			[]string{"How long left", "Spanish"}},
	} {
		status, page, _ := d.post("/staff/try", c.form)
		require.Equal(t, http.StatusOK, status, name)
		for _, want := range c.want {
			require.Contains(t, words(page), want, name)
		}
	}
	require.Empty(t, d.clerk.events())
	board, err := d.store.View(t.Context(), "fernhollow").Board(10)
	require.NoError(t, err)
	require.Empty(t, board, "nothing is kept")
}

func TestEveryStepCanBeTried(t *testing.T) {
	d := newDesk(t, deciding(t))
	all, err := allFlows()
	require.NoError(t, err)
	f, _ := all.Flow("drain_refill")
	for _, state := range f.States {
		status, page, _ := d.post("/staff/try", url.Values{"text": {"why?"}, "at": {"drain_refill/" + state.Name}})
		if state.End {
			require.Equal(t, http.StatusUnprocessableEntity, status, state.Name)
			continue
		}
		require.Equal(t, http.StatusOK, status, state.Name)
		require.Contains(t, page, "said words", state.Name)
	}
}

func TestWhatCannotBeTried(t *testing.T) {
	d := newDesk(t)
	for words, form := range map[string]url.Values{
		"Write a text":      {"text": {"  "}},
		"too long":          {"text": {strings.Repeat("x", 1601)}},
		"Choose from the l": {"text": {"hi"}, "at": {"no/where"}},
		"Choose from":       {"text": {"hi"}, "asked": {"everything"}},
		"Choose":            {"text": {"hi"}, "language": {"xx"}},
	} {
		status, page, _ := d.post("/staff/try", form)
		require.Equal(t, http.StatusUnprocessableEntity, status)
		require.Contains(t, page, words)
	}
	_, page, _ := d.post("/staff/try", url.Values{"text": {`<b>"hi"</b>`}})
	require.Contains(t, page, "&lt;b&gt;")
	require.NotContains(t, page, "What would be answered", "nobody here decides")
}
