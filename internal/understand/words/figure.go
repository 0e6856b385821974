package words

import (
	"strconv"
	"strings"
)

// number reads figures with their points and commas. "3,7.4,120" is a list of three.
func (s *scanner) number() {
	end := s.at
	for end < len(s.text) {
		c := s.text[end]
		if isDigit(rune(c)) {
			end++
			continue
		}
		if n := s.zeros(end); n > 0 {
			end += n
			continue
		}
		if (c == '.' || c == ',') && end+1 < len(s.text) && isDigit(rune(s.text[end+1])) {
			end++
			continue
		}
		break
	}
	raw := oForZero.Replace(s.text[s.at:end])
	for i, part := range splitFigures(raw) {
		if i > 0 {
			s.tokens = append(s.tokens, Token{Kind: Mark, Text: ",", Raw: ",", Glued: true})
		}
		s.tokens = append(s.tokens, figure(part, s.glued || i > 0))
	}
	s.at = end
}

// oForZero is never changed.
var oForZero = strings.NewReplacer("o", "0", "O", "0")

// zeros counts the letters o at a place within figures that were typed for zeros: "4oo".
func (s *scanner) zeros(at int) int {
	n := at
	for n < len(s.text) && (s.text[n] == 'o' || s.text[n] == 'O') {
		n++
	}
	if n == at || n < len(s.text) && (s.text[n] >= 'a' && s.text[n] <= 'z' || s.text[n] >= 'A' && s.text[n] <= 'Z' || s.text[n] >= 0x80) {
		return 0
	}
	return n - at
}

// splitFigures parts a run of figures at its commas unless they group thousands or
// make a decimal.
func splitFigures(raw string) []string {
	commas := strings.Count(raw, ",")
	points := strings.Count(raw, ".")
	if commas == 0 || groupsThousands(raw) {
		return []string{raw}
	}
	if commas == 1 && points == 0 {
		comma := strings.IndexByte(raw, ',')
		if after := len(raw) - comma - 1; after <= 2 && comma <= 4 || after == 3 && comma > 3 {
			return []string{raw}
		}
	}
	return strings.Split(raw, ",")
}

// groupsThousands knows 1,500 and 1,500.5 and 1.500,5 and 12,345,678.
func groupsThousands(raw string) bool {
	group, decimal := ",", "."
	if strings.LastIndexByte(raw, ',') > strings.LastIndexByte(raw, '.') && strings.Contains(raw, ".") {
		group, decimal = ".", ","
	}
	whole, _, _ := strings.Cut(raw, decimal)
	if strings.Count(raw, decimal) > 1 {
		return false
	}
	parts := strings.Split(whole, group)
	if len(parts) < 2 || len(parts[0]) > 3 || parts[0] == "0" {
		return false
	}
	for _, p := range parts[1:] {
		if len(p) != 3 {
			return false
		}
	}
	return true
}

func figure(raw string, glued bool) Token {
	t := Token{Kind: Number, Text: raw, Raw: raw, Glued: glued}
	plain := raw
	switch {
	case strings.Contains(raw, ",") && groupsThousands(raw):
		if strings.LastIndexByte(raw, ',') > strings.LastIndexByte(raw, '.') && strings.Contains(raw, ".") {
			plain = strings.ReplaceAll(strings.ReplaceAll(raw, ".", ""), ",", ".")
		} else {
			plain = strings.ReplaceAll(raw, ",", "")
		}
	case strings.Contains(raw, ","):
		plain = strings.Replace(raw, ",", ".", 1)
		t.Comma = true
	case strings.Count(raw, ".") > 1:
		return dotted(t)
	default:
		if whole, frac, ok := strings.Cut(raw, "."); ok && len(frac) == 3 && whole != "" && whole != "0" && len(whole) <= 3 {
			t.Grouped, _ = strconv.ParseFloat(whole+frac, 64)
		}
	}
	value, err := strconv.ParseFloat(plain, 64)
	if err != nil || len(plain) > 15 {
		t.Kind = Phone
		return t
	}
	t.Value = value
	return t
}

// dotted reads figures with several points: 1.234.567, a date 20.11.26, or nonsense.
func dotted(t Token) Token {
	parts := strings.Split(t.Raw, ".")
	thousands := len(parts[0]) <= 3
	for _, p := range parts[1:] {
		thousands = thousands && len(p) == 3
	}
	t.Kind = Date
	if thousands && len(parts) <= 4 && len(parts[0]) > 0 && len(t.Raw) != 12 {
		t.Kind = Number
		t.Value, _ = strconv.ParseFloat(strings.Join(parts, ""), 64)
	}
	return t
}
