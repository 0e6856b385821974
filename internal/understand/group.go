package understand

import "tubhand/internal/understand/words"

// pairGroups pairs lists with lists: "7.4 / 3 for ph and chlorine", "ph/cl/alk:
// 7.4/3/90". As many names in a row as numbers in a row belong together in order, where
// each number can be its quantity.
func (in *input) pairGroups(names []name, numbers []amount, pairs []int) {
	for n := 0; n < len(names); {
		end := n + 1
		for end < len(names) && in.onlyJoins(names[end-1].to, names[end].from) {
			end++
		}
		if count := end - n; count > 1 {
			if k, ok := in.listBeside(names[n].from, names[end-1].to, numbers, count); ok && fitTogether(names[n:end], numbers[k:k+count]) {
				for j := range count {
					pairs[k+j] = n + j
				}
			}
		}
		n = end
	}
}

// onlyJoins reports whether nothing but signs and words that join stands in between.
func (in *input) onlyJoins(from, to int) bool {
	if from >= to {
		return from == to
	}
	for i := from; i < to; i++ {
		if !in.mark(i, ",/&+-|") && !in.word(i, "and", "y", "e", "then", "the", "el", "la", "n", "luego") {
			return false
		}
	}
	return true
}

// listBeside finds a row of exactly count numbers right after or right before a row of names.
func (in *input) listBeside(from, to int, numbers []amount, count int) (int, bool) {
	for k := 0; k+count <= len(numbers); k++ {
		if !in.inRow(numbers[k:k+count]) || k > 0 && in.inRow(numbers[k-1:k+1]) || k+count < len(numbers) && in.inRow(numbers[k+count-1:k+count+1]) {
			continue
		}
		if in.near(to, numbers[k].from) || in.near(numbers[k+count-1].to, from) && in.word(from-1, "for", "para", "de", "the", "of", "en", "going", "order", "goes", "orden", "as") {
			return k, true
		}
	}
	return 0, false
}

// near reports whether at most a few small words stand in between.
func (in *input) near(from, to int) bool {
	if to < from || to-from > 4 {
		return false
	}
	for i := from; i < to; i++ {
		if in.number(i) || in.mark(i, ".;!?") || in.tokens[i].Kind == words.Break {
			return false
		}
	}
	return true
}

func (in *input) inRow(numbers []amount) bool {
	for k := 1; k < len(numbers); k++ {
		if !in.onlyJoins(numbers[k-1].to, numbers[k].from) {
			return false
		}
	}
	return true
}

func fitTogether(names []name, numbers []amount) bool {
	for k, n := range names {
		if fitCost(n.quantity, numbers[k]) >= 1 {
			return false
		}
	}
	return true
}

// takeShared gives one number to several names where the owner says that it is both's:
// "free and total are the same, both 3", "total=free=1".
func (in *input) takeShared(f *found, names []name, numbers []amount, pairs []int, taken map[int]bool) {
	in.takeSame(f, names, numbers, pairs, taken)
	if len(numbers) != 1 || pairs[0] < 0 || len(names) < 2 || !in.sharesOne(names) {
		return
	}
	for n := range names {
		if !taken[n] && fitCost(names[n].quantity, numbers[0]) < 1 {
			taken[n] = true
			in.store(f, names[n].quantity, numbers[0])
		}
	}
}

func (in *input) sharesOne(names []name) bool {
	for i := range in.tokens {
		if in.word(i, "both", "ambos", "ambas", "each", "same", "igual", "iguales", "equal", "identical", "mismo") && !in.word(i+1, "as", "que", "like") {
			return true
		}
	}
	return in.mark(names[0].to, "=") && names[1].from == names[0].to+1
}

// takeSame gives a name the number of the one beside it: "free and total both 2, ph 7.4",
// "total 2, free same".
func (in *input) takeSame(f *found, names []name, numbers []amount, pairs []int, taken map[int]bool) {
	for k, n := range pairs {
		if n < 0 {
			continue
		}
		for _, o := range [...]int{n - 1, n + 1} {
			if o < 0 || o >= len(names) || taken[o] || fitCost(names[o].quantity, numbers[k]) >= 1 {
				continue
			}
			both := o < n && in.word(names[n].to, "both", "each", "ambos", "ambas", "are", "son", "los", "las") && in.onlyJoins(names[o].to, names[n].from) && in.sharesOne(names)
			same := o > n && in.word(names[o].to, "same", "igual", "ditto", "mismo", "too", "tambien") && !in.word(names[o].to+1, "as", "que", "like")
			if both || same {
				taken[o] = true
				in.store(f, names[o].quantity, numbers[k])
			}
		}
	}
}
