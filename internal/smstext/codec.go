package smstext

import "strings"

// Septets gives text as 7-bit codes, one to a byte, an extension character as escape
// and code. ok is false, and the slice nil, when a character is not in the alphabet.
func Septets(text string) (codes []byte, ok bool) {
	codes = make([]byte, 0, len(text))
	for _, r := range text {
		septet, extended, known := code(r)
		if !known {
			return nil, false
		}
		if extended {
			codes = append(codes, escape)
		}
		codes = append(codes, septet)
	}
	return codes, true
}

// FromSeptets reads 7-bit codes, one to a byte; the eighth bit is ignored. An unknown
// escape pair reads as its main-table character, as TS 23.038 section 6.2.1.1 asks of
// a receiver (from memory); an escape at the end reads as a space.
func FromSeptets(codes []byte) string { return fromSeptets(codes, extensionRune) }

// FromSeptetsSpanish is FromSeptets for a text whose user data header chooses the Spanish
// single shift table (TS 23.038 annex A.2.2, from memory): the extension table and c
// with cedilla and the acute vowels that the default alphabet lacks.
func FromSeptetsSpanish(codes []byte) string { return fromSeptets(codes, spanishRune) }

func fromSeptets(codes []byte, shifted func(septet byte, table []rune) rune) string {
	table := []rune(mainTable)
	var text strings.Builder
	text.Grow(len(codes))
	for at := 0; at < len(codes); at++ {
		septet := codes[at] & 0x7F
		if septet != escape {
			text.WriteRune(table[septet])
			continue
		}
		at++
		if at == len(codes) || codes[at]&0x7F == escape {
			// The standard keeps escape-escape for a table to come: a space.
			text.WriteByte(' ')
			continue
		}
		text.WriteRune(shifted(codes[at]&0x7F, table))
	}
	return text.String()
}

// extensionRune is the character an escape and this code stand for.
func extensionRune(septet byte, table []rune) rune {
	for _, r := range "\f^{}\\[~]|€" {
		if known, _, _ := extensionCode(r); known == septet {
			return r
		}
	}
	return table[septet]
}

// spanishRune is the same in the Spanish single shift table.
func spanishRune(septet byte, table []rune) rune {
	switch septet {
	case 0x09:
		return 'ç'
	case 0x41:
		return 'Á'
	case 0x49:
		return 'Í'
	case 0x4F:
		return 'Ó'
	case 0x55:
		return 'Ú'
	case 0x61:
		return 'á'
	case 0x69:
		return 'í'
	case 0x6F:
		return 'ó'
	case 0x75:
		return 'ú'
	}
	return extensionRune(septet, table)
}

// Pack puts 7-bit codes into octets, the first code in the low bits of the first
// octet (TS 23.038 section 6.1.2.1). Unused high bits of the last octet are 0.
func Pack(codes []byte) []byte {
	octets := make([]byte, (len(codes)*7+7)/8)
	for n, septet := range codes {
		bit := n * 7
		wide := uint16(septet&0x7F) << (bit % 8)
		octets[bit/8] |= byte(wide)
		if wide > 0xFF {
			octets[bit/8+1] |= byte(wide >> 8)
		}
	}
	return octets
}

// Unpack takes count 7-bit codes out of octets, the reverse of Pack. The count is
// needed because seven codes and eight whose last is 0 pack alike. It returns fewer
// codes when there are not that many octets, none for a count below 1.
func Unpack(octets []byte, count int) []byte {
	count = max(0, min(count, len(octets)*8/7))
	codes := make([]byte, count)
	for n := range codes {
		bit := n * 7
		wide := uint16(octets[bit/8])
		if bit/8+1 < len(octets) {
			wide |= uint16(octets[bit/8+1]) << 8
		}
		codes[n] = byte(wide>>(bit%8)) & 0x7F
	}
	return codes
}
