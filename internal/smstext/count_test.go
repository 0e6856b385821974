package smstext_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"tubhand/internal/smstext"
)

func times(n int, text string) string { return strings.Repeat(text, n) }

// The vectors were counted twice, by a separate counter and by an independent
// open-source codec; both follow 3GPP TS 23.038 and TS 23.040 section 9.2.3.24.1.
func TestCountVectors(t *testing.T) {
	const gsm, ucs = smstext.GSM7, smstext.UCS2
	for _, vector := range []struct {
		text  string
		shape smstext.Shape
	}{
		{"Hello", smstext.Shape{gsm, 5, 1}},
		{times(160, "a"), smstext.Shape{gsm, 160, 1}},
		{times(161, "a"), smstext.Shape{gsm, 161, 2}},
		{times(306, "a"), smstext.Shape{gsm, 306, 2}},
		{times(307, "a"), smstext.Shape{gsm, 307, 3}},
		{times(459, "a"), smstext.Shape{gsm, 459, 3}},
		{times(460, "a"), smstext.Shape{gsm, 460, 4}},
		{"€", smstext.Shape{gsm, 2, 1}},
		{times(80, "€"), smstext.Shape{gsm, 160, 1}},
		{times(81, "€"), smstext.Shape{gsm, 162, 2}},
		{times(79, "€") + "ab", smstext.Shape{gsm, 160, 1}},
		{times(79, "€") + "abc", smstext.Shape{gsm, 161, 2}},
		{times(158, "a") + "[", smstext.Shape{gsm, 160, 1}},
		{times(159, "a") + "[", smstext.Shape{gsm, 161, 2}},
		{times(152, "a") + "€" + times(152, "b"), smstext.Shape{gsm, 306, 3}},
		{times(152, "a") + "€" + times(153, "b"), smstext.Shape{gsm, 307, 3}},
		{times(76, "€") + "a" + times(76, "€") + "a", smstext.Shape{gsm, 306, 2}},
		{times(153, "€"), smstext.Shape{gsm, 306, 3}},
		{`[x] {y} \ | ~ ^`, smstext.Shape{gsm, 23, 1}},
		{"`", smstext.Shape{ucs, 1, 1}},
		{"it's", smstext.Shape{gsm, 4, 1}},
		{"it’s", smstext.Shape{ucs, 4, 1}},
		{"“ok”", smstext.Shape{ucs, 4, 1}},
		{"señor", smstext.Shape{gsm, 5, 1}},
		{"mañana", smstext.Shape{gsm, 6, 1}},
		{"¿Qué tal?", smstext.Shape{gsm, 9, 1}},
		{"está", smstext.Shape{ucs, 4, 1}},
		{"¡Sí!", smstext.Shape{ucs, 4, 1}},
		{"DRENÓ", smstext.Shape{ucs, 5, 1}},
		{"FORÇAGE", smstext.Shape{gsm, 7, 1}},
		{"forçage", smstext.Shape{ucs, 7, 1}},
		{"à demain, père", smstext.Shape{gsm, 14, 1}},
		{"à bientôt", smstext.Shape{ucs, 9, 1}},
		{"œuf", smstext.Shape{ucs, 3, 1}},
		{"über", smstext.Shape{gsm, 4, 1}},
		{"104°F", smstext.Shape{ucs, 5, 1}},
		{"104 F", smstext.Shape{gsm, 5, 1}},
		{"½ cup", smstext.Shape{ucs, 5, 1}},
		{"1/2 cup", smstext.Shape{gsm, 7, 1}},
		{"pH 7.4 – ok", smstext.Shape{ucs, 11, 1}},
		{"pH 7.4 - ok", smstext.Shape{gsm, 11, 1}},
		{"wait…", smstext.Shape{ucs, 5, 1}},
		{times(70, "á"), smstext.Shape{ucs, 70, 1}},
		{times(71, "á"), smstext.Shape{ucs, 71, 2}},
		{times(134, "á"), smstext.Shape{ucs, 134, 2}},
		{times(135, "á"), smstext.Shape{ucs, 135, 3}},
		{"👍", smstext.Shape{ucs, 2, 1}},
		{times(35, "👍"), smstext.Shape{ucs, 70, 1}},
		{times(36, "👍"), smstext.Shape{ucs, 72, 2}},
		{times(2, times(33, "👍")+"a"), smstext.Shape{ucs, 134, 2}},
		{times(66, "á") + "👍" + times(65, "á"), smstext.Shape{ucs, 133, 2}},
		{times(66, "á") + "👍" + times(66, "á"), smstext.Shape{ucs, 134, 3}},
		{"👍🏽", smstext.Shape{ucs, 4, 1}},
		{"👨‍👩‍👧‍👦", smstext.Shape{ucs, 11, 1}},
		{"❤️", smstext.Shape{ucs, 2, 1}},
		{"Ω", smstext.Shape{gsm, 1, 1}},
		{"Δ", smstext.Shape{gsm, 1, 1}},
		{"\u00B5", smstext.Shape{ucs, 1, 1}},
		{"\u03BC", smstext.Shape{ucs, 1, 1}},
		{"line1\nline2", smstext.Shape{gsm, 11, 1}},
		{"", smstext.Shape{gsm, 0, 0}},
	} {
		require.Equal(t, vector.shape, smstext.Count(vector.text), "%.40q", vector.text)
	}
}

