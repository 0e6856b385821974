package flow

// way is what a drawing shows between two states: everything that leads from one to
// the other.
type way struct {
	from, to int // indexes of States
	labels   []string
	back     bool // only "go back" leads there
	timer    bool // only timers lead there
}

// graph lists the ways of a flow in the order of the file, each pair of states once.
// What is valid in every state is left out, since it would lead from everywhere; see
// everywhere.
func (f *Flow) graph() []way {
	g := &grapher{flow: f, numbers: map[string]int{}, known: map[[2]int]int{}}
	for i, s := range f.States {
		g.numbers[s.Name] = i
	}
	for i, s := range f.States {
		for j := range s.On {
			g.add(i, s.On[j].To, s.On[j].words(), false, false)
		}
		for j := range s.Timers {
			g.add(i, s.Timers[j].To, "after "+s.Timers[j].words(), false, true)
		}
		for j := range s.Skip {
			g.add(i, s.Skip[j].To, "at once if "+s.Skip[j].If.String(), false, false)
		}
		g.add(i, s.Back, "back", true, false)
	}
	return g.ways
}

// grapher collects ways.
type grapher struct {
	flow    *Flow
	numbers map[string]int
	known   map[[2]int]int
	ways    []way
}

func (g *grapher) add(from int, to, label string, back, timer bool) {
	number, ok := g.numbers[to]
	if !ok || to == "" {
		return
	}
	pair := [2]int{from, number}
	i, ok := g.known[pair]
	if !ok {
		i = len(g.ways)
		g.known[pair] = i
		g.ways = append(g.ways, way{from: from, to: number, back: back, timer: timer})
	}
	w := &g.ways[i]
	w.labels = unique(append(w.labels, label))
	w.back = w.back && back
	w.timer = w.timer && timer
}

// words are the signal and guard of a transition: "readings if band is soak".
func (t *Transition) words() string {
	if t.If == nil {
		return plainWords(t.When)
	}
	return plainWords(t.When) + " if " + t.If.String()
}

// everywhere lists what is valid in every state, in plain words.
func (f *Flow) everywhere() []string {
	var lines []string
	for i := range f.Always {
		t := &f.Always[i]
		line := t.words()
		switch {
		case t.Call != "":
			line += ": calls " + t.Call
		case t.To != "":
			line += ": to " + t.To
		case t.HandOver != nil && t.HandOver.Hold:
			line += ": holds for a person (" + plainWords(t.HandOver.Cause) + ")"
		case t.HandOver != nil:
			line += ": tells a person (" + plainWords(t.HandOver.Cause) + ")"
		default:
			line += ": a remark"
		}
		lines = append(lines, line)
	}
	return lines
}
