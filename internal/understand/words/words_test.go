package words_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand/words"
)

func numbers(text string) []float64 {
	var out []float64
	for _, t := range words.Tokens(words.Clean(text)) {
		if t.Kind == words.Number {
			out = append(out, t.Value)
		}
	}
	return out
}

func TestNumbers(t *testing.T) {
	for text, want := range map[string][]float64{
		"7.4": {7.4}, "7,4": {7.4}, ".5": {0.5}, "7½": {7.5}, "1,500": {1500}, "1.234,5": {1234.5}, "3,7.4,120": {3, 7.4, 120}, "7️⃣": {7},
		"seven point two": {7.2}, "7 point 2": {7.2}, "seven and a half": {7.5}, "one hundred and twenty": {120}, "three fifty": {350}, "one oh four": {104},
		"twelve hundred": {1200}, "three seven": {3, 7}, "siete coma cuatro": {7.4}, "treinta y ocho punto cinco": {38.5}, "mil trescientos": {1300}, "siete y medio": {7.5},
		"ciento veinte": {120}, "2 mil": {2000}, "1.5k": {1500}, "three eighty seven point two": {380, 7.2}, "ate point oh": {8}, "one-oh-one": {101},
		"hundred n ten": {110}, "seven n half": {7.5}, "7 1/2": {7.5}, "4oo": {400}, "three and a half hundred": {350}, "3 fifty": {350}, "2...7.5....80": {2, 7.5, 80},
		"a hundred and one point five": {101.5}, "seven three quarters": {7.75}, "treinta y siete con cinco": {37.5}, "7 con 8": {7.8}, "1204,350": {1204.35},
		"the bottom one eighty": {80}, "the last one is seven": {7}, "less than one": {1}, "seven-and-a-half": {7.5},
		"call 541-555-0142": nil, "at 7:30": nil, "11/20/26": nil, "once I did": nil, "the one": nil,
	} {
		got := numbers(text)
		require.Len(t, got, len(want), text)
		for i := range want {
			require.InDelta(t, want[i], got[i], 1e-9, text)
		}
	}
}

func TestWithoutQuotes(t *testing.T) {
	for text, want := range map[string]string{
		"done\n\nOn Tue, Nov 3, 2026 at 9:00, Shop wrote:\n> add it now":     "done",
		"listo\n\nEl mar, 3 nov 2026, Tienda\n<a@b.example> escribió:\n> ya": "listo",
		"> how is the pH?\n7.4":      "7.4",
		"7.4\n-- \nHarold\n555-0142": "7.4",
		"done\n\nSent from my phone": "done",
		">10":                        ">10",
		"On Mon, Nov 16, the shop wrote:\n> pH was 7.9\n\nnot home yet": "not home yet",
	} {
		require.Equal(t, want, strings.TrimSpace(words.WithoutQuotes(text)), text)
	}
}

func TestDistance(t *testing.T) {
	require.Equal(t, 0, words.Distance("stop", "stop", 2))
	require.Equal(t, 1, words.Distance("sotp", "stop", 2))
	require.Equal(t, 3, words.Distance("abcdef", "uvwxyz", 2))
}

// FuzzTokens holds that cleaning gives valid text and is settled after one pass, and
// that tokens are never more than the text has bytes.
func FuzzTokens(f *testing.F) {
	for _, s := range []string{"", "pH 7½", "1.2.3", "a\u0301\u20e3", "\xff\xfe", "541-555-0142", "one hundred point oh"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		clean := words.Clean(text)
		require.True(t, utf8.ValidString(clean))
		require.LessOrEqual(t, len(words.Tokens(clean)), 2*len(clean)+1)
		require.NotContains(t, words.WithoutQuotes(clean), "\x00")
	})
}