// TS 23.040 sections 9.2.3.16 and 9.2.3.24.1; 152 and 66, and the rooms beside the
// headers of a national language table, are arithmetic on 140 octets.
func TestPartSize(t *testing.T) {
	for _, c := range []struct {
		encoding smstext.Encoding
		header   int
		room     int
	}{
		{smstext.GSM7, 0, 160}, {smstext.UCS2, 0, 70},
		{smstext.GSM7, smstext.Header8, 153}, {smstext.UCS2, smstext.Header8, 67},
		{smstext.GSM7, smstext.Header16, 152}, {smstext.UCS2, smstext.Header16, 66},
		{smstext.GSM7, 4, 155}, {smstext.GSM7, 9, 149},
		{smstext.GSM7, 141, 0}, {smstext.UCS2, -1, 0},
	} {
		require.Equal(t, c.room, smstext.PartSize(c.encoding, c.header), "%s header %d", c.encoding, c.header)
	}
}

func TestSplitCutsWhereCountSays(t *testing.T) {
	require.Nil(t, smstext.Split("", smstext.Header8))
	require.Equal(t, []string{"ok"}, smstext.Split("ok", smstext.Header8))
	require.Equal(t, []string{times(152, "a"), "€" + times(151, "b"), "b"},
		smstext.Split(times(152, "a")+"€"+times(152, "b"), smstext.Header8))
	require.Equal(t, []string{times(66, "á"), "👍" + times(65, "á"), "á"},
		smstext.Split(times(66, "á")+"👍"+times(66, "á"), smstext.Header8))
	require.Len(t, smstext.Split(times(306, "a"), smstext.Header16), 3, "152 septets fit beside a 16-bit reference")
}

func TestSplitUCS2CutsPlainTextsAsUCS2(t *testing.T) {
	require.Equal(t, []string{times(70, "a")}, smstext.SplitUCS2(times(70, "a"), smstext.Header8))
	require.Equal(t, []string{times(67, "a"), times(4, "a")}, smstext.SplitUCS2(times(71, "a"), smstext.Header8))
}

func FuzzSplit(f *testing.F) {
	for _, seed := range []string{"", "104 F", times(152, "a") + "€" + times(152, "b"), times(67, "👍"), "\xff\xfe", times(300, "ñ")} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		shape := smstext.Count(text)
		parts := smstext.Split(text, smstext.Header8)
		require.Len(t, parts, shape.Parts)
		require.Equal(t, text, strings.Join(parts, ""))
		room := smstext.PartSize(shape.Encoding, smstext.Header8)
		if len(parts) == 1 {
			room = smstext.PartSize(shape.Encoding, 0)
		}
		for _, part := range parts {
			require.LessOrEqual(t, unitsIn(part, shape.Encoding), room)
		}
	})
}

// unitsIn counts a part in the encoding of the whole text, by other means than Count.
func unitsIn(part string, encoding smstext.Encoding) int {
	if encoding == smstext.GSM7 {
		codes, _ := smstext.Septets(part)
		return len(codes)
	}
	units := 0
	for _, r := range part {
		units++
		if r > 0xFFFF {
			units++
		}
	}
	return units
}

func BenchmarkCount(b *testing.B) {
	text := times(2, "Lower the jets, add 3 level teaspoons near a return, then turn the jets to high for 30 min. Reply DONE. ")
	b.ReportAllocs()
	for b.Loop() {
		smstext.Count(text)
	}
}
