package cue_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand/cue"
)

func TestCues(t *testing.T) {
	known := cue.Concepts{"pet", "chem"}
	for _, c := range []struct {
		source, text string
		hit          bool
	}{
		{"cant breathe", "i cant breathe", true},
		{"cant .. breathe", "cant really even breathe", true},
		{"cant .. breathe", "cant ; breathe", false},
		{"cough*", "he is coughing", true},
		{"foam|suds everywhere", "suds everywhere", true},
		{"^ stop $", "stop", true},
		{"^ stop $", "stop it", false},
		{"very ?much foam", "very foam", true},
		{"add #", "add #", true},
		{"<dont stop texting", "dont stop texting", false},
		{"stop texting !joke", "stop texting a joke", false},
	} {
		set, err := cue.Parse("test", "[x]\n"+c.source, known)
		require.NoError(t, err)
		require.Equal(t, c.hit, len(set.Find(cue.Text{Atoms: strings.Fields(c.text)})) == 1, "%s in %s", c.source, c.text)
	}
}

func TestConceptsInCues(t *testing.T) {
	set, err := cue.Parse("test", "[danger]\n@pet .. in|into .. @chem", cue.Concepts{"pet", "chem"})
	require.NoError(t, err)
	text := cue.Text{Atoms: []string{"rex", "got", "into", "the", "bleach"}, Concepts: [][]uint8{{0}, nil, nil, nil, {1}}}
	hits := set.Find(text)
	require.Len(t, hits, 1)
	require.Equal(t, "danger", hits[0].Pattern.Label)
	require.Equal(t, 5, hits[0].End)
}

func TestErrorsNameFileAndLine(t *testing.T) {
	for _, bad := range []string{"ab*", "?a", "@fish swims"} {
		_, err := cue.Parse("my.cue", "# about\n[x]\n"+bad, nil)
		require.ErrorContains(t, err, "my.cue:3:", bad)
	}
}

func TestFindAllFindsACueAgainAfterItsEnd(t *testing.T) {
	set, err := cue.Parse("test", "[x]\ni mean\nnot #", nil)
	require.NoError(t, err)
	text := cue.Text{Atoms: strings.Fields("i mean # ; i mean # not # not #")}
	require.Len(t, set.Find(text), 2)
	hits := set.FindAll(text)
	require.Len(t, hits, 4)
	for k, start := range []int{0, 4, 7, 9} {
		require.Equal(t, start, hits[k].Start)
		require.Equal(t, start+2, hits[k].End)
	}
}
