package smpp

import (
	"encoding/binary"
	"unicode/utf16"
	"unicode/utf8"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/smstext"
)

// Alphabet is what a message center takes data_coding 0 for. The specification leaves
// it to each center (section 5.2.19).
type Alphabet string

// The two alphabets in use (common practice, no source).
const (
	GSM7   Alphabet = "gsm7"   // the GSM 7-bit alphabet, one septet in an octet
	Latin1 Alphabet = "latin1" // ISO 8859-1
)

// decode reads a text in the alphabet that its data_coding names. No owner's words are
// lost for an odd coding: what is not known reads as Latin-1, where letters without an
// accent are themselves. Spanish tells that a user data header chose the Spanish shift table.
func decode(coding byte, zero Alphabet, spanish bool, octets []byte) string {
	switch {
	case coding == pdu.CodingUCS2, coding&0xFC == 0x18, coding&0xF0 == 0xE0:
		// Beside 8: class and message-waiting codings of TS 23.038 section 4, which some pass on.
		return fromUCS2(octets)
	case coding == pdu.CodingDefault && zero == Latin1:
		return fromLatin1(octets)
	case coding == pdu.CodingDefault, coding&0xFC == 0x10, coding&0xF4 == 0xF0:
		if spanish {
			return smstext.FromSeptetsSpanish(octets)
		}
		return smstext.FromSeptets(octets)
	}
	return fromLatin1(octets)
}

// fromUCS2 reads 16-bit units, as UTF-16, since phones send emoji so. A lone half of a
// pair and an octet left over read as the replacement character.
func fromUCS2(octets []byte) string {
	units := make([]uint16, 0, len(octets)/2+1)
	for ; len(octets) >= 2; octets = octets[2:] {
		units = append(units, binary.BigEndian.Uint16(octets))
	}
	if len(octets) == 1 {
		units = append(units, utf8.RuneError)
	}
	return string(utf16.Decode(units))
}

func fromLatin1(octets []byte) string {
	runes := make([]rune, len(octets))
	for i, o := range octets {
		runes[i] = rune(o)
	}
	return string(runes)
}

// coded is a text as it is sent: each of its parts in octets, and their coding.
type coded struct {
	coding byte
	parts  [][]byte
}

// encode folds a text, chooses its alphabet and cuts it into parts that leave room for a
// header of that many octets; header 0 asks for one part, however long.
func encode(text string, zero Alphabet, header int) coded {
	text = smstext.Fold(text)
	writer, coding := toUCS2, byte(pdu.CodingUCS2)
	if smstext.EncodingOf(text) == smstext.GSM7 {
		if zero == GSM7 {
			writer, coding = toSeptets, pdu.CodingDefault
		} else if inLatin1(text) {
			writer, coding = toLatin1, pdu.CodingDefault
		}
	}
	pieces := []string{text}
	if header > 0 {
		pieces = split(text, coding, header)
	}
	c := coded{coding: coding}
	for _, piece := range pieces {
		c.parts = append(c.parts, writer(piece))
	}
	return c
}

// split cuts by the alphabet that goes over the air. A text that Latin-1 cannot carry
// goes as UCS-2 even where its characters are GSM 7-bit ones.
func split(text string, coding byte, header int) []string {
	if coding == pdu.CodingUCS2 {
		return smstext.SplitUCS2(text, header)
	}
	return smstext.Split(text, header)
}

func toSeptets(text string) []byte {
	codes, _ := smstext.Septets(text)
	return codes
}

func inLatin1(text string) bool {
	for _, r := range text {
		if r > 0xFF {
			return false
		}
	}
	return true
}

func toLatin1(text string) []byte {
	octets := make([]byte, 0, len(text))
	for _, r := range text {
		octets = append(octets, byte(r))
	}
	return octets
}

func toUCS2(text string) []byte {
	var octets []byte
	for _, unit := range utf16.Encode([]rune(text)) {
		octets = binary.BigEndian.AppendUint16(octets, unit)
	}
	return octets
}
