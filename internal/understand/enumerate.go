package understand

import "tubhand/internal/understand/words"

// enumerators finds the marks of a numbered or lettered list: "1) 2", "2. 7.8", "a. 0",
// "#3: 60". They count up from one and stand before what they number.
func (in *input) enumerators() map[int]bool {
	for _, place := range [...]func(int) int{in.numberMark, in.letterMark} {
		var at []int
		next := 1
		for i := range in.tokens {
			if place(i) == next {
				at = append(at, i)
				next++
			}
		}
		if len(at) < 2 {
			continue
		}
		out := map[int]bool{}
		for _, i := range at {
			out[i] = true
		}
		return out
	}
	return nil
}

// numberMark returns k where token i is "k)" or, at the start of a line, "k." or "k:".
func (in *input) numberMark(i int) int {
	if !in.number(i) || in.tokens[i].Spelled || in.tokens[i].Value != float64(int(in.tokens[i].Value)) || !in.followed(i) {
		return 0
	}
	starts := i == 0 || in.tokens[i-1].Kind == words.Break || in.mark(i-1, "#(")
	if in.mark(i+1, ":") && in.tokens[i+2].Glued && !starts {
		return 0
	}
	if in.mark(i+1, ")") && in.tokens[i+1].Glued && !in.mark(i-1, "(") || in.mark(i+1, ".:-)") && starts {
		return int(in.tokens[i].Value)
	}
	return 0
}

// letterMark returns 1 where token i is "a." or "a)", 2 for "b.", and so on.
func (in *input) letterMark(i int) int {
	t := in.tokens[i]
	if t.Kind != words.Word || len(t.Text) != 1 || !in.mark(i+1, ".):") || !in.tokens[i+1].Glued || !in.followed(i) {
		return 0
	}
	return int(t.Text[0]-'a') + 1
}

// followed wants something to be numbered after the sign at i+1.
func (in *input) followed(i int) bool {
	return i+2 < len(in.tokens) && (!in.tokens[i+2].Glued || in.mark(i+1, "):") && in.number(i+2))
}
