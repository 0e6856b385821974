package smstext_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
	"tubhand/internal/smstext"
)

func TestFoldWritesPlainly(t *testing.T) {
	for text, want := range map[string]string{
		"it’s “ok” – wait…":                 `it's "ok" - wait...`,
		"a `code´ «here»":                   `a 'code' "here"`,
		"pH 7.4 — fine":                     "pH 7.4 - fine",
		"drop to −3":                        "drop to -3",
		"a\u00A0b\u202Fc\td\u2009e":         "a b c d e",
		"in\u200Bvi\u00ADsible\uFEFF":       "invisible",
		"• first":                           "- first",
		"½ cup":                             "1/2 cup",
		"1½ cups":                           "1 1/2 cups",
		"1\u200B½":                          "1 1/2",
		"2¼ and 3¾":                         "2 1/4 and 3 3/4",
		"½5":                                "1/2 5",
		"104°F":                             "104 F",
		"104 °F, 40°C, 104º F, 104\u00A0°F": "104 F, 40 C, 104 F, 104 F",
		"°F":                                "F",
		"2×3":                               "2x3",
		"50 µm or 50 μm":                    "50 um or 50 um",
		"12 ft² and 3 m³":                   "12 ft2 and 3 m3",
		"man\u0303ana":                      "mañana",
		"¿Qué tal, señor?":                  "¿Qué tal, señor?",
		"Ω":                                 "Ω",
		"":                                  "",
	} {
		got := smstext.Fold(text)
		require.Equal(t, want, got, "%q", text)
		require.Equal(t, smstext.GSM7, smstext.EncodingOf(got), "%q", text)
	}
}

func TestFoldLeavesAloneWhatStaysUCS2(t *testing.T) {
	for _, text := range []string{
		"está “ok”",      // the accent would stay
		"👍 it’s hot",     // so would the emoji
		"10² is not 102", // a power, not a unit
		"ft²5",
		"turn it to 104°, then wait", // no plain spelling that all read alike
		"a 5° clockwise turn",
		"año n.º 5",
		"5 ÷ 2",
		"broken \xff byte’s",
	} {
		require.Equal(t, norm.NFC.String(text), smstext.Fold(text))
	}
}

// numbersIn keeps what a dose or a reading is made of, as one reads it.
func numbersIn(text string) string {
	text = strings.NewReplacer("−", "-", "–", "-", "—", "-", "•", "-", "…", "...").Replace(text)
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune("0123456789.,+-/%", r) {
			return r
		}
		return -1
	}, text)
}

func TestFoldKeepsEveryNumber(t *testing.T) {
	piece := rapid.SampledFrom([]string{"0", "1", "7.2", "104", "°F", " ", "1,000", "-2", "−2", "–", "…", "’", "“",
		"\u00A0", "\u200B", "teaspoons", "ñ", "é", "ppm", "x", "×", "•", "%", "+", "3/4", "n\u0303", "µ"})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(piece, 0, 30).Draw(t, "pieces"), "")
		require.Equal(t, numbersIn(text), numbersIn(smstext.Fold(text)))
	})
}

func TestFoldKeepsMixedNumbersApart(t *testing.T) {
	fraction := rapid.SampledFrom([]string{"½", "¼", "¾"})
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.StringMatching(`[0-9]{1,4}`).Draw(t, "whole")
		sign := fraction.Draw(t, "fraction")
		plain := map[string]string{"½": "1/2", "¼": "1/4", "¾": "3/4"}[sign]
		require.Equal(t, whole+" "+plain, smstext.Fold(whole+sign))
	})
}

func FuzzFold(f *testing.F) {
	for _, seed := range []string{"104°F", "1½ cups", "it’s “ok”…", "está", "10²", "º", "\xff", "n\u0303", "½½", "⁄", "ft²"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		folded := smstext.Fold(text)
		require.Equal(t, folded, smstext.Fold(folded), "folding twice is folding once")
		if smstext.EncodingOf(folded) == smstext.UCS2 {
			require.Equal(t, norm.NFC.String(text), folded, "a text that stays UCS-2 is not touched")
		}
		if smstext.EncodingOf(norm.NFC.String(text)) == smstext.GSM7 {
			require.Equal(t, norm.NFC.String(text), folded)
		}
		if !strings.ContainsAny(text, "½¼¾²³") {
			require.Equal(t, digitsIn(norm.NFC.String(text)), digitsIn(folded))
		}
	})
}

func digitsIn(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, text)
}
