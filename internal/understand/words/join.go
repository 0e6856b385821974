package words

import "strings"

// joinFigures makes one token of each time of day, date and telephone number, so that
// none of their figures is taken for a reading.
func joinFigures(tokens []Token) []Token {
	out := tokens[:0]
	for i := 0; i < len(tokens); {
		if isHalfFigure(tokens, i) {
			t := merged(tokens[i:i+4], Number)
			t.Value, t.Grouped = tokens[i].Value+tokens[i+1].Value/tokens[i+3].Value, 0
			out = append(out, t)
			i += 4
			continue
		}
		if tokens[i].Kind == Number || tokens[i].IsMark("(+") {
			if n, kind := compound(tokens[i:]); n > 0 {
				out = append(out, merged(tokens[i:i+n], kind))
				i += n
				continue
			}
		}
		out = append(out, tokens[i])
		i++
	}
	return out
}

// isHalfFigure knows "7 1/2" and "7 3/4".
func isHalfFigure(tokens []Token, i int) bool {
	if i+3 >= len(tokens) || !isInteger(tokens[i]) || !isInteger(tokens[i+1]) || !tokens[i+2].IsMark("/") || !tokens[i+2].Glued || !isInteger(tokens[i+3]) || !tokens[i+3].Glued {
		return false
	}
	if i+4 < len(tokens) && tokens[i+4].IsMark("/") {
		return false
	}
	over, under := tokens[i+1].Value, tokens[i+3].Value
	return over == 1 && (under == 2 || under == 4) || over == 3 && under == 4
}

func merged(tokens []Token, kind Kind) Token {
	var b strings.Builder
	for _, t := range tokens {
		b.WriteString(t.Raw)
	}
	t := tokens[0]
	t.Kind, t.Raw, t.Text = kind, b.String(), b.String()
	return t
}

// compound returns how many tokens from the start make one time, date or telephone number.
func compound(tokens []Token) (int, Kind) {
	if n := phoneLength(tokens); n > 0 {
		return n, Phone
	}
	if isClock(tokens) {
		return 3, Clock
	}
	if isDate(tokens) {
		return 5, Date
	}
	return 0, 0
}

func isClock(tokens []Token) bool {
	return len(tokens) >= 3 && tokens[1].IsMark(":") && tokens[1].Glued && tokens[2].Glued &&
		isInteger(tokens[0]) && isInteger(tokens[2]) && len(tokens[2].Text) == 2 && tokens[0].Value < 25 && tokens[2].Value < 60
}

// isDate knows 11/20/26; a list of readings such as 3/7/80 is none.
func isDate(tokens []Token) bool {
	if len(tokens) < 5 || !tokens[1].IsMark("/") || !tokens[3].IsMark("/") || len(tokens) > 5 && tokens[5].IsMark("/") {
		return false
	}
	for _, k := range [...]int{1, 2, 4} {
		if !tokens[k].Glued {
			return false
		}
	}
	day, month, year := tokens[0], tokens[2], tokens[4]
	return isInteger(day) && isInteger(month) && isInteger(year) && day.Value <= 31 && month.Value <= 31 &&
		(len(year.Text) == 4 || len(year.Text) == 2) && year.Value != 50 && year.Value != 80
}

func isInteger(t Token) bool {
	return t.Kind == Number && !t.Spelled && !strings.ContainsAny(t.Text, ".,")
}

// phoneLength recognises telephone numbers by the lengths of their groups: 3-3-4 and
// 3-4 joined by dashes, points or brackets, or a run of seven or more figures.
func phoneLength(tokens []Token) int {
	i := 0
	plus := false
	if i < len(tokens) && tokens[i].IsMark("+") {
		plus = true
		i++
	}
	bracket := i < len(tokens) && tokens[i].IsMark("(")
	if bracket {
		i++
	}
	if i >= len(tokens) || !isInteger(tokens[i]) {
		return 0
	}
	if len(tokens[i].Text) >= 7 {
		return i + 1
	}
	lengths, dashed, end := phoneGroups(tokens, i, plus || bracket)
	if dashed && isPhoneShape(lengths, plus) {
		return end
	}
	return 0
}

// phoneGroups reads groups of figures joined by signs from token i: their lengths,
// whether a sign joined them, and where they end.
func phoneGroups(tokens []Token, i int, dashed bool) ([]int, bool, int) {
	var lengths []int
	for i < len(tokens) && isInteger(tokens[i]) && len(lengths) < 5 {
		lengths = append(lengths, len(tokens[i].Text))
		i++
		j := i
		for j < len(tokens) && j < i+2 && tokens[j].IsMark("-.)") {
			j++
		}
		if j < len(tokens) && isInteger(tokens[j]) && (j > i || dashed) {
			if j > i {
				dashed = true
			}
			i = j
			continue
		}
		break
	}
	return lengths, dashed, i
}

func isPhoneShape(lengths []int, plus bool) bool {
	n := len(lengths)
	if n < 2 || lengths[n-1] != 4 || lengths[n-2] != 3 {
		total := 0
		for _, l := range lengths {
			total += l
		}
		return plus && total >= 8
	}
	return n == 2 || lengths[n-3] == 3
}
