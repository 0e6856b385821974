package corpus

import (
	"slices"
	"sort"
	"strings"

	"tubhand/internal/understand"
	"tubhand/internal/understand/learn"
)

// Train fits the classifier to labelled texts: the same texts in the same order give
// the same bytes. A text may be labelled for its hazard alone.
func Train(samples []Sample, s learn.Settings) (*learn.Model, error) {
	questions := [][]string{classes(samples, intentClass), classes(samples, hazardClass)}
	examples := make([]learn.Example, 0, 2*len(samples))
	for i, x := range samples {
		intent, hazard := place(questions[0], intentClass(x.Want)), place(questions[1], hazardClass(x.Want))
		examples = append(examples, learn.Example{Features: understand.Features(*x.Text, x.Context()), Classes: []int{intent, hazard}})
		// A danger is one whatever was asked, so that each text teaches its hazard in
		// another text's place as well.
		other := samples[(i+1)*stride%len(samples)].Context()
		examples = append(examples, learn.Example{Features: understand.Features(*x.Text, other), Classes: []int{-1, hazard}})
	}
	return learn.Train(examples, questions, s)
}

// stride scatters the places that texts lend each other; any large prime does.
const stride = 1_000_003

func intentClass(w Want) string {
	if w.Intent == understand.StartService {
		return string(w.Intent) + " " + w.Service
	}
	return string(w.Intent)
}

func hazardClass(w Want) string {
	return strings.TrimSpace(string(w.Hazard) + " " + string(w.Severity))
}

// classes lists the names that occur, in order.
func classes(samples []Sample, class func(Want) string) []string {
	seen := map[string]bool{"": true}
	var out []string
	for _, x := range samples {
		if c := class(x.Want); !seen[c] {
			seen[c] = true
			out = append(out, c)
		}
	}
	sort.Strings(out)
	return out
}

// place returns where a name stands in the list, -1 where it is not labelled.
func place(list []string, name string) int {
	if i := sort.SearchStrings(list, name); i < len(list) && list[i] == name {
		return i
	}
	return -1
}

// LeaveOut trains without each group of writers' files in turn and understands those,
// which tells how well the classifier serves people it has never heard. A group is a
// list of file names without their ending.
func LeaveOut(samples []Sample, groups [][]string, s learn.Settings) (Report, error) {
	var report Report
	for _, group := range groups {
		var others, own []Sample
		for _, x := range samples {
			if slices.Contains(group, strings.TrimSuffix(x.Writer, ".jsonl")) {
				own = append(own, x)
			} else {
				others = append(others, x)
			}
		}
		model, err := Train(others, s)
		if err != nil {
			return Report{}, err
		}
		report = report.Join(Evaluate(understand.NewReader(model), own))
	}
	return report, nil
}

// Writers lists the writers' files without their ending, each as a group of its own.
func Writers(samples []Sample) [][]string {
	var out [][]string
	for _, x := range samples {
		name := strings.TrimSuffix(x.Writer, ".jsonl")
		if len(out) == 0 || out[len(out)-1][0] != name {
			out = append(out, []string{name})
		}
	}
	return out
}
