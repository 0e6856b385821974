package corpus

import (
	"sort"

	"tubhand/internal/understand"
	"tubhand/internal/understand/learn"
)

// Train fits the two classifiers to labelled texts: the same texts in the same order
// give the same bytes.
func Train(samples []Sample, s learn.Settings) (intent, hazard *learn.Model, err error) {
	features := make([][]uint32, len(samples))
	for i, x := range samples {
		features[i] = understand.Features(*x.Text, x.Context())
	}
	intent, err = fit(samples, features, intentClass, s)
	if err != nil {
		return nil, nil, err
	}
	hazard, err = fit(samples, features, hazardClass, s)
	return intent, hazard, err
}

func intentClass(w Want) string {
	if w.Intent == understand.StartService {
		return string(w.Intent) + " " + w.Service
	}
	return string(w.Intent)
}

func hazardClass(w Want) string { return string(w.Hazard) + " " + string(w.Severity) }

func fit(samples []Sample, features [][]uint32, class func(Want) string, s learn.Settings) (*learn.Model, error) {
	index := map[string]int{}
	var classes []string
	for _, x := range samples {
		c := class(x.Want)
		if c == "" {
			continue
		}
		if _, ok := index[c]; !ok {
			index[c] = 0
			classes = append(classes, c)
		}
	}
	sort.Strings(classes)
	for i, c := range classes {
		index[c] = i
	}
	examples := make([]learn.Example, 0, len(samples))
	for i, x := range samples {
		// A text may be labelled for its hazard alone.
		if c := class(x.Want); c != "" {
			examples = append(examples, learn.Example{Features: features[i], Class: index[c], Weight: 1})
		}
	}
	return learn.Train(examples, classes, s)
}

// LeaveOneOut trains without each writer's file in turn and understands that file, which
// tells how well the classifiers serve people they have never heard.
func LeaveOneOut(samples []Sample, s learn.Settings) (Report, error) {
	var report Report
	for _, writer := range writers(samples) {
		var others, own []Sample
		for _, x := range samples {
			if x.Writer == writer {
				own = append(own, x)
			} else {
				others = append(others, x)
			}
		}
		intent, hazard, err := Train(others, s)
		if err != nil {
			return Report{}, err
		}
		report = report.Join(Evaluate(understand.NewReader(intent, hazard), own))
	}
	return report, nil
}

func writers(samples []Sample) []string {
	var out []string
	for _, x := range samples {
		if len(out) == 0 || out[len(out)-1] != x.Writer {
			out = append(out, x.Writer)
		}
	}
	return out
}
