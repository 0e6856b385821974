package wording_test

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tubhand/internal/wording"
	"tubhand/templates"
)

func set(t *testing.T, texts map[string]string) *wording.Set {
	t.Helper()
	files := fstest.MapFS{}
	for name, text := range texts {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	s, err := wording.Load(files)
	require.NoError(t, err)
	return s
}

func TestTextsAreFilledIn(t *testing.T) {
	s := set(t, map[string]string{
		"en/common.yaml": "plain: \"  Just this. \"\ngap: Hi from {{.Shop}}.\nif: \"{{if .Person}}{{.Person}} writes.{{end}}\"\n",
		"en/flush.yaml":  "plain: Of the flush.\n",
		"es/common.yaml": "gap: Hola de {{.Shop}}.\n",
	})
	words := &wording.Words{Shop: "Fernhollow", Person: "Dana"}
	for _, c := range [][4]string{
		{"en", "common", "plain", "Just this."},
		{"en", "flush", "plain", "Of the flush."},
		{"en", "flush", "gap", "Hi from Fernhollow."},
		{"es", "flush", "gap", "Hola de Fernhollow."},
		{"es", "flush", "plain", "Of the flush."},
		{"en", "common", "if", "Dana writes."},
		{"fr", "common", "plain", "Just this."},
	} {
		said, ok := s.Say(c[0], c[1], c[2], words)
		require.True(t, ok, c)
		require.Equal(t, c[3], said)
	}
	said, ok := s.Say("en", "common", "if", &wording.Words{})
	require.True(t, ok)
	require.Empty(t, said)
	_, ok = s.Say("en", "common", "nothing", words)
	require.False(t, ok)
	require.True(t, s.Has("flush", "gap"))
	require.False(t, s.Has("flush", "nothing"))
	require.Equal(t, []string{"en", "es"}, s.Languages())
	require.Equal(t, []string{"common/gap", "common/if", "common/plain", "flush/plain"}, s.Names("en"))
}

func TestMistakesAreTold(t *testing.T) {
	for text, says := range map[string]string{
		"a: {{.Nobody}}":                  "en/common.yaml",
		"good: yes\nbad: \"{{.Nobody}}\"": "en/common.yaml:2:1",
		"bad: \"{{if}}\"":                 "en/common.yaml:1:1",
	} {
		_, err := wording.Load(fstest.MapFS{"en/common.yaml": &fstest.MapFile{Data: []byte(text)}})
		require.ErrorContains(t, err, says)
	}
}

func BenchmarkSay(b *testing.B) {
	s, err := wording.Load(templates.FS)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := s.Say("es", "flush_plumbing", "choices.start_flush_plumbing", &wording.Words{}); !ok {
			b.Fatal("gone")
		}
	}
}
