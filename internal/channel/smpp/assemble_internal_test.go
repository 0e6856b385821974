package smpp

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/smstext"
)

func pieces(total int, texts map[int]string) (parts []kept) {
	for n := 1; n <= total; n++ {
		if text, ok := texts[n]; ok {
			parts = append(parts, kept{Octets: []byte(text), Sequence: n, Total: total})
		}
	}
	return parts
}

func TestAssemble(t *testing.T) {
	for name, c := range map[string]struct {
		total int
		parts map[int]string
		want  string
	}{
		"whole":               {2, map[int]string{1: "chlorine ", 2: "3"}, "chlorine 3"},
		"cut within a word":   {2, map[int]string{1: "chlo", 2: "rine 3"}, "chlorine 3"},
		"the end is missing":  {2, map[int]string{1: "alkalinity 1"}, "alkalinity [...]"},
		"the start":           {2, map[int]string{2: "0 ppm and cloudy"}, "[...] ppm and cloudy"},
		"the middle":          {3, map[int]string{1: "ph 7.", 3: "4 now what"}, "ph [...] now what"},
		"both ends":           {3, map[int]string{2: "ter is gre"}, "[...] is [...]"},
		"two gaps":            {5, map[int]string{1: "a b", 3: "c d e", 5: "f g"}, "a [...] d [...] g"},
		"one word is kept":    {2, map[int]string{2: "aaaaargh"}, "[...] aaaaargh"},
		"but not a number":    {2, map[int]string{2: "120"}, "[...] "},
		"an escape cut apart": {2, map[int]string{1: "5 \x1B", 2: "\x65"}, "5 €"},
	} {
		require.Equal(t, c.want, assemble(pieces(c.total, c.parts), GSM7), name)
	}
	mixed := pieces(2, map[int]string{1: "a ", 2: "\x00\xF1"})
	mixed[1].Coding = pdu.CodingUCS2
	require.Equal(t, "a ñ", assemble(mixed, GSM7), "each in its own coding")
}

// No digit run of an incomplete text is shorter than it was written.
func TestAssembleInventsNoNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`([a-z]{1,6}|[0-9]{1,4}(\.[0-9]{1,2})?)( ([a-z]{1,6}|[0-9]{1,4}(\.[0-9]{1,2})?)){3,12}`).Draw(t, "text")
		size := rapid.IntRange(1, max(1, len(text)/2)).Draw(t, "size")
		texts, total := map[int]string{}, 0
		for at := 0; at < len(text); at += size {
			total++
			texts[total] = text[at:min(at+size, len(text))]
		}
		for n := 1; n <= total; n++ {
			if rapid.Bool().Draw(t, "missing") {
				delete(texts, n)
			}
		}
		words := strings.Fields(text)
		for _, word := range strings.Fields(assemble(pieces(total, texts), GSM7)) {
			if strings.ContainsFunc(word, unicode.IsDigit) {
				require.Contains(t, words, word)
			}
		}
	})
}

func TestEncodedReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Filter(func(s string) bool { return utf8.ValidString(s) }).Draw(t, "text")
		zero := rapid.SampledFrom([]Alphabet{GSM7, Latin1}).Draw(t, "zero")
		header := rapid.SampledFrom([]int{0, smstext.Header8, smstext.Header16}).Draw(t, "header")
		sent := encode(text, zero, header)
		var parts []kept
		for i, octets := range sent.parts {
			parts = append(parts, kept{Coding: sent.coding, Octets: octets, Sequence: i + 1, Total: len(sent.parts)})
			if header > 0 {
				require.LessOrEqual(t, len(octets), 160)
			}
		}
		require.Equal(t, smstext.Fold(text), assemble(parts, zero))
	})
}

func FuzzOpen(f *testing.F) {
	f.Add([]byte("\x05\x00\x03\x2A\x02\x01hi"), byte(0x40), byte(0))
	f.Add([]byte("id:1 sub:001 stat:DELIVRD text:"), byte(4), byte(8))
	f.Add([]byte{0x1B}, byte(0), byte(0xF1))
	f.Fuzz(func(t *testing.T, octets []byte, class, coding byte) {
		for _, m := range []pdu.Message{{Short: octets, ESMClass: class, DataCoding: coding},
			{TLVs: pdu.TLVs{{Tag: pdu.TagMessagePayload, Value: octets}, {Tag: pdu.TagReceiptedMessageID, Value: octets}}, ESMClass: class, DataCoding: coding}} {
			in := open(m)
			require.LessOrEqual(t, len(in.octets), len(octets))
			require.True(t, in.part.Sequence <= in.part.Total)
			for _, zero := range []Alphabet{GSM7, Latin1} {
				text := decode(in.coding, zero, in.spanish, in.octets)
				require.True(t, utf8.ValidString(text))
				require.LessOrEqual(t, utf8.RuneCountInString(text), len(octets))
				if r, ok := readReceipt(m, zero); ok {
					require.Contains(t, []string{"sent", "delivered", "failed"}, r.state)
					require.True(t, r.id != "" || r.reference != 0)
				}
			}
		}
	})
}

func FuzzAssemble(f *testing.F) {
	f.Add([]byte("ph 7."), []byte("2 now"), byte(1), byte(3), byte(3), byte(0))
	f.Fuzz(func(t *testing.T, a, b []byte, first, second, total, coding byte) {
		if first == 0 || first >= second || second > total {
			return
		}
		parts := []kept{{Octets: a, Sequence: int(first), Total: int(total), Coding: coding}, {Octets: b, Sequence: int(second), Total: int(total)}}
		text := assemble(parts, GSM7)
		require.True(t, utf8.ValidString(text))
		if total > 2 {
			require.Contains(t, text, gap)
		} else {
			require.Equal(t, decode(coding, GSM7, false, a)+decode(0, GSM7, false, b), text, "nothing is lost of a whole one")
		}
	})
}
