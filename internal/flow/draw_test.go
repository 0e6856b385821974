package flow_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
)

func ourSet(t *testing.T) *flow.Set {
	t.Helper()
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	return set
}

func TestMermaid(t *testing.T) {
	set := goodSet(t)
	foam, _ := set.Flow("small_foam")
	require.Equal(t, `---
title: "Too much foam, for the tests"
---
stateDiagram-v2
    state "look<br/>asks yes or no<br/>power same, water same, filters same, product same" as s_look
    state "jets_off<br/>asks for done<br/>power same, water same, filters same, product same" as s_jets_off
    state "back_to_it<br/>the end<br/>power same, water same, filters same, product same" as s_back_to_it
    [*] --> s_look
    s_look --> s_jets_off: yes
    s_look --> s_back_to_it: no
    s_jets_off --> s_back_to_it: done
    s_jets_off --> s_look: back
    s_back_to_it --> [*]
`, flow.Mermaid(foam))

	flush, _ := set.Flow("small_flush")
	drawn := flow.Mermaid(flush)
	for _, line := range []string{
		"    s_soak --> s_drain: after 30m from product_in\n",
		"    s_retest --> s_ready: readings if band is soak and water_temp_f at most 104\n",
		"    s_ask_volume --> s_ask_filters: volume, or at once if volume_gal is known\n",
		"    note left of s_ask_volume\n        In every state:\n        foam too much - calls small_foam\n",
		"doses flush product<br/>", "<br/>brief<br/>", "<br/>soaking allowed<br/>", "<br/>may hold for a person<br/>",
	} {
		require.Contains(t, drawn, line)
	}
}

// texts reads an SVG as XML and gives the titles and the texts in it.
func texts(t *testing.T, svg string) (titles, words []string) {
	t.Helper()
	decoder := xml.NewDecoder(strings.NewReader(svg))
	var within string
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return titles, words
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			within = token.Name.Local
		case xml.EndElement:
			within = ""
		case xml.CharData:
			switch within {
			case "title":
				titles = append(titles, string(token))
			case "text":
				words = append(words, string(token))
			}
		}
	}
}

func TestSVGIsWellFormedAndSpeaks(t *testing.T) {
	for _, set := range []*flow.Set{goodSet(t), ourSet(t)} {
		for _, name := range set.Names() {
			f, _ := set.Flow(name)
			titles, words := texts(t, flow.SVG(f, ""))
			require.Contains(t, titles, f.Title)
			for _, s := range f.States {
				found := 0
				for _, title := range titles {
					if strings.HasPrefix(title, strings.ReplaceAll(s.Name, "_", " ")+"; ") {
						found++
					}
				}
				require.Equal(t, 1, found, "%s: each state has one title", s.Name)
				require.Contains(t, words, strings.ReplaceAll(s.Name, "_", " "))
			}
		}
	}
}

func TestSVGMarksWhereTheOwnerIs(t *testing.T) {
	f, _ := goodSet(t).Flow("small_flush")
	plain := flow.SVG(f, "")
	require.NotContains(t, plain, `class="state here"`)
	marked := flow.SVG(f, "soak")
	require.Equal(t, 1, strings.Count(marked, `class="state here"`))
	require.Contains(t, marked, `aria-label="soak; here now; waits 30m from product_in`)
	require.Contains(t, marked, "Now at soak.")
	require.NotContains(t, flow.SVG(f, "nowhere"), "here now")
}

func TestSVGNamesNoOutsideThing(t *testing.T) {
	f, _ := ourSet(t).Flow("flush_plumbing")
	drawn := strings.Replace(flow.SVG(f, "soak"), `xmlns="http://www.w3.org/2000/svg"`, "", 1)
	for _, word := range []string{"http", "<script", "<image", "@import", "NaN", "Inf"} {
		require.NotContains(t, drawn, word)
	}
	require.Equal(t, flow.SVG(f, "soak"), flow.SVG(f, "soak"), "the same each time")
}

// box is a state's rectangle in a drawing.
type box struct{ x, y, w, h float64 }

func boxes(t *testing.T, svg string) []box {
	t.Helper()
	var found []box
	for _, part := range strings.Split(svg, `<rect class="box" `)[1:] {
		var b box
		_, err := fmt.Sscanf(part, `x="%f" y="%f" width="%f" height="%f"`, &b.x, &b.y, &b.w, &b.h)
		require.NoError(t, err)
		found = append(found, b)
	}
	return found
}

func TestSVGBoxesKeepApart(t *testing.T) {
	for _, set := range []*flow.Set{goodSet(t), ourSet(t)} {
		for _, name := range set.Names() {
			f, _ := set.Flow(name)
			all := boxes(t, flow.SVG(f, ""))
			require.Len(t, all, len(f.States))
			for i, a := range all {
				require.GreaterOrEqual(t, a.x, -0.5)
				for _, b := range all[:i] {
					apart := a.x >= b.x+b.w || b.x >= a.x+a.w || a.y >= b.y+b.h || b.y >= a.y+a.h
					require.True(t, apart, "%s: %v and %v", name, a, b)
				}
			}
		}
	}
}

func TestGuardInWords(t *testing.T) {
	words := map[string]*flow.Guard{
		"always":                  nil,
		"ph is known":             {Known: "ph"},
		"wet is yes":              {Is: map[string]string{"wet": "yes"}},
		"ph over 7.8":             {Above: map[string]float64{"ph": 7.8}},
		"ph under 7.2":            {Below: map[string]float64{"ph": 7.2}},
		"ph at least 7":           {AtLeast: map[string]float64{"ph": 7}},
		"not (ph at most 8)":      {Not: &flow.Guard{AtMost: map[string]float64{"ph": 8}}},
		"ph is known or wet is a": {Any: []flow.Guard{{Known: "ph"}, {Is: map[string]string{"wet": "a"}}}},
		"(a is known or b is known) and c is known": {All: []flow.Guard{
			{Any: []flow.Guard{{Known: "a"}, {Known: "b"}}}, {Known: "c"},
		}},
		"never": {},
	}
	for want, guard := range words {
		require.Equal(t, want, guard.String())
	}
}
