package smstext_test

import (
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"tubhand/internal/smstext"
)

// The alphabet as generated from the Perl module Encode::GSM0338 2.10, which follows
// TS 23.038 V16.0.0: 127 characters of one septet (the escape is none) and 10 of two.
const (
	oneSeptet = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡" +
		"ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
	twoSeptets = "\f^{}\\[~]|€"
)

func TestAlphabetIsComplete(t *testing.T) {
	require.Len(t, []rune(oneSeptet), 127)
	require.Len(t, []rune(twoSeptets), 10)
	seen := map[byte]rune{}
	for _, r := range oneSeptet {
		codes, ok := smstext.Septets(string(r))
		require.True(t, ok && len(codes) == 1, "%q", r)
		require.NotContains(t, seen, codes[0], "%q has the code of %q", r, seen[codes[0]])
		seen[codes[0]] = r
		require.Equal(t, string(r), smstext.FromSeptets(codes))
	}
	for _, r := range twoSeptets {
		codes, ok := smstext.Septets(string(r))
		require.True(t, ok && len(codes) == 2 && codes[0] == 0x1B, "%q", r)
		require.Equal(t, string(r), smstext.FromSeptets(codes))
	}
}

func TestNothingElseIsInTheAlphabet(t *testing.T) {
	in := 0
	for r := rune(0); r <= 0x2FFFF; r++ {
		if r >= 0xD800 && r <= 0xDFFF {
			continue
		}
		if smstext.EncodingOf(string(r)) == smstext.GSM7 {
			in++
		}
	}
	require.Equal(t, 137, in)
	for _, r := range "áíóúÁÍÓÚâçêëîïôœûÿÀÂÈÊËÎÏÔŒÙÛŸãõÃÕ‘’“”–—…•«»°ºª´`©®™½¼¾²³µ×÷№\t\u00A0\u202F\u200B\uFEFF\x00\x1B" {
		require.Equal(t, smstext.UCS2, smstext.EncodingOf(string(r)), "%q", r)
	}
}

// Codes as TS 23.038 section 6.2.1 and 6.2.1.1 number them (from memory).
func TestCodes(t *testing.T) {
	codes, ok := smstext.Septets("@Çà_€A")
	require.True(t, ok)
	require.Equal(t, []byte{0x00, 0x09, 0x7F, 0x11, 0x1B, 0x65, 0x41}, codes)
	_, ok = smstext.Septets("forçage")
	require.False(t, ok)
}

func TestPackVectors(t *testing.T) {
	for text, packed := range map[string]string{"hellohello": "e8329bfd4697d9ec37", "€": "9b32"} {
		codes, ok := smstext.Septets(text)
		require.True(t, ok)
		require.Equal(t, packed, hex.EncodeToString(smstext.Pack(codes)))
		require.Equal(t, codes, smstext.Unpack(smstext.Pack(codes), len(codes)))
	}
	require.Len(t, smstext.Pack(make([]byte, 160)), 140)
}

func TestReadingOddCodes(t *testing.T) {
	require.Equal(t, "Ç", smstext.FromSeptets([]byte{0x09}), "capital, whatever old mapping files say")
	require.Equal(t, "A", smstext.FromSeptets([]byte{0x1B, 0x41}), "an unknown pair reads as the main table has it")
	require.Equal(t, "a ", smstext.FromSeptets([]byte{0x61, 0x1B}))
	require.Equal(t, " b", smstext.FromSeptets([]byte{0x1B, 0x1B, 0x62}))
	require.Empty(t, smstext.Unpack([]byte{0xFF}, -3))
	require.Len(t, smstext.Unpack([]byte{0xFF, 0xFF}, 100), 2)
}

// TS 23.038 annex A.2.2 (from memory); the letters are those that the standard adds for Spanish.
func TestReadingTheSpanishShiftTable(t *testing.T) {
	require.Equal(t, "¡Sí! está, DRENÓ 5€ [ç]",
		smstext.FromSeptetsSpanish([]byte("\x40S\x1B\x69! est\x1B\x61, DREN\x1B\x4F 5\x1B\x65 \x1B\x3C\x1B\x09\x1B\x3E")))
	require.Equal(t, "¡Si! esta, DRENO", smstext.FromSeptets([]byte("\x40S\x1B\x69! est\x1B\x61, DREN\x1B\x4F")),
		"who does not know the table reads the main one's letter")
}

func FuzzSeptets(f *testing.F) {
	for _, seed := range []string{"hellohello", "€", "[x] {y} \\ | ~ ^", "señor", "está", "\x00\x1b", ""} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		codes, ok := smstext.Septets(text)
		require.Equal(t, smstext.EncodingOf(text) == smstext.GSM7, ok)
		if !ok {
			return
		}
		require.Len(t, codes, smstext.Count(text).Units)
		unpacked := smstext.Unpack(smstext.Pack(codes), len(codes))
		require.Equal(t, text, smstext.FromSeptets(unpacked))
	})
}

func FuzzFromSeptets(f *testing.F) {
	f.Add([]byte{0x1B, 0x65, 0x09, 0x1B})
	f.Fuzz(func(t *testing.T, codes []byte) {
		text := smstext.FromSeptets(codes)
		require.NotContains(t, text, "\x00")
		require.LessOrEqual(t, len([]rune(text)), len(codes), "reading never grows a message")
		again, ok := smstext.Septets(text)
		require.True(t, ok, "whatever is read can be written")
		require.Equal(t, text, smstext.FromSeptets(again))
		require.False(t, strings.ContainsRune(text, '\uFFFD'))
	})
}
