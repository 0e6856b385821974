// Package words turns a stranger's bytes into clean text, tokens and numbers: Unicode
// made uniform, quoted mail taken off, spelled numbers read in English and Spanish. It
// knows nothing of hot tubs. It is pure, never panics, and its time grows linearly with the text.
package words

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// MaxBytes is how much of a text is read; a text message is far shorter, and an e-mail
// says what it is about at its start.
const MaxBytes = 16 << 10

// Clean returns the text with broken UTF-8, control and invisible characters taken out,
// compatibility forms composed (NFKC), and curly quotes and long dashes made plain.
// Vulgar fractions become decimals, so that "7½" reads 7.5 and not 71/2.
func Clean(text string) string {
	if len(text) > MaxBytes {
		text = text[:MaxBytes]
	}
	if isPlain(text) {
		return text
	}
	text = strings.ToValidUTF8(text, " ")
	var b strings.Builder
	b.Grow(len(text) + 8)
	previous := ' '
	for _, r := range text {
		writeClean(&b, r, previous)
		previous = r
	}
	return norm.NFKC.String(b.String())
}

func isPlain(text string) bool {
	for i := 0; i < len(text); i++ {
		c := text[i]
		if c >= utf8.RuneSelf || (c < ' ' && c != '\n') || c == 0x7f || c == '`' {
			return false
		}
	}
	return true
}

func writeClean(b *strings.Builder, r, previous rune) {
	if f, ok := fraction(r); ok {
		if !unicode.IsDigit(previous) {
			b.WriteByte('0')
		}
		b.WriteString(f)
		return
	}
	switch r {
	case '‘', '’', 'ʼ', '`', '´', '′', '＇':
		b.WriteByte('\'')
	case '“', '”', '„', '«', '»', '″':
		b.WriteByte('"')
	case '–', '—', '‒', '―', '−', '‑', '‐':
		b.WriteByte('-')
	case 'º', '˚':
		b.WriteRune('°')
	case '×', '✕', '✖':
		b.WriteString(" x ")
	case '…':
		b.WriteString("...")
	case '\n', '\u2028', '\u2029':
		b.WriteByte('\n')
	case '\r':
		// "\r\n" and a lone "\r" both end up as one break or a space; either will do.
		b.WriteByte(' ')
	default:
		if r == utf8.RuneError || isInvisible(r) {
			return
		}
		if unicode.IsSpace(r) || unicode.IsControl(r) {
			b.WriteByte(' ')
			return
		}
		b.WriteRune(r)
	}
}

// isInvisible tells zero-width characters, joiners, variation selectors, the keycap
// mark, the byte order mark and direction marks.
func isInvisible(r rune) bool {
	switch {
	case r == 0x00AD, r == 0xFEFF, r == 0x20E3, r == 0x061C:
		return true
	case r >= 0x200B && r <= 0x200F, r >= 0x202A && r <= 0x202E, r >= 0x2060 && r <= 0x2069:
		return true
	case r >= 0xFE00 && r <= 0xFE0F, r >= 0xE0000 && r <= 0xE01EF:
		return true
	}
	return false
}

func fraction(r rune) (string, bool) {
	switch r {
	case '½':
		return ".5", true
	case '¼':
		return ".25", true
	case '¾':
		return ".75", true
	case '⅓':
		return ".333", true
	case '⅔':
		return ".667", true
	case '⅛':
		return ".125", true
	}
	return "", false
}

// Fold lower-cases a word and takes its accents off, so that "Está" and "esta" match.
func Fold(word string) string {
	ascii := true
	upper := false
	for i := 0; i < len(word); i++ {
		if word[i] >= utf8.RuneSelf {
			ascii = false
			break
		}
		upper = upper || ('A' <= word[i] && word[i] <= 'Z')
	}
	if ascii {
		if !upper {
			return word
		}
		return strings.ToLower(word)
	}
	var b strings.Builder
	for _, r := range norm.NFD.String(word) {
		if !unicode.Is(unicode.Mn, r) {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}
