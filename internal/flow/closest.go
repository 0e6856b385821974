package flow

// closest proposes the name that was probably meant: ` (did you mean "fill"?)`, or
// nothing where none is near.
func closest(name string, names []string) string {
	best, nearest := "", len(name)/2+1
	for _, candidate := range names {
		if d := distance(name, candidate); d < nearest {
			best, nearest = candidate, d
		}
	}
	if best == "" {
		return ""
	}
	return ` (did you mean "` + best + `"?)`
}

// distance is Levenshtein's: how many letters to put in, take out or change.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
