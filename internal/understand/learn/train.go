package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"sync"
)

// Example is one text for training: its features, and for each question the index of
// its class, or below 0 where the text is not labelled for that question.
type Example struct {
	Features []uint32
	Classes  []int
}

// Settings of a training run.
type Settings struct {
	Members int     // networks trained side by side, whose answers are averaged
	Hidden  int     // hidden units of each member
	Epochs  int     // how often each text is seen
	Rate    float64 // first step size of AdaGrad
	Decay   float64 // pull of each weight towards 0 at each step
	Drop    float64 // share of features hidden at each step, so that none is relied on alone
	Least   int     // texts a feature must stand in
	Seed    uint64
}

// Usual returns the settings found best by leaving writers out in turn.
func Usual() Settings {
	return Settings{Members: 3, Hidden: 32, Epochs: 10, Rate: 0.3, Decay: 2e-5, Drop: 0.5, Least: 6, Seed: 2026}
}

// Train fits a model to the questions' classes. The same examples in the same order
// with the same settings give the same bytes. It fails where a class is out of range
// or there are too many.
func Train(examples []Example, questions [][]string, s Settings) (*Model, error) {
	if err := check(examples, questions, s); err != nil {
		return nil, err
	}
	features := frequent(examples, s.Least)
	lessons := prepare(examples, features)
	members := make([]*member, s.Members)
	var wait sync.WaitGroup
	for k := range members {
		wait.Go(func() {
			members[k] = newMember(len(features), questions, s, uint64(k))
			members[k].train(lessons)
		})
	}
	wait.Wait()
	return join(members, features, questions), nil
}

func check(examples []Example, questions [][]string, s Settings) error {
	if len(questions) == 0 || len(questions) > 255 || s.Members < 1 || s.Members*s.Hidden < 1 || s.Members*s.Hidden > 255 {
		return fmt.Errorf("train: %d questions, %d members of %d units; want at least 1 and at most 255 units in all", len(questions), s.Members, s.Hidden)
	}
	for q, classes := range questions {
		if len(classes) == 0 || len(classes) > 255 {
			return fmt.Errorf("train: question %d has %d classes; want 1 to 255", q, len(classes))
		}
	}
	for i, e := range examples {
		if len(e.Classes) != len(questions) {
			return fmt.Errorf("train: example %d answers %d of %d questions", i, len(e.Classes), len(questions))
		}
		for q, c := range e.Classes {
			if c >= len(questions[q]) {
				return fmt.Errorf("train: example %d has class %d of %d", i, c, len(questions[q]))
			}
		}
	}
	return nil
}

// frequent returns the features that stand in enough texts, in order.
func frequent(examples []Example, least int) []uint32 {
	counts := map[uint32]int{}
	seen := map[uint32]int{}
	for i, e := range examples {
		for _, f := range e.Features {
			if seen[f] != i+1 {
				seen[f] = i + 1
				counts[f]++
			}
		}
	}
	var out []uint32
	for f, n := range counts {
		if n >= least {
			out = append(out, f)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

// lesson is an example with its known features by their place in the list.
type lesson struct {
	known   []int32
	all     int
	classes []int
}

func prepare(examples []Example, features []uint32) []lesson {
	index := make(map[uint32]int32, len(features))
	for i, f := range features {
		index[f] = int32(i)
	}
	out := make([]lesson, len(examples))
	for i, e := range examples {
		out[i] = lesson{all: len(e.Features), classes: e.Classes}
		for _, f := range e.Features {
			if k, ok := index[f]; ok {
				out[i].known = append(out[i].known, k)
			}
		}
	}
	return out
}

// join lays the members side by side as one model with rows of small integers.
func join(members []*member, features []uint32, questions [][]string) *Model {
	hidden, classes := members[0].hidden, members[0].classes
	m := &Model{questions: questions, hidden: hidden * len(members)}
	m.index = make([]slot, tableSize(len(features)))
	m.rows = make([]byte, len(features)*m.hidden)
	m.bias = make([]float32, m.hidden)
	m.out = make([]float32, m.hidden*classes)
	m.outBias = make([]float32, classes)
	for i, f := range features {
		m.insert(slot{f, int32(i + 1)})
	}
	share := float32(1) / float32(len(members))
	for k, one := range members {
		for j := range hidden {
			at := k*hidden + j
			unit := one.unit(j)
			m.bias[at] = one.bias.w[j] / unit
			for i := range features {
				m.rows[i*m.hidden+at] = byte(int8(math.Round(float64(one.rows.w[i*hidden+j] / unit))))
			}
			for c := range classes {
				m.out[at*classes+c] = one.out.w[j*classes+c] * unit * share
			}
		}
		for c := range classes {
			m.outBias[c] += one.outBias.w[c] * share
		}
	}
	return m
}

// unit is what one step of the integers of hidden unit j is worth.
func (n *member) unit(j int) float32 {
	largest := float32(1e-9)
	for i := j; i < len(n.rows.w); i += n.hidden {
		largest = max(largest, n.rows.w[i], -n.rows.w[i])
	}
	return largest / 127
}

// newRandom gives each member its own order and beginning.
func newRandom(s Settings, k uint64) *rand.Rand { return rand.New(rand.NewPCG(s.Seed, k)) }
