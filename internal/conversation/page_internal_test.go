package conversation

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/smstext"
)

func TestOwnersWordsInAPageKeepToTheAlphabet(t *testing.T) {
	for from, to := range map[string]string{
		"me cayó cloro en los ojos":      "me cayo cloro en los ojos",
		"¿qué hago? niño, pingüino, ÁÍÓ": "¿qué hago? niño, pingüino, AIO",
		"it’s 104°F":                     "it's 104 F",
		"help 🙏🙏 please":                 "help  please",
		"one\ntwo":                       "one two",
		"水":                              "",
	} {
		require.Equal(t, to, inAlphabet(from))
	}
	rapid.Check(t, func(t *rapid.T) {
		_, ok := smstext.Septets(inAlphabet(rapid.String().Draw(t, "text")))
		require.True(t, ok)
	})
}
