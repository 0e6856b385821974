package words

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kind says what a token is.
type Kind uint8

// The kinds of token.
const (
	Word   Kind = iota // letters; Text is folded
	Number             // digits or spelled; Value is set
	Mark               // one punctuation sign or symbol
	Emoji              // one pictograph
	Break              // a line break
	Clock              // a time of day, "7:30"
	Phone              // a telephone number
	Date               // a calendar date in figures, "11/20/26"
)

// Token is a piece of text. Text is folded (lower case, no accents, no apostrophes);
// Raw is as written. Glued says that no space stands before it. For a Number, Value
// is what it says; Grouped is what it says if its one point groups thousands
// ("1.500" litres), or 0; Spelled says that it was written in words.
type Token struct {
	Kind    Kind
	Text    string
	Raw     string
	Glued   bool
	Value   float64
	Grouped float64
	Spelled bool
	Comma   bool // the number has a decimal comma
}

// IsWord reports whether the token is one of the words given.
func (t Token) IsWord(options ...string) bool {
	if t.Kind != Word {
		return false
	}
	for _, o := range options {
		if t.Text == o {
			return true
		}
	}
	return false
}

// IsMark reports whether the token is one of the signs given.
func (t Token) IsMark(signs string) bool {
	return t.Kind == Mark && strings.Contains(signs, t.Text)
}

type scanner struct {
	text   string
	at     int
	glued  bool
	tokens []Token
}

// Tokens cuts clean text into tokens and reads its numbers, spelled ones included.
func Tokens(clean string) []Token {
	s := scanner{text: clean, tokens: make([]Token, 0, len(clean)/4+4)}
	for s.at < len(s.text) {
		s.next()
	}
	return joinSpelled(joinFigures(s.tokens))
}

func (s *scanner) next() {
	r, size := utf8.DecodeRuneInString(s.text[s.at:])
	switch {
	case r == '\n':
		s.emit(Token{Kind: Break, Text: "\n"}, size)
		s.glued = false
		return
	case unicode.IsSpace(r):
		s.at += size
		s.glued = false
		return
	case isDigit(r), (r == '.' || r == ',') && s.startsDecimal():
		s.number()
	case unicode.IsLetter(r):
		s.word()
	case isEmoji(r):
		s.emit(Token{Kind: Emoji, Text: s.text[s.at : s.at+size]}, size)
	case unicode.Is(unicode.Mn, r):
		s.at += size
		return
	default:
		s.emit(Token{Kind: Mark, Text: s.text[s.at : s.at+size]}, size)
	}
	s.glued = true
}

func (s *scanner) emit(t Token, size int) {
	t.Raw = s.text[s.at : s.at+size]
	t.Glued = s.glued
	s.tokens = append(s.tokens, t)
	s.at += size
}

// startsDecimal reports whether the point or comma here begins a number such as ".5".
func (s *scanner) startsDecimal() bool {
	if s.at+1 >= len(s.text) || !isDigit(rune(s.text[s.at+1])) {
		return false
	}
	if s.text[s.at] == ',' {
		// ",5" at the beginning or after a word, and no comma of a list.
		return !s.glued && (len(s.tokens) == 0 || s.tokens[len(s.tokens)-1].Kind == Word) && (s.at+2 >= len(s.text) || s.text[s.at+2] != '.')
	}
	if last := len(s.tokens) - 1; s.glued && last >= 0 && s.tokens[last].IsMark(".") {
		return false
	}
	return !s.glued || len(s.tokens) == 0 || s.tokens[len(s.tokens)-1].Kind == Mark
}

func (s *scanner) word() {
	end := s.at
	for end < len(s.text) {
		r, size := utf8.DecodeRuneInString(s.text[end:])
		if !unicode.IsLetter(r) && !unicode.Is(unicode.Mn, r) && !(r == '\'' && s.letterAfter(end+size)) {
			break
		}
		end += size
	}
	raw := s.text[s.at:end]
	for _, part := range expand(Fold(raw)) {
		s.tokens = append(s.tokens, Token{Kind: Word, Text: part, Raw: raw, Glued: s.glued})
		s.glued = false
	}
	s.at = end
}

func (s *scanner) letterAfter(i int) bool {
	r, _ := utf8.DecodeRuneInString(s.text[i:])
	return unicode.IsLetter(r)
}

// expand writes contractions out where dropping the apostrophe would make another
// word: "I'll" is not ill, "we're" is not were.
func expand(folded string) []string {
	i := strings.IndexByte(folded, '\'')
	if i < 0 {
		return []string{folded}
	}
	switch folded[i+1:] {
	case "ll":
		return []string{folded[:i], "will"}
	case "re":
		return []string{folded[:i], "are"}
	case "ve":
		return []string{folded[:i], "have"}
	}
	return []string{strings.ReplaceAll(folded, "'", "")}
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

func isEmoji(r rune) bool {
	switch {
	case r >= 0x1F000 && r <= 0x1FAFF, r >= 0x2600 && r <= 0x27BF, r >= 0x2B00 && r <= 0x2BFF:
		return true
	case r >= 0x2190 && r <= 0x21FF, r >= 0x2300 && r <= 0x23FF:
		return true
	}
	return false
}
