package smstext

// escape introduces a character of the extension table (TS 23.038 section 6.2.1).
const escape = 0x1B

// mainTable is the GSM 7-bit default alphabet, TS 23.038 section 6.2.1, by code.
// 0x09 is capital C with cedilla, which older Unicode mapping files have in small.
// 0x1B is the escape and stands for no character.
const mainTable = "@£$¥èéùìòÇ\nØø\rÅå" +
	"Δ_ΦΓΛΩΠΨΣΘΞ\x00ÆæßÉ" +
	" !\"#¤%&'()*+,-./" +
	"0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNO" +
	"PQRSTUVWXYZÄÖÑÜ§" +
	"¿abcdefghijklmno" +
	"pqrstuvwxyzäöñüà"

// code gives the septet of r in the main table, or the one that follows an escape
// (extended true). ok is false for a character outside the GSM 7-bit alphabet.
func code(r rune) (septet byte, extended, ok bool) {
	switch {
	case r == '\n' || r == '\r':
		return byte(r), false, true
	case r >= ' ' && r < 0x7F:
		return asciiCode(r)
	case r == '\f' || r == '€':
		return extensionCode(r)
	}
	return otherCode(r)
}

// asciiCode places the printable ASCII characters: most have their own number.
func asciiCode(r rune) (septet byte, extended, ok bool) {
	switch r {
	case '@':
		return 0x00, false, true
	case '$':
		return 0x02, false, true
	case '_':
		return 0x11, false, true
	case '`':
		return 0, false, false
	case '[', '\\', ']', '^', '{', '|', '}', '~':
		return extensionCode(r)
	}
	return byte(r), false, true
}

// extensionCode is the extension table, TS 23.038 section 6.2.1.1.
func extensionCode(r rune) (septet byte, extended, ok bool) {
	switch r {
	case '\f':
		return 0x0A, true, true
	case '^':
		return 0x14, true, true
	case '{':
		return 0x28, true, true
	case '}':
		return 0x29, true, true
	case '\\':
		return 0x2F, true, true
	case '[':
		return 0x3C, true, true
	case '~':
		return 0x3D, true, true
	case ']':
		return 0x3E, true, true
	case '|':
		return 0x40, true, true
	case '€':
		return 0x65, true, true
	}
	return 0, false, false
}

// otherCode looks the few letters beyond ASCII up in the main table itself.
func otherCode(r rune) (septet byte, extended, ok bool) {
	if r < 0x80 {
		return 0, false, false
	}
	position := 0
	for _, known := range mainTable {
		if known == r {
			return byte(position), false, true
		}
		position++
	}
	return 0, false, false
}

// septets is the number of septets r takes: 1, 2, or 0 when it is not in the alphabet.
func septets(r rune) int {
	_, extended, ok := code(r)
	switch {
	case !ok:
		return 0
	case extended:
		return 2
	}
	return 1
}
